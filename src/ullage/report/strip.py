"""What a strip chart shows, before it is drawn: plain figures with their names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Curve:
    """A quantity over time.

    Attributes
    ----------
    name : str
        What a person calls it.
    time_s : sequence of float, shape (n,)
        Times since the start [s], rising.
    value : sequence of float, shape (n,)
        Values [unit of its panel]; NaN where there is none.
    stepped : bool
        Whether a value stays until the next one (a reading), instead of running to it.
    """

    name: str
    time_s: Sequence[float]
    value: Sequence[float]
    stepped: bool = False


@dataclass(frozen=True, slots=True)
class Mark:
    """A level that means something: ``limit`` (must not be passed), ``wish`` (a target), ``sign`` (a switch)."""

    name: str
    value: float
    kind: str


@dataclass(frozen=True, slots=True)
class Panel:
    """Curves over one scale, with marks.

    Attributes
    ----------
    name, unit : str
        Heading of the panel.
    curves : tuple of Curve
        The first is the most important.
    marks : tuple of Mark
        Levels to show.
    top : float
        The scale reaches at least from 0 to here [unit]; 0 for whatever the curves need.
    """

    name: str
    unit: str
    curves: tuple[Curve, ...]
    marks: tuple[Mark, ...] = ()
    top: float = 0.0


@dataclass(frozen=True, slots=True)
class Bar:
    """A state that lasts: from, until [s], its word, and its look (open, travel, rest, alarm)."""

    start_s: float
    end_s: float
    word: str
    look: str


@dataclass(frozen=True, slots=True)
class Row:
    """The states of one part over time; gaps are its rest."""

    name: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Sign:
    """A happening with the number it has in the list beside the chart."""

    time_s: float
    number: int


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip chart: panels above each other over one stretch of time [s]."""

    title: str
    start_s: float
    end_s: float
    panels: tuple[Panel, ...]
    rows: tuple[Row, ...] = ()
    signs: tuple[Sign, ...] = ()
