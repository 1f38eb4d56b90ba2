"""The section on heat and frost: what bursts, what freezes, what scalds, and that the remedies are ones."""

from __future__ import annotations

import re
from time import perf_counter

import pytest

from tests.unit.review.shown import shown
from ullage.review import cold
from ullage.review.judgement import Judgement, limits
from ullage.review.matter import Section, Table

DRAINED = "length: 4 m, wall: 3 mm, outdoors: true, in_frost: drained"
FROST = "frost: {air: -6 degC, lasts: 10 h, wind: 4 m/s}"
FALL = "fall_pipe: {bore: 15 mm, length: 2.6 m"
HEATER = "keeps: 60 degC, fuel: diesel, efficiency: 80 %"
SHOWER = "    mixed: 38 degC\n    lasts: 2 min\n"
BASIN = "drains_to: gray, mixed: 40 degC"


def used(more: str = "") -> tuple[str, str]:
    """The rinse hose of Marram, between its valve and the rose, in use in frost."""
    return DRAINED, DRAINED.replace("drained", "used") + (f", {more}" if more else "")


def judged(of: Section, on: str, *codes: str) -> Judgement:
    """The one judgement of some codes on a part."""
    (found,) = [judgement for judgement in of.judgements if judgement.code in codes and judgement.on == on]
    return found


def rinse_hose(*edits: tuple[str, str]) -> Judgement:
    """What the frost comes to for the rinse hose."""
    return judged(cold.section(shown(*edits)), "rinse_hose", "C10", "C11")


def test_a_pipe_that_ice_bursts_is_stop() -> None:
    """A hose in use between a closed valve and a closed rose freezes through in the night, and floods at thaw."""
    found = rinse_hose(used())
    assert (found.code, found.grade) == ("C11", "STOP")
    assert found.limit.caution


@pytest.mark.parametrize("remedy", ["drained", "tape", "insulation"])
def test_each_remedy_of_a_burst_is_one(remedy: str) -> None:
    """What the review says to do must take the STOP away when it is done, by the figure that it tells."""
    tape = float(re.findall(r"loses ([\d.]+) W", rinse_hose(used()).because)[0])
    taken = {
        "drained": (),
        "tape": (used(f"heated: {1.01 * tape:.1f} W"),),
        "insulation": (used("insulation: {thickness: 60 mm}"), (FROST, FROST.replace("10 h", "6 h"))),
    }
    found = rinse_hose(*taken[remedy])
    assert found.code == "C10"
    assert found.grade == ("LOOK" if remedy == "insulation" else "PASS")


def test_a_tape_that_is_too_weak_is_not_counted() -> None:
    """Half of the heat that is lost puts the burst off, no more."""
    assert rinse_hose(used("heated: 20 W")).grade == "STOP"


def test_a_pipe_with_an_open_end_may_freeze_and_does_not_burst() -> None:
    """The way down into belly stands open to the air of two tanks: a nuisance, not a flood."""
    of = cold.section(shown((FALL, f"{FALL}, outdoors: true, in_frost: used")))
    assert judged(of, "fall_pipe", "C10", "C11").grade == "LOOK"


def test_a_short_or_mild_frost_passes() -> None:
    """Who is told of frost every evening stops reading."""
    late = used("insulation: {thickness: 100 mm}"), (FROST, FROST.replace("10 h", "2 min"))
    assert rinse_hose(*late).grade == "PASS"
    assert rinse_hose(used(), (FROST, FROST.replace("-6", "0"))).grade == "PASS"


def test_what_becomes_of_a_pipe_has_to_be_said() -> None:
    """A pipe that everybody believes somebody drains bursts."""
    found = rinse_hose((DRAINED, DRAINED.replace(", in_frost: drained", "")))
    assert (found.grade, found.missing) == ("LOOK", ("pipes.rinse_hose.in_frost",))
    found = judged(cold.section(shown((FROST, ""))), "frost", "C10")
    assert (found.grade, found.missing) == ("LOOK", ("frost",))


def test_what_stands_in_is_said() -> None:
    """A wall, a foam or a calm that nobody stated must not look measured."""
    of = cold.section(shown(used("insulation: {thickness: 9 mm}"), (FROST, FROST.replace(", wind: 4 m/s", ""))))
    calm, wall, foam = of.assumed
    assert "frost.wind" in calm
    assert "pipes.NAME.wall" in wall
    assert "suction" in wall
    assert "rinse_hose" not in wall
    assert foam.endswith("(pipes.NAME.insulation.conductivity): rinse_hose.")


