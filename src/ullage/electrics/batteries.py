"""How long batteries last: Peukert's law in its rated-hour form, and a handset that sleeps most of the time."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log

from ullage.rig.supply import Handset, Power, Rating

OLD = 0.8
"""Part of its charge that a small battery still gives when it is old and cold (common practice, no source)."""


def exponent(first: Rating, second: Rating) -> float:
    """Peukert's exponent from two ratings of a battery [-].

    ``n = ln(t1 / t2) / ln(I2 / I1)`` with the mean currents I. 100 Ah within 20 h and 80 Ah within 5 h:
    1.19184 (row ELE-08).

    Raises
    ------
    ZeroDivisionError
        When both give the same current.
    """
    currents = first.capacity / first.over, second.capacity / second.over
    return log(first.over / second.over) / log(currents[1] / currents[0])


def run_time(capacity: float, rated_over: float, peukert: float, current: float) -> float:
    """Time for which a battery gives a current [s], by Peukert's law in rated-hour form.

    ``t = R (C / (R I))^n``: at the rated current it is the rated time, which the plain form
    ``C / I^n`` misses (row ELE-05). 100 Ah within 20 h, n 1.2, 10 A: 8.7055 h. Below the rated
    current the law would promise more charge than the battery has; then it gives its capacity.

    Parameters
    ----------
    capacity : float
        Rated charge [C].
    rated_over : float
        Time in which that charge was taken [s].
    peukert : float
        Exponent, 1 or more [-].
    current : float
        [A], 0 or more.
    """
    if current <= 0.0:
        return inf
    if current * rated_over <= capacity:
        return capacity / current
    return float(rated_over * (capacity / (rated_over * current)) ** peukert)


def exponent_of(power: Power) -> float:
    """Peukert's exponent of a rig's battery [-]; 1 where its file gives one rating only."""
    if power.quicker is None:
        return 1.0
    return exponent(Rating.model_construct(capacity=power.capacity, over=power.rated_over), power.quicker)


@dataclass(frozen=True, slots=True)
class HandsetLife:
    """How long a handset lives on one charge.

    Attributes
    ----------
    shares : tuple of (str, float)
        Mean current of sleep and of each waking [A].
    new, old : float
        Life with the full charge, and with what an old battery gives [s].
    """

    shares: tuple[tuple[str, float], ...]
    new: float
    old: float

    @property
    def mean(self) -> float:
        """Mean current [A]."""
        return sum(current for _, current in self.shares)


def handset_life(handset: Handset) -> HandsetLife | None:
    """Life of a handset from its duty cycle; None where battery, sleep or wakings are not stated.

    The mean of the currents over time, divided into the charge. 40 mA for 2 s and 20 uA for the
    rest of each minute from 1000 mAh: 1.35267 mA, 30.803 days (row ELE-13).
    """
    if handset.battery is None or handset.sleeps is None or not handset.wakes:
        return None
    awake = sum(wake.lasts / wake.every for wake in handset.wakes.values())
    shares = [("sleep", handset.sleeps * (1.0 - awake))]
    shares += [(name, wake.draws * wake.lasts / wake.every) for name, wake in handset.wakes.items()]
    mean = sum(current for _, current in shares)
    life = handset.battery / mean if mean > 0.0 else inf
    return HandsetLife(tuple(shares), life, OLD * life)
