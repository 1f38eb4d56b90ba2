"""A statement that is written out is read again as the same one."""

from __future__ import annotations

import pytest

from tests.worlds.wrong_rigs import changed, statement_of
from ullage.rig.spell import spell_statement


@pytest.mark.parametrize(
    "text",
    [
        "water indoors",
        "overflow",
        "overflow of belly",
        "belly reaches its overflow",
        "belly over 70 %",
        "belly over 33.3 L",
        "gray below 7 gal",
        "water_pump runs dry",
        "belly_high trips",
        "shower gives at least 30 L",
        "shore gives at most 12.3 L",
        "fill reaches filled",
        "(gray_dump is open) and (not (shore_in is closed))",
        "(belly_level > 131 L) or (belly_float and (fill is running))",
        "(shore_meter < 0.5 L/min) held 20 s",
        "belly_level > loft_level + 5 L",
        "port_board is linked",
        "gray open without intent held 30 s",
        "gray joined to shore held 20 s",
    ],
)
def test_what_is_written_out_is_read_again(text: str) -> None:
    """A story whose question has changed on the way answers another one."""
    examined = changed("marram")
    assert examined.rig is not None
    statement = statement_of(text, examined)
    assert statement_of(spell_statement(statement, examined.rig), examined) == statement
