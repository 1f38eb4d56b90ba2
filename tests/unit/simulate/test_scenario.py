"""Scenario files: each fault of one is a finding with its line, and the shipped ones are whole."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from ullage.control.check import Examined, examine
from ullage.simulate.scenario import read_scenario

EXAMPLES = Path(__file__).parents[3] / "examples"


@cache
def marram() -> Examined:
    """Marram, examined."""
    path = EXAMPLES / "rigs" / "marram.yaml"
    return examine(path.read_bytes(), path.name)


def found(text: str | bytes) -> set[str]:
    """Codes found in a scenario for Marram."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    scenario, findings = read_scenario(text, "day.yaml", examined.rig, examined.law)
    assert all(finding.place.line > 0 for finding in findings)
    assert (scenario is not None) or findings
    return {finding.code for finding in findings}


SOUND = "scenario: Short\nhours: 1\nhappenings: [HAPPENING]\nexpect: [EXPECTATION]\n"


@pytest.mark.parametrize(
    ("code", "happening", "expectation"),
    [
        ("R150", "{at: 5 min, uze: basin}", "no water indoors"),
        ("R151", "{at: 3 h, use: basin, for: 1 min}", "no water indoors"),
        ("R151", "{at: soon, use: basin, for: 1 min}", "no water indoors"),
        ("R152", "{at: 5 min, use: bason, for: 1 min}", "no water indoors"),
        ("R153", "{at: 5 min, use: basin, for: 1 min}", "all goes well"),
        ("N200", "{at: 5 min, use: basin, for: 1 min}", "belly gives at least 3 L"),
        ("R116", "{at: 5 min, use: basin, for: 1 min}", "basin gives at least 3 bar"),
        ("R116", "{at: 5 min, use: basin, for: 1 min}", "basin gives at least 3 %"),
        ("R153", "{at: 5 min, use: basin, for: 1 min}", "basin gives at least 3 L within 20 min"),
        ("R153", "{at: 5 min, use: basin, for: 1 min}", "belly_high trips at 20 min"),
        ("R153", "{at: 5 min, use: basin, for: 1 min}", "belly never over 3 L at 20 min"),
        ("R151", "{at: 5 min, use: basin, for: 1 min}", "belly over 3 L at 25:00"),
        ("N209", "{at: 5 min, use: basin, for: 1 min}", "fill reaches fild"),
        ("N200", "{at: 5 min, use: basin, for: 1 min}", "never shore_inn is open"),
        ("S400", "{at: 5 min, use: basin, for: 1 min}", "never belly_level > 3 bar"),
        ("R154", "{at: 5 min, hose: shore, pressure: 2 L}", "no water indoors"),
        ("R155", "{at: 5 min, fault: belly_level stuk}", "no water indoors"),
    ],
)
def test_finding(code: str, happening: str, expectation: str) -> None:
    """A line that is passed over in silence is a test that was not made."""
    assert code in found(SOUND.replace("HAPPENING", happening).replace("EXPECTATION", expectation))


def test_the_sound_one_is_sound() -> None:
    """What the broken ones look like when they are not broken."""
    assert (
        found(SOUND.replace("HAPPENING", "{at: 5 min, use: basin, for: 1 min}").replace("EXPECTATION", "no overflow"))
        == set()
    )


@pytest.mark.parametrize(
    "text", [b"", b"\xff\xfe", b"[1, 2", b"scenario: 3\nhappenings: 7\n", b"- a\n- b\n", b"hours: 1e9"]
)
def test_any_bytes_are_answered(text: bytes) -> None:
    """A scenario that is no scenario is told so, without a traceback."""
    found(text)


@pytest.mark.parametrize("path", sorted((EXAMPLES / "scenarios").glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_scenarios_are_whole(path: Path) -> None:
    """The demo must not begin with a finding."""
    assert found(path.read_bytes()) == set()
