"""What may be done in a scenario: one table of happenings, and how a line of each is read.

A line has a time, one word of the table with what it is done to, and the keys that belong to
that word: ``{at: 8:01, start: fill, with: {target: 85 %}}``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from ullage.control import codes
from ullage.control.rows import SCALES
from ullage.control.timers import NEVER_MS
from ullage.findings import nearest
from ullage.plant import happenings as h
from ullage.plant.faults import JERRYCAN, Fault, FaultError, read_fault
from ullage.quantities import from_si, split
from ullage.rig.meaning import Bounds
from ullage.rig.shapes import capacity
from ullage.rig.text import Path
from ullage.simulate.sheet import Sheet, shown

ANY = "any"
"""The pressure of a hose that chance draws from its port's range."""

MOST_PRESSURE = 2e6
"""No pressure of a hose is above this [Pa]."""

OPENINGS = {"open": 1.0, "closed": 0.0}
"""Words for how far a valve is turned."""


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
    most : float or None
        Chance draws it between ``amount`` and this (None: it is ``amount``).
    wishes : tuple of (str, int)
        What a command wishes of the parameters of its sequence, ``SEQUENCE.PARAMETER`` and the law's integer.
    """

    ms: int
    kind: int
    part: str
    amount: float
    most: float | None = None
    wishes: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One line of ``happenings`` while it is read.

    Attributes
    ----------
    sheet : Sheet
        The file.
    path : tuple
        Where the line stands.
    values : dict
        What is written, by key.
    verb : str
        The key that says what is done.
    ms : int
        When [ms].
    """

    sheet: Sheet
    path: Path
    values: dict[str, Any]
    verb: str
    ms: int

    @property
    def subject(self) -> Any:
        """What stands after the verb."""
        return self.values[self.verb]

    def named(self, known: Any, kind: str, key: str = "") -> str:
        """The known name that stands after the verb, or after another key."""
        key = key or self.verb
        return self.sheet.name(self.values.get(key), known, kind, (*self.path, key))

    def quantity(self, key: str, dimension: str, least: float, most: float, otherwise: str = "") -> float:
        """The quantity that stands after a key [SI]."""
        return self.sheet.quantity(self.values.get(key, otherwise), dimension, (*self.path, key), least, most)


Read = Callable[[Line], Iterator[Happening | Fault]]


@dataclass(frozen=True, slots=True)
class Verb:
    """A word for what is done: what reads its line, and the keys that may stand there besides."""

    read: Read
    keys: tuple[str, ...] = ()


def read_happening(sheet: Sheet, written: object, path: Path) -> list[Happening | Fault]:
    """Read one line: a time and one thing that is done.

    Raises
    ------
    Unclear
        When it is no good; the finding is made.
    """
    if not isinstance(written, dict) or "at" not in written:
        raise sheet.refuse("R150", path, "a happening has no time", "{at: TIME, WHAT: PART}")
    verbs = [key for key in written if key in VERBS]
    if len(verbs) != 1:
        others = [str(key) for key in written if key != "at"]
        near = next(filter(None, (nearest(key, VERBS) for key in others)), "")
        what = f"'{', '.join(map(shown, others))[:80]}' is not understood"
        raise sheet.refuse("R150", path, what, "one of " + ", ".join(sorted(VERBS)), near)
    verb = verbs[0]
    allowed = ("at", verb, *VERBS[verb].keys)
    for key in written:
        if key not in allowed:
            raise sheet.unknown(key, allowed, f"beside '{verb}'", (*path, key))
    line = Line(sheet, path, written, verb, sheet.time(written["at"], (*path, "at")))
    return list(VERBS[verb].read(line))


def _command(line: Line) -> Iterator[Happening]:
    """A command to a sequence, with its wishes; or the reset of an interlock's latch."""
    rig = line.sheet.rig
    if line.verb == "reset" and str(line.subject) in rig.interlocks:
        yield Happening(line.ms, h.H_RESET, str(line.subject), 1.0)
        return
    sequence = line.named(rig.sequences, "sequence")
    written = line.values.get("with") or {}
    if not isinstance(written, dict):
        raise line.sheet.refuse("R150", (*line.path, "with"), "the wishes are not understood", "{target: 80 %}")
    bounds = line.sheet.bounds.get(sequence, {})
    wishes = {name: b.default for name, b in bounds.items()} if line.verb == "start" else {}
    for name, text in written.items():
        path = (*line.path, "with", name)
        bound = bounds[line.sheet.name(name, bounds, f"parameter of '{sequence}'", path)]
        wishes[name] = _wish(line.sheet, bound, text, path)
    whole = {name: round(wish * SCALES[bounds[name].symbol.dimension]) for name, wish in wishes.items()}
    named = tuple((f"{sequence}.{name}", wish) for name, wish in whole.items())
    yield Happening(line.ms, h.H_COMMAND, sequence, codes.COMMANDS.index(line.verb), wishes=named)


def _wish(sheet: Sheet, bound: Bounds, text: object, path: Path) -> float:
    """A wish for a parameter [SI]; a percentage is one of the parameter's tank. It may be out of its bounds."""
    symbol = bound.symbol
    if symbol.tank is not None and str(text).strip().endswith("%"):
        return sheet.quantity(text, "fraction", path, 0.0, 2.0) * capacity(sheet.rig.tanks[symbol.tank])
    return sheet.quantity(text, symbol.dimension, path, 0.0, 1e9)


