"""The review in lines: tables, bars, curves and steps, at any width and in both systems."""

from __future__ import annotations

import pytest

from ullage.quantities import Span
from ullage.report.lettering import cells
from ullage.report.quantity_words import System, fitting
from ullage.report.review_lines import matter_lines, review_lines
from ullage.review.judgement import Judgement, limits
from ullage.review.matter import Bars, Column, Curves, Section, Steps, Table
from ullage.review.sections import Review

TABLE = Table(
    "Ways",
    (Column("Way"), Column("Flow", "flow"), Column("Time", "time"), Column("Held at", "pressure")),
    (("shore to belly", 2e-4, 440.0, Span(0.5e5, 4e5)), ("belly to loft", 1e-4, None, None)),
    "At 15 degC.",
)
MATTER = (
    TABLE,
    Bars("What takes the pressure", "pressure", (("shore to belly", (("hose", 1.5e5), ("restrictor", 0.5e5))),)),
    Curves("Pump", Column("Flow", "flow"), Column("Pressure", "pressure"), (), (("duty", 1e-4, 2e5),)),
    Steps("Disinfect", ("Wear gloves.",), ("Open the tap.", "Wait 30 min.")),
)
STOP = Judgement(next(iter(limits())), "hose", "STOP", "12 mm is less than 25 mm", ("pipes.hose.wall",))


def reviewed(*judgements: Judgement) -> Review:
    """A review of one section."""
    return Review("Rig", (Section("water", "Water", MATTER, judgements, ("15 degC",), ("Mind the step.",)),))


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("width", [40, 60, 80, 200])
def test_no_line_is_wider_than_the_terminal(width: int, system: System) -> None:
    """What is cut off at the edge is the figure."""
    lines = review_lines(reviewed(STOP), width, system)
    assert max(map(cells, lines)) <= width
    words = " ".join(" ".join(lines).split())
    for text in ("shore to belly", "Disinfect", "2. Wait 30 min.", "Mind the step.", "pipes.hose.wall", "1 STOP"):
        assert text in words


def test_figures_have_the_units_of_the_reader() -> None:
    """Two readers of one table must not fill by the same number."""
    metric, us = ("\n".join(matter_lines(TABLE, 120, system)) for system in ("metric", "us"))
    assert "12.0 L/min" in metric
    assert "3.17 gpm" in us
    assert "50.0 kPa .. 4.00 bar" in metric
    assert "7 min 20 s" in us
    assert "59.0 °F" in us


def test_the_largest_part_of_a_bar_stands_first() -> None:
    """The part that limits is the one to change."""
    lines = matter_lines(MATTER[1], 80, "metric")
    assert [line.split()[0] for line in lines[2:]] == ["75", "25"]
    assert lines[2].count("=") == 3 * lines[3].count("=")


def test_what_passed_is_counted_or_told() -> None:
    """Fifty lines of praise hide the one that matters."""
    fine = Judgement(STOP.code, "pipe", "PASS", "it is wide enough")
    assert "it is wide enough" not in "\n".join(review_lines(reviewed(fine), 80))
    assert "it is wide enough" in "\n".join(review_lines(reviewed(fine), 80, everything=True))


@pytest.mark.parametrize(
    ("value", "dimension", "words"),
    [(2.3e-4, "volume", "230 mL"), (1.2e-3, "volume", "1.20 L"), (5e-6, "current", "5.00 uA"), (0.0, "flow", "0 L/h")],
)
def test_a_figure_has_the_unit_that_fits(value: float, dimension: str, words: str) -> None:
    """0.00023 m3 is read wrongly."""
    assert fitting(value, dimension) == words
