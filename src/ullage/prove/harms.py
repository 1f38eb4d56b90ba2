"""What a statement says must never be, as a tree over levels, gates and what the law does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, floor

from ullage.plant.bands import Bands
from ullage.plant.codes import MARK_BRIM, MARK_OVERFLOW
from ullage.plant.harmed import ML
from ullage.rig import meaning
from ullage.rig.meaning import Above, Below, Condition, Dry, Holds, Indoors, Reaches, Spills, Statement, Trips
from ullage.rig.shapes import volume


@dataclass(frozen=True, slots=True)
class AtLeast:
    """A tank holds at least so much [mL]."""

    tank: str
    content: int


@dataclass(frozen=True, slots=True)
class Passing:
    """Water may pass a gate: a valve that is not shut, a pump that turns."""

    gate: str


@dataclass(frozen=True, slots=True)
class Tripped:
    """An interlock is tripped."""

    interlock: str


@dataclass(frozen=True, slots=True)
class Active:
    """A step of a sequence is active."""

    step: str


@dataclass(frozen=True, slots=True)
class InState:
    """A sequence is in a procedural state."""

    sequence: str
    word: str


@dataclass(frozen=True, slots=True)
class Linked:
    """The link of a board passes what is sent."""

    board: str


@dataclass(frozen=True, slots=True)
class Anything:
    """It may be so or not; nothing that is followed tells."""


@dataclass(frozen=True, slots=True)
class AllOf:
    """All parts are so."""

    parts: tuple[Tree, ...]


@dataclass(frozen=True, slots=True)
class OneOf:
    """At least one part is so."""

    parts: tuple[Tree, ...]


@dataclass(frozen=True, slots=True)
class Without:
    """The part is not so."""

    part: Tree


@dataclass(frozen=True, slots=True)
class Lasting:
    """The part is so without a break for a time [ms]."""

    part: Tree
    ms: int


Tree = AtLeast | Passing | Tripped | Active | InState | Linked | Anything | AllOf | OneOf | Without | Lasting


def leaves(tree: Tree) -> Iterator[Tree]:
    """All parts of a tree that have none."""
    match tree:
        case AllOf(parts) | OneOf(parts):
            for part in parts:
                yield from leaves(part)
        case Without(part) | Lasting(part):
            yield from leaves(part)
        case _:
            yield tree


@dataclass(frozen=True, slots=True)
class Harm:
    """One thing that must never be.

    Attributes
    ----------
    about : str
        The tank or pump it befalls, "" where the statement says it all.
    tree : Tree
        When it is.
    falls : bool
        Whether a level must fall to get there.
    """

    about: str
    tree: Tree
    falls: bool = False


class NotFollowed(Exception):
    """A statement speaks of what no proof follows; the reason is for a person."""


def harms_of_statement(bands: Bands, statement: Statement) -> list[Harm]:
    """What a statement says, one harm for each tank that it may befall.

    Raises
    ------
    NotFollowed
        When it speaks of an amount that runs through a fixture, or of a pump that draws from no tank.
    """
    rig = bands.rig
    match statement:
        case Above(tank, content):
            return [Harm("", AtLeast(tank, floor(content * ML) + 1))]
        case Below(tank, content):
            return [Harm("", Without(AtLeast(tank, ceil(content * ML))), falls=True)]
        case Spills(tank):
            names = [tank] if tank else [name for name in rig.tanks if bands.mark(name, MARK_OVERFLOW) is not None]
            return [
                Harm(name if not tank else "", AtLeast(name, bands.mark(name, MARK_OVERFLOW) or 0)) for name in names
            ]
        case Indoors():
            return [Harm(name, AtLeast(name, _runs_over(bands, name))) for name in rig.tanks]
        case Dry(pump):
            found = bands.uncovered(pump)
            if found is None:
                raise NotFollowed(f"{pump} draws from no tank directly")
            return [Harm("", AllOf((Passing(pump), Without(AtLeast(found[0], found[1] + 1)))), falls=True)]
        case Trips(interlock):
            return [Harm("", Tripped(interlock))]
        case Reaches(sequence, step):
            return [Harm("", Active(f"{sequence}.{step}"))]
        case Holds(guard):
            return [Harm("", _tree(bands, guard), falls=_asks_below(guard))]
        case _:
            raise NotFollowed("how much runs through is counted, not bounded")


def _runs_over(bands: Bands, name: str) -> int:
    """Content at which a tank's water runs where people live [mL]."""
    tank = bands.rig.tanks[name]
    if tank.overflow is not None and tank.overflow.to == "indoors":
        return bands.mark(name, MARK_OVERFLOW) or 0
    return bands.mark(name, MARK_BRIM) or 0


def _tree(bands: Bands, guard: Condition) -> Tree:
    """A guard as it is true of the water and the parts themselves."""
    match guard:
        case meaning.All(parts):
            return AllOf(tuple(_tree(bands, part) for part in parts))
        case meaning.AnyOf(parts):
            return OneOf(tuple(_tree(bands, part) for part in parts))
        case meaning.Not(part):
            return Without(_tree(bands, part))
        case meaning.Held(part, seconds):
            return Lasting(_tree(bands, part), floor(1000 * seconds))
        case meaning.Linear():
            return _compared(guard)
        case meaning.Flag(symbol) if symbol.kind == "float":
            switch = bands.rig.floats[symbol.name]
            return AtLeast(switch.on, ceil(volume(bands.rig.tanks[switch.on].shape, switch.at) * ML))
        case meaning.Flag(symbol):
            return Passing(symbol.name)
        case meaning.ValveIs(valve, "open"):
            return Passing(valve.name)
        case meaning.ValveIs(valve, "closed"):
            return Without(Passing(valve.name))
        case meaning.SequenceIs(sequence, word):
            return InState(sequence.name, word)
        case meaning.Linked(board):
            return Linked(board.name)
        case meaning.AtStep(sequence, step):
            return Active(f"{sequence.name}.{step}")
        case _:
            return Anything()


def _compared(guard: meaning.Linear) -> Tree:
    """A comparison of one tank's content with a constant; of anything else nothing is known."""
    if len(guard.terms) != 1 or guard.terms[0][1].kind != "sender":
        return Anything()
    factor, symbol = guard.terms[0]
    assert symbol.tank is not None, "a level sender is on a tank"
    bound = -guard.constant / factor * ML
    rises = (factor > 0) == (guard.op in (">", ">="))
    strict = guard.op in (">", "<")
    if rises:
        return AtLeast(symbol.tank, floor(bound) + 1 if strict else ceil(bound))
    return Without(AtLeast(symbol.tank, ceil(bound) if strict else floor(bound) + 1))


def _asks_below(guard: Condition) -> bool:
    match guard:
        case meaning.All(parts) | meaning.AnyOf(parts):
            return any(_asks_below(part) for part in parts)
        case meaning.Not(part) | meaning.Held(part):
            return _asks_below(part)
        case meaning.Linear():
            return not isinstance(_compared(guard), AtLeast)
        case _:
            return False
