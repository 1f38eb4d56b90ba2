"""The ways of waste and of drinking water, and the sentences that speak of them."""

from __future__ import annotations

import pytest

from tests.worlds.wrong_rigs import changed, statement_of, tree_of
from ullage.control.check import examine
from ullage.rig.meaning import AnyOf, Held, Holds
from ullage.rig.model import Line, Rig
from ullage.rig.waste import inlets, joined, outlets, time_of, unmeant


def marram() -> Rig:
    """The demo rig."""
    rig = changed("marram").rig
    assert rig is not None
    return rig


def forked(rig: Rig) -> Rig:
    """Marram with its waste led on over a point, from which a second valve leads out too; and round in a ring."""
    rest = [line for line in rig.lines if line.start != "gray.drain"]
    ways = (("gray.drain", (), "hot"), ("hot", ("gray_dump",), "outfall"), ("hot", ("rinse", "lift"), "outfall"))
    more = [Line.model_validate({"from": one, "through": parts, "to": to}) for one, parts, to in ways]
    more += [Line.model_validate({"from": one, "to": to}) for one, to in (("hot", "manifold"), ("manifold", "hot"))]
    return rig.model_copy(update={"lines": (*rest, *more)})


def test_the_ways_are_those_with_a_motor_valve() -> None:
    """A way that is overlooked lets out what the proof says stays in."""
    rig = marram()
    assert outlets(rig, "gray") == [frozenset({"gray_dump"})]
    assert inlets(rig, "shore") == [frozenset({"shore_guard", "shore_in"})]
    assert outlets(rig, "belly") == []
    assert set(outlets(forked(rig), "gray")) == {frozenset({"gray_dump"}), frozenset({"rinse", "lift"})}


def test_any_of_several_ways_is_a_harm() -> None:
    """The second outlet is the one that was fitted later and forgotten."""
    rig = forked(marram())
    for found in (unmeant(rig, "gray", 30.0), joined(rig, "gray", "shore", 30.0)):
        assert found is not None
        assert isinstance(found.guard, Held)
        assert isinstance(found.guard.part, AnyOf)
        assert len(found.guard.part.parts) == 2


def test_the_sentences_are_guards_of_the_rig() -> None:
    """Whoever wants it shorter writes the sentence into the file and sees it judged in every run."""
    examined = changed("marram")
    said = statement_of("gray joined to shore held 20 s", examined)
    guard = "((gray_dump is open) and (shore_in is open) and (shore_guard is open)) held 20 s"
    written = statement_of(guard, examined)
    assert isinstance(said, Holds)
    assert isinstance(written, Holds)
    assert isinstance(said.guard, Held)
    assert isinstance(written.guard, Held)
    assert set(said.guard.part.parts) == set(written.guard.part.parts)  # type: ignore[union-attr]
    assert said.guard.seconds == written.guard.seconds
    assert statement_of("gray open without intent held 30 s", examined) == unmeant(marram(), "gray", 30.0)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("belly open without intent held 30 s", "'belly' is unknown"),
        ("gray joined to outfall held 30 s", "'outfall' is unknown"),
        ("gray open without intent held 30 L", "not of time"),
    ],
)
def test_a_sentence_of_what_is_not_there_is_a_finding(line: str, said: str) -> None:
    """A line that asks about nothing is proved at once, and believed."""
    examined = examine(
        tree_of("marram").replace("  - water indoors\n", f"  - water indoors\n  - {line}\n", 1), "rig.yaml"
    )
    assert any(said in finding.what for finding in examined.stands), examined.stands


def test_a_slow_valve_is_given_its_time() -> None:
    """A valve that is asked to be faster than it can is a hazard in every rig that has one."""
    rig = marram()
    assert time_of(rig, ["gray_dump"]) == 30.0
    slow = rig.valves["gray_dump"].model_copy(update={"safe_after": 47.5})
    assert time_of(rig.model_copy(update={"valves": {**rig.valves, "gray_dump": slow}}), ["gray_dump"]) == 60.0
