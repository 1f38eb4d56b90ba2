"""Changes of a rig file that may hold a harm off, the smallest first, each made in the tree of the file.

A threshold or a target moved, a time-out shortened, a condition to let go added, one thing more
that an interlock stops, a float added to its condition, a valve that closes by its spring, an
interlock where there was none.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import permutations
from typing import Any

from ullage.prove.harms import AtLeast, Harm, Passing, leaves
from ullage.rig.model import Rig

MOVES = (3, 6, 9, 12)
"""A threshold or a target is moved by so many hundredths of its tank."""

UNDER = 0.03
"""A new float hangs so far under the overflow [m]: common practice, no source."""

Tree = dict[str, Any]

_THRESHOLD = re.compile(r"\b(\w+) (<=?|>=?) (\d+(?:\.\d+)?) %")
_TIME_OUT = re.compile(r"\bsince step (\d+(?:\.\d+)?) (s|min|h)\b")


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a rig file.

    Attributes
    ----------
    words : str
        What it is.
    make : callable
        Makes it in the tree of the file.
    of_sequence : bool
        Whether it changes a sequence, so that it may show only where the sequences are followed.
    """

    words: str
    make: Callable[[Tree], None]
    of_sequence: bool = False


def changes(tree: Tree, rig: Rig, harm: Harm) -> Iterator[Change]:
    """Changes that may help against a harm, the smallest first."""
    tanks = list(dict.fromkeys(part.tank for part in leaves(harm.tree) if isinstance(part, AtLeast)))
    gates = list(dict.fromkeys(part.gate for part in leaves(harm.tree) if isinstance(part, Passing)))
    senders = [name for name, sender in rig.senders.items() if sender.on in tanks]
    yield from _thresholds(tree, senders, tanks, harm.falls)
    yield from _targets(tree, tanks)
    yield from _time_outs(tree, senders)
    yield from _letting_go(tree, senders)
    yield from _driving_more(tree, rig, tanks, gates, senders)
    if not harm.falls:
        for tank in tanks:
            yield from _floats(tree, rig, tank)
    yield from _springs(tree, rig, tanks, gates)
    yield from _apart(tree, rig, gates)


def _thresholds(tree: Tree, senders: list[str], tanks: list[str], falls: bool) -> Iterator[Change]:
    """Let an interlock act sooner, and what is asked for keep its distance."""
    for by in MOVES:
        for name, lock in (tree.get("interlocks") or {}).items():
            for found in _THRESHOLD.finditer(str(lock.get("when", ""))):
                sender, order, figure = found.groups()
                if sender in senders and order[0] == ("<" if falls else ">"):
                    level = float(figure) + (by if falls else -by)
                    words = f"let {name} act at '{sender} {order} {level:g} %' instead of {figure} %"
                    move = _moved_threshold(name, found, level, by if falls else -by)
                    yield Change(words, move)
                    targets = [] if falls else list(_targets_by(tree, tanks, by))
                    if targets:
                        both = f"{words}, and {' and '.join(one.words for one in targets)}"
                        yield Change(both, _all(move, targets), of_sequence=True)


def _all(move: Callable[[Tree], None], others: list[Change]) -> Callable[[Tree], None]:
    def make(tree: Tree) -> None:
        for one in (move, *(other.make for other in others)):
            one(tree)

    return make


def _moved_threshold(name: str, found: re.Match[str], level: float, by: float) -> Callable[[Tree], None]:
    def make(tree: Tree) -> None:
        lock = tree["interlocks"][name]
        text = str(lock["when"])
        lock["when"] = f"{text[: found.start(3)]}{level:g}{text[found.end(3) :]}"
        if "until" in lock:
            lock["until"] = _THRESHOLD.sub(lambda m: f"{m[1]} {m[2]} {float(m[3]) + by:g} %", str(lock["until"]))

    return make


def _targets(tree: Tree, tanks: list[str]) -> Iterator[Change]:
    """Let a sequence be asked for less."""
    for by in MOVES:
        yield from _targets_by(tree, tanks, by)


