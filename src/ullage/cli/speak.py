"""How every verb speaks: plain lines, colour only as an extra, JSON on request, no traceback."""

from __future__ import annotations

import io
import json
import os
import shutil
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import typer

if TYPE_CHECKING:
    from ullage.cli.crew import Work

WIDTH_MOST, WIDTH_LEAST = 100, 40
"""Text is set to the width of the terminal within these bounds [characters]."""

PROGRESS_ROOM = 30
"""What the bar and its clock need beside their text [characters]."""

TRACEBACK_WISH = "ULLAGE_TRACEBACK"
"""Environment variable that asks for the traceback of a fault of ours."""

INKS = {"fault": "red", "caution": "yellow", "fine": "green", "name": "cyan", "faint": "bright_black"}
"""Colour of each kind of word. A word always stands beside its colour."""


class Misuse(Exception):
    """The command was used wrongly: what is wrong, and what to do instead.

    Attributes
    ----------
    what, remedy : str
        One line each.
    """

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(f"{what}; {remedy}")
        self.what = what
        self.remedy = remedy


def make_output_safe() -> None:
    """Let a terminal that cannot show a character show a question mark instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def width() -> int:
    """How many characters a line may have."""
    return max(WIDTH_LEAST, min(WIDTH_MOST, shutil.get_terminal_size((80, 24)).columns))


def ink(text: str, kind: str) -> str:
    """Colour a word (`say` takes the colour away again where it is not wanted)."""
    return typer.style(text, fg=INKS[kind], bold=kind in ("fault", "caution"))


def say(text: str = "", *, to_error: bool = False) -> None:
    """Print a line."""
    plain = "NO_COLOR" in os.environ or os.environ.get("TERM") == "dumb"
    typer.echo(text, err=to_error, color=False if plain else None)


def say_json(value: dict[str, Any]) -> None:
    """Print one JSON document."""
    typer.echo(json.dumps(value, indent=2, ensure_ascii=False))


@contextmanager
def progress(what: str, hours: float, *, compiles: bool, quiet: bool) -> Iterator[Callable[[float], None] | None]:
    """Show how far a run has come in its own time, on a terminal only: elsewhere a bar is noise.

    Parameters
    ----------
    what : str
        What is run.
    hours : float
        How long the run lasts [h].
    compiles : bool
        Whether machine code has to be made first, which is said wherever lines are read.
    quiet : bool
        Say nothing at all.

    Yields
    ------
    callable or None
        To be called with the part that is done, 0..1.
    """
    if compiles and not quiet:
        say("The model is compiled for this machine: once, for about half a minute.", to_error=True)
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    what = what[: max(10, width() - PROGRESS_ROOM)]
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)

        def report(done: float) -> None:
            minutes = round(60 * hours * done)
            bar.update(task, total=1.0, completed=done, description=f"{what}, {minutes // 60}:{minutes % 60:02}")

        yield report


@contextmanager
def working(what: str, *, quiet: bool) -> Iterator[Callable[[Work], None]]:
    """Show how far a proof has come, on a terminal only: questions, states, how fast, how long.

    Parameters
    ----------
    what : str
        What is worked on.
    quiet : bool
        Say nothing at all.

    Yields
    ------
    callable
        To be told of the work now and then.
    """
    if quiet or not sys.stderr.isatty():
        yield lambda work: None
        return
    from rich.console import Console
    from rich.progress import Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)

        def report(work: Work) -> None:
            bar.update(task, description=f"{what}: {work.words()}"[: max(10, width() - PROGRESS_ROOM // 2)])

        yield report


def complain(misuse: Misuse, as_json: bool) -> None:
    """Tell of a misuse in one line (and in JSON where that was asked for)."""
    if as_json:
        say_json({"format": "ullage misuse 1", "what": misuse.what, "remedy": misuse.remedy})
    say(f"{ink('ullage:', 'fault')} {misuse}", to_error=True)


def own_up(fault: Exception, as_json: bool) -> None:
    """Tell of a fault of ours, in one line unless the environment asks for all of it (and in JSON where asked for)."""
    if os.environ.get(TRACEBACK_WISH):
        traceback.print_exception(fault)
    where = traceback.extract_tb(fault.__traceback__)[-1]
    place = f"{os.path.basename(where.filename)}:{where.lineno}"
    text = " ".join(str(fault).split())[:200]
    if as_json:
        say_json({"format": "ullage fault 1", "what": type(fault).__name__, "place": place, "text": text})
    say(
        f"{ink('ullage:', 'fault')} a fault of ours, not of your file: {type(fault).__name__} at {place} ({text}); "
        f"please report it with the file; {TRACEBACK_WISH}=1 shows all of it",
        to_error=True,
    )
