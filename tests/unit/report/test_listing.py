"""Findings as text."""

from __future__ import annotations

import re

import pytest

from ullage.findings import FINDINGS_LIMIT, Finding, Place, catalogue
from ullage.report.listing import count_line, counted, document, listing

SOURCE = "rig: Marram\n" + "tanks: {belly: {holds: potable, " + "x: 1, " * 60 + "vent: none}}\n  täuschung: ßß\n"

CODE = next(code for code, entry in catalogue().items() if entry.level == "fault")


def finding(line: int, column: int, **other: str) -> Finding:
    return Finding(CODE, Place("marram.yaml", line, column), other.pop("what", "the tank has no vent"), **other)


@pytest.mark.parametrize("width", [40, 60, 80, 100])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    """A broken line hides the caret, and with it the place of the fault."""
    found = [finding(2, column, what="long " * 40, expected="other " * 30) for column in (1, 15, 60, 200, 400)]
    lines = listing(found, SOURCE, width)
    assert lines
    assert max(map(len, lines)) <= width


def test_the_caret_stands_below_the_column_of_the_finding() -> None:
    """A caret beside the fault makes a person mend the wrong thing."""
    for column in (1, 8, 33, 34, 100, 397, 398):
        lines = listing([finding(2, column)], SOURCE, 80)
        caret = lines[2].index("^")
        assert lines[1][caret] == SOURCE.splitlines()[1][column - 1]


def test_a_tab_or_a_control_character_moves_nothing_and_commands_nothing() -> None:
    """An escape sequence in a rig file must not reach the terminal of the one who checks it."""
    source = "a:\t\x1b[31mred: \x07 b\n"
    lines = listing([finding(1, 10, what="\x1b[2J cleared")], source, 80)
    assert all(c.isprintable() for line in lines for c in line)


def test_findings_of_one_place_share_their_heading() -> None:
    """The same line of the file printed ten times hides the eleventh."""
    lines = listing([finding(1, 1, what="one"), finding(1, 1, what="two")], SOURCE, 80)
    assert sum(line.startswith("marram.yaml:1:1") for line in lines) == 1


def test_every_part_of_a_finding_is_said() -> None:
    """Without the remedy a person knows that it is wrong and not what to do."""
    text = "\n".join(listing([finding(1, 1, expected="a vent", near="belly")], SOURCE, 80))
    assert "the tank has no vent" in text
    assert "a vent" in text
    assert "did you mean 'belly'?" in text
    assert CODE in text
    assert "fault" in text
    assert " ".join(catalogue()[CODE].remedy.split())[:30] in " ".join(text.split())


def test_an_accepted_caution_comes_last_with_its_reason() -> None:
    """A caution that somebody accepted must stay in sight, but not in the way."""
    lines = listing([finding(1, 1, accepted="the tank is open at the top"), finding(2, 1)], SOURCE, 80)
    text = "\n".join(lines)
    assert text.index("accepted by a person") > text.index("marram.yaml:2:1")
    assert "the tank is open at the top" in text


def test_more_findings_than_the_limit_are_counted_not_hidden() -> None:
    """Whoever believes that he has seen all of them stops looking."""
    found = [finding(i + 1, 1) for i in range(FINDINGS_LIMIT + 7)]
    assert "7 more are not shown" in "\n".join(listing(found, SOURCE, 80))


def test_a_place_beyond_the_file_or_none_at_all_is_no_obstacle() -> None:
    """A finding about what is missing has no line; it must still be told."""
    for place in ((0, 0), (99, 1), (1, 0), (1, 999)):
        assert any("no vent" in line for line in listing([finding(*place)], SOURCE, 80))


def test_counts_agree_with_the_findings() -> None:
    """A wrong count lets a fault pass for a caution."""
    assert count_line([]) == "nothing to mend"
    assert count_line([finding(1, 1), finding(2, 1)]) == "2 faults"
    assert count_line([finding(1, 1, accepted="it is a bucket")]) == "nothing to mend (1 caution accepted)"
    assert [counted(n, "switch") for n in (0, 1, 2)] == ["0 switches", "1 switch", "2 switches"]


def test_colour_is_an_extra_and_never_the_only_sign() -> None:
    """One person in twelve does not see red; the words must carry all of it."""
    found = [finding(1, 1), finding(2, 5, accepted="there is a reason")]
    coloured = listing(found, SOURCE, 80, lambda text, kind: f"\x1b[31m{text}\x1b[0m")
    assert [re.sub(r"\x1b\[\d+m", "", line) for line in coloured] == listing(found, SOURCE, 80)


def test_json_holds_the_same_as_the_text() -> None:
    """A program that reads the JSON must not know less than a person."""
    made = document(finding(3, 4, expected="e", near="n", on="belly", accepted="a"))
    assert made["line"] == 3
    assert made["column"] == 4
    assert (made["expected"], made["near"], made["on"], made["accepted"]) == ("e", "n", "belly", "a")
    assert set(made) == {
        "code", "level", "title", "file", "line", "column", "what", "expected", "near", "on", "accepted", "remedy",
    }  # fmt: skip
