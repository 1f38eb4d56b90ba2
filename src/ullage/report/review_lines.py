"""The design review as lines for a terminal: judgements, tables, bars and steps of any section."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from ullage.quantities import Span
from ullage.report.lettering import cells, hung, printable
from ullage.report.listing import Ink, counted, plain
from ullage.report.quantity_words import System, figures, fitting, reworded
from ullage.review.judgement import GRADES, Judgement
from ullage.review.matter import Bars, Cell, Column, Curves, Section, Steps, Table
from ullage.review.sections import Review

KINDS = {"STOP": "fault", "LOOK": "caution", "PASS": "fine"}
"""The ink of each grade."""

BAR = 24
"""Length of a whole bar [characters]."""


def review_lines(
    review: Review, width: int, system: System = "metric", ink: Ink = plain, everything: bool = False
) -> list[str]:
    """The whole review; of what is judged PASS only the count, unless everything is wished."""
    lines: list[str] = []
    for section in review.sections:
        lines += [*section_lines(section, width, system, ink, everything), ""]
    lines += list(_missing(review.missing, width))
    told = ", ".join(f"{review.count(grade)} {grade}" for grade in GRADES)
    return [*lines, *hung("", f"{printable(review.rig)}: {told}", width)]


def section_lines(section: Section, width: int, system: System, ink: Ink, everything: bool) -> list[str]:
    """One section: what is judged, its figures, what was assumed, its cautions."""
    lines = [ink(section.title, "name")]
    for grade in GRADES:
        judged = [one for one in section.judgements if one.grade == grade]
        if grade == "PASS" and not everything:
            lines += [f"  {ink('PASS', 'fine')}  {counted(len(judged), 'judgement')}"] if judged else []
        else:
            lines += (line for one in judged for line in judgement_lines(one, width, system, ink))
    for matter in section.matter:
        shown = matter_lines(matter, width, system)
        lines += ["", *shown] if shown else []
    for text in section.assumed:
        lines += hung("  assumed  ", reworded(printable(text), system), width)
    for text in section.cautions:
        lines += hung("  caution  ", reworded(printable(text), system), width)
    return lines


def judgement_lines(one: Judgement, width: int, system: System, ink: Ink) -> list[str]:
    """One judgement with its reason; where it is not a PASS also its limit, source, remedy and caution."""
    limit = one.limit
    first, *rest = hung(f"  {one.grade}  ", f"{one.code} {printable(one.on)}: {limit.title}", width, 8)
    lines = [first.replace(one.grade, ink(one.grade, KINDS[one.grade]), 1), *rest]
    fields = [("because", one.because)]
    if one.grade != "PASS":
        fields += [("limit", f"{limit.limit} ({limit.source})"), ("remedy", limit.remedy), ("caution", limit.caution)]
    for label, text in fields:
        if text:
            lines += hung(f"        {label:8} ", reworded(" ".join(printable(text).split()), system), width)
    return lines


def matter_lines(matter: Table | Bars | Curves | Steps, width: int, system: System) -> list[str]:
    """A table, bars, the named points of curves (nothing where there are none), or steps."""
    match matter:
        case Table():
            return table_lines(matter, width, system)
        case Bars():
            return list(_bars(matter, width, system))
        case Curves():
            marks = (
                f"{name}: {fitting(x, matter.across.dimension, system)}, {fitting(y, matter.up.dimension, system)}"
                for name, x, y in matter.marks
            )
            told = [line for text in marks for line in hung("    ", text, width)]
            return [f"  {matter.title}", *told] if told else []
        case Steps():
            lines = [f"  {matter.title}"]
            for text in matter.cautions:
                lines += hung("    caution  ", reworded(printable(text), system), width)
            for at, text in enumerate(matter.steps, 1):
                lines += hung(f"    {at:>2}. ", reworded(printable(text), system), width)
            return lines


def table_lines(table: Table, width: int, system: System) -> list[str]:
    """A table in columns, or a few lines for each row where the width is too small for that."""
    shown = [[cell_words(cell, column, system) for cell, column in _pairs(row, table)] for row in table.rows]
    heads = [printable(column.head) for column in table.columns]
    wide = [max(map(cells, texts)) for texts in zip(heads, *shown, strict=True)]
    lines = [f"  {printable(table.title)}"]
    if 4 + sum(wide) + 2 * len(wide) <= width:
        for texts in (heads, *shown):
            row = "  ".join(
                text + " " * (size - cells(text)) if at == 0 else " " * (size - cells(text)) + text
                for at, (text, size) in enumerate(zip(texts, wide, strict=True))
            )
            lines.append(f"    {row}".rstrip())
    else:
        for first, *rest in shown:
            told = (f"{head.lower()} {text}" for head, text in zip(heads[1:], rest, strict=True) if text)
            lines += hung(f"    {first}: ", ", ".join(told), width, 6)
    return lines + (hung("    ", reworded(printable(table.note), system), width) if table.note else [])


def _pairs(row: Sequence[Cell], table: Table) -> Iterable[tuple[Cell, Column]]:
    return zip(row, table.columns, strict=True)


def cell_words(cell: Cell, column: Column, system: System) -> str:
    """One cell in the reader's units; nothing where there is no figure."""
    match cell:
        case None:
            return ""
        case str():
            return reworded(printable(cell), system)
        case Span(least, most):
            return f"{cell_words(least, column, system)} .. {cell_words(most, column, system)}"
        case _:
            return fitting(cell, column.dimension, system) if column.dimension else figures(cell)


def _bars(bars: Bars, width: int, system: System) -> Iterator[str]:
    """Each whole with its parts, the largest part first."""
    yield f"  {printable(bars.title)}"
    for name, parts in bars.rows:
        whole = sum(amount for _, amount in parts)
        yield from hung("    ", f"{printable(name)}: {fitting(whole, bars.dimension, system)}", width)
        for part, amount in sorted(parts, key=lambda one: -one[1]):
            share = amount / whole if whole else 0.0
            bar = "=" * round(BAR * share)
            yield from hung(f"      {100 * share:3.0f} % ", f"{printable(part)} {bar}", width, 12)


def _missing(fields: Sequence[str], width: int) -> Iterator[str]:
    """What the rig file does not say and the review would like to know."""
    if fields:
        yield from hung("", "open until the rig file says:", width)
        yield from (line for field in fields for line in hung("  ", field, width))
        yield ""
