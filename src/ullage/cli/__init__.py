"""The command line: one file per verb, all of them gathered in `app`, how they speak in `speak`."""

from __future__ import annotations

import gc

GARBAGE_LIMIT = 100_000
"""New objects before Python looks for garbage: at its own 700, a check spends a tenth of its time looking."""


def main() -> None:
    """Run one verb and leave with its exit code."""
    gc.set_threshold(GARBAGE_LIMIT)
    from ullage.cli.app import run

    run()
