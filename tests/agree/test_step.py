"""The one law runs twice, as plain Python and as machine code, and must never differ; nor may skipping idle scans."""

from __future__ import annotations

import random
from pathlib import Path

import numpy
import pytest
from numpy.typing import NDArray

from tests.share import share
from ullage.control import codes
from ullage.control import layout as at
from ullage.control.check import examine
from ullage.control.program import Column, Image, Program, State, Tables, initial_state
from ullage.control.record import log_for, unpack
from ullage.control.step import records_limit, same, scan, step, stirs
from ullage.control.timers import advance, quiet_for
from ullage.kernels import compiled

RIGS = sorted((Path(__file__).parents[2] / "examples" / "rigs").glob("*.yaml"))


def program_of(path: Path) -> Program:
    """The Program of an example rig."""
    examined = examine(path.read_bytes(), path.name)
    assert examined.program is not None, examined.findings
    return examined.program


def array(column: Column) -> NDArray[numpy.int64]:
    """A column for machine code."""
    return numpy.array(column, dtype=numpy.int64)


class Weather:
    """Random images that change now and then, commands more often than a sane person gives them."""

    def __init__(self, program: Program, seed: int) -> None:
        self.program = program
        self.chance = random.Random(seed)
        t = program.tables
        self.raw = [self._raw(i) for i in range(len(t.signal_kind))]
        self.age = [0] * len(t.signal_kind)
        self.bad = [0] * len(t.signal_kind)

    def _raw(self, signal: int) -> int:
        kind = self.program.tables.signal_kind[signal]
        if kind == codes.LEVEL:
            return self.chance.choice([self.chance.randint(-400, 10400), self.chance.randint(0, 1500)])
        if kind in (codes.SWITCH, codes.LINK):
            return int(self.chance.random() < 0.3)
        if kind == codes.ATTITUDE:
            return self.chance.randint(0, 3)
        return self.chance.choice([0, 300, 5000, 11500, 13000, 20000])

    def turn(self) -> Image:
        """The next image; most of them are like the one before."""
        t, chance = self.program.tables, self.chance
        if chance.random() < 0.3 and self.raw:
            i = chance.randrange(len(self.raw))
            self.raw[i] = self._raw(i)
            self.age[i] = chance.choice([0, 0, 0, 0, t.stale_ms[i], t.stale_ms[i] + 1, -1])
            self.bad[i] = int(chance.random() < 0.03)
        if chance.random() < 0.05:
            self.age = [0] * len(self.age)
            self.bad = [0] * len(self.bad)
        commands = [0] * len(t.sequence_permit)
        if commands and chance.random() < 0.2:
            commands[chance.randrange(len(commands))] = chance.choice([1, 1, 1, 9, 9, 6, 6, *range(10)])
        reset = [int(chance.random() < 0.05) for _ in t.interlock_guard]
        wish = [chance.choice([d, d, least, most, most + 1]) for d, least, most in self._ranges()]
        return Image(tuple(self.raw), tuple(self.age), tuple(self.bad), tuple(commands), tuple(reset), tuple(wish))

    def _ranges(self) -> list[tuple[int, int, int]]:
        t = self.program.tables
        return list(zip(t.parameter_default, t.parameter_least, t.parameter_most, strict=True))


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_plain_and_compiled_agree(path: Path) -> None:
    """What was proved and simulated in one form must be what runs in the other."""
    program = program_of(path)
    machine = compiled(step)
    t = array(program.column)
    before, work = array(at.join(initial_state(program))), array([0] * t[at.WORK_SIZE])
    after, log = before.copy(), array(log_for(records_limit(program.column)))
    plain = initial_state(program)
    weather, now_ms, happened = Weather(program, 7), 0, 0
    for _ in range(share(60_000, 2_000)):
        image = weather.turn()
        plain, _, records = scan(program, plain, image, now_ms)
        machine(t, before, array(at.join(image)), now_ms, after, work, log)
        assert at.split_state(program, after) == plain
        assert unpack(log) == records
        before, after = after, before
        happened += len(records)
        now_ms += program.scan_ms + weather.chance.choice([0, 0, 0, 1, 250])
    assert happened > 1000, "the weather was too calm to show anything"


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_skipping_idle_scans_changes_nothing(path: Path) -> None:
    """A simulation or proof that jumps over idle time must see every event that stepping would have seen."""
    program = program_of(path)
    t, weather, now_ms, skipped = program.column, Weather(program, 11), 0, 0
    state = initial_state(program)
    for _ in range(share(6_000, 350)):
        image = weather.turn()
        state, _, _ = scan(program, state, image, now_ms)
        calm = image._replace(command=(0,) * len(image.command), reset=(0,) * len(image.reset))
        now_ms += program.scan_ms
        before, (state, _, _) = state, scan(program, state, calm, now_ms)
        if same(t, at.join(before), at.join(state)):
            idle = min((quiet_for(t, at.join(state)) - 1) // program.scan_ms, weather.chance.randint(0, 60))
            jumped = at.join(state)
            advance(t, jumped, idle * program.scan_ms)
            for _ in range(idle):
                now_ms += program.scan_ms
                state, _, records = scan(program, state, calm, now_ms)
                assert records == ()
            jumped[t[at.LAST_MS]] = now_ms
            assert at.split_state(program, jumped) == state
            skipped += idle
        now_ms += program.scan_ms
    assert skipped > 500, "nothing was skipped"


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_an_image_that_does_not_stir_changes_nothing(path: Path) -> None:
    """A reading that was taken for unimportant must not have been the one that closes the valve."""
    program = program_of(path)
    t, weather, now_ms, calm_images = program.column, Weather(program, 5), 0, 0
    state, out = at.join(initial_state(program)), [0] * program.column[at.STATE_SIZE]
    work, log = [0] * t[at.WORK_SIZE], log_for(records_limit(t))
    for _ in range(share(20_000, 1_000)):
        image = at.join(weather.turn())
        told = any(image[t[at.SEEN_COMMAND] : t[at.SEEN_PARAMETER]]) or quiet_for(t, state) <= program.scan_ms
        stirred = told or any(stirs(t, state, image, work, i) for i in range(t[at.SIGNALS]))
        was_same = now_ms > 0 and same(t, state, out)
        now_ms += program.scan_ms
        count = step(t, state, image, now_ms, out, work, log)
        if was_same and not stirred:
            assert count == 0
            assert same(t, state, out)
            calm_images += 1
        state, out = out, state
    assert calm_images > 200, "every image stirred"


def test_a_scan_writes_every_entry() -> None:
    """An entry left over from two scans ago would make the law depend on its memory layout."""
    program = program_of(RIGS[0])
    t = program.column
    image = at.join(Weather(program, 3).turn())
    state = at.join(initial_state(program))
    results = []
    for filler in (0, -77):
        out, work = [filler] * t[at.STATE_SIZE], [filler] * t[at.WORK_SIZE]
        log = log_for(records_limit(t))
        step(t, state, image, 0, out, work, log)
        results.append((out, unpack(log)))
    assert results[0] == results[1]


def test_the_column_holds_the_tables() -> None:
    """An entry that is read from the wrong place decides wrongly without a sign."""
    program = program_of(RIGS[0])
    for name, column in zip(Tables._fields, program.tables, strict=True):
        start = program.column[getattr(at, name.upper())]
        assert program.column[start : start + len(column)] == column, name
    for name in State._fields:
        assert getattr(at, name.upper()) - at.CLOCK == State._fields.index(name)
