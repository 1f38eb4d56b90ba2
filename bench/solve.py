"""Warm steady solve of the demo's net, ours beside EPANET's `runH`, in one process.

Before each solve the head at the hose is changed, so that each one has to find a new answer,
at an accuracy of 1e-4 on both sides. Both loops are machine code: ours is compiled,
EPANET's C library is called from a compiled loop too. EPANET is timed twice: on
the *whole* net (every link that ours has, closed ones and vents too), and on the *lean* one (what is shut
is left out, tanks are reservoirs), which is less than ours solves.

Run: ``python -m bench.solve``.
"""

from __future__ import annotations

import ctypes
import os
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

import epanet
import numpy as np
from numba import njit

from tests.reference.epanet_net import Epanet, fluid_of_epanet
from ullage.hydraulics.build import build
from ullage.hydraulics.network import as_arrays, condition_of, work_of
from ullage.hydraulics.plumbing import Plumbing
from ullage.hydraulics.solve import solve
from ullage.kernels import compiled
from ullage.rig.read import read_rig

SOLVES, ROUNDS, ACCURACY = 20_000, 9, 1e-4
OPEN = ("shore_guard", "shore_in", "galley", "shower", "rinse", "rose")


def marram() -> Plumbing:
    """The demo's net with EPANET's friction."""
    path = Path(__file__).parent.parent / "examples" / "rigs" / "marram.yaml"
    rig, _, _ = read_rig(path.read_bytes(), path.name)
    assert rig is not None
    return build(rig, fluid_of_epanet(), accuracy=ACCURACY)


def ours(plumbing: Plumbing) -> tuple[float, float, tuple[Any, ...]]:
    """Median time of a solve inside a compiled loop and from Python [s]; the tables as solved."""
    network, condition = plumbing.network, condition_of(plumbing.network)
    for name in OPEN:
        condition.opening[plumbing.throttles[name]] = 1.0
    condition.speed[0] = 1.0
    tables = as_arrays(network), as_arrays(condition), as_arrays(work_of(network))
    head, flow = np.array(plumbing.rest), np.zeros(len(network.start))
    twin, node = compiled(solve), plumbing.nodes["port", "shore"]

    @njit
    def loop(network, condition, work, head, flow, count, base):  # type: ignore[no-untyped-def]
        for k in range(count):
            head[node] = base + 0.1 * (k % 7)
            twin(network, condition, head, flow, work)

    base = float(head[node])
    network_, condition_, work_ = tables
    inside, outside = [], []
    loop(network_, condition_, work_, head, flow, 10, base)
    for _ in range(ROUNDS):
        start = time.perf_counter()
        loop(network_, condition_, work_, head, flow, SOLVES, base)
        inside.append((time.perf_counter() - start) / SOLVES)
        start = time.perf_counter()
        for k in range(SOLVES // 10):
            head[node] = base + 0.1 * (k % 7)
            twin(network_, condition_, head, flow, work_)
        outside.append((time.perf_counter() - start) / (SOLVES // 10))
    head[node] = base
    solved = (condition, head.tolist(), flow.tolist(), work_)
    return statistics.median(inside), statistics.median(outside), solved


def theirs(plumbing: Plumbing, solved: tuple[Any, ...], whole: bool) -> tuple[float, float, int, int]:
    """Median time of EPANET's runH in a compiled loop [s], its iterations, its links and junctions."""
    condition, head, _, work = solved
    made = Epanet(
        plumbing,
        head,
        work.forward.tolist(),
        work.backward.tolist(),
        work.drop.tolist(),
        condition.speed,
        ACCURACY,
        whole,
    )
    library = ctypes.CDLL(os.path.join(os.path.dirname(epanet.__file__), "libepanet2.so"))
    project, index = ctypes.c_void_p(), ctypes.c_int()
    library.EN_createproject(ctypes.byref(project))
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "net.inp")
        Path(path).write_text(made.text(), "ascii")
        assert library.EN_open(project, path.encode(), (path + ".rpt").encode(), b"") == 0
    assert library.EN_openH(project) == 0
    assert library.EN_initH(project, 0) == 0
    name = f"R{plumbing.nodes['port', 'shore']}"
    assert library.EN_getnodeindex(project, name.encode(), ctypes.byref(index)) == 0
    put, run = library.EN_setnodevalue, library.EN_runH
    put.argtypes = [ctypes.c_void_p, ctypes.c_int, ctypes.c_int, ctypes.c_double]
    run.argtypes = [ctypes.c_void_p, ctypes.c_void_p]
    clock = np.zeros(2, dtype=np.int64)
    at, handle, node, base = clock.ctypes.data, project.value, index.value, head[plumbing.nodes["port", "shore"]]

    @njit
    def loop(count):  # type: ignore[no-untyped-def]
        for k in range(count):
            put(handle, node, 0, base + 0.1 * (k % 7))
            run(handle, at)

    times = []
    loop(10)
    for _ in range(ROUNDS):
        start = time.perf_counter()
        loop(SOLVES)
        times.append((time.perf_counter() - start) / SOLVES)
    iterations = ctypes.c_double()
    library.EN_getstatistic(project, 0, ctypes.byref(iterations))
    links = len(made.pipes) + len(made.valves) + len(made.pumps)
    made.close()
    return statistics.median(times), iterations.value, links, len(made.junctions)


def main() -> None:
    """Measure and print."""
    plumbing = marram()
    inside, outside, solved = ours(plumbing)
    links, free = len(plumbing.network.start), plumbing.network.free
    print(f"ours, compiled loop   {inside * 1e6:8.2f} us   {links} links, {free} unknown heads")
    print(f"ours, called by Python{outside * 1e6:8.2f} us")
    for whole in (True, False):
        each, iterations, links, nodes = theirs(plumbing, solved, whole)
        name = "whole" if whole else "lean"
        print(
            f"EPANET runH, {name:5}    {each * 1e6:8.2f} us   "
            f"{links} links, {nodes} unknown heads, {iterations:.0f} iterations"
        )
        print(f"  ratio {each / inside:.2f}")


if __name__ == "__main__":
    main()
