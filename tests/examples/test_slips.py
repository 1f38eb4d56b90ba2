"""The slips of docs/how-to/mend-what-the-check-finds.md, made in the tutorial's rig one by one."""

from __future__ import annotations

import re

import pytest

from tests.examples.sessions import ROOT, blocks
from ullage.control.check import examine

TEASEL = "".join(b.text for b in blocks(ROOT / "docs/tutorial.md") if b.name == "teasel.yaml")
PAGE = (ROOT / "docs/how-to/mend-what-the-check-finds.md").read_text("utf8")
ROWS = re.findall(r"^\| `(.+?)`(?: and nothing after it)? \| `([A-Z]\d{3})`.* \| (`.+`) \|$", PAGE, re.MULTILINE)


def codes(text: str) -> set[str]:
    return {finding.code for finding in examine(text, "teasel.yaml").findings}


@pytest.mark.parametrize(("wrong", "code", "right"), ROWS, ids=[f"{code} {wrong[:20]}" for wrong, code, _ in ROWS])
def test_a_slip_is_answered_as_the_page_says_and_mended_as_it_says(wrong: str, code: str, right: str) -> None:
    """A remedy that does not mend sends a newcomer away for good."""
    parts = re.findall(r"`([^`]+)`", right)
    lines = TEASEL.splitlines(keepends=True)
    if len(parts) == 2:  # one line is there, the next is missing
        assert wrong == parts[0]
        (gone,) = (line for line in lines if parts[1] in line)
        spoilt = TEASEL.replace(gone, "")
    else:
        assert TEASEL.count(right.strip("`")) == 1, right
        spoilt = TEASEL.replace(right.strip("`"), wrong)
    assert spoilt != TEASEL
    assert code in codes(spoilt)


def test_the_rig_of_the_tutorial_is_sound_and_every_row_is_tried() -> None:
    """A row that the test cannot read is a row that nobody has tried."""
    assert codes(TEASEL) == set()
    assert len(ROWS) == len(re.findall(r"^\| `", PAGE, re.MULTILINE)) > 20
