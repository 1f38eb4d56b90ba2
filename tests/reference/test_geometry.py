"""How much a tank holds: closed forms and a reference library (CHECKS rows GEO-01 to GEO-12)."""

from __future__ import annotations

from math import pi, radians, tan
from typing import Any

import pytest
from fluids.geometry import TANK
from hypothesis import given
from hypothesis import strategies as st

from ullage.rig.model import Box, Lying, Shape, Strapping, Upright
from ullage.rig.shapes import depth, height, volume, whole


def box(length: float, width: float, high: float, corner: float = 0.0) -> Shape:
    """A box from figures [m]."""
    return Shape(box=Box.model_construct(length=length, width=width, height=high, corner=corner))


def lying(diameter: float, length: float) -> Shape:
    """A lying cylinder along x [m]."""
    return Shape(lying=Lying.model_construct(diameter=diameter, length=length, along="x"))


def upright(diameter: float, high: float) -> Shape:
    """A standing cylinder [m]."""
    return Shape(upright=Upright.model_construct(diameter=diameter, height=high))


GEO_BOX = box(1.0, 0.5, 0.3)
SHAPES = {
    "box": GEO_BOX,
    "rounded": box(0.8, 0.5, 0.3, 0.05),
    "round_ends": box(0.8, 0.5, 0.3, 0.25),
    "lying": lying(0.5, 1.2),
    "upright": upright(0.6, 0.4),
}


@pytest.mark.parametrize(
    ("share", "fraction"),
    [
        (0.1, 0.0520440),
        (0.2, 0.1423785),
        (0.25, 0.1955011),
        (0.3, 0.2523158),
        (0.4, 0.3735300),
        (0.5, 0.5),
        (0.6, 0.6264700),
        (0.75, 0.8044989),
        (0.9, 0.9479560),
    ],
)
def test_lying_cylinder(share: float, fraction: float) -> None:
    """GEO-04 (circular segment): a round tank read as if it were a box is wrong by a tenth of its content."""
    tank = lying(1.0, 2.0)
    assert volume(tank, share) / whole(tank) == pytest.approx(fraction, rel=1e-6)


def test_lying_cylinder_inverse() -> None:
    """GEO-05: a quarter full is not a quarter deep."""
    tank = lying(1.0, 2.0)
    assert depth(tank, 0.25 * whole(tank)) == pytest.approx(0.2980136, rel=1e-6)


@pytest.mark.parametrize("share", [0.01, 0.1, 0.33, 0.5, 0.8, 0.99])
def test_lying_cylinder_against_library(share: float) -> None:
    """The closed form and fluids' TANK agree: one of them alone could be wrong for years."""
    library = TANK(D=0.5, L=1.2, horizontal=True)
    assert volume(SHAPES["lying"], 0.5 * share) == pytest.approx(library.V_from_h(0.5 * share), rel=1e-9)


def test_tilted_box_wedge() -> None:
    """GEO-08: on a slope a nearly empty tank holds its water in a wedge, and the far end is dry."""
    slope = tan(radians(10))
    expected = 0.5 * 0.10**2 / (2 * slope)
    assert expected == pytest.approx(0.0141782, rel=1e-5)
    assert volume(GEO_BOX, 0.10 - 0.5 * slope, slope) == pytest.approx(expected, rel=1e-9)


def test_tilted_box_top() -> None:
    """GEO-09: on a slope a nearly full tank touches its lid and overflows though it is not full."""
    slope, at_wall = tan(radians(10)), 0.35
    expected = 0.5 * (at_wall - slope / 2 - (at_wall - 0.3) ** 2 / (2 * slope))
    assert expected == pytest.approx(0.1273737, rel=1e-6)
    assert volume(GEO_BOX, at_wall - 0.5 * slope, slope) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("degrees", "rise"), [(1, 0.008728), (3, 0.026204), (5, 0.043744), (10, 0.088163)])
def test_tilted_box_middle(degrees: float, rise: float) -> None:
    """GEO-10: a sender in the middle reads right on a slope, one at the end is wrong by the rise."""
    slope = tan(radians(degrees))
    assert volume(GEO_BOX, 0.15, slope) == pytest.approx(0.075, rel=1e-9)
    assert 0.5 * slope == pytest.approx(rise, abs=1e-6)


