"""The section on upkeep: doses that are safe or not told, water that stays, cautions where somebody may be hurt."""

from __future__ import annotations

from time import perf_counter

import pytest

from tests.examples.test_rigs import RIGS
from tests.unit.review.shown import shown
from tests.unit.rig.breaking import changed, seen
from ullage.review import upkeep
from ullage.review.judgement import Judgement, limits
from ullage.review.matter import Section, Steps, Table
from ullage.rig.view import View

PRODUCT = "disinfectant: {strength: 5 %, stated: w/w, density: 1.07 kg/L, plain: true, contact: 24 h}\n"
DRAINS = """drains:
  belly_cock: {at: belly.low}
  pump_cock: {at: water_pump}
  low_cock: {at: manifold}
  heater_cock: {at: heater}
"""


def section(*edits: tuple[str, str]) -> Section:
    """The section of Marram with some of its text replaced."""
    return upkeep.section(shown(*edits))


def judged(of: Section, code: str) -> list[Judgement]:
    """The judgements of a code."""
    return [each for each in of.judgements if each.code == code]


def steps(of: Section, title: str) -> Steps:
    """The steps under a title."""
    (found,) = [part for part in of.matter if isinstance(part, Steps) and part.title.startswith(title)]
    return found


def test_marram_passes_and_says_the_dose() -> None:
    """A dose by hand: 140 L at 50 mg/L are 7 g of chlorine; 5 % by weight of 1.07 kg/L has 53.5 g/L: 130.8 mL."""
    of = section()
    assert {each.grade for each in of.judgements} == {"PASS"}
    table = next(part for part in of.matter if isinstance(part, Table) and part.title == "Disinfecting")
    assert table.rows[0][:2] == ("belly", pytest.approx(0.140))
    assert table.rows[0][2] == pytest.approx(0.140 * 0.050 / 53.5, rel=1e-9)
    told = steps(of, "Disinfecting").steps
    assert any("belly: stir 131 mL" in step for step in told)
    assert any("loft: fill it (45 L) from belly" in step for step in told), "no shore water comes to loft"
    assert any("37 mL in 10 L (200 mg/L)" in step for step in told)


@pytest.mark.parametrize(
    ("edit", "grade", "missing"),
    [
        (("plain: true", "plain: false"), "STOP", ()),
        ((", plain: true", ""), "LOOK", ("disinfectant.plain",)),
        ((PRODUCT, ""), "LOOK", ("disinfectant",)),
    ],
)
def test_a_dose_that_is_not_safe_is_not_passed(edit: tuple[str, str], grade: str, missing: tuple[str, ...]) -> None:
    """Scented bleach stays in hoses for months and is drunk with every glass."""
    found = judged(section(edit), "K10")
    assert found
    assert {(each.grade, each.missing) for each in found} == {(grade, missing)}
    assert found[0].limit.caution


@pytest.mark.parametrize(
    ("contact", "grade"), [("24 h", "PASS"), ("23 h", "LOOK"), ("55 min", "LOOK"), ("54 min", "STOP")]
)
def test_a_contact_that_is_too_short_is_stop(contact: str, grade: str) -> None:
    """At 2 degC and pH 9 Giardia asks 544 mg min/L: 54.4 min at the 10 mg/L that are left (row SAN-07's table)."""
    of = section(("contact: 24 h", f"contact: {contact}"))
    assert [each.grade for each in judged(of, "K11")] == [grade]
    assert any(step.startswith("Let all of it stand for") for step in steps(of, "Disinfecting").steps)


SEALED = """
rig: Sealed
tanks:
  fresh:
    holds: potable
    shape: {box: {length: 1 m, width: 500 mm, height: 300 mm}}
    floor_at: {z: 1 m}
    openings: {top: {at: 290 mm}}
ports: {shore: {kind: supply, at: {z: 2 m}}}
pipes: {filler: {bore: 20 mm, length: 1 m}}
checks: {flap: {kv: 2 m3/h}}
lines: [{from: shore, through: [flap, filler], to: fresh.top}]
disinfectant: {strength: 6 %, stated: w/v, plain: true}
"""


@pytest.mark.parametrize(
    ("more", "grade"), [("", "STOP"), ("drains: {cock: {at: fresh.top}}\n", "PASS")]
)  # fmt: skip
def test_what_cannot_be_let_out_is_not_poured_in(more: str, grade: str) -> None:
    """Chlorine in a tank with no way out is drunk, or stays until the tank is cut open."""
    found = judged(upkeep.section(seen(SEALED + more, "sealed.yaml")), "K10")
    assert [each.grade for each in found] == [grade]


