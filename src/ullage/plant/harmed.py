"""What faults do to the finite plant: parts by what becomes of them, flows that change, what is poured."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from math import ceil

from ullage.control.program import Program
from ullage.plant import faults as f
from ullage.plant.corners import Reach
from ullage.plant.faults import Fault
from ullage.plant.works import with_burst
from ullage.rig.model import Rig

ML = 1e6
"""Millilitres in a cubic metre."""

_LIES = range(f.SENDER_STUCK, f.METER_JAMMED + 1)
_HANGS = (f.FLOAT_STUCK_WET, f.FLOAT_STUCK_DRY, f.FLOAT_WIRE_BROKEN)
_WILFUL = (f.VALVES_CROSSED, f.VALVE_RELAY_WELDED, f.PUMP_RELAY_WELDED)
_STARTS = (f.CONTROLLER_RESTARTED, f.SUPERVISOR_GONE)
"""A supervisor that comes back starts anew."""

_POWER = (f.POWER_LOST, f.POWER_CUT_TWICE, f.BROWN_OUT)


@dataclass(frozen=True, slots=True)
class Harms:
    """What faults do to the finite plant.

    Attributes
    ----------
    lies : set of str
        Senders, floats and meters that read anything.
    wet, dry : set of str
        Floats that may read wet, or dry, wherever the water is.
    bridged : set of str
        Floats in series with a pump that may leave it its supply wherever the water is.
    freezes, wills, seeps : set of str
        Gates that may stay where they are, that go where they like, that pass a little when shut.
    slows : dict of str to float
        Gates that may take so many times their stroke.
    reaches : tuple of Reach
        What the flows must cover besides health.
    pours : dict of str to int
        What may be poured into a tank, once [mL].
    restarts : bool
        Whether the law may start anew at any time.
    """

    lies: frozenset[str] = frozenset()
    wet: frozenset[str] = frozenset()
    dry: frozenset[str] = frozenset()
    bridged: frozenset[str] = frozenset()
    freezes: frozenset[str] = frozenset()
    wills: frozenset[str] = frozenset()
    seeps: frozenset[str] = frozenset()
    slows: dict[str, float] = field(default_factory=dict)
    reaches: tuple[Reach, ...] = ()
    pours: dict[str, int] = field(default_factory=dict)
    restarts: bool = False

    @property
    def gates(self) -> frozenset[str]:
        """Gates that do not work as they should."""
        return self.freezes | self.wills | self.seeps | frozenset(self.slows)


NO_HARMS = Harms()
"""Health."""


def harms_of(rig: Rig, program: Program, faults: Iterable[Fault]) -> Harms:
    """What faults do at worst, all of them at once or any of them.

    Two valves that are wired to each other's outputs do as they like, unless everybody always asks
    the same of both: then nothing changes. A jammed meter, a pump that fails or whose switch fails,
    an outfall that is blocked and a link that is lost or late add nothing to what the finite plant does
    in health.
    """
    harms = Harms()
    for fault in faults:
        parts = {part for part in (fault.part, fault.other) if part}
        if fault.kind in _HANGS:
            harms = _hung(rig, fault, harms)
        elif fault.kind == f.SENDER_DEAD:
            continue
        elif fault.kind in _LIES:
            harms = replace(harms, lies=harms.lies | parts)
        elif fault.kind == f.VALVE_STUCK:
            harms = replace(harms, freezes=harms.freezes | parts)
        elif fault.kind == f.VALVE_SLOW:
            harms = replace(harms, slows={**harms.slows, fault.part: max(fault.amount, 1.0)})
        elif fault.kind == f.VALVES_CROSSED and asked_alike(program, fault.part, fault.other):
            continue
        elif fault.kind in _WILFUL:
            harms = replace(harms, wills=harms.wills | parts)
        elif fault.kind == f.VALVE_SEEPING:
            harms = replace(harms, seeps=harms.seeps | parts)
        elif fault.kind in _POWER:
            stays = {name for name, valve in rig.valves.items() if valve.motor and valve.motor.without_power in _STAYS}
            harms = replace(harms, freezes=harms.freezes | stays, restarts=True)
        elif fault.kind in _STARTS:
            harms = replace(harms, restarts=True)
        elif fault.kind == f.JERRYCAN:
            poured = harms.pours.get(fault.part, 0) + ceil(fault.amount * ML)
            harms = replace(harms, pours={**harms.pours, fault.part: poured})
        elif (reach := reach_of(rig, fault)) is not None:
            harms = replace(harms, reaches=(*harms.reaches, reach, *(_both(one, reach) for one in harms.reaches)))
    return harms


def _hung(rig: Rig, fault: Fault, harms: Harms) -> Harms:
    """With a float that hangs, or whose wire is broken: in series with a pump that cuts its supply."""
    broken, parts = fault.kind == f.FLOAT_WIRE_BROKEN, frozenset({fault.part})
    wet = rig.floats[fault.part].broken_reads == "full" if broken else fault.kind == f.FLOAT_STUCK_WET
    coils = [pump.wired for pump in rig.pumps.values() if pump.wired and pump.wired.switch == fault.part]
    made = not broken and any(coil.made == ("wet" if wet else "dry") for coil in coils)
    return replace(
        harms,
        wet=harms.wet | parts if wet else harms.wet,
        dry=harms.dry if wet else harms.dry | parts,
        bridged=harms.bridged | parts if made else harms.bridged,
    )


def asked_alike(program: Program, one: str, other: str) -> bool:
    """Whether every sequence and interlock always asks the same of two outputs, and their leases run alike."""
    t, rows = program.tables, (program.output(one), program.output(other))
    asked: list[list[tuple[int, ...]]] = [[], []]
    for a, output in enumerate(t.action_output):
        if output in rows:
            own = range(t.association_first[a], t.association_first[a + 1])
            steps = [(t.association_step[k], t.association_qualifier[k], t.association_ms[k]) for k in own]
            asked[rows.index(output)].append((t.action_sequence[a], t.action_value[a], *sum(sorted(steps), ())))
    for i in range(len(t.interlock_guard)):
        for k in range(t.drive_first[i], t.drive_first[i + 1]):
            if t.drive_output[k] in rows:
                asked[rows.index(t.drive_output[k])].append((-1, i, t.drive_value[k]))
    columns = (t.output_safe, t.output_safe_after_ms, t.output_lease_ms, t.output_on_lapse)
    kept = [tuple(column[row] for column in columns) for row in rows]
    return sorted(asked[0]) == sorted(asked[1]) and kept[0] == kept[1]


_STAYS = (None, "stays", "stored charge closed")
"""What may leave a valve where it is: a charge may be spent when it is needed a second time."""


def reach_of(rig: Rig, fault: Fault) -> Reach | None:
    """What the flows must cover beyond health, None where the fault changes none."""
    of = frozenset({fault.part})
    match fault.kind:
        case f.REGULATOR_FAILED | f.OUTFALL_BACK_PRESSURE:
            return Reach(of, pressures={fault.part: fault.amount})
        case f.PUMP_LEAKING_BACK | f.CHECK_LEAKING:
            return Reach(of, leaks={fault.part: fault.amount})
        case f.WRONG_HOSE:
            return Reach(of, rig=_with_hose(rig, fault.part, fault.amount))
        case f.HOSE_BURST:
            return Reach(of, rig=with_burst(rig, fault.part))
        case f.VENT_BLOCKED:
            # A tank breathes by its overflow too, while that is not under water: what blocks one blocks both.
            return Reach(of, narrowed={(way, fault.part): fault.amount for way in ("vent", "spill")})
        case _:
            return None


def _both(one: Reach, other: Reach) -> Reach:
    """Two reaches at once; of two changed rigs the later one."""
    return Reach(
        one.of | other.of,
        other.rig or one.rig,
        {**one.pressures, **other.pressures},
        {**one.leaks, **other.leaks},
        {**one.narrowed, **other.narrowed},
    )


def _with_hose(rig: Rig, port: str, ratio: float) -> Rig:
    """The rig with a hose of another width at a supply."""
    for line in rig.lines:
        pipes = [part for part in line.through if part in rig.pipes]
        if line.start == port and pipes:
            hose = rig.pipes[pipes[0]]
            changed = hose.model_copy(update={"bore": hose.bore * ratio})
            return rig.model_copy(update={"pipes": {**rig.pipes, pipes[0]: changed}})
    return rig
