"""Text to a plain tree, and where each value of it stands in the file.

Only the harmless part of YAML is read: mappings, lists and scalars of one document. Scalars stay
text, except ``true``, ``false`` and ``null`` (YAML 1.2 core schema): ``on``, ``off``, ``yes`` and
``no`` are words here, as in ``water_pump: on``. Everything has a limit, so that no file of any
content takes long.

The events come from libyaml, through PyYAML: they are read 30 times faster than by a parser in
Python, which alone would take seconds for a file of the largest size.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, NoReturn

import yaml
from yaml.events import (
    AliasEvent,
    CollectionEndEvent,
    CollectionStartEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from ullage.findings import Finding, Place

SIZE_LIMIT = 1_000_000
"""A file is at most this large [bytes]."""

NODES_LIMIT = 20_000
"""A file holds at most this many values."""

DEPTH_LIMIT = 20
"""Values are nested at most this deep."""

FORM_LIMIT = 50
"""After this many faults of form, reading stops."""

Path = tuple[str | int, ...]
"""Where a value stands in the tree, such as ``("tanks", "belly", "vent", "bore")``."""

_WORDS: dict[str, bool | None] = {
    "true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False,
    "null": None, "Null": None, "NULL": None, "~": None, "": None,
}  # fmt: skip

_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")

_BREAK = re.compile("\r\n|[\n\r\x85\u2028\u2029]")

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Places:
    """Where the values of a file stand."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._values: dict[Path, tuple[int, int, bool]] = {}
        self._keys: dict[Path, tuple[int, int]] = {}

    def note(self, path: Path, event: Event, key: Event | None) -> None:
        """Keep where a value starts, and its key."""
        line, column = _spot(event)
        whole = False
        if isinstance(event, ScalarEvent):
            quote = 1 if event.style else 0
            end = event.end_mark
            length = len(event.value) + 2 * quote
            whole = end is not None and (end.line, end.column) == (line - 1, column - 1 + length)
            column += quote * whole
        self._values[path] = (line, column, whole)
        if key is not None:
            self._keys[path] = _spot(key)

    def value(self, *path: str | int) -> Place:
        """Place of a value; of the nearest one around it where the file does not have it."""
        for end in range(len(path), 0, -1):
            spot = self._values.get(path[:end])
            if spot is not None:
                return Place(self.file, *spot[:2])
        return Place(self.file, 1, 1)

    def key(self, *path: str | int) -> Place:
        """Place of the key of a value, as `value` does."""
        for end in range(len(path), 0, -1):
            spot = self._keys.get(path[:end]) or self._values.get(path[:end])
            if spot is not None:
                return Place(self.file, *spot[:2])
        return Place(self.file, 1, 1)

    def inside(self, path: Path, offset: int) -> Place:
        """Place of a character of a text value; its start where it runs over several lines."""
        spot = self._values.get(path)
        if spot is None or not spot[2]:
            return self.value(*path)
        return Place(self.file, spot[0], spot[1] + offset)


class _Stop(Exception):
    """No more can be read."""


def read_tree(text: str | bytes, file: str) -> tuple[Any, tuple[Finding, ...], Places]:
    """Read a file of mappings, lists and words.

    Parameters
    ----------
    text : str or bytes
        The content; bytes are UTF-8.
    file : str
        Name for the places.

    Returns
    -------
    tree : dict, list, str, bool or None
        The content, None when there was nothing.
    findings : tuple of Finding
        Faults of form, R100 to R112. With any of them the tree may be incomplete.
    places : Places
        Where each value stands.
    """
    reading = _Reading(file)
    try:
        return reading.document(_decoded(text, reading)), tuple(reading.findings), reading.places
    except _Stop:
        return None, tuple(reading.findings), reading.places


def _decoded(content: str | bytes, reading: _Reading) -> str:
    if len(content) > SIZE_LIMIT:
        reading.stop("R101", 1, 1, f"the file has {len(content):,} bytes", f"at most {SIZE_LIMIT:,}")
    text = content if isinstance(content, str) else _from_utf8(content, reading)
    control = _CONTROL.search(text)
    if control is not None:
        at = control.start()
        line, column = text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)
        reading.stop("R100", line, column, f"control character U+{ord(text[at]):04X}", "text that can be printed")
    return text.removeprefix("\ufeff")


def _from_utf8(content: bytes, reading: _Reading) -> str:
    try:
        return content.decode("utf8")
    except UnicodeDecodeError as fault:
        at = fault.start
        line, column = content.count(b"\n", 0, at) + 1, at - content.rfind(b"\n", 0, at)
        reading.stop("R100", line, column, f"byte 0x{content[at]:02x} is no UTF-8", "text in UTF-8")