def _targets_by(tree: Tree, tanks: list[str], by: float) -> Iterator[Change]:
    for name, sequence in (tree.get("sequences") or {}).items():
        for parameter, bounds in (sequence.get("parameters") or {}).items():
            most = re.fullmatch(r"(\d+(?:\.\d+)?) %", str(bounds.get("most", "")))
            if bounds.get("of") in tanks and most:
                level = float(most[1]) - by
                words = f"let {parameter} of {name} be at most {level:g} % instead of {most[1]} %"
                yield Change(words, _moved_target(name, parameter, level), of_sequence=True)


def _moved_target(name: str, parameter: str, level: float) -> Callable[[Tree], None]:
    def make(tree: Tree) -> None:
        bounds = tree["sequences"][name]["parameters"][parameter]
        bounds["most"] = f"{level:g} %"
        usual = re.fullmatch(r"(\d+(?:\.\d+)?) %", str(bounds.get("default", "")))
        if usual and float(usual[1]) > level:
            bounds["default"] = f"{level:g} %"

    return make


def _time_outs(tree: Tree, senders: list[str]) -> Iterator[Change]:
    """Let a step that waits for a level be given up sooner."""
    for part in (2, 4):
        for name, sequence in (tree.get("sequences") or {}).items():
            for row, arrow in enumerate(sequence.get("transitions") or ()):
                found = _TIME_OUT.search(str(arrow))
                if found and any(sender in str(sequence.get("transitions")) for sender in senders):
                    time = float(found[1]) / part
                    words = f"let {name} wait {time:g} {found[2]} instead of {found[1]} {found[2]} in '{arrow}'"
                    yield Change(words, _shortened(name, row, found, time), of_sequence=True)


def _shortened(name: str, row: int, found: re.Match[str], time: float) -> Callable[[Tree], None]:
    def make(tree: Tree) -> None:
        arrows = tree["sequences"][name]["transitions"]
        text = str(arrows[row])
        arrows[row] = f"{text[: found.start(1)]}{time:g}{text[found.end(1) :]}"

    return make


def _letting_go(tree: Tree, senders: list[str]) -> Iterator[Change]:
    """Let an interlock let go later than it acts."""
    for name, lock in (tree.get("interlocks") or {}).items():
        found = _THRESHOLD.fullmatch(str(lock.get("when", "")))
        if found and found[1] in senders and "until" not in lock:
            back = float(found[3]) + (5 if found[2][0] == "<" else -5)
            text = f"{found[1]} {'>' if found[2][0] == '<' else '<'} {back:g} %"

            def make(tree: Tree, name: str = name, text: str = text) -> None:
                tree["interlocks"][name]["until"] = text

            yield Change(f"let {name} act until '{text}'", make)


def _driving_more(tree: Tree, rig: Rig, tanks: list[str], gates: list[str], senders: list[str]) -> Iterator[Change]:
    """Let an interlock stop what else moves its tank: the pump behind a valve that may hang open."""
    near = {part: "closed" for part in gates if part in rig.valves} | {
        part: "off" for part in gates if part in rig.pumps
    }
    for tank in tanks:
        near |= _inlets(rig, tank)
    for name, pump in rig.pumps.items():
        if pump.board is not None:
            near[name] = "off"
    for name, lock in (tree.get("interlocks") or {}).items():
        if any(sender in str(lock.get("when", "")) for sender in senders):
            for part in [part for part in near if part not in (lock.get("drive") or {})]:

                def make(tree: Tree, name: str = name, part: str = part) -> None:
                    tree["interlocks"][name]["drive"][part] = near[part]

                yield Change(f"let {name} drive {part} {near[part]} too", make)


