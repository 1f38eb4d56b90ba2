"""Where everything of a plant lies: one column of integers ``n`` and one of floats ``r``.

As in `ullage.control.layout`: the head of ``n`` says how many rows there are of each kind and
where each column begins, in ``n`` or in ``r``. So ``of(n, at.GAS, tank)`` is the gas node of a
tank, and ``r[n[at.VOLUME] + tank]`` what it holds. All quantities are SI unless said.

Every name below is declared once, with the length of its column, the unit of what stands in it,
and what it begins with where that is the same in every rig; `pack` holds the plant to that.
"""

from __future__ import annotations

from collections.abc import Mapping, MutableSequence, Sequence
from dataclasses import dataclass
from math import inf, prod

from ullage.control import codes as law
from ullage.control import timers
from ullage.kernels import kernel
from ullage.plant import codes

Integers = MutableSequence[int]
Reals = MutableSequence[float]

LONG_AGO = -1e9
"""Before any run [s]."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the head of ``n``.

    Attributes
    ----------
    kind : str
        ``count``, ``integers`` or ``reals``.
    length : str
        How long the column is: numbers of rows by name, such as ``tanks * stands + 1``.
    unit : str
        Unit of what stands in it ("": none, or milliseconds where the name says so).
    begins : float or None
        What all of it begins with (None: the rig decides).
    """

    kind: str
    length: str = "1"
    unit: str = ""
    begins: float | None = None


_ENTRIES: list[Entry] = []


def _declare(entry: Entry) -> int:
    """Place of a new entry in the head."""
    _ENTRIES.append(entry)
    return len(_ENTRIES) - 1


def _count() -> int:
    return _declare(Entry("count"))


def _integers(length: str, begins: int | None = None) -> int:
    return _declare(Entry("integers", length, begins=begins))


def _reals(length: str, unit: str = "", begins: float | None = None) -> int:
    return _declare(Entry("reals", length, unit, begins))


# --- how many rows there are -------------------------------------------------------------------

TANKS = _count()
CUSHIONS = _count()  # accumulators
VESSELS = _count()  # tanks, then the water in the accumulators
LINKS = _count()  # of the network
ROWS = _count()  # of the ledger: links, then what is poured into each tank, then what runs over its brim
NODES = _count()
THROTTLES = _count()
PUMPS = _count()
VALVES = _count()  # by hand and by motor
FIXTURES = _count()
PORTS = _count()
STANDS = _count()  # ways the rig stands in this run
FLOATS = _count()
SIGNALS = _count()  # of the law
BOARDS = _count()
OUTPUTS = _count()  # of the law
FAULTS = _count()  # of this run
MARKS = _count()  # of all tanks on all stands
CELLS = _count()  # of all surfaces
HAPPENINGS = _count()  # of this run

# --- columns of integers -------------------------------------------------------------------------

# Tanks.
GAS = _integers("tanks")  # node
FACE = _integers("tanks")  # node
VENT = _integers("tanks")  # link or -1
SPILL = _integers("tanks")  # link or -1
OVERFLOW = _integers("tanks")  # link or -1
SPILLS_INDOORS = _integers("tanks")

# Volumes at which something happens, rising, by tank and stand.
MARK_FIRST = _integers("tanks * stands + 1")
MARK_KIND = _integers("marks")
MARK_ROW = _integers("marks")  # link

# Cells of the surfaces, by tank and stand: see `ullage.plant.tanks`.
CELL_FIRST = _integers("tanks * stands + 1")

# Accumulators.
CUSHION_NODE = _integers("cushions")
CUSHION_NECK = _integers("cushions")  # link

# Ledger: vessel that each row draws from and leads to, -1 outside.
DRAWN_FROM = _integers("rows")
LED_TO = _integers("rows")

# Links.
BARRIERS = _integers("links")  # parts that pass one way only, a bit for each
LEAKING = _integers("links", begins=0)  # those of them that leak
PRIMED = _integers("links")  # 1: full over its crest
MOUTH_PORT = _integers("links")  # supply at its start, -1 none
MOUTH_TAP = _integers("links")  # throttle of the tap at its end, -1 none

