"""Procedural states and commands: SEQ-22 (IEC 61512-1 / ISA-88 example state table) and SEQ-02."""

from __future__ import annotations

import pytest

from tests.unit.control.desk import Desk

BODY = """
sequences:
  run:
    parameters: {target: {default: 50 %, least: 10 %, most: 80 %, of: tank}}
    permit: not c
    stay: not b
    steps:
      one: initial
      pouring: {demand: {inlet: open}}
      resting: {demand: {red: lit}}
      end: {final: true, demand: {blue: lit}}
    transitions:
      - one -> pouring
      - pouring -> resting when (level >= target) or (a)
      - resting -> end when since step 2 s
"""


def pouring() -> Desk:
    """A desk whose inlet stands open."""
    desk = Desk(BODY)
    desk.start()
    desk.scan()
    assert desk.demand("inlet") == "open"
    return desk


def test_start_runs_and_completes() -> None:
    """SEQ-22: idle -start-> running -> complete -reset-> idle."""
    desk = pouring()
    desk.scan(a=1)
    desk.scans(6)
    assert (desk.doing(), desk.demand("blue")) == ("complete", "lit")
    desk.scan("start")
    assert desk.doing() == "complete", "a complete sequence waits for its reset"
    desk.scan("reset", a=0)
    assert (desk.doing(), desk.active(), desk.demand("blue")) == ("idle", {"one"}, "dark")


def test_hold_and_restart() -> None:
    """SEQ-22: holding is safe outputs at the stated delay, held waits, restart goes on at the same step."""
    desk = pouring()
    desk.scan("hold")
    assert (desk.doing(), desk.demand("inlet")) == ("holding", "open"), "inlet goes safe one second later"
    desk.scans(2)
    assert desk.demand("inlet") == "closed"
    assert desk.doing() == "holding", "the inlet still travels"
    desk.scans(10)
    assert desk.doing() == "holding", "and may still obey the last demand"
    desk.scans(2)
    assert desk.doing() == "held"
    desk.scan("restart")
    assert (desk.doing(), desk.active()) == ("restarting", {"pouring"})
    desk.scan()
    assert (desk.doing(), desk.demand("inlet")) == ("running", "open")


def test_pause_waits_for_the_end_of_the_step() -> None:
    """SEQ-22: pausing -> paused -resume-> running; while paused nothing is driven."""
    desk = pouring()
    desk.scan("pause")
    assert (desk.doing(), desk.demand("inlet")) == ("pausing", "open")
    desk.scan(a=1)
    assert (desk.doing(), desk.active(), desk.demand("red")) == ("paused", {"resting"}, "dark")
    assert desk.demand("inlet") == "open", "the inlet goes safe one second later, as in a hold"
    desk.scans(2)
    assert desk.demand("inlet") == "closed"
    desk.scans(10)
    assert desk.active() == {"resting"}, "a paused step's clock stands"
    desk.scan("resume")
    assert (desk.doing(), desk.demand("red")) == ("running", "lit")


@pytest.mark.parametrize("before", ["hold", "pause", "none"])
def test_stop_is_accepted_everywhere(before: str) -> None:
    """SEQ-22: whatever a sequence is doing, stop ends it with its outputs safe."""
    desk = pouring()
    desk.scan(before)
    desk.scan("stop")
    assert desk.doing() == "stopping"
    desk.scans(14)
    assert (desk.doing(), desk.demand("inlet")) == ("stopped", "closed")
    desk.scan("reset")
    assert desk.doing() == "idle"


def test_abort_is_at_once() -> None:
    """SEQ-02, SEQ-22: an abort gives no delay to any output, and is left only by a reset."""
    desk = pouring()
    desk.scan("abort")
    assert (desk.doing(), desk.demand("inlet")) == ("aborting", "closed")
    desk.scans(12)
    assert desk.doing() == "aborted"
    desk.scan("start")
    assert desk.doing() == "aborted"
    desk.scan("reset")
    assert desk.doing() == "idle"


@pytest.mark.parametrize("state", ["stop", "abort"])
def test_hold_not_accepted_while_ending(state: str) -> None:
    """SEQ-22: a hold must not undo a stop that is under way."""
    desk = pouring()
    desk.scan(state)
    doing = desk.doing()
    desk.scan("hold")
    assert desk.doing() == doing


