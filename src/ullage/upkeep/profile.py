"""The lines of a rig as stretches between joints whose heights are known or follow from the lengths of pipes.

The file states where the ends of a line are, and its crest. In between a line is taken to run
evenly: a joint between two parts lies as high as the length of pipe up to it tells. Parts without a
length (valves, meters, pumps) have both ends at one height.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import dist

from ullage.rig.model import Line, Rig
from ullage.rig.names import place_of
from ullage.rig.place import Position
from ullage.rig.ways import Link, Ways
from ullage.upkeep.volumes import bore_volume

CREST = "^"
"""The joint at the crest of a line is named after the beginning of the part that goes over it, with this."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of a line, or one side of it where a crest lies within.

    Attributes
    ----------
    part, kind : str
        As of `ullage.rig.ways.Link`.
    start, end : str
        Joints, in the order of the line.
    low, high : float
        Heights of the lower and the higher of them [m].
    length : float
        Along the pipe [m]; 0 of any other part.
    volume : float
        What it holds [m3].
    line : int
        Which line it is in.
    """

    part: str
    kind: str
    start: str
    end: str
    low: float
    high: float
    length: float
    volume: float
    line: int


@dataclass(frozen=True, slots=True)
class Profile:
    """All stretches of a rig, and the heights of all joints [m]."""

    stretches: tuple[Stretch, ...]
    heights: dict[str, float]


def profile_of(ways: Ways) -> Profile:
    """The heights of a rig's lines."""
    heights: dict[str, float] = {}
    stretches: list[Stretch] = []
    for at, line in enumerate(ways.rig.lines):
        links = [link for link in ways.links if link.line == at]
        stretches.extend(_stretches(ways.rig, line, links, heights))
    return Profile(tuple(stretches), heights)


def _stretches(rig: Rig, line: Line, links: list[Link], heights: dict[str, float]) -> Iterator[Stretch]:
    lengths = [rig.pipes[link.name].length if link.kind == "pipes" else 0.0 for link in links]
    total, crest_at = sum(lengths), _crest_at(rig, line)
    run = 0.0
    heights[line.start] = place_of(rig, line.start).z
    for link, length in zip(links, lengths, strict=True):
        before, run = run, run + length
        last = link is links[-1]
        heights[link.end] = place_of(rig, line.end).z if last else _height(rig, line, run / total if total else 0.0)
        holds = _volume(rig, link)
        if crest_at is not None and before < crest_at * total < run:
            top = link.start + CREST
            assert line.crest is not None
            heights[top] = line.crest.z
            share = (crest_at * total - before) / length
            yield _stretch(link, (link.start, top), heights, (share * length, share * holds))
            yield _stretch(link, (top, link.end), heights, ((1.0 - share) * length, (1.0 - share) * holds))
        else:
            yield _stretch(link, (link.start, link.end), heights, (length, holds))


def _stretch(link: Link, ends: tuple[str, str], heights: dict[str, float], size: tuple[float, float]) -> Stretch:
    low, high = sorted(heights[end] for end in ends)
    return Stretch(link.name, link.kind, *ends, low, high, *size, link.line)


def _volume(rig: Rig, link: Link) -> float:
    if link.kind == "pipes":
        return bore_volume(rig.pipes[link.name])
    return rig.heaters[link.name].volume if link.kind == "heaters" else 0.0


def _crest_at(rig: Rig, line: Line) -> float | None:
    """The part of a line's length after which its crest comes, by the straight ways to it."""
    if line.crest is None:
        return None
    up, down = (_apart(place_of(rig, end), line.crest) for end in (line.start, line.end))
    return up / (up + down)


def _apart(one: Position, other: Position) -> float:
    return dist((one.x, one.y, one.z), (other.x, other.y, other.z))


def _height(rig: Rig, line: Line, share: float) -> float:
    """Height after a part of a line's length [m]."""
    first, last, crest_at = place_of(rig, line.start).z, place_of(rig, line.end).z, _crest_at(rig, line)
    if crest_at is None or line.crest is None:
        return first + share * (last - first)
    if share <= crest_at:
        return first + share / crest_at * (line.crest.z - first)
    return line.crest.z + (share - crest_at) / (1.0 - crest_at) * (last - line.crest.z)
