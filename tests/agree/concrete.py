"""Runs of the simulated closed loop that anything may befall, looked at after every scan.

What is done is drawn by a seed and dense in time: commands and resets, taps, hoses and what stands
in them, hands on valves, slopes, senders at the ends of their errors, links that go and come. The
proof leaves no more to an operator than that, so what is seen here it must have foreseen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from random import Random

from tests.shipped import EXAMPLES
from ullage.control import codes
from ullage.control import layout as law
from ullage.control.check import Examined, examine
from ullage.control.layout import of
from ullage.control.program import Program
from ullage.control.record import LOG_HEAD, WIDTH
from ullage.kernels import compiled
from ullage.plant import happenings as h
from ullage.plant import layout as at
from ullage.plant.bands import Bands, Turn
from ullage.plant.codes import CONTROLLER_ON
from ullage.plant.faults import JERRYCAN, LINK_DELAYED, LINK_DUPLICATED, LINK_LOST, POUR_RATE, Fault, single_faults
from ullage.plant.flow import volume_at
from ullage.plant.harmed import harms_of
from ullage.plant.motors import opening_at
from ullage.plant.words import P_PUMP, P_VALVE
from ullage.prove.charts import good_row
from ullage.rig.meaning import Law
from ullage.rig.model import Rig, Slope
from ullage.rig.shapes import capacity
from ullage.simulate.happenings import Happening
from ullage.simulate.run import Stage, play_on, set_up
from ullage.simulate.scenario import Scenario

RIGS = ("marram", "crumb", "turnstone", "bothy")

SCANS = 240
"""Scans of a run."""

BUSY = 0.2
"""How often a scan has something done in it."""

NEAR = 1e-3
"""So near to where a row of the law turns many tanks begin [m3]."""

ML = 1e6


COMMANDS = (*[codes.START] * 6, *[codes.CONFIRM] * 3, *[codes.RESET] * 2, *range(1, 10))
"""What somebody commands, the usual more often."""


@cache
def examined(name: str) -> Examined:
    """A rig of the examples, examined."""
    path = EXAMPLES / "rigs" / f"{name}.yaml"
    return examine(path.read_bytes(), path.name)


def shipped(name: str) -> tuple[Rig, Program]:
    """A rig of the examples, and what it compiles to."""
    rig, program = examined(name).rig, examined(name).program
    assert rig is not None
    assert program is not None
    return rig, program


def law_of(name: str) -> Law:
    """The guards of a rig of the examples."""
    law = examined(name).law
    assert law is not None
    return law


def timeless(faults: tuple[Fault, ...]) -> frozenset[Fault]:
    """Faults without their times, as the proof knows them."""
    return frozenset(Fault(fault.kind, fault.part, fault.other, fault.amount) for fault in faults)


@cache
def bands_of(name: str, faults: frozenset[Fault] = frozenset()) -> Bands:
    """The finite plant of a rig under some faults."""
    rig, program = shipped(name)
    healthy = bands_of(name) if faults else None
    return Bands(rig, program, harms_of(rig, program, sorted(faults, key=str)), healthy)


@cache
def turns_of(name: str, faults: frozenset[Fault]) -> dict[int, Turn]:
    """Where the rows of a rig's law turn that read one tank."""
    bands = bands_of(name, faults)
    found = ((row, bands.turn(row)) for row in range(len(bands.program.tables.op)))
    return {row: turn for row, turn in found if turn is not None}