def _use(line: Line) -> Iterator[Happening]:
    """A tap is used, for a while or until further notice."""
    tap = line.named(line.sheet.rig.fixtures, "fixture")
    yield Happening(line.ms, h.H_TAP, tap, line.quantity("opening", "fraction", 0.0, 1.0, "100 %"))
    if "for" in line.values:
        lasts = line.quantity("for", "time", 0.001, 1e6)
        yield Happening(line.ms + round(1000.0 * lasts), h.H_TAP, tap, 0.0)


def _supply(line: Line) -> str:
    supplies = [name for name, port in line.sheet.rig.ports.items() if port.kind == "supply"]
    return line.named(supplies, "supply")


def _hose(line: Line) -> Iterator[Happening]:
    """A hose with pressure is joined to a supply: the usual one, a stated one, or any of the port's range."""
    name = _supply(line)
    port, text = line.sheet.rig.ports[name], line.values.get("pressure")
    span = port.pressure
    if text is None and port.usual is not None:
        yield Happening(line.ms, h.H_HOSE, name, port.usual)
    elif text in (None, ANY) and span is not None:
        yield Happening(line.ms, h.H_HOSE, name, span.least, span.most)
    elif text in (None, ANY):
        raise line.sheet.refuse("R154", line.path, "the hose has no pressure", "'pressure: 2 bar'")
    else:
        pressure = line.quantity("pressure", "pressure", 0.0, MOST_PRESSURE)
        if span is not None and not span.least <= pressure <= span.most:
            unit = split(str(text))[1]
            least, most = (f"{from_si(end, unit):g} {unit}" for end in (span.least, span.most))
            what = f"{shown(text)} is not what '{name}' can have"
            expected = f"{least} to {most}; above it, '{{fault: {name} regulator failed {shown(text)}}}'"
            raise line.sheet.refuse("R156", (*line.path, "pressure"), what, expected)
        yield Happening(line.ms, h.H_HOSE, name, pressure)


def _unhook(line: Line) -> Iterator[Happening]:
    """The hose is taken off."""
    yield Happening(line.ms, h.H_UNHOOK, _supply(line), 0.0)


def _pour(line: Line) -> Iterator[Fault]:
    """Water is poured into a tank from a jerrycan."""
    tank = line.named(line.sheet.rig.tanks, "tank", "into")
    yield Fault(JERRYCAN, tank, "", line.quantity("pour", "volume", 1e-6, 1.0), line.ms)


def _turn(line: Line) -> Iterator[Happening]:
    """A valve without a motor is turned by hand."""
    valve = line.named([n for n, v in line.sheet.rig.valves.items() if v.motor is None], "valve turned by hand")
    opening = OPENINGS.get(str(line.values.get("to", "open")))
    if opening is None:
        opening = line.quantity("to", "fraction", 0.0, 1.0)
    yield Happening(line.ms, h.H_TURN, valve, opening)


def _attitude(line: Line) -> Iterator[Happening]:
    """The handset is laid, stood or hung otherwise."""
    yield held_so(line.sheet, line.subject, (*line.path, line.verb), line.ms)


def held_so(sheet: Sheet, text: object, path: Path, ms: int) -> Happening:
    """The handset in an attitude from a time on [ms]."""
    word = sheet.name(text, codes.ATTITUDES, "attitude", path)
    return Happening(ms, h.H_ATTITUDE, "", codes.ATTITUDES.index(word))


def _slope(line: Line) -> Iterator[Happening]:
    """The rig comes to stand otherwise."""
    line.sheet.stands.append(line.sheet.slope(line.subject, (*line.path, line.verb)))
    yield Happening(line.ms, h.H_STAND, "", len(line.sheet.stands) - 1)


def _moving(line: Line) -> Iterator[Happening]:
    """The rig drives off or stops."""
    if not isinstance(line.subject, bool):
        what = f"'{shown(line.subject)}' is no answer"
        raise line.sheet.refuse("R154", (*line.path, line.verb), what, "true or false")
    yield Happening(line.ms, h.H_MOVING, "", float(line.subject))


def _fault(line: Line) -> Iterator[Fault]:
    """Something goes wrong, for a while or for good; when is said by the line, not among the words."""
    sheet, path, words = line.sheet, (*line.path, "fault"), str(line.subject)
    if {"from", "to"} & set(words.split()[1:]):
        what = "the fault says its times twice"
        raise sheet.refuse("R155", path, what, "'at' and 'until' of the line, without 'from' and 'to'")
    try:
        fault = read_fault(sheet.rig, words)
    except FaultError as unclear:
        raise sheet.refuse("R155", path, unclear.what, unclear.expected, unclear.near) from None
    until = NEVER_MS
    if "until" in line.values:
        until = sheet.time(line.values["until"], (*line.path, "until"))
    if until <= line.ms:
        raise sheet.refuse("R151", (*line.path, "until"), "the fault ends before it begins", "a later time")
    yield Fault(fault.kind, fault.part, fault.other, fault.amount, line.ms, until)


VERBS: dict[str, Verb] = {
    **{command: Verb(_command, ("with",)) for command in codes.COMMANDS[1:]},
    "use": Verb(_use, ("for", "opening")),
    "hose": Verb(_hose, ("pressure",)),
    "unhook": Verb(_unhook),
    "pour": Verb(_pour, ("into",)),
    "turn": Verb(_turn, ("to",)),
    "attitude": Verb(_attitude),
    "slope": Verb(_slope),
    "moving": Verb(_moving),
    "fault": Verb(_fault, ("until",)),
}
"""Everything that may be done in a scenario, by the word for it: the commands of ISA-88 first."""
