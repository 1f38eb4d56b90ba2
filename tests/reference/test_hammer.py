"""Water hammer: WHM rows. Korteweg 1878, Joukowsky, Michaud; factors of Wylie & Streeter 1993."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from ullage.hydraulics.water import bulk_modulus, density
from ullage.quantities import G_STANDARD
from ullage.rig.model import Line, Pipe
from ullage.rig.read import read_rig
from ullage.sizing.hammer import blow_of, restraint_factor, surge, wave_speed

WATER_20 = 293.15
K_20 = 2.1934e9
RHO_20 = 998.2072


def test_whm_01_restraint_of_a_thin_wall() -> None:
    """WHM-01: the three thin-wall factors are the limits of the thick-wall one."""
    for restraint, expected in (("free", 1.0), ("one end", 1 - 0.15), ("both ends", 1 - 0.09)):
        assert restraint_factor(restraint, 0.3, 1.0, 1e-9) == pytest.approx(expected, rel=1e-8)  # type: ignore[arg-type]


def test_whm_02_steel_line() -> None:
    """WHM-02: a gradual closure of a long steel line, all four numbers of the closed forms."""
    a = wave_speed(2.2e9, 1000.0, 50.0, 1.0, 200e9)
    assert a == pytest.approx(1191.4, rel=1e-3)
    assert 2 * 1000 / a == pytest.approx(1.679, rel=1e-3)
    assert surge(1000.0, a, 1000.0, 2.0, 0.0) / (1000 * G_STANDARD) == pytest.approx(242.9, rel=1e-3)
    slow = surge(1000.0, a, 1000.0, 2.0, 5.0)
    assert slow == pytest.approx(8.00e5, rel=1e-3)
    assert slow / (1000 * G_STANDARD) == pytest.approx(81.5, rel=1e-3)


def test_whm_03_pvc_textbook() -> None:
    """WHM-03: 0.3 m PVC with a wall of 20 mm (sqrt(K / rho) form: 400.1 m/s)."""
    a = wave_speed(2.1e9, 1000.0, 0.3, 0.02, 2.6e9)
    assert a == pytest.approx(400.1, rel=1e-3)
    assert surge(1000.0, a, 1.0, 2.5, 0.0) / (1000 * G_STANDARD) == pytest.approx(102.03, rel=5e-3)


def test_whm_04_10_slow_closure() -> None:
    """WHM-04, WHM-10: beyond 2 L / a Michaud's form holds, and it is below Joukowsky's."""
    assert surge(998.2, 1300.0, 5.0, 1.5, 0.05) == pytest.approx(2.9946e5, rel=1e-4)
    assert surge(998.2, 1300.0, 5.0, 1.5, 0.05) < surge(998.2, 1300.0, 5.0, 1.5, 0.007)
    edge = 2 * 5 / 1300
    assert surge(998.2, 1300.0, 5.0, 1.5, edge * 1.0000001) == pytest.approx(surge(998.2, 1300.0, 5.0, 1.5, edge))


@pytest.mark.parametrize(
    ("row", "bore", "wall", "thin", "factor", "thick"),
    [("WHM-05", 0.012, 0.002, 309.5, 1.16244, 288.0), ("WHM-06", 0.010, 0.0025, 375.0, 1.36072, 324.3)],
)
def test_small_pex(row: str, bore: float, wall: float, thin: float, factor: float, thick: float) -> None:
    """WHM-05, WHM-06 (trap): small plastic pipes are thick; thin-wall theory overstates the surge by a tenth."""
    assert wave_speed(K_20, RHO_20, bore, wall, 0.6e9) == pytest.approx(thin, rel=5e-3), row
    z = restraint_factor("both ends", 0.46, bore, wall)
    assert z == pytest.approx(factor, rel=1e-5)
    assert wave_speed(K_20, RHO_20, bore, wall, 0.6e9, z) == pytest.approx(thick, rel=5e-3)


def test_whm_07_soft_hose() -> None:
    """WHM-07: a soft hose takes up the blow, half a bar per metre per second."""
    a = wave_speed(K_20, RHO_20, 0.0127, 0.003, 10e6)
    assert a == pytest.approx(48.6, rel=0.02)
    assert surge(RHO_20, a, 10.0, 1.0, 0.0) == pytest.approx(0.49e5, rel=0.02)


def test_whm_08_metal() -> None:
    """WHM-08: steel and copper hardly give; the steel pipe adds 14 bar per metre per second."""
    steel = wave_speed(K_20, RHO_20, 0.0273, 0.0032, 200e9)
    assert steel == pytest.approx(1417.5, rel=5e-3)
    assert wave_speed(K_20, RHO_20, 0.013, 0.001, 120e9) == pytest.approx(1332.5, rel=5e-3)
    assert surge(RHO_20, steel, 1.0, 1.0, 0.0) == pytest.approx(14.15e5, rel=5e-3)


def test_whm_09_short_line() -> None:
    """WHM-09: in 5 m of pipe anything quicker than 7.7 ms is sudden."""
    sudden = surge(1000.0, 1300.0, 5.0, 1.0, 7.692e-3)
    assert sudden == pytest.approx(1000 * 1300.0)
    assert surge(1000.0, 1300.0, 5.0, 1.0, 7.70e-3) < sudden


MODULI = {"PE80": 0.8, "PE100": 1.0, "PVC-U": 3.0, "PEX": 0.6, "PP-R": 0.8, "soft rubber": 0.002, "hard rubber": 0.1}
"""Young's moduli at 20 degC in GPa, good to a factor of two (row WHM-11, from memory)."""


