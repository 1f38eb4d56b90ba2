"""The shut-off margin beside whole runs in which all that it reckons with comes at once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from tests.share import share
from tests.unit.rig.breaking import seen
from ullage.control.check import Examined, examine
from ullage.plant.faults import read_fault
from ullage.simulate.run import Run, simulate
from ullage.simulate.scenario import read_scenario
from ullage.sizing.flows import greatest_inflow
from ullage.sizing.margins import Margin, margins

MARRAM = (Path(__file__).parents[2] / "examples" / "rigs" / "marram.yaml").read_text("utf8")

ONE_SOURCE = {
    "fall_restrictor: {kv: 1.0 m3/h}": "fall_restrictor: {kv: 0.01 m3/h}",
    "belly_level > 76 %": "belly_level > 94 %",
    "belly_float or (belly_level > 90 %)": "belly_float or (belly_level > 94 %)",
}
"""Next to nothing comes from loft, so that the bound on the inflow is what the hose gives; and no interlock ends the
fill before its wish does."""

ALL_AT_WORST = {
    "error: 2 %, every: 2 s, resolution: 0.5 %, lag: 2 s, noise: 0.3 %, stale: 6 s, board: main_board}\n  loft": (
        "error: 0 %, every: 2 s, resolution: 0 %, lag: 2 s, noise: 0 %, stale: 6 s, board: main_board}\n  loft"
    ),
    "stroke: 3 s .. 8 s": "stroke: 8 s .. 8 s",
}
"""No draws: what a sender may be off by (2 % + 0.5 % + 3 * 0.3 %) is given as one offset, the stroke is the longest."""

FILL = """
scenario: A fill on a slope from the strongest hose
hours: 0.08
starts: {belly: 80 %, loft: 20 %, gray: 30 %}
slope: {ahead: 3 deg, across: 2 deg}
happenings:
  - {at: 1 s, hose: shore, pressure: 4 bar}
  - {at: 60 s, start: fill, with: {target: TARGET}}
"""

AT_WORST = ("belly_level offset -3.4 %", "belly_float stuck dry", "shore_guard stuck from 100 s")


def changed(edits: dict[str, str], text: str) -> str:
    """A rig's text with some of it replaced."""
    for old, new in edits.items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


@cache
def margin() -> Margin:
    """What a fill of belly leads to at worst, with one source."""
    view = seen(changed(ONE_SOURCE, MARRAM), "marram.yaml")
    inflows = {name: greatest_inflow(view.ways, name).into(name) for name in view.rig.tanks}
    return next(margin for margin in margins(view, inflows) if margin.sequence == "fill")


@cache
def allowing(litres: float) -> str:
    """The rig whose greatest wish is so many litres."""
    wish = {"{default: 75 %, least: 10 %, most: 75 %": f"{{default: {litres:.3f} L, least: 10 %, most: {litres:.3f} L"}
    return changed(wish, changed(ONE_SOURCE, MARRAM))


@cache
def at_worst(litres: float) -> Examined:
    """The same rig with every draw at its end."""
    return examine(changed(ALL_AT_WORST, allowing(litres)), "marram.yaml")


def run(litres: float, seed: int, *faults: str) -> Run:
    """One fill to so many litres, with all at its worst and some faults besides."""
    examined = at_worst(litres)
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    text = FILL.replace("TARGET", f"{litres:.3f} L")
    scenario, findings = read_scenario(text, "fill.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    wrong = [read_fault(examined.rig, words) for words in (*AT_WORST, *faults)]
    return simulate(examined.rig, examined.program, scenario, seed, faults=wrong, sample_ms=500)


def decided_at(played: Run) -> float:
    """When a fill decided to stop: the demand of its inlet goes [s]."""
    opened = played.series["opening.shore_in"]
    full = [float(t) for t, part in zip(played.series["time"], opened, strict=True) if part == 1.0]
    return full[-1]


def highest(litres: float, seed: int) -> float:
    """The most that belly holds [m3], whichever reading is the last that comes and whichever word to the valve."""
    stop = decided_at(run(litres, seed))
    mute = [stop - 0.5 * k for k in range(8)]
    lost = ("belly_level dead from {:.1f} s", "port_board lost from {:.1f} s")
    runs = [run(litres, seed, lost[0].format(t), lost[1].format(t + wait)) for t in mute for wait in (5.5, 6.0, 6.5)]
    return max(float(played.series["volume.belly"].max()) for played in runs)


def test_a_greatest_wish_is_told_from_one_just_beyond() -> None:
    """M603: the figure that the finding gives is the one that people will write into their rig."""
    safe = 1e3 * margin().safe_target
    for litres, told in ((safe - 0.1, False), (safe + 0.1, True)):
        assert ("M603" in {finding.code for finding in examine(allowing(litres), "marram.yaml").findings}) is told


def test_the_worst_fill_stays_below_the_overflow() -> None:
    """All at once: strongest hose, worst sender, slope, its last reading lost, the valve's board deaf, longest stroke.

    It ends below the overflow, but by so little that a margin that took each reading and each word to the valve for
    heard (2 s instead of 6 s of staleness, 0.4 s of delay instead of 3 s of lease) would let it run over.
    """
    litres = 1e3 * margin().safe_target - 0.1
    forgotten = (6.0 - 2.0 + 3.0 - 0.4) * margin().inflow
    for seed in range(1, 1 + share(20, 2)):
        reached = highest(litres, seed)
        assert reached < margin().overflow < reached + forgotten
