"""Can a guard ever be true, can it ever be false: reasoning over the ranges of what it reads.

A guard is split into cases (any of which makes it true); a case is impossible when its parts
contradict one another, or when a comparison has no solution within the ranges of its readings
and parameters. The answer errs on one side only: what is called impossible is so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import inf

from ullage.quantities import Span
from ullage.rig.meaning import (
    All,
    AnyOf,
    Condition,
    Flag,
    HandsetIs,
    Held,
    Linear,
    Not,
    SequenceIs,
    SinceStep,
    Symbol,
    ValveIs,
)

CASES_LIMIT = 50
"""A guard of more cases than this is taken to be possible."""

Fact = tuple[Condition, bool]
"""A condition that is no junction, and whether it is to be true."""

Ranges = Mapping[str, Span]
"""Range of each reading and parameter by name [SI]; a name without one may be anything."""

_TURNED = {"<": ">=", "<=": ">", ">": "<=", ">=": "<"}


def can_be(guard: Condition, wanted: bool, ranges: Ranges) -> bool:
    """Whether a guard can be true (or false, as wanted) at some moment."""
    return possible([(guard, wanted)], ranges)


def possible(together: Sequence[tuple[Condition, bool]], ranges: Ranges) -> bool:
    """Whether some guards can be true or false, each as wanted, at one moment."""
    per_guard = [_cases(guard, wanted) for guard, wanted in together]
    count = 1
    for cases in per_guard:
        count *= len(cases)
    if count > CASES_LIMIT:
        return True
    return any(_consistent([fact for case in pick for fact in case], ranges) for pick in product(*per_guard))


def _cases(guard: Condition, wanted: bool) -> list[list[Fact]]:
    match guard:
        case Not(part):
            return _cases(part, not wanted)
        case All(parts) | AnyOf(parts):
            inner = [_cases(part, wanted) for part in parts]
            if isinstance(guard, All) != wanted:
                return [case for cases in inner for case in cases][: CASES_LIMIT + 1]
            count = 1
            for cases in inner:
                count *= len(cases)
            if count > CASES_LIMIT:
                return [[]]
            return [[fact for case in pick for fact in case] for pick in product(*inner)]
        case Held(part, _):
            return _cases(part, True) if wanted else [[]]
        case _:
            return [[(guard, wanted)]]


def _consistent(facts: list[Fact], ranges: Ranges) -> bool:
    return _words_agree(facts) and _times_agree(facts) and all(_solvable(facts, ranges))


def _words_agree(facts: list[Fact]) -> bool:
    """No flag both ways; no part in two states at once."""
    true = [fact for fact, wanted in facts if wanted]
    false = [fact for fact, wanted in facts if not wanted]
    if any(fact in false for fact in true):
        return False
    states: dict[str, str] = {}
    for fact in true:
        match fact:
            case ValveIs(symbol, word) | SequenceIs(symbol, word):
                key = symbol.name
            case HandsetIs(word):
                key = ""
            case _:
                continue
        if states.setdefault(key, word) != word:
            return False
    return True


def _times_agree(facts: list[Fact]) -> bool:
    since = max((fact.seconds for fact, wanted in facts if wanted and isinstance(fact, SinceStep)), default=0.0)
    until = min((fact.seconds for fact, wanted in facts if not wanted and isinstance(fact, SinceStep)), default=inf)
    return since < until


def _solvable(facts: list[Fact], ranges: Ranges) -> Iterator[bool]:
    """Each comparison within the ranges and within the other comparisons of the same sum."""
    bands: dict[tuple[tuple[float, Symbol], ...], _Band] = {}
    for fact, wanted in facts:
        if not isinstance(fact, Linear):
            continue
        ordered = sorted(fact.terms, key=lambda term: term[1].name)
        scale = ordered[0][0]
        terms = tuple((factor / scale, symbol) for factor, symbol in ordered)
        band = bands.setdefault(terms, _reach(terms, ranges))
        op = fact.op if wanted else _TURNED[fact.op]
        yield band.cut(-fact.constant / scale, (op in (">", ">=")) == (scale > 0), op in ("<", ">"))


@dataclass(slots=True)
class _Band:
    """Values between two ends, each of which belongs to it or not."""

    low: float
    high: float
    low_open: bool = False
    high_open: bool = False

    def cut(self, bound: float, above: bool, strict: bool) -> bool:
        """Keep what lies above (or below) a bound; whether anything is left."""
        if above and bound >= self.low:
            self.low_open = strict or (self.low_open and bound == self.low)
            self.low = bound
        elif not above and bound <= self.high:
            self.high_open = strict or (self.high_open and bound == self.high)
            self.high = bound
        return self.low < self.high or (self.low == self.high and not (self.low_open or self.high_open))


def _reach(terms: tuple[tuple[float, Symbol], ...], ranges: Ranges) -> _Band:
    """Least and greatest of a sum [SI]."""
    low = high = 0.0
    for factor, symbol in terms:
        span = ranges.get(symbol.name, Span(-inf, inf))
        ends = (factor * span.least, factor * span.most)
        low, high = low + min(ends), high + max(ends)
    return _Band(low, high)


# --- what a guard speaks of --------------------------------------------------------------------


def atoms(guard: Condition, positive: bool = True) -> Iterator[Fact]:
    """All parts of a guard that are no junction, each with the sense in which it stands."""
    match guard:
        case All(parts) | AnyOf(parts):
            for part in parts:
                yield from atoms(part, positive)
        case Not(part):
            yield from atoms(part, not positive)
        case Held(part, _):
            yield from atoms(part, positive)
        case _:
            yield guard, positive


def readings(guard: Condition) -> set[str]:
    """Names of the readings (senders, floats, meters, probes) that a guard is made of."""
    names: set[str] = set()
    for atom, _ in atoms(guard):
        match atom:
            case Linear(terms):
                names |= {symbol.name for _, symbol in terms if symbol.kind != "parameter"}
            case Flag(symbol) if symbol.kind == "float":
                names.add(symbol.name)
    return names
