"""A drawing as an SVG document: light and dark by the reader's wish, every part findable by its name.

A part is a group with ``data-part`` (its name) and ``data-kind``; a stretch of a line has ``data-line`` (which
line of the rig, from 0) and the water of a tank ``data-level`` (its name) with what moves it: the surface of a
depth of d metres lies at ``data-empty`` - d * ``data-metre``. ``data-ink="light"`` or ``"dark"`` on the
document or on anything around it overrules what the reader's machine prefers.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from ullage.report.drawing.crossings import jumps
from ullage.report.drawing.looks import STYLE
from ullage.report.drawing.scene import Drawing, Drawn, Mark, Run, Spot, Water, Words

JUMP = 0.42
"""Radius of the arc with which a line jumps over another [units]."""


def svg(drawing: Drawing, unit: float) -> str:
    """Write a drawing down.

    Parameters
    ----------
    drawing : Drawing
        The drawing.
    unit : float
        Unit of its sheet [px].
    """
    view = drawing.view
    width, height = _n(drawing.width), _n(drawing.height)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="rig" role="img" data-view="{view}" '
        f'viewBox="0 0 {width} {height}" width="{width}" height="{height}">',
        f"<title>{escape(drawing.title)}</title>",
        f"<desc>{escape(drawing.about)}</desc>",
        f"<style>{STYLE}</style>",
        f'<defs><pattern id="{view}-grain" width="7" height="7" patternUnits="userSpaceOnUse">'
        '<path class="grain" d="M1 5.5h2M4.5 2h2"/></pattern></defs>',
        f'<rect class="paper" width="{width}" height="{height}"/>',
        *map(_mark, drawing.behind),
    ]
    vessels = [part for part in drawing.parts if part.kind == "tanks"]
    others = [part for part in drawing.parts if part.kind != "tanks"]
    parts += [_part(part, view) for part in vessels]
    over = jumps(drawing.runs)
    ways = [_way(run, over[i], JUMP * unit) for i, run in enumerate(drawing.runs)]
    parts += [_run(run, way) for run, way in zip(drawing.runs, ways, strict=True)]
    parts += [
        f'<path class="core" d="{way}"/>' for run, way in zip(drawing.runs, ways, strict=True) if run.look == "hot"
    ]
    parts += map(_mark, drawing.dots)
    parts += map(_mark, drawing.arrows)
    parts += [_part(part, view) for part in others]
    parts += map(_mark, drawing.before)
    parts += map(_words, drawing.words)
    return "\n".join(part for part in (*parts, "</svg>") if part) + "\n"


def _n(value: float) -> str:
    """A coordinate to a tenth, as short as it can be."""
    text = f"{value:.1f}"
    text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _at(spot: Spot) -> str:
    return f"{_n(spot.x)} {_n(spot.y)}"


def _path(mark: Mark) -> str:
    first, *rest = map(_at, mark.points)
    if mark.shape == "curve":
        return f"M{first}C{' '.join(rest)}"
    return f"M{first}{''.join(f'L{spot}' for spot in rest)}{'Z' if mark.shape == 'area' else ''}"


def _mark(mark: Mark) -> str:
    if mark.shape == "disc":
        (middle,) = mark.points
        return f'<circle class="{mark.look}" cx="{_n(middle.x)}" cy="{_n(middle.y)}" r="{_n(mark.radius)}"/>'
    return f'<path class="{mark.look}" d="{_path(mark)}"/>'


def _words(words: Words) -> str:
    look = f' class="{words.look}"' if words.look else ""
    anchor = "" if words.anchor == "start" else f' text-anchor="{words.anchor}"'
    at = f'x="{_n(words.at.x)}" y="{_n(words.at.y)}"'
    if words.turned:
        at += f' transform="rotate(-90 {_at(words.at)})"'
    return f'<text{look} {at} font-size="{_n(words.size)}"{anchor}>{escape(words.text)}</text>'


def _part(part: Drawn, view: str) -> str:
    state = f' data-state="{part.state}"' if part.state else ""
    ident = f'id="{view}-{part.name}" data-part="{part.name}" data-kind="{part.kind}"'
    inner = [f"<title>{escape(part.title)}</title>", *map(_mark, part.marks[:1])]
    if part.water is not None:
        inner += _water(part, part.water, view)
    inner += [*map(_mark, part.marks[1:]), *map(_words, part.words)]
    return f"<g {ident}{state}>{''.join(inner)}</g>"


def _water(part: Drawn, water: Water, view: str) -> Iterator[str]:
    """The water of a tank: a rectangle under the surface, cut off at the wall."""
    ident = f"{view}-{part.name}-inside"
    left, right = min(c.x for c in water.outline), max(c.x for c in water.outline)
    top, foot = min(c.y for c in water.outline), max(c.y for c in water.outline)
    path = _path(Mark("area", water.outline, ""))
    yield f'<clipPath id="{ident}"><path d="{path}"/></clipPath><g clip-path="url(#{ident})">'
    yield (
        f'<g data-level="{part.name}" data-empty="{_n(water.empty)}" data-metre="{water.metre:.2f}" '
        f'transform="translate(0 {_n(water.surface)})">'
    )
    size = f'x="{_n(left)}" y="0" width="{_n(right - left)}" height="{_n(foot - top)}"'
    yield f'<rect class="water {water.look}" {size}/>'
    if water.look == "waste":
        yield f'<rect fill="url(#{view}-grain)" {size}/>'
    yield f'<path class="surface" d="M{_n(left)} 0H{_n(right)}"/></g></g>'
    yield _mark(Mark("area", water.outline, "wall"))


def _run(run: Run, way: str) -> str:
    line = f' data-line="{run.line}"' if run.line >= 0 else ""
    return f'<path class="pipe {run.look}"{line} d="{way}"/>'


def _way(run: Run, over: list[Spot], radius: float) -> str:
    path = [f"M{_at(run.points[0])}"]
    for a, b in zip(run.points, run.points[1:], strict=False):
        sign = 1 if b.x > a.x else -1
        for spot in sorted(
            (s for s in over if a.y == b.y == s.y and min(a.x, b.x) < s.x < max(a.x, b.x)), key=lambda s: sign * s.x
        ):
            near, far = spot.by(-sign * radius, 0), spot.by(sign * radius, 0)
            path.append(f"L{_at(near)}A{_n(radius)} {_n(radius)} 0 0 {1 if sign > 0 else 0} {_at(far)}")
        path.append(f"L{_at(b)}")
    return "".join(path)
