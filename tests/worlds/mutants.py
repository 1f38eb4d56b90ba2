"""Mutants of a rig file: small changes of the kinds that people and editors make, and worse ones."""

from __future__ import annotations

import random
import re

WORD = re.compile(r"[A-Za-z_][A-Za-z0-9_]*|\d+(?:\.\d+)?|[^\sA-Za-z0-9_]")

NAME = re.compile(r"(?<=[{ ])[a-z]+_?[a-z]+(?=[,:}\]. ])")

ODD = (
    "", "null", "true", "off", "~", "0", "-1", "1e300", "nan", "inf", "-inf", "9" * 400, "0 L", "3 %", "1 mm", "2 bar",
    "4 s", "L/min", "..", "0.5 bar .. 4 bar", "4 bar .. 0.5 bar", "&a", "*a", "<<", "!!python/name:os.system", "!x",
    "|", ">", "'", '"', "{}", "[]", "{", "}", "[", "]", "- ", "? ", ": ", "#", "%YAML 1.1", "---", "...", "\t", "\x00",
    "\ufeff", "\u2028", "\x85", "é", "日", "\ud800", "->", "and", "or", "not", "held", "since step 3 s",
    "is open", "when", "(", ")", "(" * 50, "a" * 2000, "fresh.top", "belly.top", "initial", "final", "outdoors",
    "handset", "stop all",
)  # fmt: skip
"""Texts that stand where something else was expected."""


BYTES = (0, 7, 9, 13, 27, 127, 133, 160, 0x2028, 0xFEFF, 0xFFFE, 0x1F6B0)
"""Characters that hide, turn or end a text."""


def mutant(text: str, seed: int) -> str:
    """A changed file; the same seed gives the same one."""
    chance = random.Random(seed)
    for _ in range(chance.choice((1, 1, 1, 1, 2, 4))):
        text = chance.choice(CHANGES)(text, chance)
    return text


def _words(text: str) -> list[re.Match[str]]:
    return list(WORD.finditer(text)) or list(re.finditer("$", text))


def _put(text: str, word: re.Match[str], new: str) -> str:
    return text[: word.start()] + new + text[word.end() :]


def _exchange(text: str, chance: random.Random) -> str:
    """One word of the file in place of another."""
    words = _words(text)
    return _put(text, chance.choice(words), chance.choice(words)[0])


def _renamed(text: str, chance: random.Random) -> str:
    """One name in place of another: what is left can most often be read, and means something else."""
    names = list(NAME.finditer(text)) or _words(text)
    return _put(text, chance.choice(names), chance.choice(names)[0])


def _oddity(text: str, chance: random.Random) -> str:
    return _put(text, chance.choice(_words(text)), chance.choice(ODD))


def _drop(text: str, chance: random.Random) -> str:
    return _put(text, chance.choice(_words(text)), "")


def _typo(text: str, chance: random.Random) -> str:
    word = chance.choice(_words(text))
    at = chance.randrange(len(word[0]) + 1)
    letters = chance.choice((word[0][:at] + word[0][at + 1 :], word[0][:at] + chance.choice("aeiou_x9") + word[0][at:]))
    return _put(text, word, letters)


def _number(text: str, chance: random.Random) -> str:
    numbers = list(re.finditer(r"\d+(?:\.\d+)?", text)) or _words(text)
    number = chance.choice(numbers)
    return _put(text, number, chance.choice(("0", "-" + number[0], number[0] + "000", "0.00" + number[0], "1e9", ".")))


def _line_out(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    del lines[chance.randrange(len(lines))]
    return "\n".join(lines)


def _line_twice(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    lines.insert(chance.randrange(len(lines) + 1), chance.choice(lines))
    return "\n".join(lines)


def _block_moved(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    start = chance.randrange(len(lines))
    block = lines[start : start + chance.randrange(1, 20)]
    del lines[start : start + len(block)]
    at = chance.randrange(len(lines) + 1)
    return "\n".join(lines[:at] + block + lines[at:])


def _indented(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    lines[at] = chance.choice(
        (" " + lines[at], lines[at].removeprefix(" "), "\t" + lines[at].lstrip(), lines[at].lstrip())
    )
    return "\n".join(lines)


def _cut(text: str, chance: random.Random) -> str:
    return text[: chance.randrange(len(text) + 1)]


def _repeated(text: str, chance: random.Random) -> str:
    start = chance.randrange(len(text) + 1)
    piece = text[start : start + chance.randrange(1, 60)]
    return text[:start] + piece * chance.choice((2, 50, 400)) + text[start:]


def _byte(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text) + 1)
    return (
        text[:at]
        + chr(chance.choice((0, 7, 9, 13, 27, 127, 133, 160, 0x2028, 0xFEFF, 0xFFFE, 0x1F6B0)))
        + text[at + 1 :]
    )


CHANGES = (
    _exchange, _exchange, _renamed, _renamed, _renamed, _oddity, _oddity, _drop, _typo, _number, _number, _number,
    _line_out, _line_out, _line_twice, _block_moved, _indented, _cut, _repeated, _byte,
)  # fmt: skip
