"""The fill of Marram, safe and with errors planted, asked of SPIN and of our explorer: verdicts, states and time.

Both are given the same plan: the finite plant of that part of Marram which fills belly, with the fill
sequence or without it, volumes in units of `UNIT` millilitres (see `bench.promela`). SPIN (G. J. Holzmann,
The SPIN Model Checker, 2003) enumerates every volume; it is run exactly: states compressed, none hashed away.
SPIN is the Debian package `spin`; it needs a C compiler too. Neither is needed for anything but this bench.

Run: ``python -m bench.spin``, or ``./run bench spin``.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from bench.measure import at_least, in_words
from bench.promela import in_units, promela
from ullage.control.compile import compile_rig
from ullage.plant.bands import Bands
from ullage.plant.faults import read_fault
from ullage.plant.harmed import harms_of
from ullage.prove.charts import Charts
from ullage.prove.harms import harms_of_statement
from ullage.prove.plan import Plan
from ullage.prove.question import Question
from ullage.prove.scope import Follow
from ullage.prove.search import End, Search
from ullage.rig.read import read_rig
from ullage.rig.view import view_of

UNIT = 100
"""Volumes are in units of this [mL]: somewhat more than the hose brings in one scan."""

FILL = """
rig: Fill slice
about: The part of Marram that fills belly, with Marram's figures.
scan: 500 ms
slope: {ahead: 3 deg, across: 2 deg}
water: 2 degC .. 30 degC
power: {voltage: 12.8 V, capacity: 200 Ah, resistance: 20 mohm, least: 10.8 V}
boards:
  main_board: {link: wired}
  port_board: {link: radio, delay: 50 ms .. 400 ms, loss: 2 %}
tanks:
  belly:
    holds: potable
    shape: {box: {length: 1000 mm, width: 500 mm, height: 320 mm}}
    floor_at: {x: 2.1 m, y: 0 m, z: 0.45 m}
    openings: {top: {at: 310 mm, x: 0.4 m}}
    vent: {bore: 16 mm, length: 1.5 m}
    overflow: {bore: 38 mm, at: 280 mm}
    starts_with: 25 %
ports:
  shore: {kind: supply, at: {x: 2.4 m, y: 1.1 m, z: 0.9 m}, pressure: 0.5 bar .. 4 bar, usual: 2 bar}
pipes:
  hose: {bore: 12.5 mm, length: 10 m, outdoors: true}
  fill_pipe: {bore: 15 mm, length: 1.2 m, fittings: 3}
restrictors:
  shore_restrictor: {kv: 0.36 m3/h}
checks:
  shore_check: {kv: 2 m3/h}
valves:
  shore_guard:
    kind: solenoid
    kv: 2 m3/h
    motor: {stroke: 0.1 s .. 0.5 s, feedback: none, without_power: spring closed, draws: 0.9 A}
    board: port_board
    lease: 3 s
    on_lapse: closed
  shore_in:
    kind: ball
    kv: 6 m3/h
    motor: {stroke: 3 s .. 8 s, feedback: none, without_power: stays, draws: 0.5 A}
    board: port_board
    lease: 3 s
    on_lapse: closed
lines:
  - {from: shore, through: [hose, shore_check, shore_guard, shore_restrictor, shore_in, shore_meter, fill_pipe],
     to: belly.top}
senders:
  belly_level: {on: belly, error: 2 %, every: 2 s, resolution: 0.5 %, lag: 2 s, noise: 0.3 %, stale: 6 s,
                board: main_board}
floats:
  belly_float: {on: belly, at: 268 mm, every: 0.5 s, stale: 3 s, broken_reads: full, board: main_board}
meters:
  shore_meter: {error: 3 %, every: 1 s, kv: 3 m3/h, least: 0.3 L/min, stale: 4 s, board: port_board}
sequences:
  fill:
    parameters:
      target: {default: 80 %, least: 10 %, most: 88 %, of: belly}
    permit: (belly_level < target - 2 %) and (not belly_float) and (port_board is linked)
    stay: port_board is linked
    steps:
      ready: initial
      opening: {demand: {shore_guard: open, shore_in: open}}
      filling: {demand: {shore_guard: open, shore_in: open}}
      closing: {demand: {shore_guard: closed, shore_in: closed}}
      too_long: {demand: {shore_guard: closed, shore_in: closed}}
      dry_hose: {demand: {shore_guard: closed, shore_in: closed}}
      filled: {final: true}
      given_up: {final: true}
    transitions:
      - ready -> opening
      - opening -> filling when shore_in is open
      - filling -> closing when (belly_level >= target) or (belly_float held 1 s)
      - filling -> dry_hose when ((shore_meter < 0.5 L/min) held 20 s) and (since step 20 s)
      - filling -> too_long when since step 45 min
      - dry_hose -> given_up when (shore_in is closed) and (since step 60 s)
      - too_long -> given_up when (shore_in is closed) and (since step 60 s)
      - closing -> filled when (shore_in is closed) and (shore_guard is closed)
interlocks:
  belly_high:
    when: belly_float or (belly_level > 94 %)
    drive: {shore_in: closed, shore_guard: closed}
    latch: true
    why: Above this only the overflow is left; a person looks why the sequence did not stop.
