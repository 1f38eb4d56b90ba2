"""Bars and episodes from records, levels from the rig."""

from __future__ import annotations

from ullage.control import codes
from ullage.control.check import Examined
from ullage.control.record import Record
from ullage.plant import words as plant
from ullage.report.levels import marks_of, wishes_of
from ullage.report.states import CALM_MS, EPISODES_LIMIT, episodes, rows_of
from ullage.report.strip import Bar
from ullage.report.words import Names

DAY_MS = 86_400_000


def fill(names: Names, start: int = 60_000, end: int = 660_000) -> list[Record]:
    """A fill with its valve, as the law and the plant would record it."""
    program = names.program
    row, filling = program.sequence("fill"), program.step("fill.filling")
    valve = list(names.rig.valves).index("shore_in")
    return [
        Record(start, codes.R_STATE, row, codes.RUNNING, codes.BY_COMMAND),
        Record(start, plant.P_VALVE, valve, 3, 0),
        Record(start + 5_000, plant.P_VALVE, valve, 1, 1000),
        Record(start + 5_000, codes.R_STEP, filling, 1, row),
        Record(end, codes.R_STEP, filling, 0, row),
        Record(end, plant.P_VALVE, valve, 3, 0),
        Record(end + 5_000, plant.P_VALVE, valve, 0, 0),
        Record(end + 5_000, codes.R_STATE, row, codes.COMPLETE, codes.FINISHED),
    ]


def test_steps_and_valves_become_bars_with_their_times(names: Names) -> None:
    """A valve drawn open a minute too long sends a person to look for a leak that is not there."""
    rows = {row.name: row.bars for row in rows_of(fill(names), names, DAY_MS)}
    assert rows["fill"] == (Bar(65.0, 660.0, "filling", "rest"),)
    assert rows["shore_in"] == (
        Bar(60.0, 65.0, "travelling", "travel"),
        Bar(65.0, 660.0, "open", "open"),
        Bar(660.0, 665.0, "travelling", "travel"),
    )


def test_what_lasts_to_the_end_is_drawn_to_the_end(names: Names) -> None:
    """An interlock that is still tripped when the run ends must be seen."""
    lock = names.program.interlock("belly_high")
    records = [Record(1000, codes.R_INTERLOCK, lock, codes.TRIPPED, codes.TRUE), Record(5000, plant.P_POWER, 0, 0, 0)]
    rows = {row.name: row.bars for row in rows_of(records, names, 9000)}
    assert rows["belly_high"] == (Bar(1.0, 9.0, "tripped", "alarm"),)
    assert rows["power"] == (Bar(5.0, 9.0, "gone", "alarm"),)


def test_a_latched_interlock_is_told_from_a_tripped_one(names: Names) -> None:
    """Whoever thinks that it trips again and again looks for the wrong cause."""
    lock = names.program.interlock("belly_high")
    states = ((1, codes.TRIPPED), (2, codes.LATCHED), (3, codes.CLEAR))
    records = [Record(now * 1000, codes.R_INTERLOCK, lock, state, 0) for now, state in states]
    (row,) = rows_of(records, names, 9000)
    assert [(bar.start_s, bar.end_s, bar.word) for bar in row.bars] == [(1.0, 2.0, "tripped"), (2.0, 3.0, "latched")]


def test_harm_has_a_row_of_its_own_below(names: Names) -> None:
    """A flood between eight rows of valves is overlooked."""
    records = [*fill(names), Record(700_000, plant.P_INDOORS, 0, 1, 0), Record(800_000, plant.P_INDOORS, 0, 0, 90)]
    rows = rows_of(records, names, DAY_MS)
    assert rows[-1].name == "belly indoors"
    assert rows[-1].bars == (Bar(700.0, 800.0, "floods", "alarm"),)


def test_an_episode_holds_what_belongs_together_and_is_named_after_it(names: Names) -> None:
    """A chart that cuts off the closing of the valve hides that it stuck."""
    records = [*fill(names), *fill(names, 30_000_000, 30_600_000)]
    found = episodes(rows_of(records, names, DAY_MS), records, names, DAY_MS)
    assert [e.name for e in found] == ["fill", "fill"]
    assert found[0].start_ms <= 60_000 < 665_000 < found[0].end_ms < 1_000_000
    assert found[0].start_ms >= 0
    assert [e.began_ms for e in found] == [60_000, 30_000_000]


