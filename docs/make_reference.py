"""Makes rig-file.md, findings.md and faults.md: ``./run shell python -m docs.make_reference``.

The first joins the parts of `ullage.rig.model` with the words of ``fields.toml``, the others
print the catalogues of findings and of faults. A test makes all anew and compares.
"""

from __future__ import annotations

import tomllib
import typing
from pathlib import Path
from types import NoneType, UnionType
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from ullage.findings import catalogue
from ullage.plant.faults import KINDS
from ullage.quantities import UNITS, Span, from_si
from ullage.rig import model
from ullage.rig.part import Part
from ullage.rig.ranges import Amount, Range

HERE = Path(__file__).parent
MADE_BY = "<!-- made by docs/make_reference.py; do not edit -->\n"

SHOWN_IN = {
    "length": ("um", "mm", "m"),
    "volume": ("mL", "L", "m3"),
    "flow": ("mL/min", "L/min", "m3/h"),
    "pressure": ("Pa", "bar"),
    "time": ("ms", "s", "d"),
    "angle": ("deg",),
    "temperature": ("degC",),
    "area": ("mm2",),
    "charge": ("Ah",),
    "resistance": ("mohm", "ohm"),
    "fraction": ("%",),
    "mass": ("kg",),
    "density": ("kg/L",),
}
"""Units that a person would write, smallest first."""

USUAL = {"length": "mm", "volume": "L", "flow": "L/min", "time": "s", "fraction": "%"}
"""Unit beside a zero, where it is not the largest of `SHOWN_IN`."""

AREAS = {
    "R": "Reading the file",
    "N": "Names and references",
    "P": "Plumbing",
    "S": "Sequences and guards",
    "I": "Interlocks and signals",
    "M": "Margins and flows",
    "B": "Battery, wires and heat",
    "L": "Loads of wheels, and upkeep",
}


def parts() -> list[type[Part]]:
    """The parts in the order in which the reference shows them: the rig, then what it holds, as met."""
    order: list[type[Part]] = []

    def meet(part: type[Part]) -> None:
        if part in order:
            return
        order.append(part)
        for field in part.model_fields.values():
            for inner in held(field.annotation):
                meet(inner)

    meet(model.Rig)
    return order


