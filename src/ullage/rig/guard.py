"""Read the guard language: text to a parsed tree, or one clear error.

A guard is a condition such as ``(belly_level >= target) or (belly_float held 1 s)``; a
transition is ``filling -> closing when GUARD``. The grammar stands in ``guard.lark``. What the
names mean is no matter here: see `ullage.rig.names`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from lark import Lark, Token, UnexpectedInput
from lark.exceptions import UnexpectedToken

from ullage.findings import nearest

Node = Any
"""A tree of the library, whose children are trees and tokens in an order that the grammar states."""

TEXT_LIMIT = 1000
"""No guard is longer than this [characters]."""

DEPTH_LIMIT = 40
"""Parentheses stand at most this deep."""

WORDS = ("and", "or", "not", "held", "is", "at", "since", "step", "when")
"""Words of the language; no part of a rig may be named like one."""


@dataclass(frozen=True, slots=True)
class Word:
    """A name as written; ``at`` is its offset in the text [characters]."""

    text: str
    at: int


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit as written, such as ``3 %``."""

    text: str
    at: int


@dataclass(frozen=True, slots=True)
class Term:
    """``sign * factor * name`` or ``sign * amount``: the amount is a bare factor where there is a name."""

    sign: int
    name: Word | None
    amount: Amount | None


@dataclass(frozen=True, slots=True)
class Compare:
    """Two sums compared; ``op`` is ``<``, ``<=``, ``>`` or ``>=``."""

    left: tuple[Term, ...]
    op: str
    right: tuple[Term, ...]
    at: int


@dataclass(frozen=True, slots=True)
class Bare:
    """A name alone: a float, a pump."""

    name: Word


@dataclass(frozen=True, slots=True)
class Is:
    """``name is word``."""

    name: Word
    word: Word


@dataclass(frozen=True, slots=True)
class IsAt:
    """``sequence is at step``."""

    sequence: Word
    step: Word


@dataclass(frozen=True, slots=True)
class Since:
    """``since step 20 s``."""

    time: Amount


@dataclass(frozen=True, slots=True)
class Negation:
    """``not part``."""

    part: Parsed
    at: int


@dataclass(frozen=True, slots=True)
class Lasting:
    """``part held time``."""

    part: Parsed
    time: Amount


@dataclass(frozen=True, slots=True)
class Chain:
    """Parts joined by one word, ``and`` or ``or``."""

    word: str
    parts: tuple[Parsed, ...]


Parsed = Compare | Bare | Is | IsAt | Since | Negation | Lasting | Chain
"""A parsed guard."""


@dataclass(frozen=True, slots=True)
class Arrow:
    """A parsed transition: steps before and after, and its guard (None: always)."""

    before: tuple[Word, ...]
    after: tuple[Word, ...]
    guard: Parsed | None


class GuardError(Exception):
    """A text that is no guard.

    Attributes
    ----------
    code : str
        Code of the finding.
    at : int
        Offset in the text [characters].
    what, expected, near : str
        As in `ullage.findings.Finding`.
    """

    def __init__(self, code: str, at: int, what: str, expected: str = "", near: str = "") -> None:
        super().__init__(what)
        self.code, self.at, self.what, self.expected, self.near = code, at, what, expected, near


@lru_cache(maxsize=1024)
def parse_guard(text: str) -> Parsed:
    """Parse a condition.

    Raises
    ------
    GuardError
        With the first thing that is wrong.
    """
    return _guard(_tree(text, "guard"))


@lru_cache(maxsize=1024)
def parse_transition(text: str) -> Arrow:
    """Parse ``a + b -> c when GUARD``; the guard may be left out.

    Raises
    ------
    GuardError
        With the first thing that is wrong.
    """
    before, after, guard = _tree(text, "transition").children
    return Arrow(
        tuple(map(_word, before.children)),
        tuple(map(_word, after.children)),
        None if guard is None else _guard(guard),
    )


def _tree(text: str, start: str) -> Node:
    if len(text) > TEXT_LIMIT:
        raise GuardError("R120", 0, f"the condition has {len(text)} characters", f"at most {TEXT_LIMIT}")
    depth = 0
    for at, sign in enumerate(text):
        depth += (sign == "(") - (sign == ")")
        if depth > DEPTH_LIMIT:
            raise GuardError("R120", at, "the parentheses are nested too deep", f"at most {DEPTH_LIMIT} levels")
    try:
        return _parser().parse(text, start=start)
    except UnexpectedInput as fault:
        raise _in_words(text, fault) from None


