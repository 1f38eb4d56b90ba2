"""The shut-off margin: how much water still comes after the decision to stop, and where that ends.

A target is reached for the law when the reading says so. By then the true volume may be
higher: the sender may read low by its error, its resolution and its noise, and on a slope it
looks at another depth than the middle of the tank. And water goes on running while the
reading is on its way, the scan comes round, the demand travels and the valve turns:

    V = V(reading + error, worst slope) + Q (lag + stale + 2 scan + lease + stroke)

A reading may be lost, and the next ones too: the law believes the last one until it is stale, and
stops then. So may a demand: the valve's board believes its last one until the lease lapses. What
is heard at once is heard within these times. The stroke is the longest among the valves that end
the flow, so the margin holds although any quicker one stays open; while a valve turns it is taken
to pass everything.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ullage.rig.meaning import All, AnyOf, Bounds, Chart, Condition, Held, Linear, Not, Symbol
from ullage.rig.model import Rig, Sender
from ullage.rig.sensing import doubt, interval, stale_after
from ullage.rig.shapes import depth, spills_at, volume
from ullage.rig.view import View
from ullage.sizing.flows import slopes


@dataclass(frozen=True, slots=True)
class Margin:
    """What a target leads to at worst.

    Attributes
    ----------
    sequence, parameter, tank, sender : str
        The wish, the tank that is filled, and the sender that is asked.
    target : float
        The greatest wish [m3].
    misread : float
        Volume by which the truth may lie above the reading [m3].
    inflow : float
        Greatest flow into the tank [m3/s].
    waits : mapping of str to float
        What passes from the crossing to the closed valve, and how long each takes [s].
    overflow : float
        Volume at which water runs out of the overflow, at the worst slope [m3].
    """

    sequence: str
    parameter: str
    tank: str
    sender: str
    target: float
    misread: float
    inflow: float
    waits: Mapping[str, float]
    overflow: float

    @property
    def delay(self) -> float:
        """From the crossing to the closed valve [s]."""
        return sum(self.waits.values())

    @property
    def after_run(self) -> float:
        """Volume that still comes after the crossing [m3]."""
        return self.inflow * self.delay

    @property
    def ends_at(self) -> float:
        """Volume in the tank when the flow has stopped, at worst [m3]."""
        return self.target + self.misread + self.after_run

    @property
    def left(self) -> float:
        """Room that is left below the overflow at worst [m3]; below zero it runs over."""
        return self.overflow - self.ends_at

    @property
    def safe_target(self) -> float:
        """The greatest wish that cannot reach the overflow [m3]."""
        return self.target + self.left


def margins(view: View, inflows: Mapping[str, float]) -> tuple[Margin, ...]:
    """The margin of every wish that ends a filling: a parameter that a transition compares with a sender.

    Parameters
    ----------
    view : View
    inflows : mapping of str to float
        Greatest flow into each tank [m3/s], see `ullage.sizing.flows.greatest_inflow`.
    """
    return tuple(
        _margin(view.rig, chart.name, bounds, symbol, inflows)
        for chart in view.law.charts
        for bounds, symbol in _wishes(chart)
    )


def _wishes(chart: Chart) -> Iterator[tuple[Bounds, Symbol]]:
    """Parameters that stand against a level from above: ``level >= target``."""
    bounds = {bound.symbol: bound for bound in chart.parameters}
    found = dict.fromkeys(
        (bounds[parameter], level)
        for transition in chart.transitions
        if transition.guard is not None
        for linear in _comparisons(transition.guard)
        for level in _of_sign(linear, 1, "sender")
        for parameter in _of_sign(linear, -1, "parameter")
    )
    return iter(found)


def _of_sign(linear: Linear, sign: int, kind: str) -> list[Symbol]:
    """Symbols of a kind that push the comparison towards true (1) or away from it (-1)."""
    way = sign if linear.op in (">", ">=") else -sign
    return [symbol for factor, symbol in linear.terms if symbol.kind == kind and factor * way > 0]


def _comparisons(condition: Condition) -> Iterator[Linear]:
    match condition:
        case All(parts) | AnyOf(parts):
            for part in parts:
                yield from _comparisons(part)
        case Not(part) | Held(part, _):
            yield from _comparisons(part)
        case Linear():
            yield condition


def _margin(rig: Rig, sequence: str, bounds: Bounds, symbol: Symbol, inflows: Mapping[str, float]) -> Margin:
    assert symbol.tank is not None
    tank, sender = rig.tanks[symbol.tank], rig.senders[symbol.name]
    return Margin(
        sequence=sequence,
        parameter=bounds.symbol.name,
        tank=symbol.tank,
        sender=symbol.name,
        target=bounds.most,
        misread=misread(rig, sender, bounds.most),
        inflow=inflows[symbol.tank],
        waits=waits(rig, sequence, sender),
        overflow=min(volume(tank.shape, spills_at(tank), ahead, across) for ahead, across in slopes(rig)),
    )


def misread(rig: Rig, sender: Sender, content: float) -> float:
    """How far the true volume may lie above a volume that a sender shows [m3].

    The reading is a depth at the sender's place; on a slope the middle of the tank is deeper
    than that by the rise between the two (row GEO-11).
    """
    shape = rig.tanks[sender.on].shape
    highest = depth(shape, content) + doubt(sender, shape)
    worst = max(
        volume(shape, highest + abs(sender.x * ahead) + abs(sender.y * across), ahead, across)
        for ahead, across in slopes(rig)
    )
    return worst - content


def waits(rig: Rig, sequence: str, sender: Sender) -> dict[str, float]:
    """What passes between the crossing of a level and the closed valve, and how long each takes at worst [s]."""
    demanded = {output for step in rig.sequences[sequence].steps.values() for output in step.demand}
    demanded |= {o for s in rig.sequences[sequence].steps.values() for action in s.actions for o in action.demand}
    valves = [valve for name, valve in rig.valves.items() if name in demanded]
    strokes = [valve.motor.stroke.most + valve.safe_after for valve in valves if valve.motor]
    obeyed = [max(_delay_of(rig, valve.board), valve.lease or 0.0) for valve in valves]
    believed = max(stale_after(sender), interval(sender) + _delay_of(rig, sender.board))
    return {
        "lag": sender.lag,
        "reading": believed,
        "scans": 2 * rig.scan,
        "demand": max(obeyed, default=0.0),
        "stroke": max(strokes, default=0.0),
    }


def _delay_of(rig: Rig, board: str | None) -> float:
    """Longest time on the way to or from a board [s]."""
    return rig.boards[board].delay.most if board in rig.boards else 0.0
