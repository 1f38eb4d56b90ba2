"""The account of a run as lines for a terminal: what was expected, what it came to, what happened."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from ullage.report.account import Account, Expectation, Outcome
from ullage.report.lettering import cells, printable
from ullage.report.listing import Ink, plain
from ullage.report.quantity_words import clock
from ullage.report.words import ALARM, MAIN, Sentence

STORY_LINES = 40
"""Happenings that a terminal shows; the page holds all of them."""


def account_lines(account: Account, width: int, ink: Ink = plain, story: int = STORY_LINES) -> list[str]:
    """The whole account, no line wider than ``width`` characters; at most ``story`` happenings."""
    return [
        *happenings(account.story, width, ink, story),
        "",
        *outcomes(account.outcomes, width, ink),
        "",
        *expectations(account.expectations, width, ink),
    ]


def brief_lines(account: Account, width: int, ink: Ink = plain) -> list[str]:
    """The story, the main figures, and of the expectations only those that were broken."""
    return [
        *happenings(account.story, width, ink),
        *outcomes([o for o in account.outcomes if o.bad or o.main], width, ink),
        *(expectations([e for e in account.expectations if not e.kept], width, ink) if not account.fine else ()),
    ]


def happenings(story: Sequence[Sentence], width: int, ink: Ink = plain, most: int = STORY_LINES) -> list[str]:
    """The turns of a story with their times; harms carry an exclamation mark."""
    turns = [sentence for sentence in story if sentence.weight >= MAIN]
    lines: list[str] = []
    for sentence in turns[:most]:
        mark = "!" if sentence.weight == ALARM else " "
        head = f"  {clock(sentence.now_ms):>8} {mark} "
        told = _hung(head, printable(sentence.text), width)
        if sentence.weight == ALARM:
            told[0] = told[0].replace(head, head.replace("!", ink("!", "fault")), 1)
        lines += told
    if len(turns) > most:
        lines.append(f"  and {len(turns) - most} more; the page tells all of them.")
    return lines or ["  Nothing worth a line."]


def outcomes(found: Sequence[Outcome], width: int, ink: Ink = plain) -> list[str]:
    """Figures in a column, harms with an exclamation mark."""
    most = max((cells(o.figure) for o in found), default=0)
    lines = []
    for o in found:
        name = textwrap.shorten(printable(o.name), max(12, width - most - 6), placeholder=" ...")
        mark = ink("!", "fault") if o.bad else " "
        lines.append(f"  {mark} {printable(o.figure):>{most}}  {name}")
    return lines


def expectations(found: Sequence[Expectation], width: int, ink: Ink = plain) -> list[str]:
    """Each expectation with its word, kept or broken, and what decided it."""
    lines: list[str] = []
    for e in found:
        word = "kept" if e.kept else "BROKEN"
        text = printable(e.text + (f" ({e.because})" if e.because else ""))
        told = _hung(f"  {word:7} ", text, width)
        told[0] = told[0].replace(word, ink(word, "fine" if e.kept else "fault"), 1)
        lines += told
    return lines or ["  Nothing was expected of this run."]


def _hung(head: str, text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=head, subsequent_indent=" " * len(head)) or [head.rstrip()]
