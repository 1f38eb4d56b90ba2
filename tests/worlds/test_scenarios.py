"""Scenarios as they are played: any file is answered, hoses are drawn, commands of one scan all come through."""

from __future__ import annotations

import time
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.share import share
from tests.worlds.mutants import mutant
from ullage.control import codes
from ullage.control.check import Examined, examine
from ullage.plant.words import P_HOSE
from ullage.rig.gaps import sources
from ullage.simulate.run import Run, simulate
from ullage.simulate.scenario import Scenario, read_scenario

EXAMPLES = Path(__file__).parents[2] / "examples"

TIME_LIMIT = 2.0
"""Longest time for one file [s of the processor]."""


@cache
def examined(rig: str) -> Examined:
    """A shipped rig, examined."""
    path = EXAMPLES / "rigs" / f"{rig}.yaml"
    return examine(path.read_bytes(), path.name)


def looked_at(text: str | bytes) -> bool:
    """Read a scenario for Marram; whether it is whole. Fails when it takes long or a finding has no line."""
    marram = examined("marram")
    assert marram.rig is not None
    assert marram.law is not None
    start = time.process_time()
    scenario, findings = read_scenario(text, "day.yaml", marram.rig, marram.law)
    assert time.process_time() - start < TIME_LIMIT
    assert (scenario is None) == bool(findings)
    for finding in findings:
        assert finding.place.line >= 1
        assert finding.what
        assert finding.entry.remedy
    return scenario is not None


@pytest.mark.parametrize("name", ["day", "stuck_sender"])
def test_mutants_of_scenarios(name: str) -> None:
    """People mistype and paste here too; whatever comes of it, they get a line, and never a traceback."""
    text = (EXAMPLES / "scenarios" / f"{name}.yaml").read_text("utf8")
    count = share(20_000, 2_000)
    whole = sum(looked_at(mutant(text, seed)) for seed in range(count))
    print(f"{count:,} mutants of {name}: {whole:,} are whole")
    assert count > whole > count // 50


@given(st.one_of(st.binary(max_size=300), st.text(max_size=300)))
def test_any_bytes(content: bytes | str) -> None:
    """The wrong file is opened sooner or later."""
    looked_at(content)


VALUES = st.recursive(
    st.one_of(
        st.none(), st.booleans(), st.sampled_from(["belly", "fill", "1 min", "2 bar", "open", "any", "\u00b2", "-3"])
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.sampled_from(["at", "start", "hose", "slope", "ahead", "with", "target"]), inner, max_size=4
        ),
    ),
    max_leaves=10,
)
KEYS = st.sampled_from(["scenario", "about", "hours", "starts", "slope", "handset", "happenings", "expect"])


def flow(tree: object) -> str:
    """A tree in YAML's flow style."""
    if isinstance(tree, dict):
        return "{" + ", ".join(f"{key}: {flow(value)}" for key, value in tree.items()) + "}"
    if isinstance(tree, list):
        return "[" + ", ".join(map(flow, tree)) + "]"
    return {None: "null", True: "true", False: "false"}.get(tree, tree)  # type: ignore[call-overload, no-any-return]


@settings(max_examples=share(2_000, 300))
@given(st.dictionaries(KEYS, VALUES, max_size=5))
def test_any_tree(tree: dict[str, object]) -> None:
    """Each key has to refuse what belongs under another."""
    looked_at(flow(tree))


@pytest.mark.parametrize(
    "line", ["{at: 1 min, use: basin, for: 1 s}", "{at: 1 min, uze: basin}", "{at: 1 min, pour: 1 L, into: belly}"]
)
def test_the_longest_scenario(line: str) -> None:
    """As many lines as are allowed, each of them good or each of them bad, are read at once."""
    looked_at("hours: 1\nhappenings: [" + ", ".join([line] * 2000) + "]\n")


def read(rig: str, text: str) -> Scenario:
    """A sound scenario for a shipped rig."""
    shipped = examined(rig)
    assert shipped.rig is not None
    assert shipped.law is not None
    scenario, findings = read_scenario(text, "s.yaml", shipped.rig, shipped.law)
    assert scenario is not None, findings
    return scenario


def played(rig: str, text: str, seed: int = 1) -> Run:
    """What comes of a scenario on a shipped rig."""
    shipped = examined(rig)
    assert shipped.rig is not None
    assert shipped.program is not None
    return simulate(shipped.rig, shipped.program, read(rig, text), seed)


def test_any_pressure_is_drawn_by_the_seed() -> None:
    """A fill that works at the usual pressure only is found by no run that never leaves it."""
    text = "hours: 0.02\nhappenings: [{at: 1 s, hose: shore, pressure: any}, {at: 30 s, hose: shore, pressure: any}]\n"
    marram = examined("marram").rig
    assert marram is not None
    span = marram.ports["shore"].pressure
    assert span is not None
    drawn = [
        [int(detail) for _, kind, _, on, detail in played("marram", text, seed).records if kind == P_HOSE and on]
        for seed in range(20)
    ]
    assert all(len(pair) == 2 for pair in drawn)
    assert drawn[3] == [int(row[4]) for row in played("marram", text, 3).records if row[1] == P_HOSE]
    every = sorted(pressure for pair in drawn for pressure in pair)
    assert span.least - 1 <= every[0]
    assert every[-1] <= span.most + 1
    assert len(set(every)) == 40, "each hose of each seed has its own"
    third = (span.most - span.least) / 3
    assert every[0] < span.least + third
    assert every[-1] > span.most - third, "the whole of the range is drawn from"


