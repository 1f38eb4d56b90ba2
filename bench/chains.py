"""Rigs that grow: a chain of tanks, each filled from the one before by a pump through a valve, written as rig files."""

from __future__ import annotations

DRY = """
  low_{k}:
    when: level_{before} < 7 %
    until: level_{before} > 9 %
    drive: {{pump_{k}: off}}
    why: A pump that sucks air wears out."""

HEAD = """
rig: Chain of {count}
about: A made-up chain of tanks, each filled from the one before it, to see how the time of a proof grows.
scan: 500 ms
slope: {{ahead: 2 deg, across: 2 deg}}
water: 4 degC .. 25 degC
power: {{voltage: 12.8 V, capacity: 200 Ah, resistance: 20 mohm, least: 10.8 V}}
boards:
  board: {{link: wired}}
ports:
  shore: {{kind: supply, at: {{x: 0 m, y: 1 m, z: 1 m}}, pressure: 0.5 bar .. 3 bar, usual: 2 bar}}
restrictors:
  shore_restrictor: {{kv: 0.36 m3/h}}
"""

PARTS = {
    "tanks": """
  tank_{k}:
    holds: potable
    shape: {{box: {{length: 800 mm, width: 500 mm, height: 300 mm}}}}
    floor_at: {{x: {k} m, y: 0 m, z: 0.4 m}}
    openings: {{top: {{at: 290 mm}}{low}}}
    vent: {{bore: 25 mm, length: 0.5 m}}
    overflow: {{bore: 40 mm, at: 270 mm}}
    starts_with: 20 %""",
    "pipes": """
  pipe_{k}: {{bore: 13 mm, length: 2 m, fittings: 3}}""",
    "valves": """
  valve_{k}:
    kind: ball
    kv: 4 m3/h
    motor: {{stroke: 3 s .. 6 s, feedback: closed_end, without_power: spring closed, draws: 0.5 A}}
    board: board
    lease: 3 s
    on_lapse: closed""",
    "pumps": """
  pump_{k}:
    curve: [{{flow: 0 L/min, pressure: 2 bar}}, {{flow: 6 L/min, pressure: 1 bar}}, {{flow: 9 L/min, pressure: 0 bar}}]
    switch: {{cut_in: 0.9 bar, cut_out: 1.7 bar}}
    draws: 4 A
    self_priming: true
    dry_run_limit: 3 min
    board: board
    lease: 3 s
    on_lapse: off""",
    "senders": """
  level_{k}: {{on: tank_{k}, error: 2 %, every: 2 s, resolution: 0.5 %, noise: 0.3 %, stale: 6 s, board: board}}""",
    "floats": """
  float_{k}: {{on: tank_{k}, at: 262 mm, every: 0.5 s, stale: 3 s, broken_reads: full, board: board}}""",
    "sequences": """
  fill_{k}:
    permit: (level_{k} < 78 %) and (not float_{k})
    steps:
      ready: initial
      filling: {{demand: {{{open}}}}}
      closing: {{demand: {{{shut}}}}}
      filled: {{final: true}}
    transitions:
      - ready -> filling
      - filling -> closing when (level_{k} >= 80 %) or (float_{k} held 1 s) or (since step 30 min)
      - closing -> filled when valve_{k} is closed""",
    "interlocks": """
  high_{k}:
    when: float_{k} or (level_{k} > 90 %)
    drive: {{{shut}}}
    latch: true
    why: Above this only the overflow is left.{dry}""",
    "never": """
  - tank_{k} reaches its overflow""",
}


def chain(count: int) -> str:
    """The text of a rig of so many tanks."""
    numbers = range(1, count + 1)
    text = HEAD.format(count=count)
    for field, part in PARTS.items():
        own = [k for k in numbers if field != "pumps" or k > 1]
        if own:
            text += f"{field}:" + "".join(_part(part, k, last=k == count) for k in own) + "\n"
    lines = [_line(k) for k in numbers]
    return text + "lines:\n" + "\n".join(lines) + "\n"


def _part(part: str, k: int, last: bool) -> str:
    low = "" if last else ", low: {at: 5 mm}"
    dry = DRY.format(k=k, before=k - 1) if k > 1 else ""
    return part.format(k=k, low=low, dry=dry, open=_ask(k, "open", "on"), shut=_ask(k, "closed", "off"))


def _ask(k: int, way: str, turn: str) -> str:
    return f"valve_{k}: {way}" + (f", pump_{k}: {turn}" if k > 1 else "")


def _line(k: int) -> str:
    if k == 1:
        return "  - {from: shore, through: [shore_restrictor, valve_1, pipe_1], to: tank_1.top}"
    return f"  - {{from: tank_{k - 1}.low, through: [pump_{k}, valve_{k}, pipe_{k}], to: tank_{k}.top}}"
