"""Judgements: a figure of the design beside its limit, with the limit's source and one line of reasoning.

The limits are data, `limits.toml` beside this file: what is judged, the limit in words, where
it comes from, what a person does about it, and the caution that belongs beside the number.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

Grade = Literal["PASS", "LOOK", "STOP"]
"""What a judgement comes to. STOP only where somebody may be hurt or something flooded."""

GRADES: tuple[Grade, ...] = ("STOP", "LOOK", "PASS")
"""The grades, the gravest first."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One entry of the catalogue of limits.

    Attributes
    ----------
    code : str
        Letter of the section and two digits, such as ``W10``.
    title : str
        What is judged.
    limit : str
        The limit in words.
    source : str
        The standard, book or row of published values it comes from, or ``common practice, no source``.
    remedy : str
        What a person does about it.
    caution : str
        The usual caution where somebody may be hurt ("" where nobody may).
    """

    code: str
    title: str
    limit: str
    source: str
    remedy: str
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Judgement:
    """One thing that was judged.

    Attributes
    ----------
    code : str
        Code of the catalogue of limits.
    on : str
        The part, way or state it is about.
    grade : str
        PASS, LOOK or STOP. What cannot be judged for want of an input is LOOK, with the input named.
    because : str
        The reasoning in one line, with its figures (metric, as in findings).
    missing : tuple of str
        Fields of the rig file that were not given and without which this is open (``pipes.riser.wall``).
    """

    code: str
    on: str
    grade: Grade
    because: str
    missing: tuple[str, ...] = ()

    @property
    def limit(self) -> Limit:
        """The catalogue's entry of this code."""
        return limits()[self.code]


@cache
def limits() -> dict[str, Limit]:
    """All limits, in order of code."""
    raw = tomllib.loads(files("ullage.review").joinpath("limits.toml").read_text("utf8"))
    return {code: Limit(code, **raw[code]) for code in sorted(raw)}


def graded(value: float, look: float, stop: float | None = None) -> Grade:
    """The grade of a figure that had better be small.

    Parameters
    ----------
    value, look : float
        The figure, and where a person looks at it (same unit).
    stop : float or None
        Beyond this somebody may be hurt or something flooded.
    """
    if stop is not None and value > stop:
        return "STOP"
    return "LOOK" if value > look else "PASS"
