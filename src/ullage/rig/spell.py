"""Write a resolved condition as text again, in the language of the rig file."""

from __future__ import annotations

from ullage.quantities import from_si
from ullage.rig import meaning
from ullage.rig.meaning import Condition

UNITS = {
    "volume": "L",
    "flow": "L/min",
    "pressure": "bar",
    "current": "A",
    "voltage": "V",
    "time": "s",
    "fraction": "%",
}
"""Unit in which each dimension is written."""


def spell(condition: Condition) -> str:
    """The condition in words of the guard language, quantities in the unit of `UNITS`."""
    match condition:
        case meaning.All(parts):
            return " and ".join(map(_part, parts))
        case meaning.AnyOf(parts):
            return " or ".join(map(_part, parts))
        case meaning.Not(part):
            return f"not {_part(part)}"
        case meaning.Held(part, seconds):
            return f"{_part(part)} held {seconds:g} s"
        case meaning.Linear():
            return _comparison(condition)
        case meaning.Flag(symbol):
            return symbol.name
        case meaning.Good(symbol):
            return f"{symbol.name} is good"
        case meaning.Linked(board):
            return f"{board.name} is linked"
        case meaning.ValveIs(valve, word):
            return f"{valve.name} is {word}"
        case meaning.SequenceIs(sequence, word):
            return f"{sequence.name} is {word}"
        case meaning.AtStep(sequence, step):
            return f"{sequence.name} is at {step}"
        case meaning.SinceStep(seconds):
            return f"since step {seconds:g} s"
        case meaning.HandsetIs(attitude):
            return f"handset is {attitude}"


def _part(condition: Condition) -> str:
    plain = isinstance(condition, meaning.Flag)
    return spell(condition) if plain else f"({spell(condition)})"


def _comparison(condition: meaning.Linear) -> str:
    """Positive terms on the left, negative ones and the constant on the right."""
    left = [_term(c, s.name) for c, s in condition.terms if c > 0]
    right = [_term(-c, s.name) for c, s in condition.terms if c < 0]
    op: str = condition.op
    if not left:
        left, right = right, left
        op = {"<": ">", "<=": ">=", ">": "<", ">=": "<="}[op]
        constant = condition.constant
    else:
        constant = -condition.constant
    amount = round(from_si(constant, UNITS[condition.dimension]), 6)
    text = f"{abs(amount):g} {UNITS[condition.dimension]}"
    if not right:
        side = f"-{text}" if amount < 0 else text
    else:
        side = " + ".join(right) + ("" if amount == 0 else f" {'-' if amount < 0 else '+'} {text}")
    return f"{' + '.join(left)} {op} {side}"


def _term(coefficient: float, name: str) -> str:
    return name if coefficient == 1 else f"{coefficient:g} * {name}"
