"""The height of the centre of gravity, and the slope on which a rig would tip, at their worst.

Neither is affine: a little water in a low tank lowers the centre, much of it in a high one lifts
it. Both are a quotient of two sums over the items,

    height = (M h + sum of lifted(m)) / (M + sum of m)

and the greatest quotient N / D is found by Dinkelbach's method (Management Science 13 (1967)
492): with a guess v, the state with the greatest N - v D gives the next guess, until N - v D is
nothing; the guesses only rise. For a given v each item counts by itself, and what it adds,
lifted(m) - v m, bends upwards, since each further kilogram of a tank lies higher than the one before. A
function that bends upwards is greatest at an end: so for the worst state each tank is full or empty.
The lowest centre may lie in between, where a surface stands as high as the centre itself; it hurts
nobody and is not looked for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import atan

from ullage.weights.cargo import Item, State

_STEPS_LIMIT = 50
"""Steps of Dinkelbach's method; it needs less than ten."""

_SMALL = 1e-9
"""A guess is right when it gains no more than this part of itself."""


@dataclass(frozen=True, slots=True)
class Body:
    """The empty rig as one mass.

    Attributes
    ----------
    mass : float
        As weighed [kg].
    y : float
        How far left of the middle its centre lies [m].
    z : float
        Height of its centre above the ground [m].
    """

    mass: float
    y: float
    z: float


def centre_height(body: Body, items: tuple[Item, ...], state: State) -> float:
    """Height of the centre of gravity in a state [m]."""
    lifted = body.mass * body.z + sum(item.lifted(mass) for item, mass in zip(items, state, strict=True))
    return lifted / (body.mass + sum(state))


def highest(body: Body, items: tuple[Item, ...]) -> State:
    """The state in which the centre of gravity is highest."""
    return _greatest(
        items, lambda item, mass: item.lifted(mass), lambda item, mass: mass, (body.mass * body.z, body.mass)
    )


def tips_at(body: Body, items: tuple[Item, ...], state: State, track: float) -> float:
    """Slope across on which a rig at rest tips over its lower wheels [rad], its springs left out of account.

    ``tan(slope) = (track / 2 - offset) / height``. A centre 1.0 m high, in the middle of a track of
    1.7 m: 40.4 deg. Springs and slosh make it less.
    """
    leaning = body.mass * body.y + sum(item.y * mass for item, mass in zip(items, state, strict=True))
    offset = abs(leaning) / (body.mass + sum(state))
    return atan((0.5 * track - offset) / centre_height(body, items, state))


def tippiest(body: Body, items: tuple[Item, ...], track: float) -> State:
    """The state in which it tips soonest, to the left or to the right.

    Of height over (half the track less the offset to one side) the greatest, for each side.
    """
    half = 0.5 * track
    found = []
    for side in (1.0, -1.0):
        reach = body.mass * (half - side * body.y)

        def arm(item: Item, mass: float, side: float = side) -> float:
            return mass * (half - side * item.y)

        found.append(_greatest(items, lambda item, mass: item.lifted(mass), arm, (body.mass * body.z, reach)))
    return min(found, key=lambda state: tips_at(body, items, state, track))


def _greatest(
    items: tuple[Item, ...],
    over: Callable[[Item, float], float],
    under: Callable[[Item, float], float],
    base: tuple[float, float],
) -> State:
    """The state with the greatest quotient of two sums over the items (Dinkelbach); the lower stays above zero."""
    ends = [
        [(mass, over(item, mass), under(item, mass)) for mass in (item.mass.least, item.mass.most)] for item in items
    ]
    chosen = [both[0] for both in ends]
    quotient = 0.0
    for _ in range(_STEPS_LIMIT):
        upper, lower = base[0] + sum(c[1] for c in chosen), base[1] + sum(c[2] for c in chosen)
        if upper - quotient * lower <= _SMALL * abs(upper):
            break
        quotient = upper / lower
        chosen = [max(both, key=lambda end: end[1] - quotient * end[2]) for both in ends]
    return tuple(mass for mass, _, _ in chosen)
