"""How much room text takes in a drawing.

Drawings are lettered in a monospaced face, since then the room is known without the font of
the reader's machine: the advance of every such face in common use is at most `CELL` of its size.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata

FACE = "ui-monospace, 'DejaVu Sans Mono', Menlo, Consolas, 'Liberation Mono', monospace"
"""The faces asked for, in order."""

CELL = 0.62
"""Advance of one character as a part of the size of the letters [-]."""

LEADING = 1.35
"""Distance of lines as a part of the size of the letters [-]."""

_GLUE = "\0"
"""Stands for a space at which no line is broken."""

_UNITS = "L|mL|L/min|gal|gpm|bar|kPa|psi|mm|m|in|ft|ms|s|min|h|d|V|A|Ah|%|°C|°F"

_NUMBER_AND_UNIT = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![\w/]))")
"""The space between a number and its unit."""


def printable(text: str) -> str:
    """A text without characters that a terminal, a browser or an XML reader would obey or refuse."""
    return "".join(c if c.isprintable() else " " for c in text)


def cells(text: str) -> int:
    """Number of character cells that a text takes: wide characters take two, combining ones none."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def room(lines: tuple[str, ...], size: float) -> tuple[float, float]:
    """Width and height of lines of text [px].

    Parameters
    ----------
    lines : tuple of str
        The text.
    size : float
        Size of the letters [px].
    """
    return max(map(cells, lines), default=0) * CELL * size, len(lines) * LEADING * size


def glued(text: str, glue: str) -> str:
    """A text with another character in place of each space between a number and its unit."""
    return _NUMBER_AND_UNIT.sub(glue, text)


def hung(head: str, text: str, width: int, hang: int | None = None) -> list[str]:
    """A text for a terminal behind its head, its further lines hanging.

    Parameters
    ----------
    head, text : str
        What stands first; what follows it.
    width : int
        Characters per line.
    hang : int, optional
        Indent of the further lines; as wide as the head when not given.
    """
    indent = " " * (len(head) if hang is None else hang)
    lines = textwrap.wrap(glued(text, _GLUE), width, initial_indent=head, subsequent_indent=indent)
    return [line.replace(_GLUE, " ") for line in lines] or [head.rstrip()]


def wrap(text: str, most: int) -> tuple[str, ...]:
    """Break a text into lines of at most ``most`` cells, at spaces where there are any.

    A condition is broken before ``and`` and ``or`` outside parentheses where that is enough,
    and a number is kept beside its unit, so that each line can be read by itself.
    """
    lines: list[str] = []
    for clause in _clauses(printable(text)):
        if lines and cells(f"{lines[-1]} {clause}") <= most:
            lines[-1] += f" {clause}"
        elif cells(clause) <= most:
            lines.append(clause)
        else:
            lines += _filled(clause, most)
    return tuple(lines)


def _clauses(text: str) -> list[str]:
    """The parts of a condition that ``and`` and ``or`` join at the outermost level."""
    clauses: list[list[str]] = [[]]
    depth = 0
    for word in text.split():
        if depth == 0 and word in ("and", "or") and clauses[-1]:
            clauses.append([])
        depth += word.count("(") - word.count(")")
        clauses[-1].append(word)
    return [" ".join(clause) for clause in clauses if clause]


def _filled(text: str, most: int) -> list[str]:
    lines = [""]
    for word in _pieces(text, most):
        if lines[-1] and cells(f"{lines[-1]} {word}") > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _pieces(text: str, most: int) -> list[str]:
    """The words of a text, a number together with its unit, those that are too long cut up."""
    pieces: list[str] = []
    for word in glued(text, _GLUE).split(" "):
        piece = ""
        for character in word.replace(_GLUE, " "):
            if piece and cells(piece + character) > most:
                pieces.append(piece)
                piece = ""
            piece += character
        if piece:
            pieces.append(piece)
    return pieces
