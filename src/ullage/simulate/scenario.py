"""Read a scenario: what is done to a rig at which time, what goes wrong, and what is expected to come of it.

A scenario is a YAML file like the rig's; every fault of it is a finding with its line, and all
are told at once. Times count from the start of the run: ``90 s``, ``6 min``, ``9:00`` (hours and
minutes) or ``9:00:02``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import count
from typing import Any

from ullage.findings import Finding, in_order
from ullage.plant.faults import FAULTS_LIMIT, Fault
from ullage.plant.happenings import H_STAND
from ullage.rig.meaning import Law
from ullage.rig.model import Rig, Slope
from ullage.rig.shapes import capacity
from ullage.rig.text import read_tree
from ullage.simulate.expect import Expectation, never_of, read_expectation
from ullage.simulate.happenings import Happening, held_so, read_happening
from ullage.simulate.sheet import Sheet

KEYS = ("scenario", "about", "hours", "starts", "slope", "errors", "handset", "happenings", "expect")
"""What a scenario may say."""

NAME_LIMIT = 80
"""A scenario's name has at most so many characters."""

HAPPENINGS_LIMIT = 2000
"""At most this many lines of happenings, and as many of expectations, in one scenario."""


@dataclass(frozen=True, slots=True)
class Scenario:
    """A scenario, whole and checked against its rig.

    Attributes
    ----------
    name, about : str
        Title and words.
    hours : float
        How long it lasts [h].
    starts : dict
        Part of its capacity that each named tank holds at the start.
    stands : tuple of Slope
        How the rig stands, the first at the start.
    errors : dict
        What each named sender, meter or probe errs by, in parts of what it declares [-1..1]; the others
        err as chance will have it.
    happenings : tuple of Happening
        In order of time.
    faults : tuple of Fault
        What goes wrong.
    expectations : tuple of Expectation
        What is expected.
    """

    name: str = "nothing happens"
    about: str = ""
    hours: float = 24.0
    starts: dict[str, float] = field(default_factory=dict)
    stands: tuple[Slope, ...] = (Slope(),)
    errors: dict[str, float] = field(default_factory=dict)
    happenings: tuple[Happening, ...] = ()
    faults: tuple[Fault, ...] = ()
    expectations: tuple[Expectation, ...] = ()


def read_scenario(text: str | bytes, file_name: str, rig: Rig, law: Law) -> tuple[Scenario | None, tuple[Finding, ...]]:
    """Read a scenario file.

    Parameters
    ----------
    text : str or bytes
        Content of the file.
    file_name : str
        Its name as a person knows it.
    rig, law : Rig, Law
        The rig that it is played on, and its guards.

    Returns
    -------
    scenario : Scenario or None
        None with any finding.
    findings : tuple of Finding
        All faults, in order of place.
    """
    tree, findings, places = read_tree(text, file_name)
    if findings:
        return None, in_order(findings)
    if isinstance(tree, dict) and "tanks" in tree:
        what = "the file holds a rig, on which scenarios are played"
        return None, (Finding("R150", places.key("tanks"), what, "a scenario, with 'scenario: NAME'"),)
    if not isinstance(tree, dict):
        what = "the file holds no named values"
        return None, (Finding("R110", places.value(), what, "named values, the first of them 'scenario: NAME'"),)
    sheet = Sheet(rig, law, places)
    scenario = _whole(sheet, law, tree)
    return (None if sheet.findings else scenario), in_order(sheet.findings)


def _whole(sheet: Sheet, law: Law, tree: dict[str, Any]) -> Scenario:
    """The whole file; what is no good is left out."""
    for key in tree:
        if key not in KEYS:
            sheet.unknown(key, KEYS, "here", (key,))
    hours = sheet.tried(lambda: sheet.hours(tree.get("hours", "24")), 24.0)
    sheet.end_ms = round(hours * 3_600_000)
    if "slope" in tree:
        sheet.stands[0] = sheet.tried(lambda: sheet.slope(tree["slope"], ("slope",)), Slope())
    done = _done(sheet, tree)
    faults = tuple(one for one in done if isinstance(one, Fault))
    if len(faults) > FAULTS_LIMIT:
        what = f"{len(faults)} things go wrong or are poured in"
        sheet.refuse("R157", ("happenings",), what, f"at most {FAULTS_LIMIT} in one run")
    read = [
        sheet.tried(partial(read_expectation, sheet, str(line), ("expect", at)), None)
        for at, line in enumerate(_lines(sheet, tree, "expect"))
    ]
    happenings = sorted((one for one in done if isinstance(one, Happening)), key=lambda one: one.ms)
    return Scenario(
        name=str(tree.get("scenario", "without a name"))[:NAME_LIMIT],
        about=str(tree.get("about") or "")[:2000],
        hours=hours,
        starts=_starts(sheet, tree.get("starts") or {}),
        stands=_stands(sheet.stands, happenings),
        errors=_errors(sheet, tree.get("errors") or {}),
        happenings=tuple(_numbered(happenings)),
        faults=faults,
        expectations=_all_expected((line for line in read if line is not None), never_of(law)),
    )


