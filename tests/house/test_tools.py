"""Lint, formatting and types, so that what lands is what `./run check` passes."""

from __future__ import annotations

import subprocess
import sys
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader

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


def test_whoever_ran_the_demo_has_a_shell_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A second environment, made for a minute without a word why, is the end of a first try."""
    loader = SourceFileLoader("run", str(ROOT / "run"))
    spec = spec_from_loader("run", loader)
    assert spec is not None
    run = module_from_spec(spec)
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    loader.exec_module(run)
    made: list[str] = []
    monkeypatch.setattr(run, "environment", made.append)
    monkeypatch.setattr(run, "call", lambda *command, **settings: 0)
    for verb in ("demo", "shell", "test"):
        run.VERBS[verb]([])
    assert made == ["run", "run", "work"]
