"""More design errors, layer by layer: interlocks that are late, deaf, inverted or on the wrong tank, and their like."""

from __future__ import annotations

from tests.worlds.wrong_rigs import (
    Change,
    Tree,
    Wrong,
    both,
    deaf,
    interlock,
    permit,
    transition,
    unwired,
    without_interlock,
)


def put(*path: str, **written: object) -> Change:
    """Other entries for a part; None takes one away where it is there."""

    def change(tree: Tree) -> None:
        at = tree
        for name in path:
            at = at[name]
        for name, value in written.items():
            if value is None:
                at.pop(name, None)
            else:
                at[name] = value

    return change


def begins(sequence: str, guard: str) -> Change:
    """A sequence that begins by another condition."""
    return put("sequences", sequence, begins=guard)


UNWIRED = unwired("water_pump")
"""No float in the wire of Marram's pump, where there is one."""

DEAF_FILL = both(deaf("fill", "filling -> closing", "belly_float"), permit("fill", "belly_level < target - 2 %"))
"""Marram's fill without its float."""

DEAF_DROP = deaf("drop", "running_back -> closing", "belly_level", "belly_float")
"""Marram's drop without belly's level and float."""

DEAF_LIFT = deaf("lift_up", "lifting -> closing", "loft_level", "loft_float", "belly_level", "since step")
"""Marram's lift without any level."""

DEAF_TAPS = deaf("tap_water", "on -> off", "belly_level")
"""Marram's taps without belly's level."""

FULL_TAPS = deaf("tap_water", "on -> off", "gray_level")
"""Marram's taps without gray's level."""

BELLY, LOFT, GRAY = (f"{tank} reaches its overflow" for tank in ("belly", "loft", "gray"))
DRY = "water_pump runs dry"
STUCK = ("belly_level stuck",)

IN_BELLY: tuple[Wrong, ...] = (
    Wrong(
        "marram",
        "the high interlock is late",
        both(DEAF_FILL, interlock("belly_high", when="belly_float held 20 min")),
        BELLY,
        STUCK,
    ),
    Wrong(
        "marram",
        "the high interlock trusts the level alone",
        both(DEAF_FILL, interlock("belly_high", when="belly_level > 94 %")),
        BELLY,
        STUCK,
    ),
    Wrong(
        "marram",
        "the high interlock closes another valve",
        both(DEAF_FILL, interlock("belly_high", drive={"loft_return": "closed"})),
        BELLY,
        STUCK,
    ),
    Wrong(
        "marram",
        "the high interlock wants float and level",
        both(DEAF_FILL, interlock("belly_high", when="belly_float and (belly_level > 94 %)")),
        BELLY,
        STUCK,
    ),
    Wrong(
        "marram",
        "the high interlock acts in mid-fill only",
        both(DEAF_FILL, interlock("belly_high", when="belly_float and (fill is held)")),
        BELLY,
        STUCK,
    ),
    Wrong(
        "marram",
        "and for or among the ends of the fill",
        both(
            without_interlock("belly_high"),
            transition("fill", "filling -> closing", "(belly_level >= target) and belly_float"),
        ),
        BELLY,
        STUCK,
    ),
    Wrong(
        "marram",
        "the fill looks at the level of loft",
        both(
            without_interlock("belly_full", "belly_high"),
            transition("fill", "filling -> closing", "loft_level > 101 %"),
        ),
        BELLY,
    ),
    Wrong(
        "marram",
        "the drop looks at loft alone, the fill leaves no room for it, and nothing trips above",
        both(
            without_interlock("belly_full", "belly_high"),
            put("sequences", "fill", "parameters", "target", most="88 %"),
            DEAF_DROP,
            permit("drop", "loft_level > 8 %"),
        ),
        BELLY,
    ),
    Wrong(
        "marram",
        "the sender may be far off, and nothing else looks",
        both(without_interlock("belly_high"), DEAF_FILL),
        BELLY,
        ("belly_level offset -20 %",),
    ),
    Wrong(
        "marram",
        "senders that can be mixed up, and nothing else looks",
        both(without_interlock("belly_high"), DEAF_FILL),
        BELLY,
        ("belly_level swapped loft_level",),
    ),
)
"""Belly runs over."""

IN_LOFT: tuple[Wrong, ...] = (
    Wrong(
        "marram",
        "loft's interlock looks at belly",
        both(DEAF_LIFT, interlock("loft_high", when="belly_level > 99 %")),
        LOFT,
    ),
    Wrong(
        "marram",
        "loft's interlock is late",
        both(DEAF_LIFT, interlock("loft_high", when="(loft_level > 92 %) held 15 min")),
        LOFT,
    ),
    Wrong(
        "marram",
        "loft's interlock closes another valve",
        both(DEAF_LIFT, interlock("loft_high", drive={"rinse": "closed"})),
        LOFT,
    ),
    Wrong(
        "marram",
        "loft's interlock is upside down",
        both(DEAF_LIFT, interlock("loft_high", when="loft_level < 1 %")),
        LOFT,
    ),
    Wrong(
        "marram",
        "loft's level alone, and it hangs",
        both(deaf("lift_up", "lifting -> closing", "loft_float"), interlock("loft_high", when="loft_level > 87 %")),
        LOFT,
        ("loft_level stuck",),
    ),
)
"""Loft runs over."""

