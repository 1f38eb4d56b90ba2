"""How much of the long counts a run does: a stated share in ``./run test``, all in ``./run night``."""

from __future__ import annotations

import os


def share(full: int, in_test: int) -> int:
    """The count to run, printed so that no one mistakes a share for the whole.

    Parameters
    ----------
    full : int
        Count of ``./run night``.
    in_test : int
        Count of ``./run test``.
    """
    count = full if os.environ.get("ULLAGE_NIGHT") == "1" else in_test
    print(f"running {count:,} of {full:,}")
    return count
