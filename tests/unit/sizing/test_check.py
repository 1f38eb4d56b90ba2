"""Findings about flows: each on Marram with one figure spoiled, and its absence on one less spoiled."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.rig.breaking import seen
from ullage.sizing.check import check

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
        ("M602", "belly", [SMALL], []),
        ("M603", "fill", [("most: 88 %, of: belly", "most: 96 %, of: belly")], []),
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
