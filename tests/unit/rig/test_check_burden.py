"""Findings on axles, drain cocks, filters and the disinfectant."""

from __future__ import annotations

import pytest

from tests.unit.rig.breaking import Case, changed, found, told
from ullage.rig.read import read_rig

HANDSET = "handset:\n"


def added(text: str) -> dict[str, str]:
    """The sound rig with a line more."""
    return {HANDSET: f"{text}\n{HANDSET}"}


FRONT, REAR = "front: {x: 3 m, limit: 2 t, weighed: 1.5 t, left: 700 kg}", "rear: {x: 0 m}"
BOTH = added(f"axles: {{{FRONT}, {REAR}}}")
BLEACH = "strength: 5.25 %, stated: w/w, density: 1.08 kg/L"
FILTER = "filters: {fine: {at: to_tap, every: 90 d}}"
MASS = "masses: {dog: {mass: 30 kg, at: {x: 1 m}}}"

CASES = [
    Case("L801", "front", added(f"axles: {{{FRONT}}}"), BOTH),
    Case("L801", "front", added(f"axles: {{{FRONT}, {REAR}, tag: {{x: -1 m}}}}"), BOTH),
    Case("L802", "front", added(f"axles: {{{FRONT.replace('3 m', '0.4 m')}, {REAR}}}"), BOTH),
    Case("L803", "front", added(f"axles: {{{FRONT.replace('700 kg', '1501 kg')}, {REAR}}}"), BOTH),
    Case("L803", "front", added(f"axles: {{{FRONT.replace('weighed: 1.5 t, ', '')}, {REAR}}}"), BOTH),
    Case(
        "L804",
        "disinfectant",
        added("disinfectant: {strength: 5.25 %, stated: w/w}"),
        added(f"disinfectant: {{{BLEACH}}}"),
    ),
    Case(
        "L805",
        "disinfectant",
        added("disinfectant: {strength: 28 %, stated: w/v}"),
        added("disinfectant: {strength: 15 %, stated: w/v}"),
    ),
    Case("N203", "cock", added("drains: {cock: {at: cellar}}"), added("drains: {cock: {at: manifold}}")),
    Case("N203", "cock", added("drains: {cock: {at: fresh.hatch}}"), added("drains: {cock: {at: fresh.low}}")),
    Case("N203", "fine", added(FILTER.replace("to_tap", "manifold")), added(FILTER)),
    Case("N201", "guard", added(MASS.replace("dog", "guard")), added(MASS)),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_each_slip_is_found(case: Case) -> None:
    """A rig on axles that cannot be, or a dose from half a label, gives figures that look right."""
    assert case.code in told(case.broken, on=case.at)
    assert not told(case.near_miss)


@pytest.mark.parametrize(
    "text",
    [
        "axles: {front: {x: 3 m, limit: 0 kg}, rear: {x: 0 m}}",
        "weight: {track: 5 mm}",
        "weight: {gross: 3.5 m}",
        "masses: {people: {mass: 150 kg .. 0 kg, at: {x: 1 m}}}",
        "disinfectant: {strength: 60 %, stated: w/v}",
        "disinfectant: {strength: 5 %, stated: by feel}",
        "filters: {fine: {at: to_tap, every: 1 h}}",
    ],
)
def test_nonsense_is_refused_where_it_stands(text: str) -> None:
    """A track of five millimetres would make a wheel bear tons, and the reader would look for the load."""
    rig, findings, _ = read_rig(changed(added(text)), "sound.yaml")
    assert rig is None
    assert {finding.code for finding in findings} <= {"R115", "R116", "R117"}
    assert all(finding.place.line for finding in findings)


def test_the_words_of_a_finding_name_the_figures() -> None:
    """A finding without its figures sends a person to search the whole file."""
    (finding,) = found(added(f"axles: {{{FRONT.replace('700 kg', '1501 kg')}, {REAR}}}"))
    assert "1501 kg" in finding.what
    assert "1500 kg" in finding.what
