"""The sequence chart: what it shows, and that nothing in it stands on anything else."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import matplotlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.ft2font import FT2Font, LoadFlags

from tests.share import share
from tests.unit.report.made import Transition, program
from tests.unit.report.seeing import contrast
from ullage.control.check import Examined
from ullage.control.program import Program
from ullage.report.chart_graph import dominators, downward, graph_of
from ullage.report.chart_layout import (
    NAME_SIZE,
    SMALL_SIZE,
    TEXT_SIZE,
    Box,
    Layout,
    action_columns,
    lay_out,
    row_height,
)
from ullage.report.lettering import CELL, cells, room, wrap
from ullage.report.sequence_chart import STYLE, head_lines, sequence_chart

SVG = "{http://www.w3.org/2000/svg}"

FILL = program(
    ["ready", "opening", "filling", "closing", "dry_hose", "filled"],
    [
        (("ready",), ("opening",), ""),
        (("opening",), ("filling",), "shore_in is open"),
        (("filling",), ("closing",), "(belly_level >= target) or (belly_float held 1 s)"),
        (("filling",), ("dry_hose",), "((shore_meter < 0.5 L/min) held 20 s) and (since step 20 s)"),
        (("dry_hose",), ("filled",), "(shore_in is closed) and (since step 60 s)"),
        (("closing",), ("filled",), "shore_in is closed"),
    ],
    {
        "opening": [("N", "shore_in", "open", 0), ("L", "port_lamp", "amber", 3000)],
        "filling": [("S", "shore_in", "open", 0)],
        "closing": [("N", "shore_in", "closed", 0)],
    },
    {"filling": "Water flows into belly & nobody waits."},
    ("filled",),
    "fill",
)

PARALLEL = program(
    ["ready", "a", "b", "c", "d", "last"],
    [
        (("ready",), ("a", "b"), "both at once"),
        (("a",), ("c",), "a done"),
        (("c", "b"), ("d",), "both done"),
        (("d",), ("last",), "on"),
        (("d",), ("ready",), "again"),
    ],
)


def root(made: Program) -> ElementTree.Element:
    return ElementTree.fromstring(sequence_chart(made, 0))


def texts(made: Program) -> list[str]:
    return ["".join(t.itertext()) for t in root(made).iter(f"{SVG}text")]


def layout(made: Program) -> Layout:
    return lay_out(graph_of(made, 0))


def test_every_step_condition_and_action_is_in_the_picture() -> None:
    """A person who checks the valves by the picture must not miss one that it leaves out."""
    shown = " ".join(texts(FILL))
    for word in ("ready", "opening", "filling", "closing", "dry_hose", "filled", "shore_in is open", "true"):
        assert word in shown
    for row in (
        ("N", "shore_in: open"),
        ("L", "port_lamp: amber", "3 s"),
        ("S", "shore_in: open"),
        ("N", "shore_in: closed"),
    ):
        assert all(word in texts(FILL) for word in row)
    assert "(belly_level >= target) or (belly_float held 1 s)" in shown


def test_the_initial_step_alone_has_a_double_box() -> None:
    """IEC 61131-3, common practice: without the double box nobody sees where a sequence begins."""
    inner = [r for r in root(FILL).iter(f"{SVG}rect") if "inner" in r.get("class", "")]
    assert len(inner) == 1
    outer = [r for r in root(FILL).iter(f"{SVG}rect") if r.get("class") == "box first"]
    assert len(outer) == 1
    assert float(outer[0].get("x", 0)) < float(inner[0].get("x", 0))


def test_parallel_branches_stand_between_double_lines_and_choices_between_single_ones() -> None:
    """IEC 61131-3: a choice that looks like a parallel branch makes a reader expect both valves to move."""
    parallel = [run for run in layout(PARALLEL).runs if run.double]
    assert len(parallel) == 2
    assert not [run for run in layout(FILL).runs if run.double]
    across = [run for run in layout(FILL).runs if run.y1 == run.y2 and run.x1 != run.x2]
    assert len(across) == 2


def test_a_loop_is_drawn_as_a_jump_with_the_name_of_its_step() -> None:
    """A line that ends in nothing would look like the end of the sequence."""
    jumps = [box.lines for box in layout(PARALLEL).boxes if box.part == "jump"]
    assert jumps == [("ready",)]


def test_the_same_program_gives_the_same_picture_to_the_byte() -> None:
    """A picture that changes by itself hides the change that matters in a comparison."""
    assert sequence_chart(FILL, 0) == sequence_chart(FILL, 0)


def test_text_of_the_rig_cannot_break_out_of_the_picture() -> None:
    """An announcement with a mark-up character must be shown, not obeyed."""
    made = program(["a", "b"], [(("a",), ("b",), "x < 3 L")], says={"a": "<script>alert(1)</script> & more"})
    shown = "".join(texts(made))
    assert "<script>" in shown
    assert not [e for e in root(made).iter() if e.tag.endswith("script")]


def overlapping(a: Box, b: Box) -> bool:
    return a.x < b.x + b.width and b.x < a.x + a.width and a.y < b.y + b.height and b.y < a.y + a.height


def assert_clear(made: Layout) -> None:
    """No two boxes overlap, no line runs through a box, nothing lies outside, every edge is drawn."""
    for a, b in itertools.combinations(made.boxes, 2):
        assert not overlapping(a, b), (a, b)
    for run in made.runs:
        for box in made.boxes:
            inside_x = max(run.x1, run.x2) > box.x + 1 and min(run.x1, run.x2) < box.x + box.width - 1
            inside_y = max(run.y1, run.y2) > box.y + 1 and min(run.y1, run.y2) < box.y + box.height - 1
            assert not (inside_x and inside_y), (run, box)
    for box in made.boxes:
        assert box.x >= 0
        assert box.y >= 0
        assert box.x + box.width <= made.width
        assert box.y + box.height <= made.height
    for run in made.runs:
        assert min(run.x1, run.x2) >= 0
        assert max(run.x1, run.x2) <= made.width


def assert_text_fits(made: Layout) -> None:
    for box in made.boxes:
        name_width, name_height = room(box.lines, NAME_SIZE if box.part == "step" else TEXT_SIZE)
        small_width, small_height = room(box.small, SMALL_SIZE)
        assert max(name_width, small_width) <= box.width + 1e-6
        assert name_height + small_height <= box.height + 1e-6
        if box.rows:
            assert sum(action_columns(box.rows)) == pytest.approx(box.width)
            assert len(box.rows) * row_height() == pytest.approx(box.height)


@st.composite
def charts(draw: st.DrawFn) -> Program:
    """Any sequence that the compiler could let pass, and many that it would not."""
    steps = [f"step_{i}" for i in range(draw(st.integers(1, 9)))]
    some = st.lists(st.sampled_from(steps), min_size=1, max_size=3, unique=True)
    way = st.tuples(some.map(tuple), some.map(tuple), st.text("abc()<>= 123", max_size=90))
    transitions: list[Transition] = draw(st.lists(way, max_size=14))
    rows = st.lists(
        st.tuples(
            st.sampled_from(["N", "SD"]),
            st.sampled_from(["pump", "a_rather_long_valve"]),
            st.just("open"),
            st.integers(0, 9999),
        ),
        max_size=3,
    )
    demands = {step: draw(rows) for step in steps}
    says = {step: draw(st.text(max_size=60)) for step in steps}
    return program(steps, transitions, demands, says, steps[-1:])


def test_nothing_stands_on_anything_else_in_any_chart() -> None:
    """Two boxes on each other hide the one valve that somebody is looking for."""

    @settings(max_examples=share(20_000, 300), deadline=None)
    @given(charts())
    def hold(made: Program) -> None:
        laid = layout(made)
        assert_clear(laid)
        assert_text_fits(laid)
        ElementTree.fromstring(sequence_chart(made, 0))

    hold()


def test_every_edge_is_drawn_as_a_line_or_a_jump() -> None:
    """A way on that is missing in the picture is a valve that moves without anybody expecting it."""

    @settings(max_examples=share(5_000, 150), deadline=None)
    @given(charts())
    def hold(made: Program) -> None:
        graph = graph_of(made, 0)
        laid = layout(made)
        for node, targets in enumerate(graph.after):
            assert len(laid.graph.after[node]) == len(targets)
            for before, now in zip(targets, laid.graph.after[node], strict=True):
                if now != before:
                    jump = laid.graph.nodes[now]
                    assert jump.kind == "jump"
                    assert graph.nodes[before].text in jump.text
                else:
                    assert any(run.to == now for run in laid.runs)

    hold()


def test_dominators_are_those_of_a_worked_example() -> None:
    """A branch drawn below the wrong step tells another sequence than the one that runs.

    Worked by hand: in FILL the steps closing and dry_hose meet again in filled, and every way
    to filled leads through filling.
    """
    graph, order = downward(graph_of(FILL, 0))
    above = dominators(graph, order)
    texts_of = [node.text for node in graph.nodes]
    assert texts_of[above[texts_of.index("filled")]] == "filling"
    assert above[texts_of.index("ready")] == -1


def test_letters_take_no_more_room_than_is_kept_for_them() -> None:
    """Text that runs out of its box cannot be read; measured with a real font, DejaVu Sans Mono."""
    path = Path(matplotlib.get_data_path(), "fonts/ttf/DejaVuSansMono.ttf")
    font = FT2Font(str(path))
    font.set_size(100.0, 72)
    for text in ("belly_level >= target - 3 %", "MMMMWWWW", "((since step 20 s))"):
        font.set_text(text, 0.0, flags=LoadFlags.NO_HINTING)
        assert font.get_width_height()[0] / 64 <= cells(text) * CELL * 100


def test_conditions_break_before_and_and_or_and_never_between_number_and_unit() -> None:
    """'held 20' at the end of one line and 's' on the next is read wrongly from two metres away."""
    assert wrap("(shore_in is closed) and (since step 60 s)", 34) == ("(shore_in is closed)", "and (since step 60 s)")
    for most in range(8, 40):
        lines = wrap("((shore_meter < 0.5 L/min) held 20 s) and (since step 20 s)", most)
        assert all(cells(line) <= most for line in lines)
        assert not any(line.endswith((" 20", "(20", " 0.5")) for line in lines)
        assert "".join(lines).replace(" ", "") == "((shore_meter<0.5L/min)held20s)and(sincestep20s)"


def test_every_condition_stands_in_the_chart_as_in_the_file(marram: Examined) -> None:
    """'target - 1.71538 L' is found in no file, and read as a precision that no sender has."""
    assert marram.rig is not None
    assert marram.program is not None
    names = list(marram.rig.sequences)
    assert names == list(marram.program.names.sequences)
    for row, (name, sequence) in enumerate(marram.rig.sequences.items()):
        head = head_lines(sequence)
        shown = " ".join(ElementTree.fromstring(sequence_chart(marram.program, row, head)).itertext())
        for written in filter(None, (sequence.permit, sequence.stay, sequence.begins)):
            assert " ".join(written.split()) in " ".join(head), name
            assert " ".join(written.split()) in " ".join(shown.split()), name
    assert head_lines(marram.rig.sequences["empty"])[-1] == "waits for a person to confirm before it starts"


@pytest.mark.parametrize("dark", [False, True])
def test_every_letter_of_a_sequence_chart_stands_out(dark: bool) -> None:
    """A chart read in the sun must still say which valve opens. WCAG 2.2: 4.5 for text, 3 for lines."""
    light, _, night = STYLE.partition("@media (prefers-color-scheme:dark)")

    def ink(kind: str, what: str) -> str:
        found = re.findall(rf"\.{kind}[^{{}}]*\{{[^}}]*?\b{what}:(#[0-9a-f]{{3,6}})", (night if dark else light))
        assert found, (kind, what)
        return found[0] if len(found[0]) == 7 else "#" + "".join(2 * digit for digit in found[0][1:])

    grounds = [ink(kind, "fill") for kind in ("paper", "box", "first", "cell")]
    letters = [ink("small", "fill"), ink("jump", "fill"), ink("sfc text", "fill")]
    for ground in grounds:
        assert all(contrast(letter, ground) >= 4.5 for letter in letters), ground
        assert contrast(ink("line", "stroke"), ground) >= 3.0
