"""Strip charts: nothing lost in thinning, names apart, colours never alone, the same bytes each time."""

from __future__ import annotations

import math
import re
from dataclasses import fields
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.report.seeing import contrast
from ullage.report import charts
from ullage.report.inks import DARK, DASHES, LIGHT, Inks, declared, named
from ullage.report.strip import Bar, Curve, Mark, Panel, Row, Sign, Strip

TIME = [float(i) for i in range(1200)]
STRIP = Strip(
    "Fill",
    0.0,
    1200.0,
    (
        Panel(
            "belly", "L",
            (Curve("volume", TIME, [30 + 0.07 * t for t in TIME]), Curve("as read", TIME, [31.0] * 1200, True)),
            (Mark("overflow", 140.0, "limit"), Mark("target", 112.0, "wish"), Mark("belly_float", 134.0, "sign")),
            150.0,
        ),
        Panel("flows", "L/min", (Curve("shore", TIME, [8.0] * 1200),)),
    ),
    (Row("fill", (Bar(10, 900, "filling", "rest"),)),
     Row("shore_in", (Bar(10, 15, "travelling", "travel"), Bar(15, 900, "open", "open"))),
     Row("belly_high", (Bar(950, 1200, "tripped", "alarm"),))),
    (Sign(10, 1), Sign(12, 2), Sign(950, 3)),
)  # fmt: skip


