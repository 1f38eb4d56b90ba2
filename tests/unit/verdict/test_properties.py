"""What is asked of a rig, and under which sets of faults."""

from __future__ import annotations

from dataclasses import replace
from math import comb

import pytest

from tests.shipped import marram
from tests.worlds.wrong_rigs import statement_of
from ullage.control.check import Examined
from ullage.plant.faults import HOSE_BURST, Fault, single_faults
from ullage.rig.meaning import Dry, Indoors, Law, Spills
from ullage.rig.model import Rig
from ullage.verdict.causes import HEALTH, Kind, causes_of
from ullage.verdict.properties import Asked, Property, properties_of
from ullage.verdict.verdicts import is_harm_itself


def parts(examined: Examined) -> tuple[Rig, Law]:
    """Rig and law of a sound rig."""
    assert examined.rig is not None
    assert examined.law is not None
    return examined.rig, examined.law


def test_every_rig_is_asked_the_hazards_that_its_file_forgot() -> None:
    """Whoever does not write `never: water indoors` has a floor all the same."""
    rig, law = parts(marram())
    bare = properties_of(rig, replace(law, never=(), sometimes=()))
    assert {one.text: one.asked for one in bare} == {
        "water indoors": Asked.HAZARD,
        "water_pump runs dry": Asked.HAZARD,
        "gray open without intent held 30 s": Asked.HAZARD,
        "gray joined to shore held 30 s": Asked.HAZARD,
        "overflow of belly": Asked.TOLD,
        "overflow of loft": Asked.TOLD,
        "overflow of gray": Asked.TOLD,
    }
    examined = marram()
    for one in bare:
        assert statement_of(one.text, examined) == one.statement, "a story of it can be read again"


def test_a_hazard_that_the_rig_names_is_asked_once() -> None:
    """Two rows for one thing read as two things."""
    rig, law = parts(marram())
    asked = properties_of(rig, law)
    assert [one.text for one in asked if one.statement == Indoors()] == ["water indoors"]
    assert len({one.text for one in asked}) == len(asked)
    assert [one.text for one in asked if one.asked is Asked.SOMETIMES] == [wish.text for wish in law.sometimes]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("((gray_dump is open) and (shore_in is open) and (shore_guard is open)) held 20 s", True),
        ("(gray_dump is open) and (shore_guard is open)", True),
        ("gray joined to shore held 30 s", True),
        ("((gray_dump is open) and (shore_in is open) and (shore_guard is open)) held 40 s", False),
        ("(gray_dump is open) and (shore_guard is open) and (belly_level > 90 %)", False),
    ],
)
def test_a_line_that_asks_for_more_says_the_hazard_too(line: str, says: bool) -> None:
    """A line that asks for less would hide the hazard; one that asks for more makes it a second row for one thing."""
    rig, law = parts(marram())
    wish = replace(law.never[0], statement=statement_of(line, marram()), text=line)
    asked = [one.text for one in properties_of(rig, replace(law, never=(wish,)))]
    assert ("gray joined to shore held 30 s" not in asked[1:]) == says
    in_health = properties_of(rig, replace(law, never=(replace(wish, healthy_only=True),)))
    assert "gray joined to shore held 30 s" in [one.text for one in in_health[1:]]


def test_what_is_asked_in_health_only_stays_so() -> None:
    """A target that a stuck valve overshoots is no flood; asked under faults it would hide those that are."""
    rig, law = parts(marram())
    told = {one.text: one.healthy_only for one in properties_of(rig, law) if one.asked is Asked.NEVER}
    assert told == {wish.text: wish.healthy_only for wish in law.never}
    assert any(told.values())
    overflow = replace(law.never[1], healthy_only=True)
    asked = properties_of(rig, replace(law, never=(overflow,)))
    assert Spills("belly") in [one.statement for one in asked]


def test_the_sets_of_faults_are_all_of_them_once() -> None:
    """A fault that is left out is one that nobody is protected from."""
    rig, _ = parts(marram())
    singles = list(single_faults(rig))
    found = causes_of(rig, "pairs")
    assert found[0] == HEALTH
    assert [one.faults for one in found if one.kind is Kind.SINGLE] == [(fault,) for fault in singles]
    pairs = {frozenset(one.faults) for one in found if one.kind is Kind.PAIR}
    assert len(pairs) == comb(len(singles), 2)
    assert len({one.name for one in found}) == len(found)
    assert causes_of(rig, "none") == (HEALTH,)


def test_common_causes_befall_all_that_hangs_on_one_thing() -> None:
    """The float behind the sender is no second guard where one torn cable takes both."""
    rig, _ = parts(marram())
    common = {
        one.name: {fault.part for fault in one.faults} for one in causes_of(rig, "single") if one.kind is Kind.COMMON
    }
    assert common["all that tells of belly fails, as on one cable"] == {"belly_level", "belly_float", "belly_bottom"}
    assert common["all senders fail, as of one make"] == set(rig.senders)
    assert common["everything on port_board fails"] == {"shore_guard", "shore_in", "gray_dump", "shore_meter"}
    assert common["the supply fails in every way"] == {""}


def test_a_pipe_that_bursts_indoors_is_the_harm_itself() -> None:
    """A rig is not to be blamed for what no rig can prevent, nor praised for it."""
    rig, _ = parts(marram())
    floor = Property("water indoors", Indoors(), Asked.NEVER)
    assert is_harm_itself(rig, floor, Fault(HOSE_BURST, "riser"))
    assert not is_harm_itself(rig, floor, Fault(HOSE_BURST, "hose"))
    assert not is_harm_itself(rig, Property("", Dry("water_pump"), Asked.NEVER), Fault(HOSE_BURST, "riser"))
