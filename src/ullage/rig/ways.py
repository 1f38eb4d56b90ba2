"""Where water can go in a rig: its lines as a graph.

Joints are the ends of lines (a port, a fixture, a point, or ``tank.opening``) and the unnamed
joints between the parts of a line. A walk over the graph ends at ports, fixtures and tank
openings: a tank's openings are joints of their own, since what enters at one need not leave at
another.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

from ullage.rig.model import Rig
from ullage.rig.names import IN_LINE, parts


@dataclass(frozen=True, slots=True)
class Link:
    """One part of a line between two joints.

    Attributes
    ----------
    name : str
        Name of the part ("" for a line without parts).
    kind : str
        Its group in the rig, such as ``valves`` ("" for a line without parts).
    start, end : str
        Joints, in the order of the line.
    line : int
        Which line it sits in.
    """

    name: str
    kind: str
    start: str
    end: str
    line: int


Passes = Callable[[Link, bool], bool]
"""Whether a walk passes a link, forwards (True) or backwards."""


def anyway(link: Link, forwards: bool) -> bool:
    """Pass everything either way: what is joined at all."""
    return True


def one_way(link: Link, forwards: bool) -> bool:
    """Pass what water passes when all valves stand open: checks and pumps forwards only."""
    return forwards or link.kind not in ("checks", "pumps")


class Ways:
    """The graph of a rig's lines."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        kinds = {name: kind for kind, name, _ in parts(rig, *IN_LINE)}
        self.links: list[Link] = []
        for at, line in enumerate(rig.lines):
            names = line.through or ("",)
            joints = [line.start, *(f"{at}:{between}" for between in range(1, len(names))), line.end]
            for name, start, end in zip(names, joints, joints[1:], strict=False):
                self.links.append(Link(name, kinds.get(name, ""), start, end, at))

    @cached_property
    def beside(self) -> dict[str, list[Link]]:
        """The links at each joint."""
        table: dict[str, list[Link]] = {}
        for link in self.links:
            table.setdefault(link.start, []).append(link)
            table.setdefault(link.end, []).append(link)
        return table

    @cached_property
    def of_part(self) -> dict[str, Link]:
        """The link of each part."""
        return {link.name: link for link in self.links if link.name}

    def tank_of(self, joint: str) -> str | None:
        """The tank that a joint is an opening of."""
        tank = joint.partition(".")[0]
        return tank if "." in joint and tank in self.rig.tanks else None

    def openings(self, tank: str) -> list[str]:
        """The joints of a tank."""
        return [f"{tank}.{opening}" for opening in self.rig.tanks[tank].openings]

    def submerged(self, joint: str) -> bool:
        """Whether an opening can lie below the surface: not above the overflow (a gap of air)."""
        tank = self.rig.tanks[joint.partition(".")[0]]
        opening = tank.openings.get(joint.partition(".")[2])
        return opening is not None and (tank.overflow is None or opening.at <= tank.overflow.at)

    def wet(self, tank: str) -> list[str]:
        """The openings of a tank that can lie below its surface."""
        return [opening for opening in self.openings(tank) if self.submerged(opening)]

    def ends(self, joint: str) -> bool:
        """Whether a walk ends at a joint."""
        return joint in self.rig.ports or joint in self.rig.fixtures or self.tank_of(joint) is not None

    def reach(self, starts: Iterable[str], passes: Passes = one_way) -> set[str]:
        """All joints that a walk from some joints comes to, the starts among them."""
        seen = set(starts)
        waiting = deque((joint, True) for joint in sorted(seen))
        while waiting:
            joint, first = waiting.popleft()
            if not first and self.ends(joint):
                continue
            for link in self.beside.get(joint, ()):
                forwards = link.start == joint
                other = link.end if forwards else link.start
                if other not in seen and passes(link, forwards):
                    seen.add(other)
                    waiting.append((other, False))
        return seen

    def heated(self, heater: str) -> list[str]:
        """The fixtures that the water behind a heater reaches without passing a heater, in the order of the file."""

        def onward(link: Link, forwards: bool) -> bool:
            return one_way(link, forwards) and link.kind != "heaters"

        reached = self.reach([self.of_part[heater].end], onward)
        return [fixture for fixture in self.rig.fixtures if fixture in reached]

    def sections(self, closes: Callable[[Link], bool]) -> list[tuple[set[str], list[Link]]]:
        """The joints and links that hang together when some links are shut, in order of the file."""
        found: list[tuple[set[str], list[Link]]] = []
        left = [link for link in self.links if not closes(link)]
        seen: set[str] = set()
        for link in left:
            if link.start in seen or link.end in seen:
                continue
            joints = self._section({link.start, link.end}, closes)
            seen |= {joint for joint in joints if not self.ends(joint)}
            found.append((joints, [other for other in left if other.start in joints and other.end in joints]))
        return found

    def _section(self, joints: set[str], closes: Callable[[Link], bool]) -> set[str]:
        inner = {joint for joint in joints if not self.ends(joint)}
        return joints | self.reach(inner, lambda link, forwards: not closes(link))