FILL = """
hours: 0.2
starts: {belly: 25 %}
handset: flat
happenings:
  - {at: 1 min, hose: shore, pressure: 2 bar}
  - {at: 2 min, start: fill, with: {target: 75 %}}
  - {at: 300.1 s, FIRST: fill}
  - {at: 300.2 s, SECOND: fill}
"""


@pytest.mark.parametrize(
    ("first", "second", "state"),
    [("stop", "hold", "stopped"), ("hold", "stop", "stopped"), ("hold", "abort", "aborted")],
)
def test_a_stop_is_not_lost_in_its_scan(first: str, second: str, state: str) -> None:
    """A person who says stop and presses one button more must have stopped it all the same."""
    run = played("marram", FILL.replace("FIRST", first).replace("SECOND", second))
    fill = run.program.sequence("fill")
    states = [int(row[3]) for row in run.records if row[1] == codes.R_STATE and row[2] == fill]
    assert codes.STATES[states[-1]] == state


def test_each_start_has_its_own_wishes() -> None:
    """Two starts in one scan: the first fills to its own target, the second is refused since the first is running."""
    text = FILL.replace("300.1 s, FIRST: fill", "120.1 s, start: fill, with: {target: 30 %}").replace(
        "  - {at: 2 min, start: fill, with: {target: 75 %}}\n", ""
    )
    run = played("marram", text.replace("300.2 s, SECOND: fill", "120.2 s, start: fill, with: {target: 75 %}"))
    q = run.program.sequence("fill")
    answers = [int(row[4]) for row in run.records if tuple(row[1:4]) == (codes.R_COMMAND, q, codes.START)]
    assert answers == [codes.BY_COMMAND, codes.NOT_ACCEPTED]
    assert run.outcome.tanks["belly"].most < 0.055, "30 % of belly, not 80 %"


SHIPPED = {"bothy_days": "bothy", "crumb_day": "crumb", "turnstone_weekend": "turnstone"}


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_rig_works(name: str) -> None:
    """A rig that is checked but never played locked itself out in its first night."""
    text = (EXAMPLES / "scenarios" / f"{name}.yaml").read_text("utf8")
    for seed in range(share(60, 8)):
        run = played(SHIPPED[name], text, seed)
        assert len(run.expectations) >= 10
        assert run.kept, (seed, [judged for judged in run.expectations if not judged.kept])
        assert abs(run.outcome.imbalance) < 1e-6
        assert run.lost == 0


def changed(rig: str, edits: dict[str, str]) -> Examined:
    """A shipped rig with some of its text replaced."""
    text = (EXAMPLES / "rigs" / f"{rig}.yaml").read_text("utf8")
    for old, new in edits.items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return examine(text, f"{rig}.yaml")


def test_gaps_come_as_often_as_the_finding_says() -> None:
    """I514 names a time; if it were wrong by the one message that a scan saves, it would be wrong twentyfold."""
    bothy = changed("bothy", {"every: 2 s, stale: 15 s": "every: 2 s"})
    assert [finding.code for finding in bothy.findings if not finding.accepted] == ["I514"]
    assert bothy.rig is not None
    assert bothy.law is not None
    assert bothy.program is not None
    trip = next(trip for trip in bothy.law.trips if trip.name == "drum_high")
    apart = sources(bothy.rig, trip.when)["drum_float"].apart(bothy.rig.scan)
    row, hours, seeds = bothy.program.signal("drum_float"), 200.0, share(60, 6)
    calm = Scenario(hours=hours)
    gaps = 0
    for seed in range(seeds):
        records = simulate(bothy.rig, bothy.program, calm, seed, sample_ms=0).records
        gaps += sum(tuple(record[1:4]) == (codes.R_QUALITY, row, codes.STALE) for record in records.tolist())
    expected = seeds * hours * 3600.0 / apart
    print(f"{gaps} gaps in {seeds * hours:g} h, {expected:.0f} expected")
    assert abs(gaps - expected) < 4.0 * expected**0.5, "four standard deviations of a Poisson count"


def test_a_lasting_supply_needs_no_hose() -> None:
    """Whoever simulates a spring must not find out after a day of nothing that it wanted a hose."""
    calm = Scenario(hours=2.0)
    for lasting, litres in (("lasting: true", 50.0), ("lasting: false", 0.0)):
        bothy = changed("bothy", {"lasting: true": lasting, "    starts_with: 80 %": "    starts_with: 30 %"})
        assert bothy.rig is not None
        assert bothy.program is not None
        taken = 1e3 * simulate(bothy.rig, bothy.program, calm).outcome.ports["spring"][0]
        assert (taken > litres) if litres else (taken == 0.0)


def test_a_refused_start_names_the_wish() -> None:
    """A person who asked for too much must be told of what, and how much is allowed."""
    text = (
        FILL.replace("75 %", "120 %").replace("300.1 s, FIRST", "5 min, stop").replace("300.2 s, SECOND", "6 min, stop")
    )
    run = played("marram", text)
    row = run.program.parameter("fill.target")
    wishes = [record for record in run.records.tolist() if record[1] == codes.R_WISH]
    assert [(record[2], record[4]) for record in wishes] == [(row, run.program.sequence("fill"))]
    assert wishes[0][3] > run.program.tables.parameter_most[row]