@dataclass(frozen=True, slots=True)
class Look:
    """What is so right after a scan.

    Attributes
    ----------
    ms : int
        When [ms].
    holds : dict of str to float
        What each tank holds [mL].
    stored : float
        What all accumulators hold [mL].
    opening : dict of str to float
        How far each motor valve is open, without what seeps.
    passing : frozenset of str
        Gates that pass water from now on.
    passed : frozenset of str
        Gates that passed water since the scan before.
    unpoured : dict of str to float
        What somebody is still to pour into each tank [mL].
    lost : frozenset of str
        Boards whose link is lost.
    decides : bool
        Whether the controller runs.
    state, truth : list of int
        The law's state, and the truth of its rows as it was in this scan.
    """

    ms: int
    holds: dict[str, float]
    stored: float
    opening: dict[str, float]
    passing: frozenset[str]
    passed: frozenset[str]
    unpoured: dict[str, float]
    lost: frozenset[str]
    decides: bool
    state: list[int]
    truth: list[int]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A run that was drawn and played: what anyone needs to tell of it, and what was seen."""

    name: str
    rig: Rig
    program: Program
    seed: int
    faults: tuple[Fault, ...]
    looks: tuple[Look, ...]

    def __str__(self) -> str:
        """How to play it again."""
        wrong = ", ".join(f"{fault} from {fault.start_ms} to {fault.end_ms} ms" for fault in self.faults)
        return f"{self.name}, seed {self.seed}, {wrong or 'in health'}"


def drawn_run(name: str, seed: int, wrong: bool) -> Drawn:
    """Play a run of a rig.

    Parameters
    ----------
    name : str
        One of `RIGS`.
    seed : int
    wrong : bool
        Whether faults of the catalogue befall it besides those of its links.
    """
    rig, program = shipped(name)
    draw = Random(f"{name} {seed} {wrong}")
    end_ms = SCANS * program.scan_ms
    faults = tuple(_faults(draw, rig, end_ms, wrong))
    scenario = Scenario(
        hours=end_ms / 3_600_000,
        starts={tank: _start(draw, name, tank) for tank in rig.tanks},
        stands=(_slope(draw, rig), _slope(draw, rig)),
        errors={part: draw.choice((-1.0, 1.0)) for part in (*rig.senders, *rig.meters, *rig.probes)},
        happenings=tuple(sorted(_happenings(draw, rig, program, end_ms), key=lambda one: one.ms)),
    )
    stage = set_up(rig, program, scenario, seed, faults=faults, sample_ms=0, every_scan=True)
    return Drawn(name, rig, program, seed, faults, tuple(_played(stage, program, faults)))


def _played(stage: Stage, program: Program, faults: Iterable[Fault]) -> Iterator[Look]:
    passing: frozenset[str] = frozenset()
    for ms in range(0, stage.end_ms + 1, program.scan_ms):
        told = int(stage.world.records[1])
        play_on(stage, ms)
        left = _unpoured(stage.works.rig, faults, ms)
        look = _look(stage, program, ms, passing | _started(stage, told, ms), left)
        yield look
        passing = look.passing


def _started(stage: Stage, told: int, ms: int) -> frozenset[str]:
    """Gates that started to pass since so much was told, and before a time: they may have stopped again."""
    log, pumps = stage.world.records, stage.works.plumbing.pumps
    rows = [log[LOG_HEAD + WIDTH * k : LOG_HEAD + WIDTH * (k + 1)] for k in range(told, int(log[1]))]
    started = {(int(kind), int(row)) for when, kind, row, value, _ in rows if value and when < ms}
    names = {(P_PUMP, row): name for name, row in pumps.items()}
    names |= {(P_VALVE, row): name for row, name in enumerate(stage.works.rig.valves)}
    return frozenset(names[one] for one in started if one in names)


def _unpoured(rig: Rig, faults: Iterable[Fault], ms: int) -> dict[str, float]:
    """What somebody is still to pour into each tank, unless they stop before [mL]."""
    found = dict.fromkeys(rig.tanks, 0.0)
    for fault in faults:
        if fault.kind == JERRYCAN:
            poured = POUR_RATE * max(min(ms, fault.end_ms) - fault.start_ms, 0) / 1000.0
            found[fault.part] += ML * max(fault.amount - poured, 0.0)
    return found


def _look(stage: Stage, program: Program, ms: int, before: frozenset[str], unpoured: dict[str, float]) -> Look:
    n, r, rig, t = stage.world.n, stage.world.r, stage.works.rig, program.column
    when, tanks = ms / 1000.0, len(rig.tanks)
    volumes = [max(ML * compiled(volume_at)(n, r, vessel, when), 0.0) for vessel in range(n[at.VESSELS])]
    opening = {name: compiled(opening_at)(n, r, row, when) for row, name in enumerate(rig.valves)}
    pumps = stage.works.plumbing.pumps
    seeps = {name for row, name in enumerate(rig.valves) if r[n[at.SEEP] + row] > 0.0}
    opens = {name for row, name in enumerate(rig.valves) if r[n[at.TURN] + row] > 0.0}
    valves = frozenset(name for name, part in opening.items() if part > 0.0 or name in seeps)
    on = bool(of(n, at.LOOP, CONTROLLER_ON))
    return Look(
        ms=ms,
        holds=dict(zip(rig.tanks, volumes, strict=False)),
        stored=sum(volumes[tanks:]),
        opening=opening,
        passing=valves | opens | {name for name, row in pumps.items() if n[n[at.TURNING] + row]},
        passed=before | valves,
        unpoured=unpoured,
        lost=frozenset(board for row, board in enumerate(rig.boards) if n[n[at.LOST] + row]),
        decides=on,
        state=(stage.brain.state if on else stage.brain.fresh).tolist(),
        truth=stage.brain.work[t[law.TRUTH] : t[law.TRUTH] + t[law.TRUTHS]].tolist(),
    )


def _faults(draw: Random, rig: Rig, end_ms: int, wrong: bool) -> Iterator[Fault]:
    links = [Fault(kind, board, "", amount) for kind, amount in _LINKS for board in rig.boards]
    some = draw.sample(links, draw.choice((0, 0, 1, 2)))
    if wrong:
        kinds = draw.sample(sorted({fault.kind for fault in single_faults(rig)}), draw.choice((1, 1, 2)))
        some += [draw.choice([fault for fault in single_faults(rig) if fault.kind == kind]) for kind in kinds]
    for fault in some:
        start = draw.choice((0, draw.randrange(end_ms)))
        end = draw.choice((2 * end_ms, start + draw.randrange(1, end_ms)))
        yield Fault(fault.kind, fault.part, fault.other, fault.amount, start, end)


_LINKS = ((LINK_LOST, 0.0), (LINK_DELAYED, 4.0), (LINK_DUPLICATED, 2.0))


def _start(draw: Random, name: str, tank: str) -> float:
    """Part of its capacity that a tank holds at the start: usual, anything, nearly all, or where a row turns."""
    part = shipped(name)[0].tanks[tank]
    turns = [
        end for turn in turns_of(name, frozenset()).values() if turn.tank == tank for end in (turn.true, turn.false)
    ]
    near = (draw.choice(turns or [0]) / ML + draw.uniform(-NEAR, NEAR)) / capacity(part)
    return draw.choice((part.starts_with, draw.random(), draw.uniform(0.85, 1.0), *([min(max(near, 0.0), 1.0)] * 5)))


def _slope(draw: Random, rig: Rig) -> Slope:
    ahead, across = (draw.choice((-1.0, 0.0, 1.0, draw.uniform(-1.0, 1.0))) for _ in range(2))
    return Slope.model_construct(ahead=ahead * rig.slope.ahead, across=across * rig.slope.across)


def _happenings(draw: Random, rig: Rig, program: Program, end_ms: int) -> Iterator[Happening]:
    """What somebody does who means no good and no harm either."""
    sequences, locks = program.names.sequences, program.names.interlocks
    supplies = {name: port for name, port in rig.ports.items() if port.pressure is not None}
    by_hand = [name for name, valve in rig.valves.items() if valve.motor is None]
    for name, port in supplies.items():
        yield Happening(0, h.H_HOSE, name, draw.choice((port.pressure.least, port.pressure.most)))
    for scan in range(end_ms // program.scan_ms):
        if draw.random() > BUSY:
            continue
        ms = scan * program.scan_ms + draw.choice((0, draw.randrange(program.scan_ms)))
        match draw.choice("ccccccccrrrttthuvsd"):
            case "c":
                command = draw.choice(COMMANDS)
                sequence = draw.choice(sequences)
                yield Happening(ms, h.H_COMMAND, sequence, command, wishes=tuple(_wishes(draw, program, sequence)))
            case "r" if locks:
                yield Happening(ms, h.H_RESET, draw.choice(locks), 0.0)
            case "t":
                yield Happening(ms, h.H_TAP, draw.choice(list(rig.fixtures)), draw.choice((0.0, 1.0, draw.random())))
            case "h" if supplies:
                name = draw.choice(list(supplies))
                ends = supplies[name].pressure
                yield Happening(
                    ms, h.H_HOSE, name, draw.choice((ends.least, ends.most, draw.uniform(ends.least, ends.most)))
                )
            case "u" if supplies:
                yield Happening(ms, h.H_UNHOOK, draw.choice(list(supplies)), 0.0)
            case "v" if by_hand:
                yield Happening(ms, h.H_TURN, draw.choice(by_hand), draw.choice((0.0, 1.0)))
            case "s":
                yield Happening(ms, h.H_STAND, "", draw.randrange(2))
            case "d" if rig.handset is not None:
                yield Happening(ms, h.H_ATTITUDE, "", draw.randrange(len(codes.ATTITUDES)))


def _wishes(draw: Random, program: Program, sequence: str) -> Iterator[tuple[str, int]]:
    t = program.tables
    for row, name in enumerate(program.names.parameters):
        if name.partition(".")[0] == sequence and draw.random() < 0.5:
            yield name, draw.randint(t.parameter_least[row], t.parameter_most[row])


def value_of(column: Sequence[int], row: int, truth: Sequence[int], state: Sequence[int]) -> int:
    """Kleene's value of a row of the law, or of one that says whether a signal is good (`good_row`)."""
    if row >= 0:
        return truth[row]
    return codes.TRUE if state[column[law.QUALITY] + good_row(row)] == codes.GOOD else codes.FALSE
