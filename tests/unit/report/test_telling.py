"""A run told: the account of real runs of the demo rig, and of runs whose figures were altered by hand."""

from __future__ import annotations

from dataclasses import replace
from math import isnan
from typing import Any

import pint
import pytest

from ullage.control.check import Examined
from ullage.control.record import Record
from ullage.plant.codes import NOT_HEARD
from ullage.plant.faults import read_fault
from ullage.plant.words import P_TAP
from ullage.report.account import Account, Outcome
from ullage.report.quantity_words import System
from ullage.report.strip import Curve, Panel
from ullage.report.telling import account_of
from ullage.simulate.run import Run, simulate
from ullage.simulate.scenario import read_scenario

SCENARIO = b"""\
scenario: A fill with a lying sender
about: For the tests of the report.
hours: 0.6
starts: {belly: 60 %, loft: 20 %, gray: 30 %}
happenings:
  - {at: 1 min, hose: shore, pressure: 2 bar}
  - {at: 2 min, start: fill, with: {target: 75 %}}
  - {at: 12 min, use: basin, for: 1 min}
  - {at: 25 min, use: rose, for: 1 min}
expect:
  - belly never over its overflow
  - no water indoors
"""
UNITS = pint.UnitRegistry()


def played(marram: Examined, *faults: str) -> Run:
    """The scenario on the demo rig."""
    assert marram.rig is not None
    assert marram.law is not None
    assert marram.program is not None
    given, findings = read_scenario(SCENARIO, "test.yaml", marram.rig, marram.law)
    assert given is not None, findings
    return simulate(marram.rig, marram.program, given, 1, faults=[read_fault(marram.rig, words) for words in faults])


@pytest.fixture(scope="module")
def calm(marram: Examined) -> Run:
    return played(marram)


@pytest.fixture(scope="module")
def lying(marram: Examined) -> Run:
    return played(marram, "belly_level stuck from 3 min", "belly_float stuck dry")


def told(run: Run, marram: Examined, system: System = "metric") -> Account:
    assert marram.law is not None
    return account_of(run, marram.law, system)


def altered(run: Run, **figures: Any) -> Run:
    """A run with other figures than it had."""
    return replace(run, outcome=replace(run.outcome, **figures))


def harms(account: Account) -> dict[str, Outcome]:
    return {o.name: o for o in account.group("harm")}


# --- figures -------------------------------------------------------------------------------


def test_a_run_without_harm_says_so_and_names_what_was_watched(calm: Run, marram: Examined) -> None:
    """Silence about the floor is not the same as a dry floor."""
    account = told(calm, marram)
    assert list(harms(account)) == ["ran indoors", "left by overflows, outdoors", "water_pump ran dry"]
    assert not any(o.bad for o in account.outcomes)
    assert account.harm.startswith("No harm")
    assert account.fine


def test_water_by_the_overflow_is_a_harm_with_its_litres(lying: Run, marram: Examined) -> None:
    """Litres that are lost at a fill with two lying instruments are what the run was made to find out."""
    account = told(lying, marram)
    spilt = harms(account)["left by overflows, outdoors"]
    assert spilt.bad
    assert spilt.main
    # Reckoned anew from the other figures: what shore gave, less what belly gained and the pump took from it.
    found = {o.name: o.value for o in account.outcomes}
    belly = next(level for level in account.levels if level.tank == "belly")
    left = found["taken at shore"] - (belly.end - belly.start) - found["given by basin"]
    assert spilt.value == pytest.approx(left, abs=1.5e-3)  # the pipes and the accumulator hold about a litre
    assert spilt.value > 10e-3
    assert account.harm == f"Harm: left by overflows, outdoors ({spilt.figure()})."
    assert not account.fine
    assert account.played.faults == ("belly_level stuck", "belly_float stuck dry")


def test_harms_come_first_of_all_outcomes(lying: Run, marram: Examined) -> None:
    """A harm after twelve lines of litres is not read."""
    for run in (lying, altered(lying, indoors=0.02, lost_by_bursts=0.003, unsettled=2)):
        groups = [o.group for o in told(run, marram).outcomes]
        assert groups == sorted(groups, key=["harm", "water", "work", "alarm"].index)


