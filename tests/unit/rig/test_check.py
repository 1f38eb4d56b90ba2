"""The check as a whole: sound rigs pass, acceptances hold, nothing is told twice."""

from __future__ import annotations

from tests.unit.rig import test_check_guards, test_check_names, test_check_plumbing, test_check_signals
from tests.unit.rig.breaking import found
from ullage.findings import catalogue, refused

NO_OVERFLOW = {"    overflow: {bore: 40 mm, at: 250 mm}\n": ""}


def test_the_sound_rig_has_no_findings() -> None:
    """Otherwise every near miss below would be a miss for the wrong reason."""
    assert found({}) == ()


def test_every_code_of_the_check_is_broken_by_some_case() -> None:
    """A rule without a rig that breaks it may have stopped working long ago."""
    modules = (test_check_guards, test_check_names, test_check_plumbing, test_check_signals)
    cases = {case.code for module in modules for case in module.CASES}
    ours = {code for code in catalogue() if code[0] in "NPI" or (code[0] == "S" and code < "S490")}
    assert ours - cases == {"S413", "N212"}  # N212: tests/unit/control/test_check.py


def test_an_accepted_caution_stands_no_longer() -> None:
    """People would turn the check off if it nagged about what they have decided."""
    reason = "the waste tank is emptied every day"
    accepts = "accepts: [{finding: P302, on: waste, why: " + reason + "}]\nnever:"
    finding = next(finding for finding in found({**NO_OVERFLOW, "never:": accepts}) if finding.code == "P302")
    assert finding.accepted == reason
    assert not finding.stands
    assert not refused([finding])


def test_an_acceptance_is_for_one_part_only() -> None:
    """A reason that is true of one tank would hide the next tank's fault."""
    accepts = "accepts: [{finding: P302, on: fresh, why: it spills through its vent}]\nnever:"
    finding = next(finding for finding in found({**NO_OVERFLOW, "never:": accepts}) if finding.code == "P302")
    assert finding.stands


def test_all_faults_are_told_at_once() -> None:
    """A person who mends one fault at a time gives up after the fifth."""
    edits = {
        "{dump: open}": "{dump: opn}",
        "drains_to: waste": "drains_to: wast",
        "filling -> closing": "filling -> closng",
        "fresh_level < 9 %": "fresh_level < 5 L/min",
    }
    assert {finding.code for finding in found(edits)} >= {"N205", "N203", "N209", "S400"}


def test_findings_come_in_the_order_of_the_file() -> None:
    """A list that jumps about is read by nobody."""
    places = [finding.place for finding in found({"{dump: open}": "{dump: opn}", "to: fresh.top": "to: fresh"})]
    assert len(places) >= 2
    assert places == sorted(places)


def branching(width: int) -> dict[str, str]:
    """A sequence with as many branches side by side."""
    every = range(width)
    steps = ", ".join(f"b{i}: {{}}, c{i}: {{}}" for i in every)
    split, join = " + ".join(f"b{i}" for i in every), " + ".join(f"c{i}" for i in every)
    ways = [f"a -> {split}", *(f"b{i} -> c{i} when fresh_float" for i in every), f"{join} -> z"]
    sequence = f"{{steps: {{a: initial, {steps}, z: final}}, transitions: [{', '.join(ways)}]}}"
    return {"interlocks:\n": f"  wide: {sequence}\ninterlocks:\n"}


def test_a_chart_too_wide_to_walk_is_refused() -> None:
    """S413: a check that does not end, or that passes what it could not look at, is worse than none."""
    assert "S413" in {finding.code for finding in found(branching(13))}
    assert not found(branching(12))
