"""Which lines drain by gravity, to where, and which keep water and why: from the heights of the network.

All taps, valves and drain cocks stand open, supplies are unhooked, pumps rest. Water leaves a place
when there is a way to an opening that nowhere rises above the place. So each joint has a *spill level*: the
least, over all ways to all openings, of the highest point of the way. It is found by the flood from
the openings inwards that is known from the drainage of land (priority flood: Barnes, Lehman and
Mulla, Computers and Geosciences 62 (2014) 117). What lies below its spill level keeps its water.

And air has to follow: a place that only one opening leads to does not drain, as a straw that a
thumb closes; where two do, the water of one gives way to the air of the other. Check valves pass water
and air one way; a pump at rest passes neither.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from heapq import heappop, heappush
from math import inf
from typing import Literal

from ullage.rig.ways import Ways
from ullage.upkeep.profile import CREST, Profile, Stretch, profile_of

LEAST_FALL = 0.005
"""A pipe that falls less than this on its length [m/m] is taken for level: 5 mm/m, common practice, no source."""

NEARLY = 1e-9
"""Heights closer than this are the same [m]."""

Why = Literal["sags", "level", "no air", "vessel"]
"""Why water stays: below every way out, in a level pipe, without air behind it, in a vessel without a drain."""


@dataclass(frozen=True, slots=True)
class Stays:
    """Water that stays in a part.

    Attributes
    ----------
    part : str
    why : str
    volume : float
        How much [m3].
    cure : str
        Where a drain cock lets it out, or air in: a point, a ``tank.opening``, or the part at whose beginning.
    height : float
        Of that place above the ground [m].
    """

    part: str
    why: Why
    volume: float
    cure: str
    height: float


@dataclass(frozen=True, slots=True)
class Runs:
    """A part that drains.

    Attributes
    ----------
    part : str
    volume : float
        [m3].
    out : str
        The opening it leaves by: a port, a tap, a ``tank.opening`` or a drain cock.
    """

    part: str
    volume: float
    out: str


@dataclass(frozen=True, slots=True)
class Drainage:
    """What becomes of the water of all lines."""

    runs: tuple[Runs, ...]
    stays: tuple[Stays, ...]


@dataclass(frozen=True, slots=True)
class _Flood:
    """Spill level of each joint [m], and the joint of the opening by which its water leaves."""

    level: dict[str, float]
    out: dict[str, str]


def place_of_drain(ways: Ways, at: str) -> str:
    """The joint of a drain cock: what it names, or where the part that it names begins."""
    link = ways.of_part.get(at)
    return link.start if link is not None else at


def hoses(ways: Ways) -> dict[str, str]:
    """Hoses that are unhooked before frost, each with the joint at which the rig then stands open.

    Pipes outdoors that begin at a supply which is not always there.
    """
    away = [name for name, port in ways.rig.ports.items() if port.kind == "supply" and not port.lasting]
    return {
        link.name: link.end
        for link in ways.links
        if link.kind == "pipes" and link.start in away and ways.rig.pipes[link.name].outdoors
    }


def openings(ways: Ways) -> dict[str, str]:
    """The joints at which a rig stands open, each with what opens there, in the order of the file."""
    rig, unhooked = ways.rig, hoses(ways)
    ends = {end: "" for line in rig.lines for end in (line.start, line.end)}
    gone = {ways.of_part[hose].start for hose in unhooked}
    table = {end: end for end in ends if ways.ends(end) and end not in gone}
    table |= {joint: ways.of_part[hose].start for hose, joint in unhooked.items()}
    return table | {place_of_drain(ways, drain.at): name for name, drain in rig.drains.items()}


def _at_rest(ways: Ways) -> Profile:
    """The heights of a rig's lines, hoses unhooked."""
    profile, unhooked = profile_of(ways), hoses(ways)
    return Profile(tuple(s for s in profile.stretches if s.part not in unhooked), profile.heights)


def drainage_of(ways: Ways) -> Drainage:
    """What drains and what stays, in the order of the lines; hoses are unhooked and not among them."""
    profile = _at_rest(ways)
    doors = openings(ways)
    flood = _flooded(profile, doors)
    air = {joint: _aired(profile, joint) for joint in doors}
    drained = [place_of_drain(ways, drain.at) for drain in ways.rig.drains.values()]
    runs: list[Runs] = []
    stays: list[Stays] = []
    for stretch in profile.stretches:
        if stretch.volume <= 0.0:
            continue
        why, share = _kept(stretch, flood, air, drained)
        if why is None:
            runs.append(Runs(stretch.part, stretch.volume, doors[flood.out[_leaves(stretch, flood)]]))
        else:
            cure = _cure(profile, stretch, flood, why)
            where = _name(ways, cure)
            stays.append(Stays(stretch.part, why, share * stretch.volume, where, profile.heights[cure]))
    return Drainage(tuple(runs), tuple(stays))


# --- the flood -------------------------------------------------------------------------------------


def _passable(stretch: Stretch, out_of: str) -> bool:
    """Whether water and air pass a stretch from one of its joints, pumps resting."""
    if stretch.kind == "pumps":
        return False
    return stretch.kind != "checks" or out_of == stretch.start


