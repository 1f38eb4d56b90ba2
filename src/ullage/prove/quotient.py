"""Automata made small: states that nobody can tell apart become one, moves that another outdoes go.

What an automaton shows (its *looks*) is all that the rest of a question sees of it. One state
*outdoes* another when it shows the same and can follow every move of it by a move that needs no
more; then whatever the rest does, the outdone state adds nothing that could be reached.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from ullage.prove.charts import Move, merged


@dataclass(frozen=True, slots=True)
class Automaton:
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

    looks: tuple[Hashable, ...]
    moves: tuple[tuple[Move, ...], ...]
    turned: tuple[int, ...]
    starts: tuple[int, ...]
    stands_for: tuple[frozenset[int], ...]


def reduced(
    looks: Sequence[Hashable], moves: Sequence[Sequence[Move]], turned: Sequence[int], starts: Sequence[int]
) -> Automaton:
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
    order = _outdoes(shown, ways, after)
    ways = [_kept(each, order) for each in ways]
    begins = sorted({kind[s] for s in starts})
    reached = _reached(ways, after, begins)
    number = {state: n for n, state in enumerate(reached)}
    return Automaton(
        looks=tuple(shown[s] for s in reached),
        moves=tuple(tuple(Move(move.needs, number[move.to]) for move in ways[s]) for s in reached),
        turned=tuple(number[after[s]] for s in reached),
        starts=tuple(number[s] for s in begins),
        stands_for=tuple(frozenset(number[r] for r in reached if order[k][r]) for k in kind),
    )


def _renamed(moves: Sequence[Move], kind: Sequence[int]) -> list[Move]:
    return list(merged(Move(move.needs, kind[move.to]) for move in moves))


def _classes(looks: Sequence[Hashable], moves: Sequence[Sequence[Move]], turned: Sequence[int]) -> list[int]:
    """Number of the class of each state: those of one class show and do the same."""
    kind = _numbered([(look,) for look in looks])
    while True:
        signs = [
            (kind[s], kind[turned[s]], frozenset((move.needs, move.to) for move in _renamed(moves[s], kind)))
            for s in range(len(looks))
        ]
        finer = _numbered(signs)
        if max(finer) == max(kind):
            return finer
        kind = finer


def _numbered(signs: Sequence[Hashable]) -> list[int]:
    numbers: dict[Hashable, int] = {}
    return [numbers.setdefault(sign, len(numbers)) for sign in signs]


def _outdoes(looks: Sequence[Hashable], moves: Sequence[Sequence[Move]], turned: Sequence[int]) -> list[list[bool]]:
    """``order[s][r]``: whether state r outdoes state s; the greatest such order."""
    states = range(len(looks))
    order = [[looks[s] == looks[r] for r in states] for s in states]
    changed = True
    while changed:
        changed = False
        for s in states:
            for r in states:
                if s != r and order[s][r] and not _follows(moves[s], moves[r], turned[s], turned[r], order):
                    order[s][r] = False
                    changed = True
    return order


def _follows(
    moves: Sequence[Move], others: Sequence[Move], turned: int, other: int, order: Sequence[Sequence[bool]]
) -> bool:
    """Whether each move has another that needs no more and leads to what outdoes where it leads."""
    if not order[turned][other]:
        return False
    return all(any(order[move.to][way.to] and weaker(way, move) for way in others) for move in moves)


def weaker(one: Move, other: Move) -> bool:
    """Whether a move may be made whenever the other may."""
    needs = dict(other.needs)
    return all(row in needs and needs[row] & ~mask == 0 for row, mask in one.needs)


def _kept(moves: Sequence[Move], order: Sequence[Sequence[bool]]) -> list[Move]:
    """The moves that no other one outdoes; of two that outdo each other the first."""
    kept: list[Move] = []
    for at, move in enumerate(moves):
        for then, way in enumerate(moves):
            if then == at or not (order[move.to][way.to] and weaker(way, move)):
                continue
            if not (order[way.to][move.to] and weaker(move, way)) or then < at:
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
