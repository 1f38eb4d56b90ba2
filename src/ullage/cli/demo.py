"""``ullage demo``."""

from __future__ import annotations


def demo() -> None:
    """Check the demo rig, then simulate a day on it."""
