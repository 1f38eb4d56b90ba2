"""Bytes that are no rig file: each fault of form and of value with its code and its place."""

from __future__ import annotations

import pytest

from tests.unit.rig.breaking import SOUND, changed
from ullage.rig import text as limits
from ullage.rig.law import read_law
from ullage.rig.read import read_rig

FORM = [
    ("R100", b"rig: \xff\xfe", 1, 6),
    ("R100", "rig: a\nabout: b\x00c", 2, 9),
    ("R100", "rig: a\x1b[31m", 1, 7),
    ("R101", "#" * (limits.SIZE_LIMIT + 1), 1, 1),
    ("R103", "rig: [", 2, 1),
    ("R103", "rig: a: b", 1, 7),
    ("R103", "rig: 'a", 1, 8),
    ("R103", "a\n: b\n  c: d", 2, 1),
    ("R104", "rig: a\ntanks: {}\nrig: b", 3, 1),
    ("R105", "rig: !!python/object/apply:os.system [a]", 1, 6),
    ("R105", "!rig a: b", 1, 1),
    ("R106", "rig: &a b\nabout: *a", 1, 6),
    ("R106", "tanks: {<<: {a: b}}", 1, 9),
    ("R106", "&a rig: b", 1, 1),
    ("R107", "rig: a\n---\nrig: b", 2, 1),
    ("R108", "rig: " + "[" * 30 + "]" * 30, 1, 26),
    ("R109", "rig: [" + "a, " * limits.NODES_LIMIT + "]", 1, 59998),
    ("R110", "", 1, 1),
    ("R110", "# nothing\n", 1, 1),
    ("R110", "- rig", 1, 1),
    ("R110", "just a text", 1, 1),
    ("R111", "tanks:\n\tbelly: {}", 2, 1),
    ("R112", "? [a, b]\n: c", 1, 3),
    ("R112", "{a: b}: c", 1, 1),
]


@pytest.mark.parametrize(("code", "text", "line", "column"), FORM)
def test_a_fault_of_form_is_told_with_its_place(code: str, text: str | bytes, line: int, column: int) -> None:
    """A file that is half read would be half a rig."""
    rig, findings, _ = read_rig(text, "f.yaml")
    assert rig is None
    assert code in [finding.code for finding in findings]
    place = next(finding.place for finding in findings if finding.code == code)
    assert (place.line, place.column) == (line, column)


WASTE_BOX = "{box: {length: 800 mm, width: 500 mm, height: 300 mm}}\n    floor_at: {z: 0.4 m}"
TWO_SHAPES = "{upright: {diameter: 1 m, height: 1 m}, " + WASTE_BOX.removeprefix("{")
TABLE = "{strapping: {table: [[0 mm, 0 L], [100 mm, 20 L], [90 mm, 30 L]]}}"
MANY_PIPES = "".join(f"  p{i}: {{bore: 1 mm, length: 1 m}}\n" for i in range(200))

