"""What is due how often: filters, disinfection, proof tests of interlocks, calibration of senders and meters."""

from __future__ import annotations

from dataclasses import dataclass

from ullage.quantities import from_si
from ullage.rig.model import Rig


@dataclass(frozen=True, slots=True)
class Task:
    """Something that is done again and again.

    Attributes
    ----------
    name : str
        A word for it, the same in every calendar of this rig: ``filter_fine``, ``proof_test``.
    title, what : str
        What a person reads in the calendar, and what they do.
    days : int
        From one time to the next [d], rounded down.
    """

    name: str
    title: str
    what: str
    days: int


def filter_life(rig: Rig, name: str) -> float:
    """How long a filter may stay [s]: its interval, or sooner when as much water has passed as it may."""
    part, used = rig.filters[name], rig.upkeep.water_a_day
    if part.passes is None or used is None:
        return part.every
    return min(part.every, part.passes / used * 86400.0)


def tasks(rig: Rig) -> tuple[Task, ...]:
    """All that the file states an interval for, in the order of the file."""
    found = [
        Task(
            f"filter_{name}", f"Change the filter {name}",
            f"Close the water, let off the pressure, change the cartridge at {part.at}, rinse it as its maker asks.",
            _days(filter_life(rig, name)),
        )
        for name, part in rig.filters.items()
    ]  # fmt: skip
    if rig.upkeep.disinfect is not None:
        what = "Disinfect tanks and lines of drinking water, by the steps of the review."
        found.append(Task("disinfect", "Disinfect the drinking water", what, _days(rig.upkeep.disinfect)))
    if rig.upkeep.proof_test is not None and rig.interlocks:
        what = f"Make each of these act, on the real thing, and see what it drives: {', '.join(rig.interlocks)}."
        found.append(Task("proof_test", "Proof test of the interlocks", what, _days(rig.upkeep.proof_test)))
    sensed = [*rig.senders, *rig.meters]
    if rig.upkeep.calibrate is not None and sensed:
        what = f"Pour known volumes and compare with: {', '.join(sensed)}."
        found.append(Task("calibrate", "Calibrate senders and meters", what, _days(rig.upkeep.calibrate)))
    return tuple(found)


def _days(interval: float) -> int:
    return max(1, int(from_si(interval, "d")))
