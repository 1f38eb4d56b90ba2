"""Examples in documents: which there are, and whether what they print is what they promise.

In a document a fenced block is an example when its language is one of

- ``yaml NAME.yaml``: what a file of that name says from there on; a second block adds to it;
- ``console``: lines that begin with ``$`` are commands, the others what they print;
- ``python``: a session of the interpreter.

All other blocks are fragments. A line ``...`` stands for any lines, ``...`` within one for any text.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
WIDTH = "100"
_FENCE = re.compile(r"^```(\w+)(?: +(\S+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Block:
    """A fenced block: its language, its file name ("" for none) and its text."""

    language: str
    name: str
    text: str
    line: int


def blocks(path: Path) -> list[Block]:
    """The fenced blocks of a document."""
    text = path.read_text("utf8")
    return [Block(m[1], m[2] or "", m[3], text.count("\n", 0, m.start()) + 1) for m in _FENCE.finditer(text)]


def steps(block: Block) -> list[tuple[str, str]]:
    """Commands of a console block, each with what it is said to print."""
    parts = re.split(r"^\$ (.*)\n?", block.text, flags=re.MULTILINE)
    assert not parts[0].strip(), f"line {block.line}: output without a command"
    return list(zip(parts[1::2], parts[2::2], strict=True))


def prepare(directory: Path) -> None:
    """Put the rigs and scenarios of examples/ into a directory."""
    shutil.copytree(ROOT / "examples", directory / "examples")


def write(block: Block, directory: Path) -> None:
    """Write a named block to its file, behind what earlier blocks have written."""
    with (directory / block.name).open("a", encoding="utf8") as file:
        file.write(block.text)


ONCE = "The model is compiled for this machine"
"""What only the very first run on a machine says."""


def run(command: str, directory: Path) -> str:
    """Run one command of a document; what it prints, errors too."""
    words = shlex.split(command)
    shown_code = words[-2:] == ["echo", "$?"]
    words = words[:-2] if shown_code else words
    if shown_code:
        words[-1] = words[-1].rstrip(";")
        words = [word for word in words if word]
    here = directory
    if words[0] == "ullage":
        words = [sys.executable, "-m", "ullage.cli", *words[1:]]
    elif words[0] == "./run":
        words, here = [sys.executable, str(ROOT / "run"), *words[1:]], ROOT
    else:
        assert words[0] in {"ls", "cat"}, f"a document may not run '{words[0]}'"
    settings = {**os.environ, "COLUMNS": WIDTH, "NO_COLOR": "1", "TERM": "dumb"}
    result = subprocess.run(
        words, cwd=here, env=settings, text=True, stdin=subprocess.DEVNULL, stdout=-1, stderr=-2, check=False
    )
    printed = "".join(line for line in result.stdout.splitlines(keepends=True) if not line.startswith(ONCE))
    return printed + (f"{result.returncode}\n" if shown_code else "")


def matches(promised: str, printed: str) -> bool:
    """Whether a print is as promised: ``...`` on a line of its own is any lines, else any text."""
    pattern = ""
    for line in promised.rstrip().splitlines():
        if line.strip() == "...":
            pattern += r"(?:.*\n)*?"
        else:
            pattern += r".*?".join(re.escape(part.rstrip()) for part in line.rstrip().split("...")) + r"[ \t]*\n"
    return re.fullmatch(pattern, printed.rstrip() + "\n" if printed.strip() else "") is not None
