"""``ullage draw``: the rig to scale, its flow diagram and its sequence charts as SVG."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ullage.cli import check, disk, speak
from ullage.report.drawing.sheet import SheetName

Out = Annotated[Path, typer.Option("--out", metavar="DIR", help="Where to write.", parser=disk.path)]
On = Annotated[
    SheetName, typer.Option("--sheet", help="What the rig is drawn for: a page, a telephone, a small screen.")
]


def draw(
    rig: check.RigPath,
    out: Out = Path("out/draw"),
    sheet: On = "a4",
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Draw a rig from the side, from above and as a flow diagram, and the chart of every sequence."""
    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    disk.prepare(out)
    from ullage.report.drawing.views import VIEWS, view
    from ullage.report.sequence_chart import head_lines, sequence_chart

    drawings = {f"{name}.svg": view(ready.rig, name, sheet, units).encode() for name in VIEWS}
    charts = {
        f"{name}-sequence.svg" if name in VIEWS else f"{name}.svg": sequence_chart(
            ready.program, i, head_lines(sequence)
        ).encode()
        for i, (name, sequence) in enumerate(ready.rig.sequences.items())
    }
    paths = disk.write(out, {**drawings, **charts}, "draw")
    if json:
        speak.say_json(
            {
                "format": "ullage drawings 1",
                "rig": ready.rig.rig,
                "drawings": [{"view": name, "file": str(path)} for name, path in zip(VIEWS, paths, strict=False)],
                "charts": [
                    {"sequence": name, "file": str(path)}
                    for name, path in zip(ready.rig.sequences, paths[len(VIEWS) :], strict=True)
                ],
            }
        )
        return
    for path in paths:
        speak.say(str(path))