def _floats(tree: Tree, rig: Rig, tank: str) -> Iterator[Change]:
    """Let a float act beside a sender: one that hangs there already, or a new one under the overflow."""
    floats = [name for name, one in rig.floats.items() if one.on == tank]
    part = rig.tanks[tank]
    new = f"{tank}_high_float"
    hangs = (part.overflow.at if part.overflow else 0.1) - UNDER
    senders = [name for name, sender in rig.senders.items() if sender.on == tank]
    guards = {name: str(lock.get("when", "")) for name, lock in (tree.get("interlocks") or {}).items()}
    locks = [(name, when) for name, when in guards.items() if any(sender in when for sender in senders)]
    for name, when in locks:
        for switch in [one for one in floats if one not in when] or ([new] if not floats else []):
            where = f", a new float of {tank} at {1000 * hangs:.0f} mm," if switch == new else ""
            yield Change(f"let {switch}{where} trip {name} too", _with_float(tank, name, switch, hangs))
    if not locks:
        drives = _inlets(rig, tank)
        if drives:
            switch = floats[0] if floats else new
            words = f"add an interlock that stops {' and '.join(drives)} when {switch} is wet"
            yield Change(words, _with_lock(tank, switch, hangs, drives))


def _with_float(tank: str, lock: str, switch: str, hangs: float) -> Callable[[Tree], None]:
    def make(tree: Tree) -> None:
        _hang(tree, tank, switch, hangs)
        tree["interlocks"][lock]["when"] = f"{switch} or ({tree['interlocks'][lock]['when']})"

    return make


def _with_lock(tank: str, switch: str, hangs: float, drives: dict[str, str]) -> Callable[[Tree], None]:
    def make(tree: Tree) -> None:
        _hang(tree, tank, switch, hangs)
        tree.setdefault("interlocks", {})[f"{tank}_too_high"] = {
            "when": switch,
            "drive": dict(drives),
            "latch": True,
            "why": "Above this only the overflow is left.",
        }

    return make


def _hang(tree: Tree, tank: str, switch: str, hangs: float) -> None:
    """Hang a new float into a tank."""
    floats = tree.setdefault("floats", {})
    if switch not in floats:
        boards = [sender.get("board") for sender in (tree.get("senders") or {}).values() if sender.get("on") == tank]
        floats[switch] = {"on": tank, "at": f"{1000 * hangs:.0f} mm", "every": "0.5 s", "stale": "3 s"}
        if boards and boards[0]:
            floats[switch]["board"] = boards[0]


def _inlets(rig: Rig, tank: str) -> dict[str, str]:
    """Motor valves and pumps in the lines that lead into a tank, each with what stops it."""
    return {
        part: "closed" if part in rig.valves else "off"
        for line in rig.lines
        if line.end.partition(".")[0] == tank
        for part in line.through
        if (part in rig.valves and rig.valves[part].motor is not None) or (part in rig.pumps and rig.pumps[part].board)
    }


def _springs(tree: Tree, rig: Rig, tanks: list[str], gates: list[str]) -> Iterator[Change]:
    """Let a valve close by its spring when its power goes."""
    near = [*gates, *(part for tank in tanks for part in _inlets(rig, tank))]
    for name, valve in rig.valves.items():
        if name in near and valve.motor is not None and valve.motor.without_power in (None, "stays"):

            def make(tree: Tree, name: str = name) -> None:
                tree["valves"][name]["motor"]["without_power"] = "spring closed"

            yield Change(f"take a valve for {name} that closes by its spring without power", make)


def _apart(tree: Tree, rig: Rig, gates: list[str]) -> Iterator[Change]:
    """Let one valve be closed while another is not."""
    for one, other in permutations([name for name in gates if name in rig.valves], 2):
        name = f"{other}_apart"
        together = any({one, other} <= set(line.through) for line in rig.lines)
        if name not in (tree.get("interlocks") or {}) and not together:

            def make(tree: Tree, name: str = name, one: str = one, other: str = other) -> None:
                tree.setdefault("interlocks", {})[name] = {
                    "when": f"not ({one} is closed)",
                    "drive": {other: "closed"},
                    "why": "The two are never open at once.",
                }

            yield Change(f"add an interlock that closes {other} when {one} is not closed", make)
