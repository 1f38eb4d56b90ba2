"""The shut-off margin by hand: Marram's figures worked on paper (closed forms; row GEO-11 for the slope)."""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan
from pathlib import Path

import pytest

from tests.unit.rig.breaking import seen
from ullage.rig.view import View
from ullage.sizing.flows import Moment, flows_at, greatest_inflow
from ullage.sizing.margins import Margin, margins

MARRAM = (Path(__file__).parents[3] / "examples" / "rigs" / "marram.yaml").read_bytes()


@pytest.fixture(scope="module")
def view() -> View:
    """Marram."""
    return seen(MARRAM, "marram.yaml")


def margin_of_fill(view: View) -> Margin:
    """What a fill of belly leads to at worst."""
    inflows = {name: greatest_inflow(view.ways, name).into(name) for name in view.rig.tanks}
    return next(margin for margin in margins(view, inflows) if margin.sequence == "fill")


def test_margin_by_hand(view: View) -> None:
    """A margin that forgets one of its terms lets the last litres onto the floor."""
    rig, fill = view.rig, margin_of_fill(view)
    sender, tank = rig.senders["belly_level"], rig.tanks["belly"]
    assert tank.shape.box is not None
    assert tank.overflow is not None
    area = tank.shape.box.length * tank.shape.box.width
    # a depth read wrong by error + resolution + 3 sigma of noise, over the whole height of the box
    depth = tank.shape.box.height * (sender.error + sender.resolution + 3 * sender.noise)
    depth += abs(sender.x) * tan(rig.slope.ahead) + abs(sender.y) * tan(rig.slope.across)
    assert fill.misread == pytest.approx(area * depth, rel=1e-9)
    # lag 2 s, the last reading believed for 6 s, two scans of 0.5 s, the valve's lease 3 s, stroke 8 s
    assert fill.waits == pytest.approx({"lag": 2, "reading": 6, "scans": 2 * 0.5, "demand": 3, "stroke": 8})
    assert fill.delay == pytest.approx(2 + 6 + 2 * 0.5 + 3 + 8)
    assert fill.overflow == pytest.approx(area * tank.overflow.at, rel=1e-9)
    assert fill.left == pytest.approx(fill.overflow - fill.target - fill.misread - fill.inflow * fill.delay)
    assert fill.safe_target == pytest.approx(fill.target + fill.left)
    assert fill.left > 0


def test_a_sender_off_the_middle_costs_margin(view: View) -> None:
    """GEO-11: 0.4 m off the middle at 3 degrees is 20.96 mm, which is 10 L of Marram's belly."""
    senders = view.rig.senders
    moved = senders | {"belly_level": senders["belly_level"].model_copy(update={"x": 0.4})}
    askew = replace(view, rig=view.rig.model_copy(update={"senders": moved}))
    both = [margin_of_fill(each) for each in (view, askew)]
    area = 0.5
    assert both[1].misread - both[0].misread == pytest.approx(area * 0.4 * tan(radians(3)), rel=1e-3)


def test_the_greatest_inflow_is_no_less_than_any_fill(view: View) -> None:
    """A bound that an ordinary fill exceeds would be no bound."""
    bound = greatest_inflow(view.ways, "belly").into("belly")
    for pressure in (0.5e5, 2e5, 4e5):
        fill = Moment(open=frozenset({"shore_guard", "shore_in"}), pressures={"shore": pressure})
        assert 0 < flows_at(view.rig, fill).into("belly") < bound
