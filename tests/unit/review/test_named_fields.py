"""The fields that a review asks for can be written: on every shipped rig, and on one that states hardly anything."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args, get_origin

import pytest
from pydantic import BaseModel

from tests.shipped import EXAMPLES
from tests.unit.rig.breaking import SOUND, seen
from ullage.review import cold, electric
from ullage.review.judgement import GRADES
from ullage.review.matter import Section
from ullage.rig.model import Rig

RIGS = sorted((EXAMPLES / "rigs").glob("*.yaml"))
BARE = SOUND.replace("hose: {bore: 12.5 mm, length: 10 m", "hose: {bore: 12.5 mm, length: 10 m, outdoors: true")


def sections() -> Iterator[tuple[str, Section]]:
    """Both sections of all rigs."""
    for name, text in [("sound", BARE), *((path.stem, path.read_text("utf8")) for path in RIGS)]:
        for module in (electric, cold):
            yield name, module.section(seen(text, f"{name}.yaml"))


def can_be_written(path: str) -> bool:
    """Whether the rig file has a field at such a path; after a group of named parts comes a name."""
    model: Any = Rig
    steps = iter(path.split("."))
    for step in steps:
        fields = {} if model is None else {field.alias or name: field for name, field in model.model_fields.items()}
        if step not in fields:
            return False
        annotation = fields[step].annotation
        if get_origin(annotation) is dict:
            next(steps, None)
        model = part_in(annotation)
    return True


def part_in(annotation: Any) -> type[BaseModel] | None:
    """The part that an annotation speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(filter(None, map(part_in, get_args(annotation))), None)


def test_every_field_that_is_asked_for_can_be_written() -> None:
    """A person who writes what the review asks for is refused by the check."""
    asked = {field for _, of in sections() for judgement in of.judgements for field in judgement.missing}
    stood_in = {field for _, of in sections() for text in of.assumed for field in re.findall(r"\(([\w.]+)\)", text)}
    assert len(asked) > 30
    assert len(stood_in) > 5
    assert not [field for field in sorted(asked) if not can_be_written(field)]
    whole = {field if field != "wire.serves" else "pumps.NAME.wire.serves" for field in stood_in}
    assert not [field for field in sorted(whole) if not can_be_written(field)]


def test_the_look_out_for_fields_sees() -> None:
    """It has to be able to fail."""
    assert can_be_written("valves.lift.motor.wire.fuse")
    assert not any(map(can_be_written, ("valves.lift.wire", "pumps.pump.wires", "pipes.riser.walls", "frosts")))


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_no_shipped_rig_is_stopped_and_each_judgement_is_whole(path: Path) -> None:
    """A judgement without reason, limit or source cannot be argued with."""
    for name, of in sections():
        if name == path.stem:
            for judgement in of.judgements:
                assert judgement.grade in GRADES[1:]
                assert judgement.because
                assert judgement.limit.source
                assert not (judgement.missing and judgement.grade == "PASS")