@pytest.mark.parametrize("material", MODULI)
def test_whm_11_plastics_from_memory(material: str) -> None:
    """WHM-11 (from memory): the file must take every wall there is, and a modulus wrong by two must not matter much.

    The wave speed goes with the root of the modulus, so a factor of two is at most 41 % of the blow.
    """
    gpa = MODULI[material]
    pipe = Pipe(bore="12 mm", length="5 m", wall="2 mm", modulus=f"{gpa} GPa")  # type: ignore[arg-type]
    assert pipe.modulus == pytest.approx(gpa * 1e9)
    soft, right, stiff = (wave_speed(K_20, RHO_20, 0.012, 0.002, gpa * 1e9 * off) for off in (0.5, 1.0, 2.0))
    assert right / 2**0.5 <= soft < right < stiff <= right * 2**0.5
    if gpa >= 0.6:
        assert 280 < right < 700, "hard plastics: between PEX and PVC-U, well below steel's 1417 m/s"
    else:
        assert right < 130, "rubber takes up the blow"


def test_the_water_is_the_products_own() -> None:
    """The bulk modulus of these rows is the one that IAPWS gives at 20 degC (row WAT-15)."""
    assert bulk_modulus(WATER_20) == pytest.approx(K_20, rel=5e-4)
    assert density(WATER_20) == pytest.approx(RHO_20, abs=0.02)


def test_a_described_wall_softens_the_blow() -> None:
    """WHM-07 in a rig: a rubber hose that is described must not be condemned like a steel pipe."""
    text = (Path(__file__).parents[2] / "examples" / "rigs" / "marram.yaml").read_text("utf8")
    blows = []
    for more in ("", " modulus: 10 MPa,"):
        rig, findings, _ = read_rig(text.replace("length: 10 m,", "length: 10 m," + more), "marram.yaml")
        assert rig is not None, findings
        hose_only = Line.model_validate({"from": "shore", "through": ("hose",), "to": "belly.top"})
        blows.append(blow_of(rig, hose_only, 12e-3 / 60, 1e-4))
    velocity = 12e-3 / 60 / (0.25 * pi * 0.0125**2)
    assert blows[0] == pytest.approx(RHO_20 * 1412.0 * velocity, rel=0.01)
    assert 0.8 * 0.49e5 * velocity < blows[1] < 0.49e5 * velocity, "the thick anchored wall stays below the thin one"
