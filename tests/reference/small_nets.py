"""Networks of a link or two, and the product's solver run on them."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.optimize import brentq

from ullage.hydraulics.friction import Law, colebrook, section
from ullage.hydraulics.network import condition_of, work_of
from ullage.hydraulics.plumbing import Fluid, Link, fluid_at
from ullage.hydraulics.solve import solve
from ullage.hydraulics.tables import tables

FINE = 1e-13
"""Accuracy of the solver in these tests, so that what differs is not its stopping."""

STEEL = 0.0018 * 0.0254
"""Roughness of clean commercial steel pipe [m]: 0.0018 inch (Crane TP-410)."""


def water_at(celsius: float) -> Fluid:
    """The product's water at a temperature [degC] and one atmosphere."""
    return fluid_at(celsius + 273.15)


def always(factor: float) -> Law:
    """A friction factor that is taken as given, as hand calculations do."""
    return lambda reynolds, ratio: (factor, 0.0)


def pipe(bore: float, length: float, rough: float, fluid: Fluid) -> tuple[str, float, float, float]:
    """A section of pipe for `Link.sections` (lengths in m)."""
    return ("pipe", rough / bore, *section(bore, length, fluid.viscosity))


@dataclass
class Net:
    """Links between nodes 0, 1, ..., of which the first ``len(heights)`` are free and the rest have given heads [m]."""

    links: list[Link]
    given: list[float]
    heights: tuple[float, ...] = ()
    curves: tuple[list[tuple[float, float]], ...] = ()
    law: Law = colebrook

    def solve(self, opening: float = 1.0, speed: float = 1.0) -> tuple[list[float], list[float]]:
        """Heads [m] and flows [m3/s] with all valves this far open and all pumps at this speed."""
        free = len(self.heights)
        network = tables(self.links, free, [*self.heights, *self.given], list(self.curves), self.law, FINE)
        condition = condition_of(network)
        for i in range(len(condition.opening)):
            condition.opening[i] = opening
        for i in range(len(condition.speed)):
            condition.speed[i] = speed
        head, flow = [*self.heights, *self.given], [0.0] * len(self.links)
        assert solve(network, condition, head, flow, work_of(network)) > 0
        return head, flow


def flow_under(fall: float, link: Link, law: Law = colebrook) -> float:
    """Flow [m3/s] of one link under a fall of head [m]."""
    link.start, link.end = 0, 1
    return Net([link], [fall, 0.0], law=law).solve()[1][0]


def fall_for(flow: float, link: Link, law: Law = colebrook, most: float = 1e3) -> float:
    """Fall of head [m] that drives a flow [m3/s] through one link, found by running the solver."""
    return float(brentq(lambda fall: flow_under(fall, link, law) - flow, 1e-9, most, xtol=1e-12, rtol=1e-12))
