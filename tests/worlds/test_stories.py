"""Design errors that people make are found by trying, and what is found can be played again."""

from __future__ import annotations

import pytest

from tests.share import share
from tests.worlds.wrong_more import MORE
from tests.worlds.wrong_rigs import WRONG, Wrong, changed, statement_of
from ullage.plant.faults import LINK_LOST, read_fault
from ullage.simulate.run import simulate
from ullage.verdict.harm import harm_of
from ullage.verdict.stories import find_story, find_witness
from ullage.verdict.trial import Trials

FOUND_WITHIN = 200
"""Trials in which each error shows, those for making its story short among them."""


ALL = (*WRONG, *MORE)
"""Every planted error."""

ASKED = {(wrong.rig, wrong.harm, wrong.faults): wrong for wrong in ALL}
"""Each question about a sound rig once."""


def named(wrong: Wrong) -> str:
    """A word for a design error in the list of tests."""
    return f"{wrong.rig}: {wrong.what}"


@pytest.mark.parametrize("wrong", ALL, ids=named)
def test_a_design_error_is_found(wrong: Wrong) -> None:
    """A floor under water that no drawing showed: somebody left an interlock out, and nothing ever told them."""
    examined = changed(wrong.rig, wrong.change)
    statement = statement_of(wrong.harm, examined)
    assert examined.rig is not None
    assert examined.program is not None
    faults = [read_fault(examined.rig, words) for words in wrong.faults]
    story = find_story(examined, statement, faults, FOUND_WITHIN)
    assert story is not None
    besides = [fault for fault in story.scenario.faults if fault.kind != LINK_LOST]
    assert {(fault.kind, fault.part) for fault in besides} <= {(fault.kind, fault.part) for fault in faults}
    again = simulate(examined.rig, examined.program, story.scenario, story.seed)
    laid = Trials(examined.rig, examined.program).laid(story.scenario.stands, story.scenario.faults)
    assert harm_of(again, laid, statement) == story.harm
    assert again.records.tolist() == story.run.records.tolist()
    print(f"{named(wrong)}: {story.trials} trials")


def test_there_are_enough_of_them() -> None:
    """A dozen errors can all be of the one kind that is found."""
    assert len({(wrong.rig, wrong.what, wrong.harm) for wrong in ALL}) == len(ALL) >= 60


@pytest.mark.parametrize("wrong", ASKED.values(), ids=named)
def test_the_sound_rig_does_no_such_harm(wrong: Wrong) -> None:
    """A search that finds harm in a sound rig is one that nobody asks twice."""
    examined = changed(wrong.rig)
    assert examined.rig is not None
    faults = [read_fault(examined.rig, words) for words in wrong.faults]
    runs = share(400, 40)
    print(f"{runs} trials")
    assert find_story(examined, statement_of(wrong.harm, examined), faults, runs) is None


@pytest.mark.parametrize("rig", ["marram", "crumb", "bothy", "turnstone"])
def test_what_can_be_is_shown(rig: str) -> None:
    """A proof about a rig in which nothing ever happens is empty: each `sometimes` has a run that shows it."""
    examined = changed(rig)
    assert examined.law is not None
    for wish in examined.law.sometimes:
        witness = find_witness(examined, wish.statement)
        assert witness is not None, wish.text
        assert all(fault.part in (examined.rig.boards if examined.rig else ()) for fault in witness.scenario.faults)
