"""Any file at all: a rig, or findings with a line; never a traceback, never long."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.share import share
from tests.worlds.mutants import mutant
from ullage.control.check import Examined, examine
from ullage.rig.text import NODES_LIMIT, SIZE_LIMIT

MARRAM = (Path(__file__).parents[2] / "examples" / "rigs" / "marram.yaml").read_text("utf8")

TIME_LIMIT = 2.0
"""Longest time for one file [s of the processor]."""

SHARDS = 4


def looked_at(text: str | bytes) -> Examined:
    """A file as `ullage check` looks at it; fails when it takes too long or a finding has no line."""
    start = time.process_time()
    examined = examine(text, "f.yaml")
    assert time.process_time() - start < TIME_LIMIT
    assert examined.rig is not None or examined.findings
    assert examined.program is not None or examined.stands
    for finding in examined.findings:
        assert finding.place.line >= 1
        assert finding.place.column >= 1
        assert finding.what
        assert finding.entry.remedy
    return examined


@pytest.mark.parametrize("shard", range(SHARDS))
def test_mutants_of_marram(shard: int) -> None:
    """People mistype, paste and merge; whatever comes of it, they get the line and the remedy."""
    count = share(20_000, 4_000) // SHARDS
    read = sound = 0
    for seed in range(shard * count, (shard + 1) * count):
        examined = looked_at(mutant(MARRAM, seed))
        read += examined.rig is not None
        sound += examined.program is not None
    print(f"{count:,} mutants: {read:,} could be read, {sound:,} of them made a program")
    assert count > read > sound > count // 20


def test_a_mutant_can_be_made_again() -> None:
    """A seed that gives another file the next day is no help."""
    assert mutant(MARRAM, 7) == mutant(MARRAM, 7) != MARRAM


@given(st.one_of(st.binary(max_size=300), st.text(max_size=300)))
def test_any_bytes(content: bytes | str) -> None:
    """The wrong file is opened sooner or later."""
    looked_at(content)


TREES = st.recursive(
    st.one_of(st.none(), st.booleans(), st.sampled_from(["belly", "3 mm", "open", "a -> b when c", "box", "8 L"])),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["belly", "box", "holds", "steps", "from", "kv", "motor"]), inner, max_size=3),
    ),
    max_leaves=12,
)
SECTIONS = [
    "rig", "about", "scan", "slope", "water", "power", "boards", "tanks", "ports", "points", "pipes", "restrictors",
    "checks", "valves", "pumps", "accumulators", "heaters", "fixtures", "lines", "senders", "floats", "meters",
    "probes", "lamps", "handset", "sequences", "interlocks", "never", "sometimes", "accepts",
]  # fmt: skip


def written(tree: object) -> str:
    """A tree in flow style."""
    if isinstance(tree, dict):
        return "{" + ", ".join(f"{key}: {written(value)}" for key, value in tree.items()) + "}"
    if isinstance(tree, list):
        return "[" + ", ".join(map(written, tree)) + "]"
    return {None: "null", True: "true", False: "false"}.get(tree, tree)  # type: ignore[call-overload, no-any-return]


@settings(max_examples=share(2_000, 200))
@given(st.dictionaries(st.sampled_from(SECTIONS), TREES, max_size=6))
def test_any_tree(tree: dict[str, object]) -> None:
    """Each section has to refuse what belongs into another."""
    looked_at(written(tree))


LARGE = {
    "one word": "a" * SIZE_LIMIT,
    "one comment": "#" * SIZE_LIMIT,
    "open brackets": "[" * SIZE_LIMIT,
    "open maps": "{a: " * (SIZE_LIMIT // 4),
    "open keys": "? " * (SIZE_LIMIT // 2),
    "many lines": "- a\n" * (SIZE_LIMIT // 4),
    "many keys": "".join(f"k{i}: 1\n" for i in range(NODES_LIMIT // 2 - 1)),
    "one key again and again": "rig: a\n" * (SIZE_LIMIT // 7),
    "many tags": "- !a b\n" * (SIZE_LIMIT // 7),
    "many anchors": "".join(f"- &a{i} b\n" for i in range(NODES_LIMIT)),
    "aliases of aliases": "a: &a [x, x]\n" + "".join(f"b{i}: &b{i} [*a, *a]\n" for i in range(1000)),
    "many documents": "---\n" * (SIZE_LIMIT // 4),
    "one quote": "'" + "a" * (SIZE_LIMIT - 1),
    "escapes": '"' + "\\" * (SIZE_LIMIT - 1),
    "blank lines in a text": "a: |\n" + "\n" * (SIZE_LIMIT - 5),
    "many pipes": "rig: a\npipes:\n" + "".join(f"  p{i}: {{bore: 1 mm}}\n" for i in range(4_000)),
    "pipes as many as allowed": "rig: a\npipes:\n" + "".join(f"  p{i}: {{bor: 1 mm}}\n" for i in range(200)),
    "a long guard": "rig: a\nnever: ['" + "a and " * 160 + "a']",
    "many long guards": "rig: a\nnever:\n" + ("  - " + "(a < 3 %) or " * 70 + "b\n") * 200,
    "deep guards": "rig: a\nnever:\n" + ("  - " + "(" * 40 + "a" + ")" * 40 + "\n") * 200,
    "branches side by side": "rig: a\nsequences: {s: {steps: {a: initial, "
    + ", ".join(f"b{i}: {{}}, c{i}: {{}}" for i in range(60))
    + ", z: final}, transitions: ["
    + "a -> " + " + ".join(f"b{i}" for i in range(60))
    + ", " + ", ".join(f"b{i} -> c{i}" for i in range(60))
    + ", " + " + ".join(f"c{i}" for i in range(60)) + " -> z]}}",
}  # fmt: skip


@pytest.mark.parametrize("name", LARGE)
def test_the_largest_files(name: str) -> None:
    """A small board's page must not hang because somebody sent it the wrong file."""
    text = LARGE[name]
    assert len(text) <= SIZE_LIMIT
    assert looked_at(text).stands


