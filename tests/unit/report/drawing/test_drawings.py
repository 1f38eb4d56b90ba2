"""The drawings of the example rigs: everything is there once, nothing stands on anything else, lines join ends."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ElementTree
from collections import Counter
from itertools import pairwise

import pytest

from tests.unit.report.drawing.conftest import ALL, RIGS, Draw, example
from tests.unit.report.seeing import contrast
from ullage.report.drawing.crossings import jumps
from ullage.report.drawing.labels import DRAWN, DRIVEN, METERED
from ullage.report.drawing.looks import LOOKS
from ullage.report.drawing.outline import reach, widths
from ullage.report.drawing.scaled import first_depths
from ullage.report.drawing.scene import Drawing, Drawn, Rect, Spot
from ullage.report.drawing.sheet import SHEETS, SheetName
from ullage.report.drawing.svg import svg
from ullage.report.drawing.views import VIEWS, ViewName, view
from ullage.report.inks import DARK, LIGHT
from ullage.rig.model import Rig, Shape, Strapping
from ullage.rig.names import IN_LINE, named, parts
from ullage.rig.shapes import volume

SVG = "{http://www.w3.org/2000/svg}"

CROSSINGS = {"marram": 6, "crumb": 3, "turnstone": 2, "bothy": 2}
"""No drawing of a rig has more crossings than this."""

TRESPASSES = 4
"""No drawing runs so many lines through something else; on a page none does but where a tank stands on the ground."""


def shown(rig: Rig, at: ViewName, sheet: SheetName) -> set[str]:
    """The names of the parts that a drawing has to hold."""
    if sheet == "handset":
        kinds = set(DRAWN) - set(IN_LINE) - {"senders", "floats", "probes", "accumulators"} | set(DRIVEN)
    elif sheet == "phone" and at != "flow":
        kinds = set(DRAWN) - set(IN_LINE) | set(METERED)
    else:
        kinds = set(DRAWN)
    return {name for _, name, _ in parts(rig, *sorted(kinds))}


@pytest.mark.parametrize(("rig", "at", "sheet"), ALL)
def test_every_part_stands_in_its_drawing_once(drawn: Draw, rig: str, at: ViewName, sheet: SheetName) -> None:
    """A valve that is missing in the picture is the one that is not found when it leaks."""
    counts = Counter(part.name for part in drawn(rig, at, sheet).parts)
    assert set(counts) == shown(example(rig), at, sheet)
    assert set(counts.values()) == {1}


@pytest.mark.parametrize(("rig", "at", "sheet"), ALL)
def test_every_name_can_be_read(drawn: Draw, rig: str, at: ViewName, sheet: SheetName) -> None:
    """A number without a key, or a symbol without a name, is a riddle."""
    drawing = drawn(rig, at, sheet)
    texts = [words.text for words in drawing.words + [w for part in drawing.parts for w in part.words]]
    read = " ".join(texts).split()
    named_here = shown(example(rig), at, sheet)
    if sheet == "handset":
        named_here &= named(example(rig), "tanks", "ports", "fixtures").keys()
    assert named_here <= set(read)
    assert example(rig).rig in read
    if sheet == "phone":
        for name in shown(example(rig), at, sheet) - named(example(rig), "tanks", "ports", "fixtures").keys():
            (number,) = {b for b, a in pairwise(texts) if a.split()[0] == name and b.isdigit()}
            assert number in [word for part in drawing.parts if part.name == name for word in texts_of(part)], name


def texts_of(part: Drawn) -> list[str]:
    return [words.text for words in part.words]


def boxes(drawing: Drawing) -> list[tuple[str, Rect]]:
    """The room of all symbols and all words; what stands within a tank is told from the tank itself."""
    found = []
    for part in drawing.parts:
        if part.kind == "pipes":
            found += [(part.name, words.box) for words in part.words]
        else:
            found += [(part.name, box) for box in part.boxes]
    return found + [(words.text, words.box) for words in drawing.words]


@pytest.mark.parametrize(("rig", "at", "sheet"), [each for each in ALL if each[2] != "handset"])
def test_no_symbol_and_no_word_stands_on_another(drawn: Draw, rig: str, at: ViewName, sheet: SheetName) -> None:
    """Two names on each other are none."""
    for (name, box), (other, more) in itertools.combinations(boxes(drawn(rig, at, sheet)), 2):
        assert not box.meets(more, 0.5), (name, box, other, more)


@pytest.mark.parametrize(("rig", "at", "sheet"), ALL)
def test_nothing_leaves_the_sheet(drawn: Draw, rig: str, at: ViewName, sheet: SheetName) -> None:
    """What lies beyond the edge is not printed."""
    drawing = drawn(rig, at, sheet)
    whole = Rect(0, 0, drawing.width, drawing.height)
    spots = [spot for run in drawing.runs for spot in run.points]
    for name, box in [*boxes(drawing), *((str(spot), Rect(*spot, *spot)) for spot in spots)]:
        assert box.x1 >= whole.x1 - 1, name
        assert box.y1 >= whole.y1 - 1, name
        assert box.x2 <= whole.x2 + 1, name
        assert box.y2 <= whole.y2 + 1, name


@pytest.mark.parametrize(("rig", "at", "sheet"), ALL)
def test_every_line_joins_its_ends_through_its_parts_in_order(
    drawn: Draw, rig: str, at: ViewName, sheet: SheetName
) -> None:
    """A line that ends in nothing, or passes the check valve last, is another plumbing."""
    drawing = drawn(rig, at, sheet)
    by_name = {part.name: part for part in drawing.parts}
    for i, line in enumerate(example(rig).lines):
        runs = [run.points for run in drawing.runs if run.line == i]
        points = runs[0] if len(runs) == 1 else (*runs[0], *runs[1])
        assert len(runs) in (1, 2)
        assert runs[0][-1] == runs[-1][0] or len(runs) == 1
        for end, spot in ((line.start, points[0]), (line.end, points[-1])):
            box = by_name[end.partition(".")[0]].box.grown(1.0)
            assert box.x1 <= spot.x <= box.x2, (line, end, spot, box)
            assert box.y1 <= spot.y <= box.y2, (line, end, spot, box)
        for a, b in pairwise(points):
            assert a.x == b.x or a.y == b.y, (line, a, b)
        passed = [along(points, by_name[n].box.middle) for n in line.through if n in by_name and n not in pipes(rig)]
        assert passed == sorted(passed), line


def pipes(rig: str) -> set[str]:
    return set(example(rig).pipes)


def along(points: tuple[Spot, ...], middle: Spot) -> float:
    """How far along a line its nearest place to the middle of a symbol lies; symbols may reach to one side."""
    best, walked = (1e9, 0.0), 0.0
    for a, b in pairwise(points):
        x, y = min(max(middle.x, min(a.x, b.x)), max(a.x, b.x)), min(max(middle.y, min(a.y, b.y)), max(a.y, b.y))
        gap = abs(middle.x - x) + abs(middle.y - y)
        if gap < best[0] - 1e-9:
            best = gap, walked + abs(x - a.x) + abs(y - a.y)
        walked += abs(b.x - a.x) + abs(b.y - a.y)
    assert best[0] <= 25.0
    return best[1]


def crossings(drawing: Drawing) -> int:
    """How often lines cross."""
    return len({spot for spots in jumps(drawing.runs) for spot in spots})


def through(drawing: Drawing, rig: Rig) -> int:
    """How many stretches run through a tank that their line does not end in."""
    count = 0
    for run in (run for run in drawing.runs if run.line >= 0):
        ends = {rig.lines[run.line].start.partition(".")[0], rig.lines[run.line].end.partition(".")[0]}
        for a, b in pairwise(run.points):
            way = Rect(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y)).grown(0.1)
            tanks = [part for part in drawing.parts if part.kind == "tanks" and part.name not in ends]
            count += any(way.meets(part.box.grown(-1.0)) for part in tanks)
    return count


@pytest.mark.parametrize(("rig", "at", "sheet"), ALL)
def test_lines_seldom_cross_and_run_through_no_tank(drawn: Draw, rig: str, at: ViewName, sheet: SheetName) -> None:
    """A tangle is not followed with a finger; a line through a tank looks as if it ended there."""
    drawing = drawn(rig, at, sheet)
    assert crossings(drawing) <= (0 if at == "flow" else CROSSINGS[rig])
    assert through(drawing, example(rig)) == 0
    assert drawing.trespasses <= (TRESPASSES if sheet != "a4" else 2 * (rig == "bothy"))


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize("at", ["side", "plan"])
def test_tanks_are_drawn_to_one_scale_where_they_stand(drawn: Draw, rig: str, at: ViewName) -> None:
    """Whoever measures on the drawing whether the tank fits under the bed must not cut the bed."""
    drawing, tanks = drawn(rig, at, "a4"), example(rig).tanks
    boxes = {part.name: part.box for part in drawing.parts if part.kind == "tanks"}
    scales, offsets = set(), set()
    for name, tank in tanks.items():
        x1, _, x2, _ = reach(tank.shape, "side" if at == "side" else "plan")
        scale = (boxes[name].x2 - boxes[name].x1) / (x2 - x1)
        up = tank.floor_at.z if at == "side" else tank.floor_at.y
        low = boxes[name].y2 if at == "side" else boxes[name].middle.y
        scales.add(round(scale, 6))
        offsets.add((round(boxes[name].middle.x - scale * tank.floor_at.x, 4), round(low + scale * up, 4)))
    assert len(scales) == 1
    assert len(offsets) == 1


def test_the_water_stands_at_the_depth_of_its_volume(drawn: Draw) -> None:
    """A level that is drawn too high is trusted at the tap. Marram's belly: 25 % of 1.0 m x 0.5 m x 0.28 m is 70 mm."""
    depths = first_depths(example("marram"))
    assert depths["belly"] == pytest.approx(0.070)
    part = next(part for part in drawn("marram", "side", "a4").parts if part.name == "belly")
    assert part.water is not None
    assert (part.water.empty - part.water.surface) / (part.box.y2 - part.box.y1) == pytest.approx(0.070 / 0.320)


