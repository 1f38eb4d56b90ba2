"""What a sender makes of a level: error, lag, noise, resolution, slosh, slope, and what is lost on the way."""

from __future__ import annotations

from math import exp, pi, sin, sqrt, tan, tanh

import pytest

from tests.share import share
from tests.unit.plant.wired import Wired, rig_and_program
from ullage.control.codes import SPAN_COUNTS
from ullage.plant import layout as at
from ullage.plant.layout import of
from ullage.plant.senders import SLOSH_DECAY, SLOSH_FLOW, SLOSH_MIDDLE, waves
from ullage.plant.wiring import add_wiring
from ullage.plant.works import works_of
from ullage.plant.world import world_of
from ullage.quantities import G_STANDARD
from ullage.rig.model import Slope

SPAN = 0.32
"""Span of Marram's ``belly_level`` [m]: its whole depth; the tank is 1.0 m x 0.5 m."""


def clean(seed: int = 1, slope: Slope | None = None, **columns: float) -> Wired:
    """Marram with a ``belly_level`` that has nothing but what is asked for, over 120 mm of water."""
    one = Wired()
    if slope is not None or seed != 1:
        rig, program = rig_and_program()
        one.works = works_of(rig, program.names.outputs, [slope or Slope()])
        one.world = world_of(one.works, program, seed)
        one.wrong(0)
    row = one.signal("belly_level")
    plain = {"offset": 0.0, "gain_error": 0.0, "lag": 1.0, "noise": 0.0, "resolution": 0.0}
    for name, value in {**plain, **columns}.items():
        one.put(getattr(at, name.upper()), row, value)
    tank = list(one.works.rig.tanks).index("belly")
    one.pour("belly", 0.120 * 0.5 - one.world.r[one.world.n[at.VOLUME] + tank])
    one.put(at.STIRRED, tank, -1e9)
    return one


def test_a_perfect_sender_reads_the_depth() -> None:
    """120 mm of 320 mm are 37.50 %."""
    assert clean().level("belly_level", 2_000) == 3_750


def test_offset_and_gain_add_up() -> None:
    """1 % offset and 1 % of the reading: 37.5 + 1 + 0.375 = 38.875 %."""
    assert clean(offset=0.01, gain_error=0.01).level("belly_level", 2_000) == pytest.approx(3_887.5, abs=0.5)


def test_the_drawn_errors_stay_within_the_stated_one() -> None:
    """A sender that errs more than its 2 % anywhere in its span passes the overflow's margin."""
    rig, program = rig_and_program()
    row, worst, works = program.signal("belly_level"), 0.0, works_of(rig, program.names.outputs)
    for seed in range(share(10_000, 500)):
        add_wiring(works, program, seed)
        offset, gain = (works.reals[column][row] for column in ("offset", "gain_error"))
        worst = max(worst, abs(offset), abs(offset + gain))
    assert 0.018 < worst <= 0.02


def test_an_error_that_is_given_is_the_whole_of_it() -> None:
    """Worst cases are tried with senders that err by all they may; one that errs by less hides an overflow."""
    rig, program = rig_and_program()
    works = works_of(rig, program.names.outputs)
    add_wiring(works, program, 1, {"belly_level": -1.0, "shore_meter": 0.5})
    level, meter, other = (program.signal(name) for name in ("belly_level", "shore_meter", "loft_level"))
    assert (works.reals["offset"][level], works.reals["gain_error"][level]) == (-0.02, 0.0)
    assert (works.reals["offset"][meter], works.reals["gain_error"][meter]) == (0.0, pytest.approx(0.015))
    assert works.reals["offset"][other] != 0.0


@pytest.mark.parametrize("resolution", [0.005, 0.02])
def test_resolution_rounds_to_whole_steps(resolution: float) -> None:
    """37.5 % in steps of 2 % is 38 %; of half a percent, itself."""
    steps = int(0.375 / resolution + 0.5)
    assert clean(resolution=resolution).level("belly_level", 2_000) == round(SPAN_COUNTS * resolution * steps)


def test_lag_is_a_first_order_one() -> None:
    """After a step it has gone 1 - exp(-t / tau) of the way: tau 8 s, read every 2 s (closed form)."""
    one = clean(lag=1.0 - exp(-2.0 / 8.0))
    assert one.level("belly_level", 2_000) == 3_750, "the first reading has nothing to lag behind"
    one.pour("belly", 0.032)  # 64 mm, 20 % of the span
    one.put(at.STIRRED, list(one.works.rig.tanks).index("belly"), -1e9)
    for k, reading in enumerate(one.read("belly_level", range(4_000, 24_000, 2_000)), 1):
        assert reading == pytest.approx(3_750 + 2_000 * (1.0 - exp(-2.0 * k / 8.0)), abs=1.0)


def test_noise_has_its_deviation_and_no_bias() -> None:
    """Noise of 1 % is 1 % to three sigma, and its mean is the truth to five."""
    count = share(20_000, 4_000)
    readings = clean(noise=0.01).read("belly_level", range(0, 2_000 * count, 2_000))
    mean = sum(readings) / count
    deviation = sqrt(sum((reading - mean) ** 2 for reading in readings) / count)
    assert mean == pytest.approx(3_750.0, abs=5.0 * 100.0 / sqrt(count))
    assert deviation == pytest.approx(100.0, rel=3.0 / sqrt(2.0 * count))


def test_noise_is_bounded() -> None:
    """A margin reckoned with three deviations must not be passed by one reading in four hundred, nor a proof by one."""
    count = share(20_000, 4_000)
    readings = clean(noise=0.01).read("belly_level", range(0, 2_000 * count, 2_000))
    assert (min(readings), max(readings)) == (3_750 - 300, 3_750 + 300)


