"""How the command line is called in its tests."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from ullage import cli

ROOT = Path(__file__).parents[3]
MARRAM = ROOT / "examples" / "rigs" / "marram.yaml"


@dataclass(frozen=True)
class Answer:
    """What a call gave back."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """Its standard output as JSON."""
        return json.loads(self.out)


Call = Callable[..., Answer]


@pytest.fixture
def ullage(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Call:
    """Call ``ullage`` in this process."""

    def call(*arguments: object) -> Answer:
        monkeypatch.setattr(sys, "argv", ["ullage", *map(str, arguments)])
        with pytest.raises(SystemExit) as left:
            cli.main()
        out, err = capsys.readouterr()
        code = left.value.code
        return Answer(code if isinstance(code, int) else 0, out, err)

    return call


@pytest.fixture
def process() -> Call:
    """Call ``ullage`` in a process of its own, its output piped; settings by keyword."""

    def call(*arguments: object, **settings: str) -> Answer:
        environment = {**os.environ, "PYTHONPATH": str(ROOT / "src"), **settings}
        command = [sys.executable, "-m", "ullage.cli", *map(str, arguments)]
        done = subprocess.run(command, capture_output=True, env=environment, cwd=ROOT, timeout=120)
        return Answer(done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace"))

    return call


def one_line_with_remedy(text: str) -> None:
    """A misuse is told in one line: what is wrong; what to do."""
    lines = text.strip().splitlines()
    assert len(lines) == 1, text
    assert lines[0].startswith("ullage: ")
    assert "; " in lines[0]
    assert "Traceback" not in text
