"""Nets that are given as EPANET files, in both programs: EPANET (owa-epanet 2.3) and the product's solver.

What EPANET computes with, in feet and cubic feet a second, is taken over figure by figure: its 32.2 ft/s2,
its 448.831 gallons a minute and 28.317 litres a second to the cubic foot, its viscosity of 1.1e-5 ft2/s, its
0.02517 for 8 / (pi^2 g), its pump curves. Friction is Swamee-Jain's on both sides; Hazen-Williams', where a
file asks for it, comes to the solver as the law of friction of each pipe.

The product knows no withdrawal of a given flow: it is a tap into a depth of `DEEP`, whose loss is such that
its flow is the given one.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from math import log, pi
from pathlib import Path
from typing import Any
from warnings import catch_warnings, simplefilter

import numpy as np
from epanet import toolkit as en

from tests.reference.formulas import swamee_jain
from ullage.hydraulics.friction import Law, section
from ullage.hydraulics.network import FORWARD, Condition, Network, as_arrays, condition_of, work_of
from ullage.hydraulics.plumbing import Link
from ullage.hydraulics.solve import solve
from ullage.hydraulics.tables import tables
from ullage.kernels import compiled
from ullage.quantities import G_STANDARD

NETS = Path(__file__).parent / "nets"
FOOT = 0.3048
CUBIC_FOOT = FOOT**3
G_EPANET = 32.2 * FOOT
VISCOSITY = 1.1e-5 * FOOT**2
"""EPANET's kinematic viscosity of water [m2/s]."""

K_EPANET = 0.02517 / FOOT
"""EPANET's 8 / (pi^2 g) [s2/m]."""

PSI_PER_FOOT = 0.4333
POINTS = 4000
"""Points of a pump curve that EPANET holds as a power of the flow."""

DEEP = 1e6
"""Depth of the place that withdrawals run to [m]."""

FINE = 1e-12


@dataclass(frozen=True)
class Units:
    """Divisors that bring a file's figures to EPANET's feet and cubic feet a second."""

    flow: float
    length: float
    bore: float
    pressure: float


UNITS = {en.GPM: Units(448.831, 1.0, 12.0, PSI_PER_FOOT), en.LPS: Units(28.317, FOOT, 304.8, FOOT)}


@dataclass
class Answer:
    """Heads [m] by junction and flows [m3/s] by link, by the names of the file."""

    heads: dict[str, float]
    flows: dict[str, float]

    def apart(self, other: Answer) -> tuple[float, float]:
        """Greatest difference of heads [m], and of flows over the largest flow."""
        largest = max(abs(q) for q in self.flows.values())
        return (
            max(abs(h - other.heads[name]) for name, h in self.heads.items()),
            max(abs(q - other.flows[name]) for name, q in self.flows.items()) / largest,
        )


