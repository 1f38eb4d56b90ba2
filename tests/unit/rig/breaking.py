"""A sound rig, and ways of changing its text."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from ullage.findings import Finding
from ullage.rig.check import accepted, check
from ullage.rig.read import read_rig
from ullage.rig.view import View, view_of

SOUND = (Path(__file__).parent / "sound.yaml").read_text("utf8")

Edits = dict[str, str]
"""Texts to put in place of others, each of which stands exactly once."""


class Case(NamedTuple):
    """What breaks the sound rig, what the finding is on, and what only seems to break it."""

    code: str
    at: str
    broken: Edits
    near_miss: Edits

    def __str__(self) -> str:
        return f"{self.code}-{self.at}"


def changed(edits: Edits) -> str:
    """The sound rig with some of its text replaced."""
    text = SOUND
    for old, new in edits.items():
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


def seen(text: str | bytes, name: str) -> View:
    """The view of a rig whose file is in order."""
    rig, findings, places = read_rig(text, name)
    assert rig is not None, findings
    view, unclear = view_of(rig, places)
    assert not unclear
    return view


def found(edits: Edits) -> tuple[Finding, ...]:
    """All findings of the changed rig."""
    rig, findings, places = read_rig(changed(edits), "sound.yaml")
    return findings if rig is None else accepted(rig, check(*view_of(rig, places)))


def told(edits: Edits, on: str | None = None) -> set[str]:
    """Codes of the findings of the changed rig (those on one part only, where it is named)."""
    return {finding.code for finding in found(edits) if on is None or finding.on == on}
