"""What stands under a drawing: its title, the scale, what the lines mean, and the key of its numbers."""

from __future__ import annotations

from math import floor, log10

from ullage.quantities import from_si, to_si
from ullage.report.drawing.frame import Frame
from ullage.report.drawing.labels import Labels
from ullage.report.drawing.scene import Mark, Spot, Words
from ullage.report.drawing.stage import Stage
from ullage.report.lettering import CELL, room

LINE_WORDS = {"cold": "cold, drinking", "hot": "hot", "waste": "waste"}
"""What runs in a line, in words."""

BAR = (0.12, 0.3)
"""The scale is at least and at most so long, as a part of the sheet."""


def close(stage: Stage, labels: Labels, it: Frame | None) -> None:
    """Write what stands under a drawing, and set its height."""
    drawing, sheet = stage.drawing, stage.sheet
    edge = 1.5 * sheet.unit
    if sheet.letters == "none":
        _brief(stage, labels, it, edge)
        return
    y = drawing.height + 0.6 * sheet.unit
    drawing.before.append(Mark("line", (Spot(edge, y), Spot(drawing.width - edge, y)), "rule"))
    y += 1.9 * sheet.name
    name, _, view = drawing.title.rpartition(": ")
    drawing.words.append(Words(Spot(edge, y), name, 1.5 * sheet.name, "title"))
    left = edge + room((name,), 1.5 * sheet.name)[0] + sheet.unit
    if left + room((view,), sheet.name)[0] < drawing.width - edge:
        drawing.words.append(Words(Spot(left, y), view, sheet.name, "faint"))
    else:
        y += 1.5 * sheet.name
        drawing.words.append(Words(Spot(edge, y), view, sheet.name, "faint"))
    y += 1.4 * sheet.name
    x = edge
    if it is not None:
        x = _bar(stage, labels, it, Spot(edge, y)) + 3 * sheet.unit
    y = _lines(stage, Spot(x, y), edge)
    if labels.numbers:
        y = _key(stage, labels, edge, y + 1.2 * sheet.name)
    drawing.height = y + 1.2 * sheet.unit


def _brief(stage: Stage, labels: Labels, it: Frame | None, edge: float) -> None:
    """One line for a small screen: the name of the rig, and the scale."""
    drawing, sheet = stage.drawing, stage.sheet
    y = drawing.height + 1.3 * sheet.name
    name = drawing.title.rpartition(": ")[0]
    drawing.words.append(Words(Spot(edge, y), name, 1.2 * sheet.name, "title"))
    if it is not None:
        _bar(stage, labels, it, Spot(edge + room((name,), 1.2 * sheet.name)[0] + 3 * sheet.unit, y))
    drawing.height = y + sheet.unit


def _bar(stage: Stage, labels: Labels, it: Frame, at: Spot) -> float:
    """The scale: a bar of a round length; where it ends [px]."""
    unit = "m" if labels.units == "metric" else "ft"
    most = from_si(BAR[1] * stage.drawing.width / it.scale, unit)
    power = 10.0 ** floor(log10(most))
    length = next(step * power for step in (5.0, 2.0, 1.0) if step * power <= most)
    px = to_si(length, unit, "length") * it.scale
    tall = 0.5 * stage.sheet.unit
    for i in range(4):
        a, b = at.x + px * i / 4, at.x + px * (i + 1) / 4
        corners = (Spot(a, at.y - tall), Spot(b, at.y - tall), Spot(b, at.y), Spot(a, at.y))
        stage.drawing.before.append(Mark("area", corners, "bar dark" if i % 2 == 0 else "bar"))
    text = f"{length:g} {unit}"
    stage.drawing.words.append(Words(Spot(at.x + px + 5, at.y + 0.1), text, stage.sheet.small, "faint"))
    return at.x + px + 5 + room((text,), stage.sheet.small)[0]


def _lines(stage: Stage, at: Spot, edge: float) -> float:
    """A sample of each kind of line, in a row or two; the base line of the last [px]."""
    sheet, x, y = stage.sheet, at.x, at.y
    shown = dict.fromkeys(run.look for run in stage.drawing.runs)
    for look in (look for look in LINE_WORDS if look in shown):
        width = 3.2 * sheet.unit + 6 + room((LINE_WORDS[look],), sheet.small)[0]
        if x + width > stage.drawing.width - edge:
            x, y = edge, y + 1.7 * sheet.small
        middle = y - 0.3 * sheet.small
        stage.drawing.before.append(Mark("line", (Spot(x, middle), Spot(x + 3.2 * sheet.unit, middle)), f"pipe {look}"))
        if look == "hot":
            stage.drawing.before.append(Mark("line", (Spot(x, middle), Spot(x + 3.2 * sheet.unit, middle)), "core"))
        stage.drawing.words.append(Words(Spot(x + 3.2 * sheet.unit + 6, y), LINE_WORDS[look], sheet.small, "faint"))
        x += width + 2 * sheet.unit
    return y


def _key(stage: Stage, labels: Labels, edge: float, y: float) -> float:
    """The names behind numbers and tags, in columns; the base line of the last [px]."""
    sheet = stage.sheet
    drawn = {part.name for part in stage.drawing.parts}
    rows = [
        (str(number), f"{name} {labels.tags[name]}" if name in labels.tags else name)
        for name, number in labels.numbers.items()
        if name in drawn
    ]
    wide = max((room((f"99 {text}",), sheet.small)[0] for _, text in rows), default=1.0)
    columns = max(1, int((stage.drawing.width - 2 * edge + 8) // (wide + 8)))
    per = -(-len(rows) // columns)
    step = (stage.drawing.width - 2 * edge) / columns
    for i, (number, text) in enumerate(rows):
        x, line = edge + step * (i // per), y + 1.45 * sheet.small * (i % per)
        stage.drawing.words.append(Words(Spot(x, line), number, sheet.small, "number"))
        stage.drawing.words.append(Words(Spot(x + 3 * CELL * sheet.small, line), text, sheet.small, "name"))
    return y + 1.45 * sheet.small * max(per - 1, 0)
