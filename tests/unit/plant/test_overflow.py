"""When an overflow begins and ends: to the second, by the weir's own law."""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import pytest

from tests.unit.plant.bench import Bench
from ullage.plant.codes import FILM
from ullage.plant.words import P_OVERFLOW
from ullage.quantities import G_STANDARD

AREA, RIM, BORE = 0.5, 0.28, 0.038


def rig(kv: str) -> dict[str, Any]:
    """A tank of 0.5 m2 with its rim at 280 mm, a hose that fills it through an orifice, full to 2.8 L under it."""
    return {
        "tanks": {
            "belly": {
                "holds": "potable",
                "shape": {"box": {"length": "1 m", "width": "0.5 m", "height": "0.32 m"}},
                "floor_at": {"z": "0.45 m"},
                "openings": {"top": {"at": "310 mm"}},
                "vent": {"bore": "40 mm", "length": "0.1 m"},
                "overflow": {"bore": "38 mm", "at": "280 mm"},
                "starts_with": "98 %",
            }
        },
        "ports": {"shore": {"kind": "supply", "at": {"z": "0.9 m"}, "pressure": "2 bar .. 2 bar"}},
        "restrictors": {"orifice": {"kv": kv}},
        "lines": [{"from": "shore", "through": ["orifice"], "to": "belly.top"}],
    }


def turns(bench: Bench) -> list[tuple[float, int]]:
    """When the overflow began (1) and ended (0) [s]."""
    return [(ms / 1000, value) for ms, _, value, _ in bench.records(P_OVERFLOW)]


def test_an_overflow_ends_when_its_feed_has_run_off() -> None:
    """An end that never comes, or comes a quarter of an hour late, makes a person look for a leak.

    The level over the rim obeys ``A dh/dt = -C h^1.5`` (Poleni, ``C = 2/3 Cd sqrt(2 g) pi d``, Cd 0.61), so it
    falls from h0 to h in ``2 A / C (1/sqrt(h) - 1/sqrt(h0))``; at half a millimetre it is called ended.
    """
    bench = Bench(rig("0.5 m3/h"), [("0 s", "hose", "shore", 2e5), ("5 min", "unhook", "shore", 0.0)]).play("5 min")
    over = bench.volume("belly") / AREA - RIM
    assert over > 4 * FILM
    weir = 2.0 / 3.0 * 0.61 * sqrt(2.0 * G_STANDARD) * pi * BORE
    ends = 300.0 + 2.0 * AREA / weir * (1.0 / sqrt(FILM) - 1.0 / sqrt(over))
    (begun, one), (ended, none) = turns(bench.play("3 h"))
    assert (one, none) == (1, 0)
    assert begun == pytest.approx(0.0028 / (0.5 / 3600 * sqrt(2.0)), rel=0.02), "2.8 L at 0.71 m3/h"
    assert ended == pytest.approx(ends, rel=0.01)


def test_a_trickle_that_goes_on_is_no_end() -> None:
    """A film that is fed all day carries litres out; an end that is invented hides them."""
    bench = Bench(rig("2 L/h"), [("0 s", "hose", "shore", 2e5)]).play("6 h")
    assert 0.0 < bench.volume("belly") / AREA - RIM < FILM
    assert [value for _, value in turns(bench)] == [1]


def test_a_hose_that_goes_off_over_a_film_ends_it_at_once() -> None:
    """What no mark of the tank can end any more has to end with its feed."""
    acts = [("0 s", "hose", "shore", 2e5), ("6 h", "unhook", "shore", 0.0)]
    begun, ended = turns(Bench(rig("2 L/h"), acts).play("12 h"))
    assert (begun[1], ended) == (1, (6 * 3600.0, 0))
