"""Strip charts as SVG and PNG: levels with their limits, flows, and the states of valves and sequences.

The drawing is narrow enough for a phone and its letters keep their size there; a wide screen
shows several side by side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from io import BytesIO, StringIO
from typing import TYPE_CHECKING, Any

from ullage.report.inks import DASHES, LIGHT, Inks
from ullage.report.strip import Bar, Curve, Panel, Sign, Strip

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 3.6
"""Width of a chart [inch at 100 dots]: that of a telephone held upright, so that letters keep their size there."""

PANEL, ROW, HEAD, FOOT, SPACE = 1.05, 0.205, 0.24, 0.36, 0.31
"""Heights of a panel, of a row of bars, of the head, of the time scale, of the space between panels [inch]."""

LEFT, RIGHT_LEAST, RIGHT_MOST = 0.45, 0.62, 1.6
"""Room left and right of the panels for scales and names [inch]."""

NAME, SCALE, WORD = 8.0, 7.5, 7.2
"""Sizes of names, of figures on scales, of words in bars [point]."""

DOTS = 100
"""Dots per inch on a screen; a PNG has twice as many."""

_LEADER = {"arrowstyle": "-", "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0, "relpos": (0, 0.5)}

POINTS_LIMIT = 700
"""A curve is thinned to about this many points: more than the dots it is drawn with."""

LETTER = 0.0665
"""Width of a letter of a name [inch], for deciding whether a word fits."""

HATCHED = 0.05
"""A bar that is narrower carries no hatch [inch]."""

_LOOKS = ("rest", "travel", "open", "alarm")
"""Bars in the order in which they are drawn: what matters more lies above."""


def svg(strip: Strip) -> str:
    """The chart as an SVG document in the light inks (see `ullage.report.inks.named`)."""
    with _manner():
        return _as_svg(_figure(strip, LIGHT), strip)


def png(strip: Strip, inks: Inks = LIGHT) -> bytes:
    """The chart as a PNG image."""
    with _manner():
        return _as_png(_figure(strip, inks))


def svg_and_png(strip: Strip) -> tuple[str, bytes]:
    """The chart both ways, built once."""
    with _manner():
        figure = _figure(strip, LIGHT)
        return _as_svg(figure, strip), _as_png(figure)


def _as_svg(figure: Figure, strip: Strip) -> str:
    out = StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    start = text.index("<svg")
    return text[start:].replace("<svg ", f'<svg role="img" aria-label="{_label(strip)}" ', 1)


def _as_png(figure: Figure) -> bytes:
    out = BytesIO()
    figure.savefig(out, format="png", dpi=2 * DOTS)
    return out.getvalue()


def _label(strip: Strip) -> str:
    shown = [panel.name for panel in strip.panels] + [row.name for row in strip.rows]
    text = f"{strip.title}: {', '.join(shown)} over time"
    return text.replace("&", "and").replace('"', "'").replace("<", "(")


def _manner() -> Any:
    import matplotlib

    return matplotlib.rc_context(
        {
            "svg.fonttype": "none",
            "svg.hashsalt": "ullage",
            "font.family": ["DejaVu Sans"],
            "font.size": 8.0,
            "axes.linewidth": 0.7,
            "hatch.linewidth": 0.7,
            "path.simplify": True,
        }
    )


def _figure(strip: Strip, inks: Inks) -> Figure:
    from matplotlib.figure import Figure

    bars = ROW * (len(strip.rows) + bool(strip.signs)) if strip.rows or strip.signs else 0.0
    height = HEAD + len(strip.panels) * (PANEL + SPACE) + bars + FOOT
    figure = Figure(figsize=(WIDTH, height), dpi=DOTS, facecolor=inks.paper)
    right = _right(strip)
    figure.text(0.1 / WIDTH, 1 - 0.1 / height, strip.title, color=inks.text, size=10.0, weight="bold", va="top")
    bottom = height - HEAD
    for panel in strip.panels:
        bottom -= SPACE + PANEL
        axes = figure.add_axes(_place(bottom, PANEL, height, right))
        _panel(axes, panel, strip, inks)
        axes.tick_params(labelbottom=panel is strip.panels[-1] and not bars)
    if bars:
        bottom -= bars + 0.12
        _rows(figure.add_axes(_place(bottom, bars, height, right)), strip, inks)
    words = clock_marks(strip.start_s, strip.end_s)[1]
    scale = {1: "h:min", 2: "h:min:s"}.get(words[0].count(":") if words else 0, "")
    at = (1 - 0.08 / WIDTH, (bottom - 0.105) / height)
    figure.text(*at, scale, color=inks.faint, size=SCALE, ha="right", va="center")
    return figure


def _right(strip: Strip) -> float:
    """Room for the names at the right [inch]: as the longest one needs, within bounds."""
    names = [row.name for row in strip.rows] + (["happenings"] if strip.signs else [])
    names += [curve.name for panel in strip.panels for curve in panel.curves]
    names += [mark.name for panel in strip.panels for mark in panel.marks]
    return min(max(RIGHT_LEAST, 0.17 + LETTER * max(map(len, names), default=0)), RIGHT_MOST)


def short(name: str, most: int) -> str:
    """A name cut in its middle to so many letters, since names that are alike differ at their ends."""
    if len(name) <= most:
        return name
    return f"{name[: most // 2]}\u2026{name[len(name) - (most - 1 - most // 2) :]}"


def _named(name: str, strip: Strip) -> str:
    return short(name, int((_right(strip) - 0.17) / LETTER + 0.5))


def _place(bottom: float, tall: float, height: float, right: float) -> tuple[float, float, float, float]:
    return LEFT / WIDTH, bottom / height, (WIDTH - LEFT - right) / WIDTH, tall / height


def _dress(axes: Axes, strip: Strip, inks: Inks) -> None:
    axes.set_facecolor(inks.ground)
    axes.set_xlim(strip.start_s, max(strip.end_s, strip.start_s + 1.0))
    times, words = clock_marks(strip.start_s, strip.end_s)
    if sum(map(len, words)) * LETTER > WIDTH - LEFT - _right(strip):
        words = [word if i % 2 == 0 else "" for i, word in enumerate(words)]
    axes.set_xticks(times, words)
    axes.grid(True, color=inks.grid, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(colors=inks.faint, length=2.5, width=0.6, labelsize=SCALE, pad=2)
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(inks.faint)


def _panel(axes: Axes, panel: Panel, strip: Strip, inks: Inks) -> None:
    from matplotlib.ticker import MaxNLocator

    _dress(axes, strip, inks)
    top = max([panel.top, *(mark.value for mark in panel.marks), *(_most(curve) for curve in panel.curves)])
    axes.set_ylim(0, 1.06 * top or 1.0)
    axes.yaxis.set_major_locator(MaxNLocator(4))
    axes.yaxis.set_major_formatter("{x:g}")
    axes.set_title(f"{panel.name}  [{panel.unit}]", loc="left", size=NAME, color=inks.text, pad=3)
    for mark in panel.marks:
        color = {"limit": inks.limit, "wish": inks.wish}.get(mark.kind, inks.faint)
        dash = {"limit": (0, ()), "wish": (0, (5, 2))}.get(mark.kind, (0, (1.2, 1.6)))
        axes.axhline(mark.value, color=color, linewidth=1.0, linestyle=dash)
    ends: list[tuple[float, str, str]] = []
    for i, curve in enumerate(panel.curves):
        time, value = thinned(curve, strip.start_s, strip.end_s, POINTS_LIMIT)
        # The first lies above the others: a reading that follows the water must not hide it.
        wide = 1.7 if i == 0 else 1.2
        (line,) = axes.plot(time, value, color=inks.series(i), linewidth=wide, zorder=3.0 - 0.1 * i)
        if curve.stepped:
            line.set_drawstyle("steps-post")
        if DASHES[i % len(DASHES)]:
            line.set_dashes(DASHES[i % len(DASHES)])
        if len(panel.curves) > 1:
            ends.append((_last(value), _named(curve.name, strip), inks.series(i)))
    ends += [
        (m.value, _named(m.name, strip), {"limit": inks.limit, "wish": inks.wish}.get(m.kind, inks.faint))
        for m in panel.marks
    ]
    _names_at_right(axes, ends, 1.06 * top or 1.0)


def _names_at_right(axes: Axes, ends: list[tuple[float, str, str]], top: float) -> None:
    """Names beside the ends of lines, moved apart where they would stand on each other."""
    least = 0.125 / PANEL * top
    heights = spread([value for value, _, _ in ends], least, 0.0, top)
    for (value, name, color), at in zip(ends, heights, strict=True):
        axes.annotate(
            name,
            xy=(1.0, value / top),
            xytext=(1.05, at / top),
            xycoords="axes fraction",
            textcoords="axes fraction",
            color=color,
            size=NAME,
            va="center",
            annotation_clip=False,
            arrowprops={"color": color, **_LEADER},
        )


def _rows(axes: Axes, strip: Strip, inks: Inks) -> None:
    _dress(axes, strip, inks)
    count = len(strip.rows) + bool(strip.signs)
    axes.set_ylim(count - 0.5, -0.5)
    axes.set_yticks([])
    axes.grid(False)
    seconds_per_inch = (strip.end_s - strip.start_s) / (WIDTH - LEFT - _right(strip))
    for i, row in enumerate(strip.rows):
        axes.axhline(i, color=inks.grid, linewidth=0.8, zorder=0)
        name = _named(row.name, strip)
        axes.text(1.04, i, name, transform=axes.get_yaxis_transform(), size=NAME, va="center", color=inks.text)
        for bar in sorted(row.bars, key=lambda bar: _LOOKS.index(bar.look)):
            _bar(axes, i, bar, strip, inks, seconds_per_inch)
    if strip.signs:
        _signs(axes, count - 1, strip, inks, seconds_per_inch)


def _bar(axes: Axes, row: int, bar: Bar, strip: Strip, inks: Inks, seconds_per_inch: float) -> None:
    start, end = max(bar.start_s, strip.start_s), min(bar.end_s, strip.end_s)
    if end <= start:
        return
    # A bar thinner than a hair would vanish; a short opening of a valve is worth seeing.
    wide = max(end - start, 0.012 * seconds_per_inch)
    look = {"open": inks.open, "travel": inks.travel, "rest": inks.rest, "alarm": inks.alarm}[bar.look]
    hatch = "/////" if bar.look == "travel" and wide > HATCHED * seconds_per_inch else None
    tall = 0.84 if bar.look == "alarm" else 0.68
    axes.broken_barh(
        [(start, wide)], (row - tall / 2, tall), facecolor=look, edgecolor=inks.ground, linewidth=0.4, hatch=hatch
    )
    if bar.look in ("rest", "alarm") and len(bar.word) * LETTER < (end - start) / seconds_per_inch:
        ink = inks.text if bar.look == "rest" else inks.ground
        axes.text((start + end) / 2, row, bar.word, size=WORD, ha="center", va="center", color=ink, clip_on=True)


def _signs(axes: Axes, row: int, strip: Strip, inks: Inks, seconds_per_inch: float) -> None:
    axes.text(1.04, row, "happenings", transform=axes.get_yaxis_transform(), size=NAME, va="center", color=inks.faint)
    free = -math.inf
    for sign in _inside(strip.signs, strip):
        axes.plot([sign.time_s, sign.time_s], [row - 0.42, row - 0.22], color=inks.text, linewidth=0.8)
        need = (len(str(sign.number)) * LETTER + 0.03) * seconds_per_inch / 2
        if sign.time_s - need >= free:
            axes.text(sign.time_s, row + 0.18, str(sign.number), size=WORD, ha="center", va="center", color=inks.text)
            free = sign.time_s + need


def _inside(signs: Sequence[Sign], strip: Strip) -> list[Sign]:
    return [sign for sign in signs if strip.start_s <= sign.time_s <= strip.end_s]


def clock_marks(start_s: float, end_s: float) -> tuple[list[float], list[str]]:
    """Four to eight round times between two times, with their words (``3 h``, ``12:30``)."""
    span = max(end_s - start_s, 1e-3)
    steps = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400, 172800, 604800)
    step = next((step for step in steps if span / step <= 6), steps[-1] * math.ceil(span / steps[-1] / 6))
    first = math.ceil(start_s / step - 1e-9)
    times = [float(i * step) for i in range(first, math.floor(end_s / step + 1e-9) + 1)]
    return times, [clock_word(time, step) for time in times]


def clock_word(time_s: float, step_s: float) -> str:
    """A time since the start, as fine as the step of its scale needs."""
    whole = round(time_s)
    days, rest = divmod(whole, 86400)
    hours, minutes, seconds = rest // 3600, rest % 3600 // 60, rest % 60
    if step_s >= 86400:
        return f"day {days}"
    hours += 24 * days
    return f"{hours}:{minutes:02}" if step_s >= 60 else f"{hours}:{minutes:02}:{seconds:02}"


def spread(values: Sequence[float], least: float, low: float, high: float) -> list[float]:
    """Move values apart to at least a distance, in order and by the least sum of squares.

    Neighbours that come too close form a group that stands about its mean (isotonic regression
    by pooling adjacent violators); then all are pushed within the bounds.

    Parameters
    ----------
    values : sequence of float
        Where each would like to be.
    least : float
        Smallest distance.
    low, high : float
        Bounds.
    """
    order = sorted(range(len(values)), key=lambda i: (values[i], i))
    groups: list[tuple[float, int]] = []
    for rank, i in enumerate(order):
        mean, size = values[i] - rank * least, 1
        while groups and groups[-1][0] >= mean:
            other, more = groups.pop()
            mean, size = (mean * size + other * more) / (size + more), size + more
        groups.append((mean, size))
    at = [mean for mean, size in groups for _ in range(size)]
    placed = [0.0] * len(values)
    for rank, i in enumerate(order):
        below, above = low + rank * least, high - (len(order) - 1 - rank) * least
        placed[i] = min(max(at[rank] + rank * least, below), max(above, below))
    return placed


def thinned(curve: Curve, start_s: float, end_s: float, most: int) -> tuple[list[float], list[float]]:
    """The points of a curve within a stretch of time, and one beyond each end.

    Where there are too many, the first, the least and the greatest of each small group are
    kept, so that no peak is lost.
    """
    time, value = curve.time_s, curve.value
    inside = [i for i in range(len(time)) if start_s <= time[i] <= end_s]
    first = max(inside[0] - 1, 0) if inside else 0
    last = min(inside[-1] + 1, len(time) - 1) if inside else len(time) - 1
    count = last - first + 1
    if count <= most:
        kept: list[int] = list(range(first, last + 1))
    else:
        size = math.ceil(3 * count / most)
        kept = []
        for low in range(first, last + 1, size):
            group = range(low, min(low + size, last + 1))
            least = min(group, key=lambda i: math.inf if math.isnan(value[i]) else value[i])
            greatest = max(group, key=lambda i: -math.inf if math.isnan(value[i]) else value[i])
            kept += sorted({low, least, greatest})
        kept += [last] if kept[-1] != last else []
    return [float(time[i]) for i in kept], [float(value[i]) for i in kept]


def _most(curve: Curve) -> float:
    return max((float(v) for v in curve.value if not math.isnan(v)), default=0.0)


def _last(values: Sequence[float]) -> float:
    return next((v for v in reversed(values) if not math.isnan(v)), 0.0)
