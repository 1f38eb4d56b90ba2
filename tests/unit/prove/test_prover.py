"""What Marram's lines rest on, and how soon what must last is over."""

from __future__ import annotations

from functools import cache

import pytest

from tests.shipped import marram
from ullage.plant.faults import read_fault
from ullage.prove.harms import Harm, Lasting
from ullage.prove.prover import INTERLOCKS, SEQUENCES, WET, WIRED, Prover


@cache
def prover() -> Prover:
    """The prover of Marram."""
    examined = marram()
    assert examined.rig is not None
    assert examined.program is not None
    return Prover(examined.rig, examined.program)


HOSE_DEAF = "((not (port_board is linked)) and (shore_in is open) and (shore_guard is open)) held 15 s"
WASTE_DEAF = "((not (port_board is linked)) and (gray_dump is open)) held 15 s"
BOTH_OPEN = "((gray_dump is open) and (shore_in is open) and (shore_guard is open)) held 20 s"

RESTS = {
    "water indoors": {WET},
    "belly reaches its overflow": {INTERLOCKS},
    "loft reaches its overflow": {INTERLOCKS},
    "gray reaches its overflow": {INTERLOCKS},
    "water_pump runs dry": {WIRED},
    BOTH_OPEN: {INTERLOCKS},
    HOSE_DEAF: {INTERLOCKS},
    WASTE_DEAF: {INTERLOCKS},
    "belly over 120 L": {INTERLOCKS},
    "(gray_dump is open) and (shore_in is open) and (shore_guard is open)": {SEQUENCES},
    "loft over 42 L": {INTERLOCKS},
}
"""The last layer that holds each line of Marram in health."""


def test_every_line_of_marram_rests_on_what_is_said_here() -> None:
    """A line that comes to rest on an earlier layer has lost a protection that a person counts on."""
    law = marram().law
    assert law is not None
    found = {wish.text: {prover().find(harm).rests_on for harm in prover().harms(wish.statement)} for wish in law.never}
    assert found == RESTS


LASTS = {
    # The lease of 3 s, then the longest stroke of 8 s, from a scan that came late to a look that may: 23 scans, 50 ms.
    WASTE_DEAF: 12_000,
    # Of the two valves of the hose the guard is shut first: the lease and half a second, then as above.
    HOSE_DEAF: 4_500,
    # The end of the dump has left its place one scan before that is read; then the guard shuts as above.
    BOTH_OPEN: 5_000,
}
"""The least time after which each line that must last is proved away [ms]."""


@pytest.mark.parametrize("text", LASTS)
def test_a_response_has_its_least_time(text: str) -> None:
    """A bound that is looser than need be hides how long water runs after a link is lost."""
    law = marram().law
    assert law is not None
    wish = next(wish for wish in law.never if wish.text == text)
    (harm,) = prover().harms(wish.statement)
    assert isinstance(harm.tree, Lasting)
    assert prover().least_time(harm) == LASTS[text]


@pytest.mark.parametrize(
    ("faults", "text", "rests"),
    [
        ("belly_level stuck", "belly reaches its overflow", INTERLOCKS),
        ("belly_float stuck dry", "belly reaches its overflow", INTERLOCKS),
        ("shore_in stuck", "belly reaches its overflow", INTERLOCKS),
        ("shore_guard crossed shore_in", "belly reaches its overflow", INTERLOCKS),
        ("controller restarted", "belly reaches its overflow", INTERLOCKS),
        ("belly_bottom stuck wet", "water_pump runs dry", INTERLOCKS),
        ("water_pump welded", "water_pump runs dry", WIRED),
        ("loft jerrycan", "water indoors", WET),
        ("power lost", "belly reaches its overflow", INTERLOCKS),
        ("shore_guard stuck", "belly reaches its overflow", INTERLOCKS),
        ("fall_guard stuck", "belly reaches its overflow", INTERLOCKS),
        ("loft_return stuck", "belly reaches its overflow", INTERLOCKS),
        ("belly jerrycan 20 L", "belly reaches its overflow", INTERLOCKS),
        ("belly jerrycan 30 L", "belly reaches its overflow", ""),
        ("shore_guard stuck, shore_in stuck", "belly reaches its overflow", ""),
        ("fall_guard stuck, loft_return stuck", "belly reaches its overflow", ""),
        ("belly_level stuck, belly_float stuck dry", "belly reaches its overflow", ""),
    ],
)
def test_what_holds_under_faults(faults: str, text: str, rests: str) -> None:
    """A fault bit that is lost makes every fault look like health; one too many makes the proof useless."""
    rig, law = marram().rig, marram().law
    assert rig is not None
    assert law is not None
    wish = next(wish for wish in law.never if wish.text == text)
    acting = [read_fault(rig, fault) for fault in faults.split(", ")]
    found = {prover().find(harm, acting, range(3)).rests_on for harm in prover().harms(wish.statement)}
    assert found == {rests}


def harm_of(text: str) -> Harm:
    """The harm of a line of Marram."""
    law = marram().law
    assert law is not None
    (harm,) = prover().harms(next(wish.statement for wish in law.never if wish.text == text))
    return harm


def fresh() -> Prover:
    """A prover that has answered nothing yet."""
    examined = marram()
    assert examined.rig is not None
    assert examined.program is not None
    return Prover(examined.rig, examined.program)


def test_what_was_given_up_proves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that is broken off has not seen the tank run over, and that is all that it knows."""
    monkeypatch.setattr("ullage.prove.search.SHARE", 10)
    tired = fresh()
    tired.effort = 3
    found = tired.find(harm_of("belly reaches its overflow"), layers=[2])
    assert not found.proved
    assert found.given_up
    assert fresh().find(harm_of("belly reaches its overflow"), layers=[2]).proved


def test_flows_that_the_solver_did_not_settle_prove_nothing() -> None:
    """A bound without its worst corner is no bound."""
    for corners, proved in ((0, True), (1, False)):
        doubtful = fresh()
        doubtful.healthy.bounds.unsettled = corners
        assert doubtful.settled is proved
        assert doubtful.find(harm_of("belly reaches its overflow"), layers=[2]).proved is proved


def test_all_faults_of_a_question_act_together() -> None:
    """Of two faults that are asked of at once none may be left out."""
    rig = marram().rig
    assert rig is not None
    faults = [read_fault(rig, text) for text in ("belly jerrycan", "controller restarted", "shore_in stuck")]
    plan = prover().plan(harm_of("belly reaches its overflow"), 2, faults)
    assert plan.restarts
    healthy = prover().plan(harm_of("belly reaches its overflow"), 2)
    (with_can,), (without,) = ([level for level in one.levels if level.name == "belly"] for one in (plan, healthy))
    assert with_can.start == (without.start[0], without.start[1] + 20_000), "what may be poured counts from the start"
    moves = {gate.name: gate.moves for gate in plan.actors}
    assert all(moves[gate.name] != gate.moves for gate in healthy.actors if gate.name == "shore_in")
    for fault in (*faults, read_fault(rig, "shore regulator failed"), read_fault(rig, "shore_in seeping")):
        assert fault in prover().concerned(harm_of("belly reaches its overflow"), [fault])
