"""The explorer: every state that a plan may reach, as boxes of volumes beside states of automata.

A *node* is the states of all automata and the piece that each level lies in, with one box of
volumes: all that was found there, joined. A node that comes back to itself while a volume moves
goes on until its piece ends, so its box is widened to that at once: it then holds everything that
any number of such scans can reach. What a node holds already adds nothing; when all nodes add
nothing any more, what they hold is closed.
"""

from __future__ import annotations

from ullage.kernels import kernel
from ullage.prove.ask import (
    ACTORS,
    DECIDERS,
    HARM,
    LEVELS,
    MAY_TRUE,
    NOT_YET,
    OUTPUTS,
    RESTARTS,
    WATCHED,
    Ask,
    Integers,
    evaluate,
)
from ullage.prove.nodes import (
    ASKED_KINDS,
    ASKED_LEVEL,
    ASKED_STRIP,
    HARM_NODE,
    LATER_QUEUED,
    LATER_TAKEN,
    QUEUED,
    SCANS,
    TAKEN,
    Nodes,
    Scratch,
    decode,
    enter,
    is_outdone,
    piece_of,
    piece_top,
)
from ullage.prove.plan import INTERLOCK, LASTS, LINK, SEQUENCE

CLOSED, GOES_ON, HARMED, NEEDS_RATE, FULL, STUCK = range(6)
"""How the explorer returns: all is closed; its share is done; the harm may be; a rate is asked for; no room; a
decider has no move."""
ANEW = 2
"""What is asked of every gate when the law starts anew."""

SHUT = 0
"""What is asked of a gate of which nobody can ask anything."""

READY = 1
"""The lowest digit of a key: whether the law has begun."""


@kernel
def see_kinds(ask: Ask, now: Integers, piece: Integers, kind: Integers) -> None:
    """What each gate lets pass: nothing where it has no supply."""
    deciders = ask.size[DECIDERS]
    for g in range(ask.size[ACTORS]):
        kind[g] = ask.kind[ask.first[deciders + g] - ask.first[deciders] + now[deciders + g]]
        level = ask.wire_level[g]
        if level >= 0 and not ask.wire_first[g] <= piece[level] <= ask.wire_last[g]:
            kind[g] = 0


@kernel
def flow_on(ask: Ask, nodes: Nodes, s: Scratch) -> int:
    """Move all volumes by one scan; 0 when a rate must be worked out first."""
    for level in range(ask.size[LEVELS]):
        kinds = 0
        for k in range(ask.near_first[level], ask.near_first[level + 1]):
            kinds = kinds * ask.kinds[ask.near[k]] + s.kind[ask.near[k]]
        strip = ask.strip[ask.piece_first[level] + s.piece[level]]
        row = ask.rate_first[level] + kinds * ask.strips[level] + strip
        if ask.rate_low[row] == NOT_YET:
            nodes.head[ASKED_LEVEL], nodes.head[ASKED_KINDS], nodes.head[ASKED_STRIP] = level, kinds, strip
            return 0
        # Both ends stay inside: a level that must rise at its brim, or fall when empty, stays there.
        s.low[level] = min(max(s.before_low[level] + ask.rate_low[row], 0), ask.most[level])
        s.high[level] = min(max(s.before_high[level] + ask.rate_high[row], 0), ask.most[level])
        s.span_low[level] = min(s.low[level], s.before_low[level])
        s.span_high[level] = max(s.high[level], s.before_high[level])
    return 1


@kernel
def first_pieces(ask: Ask, low: Integers, target: Integers) -> None:
    """The lowest pieces that a box lies in."""
    for level in range(ask.size[LEVELS]):
        target[level] = piece_of(ask, level, low[level])


@kernel
def next_pieces(ask: Ask, low: Integers, high: Integers, target: Integers) -> int:
    """Go to the next pieces that a box lies in; 0 when all have been."""
    for level in range(ask.size[LEVELS]):
        if piece_top(ask, level, target[level]) < high[level]:
            target[level] += 1
            return 1
        target[level] = piece_of(ask, level, low[level])
    return 0


