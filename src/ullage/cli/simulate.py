"""``ullage simulate``: run a rig with its own sequences against its own water, and tell what came of it."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from json import dumps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ullage.cli import check, disk, speak
from ullage.cli.draw import Out
from ullage.report.lettering import hung
from ullage.simulate.sheet import HOURS_LIMIT

if TYPE_CHECKING:
    from ullage.cli.check import Runnable
    from ullage.plant.faults import Fault
    from ullage.report.account import Account
    from ullage.report.quantity_words import System
    from ullage.rig.model import Rig
    from ullage.simulate.run import Run
    from ullage.simulate.scenario import Scenario

ScenarioPath = Annotated[
    Path | None,
    typer.Argument(metavar="SCENARIO", help="What is done to it; a calm day without.", parser=disk.path),
]


def simulate(
    rig: check.RigPath,
    scenario: ScenarioPath = None,
    fault: Annotated[
        list[str] | None, typer.Option("--fault", metavar="FAULT", help="What goes wrong besides.")
    ] = None,
    seed: Annotated[int, typer.Option("--seed", min=0, max=2**31 - 1, help="Of all chance.")] = 1,
    hours: Annotated[float | None, typer.Option("--hours", min=0.01, max=HOURS_LIMIT, help="Another length.")] = None,
    out: Out = Path("out/simulate"),
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Simulate a rig with its own sequences, hour by hour."""
    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    given = read(ready, scenario, json)
    faults = _faults(ready.rig, fault or [], given)
    disk.prepare(out)  # before the long work, and not for a rig that is refused
    run, account = play(ready, given, faults, seed, hours, json, units)
    if not json:
        tell(account)
        speak.say()
    paths = write(out, run, account)
    if json:
        speak.say_json(document(account, paths))
    else:
        say_where(account, paths)
    raise typer.Exit(0 if account.fine else 1)


def read(ready: Runnable, path: Path | None, as_json: bool) -> Scenario:
    """The scenario in a file, or a calm day; say what is wrong with it and leave when it cannot be played."""
    from ullage.simulate.expect import never_of
    from ullage.simulate.scenario import Scenario, read_scenario

    if path is None:
        return Scenario(expectations=never_of(ready.law))
    text = disk.read(path, "scenario")
    given, findings = read_scenario(text, str(path), ready.rig, ready.law)
    if given is None or findings:
        check.say_findings(findings, text, as_json)
        raise typer.Exit(1)
    return given


def play(
    ready: Runnable,
    given: Scenario,
    faults: list[Fault],
    seed: int,
    hours: float | None,
    as_json: bool,
    units: System = "metric",
) -> tuple[Run, Account]:
    """Play a scenario and tell it."""
    from ullage.kernels import is_kept
    from ullage.report.telling import account_of
    from ullage.simulate import loop
    from ullage.simulate.run import simulate as run_scenario

    length = given.hours if hours is None else hours
    compiles = not is_kept(loop.run)
    with speak.progress(f"{ready.rig.rig}: {given.name}", length, compiles=compiles, quiet=as_json) as report:
        run = run_scenario(ready.rig, ready.program, given, seed, hours, faults, report)
    return run, account_of(run, ready.law, units)


def _faults(rig: Rig, asked: list[str], given: Scenario) -> list[Fault]:
    """The faults asked for beside those of a scenario."""
    from ullage.plant.faults import FAULTS_LIMIT, FaultError, read_fault

    faults = []
    for words in asked:
        try:
            faults.append(read_fault(rig, words))
        except FaultError as fault:
            near = f" (did you mean '{fault.near}'?)" if fault.near else ""
            raise speak.Misuse(f"--fault '{words[:60]}': {fault.what}{near}", f"give {fault.expected}") from None
    count = len(faults) + len(given.faults)
    if count > FAULTS_LIMIT:
        raise speak.Misuse(f"{count} faults in one run", f"give at most {FAULTS_LIMIT}")
    return faults


def write(
    out: Path, run: Run, account: Account, verb: str = "simulate", besides: Mapping[str, bytes] | None = None
) -> list[Path]:
    """Write the page, its charts, the figures and the records, and other files; their paths, the page first."""
    from ullage.report.charts import svg_and_png
    from ullage.report.page import page

    drawn = [svg_and_png(strip) for strip in account.strips]
    files = {"index.html": page(account, [svg for svg, _ in drawn]).encode()}
    for i, (strip, (svg, png)) in enumerate(zip(account.strips, drawn, strict=True)):
        name = f"{i}-{re.sub('[^a-z0-9_]+', '-', strip.title.lower()).strip('-')[:40]}"
        files |= {f"{name}.svg": svg.encode(), f"{name}.png": png}
    files["summary.json"] = (dumps(summary(account), indent=2, ensure_ascii=False) + "\n").encode()
    files["records.csv"] = _records(run, account)
    return disk.write(out, {**files, **(besides or {})}, verb)


def _records(run: Run, account: Account) -> bytes:
    """Every record with its words: a table that any program reads."""
    from ullage.plant.words import KINDS

    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["time_ms", "kind", "row", "value", "detail", "kind_word", "text"])
    for record, sentence in zip(run.records, account.story, strict=True):
        writer.writerow([*(int(n) for n in record), KINDS[int(record[1])], sentence.text])
    return text.getvalue().encode()


def tell(account: Account, *, brief: bool = False, titled: bool = True) -> None:
    """Print the account, under its title where that does not stand above it already."""
    from ullage.report import tables

    for line in hung("", account.scenario, speak.width()) if titled else ():
        speak.say(speak.ink(line, "name"))
    lines = tables.brief_lines if brief else tables.account_lines
    for line in lines(account, speak.width(), speak.ink):
        speak.say(line)


def say_where(account: Account, paths: list[Path]) -> None:
    """Print the verdict and where the page is."""
    told, *rest = hung("", f"{account.scenario}: {account.verdict}", speak.width(), 2)
    verdict = speak.ink(account.verdict, "fine" if account.fine else "fault")
    for line in (told.replace(account.verdict, verdict, 1), *rest):
        speak.say(line)
    say_page(paths)


def say_page(paths: list[Path], what: str = "charts, figures and records:") -> None:
    """Print where the page is."""
    where, page = f"  {what}", str(paths[0])
    one = f"{where} {page}"
    for line in (one,) if len(one) <= speak.width() else (where, f"  {page}"):  # a path is never broken
        speak.say(line)


def summary(account: Account) -> dict[str, Any]:
    """The account as JSON, always in SI (docs/commands.md describes it)."""
    from ullage.report.account import SI_UNIT

    played = account.played
    return {
        "format": "ullage run 1",
        "rig": account.rig,
        "scenario": account.scenario,
        "fine": account.fine,
        "harmed": any(o.bad for o in account.outcomes),
        "seconds": played.seconds,
        "seed": played.seed,
        "faults": list(played.faults),
        "program": played.program,
        "scans_evaluated": played.scans,
        "records_lost": played.lost,
        "outcomes": [
            {"name": o.name, "value": o.value, "unit": SI_UNIT[o.dimension], "group": o.group, "bad": o.bad}
            for o in account.outcomes
        ],
        "tanks": [
            {"name": v.tank, "start": v.start, "least": v.least, "most": v.most, "end": v.end} for v in account.levels
        ],
        "expectations": [{"text": e.text, "kept": e.kept, "because": e.because} for e in account.expectations],
    }


def document(account: Account, paths: list[Path]) -> dict[str, Any]:
    """What is printed with ``--json``: the account and the files that were written."""
    return {**summary(account), "files": [str(path) for path in paths]}
