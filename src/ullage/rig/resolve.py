"""From a parsed guard to what it means: names looked up, units read, percentages made volumes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ullage import quantities
from ullage.findings import FINDINGS_LIMIT, Finding, nearest
from ullage.quantities import QuantityError
from ullage.rig import guard as parsed
from ullage.rig.meaning import (
    ATTITUDES,
    SEQUENCE_WORDS,
    VALVE_WORDS,
    All,
    AnyOf,
    AtStep,
    Condition,
    Flag,
    Good,
    HandsetIs,
    Held,
    Linear,
    Linked,
    Not,
    Order,
    SequenceIs,
    SinceStep,
    Symbol,
    ValveIs,
)
from ullage.rig.text import Path, Places

_ORDERS: dict[str, Order] = {"<": "<", "<=": "<=", ">": ">", ">=": ">="}

_PUMP_WORDS = ("on", "off")

_READINGS = ("sender", "float", "meter", "probe")


@dataclass(slots=True)
class Scope:
    """What a guard may speak of, and where what is wrong with it is collected.

    Attributes
    ----------
    symbols : mapping of str to Symbol
        Names known here.
    steps : mapping of str to collection of str
        Steps of each sequence.
    capacities : mapping of str to float
        What 100 % of each tank means [m3].
    places : Places
        Of the rig file.
    unclear : collection of str
        Names whose own trouble is told already, so that nothing more is said of them.
    timed : bool
        Whether ``since step`` has a meaning here.
    findings : list of Finding
        Grows as guards are resolved.
    """

    symbols: Mapping[str, Symbol]
    steps: Mapping[str, tuple[str, ...]]
    capacities: Mapping[str, float]
    places: Places
    unclear: frozenset[str] = frozenset()
    timed: bool = False
    findings: list[Finding] = field(default_factory=list)

    @property
    def full(self) -> bool:
        """Whether enough is found: a file of nothing but faults would take long."""
        return len(self.findings) >= FINDINGS_LIMIT


class _Unclear(Exception):
    """A part of the guard has no meaning; the finding is already collected."""


def resolve(tree: parsed.Parsed, scope: Scope, path: Path, on: str) -> Condition | None:
    """Resolve a parsed guard.

    Parameters
    ----------
    tree : Parsed
        The guard.
    scope : Scope
        What it may speak of; its findings grow.
    path : Path
        Where the guard's text stands.
    on : str
        Name of the sequence or interlock it belongs to.

    Returns
    -------
    Condition or None
        None when anything in it is unclear.
    """
    return _Resolver(scope, path, on).condition(tree)


@dataclass(slots=True)
class _Sum:
    """A linear expression on its way: coefficients by name, and a constant [SI]."""

    terms: dict[str, tuple[float, Symbol]]
    constant: float


class _Resolver:
    """One guard with its scope."""

    def __init__(self, scope: Scope, path: Path, on: str) -> None:
        self.scope = scope
        self.path = path
        self.on = on

    def condition(self, tree: parsed.Parsed) -> Condition | None:
        """The meaning of a guard, or None: all its parts are looked at, so that all faults are told."""
        if isinstance(tree, parsed.Chain):
            parts = [self.condition(part) for part in tree.parts]
            known = tuple(part for part in parts if part is not None)
            if len(known) < len(parts):
                return None
            return All(known) if tree.word == "and" else AnyOf(known)
        try:
            return self._single(tree)
        except _Unclear:
            return None

    def _single(self, tree: parsed.Parsed) -> Condition | None:
        match tree:
            case parsed.Negation(part, _):
                inner = self.condition(part)
                return None if inner is None else Not(inner)
            case parsed.Lasting(part, time):
                inner, seconds = self.condition(part), self._time(time)
                return None if inner is None else Held(inner, seconds)
            case parsed.Since(time):
                return self._since(time)
            case parsed.Bare(name):
                return self._flag(name)
            case parsed.Is(name, word):
                return self._is(name, word)
            case parsed.IsAt(sequence, step):
                return self._is_at(sequence, step)
            case parsed.Compare():
                return self._compare(tree)
            case _:
                raise AssertionError(tree)

    # --- names and words -----------------------------------------------------------------

    def _refuse(self, code: str, at: int, what: str, expected: str = "", near: str = "") -> _Unclear:
        place = self.scope.places.inside(self.path, at)
        self.scope.findings.append(Finding(code, place, what, expected, near, self.on))
        return _Unclear()

    def _symbol(self, name: parsed.Word) -> Symbol:
        if name.text in self.scope.unclear:
            raise _Unclear
        symbol = self.scope.symbols.get(name.text)
        if symbol is None:
            near = nearest(name.text, self.scope.symbols)
            raise self._refuse("N200", name.at, f"'{name.text}' is unknown", "a name of the rig", near)
        return symbol

    def _flag(self, name: parsed.Word) -> Condition:
        symbol = self._symbol(name)
        if symbol.kind != "float":
            expected = {
                "valve": f"'{name.text} is open' and the like",
                "sequence": f"'{name.text} is running' and the like",
                "pump": f"'{name.text} is on'",
                "board": f"'{name.text} is linked'",
            }.get(symbol.kind, f"'{name.text} > ...' and the like" if symbol.dimension else "a float switch")
            raise self._refuse("S401", name.at, f"the {symbol.kind} '{name.text}' alone is no condition", expected)
        return Flag(symbol)

    def _is(self, name: parsed.Word, word: parsed.Word) -> Condition:
        symbol = self._symbol(name)
        kind = symbol.kind
        if kind == "valve":
            return ValveIs(symbol, self._word(word, symbol, VALVE_WORDS))
        if kind == "sequence":
            return SequenceIs(symbol, self._word(word, symbol, SEQUENCE_WORDS))
        if kind == "handset":
            return HandsetIs(self._word(word, symbol, ATTITUDES))
        if kind == "pump":
            on = self._word(word, symbol, _PUMP_WORDS) == "on"
            return Flag(symbol) if on else Not(Flag(symbol))
        if kind == "board":
            self._word(word, symbol, ("linked",))
            return Linked(symbol)
        if kind in _READINGS:
            self._word(word, symbol, ("good",))
            return Good(symbol)
        raise self._refuse("S401", name.at, f"nothing can be asked of the {kind} '{name.text}'", "another name")

    def _word(self, word: parsed.Word, symbol: Symbol, words: tuple[str, ...]) -> str:
        if word.text not in words:
            what = f"'{word.text}' is nothing that the {symbol.kind} '{symbol.name}' can be"
            raise self._refuse("N205", word.at, what, "one of " + ", ".join(words), nearest(word.text, words))
        return word.text

    def _is_at(self, sequence: parsed.Word, step: parsed.Word) -> Condition:
        symbol = self._symbol(sequence)
        if symbol.kind != "sequence":
            raise self._refuse("S401", sequence.at, f"the {symbol.kind} '{symbol.name}' has no steps", "a sequence")
        steps = self.scope.steps[symbol.name]
        if step.text not in steps:
            what = f"'{symbol.name}' has no step '{step.text}'"
            raise self._refuse("N209", step.at, what, "one of " + ", ".join(steps), nearest(step.text, steps))
        return AtStep(symbol, step.text)

    # --- quantities ----------------------------------------------------------------------

    def _time(self, time: parsed.Amount) -> float:
        try:
            return quantities.read(time.text, "time")
        except QuantityError as fault:
            raise self._refuse("R116", time.at, fault.what, fault.expected) from None

    def _since(self, time: parsed.Amount) -> Condition:
        if not self.scope.timed:
            raise self._refuse("S403", time.at, "'since step' stands outside of a transition", "a transition")
        return SinceStep(self._time(time))

    def _compare(self, tree: parsed.Compare) -> Condition:
        sides = [(1.0, term) for term in tree.left] + [(-1.0, term) for term in tree.right]
        names = [self._value(term.name) for _, term in sides if term.name is not None]
        if not names:
            raise self._refuse("S405", tree.at, "figures are compared with figures", "a reading on one side")
        dimension = names[0].dimension
        for symbol in names[1:]:
            if symbol.dimension != dimension:
                what = f"'{symbol.name}' is a {symbol.dimension}, '{names[0].name}' a {dimension}"
                raise self._refuse("S400", tree.at, what, "the same dimension on both sides")
        tanks = sorted({symbol.tank for symbol in names if symbol.tank is not None})
        total = _Sum({}, 0.0)
        for side, term in sides:
            self._add(total, side * term.sign, term, dimension, tanks)
        terms = tuple(pair for pair in total.terms.values() if pair[0] != 0.0)
        if not terms:
            raise self._refuse("S405", tree.at, "the readings cancel out", "a reading on one side")
        return Linear(terms, total.constant, _ORDERS[tree.op], dimension)

    def _value(self, name: parsed.Word) -> Symbol:
        symbol = self._symbol(name)
        if not symbol.dimension:
            what = f"the {symbol.kind} '{name.text}' has no value to compare"
            expected = f"'{name.text}' alone" if symbol.kind == "float" else f"'{name.text} is ...'"
            raise self._refuse("S401", name.at, what, expected)
        return symbol

    def _add(self, total: _Sum, side: float, term: parsed.Term, dimension: str, tanks: list[str]) -> None:
        if term.name is not None:
            symbol = self.scope.symbols[term.name.text]
            factor = 1.0 if term.amount is None else self._factor(term.amount)
            before = total.terms.get(symbol.name, (0.0, symbol))[0]
            total.terms[symbol.name] = (before + side * factor, symbol)
        else:
            assert term.amount is not None
            total.constant += side * self._amount(term.amount, dimension, tanks)

    def _factor(self, amount: parsed.Amount) -> float:
        number, unit = quantities.split(amount.text)
        if unit:
            raise self._refuse("S400", amount.at, f"the factor '{amount.text}' has a unit", "a plain number")
        return number

    def _amount(self, amount: parsed.Amount, dimension: str, tanks: list[str]) -> float:
        """A figure in SI; a percentage is one of the only tank of the comparison."""
        unit = ""
        try:
            number, unit = quantities.split(amount.text)
            if unit != "%":
                return quantities.to_si(number, unit, dimension)
        except QuantityError as fault:
            known = quantities.dimension_of(unit) if unit else None
            share = f", or in % of '{tanks[0]}'" if len(tanks) == 1 else ""
            raise self._refuse("S400" if known else "R116", amount.at, fault.what, fault.expected + share) from None
        if len(tanks) != 1:
            what = f"'{amount.text}' could be of {' or '.join(tanks)}" if tanks else f"'{amount.text}' is of no tank"
            raise self._refuse("S402", amount.at, what, "a quantity with its unit")
        if tanks[0] not in self.scope.capacities:
            raise self._refuse("N203", amount.at, f"'{tanks[0]}' is no tank", "a tank")
        return number * 0.01 * self.scope.capacities[tanks[0]]
