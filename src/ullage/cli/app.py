"""The verbs together: the application, and how a call ends.

Nothing heavy is imported here or at the top of a verb's file, since `ullage check` must be
over before a person looks up. Exit codes: 0 fine, 1 something to mend or a failed
expectation, 2 the command was used wrongly, 70 a fault of ours, 130 interrupted.
"""

from __future__ import annotations

import os
import re
import sys

import typer

from ullage.cli import certify, check, demo, draw, explain, prove, replay, review, simulate, speak

app = typer.Typer(
    name="ullage",
    help="Check, review, simulate and prove the automatic water of a home that moves, from one text file.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
for verb in (
    check.check,
    simulate.simulate,
    prove.prove,
    certify.certify,
    replay.replay,
    draw.draw,
    review.review,
    explain.explain,
    demo.demo,
):
    app.command()(verb)


def run() -> None:
    """Run one verb and leave with its exit code."""
    speak.make_output_safe()
    arguments, as_json = sys.argv[1:], "--json" in sys.argv
    try:
        # Without arguments there is no verb: the help is shown, and a script is told that it asked for nothing.
        code = app(arguments or ["--help"], prog_name="ullage", standalone_mode=False)
        raise SystemExit(code if arguments else 2)
    except (speak.Misuse, typer.TyperException) as fault:
        speak.complain(fault if isinstance(fault, speak.Misuse) else _misuse(fault), as_json)
        raise SystemExit(2) from None
    except BrokenPipeError:
        # The reader of our output went away (`ullage check rig.yaml | head`): nobody is left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(1) from None
    except Exception as fault:
        speak.own_up(fault, as_json)
        raise SystemExit(70) from None


def _misuse(fault: typer.TyperException) -> speak.Misuse:
    """A wrong use of verbs and options in our own words: what is wrong; where to read how it is right."""
    context = getattr(fault, "ctx", None)
    what = re.sub(r" \(env var: '\w+'\)|Value error, ", "", " ".join(fault.format_message().split())).rstrip(".")
    what = re.sub(r"\. Did you mean (.*)\?$", r" (did you mean \1?)", what)
    path = context.command_path if context else "ullage"
    return speak.Misuse(what[:1].lower() + what[1:], f"'{path} --help' shows how it is used")
