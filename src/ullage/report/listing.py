"""Findings as text: where, what, what was expected, what to do, with the line of the file and a caret."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import groupby

from ullage.findings import FINDINGS_LIMIT, Finding, Place
from ullage.report.lettering import cells, hung, printable
from ullage.report.quantity_words import System, reworded

Ink = Callable[[str, str], str]
"""Gives a word its colour: ``ink(word, kind)``, kind one of fault, caution, fine, name, faint."""

_LABEL = 11
"""Width of the column of labels [characters]."""

_CROP_LEAD = 20
"""Characters kept before the caret when a long line is cut."""


def plain(text: str, kind: str) -> str:
    """The ink that colours nothing."""
    return text


def listing(findings: Sequence[Finding], source: str, width: int, ink: Ink = plain) -> list[str]:
    """Lines that show findings grouped by place, accepted cautions last.

    Parameters
    ----------
    findings : sequence of Finding
        In order.
    source : str
        Text of the rig file.
    width : int
        Characters per line.
    ink : Ink
        Colours.
    """
    rows = source.splitlines()
    standing = [f for f in findings if f.stands]
    accepted = [f for f in findings if not f.stands]
    lines: list[str] = []
    for place, group in groupby(standing[:FINDINGS_LIMIT], key=lambda f: f.place):
        lines += [ink(str(place), "name"), *_excerpt(place, rows, width, ink)]
        for finding in group:
            lines += _told(finding, width, ink)
        lines.append("")
    if len(standing) > FINDINGS_LIMIT:
        lines += [f"{len(standing) - FINDINGS_LIMIT} more are not shown: mend these first.", ""]
    if accepted:
        lines += hung("", "accepted by a person, each with the reason:", width)
        for finding in accepted[:FINDINGS_LIMIT]:
            lines += hung(f"  {finding.code} ", f"{finding.what} (line {finding.place.line})", width)
            lines += _field("because", finding.accepted, width)
        lines.append("")
    return lines


def in_units(findings: Iterable[Finding], system: System) -> list[Finding]:
    """The findings with their quantities in the units of the reader; what a person wrote stays as it is."""
    return [replace(f, what=reworded(f.what, system), expected=reworded(f.expected, system)) for f in findings]


def count_line(findings: Iterable[Finding]) -> str:
    """How many faults and cautions stand, and how many were accepted: ``2 faults, 1 caution (3 cautions accepted)``."""
    found = list(findings)
    faults = sum(f.stands and f.entry.level == "fault" for f in found)
    cautions = sum(f.stands and f.entry.level == "caution" for f in found)
    accepted = sum(not f.stands for f in found)
    parts = [counted(n, word) for n, word in ((faults, "fault"), (cautions, "caution")) if n]
    said = ", ".join(parts) + (" to mend or accept" if not faults else "") if parts else "nothing to mend"
    return said + (f" ({counted(accepted, 'caution')} accepted)" if accepted else "")


def counted(number: int, thing: str) -> str:
    """``1 fault``, ``2 faults``, ``3 switches``."""
    ending = "" if number == 1 else "es" if thing.endswith(("ch", "sh", "x", "s")) else "s"
    return f"{number} {thing}{ending}"


def document(finding: Finding) -> dict[str, str | int]:
    """A finding as it stands in JSON."""
    entry = finding.entry
    return {
        "code": finding.code,
        "level": entry.level,
        "title": entry.title,
        "file": finding.place.file,
        "line": finding.place.line,
        "column": finding.place.column,
        "what": finding.what,
        "expected": finding.expected,
        "near": finding.near,
        "on": finding.on,
        "accepted": finding.accepted,
        "remedy": " ".join(entry.remedy.split()),
    }


def _told(finding: Finding, width: int, ink: Ink) -> list[str]:
    entry = finding.entry
    head = f"  {finding.code} {entry.level}: "
    first, *rest = hung(head, _clean(finding.what), width, hang=4)
    first = first.replace(f"{finding.code} {entry.level}:", ink(f"{finding.code} {entry.level}:", entry.level), 1)
    lines = [first, *rest]
    lines += _field("expected", finding.expected, width)
    lines += _field("near", f"did you mean '{finding.near}'?" if finding.near else "", width)
    return lines + _field("remedy", entry.remedy, width)


def _field(label: str, text: str, width: int) -> list[str]:
    return hung(f"    {label:{_LABEL - 2}} ", _clean(text), width) if text else []


def _excerpt(place: Place, rows: list[str], width: int, ink: Ink) -> list[str]:
    """The line of the file with a caret below its column, cut to the width."""
    if not 1 <= place.line <= len(rows):
        return []
    gutter = f"{place.line:>6} | "
    row = printable(rows[place.line - 1])
    column = max(0, min(place.column - 1, len(row)))
    room = max(10, width - len(gutter))
    start = 0 if len(row) <= room else max(0, column - _CROP_LEAD)
    shown = row[start : start + room]
    if start:
        shown = "..." + shown[3:]
    if start + room < len(row):
        shown = shown[:-3] + "..."
    caret = " " * cells(row[start:column]) + "^" if place.column else ""
    lines = [ink(gutter, "faint") + shown]
    return [*lines, " " * len(gutter) + ink(caret, "fault")] if caret else lines


def _clean(text: str) -> str:
    return " ".join(printable(text).split())
