"""The verdicts and their evidence as people read them: in a terminal, on a page, in tables."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from tests.unit.report.test_page import tags
from ullage.control.check import Examined
from ullage.plant.faults import HOSE_BURST, Fault, read_fault
from ullage.report.evidence import HARMLESS, HIDDEN, Evidence, evidence_of
from ullage.report.evidence_tables import csv_files, evidence_lines
from ullage.report.proof import ASSUMED, Proof, advised, proof_of
from ullage.report.proof_lines import assumed, proof_lines
from ullage.report.proof_page import proof_page
from ullage.rig.meaning import Dry, Indoors, Spills
from ullage.simulate.scenario import Scenario
from ullage.verdict.advice import Advice
from ullage.verdict.causes import HEALTH, Cause, Kind
from ullage.verdict.docket import Entry
from ullage.verdict.exercise import Noticed
from ullage.verdict.harm import Harm
from ullage.verdict.properties import Asked, Property
from ullage.verdict.verdicts import NO_RUN, Verdict, Word, Written

FLOOR = Property("water indoors", Indoors(), Asked.NEVER)
PUMP = Property("water_pump runs dry", Dry("water_pump"), Asked.HAZARD)
SPILL = Property("overflow of loft", Spills("loft"), Asked.TOLD)
FILLS = Property("fill reaches filled", Spills(""), Asked.SOMETIMES)
STUCK = Fault(0, "belly_level")
BURST = Fault(HOSE_BURST, "riser", amount=1.0)


def cause(fault: Fault) -> Cause:
    """A single fault as a cause."""
    return Cause(str(fault), Kind.SINGLE, (fault,))


def written(fault: Fault, **harm: float) -> Written:
    """A story in which a fault does it."""
    return Written(
        Scenario(hours=1.0, faults=(fault,)),
        Harm(60_000, **{"volume": None, "seconds": None, **harm}, found="as said"),
        "{}\n",
    )  # type: ignore[arg-type]


def entries() -> list[Entry]:
    """A rig whose floor the water itself keeps dry, and whose pump a stuck sender lets run dry."""
    wet = Verdict(FLOOR, (), Word.PROVED, "wet", 6)
    float_too = Advice("let belly_bottom trip belly_low too", "interlocks", 7)
    dry = Verdict(PUMP, (STUCK,), Word.REFUTED, story=written(STUCK, seconds=12.0), advice=float_too)
    burst = Verdict(FLOOR, (BURST,), Word.REFUTED, itself=True, story=written(BURST, volume=0.0123))
    held = Verdict(PUMP, (), Word.PROVED, "interlocks", 40, least_ms=11_500)
    open_ = Verdict(SPILL, (), Word.UNDECIDED, reason=f"the bounds leave it open, and {NO_RUN}")
    return [
        Entry(FLOOR, HEALTH, wet),
        Entry(FLOOR, cause(STUCK), wet, ()),
        Entry(FLOOR, cause(BURST), burst),
        Entry(PUMP, HEALTH, held),
        Entry(PUMP, cause(STUCK), dry),
        Entry(PUMP, cause(BURST), held, ()),
        Entry(SPILL, HEALTH, open_),
        Entry(SPILL, cause(STUCK), open_, ()),
        Entry(SPILL, cause(BURST), open_, ()),
        Entry(FILLS, HEALTH, Verdict(FILLS, (), Word.PROVED, "a run", story=written(STUCK))),
    ]


@pytest.fixture
def proof(marram: Examined) -> Proof:
    assert marram.rig is not None
    return proof_of(marram.rig, "0" * 64, entries(), False)


@pytest.fixture
def evidence(marram: Examined) -> Evidence:
    assert marram.rig is not None
    assert marram.program is not None
    seen = Noticed(("belly_high",), (), ("fill",), (), ("fill",), False)
    unseen = Noticed((), (), (), (), (), False)
    return evidence_of(marram.rig, marram.program, entries(), {STUCK: seen, BURST: unseen})


def test_the_sum_counts_what_must_never_be_and_nothing_else(proof: Proof) -> None:
    """A burst pipe that no law can prevent, or an overflow that runs outdoors, must not drown the pump that burns."""
    assert proof.verdict == "4 PROVED and 1 REFUTED"
    assert proof.under == "in health and with any one fault"
    assert proof.worst is Word.REFUTED
    assert [row.text for row in proof.rows] == ["water indoors", "water_pump runs dry", "overflow of loft"]
    floor = proof.rows[0].cells[Kind.SINGLE]
    assert (floor.count, floor.refuted, floor.itself) == (2, 1, 1)
    assert proof.states == 46


def test_what_is_undecided_is_never_told_as_proved(marram: Examined) -> None:
    """The one line that people read must not say PROVED where a search was given up."""
    assert marram.rig is not None
    given_up = Verdict(PUMP, (), Word.UNDECIDED, states=300_000, reason="given up")
    told = proof_of(marram.rig, "0" * 64, [Entry(PUMP, HEALTH, given_up)], False)
    assert told.worst is Word.UNDECIDED
    assert "PROVED" not in told.verdict.replace("UNDECIDED", "")
    assert told.tellings[0].told == "Given up."
    assert told.under == "in health", "nothing was asked with faults"
    unseen = Verdict(FILLS, (), Word.UNDECIDED, reason="no run was found")
    assert proof_of(marram.rig, "0" * 64, [Entry(FILLS, HEALTH, unseen)], False).worst is Word.UNDECIDED


@pytest.mark.parametrize("width", [40, 80, 100])
def test_the_terminal_tells_verdict_story_and_what_still_holds(proof: Proof, evidence: Evidence, width: int) -> None:
    """Whoever reads 'REFUTED' wants to know how, and whether the floor stays dry."""
    lines = [*proof_lines(proof, width), *evidence_lines(evidence, width), *assumed(width)]
    assert max(map(len, lines)) <= width
    text = " ".join(" ".join(lines).split())
    assert "REFUTED: water_pump runs dry, when belly_level stuck" in text
    assert "12 s without water" in text
    assert "What still holds: never water indoors (PROVED: wet)." in text
    assert (
        "A suggestion: let belly_bottom trip belly_low too. Then it is PROVED with belly_level stuck: interlocks."
        in text
    )
    assert "from 11.5 s on" in text
    assert "REFUTED by itself: water indoors, when riser burst" in text
    assert "no law can prevent it" in text
    assert "overflow of loft (allowed)" in text
    assert text.index("water_pump runs dry, when") < text.index("UNDECIDED: overflow of loft")


@pytest.mark.parametrize(
    ("advice", "said"),
    [
        (None, ""),
        (Advice("add a float", "wired", 3), "A suggestion: add a float. Then it is PROVED in health: wired."),
        (Advice("", "", 0), "No change is known that could be tried."),
        (Advice("", "", 1), "No change is enough of the 1 that was tried."),
        (Advice("", "", 9, ended=False), "No change is enough of the 9 that were tried. There are more that were not"),
    ],
)
def test_where_no_change_helps_it_says_how_far_it_looked(advice: Advice | None, said: str) -> None:
    """Silence reads as 'nothing can be done', which was not found out."""
    assert advised(advice, ()).startswith(said)
    assert bool(advised(advice, ())) == bool(said)


def test_failure_modes_say_worst_effect_notice_and_what_remains(evidence: Evidence) -> None:
    """A fault that nobody notices is half of the next accident."""
    stuck, burst = evidence.modes
    assert stuck.word is Word.REFUTED
    assert stuck.worst.startswith("water_pump runs dry (as said)")
    assert stuck.noticed == "interlock belly_high trips; fill is held"
    assert stuck.hindered == "fill"
    assert stuck.holds == {"wet": ["water indoors"]}
    assert burst.worst.startswith("water indoors (as said) by itself")
    assert burst.noticed == "no alarm"


def test_a_harmless_fault_that_shows_in_nothing_is_called_hidden(marram: Examined) -> None:
    """It waits for the second one, and only a proof test finds it."""
    assert marram.rig is not None
    assert marram.program is not None
    jammed = read_fault(marram.rig, "house_meter jammed")
    calm = [Entry(FLOOR, cause(jammed), Verdict(FLOOR, (), Word.PROVED, "wet", 6), ())]
    unseen = Noticed((), (), (), (), (), False)
    (mode,) = evidence_of(marram.rig, marram.program, calm, {jammed: unseen}).modes
    assert (mode.worst, mode.noticed) == (HARMLESS, HIDDEN)


def test_the_matrix_is_what_the_tables_drive(marram: Examined, evidence: Evidence) -> None:
    """A matrix drawn by hand is wrong from the next change of the rig on."""
    assert marram.rig is not None
    lines = {line.cause: line for line in evidence.matrix.lines}
    for name, lock in marram.rig.interlocks.items():
        assert lines[name].effects == lock.drive
        assert lines[name].latches == lock.latch
    assert lines["port_board lost"].effects == {"shore_guard": "closed", "shore_in": "closed", "gray_dump": "closed"}
    assert lines["power lost"].effects["shore_guard"] == "closed"
    assert lines["power lost"].effects["lift"] == "stays"
    assert set(evidence.matrix.outputs) == {*marram.rig.valves, *marram.rig.pumps}


def test_what_rests_on_software_alone_is_named_with_what_stands_behind_it(evidence: Evidence) -> None:
    """A controller gone mad is no fault of the catalogue; a wire is what helps against it."""
    (alone,) = evidence.alone
    assert (alone.text, alone.layer, alone.behind) == ("water_pump runs dry", "interlocks", "never water indoors")


def test_the_page_is_whole_and_tells_everything(proof: Proof, evidence: Evidence) -> None:
    """It is read at the hose, on a telephone without a network, and on paper by the one who has to sign."""
    text = proof_page(proof, evidence)
    parser = tags(text)
    assert "script" not in parser.names
    assert not parser.links
    for said in ("What is not proved", "What rests on software alone", "Failure modes", "IEC 62881", "Caution."):
        assert said in text
    assert "prefers-color-scheme:dark" in text
    assert "@media print" in text
    assert all(sentence in text.replace("\u00a0", " ") for sentence in ASSUMED)
    assert "\u25b2\u00a0" in text
    stopped = proof_page(replace(proof, stopped=True), evidence)
    assert "stopped before the end" in stopped
    evil = proof_page(replace(proof, rig="<img src=x>"), evidence)
    assert "<img" not in evil


def test_the_tables_are_read_by_other_programs(proof: Proof, evidence: Evidence) -> None:
    """A comma in a guard must not push a column to the right."""
    files = csv_files(proof, evidence)
    assert set(files) == {"verdicts.csv", "failure-modes.csv", "cause-and-effect.csv", "software-alone.csv"}
    for content in files.values():
        head, *rows = csv.reader(io.StringIO(content.decode()))
        assert rows
        assert {len(row) for row in rows} == {len(head)}