@kernel
def may_harm(ask: Ask, s: Scratch) -> int:
    """Whether the harm may be anywhere in the span of a scan."""
    first_pieces(ask, s.span_low, s.target)
    more = 1
    while more:
        evaluate(ask, s.now, s.target, s.value)
        if s.value[ask.size[HARM]] & MAY_TRUE:
            return 1
        more = next_pieces(ask, s.span_low, s.span_high, s.target)
    return 0


@kernel
def expand(ask: Ask, nodes: Nodes, s: Scratch, node: int) -> int:
    """All nodes that may follow a node."""
    levels = ask.size[LEVELS]
    flags = decode(ask, nodes.key[node], s.now, s.piece)
    for level in range(levels):
        s.before_low[level], s.before_high[level] = nodes.low[node * levels + level], nodes.high[node * levels + level]
    if is_outdone(ask, nodes, s, flags, s.before_low, s.before_high, 1):
        return GOES_ON
    if ask.size[RESTARTS] and not start_anew(ask, nodes, s, node):
        return FULL
    see_kinds(ask, s.now, s.piece, s.kind)
    if not flow_on(ask, nodes, s):
        return NEEDS_RATE
    if may_harm(ask, s):
        nodes.head[HARM_NODE] = node
        return HARMED
    result = GOES_ON
    first_pieces(ask, s.low, s.target)
    more = 1
    while more and result == GOES_ON:
        result = decide(ask, nodes, s, node, flags)
        more = next_pieces(ask, s.low, s.high, s.target)
    return result


@kernel
def decide(ask: Ask, nodes: Nodes, s: Scratch, node: int, flags: int) -> int:
    """All ways in which the deciders may move in one piece of what the volumes may be."""
    nodes.head[SCANS] += 1
    evaluate(ask, s.now, s.target, s.value)
    if not flags & READY and ask.size[WATCHED]:
        if not gather(ask, s, 1):
            return STUCK
        if not wait(ask, nodes, s, node, flags):
            return FULL
    if not gather(ask, s, 0):
        return STUCK
    for d in range(ask.size[DECIDERS]):
        s.picked[d] = 0
    more = 1
    while more:
        wish(ask, s)
        if not grant_all(ask, nodes, s, node, flags):
            return FULL
        more = next_pick(s.picked, s.choices, ask.size[DECIDERS])
    return GOES_ON


@kernel
def wait(ask: Ask, nodes: Nodes, s: Scratch, node: int, flags: int) -> int:
    """A scan in which the law is not ready, so that everything is asked to be safe; 0 when there is no room."""
    deciders = ask.size[DECIDERS]
    width = len(s.chosen) // max(deciders, 1)
    for d in range(deciders):
        s.picked[d] = 0
    more = 1
    while more:
        for o in range(ask.size[OUTPUTS]):
            s.asked[o] = ask.safe[o]
        drive(ask, s, width, LINK)
        for d in range(deciders):
            s.then[d] = s.chosen[d * width + s.picked[d]]
        if not act(ask, nodes, s, node, flags, SHUT):
            return 0
        more = next_pick(s.picked, s.choices, deciders)
    return 1


@kernel
def next_pick(picked: Integers, choices: Integers, count: int) -> int:
    """Count on to the next combination; 0 when all have been."""
    for d in range(count):
        if picked[d] + 1 < choices[d]:
            picked[d] += 1
            return 1
        picked[d] = 0
    return 0


