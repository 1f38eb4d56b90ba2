"""What is not followed of a sequence: who may override it there."""

from __future__ import annotations

import pytest

from tests.worlds.wrong_rigs import Change, Tree, changed, statement_of
from ullage.prove.looks import ChartLook, small_sequence
from ullage.prove.prover import LAYERS, Prover
from ullage.prove.quotient import Automaton
from ullage.prove.scope import Scope


def by_interlock(tree: Tree) -> None:
    """An interlock drives the lamp that the emptying shows."""
    tree["interlocks"]["gray_high"]["drive"]["waste_lamp"] = "dark"


def by_sequence(tree: Tree) -> None:
    """The fill asks another colour of that lamp."""
    tree["sequences"]["fill"]["steps"]["filling"]["demand"]["waste_lamp"] = "dark"


def emptying(change: Change | None) -> Automaton[ChartLook]:
    """The emptying of Marram where its valve is followed and its lamp is not."""
    examined = changed("marram", change)
    assert examined.rig is not None
    assert examined.program is not None
    prover = Prover(examined.rig, examined.program)
    (harm,) = prover.harms(statement_of("gray open without intent held 30 s", examined))
    scope = Scope(prover.healthy, harm, LAYERS[4][1])
    (q,) = scope.sequences
    return small_sequence(scope, prover.charts.of(q, timed=False))


def overridden(small: Automaton[ChartLook]) -> set[bool]:
    """Whether what overrides it may come at any time, of each state that asks for the valve and is live."""
    asking = [s for s, look in enumerate(small.looks) if look.wishes and any(look.harms)]
    assert asking
    return {any(move.to == small.turned[s] for move in small.moves[s]) for s in asking}


def test_nobody_overrides_a_lamp_that_nobody_else_asks() -> None:
    """A proof that lets a lamp hold up the emptying finds waste running out where none does."""
    assert overridden(emptying(None)) == {False}


@pytest.mark.parametrize("change", [by_interlock, by_sequence])
def test_whoever_may_ask_otherwise_may_override(change: Change) -> None:
    """A sequence that is held for its lamp leaves its valve: a proof that forgets it proves too much."""
    assert overridden(emptying(change)) == {True}
