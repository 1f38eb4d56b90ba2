"""Evidence for people: failure modes and effects, causes and effects, and what rests on software alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ullage.control.program import Program
from ullage.plant.faults import KINDS, Fault
from ullage.prove.prover import INTERLOCKS, SEQUENCES
from ullage.report.proof import LAYERS, PUBLIC
from ullage.report.quantity_words import System, reworded
from ullage.report.story import listed
from ullage.rig.model import Pump, Rig, Valve
from ullage.verdict.causes import Kind
from ullage.verdict.docket import Entry
from ullage.verdict.exercise import Noticed
from ullage.verdict.properties import Asked
from ullage.verdict.verdicts import Word

HARMLESS = "nothing that must never be"
UNSEEN = "no alarm"
HIDDEN = "no alarm: it stays hidden until a proof test"
NOT_PLAYED = "not played"


@dataclass(frozen=True, slots=True)
class Mode:
    """One failure mode and its effects.

    Attributes
    ----------
    fault, happens : str
        The fault, and what happens, in words.
    worst : str
        The worst it can do to what must never be.
    word : Word
        The worst verdict with it.
    noticed : str
        How it shows in an exercise.
    hindered : str
        Sequences that no longer come to their end.
    holds : dict of str to list of str
        For each layer what it holds with this fault.
    """

    fault: str
    happens: str
    worst: str
    word: Word
    noticed: str
    hindered: str
    holds: dict[str, list[str]]

    def held(self) -> str:
        """What remains, layer by layer, in one line."""
        return "; ".join(f"{layer}: {', '.join(texts)}" for layer, texts in self.holds.items())


def modes_of(entries: Sequence[Entry], noticed: Mapping[Fault, Noticed], system: System = "metric") -> Iterator[Mode]:
    """The table of failure modes: one row for each single fault.

    Parameters
    ----------
    entries : sequence of Entry
        All verdicts.
    noticed : mapping
        How each fault shows in an exercise; of those that were played.
    system : str
    """
    for cause in dict.fromkeys(entry.cause for entry in entries if entry.cause.kind is Kind.SINGLE):
        (fault,) = cause.faults
        here = [entry for entry in entries if entry.cause == cause and entry.asked.asked in PUBLIC]
        words = [entry.verdict.word for entry in here]
        shown = noticed.get(fault)
        word = next((word for word in (Word.REFUTED, Word.UNDECIDED) if word in words), Word.PROVED)
        yield Mode(
            fault=cause.name,
            happens=KINDS[fault.kind].words,
            worst=_worst(here, system),
            word=word,
            noticed=_noticed(shown, word) if shown else NOT_PLAYED,
            hindered=listed(list(shown.hindered)) if shown and shown.hindered else "",
            holds={layer: _held_by(here, layer) for layer in LAYERS if _held_by(here, layer)},
        )


def _worst(entries: Iterable[Entry], system: System) -> str:
    """What it can do: the harms of its stories, then what is not decided."""
    told = []
    for word in (Word.REFUTED, Word.UNDECIDED):
        for entry in entries:
            if entry.verdict.word is word:
                story = entry.verdict.story
                amount = f" ({reworded(story.harm.found, system)})" if story and story.harm.found else ""
                note = " by itself" if entry.verdict.itself else ""
                ending = amount + note if word is Word.REFUTED else " (undecided)"
                told.append(f"{entry.asked.text}{ending}")
    return "; ".join(told) or HARMLESS


def _held_by(entries: Iterable[Entry], layer: str) -> list[str]:
    return [e.asked.text for e in entries if e.verdict.word is Word.PROVED and e.verdict.rests_on == layer]


def _noticed(shown: Noticed, word: Word) -> str:
    """How a fault shows, in words; one that does no harm by itself and shows in nothing waits for a second one."""
    told = []
    if shown.dark:
        told.append("everything is dark for a while")
    told += [f"interlock {name} trips" for name in shown.interlocks]
    told += [f"{name} does not get there in its time" for name in shown.valves]
    told += [f"{name} is held" for name in shown.held]
    if shown.unread:
        told.append(f"no fresh reading of {listed(list(shown.unread))}")
    if not told and shown.hindered:
        return "no alarm; a person sees what does not come to its end"
    return "; ".join(told) or (HIDDEN if word is Word.PROVED else UNSEEN)


# --- causes and effects ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Line:
    """One row of the cause-and-effect matrix.

    Attributes
    ----------
    cause, when : str
        Its name, and its condition.
    acts : str
        What acts: the interlock, a wire, a board, a spring.
    latches : bool
        Whether a person has to reset it.
    effects : dict of str to str
        For each output that it drives, what to.
    why : str
    """

    cause: str
    when: str
    acts: str
    latches: bool
    effects: dict[str, str]
    why: str = ""


@dataclass(frozen=True, slots=True)
class Matrix:
    """Causes and their effects, after IEC 62881: rows of causes, columns of outputs."""

    outputs: tuple[str, ...]
    lines: tuple[Line, ...]


def matrix_of(rig: Rig, program: Program) -> Matrix:
    """The matrix of a rig, from the tables that decide: interlocks by priority, then wires, leases and springs."""
    lines = (*_interlocks(rig, program), *_wires(rig), *_leases(rig), *_unpowered(rig))
    driven = {name for line in lines for name in line.effects}
    return Matrix(tuple(name for name in program.names.outputs if name in driven), lines)


def _interlocks(rig: Rig, program: Program) -> Iterator[Line]:
    t, names = program.tables, program.names
    for i, name in enumerate(names.interlocks):
        lock = rig.interlocks[name]
        run = range(t.drive_first[i], t.drive_first[i + 1])
        effects = {
            names.outputs[t.drive_output[k]]: names.output_values[t.drive_output[k]][t.drive_value[k]] for k in run
        }
        until = f", until {lock.until}" if lock.until else ""
        why = " ".join(lock.why.split())
        yield Line(name, " ".join(f"{lock.when}{until}".split()), "interlock", lock.latch, effects, why)


def _wires(rig: Rig) -> Iterator[Line]:
    """Floats in series with a coil."""
    driven: dict[str, Valve | Pump] = {**rig.pumps, **rig.valves}
    for name, part in driven.items():
        if part.wired is not None:
            lost = "dry" if part.wired.made == "wet" else "wet"
            effect = "off" if name in rig.pumps else "no supply"
            yield Line(part.wired.switch, f"{part.wired.switch} is {lost}", "wire", False, {name: effect})


def _leases(rig: Rig) -> Iterator[Line]:
    """What each board drives by itself when nobody tells it anything."""
    for board in rig.boards:
        driven: dict[str, Valve | Pump] = {**rig.valves, **rig.pumps}
        parts = ((name, part) for name, part in driven.items() if part.board == board)
        effects: dict[str, str] = {name: part.on_lapse for name, part in parts if part.on_lapse is not None}
        if effects:
            yield Line(f"{board} lost", "no word for as long as a lease", "board", False, effects)


def _unpowered(rig: Rig) -> Iterator[Line]:
    """Where valves and pumps go without power."""
    effects = {
        name: valve.motor.without_power.replace("spring ", "").replace("stored charge ", "")
        for name, valve in rig.valves.items()
        if valve.motor and valve.motor.without_power
    }
    effects |= dict.fromkeys(rig.pumps, "off")
    if effects:
        yield Line("power lost", "no supply", "springs and charge", False, effects)


# --- software alone ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Alone:
    """A hazard that no water and no wire holds.

    Attributes
    ----------
    text : str
        What must never be.
    layer : str
        What it rests on in health: the interlocks, or the sequences.
    behind : str
        What is still held behind it, whatever the controller does.
    """

    text: str
    layer: str
    behind: str


def software_alone(entries: Sequence[Entry]) -> Iterator[Alone]:
    """What must never be and is held, in health, by the controller alone: a controller gone mad lets it be."""
    healthy = [e for e in entries if e.cause.kind is Kind.HEALTH and e.asked.asked is not Asked.SOMETIMES]
    behind = [f"never {e.asked.text}" for e in healthy if e.verdict.rests_on not in ("", INTERLOCKS, SEQUENCES)]
    for entry in healthy:
        if entry.verdict.rests_on in (INTERLOCKS, SEQUENCES):
            yield Alone(entry.asked.text, entry.verdict.rests_on, listed(behind) if behind else "")


@dataclass(frozen=True, slots=True)
class Evidence:
    """The three tables."""

    modes: tuple[Mode, ...]
    matrix: Matrix
    alone: tuple[Alone, ...]


def evidence_of(
    rig: Rig, program: Program, entries: Sequence[Entry], noticed: Mapping[Fault, Noticed], system: System = "metric"
) -> Evidence:
    """All evidence of a rig."""
    return Evidence(tuple(modes_of(entries, noticed, system)), matrix_of(rig, program), tuple(software_alone(entries)))
