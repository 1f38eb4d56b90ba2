"""Every form that a table of the documents shows is read: of scenarios, expectations and guards."""

from __future__ import annotations

import re

import pytest

from tests.examples.sessions import ROOT
from ullage.control.check import Examined, examine
from ullage.simulate.scenario import read_scenario

RIGS = ROOT / "examples" / "rigs"


def forms(document: str, heading: str) -> list[str]:
    """What stands in code in the first column of the tables below a heading."""
    text = (ROOT / "docs" / document).read_text("utf8").partition(heading)[2].partition("\n## ")[0]
    tables = (part.strip() for part in text.split("\n\n"))
    rows = [row for table in tables if table.startswith("|") for row in table.splitlines()[2:]]
    return [form for row in rows for form in re.findall(r"`([^`]+)`", row.split("|")[1])]


def rig(name: str) -> Examined:
    found = examine((RIGS / f"{name}.yaml").read_bytes(), f"{name}.yaml")
    assert found.rig is not None
    assert found.law is not None
    return found


def read(scenario: str, name: str) -> list[str]:
    """What is wrong with a scenario on a rig."""
    found = rig(name)
    assert found.rig is not None
    assert found.law is not None
    return [finding.what for finding in read_scenario(scenario, "test.yaml", found.rig, found.law)[1]]


@pytest.mark.parametrize("form", forms("scenarios.md", "## Happenings"))
def test_a_happening_is_read_as_the_table_writes_it(form: str) -> None:
    """A form that is refused as it stands in the manual is taken for one's own mistake."""
    on = "turnstone" if "deck_cock" in form else "marram"
    assert read(f"happenings:\n  - {form}\n", on) == []


@pytest.mark.parametrize("form", forms("scenarios.md", "## Expectations"))
def test_an_expectation_is_read_as_the_table_writes_it(form: str) -> None:
    """An expectation that is not understood is not kept watch over."""
    assert read(f"expect:\n  - {form}\n", "marram") == []


@pytest.mark.parametrize("form", [f for f in forms("guards.md", "# Guards") if not re.search(r"\b(GUARD|[AB])\b", f)])
def test_a_guard_is_read_as_the_table_writes_it(form: str) -> None:
    """A guard copied from the manual must be one."""
    if "*" in form:
        form = f"{form} > 9 L"
    text = (RIGS / "marram.yaml").read_text("utf8")
    arrow = "- filling -> closing when (belly_level >= target) or (belly_float held 1 s)"
    assert text.count(arrow) == 1
    findings = examine(text.replace(arrow, f"- filling -> closing when {form}"), "marram.yaml").findings
    assert [f.what for f in findings if f.code in {"R120", "R121", "R122", "R123", "N200", "S400"}] == []


def test_the_tables_hold_something() -> None:
    """A test over an empty list passes whatever the manual says."""
    assert len(forms("scenarios.md", "## Happenings")) >= 11
    assert len(forms("scenarios.md", "## Expectations")) >= 15
    assert len(forms("guards.md", "# Guards")) >= 12
