"""Worst states, tipping and orders beside brute force: every corner, and many states in between."""

from __future__ import annotations

from itertools import permutations, product
from math import atan, degrees

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.reference.test_geometry import box, lying
from tests.unit.rig.breaking import Edits, changed, seen
from ullage.quantities import Span
from ullage.rig.burden import Axle, Weight
from ullage.rig.model import Rig, Shape
from ullage.rig.shapes import whole
from ullage.weights.bearings import Bearing, bearings_of
from ullage.weights.cargo import Item, State, least, most
from ullage.weights.heights import Body, centre_height, highest, tippiest, tips_at
from ullage.weights.order import TANKS_LIMIT, Course, best_order, filled_from

DENSITY = 1000.0
BODY = Body(900.0, 0.05, 0.9)
places = st.floats(-3.0, 3.0, allow_nan=False)


def tank(name: str, x: float, y: float, z: float, shape: Shape) -> Item:
    """A tank of water."""
    return Item(name, x, y, z, Span(0.0, DENSITY * whole(shape)), shape, DENSITY)


@st.composite
def cargoes(draw: st.DrawFn) -> tuple[Item, ...]:
    """A few tanks and masses anywhere."""
    shapes = [box(1.0, 0.5, 0.3), lying(0.5, 1.2), box(0.4, 0.3, 0.9)]
    tanks = [
        tank(f"t{at}", draw(places), draw(st.floats(-0.7, 0.7)), draw(st.floats(0.2, 2.5)), shape)
        for at, shape in enumerate(shapes[: draw(st.integers(1, 3))])
    ]
    low = draw(st.floats(0.0, 50.0))
    people = Item("people", draw(places), draw(st.floats(-0.7, 0.7)), 1.3, Span(low, low + draw(st.floats(0.0, 200.0))))
    return (*tanks, people)


def states(items: tuple[Item, ...], steps: int) -> list[State]:
    """All states on an even grid; with one step the corners."""
    axes = [
        [i.mass.least + (i.mass.most - i.mass.least) * k / steps for k in range(steps + 1)] for i in items
    ]  # fmt: skip
    return list(product(*axes))


@given(items=cargoes(), weighed=st.floats(200.0, 2000.0))
def test_no_state_is_worse_than_the_worst(items: tuple[Item, ...], weighed: float) -> None:
    """A worst state that is none lets an axle be overloaded in another one, unseen."""
    axles = {
        "ahead": Axle.model_construct(x=3.6, weighed=weighed, left=0.45 * weighed),
        "behind": Axle.model_construct(x=0.0, weighed=weighed),
    }
    weight = Weight.model_construct(track=1.7)
    loads = bearings_of(Rig.model_construct(axles=axles, weight=weight), items)
    assert loads is not None
    assert loads.sides is not None
    assert (loads.front.name, loads.rear.name) == ("ahead", "behind")
    for load in (loads.front, loads.rear, loads.whole, *loads.wheels, loads.sides):
        every = [load.of(state) for state in states(items, 3)]
        assert load.of(load.worst(items)) == pytest.approx(max(every), abs=1e-9)
        assert load.of(load.slightest(items)) == pytest.approx(min(every), abs=1e-9)
    for state in states(items, 1):
        left, right = sum(w.of(state) for w in loads.wheels[::2]), sum(w.of(state) for w in loads.wheels[1::2])
        assert left + right == pytest.approx(loads.whole.of(state))
        assert left - right == pytest.approx(loads.sides.of(state), abs=1e-6)
        assert loads.front.of(state) + loads.rear.of(state) == pytest.approx(2 * weighed + sum(state))


@given(items=cargoes())
def test_the_highest_centre_and_the_first_to_tip(items: tuple[Item, ...]) -> None:
    """A half full tank is no corner: if the centre lay higher in between, the rig would tip where it was safe."""
    every = states(items, 6)
    assert centre_height(BODY, items, highest(BODY, items)) >= max(centre_height(BODY, items, s) for s in every) - 1e-9
    soonest = min(tips_at(BODY, items, state, 1.7) for state in every)
    assert tips_at(BODY, items, tippiest(BODY, items, 1.7), 1.7) <= soonest + 1e-9


def test_a_little_low_water_lowers_the_centre() -> None:
    """Height is not monotone in content: a search that thought so would miss the empty tank as the worst."""
    item = tank("low", 0.0, 0.0, 0.3, box(2.0, 1.0, 1.5))
    heights = [centre_height(BODY, (item,), (share * item.mass.most,)) for share in (0.0, 0.2, 1.0)]
    assert heights[1] < heights[0] < heights[2]
    assert highest(BODY, (item,)) == most((item,))
    low = tank("low", 0.0, 0.0, 0.1, box(1.0, 0.5, 0.3))
    assert highest(BODY, (low,)) == least((low,))


