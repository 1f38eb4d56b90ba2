"""The turns of a story: what a person has to know, and what comes again and again told once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from ullage.report.quantity_words import clock
from ullage.report.words import MAIN, Sentence

REPEATS = 3
"""A happening that comes more often is told once, with how often."""


def turns(story: Iterable[Sentence]) -> list[Sentence]:
    """The sentences of weight, in order, a flickering signal once: else it leaves room for no other."""
    told = [sentence for sentence in story if sentence.weight >= MAIN]
    alike: dict[str, list[Sentence]] = {}
    for turn in told:
        alike.setdefault(turn.text, []).append(turn)
    found = []
    for turn in told:
        again = alike[turn.text]
        if len(again) <= REPEATS:
            found.append(turn)
        elif turn is again[0]:
            last = clock(again[-1].now_ms)
            found.append(replace(turn, text=f"{turn.text} ({len(again)} times, the last at {last})"))
    return found
