"""All that is asked of a rig and how it is answered: verdicts, advice, certificates, what each fault shows."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from ullage.cli import certify, check, speak

if TYPE_CHECKING:
    from ullage.cli.crew import Alone, Crew
    from ullage.plant.faults import Fault
    from ullage.verdict.causes import Cause
    from ullage.verdict.docket import Docket
    from ullage.verdict.exercise import Noticed
    from ullage.verdict.properties import Property

Wide = Literal["none", "single", "pairs"]
"""How many faults are looked at at once."""

Effort = Literal["little", "usual", "much"]

EFFORTS = {"little": (60_000, 60), "usual": (300_000, 200), "much": (3_000_000, 1_000)}
"""States after which a search is given up, and runs that are tried for a story."""

Advised = Literal["none", "health", "faults"]
"""Of what a change is looked for that would hold it off: of nothing, in health, with any one fault as well."""

JOBS_LIMIT = 64
"""At most so many processes."""


@dataclass(frozen=True, slots=True)
class Asking:
    """How a rig is asked.

    Attributes
    ----------
    faults, effort, advice
        How wide, how long, and for what advice is looked for.
    certificates : bool
        Whether a certificate is written of everything that is PROVED.
    jobs : int
        Processes; 0: one for each core.
    quiet : bool
        Whether nothing is told meanwhile.
    """

    faults: Wide = "single"
    effort: Effort = "usual"
    advice: Advised = "health"
    certificates: bool = False
    jobs: int = 0
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Answered:
    """What came of it.

    Attributes
    ----------
    docket : Docket
        Every verdict, with the advice on it.
    noticed : dict
        How each single fault shows in an exercise.
    certificates : dict of str to bytes
        Files by name.
    stopped : bool
        Whether a person stopped it.
    """

    docket: Docket
    noticed: dict[Fault, Noticed]
    certificates: dict[str, bytes]
    stopped: bool


def usual_jobs() -> int:
    """One process for each core that this one may use."""
    return max(
        1, min(JOBS_LIMIT, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1)
    )


def asked_of(ready: check.Runnable, only: str = "") -> list[Property]:
    """What is asked of the rig."""
    from ullage.verdict.properties import properties_of

    asked = properties_of(ready.rig, ready.law)
    found = [one for one in asked if only.lower() in one.text.lower()]
    if not found:
        texts = "; ".join(one.text for one in asked)
        raise speak.Misuse(f"nothing that is asked has '{only[:60]}' in it", f"it is one of: {texts}")
    return found


def answered(ready: check.Runnable, text: bytes, name: str, asked: Sequence[Property], how: Asking) -> Answered:
    """Ask everything in as many processes as are wished for.

    Parameters
    ----------
    ready : Runnable
        The rig.
    text, name
        Its file, for the other processes.
    asked : sequence of Property
    how : Asking
    """
    from ullage.cli.crew import Alone, Crew, Stop, Task
    from ullage.verdict.causes import causes_of

    causes, jobs = causes_of(ready.rig, how.faults), how.jobs or usual_jobs()
    task = Task(text, name, *EFFORTS[how.effort])
    with Stop().heard() as stop, speak.working(ready.rig.rig, quiet=how.quiet) as watch:
        hands = Alone(task, stop, watch) if jobs == 1 else Crew(task, jobs, stop, watch)
        try:
            docket = _settled(asked, causes, hands)
            _advise(docket, how.advice, hands)
            certificates = dict(_certified(docket, hands)) if how.certificates else {}
            return Answered(docket, _noticed(ready, causes, hands), certificates, stop.asked)
        finally:
            hands.close()


def _settled(asked: Sequence[Property], causes: Sequence[Cause], hands: Alone | Crew) -> Docket:
    """Ask stage by stage: what was found with few faults spares questions with more."""
    from ullage.verdict.docket import STAGES, Docket

    faults = list(dict.fromkeys(fault for cause in causes for fault in cause.faults))
    docket = Docket(asked, causes, dict(zip(asked, hands.concerned(asked, faults), strict=True)))
    for stage in STAGES:
        for verdict in hands.judge(docket.open(stage)):
            docket.enter(verdict)
    return docket


def _advise(docket: Docket, advised: Advised, hands: Alone | Crew) -> None:
    """Look for a change that would hold off what is not PROVED, and note it."""
    from ullage.verdict.causes import Kind

    kinds = {"none": (), "health": (Kind.HEALTH,), "faults": (Kind.HEALTH, Kind.SINGLE)}[advised]
    for item, advice in hands.advised(docket.unheld(kinds)):
        docket.advise(item, advice)


def _certified(docket: Docket, hands: Alone | Crew) -> Iterator[tuple[str, bytes]]:
    """Certificates of everything that is PROVED, each with the name of its file, in the order of the docket."""
    number = 0
    for made in hands.certified(docket.proved()):
        for lines in made or ():
            number += 1
            yield certify.name_of(number, lines), certify.packed(lines)


def _noticed(ready: check.Runnable, causes: Sequence[Cause], hands: Alone | Crew) -> dict[Fault, Noticed]:
    """How each single fault shows in an exercise."""
    from ullage.verdict.causes import Kind
    from ullage.verdict.exercise import noticed

    singles = [cause.faults for cause in causes if cause.kind is Kind.SINGLE]
    if not singles:
        return {}
    health, *found = hands.exercised([(), *singles])
    return {
        faults[0]: noticed(one, health, ready.program)
        for faults, one in zip(singles, found, strict=True)
        if one is not None and health is not None
    }
