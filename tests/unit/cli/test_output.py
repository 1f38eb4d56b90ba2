"""The JSON of every verb: each document as described to people in docs/output.md, field by field."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from tests.unit.cli.conftest import MARRAM, ROOT, Call
from tests.unit.cli.documents import (
    DOCUMENTS,
    Check,
    Code,
    Codes,
    Document,
    Drawings,
    Fault,
    Misuse,
    format_of,
    paths,
)
from ullage.cli import speak

OUTPUT = (ROOT / "docs" / "output.md").read_text("utf8")


def described(heading: str) -> list[str]:
    """The fields in the table below a heading of docs/output.md."""
    section = re.split(r"^#+ ", OUTPUT.partition(f" {heading}\n")[2], maxsplit=1, flags=re.MULTILINE)[0]
    return re.findall(r"^\| `([^`]+)` \|", section, re.MULTILINE)


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda document: document.__name__)
def test_every_field_is_described_and_every_described_field_is_there(document: type[Document]) -> None:
    """A field that is only described is waited for; one that is not described changes without a word."""
    told = described(format_of(document))
    assert told, f"docs/output.md has no table for '{format_of(document)}'"
    assert len(told) == len(set(told))
    real = paths(document)
    whole = tuple(f"{path}." for path in told if path.endswith("[]"))  # lists whose fields another table tells
    assert {path for path in real if not path.startswith(whole)} | {w[:-1] for w in whole} == set(told)
    assert all(any(path.startswith(w) or path == w[:-1] for path in real) for w in whole)


def test_no_format_is_described_that_nothing_prints() -> None:
    """A description of what is gone makes people look for their own mistake."""
    headings = set(re.findall(r"^## (ullage .+)$", OUTPUT, re.MULTILINE))
    assert headings == {format_of(document) for document in DOCUMENTS}
    sources = "".join(path.read_text("utf8") for path in (ROOT / "src/ullage/cli").glob("*.py"))
    assert set(re.findall(r'"(ullage [a-z]+ \d)"', sources)) == headings


def test_the_columns_of_the_records_are_described(ullage: Call, tmp_path: Path) -> None:
    """Columns are counted by whoever reads a table without its description, and counted wrongly."""
    assert ullage("simulate", MARRAM, "--hours", 0.05, "--out", tmp_path).code == 0
    with (tmp_path / "records.csv").open(encoding="utf8") as file:
        assert next(csv.reader(file)) == described("records.csv")
    assert {path.name for path in tmp_path.iterdir() if not re.match(r"\d-", path.name)} <= set(
        re.findall(r"`([\w.-]+)`", OUTPUT)
    )


def test_the_json_of_check_draw_and_explain(ullage: Call, tmp_path: Path) -> None:
    """A number that comes as text is compared as text: '9' is more than '10'."""
    faulty = tmp_path / "rig.yaml"
    faulty.write_text(MARRAM.read_text("utf8").replace("when shore_in is open", "when shore_inn is open"), "utf8")
    calls: tuple[tuple[type[BaseModel], int, tuple[object, ...]], ...] = (
        (Check, 0, ("check", MARRAM)),
        (Check, 1, ("check", faulty)),
        (Check, 1, ("draw", faulty, "--out", tmp_path / "out")),
        (Check, 1, ("simulate", faulty, "--out", tmp_path / "out")),
        (Drawings, 0, ("draw", MARRAM, "--out", tmp_path / "out")),
        (Code, 0, ("explain", "P301")),
        (Codes, 0, ("explain", "all")),
    )
    for document, code, arguments in calls:
        answer = ullage(*arguments, "--json")
        assert answer.code == code, arguments
        document.model_validate_json(answer.out)
        assert answer.err == ""


MISUSED = (
    ("check",),
    ("check", "nowhere.yaml"),
    ("check", "--what"),
    ("draw",),
    ("draw", MARRAM, "--out", "/dev/null/x"),
    ("explain",),
    ("explain", "Z999"),
    ("simulate",),
    ("simulate", MARRAM, "--seed", "one"),
    ("demo", "--hours", "3"),
    ("demo", "--out", "/dev/null/x"),
    ("chek",),
)


@pytest.mark.parametrize("arguments", MISUSED, ids=lambda arguments: " ".join(map(str, arguments))[:40])
def test_misuse_of_every_verb_is_json_where_json_was_asked_for(ullage: Call, arguments: tuple[object, ...]) -> None:
    """A script that asked for JSON must not choke on a usage text."""
    answer = ullage(*arguments, "--json")
    assert answer.code == 2
    Misuse.model_validate_json(answer.out)
    assert len(answer.err.strip().splitlines()) == 1


def test_a_verb_mistyped_names_the_nearest(ullage: Call) -> None:
    """'No such command' without a hint sends people to the manual for a letter."""
    assert "did you mean 'check'?" in ullage("chek", "rig.yaml").err


def test_a_fault_of_ours_in_json(ullage: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    """A script must be able to tell our fault from a faulty rig."""

    def broken(*_: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("ullage.cli.check.examine", broken)
    answer = ullage("check", MARRAM, "--json")
    assert answer.code == 70
    assert Fault.model_validate_json(answer.out).what == "ZeroDivisionError"
    assert "a fault of ours" in answer.err


def test_drawing_says_where_each_chart_is(ullage: Call, tmp_path: Path) -> None:
    """A picture that is not found is drawn again and again."""
    answer = ullage("draw", MARRAM, "--out", tmp_path / "drawn")
    assert answer.code == 0
    for line in answer.out.splitlines():
        assert Path(line).read_text("utf8").startswith("<svg")
    assert len(answer.out.splitlines()) == 9  # three drawings, and Marram has six sequences


def test_a_sequence_that_is_named_like_a_drawing_keeps_its_chart(ullage: Call, tmp_path: Path) -> None:
    """Two pictures in one file are one picture, and it is the wrong one that is looked at."""
    rig = tmp_path / "rig.yaml"
    rig.write_text((ROOT / "examples/rigs/bothy.yaml").read_text("utf8").replace("settle", "flow"), "utf8")
    answer = ullage("draw", rig, "--out", tmp_path / "drawn")
    assert answer.code == 0
    assert "flow diagram" in (tmp_path / "drawn/flow.svg").read_text("utf8")
    assert "Sequential function chart" in (tmp_path / "drawn/flow-sequence.svg").read_text("utf8")


@pytest.mark.parametrize("sheet", ["a4", "phone", "handset"])
def test_a_rig_is_drawn_for_the_sheet_that_is_asked_for(ullage: Call, tmp_path: Path, sheet: str) -> None:
    """A drawing for a page, looked at on a telephone, is a smudge."""
    assert ullage("draw", MARRAM, "--out", tmp_path, "--sheet", sheet, "--units", "us").code == 0
    text = (tmp_path / "side.svg").read_text("utf8")
    assert f'width="{ {"a4": 1120, "phone": 390, "handset": 320}[sheet] }"' in text
    assert "ft</text>" in text


@pytest.mark.parametrize("columns", [40, 80, 200])
def test_every_line_fits_the_terminal(
    ullage: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    """On the small screen at the hose a broken line hides the figure."""
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "rig.yaml").write_bytes(MARRAM.read_bytes())
    room = min(max(columns, speak.WIDTH_LEAST), speak.WIDTH_MOST)
    for arguments in (
        ("check", "rig.yaml"),
        ("explain", "P302"),
        ("explain", "all"),
        ("simulate", "rig.yaml", "--hours", "0.05", "--out", "o"),
    ):
        answer = ullage(*arguments)
        assert answer.code == 0
        assert max(map(len, answer.out.splitlines())) <= room, arguments
