"""Records as sentences."""

from __future__ import annotations

from dataclasses import replace

from ullage.control import codes
from ullage.control.check import Examined
from ullage.control.record import Record
from ullage.plant import words as plant
from ullage.plant.codes import NO_SUPPLY
from ullage.plant.faults import JERRYCAN, Fault
from ullage.plant.faults import KINDS as FAULT_KINDS
from ullage.report.words import ALARM, FINE, MAIN, USUAL, Names, driven, sentence, sentences


def told(names: Names, kind: int, row: int, value: int, detail: int = 0) -> tuple[str, int]:
    made = sentence(Record(65_000, kind, row, value, detail), names)
    assert made.now_ms == 65_000
    return made.text, made.weight


def test_every_kind_of_record_has_its_sentence(names: Names) -> None:
    """A happening without words would be missing from the story of the night it flooded."""
    for kind in range(len(plant.KINDS)):
        for value in (0, 1):
            text, weight = told(names, kind, 0, value)
            assert text.endswith((".", "!"))
            assert text[0] == text[0].upper() or text.split()[0].rstrip(":") in all_names(names)
            assert FINE <= weight <= ALARM


def all_names(names: Names) -> set[str]:
    n, rig = names.program.names, names.rig
    parts = (rig.tanks, rig.valves, rig.pumps, rig.fixtures, rig.accumulators, rig.ports)
    return {
        *n.sequences,
        *n.outputs,
        *n.valves,
        *(s.name for s in n.signals),
        *(name for part in parts for name in part),
    }


def test_every_value_of_every_code_has_its_words(names: Names) -> None:
    """A state that nobody has words for comes just when something is wrong."""
    for state in range(len(codes.STATES)):
        for cause in range(len(codes.CAUSES)):
            told(names, codes.R_STATE, 0, state, cause)
    for command in range(len(codes.COMMANDS)):
        for cause in range(len(codes.CAUSES)):
            told(names, codes.R_COMMAND, 0, command, cause)
    for position in range(len(codes.POSITIONS)):
        told(names, codes.R_POSITION, 0, position, codes.OPEN)
    for quality in range(len(codes.QUALITIES)):
        told(names, codes.R_QUALITY, 0, quality, codes.NEVER)
    for attitude in range(len(codes.ATTITUDES)):
        told(names, plant.P_ATTITUDE, 0, attitude)
    for kind in range(len(FAULT_KINDS)):
        told(names, plant.P_FAULT, 99, 1, kind)


def test_a_trip_says_what_it_drives(names: Names) -> None:
    """Whoever hears 'belly_high' and not 'shore_in closed' runs to the wrong valve."""
    row = names.program.interlock("belly_high")
    assert driven(names.program, row) == "shore_in closed, shore_guard closed, loft_return closed, fall_guard closed"
    assert told(names, codes.R_INTERLOCK, row, codes.TRIPPED, codes.TRUE) == (
        "Interlock belly_high trips: shore_in closed, shore_guard closed, loft_return closed, fall_guard closed. "
        "Above this only the overflow is left; a person looks why the sequence did not stop.", ALARM,
    )  # fmt: skip
    assert "because a reading is missing" in told(names, codes.R_INTERLOCK, row, codes.TRIPPED, codes.UNKNOWN)[0]


def test_an_interlock_that_raises_no_alarm_is_told_in_the_small_print(names: Names) -> None:
    """Who is alarmed each time that the waste valve opens no longer looks when the tank runs over."""
    row = names.program.interlock("waste_apart")
    assert not names.program.names.alarming[row]
    text, weight = told(names, codes.R_INTERLOCK, row, codes.TRIPPED, codes.TRUE)
    assert weight == USUAL
    assert text.endswith("The drinking water hose and the waste hose are never open at once.")


def test_a_sequence_begins_in_words(names: Names) -> None:
    """'running (0)' tells nobody whether a person or the rig began it."""
    row = names.program.sequence("fill")
    assert told(names, codes.R_STATE, row, codes.RUNNING, codes.BY_COMMAND)[0] == "fill begins, by command."
    assert told(names, codes.R_STATE, row, codes.RUNNING, codes.BY_ITSELF)[0] == "fill begins by itself."


