"""The story file: what is written is read again, and whatever else a file holds is a finding."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from tests.share import share
from tests.worlds.wrong_rigs import WRONG, changed, statement_of
from ullage.control.check import Examined
from ullage.verdict.file import BYTES_LIMIT, read_story, replay, write_story
from ullage.verdict.stories import Story, find_story


@cache
def rig_and_story() -> tuple[Examined, Story]:
    """The van with a pump that runs dry, and how it does."""
    wrong = next(wrong for wrong in WRONG if wrong.harm == "pump runs dry")
    examined = changed(wrong.rig, wrong.change)
    story = find_story(examined, statement_of(wrong.harm, examined))
    assert story is not None
    return examined, story


def written() -> str:
    """The text of its file."""
    examined, story = rig_and_story()
    assert examined.law is not None
    return write_story(story, examined.law)


def codes(text: str | bytes, examined: Examined | None = None) -> list[str]:
    """What is found in a file."""
    stored, findings = read_story(text, "story.jsonl", examined or rig_and_story()[0])
    assert (stored is None) == bool(findings)
    assert all(finding.place.file.startswith("story.jsonl") for finding in findings)
    return [finding.code for finding in findings]


def test_what_was_found_is_played_again_to_the_last_record() -> None:
    """A story that somebody else plays has to be the same story, or they argue about two."""
    examined, story = rig_and_story()
    stored, findings = read_story(written().encode(), "story.jsonl", examined)
    assert stored is not None, findings
    assert (stored.scenario, stored.seed, stored.harm) == (story.scenario, story.seed, story.harm)
    assert stored.statement == story.statement
    replayed = replay(stored, examined)
    assert replayed.harm == story.harm
    assert replayed.differs_at_ms == -1
    assert replayed.same(stored)


def test_another_harm_and_another_way_are_told() -> None:
    """A harm that has grown since is not the one that was accepted."""
    examined, _ = rig_and_story()
    stored, _ = read_story(written(), "story.jsonl", examined)
    assert stored is not None
    grown = replace(stored, harm=replace(stored.harm, seconds=1.0))
    assert not replay(stored, examined).same(grown)
    cut = replace(stored, records=stored.records[:-3])
    assert replay(stored, examined).same(stored)
    other = replay(cut, examined)
    assert other.differs_at_ms == stored.records[-3][0]
    assert not other.same(cut)


def test_a_story_of_another_rig_is_refused() -> None:
    """Played on a rig that was mended, a story would show no harm, and be taken for a proof of it."""
    assert codes(written(), changed("crumb")) == ["R161"]
    assert codes(written(), changed("marram")) == ["R161"]


def head(**other: object) -> str:
    """The story with other entries in its head; those that are None are left out."""
    first, *rest = written().splitlines()
    table = {**json.loads(first), **other}
    return "\n".join([json.dumps({k: v for k, v in table.items() if v is not None}), *rest])


def line(number: int, text: str) -> str:
    """The story with another line of this number."""
    lines = written().splitlines()
    return "\n".join([*lines[: number - 1], text, *lines[number:]])


@pytest.mark.parametrize(
    "made",
    [
        lambda: "",
        lambda: "rig: Marram\n",
        lambda: b"\xff\xfe\x00",
        lambda: "[1, 2]",
        lambda: "[" * 100_000,
        lambda: head(format="ullage story 9"),
        lambda: head(program=None),
        lambda: head(seed="1"),
        lambda: head(seed=-1),
        lambda: head(seed=True),
        lambda: head(harm=[1]),
        lambda: head(harm={"ms": "soon", "found": ""}),
        lambda: head(harm={"ms": 1, "found": "", "volume": "much"}),
        lambda: head(statement="nonsuch runs dry"),
        lambda: head(statement="all is well"),
        lambda: written().splitlines()[0],
        lambda: line(2, "{}"),
        lambda: line(2, '{"scenario": 5}'),
        lambda: line(5, "[1, 2, 3, 4]"),
        lambda: line(5, "[1, 2, 3, 4, true]"),
        lambda: line(5, "[1, 2, 3, 4, 5"),
        lambda: line(5, ""),
    ],
)
def test_a_file_that_is_no_story_is_refused(made: object) -> None:
    """A cut download answered with a traceback sends people to us instead of to the whole file."""
    assert callable(made)
    assert codes(made()) == ["R160"]


def test_a_scenario_that_is_no_good_is_told_with_its_line() -> None:
    """As above: what is wrong in it has a code and a place of its own."""
    assert codes(line(2, json.dumps({"scenario": "hours: 1\nhappenings:\n  - {at: 1 s, use: nonsuch}\n"}))) == ["R152"]


def test_a_file_of_any_size_is_answered() -> None:
    """A disk image named by mistake must not take minutes."""
    assert codes(b" " * (BYTES_LIMIT + 1)) == ["R160"]


@settings(max_examples=share(3_000, 100), deadline=None)
@given(some.integers(0, 10**6), some.binary(max_size=4))
def test_any_change_is_answered(place: int, bytes_there: bytes) -> None:
    """A bit that tipped on a memory stick is a finding or another story, never a traceback."""
    text = written().encode()
    at = place % len(text)
    codes(text[:at] + bytes_there + text[at + len(bytes_there) :])
