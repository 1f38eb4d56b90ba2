"""The shut-off margin by hand: Marram's figures worked on paper (closed forms; row GEO-11 for the slope)."""

from __future__ import annotations

from math import radians, tan
from pathlib import Path

import pytest

from ullage.rig.law import read_law
from ullage.rig.model import Rig
from ullage.rig.read import read_rig
from ullage.sizing.flows import Moment, flows_at, greatest_inflow
from ullage.sizing.margins import margins

MARRAM = (Path(__file__).parents[3] / "examples" / "rigs" / "marram.yaml").read_bytes()


@pytest.fixture(scope="module")
def rig() -> Rig:
    """Marram."""
    rig, findings, _ = read_rig(MARRAM, "marram.yaml")
    assert rig is not None, findings
    return rig


def test_margin_by_hand(rig: Rig) -> None:
    """A margin that forgets one of its terms lets the last litres onto the floor."""
    law, _ = read_law(rig, read_rig(MARRAM, "")[2])
    fill = next(margin for margin in margins(rig, law) if margin.sequence == "fill")
    sender, tank = rig.senders["belly_level"], rig.tanks["belly"]
    assert tank.shape.box is not None
    assert tank.overflow is not None
    area = tank.shape.box.length * tank.shape.box.width
    # a depth read wrong by error + resolution + 3 sigma of noise, over the whole height of the box
    depth = tank.shape.box.height * (sender.error + sender.resolution + 3 * sender.noise)
    depth += abs(sender.x) * tan(rig.slope.ahead) + abs(sender.y) * tan(rig.slope.across)
    assert fill.misread == pytest.approx(area * depth, rel=1e-9)
    # reading every 2 s, lag 2 s, two scans of 0.5 s, demand over the radio 0.4 s, stroke 8 s
    assert fill.delay == pytest.approx(2 + 2 + 2 * 0.5 + 0.4 + 8)
    assert fill.overflow == pytest.approx(area * tank.overflow.at, rel=1e-9)
    assert fill.left == pytest.approx(fill.overflow - fill.target - fill.misread - fill.inflow * fill.delay)
    assert fill.safe_target == pytest.approx(fill.target + fill.left)
    assert fill.left > 0


def test_a_sender_off_the_middle_costs_margin(rig: Rig) -> None:
    """GEO-11: 0.4 m off the middle at 3 degrees is 20.96 mm, which is 10 L of Marram's belly."""
    moved = rig.model_copy(
        update={"senders": rig.senders | {"belly_level": rig.senders["belly_level"].model_copy(update={"x": 0.4})}}
    )
    law, _ = read_law(moved, read_rig(MARRAM, "")[2])
    both = [next(m for m in margins(r, law) if m.sequence == "fill") for r in (rig, moved)]
    area = 0.5
    assert both[1].misread - both[0].misread == pytest.approx(area * 0.4 * tan(radians(3)), rel=1e-3)


def test_the_greatest_inflow_is_no_less_than_any_fill(rig: Rig) -> None:
    """A bound that an ordinary fill exceeds would be no bound."""
    bound = greatest_inflow(rig, "belly").into("belly")
    for pressure in (0.5e5, 2e5, 4e5):
        fill = Moment(open=frozenset({"shore_guard", "shore_in"}), pressures={"shore": pressure})
        assert 0 < flows_at(rig, fill).into("belly") < bound
