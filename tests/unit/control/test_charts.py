"""Evolution of charts: the rules of IEC 61131-3 (clause 6.7) and IEC 60848, SEQ rows of the check list."""

from __future__ import annotations

from tests.unit.control.desk import Desk

LINE = """
sequences:
  run:
    steps: {one: initial, two: {}, three: {}, end: final}
    transitions:
      - one -> two when a
      - two -> three when a
      - three -> end when b
"""


def test_seq_07_initial_situation() -> None:
    """SEQ-07: a chart that starts in the wrong step would open a valve nobody asked for."""
    assert Desk(LINE).active() == {"one"}


def test_seq_08_cleared_only_when_enabled_and_true() -> None:
    """SEQ-08: a transition whose step is not active must not move water, however true its guard."""
    desk = Desk(LINE)
    desk.start()
    desk.scan(b=1)
    assert desk.active() == {"one"}
    desk.scan(a=1, b=0)
    assert desk.active() == {"two"}


def test_seq_09_clearing_leaves_all_and_enters_all() -> None:
    """SEQ-09: a token left behind would keep a valve open beside the next step."""
    desk = Desk(FORK)
    desk.start()
    desk.scan(a=1)
    assert desk.active() == {"left", "right"}


def test_seq_11_one_evolution_per_scan() -> None:
    """SEQ-11: rushing through two steps in one scan would skip the valve travel between them."""
    desk = Desk(LINE)
    desk.start()
    desk.scan(a=1)
    assert desk.active() == {"two"}
    desk.scan()
    assert desk.active() == {"three"}


def test_seq_11_initial_step_lasts_one_evaluation_after_start() -> None:
    """SEQ-11: the parameters of a start must be the ones its first guard is judged by."""
    desk = Desk(LINE)
    desk.scan("start", a=1)
    assert desk.active() == {"one"}


FORK = """
sequences:
  run:
    steps: {one: initial, left: {}, left_done: {}, right: {}, right_done: {}, joined: {}, end: final}
    transitions:
      - one -> left + right when a
      - left -> left_done when b
      - right -> right_done when b
      - left_done + right_done -> joined when not c
      - joined -> end when c
"""


def test_seq_10_independent_branches_clear_together() -> None:
    """SEQ-10: of two valves told to close, one must not wait for the other's scan."""
    desk = Desk(FORK)
    desk.start()
    desk.scan(a=1)
    desk.scan(b=1)
    assert desk.active() == {"left_done", "right_done"}


def test_seq_09_convergence_waits_for_all() -> None:
    """SEQ-09: going on before both branches are done would open a line that is not yet shut."""
    desk = Desk(FORK.replace("left -> left_done when b", "left -> left_done when (b) and (c)"))
    desk.start()
    desk.scan(a=1)
    desk.scan(b=1)
    desk.scans(3)
    assert desk.active() == {"left", "right_done"}
    desk.scan(c=1)
    desk.scan(c=0)
    assert desk.active() == {"joined"}


CHOICE = """
sequences:
  run:
    steps: {one: initial, first: {}, second: {}, end: final}
    transitions:
      - one -> first when a
      - one -> second when b
      - first -> end when c
      - second -> end when c
"""


def test_seq_12_the_transition_listed_first_has_priority() -> None:
    """SEQ-12: two branches taken at once would ask opposite things of one valve."""
    desk = Desk(CHOICE)
    desk.start()
    desk.scan(a=1, b=1)
    assert desk.active() == {"first"}
    other = Desk(CHOICE)
    other.start()
    other.scan(b=1)
    assert other.active() == {"second"}


def test_seq_24_activation_wins() -> None:
    """SEQ-24 (from memory): a step left and entered at once stays active, or a branch would die silently."""
    desk = Desk(
        """
sequences:
  run:
    steps: {one: initial, two: {}, three: {}, side: {}, other: {}, end: final}
    transitions:
      - one -> two + side when a
      - two -> three when b
      - side -> two when b
      - three + two -> end when c
"""
    )
    desk.start()
    desk.scan(a=1)
    assert desk.active() == {"two", "side"}
    desk.scan(b=1)
    assert desk.active() == {"two", "three"}


def test_unknown_transition_never_fires() -> None:
    """A dead float must not let a sequence go on as if it were dry, nor as if it were wet."""
    desk = Desk(LINE.replace("one -> two when a", "one -> two when not a"))
    desk.start()
    desk.bad["a"] = 1
    desk.scans(5)
    assert desk.active() == {"one"}
    desk.bad["a"] = 0
    desk.scan()
    assert desk.active() == {"two"}
