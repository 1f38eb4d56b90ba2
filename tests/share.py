"""How much of the long counts a run does: a stated share in ``./run test``, all in ``./run night``."""

from __future__ import annotations

import os
import sys
from pathlib import Path

USED: dict[str, tuple[int, int]] = {}
"""Count run and full count by the place that asked; `tests.conftest` prints them when all is over."""


def share(full: int, in_test: int) -> int:
    """The count to run, kept to be printed so that no one mistakes a share for the whole.

    Parameters
    ----------
    full : int
        Count of ``./run night``.
    in_test : int
        Count of ``./run test``.
    """
    count = full if os.environ.get("ULLAGE_NIGHT") == "1" else in_test
    asks = sys._getframe(1)
    place = Path(asks.f_code.co_filename).relative_to(Path(__file__).parent)
    USED[f"{place}:{asks.f_lineno}"] = (count, full)
    return count


def told() -> list[str]:
    """One line for each count that was asked for, in order of place."""
    return [f"{count:>9,} of {full:>9,}  {place}" for place, (count, full) in sorted(USED.items())]
