"""A rig's lines written as an EPANET input file straight from the rig file, and EPANET run on it (owa-epanet 2.3).

Nothing of our network is read: every loss comes from the Kv and K figures of the parts, every
height from their places, every opening from the inherent characteristic of its valve. Only the
constants of EPANET (feet, 32.2 ft/s2) are made up for, as in `tests.reference.epanet_net`.
"""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass, field
from math import pi
from warnings import catch_warnings, simplefilter

from epanet import toolkit as en

from tests.reference.epanet_net import FLOW_EPANET, G_EPANET, K_EPANET, VALVE_BORE
from ullage.hydraulics.plumbing import Fluid
from ullage.quantities import G_STANDARD
from ullage.rig.model import Line, Rig

WIDE, SHORT = 0.1, 1e-3
"""Bore and length [m] of a check valve's pipe, in which next to nothing is lost but the valve's own K."""

K_IN, K_OUT, K_HEATER = 0.5, 1.0, 1.5
"""Velocity heads of a square-edged inlet, an outlet (HVAC Pump Handbook, table 3.7; row HYD-09), and of both."""

CLOSED = -1.0
"""In place of a loss: nothing passes."""


@dataclass(frozen=True)
class State:
    """A rig at one moment: part openings 0..1 (those not named are shut), pumps that run, depths [m]."""

    opening: dict[str, float] = field(default_factory=dict)
    running: tuple[str, ...] = ()
    depth: dict[str, float] = field(default_factory=dict)


@dataclass
class Answer:
    """Heads of the points [m] and flows of the lines [m3/s, positive from their start], as EPANET finds them."""

    heads: dict[str, float]
    flows: dict[int, float]


def share_of_kv(kind: str, opening: float) -> float:
    """Part of its Kv that a valve passes: equal percentage with R 50 to zero at closed, or linear (IEC 60534-2-4)."""
    return (50.0**opening - 1.0) / 49.0 if kind in ("ball", "butterfly") else opening


