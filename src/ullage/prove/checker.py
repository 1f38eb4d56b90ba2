"""A small checker of certificates that shares nothing with the explorer but the file.

It takes every box one scan further in every way that the tables allow, plainly and one by one, and
asks whether what comes of it is in the set again. A set that holds every start, that no scan
leaves, and whose boxes are clear of the harm throughout a scan, holds everything that can ever be.

A box is *held* when the set has one of the same states and pieces that contains it, or one that
differs only by gates in states that *outdo* theirs: such a gate passes no less, leaves no less open
to the law, and can follow whatever the other does. That they do is worked out here anew; the file
only says which of these states were used. A box that is held by another one needs not be followed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Any

READY = 1
"""Of a box's flags: the law has begun to act."""

SEQUENCE, INTERLOCK, LINK, CLOCK, LASTS = range(5)
"""What a decider is. Its wishes must agree with others'; they win; they win unnoticed. It counts for the law; it
counts for the harm."""

SHUT, ANEW = 0, 2
"""What a gate is asked: where nobody can ask anything of it; when the law starts anew."""

UNKNOWN, TRUE = 1, 2
"""Of Kleene's values 0 (false), 1 and 2."""

Values = frozenset[int]
SETS: tuple[Values, ...] = tuple(frozenset(value for value in range(3) if mask >> value & 1) for mask in range(8))
"""Every set of values, at the place of its mask."""

Numbers = tuple[int, ...]
Box = tuple[tuple[int, int], ...]
Key = tuple[int, Numbers, Numbers]
"""Flags, states of all automata, pieces of all levels."""

Missing = tuple[bool, ...] | None
"""Of each sender whether it is missing in a scan; None where nobody says."""


class Refused(Exception):
    """The certificate does not prove what it says; the reason is for a person."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What a certificate that proves what it says is about.

    Attributes
    ----------
    head : dict
        Its first line.
    boxes : int
        Boxes in the set.
    followed : int
        Boxes that were taken a scan further; the others are held by some of these.
    arrivals : int
        What came of them, all of it held.
    """

    head: dict[str, Any]
    boxes: int
    followed: int
    arrivals: int


def check(lines: Iterable[str]) -> Checked:
    """Check a certificate.

    Parameters
    ----------
    lines : iterable of str
        The file, line by line.

    Raises
    ------
    Refused
        When anything is missing, malformed, not held, or not clear of the harm.
    """
    try:
        head, tables, rates, *boxes = map(json.loads, lines)
        if head["format"] != "closed set of boxes" or head["version"] != 1:
            raise Refused("it is no closed set of boxes of version 1")
        if len(boxes) != head["boxes"]:
            raise Refused(f"it says that it has {head['boxes']} boxes, and has {len(boxes)}")
        checker = Checker(tables["plan"])
        for level, kinds, strip, low, high in rates["rates"]:
            checker.add_rate(level, tuple(kinds), strip, low, high)
        for flags, states, pieces, box in boxes:
            checker.add_box((flags, tuple(states), tuple(pieces)), tuple((low, high) for low, high in box))
        return Checked(head, len(boxes), checker.follow_all(), checker.arrivals)
    except (KeyError, IndexError, TypeError, ValueError, AttributeError, RecursionError) as problem:
        raise Refused(f"it cannot be read: {type(problem).__name__}, {problem}") from None


