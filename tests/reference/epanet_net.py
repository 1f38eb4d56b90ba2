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

from tests.reference.formulas import swamee_jain
from ullage.hydraulics.friction import LAMINAR_END, Law
from ullage.hydraulics.plumbing import Fluid, Link, Plumbing, fluid_at
from ullage.quantities import G_STANDARD

FOOT, CUBIC_FOOT = 0.3048, 28.317e-3
G_EPANET = 32.2 * FOOT
K_EPANET = 0.02517 / FOOT
"""EPANET's 8 / (pi^2 g) [s2/m]."""

FLOW_EPANET = CUBIC_FOOT / FOOT**3
"""A flow of one m3/s in EPANET's cubic feet, over the true one."""

VALVE_BORE = 0.0127
"""Bore of valves [m]; their loss does not depend on it."""


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
    by_part : bool
        Every pipe, valve, meter and tap a link of its own, as a person enters a net in EPANET.
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
        by_part: bool = False,
    ) -> None:
        self.plumbing = plumbing
        self.by_part = by_part
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
                self._lay_shut(i, heads)
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
        """One link, as a chain of pipes that carries its whole loss (or as a chain of all its parts)."""
        link = self.plumbing.links[i]
        at = self._node(link.start, heads, -min(drop, 0.0))
        end = self._node(link.end, heads, max(drop, 0.0))
        quadratic = forward if forward >= 0.0 else backward
        one_way, sign = backward < 0.0, ""
        assert quadratic >= 0.0
        if forward < 0.0:
            at, end, one_way, sign = end, at, True, "-"
        self.watched[i] = f"{sign}L{i}_0"
        losses = self._losses(link, quadratic)
        if link.pump:
            losses.insert(0, ("pump", 0.0))
        for k, (part, resistance) in enumerate(losses):
            to = end if k == len(losses) - 1 else f"N{i}_{k}"
            if to != end:
                self.junctions.append(to)
            name = f"L{i}_{k}"
            if part == "pump":
                assert link.pump
                self._pump(name, at, to, link.pump)
            elif isinstance(part, int):
                status = "CV" if one_way and not link.pump and part == 0 else "OPEN"
                self._pipe(name, at, to, link.sections[part], resistance, status)
            else:
                k_loss = resistance * VALVE_BORE**4 / K_EPANET * FLOW_EPANET**2
                self.valves.append(f"{name} {at} {to} {VALVE_BORE * 1e3} TCV {k_loss!r} 0")
            at = to

    def _lay_shut(self, i: int, heads: list[float]) -> None:
        """A shut link: its last valve closed (taps come last), or all of it where it has none."""
        pipes, valves = len(self.pipes), len(self.valves)
        self._lay(i, heads, max(self.plumbing.network.resistance[i], 1.0), -1.0, 0.0)
        if len(self.valves) > valves:
            self.status.append(f"{self.valves[-1].split()[0]} CLOSED")
        else:
            self.pipes[pipes:] = [row.rsplit(" ", 1)[0] + " CLOSED" for row in self.pipes[pipes:]]

    def _losses(self, link: Link, quadratic: float) -> list[tuple[int | str, float]]:
        """Parts of a link with their quadratic losses: a section by its number, a valve by its name."""
        if not self.by_part:
            rest = [(k, 0.0) for k in range(1, len(link.sections))]
            return [(0, quadratic), *rest] if link.sections else [("valve", quadratic)]
        named = [section[0] for section in link.sections]
        sums = [0.0] * len(named)
        losses: list[tuple[int | str, float]] = []
        throttles = [(part, resistance) for part, _, resistance in link.throttles]
        ends = [part for part, _ in link.resistances if "." in part]
        for part, resistance in [*link.resistances, *throttles]:
            if named and (part in named or part in ends):
                sums[named.index(part) if part in named else 0] += resistance
            elif resistance > 0.0:
                losses.append((part, resistance))
        return [*enumerate(sums), *losses]

    def _pipe(
        self, name: str, at: str, to: str, section: tuple[str, float, float, float], resistance: float, status: str
    ) -> None:
        _, ratio, scale, unit = section
        viscosity = self.plumbing.fluid.viscosity
        bore = 4.0 / (LAMINAR_END * pi * viscosity * scale)
        speed = LAMINAR_END * viscosity / bore
        length = unit * bore * 2.0 * G_STANDARD / speed**2 * G_EPANET / G_STANDARD * FLOW_EPANET**2
        k_loss = resistance * bore**4 / K_EPANET * FLOW_EPANET**2
        self.pipes.append(f"{name} {at} {to} {length!r} {bore * 1e3!r} {ratio * bore * 1e3!r} {k_loss!r} {status}")

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
