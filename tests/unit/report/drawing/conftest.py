"""The four example rigs, and all their drawings, each drawn once."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import product
from pathlib import Path

import pytest

from ullage.control.check import examine
from ullage.report.drawing.scene import Drawing
from ullage.report.drawing.sheet import SheetName
from ullage.report.drawing.views import VIEWS, ViewName, composed
from ullage.rig.model import Rig

RIGS = ("marram", "crumb", "turnstone", "bothy")
SHEETS: tuple[SheetName, ...] = ("a4", "phone", "handset")
ALL = list(product(RIGS, VIEWS, SHEETS))

Draw = Callable[[str, ViewName, SheetName], Drawing]


@cache
def example(name: str) -> Rig:
    """One of the example rigs."""
    path = Path(__file__).parents[4] / "examples" / "rigs" / f"{name}.yaml"
    rig = examine(path.read_bytes(), path.name).rig
    assert rig is not None
    return rig


@cache
def drawing_of(name: str, view: ViewName, sheet: SheetName) -> Drawing:
    """A drawing of one of them."""
    return composed(example(name), view, sheet)


@pytest.fixture(scope="session")
def drawn() -> Draw:
    return drawing_of
