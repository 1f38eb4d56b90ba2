"""The command line: one file per verb, all of them gathered in `app`, how they speak in `speak`."""

from __future__ import annotations


def main() -> None:
    """Run one verb and leave with its exit code."""
    from ullage.cli.app import run

    run()
