"""What every rig is asked about its waste: proved in a rig that is sound, refuted with a story in one that is not."""

from __future__ import annotations

import pytest

from tests.shipped import EXAMPLES
from ullage.control.check import examine
from ullage.plant.faults import read_fault
from ullage.verdict.file import read_story, replay
from ullage.verdict.properties import Property, properties_of
from ullage.verdict.verdicts import Inquiry, Verdict, Word

CRUMB = (EXAMPLES / "rigs" / "crumb.yaml").read_text("utf8")

SILENT = CRUMB.replace("  - (guard is open) and (dump is open)\n", "")
"""Crumb, whose file does not say that waste and drinking water are to be kept apart."""

UNINTENDED, JOINED = "sump open without intent held 30 s", "sump joined to filler held 30 s"


def careless() -> str:
    """Crumb without anything that keeps filling and emptying apart."""
    text = SILENT
    for this, by in (
        (" and (dump is closed)", ""),
        ("(sump_level > 5 %) and (guard is closed)", "sump_level > 5 %"),
        (" when (not (empty is running)) and (not (empty is pausing)) and (not (empty is at draining))", ""),
        (" when (guard is closed) and (not (fill is at opening)) and (not (fill is at filling))", ""),
        ("    when: not (dump is closed)\n", "    when: (drum_level > 99 %) and drum_float\n"),
    ):
        assert this in text, this
        text = text.replace(this, by)
    return text


def asked(text: str, line: str) -> tuple[Inquiry, Property]:
    """Who answers about a rig, and what is asked of it."""
    examined = examine(text, "rig.yaml")
    assert examined.rig is not None, examined.findings
    assert examined.law is not None, examined.findings
    found = [one for one in properties_of(examined.rig, examined.law) if one.text == line]
    assert found, f"every rig is asked: never {line}"
    return Inquiry(text, examined, effort=60_000, runs=400), found[0]


def does_it_again(inquiry: Inquiry, verdict: Verdict) -> bool:
    """Whether the story of a verdict does the same harm when it is read and played."""
    assert verdict.story is not None
    stored, findings = read_story(verdict.story.file.encode(), "story", inquiry.examined)
    assert stored is not None, findings
    return replay(stored, inquiry.examined).same(stored)


@pytest.mark.parametrize(("line", "layer"), [(UNINTENDED, "sequences"), (JOINED, "interlocks")])
def test_a_sound_rig_lets_no_waste_out_unmeant(line: str, layer: str) -> None:
    """A proof that is never found is a warning that people learn to skip."""
    inquiry, hazard = asked(SILENT, line)
    verdict = inquiry.judge(hazard)
    assert (verdict.word, verdict.rests_on) == (Word.PROVED, layer)
    assert verdict.least_ms is not None
    assert verdict.least_ms < 30_000


def test_a_valve_that_hangs_open_is_told_as_a_story() -> None:
    """Waste that runs out at the next stop is found by the neighbours."""
    inquiry, hazard = asked(CRUMB, UNINTENDED)
    verdict = inquiry.judge(hazard, [read_fault(inquiry.rig, "dump stuck")])
    assert verdict.word is Word.REFUTED
    assert does_it_again(inquiry, verdict)


def test_a_rig_that_fills_while_it_empties_is_told_how() -> None:
    """The hose that lies in the waste is the one that is drunk from."""
    inquiry, hazard = asked(careless(), JOINED)
    verdict = inquiry.judge(hazard)
    assert verdict.word is Word.REFUTED
    assert does_it_again(inquiry, verdict)
    advice = inquiry.advise(hazard)
    assert advice is not None
    assert advice.words == "add an interlock that closes guard when dump is not closed"
    assert advice.rests_on == "interlocks"