def test_near_stretches_are_one_episode_and_many_have_a_limit(names: Names) -> None:
    """Forty charts are looked at by nobody."""
    near = [*fill(names, 60_000, 100_000), *fill(names, 100_000 + CALM_MS // 2, 400_000)]
    assert len(episodes(rows_of(near, names, DAY_MS), near, names, DAY_MS)) == 1
    many = [record for i in range(20) for record in fill(names, i * 3_600_000 + 1, i * 3_600_000 + 60_000)]
    assert len(episodes(rows_of(many, names, DAY_MS), many, names, DAY_MS)) == EPISODES_LIMIT


def test_the_levels_of_a_tank_are_those_of_the_rig(marram: Examined) -> None:
    """A limit drawn ten litres too high makes a dangerous fill look safe. Worked by hand from the rig file:
    belly is a box of 1000 mm by 500 mm: 0.5 L for each mm; overflow at 280 mm, float at 268 mm.
    """
    assert marram.rig is not None
    assert marram.law is not None
    marks = {
        mark.name: (round(mark.value, 6), mark.kind) for mark in marks_of(marram.rig, marram.law, "belly", "metric")
    }
    assert marks["overflow"] == (140.0, "limit")
    assert marks["belly_float"] == (134.0, "sign")
    assert marks["belly_high"] == (round(0.90 * 140.0, 6), "sign")
    assert marks["belly_low"] == (round(0.10 * 140.0, 6), "sign")
    assert "gray_high" not in marks
    us = {mark.name: mark.value for mark in marks_of(marram.rig, marram.law, "belly", "us")}
    assert abs(us["overflow"] - 140.0 / 3.785411784) < 1e-9


def test_a_wish_stands_where_the_person_set_it(marram: Examined) -> None:
    """A target drawn at its default, when somebody asked for less, makes a right fill look wrong."""
    assert marram.law is not None
    (default,) = wishes_of(marram.law, "fill", "belly", {}, "metric")
    assert (default.name, default.kind) == ("target", "wish")
    assert abs(default.value - 0.75 * 140.0) < 1e-9
    (wished,) = wishes_of(marram.law, "fill", "belly", {"fill.target": 0.05}, "metric")
    assert abs(wished.value - 50.0) < 1e-9
    assert wishes_of(marram.law, "fill", "loft", {}, "metric") == ()


def test_a_held_step_shows_one_word_at_a_time(names: Names) -> None:
    """'filling' and 'held' written on each other are both unreadable, just when a person must decide."""
    row = names.program.sequence("fill")
    held = [(100_000, codes.HOLDING), (110_000, codes.HELD), (200_000, codes.RUNNING)]
    records = sorted(fill(names) + [Record(ms, codes.R_STATE, row, state, 0) for ms, state in held])
    (bars,) = (r.bars for r in rows_of(records, names, DAY_MS) if r.name == "fill")
    assert [(b.start_s, b.end_s, b.word) for b in sorted(bars, key=lambda b: b.start_s)] == [
        (65.0, 100.0, "filling"), (100.0, 110.0, "holding"), (110.0, 200.0, "held"), (200.0, 660.0, "filling"),
    ]  # fmt: skip


def test_a_valve_left_open_for_hours_does_not_swallow_the_other_charts(names: Names) -> None:
    """One hung sequence made one chart of the whole run again, in which nothing could be seen."""
    hour = 3_600_000
    cock = list(names.rig.valves).index("lift")
    hung = [Record(hour, plant.P_VALVE, cock, 1, 1000)]  # it stays open to the end
    records = sorted([*hung, *fill(names, 3 * hour, 3 * hour + 600_000), *fill(names, 9 * hour, 9 * hour + 600_000)])
    found = episodes(rows_of(records, names, DAY_MS), records, names, DAY_MS)
    assert [round(e.began_ms / hour) for e in found] == [1, 3, 9]
    assert all(e.end_ms - e.start_ms < hour for e in found)
    closed = sorted([*records, Record(20 * hour, plant.P_VALVE, cock, 0, 0)])
    ends = episodes(rows_of(closed, names, DAY_MS), closed, names, DAY_MS)
    assert [round(e.began_ms / hour) for e in ends] == [1, 3, 9, 20]
