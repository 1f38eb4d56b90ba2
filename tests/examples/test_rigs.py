"""Each rig of examples/ prints beside it what `ullage check` says of it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.examples.sessions import ROOT, WIDTH

RIGS = sorted((ROOT / "examples" / "rigs").glob("*.yaml"))


def said(rig: Path) -> str:
    """What `ullage check` says of a rig, run from the root of the checkout."""
    command = [sys.executable, "-m", "ullage.cli", "check", str(rig.relative_to(ROOT))]
    environment = {**os.environ, "COLUMNS": WIDTH}
    run = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, env=environment, timeout=120, check=False)
    assert run.returncode == 0, run.stderr
    return run.stdout


@pytest.mark.parametrize("rig", RIGS, ids=lambda rig: rig.stem)
def test_a_rig_is_checked_as_the_file_beside_it_says(rig: Path) -> None:
    """An example that no longer passes, or passes with a caution nobody has read, teaches the wrong thing."""
    assert said(rig) == rig.with_suffix(".check.txt").read_text("utf8")


def test_there_are_rigs_of_many_kinds() -> None:
    """A program that is tried on one rig only is built for it."""
    assert {rig.stem for rig in RIGS} >= {"marram", "turnstone", "bothy", "crumb"}
