"""Certificates of shipped rigs are accepted; whoever changes anything in one is told what is wrong with it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from tests.shipped import EXAMPLES
from ullage.control.check import Examined, examine
from ullage.plant.faults import read_fault
from ullage.prove.certificate import Claim, NotClosed, against, certificate_of
from ullage.prove.checker import Refused, check
from ullage.prove.plan import Plan
from ullage.prove.prover import Prover
from ullage.prove.search import End, Search
from ullage.rig.spell import spell_statement


@cache
def rig(name: str) -> tuple[Examined, Prover]:
    """A shipped rig, with a prover for it."""
    path = EXAMPLES / "rigs" / f"{name}.yaml"
    examined = examine(path.read_bytes(), path.name)
    assert examined.rig is not None
    assert examined.program is not None
    return examined, Prover(examined.rig, examined.program)


@cache
def proof(name: str, line: str, faults: tuple[str, ...] = ()) -> tuple[Search, Claim, Plan]:
    """What was found closed for a line of `never`, the claim, and the plan worked out again by another prover."""
    examined, prover = rig(name)
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    wish = next(one for one in examined.law.never if spell_statement(one.statement, examined.rig) == line)
    read = [read_fault(examined.rig, fault) for fault in faults]
    (harm,) = prover.harms(wish.statement)
    found = prover.find(harm, read)
    assert found.proved
    layer = len(found.layers) - 1
    search = Search(prover.plan(harm, layer, read))
    assert search.run() is End.CLOSED
    claim = Claim(name, examined.program.hash, line, harm.about, faults, found.rests_on)
    return search, claim, Prover(examined.rig, examined.program).plan(harm, layer, read)


PROOFS = [
    ("marram", "belly reaches its overflow", ()),
    ("marram", "loft reaches its overflow", ()),
    ("marram", "gray reaches its overflow", ()),
    ("marram", "water_pump runs dry", ()),
    ("marram", "belly reaches its overflow", ("belly_level stuck",)),
    ("marram", "belly reaches its overflow", ("controller restarted", "shore_in stuck")),
    ("crumb", "drum reaches its overflow", ()),
    ("bothy", "cistern reaches its overflow", ("cistern jerrycan 20 L",)),
    ("turnstone", "tap_pump runs dry", ()),
]


@pytest.mark.parametrize(("name", "line", "faults"), PROOFS)
def test_the_proofs_of_shipped_rigs_are_accepted(name: str, line: str, faults: tuple[str, ...]) -> None:
    """A proof that nobody else can check has to be believed, and water does not believe."""
    search, claim, again = proof(name, line, faults)
    lines = list(certificate_of(search, claim))
    checked = check(lines)
    assert checked.head["statement"] == line
    assert checked.boxes == search.progress().nodes
    assert checked.boxes >= checked.followed > 0
    assert checked.arrivals > checked.followed
    assert against(lines, claim, again) == ""
    assert check("\n".join(lines).splitlines()) == checked, "what comes back from a file is the same"


def refusal(lines: list[str], claim: Claim, plan: Plan) -> str:
    """Why a certificate is refused, by the checker or held against the rig; "" where it is not."""
    try:
        check(lines)
    except Refused as refused:
        return str(refused)
    return against(lines, claim, plan)


Content = list[Any]
"""A certificate's lines: head, tables, rates, boxes."""


def _tables(content: Content) -> dict[str, Any]:
    return content[1]["plan"]  # type: ignore[no-any-return]


def _cut(content: Content) -> None:
    box = max((box for _, _, _, boxes in content[3:] for box in boxes), key=lambda box: box[1] - box[0])
    box[1] -= 1


