"""The section on upkeep: disinfecting, emptying before frost, and what is due when."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from ullage.quantities import from_si
from ullage.review.judgement import Judgement
from ullage.review.matter import Cell, Column, Section, Steps, Table
from ullage.rig.keeping import Disinfectant
from ullage.rig.model import Rig
from ullage.rig.shapes import capacity
from ullage.rig.view import View
from ullage.rig.ways import Ways, one_way
from ullage.upkeep.disinfection import (
    CONTACT,
    LEFT_AT_LEAST,
    SHOCK,
    WALLS,
    Dosing,
    chlorine_in,
    contact_of,
    dose,
    dosings,
    needed_ct,
)
from ullage.upkeep.draining import Drainage, Stays, drainage_of, hoses, tank_runs_to
from ullage.upkeep.due import tasks
from ullage.upkeep.volumes import heel, wetted
from ullage.upkeep.winterising import Opened, Winter, winter_of
from ullage.weights.order import filled_from

CAN = 0.01
"""A can in which the product is thinned before it goes into a tank [m3]: 10 L."""

BLOWN = 1.5e5
"""Lines are blown out with no more than this [Pa]: common practice, no source."""

DRY = 10.0
"""A pump runs dry for so long at most [s], to empty its chambers: common practice, no source."""

WARM = 313.15
"""A heater is opened when its water is no warmer than this [K]: 40 degC, which scalds nobody (row SAN-14)."""

CAUTIONS = (
    "Chlorine burns eyes and skin: gloves, goggles, fresh air. Never let it meet acids, descaler, urine or ammonia: "
    "they give poisonous gas together. Empty and rinse the waste tank before.",
    "Drinking water is for local health authorities to rule; where somebody has fallen ill, ask them before you go on.",
)

DISINFECTING_CAUTIONS = (
    "Gloves and goggles; open doors. Product into water, never water into product.",
    "Nobody drinks, cooks or washes with it until it is rinsed out; hang a note on every tap.",
    "Heaters off and cold. Ask their makers whether they stand chlorine; else leave them out and drain them.",
    "Let it out into a sewer or a place that takes waste, not into a stream or a soakaway: it kills what lives there.",
)

WINTER_CAUTIONS = (
    "Hot water scalds and stands under pressure: put out the heater, and wait until its water is no warmer than "
    "40 degC. Never open a heater that is hot.",
    "Switch the electric element off and take its fuse out: an element that is on without water burns out and may set "
    "fire. Put a note on the switch.",
    "Pumps without current before you open their lines. Gas and fuel heaters are opened by licensed people where local "
    "codes ask it.",
)

_WHY = {
    "sags": "lies below every way out",
    "level": "lies level",
    "no air": "gets no air from behind",
    "vessel": "has no drain cock",
}


def section(view: View) -> Section:
    """The section on upkeep.

    Parameters
    ----------
    view : View
        A rig that is not refused.
    """
    rig, drainage, winter = view.rig, drainage_of(view.ways), winter_of(view)
    product = rig.disinfectant
    doses = () if product is None else dosings(product, wetted(view.ways))
    judgements = (*_disinfecting(view, doses), *_keeping(drainage), *_calendar(view))
    matter: list[Table | Steps] = []
    if product is not None and doses:
        matter += [_dose_table(doses, product), _disinfecting_steps(view, doses, product)]
    if rig.lines:
        matter += [_drain_table(view.ways, drainage), _winter_steps(view, drainage, winter)]
    matter += _due_table(rig)
    return Section("upkeep", "Upkeep", tuple(matter), judgements, tuple(_assumed(rig)), CAUTIONS)


def _assumed(rig: Rig) -> Iterator[str]:
    if rig.lines:
        yield "A line runs evenly between its ends and its crest, without a sag (lines.crest)."
    if rig.disinfectant is not None and rig.disinfectant.contact is None:
        yield f"The disinfectant stands for {from_si(CONTACT, 'h'):.0f} h (disinfectant.contact)."
    thinned = [name for name, part in rig.filters.items() if part.passes is not None]
    if thinned and rig.upkeep.water_a_day is None:
        yield f"Filters last by time alone, however much water passes (upkeep.water_a_day): {', '.join(thinned)}."


# --- disinfecting ------------------------------------------------------------------------------------


def _disinfecting(view: View, doses: tuple[Dosing, ...]) -> Iterator[Judgement]:
    rig = view.rig
    potable = [name for name, tank in rig.tanks.items() if tank.holds == "potable"]
    product = rig.disinfectant
    if product is None:
        if potable:
            because = "no disinfectant is stated, so no dose can be told"
            yield Judgement("K10", ", ".join(potable), "LOOK", because, ("disinfectant",))
        return
    for dosing in doses:
        yield _dosed(view, dosing, product)
    if potable:
        yield _contact(rig, product, ", ".join(potable))


def _contact(rig: Rig, product: Disinfectant, on: str) -> Judgement:
    """Whether it stands long enough: shorter than the standard is looked at, too short to kill is STOP."""
    coldest, left, stands = rig.water.least, LEFT_AT_LEAST, contact_of(product)
    needed, given = needed_ct(coldest, left), left * stands
    because = (
        f"10 mg/L for {from_si(stands, 'h'):.3g} h are {_ct(given):.0f} mg min/L; "
        f"at {from_si(coldest, 'degC'):.0f} degC {_ct(needed):.0f} are needed"
    )
    if given < needed:
        return Judgement("K11", on, "STOP", f"{because}: germs live on in water that is taken for clean")
    if stands < CONTACT:
        because += f"; the standard asks for {from_si(CONTACT, 'h'):.0f} h"
    return Judgement("K11", on, "PASS" if stands >= CONTACT else "LOOK", because)


def _ct(ct: float) -> float:
    """A concentration times time as tables have it [mg min/L] from [kg s/m3]."""
    return ct * 1e3 / 60.0


def _dosed(view: View, dosing: Dosing, product: Disinfectant) -> Judgement:
    tank = dosing.wetted.tank
    if product.plain is False:
        because = "the product is not fit for drinking water: scent, soap or thickener stay in tank and lines"
        return Judgement("K10", tank, "STOP", because)
    if not _rinsed_out(view.ways, tank) or not dosing.fills:
        because = "what is poured in cannot be let out again: no tap, port or drain cock is led to from this tank"
        return Judgement("K10", tank, "STOP", because)
    because = (
        f"{_ml(dosing.tank)} for {_litres(dosing.wetted.holds)} and {_ml(dosing.behind)} for "
        f"{_litres(dosing.wetted.behind)} behind it make 50 mg/L"
    )
    if product.plain is None:
        return Judgement("K10", tank, "LOOK", f"{because}; is it fit for drinking water?", ("disinfectant.plain",))
    return Judgement("K10", tank, "PASS", because)


def _rinsed_out(ways: Ways, tank: str) -> bool:
    """Whether the water of a tank can leave the rig, or reach another tank from which it can."""
    rig, seen = ways.rig, [tank]
    for each in seen:
        joints = ways.reach(ways.openings(each), one_way)
        doors = {*rig.fixtures, *(name for name, port in rig.ports.items() if port.kind == "discharge")}
        if not joints.isdisjoint(doors) or tank_runs_to(ways, each) is not None:
            return True
        seen += [other for other in rig.tanks if other not in seen and not joints.isdisjoint(ways.openings(other))]
    return False


def _ml(volume: float) -> str:
    amount = from_si(volume, "mL")
    return f"{amount:.1f} mL" if amount < 10.0 else f"{amount:.0f} mL"


def _litres(volume: float) -> str:
    amount = from_si(volume, "L")
    return f"{amount:.1f} L" if amount < 10.0 else f"{amount:.0f} L"


def _dose_table(doses: tuple[Dosing, ...], product: Disinfectant) -> Table:
    columns = (
        Column("Tank"), Column("Holds", "volume"), Column("Product", "volume"), Column("Lines and filters", "volume"),
        Column("Heaters", "volume"), Column("Accumulators", "volume"), Column("Product for these", "volume"),
        Column("Fills to rinse"), Column("Then through the taps", "volume"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for dosing in doses:
        w = dosing.wetted
        inner = (w.lines, w.heaters, w.accumulators)
        rows.append((w.tank, w.holds, dosing.tank, *inner, dosing.behind, str(dosing.fills), dosing.rinse))
    note = (
        f"The product has {chlorine_in(product):.1f} g/L of free chlorine; 50 mg/L ask {_ml(_for_can(product, SHOCK))} "
        f"for each {_litres(CAN)}. It loses strength: take no bottle older than a year, nor one from the sun."
    )
    return Table("Disinfecting", columns, tuple(rows), note)


def _for_can(product: Disinfectant, wished: float) -> float:
    return dose(CAN, wished, chlorine_in(product))


def _disinfecting_steps(view: View, doses: tuple[Dosing, ...], product: Disinfectant) -> Steps:
    rig = view.rig
    dosed = _dosing_steps(doses, product, filled_from(view.ways))
    steps = [*_before(rig), *dosed, *_standing(rig, product), *_rinsing(rig, doses)]
    return Steps("Disinfecting, step by step", DISINFECTING_CAUTIONS, tuple(steps))


def _before(rig: Rig) -> Iterator[str]:
    yield "Empty and clean the tanks of drinking water: slime uses up chlorine and hides what is under it."
    waste = [name for name, tank in rig.tanks.items() if tank.holds == "waste"]
    if waste:
        yield f"Empty and rinse {', '.join(waste)}: no urine, descaler or other cleaner may be left in it."
    if rig.filters:
        yield f"Take out the cartridges ({', '.join(rig.filters)}) and close their housings again."


def _dosing_steps(
    doses: tuple[Dosing, ...], product: Disinfectant, sources: dict[str, frozenset[str]]
) -> Iterator[str]:
    for dosing in doses:
        tank, full = dosing.wetted.tank, _litres(dosing.wetted.holds)
        stir = f"stir {_ml(dosing.tank)} of the product into a can of {_litres(CAN)} of water"
        if tank in sources:
            source = " or ".join(sorted(sources[tank]))
            yield f"{tank}: fill it ({full}) from {source}; {stir}, and pour it into {source} while that fills again."
        else:
            yield f"{tank}: {stir}, and pour it in while the tank fills up to its overflow ({full})."
    yield (
        "Where a sequence stops before the tank is full, fill up by can, "
        f"or take {_ml(_for_can(product, SHOCK))} for each {_litres(CAN)} that it holds."
    )
    behind = [dosing for dosing in doses if dosing.wetted.behind > 0.0]
    if behind:
        yield (
            "Open tap after tap, cold and hot, until each smells of chlorine; then fill up again what the lines took, "
            + ", ".join(f"{d.wetted.tank} with {_ml(d.behind)} in {_litres(d.wetted.behind)}" for d in behind)
            + "."
        )
    yield (
        f"Wipe what the water does not reach with {_ml(_for_can(product, WALLS))} in {_litres(CAN)} (200 mg/L), "
        "with gloves and goggles; nobody climbs into a tank."
    )


def _standing(rig: Rig, product: Disinfectant) -> Iterator[str]:
    stands = f"{from_si(contact_of(product), 'h'):.3g} h"
    yield f"Let all of it stand for {stands}. The rig stays where it is and nobody uses the water."
    taps = f" at {', '.join(rig.fixtures)}" if rig.fixtures else ""
    yield (
        f"Measure the chlorine{taps} with test strips: {1e3 * LEFT_AT_LEAST:.0f} mg/L or more must be left "
        "everywhere, or it is done again."
    )


def _rinsing(rig: Rig, doses: tuple[Dosing, ...]) -> Iterator[str]:
    for dosing in doses:
        fills = "once" if dosing.fills == 1 else f"{dosing.fills} times"
        run = f", and let {_litres(dosing.rinse)} of that run through its taps" if dosing.wetted.behind > 0.0 else ""
        yield f"{dosing.wetted.tank}: empty it, fill it {fills} with clean water{run}, and empty it."
    waste = sum(capacity(tank) for tank in rig.tanks.values() if tank.holds == "waste")
    water = sum(dosing.wetted.all + dosing.fills * dosing.wetted.holds for dosing in doses)
    if waste > 0.0:
        yield (
            f"All that are {_litres(water)}. What goes through the taps fills the waste tanks: "
            f"empty them {ceil(water / waste)} times where all of it does."
        )
    if rig.filters:
        yield "Fit new cartridges."
    yield "Taste and smell: 1 mg/L or less is left. Note the date and the product."


# --- water that stays --------------------------------------------------------------------------------


def _keeping(drainage: Drainage) -> Iterator[Judgement]:
    """One judgement for each place at which a cock would help, or one that nothing stays."""
    pools: dict[tuple[str, str], list[Stays]] = {}
    for stays in drainage.stays:
        pools.setdefault((stays.cure, stays.why), []).append(stays)
    for (cure, why), those in pools.items():
        parts = ", ".join(dict.fromkeys(stays.part for stays in those))
        kept = sum(stays.volume for stays in those)
        because = f"{_ml(kept)} stay: it {_WHY[why]}; {_cure(cure, why, those[0].height)}"
        yield Judgement("K20", parts, "LOOK", because)
    if drainage.runs and not pools:
        ran = sum(runs.volume for runs in drainage.runs)
        yield Judgement("K20", "all lines", "PASS", f"{_ml(ran)} run out by gravity once all is open")


def _cure(cure: str, why: str, height: float) -> str:
    at = f"at '{cure}', {height:.2f} m above the ground"
    if why == "no air":
        return f"a cock {at} lets air in"
    if why == "level":
        return "give it fall, or blow it out"
    return f"a drain cock {at} lets it out"


def _drain_table(ways: Ways, drainage: Drainage) -> Table:
    columns = (
        Column("Part"), Column("Holds", "volume"), Column("Runs out at"), Column("Keeps", "volume"), Column("Why"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [(runs.part, runs.volume, runs.out, 0.0, "") for runs in drainage.runs]
    for stays in drainage.stays:
        rows.append((stays.part, None, "", stays.volume, _WHY[stays.why]))
    for hose in hoses(ways):
        rows.append((hose, None, "unhooked", 0.0, ""))
    for tank in ways.rig.tanks:
        left, out = heel(ways.rig, tank), tank_runs_to(ways, tank)
        why = "below its lowest opening" if left else ""
        rows.append((tank, capacity(ways.rig.tanks[tank]), out or "its pump", left, why))
    note = (
        "All taps, valves and cocks open, pumps at rest. What a tank keeps below its lowest opening has room to "
        "freeze. Valves, pumps, meters and water seals keep a little more than is listed."
    )
    return Table("What drains", columns, tuple(rows), note)


def _winter_steps(view: View, drainage: Drainage, winter: Winter) -> Steps:
    steps = [
        *_first(view.rig, winter), *_open_up(view.ways, winter), *_last(view.rig, drainage, winter), *_again(view.rig)
    ]  # fmt: skip
    cautions = WINTER_CAUTIONS if view.rig.heaters else WINTER_CAUTIONS[-1:]
    return Steps("Emptying before frost, in order", cautions, tuple(steps))


def _first(rig: Rig, winter: Winter) -> Iterator[str]:
    if rig.heaters:
        cold = f"{from_si(WARM, 'degC'):.0f} degC"
        yield f"Put out {', '.join(rig.heaters)}, take the fuse of the element out, and let the water cool to {cold}."
    if winter.waste:
        yield f"Empty {', '.join(winter.waste)} at a place that takes waste, so that it has room."
    if winter.pumped:
        yield f"Pump {', '.join(winter.pumped)} empty through the taps: no way leads out of it by gravity."
    if winter.pumps:
        yield f"Switch off {', '.join(winter.pumps)}, and take its fuse out."


def _open_up(ways: Ways, winter: Winter) -> Iterator[str]:
    for hose in hoses(ways):
        yield f"Close the supply, unhook {hose} and let it run empty."
    for port in (name for name, part in ways.rig.ports.items() if part.lasting):
        yield f"Shut {port} off at its source, and part the line there, so that it can drain."
    if winter.taps:
        names = ", ".join(tap.name for tap in winter.taps)
        yield f"Open the taps, cold and hot, the highest first: {names}. This lets off the pressure and lets air in."
    if winter.ways:
        yield (
            "Open what is listed next from the lowest to the highest, so that what comes down finds its way out open. "
            "A motor valve is opened at its board, or by the sequence that is named as long as that may start."
        )
    yield from (_opened(opened) for opened in winter.ways)


def _opened(opened: Opened) -> str:
    how = "Cock" if opened.kind == "drains" else "Valve"
    by = f", in use opened by '{opened.sequence}'" if opened.sequence else ""
    place = ", only at a place that takes waste" if opened.waste else ""
    spring = ". It closes by itself: hold it open until nothing more runs" if opened.springs else ""
    return f"{how} {opened.name}, {opened.height:.2f} m above the ground{by}{place}{spring}."


def _last(rig: Rig, drainage: Drainage, winter: Winter) -> Iterator[str]:
    for name in winter.pumps:
        yield _pump(rig, name)
    kept = [f"{stays.part} ({_ml(stays.volume)})" for stays in drainage.stays if stays.why != "vessel"]
    if kept:
        bar = from_si(BLOWN, "bar")
        yield f"Blow out with air, {bar:g} bar at most, taps open, from the pump outwards: {', '.join(kept)}."
    vessels = [f"{stays.part} ({_litres(stays.volume)})" for stays in drainage.stays if stays.why == "vessel"]
    if vessels:
        yield f"Open the drain plug of {', '.join(vessels)}, once it is cold."
    if rig.filters:
        yield f"Unscrew the housings of {', '.join(rig.filters)} and pour them out."
    if winter.waste:
        yield f"Empty {', '.join(winter.waste)} again, and soak up what stands in the water seals of drains."
    note = " Hang a note on the heater: no heat without water." if rig.heaters else ""
    yield f"Leave taps and cocks open and hand valves half open, so that no ball keeps water.{note}"


def _pump(rig: Rig, name: str) -> str:
    pump = rig.pumps[name]
    if pump.wired is not None and pump.wired.made == "wet":
        held = f"its float '{pump.wired.switch}' keeps it from running dry"
        return f"{name} keeps water in its chambers, and {held}: loosen both its hoses and let it drip out."
    time = DRY if pump.dry_run_limit is None else min(pump.dry_run_limit, DRY)
    return f"{name}: fuse in, let it run dry for {time:.0f} s at most to empty its chambers, fuse out again."


def _again(rig: Rig) -> Iterator[str]:
    heaters = f" Fill {', '.join(rig.heaters)} until its taps run without air before any heat." if rig.heaters else ""
    yield f"Before use again: close all, fill slowly, look for leaks, disinfect.{heaters}"


# --- what is due -------------------------------------------------------------------------------------


def _calendar(view: View) -> Iterator[Judgement]:
    rig = view.rig
    stated = {
        "upkeep.disinfect": rig.upkeep.disinfect is not None or not wetted(view.ways),
        "upkeep.proof_test": rig.upkeep.proof_test is not None or not rig.interlocks,
        "upkeep.calibrate": rig.upkeep.calibrate is not None or not (rig.senders or rig.meters),
    }
    missing = tuple(field for field, known in stated.items() if not known)
    if missing:
        yield Judgement("K30", rig.rig, "LOOK", "the calendar does not hold what has no interval", missing)
    elif due := tasks(rig):
        yield Judgement("K30", rig.rig, "PASS", ", ".join(f"{task.title} each {task.days} d" for task in due))


def _due_table(rig: Rig) -> list[Table]:
    columns = (Column("What"), Column("Each", "time"), Column("How"))
    rows: tuple[tuple[Cell, ...], ...] = tuple((task.title, 86400.0 * task.days, task.what) for task in tasks(rig))
    return [Table("What is due", columns, rows)] if rows else []
