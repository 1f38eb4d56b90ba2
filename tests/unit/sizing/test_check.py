"""Findings about flows: each on Marram with one figure spoiled, and its absence on one less spoiled."""

from __future__ import annotations

import re
from math import pi, sqrt
from pathlib import Path

import pytest

from tests.unit.rig.breaking import seen
from ullage.control.check import examine
from ullage.quantities import G_STANDARD
from ullage.sizing import check as sizing_check
from ullage.sizing.check import check
from ullage.sizing.flows import Moment, NoAnswer, flows_at, greatest_inflow
from ullage.sizing.suction import gauge_pressures

MARRAM = (Path(__file__).parents[3] / "examples" / "rigs" / "marram.yaml").read_text("utf8")
UNRESTRICTED = ("shore_restrictor, shore_in", "shore_in")
WIDE = ("overflow: {bore: 38 mm, at: 280 mm}", "overflow: {bore: 60 mm, at: 280 mm}")
QUICK = ("stroke: 0.1 s .. 0.5 s", "stroke: 20 ms .. 0.5 s")
SMALL = ("overflow: {bore: 38 mm, at: 280 mm}", "overflow: {bore: 16 mm, at: 280 mm}")

LONG_SUCTION = ("suction: {bore: 13 mm, length: 1.2 m", "suction: {bore: 7 mm, length: 20 m")
HIGH_TEE = ("y: 0.5 m, z: 1.9 m", "y: 0.5 m, z: 13 m")


def found(*changes: tuple[str, str]) -> set[tuple[str, str]]:
    """Codes and parts found in Marram after replacing texts."""
    text = MARRAM
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    found = check(seen(text, "marram.yaml"))
    assert all(finding.place.line > 1 for finding in found)
    return {(finding.code, finding.on) for finding in found}


def test_the_smallest_overflow() -> None:
    """M602: an overflow that is told to do has to carry what comes; one that does is not to be condemned.

    Its rim lies 40 mm under the brim: the least bore is that of the orifice formula, ``Q = 0.61 A sqrt(2 g h)``
    (row DRN-10), while the rim as a weir of the same coefficient carries more from h = 3/8 bore on.
    """
    view = seen(MARRAM, "marram.yaml")
    inflow = greatest_inflow(view.ways, "belly").into("belly")
    least = 1e3 * sqrt(inflow / (0.61 * 0.25 * pi * sqrt(2 * G_STANDARD * 0.040)))
    assert 3 / 8 * least < 40
    for bore, told in ((0.999 * least, True), (1.001 * least, False)):
        change = ("overflow: {bore: 38 mm, at: 280 mm}", f"overflow: {{bore: {bore:.4f} mm, at: 280 mm}}")
        assert (("M602", "belly") in found(change)) is told


def test_the_quickest_valve() -> None:
    """M608: a stroke that is told to do must not crack the filter housing.

    Michaud: ``dp = 2 rho L v / t``, with all 11.2 m of hose and pipe, the velocity in the hose of 12.5 mm and water
    of 2 degC (999.94 kg/m3, IAPWS-95); 4 bar stand in the line, 10 bar are borne (row WHM-10 for the formula).
    """
    view = seen(MARRAM, "marram.yaml")
    flow = greatest_inflow(view.ways, "belly").through("shore_guard")
    velocity = flow / (0.25 * pi * 0.0125**2)
    quickest = 1e3 * 2 * 999.94 * (10 + 1.2) * velocity / (10e5 - 4e5)
    assert quickest > 2e3 * 11.2 / 1400, "slower than the wave comes back, so Michaud's case"
    for stroke, told in ((0.999 * quickest, True), (1.001 * quickest, False)):
        change = ("stroke: 0.1 s .. 0.5 s", f"stroke: {stroke:.4f} ms .. 0.5 s")
        assert (("M608", "shore_guard") in found(change)) is told


def test_marram_is_honest() -> None:
    """The demo must not show people a rig that its own figures condemn."""
    assert found() == set()


def vent(tank: str, bore: str) -> tuple[str, str]:
    """Narrow the vent of a tank of Marram."""
    old = {"belly": "vent: {bore: 16 mm, length: 1.5 m}", "gray": "vent: {bore: 25 mm, length: 2.2 m}"}[tank]
    return old, old.replace("16 mm" if tank == "belly" else "25 mm", bore)


def crest(height: str) -> tuple[str, str]:
    """Lead loft's outlet over a crest."""
    old = "{from: loft.low, through: [loft_stub], to: loft_tee"
    return old, f"{old}, crest: {{x: 1.2 m, y: 0.5 m, z: {height}}}"