@kernel
def gather(ask: Ask, s: Scratch, waits: int) -> int:
    """Where each decider may go: counts in ``choices``, states in ``chosen``; 0 when one may go nowhere.

    Sequences and interlocks stay where they are while the law ``waits``.
    """
    width = len(s.chosen) // max(ask.size[DECIDERS], 1)
    for d in range(ask.size[DECIDERS]):
        if waits and (ask.drives[d] == SEQUENCE or ask.drives[d] == INTERLOCK):
            s.choices[d], s.chosen[d * width] = 1, s.now[d]
            continue
        count, state = 0, ask.first[d] + s.now[d]
        for m in range(ask.move_first[state], ask.move_first[state + 1]):
            fits = 1
            for k in range(ask.need_first[m], ask.need_first[m + 1]):
                if not s.value[ask.need_row[k]] & ask.need_mask[k]:
                    fits = 0
            if fits:
                s.chosen[d * width + count] = ask.move_to[m]
                count += 1
        s.choices[d] = count
        if count == 0:
            return 0
    return 1


@kernel
def wish(ask: Ask, s: Scratch) -> None:
    """What the deciders that do not drive wish: -1 nothing; two that disagree get what is safe."""
    width = len(s.chosen) // max(ask.size[DECIDERS], 1)
    for o in range(ask.size[OUTPUTS]):
        s.wished[o] = -1
    for d in range(ask.size[DECIDERS]):
        s.then[d] = s.chosen[d * width + s.picked[d]]
        if ask.drives[d] == SEQUENCE:
            state = ask.first[d] + s.then[d]
            for k in range(ask.wish_first[state], ask.wish_first[state + 1]):
                o, value = ask.wish_output[k], ask.wish_value[k]
                s.wished[o] = value if s.wished[o] < 0 or s.wished[o] == value else ask.safe[o]


@kernel
def grant_all(ask: Ask, nodes: Nodes, s: Scratch, node: int, flags: int) -> int:
    """Every way in which those who are not followed may wish besides; 0 when there is no room."""
    width = len(s.chosen) // max(ask.size[DECIDERS], 1)
    outputs = ask.size[OUTPUTS]
    for o in range(outputs):
        s.granted[o] = 0
    more = 1
    while more:
        for o in range(outputs):
            s.asked[o] = ask.safe[o] if s.wished[o] < 0 else s.wished[o]
            if s.granted[o]:
                free = ask.free[ask.free_first[o] + s.granted[o] - 1]
                s.asked[o] = free if s.wished[o] < 0 or s.wished[o] == free else ask.safe[o]
        drive(ask, s, width, INTERLOCK)
        settle(ask, s, flags, width)
        drive(ask, s, width, LINK)
        if not act(ask, nodes, s, node, flags | READY, SHUT):
            return 0
        more = 0
        for o in range(outputs):
            if s.granted[o] < ask.free_first[o + 1] - ask.free_first[o]:
                s.granted[o] += 1
                more = 1
                break
            s.granted[o] = 0
    return 1


@kernel
def drive(ask: Ask, s: Scratch, width: int, kind: int) -> None:
    """Let the deciders of a kind drive their outputs, the last one winning."""
    for d in range(ask.size[DECIDERS]):
        if ask.drives[d] == kind:
            state = ask.first[d] + s.chosen[d * width + s.picked[d]]
            for k in range(ask.wish_first[state], ask.wish_first[state + 1]):
                s.asked[ask.wish_output[k]] = ask.wish_value[k]


@kernel
def settle(ask: Ask, s: Scratch, flags: int, width: int) -> None:
    """Where each decider ends: turned where a wish was not granted; drivers stand until they watch."""
    for d in range(ask.size[DECIDERS]):
        then = s.chosen[d * width + s.picked[d]]
        state = ask.first[d] + then
        if ask.drives[d] == INTERLOCK:
            s.then[d] = then if flags & READY or not ask.size[WATCHED] else s.now[d]
        else:
            s.then[d] = then
            for k in range(ask.wish_first[state], ask.wish_first[state + 1]):
                if s.asked[ask.wish_output[k]] != ask.wish_value[k]:
                    s.then[d] = ask.turned[state]


