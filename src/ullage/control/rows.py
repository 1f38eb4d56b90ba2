"""The growing tables of a compilation: columns by name, truth rows, and who stands in which row."""

from __future__ import annotations

from collections import defaultdict
from math import floor

from ullage.control import codes
from ullage.control.program import SignalName, Tables
from ullage.findings import Finding, Place
from ullage.rig import meaning
from ullage.rig.meaning import Condition, Law
from ullage.rig.model import Rig
from ullage.rig.spell import spell

SCALES = {
    "volume": 1e6,
    "flow": 6e7,
    "pressure": 1.0,
    "current": 1e3,
    "voltage": 1e3,
    "time": 1e3,
    "fraction": 1e4,
}
"""Integers of the law per SI unit: mL, mL/min, Pa, mA, mV, ms, hundredths of a percent."""

DECIMALS = 3
"""Factors in a guard have at most this many decimals."""

LARGEST = 2**31 - 1
"""No value, constant or sum of a guard may be larger, so that 32 bits hold it."""


class Rows:
    """Columns under construction.

    Attributes
    ----------
    rig : Rig
    law : Law
    signals, outputs, valves, sequences, steps, parameters : dict of str to int
        Row of each name; steps and parameters as ``sequence.name``.
    signal_names : list of SignalName
    output_words : dict of str to tuple of str
        The demands of each output, in the order of their codes.
    transitions, interlocks, texts, says : list of str
        Texts for people, per row.
    alarming : list of bool
        Whether each interlock raises an alarm.
    step_marks : list of set of int
        Times that guards compare with each step's clock [ms].
    held_ms : list of int
        Time of each ``held`` [ms].
    findings : list of Finding
    """

    def __init__(self, rig: Rig, law: Law) -> None:
        self.rig, self.law = rig, law
        self.signals: dict[str, int] = {}
        self.outputs: dict[str, int] = {}
        self.valves: dict[str, int] = {}
        self.sequences: dict[str, int] = {}
        self.steps: dict[str, int] = {}
        self.parameters: dict[str, int] = {}
        self.signal_names: list[SignalName] = []
        self.output_words: dict[str, tuple[str, ...]] = {}
        self.transitions: list[str] = []
        self.interlocks: list[str] = []
        self.alarming: list[bool] = []
        self.texts: list[str] = []
        self.says: list[str] = []
        self.step_marks: list[set[int]] = []
        self.held_ms: list[int] = []
        self.findings: list[Finding] = []
        self._columns: dict[str, list[int]] = defaultdict(list)
        self._known: dict[tuple[object, ...], int] = {}

    def add(self, column: str, value: int) -> None:
        """Append to a column."""
        self._columns[column].append(int(value))

    def column(self, name: str) -> list[int]:
        """A column as it stands."""
        return self._columns[name]

    def size(self, column: str) -> int:
        """Rows in a column so far."""
        return len(self._columns[column])

    def tables(self) -> Tables:
        """The finished tables."""
        unknown = set(self._columns) - set(Tables._fields)
        assert not unknown, f"columns that no table has: {sorted(unknown)}"
        return Tables(**{field: tuple(self._columns[field]) for field in Tables._fields})

    def demand(self, output: str, word: str) -> int:
        """Code of a demand word of an output."""
        return self.output_words[output].index(word)

    def safe_marks(self, sequence: int) -> set[int]:
        """Delays for going safe of the outputs that a sequence drives [ms]."""
        first = self.column("sequence_outputs_first")
        outputs = self.column("sequence_outputs")[first[sequence] : first[sequence + 1]]
        return {self.column("output_safe_after_ms")[o] for o in outputs} - {0}

    # --- truth rows ------------------------------------------------------------------------

    def row(self, op: int, left: int, right: int, amount: int, text: str) -> int:
        """A truth row; equal rows are kept once."""
        key = (op, left, right, amount)
        if key not in self._known:
            self._known[key] = self.size("op")
            for column, value in zip(("op", "left", "right", "amount"), key, strict=True):
                self.add(column, value)
            self.texts.append(text)
        return self._known[key]

    def held(self, inner: int, seconds: float, text: str) -> int:
        """A row that is true when another has been true for a time; it owns a clock."""
        key = ("held", inner, seconds)
        if key not in self._known:
            self.held_ms.append(round(seconds * 1000))
            self._known[key] = self.row(
                codes.T_HELD, inner, len(self.held_ms) - 1, self.held_ms[-1], f"{text} held {seconds:g} s"
            )
        return self._known[key]

    def truth(self, condition: Condition, place: Place, sources: tuple[int, ...] = ()) -> int:
        """Row of a condition; ``sources`` are the steps that ``since step`` is about."""
        text = spell(condition)
        match condition:
            case meaning.All(parts):
                return self._joined(codes.T_AND, [self.truth(part, place, sources) for part in parts], text)
            case meaning.AnyOf(parts):
                return self._joined(codes.T_OR, [self.truth(part, place, sources) for part in parts], text)
            case meaning.Not(part):
                return self.row(codes.T_NOT, self.truth(part, place, sources), 0, 0, text)
            case meaning.Held(part, seconds):
                return self.held(self.truth(part, place, sources), seconds, f"({spell(part)})")
            case meaning.Linear():
                return self._linear(condition, place, text)
            case meaning.SinceStep(seconds):
                ms = round(seconds * 1000)
                for step in sources:
                    self.step_marks[step].add(ms)
                rows = [self.row(codes.T_SINCE, step, 0, ms, text) for step in sources]
                return self._joined(codes.T_AND, rows, text)
            case _:
                return self._leaf(condition, text)

    def _leaf(self, condition: Condition, text: str) -> int:
        match condition:
            case meaning.Flag(symbol) if symbol.name in self.outputs:
                return self.row(codes.T_DRIVEN, self.outputs[symbol.name], 0, 0, text)
            case meaning.Flag(symbol):
                return self.row(codes.T_FLAG, self.signals[symbol.name], 0, 0, text)
            case meaning.Good(symbol):
                return self.row(codes.T_GOOD, self.signals[symbol.name], 0, 0, text)
            case meaning.Linked(board):
                return self.row(codes.T_GOOD, self.signals[f"{board.name}.link"], 0, 0, text)
            case meaning.ValveIs(valve, word):
                wanted = {"closed": codes.CLOSED, "open": codes.OPEN, "failed": codes.FAILED}[word]
                return self.row(codes.T_VALVE, self.valves[valve.name], wanted, 0, text)
            case meaning.SequenceIs(sequence, word):
                states = 1 << codes.STATES.index(word)
                return self.row(codes.T_SEQUENCE, self.sequences[sequence.name], 0, states, text)
            case meaning.AtStep(sequence, step):
                return self.row(codes.T_STEP, self.steps[f"{sequence.name}.{step}"], 0, 0, text)
            case meaning.HandsetIs(attitude):
                code = codes.ATTITUDES.index(attitude)
                return self.row(codes.T_ATTITUDE, self.signals["handset.attitude"], 0, code, text)
        raise AssertionError(f"no truth row for {condition}")

    def _joined(self, op: int, rows: list[int], text: str) -> int:
        joined = rows[0]
        for row in rows[1:]:
            joined = self.row(op, joined, row, 0, text)
        return joined

    def _linear(self, condition: meaning.Linear, place: Place, text: str) -> int:
        """A comparison as ``sum(factor * source) + amount >= 0`` over integers, exactly."""
        scale = SCALES[condition.dimension]
        sign = 1 if condition.op in (">", ">=") else -1
        factors = [sign * coefficient for coefficient, _ in condition.terms]
        unit = next((10**k for k in range(DECIMALS + 1) if all(_whole(f * 10**k) for f in factors)), None)
        if unit is None:
            self.findings.append(
                Finding("S490", place, f"a factor in '{text}' is too fine", f"at most {DECIMALS} decimals")
            )
            return 0
        constant = round(sign * condition.constant * scale * unit, 6)
        amount = floor(constant) if condition.op in (">=", "<=") else -floor(-constant) - 1
        sources = [self._source(symbol) for _, symbol in condition.terms]
        whole = [round(factor * unit) for factor in factors]
        largest = abs(amount) + sum(abs(f) * self._largest(s) for f, s in zip(whole, sources, strict=True))
        if largest > LARGEST:
            self.findings.append(
                Finding("S491", place, f"'{text}' can reach {largest}, more than 32 bits hold", "smaller factors")
            )
        key = ("linear", tuple(whole), tuple(sources), amount)
        if key not in self._known:
            first = self.size("term_source")
            for factor, source in zip(whole, sources, strict=True):
                self.add("term_factor", factor)
                self.add("term_source", source)
            self._known[key] = self.row(codes.T_LINEAR, first, len(sources), amount, text)
        return self._known[key]

    def _source(self, symbol: meaning.Symbol) -> int:
        if symbol.kind == "parameter":
            return len(self.signals) + self.parameters[f"{symbol.sequence}.{symbol.name}"]
        return self.signals[symbol.name]

    def _largest(self, source: int) -> int:
        """Largest magnitude that a source can have."""
        if source >= len(self.signals):
            return self.column("parameter_most")[source - len(self.signals)]
        first, after = self.column("convert_first")[source : source + 2]
        if after > first:
            return max(self.column("convert_value")[first:after])
        return self.column("most_raw")[source]


def _whole(number: float) -> bool:
    return abs(number - round(number)) < 1e-9
