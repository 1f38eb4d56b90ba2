"""The guard language: what is read, what is refused, and what it means."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.rig.breaking import changed
from ullage.rig.guard import (
    WORDS,
    Bare,
    Chain,
    Compare,
    GuardError,
    Lasting,
    Negation,
    parse_guard,
    parse_transition,
)
from ullage.rig.law import read_law
from ullage.rig.meaning import (
    Above,
    All,
    AnyOf,
    AtStep,
    Condition,
    Dry,
    Flag,
    Good,
    HandsetIs,
    Held,
    Holds,
    Indoors,
    Law,
    Linear,
    Linked,
    Not,
    SequenceIs,
    SinceStep,
    ValveIs,
)
from ullage.rig.read import read_rig


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("a", Bare),
        ("a < 3 %", Compare),
        ("not a", Negation),
        ("not (a held 3 s)", Negation),
        ("a held 3 s", Lasting),
        ("(a and b) held 3 s", Lasting),
        ("a and b and c", Chain),
        ("a or (b and c)", Chain),
        ("((a))", Bare),
        ("2*a - b + 3 L <= -5 L", Compare),
        ("a<3%", Compare),
        ("a < 3 L and b > 2 L", Chain),
        ("and_a or not_b", Chain),
    ],
)
def test_what_is_read(text: str, kind: type) -> None:
    """What the guide shows has to be readable."""
    assert isinstance(parse_guard(text), kind)


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        ("a and b or c", "R121", 8),
        ("a or b and c", "R121", 7),
        ("not a and b", "R121", 0),
        ("a or not b", "R121", 5),
        ("a held 3 s and b", "R121", 2),
        ("a < 3 L held 3 s", "R121", 8),
        ("not a held 3 s", "R121", 6),
        ("", "R120", 0),
        ("a <", "R120", 3),
        ("a = 3", "R120", 2),
        ("a < b < c", "R120", 6),
        ("a * b < 3", "R120", 2),
        ("a / 2 < 3", "R120", 2),
        ("(a", "R120", 2),
        ("a)", "R120", 1),
        ("a b", "R120", 2),
        ("a is", "R120", 4),
        ("since 3 s", "R120", 6),
        ("and", "R120", 0),
        ("a; b", "R120", 1),
        ("a" * 1001, "R120", 0),
    ],
)
def test_what_is_refused_and_where(text: str, code: str, at: int) -> None:
    """A condition that two people read differently opens a valve for one of them."""
    with pytest.raises(GuardError) as fault:
        parse_guard(text)
    assert (fault.value.code, fault.value.at) == (code, at)
    assert fault.value.what
    assert fault.value.expected


def test_nearest_word_of_the_language() -> None:
    """`hedl` is quicker mended when the word is named."""
    with pytest.raises(GuardError) as fault:
        parse_guard("a hedl 3 s")
    assert fault.value.near == "held"


def test_transitions() -> None:
    """A fork that is read as a choice would leave one of its valves unmoved."""
    arrow = parse_transition("a + b -> c + d when x")
    assert [word.text for word in arrow.before] == ["a", "b"]
    assert [word.text for word in arrow.after] == ["c", "d"]
    assert isinstance(arrow.guard, Bare)
    assert parse_transition("a -> b").guard is None
    for text in ("a", "a ->", "-> b", "a -> b if c", "a -> b when", "a - > b", "a, b -> c"):
        with pytest.raises(GuardError):
            parse_transition(text)


PIECES = st.sampled_from(
    [
        *WORDS,
        "a",
        "belly_level",
        "3 %",
        "20 s",
        "1 L/min",
        "(",
        ")",
        "<",
        "<=",
        ">",
        ">=",
        "+",
        "-",
        "*",
        "->",
        "=",
        "\n",
        "é",
    ]
)


def refusal(parse: Callable[[str], object], text: str) -> GuardError | None:
    """The refusal of a text, or None when it is read."""
    try:
        parse(text)
    except GuardError as fault:
        return fault
    return None


@given(st.one_of(st.text(max_size=80), st.lists(PIECES, max_size=30).map(" ".join)))
def test_any_text_is_a_guard_or_refused(text: str) -> None:
    """A traceback in place of a finding leaves a person with no line to look at."""
    for parse in (parse_guard, parse_transition):
        fault = refusal(parse, text)
        assert fault is None or 0 <= fault.at <= len(text)


# --- what it means -------------------------------------------------------------------------------


def law(guard: str) -> Law:
    """The law of the sound rig with a guard out of its step `on`."""
    rig, _, places = read_rig(changed({"on -> off when fresh_level < 9 %": f"on -> off when {guard}"}), "f.yaml")
    assert rig is not None
    resolved, findings = read_law(rig, places)
    assert not findings
    return resolved


def meaning(guard: str) -> Condition:
    """What a guard out of step `on` of the sound rig means; its fresh tank holds 100 L at the overflow."""
    chart = next(chart for chart in law(guard).charts if chart.name == "tap_water")
    condition = chart.transitions[-1].guard
    assert condition is not None
    return condition


def terms(condition: Condition) -> dict[str, float]:
    """Coefficients of a comparison by name."""
    assert isinstance(condition, Linear)
    return {symbol.name: factor for factor, symbol in condition.terms}


def test_a_percentage_is_of_the_tank_up_to_its_overflow() -> None:
    """80 % of the brim would be over the overflow of some tanks."""
    condition = meaning("fresh_level < 80 %")
    assert isinstance(condition, Linear)
    assert condition.constant == pytest.approx(-0.08)
    assert (condition.op, condition.dimension) == ("<", "volume")
    assert terms(condition) == {"fresh_level": 1.0}


def test_both_sides_are_gathered() -> None:
    """A sign lost on the way from one side to the other turns a limit into its opposite."""
    condition = meaning("2*fresh_level - 3 L >= waste_level + 1 L - fresh_level")
    assert isinstance(condition, Linear)
    assert terms(condition) == {"fresh_level": 3.0, "waste_level": -1.0}
    assert condition.constant == pytest.approx(-0.004)
    assert condition.op == ">="


def test_every_other_condition() -> None:
    """Each part of the language reaches the compiler as what it says."""
    assert isinstance(meaning("fresh_float"), Flag)
    assert isinstance(meaning("not fresh_float"), Not)
    held = meaning("(fresh_float and (pump is off)) held 1 min")
    assert isinstance(held, Held)
    assert held.seconds == 60.0
    assert isinstance(held.part, All)
    assert isinstance(held.part.parts[1], Not)
    either = meaning("(guard is failed) or (fill is held) or (empty is at draining) or (since step 2 h)")
    assert isinstance(either, AnyOf)
    valve, sequence, step, since = either.parts
    assert isinstance(valve, ValveIs)
    assert isinstance(sequence, SequenceIs)
    assert isinstance(step, AtStep)
    assert isinstance(since, SinceStep)
    assert (valve.word, sequence.word, step.step, since.seconds) == ("failed", "held", "draining", 7200.0)
    every = meaning("(handset is docked) and (far_board is linked) and (shore_meter is good) and (pump_current > 1 A)")
    assert isinstance(every, All)
    assert [type(part) for part in every.parts] == [HandsetIs, Linked, Good, Linear]


def test_parameters_are_volumes_of_their_tank() -> None:
    """A wish of 80 % must be litres of the tank that is filled, found from what it is compared with."""
    fill = next(chart for chart in law("fresh_level < 9 %").charts if chart.name == "fill")
    (bound,) = fill.parameters
    assert (bound.symbol.tank, bound.symbol.dimension) == ("fresh", "volume")
    assert (bound.default, bound.least, bound.most) == pytest.approx((0.08, 0.01, 0.085))


def test_the_order_of_the_file_is_kept() -> None:
    """The order of transitions is their priority."""
    chart = next(chart for chart in law("fresh_level < 9 %").charts if chart.name == "fill")
    assert [transition.sources for transition in chart.transitions] == [("ready",), ("filling",), ("closing",)]
    assert [type(wish.statement) for wish in law("fresh_level < 9 %").never] == [Indoors, Above, Dry, Holds]


def test_a_line_may_hold_in_health_only() -> None:
    """An interlock that never trips is a wish for a sound rig; with a lying sender it must."""
    rig, findings, places = read_rig(changed({"never: [": "never: [{in_health: fresh_high trips}, "}), "sound.yaml")
    assert rig is not None, findings
    found, unclear = read_law(rig, places)
    assert not unclear
    assert [(wish.text, wish.healthy_only) for wish in found.never][:2] == [
        ("fresh_high trips", True),
        ("water indoors", False),
    ]


def test_what_is_unclear_in_health_is_told_where_it_stands() -> None:
    """A slip in such a line must be found like any other."""
    rig, _, places = read_rig(changed({"never: [": "never: [{in_health: frsh_high trips}, "}), "sound.yaml")
    assert rig is not None
    (finding,) = read_law(rig, places)[1]
    assert (finding.code, finding.near) == ("N200", "fresh_high")
    line = changed({}).splitlines()[finding.place.line - 1]
    assert line.startswith("never: [")
    assert finding.place.column == len("never: [{in_health: ") + 1