never:
  - belly reaches its overflow
"""

LIE = "belly_level stuck"
LAYERS = {"interlocks": Follow(sequences=False), "with fill": Follow(positions=False)}
"""How much of the law is followed."""

WHEN = "when: belly_float or (belly_level > 94 %)"
LEASE = "    lease: 3 s\n    on_lapse: closed\n"
INTERLOCK = FILL[FILL.index("interlocks:") : FILL.index("never:")]

CASES: tuple[tuple[str, tuple[tuple[str, str], ...], str, bool], ...] = (
    ("safe", (), "", True),
    ("safe, level stuck", (), LIE, True),
    ("interlock removed", ((INTERLOCK, ""),), LIE, False),
    ("float ignored", ((WHEN, "when: belly_level > 94 %"),), LIE, False),
    ("late interlock", ((WHEN, "when: belly_float"), ("at: 268 mm", "at: 279 mm")), LIE, False),
    ("slow interlock", ((WHEN, "when: (belly_float or (belly_level > 94 %)) held 60 s"),), LIE, False),
    ("lease forgotten", ((LEASE, ""),), "", False),
)
"""Name, what is written instead, fault, and whether the overflow is held off."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of one case: whether the harm is held off, states, and time [s]; of SPIN also that of its making."""

    held: bool
    states: int
    seconds: float
    making: float = 0.0


def plan_of(changes: Iterable[tuple[str, str]], fault: str, follow: Follow) -> Plan:
    """The plan of one case, in coarse units."""
    return in_units(exact_plan(changes, fault, follow), UNIT)


def exact_plan(changes: Iterable[tuple[str, str]], fault: str, follow: Follow) -> Plan:
    """The plan of one case, in millilitres."""
    text = FILL
    for old, new in changes:
        assert old in text, "a case must change something"
        text = text.replace(old, new)
    rig, findings, places = read_rig(text, "fill_slice.yaml")
    if rig is None:
        sys.exit("\n".join(f"{finding.code} {finding.what}" for finding in findings))
    # Some of the errors the check would refuse by itself; the proof is asked all the same.
    view, _ = view_of(rig, places)
    program, _ = compile_rig(rig, view.law)
    assert program is not None
    bands = Bands(rig, program, harms_of(rig, program, [read_fault(rig, fault)] if fault else []))
    (harm,) = harms_of_statement(bands, view.law.never[0].statement)
    return Question(bands, harm, follow, Charts(program)).plan()


def ours(plan: Plan) -> Answer:
    """The explorer's answer, its machine code made before."""
    Search(plan).run()
    search = Search(plan)
    began = time.perf_counter()
    end = search.run()
    took = time.perf_counter() - began
    assert end in (End.CLOSED, End.HARMED)
    return Answer(end is End.CLOSED, search.progress().nodes, took)


def spins(plan: Plan) -> Answer:
    """SPIN's answer."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "fill.pml").write_text(promela(plan))
        began = time.perf_counter()
        call(folder, "spin", "-a", "fill.pml")
        call(folder, "gcc", "-O2", "-DSAFETY", "-DCOLLAPSE", "-DMEMLIM=4096", "-o", "pan", "pan.c")
        making = time.perf_counter() - began
        began = time.perf_counter()
        told = call(folder, "./pan", "-m2000000")
        took = time.perf_counter() - began
    errors, states = re.search(r"errors: (\d+)", told), re.search(r"(\d+) states, stored", told)
    if errors is None or states is None or "max search depth too small" in told or "out of memory" in told:
        sys.exit(f"SPIN did not come to an end:\n{told}")
    return Answer(errors[1] == "0", int(states[1]), took, making)


def call(folder: str, *command: str) -> str:
    """What a program says; one that fails ends the bench."""
    run = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if run.returncode != 0:
        sys.exit(f"{command[0]} failed:\n{run.stdout}{run.stderr}")
    return run.stdout


def main() -> int:
    """Print verdicts, states and times side by side; 1 when a verdict is not as expected, 2 without SPIN."""
    missing = [program for program in ("spin", "gcc") if shutil.which(program) is None]
    if missing:
        print(f"{' and '.join(missing)} not found; install them (Debian: apt-get install spin gcc)", file=sys.stderr)
        return 2
    agreed = total = 0
    print(f"the fill of Marram in units of {UNIT} mL; SPIN: exact, compressed")
    print(f"{'case':36} {'verdicts':22} {'states':>21} {'time':>23}   making of SPIN's verifier")
    for layer, follow in LAYERS.items():
        for name, changes, fault, held in CASES:
            plan = plan_of(changes, fault, follow)
            mine, other = ours(plan), spins(plan)
            total += 1
            agreed += mine.held == other.held == held
            words = " / ".join("held" if answer.held else "not held" for answer in (mine, other))
            states = f"{mine.states:,} / {other.states:,}"
            times = f"{in_words(mine.seconds)} / {in_words(other.seconds)}"
            case = f"{name}, {layer}"
            print(f"{case:36} {words:22} {states:>21} {times:>23}   {in_words(other.making)}", flush=True)
    return 0 if at_least("verdicts that are the same and as expected", agreed, total, "cases") else 1


if __name__ == "__main__":
    sys.exit(main())
