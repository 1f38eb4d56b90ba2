"""Findings of the law's own floor: each on one broken rig, and its absence on one that looks alike."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.control.desk import HEAD
from tests.unit.rig.breaking import seen
from ullage.control.check import check_actions, examine
from ullage.control.compile import compile_rig
from ullage.findings import Finding

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
    text = text.replace("holds: potable", "holds: waste")
    view = seen(text + CHART.format(more=more, two=two, end=end, when=when), "desk.yaml")
    _, too_large = compile_rig(view.rig, view.law)
    found = check_actions(view) + too_large
    assert all(finding.place.line > 0 for finding in found)
    return {finding.code for finding in found}


OUT = "{demand: {outlet: open}}"


@pytest.mark.parametrize(
    ("code", "broken", "alike"),
    [
        ("S490", {"when": "0.12345 * level > 2 L"}, {"when": "0.123 * level > 2 L"}),
        ("S491", {"when": "90000 * level > 2 L"}, {"when": "9 * level > 2 L"}),
        ("S491", {"more": "{permit: 90000 * level > 2 L}"}, {"more": "{permit: 9 * level > 2 L}"}),
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
        ("S495", {"two": "{actions: [{demand: {outlet: open}, as: S}]}"}, {"two": "{demand: {inlet: open}}"}),
    ],
)
def test_finding(code: str, broken: dict[str, str], alike: dict[str, str]) -> None:
    """Each of these lets water out that nobody ended or asked for, or decides otherwise on a small board."""
    for parts, found in ((broken, True), (alike, False)):
        more = parts.get("more", "confirm: false").strip("{}").replace(", ", "\n    ")
        assert (code in codes_of(**(parts | {"more": more}))) is found, parts


MARRAM = Path(__file__).parents[3] / "examples" / "rigs" / "marram.yaml"
ACCEPTED = "accepts:\n"


def accepting(line: str) -> list[Finding]:
    """What is left to mend in the demo rig with one more acceptance."""
    text = MARRAM.read_text("utf8").replace(ACCEPTED, f"{ACCEPTED}  - {line}\n", 1)
    return [finding for finding in examine(text, "rig.yaml").findings if finding.stands]


@pytest.mark.parametrize("line", ["{finding: P302, on: belly, why: WHY}", "{finding: P302, why: WHY}"])
def test_an_acceptance_of_nothing_is_told(line: str) -> None:
    """An acceptance left behind would hide its caution in silence when the rig deserves it again."""
    (finding,) = accepting(line.replace("WHY", "it was like this once"))
    assert finding.code == "N212"
    assert finding.entry.level == "caution"
    assert "P302" in finding.what
    row = MARRAM.read_text("utf8").splitlines().index(ACCEPTED.strip()) + 2
    assert finding.place.line == row


def test_an_acceptance_without_a_part_is_for_any_part() -> None:
    """A person who accepts a caution wherever it is must not be told that it is nowhere."""
    assert accepting("{finding: P309, why: every hose is unhooked}") == []


def test_an_acceptance_of_nothing_can_be_accepted() -> None:
    """A rig that is carried from summer to winter and back must not nag half the year."""
    lines = "{finding: P302, on: belly, why: in winter only}\n  - {finding: N212, on: belly, why: in winter only}"
    assert accepting(lines) == []
