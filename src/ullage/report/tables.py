"""The account of a run as lines for a terminal: harms, what happened, what it came to, what was expected."""

from __future__ import annotations

from collections.abc import Sequence

from ullage.report.account import Account, Expectation, Level, Outcome
from ullage.report.lettering import cells, hung, printable
from ullage.report.listing import Ink, plain
from ullage.report.quantity_words import System, clock, duration, reworded, unit_of
from ullage.report.turns import turns
from ullage.report.words import ALARM, Sentence

STORY_LINES = 40
"""Happenings that a terminal shows; the page holds all of them."""


def account_lines(account: Account, width: int, ink: Ink = plain, story: int = STORY_LINES) -> list[str]:
    """The whole account, no line wider than ``width`` characters; at most ``story`` happenings. Harms come first."""
    system = account.system
    return [
        *harms(account, width, ink),
        "",
        *happenings(account.story, width, ink, story),
        "",
        *outcomes([o for o in account.outcomes if o.group != "harm" or o.main or o.bad], width, ink, system),
        "",
        *levels(account.levels, width, system),
        "",
        f"    {duration(1000 * account.played.seconds)} simulated with seed {account.played.seed}",
        "",
        *expectations(account.expectations, width, ink, system),
    ]


def brief_lines(account: Account, width: int, ink: Ink = plain) -> list[str]:
    """Harms, the story, the main figures, and of the expectations only those that were broken."""
    broken = [e for e in account.expectations if not e.kept]
    return [
        *harms(account, width, ink),
        *happenings(account.story, width, ink),
        *outcomes([o for o in account.outcomes if o.bad or o.main], width, ink, account.system),
        *(expectations(broken, width, ink, account.system) if broken else ()),
    ]


def harms(account: Account, width: int, ink: Ink = plain) -> list[str]:
    """The harm that was done, or that there was none."""
    bad = any(o.bad for o in account.outcomes)
    first, *rest = hung("  ", account.harm, width)
    word = account.harm.split(":")[0]
    return [first.replace(word, ink(word, "fault" if bad else "fine"), 1), *rest]


def happenings(story: Sequence[Sentence], width: int, ink: Ink = plain, most: int = STORY_LINES) -> list[str]:
    """The turns of a story with their times; harms carry an exclamation mark."""
    told = turns(story)
    lines: list[str] = []
    for sentence in told[:most]:
        mark = "!" if sentence.weight == ALARM else " "
        head = f"  {clock(sentence.now_ms):>8} {mark} "
        first, *rest = hung(head, printable(sentence.text), width)
        if sentence.weight == ALARM:
            first = first.replace(head, head.replace("!", ink("!", "fault")), 1)
        lines += [first, *rest]
    if len(told) > most:
        lines += hung("  ", f"and {len(told) - most} more; the page tells all of them.", width)
    return lines or ["  Nothing worth a line."]


def outcomes(found: Sequence[Outcome], width: int, ink: Ink = plain, system: System = "metric") -> list[str]:
    """Figures in a column, harms with an exclamation mark."""
    shown = [o.figure(system) for o in found]
    most = max(map(cells, shown), default=0)
    lines = []
    for o, figure in zip(found, shown, strict=True):
        first, *rest = hung(f"  {'!' if o.bad else ' '} {figure:>{most}}  ", printable(o.name), width)
        lines += [first.replace("!", ink("!", "fault"), 1) if o.bad else first, *rest]
    return lines


HEADS = ("at first", "at least", "at most", "at the end")
"""What is told of each tank."""


def levels(found: Sequence[Level], width: int, system: System = "metric") -> list[str]:
    """What the tanks held: a table, or a few lines for each where the width is too small for one."""
    rows = [(printable(level.tank), level.figures(system)) for level in found]
    unit = unit_of("volume", system)
    name = max((cells(tank) for tank, _ in rows), default=0)
    column = max(map(len, HEADS)) + 2
    if 4 + name + 4 * column <= width:
        head = f"    {'[' + unit + ']':{name}}" + "".join(f"{text:>{column}}" for text in HEADS)
        return [head, *(f"    {tank:{name}}" + "".join(f"{text:>{column}}" for text in row) for tank, row in rows)]
    lines: list[str] = []
    for tank, (start, least, most, end) in rows:
        text = f"{tank}: {start} {unit} at first, {least} to {most} {unit}, {end} {unit} at the end"
        lines += hung("    ", text, width)
    return lines


def expectations(found: Sequence[Expectation], width: int, ink: Ink = plain, system: System = "metric") -> list[str]:
    """Each expectation with its word, kept or broken, and what decided it."""
    lines: list[str] = []
    for e in found:
        word = "kept" if e.kept else "BROKEN"
        text = printable(e.text + (f" ({reworded(e.because, system)})" if e.because else ""))
        told = hung(f"  {word:7} ", text, width)
        told[0] = told[0].replace(word, ink(word, "fine" if e.kept else "fault"), 1)
        lines += told
    return lines or ["  Nothing was expected of this run."]
