"""The verdicts on a rig as lines for a terminal: the table, what is not proved, what is assumed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ullage.report.lettering import cells, hung, printable, wrap
from ullage.report.listing import Ink, plain
from ullage.report.proof import ASSUMED, HEADS, LAYERS, Proof, Row, Telling
from ullage.verdict.causes import Kind
from ullage.verdict.properties import Asked
from ullage.verdict.verdicts import Word

TELLINGS_LIMIT = 12
"""Stories and open questions that a terminal tells; the page holds all of them."""

CAUSES_LIMIT = 6
"""Sets of faults that are named with one story; the page names all of them."""

NAME_MOST = 28
"""Widest column of names [characters]."""

COLUMN_LEAST = 14
"""A column of verdicts is at least so wide, else the table becomes a list [characters]."""

FIRST = "what must never be"
"""Heading of the column of names."""

INK = {Word.PROVED: "fine", Word.REFUTED: "fault", Word.UNDECIDED: "caution"}


def proof_lines(proof: Proof, width: int, ink: Ink = plain) -> list[str]:
    """The table, what can be, what is not proved; no line wider than ``width`` characters."""
    return [
        *table(proof, width, ink),
        "",
        *sometimes(proof, width, ink),
        *((*told, "") if (told := layers(proof, width)) else ()),
        *tellings(proof, width, ink),
    ]


def brief_lines(proof: Proof, width: int, ink: Ink = plain) -> list[str]:
    """The table and what rests on what."""
    return [*table(proof, width, ink), "", *layers(proof, width)]


def table(proof: Proof, width: int, ink: Ink = plain) -> list[str]:
    """What must never be, with the verdicts under each sort of sets of faults."""
    kinds = [kind for kind in Kind if any(kind in row.cells for row in proof.rows)]
    name = min(max(map(cells, [FIRST, *map(named, proof.rows)])), NAME_MOST)
    column = (width - name - 2) // max(len(kinds), 1) - 2
    if column < COLUMN_LEAST:
        return list(_listed(proof, kinds, width, ink))
    head = [_head(proof, kind) for kind in kinds]
    lines = _rows([FIRST, *head], name, column)
    lines.append("-" * min(width, name + len(kinds) * (column + 2)))
    for row in proof.rows:
        parts = ["\n".join(row.parts(kind)) for kind in kinds]
        lines += inked(_rows([named(row), *parts], name, column), ink)
    return lines


def named(row: Row) -> str:
    """Name of a row; what is allowed is marked."""
    return f"{row.text} (allowed)" if row.asked is Asked.TOLD else row.text


def _head(proof: Proof, kind: Kind) -> str:
    most = max((row.cells[kind].count for row in proof.rows if kind in row.cells), default=0)
    return HEADS[kind] if kind is Kind.HEALTH else f"{HEADS[kind]} ({most:,})"


def _rows(texts: Sequence[str], name: int, column: int) -> list[str]:
    """One row of the table as lines: each text broken to the width of its column."""
    widths = [name, *([column] * (len(texts) - 1))]
    broken = [
        [line for part in text.split("\n") for line in (wrap(part, most) or ("",))]
        for text, most in zip(texts, widths, strict=True)
    ]
    height = max(map(len, broken))
    return [
        "  ".join(
            (part[at] if at < len(part) else "") + " " * (most - cells(part[at] if at < len(part) else ""))
            for part, most in zip(broken, widths, strict=True)
        ).rstrip()
        for at in range(height)
    ]


def inked(lines: list[str], ink: Ink) -> list[str]:
    """The words of the verdicts in their colours."""
    for word, kind in INK.items():
        lines = [line.replace(word.value, ink(word.value, kind)) for line in lines]
    return lines


def _listed(proof: Proof, kinds: Sequence[Kind], width: int, ink: Ink) -> Iterator[str]:
    """The table as a list, for a narrow terminal."""
    for row in proof.rows:
        yield from hung("", named(row), width, 2)
        for kind in kinds:
            if kind in row.cells:
                told = "; ".join(row.parts(kind))
                yield from inked(hung("  ", f"{_head(proof, kind)}: {told}", width, 4), ink)


def sometimes(proof: Proof, width: int, ink: Ink = plain) -> list[str]:
    """What can be."""
    if not proof.can:
        return []
    lines = hung("", "what can be, each shown by a run", width)
    for text, word in proof.can:
        lines += inked(hung(f"  {word.value:9}  ", printable(text), width), ink)
    return [*lines, ""]


def layers(proof: Proof, width: int) -> list[str]:
    """What the words for the layers mean, of those that hold anything."""
    used = {layer for row in proof.rows for cell in row.cells.values() for layer in cell.proved}
    lines = []
    for layer, words in LAYERS.items():
        if layer in used:
            lines += hung(f"  {layer:10}  ", words, width)
    return lines


def tellings(proof: Proof, width: int, ink: Ink = plain, most: int = TELLINGS_LIMIT) -> list[str]:
    """Everything that is not PROVED; what is allowed comes last."""
    told = sorted(proof.tellings, key=lambda one: one.asked is Asked.TOLD)
    lines: list[str] = []
    for one in told[:most]:
        lines += [*_telling(one, width, ink), ""]
    if len(told) > most:
        lines += [*hung("", f"and {len(told) - most} more; the page tells all of them.", width), ""]
    return lines


def _telling(one: Telling, width: int, ink: Ink) -> list[str]:
    by = " by itself" if one.itself else ""
    first, *rest = hung("", f"{one.word.value}{by}: {printable(one.text)}, when {_causes(one)}", width, 2)
    lines = [first.replace(one.word.value, ink(one.word.value, INK[one.word]), 1), *rest]
    lines += hung("  ", printable(one.told), width)
    if one.itself:
        lines += hung("  ", "The fault is the harm by itself: no law can prevent it, only end it.", width)
    if one.holds:
        lines += hung("  ", f"What still holds: {one.holds}.", width)
    if one.advised:
        lines += hung("  ", printable(one.advised), width)
    if one.file:
        lines += hung("  ", f"The story: {one.file}", width)
    return lines


def _causes(one: Telling) -> str:
    shown = [printable(cause) for cause in one.causes[:CAUSES_LIMIT]]
    more = len(one.causes) - len(shown)
    return "; or ".join(shown) + (f"; or {more} more" if more else "")


def assumed(width: int) -> list[str]:
    """What every PROVED assumes."""
    lines = hung("", "PROVED holds under these assumptions:", width)
    for text in ASSUMED:
        lines += hung("  - ", text, width)
    return lines
