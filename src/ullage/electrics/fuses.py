"""Fuses: the rating that guards a wire and does not blow in use."""

from __future__ import annotations

RATINGS = (
    1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 125.0, 150.0,
    175.0, 200.0, 250.0, 300.0,
)  # fmt: skip
"""Ratings that are sold [A] (blade and bolt-down fuses, ISO 8820-3 and ISO 8820-5, from memory)."""

ABOVE_USE = 1.25
"""A fuse is rated for this many times the lasting current at least, so that it does not age (common practice)."""


AT_START = 2.0
"""A blade fuse bears this many times its rating for 0.15 s at least, about as long as a motor takes to start
(ISO 8820-3, from memory)."""


def least_rating(current: float, starting: float) -> float:
    """What a fuse must be rated for at least, so that it neither ages in use nor blows at a start [A].

    ``max(1.25 I, I_start / 2)``. A pump of 7 A that starts with 20 A: 10 A.

    Parameters
    ----------
    current, starting : float
        In use, and at the start [A].
    """
    return max(ABOVE_USE * current, starting / AT_START)


def suggested(least: float, carried: float) -> float | None:
    """The least fuse that is sold which stands the use and still guards the wire [A]; None: there is none.

    8.75 A on 2.5 mm2, which carries 25 A: 10 A.

    Parameters
    ----------
    least : float
        See `least_rating` [A].
    carried : float
        The most that the wire may carry [A].
    """
    return next((rating for rating in RATINGS if least <= rating <= carried), None)
