"""A scenario that is written is read again as it was: a story that changes on its way to the disk is another one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from tests.share import share
from tests.shipped import EXAMPLES, marram
from ullage.control.check import examine
from ullage.plant.faults import JERRYCAN, KINDS, single_faults
from ullage.quantities import read
from ullage.rig.model import Rig
from ullage.simulate.scenario import Scenario, read_scenario
from ullage.simulate.writing import figure, write_scenario

END_MS = 6 * 3_600_000

RIGS = {"bothy_days": "bothy", "crumb_day": "crumb", "turnstone_weekend": "turnstone"}
"""Rig of each shipped scenario that is not Marram's."""


def again(scenario: Scenario, rig: str = "marram") -> Scenario:
    """What is read from what is written."""
    path = EXAMPLES / "rigs" / f"{rig}.yaml"
    examined = examine(path.read_bytes(), path.name)
    assert examined.rig is not None
    assert examined.law is not None
    text = write_scenario(scenario, examined.law)
    found, findings = read_scenario(text, "written.yaml", examined.rig, examined.law)
    assert found is not None, (text, findings)
    return found


@pytest.mark.parametrize("path", sorted((EXAMPLES / "scenarios").glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_scenarios_come_back(path: Path) -> None:
    """A night that was played is sent to a friend, who must see the same night."""
    rig = RIGS.get(path.stem, "marram")
    rig_path = EXAMPLES / "rigs" / f"{rig}.yaml"
    examined = examine(rig_path.read_bytes(), rig_path.name)
    assert examined.rig is not None
    assert examined.law is not None
    scenario, _ = read_scenario(path.read_bytes(), path.name, examined.rig, examined.law)
    assert scenario is not None
    assert again(scenario, rig) == scenario


RIG = marram().rig or Rig(rig="none")
TIMES = some.integers(0, END_MS - 1).map(lambda ms: f"{ms} ms")
PERCENTS = some.floats(0, 100).map(lambda number: f"{number!r} %")
ANGLES = some.floats(-20, 20).map(lambda number: f"{number!r} deg")
SLOPES = some.builds(lambda a, b: f"{{ahead: {a}, across: {b}}}", ANGLES, ANGLES)
TEXTS = some.text(
    some.characters(exclude_categories=("Cc", "Cs", "Co", "Cn"), exclude_characters="\ufeff"), max_size=60
)


def names(group: str) -> some.SearchStrategy[str]:
    """Names of parts of Marram."""
    return some.sampled_from(sorted(getattr(RIG, group)))


def writable(text: str) -> bool:
    """Whether a fault of the catalogue is no pouring, which has a word of its own."""
    return KINDS[JERRYCAN].word not in text


WISHES = some.floats(14, 123).map(lambda number: f"{number!r} L")
FAULTS = some.sampled_from([str(fault) for fault in single_faults(RIG)]).filter(writable)
PRESSURES = some.one_of(some.just("any"), some.floats(0.5, 4.0).map(lambda number: f"{number!r} bar"))
LINES = some.one_of(
    some.builds("use: {}, opening: {}".format, names("fixtures"), PERCENTS),
    some.builds("use: {}, for: {} ms".format, names("fixtures"), some.integers(1, 900_000)),
    some.builds("start: fill, with: {{target: {}}}".format, WISHES),
    some.builds("{}: {}".format, some.sampled_from(["stop", "hold", "reset", "confirm"]), names("sequences")),
    some.builds("reset: {}".format, names("interlocks")),
    some.builds("hose: shore, pressure: {}".format, PRESSURES),
    some.just("unhook: shore"),
    some.builds("pour: {!r} mL, into: {}".format, some.floats(1.0, 1e6), names("tanks")),
    some.builds("attitude: {}".format, some.sampled_from(["upright", "inverted", "flat", "docked"])),
    some.builds("slope: {}".format, SLOPES),
    some.builds("moving: {}".format, some.sampled_from(["true", "false"])),
    some.builds("fault: {}".format, FAULTS),
    some.builds("fault: {}, until: 6 h".format, FAULTS),
    some.builds("fault: belly_level offset {!r} %".format, some.floats(-100, 100)),
)
EXPECTED = some.sampled_from(["no water indoors", "belly never over 130 L", "fill is idle at 5 min", "gray_high trips"])
SHEETS = some.builds(
    lambda name, about, hours, starts, slope, errors, done, expect: (
        f"hours: {hours!r}\nstarts: {{belly: {starts}}}\nslope: {slope}\nerrors: {{loft_level: {errors}}}\n"
        f"happenings: [{', '.join('{' + f'at: {at}, {line}' + '}' for at, line in done)}]\n"
        f"expect: [{', '.join(expect)}]\n"
    ),
    TEXTS,
    TEXTS,
    some.floats(6, 100),
    PERCENTS,
    SLOPES,
    PERCENTS,
    some.lists(some.tuples(TIMES, LINES), max_size=12),
    some.lists(EXPECTED, max_size=3),
)


@settings(max_examples=share(5_000, 300), deadline=None)
@given(SHEETS, TEXTS, TEXTS)
def test_what_is_written_is_read_again(sheet: str, name: str, about: str) -> None:
    """A story whose valve turns a millisecond sooner when it is played again may do no harm at all."""
    law = marram().law
    assert law is not None
    scenario, findings = read_scenario(sheet, "made.yaml", RIG, law)
    assert scenario is not None, findings
    scenario = replace(scenario, name=name or "without a name", about=about)
    assert again(scenario) == scenario


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [(2e5, "pressure", "2 bar"), (0.112, "volume", "112 L"), (0.8, "fraction", "80 %"), (816.0, "time", "13.6 min")],
)
def test_figures_are_plain(value: float, dimension: str, text: str) -> None:
    """A person reads the file too."""
    assert figure(value, dimension) == text


@given(some.floats(1e-6, 1e3))
def test_figures_are_exact(value: float) -> None:
    """As `test_what_is_written_is_read_again`, for every quantity that has a unit of factor 1."""
    for dimension in ("pressure", "time", "voltage", "flow", "volume"):
        assert read(figure(value, dimension), dimension) == value
