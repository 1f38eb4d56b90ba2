"""A day of Marram in the closed loop, every 500 ms, with sender noise, slosh, lost messages and radio.

Wall time depends on what else the machine does, so the processor's time is measured, and with it
figures that no machine changes: the scans that were evaluated, and the records. Beside it the same
day with every scan evaluated.

Run: ``python -m bench.loop``, or ``./run bench loop``.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from statistics import median

from bench.measure import at_most, in_words
from ullage.control.check import examine
from ullage.plant import layout as at
from ullage.plant.codes import EVALUATED
from ullage.simulate.run import Stage, play, set_up
from ullage.simulate.scenario import read_scenario

EXAMPLES = Path(__file__).parent.parent / "examples"
RUNS, HOURS, GOAL_S = 21, 24.0, 0.060


def stage(seed: int, every_scan: bool = False) -> Stage:
    """The demo's day with a seed, set up and not yet played."""
    path = EXAMPLES / "rigs" / "marram.yaml"
    examined = examine(path.read_bytes(), path.name)
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    text = (EXAMPLES / "scenarios" / "day.yaml").read_bytes()
    scenario, _ = read_scenario(text, "day", examined.rig, examined.law)
    assert scenario is not None
    return set_up(examined.rig, examined.program, scenario, seed, HOURS, sample_ms=0, every_scan=every_scan)


def played(staged: Stage) -> tuple[float, int, int]:
    """Processor time of a day [s], scans that were evaluated, records."""
    began = time.process_time()
    play(staged)
    took = time.process_time() - began
    n = staged.world.n
    return took, int(n[n[at.LOOP] + EVALUATED]), int(staged.world.records[1])


def main() -> int:
    """Print the times; 1 when the goal is missed."""
    played(stage(0))
    quick = [played(stage(seed)) for seed in range(1, RUNS + 1)]
    slow = [played(stage(seed, every_scan=True)) for seed in range(1, 4)]
    times = sorted(took for took, _, _ in quick)
    middle, every = median(times), median(took for took, _, _ in slow)
    print(f"{RUNS} seeds: {in_words(middle)} (of {in_words(times[0])} .. {in_words(times[-1])}) of the processor a day")
    scans = median(count for _, count, _ in quick)
    print(f"scans evaluated: {scans:,.0f} of {slow[0][1]:,}; records: {median(count for _, _, count in quick):,.0f}")
    print(f"with every scan evaluated: {in_words(every)}, {every / middle:.1f} times as long; the records are the same")
    assert [row[2] for row in quick[:3]] == [row[2] for row in slow]
    return 0 if at_most("24 h in the closed loop", middle, GOAL_S) else 1


if __name__ == "__main__":
    sys.exit(main())
