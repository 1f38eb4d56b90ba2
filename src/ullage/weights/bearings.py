"""What axles, wheels and the whole rig bear: moments, and the worst state of each exactly.

On level ground the mass of a tank's content lies over the middle of its floor however full it is
(every shape of the rig file has a plan that is even about its middle; of a strapping table that is
presumed). Every load is then a constant and a factor times each mass: an *affine* function. Such a
function has its greatest and least value where each mass is at one of its ends, and which end is
told by the sign of the factor alone. So the worst state is found exactly and without trying states.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ullage.quantities import Span
from ullage.rig.burden import Axle
from ullage.rig.model import Rig
from ullage.weights.cargo import Item, State


@dataclass(frozen=True, slots=True)
class Bearing:
    """One load as a function of the state.

    Attributes
    ----------
    name : str
        Of the axle; ``AXLE left`` and ``AXLE right`` of its wheels; ``all``; ``sides`` (left minus right).
    base : float
        What it bears of the empty rig [kg].
    factors : tuple of float
        What it bears of each kilogram of each item.
    """

    name: str
    base: float
    factors: tuple[float, ...]

    def of(self, state: State) -> float:
        """The load in a state [kg]."""
        return self.base + sum(factor * mass for factor, mass in zip(self.factors, state, strict=True))

    def worst(self, items: tuple[Item, ...]) -> State:
        """The state in which it is greatest; where an item does not matter, as little of it as can be."""
        return tuple(
            item.mass.most if factor > 0.0 else item.mass.least
            for factor, item in zip(self.factors, items, strict=True)
        )

    def slightest(self, items: tuple[Item, ...]) -> State:
        """The state in which it is least."""
        return self.against().worst(items)

    def against(self) -> Bearing:
        """The same load with the other sign."""
        return Bearing(self.name, -self.base, tuple(-factor for factor in self.factors))

    def range_with(self, items: tuple[Item, ...], held: Mapping[int, float]) -> Span:
        """Least and greatest load [kg] while some items are held at a mass [kg] and the others are free."""
        spans = [Span(held[at], held[at]) if at in held else item.mass for at, item in enumerate(items)]
        ends = [sorted((f * span.least, f * span.most)) for f, span in zip(self.factors, spans, strict=True)]
        return Span(self.base + sum(low for low, _ in ends), self.base + sum(high for _, high in ends))


@dataclass(frozen=True, slots=True)
class Bearings:
    """All loads of a rig on two axles.

    Attributes
    ----------
    front, rear : Bearing
        The axles.
    whole : Bearing
        Both together.
    wheels : tuple of Bearing
        Left and right of the front axle, then of the rear one; empty where the track is not stated.
    sides : Bearing or None
        All left wheels minus all right ones; None where the track is not stated.
    """

    front: Bearing
    rear: Bearing
    whole: Bearing
    wheels: tuple[Bearing, ...] = ()
    sides: Bearing | None = None


def share_ahead(x: float, front: float, rear: float) -> float:
    """Part of a mass that the front axle bears, by moments about the rear one.

    10,000 lb at 120 in behind the front axle of a wheelbase of 150 in: a fifth, 2000 lb (row VEH-01).
    A mass behind the rear axle lifts the front one: 80 kg 1.2 m behind at 3.5 m, -27.429 kg (row VEH-03).
    """
    return (x - rear) / (front - rear)


def axles_of(rig: Rig) -> tuple[tuple[str, Axle], tuple[str, Axle]] | None:
    """The two axles by name, the one ahead first; None for a rig that states none."""
    if len(rig.axles) != 2:
        return None
    rear, front = sorted(rig.axles.items(), key=lambda named: named[1].x)
    return front, rear


def bearings_of(rig: Rig, items: tuple[Item, ...]) -> Bearings | None:
    """The loads of a rig; None while it states no axles.

    Parameters
    ----------
    rig : Rig
    items : tuple of Item
        What it carries.

    Notes
    -----
    An axle that states no weighed load counts as bearing nothing of the empty rig, and one that
    states no left side as bearing the same on both: whoever asks must say so.
    A wheel bears half of what its axle bears, and the moment of that about the middle over the track.
    That holds for a frame which gives; a stiff one shares sides between the axles by their springs.
    """
    both = axles_of(rig)
    if both is None:
        return None
    (front_name, front), (rear_name, rear) = both
    ahead = tuple(share_ahead(item.x, front.x, rear.x) for item in items)
    behind = tuple(1.0 - share for share in ahead)
    in_front = Bearing(front_name, front.weighed or 0.0, ahead)
    in_rear = Bearing(rear_name, rear.weighed or 0.0, behind)
    whole = Bearing("all", in_front.base + in_rear.base, (1.0,) * len(items))
    track = rig.weight.track
    if track is None:
        return Bearings(in_front, in_rear, whole)
    wheels = (*_wheels(front, in_front, items, track), *_wheels(rear, in_rear, items, track))
    base = wheels[0].base - wheels[1].base + wheels[2].base - wheels[3].base
    sides = Bearing("sides", base, tuple(2.0 * item.y / track for item in items))
    return Bearings(in_front, in_rear, whole, wheels, sides)


def _wheels(axle: Axle, bearing: Bearing, items: tuple[Item, ...], track: float) -> tuple[Bearing, Bearing]:
    left = 0.5 * bearing.base if axle.left is None else axle.left
    halves = [
        tuple(
            share * (0.5 + side * item.y / track)
            for share, item in zip(bearing.factors, items, strict=True)
        )
        for side in (1.0, -1.0)
    ]  # fmt: skip
    return (
        Bearing(f"{bearing.name} left", left, halves[0]),
        Bearing(f"{bearing.name} right", bearing.base - left, halves[1]),
    )
