"""``ullage simulate``: run a rig with its own sequences against its own water, and tell what came of it."""

from __future__ import annotations

from typing import Annotated

import typer

from ullage.cli import check
from ullage.cli.draw import Out


def simulate(
    rig: check.RigPath,
    out: Out,
    json: check.Json = False,
    seed: Annotated[int, typer.Option("--seed", min=0)] = 1,
) -> None:
    """Simulate a rig."""