@pytest.mark.parametrize(
    ("code", "on", "broken", "alike"),
    [
        ("M601", "belly", [UNRESTRICTED], [UNRESTRICTED, WIDE]),
        ("M602", "belly", [SMALL], [("overflow: {bore: 38 mm, at: 280 mm}", "overflow: {bore: 30 mm, at: 280 mm}")]),
        ("M603", "fill", [("most: 75 %, of: belly", "most: 96 %, of: belly")], []),
        ("M604", "belly", [vent("belly", "3 mm")], [vent("belly", "5 mm")]),
        ("M605", "belly", [vent("belly", "4 mm")], [vent("belly", "6 mm")]),
        ("M606", "belly", [vent("belly", "3 mm")], [vent("belly", "5 mm")]),
        ("M608", "shore_guard", [QUICK], []),
        ("M604", "gray", [vent("gray", "3 mm")], [vent("gray", "4 mm")]),
        ("M605", "gray", [vent("gray", "4 mm")], [vent("gray", "8 mm")]),
        ("M609", "water_pump", [LONG_SUCTION], [("bore: 13 mm, length: 1.2 m", "bore: 13 mm, length: 3 m")]),
        ("M609", "loft_tee", [HIGH_TEE], [("y: 0.5 m, z: 1.9 m", "y: 0.5 m, z: 9 m")]),
        ("M609", "loft.low", [crest("13 m")], [crest("9 m")]),
        ("M607", "gray", [vent("gray", "8 mm")], [vent("gray", "14 mm")]),
    ],
)
def test_finding(code: str, on: str, broken: list[tuple[str, str]], alike: list[tuple[str, str]]) -> None:
    """Each of these floods a floor or splits a tank although every valve does as it is told."""
    assert (code, on) in found(*broken)
    assert (code, on) not in found(*alike)


def test_flows_that_cannot_be_found_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A network that does not settle must end in a finding, not in a traceback or in silence."""

    def lost(*_: object) -> None:
        raise NoAnswer

    monkeypatch.setattr(sizing_check, "greatest_inflow", lost)
    found = examine(MARRAM, "marram.yaml")
    assert "M610" in {finding.code for finding in found.findings}
    assert found.program is None


@pytest.mark.parametrize(
    ("on", "right", "slipped"),
    [
        ("tanks.belly", "vent: {bore: 16 mm, length: 1.5 m}", "vent: {bore: 0.016 mm, length: 1.5 m}"),
        ("heaters.heater", "heater: {volume: 10 L, bore: 13 mm", "heater: {volume: 10 L, bore: 0.013 mm"),
    ],
)
def test_bores_of_micrometres_are_refused(on: str, right: str, slipped: str) -> None:
    """Mutants whose flows could not be found: a unit that slipped is told where it stands."""
    assert MARRAM.count(right) == 1
    found = examine(MARRAM.replace(right, slipped), "marram.yaml").findings
    assert [(finding.code, finding.on) for finding in found if finding.code == "R117"] == [("R117", on)]


def test_what_is_shut_off_has_no_pressure() -> None:
    """A pressure told of a pipe that hangs on nothing is an invention, and somebody would open a joint by it."""
    rig = seen(MARRAM, "marram.yaml").rig
    told = gauge_pressures(rig, flows_at(rig, Moment()))
    assert ("points", "manifold") not in told
    assert ("points", "loft_tee") in told, "loft's outlet stands open"
    running = gauge_pressures(rig, flows_at(rig, Moment(running=frozenset({"water_pump"}))))
    assert ("points", "manifold") in running


def test_a_margin_says_what_its_litres_are_made_of() -> None:
    """'6.1 L that still come' leaves a person guessing which part to replace: the sender, the board or the valve."""
    text = MARRAM.replace("most: 75 %, of: belly", "most: 93 %, of: belly")
    (told,) = (f.what for f in check(seen(text, "marram.yaml")) if f.code == "M603")
    made_of = re.search(r"([\d.]+) L that still come \(([\d.]+) L/min for (.*?)\)", told)
    assert made_of is not None, told
    litres, flow, waits = made_of.groups()
    seconds = dict(re.findall(r"(\w+) ([\d.]+) s", waits))
    assert set(seconds) == {"lag", "reading", "scans", "demand", "stroke"}
    assert float(litres) == pytest.approx(float(flow) / 60 * sum(map(float, seconds.values())), abs=0.1)
