"""What a rig does by itself: its sequences, and the interlocks that win over them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from ullage.rig.part import Name, Part
from ullage.rig.ranges import Time

COMMANDS = ("start", "hold", "restart", "stop", "abort", "reset", "pause", "resume", "confirm")
"""What a person may command a sequence (ISA-88), and the held touch that confirms an armed start."""

GESTURES = COMMANDS[: COMMANDS.index("pause")]
"""Commands that a gesture may give."""

STORED = frozenset({"S", "SD", "DS", "SL"})
"""Qualifiers whose demand outlives its step, until an action with R resets it."""


class Parameter(Part):
    """A wish a person may set before a start; ``of`` names the tank that a percentage refers to."""

    default: str
    least: str
    most: str
    of: Name | None = None


class Action(Part):
    """What a step does to one output, with an IEC 61131-3 qualifier and its time."""

    demand: dict[Name, str]
    qualifier: Literal["N", "S", "R", "L", "D", "P", "P1", "P0", "SD", "DS", "SL"] = Field(default="N", alias="as")
    time: Time | None = None


class Step(Part):
    """A step: what it demands while active (qualifier N), further actions, what it says.

    A step that does nothing may be written as the one word ``initial`` or ``final``.
    """

    initial: bool = False
    final: bool = False
    demand: dict[Name, str] = {}
    actions: tuple[Action, ...] = ()
    says: Annotated[str, Field(max_length=200)] = ""

    @model_validator(mode="before")
    @classmethod
    def _one_word(cls, written: object) -> object:
        return {written: True} if written in ("initial", "final") else written


class Sequence(Part):
    """A sequential function chart with its permissives.

    ``permit`` must be true for start and restart, ``stay`` for going on (else hold).
    ``confirm`` asks for a person's held touch after a gesture or a remote start.
    ``begins`` starts it by itself when true. ``again`` says who resets it after completion.
    """

    why: str = ""
    parameters: dict[Name, Parameter] = {}
    permit: str | None = None
    stay: str | None = None
    begins: str | None = None
    confirm: bool = False
    again: Literal["person", "itself"] = "person"
    steps: dict[Name, Step]
    transitions: tuple[str, ...]


class Interlock(Part):
    """A condition that always wins over sequences; the higher ``priority`` wins among interlocks.

    ``alarm: false`` is for one that acts in ordinary use, such as a lock between two valves: it
    is told, but it does not call a person. One that has tripped acts on until ``until`` holds.
    """

    when: str
    until: str | None = None
    drive: dict[Name, str]
    latch: bool = False
    alarm: bool = True
    priority: Annotated[int, Field(ge=0, le=100)] | None = None
    why: str
