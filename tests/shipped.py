"""Marram and its scenarios, read once for all tests that play them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from ullage.control.check import Examined, examine
from ullage.simulate.scenario import Scenario, read_scenario

EXAMPLES = Path(__file__).parents[1] / "examples"


@cache
def marram() -> Examined:
    """Marram, examined."""
    path = EXAMPLES / "rigs" / "marram.yaml"
    return examine(path.read_bytes(), path.name)


@cache
def scenario(name: str) -> Scenario:
    """A shipped scenario of Marram."""
    rig, law = marram().rig, marram().law
    assert rig is not None
    assert law is not None
    found, findings = read_scenario((EXAMPLES / "scenarios" / f"{name}.yaml").read_bytes(), name, rig, law)
    assert found is not None, findings
    return found
