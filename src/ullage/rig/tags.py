"""Tags of instruments, valves and lamps after ANSI/ISA-5.1-2009, table 4.1.

A tag is letters and a loop number: ``LT-101`` is the level transmitter of loop 101. Loops
are numbered by tank (101, 102, ... in the order of the file); what belongs to no tank has
loop numbers from 201, one for each part.
"""

from __future__ import annotations

from collections.abc import Iterator

from ullage.rig.model import Rig
from ullage.rig.shapes import height

FIRST_TANK_LOOP = 101
FIRST_OTHER_LOOP = 201

LETTERS = {
    "sender": "LT",
    "float high": "LSH",
    "float low": "LSL",
    "meter": "FQT",
    "current": "IT",
    "pressure": "PT",
    "voltage": "ET",
    "motor valve": "XV",
    "hand valve": "HV",
    "closed_end": "ZSC",
    "open_end": "ZSO",
    "pump": "XZ",
    "lamp": "XL",
}
"""First and succeeding letters by what the part is: L level, F flow (Q totalised), I current,
P pressure, E voltage, X unclassified (an on-off valve, a pump's drive, a lamp), H hand, Z
position; T transmit, S switch (H high, L low, C closed, O open), V valve, Z driver, L light."""

ENDS = {
    "none": (),
    "closed_end": ("closed_end",),
    "open_end": ("open_end",),
    "both_ends": ("closed_end", "open_end"),
}
"""The end switches that a motor valve has, by its feedback."""


def tags(rig: Rig) -> dict[str, str]:
    """The tag of every sensed or driven part by its name, in the order of the file.

    Ends of valves have the name ``valve.closed_end`` and ``valve.open_end``. Where two parts
    would have one tag, letters A, B, ... follow the number, as in ISA-5.1.
    """
    plain = list(_plain(rig))
    shared = [tag for _, tag in plain]
    seen: dict[str, int] = {}
    out: dict[str, str] = {}
    for name, tag in plain:
        if shared.count(tag) > 1:
            seen[tag] = seen.get(tag, 0) + 1
            tag += chr(ord("A") + seen[tag] - 1)
        out[name] = tag
    return out


def _plain(rig: Rig) -> Iterator[tuple[str, str]]:
    loops = {tank: FIRST_TANK_LOOP + i for i, tank in enumerate(rig.tanks)}
    for name, sender in rig.senders.items():
        yield name, f"{LETTERS['sender']}-{loops[sender.on]}"
    for name, switch in rig.floats.items():
        high = switch.at > height(rig.tanks[switch.on].shape) / 2
        yield name, f"{LETTERS['float high' if high else 'float low']}-{loops[switch.on]}"
    loop = FIRST_OTHER_LOOP
    for name, letters in _others(rig):
        yield name, f"{letters}-{loop}"
        motor = rig.valves[name].motor if name in rig.valves else None
        yield from ((f"{name}.{end}", f"{LETTERS[end]}-{loop}") for end in ENDS[motor.feedback if motor else "none"])
        loop += 1


def _others(rig: Rig) -> Iterator[tuple[str, str]]:
    yield from ((name, LETTERS["meter"]) for name in rig.meters)
    yield from ((name, LETTERS[probe.measures]) for name, probe in rig.probes.items())
    for name, valve in rig.valves.items():
        yield name, LETTERS["motor valve" if valve.motor else "hand valve"]
    yield from ((name, LETTERS["pump"]) for name in rig.pumps)
    yield from ((name, LETTERS["lamp"]) for name in rig.lamps)
