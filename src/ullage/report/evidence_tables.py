"""The evidence as lines for a terminal and as tables that any program reads."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from ullage.report.evidence import HIDDEN, Evidence, Matrix, Mode
from ullage.report.lettering import hung, printable
from ullage.report.listing import Ink, plain
from ullage.report.proof import HEADS, LAYERS, Proof
from ullage.report.proof_lines import inked
from ullage.verdict.causes import Kind

MODES_LIMIT = 20
"""Failure modes that a terminal shows, the worst ones; the page and the tables hold all of them."""


def evidence_lines(evidence: Evidence, width: int, ink: Ink = plain) -> list[str]:
    """What a terminal shows of the evidence: what rests on software alone, and failure modes that do harm or hide."""
    return [*alone_lines(evidence, width), *mode_lines(evidence.modes, width, ink)]


def alone_lines(evidence: Evidence, width: int) -> list[str]:
    """What a controller gone mad would let be."""
    if not evidence.alone:
        return []
    lines = hung("", "rests on software alone: a controller gone mad would let it be", width, 2)
    for one in evidence.alone:
        lines += hung("  ", f"{printable(one.text)} (held by the {one.layer})", width, 4)
    behind = evidence.alone[0].behind
    return [*lines, *hung("  ", f"behind all of them stands: {behind or 'nothing'}", width), ""]


def mode_lines(modes: Sequence[Mode], width: int, ink: Ink = plain) -> list[str]:
    """Failure modes that do harm, or that nothing tells of; each in a few lines."""
    grave = [mode for mode in modes if mode.word.value != "PROVED"]
    hidden = sum(mode.noticed == HIDDEN for mode in modes)
    if not modes:
        return []
    lines = hung("", f"of {len(modes)} single faults {len(grave)} can do harm, or are not decided", width)
    for mode in grave[:MODES_LIMIT]:
        lines += hung("  ", printable(f"{mode.fault}: {mode.worst}"), width, 4)
        lines += hung("    ", printable(f"noticed: {mode.noticed}"), width, 6)
    if len(grave) > MODES_LIMIT:
        lines += hung("  ", f"and {len(grave) - MODES_LIMIT} more; the page shows all of them.", width)
    if hidden:
        lines += hung(
            "  ", f"{hidden} of all show in nothing in an exercise of three hours: only a proof test finds them.", width
        )
    return [*inked(lines, ink), ""]


# --- tables for other programs -----------------------------------------------------------------------------


def csv_files(proof: Proof, evidence: Evidence) -> dict[str, bytes]:
    """The tables as CSV, by file name."""
    files = {"verdicts.csv": _verdicts(proof), "software-alone.csv": _alone(evidence)}
    if evidence.modes:
        files["failure-modes.csv"] = _modes(evidence.modes)
    files["cause-and-effect.csv"] = _matrix(evidence.matrix)
    return {name: _csv(rows) for name, rows in files.items()}


def _csv(rows: Iterable[Sequence[str]]) -> bytes:
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    return text.getvalue().encode()


def _verdicts(proof: Proof) -> list[list[str]]:
    kinds = [kind for kind in Kind if any(kind in row.cells for row in proof.rows)]
    rows = [["what must never be", "who asks", *(HEADS[kind] for kind in kinds)]]
    for row in proof.rows:
        cells = ["; ".join(row.cells[kind].parts()) if kind in row.cells else "" for kind in kinds]
        rows.append([row.text, row.asked.value, *cells])
    return rows


def _modes(modes: Sequence[Mode]) -> list[list[str]]:
    heads = ["fault", "what happens", "worst effect", "verdict", "how it is noticed", "sequences hindered"]
    rows = [[*heads, *(f"held by: {layer}" for layer in LAYERS)]]
    for mode in modes:
        held = ["; ".join(mode.holds.get(layer, [])) for layer in LAYERS]
        rows.append([mode.fault, mode.happens, mode.worst, mode.word.value, mode.noticed, mode.hindered, *held])
    return rows


def _matrix(matrix: Matrix) -> list[list[str]]:
    rows = [["cause", "when", "acts by", "latches", *matrix.outputs, "why"]]
    for line in matrix.lines:
        effects = [line.effects.get(name, "") for name in matrix.outputs]
        rows.append([line.cause, line.when, line.acts, "yes" if line.latches else "", *effects, line.why])
    return rows


def _alone(evidence: Evidence) -> list[list[str]]:
    rows = [["what must never be", "held by", "what stands behind it"]]
    return rows + [[one.text, one.layer, one.behind] for one in evidence.alone]
