"""Where water can go: the graph of lines of the sound rig."""

from __future__ import annotations

from itertools import pairwise

from tests.unit.rig.breaking import SOUND
from ullage.rig.read import read_rig
from ullage.rig.ways import Link, Ways, anyway, one_way


def ways() -> Ways:
    """The graph of the sound rig."""
    rig, _, _ = read_rig(SOUND, "sound.yaml")
    assert rig is not None
    return Ways(rig)


def test_a_line_is_a_chain_of_its_parts() -> None:
    """A part left out of the chain is a valve that closes nothing."""
    chain = [link for link in ways().links if link.line == 0]
    assert [link.name for link in chain] == ["hose", "shore_check", "guard", "inlet_valve", "shore_meter"]
    assert [link.kind for link in chain] == ["pipes", "checks", "valves", "valves", "meters"]
    assert (chain[0].start, chain[-1].end) == ("shore", "inlet")
    assert all(before.end == after.start for before, after in pairwise(chain))


def test_a_line_without_parts_joins_its_ends() -> None:
    """A bare joint lets water through like any other."""
    (bare,) = [link for link in ways().links if link.line == 1]
    assert (bare.name, bare.start, bare.end) == ("", "inlet", "fresh.top")


def test_water_stops_at_tanks_ports_and_taps() -> None:
    """A walk that goes on through a tank would join waste to drinking water that never meet."""
    reached = ways().reach(["shore"])
    assert {"inlet", "fresh.top", "waste.rinse"} <= reached
    assert not {"fresh.low", "waste.drain", "manifold", "tap", "outfall"} & reached


def test_checks_and_pumps_pass_one_way_only() -> None:
    """Back-siphonage is found by walking backwards; a check valve is what stops it."""
    assert "shore" not in ways().reach(["inlet"], one_way)
    assert "shore" in ways().reach(["inlet"], anyway)
    assert "fresh.low" not in ways().reach(["manifold"], one_way)
    assert "tap" in ways().reach(["fresh.low"], one_way)


def test_an_opening_above_the_overflow_is_a_gap_of_air() -> None:
    """The gap of air is what parts waste from drinking water."""
    graph = ways()
    assert graph.wet("waste") == ["waste.drain"]
    assert not graph.submerged("fresh.top")
    assert graph.submerged("fresh.low")


def test_sections_between_closed_parts() -> None:
    """Water that is shut in bursts the pipe that holds it; each section is looked at by itself."""

    def closes(link: Link) -> bool:
        return link.kind in ("valves", "pumps", "checks")

    sections = [{link.name for link in links} for _, links in ways().sections(closes)]
    assert {"to_tap", "heater"} in sections
    assert {"hose"} in sections
    assert {"to_rinse"} in sections
    assert {"shore_meter", ""} in sections
