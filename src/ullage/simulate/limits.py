"""How much a run and its scenario may hold."""

from __future__ import annotations

HOURS_LIMIT = 24 * 366
"""A run lasts at most this long [h]: a leap year."""

HAPPENINGS_LIMIT = 2000
"""At most this many lines of happenings, and as many of expectations, in one scenario."""
