"""What can pass a link, which way and against what, one circumstance at a time."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from ullage.hydraulics.fittings import EQUAL_PERCENTAGE, LINEAR, resistance_of_k
from ullage.hydraulics.friction import colebrook
from ullage.hydraulics.network import BACKWARD, FORWARD, Condition, Network, Work, condition_of, work_of
from ullage.hydraulics.passages import PLUGGED, set_passages
from ullage.hydraulics.plumbing import Link
from ullage.hydraulics.tables import tables

LOSS = 4e6
BOTH = FORWARD | BACKWARD


@dataclass
class One:
    """One link from node 1 to node 2, whose ends may look on the face 0 (all heads given)."""

    link: Link = field(default_factory=lambda: Link("one", 1, 2, resistances=[("part", LOSS)]))
    face: float = 0.5

    def __post_init__(self) -> None:
        self.network: Network = tables([self.link], 0, [0.0, 0.0, 0.0], [], colebrook, 1e-6)
        self.condition: Condition = condition_of(self.network)
        self.work: Work = work_of(self.network)
        self.flow = [1e-3]

    def passes(self) -> tuple[float, float, float]:
        """Loss forward, loss backward (-1: nothing passes) and drop."""
        self.count = set_passages(self.network, self.condition, [self.face, 0.0, 0.0], self.flow, self.work)
        return self.work.forward[0], self.work.backward[0], self.work.drop[0]


def test_a_plain_link_passes_both_ways() -> None:
    """The rest means nothing if this is not so."""
    one = One()
    assert one.passes() == (LOSS, LOSS, 0.0)
    assert (one.count, one.work.open_link[0], one.flow[0]) == (1, 0, 1e-3)


def test_a_shut_valve_stops_its_link_and_its_flow() -> None:
    """A flow left standing in a shut line goes on filling the tank on paper."""
    one = One(Link("one", 1, 2, throttles=[("valve", LINEAR, LOSS)]))
    assert one.passes()[:2] == (-1.0, -1.0)
    assert (one.count, one.flow[0]) == (0, 0.0)


@pytest.mark.parametrize(
    ("kind", "opening", "share"),
    [(LINEAR, 0.5, 0.5), (LINEAR, 1.0, 1.0), (EQUAL_PERCENTAGE, 0.5, (50**0.5 - 1) / 49), (EQUAL_PERCENTAGE, 1.0, 1.0)],
)
def test_a_part_open_valve(kind: int, opening: float, share: float) -> None:
    """Half a turn of a ball valve is an eighth of its flow (IEC 60534-2-4, rangeability 50): dp goes as 1 / Kv^2."""
    one = One(Link("one", 1, 2, resistances=[("part", LOSS)], throttles=[("valve", kind, 1e7)]))
    one.condition.opening[0] = opening
    assert one.passes()[0] == pytest.approx(LOSS + 1e7 / share**2)


def test_two_valves_in_series_add() -> None:
    """One of two valves in series that is shut stops the water: that is why there are two."""
    one = One(Link("one", 1, 2, throttles=[("first", LINEAR, 1e7), ("second", LINEAR, 3e7)]))
    one.condition.opening[0] = 1.0
    assert one.passes()[0] == -1.0
    one.condition.opening[1] = 1.0
    assert one.passes()[0] == pytest.approx(4e7)


@pytest.mark.parametrize(("clear", "loss"), [(0.5, 4 * LOSS), (0.1, 100 * LOSS), (PLUGGED, -1.0)])
def test_a_blocked_passage(clear: float, loss: float) -> None:
    """Half the passage passes half the water at the same pressure."""
    one = One()
    one.condition.clear[0] = clear
    assert one.passes()[0] == pytest.approx(loss)


def test_a_check_valve_and_its_leak() -> None:
    """A check valve that leaks by a tenth lets a tenth of the water back, not all of it and not none."""
    one = One(Link("one", 1, 2, way=FORWARD, resistances=[("part", LOSS)]))
    assert one.passes()[:2] == (LOSS, -1.0)
    one.condition.leak[0] = 0.1
    assert one.passes()[:2] == (LOSS, pytest.approx(100 * LOSS))
    one.condition.leak[0] = 1.0
    assert one.passes()[:2] == (LOSS, LOSS)


@pytest.mark.parametrize(
    ("allowed", "forward", "backward"), [(FORWARD, LOSS, -1.0), (BACKWARD, -1.0, LOSS), (0, -1.0, -1.0)]
)
def test_the_plant_may_forbid_a_way(allowed: int, forward: float, backward: float) -> None:
    """An empty accumulator has nothing to give, and a hose that is off lets nothing in."""
    one = One()
    one.condition.way[0] = allowed
    assert one.passes()[:2] == (forward, backward)


def opening(end: str, sill: float, mouth: float = 0.0) -> Link:
    """A link of which one end opens into the tank whose surface is node 0."""
    link = Link("one", 1, 2, resistances=[("part", LOSS)])
    setattr(link, f"{end}_face", 0)
    setattr(link, f"{end}_sill", sill)
    setattr(link, f"{end}_mouth", mouth)
    return link


@pytest.mark.parametrize(
    ("end", "forward", "backward", "drop"), [("start", -1.0, LOSS, -0.2), ("end", LOSS, -1.0, 0.2)]
)
def test_an_opening_that_stands_dry(end: str, forward: float, backward: float, drop: float) -> None:
    """No water runs out of an opening above the surface; what runs in falls from it: 0.2 m of head are lost."""
    assert One(opening(end, sill=0.7)).passes() == pytest.approx((forward, backward, drop))
    assert One(opening(end, sill=0.3)).passes() == (LOSS, LOSS, 0.0)


@pytest.mark.parametrize("end", ["start", "end"])
def test_a_mouth_that_is_part_covered(end: str) -> None:
    """The last centimetres of a tank run out slowly: half the mouth passes at four times its loss, outward only."""
    bore = 0.04
    out, back = One(opening(end, sill=0.48, mouth=bore)).passes()[:2][:: 1 if end == "start" else -1]
    assert out == pytest.approx(LOSS + 3 * resistance_of_k(1.5, bore), rel=1e-3)
    assert back == LOSS
    assert One(opening(end, sill=0.46, mouth=bore)).passes()[:2] == (LOSS, LOSS)


def test_loss_of_a_mouth_falls_as_it_is_covered() -> None:
    """A step in the loss at some level would make the level hang there, going up and down for ever."""
    losses = [One(opening("start", sill=0.5 - 0.04 * k / 50, mouth=0.04)).passes()[0] for k in range(1, 60)]
    assert losses == sorted(losses, reverse=True)
    assert losses[-1] == LOSS
    assert losses[48] == pytest.approx(LOSS, rel=0.05), "nearly covered is nearly free"


@pytest.mark.parametrize(("level", "forward"), [(0.5, LOSS), (0.9 - 2e-9, LOSS), (0.9, -1.0), (0.95, -1.0)])
def test_a_vent_of_a_brimful_tank(level: float, forward: float) -> None:
    """Water in the vent holds the air in; air still comes in as soon as the tank is drawn from."""
    link = opening("start", sill=0.9)
    link.breath = 1
    one = One(link, face=level)
    assert one.passes() == (forward, LOSS, 0.0)