class BothWays:
    """One EPANET file opened by EPANET and laid out for the product's solver.

    Parameters
    ----------
    text : str
        The file.
    rough : float, optional
        Every pipe's roughness [m], with friction by Darcy-Weisbach instead of what the file asks for.
    """

    def __init__(self, text: str, rough: float | None = None) -> None:
        self.project = en.createproject()
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "net.inp"
            path.write_text(text.replace("Headloss H-W", "Headloss D-W") if rough else text, "ascii")
            en.open(self.project, str(path), str(path.with_suffix(".rpt")), "")
        self.units = UNITS[en.getflowunits(self.project)]
        self.pipes_are_rough(rough)
        en.setoption(self.project, en.ACCURACY, 1e-8)
        en.setoption(self.project, en.TRIALS, 500)
        en.setoption(self.project, en.EMITBACKFLOW, 0)
        en.openH(self.project)
        self._lay()

    def pipes_are_rough(self, rough: float | None) -> None:
        """Give every pipe one roughness [m], in the file's thousandths."""
        for i in range(1, 1 + en.getcount(self.project, en.LINKCOUNT) if rough else 0):
            if en.getlinktype(self.project, i) in (en.PIPE, en.CVPIPE):
                assert rough
                en.setlinkvalue(self.project, i, en.ROUGHNESS, rough / FOOT * self.units.length * 1e3)

    def _node(self, index: int, what: int) -> float:
        return float(en.getnodevalue(self.project, index, what))

    def _link(self, index: int, what: int) -> float:
        return float(en.getlinkvalue(self.project, index, what))

    def metres(self, length: float) -> float:
        """A length of the file [m]."""
        return length / self.units.length * FOOT

    def flow(self, flow: float) -> float:
        """A flow of the file [m3/s]."""
        return flow / self.units.flow * CUBIC_FOOT

    # --- laying out -----------------------------------------------------------------------

    def _lay(self) -> None:
        """All nodes and links, then a withdrawal for each junction and an emitter where there is one."""
        nodes = range(1, 1 + en.getcount(self.project, en.NODECOUNT))
        kinds = {i: en.getnodetype(self.project, i) for i in nodes}
        self.junctions = [i for i in nodes if kinds[i] == en.JUNCTION]
        self.fixed = [i for i in nodes if kinds[i] != en.JUNCTION]
        self.names = {i: en.getnodeid(self.project, i) for i in nodes}
        places = {i: k for k, i in enumerate([*self.junctions, *self.fixed])}
        heights = [self.metres(self._node(i, en.ELEVATION)) for i in places]
        self.links: list[Link] = []
        self.laws: list[Law] = []
        curves: list[list[tuple[float, float]]] = []
        self.count = en.getcount(self.project, en.LINKCOUNT)
        for i in range(1, 1 + self.count):
            start, end = (places[node] for node in en.getlinknodes(self.project, i))
            link = Link(en.getlinkid(self.project, i), start, end)
            if en.getlinktype(self.project, i) == en.PUMP:
                link.pump, link.way = link.name, FORWARD
                curves.append(self._curve(i))
            else:
                self._pipe(link, i)
            self.links.append(link)
        for k, i in enumerate(self.junctions):
            coefficient = self._node(i, en.EMITTER)
            if coefficient > 0.0:
                heights.append(heights[k])
                resistance = self._emitter(coefficient)
                self.links.append(Link(f"emitter {self.names[i]}", k, len(heights) - 1, resistances=[("", resistance)]))
                self.links[-1].way = FORWARD
        self.deep, self.high = len(heights), len(heights) + 1
        heights += [-DEEP, DEEP]
        self.first_tap = len(self.links)
        for k in range(len(self.junctions)):
            self.links.append(Link(f"out {k}", k, self.deep, resistances=[("", 1.0)]))
            self.links.append(Link(f"in {k}", self.high, k, resistances=[("", 1.0)]))
        network = tables(self.links, len(self.junctions), heights, curves, self._law, FINE)
        self.network: Network = as_arrays(network)
        self.condition: Condition = as_arrays(condition_of(network))
        self.work = as_arrays(work_of(network))
        self.head = np.array(heights)
        self.drawn = np.zeros(len(self.links))

    def _law(self, reynolds: float, ratio: float) -> tuple[float, float]:
        """Swamee and Jain's law, or that of the pipe whose number is the negative ratio."""
        return self.laws[round(-ratio) - 1](reynolds, ratio) if ratio < 0.0 else swamee_jain(reynolds, ratio)

    def _pipe(self, link: Link, i: int) -> None:
        """Friction and minor losses of a pipe."""
        bore = self._link(i, en.DIAMETER) / self.units.bore * FOOT
        length = self.metres(self._link(i, en.LENGTH))
        rough = self._link(i, en.ROUGHNESS)
        if en.getoption(self.project, en.HEADLOSSFORM) == en.DW:
            ratio = rough / 1e3 / self.units.length * FOOT / bore
            link.sections.append(("", ratio, *section(bore, length * G_STANDARD / G_EPANET, VISCOSITY)))
        else:
            self.laws.append(hazen_williams(rough, bore))
            link.sections.append(("", float(-len(self.laws)), *section(bore, length, VISCOSITY)))
        link.resistances.append(("", K_EPANET * self._link(i, en.MINORLOSS) / bore**4))
        if en.getlinktype(self.project, i) == en.CVPIPE:
            link.way = FORWARD

    def _emitter(self, coefficient: float) -> float:
        """Quadratic resistance [s2/m5] of an emitter given as flow at a pressure of 1 (exponent 0.5)."""
        return FOOT / self.units.pressure / self.flow(coefficient) ** 2

    def _curve(self, i: int) -> list[tuple[float, float]]:
        """A pump's curve, in m3/s and m: EPANET's points, or its power of the flow in many points."""
        curve = int(self._link(i, en.PUMP_HCURVE))
        count = en.getcurvelen(self.project, curve)
        points = [en.getcurvevalue(self.project, curve, k) for k in range(1, 1 + count)]
        given = [(self.flow(q), self.metres(h)) for q, h in points]
        if en.getpumptype(self.project, i) == en.CUSTOM:
            return given
        return power_curve(given)

    # --- running --------------------------------------------------------------------------

    def steps(self) -> Iterator[int]:
        """Run EPANET through its period; yields the time [s] whenever it has solved, with its statuses and levels."""
        en.initH(self.project, 0)
        while True:
            with catch_warnings():
                simplefilter("ignore")  # it warns of suction, which is no disagreement
                now = en.runH(self.project)
            yield now
            if en.nextH(self.project) <= 0:
                return

    def theirs(self) -> Answer:
        """EPANET's answer as it stands."""
        heads = {self.names[i]: self.metres(self._node(i, en.HEAD)) for i in self.junctions}
        flows = {self.links[i - 1].name: self.flow(self._link(i, en.FLOW)) for i in range(1, 1 + self.count)}
        return Answer(heads, flows)

    def take_over(self) -> None:
        """Give our side what EPANET was given or has decided: levels, withdrawals, what is shut, pump speeds."""
        for k, i in enumerate(self.fixed, len(self.junctions)):
            self.head[k] = self.metres(self._node(i, en.HEAD))
        pump = 0
        for i in range(1, 1 + self.count):
            one_way = en.getlinktype(self.project, i) in (en.CVPIPE, en.PUMP)
            shut = self._link(i, en.INITSTATUS if one_way else en.STATUS) == 0
            if en.getlinktype(self.project, i) == en.PUMP:
                shut = self._link(i, en.STATUS) == 0
                self.condition.speed[pump] = self._link(i, en.SETTING)
                pump += 1
            self.condition.clear[i - 1] = 0.0 if shut else 1.0
        self.withdraw([self.flow(self._node(i, en.DEMAND) - self._node(i, en.EMITTERFLOW)) for i in self.junctions])

    def withdraw(self, flows: list[float]) -> None:
        """What is taken from each junction [m3/s]; below zero, put in."""
        self.taken = flows
        for k, q in enumerate(flows):
            tap = self.first_tap + 2 * k
            self.condition.clear[tap], self.condition.clear[tap + 1] = float(q > 0.0), float(q < 0.0)

    def ours(self) -> Answer:
        """Our answer; solved twice, since the loss of a tap follows from the head that it is under."""
        for _ in range(2):
            for k, q in enumerate(self.taken):
                if q != 0.0:
                    tap = self.first_tap + 2 * k + (1 if q < 0.0 else 0)
                    self.network.resistance[tap] = (DEEP + (self.head[k] if q > 0.0 else -self.head[k])) / q**2
                    self.drawn[tap] = abs(q)
            settled = compiled(solve)(self.network, self.condition, self.head, self.drawn, self.work)
            assert settled > 0
        heads = {self.names[i]: float(self.head[k]) for k, i in enumerate(self.junctions)}
        return Answer(heads, {link.name: float(self.drawn[i]) for i, link in enumerate(self.links[: self.count])})

    def close(self) -> None:
        """Give the project back."""
        en.closeH(self.project)
        en.close(self.project)
        en.deleteproject(self.project)


