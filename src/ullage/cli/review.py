"""``ullage review``: what the design of a rig comes to, judged before a hole is drilled."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ullage.cli import check, disk, speak

if TYPE_CHECKING:
    from ullage.rig.model import Rig

STOPS = 1
"""Exit code where somebody may be hurt or something flooded."""


def review(
    rig: check.RigPath,
    only: Annotated[str, typer.Option("--only", metavar="SECTION", help="Only this section, such as 'electric'.")] = "",
    everything: Annotated[bool, typer.Option("--all", help="Tell also what is judged PASS.")] = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Write the calendar of the upkeep there.", parser=disk.path),
    ] = None,
    since: Annotated[
        str, typer.Option("--since", metavar="DATE", help="The day when all of it was done (2026-05-01); today.")
    ] = "",
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Work out what a rig's design comes to, and judge it against limits with their sources."""
    from ullage.review.sections import SECTIONS

    if only and only not in SECTIONS:
        raise speak.Misuse(f"there is no section '{only[:40]}'", f"it is one of: {', '.join(SECTIONS)}")
    first = _day(since)
    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    from ullage.report.review_document import document
    from ullage.report.review_lines import review_lines
    from ullage.review.sections import review as made
    from ullage.rig.view import View

    found = made(View(ready.rig, ready.examined.places, ready.law), (only,) if only else tuple(SECTIONS))
    if out is not None:
        _write_calendar(out, ready.rig, first)
    if json:
        speak.say_json({"format": "ullage review 1", **document(found)})
    else:
        for line in review_lines(found, speak.width(), units, speak.ink, everything):
            speak.say(line)
    raise typer.Exit(STOPS if found.count("STOP") else 0)


def _day(text: str) -> date:
    """A date as a person writes it in a file; today where none is given."""
    if not text:
        return date.today()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise speak.Misuse(f"'{text[:40]}' is no date", "write it as 2026-05-01") from None


def _write_calendar(directory: Path, rig: Rig, first: date) -> None:
    """Write what is due and when; nothing where the rig file states no intervals."""
    from ullage.report.calendar import calendar
    from ullage.upkeep.due import tasks

    disk.prepare(directory)
    due = tasks(rig)
    files = {"upkeep.ics": calendar(rig.rig, due, first).encode()} if due else {}
    for path in disk.write(directory, files, "review"):
        speak.say(f"what is due, and when: {path}", to_error=True)
