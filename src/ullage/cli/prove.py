"""``ullage prove``: what must never be, asked of a rig under faults; what holds it, or how it comes about."""

from __future__ import annotations

from collections.abc import Sequence
from json import dumps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ullage.cli import asking, certify, check, disk, simulate, speak
from ullage.cli.asking import Asking
from ullage.cli.draw import Out
from ullage.report.lettering import hung

if TYPE_CHECKING:
    from ullage.report.evidence import Evidence
    from ullage.report.proof import Proof
    from ullage.verdict.properties import Property

CODES = {"PROVED": 0, "REFUTED": 1, "UNDECIDED": 3}
"""Exit codes by the worst verdict, in health and with any one fault."""

STOPPED = 130
"""Exit code of a proof that a person stopped: what it did not reach is UNDECIDED."""


def prove(
    rig: check.RigPath,
    faults: Annotated[asking.Wide, typer.Option("--faults", help="What may go wrong at once.")] = "single",
    only: Annotated[
        str, typer.Option("--only", metavar="TEXT", help="Only what has this in it, such as 'belly'.")
    ] = "",
    effort: Annotated[asking.Effort, typer.Option("--effort", help="How long to look before giving up.")] = "usual",
    advice: Annotated[
        asking.Advised, typer.Option("--advice", help="Of what to look for a change that would hold it off.")
    ] = "health",
    certificates: Annotated[
        bool, typer.Option("--certificates", help="Write a certificate of everything that is PROVED.")
    ] = False,
    jobs: Annotated[
        int, typer.Option("--jobs", min=0, max=asking.JOBS_LIMIT, help="Processes; 0: one for each core.")
    ] = 0,
    out: Out = Path("out/prove"),
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Prove that what must never be cannot be, or tell how it comes about."""
    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    asked = asking.asked_of(ready, only)
    disk.prepare(out)
    how = Asking(faults, effort, advice, certificates, jobs, json)
    proof, evidence, paths = ask(ready, text, str(rig), asked, out, how, units)
    if json:
        speak.say_json(document(proof, paths))
    else:
        tell(proof, evidence)
        say_where(proof, paths)
        if certificates:
            say_certificates(rig, paths, proof.stopped)
    raise typer.Exit(STOPPED if proof.stopped else CODES[proof.worst.value])


def ask(
    ready: check.Runnable,
    text: bytes,
    name: str,
    asked: Sequence[Property],
    out: Path,
    how: Asking,
    units: check.Units,
) -> tuple[Proof, Evidence, list[Path]]:
    """Find all verdicts and their evidence, and write them; the page is the first of the paths."""
    from ullage.report.evidence import evidence_of
    from ullage.report.proof import proof_of

    found = asking.answered(ready, text, name, asked, how)
    entries = found.docket.entries()
    proof = proof_of(ready.rig, ready.program.hash, entries, found.stopped, units)
    evidence = evidence_of(ready.rig, ready.program, entries, found.noticed, units)
    return proof, evidence, write(out, proof, evidence, found.certificates)


def write(out: Path, proof: Proof, evidence: Evidence, certificates: dict[str, bytes]) -> list[Path]:
    """Write the page, the tables, the verdicts, the stories and the certificates; their paths, the page first."""
    from ullage.report.evidence_tables import csv_files
    from ullage.report.proof_page import proof_page

    files = {"index.html": proof_page(proof, evidence).encode(), **csv_files(proof, evidence)}
    files |= {"verdicts.json": (dumps(summary(proof), indent=2, ensure_ascii=False) + "\n").encode()}
    files |= {one.file: one.content.encode() for one in proof.tellings if one.file}
    return disk.write(out, files | certificates, "prove")


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
    for line in hung("", f"{proof.rig}: {proof.verdict}, {proof.under}", speak.width(), 2):
        speak.say(line)
    simulate.say_page(paths, "stories, tables and evidence:")


def say_certificates(rig: Path, paths: list[Path], stopped: bool) -> None:
    """Print how the certificates are checked by those who do not believe a proof."""
    count = sum(path.name.endswith(certify.SUFFIX) for path in paths)
    if count:
        speak.say(f"  {count} certificate{'s' if count > 1 else ''}; to check {'them' if count > 1 else 'it'}:")
        speak.say(f"  ullage certify {rig} {paths[0].parent}")
    else:
        speak.say(f"  no certificates: {'it was stopped before' if stopped else 'nothing was PROVED'}")


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
                "least_ms": row.least_ms,
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
                "advice": None
                if one.advice is None
                else {
                    "change": one.advice.words,
                    "rests_on": one.advice.rests_on,
                    "tried": one.advice.tried,
                    "all_tried": one.advice.ended,
                },
            }
            for one in proof.tellings
        ],
    }


def document(proof: Proof, paths: list[Path]) -> dict[str, Any]:
    """What is printed with ``--json``: the verdicts and the files that were written."""
    return {**summary(proof), "files": [str(path) for path in paths]}
