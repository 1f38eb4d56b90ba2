"""A scenario file while it is read: its values with units, times and names, each either good or a finding."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from pydantic import ValidationError

from ullage import quantities
from ullage.findings import Finding, nearest
from ullage.quantities import QuantityError
from ullage.rig.law import scope_of
from ullage.rig.meaning import Bounds, Law
from ullage.rig.model import Rig, Slope
from ullage.rig.text import Path, Places

T = TypeVar("T")

HOURS_LIMIT = 24 * 366
"""A run lasts at most this long [h]: a leap year."""


class Unclear(Exception):
    """A value that is no good; the finding is made already."""


class Sheet:
    """One scenario file on its way to a `Scenario`.

    Attributes
    ----------
    rig : Rig
        The rig that it is played on.
    bounds : dict of str to dict
        Bounds of the parameters of each sequence, by name.
    places : Places
        Where its values stand.
    scope : Scope
        The names that guards know.
    findings : list of Finding
        What was found so far.
    stands : list of Slope
        How the rig stands, the first at the start.
    end_ms : int
        End of the run [ms].
    """

    def __init__(self, rig: Rig, law: Law, places: Places) -> None:
        self.rig = rig
        self.places = places
        self.bounds: dict[str, dict[str, Bounds]] = {
            chart.name: {bounds.symbol.name: bounds for bounds in chart.parameters} for chart in law.charts
        }
        self.scope = scope_of(rig, places)
        self.findings = self.scope.findings
        self.stands: list[Slope] = [Slope()]
        self.end_ms = HOURS_LIMIT * 3_600_000

    def refuse(self, code: str, path: Path, what: str, expected: str = "", near: str = "") -> Unclear:
        """Make a finding; the caller raises what this returns where it cannot go on."""
        self.findings.append(Finding(code, self.places.value(*path), what, expected, near))
        return Unclear()

    def tried(self, read: Callable[[], T], otherwise: T) -> T:
        """What a reader returns, or something else when it found a fault."""
        try:
            return read()
        except Unclear:
            return otherwise

    def unknown(self, key: object, known: Iterable[str], where: str, path: Path) -> Unclear:
        """Find a key that is none of those that may stand there."""
        names = list(known)
        what = f"'{shown(key)}' is unknown {where}"
        return self.refuse("R150", path, what, "one of " + ", ".join(names), nearest(str(key), names))

    def quantity(self, text: object, dimension: str, path: Path, least: float, most: float) -> float:
        """One quantity within bounds [SI]."""
        try:
            value = quantities.read(text, dimension)
        except QuantityError as fault:
            raise self.refuse("R154", path, fault.what, fault.expected) from None
        if not least <= value <= most:
            unit = quantities.split(str(text))[1]
            low, high = (f"{quantities.from_si(end, unit):g} {unit}".rstrip() for end in (least, most))
            raise self.refuse("R154", path, f"'{shown(text)}' is out of range", f"{low} to {high}")
        return value

    def time(self, text: object, path: Path) -> int:
        """A time within the run [ms]."""
        try:
            ms = round(1000.0 * quantities.read_time(text))
        except QuantityError as fault:
            raise self.refuse("R151", path, fault.what, fault.expected) from None
        if not 0 <= ms <= self.end_ms:
            raise self.refuse("R151", path, f"'{shown(text)}' is not within the run", "from 0 to the end of the run")
        return ms

    def hours(self, text: object) -> float:
        """How long the run lasts [h]: a number of hours, or a time with its unit."""
        try:
            number, unit = quantities.split(str(text))
            hours = quantities.to_si(number, unit, "time") / 3600.0 if unit else number
        except QuantityError as fault:
            raise self.refuse("R151", ("hours",), fault.what, "hours, such as '24'") from None
        if not 0.0 < hours <= HOURS_LIMIT:
            raise self.refuse("R151", ("hours",), f"{hours:g} h is out of range", f"above 0, at most {HOURS_LIMIT} h")
        return hours

    def name(self, text: object, known: Iterable[str], kind: str, path: Path) -> str:
        """One of the known names."""
        names = list(known)
        if str(text) in names:
            return str(text)
        expected = f"one of {', '.join(names[:12])}" if names else "none: the rig has no such part"
        raise self.refuse(
            "R152", path, f"'{shown(text)}' is no {kind} of this rig", expected, nearest(str(text), names)
        )

    def slope(self, tree: object, path: Path) -> Slope:
        """How the rig stands."""
        try:
            return Slope.model_validate(tree)
        except ValidationError as unclear:
            fault = unclear.errors(include_url=False)[0]
        about = fault.get("ctx", {})
        what = str(about.get("what") or f"'{shown(fault['input'])}' is no slope")
        expected = str(about.get("expected") or "{ahead: 2 deg, across: 0 deg}")
        raise self.refuse("R154", (*path, *fault["loc"]), what, expected)


def shown(text: object) -> str:
    """So much of a value as a finding shows of it."""
    return str(text)[:40]
