"""Findings: what is wrong with a rig file, said to a person.

Every fault of the file is a `Finding`; all of them are collected and shown together, sorted
by place. The catalogue of codes is data, `catalogue.toml` beside this file: title, why it
matters, remedy, and whether it is a *fault* (the rig is refused) or a *caution* (a person may
accept it in the rig file with a reason). ``ullage explain CODE`` prints an entry.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

FINDINGS_LIMIT = 200
"""No more findings than this are shown for one file; the count of the rest is said."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One code of the catalogue.

    Attributes
    ----------
    code : str
        Letter of the area and three digits, such as ``P201``.
    level : str
        ``fault`` or ``caution``.
    title, why, remedy : str
        Words for a person.
    """

    code: str
    level: str
    title: str
    why: str
    remedy: str


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where in a file: line and column count from 1; 0 where the file has no such place."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong, and what to do about it.

    Attributes
    ----------
    code : str
        Code of the catalogue.
    place : Place
        Where in the rig file.
    what : str
        What is wrong, naming the part and the figures.
    expected : str
        What would have been right ("" where the remedy says it all).
    near : str
        Nearest known name, when a name is unknown ("" otherwise).
    on : str
        Name of the part or sequence that it is about ("" for the file as a whole).
    accepted : str
        The reason a person gave in the rig file for accepting a caution ("" when not accepted).
    """

    code: str
    place: Place
    what: str
    expected: str = ""
    near: str = ""
    on: str = ""
    accepted: str = ""

    @property
    def entry(self) -> Entry:
        """The catalogue's entry of this code."""
        return catalogue()[self.code]

    @property
    def stands(self) -> bool:
        """Whether it still has to be mended (not an accepted caution)."""
        return not self.accepted


@cache
def catalogue() -> dict[str, Entry]:
    """All codes, in order of code."""
    raw = tomllib.loads(files("ullage").joinpath("catalogue.toml").read_text("utf8"))
    return {code: Entry(code, **raw[code]) for code in sorted(raw)}


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort by place, then code, then text; equal findings are kept once."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda f: (f.place, f.code, f.what)))


def refused(findings: Iterable[Finding]) -> bool:
    """Whether a fault stands among the findings, so that the rig must not run."""
    return any(f.stands and f.entry.level == "fault" for f in findings)


OTHER_WORDS = {
    "accumulator": "cylinder vessel",
    "board": "controller relay",
    "brim": "lid rim",
    "check": "flap nonreturn",
    "crest": "hump",
    "fixture": "basin faucet shower sink spigot tap",
    "handset": "remote",
    "heater": "boiler",
    "interlock": "alarm protection",
    "line": "circuit loop run",
    "meter": "flowmeter",
    "motor": "actuator",
    "pipe": "hose tube",
    "point": "joint junction tee",
    "port": "connection inlet outlet",
    "restrictor": "orifice",
    "sender": "gauge sensor",
    "sequence": "program recipe",
    "strapping": "calibration",
    "tank": "container reservoir",
    "target": "setpoint",
}
"""Words of the files, each with those that others have for it."""

NEAR, NEARLY = 0.6, 0.85
"""How much alike two names are that may be the same, and two of which one must be a slip of the finger (0..1)."""


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name most like a mistyped one, or the one that says the same ("" where there is neither)."""
    names, wanted = sorted(known), name[:60]
    word = wanted.lower().removesuffix("s")
    same = next((n for n in names if word in OTHER_WORDS.get(n.removesuffix("s"), "").split()), "")
    near = get_close_matches(wanted, names, n=1, cutoff=NEARLY if same else NEAR)
    return near[0] if near else same
