"""The integer codes of the law and the words for them.

Kernels know integers only; each group below is a run of codes and the tuple of words that
belongs to it (``WORDS[code]``). Procedural states and commands are those of ISA-88
(IEC 61512-1, example state table), qualifiers those of IEC 61131-3.
"""

from __future__ import annotations

from ullage.rig import procedures

# Truth: Kleene's three values, ordered so that AND is the least and OR the greatest.
FALSE, UNKNOWN, TRUE = 0, 1, 2
TRUTHS = ("false", "unknown", "true")

# Quality of a signal.
GOOD, STALE, BAD, NEVER = 0, 1, 2, 3
QUALITIES = ("good", "stale", "bad", "never seen")

# Counts of a level sender over its span: hundredths of a percent.
SPAN_COUNTS = 10_000

# What a signal is. Its values are mL, 0/1, mL/min, mA, Pa, mV, attitude code, 0/1.
LEVEL, SWITCH, FLOW, CURRENT, PRESSURE, VOLTAGE, ATTITUDE, LINK = range(8)
SIGNAL_KINDS = ("level", "switch", "flow", "current", "pressure", "voltage", "attitude", "link")

UPRIGHT, INVERTED, FLAT, DOCKED = range(4)
ATTITUDES = ("upright", "inverted", "flat", "docked")

# What an output is.
VALVE, PUMP, LAMP = range(3)
OUTPUT_KINDS = ("valve", "pump", "lamp")

# Demands on a valve and on a pump; a lamp's demand is the index of its colour.
CLOSED, OPEN = 0, 1
OFF, ON = 0, 1

# Where a valve is, as far as the law can know: confirmed by its ends or presumed after its lease and stroke.
TRAVELLING, AT_CLOSED, AT_OPEN, FAILED, NOT_KNOWN = range(5)
POSITIONS = ("travelling", "closed", "open", "failed", "not known")

# Procedural states (ISA-88).
(
    IDLE,
    RUNNING,
    COMPLETE,
    PAUSING,
    PAUSED,
    HOLDING,
    HELD,
    RESTARTING,
    STOPPING,
    STOPPED,
    ABORTING,
    ABORTED,
) = range(12)
STATES = (
    "idle",
    "running",
    "complete",
    "pausing",
    "paused",
    "holding",
    "held",
    "restarting",
    "stopping",
    "stopped",
    "aborting",
    "aborted",
)

# Commands (ISA-88), and the held touch of a person that confirms an armed start.
NO_COMMAND, START, HOLD, RESTART, STOP, ABORT, RESET, PAUSE, RESUME, CONFIRM = range(10)
COMMANDS = ("none", *procedures.COMMANDS)

# Action qualifiers (IEC 61131-3). P is accepted as a synonym of P1 only.
Q_N, Q_S, Q_R, Q_L, Q_D, Q_P1, Q_P0, Q_SD, Q_DS, Q_SL = range(10)
QUALIFIERS = ("N", "S", "R", "L", "D", "P1", "P0", "SD", "DS", "SL")

# Rows of the truth table.
(
    T_CONST,
    T_LINEAR,
    T_FLAG,
    T_DRIVEN,
    T_GOOD,
    T_STEP,
    T_SINCE,
    T_SEQUENCE,
    T_VALVE,
    T_ATTITUDE,
    T_HELD,
    T_NOT,
    T_AND,
    T_OR,
) = range(14)

# State of an interlock: clear; tripped by its condition; latched although its condition has gone.
CLEAR, TRIPPED, LATCHED = range(3)
TRIPS = ("clear", "tripped", "latched")

# Kinds of record that the law writes (row, value, detail as said beside each).
R_READY = 0  # 0, 1 when the first complete image is in
R_QUALITY = 1  # signal, quality, previous quality
R_COMMAND = 2  # sequence, command, reason (0 accepted)
R_STATE = 3  # sequence, state, cause
R_TRANSITION = 4  # transition, 1, sequence
R_STEP = 5  # step, 1 activated / 0 deactivated, sequence
R_INTERLOCK = 6  # interlock, trip state, truth of its condition
R_DEMAND = 7  # output, demand, previous demand
R_POSITION = 8  # valve, position, goal
R_ARMED = 9  # sequence, 1 armed / 0 lapsed, 0
R_WISH = 10  # parameter, wish that is out of its range, sequence
LAW_RECORDS = 11
"""Record kinds below this number are the law's; the plant and the simulator number on from here."""
RECORD_KINDS = (
    "ready",
    "quality",
    "command",
    "state",
    "transition",
    "step",
    "interlock",
    "demand",
    "position",
    "armed",
    "wish",
)

# Why a command was refused or a state was entered.
(
    BY_COMMAND,
    NOT_ACCEPTED,
    NOT_READY,
    NOT_PERMITTED,
    OUT_OF_RANGE,
    NEEDS_CONFIRMING,
    NOT_ARMED,
    SIGNAL_NOT_GOOD,
    STAY_NOT_TRUE,
    OVERRIDDEN,
    FINISHED,
    OUTPUTS_SAFE,
    BY_ITSELF,
    BY_GESTURE,
    FORGOTTEN,
    NOT_RELEASED,
) = range(16)
CAUSES = (
    "by command",
    "not accepted in this state",
    "no complete image yet",
    "not permitted",
    "a parameter is out of its range",
    "waits for a person to confirm",
    "nothing armed to confirm",
    "a needed signal is not good",
    "its condition to stay is not true",
    "an interlock overrides it",
    "final step reached",
    "outputs have reached safe positions",
    "by itself",
    "by gesture",
    "the controller is gone and forgets it",
    "waits for a person's reset",
)
