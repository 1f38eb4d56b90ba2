"""Commands of one scan: each has its turn, and none comes after a stop that came later."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ullage.control import codes
from ullage.plant.happenings import H_COMMAND, H_TAP
from ullage.simulate.happenings import Happening
from ullage.simulate.waiting import in_turn

SCAN_MS = 500

ENDS = ("stop", "abort")


def command(ms: int, verb: str, sequence: str = "fill") -> Happening:
    """A command to a sequence."""
    return Happening(ms, H_COMMAND, sequence, codes.COMMANDS.index(verb))


def seen(happenings: list[Happening], sequence: str = "fill") -> list[tuple[int, str]]:
    """Number of the scan and word of each command that the controller sees: the last one of a scan."""
    commands = [one for one in in_turn(happenings, SCAN_MS) if one.kind == H_COMMAND and one.part == sequence]
    last = {-(-one.ms // SCAN_MS): codes.COMMANDS[int(one.amount)] for one in commands}
    return list(last.items())


@pytest.mark.parametrize(
    ("given_at", "expected"),
    [
        ([(300_100, "stop"), (300_200, "hold")], [(601, "stop"), (602, "hold")]),
        ([(99, "start"), (200, "hold"), (300, "restart")], [(1, "start"), (2, "hold"), (3, "restart")]),
        ([(300_100, "start"), (300_200, "stop")], [(601, "stop")]),
        ([(300_100, "reset"), (300_200, "start"), (300_300, "stop")], [(601, "stop")]),
        ([(300_100, "stop"), (300_200, "abort")], [(601, "stop"), (602, "abort")]),
        ([(300_100, "stop"), (300_200, "start"), (300_300, "stop")], [(601, "stop"), (602, "stop")]),
        ([(300_100, "reset"), (300_600, "start")], [(601, "reset"), (602, "start")]),
        ([(300_100, "hold"), (300_200, "reset"), (300_600, "start")], [(601, "hold"), (602, "reset"), (603, "start")]),
        ([(300_500, "hold"), (300_501, "stop")], [(601, "hold"), (602, "stop")]),
    ],
)  # fmt: skip
def test_turns(given_at: list[tuple[int, str]], expected: list[tuple[int, str]]) -> None:
    """A hold that displaced the stop of the same half second left a valve open (audit of 25 November)."""
    assert seen([command(ms, verb) for ms, verb in given_at]) == expected


def test_others_are_left_alone() -> None:
    """Neither a tap nor another sequence waits for a command to this one."""
    tap, other = Happening(300_250, H_TAP, "basin", 1.0), command(300_300, "start", "drain")
    done = in_turn([command(300_100, "hold"), command(300_200, "stop"), tap, other], SCAN_MS)
    assert tap in done
    assert other in done


@given(st.lists(st.tuples(st.integers(0, 4_000), st.sampled_from(codes.COMMANDS[1:])), max_size=12))
def test_a_stop_is_always_seen(given_at: list[tuple[int, str]]) -> None:
    """Every stop and abort reaches the controller, with none but another of them before it; no command comes early."""
    given_at = sorted(given_at, key=lambda pair: pair[0])
    done = seen([command(ms, verb) for ms, verb in given_at])
    asked = [verb for _, verb in given_at if verb in ENDS]
    assert [verb for _, verb in done if verb in ENDS] == asked
    ends = [(-(-ms // SCAN_MS), verb) for ms, verb in given_at if verb in ENDS]
    taken = -1
    for (due, _), (scan, _) in zip(ends, [pair for pair in done if pair[1] in ENDS], strict=True):
        assert scan == max(due, taken + 1)
        taken = scan
    if asked and given_at[-1][1] in ENDS:
        assert done[-1][1] == given_at[-1][1], "nothing begins after the last stop"
