"""``ullage explain``: what a code of a finding means, or a limit of the review."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

import typer

from ullage.cli import speak
from ullage.findings import Entry, catalogue, nearest
from ullage.report.lettering import hung
from ullage.review.judgement import Limit, limits


def explain(
    code: Annotated[
        str, typer.Argument(metavar="CODE", help="A code such as P301 or E10, or 'all' for a list of findings.")
    ],
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say what the code of a finding or of a limit means and what to do about it."""
    entries, limited = catalogue(), limits()
    wished = code.strip().upper()
    if wished == "ALL":
        _list(list(entries.values()), json)
    elif wished in entries:
        _tell(entries[wished], json)
    elif wished in limited:
        _tell_limit(limited[wished], json)
    else:
        near = nearest(wished, [*entries, *limited])
        remedy = f"did you mean {near}?" if near else "'ullage explain all' lists the codes"
        raise speak.Misuse(f"there is no code '{code[:40]}'", remedy)


def _list(entries: list[Entry], as_json: bool) -> None:
    if as_json:
        speak.say_json({"format": "ullage codes 1", "codes": [_document(entry) for entry in entries]})
        return
    for entry in entries:
        _say(hung(f"{entry.code}  {entry.level:8}", entry.title, speak.width()))


def _tell(entry: Entry, as_json: bool) -> None:
    if as_json:
        speak.say_json({"format": "ullage code 1", **_document(entry)})
        return
    first, *rest = hung(f"{entry.code}  {entry.level}  ", entry.title, speak.width(), 6)
    _say([first.replace(entry.level, speak.ink(entry.level, entry.level), 1), *rest])
    for heading, text in (("why", entry.why), ("remedy", entry.remedy)):
        _say(hung(f"  {heading:8}", " ".join(text.split()), speak.width()))
    if entry.level == "caution":
        hint = f"A person may accept it in the rig file: accepts: [{{finding: {entry.code}, why: ...}}]"
        _say(hung("  ", hint, speak.width()))


def _tell_limit(limit: Limit, as_json: bool) -> None:
    """Say what is judged, against what, and where that comes from."""
    if as_json:
        speak.say_json({"format": "ullage limit 1", **asdict(limit)})
        return
    _say(hung(f"{limit.code}  ", limit.title, speak.width(), 6))
    for heading in ("limit", "source", "remedy", "caution"):
        text = " ".join(getattr(limit, heading).split())
        _say(hung(f"  {heading:8}", text, speak.width()) if text else [])


def _say(lines: list[str]) -> None:
    for line in lines:
        speak.say(line)


def _document(entry: Entry) -> dict[str, str]:
    return {
        "code": entry.code,
        "level": entry.level,
        "title": entry.title,
        "why": " ".join(entry.why.split()),
        "remedy": " ".join(entry.remedy.split()),
    }
