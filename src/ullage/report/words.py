"""What happened, in plain sentences: records with the names of their rows put back.

Each kind of record has one small function in `_TELL`; a kind without one is a fault of ours
that a test finds. `weight` says how much a sentence matters, so that a page can show the
story first and the small print on request.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ullage.control import codes
from ullage.control.program import Program
from ullage.control.record import Record
from ullage.control.timers import ARMED_MS
from ullage.plant import words as plant
from ullage.plant.codes import NO_SUPPLY
from ullage.plant.faults import JERRYCAN, Fault
from ullage.plant.faults import KINDS as FAULT_KINDS
from ullage.quantities import split
from ullage.report.limbs import acted
from ullage.report.quantity_words import System, clock, duration, figures, millilitres, quantity
from ullage.rig.model import Rig

FINE, USUAL, MAIN, ALARM = range(4)
"""Weights: small print; part of the story; a turn of the story; something that should not happen."""

WEIGHTS = ("fine", "usual", "main", "alarm")


@dataclass(frozen=True, slots=True)
class Sentence:
    """One happening for people.

    Attributes
    ----------
    now_ms : int
        When [ms since the start].
    text : str
        A sentence.
    weight : int
        FINE, USUAL, MAIN or ALARM.
    """

    now_ms: int
    text: str
    weight: int

    def __str__(self) -> str:
        return f"{clock(self.now_ms)}  {self.text}"


@dataclass(frozen=True, slots=True)
class Names:
    """Where the names of rows come from.

    Attributes
    ----------
    rig : Rig
        Parts, in the order of the file.
    program : Program
        Rows of the law.
    faults : sequence of Fault
        Of the run.
    stands : sequence of str
        Names of the stands of the rig.
    system : str
        Units.
    """

    rig: Rig
    program: Program
    faults: Sequence[Fault] = ()
    stands: Sequence[str] = ()
    system: System = field(default="metric")

    def part(self, kind: str, row: int) -> str:
        """Name of a part of the rig by its kind (``tanks``) and row."""
        parts: dict[str, object] = getattr(self.rig, kind)
        return list(parts)[row]


def sentences(records: Iterable[Record], names: Names) -> list[Sentence]:
    """Every record as a sentence, in order; a sequence that is complete says what its last step announces."""
    steps, last = names.program.names, names.program.tables.step_final
    announced: dict[int, str] = {}
    entered: dict[str, int] = {}
    latest: dict[tuple[int, int], int] = {}
    told: list[Sentence] = []
    for record in records:
        said = _since(record, sentence(record, names), names, latest)
        latest[record.kind, record.row] = record.value
        if record.kind == codes.R_TRANSITION:
            said = _opened(record, names, entered)
        if record.kind == codes.R_STEP and record.value:
            entered[steps.steps[record.row]] = record.now_ms
        if record.kind == codes.R_STEP and record.value and last[record.row]:
            announced[record.detail] = " ".join(steps.says[record.row].split())
        elif record.kind == codes.R_STATE and record.value == codes.COMPLETE:
            said = replace(said, text=f"{said.text} {announced.get(record.row, '')}".rstrip())
        told.append(said)
    return told


def _since(record: Record, said: Sentence, names: Names, latest: Mapping[tuple[int, int], int]) -> Sentence:
    """A sentence in the light of what the latest record of a kind and row said.

    A latched interlock has never let go and does not trip again; a part that was at rest without its power
    is small print, since nothing changes for it.
    """
    kind, row, value = record.kind, record.row, record.value
    if kind == codes.R_INTERLOCK and value == codes.TRIPPED and latest.get((kind, row)) == codes.LATCHED:
        name = names.program.names.interlocks[row]
        return replace(said, text=f"The reason of interlock {name} is back; it still acts.", weight=USUAL)
    if kind == plant.P_LAPSE and value and record.detail == NO_SUPPLY:
        safe = names.program.tables.output_safe[row]
        if latest.get((codes.R_DEMAND, row), safe) == safe:
            return replace(said, weight=FINE)
    return said


def sentence(record: Record, names: Names) -> Sentence:
    """One record as a sentence."""
    text, weight = _TELL[record.kind](record, names)
    return Sentence(record.now_ms, text, weight)


Told = tuple[str, int]


def _ready(r: Record, n: Names) -> Told:
    if r.detail:
        return "Every reading has come in; the sequences may begin.", USUAL
    return "The sequences may begin, though some readings are missing.", MAIN


def _quality(r: Record, n: Names) -> Told:
    name = n.program.names.signals[r.row].name
    if r.value == codes.GOOD:
        return (f"{name} reads well again.", USUAL) if r.detail != codes.NEVER else (f"{name} is first read.", FINE)
    words = ("reads well", "grows old: no fresh reading comes", "reads nonsense", "was never read")
    return f"{name} {words[r.value]}.", MAIN


def _command(r: Record, n: Names) -> Told:
    name, command = n.program.names.sequences[r.row], codes.COMMANDS[r.value]
    if r.detail == codes.BY_COMMAND:
        return f"{name}: {command} is accepted.", FINE
    if r.detail == codes.NEEDS_CONFIRMING:
        return f"{name}: {command} waits for a person to confirm.", FINE
    return f"{name}: {command} is refused ({codes.CAUSES[r.detail]}).", MAIN


def _wish(r: Record, n: Names) -> Told:
    name, _, parameter = n.program.names.parameters[r.row].partition(".")
    stated = n.rig.sequences[name].parameters[parameter]
    number, unit = split(stated.most)
    wish = number * r.value / (n.program.tables.parameter_most[r.row] or 1)
    bounds = f"'{parameter}' may be {stated.least} to {stated.most}"
    return f"{name} does not start: {bounds}, and {figures(wish)} {unit} is wished.", MAIN


def _state(r: Record, n: Names) -> Told:
    name, state, cause = n.program.names.sequences[r.row], codes.STATES[r.value], codes.CAUSES[r.detail]
    if r.value == codes.COMPLETE:
        return f"{name} is complete.", MAIN
    if r.value == codes.IDLE and r.detail == codes.NOT_RELEASED:
        return f"{name} does not begin by itself again: it {cause}.", MAIN
    if r.value == codes.IDLE:
        return f"{name} is idle ({cause}).", MAIN if r.detail == codes.FORGOTTEN else FINE
    if r.value == codes.RUNNING and r.detail in _BEGINS:
        return f"{name} {_BEGINS[r.detail]}.", MAIN
    wrong = r.value in (codes.HOLDING, codes.HELD, codes.ABORTING, codes.ABORTED)
    told = MAIN if r.value in (codes.RUNNING, codes.STOPPED) else ALARM if wrong else USUAL
    return f"{name} is {state} ({cause}).", told


_BEGINS = {
    codes.BY_COMMAND: "begins, by command",
    codes.BY_ITSELF: "begins by itself",
    codes.BY_GESTURE: "begins, by a gesture",
}
"""How a sequence that starts to run is told, by its cause."""


def _transition(r: Record, n: Names) -> Told:
    way, _, condition = n.program.names.transitions[r.row].partition(" when ")
    because = f", since {condition}" if condition else ""
    return f"{n.program.names.sequences[r.detail]}: {way}{because}.", FINE


def _opened(r: Record, n: Names, entered: Mapping[str, int]) -> Sentence:
    """A transition with that limb of its condition that opened it, where the times tell; a time-out is a turn."""
    sequence = n.program.names.sequences[r.detail]
    way, _, condition = n.program.names.transitions[r.row].partition(" when ")
    since = max(
        (entered.get(f"{sequence}.{step}", 0) for step in re.findall(r"\w+", way.partition("->")[0])), default=0
    )
    if not condition:
        return sentence(r, n)
    limb, late = acted(condition, r.now_ms - since, n.program.scan_ms)
    if late:
        return Sentence(r.now_ms, f"{sequence} goes on by its time limit: {way} {limb}.", MAIN)
    return Sentence(r.now_ms, f"{sequence}: {way}, since {limb}.", FINE)


def _step(r: Record, n: Names) -> Told:
    sequence, _, step = n.program.names.steps[r.row].partition(".")
    if not r.value:
        return f"{sequence} leaves step '{step}'.", FINE
    says = " ".join(n.program.names.says[r.row].split())
    return f"{sequence} enters step '{step}'{': ' + says if says else '.'}", USUAL if says else FINE


def _interlock(r: Record, n: Names) -> Told:
    name = n.program.names.interlocks[r.row]
    if r.value == codes.CLEAR:
        return f"Interlock {name} is clear again.", USUAL
    if r.value == codes.LATCHED:
        return f"The reason of interlock {name} is gone; it stays until a person resets it.", USUAL
    drives = driven(n.program, r.row)
    unsure = " because a reading is missing" if r.detail == codes.UNKNOWN else ""
    why = " ".join(n.rig.interlocks[name].why.split())
    return f"Interlock {name} trips{unsure}: {drives}. {why}", ALARM if n.program.names.alarming[r.row] else USUAL


def driven(program: Program, interlock: int) -> str:
    """What an interlock drives: ``shore_in closed, shore_guard closed``."""
    t, names = program.tables, program.names
    run = slice(t.drive_first[interlock], t.drive_first[interlock + 1])
    pairs = zip(t.drive_output[run], t.drive_value[run], strict=True)
    return ", ".join(f"{names.outputs[output]} {_value(program, output, value)}" for output, value in pairs)


def _value(program: Program, output: int, value: int) -> str:
    return program.names.output_values[output][value]


def _demand(r: Record, n: Names) -> Told:
    output = n.program.names.outputs[r.row]
    return f"{output} is told: {_value(n.program, r.row, r.value)}.", FINE


def _position(r: Record, n: Names) -> Told:
    valve = n.program.names.valves[r.row]
    goal = "open" if r.detail == codes.OPEN else "closed"
    if r.value == codes.FAILED:
        return f"{valve} does not get {goal} in its time.", ALARM
    if r.value == codes.TRAVELLING:
        return f"{valve} is on its way to {goal}.", FINE
    if r.value == codes.NOT_KNOWN:
        return f"Where {valve} stands is not known.", MAIN
    return f"{valve} counts as {codes.POSITIONS[r.value]}.", FINE


def _armed(r: Record, n: Names) -> Told:
    name = n.program.names.sequences[r.row]
    if r.value:
        return f"{name} is armed and waits {ARMED_MS / 1000:g} s for a person to confirm.", MAIN
    return f"{name} was not confirmed within {ARMED_MS / 1000:g} s: it does not start.", MAIN


def _switch(r: Record, n: Names) -> Told:
    pressure = quantity(r.detail, "pressure", n.system)
    verb = "closes" if r.value else "opens"
    return f"The pressure switch of {n.part('pumps', r.row)} {verb} at {pressure}.", FINE


def _float(r: Record, n: Names) -> Told:
    return f"{n.part('floats', r.row)} {'rises' if r.value else 'falls'} in the wire of a coil.", MAIN


def _uncovered(r: Record, n: Names) -> Told:
    tank = n.part("tanks", r.detail)
    return (f"An outlet of {tank} stands dry.", MAIN) if r.value else (f"An outlet of {tank} is under water.", FINE)


def _overflow(r: Record, n: Names) -> Told:
    tank = n.part("tanks", r.row)
    if r.value:
        return f"{tank} runs out of its overflow.", ALARM
    return f"{tank} no longer overflows; {millilitres(r.detail, n.system)} have left it so far.", ALARM


def _brim(r: Record, n: Names) -> Told:
    tank = n.part("tanks", r.row)
    return (f"{tank} is full to the brim.", ALARM) if r.value else (f"{tank} is below its brim again.", USUAL)


def _empty(r: Record, n: Names) -> Told:
    tank = n.part("tanks", r.row)
    return (f"{tank} is empty.", MAIN) if r.value else (f"{tank} is no longer empty.", USUAL)


def _cushion(r: Record, n: Names) -> Told:
    name = n.part("accumulators", r.row)
    return (f"{name} takes water again.", FINE) if r.value else (f"{name} has given all its water.", FINE)


def _valve(r: Record, n: Names) -> Told:
    valve = n.part("valves", r.row)
    words = ("is closed", "is open", f"stops {figures(r.detail / 10)} % open", "sets out")
    return f"{valve} {words[r.value]}.", MAIN if r.value == 2 else FINE


def _pump(r: Record, n: Names) -> Told:
    return f"{n.part('pumps', r.row)} {'turns' if r.value else 'stands'}.", FINE


def _dry(r: Record, n: Names) -> Told:
    pump = n.part("pumps", r.row)
    if r.value:
        return f"{pump} runs dry.", ALARM
    return f"{pump} no longer runs dry, after {duration(r.detail)} in all.", ALARM


def _tap(r: Record, n: Names) -> Told:
    if r.row < 0:
        return f"Somebody turns {n.part('valves', -1 - r.row)} to {figures(r.value / 10)} % open.", USUAL
    name = n.part("fixtures", r.row)
    if not r.value:
        return f"{name} is turned off.", USUAL
    wide = f" to {figures(r.value / 10)} %" if r.value < 1000 else ""
    return f"Somebody opens {name}{wide}.", USUAL


def _hose(r: Record, n: Names) -> Told:
    port = n.part("ports", r.row)
    lasting = n.rig.ports[port].lasting
    if not r.value:
        return f"Nothing comes from {port} any more." if lasting else f"The hose at {port} is taken off.", MAIN
    pressure = f" at {quantity(r.detail, 'pressure', n.system)}" if n.rig.ports[port].kind == "supply" else ""
    return f"{port} gives water{pressure}." if lasting else f"A hose is connected to {port}{pressure}.", MAIN


def _fault(r: Record, n: Names) -> Told:
    if r.row >= len(n.faults):
        return f"Fault: {FAULT_KINDS[r.detail].words}.", ALARM
    fault = n.faults[r.row]
    if fault.kind == JERRYCAN:
        return _poured(r, fault, n)
    if not r.value:
        return f"The fault '{fault}' is over.", MAIN
    return f"Fault '{fault}': {FAULT_KINDS[fault.kind].words}.", ALARM


def _poured(r: Record, fault: Fault, n: Names) -> Told:
    """Pouring is an ordinary thing to do: the catalogue of faults only knows how."""
    if not r.value:
        return f"All of it is poured into {fault.part}.", USUAL
    return f"Somebody pours {quantity(fault.amount, 'volume', n.system)} into {fault.part}.", USUAL


def _lapse(r: Record, n: Names) -> Told:
    output = n.program.names.outputs[r.row]
    if not r.value:
        return f"{output} is driven again.", USUAL
    if r.detail == NO_SUPPLY:
        return f"{output} has no power: {_unpowered(n.rig, output)}.", ALARM
    goal = _value(n.program, r.row, r.detail)
    return f"Nobody tells {output} anything any more; its board by itself drives it {goal}.", ALARM


def _unpowered(rig: Rig, output: str) -> str:
    """What a part does that loses its power."""
    if output not in rig.valves:
        return "it stands still" if output in rig.pumps else "it is dark"
    motor = rig.valves[output].motor
    return _UNPOWERED[(motor.without_power if motor else None) or "stays"]


_UNPOWERED = {
    "stays": "it stays where it is",
    "spring closed": "its spring closes it",
    "spring open": "its spring opens it",
    "stored charge closed": "its stored charge closes it, if it is full",
}
"""What a valve without power does, by what its motor says."""


def _power(r: Record, n: Names) -> Told:
    volts = f"{r.detail / 1000:.1f} V"
    return (f"The power is on ({volts}).", MAIN) if r.value else (f"The power is gone ({volts}).", ALARM)


def _controller(r: Record, n: Names) -> Told:
    return ("The controller starts.", MAIN if r.now_ms else FINE) if r.value else ("The controller is gone.", ALARM)


def _attitude(r: Record, n: Names) -> Told:
    return f"The handset is {codes.ATTITUDES[r.value]}.", USUAL


def _person(r: Record, n: Names) -> Told:
    return f"A person gives the command: {codes.COMMANDS[r.value]} {n.program.names.sequences[r.row]}.", USUAL


def _stand(r: Record, n: Names) -> Told:
    stand = n.stands[r.row] if r.row < len(n.stands) else f"stand {r.row + 1}"
    return f"The rig stands: {stand}.", USUAL


def _moving(r: Record, n: Names) -> Told:
    return f"The rig {'moves off' if r.value else 'stands still'}.", MAIN


def _indoors(r: Record, n: Names) -> Told:
    tank = n.part("tanks", r.row)
    if r.value:
        return f"Water from {tank} runs indoors!", ALARM
    return f"No more water from {tank} runs indoors; {millilitres(r.detail, n.system)} lie on the floor.", ALARM


def _prime(r: Record, n: Names) -> Told:
    line = n.rig.lines[r.row]
    what = "stands full over its crest" if r.value else "has drawn air and stands empty at its crest"
    return f"The line from {line.start} to {line.end} {what}.", MAIN


def _harmed(r: Record, n: Names) -> Told:
    return f"{n.part('pumps', r.row)} has run dry for {duration(r.detail)} on end, longer than it may.", ALARM


def _moment(r: Record, n: Names) -> Told:
    return f"{n.part('tanks', r.row)} holds {millilitres(r.value, n.system)}.", FINE


_TELL: dict[int, Callable[[Record, Names], Told]] = {
    codes.R_READY: _ready,
    codes.R_QUALITY: _quality,
    codes.R_COMMAND: _command,
    codes.R_STATE: _state,
    codes.R_TRANSITION: _transition,
    codes.R_STEP: _step,
    codes.R_INTERLOCK: _interlock,
    codes.R_DEMAND: _demand,
    codes.R_POSITION: _position,
    codes.R_ARMED: _armed,
    codes.R_WISH: _wish,
    plant.P_SWITCH: _switch,
    plant.P_UNCOVERED: _uncovered,
    plant.P_OVERFLOW: _overflow,
    plant.P_BRIM: _brim,
    plant.P_TANK_EMPTY: _empty,
    plant.P_CUSHION: _cushion,
    plant.P_VALVE: _valve,
    plant.P_PUMP: _pump,
    plant.P_DRY: _dry,
    plant.P_TAP: _tap,
    plant.P_HOSE: _hose,
    plant.P_FAULT: _fault,
    plant.P_LAPSE: _lapse,
    plant.P_POWER: _power,
    plant.P_CONTROLLER: _controller,
    plant.P_ATTITUDE: _attitude,
    plant.P_COMMAND: _person,
    plant.P_STAND: _stand,
    plant.P_MOVING: _moving,
    plant.P_INDOORS: _indoors,
    plant.P_MOMENT: _moment,
    plant.P_PRIME: _prime,
    plant.P_HARMED: _harmed,
    plant.P_FLOAT: _float,
}
"""How each kind of record is told."""
