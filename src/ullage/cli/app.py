"""The verbs together: the application, and how a call ends.

Nothing heavy is imported here or at the top of a verb's file, since `ullage check` must be
over before a person looks up. Exit codes: 0 fine, 1 something to mend or a failed
expectation, 2 the command was used wrongly, 70 a fault of ours, 130 interrupted.
"""

from __future__ import annotations

import os
import sys

import typer

from ullage.cli import check, demo, draw, explain, simulate, speak

app = typer.Typer(
    name="ullage",
    help="Design, prove and run the automatic water of a home that moves, from one text file.",
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)
for verb in (check.check, simulate.simulate, draw.draw, explain.explain, demo.demo):
    app.command()(verb)


def run() -> None:
    """Run one verb and leave with its exit code."""
    speak.make_output_safe()
    try:
        app(prog_name="ullage")
    except speak.Misuse as misuse:
        speak.complain(misuse, as_json="--json" in sys.argv)
        raise SystemExit(2) from None
    except BrokenPipeError:
        # The reader of our output went away (`ullage check rig.yaml | head`): nobody is left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(1) from None
    except Exception as fault:
        speak.own_up(fault)
        raise SystemExit(70) from None
