"""The nodes that an explorer has found: their keys, their boxes, and who waits in line.

A *node* is the states of all automata and the piece that each level lies in, packed into a key,
with one box of volumes: all that was found there, joined.
"""

from __future__ import annotations

from typing import NamedTuple

from ullage.kernels import kernel
from ullage.prove.ask import (
    ACTORS,
    DECIDERS,
    LEVELS,
    Ask,
    Integers,
)

WIDEN_AFTER = 400
"""A box that has grown so often is widened whatever makes it grow."""

COUNT, TAKEN, QUEUED, HARM_NODE, SCANS, ASKED_LEVEL, ASKED_KINDS, ASKED_STRIP, LATER_TAKEN, LATER_QUEUED = range(10)
"""Entries of the column *head*."""


class Nodes(NamedTuple):
    """All nodes found: keys, boxes (node * levels), where each came from, who waits in line."""

    head: Integers
    key: Integers
    low: Integers
    high: Integers
    parent: Integers
    waits: Integers
    grown: Integers
    line: Integers
    later: Integers
    slots: Integers


class Scratch(NamedTuple):
    """Room to work in."""

    now: Integers
    then: Integers
    piece: Integers
    target: Integers
    kind: Integers
    before_low: Integers
    before_high: Integers
    low: Integers
    high: Integers
    span_low: Integers
    span_high: Integers
    part_low: Integers
    part_high: Integers
    other: Integers
    improved: Integers
    value: Integers
    choices: Integers
    chosen: Integers
    picked: Integers
    wished: Integers
    granted: Integers
    asked: Integers
    way: Integers


@kernel
def decode(ask: Ask, key: int, now: Integers, piece: Integers) -> int:
    """Take a key apart; return its lowest digit."""
    flags, rest = key % 2, key // 2
    for a in range(ask.size[DECIDERS] + ask.size[ACTORS]):
        now[a] = rest % ask.radix[a]
        rest //= ask.radix[a]
    for level in range(ask.size[LEVELS]):
        pieces = ask.piece_first[level + 1] - ask.piece_first[level]
        piece[level] = rest % pieces
        rest //= pieces
    return flags


@kernel
def encode(ask: Ask, flags: int, now: Integers, piece: Integers) -> int:
    """The key of states and pieces."""
    key = 0
    for back in range(ask.size[LEVELS]):
        level = ask.size[LEVELS] - 1 - back
        key = key * (ask.piece_first[level + 1] - ask.piece_first[level]) + piece[level]
    for back in range(ask.size[DECIDERS] + ask.size[ACTORS]):
        a = ask.size[DECIDERS] + ask.size[ACTORS] - 1 - back
        key = key * ask.radix[a] + now[a]
    return key * 2 + flags


@kernel
def piece_top(ask: Ask, level: int, piece: int) -> int:
    """The last volume of a piece."""
    at = ask.piece_first[level] + piece + 1
    return int(ask.piece_low[at] - 1 if at < ask.piece_first[level + 1] else ask.most[level])


@kernel
def piece_of(ask: Ask, level: int, volume: int) -> int:
    """The piece that a volume lies in."""
    low, high = ask.piece_first[level], ask.piece_first[level + 1] - 1
    while low < high:
        middle = (low + high + 1) // 2
        if ask.piece_low[middle] <= volume:
            low = middle
        else:
            high = middle - 1
    return int(low - ask.piece_first[level])


