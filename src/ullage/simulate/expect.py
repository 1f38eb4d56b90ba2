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
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from ullage.findings import Finding
from ullage.rig.meaning import Above, Below, Gives, Holds, Law, Statement
from ullage.rig.model import Rig
from ullage.rig.resolve import Scope
from ullage.rig.statements import read_statement
from ullage.rig.text import Path

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
    """

    text: str
    frame: Frame
    statement: Statement
    ms: int = -1


def read_expectation(line: str, rig: Rig, scope: Scope, path: Path, time: Callable[[str], int]) -> Expectation | None:
    """Read one line.

    Parameters
    ----------
    line : str
    rig : Rig
        The rig that it speaks of.
    scope : Scope
        What its guards may speak of; its findings grow.
    path : Path
        Where the line stands in the scenario.
    time : callable
        Reads a time as [ms].

    Returns
    -------
    Expectation or None
        None when anything in it is unclear.
    """
    text = line[:LINE_LIMIT]
    ms, begins = -1, 0
    frame: Frame = "ever"
    tail = _TAIL.search(text)
    if tail is not None:
        text, frame, ms = text[: tail.start()], "at" if tail[1] == "at" else "within", time(tail[2])
    front, inside = _NO.match(text), _NEVER.search(text)
    if front is not None or inside is not None:
        if tail is not None:
            refuse(scope, path, f"'{tail[1]}' cannot stand with 'never'", "one or the other")
            return None
        frame = "never"
        if front is not None:
            text, begins = text[front.end() :], front.end()
        elif inside is not None:
            text = text[: inside.start()] + " " * len(inside[0]) + text[inside.end() :]
    statement = read_statement(text, rig, scope, path, begins)
    if isinstance(statement, Gives) and frame != "ever":
        refuse(scope, path, f"what '{statement.source}' gives is counted over the whole run", "no time")
    elif statement is not None and frame == "at" and not isinstance(statement, Above | Below | Holds):
        refuse(scope, path, "this is no state that lasts", "'within', a level, or a guard such as 'fill is idle'")
    elif statement is not None:
        return Expectation(" ".join(line.split()), frame, statement, ms)
    return None


def refuse(scope: Scope, path: Path, what: str, expected: str) -> None:
    """Add the finding that a line is not understood."""
    scope.findings.append(Finding("R153", scope.places.value(*path), what, expected))


def never_of(law: Law) -> tuple[Expectation, ...]:
    """What a rig says must never be: expected of every run."""
    return tuple(Expectation(f"never {wish.text}", "never", wish.statement) for wish in law.never)
