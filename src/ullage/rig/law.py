"""All guards of a rig, read and resolved: what the compiler and the checks start from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

from ullage import quantities
from ullage.findings import Finding, nearest
from ullage.quantities import QuantityError
from ullage.rig import guard as parsed
from ullage.rig.guard import Arrow, GuardError, parse_guard, parse_transition
from ullage.rig.meaning import Bounds, Chart, Condition, Law, Symbol, Transition, Trip, Wish
from ullage.rig.model import Rig
from ullage.rig.names import symbols
from ullage.rig.procedures import Parameter, Sequence
from ullage.rig.resolve import Scope, resolve
from ullage.rig.shapes import capacity
from ullage.rig.statements import read_statement
from ullage.rig.text import Path, Places

_T = TypeVar("_T")


def read_law(rig: Rig, places: Places) -> tuple[Law, tuple[Finding, ...]]:
    """Read and resolve all guards.

    Parameters
    ----------
    rig : Rig
        The rig.
    places : Places
        Of its file.

    Returns
    -------
    law : Law
        Holds each chart, trip and wish that is whole; what is unclear is left out.
    findings : tuple of Finding
        Everything that is unclear. The law may run only without any.
    """
    scope = scope_of(rig, places)
    charts = [_Chart(name, sequence, scope).read() for name, sequence in rig.sequences.items()]
    trips = list(_trips(rig, scope))
    never = tuple(_never(rig, scope))
    sometimes = tuple(_wishes(rig.sometimes, rig, scope))
    law = Law(dict(scope.symbols), _whole(charts), _whole(trips), never, sometimes)
    return law, tuple(scope.findings)


def scope_of(rig: Rig, places: Places) -> Scope:
    """What the guards of a rig, or of a scenario for it, may speak of."""
    return Scope(
        symbols=symbols(rig),
        steps={name: tuple(sequence.steps) for name, sequence in rig.sequences.items()},
        capacities={name: capacity(tank) for name, tank in rig.tanks.items()},
        places=places,
    )


def _whole(things: Iterable[_T | None]) -> tuple[_T, ...]:
    return tuple(thing for thing in things if thing is not None)


def _condition(text: str, scope: Scope, path: Path, on: str) -> Condition | None:
    if scope.full:
        return None
    try:
        return resolve(parse_guard(text), scope, path, on)
    except GuardError as fault:
        _collect(fault, scope, path, on)
        return None


def _collect(fault: GuardError, scope: Scope, path: Path, on: str) -> None:
    place = scope.places.inside(path, fault.at)
    scope.findings.append(Finding(fault.code, place, fault.what, fault.expected, fault.near, on))


def _trips(rig: Rig, scope: Scope) -> Iterator[Trip | None]:
    for name, interlock in rig.interlocks.items():
        path: Path = ("interlocks", name)
        when = _condition(interlock.when, scope, (*path, "when"), name)
        until = None if interlock.until is None else _condition(interlock.until, scope, (*path, "until"), name)
        yield None if when is None else Trip(name, when, until, scope.places.value(*path, "when"))


def _never(rig: Rig, scope: Scope) -> Iterator[Wish]:
    """The lines of ``never`` that are clear."""
    for at, line in enumerate(rig.never):
        path: Path = ("never", at) if line.in_health is None else ("never", at, "in_health")
        statement = read_statement(line.text, rig, scope, path)
        if statement is not None:
            yield Wish(statement, line.text, scope.places.value(*path), line.in_health is not None)


def _wishes(texts: Iterable[str], rig: Rig, scope: Scope) -> Iterator[Wish]:
    """The lines of ``sometimes`` that are clear."""
    for at, text in enumerate(texts):
        statement = read_statement(text, rig, scope, ("sometimes", at))
        if statement is not None:
            yield Wish(statement, text, scope.places.value("sometimes", at))


# --- sequences -------------------------------------------------------------------------------


class _Chart:
    """One sequence on its way from text to meaning."""

    def __init__(self, name: str, sequence: Sequence, scope: Scope) -> None:
        self.name = name
        self.sequence = sequence
        self.outer = scope
        self.path: Path = ("sequences", name)

    def read(self) -> Chart | None:
        """The chart, or None when anything of it is unclear."""
        before = len(self.outer.findings)
        arrows = [self._arrow(at, text) for at, text in enumerate(self.sequence.transitions)]
        bounds = [self._bounds(name, parameter, arrows) for name, parameter in self.sequence.parameters.items()]
        own = {bound.symbol.name: bound.symbol for bound in bounds if bound is not None}
        scope = Scope(
            {**self.outer.symbols, **own},
            self.outer.steps,
            self.outer.capacities,
            self.outer.places,
            frozenset(self.sequence.parameters) - set(own),
            findings=self.outer.findings,
        )
        permit, stay, begins = (self._guard(scope, word) for word in ("permit", "stay", "begins"))
        scope.timed = True
        transitions = [self._transition(scope, at, arrow) for at, arrow in enumerate(arrows) if arrow is not None]
        if len(self.outer.findings) > before or scope.full:
            return None
        permit_at, stay_at, begins_at = (scope.places.value(*self.path, word) for word in ("permit", "stay", "begins"))
        places = (permit_at, stay_at, begins_at)
        return Chart(self.name, _whole(bounds), permit, stay, begins, _whole(transitions), places)

    def _guard(self, scope: Scope, word: str) -> Condition | None:
        text = getattr(self.sequence, word)
        return None if text is None else _condition(text, scope, (*self.path, word), self.name)

    def _arrow(self, at: int, text: str) -> Arrow | None:
        try:
            return parse_transition(text)
        except GuardError as fault:
            _collect(fault, self.outer, (*self.path, "transitions", at), self.name)
            return None

    def _transition(self, scope: Scope, at: int, arrow: Arrow) -> Transition | None:
        if scope.full:
            return None
        path: Path = (*self.path, "transitions", at)
        steps = self.sequence.steps
        for word in (*arrow.before, *arrow.after):
            if word.text not in steps:
                place = scope.places.inside(path, word.at)
                what, near = f"'{self.name}' has no step '{word.text}'", nearest(word.text, steps)
                scope.findings.append(Finding("N209", place, what, "one of " + ", ".join(steps), near, self.name))
        guard = None if arrow.guard is None else resolve(arrow.guard, scope, path, self.name)
        before, after = (tuple(word.text for word in words) for words in (arrow.before, arrow.after))
        return Transition(before, after, guard, scope.places.value(*path))

    # --- parameters ----------------------------------------------------------------------

    def _bounds(self, name: str, parameter: Parameter, arrows: list[Arrow | None]) -> Bounds | None:
        path: Path = (*self.path, "parameters", name)
        dimension, tank = self._dimension(path, parameter, arrows)
        if dimension is None:
            return None
        values = [self._value((*path, key), getattr(parameter, key), dimension, tank) for key in _ENDS]
        if None in values:
            return None
        default, least, most = (value for value in values if value is not None)
        if not least <= default <= most:
            place = self.outer.places.key(*path)
            what = f"the default of '{name}' lies outside of its own range"
            self.outer.findings.append(Finding("S406", place, what, "least <= default <= most", on=self.name))
            return None
        return Bounds(Symbol(name, "parameter", dimension, tank, self.name), default, least, most)

    def _dimension(self, path: Path, parameter: Parameter, arrows: list[Arrow | None]) -> tuple[str | None, str | None]:
        """Dimension of a parameter, and the tank of one that is a share of a tank or a volume."""
        try:
            unit = quantities.split(parameter.default)[1]
        except QuantityError as fault:
            self._refuse("R116", (*path, "default"), fault.what, fault.expected)
            return None, None
        tank = parameter.of
        if unit != "%":
            dimension = quantities.dimension_of(unit)
            if dimension is None or not unit:
                self._refuse("R116", (*path, "default"), f"'{parameter.default}' has no known unit", "a unit")
            return dimension or None, tank if dimension == "volume" else None
        if tank is None:
            tanks = sorted(_tanks_beside(str(path[-1]), self._guards(arrows), self.outer.symbols))
            if len(tanks) != 1:
                self._refuse("S402", path, f"'{parameter.default}' is of no certain tank", "'of: TANK'")
                return None, None
            tank = tanks[0]
        if tank not in self.outer.capacities:
            near = nearest(tank, self.outer.capacities)
            self._refuse("N203", (*path, "of"), f"'{tank}' is no tank", "a tank", near)
            return None, None
        return "volume", tank

    def _guards(self, arrows: list[Arrow | None]) -> Iterator[parsed.Parsed]:
        for arrow in arrows:
            if arrow is not None and arrow.guard is not None:
                yield arrow.guard
        for text in (self.sequence.permit, self.sequence.stay, self.sequence.begins):
            try:
                if text is not None:
                    yield parse_guard(text)
            except GuardError:
                continue  # told when the guard itself is read

    def _value(self, path: Path, text: str, dimension: str, tank: str | None) -> float | None:
        try:
            number, unit = quantities.split(text)
            if unit == "%" and tank is not None:
                return number * 0.01 * self.outer.capacities[tank]
            return quantities.to_si(number, unit, dimension)
        except QuantityError as fault:
            self._refuse("R116", path, fault.what, fault.expected)
            return None

    def _refuse(self, code: str, path: Path, what: str, expected: str, near: str = "") -> None:
        self.outer.findings.append(Finding(code, self.outer.places.value(*path), what, expected, near, self.name))


_ENDS = ("default", "least", "most")


def _tanks_beside(name: str, guards: Iterable[parsed.Parsed], known: Mapping[str, Symbol]) -> set[str]:
    """Tanks of the readings that a name is compared with."""
    tanks: set[str] = set()
    for guard in guards:
        for compare in _compares(guard):
            names = {term.name.text for term in (*compare.left, *compare.right) if term.name is not None}
            if name in names:
                tanks |= {tank for other in names if other in known and (tank := known[other].tank)}
    return tanks


def _compares(guard: parsed.Parsed) -> Iterator[parsed.Compare]:
    match guard:
        case parsed.Compare():
            yield guard
        case parsed.Chain(_, parts):
            for part in parts:
                yield from _compares(part)
        case parsed.Negation(part, _) | parsed.Lasting(part, _):
            yield from _compares(part)
        case _:
            return
