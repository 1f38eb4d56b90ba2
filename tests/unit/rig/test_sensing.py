"""What a part that senses can tell, by hand."""

from __future__ import annotations

import pytest

from tests.unit.rig.breaking import SOUND, seen
from ullage.rig.model import Box, Float, Sender, Shape
from ullage.rig.sensing import doubt, interval, span, stale_after, top

BOX = Shape.model_construct(box=Box.model_construct(length=1.0, width=0.5, height=0.32, corner=0.0))


def test_span_and_doubt_by_hand() -> None:
    """A doubt that left out the noise would stop a pump only when it already draws air."""
    fields = {"on": "a", "error": "2 %", "every": "2 s", "resolution": "0.5 %", "noise": "0.3 %"}
    sender = Sender.model_validate(fields)
    assert (top(sender, BOX), span(sender, BOX)) == (0.32, 0.32)
    assert doubt(sender, BOX) == pytest.approx(0.01088)
    short = sender.model_copy(update={"zero_at": 0.02, "full_at": 0.22})
    assert (top(short, BOX), span(short, BOX)) == (0.22, pytest.approx(0.2))
    assert doubt(short, BOX) == pytest.approx(0.0068)


@pytest.mark.parametrize(
    ("fields", "between", "believed"),
    [
        ({"every": "2 s"}, 2.0, 6.0),
        ({"every": "2 s", "stale": "4 s"}, 2.0, 4.0),
        ({"every": "1 s", "published": "on change", "heartbeat": "30 s"}, 30.0, 90.0),
        ({"every": "1 s", "published": "on change"}, 1.0, 3.0),
    ],
)
def test_how_long_a_reading_is_believed(fields: dict[str, str], between: float, believed: float) -> None:
    """One that is silent while nothing changes must not be called dead between its heartbeats."""
    switch = Float.model_validate({"on": "a", "at": "100 mm", **fields})
    assert interval(switch) == between
    assert stale_after(switch) == believed


def test_a_full_span_is_the_tank_in_the_sound_rig() -> None:
    """The checks, the law and the plant have to mean the same span."""
    rig = seen(SOUND, "sound.yaml").rig
    for sender in rig.senders.values():
        shape = rig.tanks[sender.on].shape
        assert top(sender, shape) == sender.zero_at + span(sender, shape)
