"""Which limb of a condition opened a transition, as far as times tell it."""

from __future__ import annotations

from ullage.quantities import read
from ullage.rig.guard import Since, parse_guard


def limbs(condition: str) -> list[str]:
    """The parts of a condition that ``or`` joins at the outermost level."""
    found: list[list[str]] = [[]]
    depth = 0
    for word in condition.split():
        if depth == 0 and word == "or":
            found.append([])
            continue
        depth += word.count("(") - word.count(")")
        found[-1].append(word)
    return [" ".join(words) for words in found]


def acted(condition: str, active_ms: int, scan_ms: int) -> tuple[str, bool]:
    """The limbs that may have opened a transition, and whether it was the time-out among them.

    Parameters
    ----------
    condition : str
        As written.
    active_ms : int
        How long the steps before it had been active [ms]. A time that runs out opens the transition
        in one of the next two scans; one that is not over cannot have; one that was over long
        before stood still for a while, so that nothing is known of it.
    scan_ms : int
        The scan [ms].
    """
    parts = limbs(condition)
    parsed = {limb: parse_guard(limb) for limb in parts}
    times = {limb: 1000 * read(tree.time.text, "time") for limb, tree in parsed.items() if isinstance(tree, Since)}
    for limb, ms in times.items():
        if ms <= active_ms <= ms + 2 * scan_ms:
            return limb, len(parts) > 1
    return " or ".join(limb for limb in parts if times.get(limb, 0.0) <= active_ms), False
