"""A story as a file: one line of JSON for its head, one for its scenario, and one for each record."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from ullage.control.check import Examined
from ullage.findings import Finding, Place
from ullage.rig.law import scope_of
from ullage.rig.meaning import Law, Statement
from ullage.rig.statements import read_statement
from ullage.simulate.run import Run
from ullage.simulate.scenario import Scenario, read_scenario
from ullage.simulate.writing import write_scenario
from ullage.verdict.harm import Harm, harm_of
from ullage.verdict.stories import Story
from ullage.verdict.trial import Trials

FORMAT = "ullage story 1"
"""What the head of a story says it is."""

HEAD = ("format", "rig", "program", "statement", "seed", "harm", "trials")
"""What stands in the head, in order."""

BYTES_LIMIT = 20_000_000
"""A story is at most so large: the records of a run of the usual room, with their signs."""

RECORD = 5
"""Numbers in one record."""


@dataclass(frozen=True, slots=True)
class Stored:
    """A story as it was read.

    Attributes
    ----------
    text : str
        The statement as it was written.
    statement : Statement
    scenario : Scenario
    seed : int
    harm : Harm
        What it came to when it was written.
    records : tuple of tuple of int
        All that happened then.
    """

    text: str
    statement: Statement
    scenario: Scenario
    seed: int
    harm: Harm
    records: tuple[tuple[int, ...], ...]


def write_story(story: Story, law: Law) -> str:
    """The text of a story's file.

    Parameters
    ----------
    story : Story
    law : Law
        Of its rig.
    """
    head = {
        "format": FORMAT,
        "rig": story.run.rig.rig,
        "program": story.run.program.hash,
        "statement": story.text,
        "seed": story.seed,
        "harm": asdict(story.harm),
        "trials": story.trials,
    }
    rows = (json.dumps(row, separators=(",", ":")) for row in story.run.records.tolist())
    return "\n".join((json.dumps(head, ensure_ascii=False), _scenario_line(story.scenario, law), *rows)) + "\n"


def _scenario_line(scenario: Scenario, law: Law) -> str:
    return json.dumps({"scenario": write_scenario(scenario, law)}, ensure_ascii=False)


def read_story(text: str | bytes, file_name: str, examined: Examined) -> tuple[Stored | None, tuple[Finding, ...]]:
    """Read a story of a rig.

    Parameters
    ----------
    text : str or bytes
        Content of the file.
    file_name : str
        Its name as a person knows it.
    examined : Examined
        The rig, sound.

    Returns
    -------
    story : Stored or None
        None when anything is wrong.
    findings : tuple of Finding
    """
    reading = _Reading(file_name, examined)
    try:
        return reading.story(_lines(text, reading)), ()
    except _Refused as refused:
        return None, refused.findings


class _Refused(Exception):
    """What is wrong with a file."""

    def __init__(self, *findings: Finding) -> None:
        super().__init__()
        self.findings = findings


def _lines(text: str | bytes, reading: _Reading) -> list[str]:
    if len(text) > BYTES_LIMIT:
        raise reading.no_story(1, f"the file has {len(text):,} bytes", f"at most {BYTES_LIMIT:,}")
    try:
        decoded = text if isinstance(text, str) else text.decode("utf8")
    except UnicodeDecodeError:
        raise reading.no_story(1, "the file is no text", "the lines that ullage has written") from None
    return decoded.splitlines()


class _Reading:
    """One file on its way."""

    def __init__(self, file_name: str, examined: Examined) -> None:
        self.file_name, self.examined = file_name, examined

    def no_story(self, line: int, what: str, expected: str) -> _Refused:
        """A finding about a line, to be raised."""
        return _Refused(Finding("R160", Place(self.file_name, line, 1), what, expected))

    def story(self, lines: Sequence[str]) -> Stored:
        """All of it."""
        rig, law, program = self.examined.rig, self.examined.law, self.examined.program
        assert rig, "only a sound rig has stories"
        assert law, "as above"
        assert program, "as above"
        head = self.head(lines)
        if head["program"] != program.hash:
            what = f"the story is of '{head['rig'][:80]}' with the program {head['program'][:16]}"
            expected = f"the program of '{rig.rig}', {program.hash[:16]}"
            raise _Refused(Finding("R161", Place(self.file_name, 1, 1), what, expected))
        written = self.table(lines, 2).get("scenario")
        if not isinstance(written, str):
            raise self.no_story(2, "the second line holds no scenario", '{"scenario": TEXT}')
        scenario, findings = read_scenario(written, f"{self.file_name} (scenario)", rig, law)
        if scenario is None:
            raise _Refused(*findings)
        scope = scope_of(rig, self.examined.places)
        statement = read_statement(head["statement"], rig, scope, ())
        if statement is None:
            raise self.no_story(1, f"'{head['statement'][:80]}' says nothing of this rig", "what the story shows")
        records = tuple(self.records(lines))
        return Stored(head["statement"], statement, scenario, head["seed"], self.harm(head["harm"]), records)

    def table(self, lines: Sequence[str], number: int) -> dict[str, Any]:
        """The JSON object on a line."""
        if len(lines) < number:
            raise self.no_story(max(len(lines), 1), f"the file ends before line {number}", "a whole story")
        found = self.parsed(lines[number - 1], number)
        if not isinstance(found, dict):
            raise self.no_story(number, "the line is no table", "a line that ullage has written")
        return found

    def parsed(self, line: str, number: int) -> object:
        """A line of JSON."""
        try:
            return json.loads(line)
        except (ValueError, RecursionError):
            raise self.no_story(number, f"'{line[:40]}' cannot be read", "a line that ullage has written") from None

    def head(self, lines: Sequence[str]) -> dict[str, Any]:
        """The first line, whole."""
        head = self.table(lines, 1)
        if head.get("format") != FORMAT:
            raise self.no_story(1, f"the file is no '{FORMAT}'", f'{{"format": "{FORMAT}", ...')
        kinds: dict[str, type] = {"rig": str, "program": str, "statement": str, "seed": int, "harm": dict}
        for name, kind in kinds.items():
            if not isinstance(head.get(name), kind) or isinstance(head.get(name), bool):
                raise self.no_story(1, f"'{name}' is missing or no good in the head", ", ".join(HEAD))
        if not 0 <= head["seed"] < 2**31:
            raise self.no_story(1, "the seed is out of range", "0 to 2147483647")
        return head

    def harm(self, written: dict[str, Any]) -> Harm:
        """What the run came to."""
        ms, found = written.get("ms"), written.get("found")
        volume, seconds = written.get("volume"), written.get("seconds")
        sound = all(figure is None or isinstance(figure, int | float) for figure in (volume, seconds))
        if not isinstance(ms, int) or not isinstance(found, str) or not sound:
            raise self.no_story(1, "'harm' is no good in the head", '{"ms": ..., "volume": ..., "seconds": ...}')
        return Harm(ms, volume, seconds, found)

    def records(self, lines: Sequence[str]) -> Iterator[tuple[int, ...]]:
        """All records."""
        for number, line in enumerate(lines[2:], start=3):
            row = self.parsed(line, number)
            if not (isinstance(row, list) and len(row) == RECORD and all(type(one) is int for one in row)):
                raise self.no_story(number, "the line is no record", f"{RECORD} whole numbers")
            yield tuple(row)


@dataclass(frozen=True, slots=True)
class Replayed:
    """A story that was played again.

    Attributes
    ----------
    run : Run
        All that happened this time.
    harm : Harm or None
        What it came to, None where the statement never was so.
    differs_at_ms : int
        When the first record was another one than the stored one [ms]; -1 where all are the same.
    """

    run: Run
    harm: Harm | None
    differs_at_ms: int

    def same(self, stored: Stored) -> bool:
        """Whether everything came as it was stored, to the last record and figure."""
        return self.harm == stored.harm and self.differs_at_ms < 0


def replay(stored: Stored, examined: Examined) -> Replayed:
    """Play a story again.

    Parameters
    ----------
    stored : Stored
    examined : Examined
        The rig that it is of.
    """
    from ullage.simulate.run import simulate

    rig, program = examined.rig, examined.program
    assert rig, "only a sound rig has stories"
    assert program, "as above"
    run = simulate(rig, program, stored.scenario, stored.seed)
    laid = Trials(rig, program).laid(stored.scenario.stands, stored.scenario.faults)
    rows = [tuple(row) for row in run.records.tolist()]
    return Replayed(run, harm_of(run, laid, stored.statement), _first_difference(rows, stored.records))


def _first_difference(these: Sequence[tuple[int, ...]], those: Sequence[tuple[int, ...]]) -> int:
    """Time of the first record that is not in both [ms]; -1 where there is none."""
    for this, other in zip(these, those, strict=False):
        if this != other:
            return min(this[0], other[0])
    longer = max(these, those, key=len)
    shorter = min(len(these), len(those))
    return longer[shorter][0] if len(longer) > shorter else -1