# Pumps.
PUMP_LINK = _integers("pumps")
PUMP_OUTLET = _integers("pumps")  # node
PUMP_RELAY = _integers("pumps")  # 1 driven
CONTACTS = _integers("pumps", begins=1)  # of its pressure switch, 1 closed
TURNING = _integers("pumps", begins=0)
DRY = _integers("pumps", begins=0)
AIRBOUND = _integers("pumps", begins=0)  # 1: air stands in its suction
HARMED = _integers("pumps", begins=0)  # 1: it has run dry for longer than it may
SELF_PRIMING = _integers("pumps")
PUMP_FLOAT = _integers("pumps")  # in series with it, -1 none
PUMP_FLOAT_MADE = _integers("pumps")  # 1: its contact is made while it is wet, 0 while it is dry

# Valves.
VALVE_THROTTLE = _integers("valves")
MOTORISED = _integers("valves")
THROTTLE_KIND = _integers("valves")
WITHOUT_POWER = _integers("valves")
VALVE_RELAY = _integers("valves")  # 1 driven open
VALVE_FLOAT = _integers("valves")  # as of a pump
VALVE_FLOAT_MADE = _integers("valves")

# Floats that sit in series with a coil.
FLOAT_WIRED = _integers("floats")
FLOAT_TANK = _integers("floats")
FLOAT_SIGNAL = _integers("floats")  # of the law, -1 none
FLOAT_WET = _integers("floats")  # 1: it has risen and not yet fallen
FLOAT_HANGS = _integers("floats", begins=-1)  # 1 wet, 0 dry, -1 in health
FLOAT_BROKEN = _integers("floats", begins=0)  # its wire

# Fixtures and ports.
FIXTURE_THROTTLE = _integers("fixtures")
PORT_NODE = _integers("ports")
PORT_LINK = _integers("ports")
CONNECTED = _integers("ports")
HOSE = _integers("ports")  # section of the hose there, -1 none

# The whole.
SCAN_MS = _integers("1")
STAND = _integers("1", begins=0)
MOVING = _integers("1", begins=0)
WET = _integers("2 * tanks", begins=0)  # tanks that overflow, then tanks that run over indoors
UNSETTLED = _integers("1", begins=0)  # flows that did not settle
EVENT = _integers("2")  # what ends the segment, and where
POWERED = _integers("1", begins=1)
ATTITUDE = _integers("1", begins=law.FLAT)  # of the handset

# What is wrong, by signal.
STUCK = _integers("signals", begins=0)
DEAD = _integers("signals", begins=0)
SWAPPED = _integers("signals")  # signal, itself in health
FORCED = _integers("signals", begins=-1)  # value or -1

# What is wrong, by valve.
VALVE_STUCK = _integers("valves", begins=0)
MUTE = _integers("valves", begins=0)
CROSSED = _integers("valves")  # valve, itself in health
VALVE_WELDED = _integers("valves", begins=0)

# What is wrong, by pump.
PUMP_WELDED = _integers("pumps", begins=0)
PUMP_FAILED = _integers("pumps", begins=0)
RUNNING_ON = _integers("pumps", begins=0)

# What is wrong, by board.
LOST = _integers("boards", begins=0)
LATE_MS = _integers("boards", begins=0)
AGAIN_MS = _integers("boards", begins=0)

# What is wrong with the whole.
POWER_LOST = _integers("1", begins=0)
BROWN_OUT = _integers("1", begins=0)
CONTROLLER_GONE = _integers("1", begins=0)
POWER_SEEN = _integers("1", begins=1)  # whether boards and controller had their supply at the last edge

# Faults of this run.
FAULT_KIND = _integers("faults")
FAULT_PART = _integers("faults")
FAULT_OTHER = _integers("faults")
FAULT_START_MS = _integers("faults")
FAULT_END_MS = _integers("faults")
FAULT_ON = _integers("faults", begins=0)

# Happenings of this run, by time.
HAPPENING_MS = _integers("happenings")
HAPPENING = _integers("happenings")
HAPPENING_PART = _integers("happenings")
NEXT_HAPPENING = _integers("1", begins=0)

