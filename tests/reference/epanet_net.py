"""Our network written as an EPANET input file, and EPANET run on it (owa-epanet 2.3).

EPANET counts in feet with 32.2 ft/s2, 0.3048, 28.317 L/ft3 and 0.02517 for 8 / (pi^2 g). Lengths
and loss coefficients are scaled so that both sides have the same resistances; friction
(Swamee-Jain) and viscosity are EPANET's on both sides.
"""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from math import pi

from epanet import toolkit as en

from ullage.hydraulics.friction import LAMINAR_END, Law, swamee_jain
from ullage.hydraulics.plumbing import Fluid, Plumbing, fluid_at
from ullage.quantities import G_STANDARD

FOOT, CUBIC_FOOT = 0.3048, 28.317e-3
G_EPANET = 32.2 * FOOT
K_EPANET = 0.02517 / FOOT
"""EPANET's 8 / (pi^2 g) [s2/m]."""

FLOW_EPANET = CUBIC_FOOT / FOOT**3
"""A flow of one m3/s in EPANET's cubic feet, over the true one."""

LITTLE = 1e-9
"""Links shut this far stay out of the file."""


def fluid_of_epanet(law: Law = swamee_jain) -> Fluid:
    """Water at 15 degC with EPANET's turbulent friction."""
    water = fluid_at(288.15)
    return Fluid(water.density, water.viscosity, water.air_density, water.air_viscosity, law)


@dataclass
class Answer:
    """Heads [m] by node and flows [m3/s] by link of our network, as EPANET finds them."""

    heads: dict[int, float]
    flows: dict[int, float]