@pytest.mark.parametrize(("ahead", "place"), [(0.05, 0.4), (0.05, -0.4), (-0.03, 0.4), (0.05, 0.0)])
def test_slope_lifts_the_water_at_the_low_end(ahead: float, place: float) -> None:
    """Nose up by alpha, water stands x tan(alpha) lower at a place x ahead of the middle (a level surface)."""
    one = clean(slope=Slope.model_construct(ahead=ahead, across=0.0), place_x=place)
    wanted = (0.120 - place * tan(ahead)) / SPAN
    assert one.level("belly_level", 2_000) == pytest.approx(SPAN_COUNTS * wanted, abs=1.0)


def test_the_middle_of_a_tank_does_not_feel_the_slope() -> None:
    """With sender and float in the middle a box needs no correction, as long as its whole floor is under water."""
    level = clean().level("belly_level", 2_000)
    sloped = clean(slope=Slope.model_construct(ahead=0.05, across=-0.03)).level("belly_level", 2_000)
    assert sloped == pytest.approx(level, abs=12), "the floor is longer by 1 / cos(slope), no more"


def test_slosh_is_the_first_mode_and_dies_down() -> None:
    """``w2 = g k tanh(k h)``, ``k = pi / L`` (Lamb 1932, art. 257): 1 m long, half of 0.32 m deep: 3.79 rad/s."""
    one, tank = clean(), 0
    k = pi / 1.0
    speed = sqrt(G_STANDARD * k * tanh(k * 0.16))
    assert speed == pytest.approx(3.79, abs=0.01)
    assert list(one.works.rig.tanks)[tank] == "belly"
    one.put(at.STIRRED, tank, 100.0)
    row = one.signal("belly_level")
    for since in (0.1, 0.5, 1.0, 5.0, 20.0):
        rise = SLOSH_FLOW * exp(-since / SLOSH_DECAY) * sin(speed * since) * SLOSH_MIDDLE
        assert waves(one.world.n, one.world.r, tank, row, 100.0 + since) == pytest.approx(rise, abs=1e-12)
    assert waves(one.world.n, one.world.r, tank, row, 141.0) == 0.0
    one.put(at.PLACE_X, row, 0.5)
    since = 0.5
    rise = SLOSH_FLOW * exp(-since / SLOSH_DECAY) * sin(speed * since)
    assert waves(one.world.n, one.world.r, tank, row, 100.5) == pytest.approx(rise), "whole at the end of the tank"


def test_a_float_acts_at_its_height() -> None:
    """A float that acts late is the overflow's last warning too late: 268 mm of Marram's belly are 134 L."""
    one = clean()
    one.pour("belly", 0.1339 - 0.060)
    one.put(at.STIRRED, 0, -1e9)
    assert one.level("belly_float", 1_000) == 0
    one.pour("belly", 0.0002)
    one.put(at.STIRRED, 0, -1e9)
    assert one.level("belly_float", 1_000) == 1


def test_a_meter_reads_its_flow_and_nothing_below_its_least() -> None:
    """10 L/min within its 3 %; below 0.3 L/min the wheel stands."""
    one = Wired()
    one.flow("shore_meter", 10e-3 / 60.0)
    gain = one.world.r[one.world.n[at.GAIN_ERROR] + one.signal("shore_meter")]
    assert abs(gain) <= 0.03
    assert one.level("shore_meter", 1_000) == pytest.approx(10_000 * (1.0 + gain), abs=1)
    one.flow("shore_meter", 0.25e-3 / 60.0)
    assert one.level("shore_meter", 2_000) == 0


@pytest.mark.parametrize("loss", [0.02, 0.5])
def test_readings_are_lost_as_often_as_said(loss: float) -> None:
    """Dropouts that come less often than said hide how often a reading goes stale (binomial, five sigma)."""
    one, count = Wired(), share(20_000, 4_000)
    one.put(at.BOARD_LOSS, list(one.works.rig.boards).index("port_board"), loss)
    lost = 0
    for k in range(count):
        one.read("shore_meter", [1_000 * k])
        lost += one.arrivals("shore_meter")[-1] < 0
    assert lost / count == pytest.approx(loss, abs=5.0 * sqrt(loss * (1.0 - loss) / count))


def test_an_older_reading_never_replaces_a_newer_one() -> None:
    """A level of half a minute ago that comes late would say that the tank is not yet full."""
    one = Wired()
    board = list(one.works.rig.boards).index("port_board")
    one.put(at.BOARD_LOSS, board, 0.0)
    for ms, late in ((0, 5_000), (1_000, 100), (2_000, 2_500)):
        one.put(at.BOARD_DELAY_LEAST_MS, board, late)
        one.put(at.BOARD_DELAY_MOST_MS, board, late)
        one.read("shore_meter", [ms])
    heard = [one.heard_ms("shore_meter", now) for now in (500, 1_100, 4_499, 4_500, 6_000)]
    assert heard == [-1, 1_000, 1_000, 2_000, 2_000]


def test_published_on_change_is_silent_until_its_heartbeat() -> None:
    """A signal that is silent for longer than its heartbeat is stale, one that is never silent fills the air."""
    one, row = Wired(), Wired().signal("belly_float")
    one.put(at.ON_CHANGE, row, 1)
    one.put(at.HEARTBEAT_MS, row, 10_000)
    one.read("belly_float", range(0, 25_000, 500))
    assert of(one.world.n, at.RING_COUNT, row) == 3, "at 0, 10 and 20 s"
    one.pour("belly", 0.12)
    one.read("belly_float", [25_000])
    assert of(one.world.n, at.RING_COUNT, row) == 4, "and at once when it changes"
