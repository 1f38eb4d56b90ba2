"""What has to come together for a harm: read from the pipes and sequences of the rigs that are shipped."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.worlds.wrong_rigs import changed, statement_of
from ullage.simulate.scenario import read_scenario
from ullage.simulate.writing import write_scenario
from ullage.verdict.needs import Need, needs_of
from ullage.verdict.policies import leans, scenario_of, variations, worst
from ullage.verdict.stories import usual_starts


def needs(rig: str, text: str) -> tuple[Need, ...]:
    """What a statement about a rig needs."""
    examined = changed(rig)
    assert examined.rig is not None
    assert examined.law is not None
    return needs_of(statement_of(text, examined), examined.rig, examined.law)


@pytest.mark.parametrize(
    ("rig", "text", "tank", "rises", "others", "supplies", "taps"),
    [
        ("marram", "belly reaches its overflow", "belly", True, {"loft"}, {"shore"}, set()),
        ("marram", "loft over 30 L", "loft", True, {"belly"}, set(), set()),
        ("marram", "overflow of gray", "gray", True, {"belly", "loft"}, set(), {"galley", "basin", "shower"}),
        ("marram", "water_pump runs dry", "belly", False, {"loft", "gray"}, set(), {"galley", "basin", "shower"}),
        ("bothy", "cistern below 100 L", "cistern", False, set(), set(), {"kitchen"}),
        ("bothy", "drum_high trips", "drum", True, set(), {"spring"}, set()),
        ("turnstone", "water indoors", "bilge_tank", True, set(), {"deck"}, set()),
    ],
)
def test_where_water_comes_from_and_goes_to(
    rig: str, text: str, tank: str, rises: bool, others: set[str], supplies: set[str], taps: set[str]
) -> None:
    """A search that fills the wrong tank finds nothing and leaves a flood unfound."""
    first = needs(rig, text)[0]
    assert (first.tank, first.rises) == (tank, rises)
    assert (set(first.others), set(first.supplies), set(first.taps)) == (others, supplies, taps)


def test_the_sequences_that_matter() -> None:
    """The one that fills has to run, the one that only empties need not."""
    assert "fill" in needs("marram", "belly reaches its overflow")[0].sequences
    assert "lift_up" in needs("marram", "loft reaches its overflow")[0].sequences
    assert "drop" not in needs("marram", "loft reaches its overflow")[0].sequences
    assert set(needs("marram", "(gray_dump is open) and (shore_in is open)")[0].sequences) == {"empty", "fill"}
    assert "empty" in needs("marram", "empty reaches emptied")[0].sequences


def test_every_statement_needs_something() -> None:
    """A statement that is passed over in silence is never tried."""
    for rig in ("marram", "crumb", "bothy", "turnstone"):
        law = changed(rig).law
        assert law is not None
        assert all(needs(rig, wish.text) for wish in (*law.never, *law.sometimes))
    assert needs("marram", "handset is flat") == (needs("marram", "port_board is linked")[0],)


def test_policies_stay_within_what_is_declared() -> None:
    """A harm that needs more pressure or slope than there can be is no harm of this rig."""
    for rig_name in ("marram", "crumb", "bothy", "turnstone"):
        examined = changed(rig_name)
        rig, law = examined.rig, examined.law
        assert rig is not None
        assert law is not None
        starts = usual_starts(rig)
        for wish in law.never:
            for need in needs_of(wish.statement, rig, law):
                base = worst(need, rig, starts, 1.0, leans(rig)[-1])
                for policy in (base, *variations(base, rig, starts)):
                    scenario = scenario_of(policy, rig, law)
                    stand = scenario.stands[0]
                    assert abs(stand.ahead) <= rig.slope.ahead
                    assert abs(stand.across) <= rig.slope.across
                    assert all(-1.0 <= error <= 1.0 for error in scenario.errors.values())
                    assert all(0.0 <= part <= 1.0 for part in scenario.starts.values())
                    level = scenario.starts.get(need.tank, starts.get(need.tank, 0.0))
                    assert not need.tank or (level <= starts[need.tank]) == need.rises or level == starts[need.tank]
                    for one in scenario.happenings:
                        span = rig.ports[one.part].pressure if one.part in rig.ports else None
                        assert span is None or span.least <= one.amount <= span.most


@pytest.mark.parametrize("rig_name", ["marram", "turnstone"])
def test_a_policy_can_be_written(rig_name: str) -> None:
    """A harm that was found and cannot be written down is lost again."""
    examined = changed(rig_name)
    rig, law = examined.rig, examined.law
    assert rig is not None
    assert law is not None
    starts = usual_starts(rig)
    need = needs_of(law.never[1].statement, rig, law)[0]
    for policy in variations(worst(need, rig, starts, 0.2, leans(rig)[-1]), rig, starts):
        scenario = scenario_of(policy, rig, law)
        read, findings = read_scenario(write_scenario(scenario, law), "policy.yaml", rig, law)
        assert read is not None, findings
        assert replace(read, stands=scenario.stands) == scenario
        assert read.stands[0].ahead == pytest.approx(scenario.stands[0].ahead)
