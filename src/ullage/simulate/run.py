"""Play a scenario on a rig with its own sequences: text to `Run`, in which everything is told.

The same rig, scenario and seed give the same records to the last bit, on any number of threads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from ullage.control import layout as law
from ullage.control.program import Program, initial_state
from ullage.control.record import LOG_HEAD, WIDTH, log_for
from ullage.control.step import records_limit
from ullage.kernels import compiled
from ullage.plant import happenings as h
from ullage.plant import layout as at
from ullage.plant.chance import HOSE_PRESSURE, between, stream
from ullage.plant.codes import CONTROLLER_ON, EVALUATED, EVERY_SCAN, MUST_STEP, NOW_MS, SAMPLE_MS, SAMPLES
from ullage.plant.faults import HOSE_BURST, Fault
from ullage.plant.works import Works, with_burst, works_of
from ullage.plant.world import RECORDS_LIMIT, World, as_arrays, world_of
from ullage.rig.meaning import Above, Below
from ullage.rig.model import Rig, Slope
from ullage.simulate import loop
from ullage.simulate.brain import Brain
from ullage.simulate.expect import Expectation
from ullage.simulate.judge import Judge, Judged
from ullage.simulate.outcome import Outcome, outcome_of
from ullage.simulate.scenario import Scenario
from ullage.simulate.waiting import in_turn

if TYPE_CHECKING:
    from numpy import float64, int64
    from numpy.typing import NDArray

SAMPLE_OFTENEST_MS, SAMPLE_RAREST_MS = 1_000, 10_000
"""The plant is sampled for charts at whole seconds between these [ms] when nothing else is asked for."""

SAMPLES_USUAL = 7_200
"""So many samples, where that is within those bounds: a run of two hours every second, one of a day every 10 s."""

SAMPLES_LIMIT = 20_000
"""At most so many samples in one run; a longer run is sampled more rarely."""

PROGRESS_STEPS = 100
"""A run tells its progress this often."""

Progress = Callable[[float], None]
"""Called with the part of the run that is done, 0..1."""


@dataclass(frozen=True, slots=True)
class Run:
    """What came of a scenario.

    Attributes
    ----------
    rig : Rig
    program : Program
    scenario : Scenario
    seed : int
    faults : tuple of Fault
        All that went wrong, those of the scenario first.
    records : (N, 5) array of int
        Everything that happened, in order: time [ms], kind, row, value, detail (`ullage.plant.words`).
    lost : int
        Records that did not fit.
    series : dict of (K,) array of float
        Samples: ``time`` [s]; ``volume.TANK`` [m3]; ``flow.LINE`` [m3/s]; ``opening.VALVE`` [0..1];
        ``voltage`` [V]; ``reading.SIGNAL`` [raw units of the law's image, -1 while none has come].
    outcome : Outcome
        Litres, minutes and marks.
    expectations : tuple of Judged
        Each expectation of the scenario, kept or broken, and when.
    evaluated : int
        Scans that had to be evaluated; all others would have changed nothing.
    """

    rig: Rig
    program: Program
    scenario: Scenario
    seed: int
    faults: tuple[Fault, ...]
    records: NDArray[int64]
    lost: int
    series: dict[str, NDArray[float64]]
    outcome: Outcome
    expectations: tuple[Judged, ...]
    evaluated: int

    @property
    def kept(self) -> bool:
        """Whether every expectation was kept."""
        return all(judged.kept for judged in self.expectations)


@dataclass(frozen=True, slots=True)
class Stage:
    """A world with its law, set up and ready to be played."""

    works: Works
    world: World
    brain: Brain
    samples: NDArray[float64]
    end_ms: int
    faults: tuple[Fault, ...]


def simulate(
    rig: Rig,
    program: Program,
    scenario: Scenario,
    seed: int = 1,
    hours: float | None = None,
    faults: Sequence[Fault] = (),
    progress: Progress | None = None,
    sample_ms: int | None = None,
    every_scan: bool = False,
) -> Run:
    """Play one scenario.

    Parameters
    ----------
    rig, program : Rig, Program
        A checked rig and what it compiles to.
    scenario : Scenario
        What is done to it.
    seed : int
        Seed of all chance.
    hours : float, optional
        Another length of the run [h].
    faults : sequence of Fault
        What goes wrong besides.
    progress : callable, optional
        Called with the part that is done, 0..1.
    sample_ms : int, optional
        How often the plant is sampled [ms]; 0 for never; as often as suits its length when not given.
    every_scan : bool
        Evaluate every scan, even where it is certain that it changes nothing.
    """
    stage = set_up(rig, program, scenario, seed, hours, faults, sample_ms, every_scan)
    play(stage, progress)
    return told(stage, program, scenario, seed)


def simulate_many(
    rig: Rig,
    program: Program,
    scenario: Scenario,
    seeds: Iterable[int],
    threads: int = 2,
    hours: float | None = None,
    faults: Sequence[Fault] = (),
) -> list[Run]:
    """Play one scenario with many seeds, in order of the seeds; the kernels run side by side.

    Parameters
    ----------
    seeds : iterable of int
    threads : int
        How many at once.
    rig, program, scenario, hours, faults
        As of `simulate`.
    """
    compiled(loop.run)

    def one(seed: int) -> Run:
        return simulate(rig, program, scenario, seed, hours, faults)

    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(one, seeds))


def set_up(
    rig: Rig,
    program: Program,
    scenario: Scenario,
    seed: int,
    hours: float | None = None,
    faults: Sequence[Fault] = (),
    sample_ms: int | None = None,
    every_scan: bool = False,
    laid: Works | None = None,
    records: int = RECORDS_LIMIT,
) -> Stage:
    """Make the world of a run; see `simulate`.

    Parameters
    ----------
    laid : Works, optional
        What `lay_out` has made of this rig, these stands and bursts, when it is at hand; it is left as it is.
    records : int
        Room for so many records.
    rig, program, scenario, seed, hours, faults, sample_ms, every_scan
        As of `simulate`.
    """
    import numpy as np

    every_fault = (*scenario.faults, *faults)
    works = _filled(laid or lay_out(rig, program, scenario.stands, every_fault), scenario.starts)
    end_ms = round((scenario.hours if hours is None else hours) * 3_600_000)
    rows = _rows(works, program, scenario, seed)
    world = as_arrays(world_of(works, program, seed, every_fault, rows, 0, scenario.errors))
    log: Any = np.zeros(LOG_HEAD + WIDTH * records, dtype=np.int64)  # made of a list it would take longer than the run
    world = world._replace(records=log)
    if sample_ms is None:
        usual = -(-end_ms // (1_000 * SAMPLES_USUAL)) * 1_000
        sample_ms = min(max(usual, SAMPLE_OFTENEST_MS), SAMPLE_RAREST_MS)
    if sample_ms > 0:
        sample_ms = max(sample_ms, -(-end_ms // SAMPLES_LIMIT))
    entries = {NOW_MS: -1, CONTROLLER_ON: 1, MUST_STEP: 1, EVERY_SCAN: int(every_scan), SAMPLE_MS: sample_ms}
    for entry, number in entries.items():
        world.n[world.n[at.LOOP] + entry] = number
    moments = end_ms // sample_ms + 1 if sample_ms else 0
    samples = np.zeros(moments * len(_sampled(works, program)))
    return Stage(works, world, _brain(program), samples, end_ms, every_fault)


def play(stage: Stage, progress: Progress | None = None) -> None:
    """Play a run to its end."""
    steps = PROGRESS_STEPS if progress else 1
    for step in range(1, steps + 1):
        play_on(stage, stage.end_ms * step // steps)
        if progress:
            progress(step / steps)


def play_on(stage: Stage, until_ms: int) -> None:
    """Play a run on up to a time [ms]."""
    compiled(loop.run)(*stage.world, stage.brain, stage.samples, until_ms, stage.end_ms)


def told(stage: Stage, program: Program, scenario: Scenario, seed: int) -> Run:
    """Tell what came of a run that was played."""
    world, works = stage.world, stage.works
    n = world.n
    log: Any = world.records
    count = int(log[1])
    room = (len(log) - LOG_HEAD) // WIDTH
    records = log[LOG_HEAD : LOG_HEAD + WIDTH * min(count, room)].reshape(-1, WIDTH).copy()
    names = _sampled(works, program)
    rows = int(n[n[at.LOOP] + SAMPLES])
    table = stage.samples[: rows * len(names)].reshape(rows, len(names))
    series = {name: table[:, column].copy() for column, name in enumerate(names)}
    outcome = outcome_of(works, world)
    judge = Judge(works, program, records, series, outcome, stage.end_ms)
    return Run(
        rig=works.rig,
        program=program,
        scenario=scenario,
        seed=seed,
        faults=stage.faults,
        records=records,
        lost=max(count - room, 0),
        series=series,
        outcome=outcome,
        expectations=tuple(
            judge.judge(e, i) for i, e in enumerate(scenario.expectations) if not (e.healthy_only and stage.faults)
        ),
        evaluated=int(n[n[at.LOOP] + EVALUATED]),
    )


def lay_out(rig: Rig, program: Program, stands: Sequence[Slope], faults: Sequence[Fault] = ()) -> Works:
    """The plant of a rig in the ways it will stand, with places where pipes will burst."""
    for pipe in dict.fromkeys(fault.part for fault in faults if fault.kind == HOSE_BURST):
        rig = with_burst(rig, pipe)
    return works_of(rig, program.names.outputs, stands)


def _filled(works: Works, starts: Mapping[str, float]) -> Works:
    """A plant for one run, which adds columns of its own: tanks filled as its scenario says."""
    tanks = {
        name: tank.model_copy(update={"starts_with": starts[name]}) if name in starts else tank
        for name, tank in works.rig.tanks.items()
    }
    rig = works.rig.model_copy(update={"tanks": tanks})
    return replace(works, rig=rig, counts={**works.counts}, integers={**works.integers}, reals={**works.reals})


def _rows(works: Works, program: Program, scenario: Scenario, seed: int) -> list[tuple[int, int, int, float]]:
    """The happenings as rows of numbers, with a moment for each volume that is asked for at a time.

    A command's wishes come just before it, so each start is seen with its own.
    """
    rig = works.rig
    parts: dict[int, Sequence[str]] = {
        h.H_TAP: list(rig.fixtures),
        h.H_HOSE: list(rig.ports),
        h.H_UNHOOK: list(rig.ports),
        h.H_TURN: list(rig.valves),
        h.H_COMMAND: program.names.sequences,
        h.H_RESET: program.names.interlocks,
    }
    rows: list[tuple[int, int, int, float]] = []
    for count, happening in enumerate(in_turn(scenario.happenings, program.scan_ms)):
        names = parts.get(happening.kind)
        part = names.index(happening.part) if names else int(happening.amount)
        amount = happening.amount
        if happening.most is not None:
            amount = between(stream(seed, HOSE_PRESSURE, part), count, amount, happening.most)
        if happening.kind == h.H_HOSE:
            amount = works.plumbing.head_of(amount)
        wishes = ((program.parameter(name), wish) for name, wish in happening.wishes)
        rows += [(happening.ms, h.H_PARAMETER, row, float(wish)) for row, wish in wishes]
        rows.append((happening.ms, happening.kind, part, amount))
    rows += [(e.ms, h.H_MOMENT, i, 0.0) for i, e in enumerate(scenario.expectations) if _asks_volume(e)]
    return sorted(rows, key=lambda row: row[0])


def _asks_volume(expectation: Expectation) -> bool:
    return expectation.frame == "at" and isinstance(expectation.statement, Above | Below)


def _brain(program: Program) -> Brain:
    """The law's columns at its start: sequences that begin by themselves may."""
    import numpy as np

    t = program.column
    fresh = law.join(initial_state(program, released=True))
    restarted = law.join(initial_state(program))
    image = [0] * t[law.IMAGE_SIZE]
    for signal in range(t[law.SIGNALS]):
        image[t[law.SEEN_AGE_MS] + signal] = -1
    for parameter, wish in enumerate(program.tables.parameter_default):
        image[t[law.SEEN_PARAMETER] + parameter] = wish
    columns: tuple[Sequence[int], ...] = (
        t,
        fresh,
        [0] * len(fresh),
        restarted,
        image,
        [0] * t[law.WORK_SIZE],
        log_for(records_limit(t)),
    )
    arrays: list[Any] = [np.array(column, dtype=np.int64) for column in columns]
    return Brain(*arrays)


def _sampled(works: Works, program: Program) -> list[str]:
    """Names of the columns of `loop.sample`, in order."""
    return [
        "time",
        *(f"volume.{name}" for name in (*works.rig.tanks, *works.rig.accumulators)),
        *(f"flow.{_flow_name(works, i)}" for i in range(works.counts["links"])),
        *(f"opening.{name}" for name in works.rig.valves),
        "voltage",
        *(f"reading.{signal.name}" for signal in program.names.signals),
    ]


def _flow_name(works: Works, link: int) -> str:
    lines = works.rig.lines
    if link < len(lines):
        return works.plumbing.links[link].name
    kind, name = next(key for key, row in works.plumbing.link_of.items() if row == link)
    return f"{name} {kind}"
