"""Where everything of a plant lies: one column of integers ``n`` and one of floats ``r``.

As in `ullage.control.layout`: the head of ``n`` says how many rows there are of each kind and
where each column begins, in ``n`` or in ``r``. So ``of(n, at.GAS, tank)`` is the gas node of a
tank, and ``r[n[at.VOLUME] + tank]`` what it holds. All quantities are SI unless said.
"""

from __future__ import annotations

from collections.abc import Mapping, MutableSequence, Sequence

from ullage.kernels import kernel

Integers = MutableSequence[int]
Reals = MutableSequence[float]

# How many rows there are.
(
    TANKS,
    CUSHIONS,  # accumulators
    VESSELS,  # tanks, then the water in the accumulators
    LINKS,  # of the network
    ROWS,  # of the ledger: links, then what is poured into each tank, then what runs over its brim
    NODES,
    THROTTLES,
    PUMPS,
    VALVES,  # by hand and by motor
    FIXTURES,
    PORTS,
    STANDS,  # ways the rig stands in this run
    SIGNALS,  # of the law
    BOARDS,
    OUTPUTS,  # of the law
    FAULTS,  # of this run
    HAPPENINGS,  # of this run
) = range(17)

# Where the columns of integers begin.
(
    # Tanks.
    GAS,  # node
    FACE,  # node
    VENT,  # link or -1
    SPILL,  # link or -1
    OVERFLOW,  # link or -1
    SPILLS_INDOORS,
    # Volumes at which something happens, rising, by tank and stand.
    MARK_FIRST,
    MARK_KIND,
    MARK_ROW,  # link
    # Cells of the surfaces, by tank and stand: see `ullage.plant.tanks`.
    CELL_FIRST,
    # Accumulators.
    CUSHION_NODE,
    CUSHION_NECK,  # link
    # Ledger: vessel that each row draws from and leads to, -1 outside.
    DRAWN_FROM,
    LED_TO,
    # Links: parts that pass one way only, a bit for each; those of them that leak; whether the line is full
    # over its crest; the supply at its start and the throttle of the tap at its end, -1 none.
    BARRIERS,
    LEAKING,
    PRIMED,
    MOUTH_PORT,
    MOUTH_TAP,
    # Pumps.
    PUMP_LINK,
    PUMP_OUTLET,  # node
    PUMP_RELAY,  # 1 driven
    CONTACTS,  # of its pressure switch, 1 closed
    TURNING,
    DRY,
    AIRBOUND,  # 1: air stands in its suction
    HARMED,  # 1: it has run dry for longer than it may
    SELF_PRIMING,
    # Valves.
    VALVE_THROTTLE,
    MOTORISED,
    THROTTLE_KIND,
    WITHOUT_POWER,
    VALVE_RELAY,  # 1 driven open
    # Fixtures and ports.
    FIXTURE_THROTTLE,
    PORT_NODE,
    PORT_LINK,
    CONNECTED,
    HOSE,  # section of the hose there, -1 none
    # The whole.
    SCAN_MS,
    STAND,
    MOVING,
    WET,  # tanks that overflow, then tanks that run over indoors
    UNSETTLED,  # flows that did not settle
    EVENT,  # what ends the segment, and where
    POWERED,
    ATTITUDE,  # of the handset
    # What is wrong, by signal.
    STUCK,
    DEAD,
    SWAPPED,  # signal, itself in health
    FORCED,  # value or -1
    # What is wrong, by valve.
    VALVE_STUCK,
    MUTE,
    CROSSED,  # valve, itself in health
    VALVE_WELDED,
    # What is wrong, by pump.
    PUMP_WELDED,
    PUMP_FAILED,
    RUNNING_ON,
    # What is wrong, by board.
    LOST,
    LATE_MS,
    AGAIN_MS,
    # What is wrong with the whole.
    POWER_LOST,
    BROWN_OUT,
    CONTROLLER_GONE,
    POWER_SEEN,  # whether boards and controller had their supply at the last edge
    # Faults of this run.
    FAULT_KIND,
    FAULT_PART,
    FAULT_OTHER,
    FAULT_START_MS,
    FAULT_END_MS,
    FAULT_ON,
    # Happenings of this run, by time.
    HAPPENING_MS,
    HAPPENING,
    HAPPENING_PART,
    NEXT_HAPPENING,
    # Sources, one per signal: see `ullage.plant.senders`.
    SOURCE,
    SOURCE_PART,
    SOURCE_BOARD,  # -1: at the controller itself
    EVERY_MS,
    ON_CHANGE,
    HEARTBEAT_MS,
    SOURCE_STALE_MS,
    BROKEN_READS,
    NOISE_STREAM,  # of draws: see `ullage.plant.chance`
    LOSS_STREAM,
    DELAY_STREAM,
    DUE_MS,  # next reading
    READ_MS,  # last reading, -1 before the first
    RAW,  # last reading
    SENT_RAW,  # last one published
    SENT_MS,
    HEARD_RAW,  # last one that reached the controller
    HEARD_MS,  # when it was taken, -1 none
    DOZES,  # 1: its readings stay the same and are looked after together later
    STEADY,  # 1: a level's lagged value no longer changes while the plant is calm
    RING_MS,
    RING_RAW,
    RING_ARRIVAL_MS,  # -1: lost
    RING_COUNT,
    # Boards.
    BOARD_DELAY_LEAST_MS,
    BOARD_DELAY_MOST_MS,
    CALL_LOSS_STREAM,
    CALL_DELAY_STREAM,
    CALLED,  # number of the last scan whose demands were worked out
    CALL_ARRIVAL_MS,  # ring of scans, -1 lost
    OBEYED,  # number of the newest scan that was heard
    WAITS,  # 1 while something is still to be heard
    LAPSE_MS,  # when to look whether its leases have lapsed
    # Outputs.
    OUTPUT_BOARD,
    OUTPUT,
    OUTPUT_PART,
    OUTPUT_LEASE_MS,
    OUTPUT_ON_LAPSE,
    OUTPUT_SAFE,
    DEMAND,  # what the controller asks for now
    CALL_DEMAND,  # ring of scans
    DRIVEN,  # what the board drives
    LAPSED,
    SLOSH_STREAM,  # by tank
    # The closed loop: see `ullage.simulate.loop`.
    LOOP,
) = range(17, 136)

