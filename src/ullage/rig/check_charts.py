"""Findings on sequences as charts: does every step lead on, can every transition fire.

The reachable situations (sets of active steps) are walked through, taking every guard that can be
true at all to come true at any time; the rules are those of IEC 61131-3 for simultaneous and
selected branches.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations

from ullage.findings import Finding
from ullage.rig.meaning import Chart, Transition
from ullage.rig.procedures import Sequence
from ullage.rig.reason import Ranges, can_be
from ullage.rig.view import View

SITUATIONS_LIMIT = 5_000
"""The charts of a rig have at most this many situations together."""

Situation = frozenset[str]
"""The steps that are active together."""


def chart_findings(view: View) -> Iterator[Finding]:
    """All findings on charts."""
    room = SITUATIONS_LIMIT
    for name, sequence in view.rig.sequences.items():
        yield from _ends(view, name, sequence)
        chart = view.charts.get(name)
        if chart is None:
            continue
        ranges = view.ranges(chart)
        yield from _conditions(view, name, chart, ranges)
        live = [
            (at, transition)
            for at, transition in enumerate(chart.transitions)
            if transition.guard is None or can_be(transition.guard, True, ranges)
        ]
        walk = _walk(sequence, live, room)
        room -= len(walk.situations)
        yield from _walked(view, name, sequence, chart, walk)


def _ends(view: View, name: str, sequence: Sequence) -> Iterator[Finding]:
    initial = [step for step, content in sequence.steps.items() if content.initial]
    if not initial:
        place = view.places.key("sequences", name, "steps")
        yield Finding("S410", place, f"'{name}' has no initial step", "a step that is 'initial'", on=name)
    if len(initial) > 1:
        place = view.places.key("sequences", name, "steps", initial[1])
        what = f"'{name}' starts in {', '.join(initial)} at once"
        yield Finding("S410", place, what, "one initial step", on=name)


def _conditions(view: View, name: str, chart: Chart, ranges: Ranges) -> Iterator[Finding]:
    for word in ("permit", "stay", "begins"):
        guard = getattr(chart, word)
        if guard is not None and not can_be(guard, True, ranges):
            place = view.places.value("sequences", name, word)
            yield Finding("S428", place, f"'{word}' of '{name}' can never be true", "a condition that can", on=name)
    always: list[Transition] = []
    for transition in chart.transitions:
        arrow = _arrow(transition)
        if transition.guard is not None and not can_be(transition.guard, True, ranges):
            yield Finding(
                "S415", transition.place, f"'{arrow}' can never fire", "a condition that can be true", on=name
            )
        elif transition.guard is not None and not can_be(transition.guard, False, ranges):
            what = f"the condition of '{arrow}' is always true"
            yield Finding("S416", transition.place, what, "no condition, or one that can be false", on=name)
        earlier = next((other for other in always if set(other.sources) <= set(transition.sources)), None)
        if earlier is not None:
            what = f"'{arrow}' never has its turn: '{_arrow(earlier)}' stands before it and always fires"
            yield Finding("S417", transition.place, what, "a condition for the earlier one", on=name)
        elif transition.guard is None or not can_be(transition.guard, False, ranges):
            always.append(transition)


def _arrow(transition: Transition) -> str:
    return f"{' + '.join(transition.sources)} -> {' + '.join(transition.targets)}"


# --- walking through a chart -------------------------------------------------------------------


@dataclass(slots=True)
class _Walk:
    """What was seen on the way."""

    active: set[str] = field(default_factory=set)
    fired: set[int] = field(default_factory=set)
    doubled: dict[int, Situation] = field(default_factory=dict)
    stuck: list[Situation] = field(default_factory=list)
    leftover: list[Situation] = field(default_factory=list)
    situations: list[Situation] = field(default_factory=list)
    whole: bool = True


def _walk(sequence: Sequence, live: list[tuple[int, Transition]], room: int) -> _Walk:
    final = {step for step, content in sequence.steps.items() if content.final}
    start = frozenset(step for step, content in sequence.steps.items() if content.initial)
    walk = _Walk(active=set(start))
    seen = {start}
    waiting = deque([start])
    while waiting:
        situation = waiting.popleft()
        walk.situations.append(situation)
        enabled = [(at, transition) for at, transition in live if situation.issuperset(transition.sources)]
        if situation & final and situation - final:
            walk.leftover.append(situation)
        elif not enabled and not situation <= final:
            walk.stuck.append(situation)
        for at, transition in enabled:
            walk.fired.add(at)
            kept = situation.difference(transition.sources)
            if kept & set(transition.targets):
                walk.doubled.setdefault(at, situation)
            after = kept.union(transition.targets)
            walk.active |= after
            if after not in seen:
                if len(seen) >= room:
                    walk.whole = False
                    return walk
                seen.add(after)
                waiting.append(after)
    return walk


def _walked(view: View, name: str, sequence: Sequence, chart: Chart, walk: _Walk) -> Iterator[Finding]:
    place = view.places.key("sequences", name, "steps")
    if not walk.whole:
        what = f"with '{name}' there are more than {SITUATIONS_LIMIT:,} situations"
        yield Finding("S413", place, what, "fewer branches side by side", on=name)
        return
    leads_on = {step for transition in chart.transitions for step in transition.sources}
    for step, content in sequence.steps.items():
        at_step = view.places.key("sequences", name, "steps", step)
        if not content.final and step not in leads_on:
            what = f"no transition leads out of '{step}'"
            yield Finding("S411", at_step, what, "a transition, or 'final'", on=name)
        if content.final and step in leads_on:
            what = f"'{step}' is final and yet a transition leads out of it"
            yield Finding("S414", at_step, what, "one of the two", on=name)
        if step not in walk.active and any(part.initial for part in sequence.steps.values()):
            yield Finding("S412", at_step, f"'{step}' can never become active", "a transition to it", on=name)
    yield from _branches(name, sequence, chart, walk, leads_on)
    yield from _quarrels(view, name, sequence, walk)


def _branches(name: str, sequence: Sequence, chart: Chart, walk: _Walk, leads_on: set[str]) -> Iterator[Finding]:
    """Simultaneous branches that do not come together again (CHECKS SEQ-25)."""
    expected = "branches that start together and end together: 'a + b -> c'"
    for at, situation in walk.doubled.items():
        transition = chart.transitions[at]
        what = f"'{_arrow(transition)}' makes a step active that is so already, beside {', '.join(sorted(situation))}"
        yield Finding("S418", transition.place, what, expected, on=name)
    splits = next((transition for transition in chart.transitions if len(transition.targets) > 1), None)
    for situation in walk.leftover[:1]:
        place = (splits or chart.transitions[0]).place
        steps = ", ".join(step for step in sequence.steps if step in situation)
        yield Finding("S418", place, f"'{name}' can end while other steps are active: {steps}", expected, on=name)
    for situation in walk.stuck[:1]:
        if len(situation) > 1 and situation <= leads_on | {s for s, c in sequence.steps.items() if c.final}:
            place = (splits or chart.transitions[0]).place
            steps = ", ".join(step for step in sequence.steps if step in situation)
            yield Finding("S418", place, f"'{name}' can come to a stand in {steps}", expected, on=name)
    for at, transition in enumerate(chart.transitions):
        together = len(transition.sources) > 1 and set(transition.sources) <= walk.active
        if together and at not in walk.fired:
            what = f"{' and '.join(transition.sources)} are never active together"
            yield Finding("S418", transition.place, what, expected, on=name)


def _quarrels(view: View, name: str, sequence: Sequence, walk: _Walk) -> Iterator[Finding]:
    """Steps that are active together and demand opposite things."""
    when = dict.fromkeys(sequence.steps, 0)
    for at, situation in enumerate(walk.situations):
        for step in sequence.steps:
            when[step] |= (step in situation) << at
    for one, two in combinations(sequence.steps, 2):
        if not when[one] & when[two]:
            continue
        first, second = sequence.steps[one].demand, sequence.steps[two].demand
        clash = [output for output, word in first.items() if second.get(output, word) != word]
        if clash:
            what = f"'{one}' and '{two}' are active together and demand {', '.join(clash)} in opposite ways"
            place = view.places.key("sequences", name, "steps", two)
            yield Finding("S420", place, what, "one demand, or branches after one another", on=name)
