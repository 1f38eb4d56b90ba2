"""``ullage draw``: the sequence charts of a rig as SVG."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ullage.cli import check, disk, speak

Out = Annotated[Path, typer.Option("--out", metavar="DIR", help="Where to write.", parser=disk.path)]


def draw(
    rig: check.RigPath, out: Out = Path("out/draw"), units: check.Units = "metric", json: check.Json = False
) -> None:
    """Draw the chart of every sequence of a rig."""
    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    disk.prepare(out)
    from ullage.report.sequence_chart import head_lines, sequence_chart

    sequences = ready.rig.sequences
    charts = {
        f"{name}.svg": sequence_chart(ready.program, i, head_lines(sequence)).encode()
        for i, (name, sequence) in enumerate(sequences.items())
    }
    paths = disk.write(out, charts, "draw")
    if json:
        drawn = [{"sequence": name, "file": str(path)} for name, path in zip(sequences, paths, strict=True)]
        speak.say_json({"format": "ullage drawings 1", "rig": ready.rig.rig, "charts": drawn})
        return
    for path in paths:
        speak.say(str(path))
