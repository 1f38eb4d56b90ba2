"""Findings of the law's own floor: each on one broken rig, and its absence on one that looks alike."""

from __future__ import annotations

import pytest

from tests.unit.control.desk import HEAD
from ullage.control.check import check_actions
from ullage.control.compile import compile_rig
from ullage.rig.law import read_law
from ullage.rig.read import read_rig

CHART = """
sequences:
  run:
    {more}
    steps: {{one: initial, two: {two}, end: {end}}}
    transitions: [one -> two, two -> end when {when}]
"""


def codes_of(more: str = "confirm: false", two: str = "{}", end: str = "final", when: str = "a") -> set[str]:
    """Codes found in a rig with one sequence."""
    text = HEAD.replace("FEEDBACK", "none").replace("GESTURE", "run")
    rig, findings, places = read_rig(text + CHART.format(more=more, two=two, end=end, when=when), "desk.yaml")
    assert rig is not None, findings
    law, unclear = read_law(rig, places)
    assert not unclear, unclear
    _, too_large = compile_rig(rig, law)
    found = check_actions(rig, places) + too_large
    assert all(finding.place.line > 0 for finding in found)
    return {finding.code for finding in found}


OUT = "{demand: {outlet: open}}"


@pytest.mark.parametrize(
    ("code", "broken", "alike"),
    [
        ("S490", {"when": "0.12345 * level > 2 L"}, {"when": "0.123 * level > 2 L"}),
        ("S491", {"when": "90000 * level > 2 L"}, {"when": "9 * level > 2 L"}),
        (
            "S492",
            {"end": "{final: true, demand: {inlet: open}}"},
            {"end": "{final: true, demand: {inlet: closed, red: lit}}"},
        ),
        ("S493", {"more": "{confirm: true, begins: a}"}, {"more": "{confirm: false, begins: a}"}),
        (
            "S494",
            {"two": "{actions: [{demand: {red: lit}, as: D}]}"},
            {"two": "{actions: [{demand: {red: lit}, as: D, time: 1 s}]}"},
        ),
        (
            "S494",
            {"two": "{actions: [{demand: {red: lit}, as: S, time: 1 s}]}"},
            {"two": "{actions: [{demand: {red: lit}, as: S}]}"},
        ),
        ("S495", {"two": OUT}, {"two": OUT, "more": "confirm: true"}),
    ],
)
def test_finding(code: str, broken: dict[str, str], alike: dict[str, str]) -> None:
    """Each of these lets water out that nobody ended or asked for, or decides otherwise on a small board."""
    for parts, found in ((broken, True), (alike, False)):
        more = parts.get("more", "confirm: false").strip("{}").replace(", ", "\n    ")
        assert (code in codes_of(**(parts | {"more": more}))) is found, parts
