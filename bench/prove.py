"""What a proof costs: Marram in health, with every single fault, with every pair; memory; rates; and how time grows.

Whole processes of `ullage prove` on two cores, as a person waits for them, with machine code that was made
before; their memory is that of all their processes together, read ten times a second. One that takes longer
than `PATIENCE` times its goal is interrupted as a person would, and what it did not reach is undecided.
How fast the explorer is, and how time grows with the number of tanks (`bench.chains`), is measured in this process.

Run: ``python -m bench.prove``, or ``./run bench prove``.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

from bench.chains import chain
from bench.measure import at_most, in_words
from ullage.control.check import Examined, examine
from ullage.plant.bounds import Bounds
from ullage.plant.faults import Fault, single_faults
from ullage.plant.harmed import reach_of
from ullage.prove.harms import NotFollowed
from ullage.prove.prover import Found, Prover
from ullage.quantities import Span
from ullage.rig import shapes

ROOT = Path(__file__).parent.parent
RIG = ROOT / "examples" / "rigs" / "marram.yaml"
JOBS, PATIENCE = 2, 5
GOALS = {"none": 2.0, "single": 10.0, "pairs": 60.0}
GOAL_MEMORY, GOAL_RATES = 1.0, 0.060
TANKS, TURNS, STRIPS = range(1, 7), 3, 10
GIGA = 1e9


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole process: time [s], greatest memory of it and its children [GB], what it said (None: nothing)."""

    seconds: float
    memory: float
    said: dict[str, Any] | None


def whole(faults: str, patience: float) -> Whole:
    """`ullage prove` of Marram under these faults, from its start to its end."""
    settings = dict(os.environ, PYTHONPATH=str(ROOT / "src"))
    with tempfile.TemporaryDirectory() as folder, open(Path(folder, "said"), "w+") as said:
        command = [sys.executable, "-m", "ullage.cli", "prove", str(RIG), "--faults", faults]
        command += ["--jobs", str(JOBS), "--json", "--out", str(Path(folder, "out"))]
        began, most = time.perf_counter(), 0.0
        run = subprocess.Popen(command, env=settings, cwd=folder, stdout=said, stderr=subprocess.DEVNULL)
        told = False
        while run.poll() is None:
            time.sleep(0.1)
            most = max(most, sum(map(memory_of, family(run.pid))))
            if not told and time.perf_counter() - began > patience:
                run.send_signal(signal.SIGINT)
                told = True
        took = time.perf_counter() - began
        said.seek(0)
        text = said.read()
    return Whole(took, most / GIGA, json.loads(text) if text.strip() else None)


def family(process: int) -> list[int]:
    """A process and all that it started."""
    try:
        text = Path(f"/proc/{process}/task/{process}/children").read_text()
    except OSError:
        return [process]
    return [process, *(one for child in text.split() for one in family(int(child)))]


def memory_of(process: int) -> float:
    """Memory of a process, what it shares with others counted in parts [B]; 0 when it has ended."""
    try:
        lines = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0
    return next((1024.0 * float(line.split()[1]) for line in lines if line.startswith("Pss:")), 0.0)


def verdicts(said: dict[str, Any] | None) -> str:
    """How many verdicts of each kind, by faults."""
    if said is None:
        return "nothing was said"
    counts: Counter[str] = Counter()
    for row in said["never"]:
        for cell in row["under"]:
            counts[f"proved under {cell['faults']}"] += sum(cell["proved"].values())
            for word in ("refuted", "undecided"):
                counts[f"{word} under {cell['faults']}"] += cell[word]
    told = ", ".join(f"{count} {word}" for word, count in counts.items() if count)
    stopped = "; stopped" if said["stopped"] else ""
    return f"{said['questions']} questions, {said['searched']} searched, {said['states']:,} states; {told}{stopped}"


def examined(text: str | bytes, name: str) -> Examined:
    """A rig that was checked and compiled; one that was not ends the bench."""
    found = examine(text, name)
    if found.program is None:
        sys.exit("\n".join(f"{finding.code} {finding.what}" for finding in found.findings))
    return found