# Sources, one per signal: see `ullage.plant.senders`.
SOURCE = _integers("signals")
SOURCE_PART = _integers("signals")
SOURCE_BOARD = _integers("signals")  # -1: at the controller itself
EVERY_MS = _integers("signals")
ON_CHANGE = _integers("signals")
HEARTBEAT_MS = _integers("signals")
SOURCE_STALE_MS = _integers("signals")
BROKEN_READS = _integers("signals")
NOISE_STREAM = _integers("signals")  # of draws: see `ullage.plant.chance`
LOSS_STREAM = _integers("signals")
DELAY_STREAM = _integers("signals")
DUE_MS = _integers("signals")  # next reading
READ_MS = _integers("signals", begins=-1)  # last reading, -1 before the first
RAW = _integers("signals", begins=0)  # last reading
SENT_RAW = _integers("signals", begins=0)  # last one published
SENT_MS = _integers("signals", begins=-1)
HEARD_RAW = _integers("signals", begins=0)  # last one that reached the controller
HEARD_MS = _integers("signals", begins=-1)  # when it was taken, -1 none
DOZES = _integers("signals", begins=0)  # 1: its readings stay the same and are looked after together later
STEADY = _integers("signals", begins=0)  # 1: a level's lagged value no longer changes while the plant is calm
RING_MS = _integers("signals * ring", begins=0)
RING_RAW = _integers("signals * ring", begins=0)
RING_ARRIVAL_MS = _integers("signals * ring", begins=-1)  # -1: lost
RING_COUNT = _integers("signals", begins=0)

# Boards.
BOARD_DELAY_LEAST_MS = _integers("boards")
BOARD_DELAY_MOST_MS = _integers("boards")
CALL_LOSS_STREAM = _integers("boards")
CALL_DELAY_STREAM = _integers("boards")
CALLED = _integers("boards", begins=-1)  # number of the last scan whose demands were worked out
CALL_ARRIVAL_MS = _integers("boards * ring", begins=-1)  # ring of scans, -1 lost
OBEYED = _integers("boards", begins=-1)  # number of the newest scan that was heard
WAITS = _integers("boards", begins=1)  # 1 while something is still to be heard
LAPSE_MS = _integers("boards", begins=timers.NEVER_MS)  # when to look whether its leases have lapsed

# Outputs.
OUTPUT_BOARD = _integers("outputs")
OUTPUT = _integers("outputs")
OUTPUT_PART = _integers("outputs")
OUTPUT_LEASE_MS = _integers("outputs")
OUTPUT_ON_LAPSE = _integers("outputs")
OUTPUT_SAFE = _integers("outputs")
DEMAND = _integers("outputs")  # what the controller asks for now
CALL_DEMAND = _integers("outputs * ring", begins=0)  # ring of scans
DRIVEN = _integers("outputs")  # what the board drives
LAPSED = _integers("outputs", begins=0)
SLOSH_STREAM = _integers("tanks")

# The closed loop: see `ullage.simulate.loop`.
LOOP = _integers("loop", begins=0)

# --- columns of floats ---------------------------------------------------------------------------

# Time of the segment: start, end, step to try, 1 when something changed [s, s, s, -].
TIME = _reals("4")

# Vessels, at the ends of the segment and within it.
VOLUME = _reals("vessels", "m3")
VOLUME_END = _reals("vessels", "m3")
RATE = _reals("vessels", "m3/s", begins=0.0)
RATE_END = _reals("vessels", "m3/s", begins=0.0)
TRIED = _reals("vessels", "m3", begins=0.0)
RATE_HALF = _reals("vessels", "m3/s", begins=0.0)
RATE_LATE = _reals("vessels", "m3/s", begins=0.0)
LOW = _reals("vessels", "m3")  # least so far
HIGH = _reals("vessels", "m3")  # greatest so far
LOOSENESS = _reals("vessels")  # part of the allowed error of a step that it may make

# Ledger.
FLOW = _reals("rows", "m3/s", begins=0.0)
FLOW_END = _reals("rows", "m3/s", begins=0.0)
FLOW_HALF = _reals("rows", "m3/s", begins=0.0)
FLOW_LATE = _reals("rows", "m3/s", begins=0.0)
THROUGH = _reals("rows", "m3", begins=0.0)  # so far
GAIN = _reals("rows", "m3", begins=0.0)  # of the segment
BACK = _reals("rows", "m3", begins=0.0)  # so far, against the row's direction

