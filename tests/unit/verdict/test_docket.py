"""Every property under every set of faults, asked no oftener than needed and never answered without being asked."""

from __future__ import annotations

from collections.abc import Sequence

from ullage.plant import faults as f
from ullage.plant.faults import Fault
from ullage.rig.meaning import Indoors, Spills
from ullage.verdict.advice import Advice
from ullage.verdict.causes import HEALTH, Cause, Kind
from ullage.verdict.docket import Docket, Entry, Item
from ullage.verdict.properties import Asked, Property
from ullage.verdict.verdicts import NOT_REACHED, Verdict, Word

FLOOR = Property("water indoors", Indoors(), Asked.NEVER)
CAN = Property("overflow", Spills(""), Asked.SOMETIMES)
STUCK, BROKEN, JAMMED = Fault(f.SENDER_STUCK, "a"), Fault(f.FLOAT_WIRE_BROKEN, "b"), Fault(f.METER_JAMMED, "c")
SINGLES = [Cause(str(fault), Kind.SINGLE, (fault,)) for fault in (STUCK, BROKEN, JAMMED)]
PAIR = Cause("both", Kind.PAIR, (STUCK, BROKEN))
OTHER_PAIR = Cause("stuck and jammed", Kind.PAIR, (STUCK, JAMMED))


def docket(*properties: Property) -> Docket:
    """A docket in which the meter matters to nothing."""
    asked = properties or (FLOOR,)
    return Docket(asked, [HEALTH, *SINGLES, PAIR, OTHER_PAIR], {one: frozenset((STUCK, BROKEN)) for one in asked})


def faults_of(items: Sequence[Item]) -> list[tuple[Fault, ...]]:
    """What is asked."""
    return [item.faults for item in items]


def entry(entries: Sequence[Entry], cause: Cause) -> Entry:
    """What stands under one cause."""
    return next(one for one in entries if one.cause == cause)


def test_faults_that_do_not_matter_are_not_asked_again() -> None:
    """A hundred searches for one answer are an hour in which nobody waits for the rest."""
    made = docket()
    assert faults_of(made.open(Kind.HEALTH)) == [()]
    made.enter(Verdict(FLOOR, (), Word.PROVED, "wet", 5))
    assert faults_of(made.open(Kind.SINGLE)) == [(STUCK,), (BROKEN,)]
    made.enter(Verdict(FLOOR, (STUCK,), Word.PROVED, "wired", 6))
    assert faults_of(made.open(Kind.PAIR)) == [(STUCK, BROKEN)]
    jammed = entry(made.entries(), SINGLES[2])
    assert jammed.verdict.rests_on == "wet"
    assert jammed.as_with == ()
    assert entry(made.entries(), OTHER_PAIR).verdict.rests_on == "wired"


def test_what_is_refuted_with_few_faults_is_refuted_with_more() -> None:
    """A fault may not act at all: a pair that is PROVED while one of the two does the harm alone would be a lie."""
    made = docket()
    made.enter(Verdict(FLOOR, (STUCK,), Word.REFUTED))
    assert faults_of(made.open(Kind.PAIR)) == []
    pair = entry(made.entries(), PAIR)
    assert pair.verdict.word is Word.REFUTED
    assert pair.as_with == (STUCK,)
    assert entry(made.entries(), SINGLES[0]).as_with is None
    assert entry(made.entries(), SINGLES[1]).verdict.word is Word.UNDECIDED


def test_what_was_not_reached_is_undecided() -> None:
    """Whoever stops a proof half-way must not be told that the rest is fine."""
    made = docket()
    assert {one.verdict.word for one in made.entries()} == {Word.UNDECIDED}
    assert {one.verdict.reason for one in made.entries()} == {NOT_REACHED}
    made.enter(Verdict(FLOOR, (), Word.PROVED, "wet", 5))
    told = {one.cause.name: one.verdict.word for one in made.entries()}
    assert told["nothing is wrong"] is Word.PROVED
    assert told["a stuck"] is Word.UNDECIDED


def test_a_search_that_was_given_up_is_not_begun_again_with_more_faults() -> None:
    """More faults are more states: an hour for each of a hundred questions that end as undecided as the first."""
    made = docket()
    made.enter(Verdict(FLOOR, (), Word.UNDECIDED, states=300_000, reason="given up"))
    assert [item.hopeless for item in made.open(Kind.SINGLE)] == [True, True]
    stopped = docket()
    stopped.enter(Verdict(FLOOR, (), Word.UNDECIDED, reason="stopped"))
    assert [item.hopeless for item in stopped.open(Kind.SINGLE)] == [False, False]


def test_what_can_be_and_what_is_asked_in_health_is_asked_in_health_only() -> None:
    """A fill that cannot complete with a dead sender is a safe fill, no finding."""
    in_health = Property("in health: overflow", Spills(""), Asked.NEVER, healthy_only=True)
    made = docket(CAN, in_health)
    assert faults_of(made.open(Kind.HEALTH)) == [(), ()]
    assert made.open(Kind.SINGLE) == []
    assert [one.cause for one in made.entries()] == [HEALTH, HEALTH]


def test_advice_is_sought_for_what_must_never_be_and_was_looked_at() -> None:
    """Advice on what a pipe does by bursting, or on what was never asked, sends people to mend what is whole."""
    spill = Property("overflow of a", Spills("a"), Asked.TOLD)
    made = docket(FLOOR, spill, CAN)
    assert made.unheld((Kind.HEALTH, Kind.SINGLE)) == []
    for asked in (FLOOR, spill, CAN):
        made.enter(Verdict(asked, (), Word.UNDECIDED, reason="the bounds leave it open"))
    made.enter(Verdict(FLOOR, (STUCK,), Word.REFUTED))
    made.enter(Verdict(FLOOR, (BROKEN,), Word.REFUTED, itself=True))
    assert [(item.asked, item.faults) for item in made.unheld((Kind.HEALTH,))] == [(FLOOR, ())]
    assert faults_of(made.unheld((Kind.HEALTH, Kind.SINGLE))) == [(), (STUCK,)]
    made.advise(made.unheld((Kind.HEALTH,))[0], Advice("add a float", "interlocks", 3))
    assert [one.verdict.advice is None for one in made.entries()][:2] == [False, True]


def test_a_certificate_is_written_once_for_each_question_that_is_proved() -> None:
    """A certificate of what a run has shown would say nothing, and forty of one question hide the others."""
    made = docket(FLOOR, CAN)
    made.enter(Verdict(FLOOR, (), Word.PROVED, "wet", 5))
    made.enter(Verdict(FLOOR, (STUCK,), Word.PROVED, "wired", 5))
    made.enter(Verdict(FLOOR, (BROKEN,), Word.UNDECIDED))
    made.enter(Verdict(CAN, (), Word.PROVED, "a run"))
    assert [(item.asked, item.faults) for item in made.proved()] == [(FLOOR, ()), (FLOOR, (STUCK,))]
