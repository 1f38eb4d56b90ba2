"""Warm steady solve of the demo's net, ours beside EPANET's `runH`, in one process.

Before each solve the head at the hose is changed, so that each one has to find a new answer,
at an accuracy of 1e-4 on both sides. Both loops are machine code: ours is compiled,
EPANET's C library is called from a compiled loop too. EPANET is timed on three nets:

- *by part*: every pipe, valve, meter and tap is a link, as a net is entered in EPANET so that its valves can be
  worked; the goal is about this one;
- *by line*: reduced by hand to the links of ours, closed ones and vents too;
- *lean*: by line, what is shut left out, tanks as reservoirs, which is less than ours solves.

Ours is one link per line of the rig (series reduction when the net is built), works out afresh at each solve what
every valve lets through, and has the same stopping rule as EPANET.

Run: ``python -m bench.solve``, or ``./run bench solve``.
"""

from __future__ import annotations

import ctypes
import os
import sys
import tempfile
from itertools import count
from pathlib import Path
from typing import Any

import epanet
import numpy as np
from epanet import toolkit as en
from numba import njit

from bench.measure import Work, at_least, in_words, side_by_side
from tests.reference.epanet_net import Epanet, fluid_of_epanet
from ullage.hydraulics.build import build
from ullage.hydraulics.network import as_arrays, condition_of, work_of
from ullage.hydraulics.plumbing import Plumbing
from ullage.hydraulics.solve import solve
from ullage.kernels import compiled
from ullage.rig.read import read_rig

SOLVES, CALLS, RUNS, ACCURACY = 20_000, 500, 9, 1e-4
ELEVATION = 0
GOAL = 4.0
OPEN = ("shore_guard", "shore_in", "galley", "shower", "rinse", "rose")


def marram() -> Plumbing:
    """The demo's net with EPANET's friction."""
    path = Path(__file__).parent.parent / "examples" / "rigs" / "marram.yaml"
    rig, _, _ = read_rig(path.read_bytes(), path.name)
    assert rig is not None
    return build(rig, fluid_of_epanet(), accuracy=ACCURACY)


def ours(plumbing: Plumbing) -> tuple[Work, Work, tuple[Any, ...]]:
    """`SOLVES` solves in a compiled loop; one called by Python; the condition and its answer."""
    network, condition = plumbing.network, condition_of(plumbing.network)
    for name in OPEN:
        condition.opening[plumbing.throttles[name]] = 1.0
    condition.speed[0] = 1.0
    tables = as_arrays(network), as_arrays(condition)
    work, head, flow = as_arrays(work_of(network)), np.array(plumbing.rest), np.zeros(len(network.start))
    twin, node = compiled(solve), plumbing.nodes["port", "shore"]
    base, turn = float(head[node]), count()

    @njit  # type: ignore[untyped-decorator]
    def loop(network, condition, work, head, flow, base):  # type: ignore[no-untyped-def]
        for k in range(SOLVES):
            head[node] = base + 0.1 * (k % 7)
            twin(network, condition, head, flow, work)

    def by_python() -> None:
        head[node] = base + 0.1 * (next(turn) % 7)
        twin(*tables, head, flow, work)

    assert twin(*tables, head, flow, work) > 0
    answer = condition, head.tolist(), flow.tolist(), as_arrays(work)
    return lambda: loop(*tables, work, head, flow, base), by_python, answer


def theirs(plumbing: Plumbing, answer: tuple[Any, ...], whole: bool, by_part: bool) -> tuple[Work, Work, Epanet]:
    """`SOLVES` runs of EPANET's runH in a compiled loop; one called by Python through its toolkit; the net."""
    condition, head, _, work = answer
    losses = work.forward.tolist(), work.backward.tolist(), work.drop.tolist()
    made = Epanet(plumbing, head, *losses, condition.speed, ACCURACY, whole, by_part)
    library = ctypes.CDLL(os.path.join(os.path.dirname(epanet.__file__), "libepanet2.so"))
    project, index = ctypes.c_void_p(), ctypes.c_int()
    library.EN_createproject(ctypes.byref(project))
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "net.inp")
        Path(path).write_text(made.text(), "ascii")
        assert library.EN_open(project, path.encode(), (path + ".rpt").encode(), b"") == 0
    name = f"R{plumbing.nodes['port', 'shore']}"
    assert library.EN_openH(project) == 0
    assert library.EN_initH(project, 0) == 0
    assert library.EN_getnodeindex(project, name.encode(), ctypes.byref(index)) == 0
    put, run = library.EN_setnodevalue, library.EN_runH
    put.argtypes = [ctypes.c_void_p, ctypes.c_int, ctypes.c_int, ctypes.c_double]
    run.argtypes = [ctypes.c_void_p, ctypes.c_void_p]
    clock = np.zeros(2, dtype=np.int64)
    at, handle, node, base = clock.ctypes.data, project.value, index.value, head[plumbing.nodes["port", "shore"]]
    turn = count()

    @njit  # type: ignore[untyped-decorator]
    def loop(time_at):  # type: ignore[no-untyped-def]
        for k in range(SOLVES):
            put(handle, node, ELEVATION, base + 0.1 * (k % 7))
            run(handle, time_at)

    made.run()

    def by_python() -> None:
        en.setnodevalue(made.project, node, en.ELEVATION, base + 0.1 * (next(turn) % 7))
        en.runH(made.project)

    def in_loop() -> None:
        loop(at)
        assert clock[0] == 0, "EPANET must solve the same moment again, not go on in time"

    return in_loop, by_python, made


def main() -> int:
    """Measure and print; 1 when the goal is missed."""
    plumbing = marram()
    our_loop, our_call, answer = ours(plumbing)
    nets = {
        name: theirs(plumbing, answer, whole, by_part)
        for name, whole, by_part in (("by part", True, True), ("by line", True, False), ("lean", False, False))
    }
    loops = side_by_side({"ours": our_loop, **{name: loop for name, (loop, _, _) in nets.items()}}, RUNS)
    calls = side_by_side({"ours": our_call, **{name: call for name, (_, call, _) in nets.items()}}, RUNS, CALLS)
    links, free = len(plumbing.network.start), plumbing.network.free
    looped = {name: in_words(timing.median / SOLVES) + " in a compiled loop" for name, timing in loops.items()}
    called = {name: in_words(timing.median) + " called by Python" for name, timing in calls.items()}
    print(
        f"ours: {links} links, {free} unknown heads; {looped['ours']}; {called['ours']}, spent on handing over tables"
    )
    for name, (_, _, made) in nets.items():
        size = f"{len(made.pipes) + len(made.valves) + len(made.pumps)} links, {len(made.junctions)} unknown heads"
        times = loops[name].median / loops["ours"].median
        print(f"EPANET, {name}: {size}; {looped[name]}, {times:.2f} times ours; {called[name]}")
        made.close()
    return 0 if at_least("EPANET's warm runH over ours", loops["by part"].median / loops["ours"].median, GOAL) else 1


if __name__ == "__main__":
    sys.exit(main())