def _stands(written: list[Slope], happenings: Iterable[Happening]) -> tuple[Slope, ...]:
    """How the rig stands, at the start and then in order of time; the file may say it in any."""
    return (written[0], *(written[int(one.amount)] for one in happenings if one.kind == H_STAND))


def _numbered(happenings: Iterable[Happening]) -> Iterator[Happening]:
    """The same with the stands of `_stands`."""
    numbers = count(1)
    for one in happenings:
        yield replace(one, amount=next(numbers)) if one.kind == H_STAND else one


def _done(sheet: Sheet, tree: Mapping[str, Any]) -> list[Happening | Fault]:
    """Everything that is done and goes wrong, in the order of the file."""
    done: list[Happening | Fault] = []
    if "handset" in tree:
        done += sheet.tried(lambda: [held_so(sheet, tree["handset"], ("handset",), 0)], [])
    for at, line in enumerate(_lines(sheet, tree, "happenings")):
        done += sheet.tried(partial(read_happening, sheet, line, ("happenings", at)), [])
    return done


def _lines(sheet: Sheet, tree: Mapping[str, Any], key: str) -> list[Any]:
    """The lines of a list."""
    lines = tree.get(key) or []
    if isinstance(lines, list) and len(lines) <= HAPPENINGS_LIMIT:
        return lines
    sheet.refuse("R150", (key,), f"'{key}' is no list", f"a list of at most {HAPPENINGS_LIMIT} lines")
    return []


def _starts(sheet: Sheet, tree: object) -> dict[str, float]:
    """What the tanks hold at the start, as a part of what 100 % means."""
    if not isinstance(tree, dict):
        sheet.refuse("R150", ("starts",), "'starts' is not understood", "{TANK: 50 %}")
        return {}
    starts = {name: sheet.tried(partial(_start, sheet, name, text), None) for name, text in tree.items()}
    return {name: start for name, start in starts.items() if start is not None}


def _start(sheet: Sheet, name: str, text: object) -> float:
    """What one tank holds at the start, as a part of what 100 % means."""
    path = ("starts", name)
    full = capacity(sheet.rig.tanks[sheet.name(name, sheet.rig.tanks, "tank", path)])
    if str(text).strip().endswith("%"):
        return sheet.quantity(text, "fraction", path, 0.0, 1.0)
    return sheet.quantity(text, "volume", path, 0.0, full) / full


def _errors(sheet: Sheet, tree: object) -> dict[str, float]:
    """What senders, meters and probes err by, in parts of what they declare."""
    if not isinstance(tree, dict):
        sheet.refuse("R150", ("errors",), "'errors' is not understood", "{SENDER: -100 %}")
        return {}
    errors = {name: sheet.tried(partial(_error, sheet, name, text), None) for name, text in tree.items()}
    return {name: error for name, error in errors.items() if error is not None}


def _error(sheet: Sheet, name: str, text: object) -> float:
    """What one of them errs by."""
    rig, path = sheet.rig, ("errors", name)
    sheet.name(name, (*rig.senders, *rig.meters, *rig.probes), "sender, meter or probe", path)
    return sheet.quantity(text, "fraction", path, -1.0, 1.0)


def _all_expected(written: Iterable[Expectation], never: Iterable[Expectation]) -> tuple[Expectation, ...]:
    """The clear lines, and what the rig says must never be unless a line says so too."""
    lines = list(written)
    said = [(line.frame, line.statement) for line in lines]
    return (*lines, *(line for line in never if (line.frame, line.statement) not in said))
