"""What a review holds: sections of tables, bars, curves and steps, all in SI, each beside its judgements.

The sections are data; `ullage.report` letters, draws and prints them in the reader's units.
"""

from __future__ import annotations

from dataclasses import dataclass

from ullage.quantities import Span
from ullage.review.judgement import Judgement

Cell = float | str | Span | None
"""A figure [SI of its column], a word, a range, or nothing where the figure is unknown."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its head, and the dimension of its figures ("" for words and bare numbers)."""

    head: str
    dimension: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table, its first column naming what the row is about.

    Attributes
    ----------
    title : str
    columns : tuple of Column
    rows : tuple of tuple of Cell
        As many cells in each as there are columns.
    note : str
        What a reader has to know of it ("" where the heads say it all).
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        assert all(len(row) == len(self.columns) for row in self.rows), f"'{self.title}' has a row of another width"


@dataclass(frozen=True, slots=True)
class Bars:
    """Shares of a whole: which part takes how much of it (``rows``: name of the whole, its amount, the parts).

    Attributes
    ----------
    title : str
    dimension : str
        Of the wholes and their parts.
    rows : tuple of (str, tuple of (str, float))
        Each whole with its parts in order [SI of the dimension].
    """

    title: str
    dimension: str
    rows: tuple[tuple[str, tuple[tuple[str, float], ...]], ...]


@dataclass(frozen=True, slots=True)
class Curves:
    """Lines of one figure over another, and single points on them.

    Attributes
    ----------
    title : str
    across, up : Column
        Heads and dimensions of the two axes.
    lines : tuple of (str, tuple of (float, float))
        Each line with its points [SI].
    marks : tuple of (str, float, float)
        Named points [SI].
    """

    title: str
    across: Column
    up: Column
    lines: tuple[tuple[str, tuple[tuple[float, float], ...]], ...]
    marks: tuple[tuple[str, float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Steps:
    """What a person does, in order, with the cautions that stand above the first step."""

    title: str
    cautions: tuple[str, ...]
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One subject of the review.

    Attributes
    ----------
    name, title : str
        A word for the command line, and the heading.
    matter : tuple
        Tables, bars, curves and steps in order.
    judgements : tuple of Judgement
    assumed : tuple of str
        What stood in for inputs that the rig file does not give, with the field to give it in.
    cautions : tuple of str
        What stands beside the numbers of the whole section.
    """

    name: str
    title: str
    matter: tuple[Table | Bars | Curves | Steps, ...]
    judgements: tuple[Judgement, ...]
    assumed: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
