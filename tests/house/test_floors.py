"""The floors: imports go down, and the still floors are still."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.sources import LIGHT, ROOT, Source, functions, package, still

HEAVY = {"fluids", "matplotlib", "numba", "numpy", "pint", "rich", "scipy", "typer"}
"""Each takes longer to import than a check of a rig may take in all."""

UNSTILL_CALLS = {"breakpoint", "eval", "exec", "hash", "id", "input", "open", "print"}
"""Disk, person, or a number that is another one in the next process."""

UNSTILL_METHODS = {"mkdir", "open", "touch", "unlink", "write", "write_bytes", "write_text", "savefig"}

ORDER_FREE = {"Counter", "all", "any", "frozenset", "len", "max", "min", "set", "sorted"}
"""What may take a set, since the order in which it comes does not matter."""


def test_imports_only_go_down() -> None:
    """An import upwards would let a wire or a clock reach the law."""
    command = [sys.executable, "-c", "from importlinter.cli import lint_imports_command as main; main()"]
    result = subprocess.run([*command, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stdout + result.stderr
    assert "0 broken" in result.stdout


def unstill(source: Source) -> Iterator[str]:
    """What in a file touches disk, person or chance."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in UNSTILL_CALLS:
            yield f"{source.at(node)} calls {node.func.id}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in UNSTILL_METHODS:
            yield f"{source.at(node)} calls .{node.func.attr}"
        if isinstance(node, ast.Attribute) and node.attr == "random":
            yield f"{source.at(node)} uses .random"
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("numpy.random"):
            yield f"{source.at(node)} imports numpy.random"


def test_still_floors_touch_no_disk_and_no_chance() -> None:
    """A law that reads a file or rolls dice decides otherwise at the desk than on the road."""
    assert not [fault for source in still() for fault in unstill(source)]


def heavy_at_top(source: Source) -> Iterator[str]:
    """Imports of slow libraries that are run as soon as the module is imported."""
    for node in source.tree.body:
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        for name in names:
            if name.split(".")[0] in HEAVY:
                yield f"{source.at(node)} imports {name}"


def test_a_check_imports_nothing_heavy() -> None:
    """Where a check takes seconds, people stop checking."""
    assert not [fault for source in package() if source.floor in LIGHT for fault in heavy_at_top(source)]


def is_set(node: ast.AST, sets: set[str]) -> bool:
    """Whether an expression is plainly a set; ``sets`` are names known to hold one."""
    if isinstance(node, ast.Set | ast.SetComp):
        return True
    if isinstance(node, ast.Name):
        return node.id in sets
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        return node.func.id in {"set", "frozenset"}
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.BitOr | ast.BitAnd | ast.Sub | ast.BitXor):
        return is_set(node.left, sets) or is_set(node.right, sets)
    return False


def set_names(scope: ast.AST) -> set[str]:
    """Names that a function (or module) gives a set."""
    found: set[str] = set()
    for node in ast.walk(scope):
        if isinstance(node, ast.Assign) and is_set(node.value, found):
            found |= {target.id for target in node.targets if isinstance(target, ast.Name)}
        if isinstance(node, ast.AnnAssign | ast.arg) and node.annotation is not None:
            name = node.arg if isinstance(node, ast.arg) else getattr(node.target, "id", "")
            if ast.unparse(node.annotation).split("[")[0] in {"set", "frozenset", "Set", "AbstractSet"}:
                found.add(name)
    return found


def walks_over_sets(source: Source) -> Iterator[str]:
    """Places that take the members of a set one after another in no stated order."""
    for name, function in functions(source.tree):
        sets = set_names(function)
        harmless = {
            id(argument)
            for node in ast.walk(function)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ORDER_FREE
            for argument in node.args
        }
        for node in ast.walk(function):
            iterated: list[ast.AST] = []
            if isinstance(node, ast.For):
                iterated = [node.iter]
            elif isinstance(node, ast.ListComp | ast.GeneratorExp | ast.DictComp) and id(node) not in harmless:
                iterated = [generator.iter for generator in node.generators]
            elif isinstance(node, ast.Call) and getattr(node.func, "id", getattr(node.func, "attr", "")) in {
                "list",
                "tuple",
                "enumerate",
                "iter",
                "zip",
                "map",
                "join",
                "fromkeys",
            }:
                iterated = list(node.args)
            yield from (f"{source.at(node)} {name} walks over a set" for part in iterated if is_set(part, sets))


def test_nothing_walks_over_a_set() -> None:
    """The order of a set of names is another one in the next process, and so would be the outcome."""
    assert not [fault for source in still() for fault in walks_over_sets(source)]


@pytest.mark.parametrize(
    ("text", "faulty"),
    [
        ("def f(a):\n    return [x for x in {1, a}]\n", True),
        ("def f(a):\n    b = set(a) | {2}\n    for x in b:\n        print(x)\n", True),
        ("def f(a: set[str]):\n    return ','.join(a)\n", True),
        ("def f(a: set[str]):\n    return sorted(a), len(a), any(x for x in a)\n", False),
        ("def f(a):\n    return {x: 1 for x in sorted(set(a))}\n", False),
    ],
)
def test_the_look_out_for_sets_sees(text: str, faulty: bool) -> None:
    """A look-out that sees nothing would let everything pass."""
    source = Source(Path("src/ullage/plant/x.py"), text, ast.parse(text))
    assert bool(list(walks_over_sets(source))) is faulty


def test_the_look_out_for_stillness_sees() -> None:
    """As above: it has to be able to fail."""
    text = "import numpy as np\n\ndef f(p):\n    np.random.rand()\n    open(p)\n    p.write_text('x')\n"
    source = Source(Path("src/ullage/plant/x.py"), text, ast.parse(text))
    assert len(list(unstill(source))) == 3
    assert len(list(heavy_at_top(source))) == 1
