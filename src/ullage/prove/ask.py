"""A plan as columns of whole numbers: what the explorer and the checker read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from ullage.kernels import kernel
from ullage.prove import plan as p
from ullage.prove.plan import Plan

if TYPE_CHECKING:
    from numpy import int64
    from numpy.typing import NDArray

    Integers = NDArray[int64]
else:
    Integers = Any

NOT_YET = -(1 << 60)
"""A rate that has not been worked out."""

KEY_LIMIT = 1 << 62
"""The states of all automata and pieces together must be fewer."""

CONST, PIECE, READ, STATE, AND, OR, NOT, DELAYED = range(8)
"""What a row is."""

MAY_FALSE, MAY_UNKNOWN, MAY_TRUE = 1, 2, 4

DECIDERS, ACTORS, LEVELS, OUTPUTS, ROWS, HARM, WATCHED, RESTARTS, SENDERS = range(9)
"""Entries of the column *size*."""


class Ask(NamedTuple):
    """Columns [mL, scans, codes]; ``x_first`` / ``x`` are runs as in `ullage.control.program`.

    Automata are the deciders, then the actors; ``first`` says where the states of each begin.
    """

    size: Integers
    radix: Integers
    first: Integers
    start_first: Integers
    starts: Integers
    move_first: Integers
    move_to: Integers
    need_first: Integers
    need_row: Integers
    need_mask: Integers
    wish_first: Integers
    wish_output: Integers
    wish_value: Integers
    turned: Integers
    drives: Integers
    kind: Integers
    kinds: Integers
    next_first: Integers
    next: Integers
    output_of: Integers
    best: Integers
    wire_level: Integers
    wire_first: Integers
    wire_last: Integers
    safe: Integers
    free_first: Integers
    free: Integers
    piece_first: Integers
    piece_low: Integers
    strip: Integers
    most: Integers
    start_low: Integers
    start_high: Integers
    near_first: Integers
    near: Integers
    rate_first: Integers
    strips: Integers
    rate_low: Integers
    rate_high: Integers
    op: Integers
    left: Integers
    right: Integers
    mask_first: Integers
    mask: Integers


class PlanTooLarge(Exception):
    """The states of a plan cannot be numbered."""


def ask_of(plan: Plan) -> Ask:
    """The columns of a plan.

    Raises
    ------
    PlanTooLarge
        When its states are more than can be numbered.
    """
    states = [*(len(one.moves) for one in plan.deciders), *(len(one.kinds) for one in plan.actors)]
    pieces = [len(level.pieces) for level in plan.levels]
    room = 2
    for count in (*states, *pieces):
        room *= count
    if room >= KEY_LIMIT:
        raise PlanTooLarge
    column: dict[str, list[int]] = {
        "size": [
            *(len(group) for group in (plan.deciders, plan.actors, plan.levels, plan.outputs, plan.rows)),
            *(plan.harm, int(plan.watched), int(plan.restarts)),
            1 + max((row.sender for row in plan.rows if isinstance(row, p.Read)), default=-1),
        ],
        "radix": states,
        "first": _firsts(states),
    }
    column["start_first"], column["starts"] = _runs(one.starts for one in plan.automata())
    _add_deciders(plan, column)
    _add_actors(plan, column)
    column["safe"] = [output.safe for output in plan.outputs]
    column["free_first"], column["free"] = _runs(output.free for output in plan.outputs)
    _add_levels(plan, column)
    _add_rows(plan, column)
    return Ask(**{name: _array(column[name]) for name in Ask._fields})


def _add_deciders(plan: Plan, column: dict[str, list[int]]) -> None:
    moves = [moves for one in plan.deciders for moves in one.moves]
    column["move_first"] = _firsts(map(len, moves))
    flat = [move for some in moves for move in some]
    column["move_to"] = [move.to for move in flat]
    column["need_first"] = _firsts(len(move.needs) for move in flat)
    column["need_row"] = [row for move in flat for row, _ in move.needs]
    column["need_mask"] = [mask for move in flat for _, mask in move.needs]
    wishes = [wishes for one in plan.deciders for wishes in one.wishes]
    column["wish_first"] = _firsts(map(len, wishes))
    column["wish_output"] = [output for some in wishes for output, _ in some]
    column["wish_value"] = [value for some in wishes for _, value in some]
    column["turned"] = [state for one in plan.deciders for state in one.turned]
    column["drives"] = [int(one.drives) for one in plan.deciders]


def _add_actors(plan: Plan, column: dict[str, list[int]]) -> None:
    column["kind"] = [kind for one in plan.actors for kind in one.kinds]
    column["best"] = [state for one in plan.actors for state in one.first]
    column["kinds"] = [max(one.kinds) + 1 for one in plan.actors]
    column["next_first"], column["next"] = _runs(ways for one in plan.actors for each in one.moves for ways in each)
    of = {output.actor: at for at, output in enumerate(plan.outputs)}
    column["output_of"] = [of.get(at, -1) for at in range(len(plan.actors))]
    wires = [one.wire or (-1, 0, 0) for one in plan.actors]
    for place, name in enumerate(("wire_level", "wire_first", "wire_last")):
        column[name] = [wire[place] for wire in wires]


def _add_levels(plan: Plan, column: dict[str, list[int]]) -> None:
    column["piece_first"], column["piece_low"] = _runs(level.pieces for level in plan.levels)
    column["strip"] = [strip for level in plan.levels for strip in level.strips]
    column["most"] = [level.most for level in plan.levels]
    column["start_low"] = [level.start[0] for level in plan.levels]
    column["start_high"] = [level.start[1] for level in plan.levels]
    column["near_first"], column["near"] = _runs(level.near for level in plan.levels)
    column["strips"] = [max(level.strips) + 1 for level in plan.levels]
    sizes = []
    for level, strips in zip(plan.levels, column["strips"], strict=True):
        for actor in level.near:
            strips *= column["kinds"][actor]
        sizes.append(strips)
    column["rate_first"] = _firsts(sizes)
    column["rate_low"] = [NOT_YET] * sum(sizes)
    column["rate_high"] = [NOT_YET] * sum(sizes)


def _add_rows(plan: Plan, column: dict[str, list[int]]) -> None:
    for name in ("op", "left", "right"):
        column[name] = []
    masks: list[tuple[int, ...]] = []
    for row in plan.rows:
        op, left, right, own = _row(row)
        column["op"].append(op)
        column["left"].append(left)
        column["right"].append(right)
        masks.append(own)
    column["mask_first"], column["mask"] = _runs(masks)


def _row(row: p.Row) -> tuple[int, int, int, tuple[int, ...]]:
    match row:
        case p.Known(mask):
            return CONST, 0, 0, (mask,)
        case p.ByPiece(level, masks):
            return PIECE, level, 0, masks
        case p.Read(level, masks, sender, unread):
            return READ, level, sender, (unread, *masks)
        case p.ByState(automaton, masks):
            return STATE, automaton, 0, masks
        case p.Both(left, right):
            return AND, left, right, ()
        case p.Either(left, right):
            return OR, left, right, ()
        case p.Not(inner):
            return NOT, inner, 0, ()
        case p.Delayed(inner, automaton, masks):
            return DELAYED, inner, automaton, masks


def _firsts(lengths: Iterable[int]) -> list[int]:
    firsts = [0]
    for length in lengths:
        firsts.append(firsts[-1] + length)
    return firsts


def _runs(groups: Iterable[Sequence[int]]) -> tuple[list[int], list[int]]:
    groups = list(groups)
    return _firsts(map(len, groups)), [number for group in groups for number in group]


def _array(numbers: Sequence[int]) -> Integers:
    import numpy as np

    return np.array(numbers, dtype=np.int64)


@kernel
def both(one: int, two: int) -> int:
    """The values that AND may have: the least of any value of one and any of the other."""
    found = 0
    for a in range(3):
        for b in range(3):
            if (one >> a) & 1 and (two >> b) & 1:
                found |= 1 << min(a, b)
    return found


@kernel
def turned_round(mask: int) -> int:
    """The values that NOT may have."""
    return (mask & MAY_UNKNOWN) | (MAY_TRUE if mask & MAY_FALSE else 0) | (MAY_FALSE if mask & MAY_TRUE else 0)


@kernel
def delayed(mask: int, done: int) -> int:
    """The values of a delay over what it delays; ``done`` is whether it has passed: 0 no, 1 yes, 2 either."""
    if done == 1 or not mask & MAY_TRUE:
        return mask
    return (mask & (MAY_FALSE | MAY_UNKNOWN)) | MAY_FALSE | (MAY_TRUE if done == 2 else 0)


@kernel
def evaluate(ask: Ask, now: Integers, piece: Integers, missing: int, value: Integers) -> None:
    """What every row may be: ``value`` (rows,) for automata in states ``now`` and levels in pieces ``piece``.

    ``missing`` has a bit for each sender; -1 where nobody says which are.
    """
    for row in range(ask.size[ROWS]):
        op, left, right = ask.op[row], ask.left[row], ask.right[row]
        masks = ask.mask_first[row]
        if op == CONST:
            value[row] = ask.mask[masks]
        elif op == PIECE:
            value[row] = ask.mask[masks + piece[left]]
        elif op == READ:
            value[row] = ask.mask[masks + 1 + piece[left]]
            if missing < 0:
                value[row] |= ask.mask[masks]
            elif missing >> right & 1:
                value[row] = ask.mask[masks]
        elif op == STATE:
            value[row] = ask.mask[masks + now[left]]
        elif op == AND:
            value[row] = both(value[left], value[right])
        elif op == OR:
            value[row] = turned_round(both(turned_round(value[left]), turned_round(value[right])))
        elif op == NOT:
            value[row] = turned_round(value[left])
        else:
            value[row] = delayed(value[left], ask.mask[masks + now[right]] if right >= 0 else 2)