def _without_a_box(content: Content) -> None:
    del content[len(content) // 2]


def _hidden(content: Content) -> None:
    _without_a_box(content)
    content[0]["boxes"] -= 1


def _without_the_start(content: Content) -> None:
    start = [one["starts"][0] for one in (*_tables(content)["deciders"], *_tables(content)["actors"])]
    content[3:] = [one for one in content[3:] if one[0] or one[1] != start]
    content[0]["boxes"] = len(content) - 3


def _rate(by: int) -> Callable[[Content], None]:
    def change(content: Content) -> None:
        for rate in content[2]["rates"]:
            rate[-1] = max(rate[-1] + by, rate[-2])

    return change


def _without_a_rate(content: Content) -> None:
    del content[2]["rates"][0]


def _upside_down(content: Content) -> None:
    rate = max(content[2]["rates"], key=lambda rate: rate[-1] - rate[-2])
    rate[-2:] = rate[:-3:-1]


def _without_a_move(content: Content) -> None:
    decider = next(one for one in _tables(content)["deciders"] if len(one["moves"]) > 1)
    decider["moves"][0] = [move for move in decider["moves"][0] if move["to"] == 0]


def _without_any_move(content: Content) -> None:
    _tables(content)["deciders"][0]["moves"][0] = []


def _without_a_way(content: Content) -> None:
    gate = max(_tables(content)["actors"], key=lambda one: len(one["moves"]))
    ways = max((way for ways in gate["moves"] for way in ways), key=len)
    del ways[0]


def _another_harm(content: Content) -> None:
    _tables(content)["rows"].append({"is": "Known", "mask": 1})
    _tables(content)["harm"] = len(_tables(content)["rows"]) - 1


def _any_harm(content: Content) -> None:
    _tables(content)["rows"].append({"is": "Known", "mask": 5})
    _tables(content)["harm"] = len(_tables(content)["rows"]) - 1


def _nothing(content: Content) -> None:
    _tables(content)["rows"].append({"is": "Known", "mask": 0})
    _tables(content)["harm"] = len(_tables(content)["rows"]) - 1


def _unknown_row(content: Content) -> None:
    _tables(content)["rows"][0]["is"] = "Maybe"


def _narrow_start(content: Content) -> None:
    _tables(content)["levels"][0]["start"][1] = _tables(content)["levels"][0]["start"][0]


def _wide_start(content: Content) -> None:
    _tables(content)["levels"][0]["start"][1] = _tables(content)["levels"][0]["most"]


def _no_piece(content: Content) -> None:
    _tables(content)["levels"][0]["pieces"][0] = 1


def _false_order(content: Content) -> None:
    gate = next(one for one in _tables(content)["actors"] if max(one["kinds"]) > 0)
    gate["first"] = [gate["kinds"].index(0)] * len(gate["first"])


def _never_ready(content: Content) -> None:
    _tables(content)["watched"] = False


def _twice(content: Content) -> None:
    content.append(content[-1])
    content[0]["boxes"] += 1


def _outside(content: Content) -> None:
    content[-1][3][0][1] = _tables(content)["levels"][0]["most"] + 1


def _below_nought(content: Content) -> None:
    content[-1][1][0] -= len(_tables(content)["deciders"][0]["states"])


def _half(content: Content) -> None:
    content[-1] = content[-1][:2]


def _head(name: str, value: object) -> Callable[[Content], None]:
    def change(content: Content) -> None:
        content[0][name] = value

    return change


TAMPERED: list[tuple[Callable[[Content], None], str]] = [
    (_cut, "the set does not hold .* mL, which comes from"),
    (_without_a_box, "it says that it has [0-9]+ boxes, and has"),
    (_hidden, "the set does not hold"),
    (_without_the_start, "which comes from the start"),
    (_rate(100_000), "the set does not hold|the harm may be"),
    (_rate(-1), "may gain .* mL in a scan, not"),
    (_without_a_rate, "there is no rate of belly"),
    (_upside_down, "belly gains at least .* and at most"),
    (_without_a_move, "has no way to go from its state 0"),
    (_without_any_move, "has no way to go from its state 0"),
    (_without_a_way, "its tables are not those of this rig|cannot be read"),
    (_another_harm, "its tables are not those of this rig"),
    (_any_harm, "the harm may be, a scan from"),
    (_nothing, "is nothing at all"),
    (_unknown_row, "there is no row of the kind Maybe"),
    (_narrow_start, "its tables are not those of this rig"),
    (_wide_start, "which comes from the start"),
    (_no_piece, "the pieces of belly do not cover it"),
    (_false_order, "does not outdo its state"),
    (_never_ready, "which comes from the start|its tables are not those of this rig"),
    (_twice, "two boxes are of the same states"),
    (_outside, "a box lies outside its pieces"),
    (_below_nought, "where only a whole one from nought up can stand"),
    (_half, "it cannot be read: ValueError"),
    (_head("version", 2), "no closed set of boxes of version 1"),
    (_head("program", "0" * 64), "it is about program"),
    (_head("statement", "loft reaches its overflow"), "it is about statement"),
    (_head("faults", ["belly_level stuck"]), "it is about faults"),
    (_head("layer", "wet"), "it is about layer"),
]


@pytest.mark.parametrize(("change", "reason"), TAMPERED, ids=lambda one: getattr(one, "__name__", None))
def test_what_was_changed_is_refused(change: Callable[[Content], None], reason: str) -> None:
    """A certificate that can be bent shows a proof for a tank that runs over."""
    search, claim, again = proof("marram", "belly reaches its overflow")
    content = [json.loads(line) for line in certificate_of(search, claim)]
    changed = deepcopy(content)
    change(changed)
    assert changed != content
    lines = [json.dumps(line) for line in changed]
    assert re.search(reason, refusal(lines, claim, again))


def test_cut_short_in_mid_line_is_refused() -> None:
    """A disk that was full leaves half a file; half a proof is none."""
    search, claim, _ = proof("bothy", "cistern reaches its overflow", ("cistern jerrycan 20 L",))
    text = "\n".join(certificate_of(search, claim))
    with pytest.raises(Refused, match="cannot be read"):
        check(text[:-2].splitlines())
    with pytest.raises(Refused, match="cannot be read"):
        check([])


def test_the_same_plan_of_another_rig_is_told_apart() -> None:
    """A certificate carried from one rig to another would prove the wrong plumbing."""
    search, claim, _ = proof("marram", "belly reaches its overflow")
    lines = list(certificate_of(search, claim))
    _, _, other = proof("crumb", "drum reaches its overflow")
    assert against(lines, claim, other) == "its tables are not those of this rig"
    assert against(lines, replace(claim, faults=("loft_level stuck",)), other).startswith("it is about faults")


def test_what_did_not_close_has_no_certificate(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that gave up, or was stopped, or found the harm has shown nothing."""
    _, claim, again = proof("marram", "belly reaches its overflow")
    monkeypatch.setattr("ullage.prove.search.SHARE", 10)
    searches = [Search(again) for _ in range(3)]
    assert searches[1].run(lambda progress: False) is End.STOPPED
    monkeypatch.setattr("ullage.prove.search.NODES_LIMIT", 20)
    assert searches[2].run() is End.LIMIT
    for search in searches:
        with pytest.raises(NotClosed):
            list(certificate_of(search, claim))