# Where the columns of floats begin.
(
    # Time of the segment: start, end, step to try, 1 when something changed [s, s, s, -].
    TIME,
    # Vessels [m3, m3/s], as at the ends of the segment.
    VOLUME,
    VOLUME_END,
    RATE,
    RATE_END,
    TRIED,
    RATE_HALF,
    RATE_LATE,
    LOW,  # least so far
    HIGH,  # greatest so far
    LOOSENESS,  # part of the allowed error of a step that it may make
    # Ledger [m3/s, m3].
    FLOW,
    FLOW_END,
    FLOW_HALF,
    FLOW_LATE,
    THROUGH,  # so far
    GAIN,  # of the segment
    BACK,  # so far, against the row's direction
    # Heads [m].
    HEAD,
    HEAD_END,
    # Tanks.
    CAPACITY,  # [m3]
    TALL,  # [m]
    MARK_VOLUME,  # [m3]
    CELL_DEPTH,  # [m]
    CELL_VOLUME,  # [m3]
    CELL_LINEAR,
    CELL_SQUARE,
    CELL_CUBE,
    BASE,  # [m]
    UPRIGHT_SHARE,
    AHEAD,  # [m/m]
    ACROSS,  # [m/m]
    POUR,  # [m3/s]
    # Accumulators.
    CUSHION_VOLUME,  # [m3]
    CUSHION_PRECHARGE,  # [m], absolute
    # Pumps.
    CUT_IN,  # [m]
    CUT_OUT,  # [m]
    PUMP_DRAWS,  # [A]
    PUMP_FREE,  # [m3/s]
    RESTS_UNTIL,  # [s]
    TURNED,  # [s]
    DRIED,  # [s]
    SPEED,
    SUCTION,  # [m3]
    AIR,  # in the suction at the time since [m3]
    AIR_SINCE,  # [s]
    AIR_PACE,  # at which it is drawn out [m3/s]
    DRY_SINCE,  # [s]
    DRY_LIMIT,  # [s], infinite when none is known
    # Valves.
    LEAST_VOLTAGE,  # [V]
    CHARGE_TIME,  # [s]
    VALVE_DRAWS,  # [A]
    STROKE,  # [s]
    OPENING,  # at the time since
    SINCE,  # [s]
    TURN,  # [1/s]
    ARRIVES,  # [s]
    FULL_AT,  # [s]
    SLOW,
    SEEP,
    # Fixtures, ports, links, nodes.
    TAP,  # 0..1
    BURST,  # 0..1
    PRESSURE,  # [m]
    PRESSURE_INSTEAD,  # [m], -1 none
    CLEAR,  # by link
    LEAK,  # by link
    THROTTLE,  # opening of each
    ELEVATION,  # [m], by stand and node
    START_SILL,  # [m], by stand and link
    END_SILL,  # [m]
    CREST,  # [m], by stand and link
    WIDTH,  # of a wrong hose over the right one, by port
    WIDTH_LAID,  # the same as it is laid now
    # The whole: metre of water [Pa], atmosphere [m], allowed error of a step [m3].
    WHOLE,
    # Supply: voltage now, full [V], resistance [ohm], charge now, full [C], current [A], brown-out [V].
    SUPPLY,
    # Faults and happenings.
    FAULT_AMOUNT,
    HAPPENING_AMOUNT,
    # Sources.
    ZERO,  # [m]
    SPAN,  # [m]
    PLACE_X,  # [m]
    PLACE_Y,  # [m]
    OFFSET,
    GAIN_ERROR,
    LAG,  # part of the way that a reading goes towards the truth
    NOISE,
    RESOLUTION,
    LEAST_READ,
    LAGGED,  # -1 before the first
    OFFSET_FAULT,  # part of the span, by signal
    NOISE_FAULT,  # part of the span, by signal
    # Boards.
    BOARD_LOSS,
    # Slosh by tank: half length [m], angular speed [1/s], when the flow into it last changed and until
    # when the rig moved [s].
    SLOSH_REACH,
    SLOSH_SPEED,
    STIRRED,
    MOVED_UNTIL,
) = range(136, 231)

