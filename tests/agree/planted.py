"""Bugs planted in the proof, each with the test that has to catch it.

A proof is no better than the tests that would notice if it were wrong. Each bug in `planted.toml` is
a slip that a person could make: a scan that is forgotten, a box that is joined wrongly, a fault that is
lost. ``python -m tests.agree.planted`` writes the table of them.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
LIST, TABLE = (Path(__file__).with_name(f"planted.{kind}") for kind in ("toml", "md"))

TIME_LIMIT = 120
"""A test that runs longer than this has caught nothing [s]."""

HEAD = """# Bugs planted in the proof

Each line is a slip that somebody could make in the proof, and the test that fails when it is made. All are planted,
one by one, by `./run night`, a few of them by `./run test`. The bugs stand in [planted.toml](planted.toml), and
`python -m tests.agree.planted` makes this table of them.

| bug | in | caught by |
| --- | --- | --- |
"""


@dataclass(frozen=True, slots=True)
class Planted:
    """A bug.

    Attributes
    ----------
    module : str
        Dotted name in the package.
    what : str
        What is wrong, in words.
    old, new : str
        Text that stands once in the module, and what takes its place.
    test : str
        The test that catches it, from the root of the checkout.
    """

    module: str
    what: str
    old: str
    new: str
    test: str

    @property
    def file(self) -> Path:
        """Where the module stands."""
        return ROOT / "src" / "ullage" / f"{self.module.replace('.', '/')}.py"

    def changed(self) -> str:
        """The text of the module with the bug in it."""
        text = self.file.read_text("utf8")
        assert text.count(self.old) == 1, f"{self.module} has {text.count(self.old)} times {self.old!r}"
        return text.replace(self.old, self.new)


PLANTED = [Planted(**bug) for bug in tomllib.loads(LIST.read_text("utf8"))["bug"]]
"""All of them."""


def run(module: str, text: str, test: str, room: Path) -> subprocess.CompletedProcess[str]:
    """Run a test with another text in the place of a module, in a process and a directory of its own."""
    file = room / f"{module.rpartition('.')[2]}.py"
    file.write_text(text, "utf8")
    settings = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "ULLAGE_"))}
    settings |= {"PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}", "ULLAGE_PLANTED": f"ullage.{module}={file}"}
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-p", "tests.agree.planting", test]
    return subprocess.run(
        command, cwd=ROOT, env=settings, capture_output=True, text=True, check=False, timeout=TIME_LIMIT
    )


def table() -> str:
    """The table of all bugs."""
    return HEAD + "".join(f"| {bug.what} | `{bug.module}` | {_told(bug.test)} |\n" for bug in PLANTED)


def _told(test: str) -> str:
    """A test as words: its file and its name."""
    file, _, name = test.partition("::")
    return f"`{file.removeprefix('tests/')}`: {name.removeprefix('test_').replace('_', ' ').partition('[')[0]}"


if __name__ == "__main__":
    TABLE.write_text(table(), "utf8")
