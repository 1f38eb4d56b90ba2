"""`ullage check` of the demo rig from process start, beside what a Python process costs anyway.

A person who checks a rig after every line they write waits for all of it, so whole processes
are timed, in turn: an empty one, the imports that a check cannot do without, `ullage explain`,
and the check itself. Python may keep its compiled modules, as it does for a person: where the
environment forbids that (PYTHONDONTWRITEBYTECODE) everything is compiled again at each start,
which nearly doubles the time.

Run: ``python -m bench.check``.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from bench.measure import at_most, side_by_side

ROOT = Path(__file__).parent.parent
RIG = ROOT / "examples" / "rigs" / "marram.yaml"
GOAL_S = 0.7
RUNS = 15


def process(*arguments: str) -> Callable[[], object]:
    """One whole Python process; a failed one ends the bench."""
    command = [sys.executable, *arguments]
    settings = dict(os.environ, PYTHONPATH=str(ROOT / "src"))
    settings.pop("PYTHONDONTWRITEBYTECODE", None)

    def run() -> object:
        return subprocess.run(command, env=settings, check=True, stdout=subprocess.DEVNULL, cwd=ROOT)

    return run


def main() -> int:
    """Print the times; 1 when the goal is missed."""
    works = {
        "python, nothing": process("-c", "pass"),
        "import typer": process("-c", "import typer"),
        "import pydantic models": process("-c", "import ullage.rig.model"),
        "import the whole check": process("-c", "import ullage.control.check"),
        "ullage explain P301": process("-m", "ullage.cli", "explain", "P301"),
        "ullage check marram.yaml": process("-m", "ullage.cli", "check", str(RIG)),
    }
    times = side_by_side(works, RUNS)
    empty = times["python, nothing"].median
    for name, timing in times.items():
        print(f"{name:26} {timing}; {timing.median / empty:.1f} times an empty process")
    return 0 if at_most("ullage check, whole process", times["ullage check marram.yaml"].median, GOAL_S) else 1


if __name__ == "__main__":
    sys.exit(main())
