"""The section on electricity: wires, fuses, starts at low battery, a usual day, the handset."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.electrics.batteries import HandsetLife, exponent_of, handset_life
from ullage.electrics.circuits import Circuit, circuits_of, feed_drop, guard_of, nominal, start_voltage, wire_resistance
from ullage.electrics.conductors import carries, least_area, sizes_for
from ullage.electrics.days import DAY, USABLE, Day, usual_day
from ullage.electrics.fuses import least_rating, suggested
from ullage.quantities import from_si
from ullage.review.judgement import Grade, Judgement, graded
from ullage.review.matter import Bars, Cell, Column, Section, Table
from ullage.rig.model import Rig
from ullage.rig.supply import Wire
from ullage.rig.view import View

SAFETY_DROP, OTHER_DROP = 0.03, 0.10
"""Part of the nominal voltage that may be lost, by what the wire serves (ABYC E-11, row ELE-07)."""

DAYS_ALONE = 2.0 * DAY
"""Less than this on battery alone is looked at [s]: two days of rain (common practice, no source)."""

HANDSET_WEEK = 7.0 * DAY
"""A handset that lives less on one charge is looked at [s] (common practice, no source)."""

CAUTIONS = (
    "A battery drives thousands of amperes through a spanner: disconnect it before you work, and fuse its own wire.",
    "Wires, fuses and charging follow local codes; what you are not trained for is done by a licensed electrician.",
)

Pair = tuple[Circuit, Circuit | None]
"""A part with the board that feeds it."""


def section(view: View) -> Section:
    """The section on electricity.

    Parameters
    ----------
    view : View
        A rig that is not refused.
    """
    rig = view.rig
    circuits = circuits_of(rig)
    boards = {circuit.name: circuit for circuit in circuits if circuit.field.startswith("boards.")}
    pairs = [(circuit, boards.get(circuit.board or "")) for circuit in circuits]
    wired = [(circuit, board) for circuit, board in pairs if circuit.wire is not None]
    day, life = usual_day(rig, circuits), None if rig.handset is None else handset_life(rig.handset)
    judgements = (*_unwired(circuits), *_wires(rig, wired), *_starts(rig, wired), _day(day), *_handset(rig, life))
    matter = (_wire_table(rig, wired), _fuse_table(wired), _start_table(rig, wired), *_day_matter(rig, day))
    shown = tuple(part for part in (*matter, *_handset_matter(rig, life)) if not isinstance(part, Table) or part.rows)
    return Section("electric", "Electricity", shown, tuple(judgements), tuple(_assumed(rig, wired)), CAUTIONS)


def _assumed(rig: Rig, wired: list[Pair]) -> Iterator[str]:
    """What stands in for what the file does not say."""
    unclassed = [circuit.name for circuit, _ in wired if circuit.wire and circuit.wire.serves is None]
    if unclassed:
        yield f"A wire that may lose 10 % (wire.serves): {', '.join(unclassed)}."
    yield from _usual(rig)
    if rig.power.usable is None:
        yield f"A battery of which {100 * USABLE:.0f} % is let go before it is charged (power.usable)."
    if rig.power.quicker is None:
        yield "A battery that gives its whole capacity however fast it is emptied (power.quicker)."


def _usual(rig: Rig) -> Iterator[str]:
    """Figures for which the file trusts the usual ones of the model, each with the parts that it is usual for."""
    trusts: dict[str, list[str]] = {}
    for name, pump in rig.pumps.items():
        if "draws" not in pump.model_fields_set:
            trusts.setdefault(f"A current of {pump.draws:g} A (pumps.NAME.draws)", []).append(name)
    motors = {name: valve.motor for name, valve in rig.valves.items() if valve.motor is not None}
    for name, motor in motors.items():
        if "draws" not in motor.model_fields_set:
            trusts.setdefault(f"A current of {motor.draws:g} A (valves.NAME.motor.draws)", []).append(name)
        if "least_voltage" not in motor.model_fields_set:
            words = f"A motor that moves from {motor.least_voltage:g} V on (valves.NAME.motor.least_voltage)"
            trusts.setdefault(words, []).append(name)
    yield from (f"{words}: {', '.join(names)}." for words, names in trusts.items())
    stated, power = rig.power.model_fields_set, rig.power
    usual = {
        "voltage": f"A battery of {power.voltage:g} V",
        "capacity": f"A battery of {from_si(power.capacity, 'Ah'):g} Ah",
        "rated_over": f"A capacity that is given within {from_si(power.rated_over, 'h'):g} h",
        "least": f"Boards that stop below {power.least:g} V",
    }
    yield from (f"{words} (power.{field})." for field, words in usual.items() if field not in stated)


# --- wires and fuses -----------------------------------------------------------------------------


def _allowed(wire: Wire) -> float:
    return SAFETY_DROP if wire.serves == "safety" else OTHER_DROP


def _unwired(circuits: tuple[Circuit, ...]) -> Iterator[Judgement]:
    """One judgement on all parts whose wire is not described."""
    missing = tuple(f"{circuit.field}.wire" for circuit in circuits if circuit.wire is None)
    if missing:
        named = ", ".join(circuit.name for circuit in circuits if circuit.wire is None)
        because = f"no wire is described for {named}: drop, fuse and starts are open"
        yield Judgement("E10", "wires", "LOOK", because, missing)


def _wires(rig: Rig, wired: list[Pair]) -> Iterator[Judgement]:
    for circuit, board in wired:
        assert circuit.wire is not None
        yield _drop(rig, circuit, circuit.wire, board)
        yield _ampacity(circuit, circuit.wire)
        yield _fuse(circuit, circuit.wire, board)


def _drop(rig: Rig, circuit: Circuit, wire: Wire, board: Circuit | None) -> Judgement:
    before = feed_drop(circuit, board)
    if before is None:
        assert board is not None
        because = f"the wire of its board {board.name} is not described"
        return Judgement("E10", circuit.name, "LOOK", because, (f"{board.field}.wire",))
    system, own = nominal(rig.power.voltage), circuit.running * wire_resistance(wire)
    lost, allowed = (before + own) / system, _allowed(wire)
    because = (
        f"{circuit.running:.3g} A lose {own:.2f} V in its wire and {before:.2f} V before it: "
        f"{100 * lost:.1f} % of {system:g} V, {100 * allowed:.0f} % may be lost"
    )
    grade = graded(lost, allowed)
    if grade != "PASS":
        because += f"; {_size_words(_needed(rig, circuit, wire, board, allowed))} would do"
    return Judgement("E10", circuit.name, grade, because)


def _needed(rig: Rig, circuit: Circuit, wire: Wire, board: Circuit | None, allowed: float) -> float | None:
    """Cross-section that a part's own wire needs for a drop class [m2]; None: its board's wire takes all of it."""
    left = allowed * nominal(rig.power.voltage) - (feed_drop(circuit, board) or 0.0)
    return least_area(circuit.running, 2.0 * wire.length, left) if left > 0.0 else None


def _size_words(area: float | None) -> str:
    """A size that is sold, in both systems."""
    if area is None:
        return "a thicker wire to its board"
    sizes = sizes_for(area)
    words = [f"{from_si(sizes.metric, 'mm2'):g} mm2"] if sizes.metric is not None else []
    return " or ".join([*words, *([sizes.gauge] if sizes.gauge else [])]) or "no wire that is sold"


def _ampacity(circuit: Circuit, wire: Wire) -> Judgement:
    may, size = carries(wire.size), from_si(wire.size, "mm2")
    if may == 0.0:
        because = f"{size:.3g} mm2 is thinner than the table of the standard begins, so what it carries is open"
        return Judgement("E11", circuit.name, "LOOK", because)
    because = f"{circuit.running:.3g} A in use, {size:.3g} mm2 carries {may:g} A"
    return Judgement("E11", circuit.name, graded(circuit.running, may, may), because)


def _fuse(circuit: Circuit, wire: Wire, board: Circuit | None) -> Judgement:
    may, guard, least = carries(wire.size), guard_of(circuit, board), _stands(circuit)
    fuse = suggested(least, may)
    advice = f"{fuse:g} A is suggested" if fuse is not None else "no fuse suits both: a thicker wire first"
    if guard is None:
        because = f"no fuse is stated for a wire that carries {may:g} A; {advice}"
        return Judgement("E12", circuit.name, "LOOK", because, (f"{circuit.field}.wire.fuse",))
    whose = "its fuse" if wire.fuse is not None else "the fuse of its board"
    if may == 0.0:
        return Judgement("E12", circuit.name, "LOOK", f"{whose} has {guard:g} A; what so thin a wire carries is open")
    if guard > may:
        because = f"{whose} has {guard:g} A and the wire carries {may:g} A; {advice}"
        return Judgement("E12", circuit.name, "STOP", because)
    if guard < least and wire.fuse is not None:
        because = f"{whose} has {guard:g} A, and use and starts ask for {least:.3g} A: it ages and blows; {advice}"
        return Judgement("E12", circuit.name, "LOOK", because)
    because = f"{whose} has {guard:g} A: {circuit.running:.3g} A flow in use, the wire carries {may:g} A"
    return Judgement("E12", circuit.name, "PASS", because)


def _stands(circuit: Circuit) -> float:
    """What the fuse of a part has to stand [A]."""
    return least_rating(circuit.running, circuit.starting or 0.0)


def _wire_table(rig: Rig, wired: list[Pair]) -> Table:
    columns = (
        Column("Part"), Column("Size", "area"), Column("One way", "length"), Column("Current", "current"),
        Column("Drop in its wire", "voltage"), Column("Drop from the battery", "fraction"), Column("Serves"),
        Column("Least wire for 3 %"), Column("Least wire for 10 %"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for circuit, board in wired:
        wire, before = circuit.wire, feed_drop(circuit, board)
        assert wire is not None
        own = circuit.running * wire_resistance(wire)
        whole = None if before is None else (before + own) / nominal(rig.power.voltage)
        sizes = (
            "" if before is None else _size_words(_needed(rig, circuit, wire, board, allowed))
            for allowed in (SAFETY_DROP, OTHER_DROP)
        )
        served = wire.serves or "not stated"
        rows.append((circuit.name, wire.size, wire.length, circuit.running, own, whole, served, *sizes))
    note = (
        "Copper at 50 degC, there and back. What a board drives is fed through the board's wire, "
        "and that is reckoned with all of it running at once."
    )
    return Table("Wires", columns, tuple(rows), note)


def _fuse_table(wired: list[Pair]) -> Table:
    columns = (
        Column("Part"), Column("Current in use", "current"), Column("Wire carries", "current"),
        Column("Fuse before it", "current"), Column("Fuse suggested", "current"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for circuit, board in wired:
        assert circuit.wire is not None
        may = carries(circuit.wire.size)
        rows.append((circuit.name, circuit.running, may, guard_of(circuit, board), suggested(_stands(circuit), may)))
    note = "A wire is guarded by its own fuse, else by that of its board. The suggestion is the least that lasts."
    return Table("Fuses", columns, tuple(rows), note)


# --- starts at low battery -------------------------------------------------------------------------


def _starters(wired: list[Pair]) -> list[Pair]:
    """Pumps and motor valves with a wire, and loads that state what they need."""

    def starts(circuit: Circuit) -> bool:
        group = circuit.field.partition(".")[0]
        return group != "boards" and not (group == "loads" and circuit.least_voltage is None)

    return [(circuit, board) for circuit, board in wired if starts(circuit)]


def _starts(rig: Rig, wired: list[Pair]) -> Iterator[Judgement]:
    for circuit, board in _starters(wired):
        because, open_for = _start_words(rig, circuit, board), _start_missing(circuit, board)
        has = start_voltage(rig, circuit, board)
        enough = has is not None and circuit.least_voltage is not None and has >= circuit.least_voltage
        grade: Grade = "PASS" if enough and not open_for else "LOOK"
        yield Judgement("E13", circuit.name, grade, because, open_for)


def _start_missing(circuit: Circuit, board: Circuit | None) -> tuple[str, ...]:
    """Fields without which it is open whether a part starts."""
    fields = {
        f"{circuit.field}.least_voltage": circuit.least_voltage is None,
        f"{circuit.field}.inrush": circuit.starting is None,
        f"{board.field}.wire" if board is not None else "": board is not None and board.wire is None,
    }
    return tuple(field for field, lacks in fields.items() if lacks)


def _start_words(rig: Rig, circuit: Circuit, board: Circuit | None) -> str:
    has = start_voltage(rig, circuit, board)
    if has is None:
        return f"the wire of its board {circuit.board} is not described"
    words = f"with {rig.power.least:g} V at the battery's fuses it has {has:.2f} V"
    if circuit.starting is None:
        words += f" with the {circuit.running:.3g} A of use; at the start it draws more, and that is not stated"
    else:
        words += f" with {circuit.starting:.3g} A"
    needs = "what it needs is not stated" if circuit.least_voltage is None else f"it needs {circuit.least_voltage:g} V"
    return f"{words}; {needs}"


def _start_table(rig: Rig, wired: list[Pair]) -> Table:
    columns = (
        Column("Part"), Column("Current at the start", "current"), Column("Voltage it has", "voltage"),
        Column("Voltage it needs", "voltage"),
    )  # fmt: skip
    rows = tuple(
        (circuit.name, circuit.starting, start_voltage(rig, circuit, board), circuit.least_voltage)
        for circuit, board in _starters(wired)
    )
    note = (
        f"The battery at its least, {rig.power.least:g} V. Others on the same board run meanwhile; none starts with it."
    )
    return Table("Starts at low battery", columns, rows, note)


# --- a usual day -----------------------------------------------------------------------------------


def _day(day: Day) -> Judgement:
    if day.charge <= 0.0:
        because = "of nothing it is known both what it draws and for how long each day"
        return Judgement("E20", "battery", "LOOK", because, day.unknown)
    because = (
        f"{from_si(day.charge, 'Ah'):.1f} Ah a day are gone after {from_si(day.lasts, 'd'):.1f} days without a charge"
    )
    if day.unknown:
        return Judgement("E20", "battery", "LOOK", f"{because}, and not all is known", day.unknown)
    return Judgement("E20", "battery", "PASS" if day.lasts >= DAYS_ALONE else "LOOK", because)


def _day_matter(rig: Rig, day: Day) -> Iterator[Table | Bars]:
    columns = (Column("What"), Column("Charge", "charge"), Column("Energy", "energy"), Column("Share", "fraction"))
    if day.charge <= 0.0:
        return
    rows = tuple((name, charge, charge * rig.power.voltage, charge / day.charge) for name, charge in day.loads)
    whole = ("all", day.charge, day.charge * rig.power.voltage, 1.0)
    peukert = exponent_of(rig.power)
    note = f"Peukert's exponent of the battery: {peukert:.3g}." if rig.power.quicker is not None else ""
    yield Table("A usual day", columns, (*rows, whole), note)
    yield Bars("What a usual day is made of", "charge", (("a day", day.loads),))


# --- the handset -----------------------------------------------------------------------------------


def _handset(rig: Rig, life: HandsetLife | None) -> Iterator[Judgement]:
    if rig.handset is None:
        return
    if life is None:
        stated = {"battery": rig.handset.battery, "sleeps": rig.handset.sleeps, "wakes": rig.handset.wakes or None}
        missing = tuple(f"handset.{field}" for field, value in stated.items() if value is None)
        yield Judgement("E30", "handset", "LOOK", "its battery or its duty cycle is not stated", missing)
        return
    because = (
        f"{from_si(life.mean, 'mA'):.3g} mA on average: {from_si(life.new, 'd'):.1f} days, "
        f"{from_si(life.old, 'd'):.1f} with an old battery"
    )
    yield Judgement("E30", "handset", "PASS" if life.old >= HANDSET_WEEK else "LOOK", because)


def _handset_matter(rig: Rig, life: HandsetLife | None) -> Iterator[Table | Bars]:
    if life is None or life.mean <= 0.0:
        return
    columns = (Column("What for"), Column("Mean current", "current"), Column("Share", "fraction"))
    rows = tuple((name, current, current / life.mean) for name, current in life.shares)
    note = "The life of an old battery is reckoned with four fifths of its charge."
    yield Table("Handset", columns, (*rows, ("all", life.mean, 1.0)), note)
    yield Bars("What empties the handset", "current", (("the handset", life.shares),))
