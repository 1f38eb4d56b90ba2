"""``ullage check``, ``explain`` and ``draw``, and how every verb meets what it cannot use."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.unit.cli.conftest import MARRAM, ROOT, Call, one_line_with_remedy
from ullage.cli import check
from ullage.findings import Finding, Place, catalogue


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    """Marram with a valve misspelt and a tank without its vent."""
    text = MARRAM.read_text("utf8").replace("when shore_in is open", "when shore_inn is open")
    path = tmp_path / "rig.yaml"
    path.write_text(text, "utf8")
    return path


def test_the_demo_rig_is_accepted(ullage: Call) -> None:
    """A demo that is refused teaches everybody that the tool is wrong."""
    answer = ullage("check", MARRAM)
    assert answer.code == 0, answer.out
    assert "Marram: 3 tanks, 7 valves" in answer.out
    assert answer.out.splitlines()[-1].startswith("accepted: nothing to mend")
    assert answer.err == ""


def test_a_finding_is_shown_with_its_place_and_the_nearest_name(ullage: Call, faulty: Path) -> None:
    """'Unknown name' without the place costs an evening in a file of three hundred lines."""
    answer = ullage("check", faulty)
    assert answer.code == 1
    line = next(i for i, row in enumerate(faulty.read_text().splitlines(), 1) if "shore_inn" in row)
    assert f"rig.yaml:{line}:" in answer.out.replace("\n", "")
    assert "did you mean 'shore_in'?" in answer.out
    assert "refused" in answer.out.splitlines()[-1]
    caret = next(row for row in answer.out.splitlines() if row.strip() == "^")
    shown = next(row for row in answer.out.splitlines() if "shore_inn" in row and " | " in row)
    assert shown[caret.index("^") :].startswith("shore_inn")


def test_the_json_of_a_check_keeps_its_shape(ullage: Call, faulty: Path) -> None:
    """A script that reads the findings breaks in silence when a key changes its name."""
    good, bad = ullage("check", MARRAM, "--json").document, ullage("check", faulty, "--json").document
    keys = {"format", "file", "rig", "program", "refused", "faults", "cautions", "accepted", "findings", "not_shown"}
    for made in (good, bad):
        assert set(made) == keys
        assert made["format"] == "ullage check 1"
    assert good["refused"] is False
    assert len(good["program"]) == 64
    assert bad["refused"] is True
    assert bad["program"] is None
    assert bad["faults"] == sum(f["level"] == "fault" and not f["accepted"] for f in bad["findings"]) > 0


@pytest.mark.parametrize("verb", ["check", "draw", "simulate"])
def test_what_is_no_rig_file_is_told_in_one_line(ullage: Call, tmp_path: Path, verb: str) -> None:
    """A traceback tells a person that the tool is broken, when the path was mistyped."""
    (tmp_path / "marram.yaml").write_text("rig: x")
    for path in (
        tmp_path,
        tmp_path / "maram.yaml",
        tmp_path / "no" / "such.yaml",
        tmp_path / "marram.yaml" / "x",
        "/dev/null",
        "x" * 5000,
    ):
        answer = ullage(verb, path)
        assert answer.code == 2, (path, answer)
        one_line_with_remedy(answer.err)
        assert answer.out == ""
    assert "did you mean" in ullage(verb, tmp_path / "maram.yaml").err


@pytest.mark.parametrize(
    "content",
    [b"", b"\xff\xfe\x00", b"\x00" * 9, b"a: b: c:", b"- 1\n- 2", b"rig: x\n" * 3, b"x" * 1_000_002, b"[" * 4000],
)
def test_any_bytes_are_answered_with_findings(ullage: Call, tmp_path: Path, content: bytes) -> None:
    """A file from a broken card must not look like a fault of the tool."""
    path = tmp_path / "rig.yaml"
    path.write_bytes(content)
    answer = ullage("check", path)
    assert answer.code == 1
    assert "Traceback" not in answer.out + answer.err
    assert "refused" in answer.out
    assert ullage("check", path, "--json").document["refused"] is True


def test_a_file_that_may_not_be_read_is_told(process: Call, tmp_path: Path) -> None:
    """Without the reason a person retypes the path ten times."""
    path = tmp_path / "rig.yaml"
    path.write_text("rig: x")
    path.chmod(0)
    if os.access(path, os.R_OK):  # a test run as root reads everything; then the refusal is played
        code = (
            "import sys, pathlib; from ullage import cli\n"
            "def refuse(*a, **k): raise PermissionError(13, 'Permission denied')\n"
            f"pathlib.Path.open = refuse; sys.argv = ['ullage', 'check', {str(path)!r}]; cli.main()"
        )
        environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, timeout=60)
        answer_code, answer_err = done.returncode, done.stderr
    else:
        answer = process("check", path)
        answer_code, answer_err = answer.code, answer.err
    assert answer_code == 2
    one_line_with_remedy(answer_err)
    assert "may not be read" in answer_err


def test_misuse_in_json_is_json(ullage: Call) -> None:
    """A script that asked for JSON must not choke on a sentence."""
    answer = ullage("check", "no-such.yaml", "--json")
    assert answer.code == 2
    assert set(answer.document) == {"format", "what", "remedy"}
    assert answer.document["format"] == "ullage misuse 1"


def test_every_code_is_explained(ullage: Call) -> None:
    """A code without words sends a person to search the web for advice on drinking water."""
    for code, entry in catalogue().items():
        answer = ullage("explain", code.lower())
        assert answer.code == 0
        assert entry.title in " ".join(answer.out.split())
        assert " ".join(entry.remedy.split())[:25] in " ".join(answer.out.split())
        assert ullage("explain", code, "--json").document["code"] == code
    listed = ullage("explain", "all")
    assert all(code in listed.out for code in catalogue())
    assert len(ullage("explain", "all", "--json").document["codes"]) == len(catalogue())


def test_an_unknown_code_names_the_nearest(ullage: Call) -> None:
    """A digit mistyped from a screen in the rain should cost one more try, not a manual."""
    answer = ullage("explain", "P3011")
    assert answer.code == 2
    one_line_with_remedy(answer.err)
    assert "did you mean P3" in answer.err


def test_charts_of_all_sequences_are_drawn(ullage: Call, tmp_path: Path) -> None:
    """A sequence without a picture is one that nobody has looked at."""
    answer = ullage("draw", MARRAM, "--out", tmp_path / "new" / "dir", "--json")
    assert answer.code == 0
    for chart in answer.document["charts"]:
        assert Path(chart["file"]).read_text("utf8").startswith("<svg")
    assert "fill" in [chart["sequence"] for chart in answer.document["charts"]]
    assert not list((tmp_path / "new" / "dir").glob("*.part"))


@pytest.mark.parametrize("verb", ["draw", "simulate"])
def test_a_directory_that_cannot_be_written_is_told_before_the_work(ullage: Call, tmp_path: Path, verb: str) -> None:
    """Ten minutes of simulation must not end in 'no space to write'."""
    (tmp_path / "file").write_text("")
    for out in (tmp_path / "file", tmp_path / "file" / "below", "/proc/nowhere"):
        answer = ullage(verb, MARRAM, "--out", out)
        assert answer.code == 2
        one_line_with_remedy(answer.err)


def test_a_refused_rig_is_neither_drawn_nor_run(ullage: Call, faulty: Path, tmp_path: Path) -> None:
    """A picture of a sequence that is not the one that would run is worse than none."""
    for verb in ("draw", "simulate"):
        answer = ullage(verb, faulty, "--out", tmp_path / "out")
        assert answer.code == 1
        assert "did you mean 'shore_in'?" in answer.err
        assert ullage(verb, faulty, "--out", tmp_path / "out", "--json").document["refused"] is True
    assert not (tmp_path / "out").exists(), "an empty directory looks like a run that went well"


def test_a_caution_that_stands_is_not_called_accepted(ullage: Call, tmp_path: Path) -> None:
    """Who reads 'accepted' beside exit code 1 believes the word and never looks at the caution."""
    path = tmp_path / "rig.yaml"
    text = MARRAM.read_text("utf8")
    path.write_text(text[: text.index("accepts:")], "utf8")
    answer = ullage("check", path)
    assert answer.code == 1
    last = answer.out.splitlines()[-1]
    assert re.fullmatch(r"not yet accepted: 1 caution to mend or accept; 'ullage explain \w+' says more", last), last


def test_the_last_line_points_at_the_fault_that_refused_the_rig(ullage: Call, tmp_path: Path) -> None:
    """A hint at a caution sends a person to mend what would have run anyway."""
    text = MARRAM.read_text("utf8")
    text = text[: text.index("accepts:")].replace("(belly_level > 90 %)", "(bely_level > 90 %)")
    path = tmp_path / "rig.yaml"
    path.write_text(text, "utf8")
    found = ullage("check", path, "--json").document["findings"]
    fault = next(f["code"] for f in found if f["level"] == "fault")
    assert f"'ullage explain {fault}' says more" in " ".join(ullage("check", path).out.split())
    # The caution may stand first in the file: the hint must pass over it.
    moved = check.sum_lines(path, None, in_order_of_level(fault))
    assert fault in moved[-1]


def in_order_of_level(fault: str) -> tuple[Finding, ...]:
    """A caution in line 1 and a fault in line 2."""
    caution = next(code for code, entry in catalogue().items() if entry.level == "caution")
    return Finding(caution, Place("rig.yaml", 1, 1), "a"), Finding(fault, Place("rig.yaml", 2, 1), "b")


@pytest.mark.parametrize(
    "arguments",
    [["check", ""], ["simulate", ""], ["simulate", MARRAM, ""], ["draw", MARRAM, "--out", ""], ["demo", "--out", ""]],
    ids=lambda arguments: " ".join(map(str, arguments[:1])),
)
def test_an_empty_path_is_not_the_working_directory(
    ullage: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[object]
) -> None:
    """A script with an unset variable must not spread charts over whatever directory it stands in."""
    monkeypatch.chdir(tmp_path)
    answer = ullage(*arguments)
    assert answer.code == 2
    one_line_with_remedy(answer.err)
    assert "it is empty" in answer.err
    assert not list(tmp_path.iterdir())


def test_help_and_check_import_nothing_heavy(ullage: Call) -> None:
    """A second of waiting after each line makes people stop checking."""
    heavy = "numpy, numba, scipy, matplotlib, rich, fluids"
    for arguments in (["--help"], ["check", str(MARRAM)]):
        code = (
            f"import sys; from ullage import cli; sys.argv = ['ullage', *{arguments!r}]\n"
            "try: cli.main()\n"
            "except SystemExit: pass\n"
            f"print(sorted({{m.partition('.')[0] for m in sys.modules}} & set('{heavy}'.split(', '))), file=sys.stderr)"
        )
        environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, timeout=60)
        assert done.stderr.strip() == "[]", (arguments, done.stderr)


def test_output_is_plain_when_piped_and_survives_a_poor_terminal(process: Call, faulty: Path) -> None:
    """Escape codes in a log, or a crash on a terminal without UTF-8, hide what was found."""
    answer = process("check", faulty, PYTHONIOENCODING="ascii", LANG="C", COLUMNS="80")
    assert answer.code == 1
    assert "\x1b" not in answer.out
    assert max(map(len, answer.out.splitlines())) <= 80 + len(str(faulty))


def test_a_reader_that_goes_away_is_no_fault(faulty: Path) -> None:
    """`ullage check rig.yaml | head -1` must not end in a traceback."""
    command = f"{sys.executable} -m ullage.cli explain all | head -n 1"
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, env=environment, timeout=60)
    assert "Traceback" not in done.stderr
    assert "Exception" not in done.stderr


def test_a_fault_of_ours_is_owned_up_to(ullage: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    """A person must not search their rig file for a fault that is in the program."""

    def broken(*_: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("ullage.cli.check.examine", broken)
    answer = ullage("check", MARRAM)
    assert answer.code == 70
    assert "a fault of ours" in answer.err
    assert "Traceback" not in answer.err
    monkeypatch.setenv("ULLAGE_TRACEBACK", "1")
    assert "Traceback" in ullage("check", MARRAM).err


@pytest.mark.parametrize("arguments", [[], ["chek", "x"], ["check"], ["check", "--what"], ["check", "a", "b"]])
def test_wrong_use_ends_with_code_2(ullage: Call, arguments: list[str]) -> None:
    """A script must be able to tell a mistyped option from a faulty rig."""
    answer = ullage(*arguments)
    assert answer.code == 2
    assert "Traceback" not in answer.err