def test_a_refused_command_says_why(names: Names) -> None:
    """'It does not start' is a search of an hour, 'not permitted' one of a minute."""
    row = names.program.sequence("fill")
    assert told(names, codes.R_COMMAND, row, codes.START, codes.NOT_PERMITTED) == (
        "fill: start is refused (not permitted).", MAIN,
    )  # fmt: skip


def test_a_refused_wish_is_named_with_its_range(names: Names) -> None:
    """'A parameter is out of its range' sends a person through the whole rig file."""
    program = names.program
    row = program.parameter("fill.target")
    most = program.tables.parameter_most[row]
    assert told(names, codes.R_WISH, row, 2 * most, program.sequence("fill"))[0].startswith("fill does not start: ")
    stated = names.rig.sequences["fill"].parameters["target"]
    double = 2 * float(stated.most.removesuffix(" %"))
    assert told(names, codes.R_WISH, row, 2 * most, program.sequence("fill")) == (
        f"fill does not start: 'target' may be {stated.least} to {stated.most}, and {double:g} % is wished.", MAIN,
    )  # fmt: skip


def test_a_spring_has_no_hose(names: Names) -> None:
    """A person at a spring looks for the hose that the story speaks of, and finds none."""
    row = list(names.rig.ports).index("shore")
    hose = [told(names, plant.P_HOSE, row, value, 200_000)[0] for value in (1, 0)]
    assert hose == ["A hose is connected to shore at 2.00 bar.", "The hose at shore is taken off."]
    port = names.rig.ports["shore"].model_copy(update={"lasting": True})
    spring = replace(names, rig=names.rig.model_copy(update={"ports": {**names.rig.ports, "shore": port}}))
    lasts = [told(spring, plant.P_HOSE, row, value, 200_000)[0] for value in (1, 0)]
    assert lasts == ["shore gives water at 2.00 bar.", "Nothing comes from shore any more."]


def test_steps_tell_what_they_announce(names: Names) -> None:
    """The words that the rig's builder chose are those that the person at the hose knows."""
    row = names.program.step("fill.filling")
    assert told(names, codes.R_STEP, row, 1) == ("fill enters step 'filling': Water flows into belly.", USUAL)


def test_harms_are_told_with_their_figures_as_alarms(names: Names) -> None:
    """A litre on the floor must not stand in the small print."""
    assert told(names, plant.P_OVERFLOW, 0, 0, 840) == (
        "belly no longer overflows; 840 mL have left it so far.",
        ALARM,
    )
    assert told(names, plant.P_INDOORS, 0, 1) == ("Water from belly runs indoors!", ALARM)
    assert told(names, plant.P_DRY, 0, 0, 65_000) == ("water_pump no longer runs dry, after 1 min 5 s in all.", ALARM)
    assert told(names, plant.P_FAULT, 0, 1) == (
        "Fault 'belly_level stuck': the sender keeps the reading it has.",
        ALARM,
    )


def test_a_hand_on_a_valve_is_told_as_that(names: Names) -> None:
    """A valve turned by hand and told as a tap is looked for in the kitchen."""
    valve = list(names.rig.valves).index("rinse")
    assert told(names, plant.P_TAP, -1 - valve, 1000)[0] == "Somebody turns rinse to 100 % open."


def test_us_units_reach_the_sentences(names: Names) -> None:
    """A person who reads gallons must not be told litres without being told so."""
    us = Names(names.rig, names.program, system="us")
    assert told(us, plant.P_HOSE, 0, 1, 200_000)[0] == "A hose is connected to shore at 29.0 psi."
    assert told(us, plant.P_INDOORS, 0, 0, 3785)[0].endswith("1.00 gal lie on the floor.")


def test_records_keep_their_order(names: Names) -> None:
    """Cause and effect exchanged is a wrong story."""
    records = [Record(i, codes.R_READY, 0, 1, 1) for i in (5, 1, 3)]
    assert [s.now_ms for s in sentences(records, names)] == [5, 1, 3]