class _Reading:
    """The events of one file on their way to a tree."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.findings: list[Finding] = []
        self.places = Places(file)
        self.nodes = 0

    def report(self, code: str, event: Event, what: str, expected: str = "") -> None:
        self.findings.append(Finding(code, Place(self.file, *_spot(event)), what, expected))
        if len(self.findings) >= FORM_LIMIT:
            raise _Stop

    def stop(self, code: str, line: int, column: int, what: str, expected: str = "") -> NoReturn:
        self.findings.append(Finding(code, Place(self.file, line, column), what, expected))
        raise _Stop

    def document(self, text: str) -> Any:
        events = self._events(text)
        tree: Any = None
        started = False
        for event in events:
            if isinstance(event, DocumentStartEvent):
                if started:
                    self.stop("R107", *_spot(event), "a second document starts here", "one document")
                started = True
            elif isinstance(event, NodeEvent):
                tree = self._value(event, events, (), None)
        return tree

    def _events(self, text: str) -> Iterator[Event]:
        try:
            yield from yaml.parse(text, Loader=_LOADER)
        except yaml.MarkedYAMLError as fault:
            mark = fault.problem_mark or fault.context_mark
            line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
            if "".join(_BREAK.split(text, line)[line - 1 : line])[column - 1 : column] == "\t":
                self.stop("R111", line, column, "a tab stands here", "spaces")
            self.stop("R103", line, column, str(fault.problem or fault.context or "this is not YAML")[:200])
        except yaml.YAMLError as fault:
            self.stop("R103", 1, 1, str(fault).splitlines()[0][:200])

    def _value(self, event: NodeEvent, events: Iterator[Event], path: Path, key: Event | None) -> Any:
        self._count(event, len(path))
        if isinstance(event, AliasEvent):
            self.report("R106", event, f"'*{str(event.anchor)[:40]}' refers to another place", "the value itself")
            return None
        if event.anchor is not None:
            self.report("R106", event, f"'&{event.anchor[:40]}' names a place", "no '&'")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self.report("R105", event, f"the tag '{tag[:40]}' stands here", "no tag")
        self.places.note(path, event, key)
        if isinstance(event, MappingStartEvent):
            return self._mapping(events, path)
        if isinstance(event, SequenceStartEvent):
            return self._list(events, path)
        assert isinstance(event, ScalarEvent)
        return event.value if event.style else _WORDS.get(event.value, event.value)

    def _count(self, event: Event, depth: int) -> None:
        self.nodes += 1
        if self.nodes > NODES_LIMIT:
            self.stop("R109", *_spot(event), f"the file holds more than {NODES_LIMIT:,} values")
        if depth > DEPTH_LIMIT:
            self.stop("R108", *_spot(event), f"values are nested deeper than {DEPTH_LIMIT} levels")

    def _mapping(self, events: Iterator[Event], path: Path) -> dict[str, Any]:
        mapping: dict[str, Any] = {}
        for event in events:
            if isinstance(event, MappingEndEvent):
                break
            key = self._key(event, mapping, path)
            if key is None:
                self._skip(event, events)
                self._skip(next(events), events)
                continue
            value = next(events)
            assert isinstance(value, NodeEvent)
            mapping[key] = self._value(value, events, (*path, key), event)
        return mapping

    def _key(self, event: Event, mapping: dict[str, Any], path: Path) -> str | None:
        """A key, or None when it was reported and has to be left out with its value."""
        self._count(event, len(path))
        if not isinstance(event, ScalarEvent):
            self.report("R112", event, "a key is no plain word", "a name")
        elif event.value == "<<" and not event.style:
            self.report("R106", event, "'<<' merges another place", "the values themselves")
        elif event.anchor is not None or event.tag is not None:
            self.report("R106" if event.anchor else "R105", event, "a key bears a mark", "the plain name")
        elif event.value in mapping:
            first = self.places.key(*path, event.value)
            what = f"'{event.value[:40]}' stands twice"
            self.report("R104", event, what, f"it once (first in line {first.line})")
        else:
            return str(event.value)
        return None

    def _list(self, events: Iterator[Event], path: Path) -> list[Any]:
        values: list[Any] = []
        for event in events:
            if isinstance(event, SequenceEndEvent):
                break
            assert isinstance(event, NodeEvent)
            values.append(self._value(event, events, (*path, len(values)), None))
        return values

    def _skip(self, event: Event, events: Iterator[Event]) -> None:
        """Read past a value that is left out."""
        depth = 0
        while True:
            self._count(event, 0)
            depth += isinstance(event, CollectionStartEvent) - isinstance(event, CollectionEndEvent)
            if depth == 0:
                return
            event = next(events)


def _spot(event: Event) -> tuple[int, int]:
    mark = event.start_mark
    return (1, 1) if mark is None else (mark.line + 1, mark.column + 1)
