"""What is written is used: a function that only its tests call is weight that everybody carries."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

from tests.house.sources import Function, Source, package

FOR_OTHERS = {
    "enthalpy": "holds the derivative by temperature, which sound and viscosity need, to a published table",
    "saturation_temperature": "the inverse that holds `vapour_pressure` to its table",
    "simulate_many": "many seeds at once: for those who write a program with the package",
}
"""Public functions and classes that nothing in the package names, and why they are there."""


def unused(sources: tuple[Source, ...]) -> set[str]:
    """Public functions and classes of modules that no code of the package names beside their definition."""
    given = {
        node.name
        for source in sources
        for node in source.tree.body
        if isinstance(node, ast.ClassDef | Function) and not node.name.startswith("_")
    }
    named: Counter[str] = Counter()
    for source in sources:
        for node in ast.walk(source.tree):
            if isinstance(node, ast.Name):
                named[node.id] += 1
            elif isinstance(node, ast.Attribute):
                named[node.attr] += 1
    scripts = {"main"}  # what pyproject.toml starts
    return {name for name in given if not named[name]} - scripts


def test_everything_public_is_used() -> None:
    """Code that nothing calls is read, typed and translated for years, and wrong when somebody calls it."""
    assert unused(package()) == set(FOR_OTHERS)


def test_the_look_out_for_the_unused_sees() -> None:
    """It has to be able to fail."""
    text = "def told() -> int:\n    return 1\n\n\ndef mute() -> int:\n    return told()\n"
    assert unused((Source(Path("src/ullage/x.py"), text, ast.parse(text)),)) == {"mute"}
