"""The section on weights: what axles, wheels and the whole rig bear over all fill states, and the order to fill in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ullage.hydraulics import water
from ullage.quantities import from_si
from ullage.review.judgement import Grade, Judgement, graded
from ullage.review.matter import Cell, Column, Curves, Section, Steps, Table
from ullage.rig.model import Rig
from ullage.rig.view import View
from ullage.weights.bearings import Bearing, Bearings, axles_of, bearings_of
from ullage.weights.cargo import Item, State, items_of, least, most
from ullage.weights.heights import Body, centre_height, highest, tippiest, tips_at
from ullage.weights.order import Course, Turn, best_order, filled_from

DENSEST = 277.13
"""Temperature at which water is densest [K]: 3.98 degC."""

NARROW = 0.02
"""Nearer to a limit than this part of it is looked at: scales err by as much (common practice, no source)."""

SIDES = 0.05
"""Part of the whole by which the sides may differ where the file states no limit (common practice, no source)."""

STEERS = 0.20
"""Least part of the whole that the front axle bears, or it steers and brakes badly (EU 1230/2012, from memory)."""

TIPS = 0.4014
"""A slope on which no rig should tip [rad]: 23 deg, what UN R111 asks of tank vehicles (from memory)."""

CAUTIONS = (
    "The plate, the papers and the load index on each tyre rule, not this reckoning. Weigh the loaded rig on a public "
    "weighbridge, axle by axle, before you trust it, and set the tyres to the pressure for that load.",
    "An overloaded axle or tyre fails while you drive, and brakes that held before no longer do. What you may drive "
    "and how it must be loaded is for local law; changes of axles and springs are for licensed people.",
    "Level standing, springs left out. Half full tanks slosh: drive with them full or empty.",
)


@dataclass(frozen=True, slots=True)
class _Scene:
    """All that the section speaks of."""

    rig: Rig
    items: tuple[Item, ...]
    loads: Bearings | None
    body: Body | None
    filled_from: dict[str, frozenset[str]]

    @property
    def limits(self) -> list[tuple[Bearing, float, str]]:
        """Loads with a stated limit [kg], each with its code."""
        return [(load, limit, code) for load, limit, code, _ in _limits(self) if limit is not None]


def section(view: View) -> Section:
    """The section on weights.

    Parameters
    ----------
    view : View
        A rig that is not refused.
    """
    rig = view.rig
    items = items_of(rig, densest(rig))
    loads = bearings_of(rig, items)
    scene = _Scene(rig, items, loads, _body(rig, loads), filled_from(view.ways))
    judgements = tuple(_judgements(scene))
    turns = {title: best_order(course) for title, course in _courses(scene).items()}
    matter: tuple[Table | Curves | Steps, ...]
    matter = (*_tables(scene), *_curves(scene, turns), *_orders(scene, turns))
    return Section("weights", "Weights", matter, judgements, tuple(_assumed(scene)), CAUTIONS)


def densest(rig: Rig) -> float:
    """Density of a rig's water where it is densest [kg/m3]. 4 degC: 99.9975 kg in 100 L (row VEH-04)."""
    return water.density(min(max(DENSEST, rig.water.least), rig.water.most))


def _body(rig: Rig, loads: Bearings | None) -> Body | None:
    height = rig.weight.centre_height
    if loads is None or height is None or not _weighed(rig):
        return None
    track, mass = rig.weight.track, loads.whole.base
    leaning = 0.0 if loads.sides is None or track is None else 0.5 * track * loads.sides.base / mass
    return Body(mass, leaning, height)


def _weighed(rig: Rig) -> bool:
    return all(axle.weighed is not None for axle in rig.axles.values())


def _assumed(scene: _Scene) -> Iterator[str]:
    rig = scene.rig
    if any(tank.holds == "waste" for tank in rig.tanks.values()):
        yield "Waste weighs as much as water."
    tables = [name for name, tank in rig.tanks.items() if tank.shape.strapping is not None]
    if tables:
        yield f"The water lies over the middle of the floor at any depth (tanks.NAME.floor_at): {', '.join(tables)}."
    if not rig.masses:
        yield "Nothing but water comes and goes: no people, fuel or gear are stated (masses)."
    if scene.loads is not None and scene.loads.sides is not None:
        even = [name for name, axle in rig.axles.items() if axle.left is None]
        if even:
            yield f"The empty rig bears the same on both sides (axles.NAME.left): {', '.join(even)}."
        if rig.weight.side_difference is None:
            yield f"The sides may differ by {100 * SIDES:.0f} % of the whole (weight.side_difference)."