def test_a_cock_above_the_water_lets_nothing_out() -> None:
    """A tank whose only opening lies above its overflow keeps all of its chlorine, cock or not."""
    spilling = SEALED.replace("    openings:", "    overflow: {bore: 38 mm, at: 250 mm}\n    openings:")
    text = spilling + "drains: {cock: {at: fresh.top}}\n"
    assert [each.grade for each in judged(upkeep.section(seen(text, "sealed.yaml")), "K10")] == ["STOP"]


def test_water_that_stays_is_told_with_its_place() -> None:
    """A cock that is fitted anywhere but at the low point leaves the pipe to burst."""
    found = {each.on: each for each in judged(section((DRAINS, "")), "K20")}
    assert {each.grade for each in found.values()} == {"LOOK"}
    assert "a cock at 'water_pump'" in found["suction"].because
    (low,) = [each for on, each in found.items() if "riser" in on and "to_galley" in on]
    assert "a drain cock at 'manifold', 0.70 m above the ground" in low.because
    assert "a drain cock at 'heater'" in found["heater"].because
    assert not judged(section(), "K20")[0].because.startswith("0 mL")


def views() -> list[View]:
    """All shipped rigs and the sound one."""
    return [*(seen(path.read_bytes(), path.name) for path in RIGS), seen(changed({}), "sound.yaml"), shown()]


def test_a_heater_is_never_opened_hot_and_never_heated_dry() -> None:
    """A heater that is opened hot scalds, and an element without water burns the rig down."""
    for view in views():
        frost = steps(upkeep.section(view), "Emptying before frost")
        first = frost.steps[0]
        if not view.rig.heaters:
            continue
        for name in view.rig.heaters:
            assert first.startswith("Put out")
            assert name in first
        assert "cool to 40 degC" in first
        words = " ".join(frost.cautions)
        for word in ("scalds", "Never open a heater that is hot", "element", "without water", "licensed"):
            assert word in words
        assert "any heat" in frost.steps[-1]


def test_taps_let_off_the_pressure_before_anything_is_unscrewed() -> None:
    """What is opened under pressure sprays, hot water too."""
    told = steps(section(), "Emptying before frost").steps
    taps = next(at for at, step in enumerate(told) if step.startswith("Open the taps"))
    off = next(at for at, step in enumerate(told) if step.startswith("Switch off water_pump"))
    opened = [at for at, step in enumerate(told) if step.startswith(("Cock", "Valve", "Unscrew"))]
    assert off < taps < min(opened)
    assert any("gray_dump" in step and "only at a place that takes waste" in step for step in told)


def test_a_pump_in_the_float_s_wire_is_not_run_dry() -> None:
    """A step that cannot be done makes people bridge the float."""
    told = steps(section(), "Emptying before frost").steps
    assert any("'belly_bottom' keeps it from running dry" in step for step in told)
    wired = ("    wired: {float: belly_bottom, while: wet}\n", "")
    free = steps(section(wired), "Emptying before frost").steps
    assert any("run dry for 10 s at most" in step for step in free)
    short = steps(section(wired, ("dry_run_limit: 3 min", "dry_run_limit: 4 s")), "Emptying before frost").steps
    assert any("run dry for 4 s at most" in step for step in short)


def test_the_calendar_names_what_has_no_interval() -> None:
    """A proof test without a date is one that is never made."""
    (found,) = judged(section((", proof_test: 365 d", "")), "K30")
    assert (found.grade, found.missing) == ("LOOK", ("upkeep.proof_test",))
    of = section(("water_a_day: 45 L, ", ""), (", contact: 24 h", ""))
    assert any("upkeep.water_a_day" in line for line in of.assumed)
    assert any("disinfectant.contact" in line for line in of.assumed)


def test_every_rig_has_the_section() -> None:
    """A rig that states nothing of upkeep is told what it lacks, and does not fail."""
    for view in views():
        of = upkeep.section(view)
        assert of.judgements
        assert of.cautions
        assert all(each.grade != "STOP" for each in of.judgements)
    bare = upkeep.section(seen("rig: Bare\n", "bare.yaml"))
    assert not [each for each in bare.judgements if each.grade != "PASS"]


def test_every_limit_of_upkeep_is_in_use() -> None:
    """A limit that nothing judges is a promise that is not kept."""
    assert {code for code in limits() if code[0] == "K"} == {each.code for each in section().judgements}


def test_it_takes_no_time() -> None:
    """A review that takes seconds is not asked after each change (goal: a fifth of a second)."""
    view = shown()
    began = perf_counter()
    upkeep.section(view)
    assert perf_counter() - began < 0.2
