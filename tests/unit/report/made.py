"""Small Programs and accounts written by hand, so that drawings and words are tested without a run."""

from __future__ import annotations

from collections.abc import Sequence

from ullage.control import codes
from ullage.control.program import Names, Program, Tables
from ullage.report.account import Account, Expectation, Level, Outcome, Played
from ullage.report.words import ALARM, FINE, MAIN, Sentence

Transition = tuple[tuple[str, ...], tuple[str, ...], str]


def runs(groups: Sequence[Sequence[int]]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    first, flat = [0], []
    for group in groups:
        flat += group
        first.append(len(flat))
    return tuple(first), tuple(flat)


def program(
    steps: Sequence[str],
    transitions: Sequence[Transition],
    demands: dict[str, Sequence[tuple[int, str, str, int]]] | None = None,
    says: dict[str, str] | None = None,
    finals: Sequence[str] = (),
    name: str = "work",
) -> Program:
    """One sequence; the first step is the initial one. Demands: step -> (qualifier, output, value, ms)."""
    demands = demands or {}
    outputs = sorted({output for rows in demands.values() for _, output, _, _ in rows})
    values = {o: sorted({r[2] for rows in demands.values() for r in rows if r[1] == o}) for o in outputs}
    actions = [(s, row) for s in steps for row in demands.get(s, ())]
    row_of = {step: i for i, step in enumerate(steps)}
    from_first, from_steps = runs([[row_of[s] for s in source] for source, _, _ in transitions])
    to_first, to_steps = runs([[row_of[s] for s in target] for _, target, _ in transitions])
    blank = dict.fromkeys(Tables._fields, ())
    tables = Tables(
        **{
            **blank,
            "op": (codes.T_LINEAR,),
            "sequence_permit": (-1,),
            "sequence_stay": (-1,),
            "sequence_begins": (-1,),
            "sequence_confirm": (0,),
            "step_first": (0, len(steps)),
            "step_sequence": (0,) * len(steps),
            "step_initial": tuple(int(i == 0) for i in range(len(steps))),
            "step_final": tuple(int(s in finals) for s in steps),
            "transition_first": (0, len(transitions)),
            "transition_guard": (0,) * len(transitions),
            "from_first": from_first,
            "from_steps": from_steps,
            "to_first": to_first,
            "to_steps": to_steps,
            "action_sequence": (0,) * len(actions),
            "action_output": tuple(outputs.index(row[1]) for _, row in actions),
            "action_value": tuple(values[row[1]].index(row[2]) for _, row in actions),
            "association_first": tuple(range(len(actions) + 1)),
            "association_step": tuple(row_of[s] for s, _ in actions),
            "association_qualifier": tuple(codes.QUALIFIERS.index(row[0]) for _, row in actions),
            "association_ms": tuple(row[3] for _, row in actions),
        }
    )
    arrows = [", ".join(a) + " -> " + ", ".join(b) + (f" when {c}" if c else "") for a, b, c in transitions]
    names = Names(
        signals=(),
        outputs=tuple(outputs),
        output_values=tuple(tuple(values[o]) for o in outputs),
        sequences=(name,),
        steps=tuple(f"{name}.{s}" for s in steps),
        transitions=tuple(arrows),
        interlocks=(),
        alarming=(),
        valves=(),
        parameters=(),
        truths=("",),
        says=tuple((says or {}).get(s, "") for s in steps),
    )
    return Program(rig="Marram", scan_ms=500, tables=tables, column=(), names=names, hash="0" * 64)


def account(**other: object) -> Account:
    """A small account with one harm, one broken expectation and a story; fields by name."""
    fields = {
        "rig": "Marram <b>",
        "scenario": "A & B",
        "about": "",
        "played": Played(3600.0, 7, (), "0123456789abcdef" * 4, 12),
        "outcomes": (
            Outcome("left by overflows, outdoors", 840e-6, "volume", "harm", bad=True, main=True),
            Outcome("taken at shore", 0.1101, main=True),
            Outcome("water_pump ran, in 2 starts", 65.0, "time", "work"),
        ),
        "levels": (Level("belly", 0.035, 0.0134, 0.1136, 0.0359),),
        "expectations": (
            Expectation("belly never over its overflow", False, "at most 141.2 L"),
            Expectation("fill ends", True),
        ),
        "story": (
            Sentence(1000, "fine print only", FINE),
            Sentence(5000, "a turn", MAIN),
            Sentence(9000, "a harm", ALARM),
        ),
        "strips": (),
    }
    return Account(**{**fields, **other})  # type: ignore[arg-type]