@kernel
def start_anew(ask: Ask, nodes: Nodes, s: Scratch, node: int) -> int:
    """The law starts anew in a node, in no time, and knows nothing; 0 when there is no room."""
    deciders = ask.size[DECIDERS]
    for level in range(ask.size[LEVELS]):
        s.low[level], s.high[level], s.target[level] = s.before_low[level], s.before_high[level], s.piece[level]
    for o in range(ask.size[OUTPUTS]):
        s.asked[o] = ANEW
    for d in range(deciders):
        stays = ask.drives[d] == LINK or ask.drives[d] == LASTS
        s.picked[d], s.choices[d] = 0, 1 if stays else ask.start_first[d + 1] - ask.start_first[d]
    more = 1
    while more:
        for d in range(deciders):
            stays = ask.drives[d] == LINK or ask.drives[d] == LASTS
            s.then[d] = s.now[d] if stays else ask.starts[ask.start_first[d] + s.picked[d]]
        if not act(ask, nodes, s, node, 0, ANEW):
            return 0
        more = next_pick(s.picked, s.choices, deciders)
    return 1


@kernel
def act(ask: Ask, nodes: Nodes, s: Scratch, node: int, flags: int, otherwise: int) -> int:
    """Every way in which the gates may follow what is asked of them; 0 when there is no room.

    Of a gate without an output ``otherwise`` is asked.
    """
    deciders, actors = ask.size[DECIDERS], ask.size[ACTORS]
    for g in range(actors):
        s.way[g] = 0
    more = 1
    while more:
        more = 0
        for g in range(actors):
            at = way_of(ask, s, g, otherwise)
            s.then[deciders + g] = ask.next[ask.next_first[at] + s.way[g]]
        if not enter(ask, nodes, s, node, flags):
            return 0
        for g in range(actors):
            at = way_of(ask, s, g, otherwise)
            if s.way[g] + 1 < ask.next_first[at + 1] - ask.next_first[at]:
                s.way[g] += 1
                more = 1
                break
            s.way[g] = 0
    return 1


@kernel
def way_of(ask: Ask, s: Scratch, gate: int, otherwise: int) -> int:
    """Row of the ways that a gate may now go."""
    output, place = ask.output_of[gate], ask.size[DECIDERS] + gate
    asked = s.asked[output] if output >= 0 else otherwise
    return int(3 * (ask.first[place] - ask.first[ask.size[DECIDERS]] + s.now[place]) + asked)


@kernel
def begin(ask: Ask, nodes: Nodes, s: Scratch) -> int:
    """Enter where everything may start; 0 when there is no room."""
    automata = ask.size[DECIDERS] + ask.size[ACTORS]
    for level in range(ask.size[LEVELS]):
        s.low[level], s.high[level] = ask.start_low[level], ask.start_high[level]
    for a in range(automata):
        s.picked[a], s.choices[a] = 0, ask.start_first[a + 1] - ask.start_first[a]
    more = 1
    while more:
        for a in range(automata):
            s.then[a] = ask.starts[ask.start_first[a] + s.picked[a]]
        first_pieces(ask, s.low, s.target)
        pieces = 1
        while pieces:
            if not enter(ask, nodes, s, -1, 0 if ask.size[WATCHED] else READY):
                return 0
            pieces = next_pieces(ask, s.low, s.high, s.target)
        more = next_pick(s.picked, s.choices, automata)
    return 1


@kernel
def explore(ask: Ask, nodes: Nodes, s: Scratch, share: int) -> int:
    """Go on until all is closed, the harm may be, something is needed, or a share of nodes has been taken."""
    for _ in range(share):
        soon = 1 if nodes.head[TAKEN] < nodes.head[QUEUED] else 0
        if not soon and nodes.head[LATER_TAKEN] == nodes.head[LATER_QUEUED]:
            return CLOSED
        node = nodes.later[nodes.head[LATER_TAKEN] % len(nodes.later)]
        if soon:
            node = nodes.line[nodes.head[TAKEN] % len(nodes.line)]
        nodes.waits[node] = 0
        result = expand(ask, nodes, s, node)
        if result != GOES_ON:
            nodes.waits[node] = 1
            return result
        nodes.head[TAKEN if soon else LATER_TAKEN] += 1
    return GOES_ON
