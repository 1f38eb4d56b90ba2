"""A rig of one tank and a tap, its line laid as a test wants it."""

from __future__ import annotations

from tests.unit.rig.breaking import seen
from ullage.rig.ways import Ways

TANK = """
rig: Laid
tanks:
  high:
    holds: potable
    shape: {box: {length: 1 m, width: 500 mm, height: 300 mm}}
    floor_at: {z: 1 m}
    openings: {low: {at: 10 mm}}
"""
PARTS = {
    "one": "{bore: 20 mm, length: 2 m}",
    "two": "{bore: 20 mm, length: 2 m}",
}


def laid(lines: str, tap: float, more: str = "", point: float = 0.0) -> Ways:
    """The ways of a rig whose tank stands at 1 m, with a tap and a point at some heights [m]."""
    pipes = "".join(f"  {name}: {text}\n" for name, text in PARTS.items() if name in lines)
    points = f"points: {{dip: {{at: {{z: {point} m}}}}}}\n" if "dip" in lines else ""
    fixtures = f"fixtures: {{tap: {{flow: 6 L/min, at: {{z: {tap} m}}}}}}\n"
    text = f"{TANK}{points}pipes:\n{pipes}{fixtures}{more}lines:\n{lines}"
    return seen(text, "laid.yaml").ways
