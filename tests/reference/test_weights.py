"""Weights against closed forms and tables: rows VEH-01 to VEH-04, and centres of contents (GEO-04, GEO-10)."""

from __future__ import annotations

from math import pi

import pytest
from scipy.integrate import quad

from tests.reference.test_geometry import box, lying, upright
from ullage.hydraulics import water
from ullage.quantities import Span
from ullage.rig.burden import Axle, Weight
from ullage.rig.model import Rig, Shape, Strapping
from ullage.rig.shapes import height, volume
from ullage.weights.bearings import Bearings, bearings_of
from ullage.weights.cargo import Item, items_of
from ullage.weights.contents import lift

POUND = 0.45359237
TABLE = Shape(strapping=Strapping.model_construct(table=((0.0, 0.0), (0.1, 0.02), (0.25, 0.08), (0.3, 0.09))))
SHAPES = {"box": box(1.0, 0.5, 0.3, 0.05), "upright": upright(0.6, 0.4), "lying": lying(1.0, 2.0), "table": TABLE}


def loads(front: float, *masses: tuple[float, float]) -> tuple[Bearings, tuple[float, ...]]:
    """The loads of a rig of nothing but masses, each with its place ahead of the rear axle [kg, m]."""
    items = tuple(Item(f"m{at}", x, 0.0, 0.0, Span(0.0, mass)) for at, (mass, x) in enumerate(masses))
    axles = {"front": Axle.model_construct(x=front), "rear": Axle.model_construct(x=0.0)}
    found = bearings_of(Rig.model_construct(axles=axles, weight=Weight()), items)
    assert found is not None
    return found, tuple(mass for mass, _ in masses)


def test_a_load_between_the_axles() -> None:
    """VEH-01: 10,000 lb set 120 in behind the front axle of 150 in: with the arms swapped the front would break."""
    found, state = loads(150 * 0.0254, (10_000 * POUND, 30 * 0.0254))
    assert found.front.of(state) / POUND == pytest.approx(2000, rel=1e-12)
    assert found.rear.of(state) / POUND == pytest.approx(8000, rel=1e-12)


def test_moments_with_a_load_behind_the_rear_axle() -> None:
    """VEH-02: what hangs behind the rear axle takes weight off the front one; with the wrong sign it would add."""
    masses = ((1800, 1.35), (160, 2.05), (250, 0.60), (50, 1.45), (90, -0.60))
    found, state = loads(2.5, *masses)
    assert found.front.of(state) == pytest.approx(2926.50 / 2.5, rel=1e-12)
    assert found.front.of(state) == pytest.approx(1170.6, abs=1e-9)
    assert found.rear.of(state) == pytest.approx(1179.4, abs=1e-9)


@pytest.mark.parametrize(("mass", "x", "front", "rear"), [(100.0, 1.0, 28.571, 71.429), (80.0, -1.2, -27.429, 107.429)])
def test_a_tank_ahead_of_and_behind_the_rear_axle(mass: float, x: float, front: float, rear: float) -> None:
    """VEH-03: a waste tank behind the axle loads it with more than its own weight."""
    found, state = loads(3.5, (mass, x))
    assert found.front.of(state) == pytest.approx(front, abs=5e-4)
    assert found.rear.of(state) == pytest.approx(rear, abs=5e-4)


@pytest.mark.parametrize(("celsius", "kilograms"), [(4.0, 99.9975), (20.0, 99.8207), (60.0, 98.3196)])
def test_water_by_the_litre(celsius: float, kilograms: float) -> None:
    """VEH-04: a hundred litres weighed as warm water are too light by almost two kilograms."""
    text = {
        "rig": "one tank",
        "tanks": {
            "tank": {
                "holds": "potable",
                "shape": {"box": {"length": "1 m", "width": "500 mm", "height": "200 mm"}},
                "floor_at": {},
                "openings": {},
            }
        },
    }
    (item,) = items_of(Rig.model_validate(text), water.density(celsius + 273.15))
    assert item.mass.most == pytest.approx(kilograms, abs=0.01)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("share", [0.1, 0.4, 0.77, 1.0])
def test_the_height_of_a_content(name: str, share: float) -> None:
    """GEO-04: a centre that lies wrong by some centimetres makes a tall rig look safe (integral by scipy)."""
    shape = SHAPES[name]
    depth = share * height(shape)
    # the integral of z dV by parts: depth V(depth) - integral of V dz
    below, _ = quad(
        lambda z: volume(shape, z), 0.0, depth, points=[0.1, 0.25] if name == "table" else None, epsabs=1e-12
    )
    assert lift(shape, depth) == pytest.approx(depth * volume(shape, depth) - below, rel=1e-9)


def test_a_half_full_lying_cylinder() -> None:
    """Centroid of a half circle, 4 r / 3 pi below its middle (closed form, any handbook of statics)."""
    content = volume(SHAPES["lying"], 0.5)
    assert lift(SHAPES["lying"], 0.5) / content == pytest.approx(0.5 - 4 * 0.5 / (3 * pi), rel=1e-12)
    assert lift(SHAPES["lying"], 0.5) == pytest.approx(0.226032, rel=1e-5)
