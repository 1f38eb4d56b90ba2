"""The shipped rigs with one design error each, of the kinds that people make; and the harm that it lets in."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import yaml

from tests.shipped import EXAMPLES
from ullage.control.check import Examined, examine
from ullage.rig.law import scope_of
from ullage.rig.meaning import Statement
from ullage.rig.statements import read_statement
from ullage.rig.text import read_tree

Tree = dict[str, Any]
Change = Callable[[Tree], None]


@dataclass(frozen=True, slots=True)
class Wrong:
    """A design error.

    Attributes
    ----------
    rig : str
        The shipped rig it is made in.
    what : str
        What was done.
    change : callable
        Does it to the tree of the rig file.
    harm : str
        What it lets in.
    faults : tuple of str
        What has to go wrong besides.
    """

    rig: str
    what: str
    change: Change
    harm: str
    faults: tuple[str, ...] = ()


def without_interlock(*names: str) -> Change:
    """Interlocks left out, with what is said of them."""

    def change(tree: Tree) -> None:
        for name in names:
            del tree["interlocks"][name]
            tree["never"] = [line for line in tree["never"] if f"{name} trips" not in str(line)]

    return change


def interlock(name: str, **written: object) -> Change:
    """Another condition for an interlock."""

    def change(tree: Tree) -> None:
        tree["interlocks"][name].update(written)

    return change


def transition(sequence: str, begin: str, guard: str) -> Change:
    """Another guard for all transitions that begin so; "" leaves them out."""

    def change(tree: Tree) -> None:
        lines = tree["sequences"][sequence]["transitions"]
        rest = [line for line in lines if not line.startswith(begin)]
        assert len(rest) < len(lines), f"{sequence} has no transition {begin}"
        tree["sequences"][sequence]["transitions"] = [*rest, f"{begin} when {guard}"] if guard else rest

    return change


def deaf(sequence: str, begin: str, *words: str) -> Change:
    """A transition that begins so, without the parts of its guard that look at something; an hour ends it besides."""

    def change(tree: Tree) -> None:
        lines = tree["sequences"][sequence]["transitions"]
        at = next(i for i, line in enumerate(lines) if line.startswith(begin))
        arrow, _, guard = lines[at].partition(" when ")
        parts = [part for part in alternatives(guard) if not any(word in part for word in words)]
        lines[at] = f"{arrow} when {' or '.join([*parts, '(since step 60 min)'])}"

    return change


def alternatives(guard: str) -> list[str]:
    """The parts of a guard that ``or`` joins, each in its parentheses."""
    parts, depth = [""], 0
    for word in re.split(r"(\(|\)| or )", guard):
        depth += (word == "(") - (word == ")")
        if word == " or " and depth == 0:
            parts.append("")
        else:
            parts[-1] += word
    return parts


def unwired(pump: str) -> Change:
    """No float in the wire of a pump, where there is one."""

    def change(tree: Tree) -> None:
        tree["pumps"][pump].pop("wired", None)

    return change


def permit(sequence: str, guard: str) -> Change:
    """Another permissive."""

    def change(tree: Tree) -> None:
        tree["sequences"][sequence]["permit"] = guard

    return change


def motor(valve: str, **written: object) -> Change:
    """Another motor."""

    def change(tree: Tree) -> None:
        tree["valves"][valve]["motor"].update(written)

    return change


def both(*changes: Change) -> Change:
    """Several changes at once: one error that was made wherever it could be."""

    def change(tree: Tree) -> None:
        for one in changes:
            one(tree)

    return change


@cache
def tree_of(rig: str) -> str:
    """The text of a shipped rig."""
    return (EXAMPLES / "rigs" / f"{rig}.yaml").read_text("utf8")


def changed(rig: str, change: Change | None = None) -> Examined:
    """A shipped rig with a change, examined; it can still be compiled."""
    tree, _, _ = read_tree(tree_of(rig), f"{rig}.yaml")
    if change is not None:
        change(tree)
    examined = examine(yaml.safe_dump(tree, sort_keys=False, allow_unicode=True, width=10_000), f"{rig}.yaml")
    assert examined.program is not None, examined.stands
    return examined


def statement_of(text: str, examined: Examined) -> Statement:
    """A statement about a rig."""
    assert examined.rig is not None
    scope = scope_of(examined.rig, examined.places)
    found = read_statement(text, examined.rig, scope, ())
    assert found is not None, scope.findings
    return found


WRONG: tuple[Wrong, ...] = (
    Wrong(
        "marram",
        "the fill looks at no float, and nothing trips above",
        both(
            without_interlock("belly_high"),
            deaf("fill", "filling -> closing", "belly_float"),
            permit("fill", "belly_level < target - 2 %"),
        ),
        "belly reaches its overflow",
        ("belly_level stuck",),
    ),
    Wrong(
        "marram",
        "the high interlock looks at the wrong tank, the fill at no float",
        both(
            interlock("belly_high", when="loft_level > 94 %"),
            deaf("fill", "filling -> closing", "belly_float"),
        ),
        "belly reaches its overflow",
        ("belly_level stuck",),
    ),
    Wrong(
        "marram",
        "the fill waits for its time-out alone, and nothing trips above",
        both(
            without_interlock("belly_full", "belly_high"), transition("fill", "filling -> closing", "since step 60 min")
        ),
        "belly reaches its overflow",
    ),
    Wrong(
        "marram",
        "a slowly charged store in place of a spring",
        motor("shore_guard", without_power="stored charge closed", charge_time="5 min"),
        "belly reaches its overflow",
        ("power lost",),
    ),
    Wrong(
        "marram",
        "nothing stops the pump at an empty tank",
        both(without_interlock("belly_low"), unwired("water_pump"), deaf("tap_water", "on -> off", "belly_level")),
        "water_pump runs dry",
    ),
    Wrong(
        "marram",
        "taps run whatever gray holds",
        both(
            without_interlock("gray_high"),
            deaf("tap_water", "on -> off", "gray_level"),
        ),
        "gray reaches its overflow",
    ),
    Wrong(
        "marram",
        "an interlock that stops the pump when the tank is full",
        both(
            interlock("belly_low", when="belly_level > 97 %", until="belly_level < 90 %"),
            unwired("water_pump"),
            deaf("tap_water", "on -> off", "belly_level"),
        ),
        "water_pump runs dry",
    ),
    Wrong(
        "marram",
        "the lift goes on until its time-out",
        both(without_interlock("loft_high"), transition("lift_up", "lifting -> closing", "since step 60 min")),
        "loft reaches its overflow",
    ),
    Wrong(
        "crumb",
        "the float of the other tank, and a fill that looks at none",
        both(
            interlock("drum_high", when="sump_float or (drum_level > 96 %)"),
            deaf("fill", "filling -> closing", "drum_float"),
        ),
        "drum reaches its overflow",
        ("drum_level stuck",),
    ),
    Wrong(
        "crumb",
        "taps run whatever the sump holds",
        both(without_interlock("sump_high"), deaf("taps", "on -> off", "sump_level")),
        "sump reaches its overflow",
    ),
    Wrong(
        "crumb",
        "the low interlock is late and the sequence does not look",
        both(
            interlock("drum_low", when="(drum_level < 6 %) held 10 min"),
            deaf("taps", "on -> off", "drum_level"),
        ),
        "pump runs dry",
    ),
    Wrong(
        "bothy",
        "nothing looks at the float of the cistern",
        both(
            interlock("cistern_high", when="cistern_level > 99 %"),
            permit("lift", "drum_level > 30 %"),
            deaf("lift", "lifting -> lifted", "cistern_float"),
        ),
        "cistern reaches its overflow",
        ("cistern_level stuck",),
    ),
    Wrong(
        "bothy",
        "the pump runs until the sun goes",
        both(
            unwired("sun_pump"),
            without_interlock("drum_low"),
            deaf("lift", "lifting -> lifted", "drum_level", "cistern_level"),
        ),
        "sun_pump runs dry",
        ("spring_valve stuck",),
    ),
    Wrong(
        "turnstone",
        "limits that wait ten minutes before they act",
        both(
            interlock("tank_low", when="(tank_level < 8 %) held 10 min"),
            transition("water", "low -> off", "(tank_level < 11 %) held 10 min"),
        ),
        "tap_pump runs dry",
    ),
)
"""At least a dozen of them."""
