"""``ullage check``: everything that is wrong with a rig file, all at once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ullage.cli import disk, speak
from ullage.findings import FINDINGS_LIMIT, Finding, refused
from ullage.report import listing
from ullage.report.lettering import hung
from ullage.report.quantity_words import System

if TYPE_CHECKING:
    from ullage.control.check import Examined
    from ullage.control.program import Program
    from ullage.rig.meaning import Law
    from ullage.rig.model import Rig

LEVELS = ("fault", "caution")
"""Levels of findings, the gravest first."""

RigPath = Annotated[
    Path, typer.Argument(metavar="RIG", help="The rig file (YAML).", show_default=False, parser=disk.path)
]
Units = Annotated[
    System, typer.Option("--units", envvar="ULLAGE_UNITS", help="Units of what is shown; JSON is always SI.")
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON.")]


def check(rig: RigPath, units: Units = "metric", json: Json = False) -> None:
    """Say all that is wrong with a rig file."""
    text = disk.read(rig, "rig file")
    examined = examine(rig, text)
    if json:
        speak.say_json(document(rig, examined))
    else:
        show(rig, text, examined, units)
    raise typer.Exit(1 if any(f.stands for f in examined.findings) else 0)


def examine(path: Path, text: bytes) -> Examined:
    """Run every check on the bytes of a rig file."""
    from ullage.control.check import examine as run_every_check

    return run_every_check(text, str(path))


@dataclass(frozen=True, slots=True)
class Runnable:
    """A rig that is not refused: all that is known of it, the rig, its guards, its program, the cautions about it."""

    examined: Examined
    rig: Rig
    law: Law
    program: Program
    findings: tuple[Finding, ...]


def must_run(path: Path, text: bytes, as_json: bool, units: System = "metric") -> Runnable:
    """Examine a rig that is to be run; show what is wrong and leave when it is refused."""
    examined = examine(path, text)
    rig, law, program, findings = examined.rig, examined.law, examined.program, examined.findings
    if rig is not None and law is not None and program is not None and not refused(findings):
        return Runnable(examined, rig, law, program, findings)
    if as_json:
        speak.say_json(document(path, examined))
    else:
        show(path, text, examined, units, to_error=True)
    raise typer.Exit(1)


def show(path: Path, text: bytes, examined: Examined, units: System, *, to_error: bool = False) -> None:
    """Print the findings and two lines that sum them up."""
    source = text.decode("utf8", errors="replace")
    for line in listing.listing(listing.in_units(examined.findings, units), source, speak.width(), speak.ink):
        speak.say(line, to_error=to_error)
    for line in sum_lines(path, examined.rig, examined.findings):
        speak.say(line, to_error=to_error)


def say_findings(findings: tuple[Finding, ...], text: bytes, as_json: bool) -> None:
    """Say what is wrong with a scenario or a story."""
    if as_json:
        speak.say_json({"format": "ullage findings 1", "findings": [listing.document(f) for f in findings]})
        return
    for line in listing.listing(findings, text.decode("utf8", errors="replace"), speak.width(), speak.ink):
        speak.say(line, to_error=True)
    speak.say(listing.count_line(findings), to_error=True)


def sum_lines(path: Path, rig: Rig | None, findings: tuple[Finding, ...]) -> list[str]:
    """The last lines: the rig with its parts; whether it is refused, the counts, where to read on."""
    lines = hung("", f"{rig.rig}: {parts(rig)}", speak.width(), 2) if rig else [str(path)]
    standing = [f for f in findings if f.stands]
    if refused(findings):
        verdict, kind = "refused", "fault"
    elif standing:
        verdict, kind = "not yet accepted", "caution"
    else:
        verdict, kind = "accepted", "fine"
    gravest = min(standing, key=lambda f: LEVELS.index(f.entry.level), default=None)
    hint = f"; 'ullage explain {gravest.code}' says more" if gravest else ""
    told, *rest = hung("", f"{verdict}: {listing.count_line(findings)}{hint}", speak.width(), 2)
    return [*lines, told.replace(verdict, speak.ink(verdict, kind), 1), *rest]


def parts(rig: Any) -> str:
    """How much of everything a rig has: ``3 tanks, 6 valves, 5 sequences, 7 interlocks``."""
    kinds = ("tank", "valve", "pump", "sender", "sequence", "interlock")
    return ", ".join(listing.counted(len(getattr(rig, f"{kind}s")), kind) for kind in kinds if getattr(rig, f"{kind}s"))


def document(path: Path, examined: Examined) -> dict[str, Any]:
    """The findings as JSON (docs/commands.md describes it)."""
    found, program = examined.findings, examined.program
    return {
        "format": "ullage check 1",
        "file": str(path),
        "rig": examined.rig.rig if examined.rig else None,
        "program": program.hash if program else None,
        "refused": program is None or refused(found),
        "faults": sum(f.stands and f.entry.level == "fault" for f in found),
        "cautions": sum(f.stands and f.entry.level == "caution" for f in found),
        "accepted": sum(not f.stands for f in found),
        "findings": [listing.document(f) for f in found[:FINDINGS_LIMIT]],
        "not_shown": max(0, len(found) - FINDINGS_LIMIT),
    }
