"""`ullage prove`: its verdicts, its stories and its endings."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.unit.cli.conftest import ROOT, Call
from tests.unit.cli.documents import Verdicts, VerdictsPrinted
from ullage.cli.crew import Work
from ullage.verdict.verdicts import Tally

BOTHY = ROOT / "examples" / "rigs" / "bothy.yaml"
MARRAM = ROOT / "examples" / "rigs" / "marram.yaml"


@pytest.fixture
def unguarded(tmp_path: Path) -> Path:
    """Bothy with the interlock and the guard taken out that keep its cistern from running over."""
    text = BOTHY.read_text("utf8")
    for this, by in (
        ("(cistern_level > 85 %) or (drum_level < 20 %) or cistern_float", "(drum_level < 20 %)"),
        ("cistern_float or (cistern_level > 92 %)", "drum_level < 2 %"),
    ):
        assert this in text
        text = text.replace(this, by)
    path = tmp_path / "unguarded.yaml"
    path.write_text(text, "utf8")
    return path


def test_what_the_water_itself_holds_is_proved(ullage: Call, tmp_path: Path) -> None:
    """A proof that does not say what it rests on is believed for the wrong reason."""
    answer = ullage("prove", MARRAM, "--only", "indoors", "--faults", "none", "--jobs", 1, "--out", tmp_path)
    assert answer.code == 0
    assert "water indoors       PROVED: wet" in answer.out
    assert "assumptions" in answer.out
    Verdicts.model_validate_json((tmp_path / "verdicts.json").read_text("utf8"))


def test_what_can_be_is_told_as_a_story_that_replay_plays(ullage: Call, unguarded: Path, tmp_path: Path) -> None:
    """'It fails' without how is answered with 'not with mine'."""
    out = tmp_path / "out"
    only = ("--only", "cistern reaches its overflow", "--faults", "none", "--effort", "little", "--jobs", 1)
    answer = ullage("prove", unguarded, *only, "--out", out, "--json")
    assert answer.code == 1
    told = VerdictsPrinted.model_validate_json(answer.out)
    assert told.worst == "REFUTED"
    (one,) = told.not_proved
    assert "cistern" in one.told
    assert one.faults == ["nothing is wrong"]
    assert one.advice is not None
    assert "cistern_float" in one.advice.change
    assert one.advice.rests_on == "interlocks"
    again = ullage("replay", out / one.file, unguarded, "--out", tmp_path / "again", "--json")
    assert again.code == 0
    assert again.document["same"]


def test_what_must_not_last_tells_its_least_time(ullage: Call, tmp_path: Path) -> None:
    """A line that asks for 20 s where 4 s could be had hides how slow a valve may become."""
    answer = ullage(
        "prove", MARRAM, "--only", "held 20 s", "--faults", "none", "--jobs", 1, "--out", tmp_path, "--json"
    )
    told = VerdictsPrinted.model_validate_json(answer.out)
    (line,) = told.never
    assert line.least_ms is not None
    assert 0 < line.least_ms < 20_000
    page = (tmp_path / "index.html").read_text("utf8").replace("\u00a0", " ")
    assert f"from {line.least_ms / 1000:g} s on" in page


def test_progress_tells_how_fast_it_goes() -> None:
    """A number that only grows does not tell whether to wait or to go to bed."""
    work = Work(done=2, most=5)
    work.hear("a", Tally(nodes=1_000, waiting=10), 0.0)
    assert work.words() == "2 of 5 questions, 1,000 states (10 open)"
    work.hear("b", Tally(nodes=500), 1.0)
    work.hear("a", Tally(nodes=2_500, waiting=20), 2.0)
    assert work.words() == "2 of 5 questions, 3,000 states (20 open), 1,000/s"
    work.hear("a", Tally(nodes=400, waiting=7), 4.0)  # another search
    assert work.words().endswith("900 states (7 open), 600/s")
    work.hear("a", Tally(changes=3), 60.0)
    assert work.words() == "2 of 5 questions, 500 states (0 open), 3 changes tried"


def test_one_process_and_two_say_the_same(process: Call, tmp_path: Path) -> None:
    """Verdicts that hang on how many cores a machine has are no verdicts."""
    only = ("--only", "indoors", "--effort", "little", "--json")
    told = []
    for jobs in (1, 2):
        answer = process("prove", BOTHY, *only, "--jobs", jobs, "--out", tmp_path / str(jobs))
        found = VerdictsPrinted.model_validate_json(answer.out)
        told.append((answer.code, found.never, found.not_proved))
    assert told[0] == told[1]


def test_an_interrupt_leaves_what_was_found(tmp_path: Path) -> None:
    """An hour of proofs is not to be lost for the last one; nor is the rest to be taken for proved."""
    command = [sys.executable, "-m", "ullage.cli", "prove", str(MARRAM), "--faults", "pairs", "--jobs", "2"]
    command += ["--out", str(tmp_path)]
    settings = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    work = subprocess.Popen(command, stdout=-1, stderr=-1, env=settings, cwd=ROOT)
    with pytest.raises(subprocess.TimeoutExpired):
        work.communicate(timeout=20)
    work.send_signal(signal.SIGINT)
    out, err = work.communicate(timeout=120)
    assert work.returncode == 130, err.decode()
    assert b"Traceback" not in err
    assert b"UNDECIDED" in out
    found = Verdicts.model_validate_json((tmp_path / "verdicts.json").read_text("utf8"))
    assert found.stopped
    assert sum(cell.undecided for line in found.never for cell in line.under) > 0


def test_a_wish_for_nothing_is_told_what_there_is(ullage: Call, tmp_path: Path) -> None:
    """A typing slip that proves nothing and says 'fine' is the worst slip there is."""
    answer = ullage("prove", MARRAM, "--only", "bely", "--out", tmp_path)
    assert answer.code == 2
    assert "belly reaches its overflow" in answer.err
