"""Advice: the smallest change that a proof accepts."""

from __future__ import annotations

import pytest

from tests.shipped import EXAMPLES
from ullage.control.check import examine
from ullage.plant.faults import Fault, read_fault
from ullage.prove.harms import Harm
from ullage.prove.prover import Prover
from ullage.rig.meaning import Statement
from ullage.verdict.advice import Advice, advise

BOTHY = (EXAMPLES / "rigs" / "bothy.yaml").read_text("utf8")
CRUMB = (EXAMPLES / "rigs" / "crumb.yaml").read_text("utf8")


@pytest.mark.parametrize(
    ("was", "becomes", "line", "words"),
    [
        (
            "when: drum_float or (drum_level > 85 %)",
            "when: drum_level > 98 %",
            "drum reaches its overflow",
            "let drum_high act at 'drum_level > 92 %' instead of 98 %",
        ),
    ],
)
def test_the_smallest_change_that_is_enough(was: str, becomes: str, line: str, words: str) -> None:
    """Advice that is not proved is a guess, and a large change where a small one does is not followed."""
    text = CRUMB.replace(was, becomes)
    assert text != CRUMB
    examined = examine(text, "wrong.yaml")
    assert examined.rig is not None, examined.findings
    assert examined.law is not None, examined.findings
    assert examined.program is not None, examined.findings
    wish = next(wish for wish in examined.law.never if wish.text == line)
    prover = Prover(examined.rig, examined.program)
    (harm,) = prover.harms(wish.statement)
    assert not prover.find(harm, (), range(3)).proved
    advice = advise(text, wish.statement, harm)
    assert advice.words == words
    assert advice.rests_on == "interlocks"


def welded(line: str) -> tuple[Statement, Harm, tuple[Fault, ...]]:
    """A line of Bothy, the harm it speaks of, and a pump whose relay is welded."""
    examined = examine(BOTHY, "bothy.yaml")
    assert examined.rig is not None, examined.findings
    assert examined.law is not None, examined.findings
    assert examined.program is not None, examined.findings
    wish = next(wish for wish in examined.law.never if wish.text == line)
    (harm,) = Prover(examined.rig, examined.program).harms(wish.statement)
    return wish.statement, harm, (read_fault(examined.rig, "sun_pump welded"),)


def test_where_no_change_is_enough_it_says_how_many_were_tried() -> None:
    """A change that helps nothing costs a weekend and the trust in the next one."""
    found = advise(BOTHY, *welded("cistern reaches its overflow"))
    assert (found.words, found.rests_on, found.ended) == ("", "", True)
    assert found.tried > 5


def test_it_ends_when_its_time_is_up() -> None:
    """A person who waits for advice would rather have the verdicts."""
    line = welded("cistern reaches its overflow")
    assert advise(BOTHY, *line, go_on=lambda tried: tried < 2) == Advice("", "", 2, ended=False)
    assert advise(BOTHY, *line, go_on=lambda tried: False) == Advice("", "", 0, ended=False)
