"""Commands to one sequence wait for each other: the controller sees one of them in a scan.

Two commands that fall in one scan are seen in two, in the order in which they were given. A stop
or an abort waits for nothing but another of the two: commands that still wait when it is given
are gone, since nothing may begin after a person has said stop because it was said before.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from ullage.control.codes import ABORT, STOP
from ullage.plant.happenings import H_COMMAND
from ullage.simulate.happenings import Happening


def in_turn(happenings: Iterable[Happening], scan_ms: int) -> list[Happening]:
    """The same happenings with commands put off to the scan that can see them, in order of time.

    Parameters
    ----------
    happenings : iterable of Happening
        In order of time. A command that a stop overtakes stays, just before it, and is not seen.
    scan_ms : int
        Time between two scans [ms]; a command is seen in the first scan that is not before it.
    """
    done: list[Happening] = []
    last: dict[str, int] = {}  # by sequence: the latest scan that is taken
    ended: dict[str, int] = {}  # by sequence: the latest scan that a stop or abort has taken
    for one in happenings:
        if one.kind != H_COMMAND:
            done.append(one)
            continue
        ends = int(one.amount) in (STOP, ABORT)
        scan = max(-(-one.ms // scan_ms), (ended if ends else last).get(one.part, -1) + 1)
        ms = max(one.ms, (scan - 1) * scan_ms + 1)
        turn = one if ms == one.ms else replace(one, ms=ms)
        if ends:
            done = [_overtaken(other, turn, scan_ms) for other in done]
            ended[one.part] = scan
        last[one.part] = scan
        done.append(turn)
    return sorted(done, key=lambda one: one.ms)


def _overtaken(other: Happening, stop: Happening, scan_ms: int) -> Happening:
    """A command that waits for the scan of a stop or a later one is brought just before the stop."""
    waits = other.kind == H_COMMAND and other.part == stop.part and other.ms > stop.ms
    return replace(other, ms=stop.ms) if waits else other
