"""What a scenario expects, and whether it came so.

One line each, in words::

    no water indoors                    no overflow            belly never over its overflow
    belly never over 130 L              loft never below 3 L   gray below 5 L at 20:00
    fill reaches filled within 40 min   fill is complete at 1:00
    belly_high trips within 30 min      belly_high never trips
    water_pump never runs dry           shore_in is closed at 0:45
    shower gives at least 30 L          shore gives at most 120 L

"within" counts from the start of the run.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from ullage import quantities
from ullage.control import codes
from ullage.findings import nearest
from ullage.quantities import QuantityError
from ullage.rig.model import Rig
from ullage.rig.shapes import capacity

SETTLED_OPENING = {"closed": (0.0, 0.01), "open": (0.99, 1.0)}
"""Openings at which a valve counts as closed or open."""


@dataclass(frozen=True, slots=True)
class Expectation:
    """One thing that is expected.

    Attributes
    ----------
    text : str
        As written.
    kind : str
        ``dry indoors`` | ``no overflow`` | ``never over`` | ``never below`` | ``over at`` | ``below at`` |
        ``reaches`` | ``state at`` | ``at least`` | ``at most`` | ``trips`` | ``never trips`` | ``never dry`` |
        ``valve at``.
    subject : str
        Name of the tank, sequence, interlock, pump, valve, fixture or supply port ("" for the whole rig).
    word : str
        Step, state or position.
    volume : float
        Limit [m3].
    ms : int
        At or within which time [ms]; -1 for any.
    """

    text: str
    kind: str
    subject: str = ""
    word: str = ""
    volume: float = 0.0
    ms: int = -1


class ExpectationError(ValueError):
    """Words that are no expectation; attributes as of a finding."""

    def __init__(self, what: str, expected: str, near: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.expected = expected
        self.near = near


_FORMS = (
    ("dry indoors", r"no water indoors"),
    ("no overflow", r"no overflow(?: of (?P<tank>\w+))?"),
    ("never over overflow", r"(?P<tank>\w+) never over its overflow"),
    ("never over", r"(?P<tank>\w+) never over (?P<volume>.+)"),
    ("never below", r"(?P<tank>\w+) never below (?P<volume>.+)"),
    ("over at", r"(?P<tank>\w+) over (?P<volume>.+?) at (?P<time>.+)"),
    ("below at", r"(?P<tank>\w+) below (?P<volume>.+?) at (?P<time>.+)"),
    ("never trips", r"(?P<interlock>\w+) never trips"),
    ("trips", r"(?P<interlock>\w+) trips(?: within (?P<time>.+))?"),
    ("never dry", r"(?P<pump>\w+) never runs dry"),
    ("reaches", r"(?P<sequence>\w+) reaches (?P<step>\w+)(?: within (?P<time>.+))?"),
    ("at least", r"(?P<source>\w+) gives at least (?P<volume>.+)"),
    ("at most", r"(?P<source>\w+) gives at most (?P<volume>.+)"),
    ("at", r"(?P<subject>\w+) is (?P<word>[\w ]+?) at (?P<time>.+)"),
)
_PATTERNS = [(kind, re.compile(pattern)) for kind, pattern in _FORMS]

_EXPECTED = (
    "such as 'no water indoors', 'belly never over its overflow', 'gray below 5 L at 20:00', "
    "'fill reaches filled within 40 min', 'belly_high trips', 'shore_in is closed at 1:00'"
)


def read_expectation(rig: Rig, text: str, time: Callable[[str], int]) -> Expectation:
    """Read one line.

    Parameters
    ----------
    rig : Rig
        The rig that it speaks of.
    text : str
        The line.
    time : callable
        Reads a time as [ms].

    Raises
    ------
    ExpectationError
        When it is not understood.
    """
    line = " ".join(text.split())[:200]
    for kind, pattern in _PATTERNS:
        match = pattern.fullmatch(line)
        if match is not None:
            return _filled(rig, line, kind, {k: v for k, v in match.groupdict().items() if v is not None}, time)
    raise ExpectationError(f"'{line[:60]}' is not understood", _EXPECTED)


def _filled(rig: Rig, line: str, kind: str, parts: dict[str, str], time: Callable[[str], int]) -> Expectation:
    ms = time(parts["time"]) if "time" in parts else -1
    if kind == "at":
        return _at(rig, line, parts["subject"], parts["word"], ms)
    for field in ("tank", "interlock", "pump", "sequence"):
        if field in parts:
            _known(parts[field], getattr(rig, f"{field}s"), field)
    fields = ("tank", "interlock", "pump", "sequence", "source")
    subject = next((parts[field] for field in fields if field in parts), "")
    if "source" in parts:
        supplies = [name for name, port in rig.ports.items() if port.kind == "supply"]
        _known(subject, (*rig.fixtures, *supplies), "fixture or supply port")
    if kind == "reaches":
        _known(parts["step"], rig.sequences[subject].steps, f"step of '{subject}'")
    if kind == "never over overflow":
        if rig.tanks[subject].overflow is None:
            raise ExpectationError(f"'{subject}' has no overflow", "'never over 100 L'")
        return Expectation(line, "never over", subject, "", capacity(rig.tanks[subject]))
    volume = _volume(rig, parts["volume"], subject) if "volume" in parts else 0.0
    return Expectation(line, kind, subject, parts.get("step", ""), volume, ms)


def _at(rig: Rig, line: str, subject: str, word: str, ms: int) -> Expectation:
    if subject in rig.valves:
        _known(word, SETTLED_OPENING, "position")
        return Expectation(line, "valve at", subject, word, ms=ms)
    _known(subject, (*rig.sequences, *rig.valves), "sequence or valve")
    _known(word, codes.STATES, "state")
    return Expectation(line, "state at", subject, word, ms=ms)


def _known(name: str, names: Iterable[str], kind: str) -> None:
    known = list(names)
    if name not in known:
        raise ExpectationError(f"'{name}' is no {kind} of this rig", "one of " + ", ".join(known), nearest(name, known))


def _volume(rig: Rig, text: str, tank: str) -> float:
    try:
        if text.endswith("%") and tank in rig.tanks:
            return quantities.read(text, "fraction") * capacity(rig.tanks[tank])
        return quantities.read(text, "volume")
    except QuantityError as fault:
        raise ExpectationError(fault.what, fault.expected) from None
