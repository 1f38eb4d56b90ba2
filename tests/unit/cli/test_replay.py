"""``ullage replay``: the same harm or not, and no traceback for any file."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from tests.unit.cli.conftest import Call, one_line_with_remedy
from tests.unit.cli.documents import Findings, ReplayPrinted
from tests.worlds.wrong_rigs import WRONG, changed, statement_of, tree_of
from ullage.plant.faults import read_fault
from ullage.rig.text import read_tree
from ullage.verdict.file import write_story
from ullage.verdict.stories import find_story


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A wrong rig, and the story of its harm."""
    directory = tmp_path_factory.mktemp("story")
    wrong = next(wrong for wrong in WRONG if wrong.rig == "crumb" and wrong.faults)
    tree, _, _ = read_tree(tree_of(wrong.rig), "crumb.yaml")
    wrong.change(tree)
    rig, story = directory / "wrong.yaml", directory / "story.jsonl"
    rig.write_text(yaml.safe_dump(tree, sort_keys=False, allow_unicode=True, width=10_000), "utf8")
    examined = changed(wrong.rig, wrong.change)
    assert examined.rig is not None
    assert examined.law is not None
    found = find_story(
        examined, statement_of(wrong.harm, examined), [read_fault(examined.rig, words) for words in wrong.faults]
    )
    assert found is not None
    story.write_text(write_story(found, examined.law), "utf8")
    return rig, story


def test_a_story_is_played_again(ullage: Call, told: tuple[Path, Path], tmp_path: Path) -> None:
    """Whoever gets a story sees for themselves that it is so."""
    rig, story = told
    answer = ullage("replay", story, rig, "--out", tmp_path / "out")
    assert answer.code == 0, answer.err
    assert "it has come about: drum reaches its overflow" in " ".join(answer.out.split())
    assert "replayed: the same harm, to the last record." in answer.out
    assert "drum runs out of its overflow" in answer.out
    page = (tmp_path / "out" / "index.html").read_text("utf8")
    assert "it has come about" in page.replace("\u00a0", " ")
    again = ullage("simulate", rig, tmp_path / "out" / "scenario.yaml", "--out", tmp_path / "again")
    assert again.code == 1
    assert "BROKEN  never drum reaches its overflow" in again.out
    assert (tmp_path / "again" / "records.csv").read_bytes() == (tmp_path / "out" / "records.csv").read_bytes()


def test_its_json(ullage: Call, told: tuple[Path, Path], tmp_path: Path) -> None:
    """A night of replays is read by a machine."""
    rig, story = told
    answer = ullage("replay", story, rig, "--out", tmp_path, "--json")
    printed = ReplayPrinted.model_validate(answer.document)
    assert answer.code == 0
    assert printed.same
    assert printed.stored == printed.replayed
    assert printed.stored.volume is not None
    assert all(Path(path).is_file() for path in printed.files)


def test_a_mended_pipe_is_told(ullage: Call, told: tuple[Path, Path], tmp_path: Path) -> None:
    """Where the plumbing was changed and the sequences were not, the story is played and its harm is compared."""
    rig, story = told
    tree, _, _ = read_tree(rig.read_text("utf8"), "rig.yaml")
    tree["ports"]["filler"].update(pressure="0.1 bar .. 2.5 bar", usual="0.1 bar")
    other = tmp_path / "other.yaml"
    other.write_text(yaml.safe_dump(tree, sort_keys=False, allow_unicode=True, width=10_000), "utf8")
    slow = tmp_path / "slow.jsonl"
    slow.write_text(story.read_text("utf8").replace("pressure: 2.5 bar", "pressure: 0.1 bar"), "utf8")
    answer = ullage("replay", slow, other, "--out", tmp_path / "out")
    assert answer.code == 1
    assert "not the same: no such harm. It was written: At " in " ".join(answer.out.split())


def test_a_story_of_another_rig_is_a_finding(ullage: Call, told: tuple[Path, Path], tmp_path: Path) -> None:
    """Played on a rig that was mended, it would pass for a proof."""
    _, story = told
    sound = Path(__file__).parents[3] / "examples" / "rigs" / "crumb.yaml"
    answer = ullage("replay", story, sound, "--out", tmp_path / "out")
    assert answer.code == 1
    assert "R161" in answer.err
    assert not (tmp_path / "out").exists()
    printed = Findings.model_validate(ullage("replay", story, sound, "--json").document)
    assert [finding.code for finding in printed.findings] == ["R161"]


def test_a_bad_file_is_a_finding(ullage: Call, told: tuple[Path, Path], tmp_path: Path) -> None:
    """A traceback sends people away."""
    rig, story = told
    bad = tmp_path / "bad.jsonl"
    bad.write_bytes(story.read_bytes()[:-20])
    answer = ullage("replay", bad, rig, "--out", tmp_path / "out")
    assert (answer.code, "R160" in answer.err) == (1, True)
    assert "Traceback" not in answer.err
    answer = ullage("replay", tmp_path / "none.jsonl", rig)
    assert answer.code == 2
    one_line_with_remedy(answer.err)
