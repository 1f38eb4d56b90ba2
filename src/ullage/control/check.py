"""Examine a rig file as a whole: read it, check it floor by floor, compile it.

Each floor adds its findings; a floor that needs what a lower one refused is not asked, so
that nobody is told the consequence of a fault beside the fault.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ullage.control.charts import associations
from ullage.control.compile import compile_rig
from ullage.control.program import Program
from ullage.findings import Finding, refused
from ullage.rig.check import accepted, check, pointless
from ullage.rig.meaning import Law
from ullage.rig.model import Rig
from ullage.rig.procedures import STORED, Sequence
from ullage.rig.read import read_rig
from ullage.rig.text import Places
from ullage.rig.view import View, view_of
from ullage.sizing.check import check as check_sizes

TIMED = STORED - {"S"} | {"L", "D"}
"""Qualifiers that take a time."""


@dataclass(frozen=True, slots=True)
class Examined:
    """What is known of a rig file.

    Attributes
    ----------
    rig, law, program : Rig, Law, Program or None
        None where a finding stands in the way.
    findings : tuple of Finding
        All of them, in order of place.
    places : Places
        Where each entry stands in the file.
    """

    rig: Rig | None
    law: Law | None
    program: Program | None
    findings: tuple[Finding, ...]
    places: Places

    @property
    def stands(self) -> tuple[Finding, ...]:
        """The findings that still have to be mended."""
        return tuple(finding for finding in self.findings if finding.stands)


def examine(text: str | bytes, file_name: str) -> Examined:
    """Read, check and compile a rig file; any bytes at all are answered with findings.

    Parameters
    ----------
    text : str or bytes
        The file.
    file_name : str
        Its name, for the places of findings.
    """
    rig, findings, places = read_rig(text, file_name)
    if rig is None:
        return Examined(None, None, None, findings, places)
    view, unclear = view_of(rig, places)
    findings += check(view, unclear)
    if refused(findings):
        return Examined(rig, None, None, accepted(rig, findings), places)
    findings += check_actions(view) + check_sizes(view)
    program = None
    if not refused(findings):
        program, too_large = compile_rig(rig, view.law)
        findings += too_large
    findings += pointless(rig, findings, places)
    return Examined(rig, view.law, program, accepted(rig, findings), places)


def check_actions(view: View) -> tuple[Finding, ...]:
    """Findings about actions, gestures and procedural states."""
    return tuple(
        finding
        for name, sequence in view.rig.sequences.items()
        for finding in (*_procedure(view.rig, view.places, name, sequence), *_times(view.places, name, sequence))
    ) + tuple(_gestures(view))


def _procedure(rig: Rig, places: Places, name: str, sequence: Sequence) -> Iterator[Finding]:
    if sequence.confirm and sequence.begins is not None:
        yield Finding("S493", places.value("sequences", name, "begins"), f"'{name}' begins by itself", on=name)
    for step, output, word, _, _ in associations(sequence):
        if sequence.steps[step].final and not _rests(rig, output, word):
            place = places.value("sequences", name, "steps", step)
            yield Finding("S492", place, f"final step '{step}' of '{name}' drives '{output}' {word}", on=name)


def _rests(rig: Rig, output: str, word: str) -> bool:
    if output in rig.valves:
        return word == rig.valves[output].rests
    return output in rig.lamps or word == "off"


def _times(places: Places, name: str, sequence: Sequence) -> Iterator[Finding]:
    for step, definition in sequence.steps.items():
        for i, action in enumerate(definition.actions):
            place = places.value("sequences", name, "steps", step, "actions", i)
            if (action.qualifier in TIMED) != (action.time is not None):
                what = f"qualifier {action.qualifier} in step '{step}' of '{name}' "
                what += "has no time" if action.time is None else "takes no time"
                yield Finding("S494", place, what, f"a time with {', '.join(sorted(TIMED))}; none with others", on=name)


def _gestures(view: View) -> Iterator[Finding]:
    """A gesture that by itself lets waste out."""
    gestures = view.rig.handset.gestures if view.rig.handset else ()
    for i, gesture in enumerate(gestures):
        verb, _, name = gesture.does.partition(" ")
        sequence = view.rig.sequences.get(name)
        if verb == "start" and sequence is not None and not sequence.confirm and view.discharging(name):
            place = view.places.value("handset", "gestures", i)
            yield Finding("S495", place, f"the gesture '{gesture.attitude}' alone starts '{name}'", on=name)
