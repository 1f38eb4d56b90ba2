"""Compile sequences: steps, transitions, actions, and the signals that each step needs."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.control import codes
from ullage.control.rows import Rows
from ullage.rig import meaning
from ullage.rig.meaning import Chart, Condition
from ullage.rig.procedures import STORED, Sequence, Step
from ullage.rig.tags import ENDS


def add_sequences(rows: Rows) -> None:
    """All sequences; rows of steps first, since guards of one may ask for steps of another."""
    rig = rows.rig
    for column in ("step_first", "needs_first", "transition_first", "from_first", "to_first"):
        rows.add(column, 0)
    rows.add("sequence_outputs_first", 0)
    rows.add("association_first", 0)
    for q, (name, sequence) in enumerate(rig.sequences.items()):
        rows.sequences[name] = q
        for step_name, step in sequence.steps.items():
            _step(rows, q, f"{name}.{step_name}", step)
        rows.add("step_first", len(rows.steps))
    for chart in rows.law.charts:
        sequence = rig.sequences[chart.name]
        _procedure(rows, chart, sequence)
        _transitions(rows, chart, sequence)
        _actions(rows, chart.name, sequence)
    for chart in rows.law.charts:
        _needs(rows, chart, rig.sequences[chart.name])


def _step(rows: Rows, q: int, full_name: str, step: Step) -> None:
    rows.steps[full_name] = len(rows.steps)
    rows.step_marks.append(set())
    rows.says.append(step.says)
    rows.add("step_sequence", q)
    rows.add("step_initial", int(step.initial))
    rows.add("step_final", int(step.final))


def _procedure(rows: Rows, chart: Chart, sequence: Sequence) -> None:
    columns = (("sequence_permit", chart.permit), ("sequence_stay", chart.stay), ("sequence_begins", chart.begins))
    for (column, condition), place in zip(columns, chart.places, strict=True):
        rows.add(column, -1 if condition is None else rows.truth(condition, place))
    rows.add("sequence_confirm", int(sequence.confirm))
    rows.add("sequence_again", int(sequence.again == "itself"))


def _transitions(rows: Rows, chart: Chart, sequence: Sequence) -> None:
    for transition, text in zip(chart.transitions, sequence.transitions, strict=True):
        sources = tuple(rows.steps[f"{chart.name}.{step}"] for step in transition.sources)
        guard = transition.guard
        rows.transitions.append(text)
        rows.add("transition_guard", -1 if guard is None else rows.truth(guard, transition.place, sources))
        for step in sources:
            rows.add("from_steps", step)
        for name in transition.targets:
            rows.add("to_steps", rows.steps[f"{chart.name}.{name}"])
        rows.add("from_first", rows.size("from_steps"))
        rows.add("to_first", rows.size("to_steps"))
    rows.add("transition_first", rows.size("transition_guard"))


def associations(sequence: Sequence) -> Iterator[tuple[str, str, str, str, float]]:
    """Step, output, demand word, qualifier and time [s] of every action in a sequence."""
    for name, step in sequence.steps.items():
        for output, word in step.demand.items():
            yield name, output, word, "N", 0.0
        for action in step.actions:
            qualifier = "P1" if action.qualifier == "P" else action.qualifier
            for output, word in action.demand.items():
                yield name, output, word, qualifier, action.time or 0.0


def _actions(rows: Rows, name: str, sequence: Sequence) -> None:
    """One action per output and demand; its associations in the order of the file."""
    grouped: dict[tuple[str, str], list[tuple[str, str, float]]] = {}
    for step, output, word, qualifier, time in associations(sequence):
        grouped.setdefault((output, word), []).append((step, qualifier, time))
    for (output, word), members in grouped.items():
        rows.add("action_sequence", rows.sequences[name])
        rows.add("action_output", rows.outputs[output])
        rows.add("action_value", rows.demand(output, word))
        for step, qualifier, time in members:
            rows.add("association_step", rows.steps[f"{name}.{step}"])
            rows.add("association_qualifier", codes.QUALIFIERS.index(qualifier))
            rows.add("association_ms", round(time * 1000))
        rows.add("association_first", rows.size("association_step"))
    for output in dict.fromkeys(output for output, _ in grouped):
        rows.add("sequence_outputs", rows.outputs[output])
    rows.add("sequence_outputs_first", rows.size("sequence_outputs"))


# --- what a step needs to know ---------------------------------------------------------------


def _needs(rows: Rows, chart: Chart, sequence: Sequence) -> None:
    """Signals that must be good while a step is active: none for a step that moves no water.

    They are those in the guards that lead out of the step, in the sequence's own condition to
    stay, and in the interlocks that drive an output which the step moves.
    """
    stored = {o for _, o, word, q, _ in associations(sequence) if q in STORED and moves(rows, o, word)}
    for name, step in sequence.steps.items():
        own = {o for s, o, word, q, _ in associations(sequence) if s == name and q != "R" and moves(rows, o, word)}
        driven = own if step.initial or step.final else own | stored
        conditions = [chart.stay] + [t.guard for t in chart.transitions if name in t.sources]
        conditions += [trip.when for trip in rows.law.trips if driven & set(rows.rig.interlocks[trip.name].drive)]
        needed = {s for c in conditions if c is not None for s in signals_of(rows, c)} if driven else set()
        for signal in sorted(needed):
            rows.add("needs", signal)
        rows.add("needs_first", rows.size("needs"))


def moves(rows: Rows, output: str, word: str) -> bool:
    """Whether a demand moves water: a valve or pump that is not asked to be safe."""
    o = rows.outputs[output]
    return rows.column("output_kind")[o] != codes.LAMP and rows.demand(output, word) != rows.column("output_safe")[o]


def signals_of(rows: Rows, condition: Condition) -> Iterator[int]:
    """Rows of the signals that a condition cannot be known without.

    ``is linked`` and ``is good`` ask for the quality itself, which is always known.
    """
    match condition:
        case meaning.All(parts) | meaning.AnyOf(parts):
            for part in parts:
                yield from signals_of(rows, part)
        case meaning.Not(part) | meaning.Held(part, _):
            yield from signals_of(rows, part)
        case meaning.Linear(terms):
            yield from (rows.signals[s.name] for _, s in terms if s.kind != "parameter")
        case meaning.Flag(symbol) if symbol.name in rows.signals:
            yield rows.signals[symbol.name]
        case meaning.ValveIs(valve, _):
            ends = (f"{valve.name}.{end}" for end in ENDS["both_ends"])
            yield from (rows.signals[end] for end in ends if end in rows.signals)
        case meaning.HandsetIs():
            yield rows.signals["handset.attitude"]
