"""What a part that senses can tell: from where to where, how far off it may be, and for how long it is believed."""

from __future__ import annotations

from ullage.rig.model import Float, Meter, Probe, Sender, Shape
from ullage.rig.shapes import height

NOISE_WIDTH = 3.0
"""Noise of a sender goes to this many standard deviations and no further: common practice, no source.

Margins are reckoned with it, the plant keeps to it, and what is proved holds up to it."""

FLOAT_TRAVEL = 0.005
"""A float in series with a coil falls so much lower than it rises [m]: common practice, no source."""

STALE_READINGS = 3
"""A reading of a part that states no staleness is believed until so many of its time have gone by without another."""


def top(sender: Sender, shape: Shape) -> float:
    """Depth at which a sender reads full [m]: as stated, else the brim."""
    return height(shape) if sender.full_at is None else sender.full_at


def span(sender: Sender, shape: Shape) -> float:
    """From the depth at which a sender reads empty to that at which it reads full [m]."""
    return top(sender, shape) - sender.zero_at


def doubt(sender: Sender, shape: Shape) -> float:
    """How far the depth that a sender shows may be off at its place [m]: its error, resolution and noise.

    A span of 320 mm with 2 % error, 0.5 % resolution and 0.3 % noise: 10.88 mm.
    """
    return span(sender, shape) * (sender.error + sender.resolution + NOISE_WIDTH * sender.noise)


def falls_at(switch: Float) -> float:
    """Height over the floor at which a float in series with a coil falls again [m]: half its own at least."""
    return max(switch.at - FLOAT_TRAVEL, 0.5 * switch.at)


def interval(part: Sender | Float | Meter | Probe) -> float:
    """Longest time between two readings [s]: one that is published on change comes at its heartbeat at least."""
    return part.every if part.published == "always" or part.heartbeat is None else part.heartbeat


def stale_after(part: Sender | Float | Meter | Probe) -> float:
    """Age at which a reading is no longer believed [s]: as stated, else that of three intervals."""
    return STALE_READINGS * interval(part) if part.stale is None else part.stale
