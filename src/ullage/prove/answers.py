"""Running a piece of the law once for every answer that it may get.

The law is plain functions over columns. Handed lists that decide an entry only when it is read,
it shows by itself what it looks at: each run is one path through it, and the answers read on
the way are exactly the conditions of that path.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import SupportsIndex, TypeVar, overload

T = TypeVar("T")

Answer = tuple[str, int, int]
"""Column, entry and value of something that was read."""


class _Path:
    """One path: the answers that are set from the start, and all that were given."""

    def __init__(self, script: Sequence[int]) -> None:
        self.script = script
        self.given: list[Answer] = []
        self.known: dict[tuple[str, int], int] = {}

    def ask(self, column: str, entry: int, options: Sequence[int]) -> int:
        """The answer to one question; the first option where the script says nothing."""
        key = column, entry
        if key not in self.known:
            at = len(self.given)
            self.known[key] = self.script[at] if at < len(self.script) else options[0]
            self.given.append((column, entry, self.known[key]))
        return self.known[key]


class Open(list[int]):
    """A column some of whose entries are open: they are decided when they are read."""

    def __init__(self, name: str, size: int, options: Mapping[int, Sequence[int]], path: _Path) -> None:
        super().__init__([0] * size)
        self.name, self.options, self.path = name, options, path

    @overload
    def __getitem__(self, entry: SupportsIndex, /) -> int: ...
    @overload
    def __getitem__(self, entry: slice, /) -> list[int]: ...
    def __getitem__(self, entry: SupportsIndex | slice, /) -> int | list[int]:
        """An entry, decided now where it is open."""
        if isinstance(entry, int) and entry in self.options:
            return self.path.ask(self.name, entry, self.options[entry])
        return super().__getitem__(entry)


def all_paths(
    sizes: Mapping[str, int],
    options: Mapping[str, Mapping[int, Sequence[int]]],
    run: Callable[..., T],
) -> Iterator[tuple[list[Answer], T]]:
    """Every path through a function of columns.

    Parameters
    ----------
    sizes : mapping of str to int
        Length of each open column, by name.
    options : mapping of str to mapping
        What each open entry of a column may be.
    run : callable
        Called with the columns in order of ``sizes``; must depend on nothing else that changes.

    Yields
    ------
    answers : list of (str, int, int)
        What was read on the path, in order.
    result
        What ``run`` returned.
    """
    todo: list[tuple[int, ...]] = [()]
    while todo:
        script = todo.pop()
        path = _Path(script)
        result = run(*(Open(name, size, options[name], path) for name, size in sizes.items()))
        said = [value for _, _, value in path.given]
        for depth in range(len(script), len(said)):
            column, entry, _ = path.given[depth]
            todo += [(*said[:depth], other) for other in _others(options[column][entry])]
        yield path.given, result


def _others(options: Sequence[int]) -> Iterable[int]:
    return options[1:]