def hazen_williams(c: float, bore: float) -> Law:
    """EPANET's Hazen-Williams loss of one bore [m] as a friction factor for `section` with `VISCOSITY`.

    ``hf = 4.727 L q^1.852 / (C^1.852 d^4.871)`` in feet and cubic feet a second (EPANET 2.2 manual).
    """

    def law(reynolds: float, ratio: float) -> tuple[float, float]:
        flow = reynolds * VISCOSITY * pi * bore / 4
        per_length = 4.727 * (flow / CUBIC_FOOT) ** 1.852 / (c**1.852 * (bore / FOOT) ** 4.871)
        factor = per_length * bore * 2 * G_STANDARD / (flow / (0.25 * pi * bore * bore)) ** 2
        return factor, -0.148 * factor / reynolds

    return law


def power_curve(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """EPANET's curve ``h0 - a q^n`` through three points, or through one (its shutoff 1.33334 h, its runout 2 q)."""
    if len(points) == 1:
        (q, h) = points[0]
        points = [(0.0, 1.33334 * h), (q, h), (2.0 * q, 0.0)]
    (_, h0), (q1, h1), (q2, h2) = points
    n = log((h0 - h2) / (h0 - h1)) / log(q2 / q1)
    a = (h0 - h1) / q1**n
    most = (h0 / a) ** (1.0 / n)
    return [(most * k / POINTS, h0 - a * (most * k / POINTS) ** n) for k in range(POINTS + 1)]


def example(number: int, rough: float | None = None) -> BothWays:
    """One of EPANET's example networks."""
    return BothWays((NETS / f"net{number}.inp").read_text("ascii"), rough)


def worst(pairs: list[tuple[float, float]]) -> tuple[float, float]:
    """The greatest of all differences of heads and of flows."""
    array: Any = np.array(pairs)
    return float(array[:, 0].max()), float(array[:, 1].max())
