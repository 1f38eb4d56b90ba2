"""The rig as frozen parts. All quantities are SI floats; names are as in the file.

This is the schema of the rig file: the reader fills these models from the text, and
every fault the models find becomes a finding with the line it stands on.
Heights ``z`` are above the rig's own datum (the ground on level standing); ``x`` runs
forward from the rear axle, ``y`` to the left [m].
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from ullage.quantities import Span
from ullage.rig.burden import Axle, Cargo, Weight
from ullage.rig.climate import Frost, Insulation
from ullage.rig.keeping import Disinfectant, Drain, Filter, Upkeep
from ullage.rig.part import Name, Part
from ullage.rig.place import Position
from ullage.rig.procedures import Interlock, Sequence
from ullage.rig.ranges import (
    Angle,
    Bore,
    Content,
    Current,
    Efficiency,
    Flow,
    FlowOrNone,
    Fraction,
    Height,
    Length,
    LengthOrNone,
    Modulus,
    Passage,
    Pressure,
    PressureSpan,
    Roughness,
    ScanTime,
    Temperature,
    TemperatureSpan,
    Time,
    TimeADay,
    TimeSpan,
    Voltage,
    Volume,
    Wattage,
)
from ullage.rig.supply import Handset, Load, Power, Wire

PARTS_LIMIT = 200
"""A rig has at most this many parts of one kind."""


# --- tanks -----------------------------------------------------------------------------


class Box(Part):
    """A box, its vertical edges rounded by ``corner`` (0: sharp)."""

    length: Length
    width: Length
    height: Length
    corner: LengthOrNone = 0.0


class Upright(Part):
    """A cylinder standing on its end."""

    diameter: Length
    height: Length


class Lying(Part):
    """A cylinder lying on its side, with flat ends; ``along`` is the direction of its axis."""

    diameter: Length
    length: Length
    along: Literal["x", "y"] = "x"


class Strapping(Part):
    """A strapping table: rising pairs of depth and volume, the first at depth 0 and volume 0."""

    table: Annotated[tuple[tuple[LengthOrNone, Content], ...], Field(min_length=2, max_length=200)]


class Shape(Part):
    """Exactly one of the shapes."""

    box: Box | None = None
    upright: Upright | None = None
    lying: Lying | None = None
    strapping: Strapping | None = None


class Opening(Part):
    """A pipe connection in a tank wall, ``at`` a height above the tank's floor."""

    at: LengthOrNone
    x: Height = 0.0
    y: Height = 0.0


class Vent(Part):
    """The pipe, or mere hole, through which a tank breathes."""

    bore: Bore
    length: LengthOrNone = 0.0


class Overflow(Part):
    """The pipe through which a tank spills, and where to."""

    bore: Bore
    at: Length
    to: Literal["outdoors", "indoors"] = "outdoors"


class Tank(Part):
    """A vessel with a free surface. ``floor_at`` is the middle of its floor."""

    holds: Literal["potable", "waste"]
    shape: Shape
    floor_at: Position
    openings: dict[Name, Opening]
    vent: Vent | None = None
    overflow: Overflow | None = None
    starts_with: Fraction = 0.0


# --- pipes and what sits in them ---------------------------------------------------------


class Port(Part):
    """Where water enters or leaves the rig."""

    kind: Literal["supply", "discharge"]
    at: Position = Position()
    pressure: PressureSpan | None = None
    usual: Pressure | None = None
    lasting: bool = False
    air_gap: bool = False


class Pipe(Part):
    """A pipe or hose; ``fittings`` is the sum of its minor loss coefficients, entry and exit of the line apart."""

    bore: Bore
    length: Length
    rough: Roughness = 1.5e-6
    fittings: Annotated[float, Field(ge=0, le=1000)] = 0.0
    wall: Length | None = None
    modulus: Modulus | None = None
    outdoors: bool = False
    insulation: Insulation | None = None
    heated: Wattage | None = None
    in_frost: Literal["used", "drained"] | None = None


class Restrictor(Part):
    """A flow restrictor: a fixed orifice of this Kv [m3/s at 1 bar]."""

    kv: Passage


class Check(Part):
    """A check valve: passes one way only, with this Kv."""

    kv: Passage


