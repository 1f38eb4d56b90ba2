"""Automata made small: states that nobody can tell apart become one, moves that another outdoes go.

What an automaton shows (its *looks*) is all that the rest of a question sees of it. One state
*outdoes* another when it shows the same and can follow every move of it by a move that needs no
more; then whatever the rest does, the outdone state adds nothing that could be reached.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from ullage.prove.charts import Move, Needs, merged

Look = TypeVar("Look", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Automaton(Generic[Look]):
    """States with what they show, and the moves between them.

    Attributes
    ----------
    looks : tuple of hashable
        What each state shows.
    moves : tuple of tuple of Move
    turned : tuple of int
        State that each one becomes when it is overridden; itself where that changes nothing.
    starts : tuple of int
        Where it may begin.
    stands_for : tuple of set of int
        For each state of what it was made from, the states here that outdo it.
    """

    looks: tuple[Look, ...]
    moves: tuple[tuple[Move, ...], ...]
    turned: tuple[int, ...]
    starts: tuple[int, ...]
    stands_for: tuple[frozenset[int], ...]


def reduced(
    looks: Sequence[Look], moves: Sequence[Sequence[Move]], turned: Sequence[int], starts: Sequence[int]
) -> Automaton[Look]:
    """The smallest automaton found that shows the same.

    Parameters
    ----------
    looks, moves, turned, starts
        As in `Automaton`, of any size.
    """
    kind = _classes(looks, moves, turned)
    count = max(kind) + 1
    first = [kind.index(k) for k in range(count)]
    shown = [looks[s] for s in first]
    ways = [_renamed(moves[s], kind) for s in first]
    after = [kind[turned[s]] for s in first]
    over = outdoing([_any_of(r for r in range(count) if shown[r] == look) for look in shown], ways, after)
    ways = [_kept(each, over) for each in ways]
    begins = sorted({kind[s] for s in starts})
    reached = _reached(ways, after, begins)
    number = {state: n for n, state in enumerate(reached)}
    return Automaton(
        looks=tuple(shown[s] for s in reached),
        moves=tuple(tuple(Move(move.needs, number[move.to]) for move in ways[s]) for s in reached),
        turned=tuple(number[after[s]] for s in reached),
        starts=tuple(number[s] for s in begins),
        stands_for=tuple(frozenset(number[r] for r in reached if over[k] >> r & 1) for k in kind),
    )


def _renamed(moves: Sequence[Move], kind: Sequence[int]) -> list[Move]:
    return list(merged(Move(move.needs, kind[move.to]) for move in moves))


def _classes(looks: Sequence[Hashable], moves: Sequence[Sequence[Move]], turned: Sequence[int]) -> list[int]:
    """Number of the class of each state: those of one class show and do the same."""
    kind = _numbered([(look,) for look in looks])
    # Of needs of one row each every value can stand for itself, which says the same sooner.
    simple = all(len(move.needs) == 1 for some in moves for move in some)
    apart = [list(_apart(some)) for some in moves] if simple else []
    while True:
        ways: Iterable[Hashable] = (
            (frozenset((need, kind[to]) for need, to in some) for some in apart)
            if simple
            else (frozenset((move.needs, move.to) for move in _renamed(some, kind)) for some in moves)
        )
        signs = [(kind[s], kind[turned[s]], way) for s, way in enumerate(ways)]
        finer = _numbered(signs)
        if max(finer) == max(kind):
            return finer
        kind = finer


def _apart(moves: Iterable[Move]) -> Iterator[tuple[tuple[int, int], int]]:
    """Row and value, each with where it leads, of moves that need one row each."""
    for move in moves:
        ((row, mask),) = move.needs
        yield from (((row, value), move.to) for value in range(3) if mask >> value & 1)


def _numbered(signs: Sequence[Hashable]) -> list[int]:
    numbers: dict[Hashable, int] = {}
    return [numbers.setdefault(sign, len(numbers)) for sign in signs]


def outdoing(alike: Sequence[int], moves: Sequence[Sequence[Move]], turned: Sequence[int]) -> list[int]:
    """The states that outdo each state, as bits; the greatest such order.

    Parameters
    ----------
    alike : sequence of int
        For each state, bits of the states that show no less.
    moves, turned
        As in `Automaton`.
    """
    over = list(alike)
    wide: dict[Needs, list[tuple[int, int]]] = {}
    for needs in dict.fromkeys(move.needs for some in moves for move in some):
        wide[needs] = [(r, way.to) for r, ways in enumerate(moves) for way in ways if weaker(way.needs, needs)]
    changed = True
    while changed:
        changed = False
        followed: dict[tuple[Needs, int], int] = {}
        for s, some in enumerate(moves):
            rest = over[s] & sum(1 << r for r, to in enumerate(turned) if over[turned[s]] >> to & 1)
            for move in some:
                key = move.needs, over[move.to]
                if key not in followed:
                    followed[key] = _any_of(r for r, to in wide[move.needs] if key[1] >> to & 1)
                rest &= followed[key]
            if rest != over[s]:
                over[s], changed = rest, True
    return over


def _any_of(states: Iterable[int]) -> int:
    bits = 0
    for state in states:
        bits |= 1 << state
    return bits


def weaker(one: Needs, other: Needs) -> bool:
    """Whether what one move needs is so whenever what another needs is."""
    needs = dict(other)
    return all(row in needs and needs[row] & ~mask == 0 for row, mask in one)


def _kept(moves: Sequence[Move], over: Sequence[int]) -> list[Move]:
    """The moves that no other one outdoes; of two that outdo each other the first."""
    kept: list[Move] = []
    for at, move in enumerate(moves):
        for then, way in enumerate(moves):
            if then == at or not (over[move.to] >> way.to & 1 and weaker(way.needs, move.needs)):
                continue
            if not (over[way.to] >> move.to & 1 and weaker(move.needs, way.needs)) or then < at:
                break
        else:
            kept.append(move)
    return kept


def _reached(moves: Sequence[Sequence[Move]], turned: Sequence[int], starts: Sequence[int]) -> list[int]:
    found = list(starts)
    for state in found:  # grows while it is walked
        for to in (*(move.to for move in moves[state]), turned[state]):
            if to not in found:
                found.append(to)
    return found