@dataclass(slots=True)
class Checker:
    """The tables of a certificate, its rates and its boxes.

    Attributes
    ----------
    plan : dict
        Tables as `ullage.prove.plan` describes them.
    rates : dict
        Least and greatest gain in a scan [mL] by level, kinds of the gates beside it, and strip.
    boxes : dict
        The set: one box for each flags, states and pieces.
    arrivals : int
        Arrivals that were looked for in the set so far.
    """

    plan: dict[str, Any]
    rates: dict[tuple[int, Numbers, int], tuple[int, int]] = field(default_factory=dict)
    boxes: dict[Key, Box] = field(default_factory=dict)
    arrivals: int = 0
    _decided: dict[tuple[int, Numbers, tuple[Values, ...]], list[tuple[Numbers, Numbers]]] = field(default_factory=dict)
    _true: dict[tuple[Numbers, Numbers, Missing], tuple[Values, ...]] = field(default_factory=dict)
    _said: dict[tuple[Values, ...], tuple[Values, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _no_less_than_nought([self.plan[name] for name in self.plan if name != "rows"])
        # A delay that nothing counts has the counter -1.
        uncounted = {"is": "Delayed", "automaton": -1}
        _no_less_than_nought([{**row, "automaton": 0} if row | uncounted == row else row for row in self.plan["rows"]])
        for level in self.plan["levels"]:
            lows = level["pieces"]
            if lows[0] != 0 or lows != sorted(set(lows)) or lows[-1] > level["most"]:
                raise Refused(f"the pieces of {level['name']} do not cover it")

    def add_rate(self, level: int, kinds: Numbers, strip: int, low: int, high: int) -> None:
        """Take a rate into the tables."""
        table = self.plan["levels"][level]
        known = [(0, *self.plan["actors"][actor]["kinds"]) for actor in table["near"]]
        if strip not in table["strips"] or not all(kind in of for kind, of in zip(kinds, known, strict=True)):
            raise Refused(f"there is a rate of {table['name']} for gates {kinds} in strip {strip}, which cannot be")
        if not low <= high:
            raise Refused(f"{table['name']} gains at least {low} and at most {high} mL")
        self.rates[level, kinds, strip] = low, high

    def add_box(self, key: Key, box: Box) -> None:
        """Take a box into the set."""
        _no_less_than_nought([*key, *box])
        if key in self.boxes:
            raise Refused(f"two boxes are of the same states and pieces: {self.told(key)}")
        for at, (piece, (low, high)) in enumerate(zip(key[2], box, strict=True)):
            first, last = self.ends(at, piece)
            if not first <= low <= high <= last:
                raise Refused(f"a box lies outside its pieces: {self.told(key)}, {low} to {high} mL")
        self.boxes[key] = box

    def follow_all(self) -> int:
        """Check everything; the number of boxes that were taken a scan further."""
        for actor in range(len(self.plan["actors"])):
            self.check_outdoing(actor)
        self.check_starts()
        return sum(self.follow(key, box) for key, box in self.boxes.items())

    # --- what outdoes what ------------------------------------------------------------------------------

    def check_outdoing(self, actor: int) -> None:
        """Whether each state that stands for another of the same gate outdoes it."""
        gate, place = self.plan["actors"][actor], len(self.plan["deciders"]) + actor
        first, kinds, moves = gate["first"], gate["kinds"], gate["moves"]
        states = range(len(kinds))
        if all(first[s] == s for s in states):
            return
        shown = [row["masks"] for row in self.plan["rows"] if row["is"] == "ByState" and row["automaton"] == place]
        told = [row["masks"] for row in self.plan["rows"] if row["is"] == "Delayed" and row["automaton"] == place]
        outdone = {
            (s, r)
            for s, r in product(states, repeat=2)
            if kinds[s] <= kinds[r]
            and all(masks[s] & ~masks[r] == 0 for masks in shown)
            and all(masks[s] == masks[r] for masks in told)
        }
        while True:
            left = {
                (s, r)
                for s, r in outdone
                if all(any((a, b) in outdone for b in moves[r][way]) for way in range(3) for a in moves[s][way])
            }
            if left == outdone:
                break
            outdone = left
        for s in states:
            if (s, first[s]) not in outdone or first[first[s]] != first[s]:
                raise Refused(f"state {first[s]} of {gate['name']} does not outdo its state {s}")
        self.check_rates_rise(actor, {(kinds[s], kinds[r]) for s, r in outdone})

    def check_rates_rise(self, actor: int, pairs: set[tuple[int, int]]) -> None:
        """Whether a gate in a kind of a state that outdoes another lets pass all that the other's kind does."""
        name = self.plan["actors"][actor]["name"]
        for (level, kinds, strip), (low, high) in self.rates.items():
            near = self.plan["levels"][level]["near"]
            if actor in near:
                at = near.index(actor)
                for less in (one for one, more in sorted(pairs) if more == kinds[at] != one):
                    least, most = self.rate(level, (*kinds[:at], less, *kinds[at + 1 :]), strip)
                    if least < low or most > high:
                        raise Refused(f"{name} lets pass more in kind {less} than in {kinds[at]}")

    # --- the set ----------------------------------------------------------------------------------------

    def check_starts(self) -> None:
        """Whether the set holds everything that may be at the start."""
        automata = (*self.plan["deciders"], *self.plan["actors"])
        box = tuple((level["start"][0], level["start"][1]) for level in self.plan["levels"])
        if not all(one["starts"] for one in automata) or any(low > high for low, high in box):
            raise Refused("nothing can start")
        for states in product(*(one["starts"] for one in automata)):
            for pieces in self.pieces(box):
                self.look_for((0 if self.plan["watched"] else READY, states, pieces), self.part(box, pieces), None)

    def look_for(self, key: Key, part: Box, source: tuple[Key, Box] | None) -> None:
        """Whether the set holds a box, which comes from another or is at the start."""
        self.arrivals += 1
        if not self.holds(key, part) and not any(self.holds(other, part) for other in self.others(key)):
            whence = self.told(*source) if source else "the start"
            raise Refused(f"the set does not hold {self.told(key, part)}, which comes from {whence}")

    def part(self, box: Box, pieces: Numbers) -> Box:
        """What of a box lies in some pieces."""
        ends = (self.ends(at, piece) for at, piece in enumerate(pieces))
        return tuple((max(low, first), min(high, last)) for (low, high), (first, last) in zip(box, ends, strict=True))

    def holds(self, key: Key, box: Box) -> bool:
        """Whether the box of these states and pieces contains another."""
        own = self.boxes.get(key)
        return own is not None and all(
            mine[0] <= low and high <= mine[1] for mine, (low, high) in zip(own, box, strict=True)
        )

    def others(self, key: Key) -> Iterator[Key]:
        """The same states and pieces, with any of the gates in states that outdo theirs."""
        flags, states, pieces = key
        deciders = len(self.plan["deciders"])
        better = (
            dict.fromkeys((s, g["first"][s])) for s, g in zip(states[deciders:], self.plan["actors"], strict=True)
        )
        for gates in product(*better):
            if gates != states[deciders:]:
                yield flags, (*states[:deciders], *gates), pieces

    def follow(self, key: Key, box: Box) -> bool:
        """Take a box one scan further in every way; False where another one holds it."""
        if any(self.holds(other, box) for other in self.others(key)):
            return False
        flags, states, pieces = key
        for begun in self.anew(states):
            self.look_for((0, begun, pieces), box, (key, box))
        after = self.flow(states, pieces, box)
        during = tuple((min(a[0], b[0]), max(a[1], b[1])) for a, b in zip(box, after, strict=True))
        for where in self.pieces(during):
            if TRUE in self.values(states, where)[self.plan["harm"]]:
                raise Refused(f"the harm may be, a scan from {self.told(key, box)}")
        for where in self.pieces(after):
            part = self.part(after, where)
            for then, to in self.scan(flags, states, where):
                self.look_for((then, to, where), part, (key, box))
        return True

    def flow(self, states: Numbers, pieces: Numbers, box: Box) -> Box:
        """What the volumes may be one scan later."""
        gates = states[len(self.plan["deciders"]) :]
        kinds = []
        for gate, state in zip(self.plan["actors"], gates, strict=True):
            wired = gate["wire"] is None or gate["wire"][1] <= pieces[gate["wire"][0]] <= gate["wire"][2]
            kinds.append(gate["kinds"][state] if wired else 0)
        after = []
        for at, (level, piece, (low, high)) in enumerate(zip(self.plan["levels"], pieces, box, strict=True)):
            least, most = self.rate(at, tuple(kinds[gate] for gate in level["near"]), level["strips"][piece])
            brim = level["most"]
            after.append((min(max(low + least, 0), brim), min(max(high + most, 0), brim)))
        return tuple(after)

    def rate(self, level: int, kinds: Numbers, strip: int) -> tuple[int, int]:
        """Least and greatest gain of a level in one scan [mL]."""
        if (level, kinds, strip) not in self.rates:
            raise Refused(f"there is no rate of {self.plan['levels'][level]['name']}, gates {kinds}, strip {strip}")
        return self.rates[level, kinds, strip]

    def ends(self, level: int, piece: int) -> tuple[int, int]:
        """First and last volume of a piece [mL]."""
        table = self.plan["levels"][level]
        lows = (*table["pieces"], table["most"] + 1)
        return lows[piece], lows[piece + 1] - 1

    def pieces(self, box: Box) -> Iterator[Numbers]:
        """All pieces that a box lies in."""
        inside = []
        for at, (low, high) in enumerate(box):
            ends = [self.ends(at, piece) for piece in range(len(self.plan["levels"][at]["pieces"]))]
            inside.append([piece for piece, (first, last) in enumerate(ends) if first <= high and last >= low])
        return product(*inside)

    # --- one scan ---------------------------------------------------------------------------------------

    def scan(self, flags: int, states: Numbers, pieces: Numbers) -> Iterator[tuple[int, Numbers]]:
        """Flags and states after a scan in which the volumes lie in these pieces."""
        plan, count = self.plan, len(self.plan["deciders"])
        own, gates = states[:count], states[count:]
        ready = flags & READY or not plan["watched"]
        for missing in product((False, True), repeat=self.senders):
            values = self.values(states, pieces, missing)
            if not ready:
                for then, asked in self.waited(own, values):
                    yield from self.acted(flags, then, gates, asked)
            if (ready, own, values) not in self._decided:
                self._decided[ready, own, values] = list(dict.fromkeys(self.decided(bool(ready), own, values)))
            for then, asked in self._decided[ready, own, values]:
                yield from self.acted(flags | READY, then, gates, asked)

    def anew(self, states: Numbers) -> Iterator[Numbers]:
        """All states when the law starts anew, which takes no time; links and what lasts know nothing of it."""
        if self.plan["restarts"]:
            deciders, count = self.plan["deciders"], len(self.plan["deciders"])
            begun = (
                (state,) if decider["drives"] in (LINK, LASTS) else decider["starts"]
                for decider, state in zip(deciders, states[:count], strict=True)
            )
            gates = zip(self.plan["actors"], states[count:], strict=True)
            yield from product(*begun, *(gate["moves"][state][ANEW] for gate, state in gates))

    def decided(self, ready: bool, own: Numbers, values: Sequence[Values]) -> Iterator[tuple[Numbers, Numbers]]:
        """States of the deciders after they have moved, with what is then asked of each output."""
        deciders, outputs = self.plan["deciders"], self.plan["outputs"]
        ways = [self.ways(decider, state, values) for decider, state in zip(deciders, own, strict=True)]
        for picked in product(*ways):
            wished = self.wished(picked)
            for free in product(*((None, *output["free"]) for output in outputs)):
                asked = [
                    _joint([*wishes, *([] if one is None else [one])], output["safe"])
                    for wishes, one, output in zip(wished, free, outputs, strict=True)
                ]
                self.drive(INTERLOCK, picked, asked)
                moved = zip(deciders, own, picked, strict=True)
                then = tuple(self.settled(*each, asked, ready) for each in moved)
                self.drive(LINK, picked, asked)
                yield then, tuple(asked)

    def waited(self, own: Numbers, values: Sequence[Values]) -> Iterator[tuple[Numbers, Numbers]]:
        """The same while the law is not ready: its sequences and interlocks wait, and everything is to be safe."""
        ways = [
            [state] if decider["drives"] in (SEQUENCE, INTERLOCK) else self.ways(decider, state, values)
            for decider, state in zip(self.plan["deciders"], own, strict=True)
        ]
        for picked in product(*ways):
            asked = [output["safe"] for output in self.plan["outputs"]]
            self.drive(LINK, picked, asked)
            yield picked, tuple(asked)

    @staticmethod
    def ways(decider: dict[str, Any], state: int, values: Sequence[Values]) -> list[int]:
        """Where a decider may go."""
        moves = [
            move["to"]
            for move in decider["moves"][state]
            if all(any(mask >> value & 1 for value in values[row]) for row, mask in move["needs"])
        ]
        if not moves:
            raise Refused(f"{decider['name']} has no way to go from its state {state}")
        return list(dict.fromkeys(moves))

    def wished(self, picked: Numbers) -> list[list[int]]:
        """What the sequences wish of each output."""
        wished: list[list[int]] = [[] for _ in self.plan["outputs"]]
        for decider, state in zip(self.plan["deciders"], picked, strict=True):
            for output, value in decider["wishes"][state] if decider["drives"] == SEQUENCE else ():
                wished[output].append(value)
        return wished

    def drive(self, kind: int, picked: Numbers, asked: list[int]) -> None:
        """Let the deciders of a kind have what they wish, the last one winning."""
        for decider, state in zip(self.plan["deciders"], picked, strict=True):
            for output, value in decider["wishes"][state] if decider["drives"] == kind else ():
                asked[output] = value

    @staticmethod
    def settled(decider: dict[str, Any], before: int, then: int, asked: Sequence[int], ready: bool) -> int:
        """Where a decider ends that moved: turned by a wish not granted; an interlock stands until the law acts."""
        if decider["drives"] == INTERLOCK:
            return then if ready else before
        granted = all(asked[output] == value for output, value in decider["wishes"][then])
        return then if granted else int(decider["turned"][then])

    def acted(self, flags: int, deciders: Numbers, gates: Numbers, asked: Numbers) -> Iterator[tuple[int, Numbers]]:
        """All states after the gates have followed what is asked of them."""
        demand = dict.fromkeys(range(len(gates)), SHUT)
        demand |= {output["actor"]: value for output, value in zip(self.plan["outputs"], asked, strict=True)}
        moves = (gate["moves"][state] for gate, state in zip(self.plan["actors"], gates, strict=True))
        for then in product(*(ways[demand[at]] for at, ways in enumerate(moves))):
            yield flags, (*deciders, *then)

    # --- rows -------------------------------------------------------------------------------------------

    @property
    def senders(self) -> int:
        """So many senders are read."""
        return 1 + max((row["sender"] for row in self.plan["rows"] if row["is"] == "Read"), default=-1)

    def values(self, states: Numbers, pieces: Numbers, missing: Missing = None) -> tuple[Values, ...]:
        """What each row may be, while these senders are missing."""
        if (states, pieces, missing) not in self._true:
            values: list[Values] = []
            for row in self.plan["rows"]:
                bits = 0
                for one in _value(row, values, states, pieces, missing):
                    bits |= 1 << one
                value = SETS[bits]
                if not value:
                    raise Refused(f"row {len(values)} is nothing at all")
                values.append(value)
            # Many states say the same: it is kept once.
            said = tuple(values)
            self._true[states, pieces, missing] = self._said.setdefault(said, said)
        return self._true[states, pieces, missing]

    def told(self, key: Key, box: Box = ()) -> str:
        """States and volumes for people."""
        automata = (*self.plan["deciders"], *self.plan["actors"])
        said = [f"{one['name']} {state}" for one, state in zip(automata, key[1], strict=True)]
        levels = zip(self.plan["levels"], box, strict=False)
        return ", ".join([*said, *(f"{level['name']} {low} to {high} mL" for level, (low, high) in levels)])


def _value(
    row: dict[str, Any], values: Sequence[Values], states: Numbers, pieces: Numbers, missing: Missing
) -> Iterable[int]:
    """What one row may be, those before it known."""
    match row:
        case {"is": "Known", "mask": mask}:
            return _of(mask)
        case {"is": "ByPiece", "level": level, "masks": masks}:
            return _of(masks[pieces[level]])
        case {"is": "Read", "level": level, "masks": masks, "sender": sender, "unread": unread}:
            if missing is None:
                return {*_of(masks[pieces[level]]), *_of(unread)}
            return _of(unread) if missing[sender] else _of(masks[pieces[level]])
        case {"is": "ByState", "automaton": automaton, "masks": masks}:
            return _of(masks[states[automaton]])
        case {"is": "Both", "left": left, "right": right}:
            return map(min, product(values[left], values[right]))
        case {"is": "Either", "left": left, "right": right}:
            return map(max, product(values[left], values[right]))
        case {"is": "Not", "row": inner}:
            return (TRUE - value for value in values[inner])
        case {"is": "Delayed", "row": inner, "automaton": automaton, "masks": masks}:
            done = masks[states[automaton]] if automaton >= 0 else 2
            early = {0} if done != 1 and TRUE in values[inner] else set[int]()
            return early | {value for value in values[inner] if value != TRUE or done}
        case _:
            raise Refused(f"there is no row of the kind {row['is']}")


def _of(mask: int) -> Values:
    return SETS[mask]


def _joint(wishes: Sequence[int], safe: int) -> int:
    """What is asked of an output by several: what is safe where they do not agree, or nobody wishes anything."""
    return wishes[0] if len(set(wishes)) == 1 else safe


def _no_less_than_nought(content: object) -> None:
    """Refuse numbers below nought: as places in a table they would count from its end."""
    if isinstance(content, dict):
        content = list(content.values())
    if isinstance(content, list | tuple):
        for one in content:
            _no_less_than_nought(one)
    elif isinstance(content, float) or (isinstance(content, int) and content < 0):
        raise Refused(f"it has the number {content} where only a whole one from nought up can stand")