@pytest.mark.parametrize(
    ("figures", "name", "words"),
    [
        ({"indoors": 0.0194}, "ran indoors", "19.4 L"),
        ({"lost_by_bursts": 0.003}, "lost by bursts", "3.00 L"),
        ({"ports": {"shore": (0.1, 0.002), "outfall": (0.0, 0.0)}}, "gone back into shore", "2.00 L"),
        ({"ports": {"shore": (0.1, 0.0), "outfall": (0.004, 0.05)}}, "come back from outfall", "4.00 L"),
        ({"unsettled": 3}, "flows that did not settle: the figures may be wrong", "3"),
    ],
)
def test_every_kind_of_harm_is_told(
    calm: Run, marram: Examined, figures: dict[str, Any], name: str, words: str
) -> None:
    """Water that runs back into the shore supply makes other people ill; it must have a line of its own."""
    assert name not in {o.name for o in told(calm, marram).outcomes if o.bad}
    harm = harms(told(altered(calm, **figures), marram))[name]
    assert harm.bad
    assert harm.figure() == words


def test_a_pump_that_ran_dry_is_a_harm_from_half_a_second(calm: Run, marram: Examined) -> None:
    """One scan of air is noise; seconds of it are a worn pump."""
    pump = calm.outcome.pumps["water_pump"]
    for seconds, bad in ((0.0, False), (0.4, False), (0.6, True)):
        run = altered(calm, pumps={"water_pump": replace(pump, dry=seconds)})
        assert harms(told(run, marram))["water_pump ran dry"].bad is bad


def test_what_came_and_went_is_told_where_it_was_meant(calm: Run, marram: Examined) -> None:
    """Shore water told as waste, or the other way round, would be believed."""
    run = altered(calm, ports={"shore": (0.1, 0.0), "outfall": (0.0, 0.05)})
    figures = {o.name: o.value for o in told(run, marram).group("water")}
    assert figures["taken at shore"] == 0.1
    assert figures["let out at outfall"] == 0.05


def test_a_tap_that_gave_nothing_is_told_when_somebody_opened_it(calm: Run, marram: Examined) -> None:
    """A shower without water is found out by the one who stands in it, unless the run tells it."""
    names = list(calm.outcome.fixtures)
    opened = {names[r.row] for r in (Record(*map(int, row)) for row in calm.records) if r.kind == P_TAP and r.value}
    assert opened == {"basin", "rose"}
    shown = {o.name: o for o in told(calm, marram).outcomes if o.name.startswith("given by")}
    assert set(shown) == {"given by basin", "given by rose"}
    assert shown["given by basin"].value == pytest.approx(calm.outcome.fixtures["basin"])


def test_levels_are_those_of_the_tanks(calm: Run, marram: Examined) -> None:
    """The least and the most decide what margin was left."""
    for level in told(calm, marram).levels:
        tank = calm.outcome.tanks[level.tank]
        assert (level.start, level.least, level.most, level.end) == (tank.start, tank.least, tank.most, tank.end)
        series = calm.series[f"volume.{level.tank}"]
        assert level.least <= series.min() + 1e-9
        assert level.most >= series.max() - 1e-9


def test_alarms_are_told_with_their_state_and_count(lying: Run, calm: Run, marram: Examined) -> None:
    """An alarm that nobody acknowledged is still waiting for somebody."""
    assert told(calm, marram).group("alarm") == []
    stuck = told(played(marram, "belly_level stuck from 3 min"), marram).group("alarm")
    assert "alarm of belly_high (latched, unacknowledged)" in [o.name for o in stuck]
    assert {o.figure() for o in stuck} <= {"once", "twice"}
    assert all(o.value >= 1 and o.dimension == "times" for o in stuck)


# --- charts --------------------------------------------------------------------------------


