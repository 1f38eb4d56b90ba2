"""How much of the long counts was run is told at the end, by one process and by several."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.house.sources import ROOT

COUNTED = "tests/unit/hydraulics/test_elimination.py"


@pytest.mark.parametrize("workers", ["0", "1"])
def test_a_green_run_says_its_share(workers: str) -> None:
    """A share taken for the whole is trust in what nobody tried."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")}
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-n", workers, COUNTED]
    result = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stdout + result.stderr
    count = "500" if os.environ.get("ULLAGE_NIGHT") == "1" else "50"
    lines = [line.split() for line in result.stdout.splitlines() if "unit/hydraulics/test_elimination.py:" in line]
    assert [line[:3] for line in lines] == [[count, "of", "500"]]
