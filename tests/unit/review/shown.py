"""The demo rig as a review sees it, with some of its text replaced."""

from __future__ import annotations

from tests.shipped import EXAMPLES
from tests.unit.rig.breaking import seen
from ullage.rig.view import View


def shown(*edits: tuple[str, str]) -> View:
    """The view of Marram; each text to replace stands exactly once."""
    path = EXAMPLES / "rigs" / "marram.yaml"
    text = path.read_text("utf8")
    for old, new in edits:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return seen(text, path.name)