# Nodes.
HEAD = _reals("nodes", "m")
HEAD_END = _reals("nodes", "m")

# Tanks.
CAPACITY = _reals("tanks", "m3")
TALL = _reals("tanks", "m")
MARK_VOLUME = _reals("marks", "m3")
CELL_DEPTH = _reals("cells", "m")
CELL_VOLUME = _reals("cells", "m3")
CELL_LINEAR = _reals("cells")  # coefficients of the surface's depth in a cell
CELL_SQUARE = _reals("cells")
CELL_CUBE = _reals("cells")
BASE = _reals("tanks * stands", "m")
UPRIGHT_SHARE = _reals("tanks * stands")  # cosine of the slope
AHEAD = _reals("tanks * stands", "m/m")
ACROSS = _reals("tanks * stands", "m/m")
POUR = _reals("tanks", "m3/s", begins=0.0)

# Floats: what the tank holds when one rises and when it falls.
RISES_AT = _reals("stands * floats", "m3")
FALLS_AT = _reals("stands * floats", "m3")

# Accumulators.
CUSHION_VOLUME = _reals("cushions", "m3")
CUSHION_PRECHARGE = _reals("cushions", "m")  # absolute

# Pumps.
CUT_IN = _reals("pumps", "m")
CUT_OUT = _reals("pumps", "m")
PUMP_DRAWS = _reals("pumps", "A")
PUMP_FREE = _reals("pumps", "m3/s")
RESTS_UNTIL = _reals("pumps", "s", begins=0.0)
TURNED = _reals("pumps", "s", begins=0.0)
DRIED = _reals("pumps", "s", begins=0.0)
SPEED = _reals("pumps", begins=0.0)  # part of the full one
SUCTION = _reals("pumps", "m3")
AIR = _reals("pumps", "m3", begins=0.0)  # in the suction at the time since
AIR_SINCE = _reals("pumps", "s", begins=0.0)
AIR_PACE = _reals("pumps", "m3/s", begins=0.0)  # at which it is drawn out
DRY_SINCE = _reals("pumps", "s", begins=0.0)
DRY_LIMIT = _reals("pumps", "s")  # infinite when none is known

# Valves.
LEAST_VOLTAGE = _reals("valves", "V")
CHARGE_TIME = _reals("valves", "s")
VALVE_DRAWS = _reals("valves", "A")
STROKE = _reals("valves", "s")
OPENING = _reals("valves")  # 0 closed .. 1 open, at the time since
SINCE = _reals("valves", "s", begins=0.0)
TURN = _reals("valves", "1/s", begins=0.0)
ARRIVES = _reals("valves", "s", begins=inf)
FULL_AT = _reals("valves", "s")
SLOW = _reals("valves", begins=1.0)  # times the stroke
SEEP = _reals("valves", begins=0.0)  # part of its Kv that the closed valve passes

# Fixtures, ports, links, nodes.
TAP = _reals("fixtures", begins=0.0)  # 0..1
BURST = _reals("fixtures", begins=0.0)  # 0..1
PRESSURE = _reals("ports", "m")
PRESSURE_INSTEAD = _reals("ports", "m", begins=-1.0)  # -1 none
CLEAR = _reals("links", begins=1.0)  # part of the way that is not blocked
LEAK = _reals("links", begins=0.0)  # part that passes the wrong way
THROTTLE = _reals("throttles")  # opening of each
ELEVATION = _reals("stands * nodes", "m")
START_SILL = _reals("stands * links", "m")
END_SILL = _reals("stands * links", "m")
CREST = _reals("stands * links", "m")
WIDTH = _reals("ports", begins=1.0)  # of a wrong hose over the right one
WIDTH_LAID = _reals("ports", begins=1.0)  # the same as it is laid now

# The whole: metre of water [Pa], atmosphere [m], allowed error of a step [m3].
WHOLE = _reals("3")

# Supply: voltage now, full [V], resistance [ohm], charge now, full [C], current [A], brown-out [V].
SUPPLY = _reals("7")

# Faults and happenings.
FAULT_AMOUNT = _reals("faults")
HAPPENING_AMOUNT = _reals("happenings")

