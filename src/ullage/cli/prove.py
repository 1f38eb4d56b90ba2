"""``ullage prove``: what must never be, asked of a rig under faults; what holds it, or how it comes about."""

from __future__ import annotations

import os
from collections.abc import Sequence
from json import dumps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from ullage.cli import check, disk, simulate, speak
from ullage.cli.draw import Out
from ullage.report.lettering import hung

if TYPE_CHECKING:
    from ullage.cli.crew import Alone, Crew, Task
    from ullage.plant.faults import Fault
    from ullage.report.evidence import Evidence
    from ullage.report.proof import Proof
    from ullage.verdict.causes import Cause
    from ullage.verdict.docket import Docket
    from ullage.verdict.exercise import Noticed
    from ullage.verdict.properties import Property

Wide = Literal["none", "single", "pairs"]
"""How many faults are looked at at once."""

Effort = Literal["little", "usual", "much"]

EFFORTS = {"little": (40_000, 60), "usual": (300_000, 200), "much": (3_000_000, 1_000)}
"""States after which a search is given up, and runs that are tried for a story."""

JOBS_LIMIT = 64
"""At most so many processes."""

CODES = {"PROVED": 0, "REFUTED": 1, "UNDECIDED": 3}
"""Exit codes by the worst verdict, in health and with any one fault."""

STOPPED = 130
"""Exit code of a proof that a person stopped: what it did not reach is UNDECIDED."""


def prove(
    rig: check.RigPath,
    faults: Annotated[Wide, typer.Option("--faults", help="What may go wrong at once.")] = "single",
    only: Annotated[
        str, typer.Option("--only", metavar="TEXT", help="Only what has this in it, such as 'belly'.")
    ] = "",
    effort: Annotated[Effort, typer.Option("--effort", help="How long to look before giving up.")] = "usual",
    jobs: Annotated[int, typer.Option("--jobs", min=0, max=JOBS_LIMIT, help="Processes; 0: one for each core.")] = 0,
    out: Out = Path("out/prove"),
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Prove that what must never be cannot be, or tell how it comes about."""
    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    asked = asked_of(ready, only)
    disk.prepare(out)
    proof, evidence, paths = ask(ready, text, str(rig), asked, out, faults, effort, jobs, units, json)
    if json:
        speak.say_json(document(proof, paths))
    else:
        tell(proof, evidence)
        say_where(proof, paths)
    raise typer.Exit(STOPPED if proof.stopped else CODES[proof.worst.value])


def ask(
    ready: check.Runnable,
    text: bytes,
    name: str,
    asked: Sequence[Property],
    out: Path,
    faults: Wide,
    effort: Effort,
    jobs: int,
    units: check.Units,
    quiet: bool,
) -> tuple[Proof, Evidence, list[Path]]:
    """Find all verdicts and their evidence, and write them; the page is the first of the paths."""
    from ullage.cli.crew import Task
    from ullage.report.evidence import evidence_of
    from ullage.report.proof import proof_of

    task = Task(text, name, *EFFORTS[effort])
    docket, noticed, stopped = answered(ready, asked, faults, task, jobs or usual_jobs(), quiet)
    entries = docket.entries()
    proof = proof_of(ready.rig, ready.program.hash, entries, stopped, units)
    evidence = evidence_of(ready.rig, ready.program, entries, noticed, units)
    return proof, evidence, write(out, proof, evidence)


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


def answered(
    ready: check.Runnable,
    asked: Sequence[Property],
    faults: Wide,
    task: Task,
    jobs: int,
    quiet: bool,
) -> tuple[Docket, dict[Fault, Noticed], bool]:
    """Ask everything, see how each single fault shows, and say whether a person stopped it."""
    from ullage.cli.crew import Alone, Crew, Stop
    from ullage.verdict.causes import causes_of

    causes = causes_of(ready.rig, faults)
    with Stop().heard() as stop, speak.working(ready.rig.rig, quiet=quiet) as watch:
        hands = Alone(task, stop, watch) if jobs == 1 else Crew(task, jobs, stop, watch)
        try:
            docket = _settled(asked, causes, hands)
            return docket, _noticed(ready, causes, hands), stop.asked
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


def write(out: Path, proof: Proof, evidence: Evidence) -> list[Path]:
    """Write the page, the tables, the verdicts and the stories; their paths, the page first."""
    from ullage.report.evidence_tables import csv_files
    from ullage.report.proof_page import proof_page

    files = {"index.html": proof_page(proof, evidence).encode(), **csv_files(proof, evidence)}
    files |= {"verdicts.json": (dumps(summary(proof), indent=2, ensure_ascii=False) + "\n").encode()}
    files |= {one.file: one.content.encode() for one in proof.tellings if one.file}
    return disk.write(out, files, "prove")


def tell(proof: Proof, evidence: Evidence) -> None:
    """Print the table, what is not proved, and what the evidence comes to."""
    from ullage.report.evidence_tables import evidence_lines
    from ullage.report.proof_lines import assumed, proof_lines

    width, ink = speak.width(), speak.ink
    for line in (*proof_lines(proof, width, ink), *evidence_lines(evidence, width, ink), *assumed(width)):
        speak.say(line)


def say_where(proof: Proof, paths: list[Path]) -> None:
    """Print the sum, and where the stories are."""
    speak.say()
    if proof.stopped:
        speak.say("Stopped: what was not reached is UNDECIDED.")
    for line in hung("", f"{proof.rig}: {proof.verdict}, in health and with any one fault", speak.width(), 2):
        speak.say(line)
    simulate.say_page(paths, "stories, tables and evidence:")


def summary(proof: Proof) -> dict[str, Any]:
    """The verdicts as JSON (docs/output.md describes it)."""
    return {
        "format": "ullage verdicts 1",
        "rig": proof.rig,
        "program": proof.program,
        "worst": proof.worst.value,
        "stopped": proof.stopped,
        "questions": proof.questions,
        "searched": proof.searched,
        "states": proof.states,
        "never": [
            {
                "text": row.text,
                "asked": row.asked.value,
                "under": [
                    {
                        "faults": kind.value,
                        "count": cell.count,
                        "proved": cell.proved,
                        "refuted": cell.refuted,
                        "by_itself": cell.itself,
                        "undecided": cell.undecided,
                    }
                    for kind, cell in row.cells.items()
                ],
            }
            for row in proof.rows
        ],
        "sometimes": [{"text": text, "verdict": word.value} for text, word in proof.can],
        "not_proved": [
            {
                "text": one.text,
                "asked": one.asked.value,
                "verdict": one.word.value,
                "by_itself": one.itself,
                "faults": list(one.causes),
                "told": one.told,
                "holds": one.holds,
                "file": one.file,
            }
            for one in proof.tellings
        ],
    }


def document(proof: Proof, paths: list[Path]) -> dict[str, Any]:
    """What is printed with ``--json``: the verdicts and the files that were written."""
    return {**summary(proof), "files": [str(path) for path in paths]}
