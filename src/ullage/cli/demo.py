"""``ullage demo``: the demo rig checked, a day on it, and the same fill with a stuck sender."""

from __future__ import annotations

from pathlib import Path

import typer

from ullage.cli import check, disk, simulate, speak
from ullage.cli.draw import Out

RIG = Path("examples/rigs/marram.yaml")
SCENARIOS = ("day", "stuck_sender")


def demo(out: Out = Path("out/demo"), units: check.Units = "metric", json: check.Json = False) -> None:
    """Check the demo rig and simulate two scenarios on it."""
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
    if json:
        speak.say_json({"format": "ullage demo 1", "runs": documents})
    raise typer.Exit(0 if fine else 1)


def _checkout() -> Path:
    """The checkout that holds the demo rig: the working directory, or where this source lies."""
    for root in (Path(), Path(__file__).parents[3]):
        if (root / RIG).is_file():
            return root
    raise speak.Misuse("the demo rig is not here", "run the demo in a checkout: ./run demo")
