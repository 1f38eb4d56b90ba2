"""All that a rig may carry: the contents of its tanks and the masses beside them, each between two limits.

A *state* is one mass for each of them [kg], in order: the tanks of the file, then its masses.
"""

from __future__ import annotations

from dataclasses import dataclass

from ullage.quantities import Span
from ullage.rig.model import Rig, Shape
from ullage.rig.shapes import capacity, depth
from ullage.weights.contents import lift

State = tuple[float, ...]
"""A mass for each item [kg], in their order."""


@dataclass(frozen=True, slots=True)
class Item:
    """Something that the rig carries more or less of.

    Attributes
    ----------
    name : str
        Of the tank, or of the mass.
    x, y : float
        Where its mass lies [m]: x forward from the rear axle, y to the left. Level ground.
    z : float
        Height of a tank's floor, or of a mass, above the ground [m].
    mass : Span
        Least and most [kg].
    shape : Shape or None
        Of a tank.
    density : float
        Of its content [kg/m3]; without meaning for a mass.
    """

    name: str
    x: float
    y: float
    z: float
    mass: Span
    shape: Shape | None = None
    density: float = 0.0

    def surface(self, mass: float) -> float:
        """Height at which the next kilogram would lie [m]."""
        return self.z if self.shape is None else self.z + depth(self.shape, mass / self.density)

    def lifted(self, mass: float) -> float:
        """Moment of a mass of it about the ground, mass times height [kg m]."""
        if self.shape is None:
            return mass * self.z
        return mass * self.z + self.density * lift(self.shape, depth(self.shape, mass / self.density))


def items_of(rig: Rig, density: float) -> tuple[Item, ...]:
    """What a rig may carry: tanks from empty to their overflow, masses over their range.

    Parameters
    ----------
    rig : Rig
    density : float
        Of water at its densest [kg/m3]. 100 L at 4 degC: 99.9975 kg (row VEH-04).

    Notes
    -----
    Sequences stop below the overflow, yet a can that is poured in, or a sender that errs, does
    not: what a tank can hold counts, not what is wished.
    """
    tanks = tuple(
        Item(
            name, part.floor_at.x, part.floor_at.y, part.floor_at.z, Span(0.0, density * capacity(part)),
            part.shape, density,
        )
        for name, part in rig.tanks.items()
    )  # fmt: skip
    masses = tuple(Item(name, part.at.x, part.at.y, part.at.z, part.mass) for name, part in rig.masses.items())
    return (*tanks, *masses)


def least(items: tuple[Item, ...]) -> State:
    """The state with nothing in it that can be away [kg]."""
    return tuple(item.mass.least for item in items)


def most(items: tuple[Item, ...]) -> State:
    """The state with everything full [kg]."""
    return tuple(item.mass.most for item in items)