class Wired(Part):
    """A float switch in series with a coil: the part has its supply only while the float is ``wet`` or ``dry``."""

    switch: Name = Field(alias="float")
    made: Literal["wet", "dry"] = Field(alias="while")


class Motor(Part):
    """What drives a valve and what it tells about its position."""

    stroke: TimeSpan = Span(0.0, 0.0)
    feedback: Literal["none", "closed_end", "open_end", "both_ends"] = "none"
    without_power: Literal["stays", "spring closed", "spring open", "stored charge closed"] | None = None
    charge_time: Time | None = None
    least_voltage: Voltage = 9.0
    draws: Current = 0.5
    daily: TimeADay | None = None
    wire: Wire | None = None


class Valve(Part):
    """A valve. Without a motor it is turned by hand. ``kv`` is the flow at 1 bar when open."""

    kind: Literal["ball", "solenoid", "butterfly", "gate"]
    kv: Passage
    motor: Motor | None = None
    rests: Literal["closed", "open"] = "closed"
    board: Name | None = None
    safe_after: Time = 0.0
    lease: Time | None = None
    on_lapse: Literal["closed", "open", "stays"] | None = None
    wired: Wired | None = None


class CurvePoint(Part):
    """One point of a pump curve."""

    flow: FlowOrNone
    pressure: Pressure


class Switch(Part):
    """A pressure switch (gauge pressures at the pump's outlet)."""

    cut_in: Pressure
    cut_out: Pressure


class Pump(Part):
    """A pump with its curve (flow rising, pressure falling). A diaphragm pump passes one way only."""

    curve: Annotated[tuple[CurvePoint, ...], Field(min_length=2, max_length=20)]
    switch: Switch | None = None
    draws: Current = 5.0
    inrush: Current | None = None
    daily: TimeADay | None = None
    least_voltage: Voltage | None = None
    wire: Wire | None = None
    self_priming: bool = True
    dry_run_limit: Time | None = None
    relief: Pressure | None = None
    board: Name | None = None
    safe_after: Time = 0.0
    lease: Time | None = None
    on_lapse: Literal["off", "on", "stays"] | None = None
    wired: Wired | None = None


class Accumulator(Part):
    """A vessel with a gas cushion, joined at a point (volume and gauge precharge)."""

    at: Name
    volume: Volume
    precharge: Pressure


class Heater(Part):
    """A closed vessel in a line, with the bore of its ports."""

    volume: Volume
    bore: Bore
    power: Wattage = 0.0
    relief: Pressure | None = None
    keeps: Temperature | None = None
    fuel: Literal["diesel", "propane", "electricity"] | None = None
    efficiency: Efficiency | None = None


class Fixture(Part):
    """A tap or shower: its flow when fully open at ``at_pressure``; a person turns it.

    ``drains_to`` names a waste tank, or is ``outdoors``.
    """

    flow: Flow
    at_pressure: Pressure = 1e5
    at: Position = Position()
    drains_to: Name = "outdoors"
    mixed: Temperature | None = None
    lasts: Time | None = None


class Point(Part):
    """A named joint where lines meet."""

    at: Position = Position()


class Line(Part):
    """Water goes from one end through parts in order to the other: a port, fixture, point, ``tank.opening``."""

    start: str = Field(alias="from")
    through: tuple[Name, ...] = ()
    end: str = Field(alias="to")
    crest: Position | None = None


# --- what is sensed ----------------------------------------------------------------------


class Sender(Part):
    """A level sender. ``error`` is a fraction of its span, which runs over the tank's depth
    from ``zero_at`` to ``full_at`` (default: floor to brim); ``place`` is where it sits.
    """

    on: Name
    error: Fraction
    every: Time
    resolution: Fraction = 0.0
    lag: Time = 0.0
    noise: Fraction = 0.0
    stale: Time | None = None
    zero_at: Height = 0.0
    full_at: Length | None = None
    x: Height = 0.0
    y: Height = 0.0
    board: Name | None = None
    published: Literal["always", "on change"] = "always"
    heartbeat: Time | None = None


class Float(Part):
    """A float switch at a height above the tank's floor."""

    on: Name
    at: Length
    every: Time = 0.5
    stale: Time | None = None
    broken_reads: Literal["full", "empty"] = "full"
    x: Height = 0.0
    y: Height = 0.0
    board: Name | None = None
    published: Literal["always", "on change"] = "always"
    heartbeat: Time | None = None


