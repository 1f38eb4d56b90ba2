"""What a scenario expects of its run.

A line is a statement (`ullage.rig.statements`) in one of four frames::

    never    no water indoors    belly never over 130 L    water_pump never runs dry
    at       gray below 5 L at 20:00    shore_in is closed at 0:45    fill is complete at 1:00
    within   fill reaches filled within 40 min    belly_high trips within 30 min
    ever     belly_high trips    shower gives at least 30 L    shore gives at most 120 L

"within" counts from the start of the run.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from ullage.rig.meaning import Dry, Gives, Indoors, Law, Reaches, Spills, Statement, Trips
from ullage.rig.statements import read_statement
from ullage.rig.text import Path
from ullage.simulate.sheet import Sheet

Frame = Literal["never", "at", "within", "ever"]
"""How a statement is meant: at no time, at one time, by a time, at some time (or in all)."""

LINE_LIMIT = 300
"""A line has at most so many characters."""

_NO = re.compile(r"^(?:no|never)\s+")
_NEVER = re.compile(r"\s+never\b")
_TAIL = re.compile(r"\s+(at|within)\s+(\d[^()]*)$")


@dataclass(frozen=True, slots=True)
class Expectation:
    """One thing that is expected.

    Attributes
    ----------
    text : str
        As written.
    frame : Frame
    statement : Statement
    ms : int
        At or within which time [ms]; -1 for any.
    healthy_only : bool
        Whether it is expected of a run without faults only.
    """

    text: str
    frame: Frame
    statement: Statement
    ms: int = -1
    healthy_only: bool = False


def read_expectation(sheet: Sheet, line: str, path: Path) -> Expectation | None:
    """Read one line.

    Parameters
    ----------
    sheet : Sheet
        The scenario that it stands in; its findings grow.
    line : str
    path : Path
        Where the line stands.

    Returns
    -------
    Expectation or None
        None when a name or a figure in it is no good; the finding is made.

    Raises
    ------
    Unclear
        When the frame does not suit the statement; the finding is made.
    """
    text = line[:LINE_LIMIT]
    ms, begins = -1, 0
    frame: Frame = "ever"
    tail = _TAIL.search(text)
    if tail is not None:
        text, frame, ms = text[: tail.start()], "at" if tail[1] == "at" else "within", sheet.time(tail[2], path)
    front, inside = _NO.match(text), _NEVER.search(text)
    if tail is not None and (front is not None or inside is not None):
        raise sheet.refuse("R153", path, f"'{tail[1]}' cannot stand with 'never'", "one or the other")
    if front is not None:
        text, frame, begins = text[front.end() :], "never", front.end()
    elif inside is not None:
        text, frame = text[: inside.start()] + " " * len(inside[0]) + text[inside.end() :], "never"
    statement = read_statement(text, sheet.rig, sheet.scope, path, begins)
    if isinstance(statement, Gives) and frame != "ever":
        what = f"what '{statement.source}' gives is counted over the whole run"
        raise sheet.refuse("R153", path, what, "no time")
    if frame == "at" and isinstance(statement, Dry | Indoors | Reaches | Spills | Trips):
        expected = "'within', a level, or a guard such as 'fill is idle'"
        raise sheet.refuse("R153", path, "this is no state that lasts", expected)
    return None if statement is None else Expectation(" ".join(line.split()), frame, statement, ms)


def never_of(law: Law) -> tuple[Expectation, ...]:
    """What a rig says must never be: expected of every run, some of it only of one without faults."""
    return tuple(
        Expectation(f"never {wish.text}", "never", wish.statement, healthy_only=wish.healthy_only) for wish in law.never
    )
