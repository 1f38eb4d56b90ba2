"""Tags: SEQ-04, SEQ-05, SEQ-06 (ANSI/ISA-5.1-2009 table 4.1 and its typical combinations)."""

from __future__ import annotations

import re
from pathlib import Path

from ullage.rig.read import read_rig
from ullage.rig.tags import LETTERS, tags

FIRST = {
    "A": "analysis",
    "E": "voltage",
    "F": "flow",
    "H": "hand",
    "I": "current",
    "L": "level",
    "P": "pressure",
    "T": "temperature",
    "X": "unclassified",
    "Z": "position",
}
SUCCEEDING = set("ACEGIKLRSTVYZ") | set("HLMOCRSD") | {"Q"}


def test_seq_04_05_letters_are_those_of_the_table() -> None:
    """A tag that an instrument fitter reads as something else gets the wrong wire."""
    meant = {
        "sender": "level",
        "float high": "level",
        "float low": "level",
        "meter": "flow",
        "current": "current",
        "pressure": "pressure",
        "voltage": "voltage",
        "motor valve": "unclassified",
        "hand valve": "hand",
        "closed_end": "position",
        "open_end": "position",
        "pump": "unclassified",
        "lamp": "unclassified",
    }
    assert set(meant) == set(LETTERS)
    for part, letters in LETTERS.items():
        assert FIRST[letters[0]] == meant[part]
        assert set(letters[1:]) <= SUCCEEDING


def test_seq_06_typical_combinations() -> None:
    """SEQ-06: LT level transmitter, LSH and LSL level switches, ZS with C or O for a valve's ends."""
    assert (LETTERS["sender"], LETTERS["float high"], LETTERS["float low"]) == ("LT", "LSH", "LSL")
    assert (LETTERS["closed_end"], LETTERS["open_end"]) == ("ZSC", "ZSO")


def test_every_tag_is_one_part_only() -> None:
    """Two parts with one tag are mistaken for each other at the worst moment."""
    path = Path(__file__).parents[3] / "examples" / "rigs" / "marram.yaml"
    rig, findings, _ = read_rig(path.read_bytes(), path.name)
    assert rig is not None, findings
    given = tags(rig)
    assert len(set(given.values())) == len(given)
    assert all(re.fullmatch(r"[A-Z]{2,3}-\d{3}[A-Z]?", tag) for tag in given.values())
    named = {*rig.senders, *rig.floats, *rig.meters, *rig.probes, *rig.valves, *rig.pumps, *rig.lamps}
    assert named <= set(given)
    assert given["belly_level"][3:] == given["belly_float"][4:], "one loop per tank"
