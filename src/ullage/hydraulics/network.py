"""The network as flat tables: what a rig's pipes are to the solver.

A **node** has a head [m above the ground]. The head of the first ``free`` nodes is unknown;
of the others it is given (the outdoor air, a supply, an accumulator, the surface of a tank).
Each tank has two nodes: its *gas* node (unknown), whose head is the level of the surface plus
the pressure of the air above it in metres of water, and its *face* node (given), whose head is
the level of the surface alone. The vent joins the two, so a starved vent is part of the answer.

A **link** is one whole line of the rig with all that sits in it. Its loss is ::

    h(q) = friction(q) + resistance * q |q| - lift(q)

plus the drop from an opening down to the surface where the opening stands dry. Each term
rises with q, so h is monotone and the solution unique (Todini & Pilati 1988).
"""

from __future__ import annotations

from collections.abc import MutableSequence
from functools import cache
from typing import Annotated, Any, NamedTuple, TypeVar, get_type_hints

FORWARD, BACKWARD = 1, 2
"""Bits of a link's `way`: water may pass from start to end; from end to start."""

NEVER_WET = -1
"""No face: this end of the link is always under water."""

ITERATION_LIMIT = 100
"""The solver gives up (returns -1) after this many iterations."""

Reals = MutableSequence[float]
Integers = MutableSequence[int]
Indices = Annotated[MutableSequence[int], "never negative"]
"""Whole numbers that are never negative: as arrays unsigned, so that machine code need not ask."""
T = TypeVar("T")


class Network(NamedTuple):
    """What does not change while a simulation runs.

    Shapes: N nodes, L links, S friction sections, G tables, T throttles, P pumps. ``*_first``
    sequences are one longer than what they index; part i has the entries from ``first[i]`` up
    to ``first[i + 1]``.

    Attributes
    ----------
    free : int
        Count of nodes of unknown head; they come first, in order of elimination.
    elevation : (N,) [m]
        Height of each node.
    start, end : (L,)
        Node at each end of a link.
    way : (L,)
        Bits `FORWARD` and `BACKWARD` that the parts of the link allow.
    resistance : (L,) [s2/m5]
        Quadratic loss of all fixed parts together.
    weir : (L,) [m3/s per m^1.5]
        Coefficient of an overflow's rim, 0 for all other links.
    start_face, end_face : (L,)
        Node whose head is the level of the water that the opening may stand out of, or `NEVER_WET`.
    start_sill, end_sill : (L,) [m]
        Height of that opening.
    start_mouth, end_mouth : (L,) [m]
        Inner height of that opening: an outlet covered less than this passes less.
    breath : (L,)
        1 for a vent: its air leaves only while the tank is not brimful.
    section_first : (L + 1,)
    section_scale : (S,) [s/m3]
        Reynolds number over 2000 per unit of flow.
    section_head : (S,) [m]
        Loss per unit of the table's value.
    section_table : (S,)
    bend : (4 G,)
        Coefficients of the friction factor between Re 2000 and 4000.
    cells : (TABLE G,)
        Coefficients of each cell of the tables beyond Re 4000: see `ullage.hydraulics.friction`.
    throttle_first : (L + 1,)
    throttle_kind : (T,)
        How the passage of a part follows its opening: see `ullage.hydraulics.fittings`.
    throttle_resistance : (T,) [s2/m5]
        Quadratic loss when fully open.
    curve : (L,)
        Number of the link's pump counted from 1, or 0.
    pump_first : (P + 1,)
    pump_flow, pump_head : [m3/s], [m]
        Points of each pump's curve: flow rising, head falling, joined by straight lines.
    start_slot, end_slot, pair_slot : (L,)
        Where a link adds to the matrix; the last slot takes what belongs to no unknown.
    column_first : (free + 1,)
    row : indices of the rows of the factor below the diagonal, column by column.
    target : matrix slot of each update of the factorisation, in order of use.
    accuracy : float
        Sum of flow changes over sum of flows at which the solver stops.
    """

    free: int
    elevation: Reals
    start: Indices
    end: Indices
    way: Integers
    resistance: Reals
    weir: Reals
    start_face: Integers
    end_face: Integers
    start_sill: Reals
    end_sill: Reals
    start_mouth: Reals
    end_mouth: Reals
    breath: Integers
    section_first: Indices
    section_scale: Reals
    section_head: Reals
    section_table: Indices
    bend: Reals
    cells: Reals
    throttle_first: Indices
    throttle_kind: Integers
    throttle_resistance: Reals
    curve: Indices
    pump_first: Integers
    pump_flow: Reals
    pump_head: Reals
    start_slot: Indices
    end_slot: Indices
    pair_slot: Indices
    column_first: Integers
    row: Indices
    target: Indices
    accuracy: float


class Condition(NamedTuple):
    """What the plant may change between two solves. The given heads stand in ``head[free:]``.

    Attributes
    ----------
    opening : (T,)
        0 closed .. 1 open of each valve, tap and accumulator neck.
    speed : (P,)
        Speed of each pump over that of its curve; 0 when it stands.
    clear : (L,)
        Part of the passage that is not blocked, 1 when clear, 0 when plugged.
    leak : (L,)
        How far a one-way link passes backward, 0 tight .. 1 not at all one-way.
    way : (L,)
        Bits that are allowed now (3: as the parts allow), e.g. `FORWARD` only into an empty accumulator.
    """

    opening: Reals
    speed: Reals
    clear: Reals
    leak: Reals
    way: Integers


class Work(NamedTuple):
    """Scratch of the solver, made once by `work_of`.

    ``forward`` and ``backward`` (L,) hold the quadratic loss in each direction, -1 where water
    cannot pass; ``drop`` (L,) the fixed head lost [m]; the rest is the linear system.
    """

    forward: Reals
    backward: Reals
    drop: Reals
    conductance: Reals
    pull: Reals
    step: Reals
    open_link: Indices
    matrix: Reals
    side: Reals


def condition_of(network: Network) -> Condition:
    """The resting condition: all valves and taps closed, pumps off, nothing blocked or leaking."""
    links = len(network.start)
    return Condition(
        opening=[0.0] * network.throttle_first[-1],
        speed=[0.0] * (len(network.pump_first) - 1),
        clear=[1.0] * links,
        leak=[0.0] * links,
        way=[FORWARD | BACKWARD] * links,
    )


def work_of(network: Network) -> Work:
    """Scratch of the right size for a network."""
    links = len(network.start)
    return Work(
        forward=[0.0] * links,
        backward=[0.0] * links,
        drop=[0.0] * links,
        conductance=[0.0] * links,
        pull=[0.0] * links,
        step=[0.0] * links,
        open_link=[0] * links,
        matrix=[0.0] * (network.free + len(network.row) + 1),
        side=[0.0] * network.free,
    )


@cache
def _hints(kind: type) -> dict[str, Any]:
    """What the columns of a kind of tables are."""
    return get_type_hints(kind, include_extras=True)


def as_arrays(tables: T) -> T:
    """The same tables with every list made an array, for compiled kernels."""
    import numpy as np

    kinds = {Reals: np.float64, Integers: np.int64, Indices: np.uint32}
    kind: Any = type(tables)
    hints = _hints(kind)
    fields = tables._asdict()  # type: ignore[attr-defined]
    made = {
        name: np.array(value, dtype=kinds[hints[name]]) if hints[name] in kinds else value
        for name, value in fields.items()
    }
    return type(tables)(**made)
