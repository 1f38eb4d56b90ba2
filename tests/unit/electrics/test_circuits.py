"""Circuits, starts, days and batteries on a small rig whose figures can be reckoned by hand."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ullage.electrics.batteries import exponent_of, handset_life, run_time
from ullage.electrics.circuits import (
    Circuit,
    circuits_of,
    current_of,
    feed_drop,
    guard_of,
    nominal,
    start_voltage,
    wire_resistance,
)
from ullage.electrics.days import usual_day
from ullage.rig.model import Rig
from ullage.rig.supply import Handset, Load

CURVE = [{"flow": "0 L/min", "pressure": "3 bar"}, {"flow": "10 L/min", "pressure": "0 bar"}]
BOARD_WIRE = {"length": "2 m", "size": "4 mm2", "fuse": "15 A"}
PUMP_WIRE = {"length": "3 m", "size": "2.5 mm2"}
POWER = {"voltage": "12.8 V", "capacity": "100 Ah", "least": "10.8 V"}


def rig(**pump: object) -> Rig:
    """A pump of 6 A that starts with 20 A, and a light of 2 A, on one board of 50 mA."""
    told = {"curve": CURVE, "draws": "6 A", "inrush": "20 A", "board": "main", "wire": PUMP_WIRE, **pump}
    return Rig.model_validate(
        {
            "rig": "Small",
            "power": POWER,
            "boards": {"main": {"draws": "50 mA", "wire": BOARD_WIRE}},
            "pumps": {"pump": {key: value for key, value in told.items() if value is not None}},
            "loads": {"light": {"power": "24 W", "daily": "5 h", "board": "main"}},
        }
    )


def pair(of: Rig) -> tuple[Circuit, Circuit]:
    """The circuits of pump and board."""
    named = {circuit.name: circuit for circuit in circuits_of(of)}
    return named["pump"], named["main"]


def test_a_board_carries_all_that_it_drives() -> None:
    """A board's wire reckoned for the board alone glows when the pump runs."""
    pump, board = pair(rig())
    assert board.running == pytest.approx(6.0 + 2.0 + 0.05)
    assert board.own == pytest.approx(0.05)
    assert pump.running == pump.own == 6.0


def test_the_voltage_at_a_start_by_hand() -> None:
    """10.8 V less what the board's wire and its own lose: a pump that hums and does not turn burns."""
    pump, board = pair(rig())
    copper = 0.017241e-6 * (1 + 0.00393 * 30)
    before = (0.05 + 2.0 + 20.0) * copper * 4 / 4e-6
    assert start_voltage(rig(), pump, board) == pytest.approx(10.8 - before - 20.0 * copper * 6 / 2.5e-6)
    assert feed_drop(pump, board) == pytest.approx(8.05 * copper * 4 / 4e-6)


@given(st.floats(0.75, 70.0), st.floats(0.75, 70.0))
def test_a_thicker_wire_never_starts_worse(one: float, other: float) -> None:
    """The remedy that the review gives has to be one."""
    thin, thick = (rig(wire={"length": "3 m", "size": f"{size} mm2"}) for size in sorted((one, other)))
    worse, better = (start_voltage(of, *pair(of)) for of in (thin, thick))
    assert worse is not None
    assert better is not None
    assert worse <= better < 10.8


def test_what_is_not_known_is_not_guessed() -> None:
    """A start that was never reckoned must not pass for one that works."""
    pump, board = pair(rig(wire=None))
    assert start_voltage(rig(wire=None), pump, board) is None
    assert pair(rig(inrush=None))[0].starting is None
    assert feed_drop(pump, None) == 0.0


def test_the_fuse_of_the_board_guards_where_a_wire_has_none() -> None:
    """Two metres of thin wire behind a board are guarded by the board's fuse or by nothing."""
    pump, board = pair(rig())
    assert guard_of(pump, board) == 15.0
    assert guard_of(pair(rig(wire={**PUMP_WIRE, "fuse": "10 A"}))[0], board) == 10.0
    assert guard_of(pump, None) is None


@pytest.mark.parametrize(("rested", "system"), [(12.8, 12.0), (11.9, 11.9), (26.4, 24.0), (51.2, 48.0), (6.3, 6.3)])
def test_nominal_voltage(rested: float, system: float) -> None:
    """Per cents of the wrong voltage are twice or half of what they should be."""
    assert nominal(rested) == system


def test_a_power_stands_for_a_current() -> None:
    """60 W at 12 V are 5 A; a load that states both is refused before (B701)."""
    assert current_of(Load.model_validate({"power": "60 W"}), 12.0) == 5.0
    assert current_of(Load.model_validate({"draws": "3 A"}), 12.0) == 3.0


def test_a_usual_day_by_hand() -> None:
    """2 A for 5 h, 6 A for 30 min and a board of 50 mA: 14.2 Ah; half of 100 Ah lasts three and a half days."""
    told = rig(daily="30 min")
    day = usual_day(told, circuits_of(told))
    assert not day.unknown
    assert day.charge / 3600 == pytest.approx(10.0 + 3.0 + 1.2)
    assert [name for name, _ in day.loads] == ["light", "pump", "main"]
    assert day.lasts / 86400 == pytest.approx(50.0 / 14.2)


def test_a_day_names_what_it_does_not_know() -> None:
    """A day that leaves out the pump in silence promises weeks."""
    assert usual_day(rig(), circuits_of(rig())).unknown == ("pumps.pump.daily",)


@given(st.floats(1.0, 1.5), st.floats(0.01, 500.0))
def test_a_battery_never_gives_more_than_it_has(peukert: float, current: float) -> None:
    """Below the rated current the law promises more charge than there is."""
    assert run_time(360000.0, 72000.0, peukert, current) * current <= 360000.0 * (1 + 1e-9)
    assert run_time(360000.0, 72000.0, peukert, 0.0) == inf


def test_one_rating_alone_has_no_exponent() -> None:
    """A battery with one rating is taken to give it however fast; the review says so."""
    assert exponent_of(rig().power) == 1.0


def test_the_wire_of_the_docstring() -> None:
    """5 m of 2.5 mm2, warm."""
    wire = pair(rig(wire={"length": "5 m", "size": "2.5 mm2"}))[0].wire
    assert wire is not None
    assert wire_resistance(wire) == pytest.approx(0.0771, rel=1e-3)


@pytest.mark.parametrize("lacks", ["battery", "sleeps", "wakes"])
def test_a_handset_without_figures_has_no_life(lacks: str) -> None:
    """A life from half of the figures would be trusted at the fill port."""
    wakes = {"message": {"draws": "40 mA", "lasts": "2 s", "every": "1 min"}}
    told = {"battery": "600 mAh", "sleeps": "20 uA", "wakes": wakes}
    assert handset_life(Handset.model_validate(told)) is not None
    assert handset_life(Handset.model_validate({key: told[key] for key in told if key != lacks})) is None
