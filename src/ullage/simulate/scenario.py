"""Read a scenario: what is done to a rig at which time, what goes wrong, and what is expected to come of it.

A scenario is a YAML file like the rig's; every fault of it is a finding with its line, and all
are told at once. Times count from the start of the run: ``90 s``, ``6 min``, ``9:00`` (hours and
minutes) or ``9:00:02``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any, TypeVar

from ullage import quantities
from ullage.control import codes
from ullage.control.rows import SCALES
from ullage.findings import Finding, in_order, nearest
from ullage.plant import happenings as h
from ullage.plant.faults import FOREVER_MS, JERRYCAN, Fault, FaultError, read_fault
from ullage.quantities import QuantityError
from ullage.rig.law import scope_of
from ullage.rig.meaning import Bounds, Law
from ullage.rig.model import Rig, Slope
from ullage.rig.shapes import capacity
from ullage.rig.text import Path, Places, read_tree
from ullage.simulate.expect import Expectation, never_of, read_expectation

T = TypeVar("T")

HAPPENINGS_LIMIT = 2000
"""At most this many lines of happenings in one scenario."""

HOURS_LIMIT = 24 * 60
"""A run lasts at most this long [h]."""

COMMANDS = ("start", "hold", "restart", "stop", "abort", "reset", "pause", "resume", "confirm")
"""Commands to a sequence."""

_CLOCK = re.compile(r"(\d{1,4}):([0-5]\d)(?::([0-5]\d))?")
_WORDS = {"open": 1.0, "closed": 0.0}


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that is done.

    Attributes
    ----------
    ms : int
        When [ms].
    kind : int
        What, of `ullage.plant.happenings`.
    part : str
        To which part ("" where there is none).
    amount : float
        How much; see there. A pressure is in pascals, a slope the number of the stand.
    """

    ms: int
    kind: int
    part: str
    amount: float


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
    if not isinstance(tree, dict):
        what = "the file holds no named values"
        return None, (Finding("R110", places.value(), what, "named values, the first of them 'scenario: NAME'"),)
    reader = _Reader(rig, law, places)
    scenario = reader.whole(tree)
    return (None if reader.findings else scenario), in_order(reader.findings)


class _Unclear(Exception):
    """A value that is no good; the finding is made already."""