IN_GRAY: tuple[Wrong, ...] = (
    Wrong(
        "marram",
        "gray's interlock looks at belly",
        both(FULL_TAPS, interlock("gray_high", when="belly_level > 99 %", until="belly_level < 90 %")),
        GRAY,
    ),
    Wrong(
        "marram",
        "gray's interlock is late",
        both(FULL_TAPS, interlock("gray_high", when="gray_float held 30 min")),
        GRAY,
    ),
    Wrong(
        "marram",
        "gray's interlock has no float",
        both(FULL_TAPS, interlock("gray_high", when="gray_level > 94 %")),
        GRAY,
        ("gray_level stuck",),
    ),
    Wrong(
        "marram",
        "gray's interlock stops the wrong thing",
        both(FULL_TAPS, interlock("gray_high", drive={"lift": "closed"})),
        GRAY,
    ),
    Wrong(
        "marram",
        "taps run again by themselves",
        both(without_interlock("gray_high"), begins("tap_water", "belly_level > 14 %"), FULL_TAPS),
        GRAY,
    ),
)
"""Gray runs over."""

IN_PUMP: tuple[Wrong, ...] = (
    Wrong(
        "marram",
        "the low interlock is late",
        both(UNWIRED, DEAF_TAPS, interlock("belly_low", when="(belly_level < 7 %) held 20 min")),
        DRY,
    ),
    Wrong(
        "marram",
        "the low interlock looks at gray",
        both(UNWIRED, DEAF_TAPS, interlock("belly_low", when="gray_level < 1 %", until="gray_level > 2 %")),
        DRY,
    ),
    Wrong(
        "marram",
        "the low interlock closes the lift",
        both(UNWIRED, DEAF_TAPS, interlock("belly_low", drive={"lift": "closed"})),
        DRY,
    ),
    Wrong(
        "marram",
        "a lift that empties belly",
        both(
            UNWIRED,
            without_interlock("belly_low"),
            DEAF_TAPS,
            transition("lift_up", "lifting -> closing", "(loft_level >= target) or (since step 15 min)"),
        ),
        DRY,
    ),
    Wrong("marram", "one level for everything, and it hangs", UNWIRED, DRY, STUCK),
    Wrong("marram", "one level for everything, and it lies", UNWIRED, DRY, ("belly_level offset 20 %",)),
)
"""The pump runs dry."""

DRUM, SUMP, PUMP = "drum reaches its overflow", "sump reaches its overflow", "pump runs dry"
DEAF_VAN = deaf("fill", "filling -> closing", "drum_float")
BLIND_VAN = deaf("fill", "filling -> closing", "drum_float", "drum_level")
VAN_TAPS = deaf("taps", "on -> off", "drum_level")
VAN_SUMP = deaf("taps", "on -> off", "sump_level")

IN_VAN: tuple[Wrong, ...] = (
    Wrong(
        "crumb",
        "the high interlock is late",
        both(DEAF_VAN, interlock("drum_high", when="drum_float held 20 min")),
        DRUM,
        ("drum_level stuck",),
    ),
    Wrong(
        "crumb",
        "the high interlock trusts the level alone",
        both(DEAF_VAN, interlock("drum_high", when="drum_level > 96 %")),
        DRUM,
        ("drum_level stuck",),
    ),
    Wrong(
        "crumb",
        "the high interlock wants float and level",
        both(DEAF_VAN, interlock("drum_high", when="drum_float and (drum_level > 96 %)")),
        DRUM,
        ("drum_level stuck",),
    ),
    Wrong("crumb", "a fill that nothing ends", both(BLIND_VAN, interlock("drum_high", when="sump_level > 96 %")), DRUM),
    Wrong(
        "crumb",
        "the sump's interlock is late",
        both(VAN_SUMP, interlock("sump_high", when="sump_float held 30 min")),
        SUMP,
    ),
    Wrong(
        "crumb",
        "the sump's interlock looks at the drum",
        both(VAN_SUMP, interlock("sump_high", when="drum_float or (drum_level > 99 %)")),
        SUMP,
    ),
    Wrong(
        "crumb",
        "the sump's interlock has no float",
        interlock("sump_high", when="sump_level > 95 %"),
        SUMP,
        ("sump_level stuck",),
    ),
    Wrong(
        "crumb",
        "the sump's interlock closes the inlet",
        both(VAN_SUMP, interlock("sump_high", drive={"guard": "closed"})),
        SUMP,
    ),
    Wrong(
        "crumb",
        "the low interlock looks at the sump",
        both(VAN_TAPS, interlock("drum_low", when="sump_level < 1 %", until="sump_level > 2 %")),
        PUMP,
    ),
    Wrong(
        "crumb",
        "the low interlock closes the inlet",
        both(VAN_TAPS, interlock("drum_low", drive={"guard": "closed"})),
        PUMP,
    ),
    Wrong(
        "crumb",
        "the low interlock is upside down",
        both(VAN_TAPS, interlock("drum_low", when="drum_level > 98 %", until="drum_level < 90 %")),
        PUMP,
    ),
    Wrong(
        "crumb",
        "the sump may be full and the taps begin",
        both(
            begins("taps", "drum_level > 12 %"),
            VAN_SUMP,
            interlock("sump_high", when="sump_float and (sump_level < 50 %)"),
        ),
        SUMP,
    ),
)
"""The van."""

