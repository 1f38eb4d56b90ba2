"""The subset that both plain Python and the compiler can run."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.sources import Function, Source, package

ALLOWED = {"abs", "bool", "float", "int", "len", "max", "min", "range"}
"""Built-in functions that mean the same in both."""

REFUSED = (ast.Dict, ast.DictComp, ast.GeneratorExp, ast.JoinedStr, ast.Lambda, ast.ListComp, ast.Raise, ast.Set)
REFUSED += (ast.SetComp, ast.Try, ast.With, ast.Yield, ast.List, ast.Global, ast.Nonlocal, ast.Await)


def kernels(source: Source) -> list[Function]:
    """The functions of a file marked with ``@kernel``."""
    return [
        node
        for node in source.tree.body
        if isinstance(node, ast.FunctionDef) and any(getattr(d, "id", "") == "kernel" for d in node.decorator_list)
    ]


def imported(source: Source) -> dict[str, str]:
    """Names that a file imports, with the module they come from."""
    return {
        alias.asname or alias.name: node.module or ""
        for node in ast.walk(source.tree)
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }


def faults(source: Source, function: Function, known: set[str]) -> Iterator[str]:
    """What in a kernel one of the two ways cannot run, or would run otherwise."""
    came_from = imported(source)
    named_tuples = {
        node.name
        for node in source.tree.body
        if isinstance(node, ast.ClassDef) and any(getattr(base, "id", "") == "NamedTuple" for base in node.bases)
    }
    for statement in function.body:
        for node in ast.walk(statement):
            if isinstance(node, REFUSED):
                yield f"{source.at(node)} {function.name}: {type(node).__name__}"
            if not isinstance(node, ast.Call):
                continue
            if not isinstance(node.func, ast.Name):
                yield f"{source.at(node)} {function.name}: calls {ast.unparse(node.func)}"
                continue
            name = node.func.id
            fine = name in ALLOWED or name in known or name in named_tuples or came_from.get(name) == "math"
            if not fine:
                yield f"{source.at(node)} {function.name}: calls {name}"


def test_kernels_keep_to_the_subset() -> None:
    """What only one of the two can run makes the check and the simulation two different laws."""
    found = [(source, function) for source in package() for function in kernels(source)]
    assert found
    known = {function.name for _, function in found}
    assert not [fault for source, function in found for fault in faults(source, function, known)]


def test_the_look_out_for_kernels_sees() -> None:
    """It has to be able to fail."""
    text = "from math import sqrt\n@kernel\ndef k(a):\n    b = [1]\n    a.append(sqrt(2))\n    return abs(g(b))\n"
    source = Source(Path("src/ullage/plant/x.py"), text, ast.parse(text))
    (function,) = kernels(source)
    assert len(list(faults(source, function, set()))) == 3