class _Reader:
    """One scenario file on its way to a `Scenario`."""

    def __init__(self, rig: Rig, law: Law, places: Places) -> None:
        self.rig = rig
        self.places = places
        self.scope = scope_of(rig, places)
        self.findings = self.scope.findings
        self.never = never_of(law)
        self.bounds: dict[str, list[Bounds]] = {chart.name: list(chart.parameters) for chart in law.charts}
        self.happenings: list[Happening] = []
        self.faults: list[Fault] = []
        self.stands: list[Slope] = [Slope()]
        self.end_ms = HOURS_LIMIT * 3_600_000

    def refuse(self, code: str, path: Path, what: str, expected: str = "", near: str = "") -> _Unclear:
        """Make a finding; the caller raises what this returns where it cannot go on."""
        self.findings.append(Finding(code, self.places.value(*path), what, expected, near))
        return _Unclear()

    def whole(self, tree: dict[str, Any]) -> Scenario:
        """The whole file."""
        known = ("scenario", "about", "hours", "starts", "slope", "handset", "happenings", "expect")
        for key in tree:
            if key not in known:
                what, near = f"'{str(key)[:40]}' is unknown here", nearest(str(key), known)
                self.findings.append(Finding("R150", self.places.key(key), what, "one of " + ", ".join(known), near))
        hours = self.tried(lambda: self.hours(tree.get("hours", "24")), 24.0)
        self.end_ms = round(hours * 3_600_000)
        if "slope" in tree:
            self.tried(lambda: self.stands.__setitem__(0, self.slope(tree["slope"], ("slope",))), None)
        if "handset" in tree:
            self.tried(lambda: self.attitude(0, tree["handset"], ("handset",)), None)
        nothing: dict[str, float] = {}
        starts = self.tried(lambda: self.starts(tree.get("starts") or {}), nothing)
        for at, line in enumerate(self.lines(tree, "happenings")):
            self.tried(partial(self.happening, line, ("happenings", at)), None)
        expectations = [
            self.tried(partial(self.expectation, line, ("expect", at)), None)
            for at, line in enumerate(self.lines(tree, "expect"))
        ]
        self.happenings.sort(key=lambda happening: happening.ms)
        return Scenario(
            name=str(tree.get("scenario", "without a name"))[:80],
            about=str(tree.get("about") or "")[:2000],
            hours=hours,
            starts=starts,
            stands=tuple(self.stands),
            happenings=tuple(self.happenings),
            faults=tuple(self.faults),
            expectations=self.all_expected(expectations),
        )

    def all_expected(self, written: Iterable[Expectation | None]) -> tuple[Expectation, ...]:
        """The clear lines, and what the rig says must never be unless a line says so too."""
        lines = [line for line in written if line is not None]
        said = [(line.frame, line.statement) for line in lines]
        return (*lines, *(line for line in self.never if (line.frame, line.statement) not in said))

    def tried(self, read: Callable[[], T], otherwise: T) -> T:
        """What a reader returns, or something else when it found a fault."""
        try:
            return read()
        except _Unclear:
            return otherwise

    # --- values ------------------------------------------------------------------------------

    def lines(self, tree: Mapping[str, Any], key: str) -> list[Any]:
        """The lines of a list."""
        lines = tree.get(key) or []
        if not isinstance(lines, list) or len(lines) > HAPPENINGS_LIMIT:
            self.refuse("R150", (key,), f"'{key}' is no list", f"a list of at most {HAPPENINGS_LIMIT} lines")
            return []
        return lines

    def quantity(self, text: object, dimension: str, path: Path, least: float, most: float) -> float:
        """One quantity within bounds [SI]."""
        try:
            value = quantities.read(text, dimension)
        except QuantityError as fault:
            raise self.refuse("R154", path, fault.what, fault.expected) from None
        if not least <= value <= most:
            raise self.refuse("R154", path, f"{str(text)[:40]} is out of range", f"{least:g} to {most:g} in SI units")
        return value

    def time(self, text: object, path: Path) -> int:
        """A time within the run [ms]."""
        clock = _CLOCK.fullmatch(str(text).strip())
        if clock is not None:
            ms = 1000 * (3600 * int(clock[1]) + 60 * int(clock[2]) + int(clock[3] or 0))
        else:
            try:
                ms = round(1000.0 * quantities.read(text, "time"))
            except QuantityError:
                what = f"'{str(text)[:40]}' is no time"
                raise self.refuse("R151", path, what, "such as '90 s', '6 min', '9:00' or '9:00:02'") from None
        if not 0 <= ms <= self.end_ms:
            raise self.refuse("R151", path, f"'{str(text)[:40]}' is not within the run", "from 0 to the end of the run")
        return ms

    def name(self, text: object, known: Iterable[str], kind: str, path: Path) -> str:
        """One of the known names."""
        names = list(known)
        if str(text) in names:
            return str(text)
        near = nearest(str(text), names)
        expected = f"one of {', '.join(names[:12])}" if names else "none: the rig has no such part"
        raise self.refuse("R152", path, f"'{str(text)[:40]}' is no {kind} of this rig", expected, near)

    def hours(self, text: object) -> float:
        """How long the run lasts [h]."""
        try:
            hours = (
                float(str(text)) if str(text).replace(".", "", 1).isdigit() else quantities.read(text, "time") / 3600
            )
        except QuantityError as fault:
            raise self.refuse("R151", ("hours",), fault.what, "hours, such as '24'") from None
        if not 0.0 < hours <= HOURS_LIMIT:
            raise self.refuse("R151", ("hours",), f"{hours:g} h is out of range", f"up to {HOURS_LIMIT} h")
        return hours

    def slope(self, tree: object, path: Path) -> Slope:
        """How the rig stands."""
        if not isinstance(tree, dict) or not set(tree) <= {"ahead", "across"}:
            raise self.refuse("R150", path, "a slope is not understood", "{ahead: 2 deg, across: 0 deg}")
        return Slope.model_construct(
            ahead=self.quantity(tree.get("ahead", "0 deg"), "angle", (*path, "ahead"), -0.6, 0.6),
            across=self.quantity(tree.get("across", "0 deg"), "angle", (*path, "across"), -0.6, 0.6),
        )

    def starts(self, tree: object) -> dict[str, float]:
        """What the tanks hold at the start, as a part of what 100 % means."""
        if not isinstance(tree, dict):
            raise self.refuse("R150", ("starts",), "'starts' is not understood", "{TANK: 50 %}")
        starts = {}
        for name, text in tree.items():
            path = ("starts", name)
            tank = self.rig.tanks[self.name(name, self.rig.tanks, "tank", path)]
            if str(text).strip().endswith("%"):
                starts[name] = self.quantity(text, "fraction", path, 0.0, 1.0)
            else:
                starts[name] = self.quantity(text, "volume", path, 0.0, capacity(tank)) / capacity(tank)
        return starts

    # --- happenings --------------------------------------------------------------------------

    def happening(self, line: object, path: Path) -> None:
        """One line: a time and one thing that is done."""
        verbs = {*_OTHER_KEYS, *COMMANDS}
        if not isinstance(line, dict) or "at" not in line:
            raise self.refuse("R150", path, "a happening has no time", "{at: TIME, WHAT: PART}")
        found = [key for key in line if key in verbs]
        if len(found) != 1:
            keys = ", ".join(str(key)[:20] for key in line if key != "at")
            near = next((nearest(str(key), verbs) for key in line if key != "at" and nearest(str(key), verbs)), "")
            raise self.refuse("R150", path, f"'{keys}' is not understood", "one of " + ", ".join(sorted(verbs)), near)
        verb = found[0]
        allowed = {"at", verb, *(_OTHER_KEYS.get(verb, ()) if verb not in COMMANDS else _COMMAND_KEYS)}
        for key in line:
            if key not in allowed:
                expected, near = "one of " + ", ".join(sorted(allowed)), nearest(str(key), allowed)
                raise self.refuse(
                    "R150", (*path, key), f"'{str(key)[:40]}' does not belong to '{verb}'", expected, near
                )
        at = self.time(line["at"], (*path, "at"))
        if verb in COMMANDS:
            self.command(at, verb, line, path)
        else:
            getattr(self, f"do_{verb}")(at, line, path)

    def add(self, at: int, kind: int, part: str, amount: float) -> None:
        """Add a happening."""
        self.happenings.append(Happening(at, kind, part, amount))

    def command(self, at: int, verb: str, line: dict[str, Any], path: Path) -> None:
        """A command to a sequence, with its wishes; or the reset of an interlock's latch."""
        if verb == "reset" and str(line[verb]) in self.rig.interlocks:
            self.add(at, h.H_RESET, str(line[verb]), 1.0)
            return
        sequence = self.name(line[verb], self.rig.sequences, "sequence", (*path, verb))
        wishes = line.get("with") or {}
        if not isinstance(wishes, dict):
            raise self.refuse("R150", (*path, "with"), "the wishes are not understood", "{target: 80 %}")
        known = {bound.symbol.name: bound for bound in self.bounds.get(sequence, ())}
        for wish, text in wishes.items():
            where = (*path, "with", wish)
            symbol = known[self.name(wish, known, f"parameter of '{sequence}'", where)].symbol
            if symbol.tank is not None and str(text).strip().endswith("%"):
                tank = self.rig.tanks[symbol.tank]
                value = self.quantity(text, "fraction", where, 0.0, 2.0) * capacity(tank)
            else:
                value = self.quantity(text, symbol.dimension, where, 0.0, 1e9)
            self.add(at, h.H_PARAMETER, f"{sequence}.{wish}", round(value * SCALES[symbol.dimension]))
        self.add(at, h.H_COMMAND, sequence, codes.COMMANDS.index(verb))

    def do_use(self, at: int, line: dict[str, Any], path: Path) -> None:
        """A tap is used for a while."""
        tap = self.name(line["use"], self.rig.fixtures, "fixture", (*path, "use"))
        opening = self.quantity(line.get("opening", "100 %"), "fraction", (*path, "opening"), 0.0, 1.0)
        self.add(at, h.H_TAP, tap, opening)
        if "for" in line:
            lasts = self.quantity(line["for"], "time", (*path, "for"), 0.001, 1e6)
            self.add(at + round(1000.0 * lasts), h.H_TAP, tap, 0.0)

    def do_hose(self, at: int, line: dict[str, Any], path: Path) -> None:
        """A hose with pressure is joined to a supply."""
        supplies = [name for name, port in self.rig.ports.items() if port.kind == "supply"]
        port = self.name(line["hose"], supplies, "supply", (*path, "hose"))
        usual = self.rig.ports[port].usual
        text = line.get("pressure")
        if text is None and usual is None:
            raise self.refuse("R154", path, "the hose has no pressure", "'pressure: 2 bar'")
        pressure = usual if text is None else self.quantity(text, "pressure", (*path, "pressure"), 0.0, 2e6)
        assert pressure is not None, "one of the two is there"
        self.add(at, h.H_HOSE, port, pressure)

    def do_unhook(self, at: int, line: dict[str, Any], path: Path) -> None:
        """The hose is taken off."""
        supplies = [name for name, port in self.rig.ports.items() if port.kind == "supply"]
        self.add(at, h.H_UNHOOK, self.name(line["unhook"], supplies, "supply", (*path, "unhook")), 0.0)

    def do_pour(self, at: int, line: dict[str, Any], path: Path) -> None:
        """Water is poured into a tank from a jerrycan."""
        tank = self.name(line.get("into"), self.rig.tanks, "tank", (*path, "into"))
        volume = self.quantity(line["pour"], "volume", (*path, "pour"), 1e-6, 1.0)
        self.faults.append(Fault(JERRYCAN, tank, "", volume, at))

    def do_turn(self, at: int, line: dict[str, Any], path: Path) -> None:
        """A valve without a motor is turned by hand."""
        by_hand = [name for name, valve in self.rig.valves.items() if valve.motor is None]
        valve = self.name(line["turn"], by_hand, "valve turned by hand", (*path, "turn"))
        text = str(line.get("to", "open"))
        opening = _WORDS.get(text)
        if opening is None:
            opening = self.quantity(text, "fraction", (*path, "to"), 0.0, 1.0)
        self.add(at, h.H_TURN, valve, opening)

    def do_attitude(self, at: int, line: dict[str, Any], path: Path) -> None:
        """The handset is laid, stood or hung otherwise."""
        self.attitude(at, line["attitude"], (*path, "attitude"))

    def attitude(self, at: int, text: object, path: Path) -> None:
        """An attitude of the handset."""
        word = self.name(text, codes.ATTITUDES, "attitude", path)
        self.add(at, h.H_ATTITUDE, "", codes.ATTITUDES.index(word))

    def do_slope(self, at: int, line: dict[str, Any], path: Path) -> None:
        """The rig comes to stand otherwise."""
        self.stands.append(self.slope(line["slope"], (*path, "slope")))
        self.add(at, h.H_STAND, "", len(self.stands) - 1)

    def do_moving(self, at: int, line: dict[str, Any], path: Path) -> None:
        """The rig drives off or stops."""
        if not isinstance(line["moving"], bool):
            raise self.refuse("R154", (*path, "moving"), f"'{str(line['moving'])[:20]}' is no answer", "true or false")
        self.add(at, h.H_MOVING, "", float(line["moving"]))

    def do_fault(self, at: int, line: dict[str, Any], path: Path) -> None:
        """Something goes wrong, for a while or for good."""
        try:
            fault = read_fault(self.rig, str(line["fault"]))
        except FaultError as unclear:
            raise self.refuse("R155", (*path, "fault"), unclear.what, unclear.expected, unclear.near) from None
        until = self.time(line["until"], (*path, "until")) if "until" in line else FOREVER_MS
        if until <= at:
            raise self.refuse("R151", (*path, "until"), "the fault ends before it begins", "a later time")
        self.faults.append(Fault(fault.kind, fault.part, fault.other, fault.amount, at, until))

    # --- expectations ------------------------------------------------------------------------

    def expectation(self, line: object, path: Path) -> Expectation | None:
        """One line of ``expect``."""
        return read_expectation(str(line), self.rig, self.scope, path, lambda text: self.time(text, path))


_OTHER_KEYS: dict[str, tuple[str, ...]] = {
    "use": ("for", "opening"),
    "hose": ("pressure",),
    "unhook": (),
    "pour": ("into",),
    "turn": ("to",),
    "attitude": (),
    "slope": (),
    "moving": (),
    "fault": ("until",),
}
"""What may be done besides commands, and the keys that belong to it."""

_COMMAND_KEYS = ("with",)