class Epanet:
    """One EPANET project made from our network at one condition.

    Parameters
    ----------
    plumbing : Plumbing
    heads : (N,) [m]
        Given heads; vents are taken as wide, so that a gas node is at its face's level.
    forward, backward : (L,) [s2/m5]
        Quadratic losses as our solver found them from the condition, -1 where nothing passes.
    drop : (L,) [m]
    speeds : (P,)
    accuracy : float
    whole : bool
        Also write what is shut (as closed pipes) and the vents (as pipes of water, so not for comparison).
    """

    def __init__(
        self,
        plumbing: Plumbing,
        heads: list[float],
        forward: list[float],
        backward: list[float],
        drop: list[float],
        speeds: list[float],
        accuracy: float = 1e-8,
        whole: bool = False,
    ) -> None:
        self.plumbing = plumbing
        self.watched: dict[int, str] = {}
        self.reservoirs: dict[str, float] = {}
        self.junctions: list[str] = []
        self.pipes: list[str] = []
        self.valves: list[str] = []
        self.pumps: list[str] = []
        self.curves: list[str] = []
        self.status: list[str] = []
        self.speeds = speeds
        gas = {i: plumbing.nodes["face", name] for (kind, name), i in plumbing.nodes.items() if kind == "gas"}
        self.gas = {} if whole else gas
        vents = [i for (kind, _), i in plumbing.link_of.items() if kind == "vent"]
        for i in range(len(plumbing.links)):
            if forward[i] >= 0.0 or backward[i] >= 0.0:
                if whole or i not in vents:
                    self._lay(i, heads, forward[i], backward[i], drop[i])
            elif whole:
                laid = len(self.pipes), len(self.valves)
                self._lay(i, heads, max(plumbing.network.resistance[i], 1.0), -1.0, 0.0)
                self.pipes[laid[0] :] = [row.rsplit(" ", 1)[0] + " CLOSED" for row in self.pipes[laid[0] :]]
                self.status += [f"{row.split()[0]} CLOSED" for row in self.valves[laid[1] :]]
        self.accuracy = accuracy
        self.project = en.createproject()
        self._open()

    def _node(self, node: int, heads: list[float], sunk: float) -> str:
        """Name of a node; a tank is a reservoir at its level, or at a dry opening of its own."""
        level = self.gas.get(node, node)
        if level >= self.plumbing.network.free:
            name = f"R{level}" if sunk == 0.0 else f"R{level}_{len(self.reservoirs)}"
            self.reservoirs[name] = heads[level] + sunk
            return name
        name = f"J{node}"
        if name not in self.junctions:
            self.junctions.append(name)
        return name

    def _lay(self, i: int, heads: list[float], forward: float, backward: float, drop: float) -> None:
        link = self.plumbing.links[i]
        at = self._node(link.start, heads, -min(drop, 0.0))
        end = self._node(link.end, heads, max(drop, 0.0))
        quadratic = forward if forward >= 0.0 else backward
        one_way = backward < 0.0
        assert forward >= 0.0 or backward >= 0.0
        if forward < 0.0:
            at, end, one_way = end, at, True
        name, sign = f"L{i}", "" if forward >= 0.0 else "-"
        if link.pump:
            self.junctions.append(f"P{i}")
            self._pump(name, at, f"P{i}", link.pump)
            at, name = f"P{i}", f"L{i}_0"
            one_way = False
        viscosity = self.plumbing.fluid.viscosity
        for k, (_, ratio, scale, unit) in enumerate(link.sections):
            bore = 4.0 / (LAMINAR_END * pi * viscosity * scale)
            speed = LAMINAR_END * viscosity / bore
            length = unit * bore * 2.0 * G_STANDARD / speed**2 * G_EPANET / G_STANDARD * FLOW_EPANET**2
            k_loss = 0.0 if k else quadratic * bore**4 / K_EPANET * FLOW_EPANET**2
            last = k == len(link.sections) - 1
            to = end if last else f"N{i}_{k}"
            if not last:
                self.junctions.append(to)
            status = "CV" if one_way and k == 0 else "OPEN"
            called = name if k == 0 else f"{name}_{k + 1}"
            self.pipes.append(
                f"{called} {at} {to} {length!r} {bore * 1e3!r} {ratio * bore * 1e3!r} {k_loss!r} {status}"
            )
            at = to
        if not link.sections:
            bore = 0.0127
            self.valves.append(
                f"{name} {at} {end} {bore * 1e3} TCV {quadratic * bore**4 / K_EPANET * FLOW_EPANET**2!r} 0"
            )
        self.watched[i] = sign + f"L{i}"

    def _pump(self, name: str, at: str, to: str, pump: str) -> None:
        network, index = self.plumbing.network, self.plumbing.pumps[pump]
        first, last = network.pump_first[index], network.pump_first[index + 1]
        for q, h in zip(network.pump_flow[first:last], network.pump_head[first:last], strict=True):
            self.curves.append(f"C{index} {q * 1e3!r} {h!r}")
        self.pumps.append(f"{name} {at} {to} HEAD C{index} SPEED {self.speeds[index]!r}")

    def text(self) -> str:
        """The input file."""
        viscosity = self.plumbing.fluid.viscosity * FLOW_EPANET
        parts = {
            "JUNCTIONS": [f"{name} 0 0" for name in self.junctions],
            "RESERVOIRS": [f"{name} {head!r}" for name, head in self.reservoirs.items()],
            "PIPES": self.pipes,
            "PUMPS": self.pumps,
            "VALVES": self.valves,
            "CURVES": self.curves,
            "STATUS": self.status,
            "OPTIONS": [
                "UNITS LPS",
                "HEADLOSS D-W",
                f"VISCOSITY {viscosity!r}",
                f"ACCURACY {self.accuracy!r}",
                "TRIALS 500",
                "UNBALANCED CONTINUE 10",
            ],
            "TIMES": ["DURATION 0"],
        }
        return "\n".join(f"[{head}]\n" + "\n".join(rows) for head, rows in parts.items()) + "\n[END]\n"

    def _open(self) -> None:
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "net.inp")
            with open(path, "w", encoding="ascii") as file:
                file.write(self.text())
            en.open(self.project, path, os.path.join(folder, "net.rpt"), "")
        en.openH(self.project)

    def run(self) -> Answer:
        """Solve from a cold start."""
        en.initH(self.project, 0)
        en.runH(self.project)
        return self.answer()

    def answer(self) -> Answer:
        """Heads and flows as they stand."""
        heads = {
            int(name[1:]): en.getnodevalue(self.project, en.getnodeindex(self.project, name), en.HEAD)
            for name in self.junctions
            if name.startswith("J")
        }
        flows = {}
        for i, name in self.watched.items():
            index = en.getlinkindex(self.project, name.lstrip("-"))
            q = en.getlinkvalue(self.project, index, en.FLOW) * 1e-3
            flows[i] = -q if name.startswith("-") else q
        return Answer(heads, flows)

    def close(self) -> None:
        """Give the project back."""
        en.closeH(self.project)
        en.close(self.project)
        en.deleteproject(self.project)
