"""What is told of a run, in its shortest words."""

from __future__ import annotations

from tests.unit.report.made import account
from ullage.report.account import CAUTION, GROUPS, SI_UNIT, Expectation, Outcome

KEPT, BROKEN = Expectation("a", True), Expectation("b", False, "at most 3 L")


def test_the_verdict_counts_what_was_expected() -> None:
    """'Fine' of a run of which nothing was expected is read as a proof."""
    assert account(expectations=()).verdict == "nothing was expected of this run"
    assert account(expectations=(KEPT,)).verdict == "expectation kept"
    assert account(expectations=(KEPT, KEPT)).verdict == "all 2 expectations kept"
    assert account(expectations=(KEPT, BROKEN, BROKEN)).verdict == "2 of 3 expectations broken"
    assert account(expectations=()).fine
    assert not account(expectations=(KEPT, BROKEN)).fine


def test_the_line_of_harm_holds_every_harm_in_the_units_of_the_reader() -> None:
    """The second harm is the one that the first hid."""
    both = (
        Outcome("ran indoors", 0.0194, "volume", "harm", bad=True),
        Outcome("taken at shore", 0.1),
        Outcome("water_pump ran dry", 65.0, "time", "harm", bad=True),
    )
    assert account(outcomes=both).harm == "Harm: ran indoors (19.4 L); water_pump ran dry (1 min 5 s)."
    assert account(outcomes=both, system="us").harm == "Harm: ran indoors (5.12 gal); water_pump ran dry (1 min 5 s)."


def test_every_dimension_of_an_outcome_has_its_unit_and_its_words() -> None:
    """A figure whose unit nobody knows is no figure."""
    for dimension in SI_UNIT:
        assert Outcome("x", 2.0, dimension).figure()
    assert {o.group for o in account().outcomes} <= set(GROUPS)


def test_the_caution_names_what_can_hurt() -> None:
    """The usual caution: drinking water, scalding, waste, gas and electricity, and who decides."""
    for word in ("drink", "disinfected", "scald", "waste", "gas", "electricity", "licensed", "local rules"):
        assert word in CAUTION
