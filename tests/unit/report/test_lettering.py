"""Text in a terminal."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from ullage.report.lettering import glued, hung


@given(st.lists(st.sampled_from(["a", "tank", "40.1 L", "12 min", "3 % of it", "overflows"]), max_size=30))
def test_no_line_breaks_between_a_number_and_its_unit(words: list[str]) -> None:
    """'left 250' on one line and 'L' on the next is read as something else on a screen of forty columns."""
    lines = hung("  kept ", " ".join(words), 40)
    assert all(len(line) <= 40 for line in lines)
    assert not [line for line in lines[1:] if line.split() and line.split()[0] in ("L", "min", "%")]
    assert " ".join(" ".join(lines).split()) == " ".join(["kept", *" ".join(words).split()])


def test_only_units_are_held_to_their_number() -> None:
    """Whole sentences glued together by their numbers would leave the screen."""
    assert glued("2 of 6 at 45 min, 3 starts, 1.5 L/min", "_") == "2 of 6 at 45_min, 3 starts, 1.5_L/min"
