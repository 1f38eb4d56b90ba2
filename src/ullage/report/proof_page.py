"""The verdicts and their evidence as one page: no script, no outside resource, light and dark by the reader's wish."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from ullage.report.account import CAUTION
from ullage.report.evidence import Evidence, Matrix, Mode
from ullage.report.page import STYLE, text_of
from ullage.report.proof import ASSUMED, HEADS, LAYERS, Proof, Row, Telling
from ullage.report.proof_lines import FIRST, named
from ullage.verdict.causes import Kind
from ullage.verdict.properties import Asked
from ullage.verdict.verdicts import Word

CAUSES_LIMIT = 12
"""Sets of faults that are named with one story at once; a fold holds the rest."""

MARKS = {Word.PROVED: "\u2713", Word.REFUTED: "\u25b2", Word.UNDECIDED: "?"}
"""What stands before each word, so that colour is never alone."""

NO_BREAK = "\u00a0"

OWN = """
.verdict.open{border-color:var(--travel)}
.cells td,.cells th{padding:.35rem .9rem .35rem 0}
.cells thead th{color:var(--faint);font-weight:600;font-size:.92rem}
.cells th[scope=row]{font-weight:600}
.cells span{display:block}
.proved b{color:var(--series-4)}.refuted b{color:var(--alarm)}.undecided b{color:var(--series-2)}
.allowed{color:var(--faint);font-weight:400}
.matrix td.effect{font-weight:600}
.telling{border-left:5px solid var(--grid);padding:.1rem 0 .1rem .9rem;margin:1rem 0;max-width:60rem;break-inside:avoid}
.telling.refuted{border-color:var(--alarm)}.telling.undecided{border-color:var(--travel)}
.telling h3{color:var(--text);margin:0;font-size:1rem}
.telling p{margin:.25rem 0}
code{font:.9em ui-monospace,monospace;overflow-wrap:anywhere}
dl{display:grid;grid-template-columns:max-content 1fr;gap:.2rem 1rem;margin:.6rem 0;max-width:60rem}
dt{font-weight:600}dd{margin:0}
@media screen and (max-width:48rem){
.cells thead{display:none}
.cells,.cells tbody,.cells tr,.cells td,.cells th{display:block;border:0;padding:0}
.cells tr{padding:.5rem 0;border-bottom:1px solid var(--grid)}
.cells td{padding-left:.9rem}
.cells td[data-of]::before{content:attr(data-of) ": ";color:var(--faint)}
.cells td:empty{display:none}
.cells td.verdicts span{display:inline}
.cells td.verdicts span+span::before{content:"; "}
dl{grid-template-columns:1fr}dd{margin:0 0 .3rem .9rem}
}
@media print{
main{max-width:none;padding:0}
body{font-size:9.5pt;background:none}
h2,thead{break-after:avoid}
tr,li{break-inside:avoid}
.cells,.cells thead th{font-size:8pt}
.cells td,.cells th{padding:.2rem .5rem .2rem 0}
.matrix,.matrix thead th{font-size:7pt}
.telling,dl{max-width:none}
details::details-content{content-visibility:visible}
summary{display:none}
}
"""


def proof_page(proof: Proof, evidence: Evidence) -> str:
    """The page.

    Parameters
    ----------
    proof : Proof
        The verdicts.
    evidence : Evidence
        The tables behind them.
    """
    title = f"{text_of(proof.rig)}: what must never be"
    parts = [
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        f"<title>{title}</title><style>{STYLE}{OWN}</style></head><body><main>",
        f'<p class="faint">{text_of(proof.rig)}</p><h1>What must never be</h1>',
        *_sum(proof),
        *_table(proof),
        *_layers(proof),
        *_can(proof),
        *_tellings(proof.tellings),
        *_alone(evidence),
        *_modes(evidence.modes),
        *_matrix(evidence.matrix),
        "<h2>What PROVED assumes</h2><ul>",
        *(f"<li>{text_of(text)}</li>" for text in ASSUMED),
        "</ul>",
        *_facts(proof),
        f'<p class="caution"><b>Caution.</b> {text_of(CAUTION)}</p>',
        "</main></body></html>\n",
    ]
    return "\n".join(parts)


def _sum(proof: Proof) -> Iterator[str]:
    kind = {Word.PROVED: "", Word.REFUTED: " bad", Word.UNDECIDED: " open"}[proof.worst]
    yield f'<p class="verdict{kind}">{MARKS[proof.worst]} {text_of(proof.verdict)}, {proof.under}</p>'
    if proof.stopped:
        yield "<p>It was stopped before the end: what was not reached is UNDECIDED.</p>"


def _table(proof: Proof) -> Iterator[str]:
    kinds = [kind for kind in Kind if any(kind in row.cells for row in proof.rows)]
    most = {kind: max(row.cells[kind].count for row in proof.rows if kind in row.cells) for kind in kinds}
    heads = {kind: HEADS[kind] + (f" ({most[kind]:,})" if kind is not Kind.HEALTH else "") for kind in kinds}
    yield f'<table class="cells"><thead><tr><th>{FIRST}</th>'
    yield "".join(f"<th>{head}</th>" for head in heads.values()) + "</tr></thead><tbody>"
    for row in proof.rows:
        yield f'<tr><th scope="row">{_named(row)}</th>'
        for kind in kinds:
            parts = "".join(map(_verdict, row.parts(kind)))
            yield f'<td class="verdicts" data-of="{heads[kind]}">{parts}</td>'
        yield "</tr>"
    yield "</tbody></table>"


def _named(row: Row) -> str:
    return text_of(named(row)).replace("(allowed)", '<span class="allowed">allowed, and told</span>')


def _verdict(part: str) -> str:
    """One verdict of a cell, its word marked."""
    for word in Word:
        if word.value in part:
            number, _, rest = text_of(part).partition(word.value)
            head = f"{MARKS[word]} {number}{word.value}".replace(" ", NO_BREAK)
            return f'<span class="{word.value.lower()}"><b>{head}</b>{rest}</span>'
    return f'<span class="faint">{part.replace(" ", NO_BREAK)}</span>'


def _layers(proof: Proof) -> Iterator[str]:
    used = {layer for row in proof.rows for cell in row.cells.values() for layer in cell.proved}
    if used:
        yield "<dl>"
        for layer, words in LAYERS.items():
            if layer in used:
                yield f"<dt>{layer}</dt><dd>{words}</dd>"
        yield "</dl>"


def _can(proof: Proof) -> Iterator[str]:
    if proof.can:
        yield "<h2>What can be</h2>"
        yield "<p>Each was shown by a run, so that the proofs are not about a rig that never moves.</p>"
        yield '<table class="plain">'
        for text, word in proof.can:
            yield f"<tr><td>{_verdict(word.value)}</td><td>{text_of(text)}</td></tr>"
        yield "</table>"


def _tellings(tellings: Sequence[Telling]) -> Iterator[str]:
    if not tellings:
        return
    yield "<h2>What is not proved</h2>"
    for one in sorted(tellings, key=lambda one: one.asked is Asked.TOLD):
        by = " by itself" if one.itself else ""
        yield f'<section class="telling {one.word.value.lower()}">'
        yield f"<h3>{MARKS[one.word]} {one.word.value}{by}: {text_of(one.text)}</h3>"
        yield f'<div class="faint">when {_causes(one.causes)}</div><p>{text_of(one.told)}</p>'
        if one.itself:
            yield "<p>The fault is the harm by itself: no law can prevent it, only end it.</p>"
        if one.holds:
            yield f"<p>What still holds: {text_of(one.holds)}.</p>"
        if one.advised:
            yield f"<p>{text_of(one.advised)}</p>"
        if one.file:
            yield f'<p class="faint">Play it: <code>ullage replay {text_of(one.file)} RIG</code></p>'
        yield "</section>"


def _causes(causes: Sequence[str]) -> str:
    shown = "; or ".join(map(text_of, causes[:CAUSES_LIMIT]))
    rest = causes[CAUSES_LIMIT:]
    if not rest:
        return shown
    return f"{shown}; <details><summary>or {len(rest)} more</summary>{'; or '.join(map(text_of, rest))}</details>"


def _alone(evidence: Evidence) -> Iterator[str]:
    yield "<h2>What rests on software alone</h2>"
    if not evidence.alone:
        yield "<p>Nothing that was PROVED in health: behind all of it stand the water itself or a wire.</p>"
        return
    yield "<p>A controller gone mad would let this be. A wet or a wired layer is the cure where it matters.</p><ul>"
    yield from (f"<li>{text_of(one.text)} (held by the {one.layer})</li>" for one in evidence.alone)
    behind = evidence.alone[0].behind
    yield f"</ul><p>Behind all of them stands: {text_of(behind) if behind else 'nothing'}.</p>"


def _modes(modes: Sequence[Mode]) -> Iterator[str]:
    if not modes:
        return
    yield "<h2>Failure modes and their effects</h2>"
    yield "<p>Each single fault; how it shows in an exercise of three hours in which every sequence is started in turn."
    yield "</p>"
    heads = ("fault", "worst effect", "how it is noticed", "no longer comes to its end", "what still holds, by layer")
    yield '<table class="cells"><thead><tr>' + "".join(f"<th>{head}</th>" for head in heads) + "</tr></thead><tbody>"
    order = (Word.REFUTED, Word.UNDECIDED, Word.PROVED)
    for mode in sorted(modes, key=lambda mode: order.index(mode.word)):
        kind = mode.word.value.lower()
        yield f'<tr><th scope="row">{text_of(mode.fault)}<span class="allowed">{text_of(mode.happens)}</span></th>'
        mark = f"<b>{MARKS[mode.word]}</b> " if mode.word is not Word.PROVED else ""
        yield f'<td data-of="{heads[1]}" class="{kind}">{mark}{text_of(mode.worst)}</td>'
        texts = (mode.noticed, mode.hindered, mode.held())
        for head, text in zip(heads[2:], texts, strict=True):
            yield f'<td data-of="{head}">{text_of(text)}</td>'
        yield "</tr>"
    yield "</tbody></table>"


def _matrix(matrix: Matrix) -> Iterator[str]:
    yield "<h2>Causes and effects</h2>"
    yield "<p>After IEC 62881: each cause, and what it drives whatever the sequences ask.</p>"
    heads = ("cause", "when", "acts by", "latches", *matrix.outputs)
    yield '<table class="cells matrix"><thead><tr>' + "".join(f"<th>{text_of(head)}</th>" for head in heads)
    yield "</tr></thead><tbody>"
    for line in matrix.lines:
        yield f'<tr><th scope="row">{text_of(line.cause)}</th>'
        texts = (line.when, line.acts, "until a person resets it" if line.latches else "")
        yield "".join(_told(head, text) for head, text in zip(heads[1:4], texts, strict=True))
        yield "".join(
            f'<td class="effect" data-of="{text_of(name)}">{text_of(line.effects.get(name, ""))}</td>'
            for name in matrix.outputs
        )
        yield "</tr>"
    yield "</tbody></table>"


def _told(head: str, text: str) -> str:
    return f'<td data-of="{head}">{text_of(text)}</td>'


def _facts(proof: Proof) -> Iterable[str]:
    facts = (
        ("verdicts", f"{proof.questions:,}"),
        ("questions that were searched for them", f"{proof.searched:,}"),
        ("states that closed", f"{proof.states:,}"),
        ("program", proof.program[:16]),
    )
    yield '<h2>How it was found</h2><table class="plain">'
    yield from (f"<tr><th>{name}</th><td>{text_of(value)}</td></tr>" for name, value in facts)
    yield "</table>"