# --- judgements ------------------------------------------------------------------------------------


def _limits(scene: _Scene) -> Iterator[tuple[Bearing, float | None, str, str]]:
    """Loads that should have a limit [kg], with the code and the field of the limit."""
    loads, both = scene.loads, axles_of(scene.rig)
    if loads is None or both is None:
        return
    for load, (name, axle) in zip((loads.front, loads.rear), both, strict=True):
        yield load, axle.limit, "G10", f"axles.{name}.limit"
    yield loads.whole, scene.rig.weight.gross, "G11", "weight.gross"
    for at, load in enumerate(loads.wheels):
        name, axle = both[at // 2]
        yield load, axle.wheel, "G12", f"axles.{name}.wheel"


def _judgements(scene: _Scene) -> Iterator[Judgement]:
    if scene.loads is None:
        carried = _kg(sum(most(scene.items)) - sum(least(scene.items)))
        because = f"no axles are described; {carried} of water and masses come and go"
        yield Judgement("G10", scene.rig.rig, "LOOK", because, ("axles",))
        return
    unweighed = tuple(f"axles.{name}.weighed" for name, axle in scene.rig.axles.items() if axle.weighed is None)
    if unweighed:
        because = "what the empty rig weighs is not stated: all loads are open"
        yield Judgement("G10", "axles", "LOOK", because, unweighed)
        return
    if scene.rig.weight.track is None:
        because = "without the track no wheel and no side can be told"
        yield Judgement("G12", "wheels", "LOOK", because, ("weight.track",))
    for load, limit, code, field in _limits(scene):
        yield _borne(scene, load, limit, code, field)
    yield from _sides(scene, scene.loads)
    yield _steers(scene, scene.loads)
    yield _tips(scene)


def _borne(scene: _Scene, load: Bearing, limit: float | None, code: str, field: str) -> Judgement:
    state = load.worst(scene.items)
    heavy, on = load.of(state), _title(load)
    if limit is None:
        return Judgement(code, on, "LOOK", f"up to {_kg(heavy)}, and no limit is stated", (field,))
    left = limit - heavy
    room = f"{_kg(left)} ({100 * left / limit:.1f} %) are left" if left >= 0.0 else f"{_kg(-left)} too much"
    because = f"up to {_kg(heavy)} of {_kg(limit)}: {room}; worst with {_words(scene, load, state)}"
    return Judgement(code, on, graded(heavy, (1.0 - NARROW) * limit, limit), because)


def _title(load: Bearing) -> str:
    return {"all": "the whole rig", "sides": "left and right"}.get(load.name, load.name)


def _words(scene: _Scene, load: Bearing, state: State) -> str:
    """A worst state in words: what of its parts makes it so."""
    named = [
        f"{item.name} {_amount(item, mass)}"
        for item, mass, factor in zip(scene.items, state, load.factors, strict=True)
        if item.mass.most > item.mass.least and abs(factor) > 1e-9
    ]
    return ", ".join(named) or "what never changes"


def _amount(item: Item, mass: float) -> str:
    if item.shape is None:
        return _kg(mass)
    return "empty" if mass == 0.0 else "full"


def _sides(scene: _Scene, loads: Bearings) -> Iterator[Judgement]:
    if loads.sides is None:
        return
    apart, state = _greatest_apart(scene, loads.sides)
    stated = scene.rig.weight.side_difference
    limit = SIDES * loads.whole.of(state) if stated is None else stated
    heavier = "left" if loads.sides.of(state) >= 0.0 else "right"
    because = f"{_kg(apart)} more on the {heavier} of {_kg(limit)} allowed, {_words(scene, loads.sides, state)}"
    yield Judgement("G13", _title(loads.sides), graded(apart, limit), because)


def _greatest_apart(scene: _Scene, sides: Bearing) -> tuple[float, State]:
    """The greatest difference of the sides [kg], and where."""
    states = (sides.worst(scene.items), sides.slightest(scene.items))
    return max(((abs(sides.of(state)), state) for state in states), key=lambda found: found[0])


def _steers(scene: _Scene, loads: Bearings) -> Judgement:
    """Whether the front axle bears enough.

    It bears at least a part of the whole where ``front - part * whole`` is not below nothing. That is an
    affine load again, and told is the state in which it is least.
    """
    apart = tuple(f - STEERS * w for f, w in zip(loads.front.factors, loads.whole.factors, strict=True))
    excess = Bearing("steers", loads.front.base - STEERS * loads.whole.base, apart)
    state = excess.slightest(scene.items)
    front = loads.front.of(state)
    lightest = min(load.of(load.slightest(scene.items)) for load in (loads.front, loads.rear))
    share = front / loads.whole.of(state)
    because = f"{100 * share:.0f} % of the whole ({_kg(front)}) where that is least, {_words(scene, excess, state)}"
    if lightest <= 0.0:
        return Judgement("G14", loads.front.name, "STOP", f"an axle lifts off the ground; {because}")
    return Judgement("G14", loads.front.name, "PASS" if share >= STEERS else "LOOK", because)


def _tips(scene: _Scene) -> Judgement:
    weight, body = scene.rig.weight, scene.body
    given = {"weight.track": weight.track, "weight.centre_height": weight.centre_height}
    missing = tuple(field for field, value in given.items() if value is None)
    if body is None or weight.track is None:
        return Judgement("G15", scene.rig.rig, "LOOK", "how high its centre of gravity lies cannot be told", missing)
    state = tippiest(body, scene.items, weight.track)
    slope, own = tips_at(body, scene.items, state, weight.track), scene.rig.slope.across
    high = centre_height(body, scene.items, highest(body, scene.items))
    because = (
        f"it would tip at {from_si(slope, 'deg'):.0f} deg across, springs left out; "
        f"the centre is up to {high:.2f} m high; it is used at {from_si(own, 'deg'):.0f} deg at most"
    )
    grade: Grade = "STOP" if slope <= own else "PASS" if slope >= TIPS else "LOOK"
    return Judgement("G15", scene.rig.rig, grade, because)


def _kg(mass: float) -> str:
    return f"{mass:.0f} kg"


# --- tables and curves -----------------------------------------------------------------------------


def _tables(scene: _Scene) -> Iterator[Table]:
    yield _parts_table(scene)
    if scene.loads is not None and _weighed(scene.rig):
        yield _state_table(scene, scene.loads)


def _parts_table(scene: _Scene) -> Table:
    """What each part adds when it is at its most."""
    names = [load.name for load in _shown(scene)]
    columns = (
        Column("What"), Column("At most", "mass"), Column("Ahead", "length"), Column("Left", "length"),
        Column("Centre above the ground", "length"), *(Column(f"Adds on {name}", "mass") for name in names),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for at, item in enumerate(scene.items):
        heavy = item.mass.most
        high = item.lifted(heavy) / heavy if heavy > 0.0 else item.z
        shares = (load.factors[at] * heavy for load in _shown(scene))
        rows.append((item.name, heavy, item.x, item.y, high, *shares))
    note = "Tanks up to their overflow, water at its densest. Less than nothing: it takes off there, by moments."
    return Table("What the rig carries", columns, tuple(rows), note)


def _shown(scene: _Scene) -> list[Bearing]:
    """The loads of the tables."""
    if scene.loads is None:
        return []
    return [load for load in (scene.loads.front, scene.loads.rear, scene.loads.sides) if load is not None]


def _states(scene: _Scene, loads: Bearings) -> Iterator[tuple[str, State]]:
    """Named states, the usual ones and the worst of each load."""
    low, high = least(scene.items), most(scene.items)
    waste = [item.name in scene.rig.tanks and scene.rig.tanks[item.name].holds == "waste" for item in scene.items]
    water_in = [item.shape is not None and not foul for item, foul in zip(scene.items, waste, strict=True)]
    yield "all as empty as can be", low
    yield "setting out: water full, waste empty, all aboard", _mixed(waste, low, high)
    yield "going home: water empty, waste full, all aboard", _mixed(water_in, low, high)
    yield "all full", high
    yield f"worst for {loads.front.name}", loads.front.worst(scene.items)
    yield f"worst for {loads.rear.name}", loads.rear.worst(scene.items)
    if loads.sides is not None:
        yield "worst for the sides", _greatest_apart(scene, loads.sides)[1]
    if scene.body is not None:
        yield "highest centre", highest(scene.body, scene.items)


def _mixed(which: list[bool], low: State, high: State) -> State:
    return tuple(a if chosen else b for chosen, a, b in zip(which, low, high, strict=True))


def _state_table(scene: _Scene, loads: Bearings) -> Table:
    shown = [loads.front, loads.rear, loads.whole, *([loads.sides] if loads.sides is not None else [])]
    heads = [loads.front.name, loads.rear.name, "Whole", "Left more than right"]
    columns = [Column("State"), *(Column(head, "mass") for head in heads[: len(shown)])]
    rows: list[tuple[Cell, ...]] = []
    for name, state in _states(scene, loads):
        height = None if scene.body is None else centre_height(scene.body, scene.items, state)
        rows.append((name, *(load.of(state) for load in shown), height))
    limits = {load.name: limit for load, limit, _ in scene.limits}
    allowed = scene.rig.weight.side_difference
    rows.append(("limit", *(limits.get(load.name, allowed if load is loads.sides else None) for load in shown), None))
    note = (
        "A load is a constant and a factor for each mass, so it is greatest with each mass at one of its ends. "
        "The height of the centre is not; but each tank adds to it most when it is full or empty."
    )
    return Table("States", (*columns, Column("Centre above the ground", "length")), tuple(rows), note)


def _curves(scene: _Scene, turns: dict[str, tuple[Turn, ...]]) -> Iterator[Curves]:
    """Loads of both axles while tanks are filled in the best order, all aboard, and their limits."""
    loads, filling = scene.loads, next(iter(turns.values()), ())
    if loads is None or not filling:
        return
    index = {item.name: at for at, item in enumerate(scene.items)}
    full, before = most(scene.items), list(most(scene.items))
    for turn in filling:
        before[index[turn.name]] = full[index[turn.name]] if turn.empty else 0.0
    points = [tuple(before)]
    for turn in filling:
        after = list(points[-1])
        after[index[turn.name]] = 0.0 if turn.empty else full[index[turn.name]]
        points.append(tuple(after))
    moved = [sum(abs(a - b) for a, b in zip(points[0], point, strict=True)) for point in points]
    lines = [
        (load.name, tuple((along, load.of(point)) for along, point in zip(moved, points, strict=True)))
        for load in (loads.front, loads.rear)
    ]
    limits = {load.name: limit for load, limit, _ in scene.limits}
    for load in (loads.front, loads.rear):
        if load.name in limits:
            lines.append((f"limit of {load.name}", ((0.0, limits[load.name]), (moved[-1], limits[load.name]))))
    across, up = Column("Let out and filled in", "mass"), Column("Load", "mass")
    yield Curves("Axles on the way, in the best order at a stop, all aboard", across, up, tuple(lines))


# --- the order -------------------------------------------------------------------------------------


def _courses(scene: _Scene) -> dict[str, Course]:
    """Filling at a stop, and emptying all; none while the loads are open."""
    if scene.loads is None or not _weighed(scene.rig):
        return {}
    index = {item.name: at for at, item in enumerate(scene.items)}
    tanks = {index[name]: tank for name, tank in scene.rig.tanks.items()}
    full = {at: scene.items[at].mass.most for at in tanks}
    empty = dict.fromkeys(tanks, 0.0)
    after = {index[tank]: frozenset(index[of] for of in sources) for tank, sources in scene.filled_from.items()}
    waste = {at for at, tank in tanks.items() if tank.holds == "waste"}
    limits = tuple((load, limit) for load, limit, _ in scene.limits)

    def course(starts: dict[int, float], ends: dict[int, float], after: dict[int, frozenset[int]]) -> Course:
        assert scene.loads is not None
        return Course(scene.items, starts, ends, limits, scene.loads.sides, after)

    arriving = {at: full[at] if at in waste else 0.0 for at in tanks}
    leaving = {at: 0.0 if at in waste else full[at] for at in tanks}
    return {
        "Best order at a stop": course(arriving, leaving, after),
        "Best order to empty all": course(full, empty, {}),
    }


def _orders(scene: _Scene, turns: dict[str, tuple[Turn, ...]]) -> Iterator[Steps]:
    for title, order in turns.items():
        steps = tuple(_turn_words(scene, turn) for turn in order)
        if steps:
            cautions = ("People, fuel and gear may be aboard or not: the worst of it is counted at each step.",)
            yield Steps(title, cautions, steps)


def _turn_words(scene: _Scene, turn: Turn) -> str:
    words = f"{'Empty' if turn.empty else 'Fill'} {turn.name}"
    if not turn.empty and turn.name in scene.filled_from:
        words += f" from {' or '.join(sorted(scene.filled_from[turn.name]))}, and fill that one up again"
    words += f"; {_kg(turn.over)} over a limit at worst" if turn.over > 0.0 else "; no limit is passed"
    if scene.loads is not None and scene.loads.sides is not None:
        words += f", the sides differ by {_kg(turn.sides)} at most"
    return f"{words}."