def test_every_pipe_has_its_times() -> None:
    """A line that is left out of the table is one that nobody drains."""
    view = shown()
    (table, _) = cold.section(view).matter
    assert isinstance(table, Table)
    assert [row[0] for row in table.rows] == [
        part for line in view.rig.lines for part in line.through if part in view.rig.pipes
    ]
    assert all(isinstance(row[4], float) and isinstance(row[5], float) and 0 <= row[4] < row[5] for row in table.rows)


@pytest.mark.parametrize(("keeps", "grade"), [("60 degC", "PASS"), ("59 degC", "LOOK"), ("40 degC", "LOOK")])
def test_the_store_is_hot_enough_for_germs_to_die(keeps: str, grade: str) -> None:
    """Legionella in a lukewarm store reaches the lungs under the shower."""
    found = judged(cold.section(shown((HEATER, HEATER.replace("60 degC", keeps)))), "heater", "C20")
    assert found.grade == grade
    assert ("legionella" in found.because) == (keeps == "40 degC")
    assert found.limit.caution


@pytest.mark.parametrize(
    ("mixed", "grade"), [("48 degC", "PASS"), ("49 degC", "LOOK"), ("54 degC", "STOP"), (None, "LOOK")]
)
def test_water_that_scalds(mixed: str | None, grade: str) -> None:
    """A mixer set to what burns in half a minute burns a child; hot water that a person mixes is looked at."""
    edit = BASIN, BASIN.replace("40 degC", mixed) if mixed else BASIN.replace(", mixed: 40 degC", "")
    found = judged(cold.section(shown(edit)), "basin", "C21")
    assert found.grade == grade
    assert found.limit.caution


@pytest.mark.parametrize(("most", "grade"), [("25 degC", "PASS"), ("26 degC", "LOOK")])
def test_cold_water_that_is_not_cold(most: str, grade: str) -> None:
    """A tank in the sun grows what a hot store kills."""
    of = cold.section(shown(("water: 2 degC .. 30 degC", f"water: 2 degC .. {most}")))
    assert judged(of, "water", "C22").grade == grade


@pytest.mark.parametrize(("lasts", "grade"), [("2 min", "PASS"), ("4 min", "LOOK")])
def test_a_shower_that_runs_cold(lasts: str, grade: str) -> None:
    """Ten litres of hot water are two minutes, not four."""
    of = cold.section(shown((SHOWER, SHOWER.replace("2 min", lasts))))
    assert judged(of, "shower", "C30").grade == grade


def test_hot_water_names_what_it_does_not_know() -> None:
    """Fuel for a shower of unknown warmth would be made up."""
    of = cold.section(shown((HEATER, "fuel: diesel"), (BASIN, "drains_to: gray"), (SHOWER, "    lasts: 2 min\n")))
    assert judged(of, "heater", "C20").missing == ("heaters.heater.keeps",)
    assert judged(of, "basin", "C21").missing == ("fixtures.basin.mixed", "heaters.heater.keeps")
    assert judged(of, "shower", "C30").missing == ("fixtures.shower.mixed", "heaters.heater.keeps")
    none = cold.section(shown((SHOWER, "    mixed: 38 degC\n")))
    assert judged(none, "hot water", "C30").missing == ("fixtures.basin.lasts", "fixtures.shower.lasts")


def test_a_tap_before_the_heater_is_no_hot_tap() -> None:
    """A galley tap that was told to scald hides the one that does."""
    asked = {judgement.on for judgement in cold.section(shown()).judgements if judgement.code == "C21"}
    assert asked == {"basin", "shower"}


def test_a_tap_of_two_heaters_is_judged_once_and_by_the_hotter() -> None:
    """Two verdicts on one tap leave a person to choose; that of the cooler one scalds."""
    second = "relief: 4 bar, keeps: 60 degC, fuel: diesel, efficiency: 80 %}\n"
    line = "  - {from: hot, through: [to_basin], to: basin}\n"
    beside = "  - {from: manifold, through: [second], to: hot}\n"
    heater = second + "  second: {volume: 5 L, bore: 13 mm, relief: 4 bar, keeps: 65 degC}\n"
    of = cold.section(shown((second, heater), (line, line + beside), (BASIN, "drains_to: gray")))
    assert sorted(judgement.on for judgement in of.judgements if judgement.code == "C21") == ["basin", "shower"]
    assert "65 degC" in judged(of, "basin", "C21").because


def test_marram_has_nothing_to_stop_for_and_is_quick() -> None:
    """The demo rig is honest (its water gets warm in summer), and a review is not waited for."""
    view = shown()
    cold.section(view)
    begun = perf_counter()
    of = cold.section(view)
    assert perf_counter() - begun < 0.05
    assert {judgement.code for judgement in of.judgements if judgement.grade != "PASS"} == {"C22"}
    assert {judgement.code for judgement in of.judgements} | {"C11"} == {code for code in limits() if code[0] == "C"}
    assert len(of.cautions) == 4