HEAD_SIZE = 231
"""Length of the head of ``n``."""

_PLACES = {name: place for name, place in globals().items() if name.isupper() and name != "HEAD_SIZE"}
_COUNTS = [name.lower() for name, place in _PLACES.items() if place <= HAPPENINGS]
_INTEGERS = [name.lower() for name, place in _PLACES.items() if HAPPENINGS < place < TIME]
_REALS = [name.lower() for name, place in _PLACES.items() if place >= TIME]


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
        How many rows there are, and every column, by its name here in small letters.

    Returns
    -------
    n : list of int
    r : list of float
    """
    assert set(counts) == set(_COUNTS), set(counts) ^ set(_COUNTS)
    assert set(integers) == set(_INTEGERS), set(integers) ^ set(_INTEGERS)
    assert set(reals) == set(_REALS), set(reals) ^ set(_REALS)
    n = [counts[name] for name in _COUNTS] + [0] * (HEAD_SIZE - len(_COUNTS))
    r: list[float] = []
    for place, name in enumerate(_INTEGERS, len(_COUNTS)):
        n[place] = len(n)
        n += integers[name]
    for place, name in enumerate(_REALS, TIME):
        n[place] = len(r)
        r += reals[name]
    return n, r


def column(n: Integers, r: Reals, place: int, length: int) -> list[float]:
    """One column as a list, for people and tests."""
    source: Sequence[float] = n if place < TIME else r
    return list(source[n[place] : n[place] + length])
