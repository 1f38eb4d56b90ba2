"""Write a resolved condition or statement as text again, in the language of the rig file."""

from __future__ import annotations

from ullage.quantities import from_si, read
from ullage.rig import meaning
from ullage.rig.meaning import Condition, Statement
from ullage.rig.model import Rig
from ullage.rig.shapes import capacity

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


def spell_statement(statement: Statement, rig: Rig) -> str:
    """The sentence that says a statement; `statements.read_statement` reads it again (of a guard, six decimals)."""
    match statement:
        case meaning.Indoors():
            return "water indoors"
        case meaning.Spills(tank):
            return f"overflow of {tank}" if tank else "overflow"
        case meaning.Above(tank, volume):
            if rig.tanks[tank].overflow is not None and volume == capacity(rig.tanks[tank]):
                return f"{tank} reaches its overflow"
            return f"{tank} over {_volume(volume)}"
        case meaning.Below(tank, volume):
            return f"{tank} below {_volume(volume)}"
        case meaning.Dry(pump):
            return f"{pump} runs dry"
        case meaning.Trips(interlock):
            return f"{interlock} trips"
        case meaning.Reaches(sequence, step):
            return f"{sequence} reaches {step}"
        case meaning.Gives(source, volume, least):
            return f"{source} gives at {'least' if least else 'most'} {_volume(volume)}"
        case meaning.Holds(guard):
            return spell(guard)


def _volume(volume: float) -> str:
    """A volume [m3] that is read again to the last bit."""
    litres = f"{from_si(volume, 'L'):g} L"
    return litres if read(litres, "volume") == volume else f"{volume!r} m3"


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
