"""Can a guard be true, can it be false: held against trying many values."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ullage.quantities import Span
from ullage.rig.meaning import All, AnyOf, Condition, Flag, HandsetIs, Held, Linear, Not, SinceStep, Symbol, ValveIs
from ullage.rig.reason import atoms, can_be, readings

LEVEL = Symbol("level", "sender", "volume", "tank")
OTHER = Symbol("other", "sender", "volume", "tank")
WET = Symbol("wet", "float", tank="tank")
VALVE = Symbol("valve", "valve")
RANGES = {"level": Span(0.0, 4.0), "other": Span(0.0, 4.0)}


def over(bound: float) -> Linear:
    """Level over a bound."""
    return Linear(((1.0, LEVEL),), -bound, ">", "volume")


def under(bound: float) -> Linear:
    """Level not over a bound, written with the signs turned."""
    return Linear(((-2.0, LEVEL),), 2 * bound, ">=", "volume")


@pytest.mark.parametrize(
    ("guard", "can_be_true", "can_be_false"),
    [
        (over(4), False, True),
        (over(3.9), True, True),
        (over(-1), True, False),
        (Linear(((1.0, LEVEL),), 0.0, ">=", "volume"), True, False),
        (All((over(2), under(2))), False, True),
        (All((over(2), under(2.1))), True, True),
        (AnyOf((over(2), under(2))), True, False),
        (AnyOf((over(2.1), under(2))), True, True),
        (Linear(((1.0, LEVEL), (-1.0, OTHER)), -4.0, ">", "volume"), False, True),
        (Linear(((1.0, LEVEL), (-1.0, OTHER)), -4.0, ">=", "volume"), True, True),
        (All((Flag(WET), Not(Flag(WET)))), False, True),
        (All((ValveIs(VALVE, "open"), ValveIs(VALVE, "closed"))), False, True),
        (AnyOf((ValveIs(VALVE, "open"), ValveIs(VALVE, "closed"))), True, True),
        (All((HandsetIs("flat"), HandsetIs("docked"))), False, True),
        (Held(over(4), 3.0), False, True),
        (Held(over(-1), 3.0), True, True),
        (All((SinceStep(5.0), Not(SinceStep(5.0)))), False, True),
        (All((SinceStep(5.0), Not(SinceStep(9.0)))), True, True),
        (Not(All((over(2), under(2)))), True, False),
    ],
)
def test_true_and_false(guard: Condition, can_be_true: bool, can_be_false: bool) -> None:
    """A transition that can never fire leaves a valve open for ever; one that always fires opens it at once."""
    assert can_be(guard, True, RANGES) == can_be_true
    assert can_be(guard, False, RANGES) == can_be_false


def holds(guard: Condition, level: float, wet: bool, open_valve: bool) -> bool:
    """A guard for one set of values, the plain way."""
    match guard:
        case All(parts):
            return all(holds(part, level, wet, open_valve) for part in parts)
        case AnyOf(parts):
            return any(holds(part, level, wet, open_valve) for part in parts)
        case Not(part):
            return not holds(part, level, wet, open_valve)
        case Flag():
            return wet
        case ValveIs():
            return open_valve
        case Linear(terms, constant, op, _):
            value = sum(factor * level for factor, _ in terms) + constant
            return {"<": value < 0, "<=": value <= 0, ">": value > 0, ">=": value >= 0}[op]
        case _:
            raise AssertionError(guard)


BOUNDS = st.integers(-1, 5)
LEAVES = st.one_of(
    st.builds(
        lambda bound, op, factor: Linear(((factor, LEVEL),), -factor * bound, op, "volume"),
        BOUNDS,
        st.sampled_from(["<", "<=", ">", ">="]),
        st.sampled_from([1.0, -1.0, 2.0]),
    ),
    st.just(Flag(WET)),
    st.just(ValveIs(VALVE, "open")),
)
GUARDS = st.recursive(
    LEAVES,
    lambda inner: st.one_of(
        st.builds(Not, inner),
        st.builds(All, st.lists(inner, min_size=2, max_size=3).map(tuple)),
        st.builds(AnyOf, st.lists(inner, min_size=2, max_size=3).map(tuple)),
    ),
    max_leaves=8,
)


@given(GUARDS)
def test_reasoning_agrees_with_trying_everything(guard: Condition) -> None:
    """Bounds are whole numbers, so that halves between them stand for all values: the answer must be exact here."""
    values = {
        holds(guard, level / 2, wet, valve) for level, wet, valve in product(range(9), (False, True), (False, True))
    }
    assert can_be(guard, True, RANGES) == (True in values)
    assert can_be(guard, False, RANGES) == (False in values)


def test_what_a_guard_is_made_of() -> None:
    """The signals that a step needs are derived from this; one forgotten is one that may be dead unseen."""
    guard = AnyOf((Held(over(2), 3.0), Not(All((Flag(WET), ValveIs(VALVE, "open"))))))
    assert readings(guard) == {"level", "wet"}
    assert [(type(atom).__name__, sense) for atom, sense in atoms(guard)] == [
        ("Linear", True),
        ("Flag", False),
        ("ValveIs", False),
    ]
