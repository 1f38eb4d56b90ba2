"""Any rig whose names are in order can be drawn, however odd its plumbing."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.share import share
from ullage.report.drawing.sheet import SHEETS, SheetName
from ullage.report.drawing.svg import svg
from ullage.report.drawing.views import VIEWS, ViewName, composed
from ullage.rig.model import Rig

SHAPES = [
    {"box": {"length": "0.8 m", "width": "0.4 m", "height": "0.3 m", "corner": "40 mm"}},
    {"upright": {"diameter": "0.5 m", "height": "0.9 m"}},
    {"lying": {"diameter": "0.4 m", "length": "1.2 m", "along": "y"}},
    {"strapping": {"table": [["0 mm", "0 L"], ["50 mm", "1 L"], ["300 mm", "60 L"], ["310 mm", "60.1 L"]]}},
]

PART = {
    "pipes": {"bore": "12 mm", "length": "1 m"},
    "checks": {"kv": "2 m3/h"},
    "restrictors": {"kv": "1 m3/h"},
    "valves": {"kind": "ball", "kv": "2 m3/h"},
    "meters": {"error": "2 %", "every": "1 s", "kv": "2 m3/h"},
    "heaters": {"volume": "5 L", "bore": "12 mm"},
    "pumps": {"curve": [{"flow": "0 L/min", "pressure": "2 bar"}, {"flow": "9 L/min", "pressure": "0 bar"}]},
}


@st.composite
def rigs(draw: st.DrawFn) -> Rig:
    """A small rig with tanks, ports, points and taps anywhere, one upon the other as well."""
    place = st.fixed_dictionaries({axis: st.integers(-3, 3).map(lambda d: f"{d / 2} m") for axis in "xyz"})
    some = st.integers(0, 2)
    tanks = {
        f"tank_{i}": {
            "holds": draw(st.sampled_from(["potable", "waste"])),
            "shape": draw(st.sampled_from(SHAPES)),
            "floor_at": draw(place),
            "openings": {"a": {"at": "290 mm"}, "b": {"at": "0 mm", "x": draw(st.sampled_from(["0 m", "0.3 m"]))}},
            "overflow": {"bore": "30 mm", "at": "250 mm"},
            "vent": {"bore": "20 mm"},
            "starts_with": f"{draw(st.integers(0, 100))} %",
        }
        for i in range(draw(st.integers(0, 3)))
    }
    ports = {
        f"port_{i}": {"kind": draw(st.sampled_from(["supply", "discharge"])), "at": draw(place)}
        for i in range(draw(some))
    }
    points = {f"point_{i}": {"at": draw(place)} for i in range(draw(some))}
    fixtures = {f"tap_{i}": {"flow": "5 L/min", "at": draw(place)} for i in range(draw(some))}
    ends = [*(f"{tank}.{o}" for tank in tanks for o in "ab"), *ports, *points, *fixtures]
    inline: dict[str, dict[str, object]] = {kind: {} for kind in PART}
    lines = []
    for n in range(draw(st.integers(0, 5)) if len(ends) > 1 else 0):
        start, end = draw(st.lists(st.sampled_from(ends), min_size=2, max_size=2, unique=True))
        through = []
        for k, kind in enumerate(draw(st.lists(st.sampled_from(sorted(PART)), max_size=5))):
            inline[kind][f"{kind[:-1]}_{n}_{k}"] = PART[kind]
            through.append(f"{kind[:-1]}_{n}_{k}")
        lines.append({"from": start, "through": through, "to": end})
    on = {"error": "2 %", "every": "1 s"}
    senders = {f"level_{i}": {"on": tank, **on} for i, tank in enumerate(tanks)}
    floats = {f"float_{i}": {"on": tank, "at": "200 mm"} for i, tank in enumerate(tanks)}
    bottles = {f"bottle_{name}": {"at": name, "volume": "1 L", "precharge": "1 bar"} for name in points}
    written = {"rig": draw(st.text(min_size=1, max_size=20)), "tanks": tanks, "ports": ports, "points": points}
    written |= {"fixtures": fixtures, "lines": lines, "senders": senders, "floats": floats, "accumulators": bottles}
    return Rig.model_validate({**written, **inline})


def test_any_rig_is_drawn() -> None:
    """A traceback in place of a picture, just for the rig that is not finished yet."""

    @settings(max_examples=share(2_000, 30), deadline=None)
    @given(rigs(), st.sampled_from(VIEWS), st.sampled_from(sorted(SHEETS)))
    def hold(rig: Rig, at: ViewName, sheet: SheetName) -> None:
        drawing = composed(rig, at, sheet)
        ElementTree.fromstring(svg(drawing, SHEETS[sheet].unit))
        names = [part.name for part in drawing.parts]
        assert set(names) >= {*rig.tanks, *rig.ports, *rig.points, *rig.fixtures}
        assert len(names) == len(set(names))

    hold()


@pytest.mark.parametrize("sheet", sorted(SHEETS))
@pytest.mark.parametrize("at", VIEWS)
def test_a_line_longer_than_the_sheet_is_drawn(at: ViewName, sheet: SheetName) -> None:
    """The sheet grows for what has to stand on it; a limit of the drawing must not be a limit of the rig."""
    valves = {f"valve_{i}": PART["valves"] for i in range(60)}
    ports = {"a": {"kind": "supply"}, "b": {"kind": "discharge", "at": {"x": "1 m"}}}
    lines = [{"from": "a", "through": list(valves), "to": "b"}]
    rig = Rig.model_validate({"rig": "long", "ports": ports, "valves": valves, "lines": lines})
    drawing = composed(rig, at, sheet)
    assert {part.name for part in drawing.parts} >= valves.keys()
    boxes = [part.box for part in drawing.parts]
    assert max(box.x2 for box in boxes) <= drawing.width
    assert max(box.y2 for box in boxes) <= drawing.height
