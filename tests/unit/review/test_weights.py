"""The section on weights: what is STOP, what is looked at, what is named as not known."""

from __future__ import annotations

from time import perf_counter

import pytest

from tests.examples.test_rigs import RIGS
from tests.unit.review.shown import shown
from tests.unit.rig.breaking import seen
from ullage.review import weights
from ullage.review.judgement import Judgement, limits
from ullage.review.matter import Curves, Section, Steps, Table

FRONT = "limit: 1900 kg"
GROSS = "gross: 4500 kg"
WHEEL = "limit: 1900 kg, wheel: 1120 kg"
HEIGHT = "centre_height: 1.05 m"


def judged(of: Section, code: str, on: str | None = None) -> Judgement:
    """The one judgement of a code (on a part)."""
    (found,) = [each for each in of.judgements if each.code == code and on in (None, each.on)]
    return found


def section(*edits: tuple[str, str]) -> Section:
    """The section of Marram with some of its text replaced."""
    return weights.section(shown(*edits))


def test_marram_is_legal_in_its_worst_state_by_little() -> None:
    """A demo that is overloaded teaches people to overload; one with room for tons teaches nothing."""
    of = section()
    assert {each.grade for each in of.judgements} == {"PASS"}
    assert [each.code for each in of.judgements] == ["G10"] * 2 + ["G11"] + ["G12"] * 4 + ["G13", "G14", "G15"]
    assert "52 kg (2.7 %) are left" in judged(of, "G10", "front").because
    rig = shown().rig
    front, rear, gross = rig.axles["front"].limit, rig.axles["rear"].limit, rig.weight.gross
    assert front is not None
    assert rear is not None
    assert gross is not None
    assert front + rear > gross, "as plates have it (row VEH-05, from memory)"


def test_the_worst_of_the_front_axle_by_hand() -> None:
    """Moments on paper: water 139.997 and 44.999 kg, gray empty since it lifts the front, all else aboard."""
    water = 139.997 * 2.1 + 44.999 * 1.2
    others = 150 * 3.0 + 76 * 1.8 + 180 * 0.3 + 120 * 1.0
    worst = 1540 + (water + others) / 3.6
    table = next(part for part in section().matter if isinstance(part, Table) and part.title == "States")
    (row,) = [row for row in table.rows if row[0] == "worst for front"]
    assert row[1] == pytest.approx(worst, abs=0.01)


@pytest.mark.parametrize(
    ("code", "on", "edit"),
    [
        ("G10", "front", (FRONT, "limit: 1840 kg")),
        ("G11", "the whole rig", (GROSS, "gross: 4370 kg")),
        ("G12", "front left", (WHEEL, "limit: 1900 kg, wheel: 910 kg")),
    ],
)
def test_what_the_tanks_can_pass_is_stop(code: str, on: str, edit: tuple[str, str]) -> None:
    """An axle that some fill overloads fails on the road; sequences that stop before do not hold a can."""
    found = judged(section(edit), code, on)
    assert found.grade == "STOP"
    assert "too much" in found.because
    assert found.limit.caution


@pytest.mark.parametrize(("limit", "grade"), [("1849 kg", "LOOK"), ("1884 kg", "LOOK"), ("1887 kg", "PASS")])
def test_nearer_than_a_scale_tells_is_looked_at(limit: str, grade: str) -> None:
    """One kilogram below the limit by a scale that errs by twenty is not below it."""
    assert judged(section((FRONT, f"limit: {limit}")), "G10", "front").grade == grade


@pytest.mark.parametrize(
    ("edit", "code", "missing"),
    [
        (("limit: 1900 kg, ", ""), "G10", "axles.front.limit"),
        (("gross: 4500 kg, ", ""), "G11", "weight.gross"),
        (("wheel: 1450 kg, ", ""), "G12", "axles.rear.wheel"),
        (("track: 1.75 m, ", ""), "G12", "weight.track"),
        (("track: 1.75 m, ", ""), "G15", "weight.track"),
        ((", centre_height: 1.05 m", ""), "G15", "weight.centre_height"),
        ((", weighed: 2010 kg, left: 1050 kg", ""), "G10", "axles.rear.weighed"),
    ],
)  # fmt: skip
def test_what_is_not_stated_is_named(edit: tuple[str, str], code: str, missing: str) -> None:
    """A load without its limit must not pass for lack of one."""
    found = [each for each in section(edit).judgements if each.code == code and missing in each.missing]
    assert found
    assert {each.grade for each in found} == {"LOOK"}