def test_tipping_by_hand() -> None:
    """tan(slope) = half the track over the height: 0.85 / 1.0 is 40.4 deg (closed form)."""
    assert degrees(tips_at(Body(1000.0, 0.0, 1.0), (), (), 1.7)) == pytest.approx(40.36, abs=0.01)
    assert tips_at(Body(1000.0, -0.1, 1.0), (), (), 1.7) == pytest.approx(atan(0.75))


# --- the order -------------------------------------------------------------------------------------


@st.composite
def courses(draw: st.DrawFn) -> Course:
    """Some tanks to fill and empty, with limits that are passed now and then."""
    items = (*draw(cargoes()), tank("far", draw(places), 0.6, 1.0, box(0.5, 0.5, 0.5)))
    tanks = [at for at, item in enumerate(items) if item.shape is not None]
    full = {at: items[at].mass.most for at in tanks}
    emptied = {at for at in tanks if draw(st.booleans())}
    starts = {at: full[at] if at in emptied else 0.0 for at in tanks}
    ends = {at: 0.0 if at in emptied else full[at] for at in tanks}
    front = Bearing("front", 500.0, tuple(item.x / 3.6 for item in items))
    sides = Bearing("sides", 20.0, tuple(2 * item.y / 1.7 for item in items))
    after = {tanks[-1]: frozenset({tanks[0]})} if draw(st.booleans()) else {}
    return Course(items, starts, ends, ((front, draw(st.floats(300.0, 900.0))),), sides, after)


def corners(course: Course, order: tuple[int, ...]) -> tuple[float, float, float]:
    """The most that a limit is passed by on the way, the most that the sides differ, and their sum."""
    held = dict(course.starts)
    ((load, limit),) = course.limits
    assert course.sides is not None
    over, apart = [], []
    for at in (None, *order):
        if at is not None:
            held[at] = course.ends[at]
        free = [at for at in range(len(course.items)) if at not in held]
        ends = [(course.items[at].mass.least, course.items[at].mass.most) for at in free]
        tried = [held | dict(zip(free, chosen, strict=True)) for chosen in product(*ends)]
        masses = [tuple(state[at] for at in range(len(course.items))) for state in tried]
        over.append(max(max(0.0, load.of(state) - limit) for state in masses))
        apart.append(max(abs(course.sides.of(state)) for state in masses))
    return max(over), max(apart), sum(apart)


@given(course=courses())
def test_no_order_is_better_than_the_best(course: Course) -> None:
    """An order that passes a limit where another one does not breaks the axle by following the review."""
    may = [
        order
        for order in permutations(course.starts)
        if all(any(order.index(s) < order.index(t) for s in sources) for t, sources in course.after.items())
    ]
    names = [course.items[at].name for at in course.starts]
    turns = best_order(course)
    chosen = tuple(tuple(course.starts)[names.index(turn.name)] for turn in turns)
    assert chosen in may
    assert corners(course, chosen) == pytest.approx(min(corners(course, order) for order in may), abs=1e-6)
    assert [turn.empty for turn in turns] == [course.ends[at] < course.starts[at] for at in chosen]


def test_the_greatest_lean_counts_before_all_leans_together() -> None:
    """Tanks that lean by -9, 1 and 5: the order 1, 5, -9 leans less in sum (10 against 12) but once by 6, not 5."""
    items = tuple(Item(f"{lean}", 0.0, float(lean), 1.0, Span(0.0, 1.0)) for lean in (-9, 1, 5))
    sides = Bearing("sides", 0.0, tuple(item.y for item in items))
    starts, ends = dict.fromkeys(range(3), 0.0), dict.fromkeys(range(3), 1.0)
    turns = best_order(Course(items, starts, ends, (), sides, {}))
    assert [(turn.name, turn.sides) for turn in turns] == [("5", 5.0), ("-9", 4.0), ("1", 3.0)]


def test_too_many_tanks_have_no_order() -> None:
    """A search over every set of two hundred tanks would never end."""
    items = tuple(tank(f"t{at}", 0.0, 0.0, 0.5, box(0.2, 0.2, 0.2)) for at in range(TANKS_LIMIT + 1))
    starts, ends = dict.fromkeys(range(len(items)), 0.0), {at: item.mass.most for at, item in enumerate(items)}
    assert best_order(Course(items, starts, ends, (), None, {})) == ()
    assert best_order(Course((), {}, {}, (), None, {})) == ()


HEADER = """tanks:
  header:
    holds: potable
    shape: {upright: {diameter: 300 mm, height: 400 mm}}
    floor_at: {z: 2 m}
    openings: {in: {at: 390 mm}}
  fresh:"""
LIFTED = {"tanks:\n  fresh:": HEADER, "lines:\n": "lines:\n  - {from: manifold, to: header.in}\n"}


@pytest.mark.parametrize(("edits", "sources"), [({}, {}), (LIFTED, {"header": frozenset({"fresh"})})])
def test_what_a_pump_fills_comes_after_what_it_draws_from(edits: Edits, sources: dict[str, frozenset[str]]) -> None:
    """To fill the header first is an order that nobody can follow."""
    assert filled_from(seen(changed(edits), "sound.yaml").ways) == sources
