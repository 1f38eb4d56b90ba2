"""What is written beside each part: its name or its number, its tag, and in words what it is."""

from __future__ import annotations

from ullage.quantities import from_si
from ullage.report.drawing.sheet import Sheet
from ullage.report.drawing.symbols import part_symbol, without_power
from ullage.report.drawing.train import Slot, bubble_symbol
from ullage.report.quantity_words import System, figures, in_unit, quantity, unit_of
from ullage.rig.model import Line, Rig, Valve
from ullage.rig.names import IN_LINE, OUTDOORS, parts
from ullage.rig.tags import tags

DRIVEN = ("valves", "pumps", "heaters")
"""What of a line a small screen shows."""

METERED = (*DRIVEN, "meters")
"""What of a line a telephone shows to scale; all of it stands in its flow diagram."""

DRAWN = ("tanks", "ports", "points", *IN_LINE, "accumulators", "fixtures", "senders", "floats", "probes")
"""The groups whose parts stand in a drawing. Boards, lamps and the handset hold no water."""

KIND_WORDS = {
    "tanks": "tank", "ports": "port", "points": "point where lines meet", "pipes": "pipe", "restrictors": "restrictor",
    "checks": "check valve", "valves": "valve", "pumps": "pump", "accumulators": "accumulator", "heaters": "heater",
    "fixtures": "fixture", "senders": "level sender", "floats": "float", "meters": "flow meter", "probes": "probe",
}  # fmt: skip
"""What a part of a group is called."""


class Labels:
    """The lettering of a rig on a sheet.

    Attributes
    ----------
    shown : tuple of str
        The groups of which the parts in lines are drawn.
    tags : dict
        ISA-5.1 tags by name.
    numbers : dict
        Numbers of the key by name, on a sheet that has one.
    """

    def __init__(self, rig: Rig, sheet: Sheet, units: System, shown: tuple[str, ...]) -> None:
        self.rig, self.sheet, self.units, self.shown = rig, sheet, units, shown
        self.tags = tags(rig)
        self.kinds = {name: kind for kind, name, _ in parts(rig, *DRAWN)}
        inline = (name for line in rig.lines for name in line.through)
        sensed = (*rig.senders, *rig.floats, *rig.probes)
        counted = dict.fromkeys((*inline, *rig.points, *rig.accumulators, *sensed))
        self.numbers = {name: i for i, name in enumerate(counted, 1)} if sheet.letters == "numbers" else {}

    def label(self, name: str) -> tuple[tuple[str, float, str], ...]:
        """What stands beside a part (text, size, look)."""
        if self.sheet.letters == "none":
            return ()
        if name in self.numbers:
            return ((str(self.numbers[name]), self.sheet.small, "number"),)
        second = self._second(name)
        faint = "faint" if self.kinds[name] in ("pipes", "points") else "name"
        return ((name, self.sheet.name, faint), *(((second, self.sheet.small, "faint"),) if second else ()))

    def _second(self, name: str) -> str:
        kind = self.kinds[name]
        if kind == "fixtures":
            drain = self.rig.fixtures[name].drains_to
            return f"\u2192 {drain}" if drain != OUTDOORS and self.sheet.letters == "names" else ""
        if kind == "valves":
            return f"{self.tags[name]} {without_power(self.rig.valves[name])}".strip()
        return self.tags[name] if kind == "pumps" else ""

    def inside(self, name: str) -> str:
        """What stands in the bubble of an instrument: its tag, or its number in the key."""
        return str(self.numbers[name]) if name in self.numbers else self.tags[name]

    def title(self, name: str) -> str:
        """What a part is, in words, for those who point at it or listen."""
        kind = self.kinds[name]
        what = KIND_WORDS[kind]
        if kind == "valves":
            what = _valve_words(self.rig.valves[name])
        elif kind == "pipes":
            what = f"pipe, bore {self.short(self.rig.pipes[name].bore)}, {self.length(self.rig.pipes[name].length)}"
        elif kind == "tanks":
            what = f"tank, {self.rig.tanks[name].holds}"
        elif kind == "ports":
            what = f"{self.rig.ports[name].kind} port"
        elif kind == "fixtures":
            what = f"fixture, drains to {self.rig.fixtures[name].drains_to}"
        elif kind == "probes":
            what = f"{self.rig.probes[name].measures} of {self.rig.probes[name].of}"
        tag = f" {self.tags[name]}" if name in self.tags else ""
        return f"{name}{tag}: {what}"

    def pressure(self, port: str) -> str:
        """The range of a port's pressure, where a sheet has room for it."""
        span = self.rig.ports[port].pressure
        if span is None or self.sheet.letters != "names":
            return ""
        low, high = (f"{in_unit(value, 'pressure', self.units):.2g}" for value in (span.least, span.most))
        return f"{low} .. {high} {unit_of('pressure', self.units)}"

    def short(self, length: float) -> str:
        """A small length as a person reads it, such as ``12.5 mm``."""
        unit = "mm" if self.units == "metric" else "in"
        return f"{figures(from_si(length, unit))} {unit}"

    def length(self, length: float) -> str:
        """A length as a person reads it."""
        return quantity(length, "length", self.units)

    def slots(self, line: Line) -> tuple[Slot, ...]:
        """The parts of a line that are drawn on the sheet."""
        return tuple(self._slot(name) for name in line.through if self.kinds[name] in self.shown)

    def _slot(self, name: str) -> Slot:
        kind, few = self.kinds[name], self.sheet.letters == "none"
        metered = kind == "meters"
        symbol = bubble_symbol(self.sheet) if metered else part_symbol(self.rig, kind, name)
        over = [] if few else [probe for probe, part in self.rig.probes.items() if part.of == name]
        return Slot(
            name,
            kind,
            self.title(name),
            symbol,
            () if metered and self.numbers else self.label(name),
            self.inside(name) if metered else "",
            self.rig.valves[name].rests if kind == "valves" else "",
            tuple((probe, self.inside(probe), self.title(probe)) for probe in over),
        )


def _valve_words(part: Valve) -> str:
    if part.motor is None:
        return f"{part.kind} valve, turned by hand, rests {part.rests}"
    without = f"; without power {part.motor.without_power}" if part.motor.without_power else ""
    return f"{part.kind} valve with a motor, rests {part.rests}{without}"


def services(rig: Rig) -> dict[int, tuple[str, str]]:
    """What runs in each line, before and behind its heater: ``cold``, ``hot`` or ``waste``."""
    carried: dict[str, str] = {}
    for name, tank in rig.tanks.items():
        carried.update((f"{name}.{opening}", "waste") for opening in tank.openings if tank.holds == "waste")
    looks: dict[int, tuple[str, str]] = {}
    for _ in range(len(rig.lines) + 1):
        for i, line in enumerate(rig.lines):
            before = carried.get(line.start, "cold")
            behind = "hot" if before == "cold" and any(name in rig.heaters for name in line.through) else before
            looks[i] = before, behind
            if behind != "cold" and line.end in rig.points:
                carried.setdefault(line.end, behind)
    return looks
