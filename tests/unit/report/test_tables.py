"""The account in a terminal."""

from __future__ import annotations

import re

import pytest

from tests.unit.report.made import account
from ullage.report.account import Expectation, Level, Outcome
from ullage.report.quantity_words import duration
from ullage.report.tables import account_lines, brief_lines, happenings, levels
from ullage.report.words import ALARM, FINE, MAIN, Sentence

STORY = (
    Sentence(0, "fine print", FINE),
    Sentence(65_000, "A person gives the command: start fill. " * 4, MAIN),
    Sentence(90_061_000, "belly runs out of its overflow.", ALARM),
)
ACCOUNT = account(
    outcomes=(
        Outcome("left by the overflow of belly", 840e-6, "volume", "harm", bad=True),
        Outcome("shore water taken " * 9, 1.101),
    ),
    expectations=(
        Expectation("fill reaches filled", True, "at 0:09:12"),
        Expectation("belly never over its overflow " * 6, False),
    ),
    story=STORY,
)


@pytest.mark.parametrize("width", [40, 80, 100])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    """On the small screen at the hose a broken line hides the figure."""
    assert max(map(len, account_lines(ACCOUNT, width))) <= width


def test_harms_and_broken_expectations_are_marked_without_colour() -> None:
    """Piped into a file there is no red; the mark must be in the text."""
    lines = account_lines(ACCOUNT, 80)
    assert any("! belly runs out" in line for line in lines)
    assert any(re.match(r"  ! +0.84 L", line) for line in lines)
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


def test_what_comes_again_and_again_is_told_once() -> None:
    """A sender that drops out 119 times an hour leaves room on the screen for nothing else."""
    flicker = [Sentence(60_000 * i, "level grows old.", MAIN) for i in range(90)]
    thrice = [Sentence(60_000 * i + 500, "the pump runs dry.", ALARM) for i in range(3)]
    told = happenings(sorted([*flicker, *thrice], key=lambda s: s.now_ms), 80)
    assert [line.split(maxsplit=1)[1].strip("! ") for line in told] == [
        "level grows old. (90 times, the last at 1:29:00)",
        "the pump runs dry.",
        "the pump runs dry.",
        "the pump runs dry.",
    ]


def test_harms_are_the_first_line() -> None:
    """A person at the hose reads the first line and turns round."""
    for lines in (account_lines(ACCOUNT, 80), brief_lines(ACCOUNT, 80)):
        assert lines[0] == "  Harm: left by the overflow of belly (0.84 L)."
    assert account_lines(account(outcomes=()), 80)[0].startswith("  No harm: ")


def test_levels_are_a_table_where_it_fits_and_sentences_where_not() -> None:
    """Columns broken over two lines put the figure of one tank under the name of another."""
    found = (Level("belly", 0.035, 0.0134, 0.1136, 0.0359), Level("loft", 0.009, 0.009, 0.0318, 0.0280))
    assert levels(found, 80) == [
        "    [L]      at first    at least     at most  at the end",
        "    belly        35.0        13.4         114        35.9",
        "    loft         9.00        9.00        31.8        28.0",
    ]
    assert levels(found[:1], 40) == ["    belly: 35.0 L at first, 13.4 to", "    114 L, 35.9 L at the end"]
    assert levels(found[:1], 80, "us")[1].split() == ["belly", "9.25", "3.54", "30.0", "9.48"]


def test_the_short_account_keeps_what_was_broken() -> None:
    """A demo that hides its broken expectation is an advertisement."""
    lines = "\n".join(brief_lines(ACCOUNT, 80))
    assert "BROKEN" in lines
    assert "kept" not in lines


def test_the_seed_stands_in_the_account() -> None:
    """A run that went wrong in the night is played again by its seed, if somebody can read it."""
    lines = account_lines(ACCOUNT, 80)
    assert f"{duration(1000 * ACCOUNT.played.seconds)} simulated with seed {ACCOUNT.played.seed}" in map(
        str.strip, lines
    )
