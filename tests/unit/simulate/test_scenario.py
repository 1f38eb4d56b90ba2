"""Scenario files: each fault of one is a finding with its line, and the shipped ones are whole."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import get_type_hints

import pytest

from ullage.cli.simulate import simulate
from ullage.control.check import Examined, examine
from ullage.plant.faults import FAULTS_LIMIT
from ullage.simulate.scenario import Scenario, read_scenario
from ullage.simulate.sheet import HOURS_LIMIT

ROOT = Path(__file__).parents[3]
EXAMPLES = ROOT / "examples"


@cache
def shipped(rig: str) -> Examined:
    """A shipped rig, examined."""
    path = EXAMPLES / "rigs" / f"{rig}.yaml"
    return examine(path.read_bytes(), path.name)


def marram() -> Examined:
    """Marram, examined."""
    return shipped("marram")


def found(text: str | bytes, rig: str = "marram") -> set[str]:
    """Codes found in a scenario for a shipped rig."""
    examined = shipped(rig)
    assert examined.rig is not None
    assert examined.law is not None
    scenario, findings = read_scenario(text, "day.yaml", examined.rig, examined.law)
    assert all(finding.place.line > 0 for finding in findings)
    assert (scenario is not None) or findings
    return {finding.code for finding in findings}


def test_errors_are_read_and_refused() -> None:
    """A sender that is to read wrong by all that it may, and reads right instead, tests nothing."""
    assert not found("errors: {belly_level: -100 %, shore_meter: 50 %}")
    assert found("errors: {belly_levl: 50 %}") == {"R152"}
    assert found("errors: {belly_level: 120 %}") == {"R154"}
    assert found("errors: 5 %") == {"R150"}


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
        ("R155", "{at: 1 min, fault: belly_level stuck from 5 min to 6 min}", "no water indoors"),
        ("R155", "{at: 1 min, fault: belly_level stuck to 6 min}", "no water indoors"),
        ("R151", "{at: 5 min, fault: belly_level stuck, until: 4 min}", "no water indoors"),
        ("R156", "{at: 5 min, hose: shore, pressure: 19 bar}", "no water indoors"),
        ("R156", "{at: 5 min, hose: shore, pressure: 0.4 bar}", "no water indoors"),
        ("R154", "{at: 5 min, slope: {ahead: 3 bar}}", "no water indoors"),
        ("R154", "{at: 5 min, slope: {ahead: 80 deg}}", "no water indoors"),
        ("R154", "{at: 5 min, slope: {ahed: 3 deg}}", "no water indoors"),
        ("R150", "{at: 5 min, use: basin, fro: 3 min}", "no water indoors"),
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


def read(lines: str, head: str = "hours: 1") -> Scenario:
    """A sound scenario for Marram with these happenings."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    scenario, findings = read_scenario(f"{head}\nhappenings: [{lines}]", "day.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    return scenario


def test_a_hose_has_the_usual_a_stated_or_any_pressure_of_its_port() -> None:
    """The sequences must work for every hose that the rig says may come, not for the usual one only."""
    usual, stated, drawn = read(
        "{at: 1 min, hose: shore}, {at: 2 min, hose: shore, pressure: 0.5 bar}, {at: 3 min, hose: shore, pressure: any}"
    ).happenings
    rig = marram().rig
    assert rig is not None
    port = rig.ports["shore"]
    assert port.pressure is not None
    assert (usual.amount, usual.most) == (port.usual, None)
    assert (stated.amount, stated.most) == (0.5e5, None)
    assert (drawn.amount, drawn.most) == (port.pressure.least, port.pressure.most)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("{at: 1 min, use: basin, opening: 120 %}", "0 % to 100 %"),
        ("{at: 1 min, pour: 2000 L, into: belly}", "0.001 L to 1000 L"),
        ("{at: 1 min, use: basin, for: 1e6 min}", "1.66667e-05 min to 16666.7 min"),
        ("{at: 1 min, hose: shore, pressure: 60 psi}", "7.25189 psi to 58.0151 psi; above it"),
    ],
)
def test_a_range_is_told_in_the_unit_that_was_written(line: str, expected: str) -> None:
    """'1e-06 to 1 in SI units' is no help to anybody who holds a jerrycan."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    _, (finding,) = read_scenario(f"hours: 1\nhappenings: [{line}]", "day.yaml", examined.rig, examined.law)
    assert finding.expected.startswith(expected)


def test_only_a_failed_regulator_goes_beyond_the_range() -> None:
    """Whoever wants to know what 9 bar do must say that it is a fault, and which."""
    (fault,) = read("{at: 1 min, fault: shore regulator failed 9 bar}").faults
    assert (fault.part, fault.amount, fault.start_ms) == ("shore", 9e5, 60_000)


def test_a_start_states_all_its_parameters() -> None:
    """The target of the last fill but one must not come back unasked."""
    one, two = read("{at: 1 min, start: fill, with: {target: 50 %}}, {at: 2 min, start: fill}").happenings
    program = marram().program
    assert program is not None
    default = program.tables.parameter_default[program.parameter("fill.target")]
    assert dict(two.wishes)["fill.target"] == default
    assert dict(one.wishes)["fill.target"] not in (default, 0)


@pytest.mark.parametrize(
    ("written", "hours"), [("24", 24.0), ("0.5", 0.5), ("90 min", 1.5), ("2 d", 48.0), ("8784", 8784.0)]
)
def test_hours(written: str, hours: float) -> None:
    """A number is one of hours; whatever has a unit is taken by its word."""
    assert read("", f"hours: {written}").hours == pytest.approx(hours)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("-3", "-3 h is out of range"),
        ("0", "0 h is out of range"),
        ("8785", "8785 h is out of range"),
        ("\N{SUPERSCRIPT TWO}", "not a quantity"),
        ("\N{ARABIC-INDIC DIGIT TWO}", "not a quantity"),
        ("3 bar", "not of time"),
    ],
)
def test_hours_that_are_none(written: str, words: str) -> None:
    """Digits that are no numbers once ended the command with a fault of ours."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    scenario, findings = read_scenario(f"hours: {written}\n", "day.yaml", examined.rig, examined.law)
    assert scenario is None
    assert [(finding.code, words in finding.what) for finding in findings] == [("R151", True)]


