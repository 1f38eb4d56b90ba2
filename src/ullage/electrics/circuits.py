"""The circuits of a rig: from the battery over a board to each part, and what is left of the voltage there.

A board holds the relays of what it drives, so that their current comes through the board's own
wire. What a board's wire carries at most is all of it at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ullage.electrics.conductors import resistance
from ullage.rig.model import Rig
from ullage.rig.supply import Load, Wire

SYSTEMS = (12.0, 24.0, 36.0, 48.0)
"""Nominal voltages of batteries [V]."""


@dataclass(frozen=True, slots=True)
class Circuit:
    """What one part draws, and over which wires.

    Attributes
    ----------
    name : str
    field : str
        Where it stands in the rig file, such as ``pumps.water_pump``.
    board : str or None
        The board that drives it; None: none, or it is a board.
    running : float
        Current through its wire in use [A]; of a board with all that it drives at once.
    starting : float or None
        Current at the start [A]. None: not stated.
    own : float or None
        Current of the part alone [A].
    least_voltage : float or None
        What it needs [V].
    wire : Wire or None
        Its own wire.
    daily : float or None
        For how long it draws each day [s].
    """

    name: str
    field: str
    board: str | None
    running: float
    starting: float | None
    own: float | None
    least_voltage: float | None
    wire: Wire | None
    daily: float | None


def nominal(voltage: float) -> float:
    """Nominal voltage of a system whose rested battery has so much [V].

    The greatest of 12, 24, 36 and 48 V that is no more; below 12 V the voltage itself. 12.8 V: 12 V; 26.4 V: 24 V.
    """
    return max((system for system in SYSTEMS if system <= voltage), default=voltage)


def current_of(load: Load, voltage: float) -> float:
    """Current of a load [A], from its power where that is stated, at the nominal voltage [V]. 60 W at 12 V: 5 A."""
    if load.draws is not None:
        return load.draws
    assert load.power is not None, "a check refuses a load that states neither (B701)"
    return load.power / voltage


def circuits_of(rig: Rig) -> tuple[Circuit, ...]:
    """All circuits of a rig: boards first, then pumps, motor valves and loads."""
    behind = tuple(_parts(rig))
    return (*(_board(rig, name, behind) for name in rig.boards), *behind)


def _parts(rig: Rig) -> Iterator[Circuit]:
    """The circuits of all that is no board."""
    motors = {name: (valve, valve.motor) for name, valve in rig.valves.items() if valve.motor is not None}
    for name, pump in rig.pumps.items():
        field, draws = f"pumps.{name}", pump.draws
        yield Circuit(name, field, pump.board, draws, pump.inrush, draws, pump.least_voltage, pump.wire, pump.daily)
    for name, (valve, motor) in motors.items():
        field, draws = f"valves.{name}.motor", motor.draws
        yield Circuit(name, field, valve.board, draws, draws, draws, motor.least_voltage, motor.wire, motor.daily)
    for name, load in rig.loads.items():
        field, draws = f"loads.{name}", current_of(load, nominal(rig.power.voltage))
        first = draws if load.inrush is None else load.inrush
        yield Circuit(name, field, load.board, draws, first, draws, load.least_voltage, load.wire, load.daily)


def _board(rig: Rig, name: str, behind: tuple[Circuit, ...]) -> Circuit:
    """The circuit of a board: what it draws itself, and all that it drives at once."""
    board = rig.boards[name]
    running = sum(part.running for part in behind if part.board == name) + (board.draws or 0.0)
    return Circuit(name, f"boards.{name}", None, running, running, board.draws, None, board.wire, 86400.0)


def wire_resistance(wire: Wire) -> float:
    """Resistance of a pair of wires, warm, there and back [ohm]. 5 m of 2.5 mm2 at 50 degC: 0.0771 ohm."""
    return resistance(2.0 * wire.length, wire.size)


def guard_of(circuit: Circuit, board: Circuit | None) -> float | None:
    """Rating of the fuse that guards a part's wire [A]: its own, else that of its board; None: none is stated."""
    if circuit.wire is not None and circuit.wire.fuse is not None:
        return circuit.wire.fuse
    return board.wire.fuse if board is not None and board.wire is not None else None


def feed_drop(circuit: Circuit, board: Circuit | None) -> float | None:
    """Voltage lost before a part's own wire, in that of its board when all it drives runs [V]; None: not known."""
    if board is None:
        return 0.0
    if board.wire is None:
        return None
    return board.running * wire_resistance(board.wire)


def start_voltage(rig: Rig, circuit: Circuit, board: Circuit | None) -> float | None:
    """Voltage that a part has at the moment of starting, at the battery's least voltage [V]; None: not known.

    ``power.least`` is what the boards and fuses have then, so that only the part's wire and its
    board's take from it. Of the others on the board nobody starts at the same moment, and all run.
    """
    current = circuit.starting if circuit.starting is not None else circuit.running
    if circuit.wire is None:
        return None
    before = feed_drop(circuit, board)
    if before is None:
        return None
    if board is not None and board.wire is not None:
        before += (current - circuit.running) * wire_resistance(board.wire)
    return rig.power.least - before - current * wire_resistance(circuit.wire)
