"""``ullage replay``: play a story again, say whether the same harm came, and show how."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ullage.cli import check, disk, simulate, speak
from ullage.cli.draw import Out
from ullage.report.lettering import hung

if TYPE_CHECKING:
    from ullage.report.account import Account
    from ullage.report.quantity_words import System
    from ullage.verdict.file import Replayed, Stored

StoryPath = Annotated[
    Path, typer.Argument(metavar="STORY", help="A story that ullage wrote.", show_default=False, parser=disk.path)
]


def replay(
    story: StoryPath,
    rig: check.RigPath,
    out: Out = Path("out/replay"),
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Play a story again and say whether it does the same harm."""
    from ullage.verdict.file import BYTES_LIMIT, read_story, replay

    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    written = disk.read(story, "story", BYTES_LIMIT)
    stored, findings = read_story(written, str(story), ready.examined)
    if stored is None:
        check.say_findings(findings, written, json)
        raise typer.Exit(1)
    disk.prepare(out)
    with speak.progress(f"{ready.rig.rig}: {stored.text}", stored.scenario.hours, compiles=_compiles(), quiet=json):
        replayed = replay(stored, ready.examined)
    account = _account(ready, stored, replayed, units)
    paths = simulate.write(out, replayed.run, account, "replay", {"scenario.yaml": _scenario(ready, stored)})
    if json:
        speak.say_json({**document(stored, replayed), "files": [str(path) for path in paths]})
    else:
        _tell(account, stored, replayed, paths, units)
    raise typer.Exit(0 if replayed.same(stored) else 1)


def _compiles() -> bool:
    """Whether machine code has to be made first."""
    from ullage.kernels import is_kept
    from ullage.simulate import loop

    return not is_kept(loop.run)


def _account(ready: check.Runnable, stored: Stored, replayed: Replayed, units: System) -> Account:
    """The run, told, with how the story begins and ends as what it is about."""
    from ullage.report.story import ending, opening
    from ullage.report.telling import account_of

    said = [opening(ready.rig, stored.scenario, units)]
    if replayed.harm is not None:
        said.append(ending(replayed.harm, stored.statement, stored.text, units))
    return replace(account_of(replayed.run, ready.law, units), about=" ".join(said))


def _scenario(ready: check.Runnable, stored: Stored) -> bytes:
    """The scenario of a story as a file of its own, which `ullage simulate` plays."""
    from ullage.simulate.writing import write_scenario

    return write_scenario(stored.scenario, ready.law).encode()


def verdict(stored: Stored, replayed: Replayed, units: System = "metric") -> str:
    """Whether the same harm came, in a sentence."""
    from ullage.report.quantity_words import clock
    from ullage.report.story import ending

    if replayed.same(stored):
        return "the same harm, to the last record."
    if replayed.harm is None:
        return f"no such harm. It was written: {ending(stored.harm, stored.statement, stored.text, units)}"
    if replayed.harm == stored.harm:
        return f"the same harm, but not by the same way: the records part at {clock(replayed.differs_at_ms)}."
    return f"another harm. It was written: {ending(stored.harm, stored.statement, stored.text, units)}"


def _tell(account: Account, stored: Stored, replayed: Replayed, paths: list[Path], units: System) -> None:
    """Print the story, the verdict and where the page is."""
    for line in hung("", account.scenario, speak.width()):
        speak.say(speak.ink(line, "name"))
    for line in hung("  ", account.about, speak.width()):
        speak.say(line)
    speak.say()
    simulate.tell(account, brief=True, titled=False)
    speak.say()
    said = verdict(stored, replayed, units)
    word = "replayed" if replayed.same(stored) else "not the same"
    told, *rest = hung("", f"{word}: {said}", speak.width(), 2)
    kind = "fine" if replayed.same(stored) else "fault"
    for line in (told.replace(word, speak.ink(word, kind), 1), *rest):
        speak.say(line)
    simulate.say_page(paths)


def document(stored: Stored, replayed: Replayed) -> dict[str, Any]:
    """What is printed with ``--json``, always in SI (docs/commands.md describes it)."""
    return {
        "format": "ullage replay 1",
        "rig": replayed.run.rig.rig,
        "program": replayed.run.program.hash,
        "statement": stored.text,
        "same": replayed.same(stored),
        "stored": figures(stored.harm),
        "replayed": figures(replayed.harm),
        "differs_at_ms": replayed.differs_at_ms,
    }


def figures(harm: Any) -> dict[str, Any] | None:
    """What a story came to as JSON: time [ms], volume [m3], time without water [s]; null where there is none."""
    return None if harm is None else {"ms": harm.ms, "volume": harm.volume, "seconds": harm.seconds}
