"""A desk to try small programs on: one rig with lamps and floats, sequences as given, scan by scan."""

from __future__ import annotations

from ullage.control import codes
from ullage.control.compile import compile_rig
from ullage.control.program import Image, Program, State, initial_state
from ullage.control.record import Record
from ullage.control.step import scan
from ullage.rig.law import read_law
from ullage.rig.read import read_rig

HEAD = """
rig: Desk
scan: 500 ms
boards: {board: {link: wired}}
tanks:
  tank:
    holds: potable
    shape: {box: {length: 1 m, width: 500 mm, height: 200 mm}}
    floor_at: {z: 1 m}
    openings: {top: {at: 190 mm}, low: {at: 5 mm}}
    vent: {bore: 16 mm, length: 1 m}
    overflow: {bore: 38 mm, at: 200 mm}
ports: {shore: {kind: supply, pressure: 1 bar .. 2 bar, usual: 1 bar}, outfall: {kind: discharge, air_gap: true}}
valves:
  inlet:
    kind: ball
    kv: 2 m3/h
    motor: {stroke: 1 s .. 2 s, feedback: FEEDBACK, without_power: spring closed}
    board: board
    safe_after: 1 s
    lease: 3 s
    on_lapse: closed
  outlet:
    kind: ball
    kv: 2 m3/h
    motor: {stroke: 1 s .. 2 s, feedback: none, without_power: spring closed}
    board: board
    lease: 3 s
    on_lapse: closed
lines:
  - {from: shore, through: [inlet], to: tank.top}
  - {from: tank.low, through: [outlet], to: outfall}
senders: {level: {on: tank, error: 2 %, every: 1 s, stale: 3 s, board: board}}
floats:
  a: {on: tank, at: 50 mm, stale: 3 s, board: board}
  b: {on: tank, at: 100 mm, stale: 3 s, board: board}
  c: {on: tank, at: 150 mm, stale: 3 s, board: board}
lamps:
  red: {colours: [dark, lit], board: board}
  blue: {colours: [dark, lit], board: board}
handset:
  stale: 5 s
  gestures:
    - {attitude: upright, dwell: 1 s, does: start GESTURE}
    - {attitude: flat, dwell: 1 s, does: stop all}
"""


class Desk:
    """A program and its state; signals are good and false until told otherwise."""

    def __init__(self, body: str, feedback: str = "none", gesture: str = "run") -> None:
        text = HEAD.replace("FEEDBACK", feedback).replace("GESTURE", gesture) + body
        rig, findings, places = read_rig(text, "desk.yaml")
        assert rig is not None, findings
        law, unresolved = read_law(rig, places)
        assert not unresolved, unresolved
        program, too_large = compile_rig(rig, law)
        assert program is not None, too_large
        self.program: Program = program
        self.state: State = initial_state(program)
        self.now_ms = 0
        self.records: list[Record] = []
        signals = [signal.name for signal in program.names.signals]
        self.raw = dict.fromkeys(signals, 0)
        self.raw["handset.attitude"] = codes.DOCKED
        self.age = dict.fromkeys(signals, 0)
        self.bad = dict.fromkeys(signals, 0)
        self.wish = list(program.tables.parameter_default)
        self.scans(1)

    def scan(self, command: str = "none", of: str = "run", reset: str = "", **raw: int) -> tuple[Record, ...]:
        """One scan, half a second after the one before; ``raw`` sets signals for good."""
        for name, value in raw.items():
            self.raw[name.replace("__", ".")] = value
        names = self.program.names
        image = Image(
            raw=tuple(self.raw.values()),
            age_ms=tuple(self.age.values()),
            bad=tuple(self.bad.values()),
            command=tuple(codes.COMMANDS.index(command) if name == of else 0 for name in names.sequences),
            reset=tuple(int(name == reset) for name in names.interlocks),
            parameter=tuple(self.wish),
        )
        self.state, _, records = scan(self.program, self.state, image, self.now_ms)
        self.now_ms += self.program.scan_ms
        self.records += records
        return records

    def scans(self, count: int) -> None:
        """So many scans in which nothing new is seen."""
        for _ in range(count):
            self.scan()

    def start(self, of: str = "run") -> None:
        """Start a sequence; it must be accepted."""
        self.scan("start", of)
        assert self.doing(of) == "running"

    def doing(self, sequence: str = "run") -> str:
        """Procedural state of a sequence."""
        return codes.STATES[self.state.sequence[self.program.sequence(sequence)]]

    def active(self, sequence: str = "run") -> set[str]:
        """Active steps of a sequence."""
        steps = zip(self.program.names.steps, self.state.active, strict=True)
        return {name.partition(".")[2] for name, on in steps if on and name.startswith(f"{sequence}.")}

    def demand(self, output: str) -> str:
        """What an output is asked to do."""
        o = self.program.output(output)
        return self.program.names.output_values[o][self.state.demand[o]]

    def position(self, valve: str) -> str:
        """Where the law takes a valve to be."""
        return codes.POSITIONS[self.state.at[self.program.names.valves.index(valve)]]

    def lit(self, scans: int, lamp: str = "red") -> str:
        """A lamp over so many scans, as ``.`` dark and ``#`` lit; the present scan comes first."""
        seen = ""
        for _ in range(scans):
            seen += "#" if self.demand(lamp) == "lit" else "."
            self.scan()
        return seen
