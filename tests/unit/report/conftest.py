"""The demo rig, read and compiled once for all tests of the report."""

from __future__ import annotations

from pathlib import Path

import pytest

from ullage.control.check import Examined, examine
from ullage.plant.faults import read_fault
from ullage.report.words import Names

MARRAM = Path(__file__).parents[3] / "examples" / "rigs" / "marram.yaml"


@pytest.fixture(scope="session")
def marram() -> Examined:
    examined = examine(MARRAM.read_bytes(), "marram.yaml")
    assert examined.program is not None
    return examined


@pytest.fixture(scope="session")
def names(marram: Examined) -> Names:
    assert marram.rig is not None
    assert marram.program is not None
    fault = read_fault(marram.rig, "belly_level stuck from 5 min")
    return Names(marram.rig, marram.program, (fault,), ("level",))
