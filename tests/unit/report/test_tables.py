"""The account in a terminal."""

from __future__ import annotations

import re

import pytest

from ullage.report.account import Account, Expectation, Outcome
from ullage.report.tables import account_lines, happenings
from ullage.report.words import ALARM, FINE, MAIN, Sentence

STORY = (
    Sentence(0, "fine print", FINE),
    Sentence(65_000, "A person gives the command: start fill. " * 4, MAIN),
    Sentence(90_061_000, "belly runs out of its overflow.", ALARM),
)
ACCOUNT = Account(
    "Marram", "A day", "", (),
    (Outcome("left by the overflow of belly", "840 mL", True), Outcome("shore water taken " * 9, "1101 L")),
    (Expectation("fill reaches filled", True, "at 0:09:12"), Expectation("belly never over its overflow " * 6, False)),
    STORY, (),
)  # fmt: skip


@pytest.mark.parametrize("width", [40, 80, 100])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    """On the small screen at the hose a broken line hides the figure."""
    assert max(map(len, account_lines(ACCOUNT, width))) <= width


def test_harms_and_broken_expectations_are_marked_without_colour() -> None:
    """Piped into a file there is no red; the mark must be in the text."""
    lines = account_lines(ACCOUNT, 80)
    assert any("! belly runs out" in line for line in lines)
    assert any(re.match(r"  ! +840 mL", line) for line in lines)
    assert any(line.startswith("  BROKEN") for line in lines)
    coloured = account_lines(ACCOUNT, 80, lambda text, kind: f"\x1b[31m{text}\x1b[0m")
    assert [re.sub(r"\x1b\[\d+m", "", line) for line in coloured] == lines


def test_a_long_story_says_how_much_is_left_out() -> None:
    """Whoever believes to have read all of it stops looking."""
    story = [Sentence(i, f"turn {i}", MAIN) for i in range(50)]
    lines = happenings(story, 80, most=40)
    assert len(lines) == 41
    assert "10 more" in lines[-1]
    assert happenings([], 80) == ["  Nothing worth a line."]