def test_no_more_faults_than_a_run_takes() -> None:
    """What the reference promises as a limit must be one, or the reference is wrong."""
    fault = "{at: 1 min, fault: belly_level stuck}"
    assert len(read(", ".join([fault] * FAULTS_LIMIT)).faults) == FAULTS_LIMIT
    pours = ", ".join(["{at: 1 min, pour: 1 L, into: belly}"] * (FAULTS_LIMIT + 1))
    assert found(f"hours: 1\nhappenings: [{pours}]") == {"R157"}


def test_no_longer_than_the_command_allows() -> None:
    """One limit for the length of a run, wherever it is stated."""
    hours = get_type_hints(simulate, include_extras=True)["hours"].__metadata__[0]
    assert hours.max == HOURS_LIMIT
    assert f"{HOURS_LIMIT:,} h at most" in (ROOT / "docs" / "scenarios.md").read_text("utf8")


@pytest.mark.parametrize(
    "text", [b"", b"\xff\xfe", b"[1, 2", b"scenario: 3\nhappenings: 7\n", b"- a\n- b\n", b"hours: 1e9", "hours: \u00b2"]
)
def test_any_bytes_are_answered(text: str | bytes) -> None:
    """A scenario that is no scenario is told so, without a traceback."""
    found(text)


@pytest.mark.parametrize("path", sorted((EXAMPLES / "scenarios").glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_scenarios_are_whole(path: Path) -> None:
    """The demo must not begin with a finding; a scenario for another rig has that rig's name in front."""
    rigs = {rig.stem for rig in (EXAMPLES / "rigs").glob("*.yaml")}
    first = path.stem.partition("_")[0]
    assert found(path.read_bytes(), first if first in rigs else "marram") == set()


def test_a_rig_is_known_for_one() -> None:
    """The two files lie side by side and are exchanged; a finding for every key of a sound rig is no answer."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    text = (EXAMPLES / "rigs" / "turnstone.yaml").read_bytes()
    scenario, (finding,) = read_scenario(text, "turnstone.yaml", examined.rig, examined.law)
    assert scenario is None
    assert "a rig" in finding.what


@pytest.mark.parametrize(
    ("written", "near"),
    [
        ("fill completes", "fill is complete"),
        ("fill finishes within 20 min", "fill is complete"),
        ("belly overflows", "belly reaches its overflow"),
        ("shore_in closes at 30 min", "shore_in is closed"),
        ("the moon rises", ""),
    ],
)
def test_another_verb_is_answered_with_the_sentence_that_is_understood(written: str, near: str) -> None:
    """Six examples of something else leave a person to guess at the form of a plain wish."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    (finding,) = read_scenario(SOUND.replace("HAPPENING", "").replace("EXPECTATION", written), "day.yaml",
                               examined.rig, examined.law)[1]  # fmt: skip
    assert (finding.code, finding.near) == ("R153", near)
    if near:
        assert not found(SOUND.replace("HAPPENING", "").replace("EXPECTATION", near))
