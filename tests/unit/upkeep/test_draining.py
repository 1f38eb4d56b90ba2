"""What drains and what stays: lines laid by hand, and that every cure is one."""

from __future__ import annotations

from math import pi

import pytest

from tests.examples.test_rigs import RIGS
from tests.unit.rig.breaking import seen
from tests.unit.upkeep.plumbed import laid
from ullage.rig.keeping import Drain
from ullage.rig.ways import Ways
from ullage.upkeep.draining import LEAST_FALL, Stays, drainage_of, hoses, openings, tank_runs_to
from ullage.upkeep.profile import profile_of

HOLDS = 0.25 * pi * 0.02**2 * 2.0
"""Of 2 m of 20 mm bore [m3] (closed form): 628 mL."""

DIP = "  - {from: high.low, through: [one], to: dip}\n  - {from: dip, through: [two], to: tap}\n"
COCK = "drains: {cock: {at: dip}}\n"
PUMP = "pumps: {pump: {curve: [{flow: 0 L/min, pressure: 3 bar}, {flow: 9 L/min, pressure: 0 bar}]}}\n"
FLAP = "checks: {flap: {kv: 2 m3/h}}\n"


def stays(ways: Ways) -> dict[str, Stays]:
    """What stays, by part."""
    return {kept.part: kept for kept in drainage_of(ways).stays}


def test_a_line_that_falls_drains() -> None:
    """A line that is said to keep water is blown out for nothing, and the next warning is not read."""
    ways = laid("  - {from: high.low, through: [one], to: tap}\n", tap=0.4)
    assert not stays(ways)
    (runs,) = drainage_of(ways).runs
    assert (runs.part, runs.out, runs.volume) == ("one", "tap", pytest.approx(HOLDS))
    assert tank_runs_to(ways, "high") == "tap"


def test_a_dip_keeps_what_lies_below_its_lower_way_out() -> None:
    """The water of a dip freezes first: down to 0.2 m, out at 0.6 m, the rise keeps (0.6 - 0.2) / (1.01 - 0.2)."""
    ways = laid(DIP, tap=0.6, point=0.2)
    kept = stays(ways)
    assert kept["one"].volume == pytest.approx(HOLDS * 0.4 / 0.81, rel=1e-9)
    assert kept["two"].volume == pytest.approx(HOLDS, rel=1e-9)
    assert {(each.why, each.cure, each.height) for each in kept.values()} == {("sags", "dip", 0.2)}
    # the tap lies below the floor of the tank, so what stands over it runs out; and not when it lies higher
    assert tank_runs_to(ways, "high") == "tap"
    higher = laid(DIP, tap=1.5, point=0.2)
    assert stays(higher)["two"].volume == pytest.approx(HOLDS * (1.01 - 0.2) / (1.5 - 0.2), rel=1e-9)
    assert tank_runs_to(higher, "high") is None


def test_a_cock_in_the_dip_lets_it_out() -> None:
    """A remedy that does not help is worse than none."""
    ways = laid(DIP, tap=1.5, point=0.2, more=COCK)
    assert not stays(ways)
    assert {runs.out for runs in drainage_of(ways).runs} == {"cock"}
    assert tank_runs_to(ways, "high") == "cock"


def test_a_lower_way_out_behind_a_hump_is_none() -> None:
    """A tap below the dip does not drain it over a crest: by gravity the water leaves at the tank or not at all."""
    over = DIP.replace("to: tap}", "to: tap, crest: {z: 1.5 m}}")
    kept = drainage_of(laid(over, tap=0.1, point=0.2)).stays
    assert [(each.part, each.why, each.cure) for each in kept] == [("one", "sags", "dip"), ("two", "sags", "dip")]
    assert kept[0].volume == pytest.approx(HOLDS)
    # the rise to the crest takes 1.3 of 2.7 m, and stands full up to the tank's opening at 1.01 m
    assert kept[1].volume == pytest.approx(HOLDS * 1.3 / 2.7 * (1.01 - 0.2) / 1.3)


def test_water_stands_below_a_pump_like_in_a_straw() -> None:
    """A suction line open below and shut above keeps its water though it slopes back all the way."""
    line = "  - {from: high.low, through: [one, pump], to: tap}\n"
    kept = stays(laid(line, tap=1.5, more=PUMP))["one"]
    assert (kept.why, kept.cure, kept.volume) == ("no air", "pump", pytest.approx(HOLDS))
    vented = laid(line, tap=1.5, more=PUMP + "drains: {cock: {at: pump}}\n")
    assert not stays(vented)