def test_the_scale_is_as_long_as_it_says(drawn: Draw) -> None:
    """A scale that lies makes every measure lie."""
    drawing = drawn("marram", "side", "a4")
    bar = [mark.points for mark in drawing.before if mark.look.startswith("bar")]
    belly = next(part for part in drawing.parts if part.name == "belly")
    assert "1 m" in [words.text for words in drawing.words]
    assert bar[-1][1].x - bar[0][0].x == pytest.approx(belly.box.x2 - belly.box.x1)  # belly is 1000 mm long


def test_a_strapping_table_is_drawn_as_the_profile_of_its_area() -> None:
    """A tank drawn as a box holds at half height what it does not hold. 10 L in 100 mm are 0.1 m2, 40 L 0.4 m2."""
    table = Strapping(table=(("0 mm", "0 L"), ("100 mm", "10 L"), ("200 mm", "50 L")))  # type: ignore[arg-type]
    (_, _), (low, narrow), (high, wide), (_, _) = widths(table)
    assert (low, narrow) == pytest.approx((0.05, 0.1**0.5))
    assert (high, wide) == pytest.approx((0.15, 0.4**0.5))
    shape = Shape(strapping=table)
    assert volume(shape, 0.2) == pytest.approx(0.05)
    assert reach(shape, "side")[2] == pytest.approx(0.5 * 0.4**0.5)