class Writer:
    """The rows of the input file, line by line of the rig."""

    def __init__(self, rig: Rig, fluid: Fluid, state: State) -> None:
        self.rig, self.fluid, self.state = rig, fluid, state
        self.rows: dict[str, list[str]] = {
            name: [] for name in ("JUNCTIONS", "RESERVOIRS", "PIPES", "PUMPS", "VALVES", "CURVES")
        }
        for index, line in enumerate(rig.lines):
            self.lay(index, line)

    def lay(self, index: int, line: Line) -> None:
        """One line: each of its parts is a link of its own."""
        through = (*line.through, line.end) if line.end in self.rig.fixtures else line.through
        parts = [(part, self.loss_of(part)) for part in through]
        if self.is_dry(line.start) or any(loss == CLOSED for _, loss in parts):
            return
        pipes = [part for part in line.through if part in self.rig.pipes]
        extra = dict.fromkeys(pipes, 0.0)
        if pipes and "." in line.start:
            extra[pipes[0]] += K_IN
        if pipes and (line.end.partition(".")[0] in self.rig.tanks or line.end in self.rig.ports):
            extra[pipes[-1]] += K_OUT
        if self.is_dry(line.end) or line.end in self.rig.fixtures:
            parts.append(("one way", 0.0))
        at, end = self.end_of(line.start, index), self.end_of(line.end, index)
        for k, (part, loss) in enumerate(parts):
            to = end if k == len(parts) - 1 else self.junction(f"N{index}_{k}")
            self.fit(f"L{index}_{k}", at, to, part, loss, extra.get(part, 0.0))
            at = to

    def junction(self, name: str) -> str:
        """A node whose head EPANET finds."""
        if name not in self.rows["JUNCTIONS"]:
            self.rows["JUNCTIONS"].append(name)
        return name

    def end_of(self, end: str, index: int) -> str:
        """Node of an end: a point, or a reservoir at the head that stands there."""
        if end in self.rig.points:
            return self.junction(end)
        name = f"R_{index}_{end.replace('.', '_')}"
        if end in self.rig.fixtures:
            head = self.rig.fixtures[end].at.z
        elif end in self.rig.ports:
            port = self.rig.ports[end]
            head = port.at.z + (port.usual or 0.0) / (self.fluid.density * G_STANDARD)
        else:
            tank, _, opening = end.partition(".")
            floor = self.rig.tanks[tank].floor_at.z
            head = floor + max(self.state.depth[tank], self.rig.tanks[tank].openings[opening].at)
        self.rows["RESERVOIRS"].append(f"{name} {head!r}")
        return name

    def is_dry(self, end: str) -> bool:
        """Whether an end is an opening of a tank above its water, or a port over an air gap."""
        tank, _, opening = end.partition(".")
        if tank in self.rig.tanks:
            return self.state.depth[tank] <= self.rig.tanks[tank].openings[opening].at
        return end in self.rig.ports and self.rig.ports[end].kind == "discharge"

    def loss_of(self, part: str) -> float:
        """Metres lost at one m3/s in a part that is no pipe, pump or heater [s2/m5]."""
        rig, opening = self.rig, self.state.opening.get(part, 0.0)
        if part in rig.fixtures:
            tap = rig.fixtures[part]
            full = tap.at_pressure / (self.fluid.density * G_STANDARD * tap.flow**2)
            return full / opening**2 if opening else CLOSED
        if part in rig.pumps:
            return 0.0 if part in self.state.running else CLOSED
        for group in (rig.restrictors, rig.meters, rig.checks, rig.valves):
            if part in group:
                # q = Kv sqrt(dp / 1 bar * 1000 / rho) (IEC 60534-1), in metres of the flowing water
                full = 1e5 / (1000.0 * G_STANDARD * group[part].kv ** 2)
                passed = share_of_kv(rig.valves[part].kind, opening) if part in rig.valves else 1.0
                return full / passed**2 if passed else CLOSED
        return 0.0

    def fit(self, name: str, at: str, to: str, part: str, loss: float, extra: float) -> None:
        """Write one part."""
        rig, lossy = self.rig, G_STANDARD * pi**2 / 8.0
        if part in rig.pumps:
            curve = [(p.flow, p.pressure / (self.fluid.density * G_STANDARD)) for p in rig.pumps[part].curve]
            self.rows["CURVES"] += [f"C_{part} {flow * 1e3!r} {head!r}" for flow, head in curve]
            self.rows["PUMPS"].append(f"{name} {at} {to} HEAD C_{part}")
        elif part in rig.pipes:
            pipe = rig.pipes[part]
            self.pipe(name, at, to, pipe.bore, pipe.length, pipe.rough, pipe.fittings + extra, "OPEN")
        elif part in rig.heaters:
            self.pipe(name, at, to, rig.heaters[part].bore, 0.0, 0.0, K_HEATER, "OPEN")
        elif part in rig.checks or part == "one way":
            self.pipe(name, at, to, WIDE, SHORT, 0.0, loss * lossy * WIDE**4, "CV")
        else:
            k = self.scaled(loss * lossy * VALVE_BORE**4)
            self.rows["VALVES"].append(f"{name} {at} {to} {VALVE_BORE * 1e3} TCV {k!r} 0")

    def scaled(self, k: float) -> float:
        """A K that loses in EPANET's units what it loses in ours."""
        return k * 8.0 / (pi**2 * G_STANDARD) / K_EPANET * FLOW_EPANET**2

    def pipe(
        self, name: str, at: str, to: str, bore: float, length: float, rough: float, k: float, status: str
    ) -> None:
        """A pipe; one without length is given a micrometre of it, one without roughness a nanometre."""
        long = max(length, 1e-6) * G_EPANET / G_STANDARD * FLOW_EPANET**2
        row = f"{name} {at} {to} {long!r} {bore * 1e3!r} {max(rough, 1e-9) * 1e3!r} {self.scaled(k)!r} {status}"
        self.rows["PIPES"].append(row)

    def text(self) -> str:
        """The input file."""
        rows = {**self.rows, "JUNCTIONS": [f"{name} 0 0" for name in self.rows["JUNCTIONS"]]}
        viscosity = self.fluid.viscosity * FLOW_EPANET
        rows["OPTIONS"] = ["UNITS LPS", "HEADLOSS D-W", f"VISCOSITY {viscosity!r}", "ACCURACY 1e-8", "TRIALS 500"]
        rows["TIMES"] = ["DURATION 0"]
        return "\n".join(f"[{head}]\n" + "\n".join(lines) for head, lines in rows.items()) + "\n[END]\n"


def epanet_on(rig: Rig, fluid: Fluid, state: State) -> Answer:
    """EPANET's answer for a rig at one moment."""
    writer = Writer(rig, fluid, state)
    project = en.createproject()
    with tempfile.TemporaryDirectory() as folder, catch_warnings():
        simplefilter("ignore")  # it warns of suction and of what is shut off, which is no disagreement
        path = os.path.join(folder, "rig.inp")
        with open(path, "w", encoding="ascii") as file:
            file.write(writer.text())
        en.open(project, path, os.path.join(folder, "rig.rpt"), "")
        en.openH(project)
        en.initH(project, 0)
        en.runH(project)
        heads = {
            point: en.getnodevalue(project, en.getnodeindex(project, point), en.HEAD)
            for point in rig.points
            if point in writer.rows["JUNCTIONS"]
        }
        links = {row.split()[0] for kind in ("PIPES", "PUMPS", "VALVES") for row in writer.rows[kind]}
        flows = {
            index: en.getlinkvalue(project, en.getlinkindex(project, f"L{index}_0"), en.FLOW) * 1e-3
            for index in range(len(rig.lines))
            if f"L{index}_0" in links
        }
        en.closeH(project)
        en.close(project)
    en.deleteproject(project)
    return Answer(heads, flows)
