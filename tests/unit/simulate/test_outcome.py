"""Figures of a run that count harm, each once by hand."""

from __future__ import annotations

import re
from math import pi, sqrt

import pytest

from tests.unit.plant.bench import Bench
from tests.unit.plant.test_faults import COCK_OPEN, LITRE, PUMP_ON, bench
from tests.unit.plant.wired import rig_and_program
from ullage.plant.works import with_burst, works_of
from ullage.plant.world import as_arrays
from ullage.rig.model import Line, Rig
from ullage.simulate.outcome import Outcome, outcome_of, trapped

NAME = r"[a-z][a-z0-9_]{0,39}"
"""What the rig file takes for a name."""

FIELDS = ("points", "fixtures", "accumulators")
"""Kinds of part that the plant adds."""


def outcome(one: Bench) -> Outcome:
    """What came of it."""
    return outcome_of(one.works, as_arrays(one.world))


def test_air_that_a_dry_pump_draws() -> None:
    """A pump over an empty tank for 60 s, 11 L/min against no pressure: 11 L of air, no water."""
    one = outcome(
        bench([PUMP_ON, COCK_OPEN, ("0 s", "tap", "tap", 1.0)], tanks={"low": {"starts_with": "0 %"}}).play("1 min")
    )
    assert one.pumps["pump"].dry == pytest.approx(60.0, abs=0.01)
    assert one.pumps["pump"].air == pytest.approx(11 * LITRE, rel=1e-3)
    assert one.fixtures["tap"] < 0.3 * LITRE, "the accumulator's own water, 0 L of the tank's"


def test_what_runs_over_a_brim() -> None:
    """20 L into a tank of 200 L that holds 190 L, its vent too narrow for water: 10 L less a drop run indoors."""
    narrow = {"low": {"starts_with": "95 %", "vent": {"bore": "1 mm", "length": "10 m"}}}
    one = outcome(bench([], "low jerrycan 20 L", tanks=narrow).play("2 min"))
    assert one.tanks["low"].poured == pytest.approx(20 * LITRE, abs=1e-6)
    assert one.tanks["low"].ran_over == pytest.approx(10 * LITRE, rel=0.01)
    assert one.indoors == one.tanks["low"].ran_over
    assert one.outdoors == 0.0


@pytest.mark.parametrize("outdoors", [True, False])
def test_what_a_burst_loses(outdoors: bool) -> None:
    """A hole of 12.5 mm at 2 bar, Cd 0.61, for 20 s: 1.497 L/s, 29.9 L; indoors only where the pipe lies there."""
    hole = 0.61 * 0.25 * pi * 0.0125**2 * sqrt(2.0 * 2e5 / 1000.0)
    one = bench([("0 s", "hose", "mains", 2e5)], "hose burst from 10 s", pipes={"hose": {"outdoors": outdoors}})
    found = outcome(one.play("30 s"))
    assert found.lost_by_bursts == pytest.approx(20 * hole, rel=5e-3)
    assert found.indoors == (0.0 if outdoors else found.lost_by_bursts)
    assert set(found.fixtures) == {"tap"}


def test_what_is_shut_in() -> None:
    """2 m of 13 mm between two closed valves hold 0.265 L, which frost makes burst; with one open they have a way."""
    rig = Rig.model_validate(
        {
            "rig": "shut in",
            "pipes": {"between": {"bore": "13 mm", "length": "2 m"}, "before": {"bore": "13 mm", "length": "5 m"}},
            "valves": {"one": {"kind": "ball", "kv": "4 m3/h"}, "two": {"kind": "ball", "kv": "4 m3/h"}},
            "lines": [{"from": "a", "through": ["before", "one", "between", "two"], "to": "b"}],
        }
    )
    assert trapped(rig, {"one": 0.0, "two": 0.0}) == {"a to b": pytest.approx(0.2655 * LITRE, rel=1e-3)}
    assert trapped(rig, {"one": 0.0, "two": 0.1}) == {}


def test_what_the_plant_adds_has_no_name_of_a_part() -> None:
    """A person's point that is named like the burst of a pipe would be put in its place: a tap then gives nothing."""
    rig, program = rig_and_program()
    bare = rig.model_copy(update={"accumulators": {}})
    piped = rig.model_copy(update={"lines": tuple(_with_a_cock(line) for line in rig.lines)})
    for given in (rig, bare, piped):
        plant = works_of(with_burst(given, "suction"), program.names.outputs).rig
        own = {name for field in FIELDS for name in getattr(given, field)}
        added = {name for field in FIELDS for name in getattr(plant, field)} - own
        assert len(added) >= 2
        assert not [name for name in added if re.fullmatch(NAME, name)]


def _with_a_cock(line: Line) -> Line:
    """A line with a valve behind its pump, so that the plant parts it at the pump's outlet."""
    return line.model_copy(update={"through": (*line.through, "lift")}) if "water_pump" in line.through else line