def panel(account: Account, strip: int, name: str) -> Panel:
    return next(p for p in account.strips[strip].panels if p.name == name)


def curve(found: Panel, name: str) -> Curve:
    return next(c for c in found.curves if c.name == name)


def test_the_first_chart_shows_the_whole_run_with_every_tank(calm: Run, marram: Examined) -> None:
    """A chart that begins at the first event hides what led to it."""
    account = told(calm, marram)
    whole = account.strips[0]
    assert (whole.title, whole.start_s, whole.end_s) == ("The whole run", 0.0, 2160.0)
    assert [p.name for p in whole.panels] == ["belly", "loft", "gray"]
    assert all(0.0 <= sign.time_s <= 2160.0 for sign in whole.signs)


def test_the_reading_stands_beside_the_water_and_shows_the_lie(lying: Run, marram: Examined) -> None:
    """The whole point of the picture: what the rig believed, and what was."""
    belly = panel(told(lying, marram), 0, "belly")
    water, reading = curve(belly, "water"), curve(belly, "reading")
    late = [i for i, t in enumerate(reading.time_s) if t > 300.0]
    assert len({reading.value[i] for i in late}) == 1
    assert max(water.value) > reading.value[late[0]] + 30.0
    early = [i for i, t in enumerate(reading.time_s) if 10.0 < t < 110.0]
    assert all(abs(water.value[i] - reading.value[i]) < 0.05 * 160.0 for i in early)


def test_an_episode_is_titled_by_what_moved_and_when(calm: Run, marram: Examined) -> None:
    """Three charts called 'galley' cannot be told apart."""
    titles = [strip.title for strip in told(calm, marram).strips]
    assert titles[1].startswith("fill, 0:02")
    assert any(title.startswith("rose, 0:25") for title in titles)
    assert len(set(titles)) == len(titles)


def test_a_wish_stands_in_the_chart_of_its_fill(calm: Run, marram: Examined) -> None:
    """A fill to 75 % drawn with a target of 80 % looks as if it stopped too early."""
    marks = {m.name: m.value for m in panel(told(calm, marram), 1, "belly").marks}
    assert marks["target"] == pytest.approx(0.75 * 140.0)
    assert marks["overflow"] == pytest.approx(140.0)


def test_a_chart_of_a_tap_without_water_shows_that_nothing_flowed(calm: Run, marram: Examined) -> None:
    """A bar 'open' alone does not say whether water came."""
    dry = {**calm.series, **{name: 0.0 * values for name, values in calm.series.items() if name.startswith("flow.")}}
    dry |= {name: 0.0 * values + values[0] for name, values in calm.series.items() if name.startswith("volume.")}
    account = told(replace(calm, series=dry), marram)
    rose = next(strip for strip in account.strips if strip.title.startswith("rose"))
    assert [p.unit for p in rose.panels] == ["L/min"]
    assert all(max(c.value) == 0.0 for c in rose.panels[0].curves)


def test_charts_in_us_units_are_the_same_charts(lying: Run, marram: Examined) -> None:
    """A limit in litres in a chart of gallons is four times too high. Outside reference: pint."""
    metric, us = told(lying, marram), told(lying, marram, "us")
    assert [s.title for s in metric.strips] == [s.title for s in us.strips]
    for one, two in zip(metric.strips, us.strips, strict=True):
        for p, q in zip(one.panels, two.panels, strict=True):
            units = {"L": ("liter", "gallon", "gal"), "L/min": ("liter/minute", "gallon/minute", "gpm")}[p.unit]
            factor = UNITS.Quantity(1.0, units[0]).to(units[1]).magnitude
            assert q.unit == units[2]
            assert q.top == pytest.approx(p.top * factor)
            for a, b in zip((*p.marks,), (*q.marks,), strict=True):
                assert b.value == pytest.approx(a.value * factor)
            for c, d in zip(p.curves, q.curves, strict=True):
                assert list(d.value) == pytest.approx([v * factor for v in c.value])


