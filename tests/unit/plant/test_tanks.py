"""Tables of volume and surface against the shapes themselves."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from ullage.plant import layout as at
from ullage.plant.tanks import depth_of
from ullage.plant.works import works_of
from ullage.plant.world import world_of
from ullage.rig import shapes
from ullage.rig.model import Rig, Slope

SHAPES = {
    "box": {"box": {"length": "1 m", "width": "0.5 m", "height": "0.3 m"}},
    "round": {"box": {"length": "1 m", "width": "0.5 m", "height": "0.3 m", "corner": "80 mm"}},
    "upright": {"upright": {"diameter": "0.5 m", "height": "0.6 m"}},
    "lying": {"lying": {"diameter": "0.4 m", "length": "0.9 m"}},
    "strapped": {"strapping": {"table": [["0 m", "0 L"], ["0.1 m", "20 L"], ["0.3 m", "90 L"]]}},
}
STANDS = (Slope(), Slope.model_construct(ahead=0.05, across=-0.03))


def rig() -> Rig:
    """A rig with one tank of each shape."""
    tank = {
        "holds": "potable",
        "floor_at": {"x": "1 m", "y": "0.2 m", "z": "0.5 m"},
        "openings": {"low": {"at": "0 m"}},
    }
    return Rig.model_validate({"rig": "shapes", "tanks": {name: {**tank, "shape": s} for name, s in SHAPES.items()}})


WORLD = world_of(works_of(rig(), (), STANDS))


@given(part=some.floats(0.0, 1.0), tank=some.integers(0, len(SHAPES) - 1), stand=some.integers(0, 1))
def test_depth_gives_back_the_volume(part: float, tank: int, stand: int) -> None:
    """A surface that is wrong by a little is a level that stops the fill too late."""
    shape = list(rig().tanks.values())[tank].shape
    wanted = part * shapes.whole(shape)
    run = tank * len(STANDS) + stand
    n, r = WORLD.n, WORLD.r
    ahead, across = r[n[at.AHEAD] + run], r[n[at.ACROSS] + run]
    depth = depth_of(n, r, run, wanted)
    assert shapes.volume(shape, depth, ahead, across) == pytest.approx(wanted, abs=2e-4 * shapes.whole(shape))