VALUES = [
    ("R113", {"holds: waste": "holds: waste\n    hold: waste"}, "hold", "holds"),
    ("R113", {"rig: Sound": "rig: Sound\ntank: {}"}, "'tank' is unknown", "tanks"),
    ("R113", {"to: fresh.top": "to: fresh.top, form: a"}, "'form' is unknown", "from"),
    ("R113", {"cut_in: 1.4": "cut_inn: 1.4"}, "'cut_inn' is unknown", "cut_in"),
    ("R114", {"    holds: waste\n": ""}, "'holds' of 'waste' is missing", ""),
    ("R114", {"rig: Sound\n": ""}, "'rig' is missing", ""),
    ("R114", {"never: [": "never: [{}, "}, "a line of 'never' says one thing", ""),
    ("R113", {"never: [": "never: [{in_helth: fresh_high trips}, "}, "'in_helth' is unknown", "in_health"),
    ("R115", {"holds: waste": "holds: wast"}, "'wast' is not allowed", "waste"),
    ("R115", {"kind: solenoid": "kind: solenod"}, "'solenod' is not allowed", "solenoid"),
    ("R116", {"vent: {bore: 16 mm": "vent: {bore: 16"}, "a unit is missing", ""),
    ("R116", {"vent: {bore: 16 mm": "vent: {bore: 16 mn"}, "did you mean", ""),
    ("R116", {"fresh_float held 1 s": "fresh_float held 1 L"}, "'L' is a unit of volume, not of time", ""),
    ("R117", {"vent: {bore: 16 mm": "vent: {bore: 16000000 mm"}, "16000000 mm is out of range", ""),
    ("R117", {"error: 3 %": "error: 300 %"}, "300 % is out of range", ""),
    ("R117", {"latch: true": "latch: true, priority: 101"}, "101 is out of range", ""),
    ("R118", {"rig: Sound": "rig: [Sound]"}, "wrong kind", ""),
    ("R118", {"pipes:\n": "pipes: 3\nparts:\n"}, "'3' is of the wrong kind", ""),
    ("R118", {"latch: true": "latch: perhaps"}, "'perhaps' is of the wrong kind", ""),
    ("R118", {"rig: Sound": "rig: true"}, "'True' is of the wrong kind", ""),
    ("R119", {"pipes:\n": "pipes:\n  Hose: {bore: 1 mm, length: 1 m}\n"}, "'Hose' is no name", ""),
    ("R119", {"board: main_board, lease: 3 s, on_lapse: off": "board: Main"}, "'Main' is no name", ""),
    ("R120", {"fresh_level < 9 %": "fresh_level <"}, "ends too early", ""),
    ("R120", {"fresh_level < 9 %": "fresh_level hold 3 s"}, "'hold' is not understood", "held"),
    ("R120", {"fresh_level < 9 %": "(" * 41 + "pump is on" + ")" * 41}, "nested too deep", ""),
    ("R120", {"fresh_level < 9 %": "fresh_level < 9 %" + " or (pump is on)" * 80}, "characters", ""),
    ("R121", {"(fresh_float held 1 s)": "(fresh_float held 1 s) and (pump is on)"}, "side by side", ""),
    ("R121", {"fresh_level < 9 %": "not fresh_float and pump is on"}, "'not' stands beside", ""),
    ("R122", {"[dark, green, red]": "[dark]"}, "wrong length", ""),
    ("R122", {"rig: Sound": "rig: " + "x" * 81}, "wrong length", ""),
    ("R122", {"pipes:\n": "pipes:\n" + MANY_PIPES}, "205 parts", ""),
    ("R123", {WASTE_BOX: TWO_SHAPES}, "'waste' has 2 shapes", ""),
    ("R123", {WASTE_BOX: "{}\n    floor_at: {z: 0.4 m}"}, "'waste' has 0 shapes", ""),
    ("R124", {WASTE_BOX: TABLE + "\n    floor_at: {z: 0.4 m}"}, "does not rise", ""),
    ("R124", {"{flow: 10 L/min, pressure: 0 bar}": "{flow: 10 L/min, pressure: 1 bar}"}, "does not fall", ""),
]  # fmt: skip


@pytest.mark.parametrize(("code", "edits", "word", "near"), VALUES)
def test_a_fault_of_value_is_told_with_the_nearest_name(code: str, edits: dict[str, str], word: str, near: str) -> None:
    """A mistyped key that is left out without a word is a valve without a spring."""
    text = changed(edits)
    rig, findings, places = read_rig(text, "f.yaml")
    if rig is not None:
        findings = read_law(rig, places)[1]
    fitting = [finding for finding in findings if finding.code == code and word in finding.what]
    assert fitting, findings
    assert fitting[0].near == near
    assert fitting[0].place.line > 0
    assert fitting[0].place.column > 0


def test_words_of_old_yaml_stay_words() -> None:
    """`pump: on` read as `pump: true` would switch nothing."""
    rig, _, _ = read_rig(SOUND, "f.yaml")
    assert rig is not None
    assert rig.sequences["tap_water"].steps["on"].demand == {"pump": "on"}
    assert rig.pumps["pump"].on_lapse == "off"


def test_places_lead_to_keys_values_and_characters() -> None:
    """A finding that points at the wrong line sends a person to mend the wrong part."""
    _, _, places = read_rig(SOUND, "f.yaml")
    lines = SOUND.split("\n")
    value = places.value("tanks", "waste", "vent", "bore")
    assert lines[value.line - 1][value.column - 1 :].startswith("25 mm")
    key = places.key("tanks", "waste", "vent", "bore")
    assert lines[key.line - 1][key.column - 1 :].startswith("bore: 25 mm")
    inside = places.inside(("sequences", "fill", "permit"), 14)
    assert lines[inside.line - 1][inside.column - 1 :].startswith("target - 3 %")
    assert places.value("tanks", "waste", "no", "such") == places.value("tanks", "waste")


