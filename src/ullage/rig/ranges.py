"""What a field of the rig file may hold: a quantity of one dimension within stated limits.

Each alias is an annotation for the parts of `ullage.rig.model`: it reads the text of the file
to SI and refuses, with words for a person, what no home that moves can have.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from ullage import quantities
from ullage.quantities import QuantityError, Span


@dataclass(frozen=True, slots=True)
class Amount:
    """One quantity.

    Attributes
    ----------
    dimension : str
        A key of `ullage.quantities.UNITS`.
    low, high : float
        The least and the greatest value allowed [SI].
    """

    dimension: str
    low: float
    high: float

    def read(self, text: object) -> float:
        """Read it from the file's text [SI]."""
        try:
            value = quantities.read(text, self.dimension)
        except QuantityError as fault:
            raise _unreadable(fault) from None
        _within(text, self.dimension, Span(value, value), self.low, self.high)
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.read, handler(source))


@dataclass(frozen=True, slots=True)
class Range:
    """A quantity that may vary between two ends; attributes as of `Amount`."""

    dimension: str
    low: float
    high: float

    def read(self, text: object) -> Span:
        """Read it from the file's text [SI]."""
        try:
            span = quantities.read_span(text, self.dimension)
        except QuantityError as fault:
            raise _unreadable(fault) from None
        _within(text, self.dimension, span, self.low, self.high)
        return span

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.read, handler(source))


def _unreadable(fault: QuantityError) -> PydanticCustomError:
    return PydanticCustomError("quantity", "{what}", {"what": fault.what, "expected": fault.expected})


def _within(text: object, dimension: str, span: Span, low: float, high: float) -> None:
    if low <= span.least and span.most <= high:
        return
    unit = quantities.split(str(text).partition("..")[0])[1]
    least, most = quantities.from_si(low, unit), quantities.from_si(high, unit)
    expected = f"a {dimension} from {least:g} to {most:g} {unit}".rstrip()
    raise PydanticCustomError("range", "the value is out of range", {"expected": expected})


Length = Annotated[float, Amount("length", 1e-6, 1000.0)]
Bore = Annotated[float, Amount("length", 5e-4, 1.0)]
LengthOrNone = Annotated[float, Amount("length", 0.0, 10.0)]
Roughness = Annotated[float, Amount("length", 0.0, 0.01)]
Height = Annotated[float, Amount("length", -100.0, 100.0)]
Volume = Annotated[float, Amount("volume", 1e-7, 100.0)]
Content = Annotated[float, Amount("volume", 0.0, 100.0)]
Flow = Annotated[float, Amount("flow", 1e-9, 1.0)]
Passage = Annotated[float, Amount("flow", 1e-7, 1.0)]
FlowOrNone = Annotated[float, Amount("flow", 0.0, 1.0)]
Pressure = Annotated[float, Amount("pressure", 0.0, 2e6)]
Modulus = Annotated[float, Amount("pressure", 1e5, 1e12)]
Time = Annotated[float, Amount("time", 0.0, 1e7)]
TimeADay = Annotated[float, Amount("time", 0.0, 86400.0)]
ScanTime = Annotated[float, Amount("time", 0.02, 10.0)]
Angle = Annotated[float, Amount("angle", -0.6, 0.6)]
Voltage = Annotated[float, Amount("voltage", 0.0, 1000.0)]
Current = Annotated[float, Amount("current", 0.0, 1000.0)]
Resistance = Annotated[float, Amount("resistance", 0.0, 1e6)]
Charge = Annotated[float, Amount("charge", 0.0, 1e8)]
Wattage = Annotated[float, Amount("power", 0.0, 1e6)]
Conductivity = Annotated[float, Amount("conductivity", 1e-3, 1000.0)]
Speed = Annotated[float, Amount("speed", 0.0, 60.0)]
Temperature = Annotated[float, Amount("temperature", 200.0, 400.0)]
FrostAir = Annotated[float, Amount("temperature", 200.0, 273.15)]
Efficiency = Annotated[float, Amount("fraction", 0.05, 1.0)]
Mass = Annotated[float, Amount("mass", 0.0, 1e5)]
Plate = Annotated[float, Amount("mass", 1.0, 1e5)]
Track = Annotated[float, Amount("length", 0.5, 10.0)]
CentreHeight = Annotated[float, Amount("length", 0.05, 10.0)]
Density = Annotated[float, Amount("density", 500.0, 3000.0)]
Strength = Annotated[float, Amount("fraction", 1e-3, 0.3)]
Interval = Annotated[float, Amount("time", 86400.0, 3653 * 86400.0)]
Throughput = Annotated[float, Amount("volume", 1e-3, 1e4)]
Fraction = Annotated[float, Amount("fraction", 0.0, 1.0)]
TimeSpan = Annotated[Span, Range("time", 0.0, 1e7)]
PressureSpan = Annotated[Span, Range("pressure", 0.0, 2e6)]
TemperatureSpan = Annotated[Span, Range("temperature", 200.0, 400.0)]
MassSpan = Annotated[Span, Range("mass", 0.0, 1e5)]
