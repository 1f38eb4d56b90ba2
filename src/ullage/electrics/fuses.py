"""Fuses: the rating that guards a wire and does not blow in use."""

from __future__ import annotations

RATINGS = (
    1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 125.0, 150.0,
    175.0, 200.0, 250.0, 300.0,
)  # fmt: skip
"""Ratings that are sold [A] (blade and bolt-down fuses, ISO 8820-3 and ISO 8820-5, from memory)."""

ABOVE_USE = 1.25
"""A fuse is rated for this many times the lasting current at least, so that it does not age (common practice)."""


def suggested(current: float, carried: float) -> float | None:
    """The least fuse that stands a lasting current and still guards the wire [A]; None: the wire is too thin for any.

    ``1.25 I <= rating <= what the wire carries``. A pump of 7 A on 2.5 mm2 (25 A): 10 A.

    Parameters
    ----------
    current : float
        In use [A].
    carried : float
        The most that the wire may carry [A].
    """
    return next((rating for rating in RATINGS if ABOVE_USE * current <= rating <= carried), None)