@pytest.mark.parametrize("written", ["'fresh_levl < 5 %'", '"fresh_levl < 5 %"', ">-\n          fresh_levl < 5 %"])
def test_a_place_in_a_quoted_or_folded_guard(written: str) -> None:
    """People quote guards; the column must not slip by the quotes, and a folded text points at its start."""
    text = changed({"permit: fresh_level > 12 %": f"permit: {written}"})
    rig, _, places = read_rig(text, "f.yaml")
    assert rig is not None
    place = next(finding.place for finding in read_law(rig, places)[1])
    at = text.split("\n")[place.line - 1][place.column - 1 :]
    assert at.startswith(("fresh_levl", ">-"))


def test_a_mark_at_the_start_is_not_content() -> None:
    """Some editors write a byte order mark; the rig is the same."""
    assert read_rig(b"\xef\xbb\xbf" + SOUND.encode(), "f.yaml")[0] == read_rig(SOUND, "f.yaml")[0]


def test_the_number_of_faults_is_limited() -> None:
    """Ten thousand faults hide the one that matters, and take long to write."""
    text = "rig: a\n" + "".join("a: !x 1\n" for _ in range(5000))
    assert len(read_rig(text, "f.yaml")[1]) <= limits.FORM_LIMIT


def test_faults_of_value_do_not_hide_faults_of_names_and_guards() -> None:
    """A list that grows with each mended fault wears a person out."""
    text = changed(
        {
            "{on: fresh, error: 2 %, every: 2 s,": "{on: fresh, error: 2 %, every: 2,",
            "(fresh_level >= target)": "(fresh_levl >= target)",
            "on -> off when": "on -> of when",
            "empty:\n    confirm: true": "empty:\n    confirm: perhaps",
            "attitude: docked": "attitude: doked",
            "waste_level > 90 %": "waste_level > 90 L/min",
        }
    )
    told = [(finding.code, finding.near) for finding in read_rig(text, "f.yaml")[1]]
    assert sorted(told) == [
        ("N200", "fresh_level"),
        ("N209", "off"),
        ("R115", "docked"),
        ("R116", ""),
        ("R118", ""),
        ("S400", ""),
    ]


@pytest.mark.parametrize("left_out", ["tanks", "senders", "valves", "pumps", "sequences", "boards", "lamps", "points"])
def test_a_part_that_cannot_be_read_is_not_called_unknown(left_out: str) -> None:
    """A consequence told beside its cause sends a person to mend what is whole."""
    rig, _, places = read_rig(SOUND, "f.yaml")
    assert rig is not None
    for name in getattr(rig, left_out):
        key = places.key(left_out, name)
        lines = SOUND.split("\n")
        line = lines[key.line - 1]
        head, _, rest = line[key.column - 1 :].partition("{")
        opened = f"{head}{{nonsense: 1, {rest}" if rest else f"{head}\n{' ' * (key.column + 1)}nonsense: 1"
        lines[key.line - 1] = line[: key.column - 1] + opened
        told = [finding.code for finding in read_rig("\n".join(lines).replace("1, }", "1}"), "f.yaml")[1]]
        assert told == ["R113"], (left_out, name)


@pytest.mark.parametrize(("group", "written"), [("tanks", "tank"), ("fixtures", "faucets"), ("senders", "sensors")])
def test_a_mistyped_group_is_told_once(group: str, written: str) -> None:
    """Forty names called unknown beside the one slip hide the slip."""
    found = read_rig(SOUND.replace(f"\n{group}:", f"\n{written}:"), "f.yaml")[1]
    assert [(finding.code, finding.near) for finding in found] == [("R113", group)]


def test_a_near_key_is_not_buried_in_the_list_of_all_keys() -> None:
    """Thirty keys after 'did you mean' are read by nobody, and push the next finding off the screen."""
    (near,) = read_rig(changed({"vent: {bore: 16 mm": "vnet: {bore: 16 mm"}), "f.yaml")[1][:1]
    assert (near.code, near.near, near.expected) == ("R113", "vent", "")
    (far,) = read_rig(changed({"vent: {bore: 16 mm": "zzz: 3\n    vent: {bore: 16 mm"}), "f.yaml")[1]
    assert "vent" in far.expected


def test_a_scenario_is_known_for_one() -> None:
    """The two files lie side by side and are exchanged; six findings on a sound scenario are no answer."""
    (finding,) = read_rig("scenario: A day\nhours: 2\nhappenings: []\nexpect: []\n", "day.yaml")[1]
    assert finding.code == "R110"
    assert "scenario" in finding.what