def seen_by_a_deuteranope(ink: str) -> tuple[float, float, float]:
    """Linear RGB as seen without the middle cones (Vienot, Brettel and Mollon 1999, from memory: M row)."""
    parts = [int(ink[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    yellow = 0.29275 * red + 0.70725 * green
    return yellow, yellow, -0.02234 * red + 0.02234 * green + blue


@pytest.mark.parametrize("inks", [LIGHT, DARK])
def test_letters_and_lines_stand_out_from_their_ground(inks: Inks) -> None:
    """Whoever stands in the sun with a telephone must still read the limit. WCAG 2.2: 4.5 for text, 3 for graphics."""
    for ground in (inks.paper, inks.ground):
        for letters in (inks.text, inks.faint, inks.limit, inks.wish, inks.alarm, *(inks.series(i) for i in range(5))):
            assert contrast(letters, ground) >= 4.5, letters
        assert contrast(inks.open, ground) >= 3.0
    assert contrast(inks.text, inks.rest) >= 4.5
    assert contrast(inks.ground, inks.alarm) >= 4.5


@pytest.mark.parametrize("inks", [LIGHT, DARK])
def test_the_first_lines_of_a_panel_differ_without_green_cones_or_in_their_dash(inks: Inks) -> None:
    """One man in twelve confuses red and green; a volume taken for a reading hides the lie of the sender."""
    assert len(set(DASHES)) == len(DASHES)
    first, second = (seen_by_a_deuteranope(inks.series(i)) for i in (0, 1))
    assert math.dist(first, second) > 0.1


def test_no_two_inks_are_equal_so_that_one_drawing_serves_light_and_dark() -> None:
    """With two equal inks the dark chart would draw letters in the colour of their ground."""
    for inks in (LIGHT, DARK):
        values = [getattr(inks, f.name) for f in fields(Inks)]
        assert len(set(values)) == len(values)


def test_the_named_drawing_holds_no_light_ink() -> None:
    """A dark letter left over on a dark page cannot be read."""
    svg = charts.svg(STRIP)
    used = set(re.findall(r"#[0-9a-f]{6}", svg))
    assert {LIGHT.paper, LIGHT.text, LIGHT.limit, LIGHT.wish, LIGHT.open, LIGHT.alarm} <= used
    assert not {ink for ink in used if ink in named(svg)} & {getattr(LIGHT, f.name) for f in fields(Inks)}
    names = set(re.findall(r"var\((--[a-z0-9-]+)\)", named(svg)))
    assert names
    assert all(f"{name}:#" in declared(DARK) for name in names)
    assert used - {getattr(LIGHT, f.name) for f in fields(Inks)} <= {"#000000"}


def test_the_same_strip_gives_the_same_bytes() -> None:
    """A chart that changes by itself hides the change that matters in a comparison."""
    assert charts.svg(STRIP) == charts.svg(STRIP)
    assert charts.png(STRIP)[:8] == b"\x89PNG\r\n\x1a\n"


def test_every_name_stands_in_the_chart_as_text() -> None:
    """A line without a name is told by its colour alone; text can also be searched and read aloud."""
    svg = charts.svg(STRIP)
    for word in ("belly", "overflow", "target", "belly_float", "volume", "as read", "filling", "shore_in", "tripped"):
        assert f">{word}" in svg, word


def test_a_strip_with_nothing_in_it_is_drawn() -> None:
    """A run in which nothing moved must not fail at its picture."""
    empty = Strip("Nothing", 0.0, 0.0, (Panel("belly", "L", (Curve("volume", [], []),)),))
    assert "<svg" in charts.svg(empty)
    assert "<svg" in charts.svg(Strip("Nothing", 5.0, 60.0, (Panel("belly", "L", (Curve("v", [0.0], [math.nan]),)),)))


@given(st.lists(st.floats(0, 200), max_size=12), st.floats(0.5, 9))
def test_names_are_moved_apart_in_order_and_within_bounds(values: list[float], least: float) -> None:
    """Two names on each other are both unreadable, just where target and overflow come close."""
    placed = charts.spread(values, least, 0.0, 200.0)
    order = sorted(range(len(values)), key=lambda i: (values[i], i))
    for i, j in pairwise(order):
        assert placed[j] - placed[i] >= least - 1e-6
    assert all(-1e-6 <= at <= 200 + 1e-6 for at in placed)
    if (
        all(abs(values[i] - values[j]) >= least for i, j in combinations(range(len(values)), 2))
        and len(values) * least < 20
    ):
        inside = [i for i in range(len(values)) if 20 <= values[i] <= 180]
        assert all(placed[i] == pytest.approx(values[i]) for i in inside)


@given(st.lists(st.floats(-50, 200), min_size=1, max_size=400), st.integers(12, 60))
def test_thinning_keeps_every_peak(values: list[float], most: int) -> None:
    """A level that touched the overflow for one second must touch it in the chart."""
    curve = Curve("level", [float(i) for i in range(len(values))], values)
    time, value = charts.thinned(curve, -1.0, 1e6, most)
    assert max(value) == max(values)
    assert min(value) == min(values)
    assert time == sorted(set(time))
    assert time[0] == 0.0
    assert time[-1] == len(values) - 1
    assert len(time) <= most + 4


@given(st.floats(0, 1e6), st.floats(0.5, 1e6))
def test_there_are_a_few_round_times_on_every_scale(start: float, span: float) -> None:
    """A scale without figures, or black with them, tells no time."""
    times, words = charts.clock_marks(start, start + span)
    assert len(times) == len(words) <= 8
    assert all(start - 1 <= time <= start + span + 1 for time in times)
    if span >= 6:
        assert len(times) >= 2
    assert len(set(words)) == len(words)


def test_a_long_name_is_cut_in_its_middle_and_stays_on_the_paper() -> None:
    """Names that are alike differ at their ends; one that runs off the paper names nothing."""
    assert charts.short("belly_float", 12) == "belly_float"
    cut = charts.short("drinking_water_tank_under_the_floor_left", 16)
    assert len(cut) == 16
    assert cut == "drinking\u2026or_left"
    long = Strip("Long", 0.0, 60.0, (), (Row("x" * 40, (Bar(1, 9, "open", "open"),)),))
    shown = re.findall(r">(x+\u2026x+)<", charts.svg(long))
    assert len(shown) == 1
    assert len(shown[0]) < 25


def test_the_scale_of_time_says_what_it_counts() -> None:
    """'0:05' is five minutes or five seconds, and a fill takes either."""
    assert ">h:min:s<" in charts.svg(Strip("Short", 0.0, 60.0, STRIP.panels))
    assert ">h:min<" in charts.svg(Strip("Long", 0.0, 86400.0, STRIP.panels))


def test_a_name_of_twenty_letters_stands_in_full() -> None:
    """'no_fill_while_du' may be two interlocks."""
    name = "no_fill_while_dumping"
    strip = Strip("one", 0.0, 60.0, (), (Row(name, (Bar(0.0, 30.0, "tripped", "alarm"),)),))
    assert f">{name}<" in charts.svg(strip)
