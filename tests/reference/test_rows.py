"""Which rows of the external check values are held by a test: each names its keys in its docstring, name or cases.

Rows left out, and why:

- SEQ-28 (from memory: ISO 10628, ISO 14617, ISA-5.1 drawing): it concerns the drawing of the rig, which is not
  part of the spine; sequence charts follow IEC 61131-3.
- VEH-05 (from memory: load index of tyres): the rig file asks for the load in kg, which a person reads off a table.
- HYD-07 is held, but not its library figure: 462.66 L/min carries the expansibility of a gas (0.971), which
  ISO 5167-2 sets to 1 for a liquid. The test shows the working.
- GEO-01 to GEO-03, GEO-06 and GEO-07 are held by strapping tables, since the rig file has no dished ends.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]

COUNTS = {"HYD": 24, "DRN": 14, "VPN": 17, "WAT": 16, "WHM": 11, "GEO": 12, "SEQ": 28, "ELE": 14, "VEH": 5}
"""Rows of each group; those of status C, L and R, and the few from memory."""

LEFT_OUT = {"SEQ-28", "VEH-05"}

NAMED = re.compile(r"\b([A-Z]{3})-(\d\d)\b(?: to (?:\1-)?(\d\d)\b)?")
IN_NAME = re.compile(r"^test_([a-z]{3})((?:_\d\d)+)")


def keys_in(text: str) -> set[str]:
    """Row keys that a text names, those between "A to B" among them."""
    return {
        f"{group}-{number:02}"
        for group, first, last in NAMED.findall(text)
        for number in range(int(first), int(last or first) + 1)
    }


def keys_of(test: ast.FunctionDef) -> set[str]:
    """Row keys that a test names: in its docstring, the cases it is run with, or its name."""
    found = keys_in(ast.get_docstring(test) or "")
    for decorator in test.decorator_list:
        for part in ast.walk(decorator):
            if isinstance(part, ast.Constant) and isinstance(part.value, str):
                found |= keys_in(part.value)
    name = IN_NAME.match(test.name)
    if name:
        found |= {f"{name[1].upper()}-{number}" for number in name[2].split("_")[1:]}
    return found


def claimed() -> set[str]:
    """Row keys named by any test that asserts something."""
    found: set[str] = set()
    for path in TESTS.rglob("test_*.py"):
        for part in ast.walk(ast.parse(path.read_text("utf8"))):
            if isinstance(part, ast.FunctionDef) and part.name.startswith("test_") and asserts(part):
                found |= keys_of(part)
    return found


def asserts(test: ast.FunctionDef) -> bool:
    """Whether a test asserts, or expects something to be raised."""
    return any(
        isinstance(part, ast.Assert) or (isinstance(part, ast.Attribute) and part.attr == "raises")
        for part in ast.walk(test)
    )


@pytest.mark.parametrize("group", COUNTS)
def test_every_row_is_held_by_a_test(group: str) -> None:
    """A published value that nobody compares with any more is a promise that has quietly lapsed."""
    rows = {f"{group}-{number:02}" for number in range(1, COUNTS[group] + 1)}
    held = {key for key in claimed() if key.startswith(group)}
    assert rows - held == LEFT_OUT & rows
    assert held <= rows, "a test names a row that there is not"


def test_the_reading_of_keys() -> None:
    """A reader of docstrings that finds keys where there are none would hold nothing."""
    assert keys_in("HYD-12, HYD-14 to HYD-16 and WAT-01 to 03.") == {
        "HYD-12", "HYD-14", "HYD-15", "HYD-16", "WAT-01", "WAT-02", "WAT-03",
    }  # fmt: skip
    assert keys_in("PN-10, DN25, ISO-9001") == set()
    test = ast.parse("def test_whm_04_10_slow() -> None:\n    pass").body[0]
    assert isinstance(test, ast.FunctionDef)
    assert keys_of(test) == {"WHM-04", "WHM-10"}
    assert not asserts(test)
