"""Advice: the smallest change that a proof accepts."""

from __future__ import annotations

import re

import pytest

from tests.shipped import EXAMPLES
from ullage.control.check import examine
from ullage.prove.prover import Prover
from ullage.verdict.advice import advise

MARRAM = (EXAMPLES / "rigs" / "marram.yaml").read_text("utf8")


@pytest.mark.parametrize(
    ("was", "becomes", "line", "words"),
    [
        (
            "when: belly_float or (belly_level > 90 %)",
            "when: belly_level > 96 %",
            "belly reaches its overflow",
            "let belly_high act at 'belly_level > 90 %' instead of 96 %",
        ),
    ],
)
def test_the_smallest_change_that_is_enough(was: str, becomes: str, line: str, words: str) -> None:
    """Advice that is not proved is a guess, and a large change where a small one does is not followed."""
    text = MARRAM.replace(was, becomes)
    assert text != MARRAM
    examined = examine(text, "wrong.yaml")
    assert examined.rig is not None, examined.findings
    assert examined.law is not None, examined.findings
    assert examined.program is not None, examined.findings
    wish = next(wish for wish in examined.law.never if wish.text == line)
    prover = Prover(examined.rig, examined.program)
    (harm,) = prover.harms(wish.statement)
    assert not prover.find(harm, (), range(3)).proved
    advice = advise(text, wish.statement, harm)
    assert advice is not None
    assert advice.words == words
    assert advice.rests_on == "interlocks"


def test_where_no_change_is_enough_none_is_told() -> None:
    """A change that helps nothing costs a weekend and the trust in the next one."""
    text = re.sub(r"overflow: \{bore: 38 mm, at: 280 mm\}", "overflow: {bore: 38 mm, at: 272 mm}", MARRAM)
    examined = examine(MARRAM, "marram.yaml")
    assert examined.law is not None
    assert examined.rig is not None
    assert examined.program is not None
    wish = next(wish for wish in examined.law.never if wish.text == "water indoors")
    prover = Prover(examined.rig, examined.program)
    harm = prover.harms(wish.statement)[0]
    assert advise(text, wish.statement, harm, go_on=lambda tried: False) is None