def test_level_error_of_an_off_centre_sender() -> None:
    """GEO-11: 0.4 m off the middle and 3 degrees are 7 % of a 0.30 m tank."""
    at_sender = depth(GEO_BOX, 0.075, tan(radians(3))) + 0.4 * tan(radians(3))
    assert at_sender - 0.15 == pytest.approx(0.02096, abs=1e-5)
    assert (at_sender - 0.15) / 0.30 == pytest.approx(0.070, abs=1e-3)


def test_rounded_box() -> None:
    """GEO-12: rounded edges take half a percent off what a box would hold."""
    assert volume(SHAPES["rounded"], 0.1) / 0.1 == pytest.approx(0.3978540, rel=1e-7)


def test_hoof_of_a_tilted_cylinder() -> None:
    """Archimedes' hoof, 2/3 r^2 h (closed form): the wedge left in a round tank on a slope."""
    slope, radius = 0.3, 0.3
    hoof = 2 / 3 * radius**2 * (slope * radius)
    assert volume(SHAPES["upright"], 0.0, slope) == pytest.approx(hoof, rel=1e-9)
    assert volume(SHAPES["upright"], 0.0, 0.0, slope) == pytest.approx(hoof, rel=1e-9)


@pytest.mark.parametrize("name", SHAPES)
def test_half_full_stays_half_full_on_any_slope(name: str) -> None:
    """By symmetry: the tilted forms must not make or lose water."""
    shape = SHAPES[name]
    half = 0.5 * height(shape)
    for ahead, across in ((0.1, 0.0), (0.0, -0.2), (0.3, 0.4), (1e-9, 1e-12)):
        assert volume(shape, half, ahead, across) == pytest.approx(0.5 * whole(shape), rel=1e-8)


def by_columns(shape: Box, level: float, ahead: float, across: float, columns: int = 400) -> float:
    """The volume of a rounded box as a plain sum over small columns [m3]."""
    total = 0.0
    for i in range(columns):
        for j in range(columns):
            x, y = ((i + 0.5) / columns - 0.5) * shape.length, ((j + 0.5) / columns - 0.5) * shape.width
            beyond_x = max(abs(x) - (0.5 * shape.length - shape.corner), 0.0)
            beyond_y = max(abs(y) - (0.5 * shape.width - shape.corner), 0.0)
            if beyond_x**2 + beyond_y**2 <= shape.corner**2:
                total += min(max(level + ahead * x + across * y, 0.0), shape.height)
    return total * shape.length * shape.width / columns**2


@pytest.mark.parametrize(("level", "ahead", "across"), [(0.02, 0.2, 0.1), (0.28, 0.2, -0.3), (0.15, 0.9, 0.9)])
def test_both_slopes_against_columns(level: float, ahead: float, across: float) -> None:
    """A slope across both ways meets floor, lid and round edges at once; the sum over columns is dull and sure."""
    shape = SHAPES["rounded"]
    assert shape.box is not None
    assert volume(shape, level, ahead, across) == pytest.approx(by_columns(shape.box, level, ahead, across), rel=1e-3)


SLOPE = st.floats(-0.5, 0.5)


@given(name=st.sampled_from(sorted(SHAPES)), share=st.floats(0.001, 0.999), ahead=SLOPE, across=SLOPE)
def test_depth_undoes_volume(name: str, share: float, ahead: float, across: float) -> None:
    """A target in litres that is turned into another depth than it came from overfills the tank."""
    shape = SHAPES[name]
    content = share * whole(shape)
    assert volume(shape, depth(shape, content, ahead, across), ahead, across) == pytest.approx(content, rel=1e-6)


@given(
    name=st.sampled_from(sorted(SHAPES)),
    low=st.floats(-0.3, 0.6),
    more=st.floats(0, 0.3),
    ahead=SLOPE,
    across=SLOPE,
)
def test_more_depth_never_holds_less(name: str, low: float, more: float, ahead: float, across: float) -> None:
    """A table that falls anywhere would make a full tank look emptier than a half full one."""
    shape = SHAPES[name]
    less, greater = volume(shape, low, ahead, across), volume(shape, low + more, ahead, across)
    assert -1e-12 <= less <= greater + 1e-9
    assert greater <= whole(shape) * (1 + 1e-9)


