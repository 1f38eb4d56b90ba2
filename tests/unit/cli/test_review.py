"""``ullage review`` and the limits that ``explain`` tells."""

from __future__ import annotations

from pathlib import Path

from tests.unit.cli.conftest import MARRAM, Call
from tests.unit.cli.documents import LimitTold, Reviewed
from ullage.review.judgement import limits
from ullage.review.sections import SECTIONS


def test_a_sound_rig_is_reviewed_without_a_stop(ullage: Call) -> None:
    """Whoever is stopped for nothing passes over the next stop."""
    answer = ullage("review", MARRAM)
    assert answer.code == 0
    assert "Marram: 0 STOP" in answer.out
    told = Reviewed.model_validate(ullage("review", MARRAM, "--json").document)
    assert [section.name for section in told.sections] == list(SECTIONS)
    assert told.counts["STOP"] == 0
    assert told.counts["PASS"] > 20


def test_a_fuse_that_outlives_its_wire_stops(ullage: Call, tmp_path: Path) -> None:
    """The wire burns before the fuse does: nobody should have to find that in a table."""
    text = Path(MARRAM).read_text("utf8")
    bad = tmp_path / "bad.yaml"
    bad.write_text(text.replace("fuse: 10 A", "fuse: 200 A", 1), "utf8")
    assert bad.read_text("utf8") != text
    answer = ullage("review", bad, "--only", "electric")
    assert answer.code == 1
    words = " ".join(answer.out.split())
    for field in ("STOP E", "because", "limit", "remedy", "caution"):
        assert field in words


def test_what_the_file_does_not_say_is_named(ullage: Call, tmp_path: Path) -> None:
    """A figure that was assumed in silence is taken for one that was measured."""
    bare = tmp_path / "bare.yaml"
    lines = Path(MARRAM).read_text("utf8").splitlines()
    bare.write_text("\n".join(line for line in lines if not line.startswith("frost:")), "utf8")
    told = Reviewed.model_validate(ullage("review", bare, "--json").document)
    assert any(field.startswith("frost") for field in told.missing)
    assert "open until the rig file says:" in ullage("review", bare).out


def test_one_section_and_units_can_be_chosen(ullage: Call) -> None:
    """A maker who wires reads about wires, in the units of the reel."""
    metric, us = (ullage("review", MARRAM, "--only", "cold", "--units", units).out for units in ("metric", "us"))
    assert "Electricity" not in metric
    assert " mm" in metric
    assert " mm" not in us
    assert "°F" in us
    wrong = ullage("review", MARRAM, "--only", "colour")
    assert wrong.code == 2
    assert "cold" in wrong.err


def test_every_limit_is_explained(ullage: Call) -> None:
    """A judgement whose ground cannot be looked up is an opinion."""
    for code, limit in limits().items():
        answer = ullage("explain", code.lower())
        assert answer.code == 0
        assert " ".join(limit.title.split()) in " ".join(answer.out.split())
        assert LimitTold.model_validate(ullage("explain", code, "--json").document).source == limit.source


def test_what_is_due_is_written_as_a_calendar(ullage: Call, tmp_path: Path) -> None:
    """A filter that nobody is reminded of is changed when the water tastes."""
    answer = ullage("review", MARRAM, "--only", "upkeep", "--out", tmp_path, "--since", "2026-05-01")
    assert answer.code == 0
    text = (tmp_path / "upkeep.ics").read_text("utf8")
    assert text.startswith("BEGIN:VCALENDAR")
    assert "DTSTAMP:20260501T000000Z" in text
    assert text.count("BEGIN:VEVENT") > 2
    assert ullage("review", MARRAM, "--since", "soon").code == 2
