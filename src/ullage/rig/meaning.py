"""What a guard means, once every name in it is known: the law's own small language.

These are the values that `resolve` in `ullage.rig.names` makes from the text of a guard and
that the compiler turns into tables. Every figure is an SI float, every name a `Symbol`, every
percentage already a volume of its tank. A part says where it stands in the rig file only by
the guard it belongs to, since the reader has already told a person all that is wrong with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ullage.findings import Place

Kind = Literal[
    "sender", "float", "meter", "probe", "parameter", "valve", "pump", "lamp", "sequence", "step", "board", "handset"
]
"""What a name of the rig stands for."""

Order = Literal["<", "<=", ">", ">="]
"""The four ways to compare."""

VALVE_WORDS = ("open", "closed", "failed")
"""Positions a guard may ask of a valve: confirmed or presumed open, closed, or neither in time."""

SEQUENCE_WORDS = (
    "idle", "running", "complete", "pausing", "paused", "holding", "held", "restarting",
    "stopping", "stopped", "aborting", "aborted",
)  # fmt: skip
"""States a guard may ask of a sequence (ISA-88 procedural states)."""

ATTITUDES = ("upright", "inverted", "flat", "docked")
"""Attitudes a guard may ask of the handset."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A name of the rig as guards see it.

    Attributes
    ----------
    name : str
        As in the file.
    kind : Kind
        What it stands for.
    dimension : str
        Key of `ullage.quantities.UNITS` for a signal with a value; "" for all others.
    tank : str or None
        The tank that a level sender, a float or a percentage belongs to.
    sequence : str or None
        The sequence that owns a parameter or a step.
    """

    name: str
    kind: Kind
    dimension: str = ""
    tank: str | None = None
    sequence: str | None = None


@dataclass(frozen=True, slots=True)
class All:
    """True when every part is."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    """True when at least one part is."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Not:
    """True when the part is false (unknown stays unknown)."""

    part: Condition


@dataclass(frozen=True, slots=True)
class Held:
    """True when the part has been true without a break for a time [s]."""

    part: Condition
    seconds: float


@dataclass(frozen=True, slots=True)
class Linear:
    """``sum(coefficient * value of symbol) + constant OP 0``, in SI of the dimension.

    The symbols are of kind sender (its value is a volume), meter, probe or parameter; each
    stands once, and no coefficient is zero.
    """

    terms: tuple[tuple[float, Symbol], ...]
    constant: float
    op: Order
    dimension: str


@dataclass(frozen=True, slots=True)
class Flag:
    """A float is wet, or a pump is driven."""

    symbol: Symbol


@dataclass(frozen=True, slots=True)
class ValveIs:
    """A valve is in a position of `VALVE_WORDS`."""

    valve: Symbol
    word: str


@dataclass(frozen=True, slots=True)
class SequenceIs:
    """A sequence is in a state of `SEQUENCE_WORDS`."""

    sequence: Symbol
    word: str


@dataclass(frozen=True, slots=True)
class AtStep:
    """A step of a sequence is active."""

    sequence: Symbol
    step: str


@dataclass(frozen=True, slots=True)
class SinceStep:
    """The steps before this transition have all been active for a time [s]."""

    seconds: float


@dataclass(frozen=True, slots=True)
class HandsetIs:
    """The handset is in an attitude of `ATTITUDES`."""

    attitude: str


@dataclass(frozen=True, slots=True)
class Linked:
    """A board answers. Never unknown."""

    board: Symbol


@dataclass(frozen=True, slots=True)
class Good:
    """A signal's reading is good, neither stale nor bad. Never unknown."""

    symbol: Symbol


Condition = (
    All | AnyOf | Not | Held | Linear | Flag | ValveIs | SequenceIs | AtStep | SinceStep | HandsetIs | Linked | Good
)
"""Any meaning of a guard."""


@dataclass(frozen=True, slots=True)
class Transition:
    """A transition of a chart; several sources or targets make a simultaneous junction.

    Where several transitions leave one step, the one that stands earlier in the file has priority.

    Attributes
    ----------
    sources, targets : tuple of str
        Names of steps.
    guard : Condition or None
        None: always true.
    place : Place
        Where it stands in the rig file.
    """

    sources: tuple[str, ...]
    targets: tuple[str, ...]
    guard: Condition | None
    place: Place


@dataclass(frozen=True, slots=True)
class Bounds:
    """A parameter of a sequence in SI, its percentages already volumes of its tank."""

    symbol: Symbol
    default: float
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Chart:
    """The guards of one sequence (`None`: not stated); ``places`` are those of permit, stay and begins."""

    name: str
    parameters: tuple[Bounds, ...]
    permit: Condition | None
    stay: Condition | None
    begins: Condition | None
    transitions: tuple[Transition, ...]
    places: tuple[Place, Place, Place]


@dataclass(frozen=True, slots=True)
class Trip:
    """The condition of one interlock; what it drives stands in the rig.

    Once it has tripped it acts on until ``until`` is true and ``when`` false.
    """

    name: str
    when: Condition
    until: Condition | None
    place: Place


@dataclass(frozen=True, slots=True)
class Indoors:
    """Water runs where people live."""


@dataclass(frozen=True, slots=True)
class Spills:
    """Water leaves by the overflow of a tank ("": of any)."""

    tank: str


@dataclass(frozen=True, slots=True)
class Above:
    """A tank holds more than a volume [m3]."""

    tank: str
    volume: float


@dataclass(frozen=True, slots=True)
class Below:
    """A tank holds less than a volume [m3]."""

    tank: str
    volume: float


@dataclass(frozen=True, slots=True)
class Dry:
    """A pump turns without water."""

    pump: str


@dataclass(frozen=True, slots=True)
class Trips:
    """An interlock trips."""

    interlock: str


@dataclass(frozen=True, slots=True)
class Reaches:
    """A step of a sequence becomes active."""

    sequence: str
    step: str


@dataclass(frozen=True, slots=True)
class Gives:
    """So much comes out of a fixture, or in at a supply port, in all [m3]: at least, else at most."""

    source: str
    volume: float
    least: bool


@dataclass(frozen=True, slots=True)
class Holds:
    """A guard is true of the water and the parts themselves; a valve that is not shut counts as open."""

    guard: Condition


Statement = Indoors | Spills | Above | Below | Dry | Trips | Reaches | Gives | Holds
"""What can be said of a run."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One line of ``never`` or ``sometimes``: what it says, as it was written, where, and if in health only."""

    statement: Statement
    text: str
    place: Place
    healthy_only: bool = False


@dataclass(frozen=True, slots=True)
class Law:
    """All guards of a rig, resolved, in the order of the file."""

    symbols: dict[str, Symbol]
    charts: tuple[Chart, ...]
    trips: tuple[Trip, ...]
    never: tuple[Wish, ...]
    sometimes: tuple[Wish, ...]
