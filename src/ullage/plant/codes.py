"""Small codes of the plant's columns."""

from __future__ import annotations

MARK_EMPTY, MARK_OPENING, MARK_OVERFLOW, MARK_FILM, MARK_BRIM, MARK_CREST, MARK_FLOAT = range(7)
"""What a marked volume of a tank is."""

FILM = 5e-4
"""So little water over the rim of an overflow is held there by its own skin, where nothing runs in any more [m]:
common practice, no source. By the weir's law alone the last of it would take for ever."""

STAYS, SPRING_CLOSED, SPRING_OPEN, STORED_CHARGE = range(4)
"""What a motor valve does when its power goes."""

START, END, STEP, CHANGED = range(4)
"""Entries of the column *time*: start and end of the segment [s], the next step to try [s], 1 after a change."""

NO_EVENT, AT_MARK, AT_SWITCH, AT_CUSHION = range(4)
"""What may end a segment: a marked volume of a tank, a pressure switch, an accumulator run empty."""

METRE, ATMOSPHERE, ERROR = range(3)
"""Entries of the column *whole*: a metre of water [Pa], the atmosphere [m], allowed error of a step [m3]."""

VOLTAGE, FULL_VOLTAGE, RESISTANCE, CHARGE, FULL_CHARGE, CURRENT, SAG = range(7)
"""Entries of the column *supply*."""

(
    SOURCE_LEVEL,
    SOURCE_FLOAT,
    SOURCE_METER,
    SOURCE_CURRENT,
    SOURCE_PRESSURE,
    SOURCE_VOLTAGE,
    SOURCE_CLOSED_END,
    SOURCE_OPEN_END,
    SOURCE_LINK,
    SOURCE_ATTITUDE,
) = range(10)
"""What a signal is read from."""

RING = 64
"""How many readings and scans on their way are kept: what is older has arrived or is lost."""

NOW_MS, SCAN, LOOK_MS, STEP_MS, MUST_STEP, CONTROLLER_ON, EVALUATED, EVERY_SCAN, SAMPLE_MS, SAMPLES, CALM = range(11)
"""Entries of the column *loop*: time now; number of the last scan; when the controller must look again at its
readings, and when it must step by its clocks; 1 when it must step whatever it sees; 1 when it runs; scans
that were evaluated; 1 when every scan is; how often the plant is sampled (0 never); samples so far;
1 while nothing moves and nothing has changed since."""

NO_SUPPLY = -1
"""What a lapse is noted with when the board has lost its supply and drives nothing."""

NOT_HEARD = -1.0
"""A sampled reading while none has come."""

LOOP_SIZE = 11
"""Length of the column *loop*."""