def _beside(profile: Profile) -> dict[str, list[Stretch]]:
    table: dict[str, list[Stretch]] = {}
    for stretch in profile.stretches:
        table.setdefault(stretch.start, []).append(stretch)
        table.setdefault(stretch.end, []).append(stretch)
    return table


def _flooded(profile: Profile, doors: Iterable[str]) -> _Flood:
    flood = _Flood({}, {})
    waiting: list[tuple[float, str]] = []
    for joint in doors:
        flood.level[joint], flood.out[joint] = profile.heights[joint], joint
        heappush(waiting, (profile.heights[joint], joint))
    beside = _beside(profile)
    while waiting:
        level, joint = heappop(waiting)
        if level > flood.level[joint]:
            continue
        for stretch in beside.get(joint, ()):
            other = stretch.end if joint == stretch.start else stretch.start
            reached = max(level, profile.heights[other])
            if _passable(stretch, other) and reached < flood.level.get(other, inf):
                flood.level[other], flood.out[other] = reached, flood.out[joint]
                heappush(waiting, (reached, other))
    return flood


def _aired(profile: Profile, door: str) -> set[str]:
    """The joints that air comes to from one opening."""
    beside, seen, waiting = _beside(profile), {door}, [door]
    while waiting:
        joint = waiting.pop()
        for stretch in beside.get(joint, ()):
            other = stretch.end if joint == stretch.start else stretch.start
            if other not in seen and _passable(stretch, joint):
                seen.add(other)
                waiting.append(other)
    return seen


# --- one stretch -----------------------------------------------------------------------------------


def _leaves(stretch: Stretch, flood: _Flood) -> str:
    """The end of a stretch that its water leaves by: the one with the lower spill level."""
    return min((stretch.start, stretch.end), key=lambda joint: flood.level.get(joint, inf))


def _kept(stretch: Stretch, flood: _Flood, air: dict[str, set[str]], drained: list[str]) -> tuple[Why | None, float]:
    """Why a stretch keeps water, and which share of it; None and nothing where it drains."""
    if stretch.kind == "heaters":
        return (None, 0.0) if stretch.start in drained else ("vessel", 1.0)
    leaves, rise = _leaves(stretch, flood), stretch.high - stretch.low
    level = flood.level.get(leaves, inf)
    if rise < LEAST_FALL * stretch.length and level <= stretch.high + NEARLY:
        return "level", 1.0
    share = min(max((level - stretch.low) / rise, 0.0), 1.0) if rise > 0.0 else 1.0
    if share > NEARLY:
        return "sags", share
    both = {stretch.start, stretch.end}
    aired = any(both & reached for joint, reached in air.items() if joint != flood.out[leaves])
    return (None, 0.0) if aired else ("no air", 1.0)


def _cure(profile: Profile, stretch: Stretch, flood: _Flood, why: Why) -> str:
    """Where a cock helps: the vessel's own beginning, the shut end where air is missing, else the lowest joint."""
    if why == "vessel":
        return stretch.start
    if why == "no air":
        joints = [joint for joint in _pool(profile, stretch, inf) if not joint.endswith(CREST)]
        return _extreme(profile, joints, -1.0)
    level = max(flood.level.get(_leaves(stretch, flood), inf), stretch.low)
    return _extreme(profile, _pool(profile, stretch, level), 1.0)


def _extreme(profile: Profile, joints: list[str], sign: float) -> str:
    """The lowest of some joints (sign 1) or the highest (-1); of several at one height one that has a name."""
    edge = min(sign * profile.heights[joint] for joint in joints)
    alike = [joint for joint in joints if sign * profile.heights[joint] <= edge + NEARLY]
    return min(alike, key=lambda joint: ":" in joint)


def _pool(profile: Profile, stretch: Stretch, level: float) -> list[str]:
    """The joints that hang together with a stretch without passing a pump or a check, none above a level [m]."""
    beside = _beside(profile)
    order = [joint for joint in (stretch.start, stretch.end) if profile.heights[joint] <= level]
    for joint in order:
        for other in _onwards(beside, joint):
            if other not in order and profile.heights[other] <= level:
                order.append(other)
    return order


def _onwards(beside: dict[str, list[Stretch]], joint: str) -> Iterator[str]:
    for stretch in beside.get(joint, ()):
        if stretch.kind not in ("pumps", "checks"):
            yield stretch.end if joint == stretch.start else stretch.start


def _name(ways: Ways, joint: str) -> str:
    """A joint as a person names it: itself, or the part that begins there."""
    return next((link.name for link in ways.links if ":" in joint and link.start == joint), joint)


# --- tanks -----------------------------------------------------------------------------------------


def tank_runs_to(ways: Ways, tank: str) -> str | None:
    """Where a tank empties to by gravity through its lowest opening; None where only a pump or a can empties it."""
    mouths = ways.rig.tanks[tank].openings
    if not mouths:
        return None
    lowest = f"{tank}.{min(mouths, key=lambda mouth: mouths[mouth].at)}"
    profile, doors = _at_rest(ways), openings(ways)
    own = set(ways.openings(tank)) - {place_of_drain(ways, drain.at) for drain in ways.rig.drains.values()}
    flood = _flooded(profile, [joint for joint in doors if joint not in own])
    level = flood.level.get(lowest, inf)
    return doors[flood.out[lowest]] if level <= profile.heights.get(lowest, -inf) + NEARLY else None
