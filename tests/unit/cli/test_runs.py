"""``ullage simulate`` and ``demo`` played to their end: exit codes, JSON, what is written, in which units."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.unit.cli.conftest import MARRAM, ROOT, Answer, Call, one_line_with_remedy
from tests.unit.cli.documents import Demo, Findings, Misuse, Run, RunPrinted, Written
from ullage.cli import asking
from ullage.cli import demo as demo_verb
from ullage.cli.disk import MANIFEST
from ullage.rig.read import read_rig

SCENARIO = """\
scenario: A short fill
hours: 0.5
starts: {belly: 60 %, loft: 20 %, gray: 30 %}
happenings:
  - {at: 1 min, hose: shore, pressure: 2 bar}
  - {at: 2 min, start: fill, with: {target: 75 %}}
  - {at: 15 min, use: basin, for: 1 min}
expect:
  - fill reaches filled within 20 min
  - belly never over its overflow
  - no water indoors
"""
LYING = ("--fault", "belly_level stuck", "--fault", "belly_float stuck dry")


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    path = tmp_path / "short.yaml"
    path.write_text(SCENARIO)
    return path


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path / "out"


def names(directory: Path) -> set[str]:
    return {path.name for path in directory.iterdir()}


NEVER = [line.text for line in read_rig(MARRAM.read_bytes(), MARRAM.name)[0].never]


def charts(directory: Path) -> set[str]:
    return {name for name in names(directory) if re.match(r"\d-", name)}


# --- a run that is fine --------------------------------------------------------------------


def test_a_run_that_is_fine_ends_with_0_and_says_so(ullage: Call, scenario: Path, out: Path) -> None:
    """A nightly test of a rig reads the exit code; a person reads the last lines."""
    answer = ullage("simulate", MARRAM, scenario, "--out", out)
    assert answer.code == 0, answer
    lines = answer.out.splitlines()
    assert lines[0] == "A short fill"
    assert lines[1].strip() == "No harm: no water indoors, no overflow, no pump ran dry."
    assert f"A short fill: all {1 + len(NEVER)} expectations kept" in lines  # two of its three are lines of the rig
    assert str(out / "index.html") in lines[-1]
    assert "  kept    belly never over its overflow (at most" in answer.out


def test_every_file_of_a_run_is_written_whole(ullage: Call, scenario: Path, out: Path) -> None:
    """A chart that is missing from its page, or half a file, is found out at the hose."""
    assert ullage("simulate", MARRAM, scenario, "--out", out).code == 0
    drawn = charts(out)
    assert names(out) - drawn == {"index.html", "summary.json", "records.csv", MANIFEST}
    assert len(drawn) >= 4
    for name in drawn:
        content = (out / name).read_bytes()
        assert content.startswith(b"<svg") if name.endswith(".svg") else content.startswith(b"\x89PNG\r\n\x1a\n")
    assert {name[:-4] for name in drawn if name.endswith(".svg")} == {n[:-4] for n in drawn if n.endswith(".png")}
    page = (out / "index.html").read_text("utf8")
    assert page.count("<figure>") == len(drawn) / 2
    assert page.rstrip().endswith("</html>")


def test_the_json_of_a_run_is_the_summary_and_the_files(ullage: Call, scenario: Path, out: Path) -> None:
    """A script that adds up litres must not have to pick them out of words."""
    answer = ullage("simulate", MARRAM, scenario, "--out", out, "--json")
    assert answer.code == 0
    printed = RunPrinted.model_validate_json(answer.out)
    written = json.loads((out / "summary.json").read_text("utf8"))
    Run.model_validate_json((out / "summary.json").read_text("utf8"))
    assert {**written, "files": printed.files} == answer.document
    assert sorted(Path(file).name for file in printed.files) == sorted(names(out) - {MANIFEST})
    assert printed.files[0] == str(out / "index.html")
    assert answer.err == ""
    assert printed.fine
    assert not printed.harmed
    assert printed.seconds == 1800.0
    assert [e.text for e in printed.expectations][1] == "belly never over its overflow"
    belly = next(tank for tank in printed.tanks if tank.name == "belly")
    assert belly.start == pytest.approx(0.6 * 0.140, rel=1e-6)  # 70 % of 140 L (1000 x 500 x 280 mm)
    assert belly.least <= belly.start <= belly.most
    taken = next(o for o in printed.outcomes if o.name == "taken at shore")
    assert taken.unit == "m3"
    assert taken.value == pytest.approx(belly.most - belly.start, abs=2e-3)


def test_records_are_a_table_with_words(ullage: Call, scenario: Path, out: Path) -> None:
    """The records are what is left of a night: they must be readable without this program."""
    assert ullage("simulate", MARRAM, scenario, "--out", out).code == 0
    rows = list(csv.DictReader((out / "records.csv").read_text("utf8").splitlines()))
    assert list(rows[0]) == ["time_ms", "kind", "row", "value", "detail", "kind_word", "text"]
    times = [int(row["time_ms"]) for row in rows]
    assert times == sorted(times)
    assert times[-1] <= 1_800_000
    assert all(int(row[name]) is not None for row in rows for name in ("kind", "row", "value", "detail"))
    assert any(row["text"] == "A hose is connected to shore at 2.00 bar." for row in rows)
    assert all(row["kind_word"] for row in rows)


# --- other lengths, seeds, no scenario -----------------------------------------------------


def test_hours_and_seed_are_obeyed(ullage: Call, scenario: Path, tmp_path: Path) -> None:
    """A seed that is not obeyed makes the night that went wrong unrepeatable."""
    made: dict[str, tuple[Any, bytes]] = {}
    for name, seed in (("a", 5), ("b", 5), ("c", 6)):
        where = tmp_path / name
        answer = ullage("simulate", MARRAM, scenario, "--seed", seed, "--hours", 0.25, "--out", where, "--json")
        document = answer.document
        assert (document["seconds"], document["seed"]) == (900.0, seed)
        made[name] = ({**document, "files": []}, (where / "records.csv").read_bytes())
    assert made["a"] == made["b"]
    assert made["a"][1] != made["c"][1]


def test_a_rig_without_a_scenario_is_left_alone(ullage: Call, out: Path) -> None:
    """The first thing a person tries is a rig alone; it must not ask for a file that they do not have."""
    answer = ullage("simulate", MARRAM, "--hours", 0.1, "--out", out, "--json")
    assert answer.code == 0
    document = RunPrinted.model_validate_json(answer.out)
    assert [e.text for e in document.expectations] == [f"never {line}" for line in NEVER]
    assert all(e.kept for e in document.expectations)
    assert document.seconds == 360.0
    assert f"all {len(NEVER)} expectations kept" in (out / "index.html").read_text("utf8")


# --- a run that goes wrong -----------------------------------------------------------------


def test_a_broken_expectation_ends_with_1_and_tells_the_harm_first(ullage: Call, scenario: Path, out: Path) -> None:
    """A flood in a nightly test that ends with 0 is a flood on the road."""
    answer = ullage("simulate", MARRAM, scenario, *LYING, "--out", out)
    assert answer.code == 1
    lines = answer.out.splitlines()
    assert lines[1].startswith("  Harm: left by overflows, outdoors (")
    assert any(line.startswith("  BROKEN  belly never over its overflow") for line in lines)
    assert "expectations broken" in answer.out
    assert any(re.match(r" +0:\d\d:\d\d ! belly runs out of its overflow", line) for line in lines)


def test_a_broken_expectation_in_json(ullage: Call, scenario: Path, out: Path) -> None:
    """The same for a script: the code, the flag, the line that broke and the litres must agree."""
    answer = ullage("simulate", MARRAM, scenario, *LYING, "--out", out, "--json")
    assert answer.code == 1
    document = RunPrinted.model_validate_json(answer.out)
    assert not document.fine
    assert document.harmed
    assert document.faults == ["belly_level stuck", "belly_float stuck dry"]
    broken = [e for e in document.expectations if not e.kept]
    assert "belly never over its overflow" in [e.text for e in broken]
    (spilt,) = (o for o in document.outcomes if o.name == "left by overflows, outdoors")
    assert spilt.bad
    assert spilt.group == "harm"
    assert spilt.value > 1e-3
    # What a tank held above its overflow's edge is what the water's own depth over that edge makes up.
    assert next(t for t in document.tanks if t.name == "belly").most > 0.140


def test_a_scenario_with_findings_ends_with_1_and_is_not_run(ullage: Call, tmp_path: Path, out: Path) -> None:
    """A scenario with a slip in it, run all the same, would test something else."""
    path = tmp_path / "slip.yaml"
    path.write_text(SCENARIO.replace("start: fill", "start: fil"))
    answer = ullage("simulate", MARRAM, path, "--out", out)
    assert answer.code == 1
    assert "did you mean 'fill'?" in answer.err
    told = ullage("simulate", MARRAM, path, "--out", out, "--json")
    assert told.code == 1
    found = Findings.model_validate_json(told.out)
    assert found.findings[0].near == "fill"
    assert found.findings[0].line == 6
    assert not out.exists(), "an empty directory looks like a run that went well"


WRONG = (
    ("--fault", "belly_levl stuck"),
    ("--fault", "belly_level stuk"),
    ("--fault", ""),
    ("--seed", "-1"),
    ("--seed", "x"),
    ("--hours", "0"),
    ("--hours", "1e9"),
    ("--hours", "8785"),
    ("--fault", "belly_level stuck") * 65,
    ("--units", "imperial"),
    ("--out",),
    ("no-such-scenario.yaml",),
    (".",),
)


@pytest.mark.parametrize("wrong", WRONG, ids=lambda wrong: " ".join(wrong)[:40])
def test_wrong_use_of_simulate_ends_with_2(ullage: Call, out: Path, wrong: tuple[str, ...]) -> None:
    """A mistyped option must not start ten minutes of something else, nor look like a faulty rig."""
    answer = ullage("simulate", MARRAM, "--out", out, *wrong)
    assert answer.code == 2, answer
    one_line_with_remedy(answer.err)
    told = ullage("simulate", MARRAM, "--out", out, "--json", *wrong)
    assert told.code == 2
    assert not out.exists()
    Misuse.model_validate_json(told.out)


# --- units ---------------------------------------------------------------------------------


def test_us_units_reach_everything_that_people_read_and_nothing_else(
    ullage: Call, scenario: Path, tmp_path: Path
) -> None:
    """A page with litres in one chart and gallons in the next is added up by somebody."""
    metric, us = tmp_path / "metric", tmp_path / "us"
    one = ullage("simulate", MARRAM, scenario, "--out", metric, "--json").document
    two = ullage("simulate", MARRAM, scenario, "--out", us, "--units", "us", "--json").document
    assert {**one, "files": []} == {**two, "files": []}
    assert (metric / "summary.json").read_bytes() == (us / "summary.json").read_bytes()
    shown = ullage("simulate", MARRAM, scenario, "--out", us, "--units", "us").out
    assert re.search(r"\d gal  taken at shore", shown)
    assert "29.0 psi" in shown  # 2 bar / 6894.757 Pa: IEEE/ASTM SI 10
    svg = next(us.glob("0-*.svg")).read_text("utf8")
    assert "belly  [gal]" in svg
    assert "[gpm]" in "".join(path.read_text("utf8") for path in us.glob("*.svg"))
    page = re.sub(r"<style>.*?</style>", "", (us / "index.html").read_text("utf8"), flags=re.DOTALL)
    makers_own = re.compile("|".join(map(re.escape, NEVER)))
    for text in (shown, page, svg, (us / "records.csv").read_text("utf8")):
        ours = makers_own.sub("", text.replace("\u00a0", " "))
        assert not re.search(r"(?<![\w-])\d[\d.]* (L|mL|bar|L/min)\b|\[(L|L/min)\]", ours)


def test_units_may_be_a_wish_for_all_commands(ullage: Call, scenario: Path, out: Path, monkeypatch: Any) -> None:
    """Who thinks in gallons must not have to say so at every call."""
    monkeypatch.setenv("ULLAGE_UNITS", "us")
    assert " gal  taken at shore" in ullage("simulate", MARRAM, scenario, "--out", out).out


def test_the_findings_of_a_check_follow_the_units(ullage: Call, tmp_path: Path) -> None:
    """A margin told in litres to somebody who built the tank in gallons is not believed. JSON stays metric."""
    text = MARRAM.read_text("utf8")
    assert "overflow: {bore: 38 mm, at: 280 mm}" in text
    rig = tmp_path / "rig.yaml"
    rig.write_text(text.replace("overflow: {bore: 38 mm, at: 280 mm}", "overflow: {bore: 12 mm, at: 280 mm}"))
    metric, us = ullage("check", rig), ullage("check", rig, "--units", "us")
    assert metric.code == us.code == 1
    flow = re.search(r"([\d.]+) L/min", metric.out)
    assert flow is not None
    told = re.search(r"([\d.]+) gpm", us.out)
    assert told is not None
    assert float(told[1]) == pytest.approx(float(flow[1]) / 3.785411784, abs=0.02)
    assert "L/min" not in us.out
    assert ullage("check", rig, "--units", "us", "--json").out == ullage("check", rig, "--json").out


# --- a directory that is used again --------------------------------------------------------


def test_a_run_leaves_no_chart_of_an_earlier_one(ullage: Call, scenario: Path, out: Path) -> None:
    """Yesterday's chart beside today's figures is believed."""
    assert ullage("simulate", MARRAM, scenario, "--out", out).code == 0
    before = charts(out)
    assert ullage("simulate", MARRAM, "--hours", 0.1, "--out", out).code == 0
    after = charts(out)
    assert after < before
    listed = Written.model_validate_json((out / MANIFEST).read_text("utf8")).files
    assert set(listed) == {"simulate"}
    assert set(listed["simulate"]) == names(out) - {MANIFEST}


def test_files_of_other_people_are_never_removed(ullage: Call, scenario: Path, out: Path) -> None:
    """Notes beside the charts are worth more than the charts."""
    out.mkdir()
    mine = {"notes.txt": "gallons!", "9-mine.svg": "<svg/>", "index.html": "my site"}
    for name, text in mine.items():
        (out / name).write_text(text)
    told = ullage("simulate", MARRAM, scenario, "--out", out)
    assert "index.html is not of an earlier run, or was changed since: kept as index.html.kept" in told.err
    annotated = next(name for name in sorted(charts(out)) if name.startswith("1-") and name.endswith(".svg"))
    (out / annotated).write_text("<svg>with a remark of mine</svg>")
    assert ullage("simulate", MARRAM, "--hours", 0.1, "--out", out).code == 0
    assert (out / annotated).read_text() == "<svg>with a remark of mine</svg>"
    assert (out / "index.html.kept").read_text() == "my site"
    assert (out / "notes.txt").read_text() == "gallons!"
    assert (out / "9-mine.svg").read_text() == "<svg/>"
    assert (out / "index.html").read_text("utf8").startswith("<!doctype html>")


def test_two_verbs_may_share_a_directory(ullage: Call, scenario: Path, out: Path) -> None:
    """Drawings that vanish when a run is made into the same directory are drawn twice and trusted never."""
    assert ullage("draw", MARRAM, "--out", out).code == 0
    assert ullage("simulate", MARRAM, scenario, "--out", out).code == 0
    assert {"fill.svg", "empty.svg", "index.html"} <= names(out)
    assert ullage("draw", ROOT / "examples/rigs/bothy.yaml", "--out", out).code == 0
    assert "fill.svg" not in names(out)
    assert {"lift.svg", "index.html"} <= names(out)


@pytest.mark.parametrize(
    "listed",
    [
        "",
        "[]",
        '{"files": 3}',
        '{"files": {"draw": {"../victim.txt": "HASH"}}}',
        '{"files": {"draw": {"link": "HASH"}}}',
    ],
)
def test_a_list_that_was_tampered_with_removes_nothing_elsewhere(ullage: Call, out: Path, listed: str) -> None:
    """A directory from a stranger must not make the program remove files outside it."""
    out.mkdir()
    victim = out.parent / "victim.txt"
    victim.write_text("")
    (out / "link").symlink_to(victim)
    empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"  # SHA-256 of nothing (FIPS 180-4)
    (out / MANIFEST).write_text(listed.replace("HASH", empty))
    assert ullage("draw", MARRAM, "--out", out).code == 0
    assert victim.exists()
    assert (out / "link").exists()


# --- the demo ------------------------------------------------------------------------------


def test_the_demo_ends_with_0_and_says_where_the_pictures_are(ullage: Call, out: Path) -> None:
    """The first command of the README is the one that must not fail."""
    answer = ullage("demo", "--out", out)
    assert answer.code == 0, answer
    assert answer.out.count("No harm: ") == 2
    assert answer.out.count("expectations kept") == 2
    for name in demo_verb.SCENARIOS:
        assert str(out / name / "index.html") in answer.out
        assert {"index.html", "summary.json", "records.csv"} <= names(out / name)
    assert "water indoors                 PROVED: wet" in answer.out
    assert not {"REFUTED", "UNDECIDED"} & set(answer.out.split()), "little effort is enough for the demo rig in health"
    assert str(out / "prove" / "index.html") in answer.out


@pytest.fixture
def one_question(monkeypatch: pytest.MonkeyPatch) -> None:
    """A demo that asks one thing only, which takes no time."""
    asked_of = asking.asked_of
    monkeypatch.setattr(asking, "asked_of", lambda ready: asked_of(ready, "indoors"))


@pytest.mark.usefixtures("one_question")
def test_the_demo_in_json(ullage: Call, out: Path) -> None:
    """One document, whole, with both runs and the verdicts."""
    answer = ullage("demo", "--out", out, "--json")
    assert answer.code == 0
    document = Demo.model_validate_json(answer.out)
    assert len(document.runs) == len(demo_verb.SCENARIOS)
    assert all(run.fine and run.rig == "Marram" for run in document.runs)
    assert all(Path(file).is_file() for run in document.runs for file in run.files)
    assert document.proofs[0].worst == "PROVED"
    assert [line.text for line in document.proofs[0].never] == ["water indoors"]


def other_checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A checkout whose demo has only the shorter scenario, to be spoilt."""
    root = tmp_path / "checkout"
    (root / "examples" / "rigs").mkdir(parents=True)
    (root / "examples" / "scenarios").mkdir()
    for name in ("rigs/marram.yaml", "scenarios/stuck_sender.yaml"):
        (root / "examples" / name).write_text((ROOT / "examples" / name).read_text("utf8"), "utf8")
    monkeypatch.setattr(demo_verb, "SCENARIOS", ("stuck_sender",))
    monkeypatch.chdir(root)
    return root / "examples" / "scenarios" / "stuck_sender.yaml"