def test_without_a_scale_nothing_is_called_legal() -> None:
    """Loads of an empty rig that weighs nothing would pass every limit."""
    of = section((", weighed: 1540 kg, left: 775 kg", ""))
    assert [each.grade for each in of.judgements] == ["LOOK"]
    assert not [part for part in of.matter if isinstance(part, Curves | Steps)]
    assert [part.title for part in of.matter if isinstance(part, Table)] == ["What the rig carries"]


def test_sides_and_what_stands_in_for_a_limit() -> None:
    """A rig that leans pulls to one side when it brakes."""
    assert judged(section(("side_difference: 150 kg", "side_difference: 100 kg")), "G13").grade == "LOOK"
    of = section(("side_difference: 150 kg, ", ""), (", left: 775 kg", ""))
    assert judged(of, "G13").grade == "PASS"
    assert any("weight.side_difference" in line for line in of.assumed)
    assert any("axles.NAME.left" in line and "front" in line for line in of.assumed)


def test_an_axle_that_lifts_is_stop() -> None:
    """A waste tank far behind lifts the front wheels: no steering, no brakes."""
    light = ("limit: 1900 kg, wheel: 1120 kg, weighed: 1540 kg, left: 775 kg", "limit: 1900 kg, weighed: 15 kg")
    found = judged(section(light), "G14")
    assert found.grade == "STOP"
    assert "lifts off" in found.because
    some = ("weighed: 1540 kg, left: 775 kg", "weighed: 500 kg, left: 250 kg")
    assert judged(section(some), "G14").grade == "LOOK"


@pytest.mark.parametrize(("height", "grade"), [("1.05 m", "PASS"), ("2.2 m", "LOOK")])
def test_a_high_rig_is_looked_at(height: str, grade: str) -> None:
    """A rig that tips on a slope that roads have is told so while its tank can still be moved."""
    assert judged(section((HEIGHT, f"centre_height: {height}")), "G15").grade == grade


def test_a_rig_that_tips_where_it_is_used_is_stop() -> None:
    """It would tip on the pitch that its own file states."""
    found = judged(section((HEIGHT, "centre_height: 2.2 m"), ("across: 2 deg", "across: 22 deg")), "G15")
    assert found.grade == "STOP"


def test_the_orders_can_be_followed() -> None:
    """Loft is filled from belly: the order that has it first cannot be done."""
    orders = {part.title: part.steps for part in section().matter if isinstance(part, Steps)}
    stop, bare = orders["Best order at a stop"], orders["Best order to empty all"]
    assert len(stop) == len(bare) == 3
    assert next(at for at, step in enumerate(stop) if "belly;" in step) < next(
        at for at, step in enumerate(stop) if "Fill loft from belly" in step
    )
    assert all("no limit is passed" in step for step in (*stop, *bare))
    passed = [part for part in section((FRONT, "limit: 1700 kg")).matter if isinstance(part, Steps)]
    assert any("over a limit" in step for step in passed[0].steps)


def test_the_curve_ends_where_the_table_does() -> None:
    """A drawing that shows other loads than the table is believed, and the table is not."""
    of = section()
    table = next(part for part in of.matter if isinstance(part, Table) and part.title == "States")
    (curves,) = [part for part in of.matter if isinstance(part, Curves)]
    out = next(row for row in table.rows if str(row[0]).startswith("setting out"))
    home = next(row for row in table.rows if str(row[0]).startswith("going home"))
    for at, (_, points) in enumerate(curves.lines[:2], start=1):
        assert (points[0][1], points[-1][1]) == pytest.approx((home[at], out[at]))


def test_a_boat_has_no_axles() -> None:
    """A rig without axles must neither fail nor pass."""
    for path in RIGS:
        if path.stem != "marram":
            (found,) = weights.section(seen(path.read_bytes(), path.name)).judgements
            assert (found.code, found.grade, found.missing) == ("G10", "LOOK", ("axles",))


def test_every_limit_of_weights_is_in_use() -> None:
    """A limit that nothing judges is a promise that is not kept."""
    assert {code for code in limits() if code[0] == "G"} == {each.code for each in section().judgements}


def test_it_takes_no_time() -> None:
    """A review that takes seconds is not asked after each change (goal: a fifth of a second)."""
    view = shown()
    began = perf_counter()
    weights.section(view)
    assert perf_counter() - began < 0.2
