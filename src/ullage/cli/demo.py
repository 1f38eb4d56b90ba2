"""``ullage demo``: the demo rig checked, a day on it, the same fill with a stuck sender, and what must never be."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from ullage.cli import asking, check, disk, prove, simulate, speak
from ullage.cli.draw import Out

if TYPE_CHECKING:
    from ullage.report.proof import Proof

RIG = Path("examples/rigs/marram.yaml")
SCENARIOS = ("day", "stuck_sender")


def demo(out: Out = Path("out/demo"), units: check.Units = "metric", json: check.Json = False) -> None:
    """Check the demo rig, simulate two scenarios on it and ask what must never be."""
    root = _checkout()
    text = disk.read(root / RIG, "rig file")
    ready = check.must_run(RIG, text, json, units)
    if not json:
        for line in check.sum_lines(RIG, ready.rig, ready.findings):
            speak.say(line)
    documents, fine = [], True
    for name in SCENARIOS:
        if not json:
            speak.say()
        scenario = simulate.read(ready, root / "examples" / "scenarios" / f"{name}.yaml", json)
        disk.prepare(out / name)
        run, account = simulate.play(ready, scenario, [], 1, None, json, units)
        if not json:
            simulate.tell(account, brief=True)
        paths = simulate.write(out / name, run, account)
        documents.append(simulate.document(account, paths))
        fine = fine and account.fine
        if not json:
            simulate.say_where(account, paths)
    proof, paths = _proved(ready, text, out / "prove", units, json)
    if json:
        speak.say_json({"format": "ullage demo 1", "runs": documents, "proofs": [prove.document(proof, paths)]})
    raise typer.Exit(0 if fine else 1)


def _proved(ready: check.Runnable, text: bytes, out: Path, units: check.Units, json: bool) -> tuple[Proof, list[Path]]:
    """What must never be in health, asked with little effort; what it comes to does not change the exit code."""
    from ullage.report.proof_lines import brief_lines

    disk.prepare(out)
    how = asking.Asking(faults="none", effort="little", advice="none", quiet=json)
    proof, _, paths = prove.ask(ready, text, str(RIG), asking.asked_of(ready), out, how, units)
    if not json:
        speak.say()
        for line in brief_lines(proof, speak.width(), speak.ink):
            speak.say(line)
        prove.say_where(proof, paths)
    return proof, paths


def _checkout() -> Path:
    """The checkout that holds the demo rig: the working directory, or where this source lies."""
    for root in (Path(), Path(__file__).parents[3]):
        if (root / RIG).is_file():
            return root
    raise speak.Misuse("the demo rig is not here", "run the demo in a checkout: ./run demo")
