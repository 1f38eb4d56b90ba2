"""Rigs that grow: a chain of tanks, each filled from the higher one before it through a valve, written as rig files."""

from __future__ import annotations

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
  shore: {{kind: supply, at: {{x: 0 m, y: 1 m, z: 4 m}}, pressure: 0.5 bar .. 3 bar, usual: 2 bar}}
restrictors:
  shore_restrictor: {{kv: 0.36 m3/h}}
"""

PARTS = {
    "tanks": """
  tank_{k}:
    holds: potable
    shape: {{box: {{length: 800 mm, width: 500 mm, height: 300 mm}}}}
    floor_at: {{x: {k} m, y: 0 m, z: {z:.1f} m}}
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
    "senders": """
  level_{k}: {{on: tank_{k}, error: 2 %, every: 2 s, resolution: 0.5 %, noise: 0.3 %, stale: 6 s, board: board}}""",
    "floats": """
  float_{k}: {{on: tank_{k}, at: 262 mm, every: 0.5 s, stale: 3 s, broken_reads: full, board: board}}""",
    "sequences": """
  fill_{k}:
    permit: (level_{k} < 78 %) and (not float_{k})
    steps:
      ready: initial
      filling: {{demand: {{valve_{k}: open}}}}
      closing: {{demand: {{valve_{k}: closed}}}}
      filled: {{final: true}}
    transitions:
      - ready -> filling
      - filling -> closing when (level_{k} >= 80 %) or (float_{k} held 1 s) or (since step 30 min)
      - closing -> filled when valve_{k} is closed""",
    "interlocks": """
  high_{k}:
    when: float_{k} or (level_{k} > 90 %)
    drive: {{valve_{k}: closed}}
    latch: true
    why: Above this only the overflow is left.""",
    "never": """
  - tank_{k} reaches its overflow""",
}


def chain(count: int) -> str:
    """The text of a rig of so many tanks."""
    numbers = range(1, count + 1)
    text = HEAD.format(count=count)
    for field, part in PARTS.items():
        text += f"{field}:" + "".join(_part(part, k, count) for k in numbers) + "\n"
    return text + "lines:\n" + "\n".join(map(_line, numbers)) + "\n"


def _part(part: str, k: int, count: int) -> str:
    low = "" if k == count else ", low: {at: 5 mm}"
    return part.format(k=k, low=low, z=0.4 + 0.6 * (count - k))


def _line(k: int) -> str:
    if k == 1:
        return "  - {from: shore, through: [shore_restrictor, valve_1, pipe_1], to: tank_1.top}"
    return f"  - {{from: tank_{k - 1}.low, through: [valve_{k}, pipe_{k}], to: tank_{k}.top}}"