def held(annotation: Any) -> list[type[Part]]:
    """The parts that an annotation speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return [annotation]
    return [part for inner in typing.get_args(annotation) for part in held(inner)]


def words() -> dict[str, dict[str, str]]:
    """``fields.toml``."""
    return tomllib.loads((HERE / "fields.toml").read_text("utf8"))


def kind(annotation: Any, metadata: list[Any]) -> str:
    """What a field holds, in words: dimension and limits, the words to choose from, or a part."""
    for mark in metadata:
        if isinstance(mark, Amount | Range):
            return ("" if isinstance(mark, Amount) else "range of ") + limits(mark)
        if isinstance(mark, FieldInfo):
            return kind(annotation, mark.metadata)
    origin, inner = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return kind(inner[0], list(inner[1:]))
    if origin is typing.Literal:
        return " or ".join(f"`{choice}`" for choice in inner)
    if origin in (typing.Union, UnionType):
        return kind(next(choice for choice in inner if choice is not NoneType), metadata)
    if origin is dict:
        return f"names, each with {kind(inner[1], [])}"
    if origin is tuple:
        several = inner[:-1] if inner[-1] is Ellipsis else inner
        of = " and ".join(kind(each, []) for each in several)
        return f"list of {sizes(metadata)}" + {"name": "names", "text": "texts"}.get(of, of)
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return f"[{annotation.__name__}](#{annotation.__name__.lower()})"
    if annotation is str:
        return "name" if any(getattr(mark, "pattern", None) for mark in metadata) else f"text{characters(metadata)}"
    return {bool: "`true` or `false`", float: "number", int: "whole number"}[annotation] + between(metadata)


def bound(metadata: list[Any], name: str) -> Any:
    """A limit among the marks of a field, None where there is no such limit."""
    return next((getattr(mark, name) for mark in metadata if getattr(mark, name, None) is not None), None)


def sizes(metadata: list[Any]) -> str:
    """How many a list holds: ``2 to 16``."""
    low, high = bound(metadata, "min_length"), bound(metadata, "max_length")
    return "" if low is None and high is None else f"{low or 0} to {high} " if high else f"at least {low} "


def characters(metadata: list[Any]) -> str:
    """How long a text is: ``, 10 to 300 characters``."""
    low, high = bound(metadata, "min_length"), bound(metadata, "max_length")
    return "" if high is None else f", {low} to {high} characters" if low else f", {high} characters at most"


def between(metadata: list[Any]) -> str:
    """Limits of a plain number: ``, 0 to 100``."""
    low, high = bound(metadata, "ge"), bound(metadata, "le")
    return "" if low is None and high is None else f", {low:g} to {high:g}" if high is not None else f", from {low:g}"


def shown(value: float, dimension: str) -> str:
    """A quantity in the largest unit of `SHOWN_IN` that leaves a number of at least one, else in the smallest."""
    units = SHOWN_IN.get(dimension) or (next(iter(UNITS[dimension])),)
    if not value and dimension != "temperature":
        return f"0 {USUAL.get(dimension, units[-1])}"
    fitting = [unit for unit in units if abs(from_si(value, unit)) >= 0.999] or units[:1]
    return f"{from_si(value, fitting[-1]):.5g} {fitting[-1]}".rstrip()


def limits(mark: Amount | Range) -> str:
    """The dimension with both limits, such as ``length, 1 um to 1000 m``."""
    return f"{mark.dimension}, {shown(mark.low, mark.dimension)} to {shown(mark.high, mark.dimension)}"


def default(field: FieldInfo) -> str:
    """What holds when the field is not there."""
    value = field.default
    if value is PydanticUndefined:
        return "**needed**"
    if value is None or value == "" or value == {} or value == () or isinstance(value, BaseModel):
        return "none" if not isinstance(value, BaseModel) else "as its fields"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    mark = next((m for m in mark_of(field) if isinstance(m, Amount | Range)), None)
    if mark is None:
        return f"`{value}`"
    if isinstance(value, Span):
        return f"{shown(value.least, mark.dimension)} .. {shown(value.most, mark.dimension)}"
    return shown(value, mark.dimension)


def mark_of(field: FieldInfo) -> list[Any]:
    """All marks of a field, those inside an optional annotation too."""
    return [*field.metadata, *(m for a in typing.get_args(field.annotation) for m in getattr(a, "__metadata__", ()))]


def section(part: type[Part], said: dict[str, dict[str, str]]) -> str:
    """The section of one part: its docstring, then its fields."""
    lines = [f"## {part.__name__}", "", " ".join((part.__doc__ or "").split()).replace("``", "`"), ""]
    lines += ["| field | holds | when missing | |", "| --- | --- | --- | --- |"]
    for name, field in part.model_fields.items():
        shown = field.alias or name
        means = said.get(part.__name__, {}).get(shown) or said["*"][shown]
        lines.append(f"| `{shown}` | {kind(field.annotation, field.metadata)} | {default(field)} | {means} |")
    return "\n".join(lines) + "\n"


def rig_file() -> str:
    """The text of docs/rig-file.md."""
    said = words()
    listed = ((name, ", ".join(f"`{unit}`" for unit in of)) for name, of in UNITS.items() if "" not in of)
    units = "\n".join(f"- {name}: {units}" for name, units in listed)
    head = (HERE / "rig-file.head.md").read_text("utf8").replace("UNITS", units)
    return MADE_BY + head + "\n" + "\n".join(section(part, said) for part in parts())


def findings() -> str:
    """The text of docs/findings.md."""
    text = MADE_BY + (HERE / "findings.head.md").read_text("utf8")
    for letter, area in AREAS.items():
        text += f"\n## {letter}: {area}\n"
        for code, entry in catalogue().items():
            if code.startswith(letter):
                text += f"\n### {code} {entry.title}\n\n*{entry.level}.* {entry.why}\n\n{entry.remedy}\n"
    return text


def faults() -> str:
    """The text of docs/faults.md."""
    text = MADE_BY + (HERE / "faults.head.md").read_text("utf8")
    for of in dict.fromkeys(kind.of for kind in KINDS):
        text += f"\n## {of.capitalize() or 'The whole rig'}\n\n"
        text += "| word | what happens | amount | when none is written |\n| --- | --- | --- | --- |\n"
        for kind in KINDS:
            if kind.of == of:
                word = f"`{kind.word}`" + (" and the other one" if kind.other else "")
                bounds = usual = ""
                if kind.dimension:
                    bounds = limits(Amount(kind.dimension, kind.least, kind.most))
                    usual = shown(kind.usual, kind.dimension)
                text += f"| {word} | {kind.words} | {bounds} | {usual} |\n"
    return text


MADE = {"rig-file.md": rig_file, "findings.md": findings, "faults.md": faults}


def main() -> None:
    """Write the documents."""
    for name, make in MADE.items():
        (HERE / name).write_text(make(), "utf8")


if __name__ == "__main__":
    main()
