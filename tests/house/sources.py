"""The sources as the house tests see them: files, syntax trees, functions and their lengths."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "ullage"

STILL = ("verdict", "simulate", "prove", "emit", "forecast", "plant", "control", "sizing", "gauging", "upkeep")
STILL += ("hydraulics", "electrics", "weights", "rig", "findings", "quantities")
"""Floors without clock, chance, wire or disk (kernels.py is the stated exception: it names its cache)."""

LIGHT = ("sizing", "control", "hydraulics", "rig", "kernels", "findings", "quantities")
"""Floors that a check of a rig walks over, so that nothing slow to import may stand at their top."""

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, slots=True)
class Source:
    """One Python file: its path from the root of the checkout, its text and its tree."""

    path: Path
    text: str
    tree: ast.Module

    @property
    def floor(self) -> str:
        """The package or module directly under ``ullage`` that the file belongs to ("" for the root itself)."""
        inner = self.path.relative_to("src/ullage")
        return "" if inner.name == "__init__.py" and len(inner.parts) == 1 else inner.parts[0].removesuffix(".py")

    def at(self, node: ast.AST) -> str:
        """``file:line`` of a node, for messages."""
        return f"{self.path}:{getattr(node, 'lineno', 1)}"


def tracked() -> list[Path]:
    """All files of the checkout that git knows or would add, sorted, from the root."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return [Path(name) for name in sorted(set(listed.stdout.split("\0")) - {""}) if (ROOT / name).is_file()]


def read(path: Path) -> Source:
    """A Python file with its tree."""
    text = (ROOT / path).read_text("utf8")
    return Source(path, text, ast.parse(text, str(path)))


@cache
def package() -> tuple[Source, ...]:
    """All files of the package."""
    return tuple(read(path.relative_to(ROOT)) for path in sorted(PACKAGE.rglob("*.py")))


def still() -> list[Source]:
    """The files of the still floors."""
    return [source for source in package() if source.floor in STILL]


def functions(tree: ast.Module) -> Iterator[tuple[str, Function]]:
    """All functions of a tree with their dotted names, methods and inner functions too."""

    def walk(node: ast.AST, prefix: str) -> Iterator[tuple[str, Function]]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, Function):
                yield prefix + child.name, child
                yield from walk(child, f"{prefix}{child.name}.")
            elif isinstance(child, ast.ClassDef):
                yield from walk(child, f"{prefix}{child.name}.")
            else:
                yield from walk(child, prefix)

    return walk(tree, "")


def length(function: Function) -> int:
    """Lines of a function without its decorators and docstring."""
    first, last = function.lineno, function.end_lineno or function.lineno
    lines = last - first + 1
    head = function.body[0]
    if isinstance(head, ast.Expr) and isinstance(head.value, ast.Constant) and isinstance(head.value.value, str):
        lines -= (head.end_lineno or head.lineno) - head.lineno + 1
    return lines
