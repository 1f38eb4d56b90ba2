"""What holds for all tests."""

from __future__ import annotations

import os
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from tests.share import USED, told

# A deadline would measure the compiler and the neighbours; the seed is fixed so that two runs
# of one commit tell the same, and a night looks further with a new one and prints how to repeat it.
settings.register_profile("test", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("night", deadline=None, print_blob=True, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("night" if os.environ.get("ULLAGE_NIGHT") == "1" else "test")


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A worker hands its counts to the process that prints."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["shares"] = USED


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Take the counts of a worker that is done."""
    USED.update({place: (count, full) for place, (count, full) in node.workeroutput["shares"].items()})


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say how much of each long count was run: a green run of a share is not the whole."""
    if USED:
        terminalreporter.section("long counts: run, and in full with ./run night")
        for line in told():
            terminalreporter.line(line)
