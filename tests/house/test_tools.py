"""Lint, formatting and types, so that what lands is what `./run check` passes."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.house.sources import ROOT

TOOLS = {
    "lint": ("ruff", "check", "--no-cache"),
    "formatting": ("ruff", "format", "--check", "--no-cache"),
    "types": ("mypy",),
}


@pytest.mark.parametrize("name", list(TOOLS))
def test_tool_is_content(name: str) -> None:
    """A type hole or an unused import is where the next mistake hides."""
    command = [sys.executable, "-m", *TOOLS[name]]
    result = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stdout + result.stderr
