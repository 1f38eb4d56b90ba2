"""The command line: one file per verb, all of them gathered in `app`, how they speak in `speak`."""

from __future__ import annotations

import os


def main() -> None:
    """Run one verb and leave with its exit code."""
    # Pydantic would look through all installed packages for plugins, which takes longer than to read a rig.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

    from ullage.cli.app import run

    run()
