"""What is asked of the explorer, as parts with names: the finite plant, what of the law is followed, the harm.

A plan is a number of automata that move together, scan by scan, beside volumes that are
intervals. *Deciders* (sequences, interlocks, counters) move first, by what the rows may be and
by chance; they wish and drive outputs; *gates* move by what is asked of them; volumes by what the
gates let pass. Whatever a plan leaves open is tried in every way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from ullage.prove.charts import Move

SEQUENCE, INTERLOCK, LINK, CLOCK, LASTS = range(5)
"""What a decider is, by which it is known how its wishes count, and when it waits or starts anew."""


@dataclass(frozen=True, slots=True)
class Known:
    """A row that is any of some values, whatever happens (set of Kleene's values)."""

    mask: int


@dataclass(frozen=True, slots=True)
class ByPiece:
    """A row that depends on which piece of a level the volume lies in."""

    level: int
    masks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Read:
    """A row that depends on the piece of a level as a sender shows it.

    In a scan in which the sender is missing it is ``unread`` (set of Kleene's values), all rows of that sender at once.
    """

    level: int
    masks: tuple[int, ...]
    sender: int
    unread: int


@dataclass(frozen=True, slots=True)
class ByState:
    """A row that depends on the state of an automaton."""

    automaton: int
    masks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Both:
    """True when two rows are."""

    left: int
    right: int


@dataclass(frozen=True, slots=True)
class Either:
    """True when one of two rows is."""

    left: int
    right: int


@dataclass(frozen=True, slots=True)
class Not:
    """True when a row is false."""

    row: int


@dataclass(frozen=True, slots=True)
class Delayed:
    """True when a row is and a counter has reached its end (-1: it may have, or not)."""

    row: int
    automaton: int
    masks: tuple[int, ...] = ()


Row = Known | ByPiece | Read | ByState | Both | Either | Not | Delayed
"""What can be so or not; operands stand before what uses them."""


@dataclass(frozen=True, slots=True)
class Decider:
    """An automaton that moves by rows and wishes outputs.

    Attributes
    ----------
    name : str
    states : tuple of str
        What each state is, for people.
    moves : tuple of tuple of Move
        The rows in their needs are rows of the plan.
    wishes : tuple of tuple of (int, int)
        Per state, the outputs that it asks for, and how.
    drives : int
        `SEQUENCE`: its wishes agree with others or get what is safe. `INTERLOCK`: they win over those of all
        before it. `LINK`: they win, and nobody is told. `CLOCK`: it counts for the law, which need not be
        ready for that. `LASTS`: it counts for the harm; like a link it goes on when the law starts anew.
    turned : tuple of int
        State after one of its wishes was not granted.
    starts : tuple of int
    """

    name: str
    states: tuple[str, ...]
    moves: tuple[tuple[Move, ...], ...]
    wishes: tuple[tuple[tuple[int, int], ...], ...]
    drives: int
    turned: tuple[int, ...]
    starts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Actor:
    """A gate: an automaton that moves by what is asked of its output.

    Attributes
    ----------
    name : str
    kinds : tuple of int
        Per state, the kind of its passage, from 0 (shut) up; rates are asked for by these.
    moves : tuple of (tuple of int, tuple of int, tuple of int)
        Per state, states after it was asked 0, after it was asked 1, and, in no time, after the deciders start
        anew.
    starts : tuple of int
    first : tuple of int
        Per state, one that outdoes it: whatever follows from it follows from that one too; else itself.
    wire : (int, int, int) or None
        Level, and the first and last piece of it in which the gate has its supply; outside it is shut.
    """

    name: str
    kinds: tuple[int, ...]
    moves: tuple[tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]], ...]
    starts: tuple[int, ...]
    first: tuple[int, ...]
    wire: tuple[int, int, int] | None = None


@dataclass(frozen=True, slots=True)
class Output:
    """What is asked of a gate.

    Attributes
    ----------
    name : str
    actor : int
    safe : int
        What is asked where nothing else is.
    free : tuple of int
        What somebody who is not followed may wish besides.
    """

    name: str
    actor: int
    safe: int
    free: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Level:
    """A volume.

    Attributes
    ----------
    name : str
    pieces : tuple of int
        Where each piece begins [mL]; the last one ends at ``most``.
    most : int
    strips : tuple of int
        Strip of each piece; within one the rates are the same.
    near : tuple of int
        Actors by whose kinds the rates go.
    rate : callable
        ``rate(kinds, strip)``: least and greatest gain in one scan [mL], for kinds in order of ``near``.
    start : (int, int)
        Least and greatest volume at the start [mL].
    """

    name: str
    pieces: tuple[int, ...]
    most: int
    strips: tuple[int, ...]
    near: tuple[int, ...]
    rate: Callable[[tuple[int, ...], int], tuple[int, int]]
    start: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Plan:
    """All of it.

    Attributes
    ----------
    deciders, actors, levels, outputs, rows
    harm : int
        Row that must never be true.
    watched : bool
        Whether the law begins unready, and acts without tripping in the first scan.
    restarts : bool
        Whether the law may start anew at any time, which takes no time.
    """

    deciders: tuple[Decider, ...]
    actors: tuple[Actor, ...]
    levels: tuple[Level, ...]
    outputs: tuple[Output, ...]
    rows: tuple[Row, ...]
    harm: int
    watched: bool = True
    restarts: bool = False
    names: dict[str, str] = field(default_factory=dict)

    def automata(self) -> tuple[Decider | Actor, ...]:
        """All automata, deciders first: their numbers are the places in this order."""
        return (*self.deciders, *self.actors)