def test_start_needs_its_permissive() -> None:
    """A start that is not permitted is refused and says why."""
    desk = Desk(BODY)
    records = desk.scan("start", c=1)
    assert desk.doing() == "idle"
    assert [(r.value, r.detail) for r in records] == [(1, 3)], "start, not permitted"
    desk.bad["c"] = 1
    desk.scan("start", c=0)
    assert desk.doing() == "idle", "an unknown permissive permits nothing"


def test_a_wish_out_of_range_is_refused() -> None:
    """A target beyond its range could pass the interlock that guards the overflow."""
    desk = Desk(BODY)
    desk.wish[0] = desk.program.tables.parameter_most[0] + 1
    desk.scan("start")
    assert desk.doing() == "idle"
    desk.wish[0] -= 1
    desk.start()
    assert desk.state.parameter[0] == desk.program.tables.parameter_most[0]


def test_a_wish_is_kept_from_the_start() -> None:
    """A wish changed under way must not move the target of a fill that runs."""
    desk = pouring()
    kept = desk.state.parameter[0]
    desk.wish[0] = kept + 1000
    desk.scans(2)
    assert desk.state.parameter[0] == kept


def test_stay_not_true_holds() -> None:
    """What a sequence needs in order to go on is asked at every scan, and unknown is not true."""
    desk = pouring()
    desk.scan(b=1)
    assert desk.doing() == "holding"
    other = pouring()
    other.bad["b"] = 1
    other.scan()
    assert other.doing() == "holding"


def test_a_step_that_moves_water_holds_when_it_is_blind() -> None:
    """A fill that no longer sees its level stands safe; the restart is refused until it sees again."""
    desk = pouring()
    desk.age["level"] = 4000
    desk.scan()
    assert desk.doing() == "holding"
    desk.scans(14)
    assert (desk.doing(), desk.demand("inlet")) == ("held", "closed")
    desk.scan("restart")
    assert desk.doing() == "held"
    desk.age["level"] = 0
    desk.scan("restart")
    assert desk.doing() == "restarting"


def test_a_step_that_moves_nothing_does_not_mind() -> None:
    """One dead sender does not disable everything."""
    desk = pouring()
    desk.scan(a=1)
    desk.age["level"] = 4000
    desk.scans(6)
    assert desk.doing() == "complete"


CONFIRM = BODY.replace("    permit: not c\n", "    permit: not c\n    confirm: true\n")


def test_a_gesture_arms_and_a_person_confirms() -> None:
    """A handset that falls over must not start what asks for a person."""
    desk = Desk(CONFIRM)
    desk.raw["handset.attitude"] = 2
    desk.scans(2)
    desk.raw["handset.attitude"] = 0
    desk.scans(4)
    assert desk.doing() == "idle"
    assert desk.state.armed[0]
    desk.scan("confirm")
    assert desk.doing() == "running"


def test_an_armed_start_lapses() -> None:
    """A start armed in the morning must not be confirmed by a touch in the evening."""
    desk = Desk(CONFIRM)
    desk.scan("start")
    assert desk.state.armed[0]
    desk.scans(20)
    assert not desk.state.armed[0]
    desk.scan("confirm")
    assert desk.doing() == "idle"


def test_a_gesture_gives_its_command_once() -> None:
    """A handset left upright must not start the next fill by itself after a stop."""
    desk = Desk(BODY)
    desk.raw["handset.attitude"] = 2
    desk.scans(2)
    desk.raw["handset.attitude"] = 0
    desk.scans(4)
    assert desk.doing() == "running"
    desk.scan("stop")
    desk.scans(14)
    desk.scan("reset")
    desk.scans(12)
    assert desk.doing() == "idle"


BEGINS = BODY.replace("    permit: not c\n", "    begins: level < 20 %\n    again: itself\n    permit: not c\n")


def test_after_a_start_what_begins_by_itself_waits_for_a_person() -> None:
    """After a power cut nothing moves water before a person has said so once."""
    desk = Desk(BEGINS)
    desk.scans(5)
    assert desk.doing() == "idle"
    desk.scan("reset")
    assert desk.doing() == "running"


def test_what_begins_by_itself_goes_round() -> None:
    """Again by itself: complete leads back to idle, and the condition starts the next round."""
    desk = Desk(BEGINS)
    desk.scan("reset")
    desk.scans(2)
    desk.scan(a=1)
    desk.scans(12)
    assert desk.doing() == "running"
    assert sum(record.kind == 3 and record.value == 2 for record in desk.records) >= 1
