"""The sequence chart as SVG, drawn from the tables that are stepped, so that it cannot tell another story.

The look is that of IEC 61131-3 (sequential function charts): a box for each step, a double box
for the initial one, a bar with its condition for each transition, beside a step its actions in
columns of qualifier, demand and time, a double line where branches run together in parallel.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from ullage.control.program import Program
from ullage.report.chart_graph import graph_of
from ullage.report.chart_layout import (
    BAR,
    COLUMN_GAP,
    NAME_SIZE,
    PAD,
    SMALL_SIZE,
    TEXT_SIZE,
    Box,
    Layout,
    Run,
    action_columns,
    lay_out,
    row_height,
)
from ullage.report.lettering import FACE, LEADING, printable, room, wrap
from ullage.rig.procedures import Sequence

DOUBLE = 4.0
"""Distance of the two lines of a double line [px]."""

HEAD_CELLS = 52
"""Cells per line of the head of a chart."""

STYLE = f"""
.sfc{{font-family:{FACE};font-size:{TEXT_SIZE}px}}
.sfc .paper{{fill:#fbfaf6}}
.sfc .box,.sfc .inner{{fill:#fff;stroke:#22303a;stroke-width:1.4}}
.sfc .first{{fill:#e6eef0}}
.sfc .cell{{fill:#f1efe6;stroke:#22303a;stroke-width:1}}
.sfc .line{{stroke:#22303a;stroke-width:1.4;fill:none}}
.sfc .bar{{stroke:#22303a;stroke-width:3.2}}
.sfc .tip{{fill:#22303a}}
.sfc text{{fill:#16212a}}
.sfc .name{{font-size:{NAME_SIZE}px;font-weight:700}}
.sfc .small{{font-size:{SMALL_SIZE}px;fill:#4d5b64}}
.sfc .jump{{font-weight:700;fill:#0b5563}}
@media (prefers-color-scheme:dark){{
.sfc .paper{{fill:#12181c}}
.sfc .box,.sfc .inner{{fill:#1d262c;stroke:#c9d3d8}}
.sfc .first{{fill:#26343b}}
.sfc .cell{{fill:#242b2a;stroke:#c9d3d8}}
.sfc .line,.sfc .bar{{stroke:#c9d3d8}}
.sfc .tip{{fill:#c9d3d8}}
.sfc text{{fill:#e8edef}}
.sfc .small{{fill:#a9b6bd}}
.sfc .jump{{fill:#7fd0de}}
}}
"""


def sequence_chart(program: Program, sequence: int, head: tuple[str, ...] = ()) -> str:
    """The chart of one sequence (row of the Program) as an SVG document.

    Its conditions stand there as a person wrote them, those above it (see `head_lines`) and those
    of its transitions.
    """
    layout = lay_out(graph_of(program, sequence))
    head_width, head_height = room(head, TEXT_SIZE)
    top = head_height + NAME_SIZE * LEADING + COLUMN_GAP
    width = max(layout.width, head_width + 2 * COLUMN_GAP)
    height = layout.height + top
    name = program.names.sequences[sequence]
    steps = sum(node.kind == "step" for node in layout.graph.nodes)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="sfc" role="img" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'width="{width:.0f}" height="{height:.0f}">',
        f"<title>Sequence {escape(name)} of {escape(printable(program.rig))}</title>",
        f"<desc>Sequential function chart with {steps} steps. {escape(' '.join(head))}</desc>",
        f"<style>{STYLE}</style>",
        f'<rect class="paper" width="{width:.0f}" height="{height:.0f}"/>',
        _text(COLUMN_GAP, COLUMN_GAP, (name,), "name", NAME_SIZE, anchor="start"),
        _text(COLUMN_GAP, COLUMN_GAP + NAME_SIZE * LEADING, head, "small", TEXT_SIZE, anchor="start"),
        f'<g transform="translate(0 {top:.1f})">',
        *_body(layout),
        "</g>",
        "</svg>",
    ]
    return "\n".join(part for part in parts if part) + "\n"


def head_lines(sequence: Sequence) -> tuple[str, ...]:
    """What stands above a chart: when the sequence may start, go on, and begins by itself."""
    rows = (
        ("may start when", sequence.permit),
        ("goes on while", sequence.stay),
        ("begins by itself when", sequence.begins),
    )
    lines = [f"{words} {' '.join(written.split())}" for words, written in rows if written is not None]
    if sequence.confirm:
        lines.append("waits for a person to confirm before it starts")
    return tuple(part for line in lines for part in wrap(line, HEAD_CELLS))


def _body(layout: Layout) -> Iterable[str]:
    for run in layout.runs:
        yield _run(run)
    for x, y in layout.bars.values():
        yield f'<path class="bar" d="M{x - BAR:.1f} {y:.1f}H{x + BAR:.1f}"/>'
    for box in layout.boxes:
        yield from _box(layout, box)


def _run(run: Run) -> str:
    if not run.double:
        return f'<path class="line" d="M{run.x1:.1f} {run.y1:.1f}L{run.x2:.1f} {run.y2:.1f}"/>'
    pair = (run.y1 - DOUBLE / 2, run.y1 + DOUBLE / 2)
    return "".join(f'<path class="line" d="M{run.x1:.1f} {y:.1f}H{run.x2:.1f}"/>' for y in pair)


def _box(layout: Layout, box: Box) -> Iterable[str]:
    middle = box.x + box.width / 2
    if box.part == "condition":
        yield _text(box.x, box.y, box.lines, "", TEXT_SIZE, anchor="start")
    elif box.part == "jump":
        yield f'<path class="tip" d="M{middle - 4.5:.1f} {box.y - 8:.1f}h9l-4.5 8z"/>'
        yield _text(middle, box.y + 2, box.lines, "jump", TEXT_SIZE)
    elif box.part == "actions":
        yield from _actions(box)
    else:
        initial = layout.graph.nodes[box.node].initial
        yield _rect("box first" if initial else "box", box.x, box.y, box.width, box.height)
        if initial:
            yield _rect("inner first", box.x + 4, box.y + 4, box.width - 8, box.height - 8)
        edge = PAD + (4 if initial else 0)
        yield _text(middle, box.y + edge, box.lines, "name", NAME_SIZE)
        yield _text(middle, box.y + edge + room(box.lines, NAME_SIZE)[1], box.small, "small", SMALL_SIZE)


def _actions(box: Box) -> Iterable[str]:
    middle = box.y + row_height() / 2
    yield f'<path class="line" d="M{box.x - 12:.1f} {middle:.1f}h12"/>'
    for i, row in enumerate(box.rows):
        x, y = box.x, box.y + i * row_height()
        for width, text in zip(action_columns(box.rows), (row.qualifier, row.demand, row.time), strict=True):
            if width:
                yield _rect("cell", x, y, width, row_height())
                yield _text(x + PAD * 0.75, y + PAD * 0.375, (text,), "", TEXT_SIZE, anchor="start")
                x += width


def _rect(kind: str, x: float, y: float, width: float, height: float) -> str:
    return f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


def _text(x: float, y: float, lines: tuple[str, ...], kind: str, size: float, anchor: str = "middle") -> str:
    """Lines of text, the first with its top at y."""
    attributes = f'class="{kind}" ' if kind else ""
    return "".join(
        f'<text {attributes}x="{x:.1f}" y="{y + (i + 0.78) * LEADING * size - 0.05 * size:.1f}" '
        f'text-anchor="{anchor}">{escape(line)}</text>'
        for i, line in enumerate(lines)
        if line
    )