@pytest.mark.usefixtures("one_question")
def test_a_demo_that_breaks_an_expectation_ends_with_1(
    ullage: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the demo could not fail, its success would prove nothing."""
    path = other_checkout(tmp_path, monkeypatch)
    path.write_text(path.read_text("utf8").rstrip() + "\n  - belly_high never trips\n", "utf8")
    answer = ullage("demo")
    assert answer.code == 1
    assert "BROKEN  belly_high never trips" in answer.out
    told = ullage("demo", "--json")
    assert told.code == 1
    assert not Demo.model_validate_json(told.out).runs[0].fine
    path.write_text("scenario: [")
    assert ullage("demo").code == 1


def test_a_demo_without_its_rig_ends_with_2(ullage: Call, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An installed package has no examples; a person is told where they are, not shown a missing path."""
    monkeypatch.setattr(demo_verb, "RIG", Path("examples/rigs/nowhere.yaml"))
    answer = ullage("demo", "--out", out)
    assert answer.code == 2
    one_line_with_remedy(answer.err)
    assert "./run demo" in answer.err
    told: Answer = ullage("demo", "--out", out, "--json")
    Misuse.model_validate_json(told.out)


def test_a_full_disk_is_told_and_leaves_no_half_file(ullage: Call, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half a chart looks like a whole one until somebody needs its other half."""
    assert ullage("draw", MARRAM, "--out", out).code == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    write = Path.write_bytes

    def full(path: Path, content: bytes) -> int:
        write(path, content[: len(content) // 2])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    answer = ullage("draw", MARRAM, "--out", out)
    assert answer.code == 2
    one_line_with_remedy(answer.err)
    assert "no space left" in answer.err
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
