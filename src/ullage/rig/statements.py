"""What can be said of a run in one plain sentence: the language of ``never``, ``sometimes`` and ``expect``.

A statement speaks of the water itself and of where the parts really are, not of what the senders
say about it. What none of the `FORMS` says is read as a guard.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from ullage import quantities
from ullage.findings import Finding, nearest
from ullage.quantities import QuantityError
from ullage.rig.guard import GuardError, parse_guard
from ullage.rig.meaning import Above, Below, Dry, Gives, Holds, Indoors, Reaches, Spills, Statement, Trips
from ullage.rig.model import Rig
from ullage.rig.resolve import Scope, resolve
from ullage.rig.shapes import capacity
from ullage.rig.text import Path
from ullage.rig.waste import joined, unmeant


@dataclass(frozen=True, slots=True)
class _Words:
    """The named parts of a sentence: each with where it begins in its line."""

    rig: Rig
    found: Mapping[str, tuple[str, int]]

    def __getitem__(self, part: str) -> str:
        return self.found[part][0]

    def name(self, part: str, known: Iterable[str], kind: str) -> str:
        """One of the known names."""
        text, at = self.found[part]
        names = list(known)
        if text not in names:
            raise GuardError("N200", at, f"'{text}' is unknown", kind, nearest(text, names))
        return text

    def tank(self) -> str:
        """The tank it speaks of."""
        return self.name("tank", self.rig.tanks, "a tank")

    def waste(self) -> str:
        """The waste tank it speaks of."""
        waste = [name for name, tank in self.rig.tanks.items() if tank.holds == "waste"]
        return self.name("tank", waste, "a waste tank")

    def time(self) -> float:
        """A time [s]."""
        text, at = self.found["time"]
        try:
            return quantities.read(text, "time")
        except QuantityError as fault:
            raise GuardError("R116", at, fault.what, fault.expected) from None

    def volume(self, of: str | None = None) -> float:
        """A volume [m3], or a part of what a tank holds."""
        text, at = self.found["volume"]
        try:
            if of is not None and text.endswith("%"):
                return quantities.read(text, "fraction") * capacity(self.rig.tanks[of])
            return quantities.read(text, "volume")
        except QuantityError as fault:
            raise GuardError("R116", at, fault.what, fault.expected) from None


def _above(words: _Words) -> Statement:
    tank = words.tank()
    return Above(tank, words.volume(tank))


def _overflow(words: _Words) -> Statement:
    tank = words.tank()
    if words.rig.tanks[tank].overflow is None:
        raise GuardError("N200", words.found["tank"][1], f"'{tank}' has no overflow", f"'{tank} over 100 L'")
    return Above(tank, capacity(words.rig.tanks[tank]))


def _below(words: _Words) -> Statement:
    tank = words.tank()
    return Below(tank, words.volume(tank))


def _gives(words: _Words) -> Statement:
    rig = words.rig
    supplies = (name for name, port in rig.ports.items() if port.kind == "supply")
    source = words.name("source", (*rig.fixtures, *supplies), "a fixture or a supply port")
    return Gives(source, words.volume(), words["bound"] == "least")


def _reaches(words: _Words) -> Statement:
    sequence = words.name("sequence", words.rig.sequences, "a sequence")
    (step, at), steps = words.found["step"], list(words.rig.sequences[sequence].steps)
    if step not in steps:
        expected = "one of " + ", ".join(steps)
        raise GuardError("N209", at, f"'{sequence}' has no step '{step}'", expected, nearest(step, steps))
    return Reaches(sequence, step)


def _unmeant(words: _Words) -> Statement:
    tank = words.waste()
    found = unmeant(words.rig, tank, words.time())
    if found is None:
        raise GuardError("N200", words.found["tank"][1], f"no motor valve lets out '{tank}'", "a tank with one")
    return found


def _joined(words: _Words) -> Statement:
    tank = words.waste()
    supplies = [name for name, port in words.rig.ports.items() if port.kind == "supply"]
    port = words.name("port", supplies, "a supply port")
    found = joined(words.rig, tank, port, words.time())
    if found is None:
        what = f"no motor valve lets out '{tank}', or none lets in '{port}'"
        raise GuardError("N200", words.found["tank"][1], what, "a tank and a port with one each")
    return found


FORMS: tuple[tuple[re.Pattern[str], Callable[[_Words], Statement]], ...] = tuple(
    (re.compile(pattern), read)
    for pattern, read in (
        (r"water\s+indoors", lambda words: Indoors()),
        (r"overflow", lambda words: Spills("")),
        (r"overflow\s+of\s+(?P<tank>\w+)", lambda words: Spills(words.tank())),
        (r"(?P<tank>\w+)\s+(?:reaches|over)\s+its\s+overflow", _overflow),
        (r"(?P<tank>\w+)\s+over\s+(?P<volume>.+)", _above),
        (r"(?P<tank>\w+)\s+below\s+(?P<volume>.+)", _below),
        (r"(?P<pump>\w+)\s+runs\s+dry", lambda words: Dry(words.name("pump", words.rig.pumps, "a pump"))),
        (r"(?P<lock>\w+)\s+trips", lambda words: Trips(words.name("lock", words.rig.interlocks, "an interlock"))),
        (r"(?P<source>\w+)\s+gives\s+at\s+(?P<bound>least|most)\s+(?P<volume>.+)", _gives),
        (r"(?P<tank>\w+)\s+open\s+without\s+intent\s+held\s+(?P<time>.+)", _unmeant),
        (r"(?P<tank>\w+)\s+joined\s+to\s+(?P<port>\w+)\s+held\s+(?P<time>.+)", _joined),
        (r"(?P<sequence>\w+)\s+reaches\s+(?P<step>\w+)", _reaches),
    )
)
"""The sentences, each with what reads it."""

EXPECTED = (
    "such as 'water indoors', 'belly reaches its overflow', 'pump runs dry', 'belly_high trips', "
    "'fill reaches filled', 'gray below 5 L', or a guard such as 'shore_in is open'"
)
"""What may be said, for a person."""

_GUARD_LIKE = re.compile(r"[<>()]|\b(?:is|and|or|not|held)\b")
"""Signs of a guard: a text without any was meant as a sentence."""


SAID = {
    "closes": "is closed", "completes": "is complete", "ends": "is complete", "finishes": "is complete",
    "opens": "is open", "overflows": "reaches its overflow", "runs": "is running", "starts": "is running",
    "stops": "is stopped", "exceeds": "over", "floods": "reaches its overflow",
}  # fmt: skip
"""Verbs that people write, each with the words that are understood."""


def _nearly(text: str) -> str:
    """A sentence that is understood, for one that only has another verb ("" where none is known)."""
    subject, _, rest = text[:60].partition(" ")
    verb, _, more = rest.partition(" ")
    return f"{subject} {SAID[verb]} {more}".rstrip() if verb in SAID else ""


def read_statement(text: str, rig: Rig, scope: Scope, path: Path, begins: int = 0) -> Statement | None:
    """Read one sentence, or a guard.

    Parameters
    ----------
    text : str
        The sentence.
    rig : Rig
        What it speaks of.
    scope : Scope
        What a guard may speak of; its findings grow.
    path : Path
        Where the line stands in its file.
    begins : int
        Where in the line the sentence begins.

    Returns
    -------
    Statement or None
        None when anything in it is unclear.
    """
    if scope.full:
        return None
    try:
        for pattern, read in FORMS:
            match = pattern.fullmatch(text)
            if match is not None:
                found = {part: (match[part], begins + match.start(part)) for part in match.groupdict()}
                return read(_Words(rig, found))
        if not _GUARD_LIKE.search(text) and text not in scope.symbols:
            raise GuardError("R153", begins, f"'{text[:60]}' is not understood", EXPECTED, _nearly(text))
        guard = resolve(parse_guard(" " * begins + text), scope, path, "")
        return None if guard is None else Holds(guard)
    except GuardError as fault:
        place = scope.places.inside(path, fault.at)
        scope.findings.append(Finding(fault.code, place, fault.what, fault.expected, fault.near))
        return None
