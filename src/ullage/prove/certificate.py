"""The certificate of a proof: everything that a search found closed, written so that others can check it.

It is lines of JSON: what it is about, the plan's tables, the rates that were used, then one line
for each box. `ullage.prove.checker` reads it by a way of its own; here it is written, and held
against the rig again, so that its tables and rates are those of this rig and no other.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, fields
from itertools import product
from typing import Any

from ullage.prove.ask import NOT_YET
from ullage.prove.plan import Level, Plan, Row
from ullage.prove.search import End, Search

FORMAT = "closed set of boxes"
"""What the first line says that the file is."""

VERSION = 1


@dataclass(frozen=True, slots=True)
class Claim:
    """What a certificate says is proved.

    Attributes
    ----------
    rig : str
    program : str
        Hash of the Program.
    statement : str
        What must never be, as in the rig file.
    about : str
        The tank or pump that it would befall, "" where the statement says it.
    faults : tuple of str
        Faults that may act.
    layer : str
        What the proof rests on.
    """

    rig: str
    program: str
    statement: str
    about: str
    faults: tuple[str, ...]
    layer: str


class NotClosed(Exception):
    """A search that did not close proves nothing, so it has no certificate."""


def certificate_of(search: Search, claim: Claim) -> Iterator[str]:
    """The lines of a certificate.

    Raises
    ------
    NotClosed
        When the search has not ended with everything closed.
    """
    if search.end is not End.CLOSED:
        raise NotClosed
    nodes = search.progress().nodes
    yield _line({"format": FORMAT, "version": VERSION, **asdict(claim), "boxes": nodes})
    yield _line({"plan": tables_of(search.plan)})
    yield _line({"rates": [[*key, *rate] for key, rate in sorted(_rates(search).items())]})
    for node in range(nodes):
        one = search.node(node)
        yield _line([one.flags, one.states, one.pieces, one.box])


def against(lines: Iterable[str], claim: Claim, plan: Plan) -> str:
    """Why a certificate is not one of this claim and plan, with every rate worked out anew; "" where it is.

    Parameters
    ----------
    lines : iterable of str
    claim : Claim
        What it is to be about.
    plan : Plan
        Derived from the rig again.
    """
    head, tables, rates = (json.loads(line) for line, _ in zip(lines, range(3), strict=False))
    for name, value in json.loads(_line(asdict(claim))).items():
        if head.get(name) != value:
            return f"it is about {name} {head.get(name)}, not {value}"
    if tables != json.loads(_line({"plan": tables_of(plan)})):
        return "its tables are not those of this rig"
    for at, kinds, strip, low, high in rates["rates"]:
        least, most = plan.levels[at].rate(tuple(kinds), strip)
        if low > least or high < most:
            return f"{plan.levels[at].name} may gain {least} to {most} mL in a scan, not {low} to {high}"
    return ""


def tables_of(plan: Plan) -> dict[str, Any]:
    """A plan as plain lists and numbers; the rates stand apart."""
    return {
        "deciders": [asdict(one) for one in plan.deciders],
        "actors": [asdict(one) for one in plan.actors],
        "levels": [_without_rate(level) for level in plan.levels],
        "outputs": [asdict(one) for one in plan.outputs],
        "rows": [_row(row) for row in plan.rows],
        "harm": plan.harm,
        "watched": plan.watched,
        "restarts": plan.restarts,
    }


def _without_rate(level: Level) -> dict[str, Any]:
    return {one.name: getattr(level, one.name) for one in fields(level) if one.name != "rate"}


def _row(row: Row) -> dict[str, Any]:
    return {"is": type(row).__name__, **asdict(row)}


def _rates(search: Search) -> dict[tuple[int, tuple[int, ...], int], tuple[int, int]]:
    """All rates that were used, and those with any gates in kinds that are outdone by the ones used."""
    ask, plan = search.ask, search.plan
    found: dict[tuple[int, tuple[int, ...], int], tuple[int, int]] = {}
    less = [_outdone(one.kinds, one.first) for one in plan.actors]
    for at, level in enumerate(plan.levels):
        strips, row = int(ask.strips[at]), int(ask.rate_first[at])
        for kinds in product(*(range(int(ask.kinds[actor])) for actor in level.near)):
            for strip in range(strips):
                if ask.rate_low[row] != NOT_YET:
                    lower = (less[actor][kind] for actor, kind in zip(level.near, kinds, strict=True))
                    for other in product(*lower):
                        found[at, other, strip] = level.rate(other, strip)
                row += 1
    return found


def _outdone(kinds: tuple[int, ...], first: tuple[int, ...]) -> dict[int, set[int]]:
    """For each kind of a gate, itself and the kinds of all states where one of its own may stand for another."""
    if all(state == best for state, best in enumerate(first)):
        return {kind: {kind} for kind in kinds} | {0: {0}}
    return {kind: {other for other in (*kinds, 0) if other <= kind} for kind in (*kinds, 0)}


def _line(content: object) -> str:
    return json.dumps(content, separators=(",", ":"))
