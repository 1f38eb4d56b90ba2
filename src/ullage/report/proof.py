"""What is told of the verdicts on a rig, before it becomes lines in a terminal, a page or tables."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ullage.plant.faults import Fault
from ullage.prove.prover import INTERLOCKS, SEQUENCES, WET, WIRED
from ullage.report.quantity_words import System
from ullage.report.story import ending, listed, opening
from ullage.rig.meaning import Indoors
from ullage.rig.model import Rig
from ullage.verdict.advice import Advice
from ullage.verdict.causes import Kind
from ullage.verdict.docket import Entry
from ullage.verdict.properties import Asked, Property
from ullage.verdict.verdicts import NOT_REACHED, Word

LAYERS = {
    WET: "the water itself holds it, whatever the controller does: an overflow, a height, a check valve",
    WIRED: "a wire holds it, whatever the controller does: a float in series with a pump",
    INTERLOCKS: "the interlocks hold it, whatever the sequences do",
    SEQUENCES: "the sequences hold it, by their own steps and guards",
}
"""What holds a property, the last layer first, in words for a person."""

HEADS = {
    Kind.HEALTH: "in health",
    Kind.SINGLE: "with any one fault",
    Kind.COMMON: "with a common cause",
    Kind.PAIR: "with any two faults",
}
"""Headings of the sorts of sets of faults."""

NOT_ASKED = "not asked"

ASSUMED = (
    "Scans come at most 50 ms late, and none is left out.",
    "Every sender reads within its declared error, its noise within three times the declared one, no later than it "
    "goes stale; under a fault it may read anything.",
    "The rig stands within its declared slope, its supplies within their declared pressures, its valves travel within "
    "their declared strokes; where a fault is asked about, whatever that fault allows.",
    "Pipes are full of water that flows steadily; the flows are those of the parts as the file declares them.",
    "People do anything at any time with taps, hoses, hand valves and every command; a link may be lost at any time.",
    "Tanks begin as the file says. Nothing but what is declared joins or fills them, except under the faults asked.",
    "A fault acts at any time, or not at all, with at most the amount that the catalogue of faults states.",
)
"""What every PROVED assumes."""


@dataclass(frozen=True, slots=True)
class Cell:
    """The verdicts on a property under one sort of sets of faults.

    Attributes
    ----------
    proved : dict of str to int
        How many are PROVED, by layer, the last one first.
    refuted, itself, undecided : int
        How many are REFUTED, of them such in which the fault is the harm by itself, and how many UNDECIDED.
    """

    proved: dict[str, int]
    refuted: int
    itself: int
    undecided: int

    @property
    def count(self) -> int:
        """How many sets of faults were asked about."""
        return sum(self.proved.values()) + self.refuted + self.undecided

    def parts(self) -> list[str]:
        """Each verdict with its number and what it rests on."""
        told = []
        if self.proved:
            several = len(self.proved) > 1
            layers = ", ".join(f"{n} {layer}" if several else layer for layer, n in self.proved.items())
            told.append(f"{self._number(sum(self.proved.values()))}PROVED: {layers}")
        if self.refuted > self.itself:
            told.append(f"{self._number(self.refuted - self.itself)}REFUTED")
        if self.itself:
            told.append(f"{self._number(self.itself)}REFUTED by itself")
        if self.undecided:
            told.append(f"{self._number(self.undecided)}UNDECIDED")
        return told or [NOT_ASKED]

    def _number(self, n: int) -> str:
        return f"{n} " if self.count > 1 else ""


@dataclass(frozen=True, slots=True)
class Row:
    """One property with a cell for each sort of sets of faults.

    Attributes
    ----------
    text : str
    asked : Asked
    cells : dict of Kind to Cell
    least_ms : int or None
        The least time from which what must not last is PROVED in health [ms].
    """

    text: str
    asked: Asked
    cells: dict[Kind, Cell]
    least_ms: int | None = None

    def parts(self, kind: Kind) -> list[str]:
        """What a cell of the table says."""
        if kind not in self.cells:
            return [NOT_ASKED]
        parts = self.cells[kind].parts()
        if kind is Kind.HEALTH and self.least_ms is not None:
            parts.append(f"from {self.least_ms / 1000:g} s on")
        return parts


@dataclass(frozen=True, slots=True)
class Telling:
    """One story, or one thing that was not decided, with all the sets of faults it stands for.

    Attributes
    ----------
    text : str
        The property.
    asked : Asked
    word : Word
    causes : tuple of str
        Names of the sets of faults, the first one the one that was asked.
    itself : bool
    told : str
        How it comes about, or why it is not decided.
    holds : str
        What still holds with the same faults.
    figure : str
        How much: "12.3 L overflowed".
    file : str
        Name of the story's file; "" where there is none.
    content : str
        What is written into it.
    advice : Advice or None
        What change would hold it off, where that was asked.
    advised : str
        The same in words, with the faults under which it would.
    """

    text: str
    asked: Asked
    word: Word
    causes: tuple[str, ...]
    itself: bool
    told: str
    holds: str = ""
    figure: str = ""
    file: str = ""
    content: str = ""
    advice: Advice | None = None
    advised: str = ""


@dataclass(frozen=True, slots=True)
class Proof:
    """All that is told of the verdicts on a rig.

    Attributes
    ----------
    rig : str
    program : str
        Hash of the program.
    rows : tuple of Row
        What must never be.
    can : tuple of (str, Word)
        What can be, by the ``sometimes`` lines.
    tellings : tuple of Telling
        Everything that is not PROVED, stories first.
    questions, searched : int
        Verdicts, and questions that had to be searched for them.
    states : int
        States that closed in all proofs together.
    stopped : bool
        Whether a person stopped it.
    """

    rig: str
    program: str
    rows: tuple[Row, ...]
    can: tuple[tuple[str, Word], ...]
    tellings: tuple[Telling, ...]
    questions: int
    searched: int
    states: int
    stopped: bool = False

    @property
    def verdict(self) -> str:
        """The sum in one line, of what must never be in health and with any one fault."""
        told = Counter[Word]()
        for row in self.rows:
            if row.asked in PUBLIC:
                for kind in (Kind.HEALTH, Kind.SINGLE):
                    cell = row.cells.get(kind)
                    if cell:
                        told[Word.PROVED] += sum(cell.proved.values())
                        told[Word.REFUTED] += cell.refuted - cell.itself
                        told[Word.UNDECIDED] += cell.undecided
        parts = [f"{told[word]:,} {word.value}" for word in Word if told[word]]
        return listed(parts) if parts else "nothing was asked"

    @property
    def under(self) -> str:
        """Under which sets of faults the sum was found."""
        faulty = any(Kind.SINGLE in row.cells for row in self.rows)
        return f"{HEADS[Kind.HEALTH]} and {HEADS[Kind.SINGLE]}" if faulty else HEADS[Kind.HEALTH]

    @property
    def worst(self) -> Word:
        """The verdict on all that must never be in health and with any one fault: the worst of them."""
        words = set()
        for row in self.rows:
            for kind in (Kind.HEALTH, Kind.SINGLE):
                cell = row.cells.get(kind)
                if cell and row.asked in PUBLIC:
                    words |= {Word.REFUTED} if cell.refuted > cell.itself else set()
                    words |= {Word.UNDECIDED} if cell.undecided else set()
        words |= {word for _, word in self.can}
        return next((word for word in (Word.REFUTED, Word.UNDECIDED) if word in words), Word.PROVED)


PUBLIC = (Asked.NEVER, Asked.HAZARD)
"""What must never be; water that leaves outdoors by an overflow is told, not counted."""


def proof_of(rig: Rig, program: str, entries: Sequence[Entry], stopped: bool, system: System = "metric") -> Proof:
    """Gather what is told.

    Parameters
    ----------
    rig : Rig
    program : str
        Hash of its program.
    entries : sequence of Entry
        All of them, property by property.
    stopped : bool
    system : str
        Units in which it is told.
    """
    never = [entry for entry in entries if entry.asked.asked is not Asked.SOMETIMES]
    verdicts = {id(entry.verdict): entry.verdict for entry in entries if entry.verdict.reason != NOT_REACHED}
    return Proof(
        rig=rig.rig,
        program=program,
        rows=tuple(_rows(never)),
        can=tuple((e.asked.text, e.verdict.word) for e in entries if e.asked.asked is Asked.SOMETIMES),
        tellings=tuple(_tellings(rig, entries, system)),
        questions=len(entries),
        searched=len(verdicts),
        states=sum(verdict.states for verdict in verdicts.values() if verdict.word is Word.PROVED),
        stopped=stopped,
    )


def _rows(entries: Iterable[Entry]) -> Iterator[Row]:
    by_property: dict[Property, list[Entry]] = {}
    for entry in entries:
        by_property.setdefault(entry.asked, []).append(entry)
    for asked, found in by_property.items():
        kinds = {kind: [e for e in found if e.cause.kind is kind] for kind in Kind}
        least = next((e.verdict.least_ms for e in kinds[Kind.HEALTH] if e.verdict.word is Word.PROVED), None)
        yield Row(_named(asked), asked.asked, {kind: _cell(some) for kind, some in kinds.items() if some}, least)


def _named(asked: Property) -> str:
    return f"{asked.text} (in health)" if asked.healthy_only else asked.text


def _cell(entries: Sequence[Entry]) -> Cell:
    rests = Counter(entry.verdict.rests_on for entry in entries if entry.verdict.word is Word.PROVED)
    refuted = [entry.verdict for entry in entries if entry.verdict.word is Word.REFUTED]
    return Cell(
        proved={layer: rests[layer] for layer in LAYERS if rests[layer]},
        refuted=len(refuted),
        itself=sum(verdict.itself for verdict in refuted),
        undecided=sum(entry.verdict.word is Word.UNDECIDED for entry in entries),
    )


def _tellings(rig: Rig, entries: Sequence[Entry], system: System) -> Iterator[Telling]:
    """What is REFUTED, with each story once; then what is UNDECIDED, by its reason and what would help."""
    order = {Word.REFUTED: 0, Word.UNDECIDED: 1}
    groups: dict[tuple[object, ...], list[Entry]] = {}
    for entry in entries:
        verdict = entry.verdict
        if verdict.word is not Word.PROVED:
            same = id(verdict) if verdict.word is Word.REFUTED else (verdict.reason, verdict.advice)
            groups.setdefault((order[verdict.word], verdict.itself, entry.asked, same), []).append(entry)
    for number, key in enumerate(sorted(groups, key=lambda key: key[:2]), start=1):
        yield _telling(rig, number, groups[key], entries, system)


def _telling(rig: Rig, number: int, same: Sequence[Entry], entries: Sequence[Entry], system: System) -> Telling:
    first = next((entry for entry in same if entry.as_with is None), same[0])
    verdict, asked = first.verdict, first.asked
    causes = (first.cause.name, *(entry.cause.name for entry in same if entry is not first))
    told, figure, file, content = f"{verdict.reason[:1].upper()}{verdict.reason[1:]}.", "", "", ""
    if verdict.story is not None:
        scenario, harm = verdict.story.scenario, verdict.story.harm
        told = f"{opening(rig, scenario, system)} {ending(harm, asked.statement, asked.text, system)}"
        figure, content = harm.found, verdict.story.file
        file = f"story-{number:02}.jsonl"
    return Telling(
        text=_named(asked),
        asked=asked.asked,
        word=verdict.word,
        causes=causes,
        itself=verdict.itself,
        told=told,
        holds=_still_holds(first, entries) if verdict.word is Word.REFUTED else "",
        figure=figure,
        file=file,
        content=content,
        advice=verdict.advice,
        advised=advised(verdict.advice, verdict.faults),
    )


def advised(advice: Advice | None, faults: Sequence[Fault]) -> str:
    """An advice in words, for the faults under which it was sought; "" where none was asked for."""
    if advice is None:
        return ""
    if advice.words:
        under = f"with {listed([str(fault) for fault in faults])}" if faults else HEADS[Kind.HEALTH]
        return f"A suggestion: {advice.words}. Then it is PROVED {under}: {advice.rests_on}."
    if not advice.tried:
        return "No change is known that could be tried."
    more = "" if advice.ended else " There are more that were not tried."
    return f"No change is enough of the {advice.tried} that {'was' if advice.tried == 1 else 'were'} tried.{more}"


def _still_holds(entry: Entry, entries: Iterable[Entry]) -> str:
    """What is still PROVED of the same water with the same faults: by what the harm is held."""
    held = [
        f"never {other.asked.text} (PROVED: {other.verdict.rests_on})"
        for other in entries
        if other.cause == entry.cause and other.verdict.word is Word.PROVED and other.asked.statement == Indoors()
    ]
    return listed(held) if held else ""
