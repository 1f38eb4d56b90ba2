"""The account of a run as one page: no script, no outside resource, light and dark by the reader's wish."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape

from ullage.report.account import CAUTION, GROUPS, Account
from ullage.report.inks import DARK, LIGHT, declared, named
from ullage.report.lettering import glued, printable
from ullage.report.quantity_words import clock, reworded, unit_of
from ullage.report.turns import turns
from ullage.report.words import ALARM, WEIGHTS, Sentence

STORY_LIMIT = 120
"""Happenings that the page shows at once; the small print holds all of them."""

PRINT_LIMIT = 5000
"""Happenings in the small print; the records on disk hold all of them."""

STYLE = (
    ":root{color-scheme:light dark;"
    + declared(LIGHT)
    + "}@media (prefers-color-scheme:dark){:root{"
    + declared(DARK)
    + "}}"
    + """
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--text);font:16px/1.5 system-ui,sans-serif}
main{max-width:1380px;margin:0 auto;padding:1rem}
h1{font-size:1.5rem;line-height:1.2;margin:.3rem 0}
h2{font-size:1.1rem;margin:1.8rem 0 .5rem;border-bottom:2px solid var(--grid);padding-bottom:.2rem}
h3{font-size:.92rem;margin:.9rem 0 .1rem;color:var(--faint);font-weight:600}
p{max-width:46rem;margin:.4rem 0}
.faint{color:var(--faint)}
.verdict{display:inline-block;margin:.5rem 0;padding:.35rem .7rem;border:2px solid var(--series-4);font-weight:600}
.verdict.bad{border-color:var(--alarm);border-style:double;border-width:5px}
.harm{font-weight:600}
.harm.bad{color:var(--alarm)}
table{border-collapse:collapse;max-width:100%;width:100%}
.plain{width:auto}
td,th{padding:.25rem .8rem .25rem 0;text-align:left;vertical-align:top;border-bottom:1px solid var(--grid)}
td:last-child,th:last-child{padding-right:0}
.levels .figure{padding:.25rem 0 .25rem .5rem}
th.figure{color:var(--faint);font-weight:400}
.figure{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.mark{font-weight:700;white-space:nowrap}
.bad .mark,tr.bad td{color:var(--alarm)}
.legend{display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;max-width:none;font-size:.92rem}
.legend i{display:inline-block;width:1.4rem;height:.75rem;margin-right:.4rem}
.legend .open{background:var(--open)}.legend .rest{background:var(--rest)}.legend .alarm{background:var(--alarm)}
.legend .travel{background:repeating-linear-gradient(135deg,var(--travel) 0 3px,var(--ground) 3px 4px)}
.legend .line{height:0;vertical-align:middle;border-top:2px solid var(--series-1)}
.legend .reading{border-top:2px dashed var(--series-2)}.legend .limit{border-top-color:var(--limit)}
.legend .wish{border-top:2px dashed var(--wish)}.legend .sign{border-top:2px dotted var(--faint)}
a{color:inherit}
@media (max-width:24rem){main{padding:.5rem}h1{font-size:1.25rem}.verdict{margin:.2rem 0}}
.charts{columns:24rem;column-gap:1rem}
figure{margin:0 0 1rem;break-inside:avoid;border:1px solid var(--grid);background:var(--paper)}
figure svg{display:block;width:100%;height:auto}
.columns{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,24rem),1fr));gap:0 2.5rem}
ol.story{list-style:none;margin:0;padding:0;max-width:60rem}
ol.story li{display:grid;grid-template-columns:2.2rem 4.4rem 1fr;gap:.4rem}
ol.story li{padding:.12rem 0;border-bottom:1px solid var(--grid)}
ol.story .number,ol.story time{font-variant-numeric:tabular-nums;color:var(--faint);text-align:right}
ol.story .alarm{font-weight:600}
ol.story .alarm b{color:var(--alarm)}
summary{cursor:pointer;padding:.4rem 0;min-height:2.75rem}
summary:focus-visible{outline:3px solid var(--wish)}
.caution{border-left:5px solid var(--travel);padding:.2rem 0 .2rem .8rem;font-size:.92rem}
"""
)


LEGEND = (
    '<p class="legend faint"><span><i class="open"></i>open, or running</span><span><i class="travel"></i>on its way'
    '</span><span><i class="rest"></i>a step of a sequence, or an interlock in ordinary use</span>'
    '<span><i class="alarm"></i>tripped, held, or a harm</span><span><i class="line water"></i>the water itself</span>'
    '<span><i class="line reading"></i>what a sender reads</span>'
    '<span><i class="line limit"></i>overflow or brim</span>'
    '<span><i class="line wish"></i>what was wished</span><span><i class="line sign"></i>a float or an interlock acts'
    '</span><span>The numbers in the row \u201chappenings\u201d are those of the list <a href="#happened">What happened'
    "</a>.</span></p>"
)
"""What the bars and lines of the charts mean."""


def page(account: Account, charts: Sequence[str]) -> str:
    """The page.

    Parameters
    ----------
    account : Account
        What is told.
    charts : sequence of str
        The strips as SVG in the light inks, in order.
    """
    title = f"{text_of(account.rig)}: {text_of(account.scenario)}"
    parts = [
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        f"<title>{title}</title><style>{STYLE}</style></head><body><main>",
        f'<p class="faint">{text_of(account.rig)}</p><h1>{text_of(account.scenario)}</h1>',
        f'<p class="verdict{"" if account.fine else " bad"}">{_mark(account.fine)} {text_of(account.verdict)}</p>',
        *_harm(account),
        f"<p>{text_of(account.about)}</p>" if account.about else "",
        '<div class="columns"><section>',
        *_expectations(account),
        "</section><section>",
        *_outcomes(account),
        "</section></div>",
        "<h2>Charts</h2>",
        LEGEND,
        '<div class="charts">',
        *(f"<figure>{_inline(svg, i)}</figure>" for i, svg in enumerate(charts)),
        "</div>",
        *_story(account),
        '<h2>How it was run</h2><table class="plain">',
        *(f"<tr><th>{text_of(name)}</th><td>{text_of(value)}</td></tr>" for name, value in account.played.facts()),
        "</table>",
        f'<p class="caution"><b>Caution.</b> {text_of(CAUTION)}</p>',
        "</main></body></html>\n",
    ]
    return "\n".join(part for part in parts if part)


def numbered(story: Iterable[Sentence]) -> list[tuple[int, Sentence]]:
    """The turns of a story with the numbers they have on page and charts."""
    return list(enumerate(turns(story)[:STORY_LIMIT], start=1))


def _harm(account: Account) -> Iterable[str]:
    bad = any(o.bad for o in account.outcomes)
    kind, sign = ("harm bad", "\u25b2 ") if bad else ("harm", "")
    yield f'<p class="{kind}">{sign}{text_of(account.harm)}</p>'


def _expectations(account: Account) -> Iterable[str]:
    yield "<h2>What was expected</h2>"
    if not account.expectations:
        yield '<p class="faint">Nothing: a scenario with expectations makes a test of a run.</p>'
        return
    yield "<table>"
    for e in account.expectations:
        because = f' <span class="faint">({text_of(reworded(e.because, account.system))})</span>' if e.because else ""
        word = "kept" if e.kept else "broken"
        yield (
            f'<tr class="{"" if e.kept else "bad"}"><td class="mark">{_mark(e.kept)} {word}</td>'
            f"<td>{text_of(e.text)}{because}</td></tr>"
        )
    yield "</table>"


def _outcomes(account: Account) -> Iterable[str]:
    yield "<h2>What it came to</h2>"
    for group, heading in GROUPS.items():
        if group == "work":
            yield from _levels(account)
        found = account.group(group)
        if found:
            yield f"<h3>{heading}</h3><table>"
            for o in found:
                row, sign = ('<tr class="bad">', "\u25b2 ") if o.bad else ("<tr>", "")
                figure = text_of(o.figure(account.system))
                yield f'{row}<td>{sign}{text_of(o.name)}</td><td class="figure">{figure}</td></tr>'
            yield "</table>"


def _levels(account: Account) -> Iterable[str]:
    yield f'<h3>Tanks [{unit_of("volume", account.system)}]</h3><table class="levels"><tr><th></th>'
    yield "".join(f'<th class="figure">{head}</th>' for head in ("at first", "least", "most", "at the end")) + "</tr>"
    for level in account.levels:
        cells = "".join(f'<td class="figure">{text_of(text)}</td>' for text in level.figures(account.system))
        yield f"<tr><td>{text_of(level.tank)}</td>{cells}</tr>"
    yield "</table>"


def _story(account: Account) -> Iterable[str]:
    told = numbered(account.story)
    yield '<h2 id="happened">What happened</h2><ol class="story">'
    for number, sentence in told:
        yield _line(str(number), sentence)
    yield "</ol>"
    missing = len(turns(account.story)) - len(told)
    if missing:
        yield f'<p class="faint">{missing} more such happenings follow in the small print.</p>'
    yield f'<details><summary>Small print: all {len(account.story)} happenings</summary><ol class="story">'
    for sentence in account.story[:PRINT_LIMIT]:
        yield _line("", sentence)
    yield "</ol>"
    if len(account.story) > PRINT_LIMIT:
        yield f'<p class="faint">The other {len(account.story) - PRINT_LIMIT} stand in the records file.</p>'
    yield "</details>"


def _line(number: str, sentence: Sentence) -> str:
    sign = "<b>\u25b2</b> " if sentence.weight == ALARM else ""
    return (
        f'<li><span class="number">{number}</span><time>{clock(sentence.now_ms)}</time>'
        f'<span class="{WEIGHTS[sentence.weight]}">{sign}{text_of(sentence.text)}</span></li>'
    )


def _mark(good: bool) -> str:
    return "\u2713" if good else "\u2717"


def text_of(text: str) -> str:
    """A text of the account for the page, each number beside its unit."""
    return escape(glued(printable(text), "\u00a0"))


def _inline(svg: str, index: int) -> str:
    """A chart to stand in the page: with names for inks, and with identifiers of its own."""
    text = re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>chart{index}-", named(svg))
    return text[text.index("<svg") :]
