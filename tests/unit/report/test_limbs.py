"""Which limb of a condition opened a transition: by its times, and no further than they tell."""

from __future__ import annotations

import pytest

from ullage.report.limbs import acted, limbs

FILLED = "(drum_level >= target) or drum_float or (since step 45 min)"
MINUTE_MS = 60_000


def test_limbs_are_those_of_the_outermost_level() -> None:
    """A limb torn out of its parentheses says something else."""
    assert limbs(FILLED) == ["(drum_level >= target)", "drum_float", "(since step 45 min)"]
    assert limbs("((a or b) and c) or (d held 3 s)") == ["((a or b) and c)", "(d held 3 s)"]
    assert limbs("since step 5 min") == ["since step 5 min"]


@pytest.mark.parametrize(
    ("active_ms", "told", "late"),
    [
        (20 * MINUTE_MS, "(drum_level >= target) or drum_float", False),  # the time was not over: it was not that
        (45 * MINUTE_MS, "(since step 45 min)", True),
        (45 * MINUTE_MS + 500, "(since step 45 min)", True),
        (60 * MINUTE_MS, FILLED, False),  # it was held meanwhile: nothing is known of its clock
    ],
)
def test_a_time_out_is_told_from_the_rest(active_ms: int, told: str, late: bool) -> None:
    """A fill that gave up after 45 minutes and one that reached its target must not read the same."""
    assert acted(FILLED, active_ms, 500) == (told, late)


def test_a_timed_step_is_no_time_out() -> None:
    """A rinse of five minutes that ends after five minutes is as it should be."""
    assert acted("since step 5 min", 5 * MINUTE_MS, 500) == ("since step 5 min", False)
