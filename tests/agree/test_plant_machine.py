"""The plant runs twice, as plain Python and as machine code, and must tell the same to the last record."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.plant import test_faults as faults
from tests.unit.plant import test_prime as prime
from tests.unit.plant import test_switch as switch
from tests.unit.plant.bench import Act, Bench
from ullage.control.record import LOG_HEAD, WIDTH

DAY: list[Act] = [
    *faults.FILLING,
    faults.PUMP_ON,
    faults.COCK_OPEN,
    ("30 s", "tap", "tap", 1.0),
    ("2 min", "tap", "tap", 0.0),
    ("3 min", "drive", "inlet", 0.0),
    ("4 min", "drive", "dump", 1.0),
]

CASES: dict[str, tuple[dict[str, Any], list[Act], list[str]]] = {
    "day": (faults.RIG, DAY, []),
    "wrong": (faults.RIG, DAY, ["pump leaking back 30 % from 2 min", "low vent blocked 20 %", "mains wrong hose 2"]),
    "dark": (faults.RIG, DAY, ["power cut twice from 1 min", "low jerrycan 10 L from 3 min"]),
    "tap": (switch.rig(*switch.LINES["tap"]), prime.RUNNING, []),
    "siphon": (prime.siphon("80 %", 0.9), [], ["upper jerrycan 130 L from 40 min"]),
    "dry": (prime.pumped(0.9), prime.RUNNING, ["upper jerrycan 20 L from 5 min"]),
}


def told(bench: Bench) -> list[int]:
    """All records."""
    log = bench.world.records
    return [int(number) for number in log[LOG_HEAD : LOG_HEAD + WIDTH * int(log[1])]]


@pytest.mark.parametrize("case", CASES)
def test_plain_and_machine_code_agree(case: str) -> None:
    """A counterexample found in one way would not play in the other."""
    plain, machine = Bench(*CASES[case]), Bench(*CASES[case], machine=True)
    for until in ("1 min", "5 min", "1 h"):
        plain.play(until)
        machine.play(until)
        assert told(plain) == told(machine)
        for tank in plain.rig.tanks:
            assert plain.volume(tank) == pytest.approx(machine.volume(tank), rel=1e-12, abs=1e-15)
    assert len(told(plain)) > 2 * WIDTH, "something happened"
