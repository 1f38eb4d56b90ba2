"""What a statement says must never be, in whole millilitres and on the worst stand."""

from __future__ import annotations

from functools import cache

import pytest

from tests.shipped import marram
from ullage.plant.bands import Bands
from ullage.plant.codes import MARK_BRIM, MARK_OPENING, MARK_OVERFLOW
from ullage.plant.harmed import ML
from ullage.prove import harms as h
from ullage.prove.harms import Harm, NotFollowed, harms_of_statement, leaves
from ullage.rig import meaning
from ullage.rig.meaning import Above, Below, Dry, Gives, Holds, Indoors, Linear, Spills, Statement, Symbol, Trips


@cache
def bands() -> Bands:
    """Marram's in health."""
    examined = marram()
    assert examined.rig is not None
    assert examined.program is not None
    return Bands(examined.rig, examined.program)


def said(statement: Statement) -> Harm:
    """The one harm that a statement says."""
    (harm,) = harms_of_statement(bands(), statement)
    return harm


def marks(tank: str, kind: int, row: int | None = None) -> list[float]:
    """Contents [mL] at which a tank comes to a mark, stand by stand, from the works themselves."""
    works = bands().bounds.works
    stands, at = len(works.stands), list(works.rig.tanks).index(tank)
    first, found = works.integers["mark_first"], []
    for run in range(at * stands, (at + 1) * stands):
        for mark in range(first[run], first[run + 1]):
            if works.integers["mark_kind"][mark] == kind and row in (None, works.integers["mark_row"][mark]):
                found.append(works.reals["mark_volume"][mark] * ML)
    return found


def test_a_bound_between_two_millilitres_is_rounded_to_the_safe_side() -> None:
    """A tank that may hold half a millilitre more than was said is proved for the wrong bound."""
    assert said(Above("belly", 10.4 / ML)) == Harm("", h.AtLeast("belly", 11))
    assert said(Above("belly", 10.0 / ML)) == Harm("", h.AtLeast("belly", 11))
    assert said(Below("belly", 10.4 / ML)) == Harm("", h.Without(h.AtLeast("belly", 11)), falls=True)
    assert said(Below("belly", 10.0 / ML)) == Harm("", h.Without(h.AtLeast("belly", 10)), falls=True)


def test_a_tank_spills_where_its_overflow_begins_first() -> None:
    """Proved for the stand on which its overflow begins last, a tank runs over on any other."""
    found = marks("belly", MARK_OVERFLOW)
    assert said(Spills("belly")) == Harm("", h.AtLeast("belly", int(min(found))))
    assert [harm.about for harm in harms_of_statement(bands(), Spills(""))] == ["belly", "loft", "gray"]


def test_water_comes_indoors_where_a_tank_runs_over_its_brim() -> None:
    """A tank whose overflow leads outside runs indoors only at its brim, and there it does."""
    for harm in harms_of_statement(bands(), Indoors()):
        assert harm.tree == h.AtLeast(harm.about, int(min(marks(harm.about, MARK_BRIM))))


def test_a_pump_draws_air_on_the_stand_where_its_opening_is_uncovered_first() -> None:
    """On a slope the opening lies bare while the tank still holds litres."""
    link = bands().bounds.works.plumbing.part_link["water_pump"]
    found = marks("belly", MARK_OPENING, link)
    assert max(found) - min(found) > 1000
    harm = said(Dry("water_pump"))
    assert harm.falls
    assert isinstance(harm.tree, h.AllOf)
    passing, bare = harm.tree.parts
    assert passing == h.Passing("water_pump")
    assert isinstance(bare, h.Without)
    assert isinstance(bare.part, h.AtLeast)
    assert bare.part.tank == "belly"
    assert max(found) <= bare.part.content - 1 < max(found) + 1


BELLY = Symbol("belly_level", "sender", "volume", "belly")


@pytest.mark.parametrize(
    ("factor", "op", "tree"),
    [
        (1.0, ">", h.AtLeast("belly", 6)),
        (1.0, ">=", h.AtLeast("belly", 5)),
        (1.0, "<", h.Without(h.AtLeast("belly", 5))),
        (1.0, "<=", h.Without(h.AtLeast("belly", 6))),
        (-1.0, "<", h.AtLeast("belly", 6)),
        (-1.0, ">=", h.Without(h.AtLeast("belly", 6))),
    ],
)
def test_a_comparison_is_true_from_the_millilitre_on_where_it_is(factor: float, op: str, tree: h.Tree) -> None:
    """One millilitre to either side is the one at which somebody set the bound."""
    guard = Linear(((factor, BELLY),), -factor * 5.0 / ML, op, "volume")  # type: ignore[arg-type]
    assert said(Holds(guard)).tree == tree
    assert said(Holds(guard)).falls is isinstance(tree, h.Without)


def test_a_delay_of_a_statement_is_rounded_down() -> None:
    """What must not last 2 s must not last 1.9999 s either."""
    guard = meaning.Held(meaning.Flag(Symbol("water_pump", "pump")), 1.9996)
    assert said(Holds(guard)).tree == h.Lasting(h.Passing("water_pump"), 1999)


def test_of_what_is_not_followed_nothing_is_known() -> None:
    """A part of a guard that is taken for false proves everything."""
    two = Linear(((1.0, BELLY), (1.0, Symbol("loft_level", "sender", "volume", "loft"))), 0.0, ">", "volume")
    assert said(Holds(meaning.All((two, meaning.Good(BELLY))))).tree == h.AllOf((h.Anything(), h.Anything()))
    with pytest.raises(NotFollowed):
        harms_of_statement(bands(), Gives("galley", 1.0, True))


def test_words_of_valves_are_told_apart() -> None:
    """`not closed` is not `open` to a person, and here they are the same: a valve on its way passes."""
    valve = Symbol("lift", "valve")
    assert said(Holds(meaning.ValveIs(valve, "open"))).tree == h.Passing("lift")
    assert said(Holds(meaning.ValveIs(valve, "closed"))).tree == h.Without(h.Passing("lift"))
    assert said(Holds(meaning.ValveIs(valve, "failed"))).tree == h.Anything()
    assert said(Trips("belly_high")).tree == h.Tripped("belly_high")
    assert list(leaves(h.OneOf((h.Without(h.Anything()), h.Passing("lift"))))) == [h.Anything(), h.Passing("lift")]


def test_either_of_two_is_one_of_them() -> None:
    """A line that forbids either of two valves to be open does not wait for both."""
    lift, rinse = (meaning.ValveIs(Symbol(name, "valve", ""), "open") for name in ("lift", "rinse"))
    parts = h.Passing("lift"), h.Passing("rinse")
    assert said(Holds(meaning.AnyOf((lift, rinse)))).tree == h.OneOf(parts)
    assert said(Holds(meaning.All((lift, rinse)))).tree == h.AllOf(parts)