@pytest.mark.parametrize("at", VIEWS)
def test_the_same_rig_gives_the_same_drawing_to_the_byte(at: ViewName) -> None:
    """A picture that changes by itself hides the change that matters in a comparison."""
    assert view(example("marram"), at, "phone") == view(example("marram"), at, "phone")


def test_text_of_the_rig_cannot_break_out_of_the_drawing() -> None:
    """The name of a rig is free text: it must be shown, not obeyed."""
    rig = example("turnstone").model_copy(update={"rig": '</title><script>x</script>"&'})
    root = ElementTree.fromstring(view(rig, "side"))
    assert not [e for e in root.iter() if e.tag.endswith("script")]
    assert "<script>x</script>" in "".join(root.itertext())


@pytest.mark.parametrize("at", VIEWS)
def test_a_live_page_finds_parts_lines_and_levels(drawn: Draw, at: ViewName) -> None:
    """A level that a page cannot find stands still while the tank runs over."""
    rig = example("marram")
    root = ElementTree.fromstring(svg(drawn("marram", at, "a4"), SHEETS["a4"].unit))
    groups = {e.get("data-part"): e for e in root.iter() if e.get("data-part")}
    assert set(groups) == shown(rig, at, "a4")
    assert all(e.find(f"{SVG}title") is not None for e in groups.values())
    assert {e.get("data-line") for e in root.iter() if e.get("data-line")} == {str(i) for i in range(len(rig.lines))}
    levels = {e.get("data-level"): e for e in root.iter() if e.get("data-level")}
    assert set(levels) == set(rig.tanks)
    for name, level in levels.items():
        empty, metre = float(level.get("data-empty", 0)), float(level.get("data-metre", 0))
        surface = float(level.get("transform", "").split()[1].rstrip(")"))
        assert surface == pytest.approx(empty - metre * first_depths(rig)[name], abs=0.2)
    idents = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(idents) == len(set(idents))


def test_other_depths_move_the_water_and_nothing_else() -> None:
    """A live page that is drawn anew must not make the pipes jump."""
    rig = example("marram")
    low, high = view(rig, "side"), view(rig, "side", depths={"gray": 0.2})
    changed = [(a, b) for a, b in zip(low.splitlines(), high.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert 'data-part="gray"' in changed[0][0]


@pytest.mark.parametrize("dark", [False, True])
def test_everything_stands_out_on_paper_and_by_night(dark: bool) -> None:
    """A drawing that is read in the sun or in the dark. WCAG 2.2: 4.5 for text, 3 for lines."""
    inks = DARK if dark else LIGHT
    own = LOOKS["dark" if dark else "light"]
    for ground in (inks.paper, own["metal"], own["water"], own["waste"]):
        assert contrast(inks.text, ground) >= 4.5
    assert contrast(inks.faint, inks.paper) >= 4.5
    for line in (inks.series_1, inks.series_2, inks.series_5, inks.text):
        assert contrast(line, inks.paper) >= 3.0
