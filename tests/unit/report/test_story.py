"""How a story begins and ends, in words that need no mathematics."""

from __future__ import annotations

from math import radians

from ullage.control.check import Examined
from ullage.plant.faults import read_fault
from ullage.report.story import ending, listed, opening
from ullage.rig.meaning import Above, Dry, Indoors, Trips
from ullage.rig.model import Slope
from ullage.simulate.scenario import Scenario
from ullage.verdict.harm import Harm


def test_the_opening_says_how_everything_is(marram: Examined) -> None:
    """Whoever does not know that the rig stood nose up looks for the fault in the sender."""
    assert marram.rig is not None
    scenario = Scenario(
        hours=1.0,
        starts={"belly": 0.5, "loft": 0.0, "gray": 0.2},
        stands=(Slope.model_construct(ahead=radians(3.0), across=radians(-2.0)),),
        errors={"belly_level": -1.0, "loft_level": 0.0},
        faults=(
            read_fault(marram.rig, "belly_level stuck"),
            read_fault(marram.rig, "port_board lost from 90 s to 2 min"),
        ),
    )
    told = opening(marram.rig, scenario)
    assert told.startswith("At first belly holds 70.0 L, loft is empty and gray holds ")
    assert "The rig stands with the front 3.00 degrees higher and the right side 2.00 degrees higher." in told
    assert "belly_level reads 2.00 % too little, as it may." in told
    assert "loft_level" not in told
    assert "From the start, belly_level stuck: the sender keeps the reading it has." in told
    assert told.endswith("At 0:01:30, port_board lost: nothing passes between board and controller until 0:02:00.")
    assert "18.5 gal" in opening(marram.rig, scenario, "us")


def test_the_ending_says_what_it_comes_to() -> None:
    """Litres on the floor, seconds without water, or what the tank holds: each harm has its own measure."""
    harm = Harm(816_000, 0.1436, None, "")
    assert ending(harm, Above("belly", 0.14), "belly reaches its overflow") == (
        "At 0:13:36 it has come about: belly reaches its overflow (belly comes to hold 144 L)."
    )
    assert ending(Harm(-1, 0.012, None, ""), Indoors(), "water indoors") == (
        "In the end it has come about: water indoors (12.0 L on the floor)."
    )
    assert ending(Harm(1000, None, 80.0, ""), Dry("pump"), "pump runs dry") == (
        "At 0:00:01 it has come about: pump runs dry (1 min 20 s without water)."
    )
    assert (
        ending(Harm(1000, None, None, ""), Trips("lock"), "lock trips") == "At 0:00:01 it has come about: lock trips."
    )


def test_things_are_listed_as_people_do() -> None:
    """A list that ends in a comma is read as one that was cut."""
    assert [listed(["a", "b", "c"]), listed(["a", "b"]), listed(["a"])] == ["a, b and c", "a and b", "a"]