class Meter(Part):
    """A flow meter in a line: error as a fraction of the reading, its own Kv."""

    error: Fraction
    every: Time
    kv: Passage
    least: Flow = 1e-9
    stale: Time | None = None
    board: Name | None = None
    published: Literal["always", "on change"] = "always"
    heartbeat: Time | None = None


class Probe(Part):
    """A reading that is not water: current of a pump, pressure at a point, supply voltage."""

    of: Name
    measures: Literal["current", "pressure", "voltage"]
    error: Fraction = 0.02
    every: Time = 1.0
    stale: Time | None = None
    board: Name | None = None
    published: Literal["always", "on change"] = "always"
    heartbeat: Time | None = None


# --- boards, power, handset -----------------------------------------------------------------


REPORT_EVERY = 0.5
"""A board reports that it is there, and the ends of its valves, this often [s] where the scan is not longer."""


class Board(Part):
    """A small board that holds relays or senders, and how it is reached."""

    link: Literal["wired", "radio"] = "wired"
    delay: TimeSpan = Span(0.0, 0.0)
    loss: Fraction = 0.0
    stale: Time = 3.0
    draws: Current | None = None
    wire: Wire | None = None


class Lamp(Part):
    """A lamp with the colours it can show; the first is its rest."""

    colours: Annotated[tuple[Name, ...], Field(min_length=2, max_length=16)]
    board: Name | None = None


class Slope(Part):
    """The greatest slope at which the rig is used, either way."""

    ahead: Angle = 0.0
    across: Angle = 0.0


LEVEL = Slope()
"""Level standing."""


# --- the whole -----------------------------------------------------------------------------------


class Accept(Part):
    """A caution that a person accepts, with the reason."""

    finding: str
    on: str = ""
    why: Annotated[str, Field(min_length=10, max_length=300)]


class Never(Part):
    """One line of ``never``: the text alone holds always, ``in_health: TEXT`` only while nothing is broken.

    A fault may use up the last margin that the second kind asks for.
    """

    whatever_fails: str | None = None
    in_health: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _text_alone(cls, written: object) -> object:
        return {"whatever_fails": written} if isinstance(written, str) else written

    @property
    def text(self) -> str:
        """What it says ("" when it says nothing)."""
        return self.whatever_fails or self.in_health or ""


class Rig(Part):
    """Everything the file says."""

    rig: Annotated[str, Field(min_length=1, max_length=80)]
    about: Annotated[str, Field(max_length=2000)] = ""
    scan: ScanTime = 0.5
    slope: Slope = Slope()
    water: TemperatureSpan = Span(274.15, 303.15)
    frost: Frost | None = None
    power: Power = Power()
    loads: dict[Name, Load] = {}
    boards: dict[Name, Board] = {}
    tanks: dict[Name, Tank] = {}
    ports: dict[Name, Port] = {}
    points: dict[Name, Point] = {}
    pipes: dict[Name, Pipe] = {}
    restrictors: dict[Name, Restrictor] = {}
    checks: dict[Name, Check] = {}
    valves: dict[Name, Valve] = {}
    pumps: dict[Name, Pump] = {}
    accumulators: dict[Name, Accumulator] = {}
    heaters: dict[Name, Heater] = {}
    fixtures: dict[Name, Fixture] = {}
    lines: tuple[Line, ...] = ()
    drains: dict[Name, Drain] = {}
    filters: dict[Name, Filter] = {}
    senders: dict[Name, Sender] = {}
    floats: dict[Name, Float] = {}
    meters: dict[Name, Meter] = {}
    probes: dict[Name, Probe] = {}
    lamps: dict[Name, Lamp] = {}
    handset: Handset | None = None
    axles: dict[Name, Axle] = {}
    weight: Weight = Weight()
    masses: dict[Name, Cargo] = {}
    disinfectant: Disinfectant | None = None
    upkeep: Upkeep = Upkeep()
    sequences: dict[Name, Sequence] = {}
    interlocks: dict[Name, Interlock] = {}
    never: tuple[Never, ...] = ()
    sometimes: tuple[str, ...] = ()
    accepts: tuple[Accept, ...] = ()
