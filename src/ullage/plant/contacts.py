"""Float switches in series with a coil: what they let pass, whatever a controller asks for.

Such a contact is made while its float is wet, or while it is dry, as the rig says; a broken wire
makes no contact at all. A float falls a little lower than it rises, so that a surface that stands
at its height does not make it chatter. Waves are not felt: they pass in less time than a coil
needs, and what counts is where the water stands.
"""

from __future__ import annotations

from ullage.control.record import note
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.words import P_FLOAT


@kernel
def feel(n: Integers, r: Reals, records: Integers) -> int:
    """Let the wired floats rise and fall with what their tanks hold; return how many did."""
    moved = 0
    for row in range(n[at.FLOATS]):
        if of(n, at.FLOAT_WIRED, row):
            run = of(n, at.STAND, 0) * n[at.FLOATS] + row
            volume = real(n, r, at.VOLUME, of(n, at.FLOAT_TANK, row))
            wet = of(n, at.FLOAT_WET, row)
            if volume >= real(n, r, at.RISES_AT, run):
                wet = 1
            elif volume <= real(n, r, at.FALLS_AT, run):
                wet = 0
            if wet != of(n, at.FLOAT_WET, row):
                n[n[at.FLOAT_WET] + row] = wet
                note(records, P_FLOAT, row, wet, 0)
                moved += 1
    return moved


@kernel
def passes(n: Integers, row: int, made: int) -> int:
    """Whether the contact of a float is made (row -1: there is none in the wire); ``made`` 1 while wet, 0 while dry."""
    if row < 0:
        return 1
    if of(n, at.FLOAT_BROKEN, row):
        return 0
    hangs = of(n, at.FLOAT_HANGS, row)
    return 1 if (hangs if hangs >= 0 else of(n, at.FLOAT_WET, row)) == made else 0