def test_a_sequence_that_is_complete_says_how_it_ended(names: Names) -> None:
    """'fill is complete' of a fill that was given up sends a person away from a tank that is not full."""
    program = names.program
    row = program.sequence("fill")
    for step, ending in (("filled", "Belly holds the wished amount."), ("given_up", "The fill is given up.")):
        records = [
            Record(1, codes.R_STEP, program.step(f"fill.{step}"), 1, row),
            Record(2, codes.R_STATE, row, codes.COMPLETE, codes.FINISHED),
        ]
        assert sentences(records, names)[-1].text.startswith(f"fill is complete. {ending}")


def test_a_part_without_power_is_told_as_its_motor_has_it(names: Names) -> None:
    """Who reads that a valve closed, which in truth stays open without power, does not go and look."""
    outputs = names.program.names.outputs
    for output, said in (
        ("shore_in", "shore_in has no power: it stays where it is."),
        ("shore_guard", "shore_guard has no power: its spring closes it."),
        ("water_pump", "water_pump has no power: it stands still."),
        ("port_lamp", "port_lamp has no power: it is dark."),
    ):
        assert told(names, plant.P_LAPSE, outputs.index(output), 1, NO_SUPPLY) == (said, ALARM)
    lapsed = told(names, plant.P_LAPSE, outputs.index("shore_in"), 1, codes.CLOSED)
    assert lapsed == ("Nobody tells shore_in anything any more; its board by itself drives it closed.", ALARM)


def test_a_part_that_was_at_rest_without_power_is_small_print(names: Names) -> None:
    """Nine parts that do nothing, told in red, hide the one valve that stays open."""
    inlet, lift = (names.program.names.outputs.index(name) for name in ("shore_in", "lift"))
    records = [
        Record(0, codes.R_DEMAND, inlet, codes.OPEN, codes.CLOSED),
        Record(500, plant.P_LAPSE, inlet, 1, NO_SUPPLY),
        Record(500, plant.P_LAPSE, lift, 1, NO_SUPPLY),
        Record(500, codes.R_DEMAND, inlet, codes.CLOSED, codes.OPEN),
        Record(900, plant.P_LAPSE, inlet, 1, NO_SUPPLY),
    ]
    assert [s.weight for s in sentences(records, names)][1:3] == [ALARM, FINE]
    assert sentences(records, names)[-1].weight == FINE


def test_a_latched_interlock_trips_once(names: Names) -> None:
    """A float that flickers in the waves would fill the story with trips of one and the same interlock."""
    row = names.program.interlock("belly_high")
    values = (codes.TRIPPED, codes.LATCHED, codes.TRIPPED, codes.LATCHED, codes.CLEAR, codes.TRIPPED)
    records = [Record(500 * i, codes.R_INTERLOCK, row, value, codes.TRUE) for i, value in enumerate(values)]
    story = sentences(records, names)
    assert [" trips: " in s.text for s in story] == [True, False, False, False, False, True]
    assert story[2].text == "The reason of interlock belly_high is back; it still acts."
    assert story[2].weight == USUAL


def test_pouring_is_no_fault(marram: Examined) -> None:
    """Whoever reads 'fault' where somebody filled a tank by hand looks for what is broken."""
    assert marram.rig is not None
    assert marram.program is not None
    poured = Names(marram.rig, marram.program, (Fault(JERRYCAN, "belly", amount=0.02),))
    assert told(poured, plant.P_FAULT, 0, 1) == ("Somebody pours 20.0 L into belly.", USUAL)
    assert told(poured, plant.P_FAULT, 0, 0) == ("All of it is poured into belly.", USUAL)


def test_a_time_limit_that_ended_a_step_is_a_turn_of_the_story(names: Names) -> None:
    """A fill that gave up and one that was full read the same in the small print, where nobody looks."""
    program = names.program
    row = program.names.transitions.index(next(t for t in program.names.transitions if "or (since step 5 min)" in t))
    way, _, _ = program.names.transitions[row].partition(" when ")
    sequence = program.sequence("rinse_down")
    step = program.step(f"rinse_down.{way.partition(' ')[0]}")
    entered = Record(1000, codes.R_STEP, step, 1, sequence)
    for after_ms, weight in ((100_000, FINE), (300_000, MAIN)):
        _, told = sentences([entered, Record(1000 + after_ms, codes.R_TRANSITION, row, 1, sequence)], names)
        assert told.weight == weight
        assert ("by its time limit" in told.text) == (weight == MAIN)
        assert ("since step" in told.text) == (weight == MAIN)
