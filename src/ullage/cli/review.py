"""``ullage review``: what the design of a rig comes to, judged before a hole is drilled."""

from __future__ import annotations

from typing import Annotated

import typer

from ullage.cli import check, disk, speak

STOPS = 1
"""Exit code where somebody may be hurt or something flooded."""


def review(
    rig: check.RigPath,
    only: Annotated[str, typer.Option("--only", metavar="SECTION", help="Only this section, such as 'electric'.")] = "",
    everything: Annotated[bool, typer.Option("--all", help="Tell also what is judged PASS.")] = False,
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Work out what a rig's design comes to, and judge it against limits with their sources."""
    from ullage.review.sections import SECTIONS

    if only and only not in SECTIONS:
        raise speak.Misuse(f"there is no section '{only[:40]}'", f"it is one of: {', '.join(SECTIONS)}")
    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    from ullage.report.review_document import document
    from ullage.report.review_lines import review_lines
    from ullage.review.sections import review as made
    from ullage.rig.view import View

    found = made(View(ready.rig, ready.examined.places, ready.law), (only,) if only else tuple(SECTIONS))
    if json:
        speak.say_json({"format": "ullage review 1", **document(found)})
    else:
        for line in review_lines(found, speak.width(), units, speak.ink, everything):
            speak.say(line)
    raise typer.Exit(STOPS if found.count("STOP") else 0)