def asked(found: Examined) -> tuple[list[Found], float]:
    """All that must never be in health, by a prover of its own, and the time it took [s]."""
    assert found.rig is not None
    assert found.program is not None
    assert found.law is not None
    began, answers = time.perf_counter(), []
    prover = Prover(found.rig, found.program)
    for wish in found.law.never:
        try:
            harms = prover.harms(wish.statement)
        except NotFollowed:
            continue
        answers += [prover.find(harm) for harm in harms]
    return answers, time.perf_counter() - began


def rates(found: Examined) -> dict[str, float]:
    """Median time of all rates of one tank under one fault that changes the flows [s], by tank."""
    rig, program = found.rig, found.program
    assert rig is not None
    assert program is not None
    healthy = Bounds(rig, program.names.outputs)
    changing = [fault for fault in single_faults(rig) if reach_of(rig, fault) is not None]
    times: dict[str, list[float]] = {tank: [] for tank in rig.tanks}
    for tank in rig.tanks:
        for content in contents(found, tank):
            healthy.net(tank, healthy.gates_of(tank), content)
        for fault in changing:
            times[tank].append(rates_under(found, healthy, fault, tank))
    return {tank: median(some) for tank, some in times.items()}


def rates_under(found: Examined, healthy: Bounds, fault: Fault, tank: str) -> float:
    """Time of all rates of one tank under one fault [s]."""
    rig, program = found.rig, found.program
    assert rig is not None
    assert program is not None
    reach = reach_of(rig, fault)
    assert reach is not None
    began = time.process_time()
    bounds = Bounds(rig, program.names.outputs, reach, (healthy,))
    for content in contents(found, tank):
        bounds.net(tank, bounds.gates_of(tank), content)
    return time.process_time() - began


def contents(found: Examined, tank: str) -> list[Span]:
    """As many parts of a tank as it has strips."""
    assert found.rig is not None
    whole_of = shapes.whole(found.rig.tanks[tank].shape)
    return [Span(whole_of * k / STRIPS, whole_of * (k + 1) / STRIPS) for k in range(STRIPS)]


def growth() -> None:
    """Print how time and states grow with the tanks of a chain."""
    found = {count: examined(chain(count), f"chain of {count}") for count in TANKS}
    asked(found[1])
    times: dict[int, list[float]] = {count: [] for count in TANKS}
    for _ in range(TURNS):
        for count in TANKS:
            answers, took = asked(found[count])
            times[count].append(took)
            states = sum(layer.states for answer in answers for layer in answer.layers)
            proved = sum(answer.proved for answer in answers)
            if len(times[count]) == TURNS:
                middle = median(times[count])
                ratio = middle / median(times[1])
                print(
                    f"a chain of {count}: {in_words(middle)}, {ratio:.1f} times one tank, {ratio / count:.1f} a tank;"
                    f" {states:,} states; {proved} of {len(answers)} proved",
                    flush=True,
                )


def main() -> int:
    """Print the figures; 1 when a goal is missed."""
    marram = examined(RIG.read_bytes(), RIG.name)
    print(f"load of the machine {os.getloadavg()[0]:.1f}, {len(os.sched_getaffinity(0))} cores", flush=True)
    asked(marram)
    answers, took = asked(marram)
    layers = [layer for answer in answers for layer in answer.layers]
    states, boxes = sum(layer.states for layer in layers), sum(layer.scans for layer in layers)
    print(f"Marram in health, in this process, questions and rates made anew: {in_words(took)}")
    print(f"{states:,} states, {states / took:,.0f} a second; {boxes:,} boxes, {boxes / took:,.0f} a second")
    met = True
    for tank, seconds in rates(marram).items():
        met &= at_most(f"rates of {tank} under one fault, of the processor", seconds, GOAL_RATES)
    growth()
    memory = 0.0
    for faults, goal in GOALS.items():
        run = whole(faults, PATIENCE * goal)
        memory = max(memory, run.memory)
        print(f"faults: {faults}; {verdicts(run.said)}; {run.memory:.2f} GB")
        met &= at_most(f"Marram, faults: {faults}, whole process", run.seconds, goal)
    met &= at_most("memory of all processes together", memory, GOAL_MEMORY, "GB")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
