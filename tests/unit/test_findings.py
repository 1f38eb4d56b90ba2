"""Findings: their order, their weight, and the nearest name."""

from __future__ import annotations

import pytest

from ullage.findings import OTHER_WORDS, Finding, Place, in_order, nearest, refused
from ullage.rig.model import Rig, Valve
from ullage.rig.part import Part


def finding(code: str, line: int, accepted: str = "") -> Finding:
    """A finding of a code in a line."""
    return Finding(code, Place("rig.yaml", line, 1), f"{code} in {line}", accepted=accepted)


def test_findings_are_sorted_by_line_and_kept_once() -> None:
    """Line 10 sorted before line 9, or one fault told twice, sends a person up and down the file."""
    several = [finding("P302", 10), finding("P302", 9), finding("P301", 10), finding("P302", 9)]
    assert [(f.place.line, f.code) for f in in_order(several)] == [(9, "P302"), (10, "P301"), (10, "P302")]


def test_faults_refuse_a_rig_and_cautions_do_not() -> None:
    """A rig with a fault must not run; one with a caution may, since a person decides on it."""
    assert not refused([])
    assert not refused([finding("P302", 1)])
    assert refused([finding("P302", 1), finding("P301", 2)])


def test_an_accepted_caution_does_not_stand() -> None:
    """What a person has accepted with a reason is not asked again."""
    assert finding("P302", 1).stands
    assert not finding("P302", 1, accepted="it spills through its vent").stands


def test_a_place_is_written_so_that_editors_jump_to_it() -> None:
    """file:line:column; a place without a line is the file."""
    assert str(Place("rig.yaml", 3, 7)) == "rig.yaml:3:7"
    assert str(Place("rig.yaml")) == "rig.yaml"


def test_nearest_name() -> None:
    """A name that is offered has to be like the one that was written, and the same on every run."""
    assert nearest("belly_levl", {"belly_level", "loft_level", "shore"}) == "belly_level"
    assert nearest("xyz", {"belly_level", "shore"}) == ""
    assert nearest("x" * 100_000, {"belly_level"}) == ""
    assert len({nearest("lev", {"leva", "levb", "levc"}) for _ in range(5)}) == 1


@pytest.mark.parametrize(
    ("word", "right"), [("faucets", "fixtures"), ("Sensors", "senders"), ("actuator", "motor"), ("fixturs", "fixtures")]
)
def test_a_word_of_others_leads_to_the_word_of_the_files(word: str, right: str) -> None:
    """'faucets' was answered with 'accepts', which is only spelt like it."""
    assert nearest(word, {*Rig.model_fields, *Valve.model_fields}) == right


def test_other_words_stand_for_words_of_the_files_and_are_none() -> None:
    """A table that explains a word which nobody may write, or explains away one that is right, misleads."""
    fields = {name.removesuffix("s") for part in Part.__subclasses__() for name in part.model_fields}
    others = [word for said in OTHER_WORDS.values() for word in said.split()]
    assert set(OTHER_WORDS) <= fields | {"brim", "target"}
    assert len(others) == len(set(others))
    assert not set(others) & set(Rig.model_fields)
