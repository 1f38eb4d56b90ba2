"""The one catalogue of faults, for simulation, proof and the tests of the live part.

A `Fault` is one thing that goes wrong with one part from one time to another. `KINDS` says what
there is; `read_fault` reads the words that a person writes (``shore_in slow 3 from 10 min``).
What a fault does is told in one place, `ullage.plant.harm`, as columns that the plant obeys.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from ullage import quantities
from ullage.control.timers import NEVER_MS
from ullage.findings import nearest
from ullage.quantities import QuantityError
from ullage.rig.model import Rig

(
    SENDER_STUCK,
    SENDER_OFFSET,
    SENDER_NOISY,
    SENDER_DEAD,
    SENDER_SWAPPED,
    FLOAT_STUCK_WET,
    FLOAT_STUCK_DRY,
    FLOAT_WIRE_BROKEN,
    METER_JAMMED,
    VALVE_STUCK,
    VALVE_SLOW,
    VALVE_SEEPING,
    VALVE_NOT_CONFIRMING,
    VALVES_CROSSED,
    VALVE_RELAY_WELDED,
    PUMP_RELAY_WELDED,
    PUMP_FAILED,
    PUMP_RUNNING_ON,
    PUMP_LEAKING_BACK,
    CHECK_LEAKING,
    REGULATOR_FAILED,
    WRONG_HOSE,
    OUTFALL_BLOCKED,
    OUTFALL_BACK_PRESSURE,
    LINK_LOST,
    LINK_DELAYED,
    LINK_DUPLICATED,
    POWER_LOST,
    POWER_CUT_TWICE,
    BROWN_OUT,
    CONTROLLER_RESTARTED,
    SUPERVISOR_GONE,
    VENT_BLOCKED,
    HOSE_BURST,
    JERRYCAN,
) = range(35)

FAULTS_LIMIT = 64
"""At most this many faults in one run."""

CUT_BETWEEN_MS = 5_000
"""How long the power comes back between the two cuts of `POWER_CUT_TWICE` [ms]."""

CUT_MS = 3_000
"""How long the first of the two cuts lasts [ms]."""

POUR_RATE = 20e-3 / 60
"""Flow from a jerrycan [m3/s]: 20 L in a minute, common practice, no source."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of fault.

    Attributes
    ----------
    code : int
        Its number.
    of : str
        What it befalls, a field of the rig (``senders``, ``valves``); "" for the whole rig.
    word : str
        What a person writes after the part's name.
    words : str
        What happens, for a person.
    dimension : str
        Dimension of its amount, a key of `ullage.quantities.UNITS`; "" when it has none.
    usual : float
        The amount when none is written [SI].
    least, most : float
        Bounds of the amount [SI].
    other : bool
        Whether a second part of the same kind belongs to it.
    """

    code: int
    of: str
    word: str
    words: str
    dimension: str = ""
    usual: float = 0.0
    least: float = 0.0
    most: float = 0.0
    other: bool = False


KINDS: tuple[Kind, ...] = (
    Kind(SENDER_STUCK, "senders", "stuck", "the sender keeps the reading it has"),
    Kind(SENDER_OFFSET, "senders", "offset", "the sender reads too much or too little", "fraction", -0.2, -1.0, 1.0),
    Kind(SENDER_NOISY, "senders", "noisy", "the sender's reading jumps about", "fraction", 0.1, 0.0, 1.0),
    Kind(SENDER_DEAD, "senders", "dead", "no reading comes from the sender"),
    Kind(SENDER_SWAPPED, "senders", "swapped", "two senders are wired to each other's inputs", other=True),
    Kind(FLOAT_STUCK_WET, "floats", "stuck wet", "the float hangs in its upper place"),
    Kind(FLOAT_STUCK_DRY, "floats", "stuck dry", "the float hangs in its lower place"),
    Kind(FLOAT_WIRE_BROKEN, "floats", "broken", "the float's wire is broken"),
    Kind(METER_JAMMED, "meters", "jammed", "the meter's wheel stands still, water passes"),
    Kind(VALVE_STUCK, "valves", "stuck", "the valve stays where it is"),
    Kind(VALVE_SLOW, "valves", "slow", "the valve takes longer than its longest stroke", "ratio", 3.0, 1.0, 100.0),
    Kind(VALVE_SEEPING, "valves", "seeping", "the closed valve passes a little", "fraction", 0.002, 0.0, 1.0),
    Kind(VALVE_NOT_CONFIRMING, "valves", "not confirming", "the valve's ends do not report"),
    Kind(VALVES_CROSSED, "valves", "crossed", "two valves are wired to each other's outputs", other=True),
    Kind(VALVE_RELAY_WELDED, "valves", "welded", "the relay keeps driving the valve open"),
    Kind(PUMP_RELAY_WELDED, "pumps", "welded", "the relay keeps the pump on"),
    Kind(PUMP_FAILED, "pumps", "failed", "the pump does not turn, or turns without lifting"),
    Kind(PUMP_RUNNING_ON, "pumps", "running on", "the pressure switch no longer stops the pump"),
    Kind(PUMP_LEAKING_BACK, "pumps", "leaking back", "water passes the pump backward", "fraction", 0.3, 0.0, 1.0),
    Kind(CHECK_LEAKING, "checks", "leaking", "water passes the check valve backward", "fraction", 0.3, 0.0, 1.0),
    Kind(REGULATOR_FAILED, "ports", "regulator failed", "full pressure at the hose", "pressure", 6e5, 0.0, 1.2e6),
    Kind(WRONG_HOSE, "ports", "wrong hose", "a hose of another width", "ratio", 1.6, 0.1, 3.0),
    Kind(OUTFALL_BLOCKED, "ports", "blocked", "what leaves there finds the way narrowed", "fraction", 0.0, 0.0, 1.0),
    Kind(OUTFALL_BACK_PRESSURE, "ports", "back-pressure", "the place that takes it is full", "pressure", 5e3, 0.0, 1e5),
    Kind(LINK_LOST, "boards", "lost", "nothing passes between board and controller"),
    Kind(LINK_DELAYED, "boards", "delayed", "all between them comes later", "time", 4.0, 0.0, 60.0),
    Kind(LINK_DUPLICATED, "boards", "duplicated", "everything comes twice, the second late", "time", 2.0, 0.0, 60.0),
    Kind(POWER_LOST, "", "power lost", "the supply is gone"),
    Kind(POWER_CUT_TWICE, "", "power cut twice", "the supply goes, comes back and goes again"),
    Kind(BROWN_OUT, "", "brown-out", "the supply sags to this voltage", "voltage", 8.0, 0.0, 1000.0),
    Kind(CONTROLLER_RESTARTED, "", "controller restarted", "the controller starts anew and knows nothing"),
    Kind(SUPERVISOR_GONE, "", "supervisor gone", "the controller is gone, the boards are left alone"),
    Kind(VENT_BLOCKED, "tanks", "vent blocked", "the tank cannot breathe", "fraction", 0.0, 0.0, 1.0),
    Kind(HOSE_BURST, "pipes", "burst", "the pipe bursts at its start", "fraction", 1.0, 0.0, 1.0),
    Kind(JERRYCAN, "tanks", "jerrycan", "somebody pours a jerrycan into the tank", "volume", 0.02, 0.0, 1.0),
)  # fmt: skip
"""Every kind of fault, by code."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that goes wrong.

    Attributes
    ----------
    kind : int
        Code of the kind.
    part : str
        Name of the part ("" for the whole rig).
    other : str
        Name of the second part ("" when there is none).
    amount : float
        How much [SI of the kind's dimension].
    start_ms, end_ms : int
        From when, until when [ms].
    """

    kind: int
    part: str = ""
    other: str = ""
    amount: float = 0.0
    start_ms: int = 0
    end_ms: int = NEVER_MS

    def __str__(self) -> str:
        """The words that `read_fault` reads, without the times."""
        kind = KINDS[self.kind]
        return " ".join(word for word in (self.part, kind.word, self.other) if word)


class FaultError(ValueError):
    """Words that are no fault of this rig.

    Attributes
    ----------
    what, expected, near : str
        As in a finding.
    """

    def __init__(self, what: str, expected: str, near: str = "") -> None:
        super().__init__(f"{what}; expected {expected}")
        self.what = what
        self.expected = expected
        self.near = near


def kinds_of(rig: Rig, part: str) -> tuple[Kind, ...]:
    """The kinds that can befall a part of a rig (part "": those of the whole rig)."""
    return tuple(
        kind
        for kind in KINDS
        if (part in getattr(rig, kind.of) and befalls(rig, kind, part) if kind.of else part == "")
    )


def healthy_parts(rig: Rig) -> tuple[str, ...]:
    """Names of all parts that a fault can befall, in the order of the file."""
    fields = dict.fromkeys(kind.of for kind in KINDS if kind.of)
    return tuple(name for field in fields for name in getattr(rig, field))


def read_fault(rig: Rig, text: str) -> Fault:
    """Read ``PART KIND [OTHER] [AMOUNT] [from TIME] [to TIME]``, or ``power lost`` and the like.

    Raises
    ------
    FaultError
        When the words are no fault of this rig.
    """
    body, start, end = _times(" ".join(text.split())[:200])
    for kind in KINDS:
        if not kind.of and (body == kind.word or body.startswith(kind.word + " ")):
            return _filled(rig, kind, "", body[len(kind.word) :].strip(), start, end)
    part, _, rest = body.partition(" ")
    kinds = kinds_of(rig, part) if part else ()
    for kind in sorted(kinds, key=lambda kind: -len(kind.word)):
        if rest == kind.word or rest.startswith(kind.word + " "):
            return _filled(rig, kind, part, rest[len(kind.word) :].strip(), start, end)
    if kinds:
        words = [kind.word for kind in kinds]
        raise FaultError(f"'{rest}' cannot befall {part}", "one of " + ", ".join(words), nearest(rest, words))
    wide = [kind.word for kind in KINDS if not kind.of]
    names = healthy_parts(rig)
    raise FaultError(f"'{part}' is no part of this rig", "a part, or one of " + ", ".join(wide), nearest(part, names))


def _filled(rig: Rig, kind: Kind, part: str, rest: str, start: int, end: int) -> Fault:
    other = ""
    if kind.other:
        other, _, rest = rest.partition(" ")
        others = [name for name in getattr(rig, kind.of) if name != part and befalls(rig, kind, name)]
        if other not in others:
            raise FaultError(f"'{other}' is not the other part", "one of " + ", ".join(others), nearest(other, others))
    amount = kind.usual
    if rest and not kind.dimension:
        raise FaultError(f"'{rest}' is too much", f"nothing after '{kind.word}'")
    if rest:
        try:
            amount = quantities.read(rest, kind.dimension)
        except QuantityError as fault:
            raise FaultError(fault.what, fault.expected) from None
    if kind.dimension and not kind.least <= amount <= kind.most:
        raise FaultError(f"'{rest}' is out of range", f"between {kind.least:g} and {kind.most:g} in SI units")
    return Fault(kind.code, part, other, amount, start, end)


_TIME = r"[\d.]+ ?[a-z]+|\d+(?::\d+){1,2}"
_TIMES = re.compile(rf"^(.*?)(?: from ({_TIME}))?(?: to ({_TIME}))?$")


def _times(text: str) -> tuple[str, int, int]:
    match = _TIMES.match(text)
    assert match is not None, "the pattern matches any text"
    try:
        start = round(quantities.read_time(match[2]) * 1000) if match[2] else 0
        end = round(quantities.read_time(match[3]) * 1000) if match[3] else NEVER_MS
    except QuantityError as fault:
        raise FaultError(fault.what, fault.expected) from None
    if end <= start:
        raise FaultError("the fault ends before it begins", "'to' later than 'from'")
    return match[1], start, min(end, NEVER_MS)


def single_faults(rig: Rig) -> Iterable[Fault]:
    """Every single fault of the catalogue on every part of a rig it can befall, at its usual amount."""
    for kind in KINDS:
        parts = list(getattr(rig, kind.of)) if kind.of else [""]
        for part in parts:
            if not befalls(rig, kind, part):
                continue
            others = [name for name in parts if name != part and befalls(rig, kind, name)] if kind.other else [""]
            for other in others:
                if not kind.other or part < other:
                    yield Fault(kind.code, part, other, kind.usual)


def befalls(rig: Rig, kind: Kind, part: str) -> bool:
    """Whether a kind makes sense for this very part: a regulator at a supply, a motor in a valve."""
    if kind.of == "ports":
        wanted = "supply" if kind.code in (REGULATOR_FAILED, WRONG_HOSE) else "discharge"
        # Water that always stands at its port, as of a spring, comes from no tap: nothing regulates it.
        regulated = kind.code != REGULATOR_FAILED or not rig.ports[part].lasting
        return rig.ports[part].kind == wanted and regulated
    if kind.of == "valves" and kind.code != VALVE_SEEPING:
        motor = rig.valves[part].motor
        ends = motor is not None and motor.feedback != "none"
        return motor is not None and (ends or kind.code != VALVE_NOT_CONFIRMING)
    if kind.code == VENT_BLOCKED:
        return rig.tanks[part].vent is not None
    if kind.code in (HOSE_BURST, CHECK_LEAKING):
        return any(part in line.through for line in rig.lines)
    return True