@pytest.mark.parametrize("order", ["[flap, one]", "[one, flap]", "[two, flap, one]"])
def test_a_check_lets_through_what_falls_its_way(order: str) -> None:
    """Downhill through a check valve water and air go together."""
    ways = laid(f"  - {{from: high.low, through: {order}, to: tap}}\n", tap=0.4, more=FLAP)
    assert not stays(ways)


def test_a_check_holds_what_stands_on_it() -> None:
    """Uphill, what is above a check valve never comes back: it stands there all winter."""
    ways = laid("  - {from: high.low, through: [one, flap, two], to: tap}\n", tap=2.5, more=FLAP)
    kept = stays(ways)
    assert (kept["one"].why, kept["one"].cure) == ("no air", "flap")
    assert (kept["two"].why, kept["two"].cure) == ("sags", "two")
    assert kept["two"].volume == pytest.approx(HOLDS)


@pytest.mark.parametrize(("fall", "level"), [(0.9 * LEAST_FALL, True), (1.1 * LEAST_FALL, False)])
def test_a_level_pipe_keeps_its_water(fall: float, level: bool) -> None:
    """A pipe without fall does not run empty whatever is open at its ends."""
    ways = laid("  - {from: high.low, through: [one], to: tap}\n", tap=1.01 - 2.0 * fall)
    assert [each.why for each in stays(ways).values()] == ["level"] * level


def test_a_line_over_a_crest_drains_to_both_sides() -> None:
    """A crest is a point of a line like any other; water above both ends has ways out."""
    ways = laid("  - {from: high.low, through: [one], to: tap, crest: {z: 2 m}}\n", tap=1.2)
    assert not stays(ways)
    top = [stretch.high for stretch in profile_of(ways).stretches]
    assert top == [2.0, 2.0]
    lengths = [stretch.length for stretch in profile_of(ways).stretches]
    # the straight ways to the crest are 0.99 m and 0.8 m, and the pipe is shared out like them
    assert lengths == pytest.approx([2 * 0.99 / 1.79, 2 * 0.8 / 1.79])


def test_a_heater_keeps_its_water_until_a_cock_is_at_it() -> None:
    """A heater that was thought empty bursts, and is the dearest part of all."""
    heater = "heaters: {heater: {volume: 6 L, bore: 13 mm}}\n"
    line = "  - {from: high.low, through: [one, heater, two], to: tap}\n"
    (kept,) = stays(laid(line, tap=0.4, more=heater)).values()
    assert (kept.part, kept.why, kept.cure, kept.volume) == ("heater", "vessel", "heater", pytest.approx(6e-3))
    assert not stays(laid(line, tap=0.4, more=heater + "drains: {cock: {at: heater}}\n"))


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_every_cure_is_one(path: object) -> None:
    """A cock at the place that is told must let out what it is told for, on every rig."""
    view = seen(path.read_bytes(), path.name)  # type: ignore[attr-defined]
    bare = view.rig.model_copy(update={"drains": {}})
    told = drainage_of(Ways(bare)).stays
    assert told
    places = dict.fromkeys(each.cure for each in told if each.why != "level")
    cured = bare.model_copy(update={"drains": {f"cock_{at}": Drain(at=cure) for at, cure in enumerate(places)}})
    assert [each.why for each in drainage_of(Ways(cured)).stays if each.why != "level"] == []


def test_hoses_are_unhooked_and_lasting_supplies_are_not() -> None:
    """A spring that runs all winter is no hose that a person carries away."""
    by_name = {path.stem: seen(path.read_bytes(), path.name).ways for path in RIGS}
    assert hoses(by_name["marram"]) == {"hose": by_name["marram"].of_part["shore_check"].start}
    assert hoses(by_name["bothy"]) == {}
    assert openings(by_name["marram"])[by_name["marram"].of_part["shore_check"].start] == "shore"


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_no_water_is_lost_in_the_reckoning(path: object) -> None:
    """What neither drains nor stays was forgotten, and freezes."""
    ways = seen(path.read_bytes(), path.name).ways  # type: ignore[attr-defined]
    found = drainage_of(ways)
    told = {each.part for each in (*found.runs, *found.stays)} | set(hoses(ways))
    assert told == {*ways.rig.pipes, *ways.rig.heaters}