@cache
def _parser() -> Lark:
    grammar = files("ullage.rig").joinpath("guard.lark").read_text("utf8")
    return Lark(grammar, parser="lalr", start=["guard", "transition"], maybe_placeholders=True)


# --- from the library's tree to ours ---------------------------------------------------------


def _guard(tree: Node) -> Parsed:
    links = [link for link in tree.children if link.data == "link"]
    joints = [joint.children[0] for joint in tree.children if joint.data == "joint"]
    if not joints:
        return _link(links[0], alone=True)
    for joint in joints[1:]:
        if joint != joints[0]:
            raise _mixed(joint, f"'{joints[0]}' and '{joint}' stand side by side")
    return Chain(str(joints[0]), tuple(_link(link, alone=False) for link in links))


def _link(tree: Node, alone: bool) -> Parsed:
    negation, atom, held, time = tree.children
    word = negation or held
    if word is not None and not alone:
        raise _mixed(word, f"'{word}' stands beside 'and' or 'or'")
    if negation is not None and held is not None:
        raise _mixed(held, "'not' and 'held' stand side by side")
    part = _atom(atom)
    if negation is not None:
        return Negation(part, negation.start_pos)
    if held is not None:
        if atom.data not in ("guard", "flag"):
            raise _mixed(held, "what is 'held' is not set apart")
        return Lasting(part, _amount(time))
    return part


def _mixed(token: Token, what: str) -> GuardError:
    return GuardError("R121", _at(token), what, "parentheses around each part, such as '(a held 3 s) and b'")


def _atom(tree: Node) -> Parsed:
    parts = tree.children
    match tree.data:
        case "guard":
            return _guard(tree)
        case "flag":
            return Bare(_word(parts[0]))
        case "is_word":
            return Is(_word(parts[0]), _word(parts[1]))
        case "is_at":
            return IsAt(_word(parts[0]), _word(parts[1]))
        case "since":
            return Since(_amount(parts[0]))
        case _:
            left, order, right = parts
            return Compare(_sum(left), str(order), _sum(right), _at(order))


def _sum(tree: Node) -> tuple[Term, ...]:
    signs, terms = tree.children[::2], tree.children[1::2]
    return tuple(_term(-1 if sign == "-" else 1, term) for sign, term in zip(signs, terms, strict=True))


def _term(sign: int, tree: Node) -> Term:
    if len(tree.children) == 1:
        return Term(sign, None, _amount(tree.children[0]))
    factor, name = tree.children
    return Term(sign, _word(name), None if factor is None else _amount(factor))


def _word(token: Token) -> Word:
    return Word(str(token), _at(token))


def _amount(token: Token) -> Amount:
    return Amount(str(token).strip(), _at(token))


def _at(token: Token) -> int:
    return token.start_pos or 0


# --- from the library's errors to words ------------------------------------------------------

_EXPECTED = {
    "NAME": "a name",
    "QUANTITY": "a quantity such as '3 %'",
    "LPAR": "'('",
    "RPAR": "')'",
    "NOT": "'not'",
    "SINCE": "'since step'",
    "AND": "'and'",
    "OR": "'or'",
    "HELD": "'held'",
    "IS": "'is'",
    "AT": "'at'",
    "STEP": "'step'",
    "WHEN": "'when'",
    "ORDER": "'<', '<=', '>' or '>='",
    "SIGN": "'+' or '-'",
    "PLUS": "'+'",
    "STAR": "'*'",
    "__ANON_0": "'->'",
    "$END": "the end",
}


def _in_words(text: str, fault: UnexpectedInput) -> GuardError:
    if isinstance(fault, UnexpectedToken):
        ended = fault.token.type == "$END"
        at = len(text) if ended else _at(fault.token)
        what = "the condition ends too early" if ended else f"'{str(fault.token)[:40]}' is not understood here"
        wanted = set(fault.accepts or fault.expected)
        near = "" if ended else nearest(str(fault.token), [word for word in WORDS if word.upper() in wanted])
    else:
        at = fault.pos_in_stream or 0
        word = re.match(r"\w{1,40}|.", text[at:], re.DOTALL)
        what = f"'{word[0] if word else ''}' is not understood here"
        wanted = set(getattr(fault, "allowed", None) or ())
        near = ""
    known = [words for name, words in _EXPECTED.items() if name in wanted]
    return GuardError("R120", at, what, _listed(known) or "'and', 'or' or the end", near)


def _listed(words: list[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    return ", ".join(words[:-1]) + " or " + words[-1]
