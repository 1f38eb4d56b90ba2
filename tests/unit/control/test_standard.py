"""What remains of the SEQ rows: branching marks, errors in charts, the cause-and-effect rule."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.control.desk import HEAD, Desk
from ullage.control.check import examine

RIGS = sorted((Path(__file__).parents[3] / "examples" / "rigs").glob("*.yaml"))


def test_seq_01_no_qualifier_means_n() -> None:
    """SEQ-01 (Bolton, PLCs 4th ed.): an action without a qualifier acts while its step is active, no longer."""
    desk = Desk(
        """
sequences:
  run:
    steps:
      one: initial
      short: {demand: {red: lit}}
      long: {actions: [{demand: {blue: lit}}]}
      end: final
    transitions: [one -> short, short -> long when a, long -> end when b]
"""
    )
    desk.start()
    desk.scan()
    assert (desk.demand("red"), desk.demand("blue")) == ("lit", "dark")
    desk.scan(a=1)
    assert (desk.demand("red"), desk.demand("blue")) == ("dark", "lit")
    desk.scan(b=1)
    assert (desk.demand("red"), desk.demand("blue")) == ("dark", "dark")


FORK = """
sequences:
  run:
    steps: {one: initial, left: {}, right: {}, joined: {}, end: final}
    transitions: [one -> left + right, JOIN, joined -> end when a]
"""


@pytest.mark.parametrize(
    ("join", "unsafe"),
    [("left + right -> joined when b", False), ("left -> joined when b, right -> joined when c", True)],
)
def test_seq_25_a_divergence_that_does_not_converge(join: str, unsafe: bool) -> None:
    """SEQ-25 (from memory): branches that meet one by one multiply tokens; such a chart is refused."""
    text = HEAD.replace("FEEDBACK", "none").replace("GESTURE", "run") + FORK.replace("JOIN", join)
    codes = {finding.code for finding in examine(text, "fork.yaml").findings}
    assert ("S418" in codes) is unsafe


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_seq_27_every_cause_has_an_effect_and_every_effect_a_cause(path: Path) -> None:
    """SEQ-27 (IEC 62881, from memory): an interlock that drives nothing, or drives it where it always is."""
    examined = examine(path.read_bytes(), path.name)
    assert examined.program is not None, examined.findings
    t = examined.program.tables
    for i, name in enumerate(examined.program.names.interlocks):
        assert t.drive_first[i] < t.drive_first[i + 1], f"{name} has no effect"
    moved = {(o, v) for o, v in zip(t.action_output, t.action_value, strict=True)}
    for output, value in zip(t.drive_output, t.drive_value, strict=True):
        assert any(o == output and v != value for o, v in moved), "no sequence asks for what is prevented"
    if examined.rig and examined.rig.floats and examined.rig.interlocks:
        idle = f"interlocks:\n  idle: {{when: {next(iter(examined.rig.floats))}, drive: {{}}, why: nothing}}\n"
        text = path.read_text("utf8").replace("interlocks:\n", idle)
        assert "I508" in {finding.code for finding in examine(text, path.name).findings}
