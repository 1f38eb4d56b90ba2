"""Every planted bug is caught by the test that is named for it."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from tests.agree.planted import PLANTED, ROOT, TABLE, Planted, run, table
from tests.share import share

LEAST = 60

MODULES = {
    *(f"plant.{name}" for name in ("bands", "bounds", "corners", "gates", "harmed")),
    *(f"prove.{name}" for name in ("answers", "ask", "certificate", "charts", "checker", "explore", "harms", "looks")),
    *(f"prove.{name}" for name in ("nodes", "prover", "question", "quotient", "scope", "search")),
}
"""Where a bug could make a proof say too much."""

DRAWN = random.Random(1).sample(PLANTED, share(len(PLANTED), 4))
"""Those that are planted in this run."""

FAILED, PASSED = 1, 0
"""How pytest ends."""


@pytest.mark.parametrize("bug", DRAWN, ids=lambda bug: bug.what)
def test_a_planted_bug_is_caught(bug: Planted, tmp_path: Path) -> None:
    """A test that passes whatever the proof does holds nothing."""
    result = run(bug.module, bug.changed(), bug.test, tmp_path)
    assert result.returncode == FAILED, result.stdout[-2000:] + result.stderr[-2000:]


@pytest.mark.parametrize(("module", "test"), sorted({(bug.module, bug.test) for bug in DRAWN}))
def test_what_catches_a_bug_passes_without_it(module: str, test: str, tmp_path: Path) -> None:
    """A test that fails anyway has caught nothing."""
    text = next(bug.file for bug in PLANTED if bug.module == module).read_text("utf8")
    result = run(module, text, test, tmp_path)
    assert result.returncode == PASSED, result.stdout[-2000:] + result.stderr[-2000:]


def test_every_bug_can_be_planted() -> None:
    """A bug whose place has moved is not planted any more, and nobody would know."""
    assert len(PLANTED) >= LEAST
    assert {bug.module for bug in PLANTED} == MODULES
    for bug in PLANTED:
        compile(bug.changed(), str(bug.file), "exec")
        assert bug.old != bug.new
        file, _, name = bug.test.partition("::")
        assert f"def {name.partition('[')[0]}(" in (ROOT / file).read_text("utf8"), bug.test
    assert len({(bug.module, bug.old, bug.new) for bug in PLANTED}) == len(PLANTED)
    assert len({bug.what for bug in PLANTED}) == len(PLANTED)


def test_the_table_is_that_of_the_list() -> None:
    """A table that lags behind tells of guards that are gone. Remedy: python -m tests.agree.planted"""
    assert TABLE.read_text("utf8") == table()
    assert len(re.findall(r"^\| ", TABLE.read_text("utf8"), re.MULTILINE)) == len(PLANTED) + 2