# Sources.
ZERO = _reals("signals", "m")
SPAN = _reals("signals", "m")
PLACE_X = _reals("signals", "m")
PLACE_Y = _reals("signals", "m")
OFFSET = _reals("signals")  # what every reading is off by, part of the span
GAIN_ERROR = _reals("signals")  # part of the reading
LAG = _reals("signals")  # part of the way that a reading goes towards the truth
NOISE = _reals("signals")  # standard deviation, part of the span
RESOLUTION = _reals("signals")  # part of the span
LEAST_READ = _reals("signals")  # less is read as none, mL/min
LAGGED = _reals("signals", begins=-1.0)  # part of the span, -1 before the first
OFFSET_FAULT = _reals("signals", begins=0.0)  # added to the reading, part of the span
NOISE_FAULT = _reals("signals", begins=0.0)  # standard deviation of more noise, part of the span

# Boards.
BOARD_LOSS = _reals("boards")  # part of its telegrams

# Slosh.
SLOSH_REACH = _reals("tanks", "m")  # half the length
SLOSH_SPEED = _reals("tanks", "1/s")  # angular
STIRRED = _reals("tanks", "s", begins=LONG_AGO)  # when the flow into it last changed
MOVED_UNTIL = _reals("tanks", "s", begins=LONG_AGO)  # when the rig last moved

HEAD_SIZE = len(_ENTRIES)
"""Length of the head of ``n``."""

_NAMES = {place: name.lower() for name, place in globals().items() if name.isupper() and type(place) is int}
TABLE = {_NAMES[place]: entry for place, entry in enumerate(_ENTRIES)}
"""Every entry by its name in small letters, in order of place."""

_FIXED = {"ring": codes.RING, "loop": codes.LOOP_SIZE}
"""Lengths that are the same in every plant."""


@kernel
def of(n: Integers, column: int, row: int) -> int:
    """Entry of a column of integers."""
    return n[n[column] + row]


@kernel
def real(n: Integers, r: Reals, column: int, row: int) -> float:
    """Entry of a column of floats."""
    return r[n[column] + row]


def pack(
    counts: Mapping[str, int], integers: Mapping[str, Sequence[int]], reals: Mapping[str, Sequence[float]]
) -> tuple[list[int], list[float]]:
    """The two columns of a plant.

    Parameters
    ----------
    counts, integers, reals : mapping
        How many rows there are, and every column that the rig decides, by its name in `TABLE`.

    Returns
    -------
    n : list of int
    r : list of float
    """
    columns = _filled("integers", counts, integers), _filled("reals", counts, reals)
    wanted = [name for name, entry in TABLE.items() if entry.kind == "count"]
    assert set(counts) == set(wanted), set(counts) ^ set(wanted)
    n = [counts[name] for name in wanted] + [0] * (HEAD_SIZE - len(wanted))
    r: list[float] = []
    for place, name in enumerate(columns[0], len(wanted)):
        n[place] = len(n)
        n += map(int, columns[0][name])
    for place, name in enumerate(columns[1], TIME):
        n[place] = len(r)
        r += columns[1][name]
    return n, r


def _filled(kind: str, counts: Mapping[str, int], given: Mapping[str, Sequence[float]]) -> dict[str, Sequence[float]]:
    """Every column of a kind, in order; each as long as the table says."""
    filled: dict[str, Sequence[float]] = {}
    for name, entry in TABLE.items():
        if entry.kind == kind:
            length = length_of(entry.length, counts)
            if name not in given:
                assert entry.begins is not None, f"nothing fills '{name}'"
            filled[name] = given[name] if name in given else [entry.begins or 0] * length
            assert len(filled[name]) == length, f"'{name}' has {len(filled[name])} rows, not {entry.length}"
    assert not set(given) - set(filled), set(given) - set(filled)
    return filled


def length_of(text: str, counts: Mapping[str, int]) -> int:
    """A length such as ``tanks * stands + 1`` in rows."""
    known = {**counts, **_FIXED}
    terms = [[known[word] if word in known else int(word) for word in term.split(" * ")] for term in text.split(" + ")]
    return sum(prod(term) for term in terms)


def column(n: Integers, r: Reals, place: int, length: int) -> list[float]:
    """One column as a list, for people and tests."""
    source: Sequence[float] = n if place < TIME else r
    return list(source[n[place] : n[place] + length])