@kernel
def enter(ask: Ask, nodes: Nodes, s: Scratch, source: int, flags: int) -> int:
    """Enter what has been reached: a new node, or more of one that is known; 0 when there is no room."""
    levels, key = ask.size[LEVELS], encode(ask, flags, s.then, s.target)
    slot = find(nodes, key)
    node = nodes.slots[slot]
    for level in range(levels):
        s.part_low[level] = max(s.low[level], ask.piece_low[ask.piece_first[level] + s.target[level]])
        s.part_high[level] = min(s.high[level], piece_top(ask, level, s.target[level]))
    if node >= 0 and holds(nodes, node, levels, s.part_low, s.part_high):
        return 1
    if is_outdone(ask, nodes, s, flags, s.part_low, s.part_high, 0):
        return 1
    if node < 0:
        node = nodes.head[COUNT]
        if node >= len(nodes.key):
            return 0
        nodes.head[COUNT] += 1
        nodes.slots[slot], nodes.key[node], nodes.parent[node] = node, key, source
        for level in range(levels):
            at = node * levels + level
            nodes.low[at], nodes.high[at] = s.part_low[level], s.part_high[level]
        line_up(nodes, node, is_best(ask, s))
        return 1
    wider = 0
    leaps = node == source or nodes.grown[node] >= WIDEN_AFTER
    for level in range(levels):
        at = node * levels + level
        bottom, top = ask.piece_low[ask.piece_first[level] + s.target[level]], piece_top(ask, level, s.target[level])
        if s.part_low[level] < nodes.low[at]:
            nodes.low[at] = bottom if leaps else s.part_low[level]
            wider = 1
        if s.part_high[level] > nodes.high[at]:
            nodes.high[at] = top if leaps else s.part_high[level]
            wider = 1
    if wider:
        nodes.grown[node] += 1
        line_up(nodes, node, is_best(ask, s))
    return 1


@kernel
def holds(nodes: Nodes, node: int, levels: int, low: Integers, high: Integers) -> int:
    """Whether the box of a node holds all of another box."""
    for level in range(levels):
        at = node * levels + level
        if nodes.low[at] > low[level] or nodes.high[at] < high[level]:
            return 0
    return 1


@kernel
def is_outdone(ask: Ask, nodes: Nodes, s: Scratch, flags: int, low: Integers, high: Integers, from_now: int) -> int:
    """Whether a known node holds all of a box with every gate in the same state or in one that outdoes it."""
    levels, deciders, actors = ask.size[LEVELS], ask.size[DECIDERS], ask.size[ACTORS]
    count = 0
    for a in range(deciders + actors):
        s.other[a] = s.now[a] if from_now else s.then[a]
        if a >= deciders and ask.best[ask.first[a] - ask.first[deciders] + s.other[a]] != s.other[a]:
            s.improved[count] = a
            count += 1
    for pick in range(1, 1 << count):
        for k in range(count):
            a = s.improved[k]
            own = s.now[a] if from_now else s.then[a]
            s.other[a] = ask.best[ask.first[a] - ask.first[deciders] + own] if (pick >> k) & 1 else own
        node = nodes.slots[find(nodes, encode(ask, flags, s.other, s.piece if from_now else s.target))]
        if node >= 0 and holds(nodes, node, levels, low, high):
            return 1
    return 0


@kernel
def find(nodes: Nodes, key: int) -> int:
    """Slot of a key, or the free slot where it belongs."""
    slots = len(nodes.slots)
    slot = ((key ^ (key >> 29)) * 0x9E3779B1 & 0x7FFFFFFFFFFFFFF) % slots
    while nodes.slots[slot] >= 0 and nodes.key[nodes.slots[slot]] != key:
        slot = (slot + 1) % slots
    return slot


@kernel
def is_best(ask: Ask, s: Scratch) -> int:
    """Whether no gate is in a state that another one outdoes: such a node may make many others needless."""
    deciders = ask.size[DECIDERS]
    for g in range(ask.size[ACTORS]):
        state = s.then[deciders + g]
        if ask.best[ask.first[deciders + g] - ask.first[deciders] + state] != state:
            return 0
    return 1


@kernel
def line_up(nodes: Nodes, node: int, soon: int) -> None:
    """Let a node wait for its turn; those that may make others needless come first."""
    if nodes.waits[node]:
        return
    nodes.waits[node] = 1
    if soon:
        nodes.line[nodes.head[QUEUED] % len(nodes.line)] = node
        nodes.head[QUEUED] += 1
    else:
        nodes.later[nodes.head[LATER_QUEUED] % len(nodes.later)] = node
        nodes.head[LATER_QUEUED] += 1
