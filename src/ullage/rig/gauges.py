"""Sizes of wire: a cross-section, or an American wire gauge, which stands for one."""

from __future__ import annotations

import re
from math import pi

from ullage.rig.ranges import Amount

_GAUGE = re.compile(r"\s*(?:(\d{1,2})|([1-4])/0)\s*AWG\s*", re.ASCII)


def gauge_area(number: int) -> float:
    """Cross-section of an American wire gauge [m2]; 1/0, 2/0, 3/0 and 4/0 are the numbers 0 to -3.

    ``d = 0.127 mm * 92^((36 - n) / 39)`` (ASTM B258, rows ELE-01 and ELE-09). Number 14: 2.0809 mm2.
    """
    diameter = 0.127e-3 * 92.0 ** ((36 - number) / 39)
    return float(0.25 * pi * diameter**2)


class WireSize(Amount):
    """A cross-section with its unit, or a gauge such as ``14 AWG`` or ``2/0 AWG``; read as a cross-section."""

    __slots__ = ()

    def read(self, text: object) -> float:
        """Read it from the file's text [m2]."""
        gauge = _GAUGE.fullmatch(text) if isinstance(text, str) else None
        if gauge is None:
            return Amount.read(self, text)
        number = int(gauge[1]) if gauge[1] else 1 - int(gauge[2])
        return Amount.read(self, f"{1e6 * gauge_area(number)} mm2")