SOUND = (Path(__file__).parents[1] / "unit" / "rig" / "sound.yaml").read_text("utf8")


def ruled(*sequences: str) -> str:
    """The sound rig with further sequences."""
    return SOUND.replace("interlocks:\n", "".join(f"  {sequence}\n" for sequence in sequences) + "interlocks:\n", 1)


def branching(name: str, width: int) -> str:
    """A sequence with as many branches side by side: 2 to the width situations."""
    every = range(width)
    steps = ", ".join(f"b{i}: {{}}, c{i}: {{}}" for i in every)
    split, join = " + ".join(f"b{i}" for i in every), " + ".join(f"c{i}" for i in every)
    ways = ", ".join([f"a -> {split}", *(f"b{i} -> c{i} when fresh_float" for i in every), f"{join} -> z"])
    return f"{name}: {{steps: {{a: initial, {steps}, z: final}}, transitions: [{ways}]}}"


def choosing(name: str, guards: list[str]) -> str:
    """A sequence with as many ways out of one step."""
    ways = ", ".join(f"a -> z when {guard}" for guard in guards)
    return f"{name}: {{steps: {{a: initial, z: final}}, transitions: [{ways}]}}"


def of_cases(count: int) -> str:
    """A guard that has to be taken apart into 2 to the count cases, and that is never true."""
    parts = [f"((fresh_level < {i} L) or (waste_level > {i} L))" for i in range(1, count + 1)]
    return " and ".join([*parts, "(fresh_level > 200 L)"])


def unknown_line(number: int) -> str:
    """A line through parts that do not exist."""
    through = ", ".join(f"h{number}_{i}" for i in range(90))
    return f"  - {{from: shore, through: [{through}], to: inlet}}\n"


def opposing(number: int) -> str:
    """An interlock that drives a valve the other way than the one before it."""
    word = ("open", "closed")[number % 2]
    return f"  i{number}: {{when: fresh_level < {number % 90} L, drive: {{guard: {word}}}, why: a trial}}\n"


HEAVY = {
    "wide charts": (ruled(*(branching(f"w{i}", 12) for i in range(60))), "S413"),
    "guards of many cases": (ruled(*(choosing(f"g{i}", [of_cases(5)] * 10) for i in range(18))), "S415"),
    "one step, many ways": (
        ruled(*(choosing(f"m{k}", [f"fresh_level < {i + 200} L" for i in range(200)]) for k in range(7))),
        "S416",
    ),
    "unknown names in guards": (
        ruled(*(choosing(f"u{k}", [f"frsh_levl{i}_{k}" for i in range(20)]) for k in range(70))),
        "R126",
    ),
    "unknown parts in lines": (SOUND.replace("lines:\n", "lines:\n" + "".join(map(unknown_line, range(190)))), "R126"),
    "opposing interlocks": (
        SOUND.replace("interlocks:\n", "interlocks:\n" + "".join(map(opposing, range(190)))),
        "I506",
    ),
    "too many sequences": (ruled(*(branching(f"w{i}", 12) for i in range(150))), "R125"),
    "too many branches": (ruled(branching("w", 150)), "R122"),
}


@pytest.mark.parametrize("name", HEAVY)
def test_rigs_that_are_hard_to_look_at(name: str) -> None:
    """What grows with the square or the power of a number needs its own limit."""
    text, code = HEAVY[name]
    assert code in {finding.code for finding in looked_at(text).findings}
