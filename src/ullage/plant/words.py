"""Kinds of record that the plant and the operator write, numbered on from the law's.

Beside each kind stands what its three numbers mean. Times are whole milliseconds; the
continuous events of the plant are noted at the first whole millisecond after them.
"""

from __future__ import annotations

from ullage.control.codes import LAW_RECORDS, RECORD_KINDS

(
    P_SWITCH,  # pump, 1 contacts closed / 0 open, gauge pressure [Pa]
    P_UNCOVERED,  # link, 1 its opening stands dry / 0 is under water, tank
    P_OVERFLOW,  # tank, 1 water begins to leave / 0 has stopped, millilitres so far
    P_BRIM,  # tank, 1 full to the brim, 0
    P_TANK_EMPTY,  # tank, 1 empty, 0
    P_CUSHION,  # accumulator, 0 emptied of water / 1 takes water again, 0
    P_VALVE,  # valve, 0 at closed / 1 at open / 2 stopped midway / 3 sets out, opening [per mille]
    P_PUMP,  # pump, 1 turns / 0 stands, 0
    P_DRY,  # pump, 1 runs dry / 0 no longer, milliseconds so far
    P_TAP,  # fixture, opening [per mille], 0
    P_HOSE,  # port, 1 connected / 0 not, gauge pressure [Pa]
    P_FAULT,  # row of the run's faults, 1 begins / 0 ends, kind
    P_LAPSE,  # output, 1 its lease lapsed / 0 it is driven again, to what (`NO_SUPPLY`: nothing)
    P_POWER,  # 0, 1 on / 0 off, supply [mV]
    P_CONTROLLER,  # 0, 1 starts / 0 is gone, 0
    P_ATTITUDE,  # 0, attitude, 0
    P_COMMAND,  # sequence, command that a person gives, 0
    P_STAND,  # stand of the rig, 1, 0
    P_MOVING,  # 0, 1 the rig moves / 0 stands, 0
    P_INDOORS,  # tank, 1 water begins to run indoors / 0 has stopped, millilitres so far
    P_MOMENT,  # tank, millilitres it holds, number of the moment
    P_PRIME,  # link, 1 stands full over its crest / 0 holds air, 0
    P_HARMED,  # pump, 1 has run dry for too long, milliseconds on end
    P_FLOAT,  # float in series with a coil, 1 rises / 0 falls, 0
) = range(LAW_RECORDS, LAW_RECORDS + 24)

KINDS = (
    *RECORD_KINDS,
    "pressure switch",
    "opening uncovered",
    "overflow",
    "brimful",
    "tank empty",
    "accumulator",
    "valve moves",
    "pump turns",
    "pump dry",
    "tap",
    "hose",
    "fault",
    "lease lapsed",
    "power",
    "controller",
    "attitude",
    "person commands",
    "stand",
    "moving",
    "water indoors",
    "moment",
    "prime",
    "pump harmed",
    "wired float",
)
"""Words for every kind of record, the law's first."""

assert len(KINDS) == LAW_RECORDS + 24