def test_strapping_table() -> None:
    """A measured tank is read between its pours, and full above the last."""
    shape = Shape(strapping=Strapping(table=(("0 mm", "0 L"), ("100 mm", "10 L"), ("200 mm", "40 L"))))
    for level, litres in ((-0.1, 0), (0.05, 5), (0.1, 10), (0.15, 25), (0.2, 40), (0.5, 40)):
        assert volume(shape, level) == pytest.approx(litres * 1e-3, abs=1e-12)
    assert depth(shape, 0.025) == pytest.approx(0.15, rel=1e-9)
    assert height(shape) == pytest.approx(0.2)


INCH, GALLON = 0.0254, 231 * 0.0254**3
JONES = {"horizontal": True, "D": 108 * INCH, "L": 156 * INCH}
STANDING = {"horizontal": False, "D": 132 * INCH, "L": 1e-6}

KNUCKLE = {"sideA_f": 1.0, "sideA_k": 0.06, "sideB_f": 1.0, "sideB_k": 0.06}


def ends(kind: str, a: float | None = 42 * INCH) -> dict[str, object]:
    """Both ends of one kind, so deep [m]."""
    return {"sideA": kind, "sideB": kind, "sideA_a": a, "sideB_a": a}


def bottom(kind: str) -> dict[str, object]:
    """A bottom 33 in deep."""
    return {"sideA": kind, "sideA_a": 33 * INCH}


@pytest.mark.parametrize(
    ("row", "tank", "level", "gallons"),
    [
        ("GEO-01", JONES | ends("conical"), 36 * INCH, 2041.192),
        ("GEO-01", JONES | ends("conical"), 84 * INCH, 6180.541),
        ("GEO-02", JONES | ends("spherical"), 36 * INCH, 2303.962),
        ("GEO-02", JONES | ends("spherical"), 84 * INCH, 6935.163),
        ("GEO-03", {"D": 1.0, "L": 1e-9, "horizontal": False} | ends("spherical", 0.5), 0.7, 0.41050144 / GALLON),
        ("GEO-06", JONES | ends("ellipsoidal"), 36 * INCH, 2380.957),
        ("GEO-06", JONES | ends("guppy"), 36 * INCH, 1931.721),
        ("GEO-06", JONES | ends("torispherical", None) | KNUCKLE, 36 * INCH, 2028.627),
        ("GEO-07", STANDING | bottom("conical"), 24 * INCH, 250.675),
        ("GEO-07", STANDING | bottom("ellipsoidal"), 24 * INCH, 783.358),
        ("GEO-07", STANDING | bottom("spherical"), 24 * INCH, 583.602),
    ],
)  # fmt: skip
def test_tank_with_dished_ends_by_its_strapping_table(
    row: str, tank: dict[str, Any], level: float, gallons: float
) -> None:
    """GEO-01 to GEO-03, GEO-06, GEO-07 (Jones, Compute Fluid Volumes): a tank that the file has no word for.

    A drum reckoned without its ends holds a tenth too little. Its ends are given as a table of the 200 rows that
    a file may hold, from the library, none at the row's depth; straight pieces between them are good to 5e-4,
    not to the rows' 1e-6.
    """
    library = TANK(**tank)
    assert library.V_from_h(level) / GALLON == pytest.approx(gallons, rel=2e-6), row
    depths = [library.h_max * i / 199 for i in range(200)]
    assert min(abs(at - level) for at in depths) > 1e-4 * library.h_max
    table = tuple((f"{at!r} m", f"{float(library.V_from_h(at)) if at else 0.0!r} m3") for at in depths)
    shape = Shape(strapping=Strapping(table=table))
    assert volume(shape, level) / GALLON == pytest.approx(gallons, rel=5e-4)
    assert depth(shape, gallons * GALLON) == pytest.approx(level, rel=5e-4)


def test_upright_cylinder() -> None:
    """A quarter of pi, not a square."""
    assert whole(SHAPES["upright"]) == pytest.approx(pi / 4 * 0.6**2 * 0.4, rel=1e-12)