def test_signs_of_an_episode_are_those_within_it(calm: Run, marram: Examined) -> None:
    """A number at the edge of the wrong chart sends the reader to the wrong line."""
    account = told(calm, marram)
    for strip in account.strips:
        assert all(strip.start_s <= sign.time_s <= strip.end_s for sign in strip.signs)
    numbers = [sign.number for sign in account.strips[0].signs]
    assert numbers == list(range(1, len(numbers) + 1))


def test_lost_records_are_told(calm: Run, marram: Examined) -> None:
    """A story with a hole in it must say that it has one."""
    facts = dict(told(replace(calm, lost=1234), marram).played.facts())
    assert facts["records that did not fit"] == "1,234"
    assert "records that did not fit" not in dict(told(calm, marram).played.facts())


# --- what did not come -----------------------------------------------------------------------

POWERLESS = b"""\
scenario: Taps after a power cut
hours: 0.6
starts: {belly: 60 %, loft: 20 %, gray: 30 %}
happenings:
  - {at: 2 min, fault: power lost, until: 3 min}
  - {at: 10 min, use: basin, for: 1 min}
  - {at: 15 min, use: rose, for: 1 min}
  - {at: 20 min, start: empty}
  - {at: 25 min, reset: tap_water}
  - {at: 30 min, use: basin, for: 1 min}
"""


@pytest.fixture(scope="module")
def powerless(marram: Examined) -> Run:
    assert marram.rig is not None
    assert marram.law is not None
    assert marram.program is not None
    given, findings = read_scenario(POWERLESS, "test.yaml", marram.rig, marram.law)
    assert given is not None, findings
    return simulate(marram.rig, marram.program, given, 1)


def test_a_tap_without_water_says_so_and_why(powerless: Run, marram: Examined) -> None:
    """'Somebody opens basin.' and nothing more reads as if the basin had been filled."""
    opened = [s.text for s in told(powerless, marram).story if s.text.startswith("Somebody opens basin")]
    assert opened[0].startswith("Somebody opens basin. Soon no water comes: water_pump stands, tap_water is idle")
    assert opened[1] == "Somebody opens basin."


def test_a_sequence_that_has_not_ended_is_told_with_its_step(powerless: Run, marram: Examined) -> None:
    """A sequence that hangs in 'closing' for eleven hours stood in no line of the account."""
    still = {o.name: o.value for o in told(powerless, marram).outcomes if "at the end" in o.name and o.group == "work"}
    (name,) = still
    assert name.startswith("tap_water at '")
    assert name.endswith("still running at the end")
    assert 0 < still[name] <= 11 * 60.0 + 1  # it began again with the reset at 25 min of 36


def test_a_confirmation_that_does_not_come_is_told_with_its_time(powerless: Run, marram: Examined) -> None:
    """A start that dies in silence is given again and again."""
    text = [s.text for s in told(powerless, marram).story if s.text.startswith("empty")]
    assert "empty is armed and waits 10 s for a person to confirm." in text
    assert "empty was not confirmed within 10 s: it does not start." in text


def test_a_reading_begins_when_it_comes_and_is_not_drawn_late(calm: Run, marram: Examined) -> None:
    """A line from 0 L, or a staircase 10 s wide of a sender that speaks every 2 s, looks like a sender that fails."""
    assert calm.series["time"][1] == 1.0, "36 minutes are sampled every second"
    for unheard in (0, 2):
        for spacing in (1.0, 2.0, 10.0):
            raw = calm.series["reading.belly_level"].copy()
            raw[:unheard] = NOT_HEARD
            series = {**calm.series, "reading.belly_level": raw, "time": spacing * calm.series["time"]}
            panels = told(replace(calm, series=series), marram).strips[0].panels
            (reading,) = (c for panel in panels if panel.name == "belly" for c in panel.curves if c.name == "reading")
            assert [isnan(value) for value in reading.value[:3]] == [i < unheard for i in range(3)]
            assert min(reading.value[unheard:]) > 70.0, "belly starts with 84 L"
            assert reading.stepped == (spacing <= 2.0), "it reads every 2 s"
