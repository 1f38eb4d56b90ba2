"""Read a rig file: text to a `Rig`, or to everything that is wrong with it.

First the form (`ullage.rig.text`), then each part against its model (`ullage.rig.model`). All
faults are collected and each says where it stands; there is no content that raises.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain, pairwise
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from ullage.findings import FINDINGS_LIMIT, Finding, in_order, nearest
from ullage.rig.model import PARTS_LIMIT, Rig, Shape
from ullage.rig.remainder import remainder_findings
from ullage.rig.text import Path, Places, read_tree

LAW_LIMIT = 60_000
"""The texts of all sequences, and those of all interlocks, are at most this long [characters]."""

_NAME = "lower case letters, digits and '_', a letter first, at most 40"


def read_rig(text: str | bytes, file_name: str) -> tuple[Rig | None, tuple[Finding, ...], Places]:
    """Read a rig file.

    Parameters
    ----------
    text : str or bytes
        Content of the file.
    file_name : str
        Name of the file as a person knows it.

    Returns
    -------
    rig : Rig or None
        None with any finding.
    findings : tuple of Finding
        All faults, in order of place.
    places : Places
        Where each value stands, for later findings.
    """
    tree, findings, places = read_tree(text, file_name)
    if findings:
        return None, in_order(findings), places
    if not isinstance(tree, dict):
        what = "the file is empty" if tree is None else "the file holds no named values"
        return None, (Finding("R110", places.value(), what, "named values, the first of them 'rig: NAME'"),), places
    if "scenario" in tree and "tanks" not in tree:
        what = "the file holds a scenario, which is played on a rig"
        return None, (Finding("R110", places.key("scenario"), what, "a rig file, with 'rig: NAME'"),), places
    too_many = in_order(chain(_too_many(tree, (), places), _too_much_law(tree, places)))
    if too_many:
        return None, too_many, places
    try:
        rig = Rig.model_validate(tree)
    except ValidationError as faults:
        errors = faults.errors(include_url=False)
        told = [_finding(fault, places, at < FINDINGS_LIMIT) for at, fault in enumerate(errors)]
        more = remainder_findings(tree, [tuple(fault["loc"]) for fault in errors], places)
        return None, in_order((*told, *more)), places
    disorder = in_order(_disorder(rig, places))
    return (None if disorder else rig), disorder, places


def _too_many(tree: object, path: Path, places: Places) -> Iterator[Finding]:
    """Groups and lists that are longer than any rig needs."""
    if not isinstance(tree, dict | list):
        return
    if len(tree) > PARTS_LIMIT and path:
        what = f"'{path[-1]}' holds {len(tree)} parts"
        yield Finding("R122", places.key(*path), what, f"at most {PARTS_LIMIT}", on=str(path[0]))
        return
    for key, value in tree.items() if isinstance(tree, dict) else enumerate(tree):
        yield from _too_many(value, (*path, key), places)


def _too_much_law(tree: dict[str, Any], places: Places) -> Iterator[Finding]:
    """More text in sequences, interlocks and wishes than can be looked at in reasonable time."""
    for key in ("sequences", "interlocks", "never", "sometimes"):
        length = _length(tree.get(key))
        if length > LAW_LIMIT:
            what = f"'{key}' holds {length:,} characters"
            yield Finding("R125", places.key(key), what, f"at most {LAW_LIMIT:,}", on=key)


def _length(tree: object) -> int:
    if isinstance(tree, dict):
        return sum(len(key) + _length(value) for key, value in tree.items())
    return sum(map(_length, tree)) if isinstance(tree, list) else len(str(tree))


def _disorder(rig: Rig, places: Places) -> Iterator[Finding]:
    """Tables and choices that no later reckoning could make sense of."""
    for name, tank in rig.tanks.items():
        path: Path = ("tanks", name, "shape")
        stated = [kind for kind in Shape.model_fields if getattr(tank.shape, kind) is not None]
        if len(stated) != 1:
            what = f"'{name}' has {len(stated)} shapes"
            yield Finding("R123", places.key(*path), what, _either(list(Shape.model_fields)), on=name)
        if tank.shape.strapping is not None:
            pairs = tank.shape.strapping.table
            rising = all(low[0] < high[0] and low[1] < high[1] for low, high in pairwise(pairs))
            if pairs[0] != (0.0, 0.0) or not rising:
                expected = "pairs of depth and volume from '[0 mm, 0 L]' upwards"
                what = f"the strapping table of '{name}' does not rise from nothing"
                yield Finding("R124", places.key(*path, "strapping", "table"), what, expected, on=name)
    for at, line in enumerate(rig.never):
        if (line.whatever_fails is None) == (line.in_health is None):
            what = "a line of 'never' says one thing"
            yield Finding("R114", places.key("never", at), what, "'water indoors' or '{in_health: belly_high trips}'")
    for name, pump in rig.pumps.items():
        curve = pump.curve
        falling = all(a.flow < b.flow and a.pressure > b.pressure for a, b in pairwise(curve))
        if curve[0].flow != 0.0 or curve[-1].pressure != 0.0 or not falling:
            expected = "points from flow 0 to pressure 0, the flow rising and the pressure falling"
            what = f"the curve of '{name}' does not fall from shut-off to free flow"
            yield Finding("R124", places.key("pumps", name, "curve"), what, expected, on=name)


def _finding(fault: Mapping[str, Any], places: Places, search: bool) -> Finding:
    """One fault that a model found, in words; the nearest name is searched for on demand only."""
    path: Path = tuple(fault["loc"])
    kind = fault["type"]
    about = fault.get("ctx", {})
    value = str(fault.get("input"))[:40]
    on = ".".join(str(key) for key in path[:2])
    if path[-1:] == ("[key]",):
        return Finding("R119", places.key(*path[:-1]), f"'{str(path[-2])[:40]}' is no name", _NAME, on=on)
    match kind:
        case "extra_forbidden":
            known = _keys_beside(path)
            near = nearest(str(path[-1]), known) if search else ""
            expected = "" if near else _either(known)
            return Finding("R113", places.key(*path), f"'{path[-1]}' is unknown here", expected, near, on)
        case "missing":
            where = f" of '{path[-2]}'" if len(path) > 1 else ""
            return Finding("R114", places.key(*path[:-1]), f"'{path[-1]}'{where} is missing", on=on)
        case "literal_error":
            words = _words(str(about["expected"]))
            near = nearest(value, words)
            return Finding("R115", places.value(*path), f"'{value}' is not allowed here", _either(words), near, on)
        case "quantity":
            return Finding("R116", places.value(*path), str(about["what"]), str(about["expected"]), on=on)
        case "range":
            return Finding("R117", places.value(*path), f"{value} is out of range", str(about["expected"]), on=on)
        case "string_pattern_mismatch":
            return Finding("R119", places.value(*path), f"'{value}' is no name", _NAME, on=on)
        case "too_short" | "too_long" | "string_too_short" | "string_too_long":
            return Finding("R122", places.value(*path), f"'{path[-1]}' has the wrong length", fault["msg"], on=on)
        case "greater_than_equal" | "less_than_equal":
            return Finding("R117", places.value(*path), f"{value} is out of range", fault["msg"], on=on)
        case _:
            return Finding("R118", places.value(*path), f"'{value}' is of the wrong kind", fault["msg"], on=on)


def _words(listed: str) -> list[str]:
    """The words of a message such as ``'a', 'b' or 'c'``."""
    return listed.replace(" or ", ", ").replace("'", "").split(", ")


def _either(words: list[str]) -> str:
    return "one of " + ", ".join(words) if words else "no key"


def _keys_beside(path: Path) -> list[str]:
    """The keys that a part may have, following the models from the rig to the part."""
    model: type[BaseModel] | None = Rig
    named = False
    for step in path[:-1]:
        if named:
            named = False
            continue
        field = _fields(model).get(str(step))
        if field is None:
            return []
        named = get_origin(field.annotation) in (dict, tuple)
        model = _model_in(field.annotation)
    return list(_fields(model))


def _fields(model: type[BaseModel] | None) -> dict[str, FieldInfo]:
    return {} if model is None else {field.alias or name: field for name, field in model.model_fields.items()}


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model that an annotation holds at any depth."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(filter(None, map(_model_in, get_args(annotation))), None)