CISTERN, SETTLED, SUN = "cistern reaches its overflow", "drum reaches its overflow", "sun_pump runs dry"
DEAF_HUT = both(deaf("lift", "lifting -> lifted", "cistern_float"), permit("lift", "drum_level > 30 %"))
DEAF_DRUM = both(deaf("settle", "letting_in -> settled", "drum_float"), permit("settle", "drum_level < 70 %"))

IN_HUT: tuple[Wrong, ...] = (
    Wrong(
        "bothy",
        "the high interlock looks at the drum",
        both(DEAF_HUT, interlock("cistern_high", when="drum_level > 99 %")),
        CISTERN,
        ("cistern_level stuck",),
    ),
    Wrong(
        "bothy",
        "the high interlock is late",
        both(DEAF_HUT, interlock("cistern_high", when="cistern_float held 60 min")),
        CISTERN,
        ("cistern_level stuck",),
    ),
    Wrong(
        "bothy",
        "the high interlock shuts the spring",
        both(DEAF_HUT, interlock("cistern_high", drive={"spring_valve": "closed"})),
        CISTERN,
        ("cistern_level stuck",),
    ),
    Wrong(
        "bothy",
        "the drum's interlock looks at the cistern",
        both(DEAF_DRUM, interlock("drum_high", when="cistern_level > 99 %")),
        SETTLED,
        ("drum_level stuck",),
    ),
    Wrong(
        "bothy",
        "the drum's interlock is late",
        both(DEAF_DRUM, interlock("drum_high", when="drum_float held 3 h")),
        SETTLED,
        ("drum_level stuck",),
    ),
    Wrong(
        "bothy",
        "the drum's interlock stops the pump",
        both(DEAF_DRUM, interlock("drum_high", drive={"sun_pump": "off"})),
        SETTLED,
        ("drum_level stuck",),
    ),
    Wrong(
        "bothy",
        "the low interlock looks at the cistern",
        both(
            unwired("sun_pump"),
            deaf("lift", "lifting -> lifted", "drum_level", "cistern_level"),
            interlock("drum_low", when="cistern_level < 1 %"),
        ),
        SUN,
        ("spring_valve stuck",),
    ),
    Wrong(
        "bothy",
        "the low interlock is late",
        both(
            unwired("sun_pump"),
            deaf("lift", "lifting -> lifted", "drum_level", "cistern_level"),
            interlock("drum_low", when="(drum_level < 15 %) held 3 h"),
        ),
        SUN,
        ("spring_valve stuck",),
    ),
    Wrong(
        "bothy",
        "a spring that runs by the clock",
        both(
            transition("settle", "letting_in -> settled", "since step 2 h"),
            interlock("drum_high", when="cistern_level > 99 %"),
        ),
        SETTLED,
    ),
    Wrong(
        "bothy",
        "a spring whose valve hangs open behind a deaf interlock",
        both(interlock("drum_high", drive={"sun_pump": "off"}), DEAF_DRUM),
        SETTLED,
        ("drum_level offset -20 %",),
    ),
)
"""The hut."""

BOAT = "tap_pump runs dry"
DEAF_BOAT = transition("water", "low -> off", "(tank_level < 11 %) held 10 min")

IN_BOAT: tuple[Wrong, ...] = (
    Wrong(
        "turnstone",
        "the low interlock is upside down",
        both(DEAF_BOAT, interlock("tank_low", when="tank_level > 98 %", until="tank_level < 90 %")),
        BOAT,
    ),
    Wrong(
        "turnstone",
        "the low interlock acts at the quay only",
        both(DEAF_BOAT, interlock("tank_low", when="(tank_level < 8 %) and (water is held)")),
        BOAT,
    ),
    Wrong(
        "turnstone",
        "the low interlock is late",
        both(DEAF_BOAT, interlock("tank_low", when="(tank_level < 8 %) held 20 min")),
        BOAT,
    ),
)
"""The boat."""

MORE: tuple[Wrong, ...] = (*IN_BELLY, *IN_LOFT, *IN_GRAY, *IN_PUMP, *IN_VAN, *IN_HUT, *IN_BOAT)
"""All of them."""
