"""A plan of the proof as a Promela model, and the same plan in coarser units of volume.

SPIN keeps every volume as a number of its own, so a plan in millilitres is too large for it. Here a
plan is rounded outward to a coarser unit; what comes out is a plan again, and both SPIN and our
explorer are asked about that one. All that is left open in the plan (which move, which gain, which
way a gate goes, what somebody wishes) is nondeterminism of Promela; the tables of the plan and their
evaluation are C beside it. Nothing of the explorer is used: no boxes, no widening, no order of states.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

from ullage.prove import plan as p
from ullage.prove.plan import CLOCK, INTERLOCK, LASTS, LINK, SEQUENCE, Level, Plan, Row

# --- coarser units ----------------------------------------------------------------------------


def in_units(plan: Plan, unit: int) -> Plan:
    """The same plan with volumes in units of so many millilitres, everything rounded outward.

    A unit in which a piece begins becomes a piece of its own, in which both may be so; a gain is rounded away
    from what it is at least and at most.
    """
    cuts = [_cuts(level, unit) for level in plan.levels]
    old = [_overlapped(level, cut, unit) for level, cut in zip(plan.levels, cuts, strict=True)]
    levels = tuple(_level(*each, unit) for each in zip(plan.levels, cuts, old, strict=True))
    rows = tuple(_row(row, old) for row in plan.rows)
    actors = []
    for actor in plan.actors:
        if actor.wire is not None:
            at, first, last = actor.wire
            inside = [n for n, pieces in enumerate(old[at]) if any(first <= piece <= last for piece in pieces)]
            actor = replace(actor, wire=(at, inside[0], inside[-1]) if inside else (at, 1, 0))
        actors.append(actor)
    return replace(plan, levels=levels, rows=rows, actors=tuple(actors))


def _cuts(level: Level, unit: int) -> list[int]:
    ends = {bound // unit for bound in level.pieces} | {-(-bound // unit) for bound in level.pieces}
    return sorted(end for end in ends | {0} if end <= level.most // unit)


def _overlapped(level: Level, cuts: list[int], unit: int) -> list[list[int]]:
    """Old pieces that each new one has a part of."""
    tops = [*(cut - 1 for cut in cuts[1:]), level.most // unit]
    found = []
    for low, top in zip(cuts, tops, strict=True):
        first, last = (bisect_right(level.pieces, volume) - 1 for volume in (low * unit, top * unit + unit - 1))
        found.append(list(range(first, last + 1)))
    return found


def _level(level: Level, cuts: list[int], old: list[list[int]], unit: int) -> Level:
    groups = [tuple(sorted({level.strips[piece] for piece in pieces})) for pieces in old]
    strips = list(dict.fromkeys(groups))

    def rate(kinds: tuple[int, ...], strip: int) -> tuple[int, int]:
        some = [level.rate(kinds, one) for one in strips[strip]]
        return min(low for low, _ in some) // unit, max(-(-high // unit) for _, high in some)

    start = level.start[0] // unit, level.start[1] // unit
    numbers = tuple(strips.index(group) for group in groups)
    return replace(level, pieces=tuple(cuts), most=level.most // unit, strips=numbers, rate=rate, start=start)


def _row(row: Row, old: Sequence[list[list[int]]]) -> Row:
    if not isinstance(row, p.ByPiece | p.Read):
        return row
    masks = []
    for pieces in old[row.level]:
        mask = 0
        for piece in pieces:
            mask |= row.masks[piece]
        masks.append(mask)
    return replace(row, masks=tuple(masks))


# --- Promela ------------------------------------------------------------------------------------


def promela(plan: Plan) -> str:
    """The model: an assertion fails in it where the harm of the plan may be."""
    assert not plan.restarts, "a law that starts anew is not modelled"
    tables, model = list(_tables(plan)), list(_model(plan))
    names = list(dict.fromkeys(word for line in model for word in _macros(line)))
    # SPIN lets no call stand in an expression of C, so each is given a name.
    heads = [f"\\#define {name} {_call(name)}" for name in names]
    return "\n".join(["c_decl {", *heads, "};", *_variables(plan), "c_code {", *tables, "};", *model, ""])


def _macros(line: str) -> Iterator[str]:
    for part in line.split("c_expr { ")[1:]:
        yield part.split(" }")[0]


def _call(name: str) -> str:
    """``PICK_2_0`` is ``pick(2, 0)``."""
    word, *numbers = name.split("_")
    return f"{word.lower()}({', '.join(number.replace('m', '-') for number in numbers)})"


def _variables(plan: Plan) -> Iterator[str]:
    yield f"bit ready = {int(not plan.watched)}, bad = 0;"
    for n, _ in enumerate(plan.deciders):
        yield f"byte d{n} = 0, n{n} = 0;"
    for n, _ in enumerate(plan.actors):
        yield f"byte a{n} = 0;"
    for n, _ in enumerate(plan.outputs):
        yield f"byte o{n} = 0, f{n} = 0;"
    for n, _ in enumerate(plan.levels):
        yield f"short v{n} = 0, g{n} = 0;"
    for n in _senders(plan):
        yield f"bit m{n} = 0;"


def _senders(plan: Plan) -> range:
    """All senders that are read; in each scan each of them is missing or not."""
    return range(1 + max((row.sender for row in plan.rows if isinstance(row, p.Read)), default=-1))


def _model(plan: Plan) -> Iterator[str]:
    yield "active proctype scan() {"
    yield "  atomic {"
    for n, one in enumerate(plan.deciders):
        yield _choice(f"d{n} = {start}" for start in one.starts)
    for n, one in enumerate(plan.actors):
        yield _choice(f"a{n} = {start}" for start in one.starts)
    for n, level in enumerate(plan.levels):
        yield f"    select(v{n} : {level.start[0]} .. {level.start[1]});"
    yield "  };"
    yield "  do\n  :: atomic {"
    for n, level in enumerate(plan.levels):
        gains = sorted({gain for low, high in _rates(plan, level) for gain in range(low, high + 1)})
        yield _choice(f"c_expr {{ GAIN_{n}_{str(gain).replace('-', 'm')} }} -> g{n} = {gain}" for gain in gains)
    yield "    c_code { flow(); };\n    assert(!bad);"
    for n in _senders(plan):
        yield _choice(f"m{n} = {missing}" for missing in (0, 1))
    yield "    if\n    :: !ready ->"
    yield from _picks(plan, (LINK, CLOCK, LASTS))
    yield "      c_code { rest(); }\n    :: true ->"
    yield from _picks(plan, (SEQUENCE, INTERLOCK, LINK, CLOCK, LASTS))
    for n, output in enumerate(plan.outputs):
        yield _choice(f"f{n} = {k}" for k in range(len(output.free) + 1))
    yield "      c_code { settle(); }\n    fi;"
    for n, one in enumerate(plan.actors):
        most = max(len(ways) for each in one.moves for ways in each[:2])
        yield _choice(f"c_expr {{ WAY_{n}_{k} }} -> c_code {{ now.a{n} = next({n}, {k}); }}" for k in range(most))
    yield "    c_code { over(); }\n  }\n  od\n}"


def _picks(plan: Plan, kinds: Sequence[int]) -> Iterator[str]:
    """A move for each decider of some kinds."""
    for n, one in enumerate(plan.deciders):
        if one.drives in kinds:
            ways = range(max(map(len, one.moves)))
            yield _choice(f"c_expr {{ PICK_{n}_{k} }} -> c_code {{ now.n{n} = target({n}, {k}); }}" for k in ways)


def _choice(options: Iterator[str]) -> str:
    options = list(options)
    if len(options) == 1 and "c_expr" not in options[0]:
        return f"    {options[0]};"
    return "    if " + " ".join(f":: {option}" for option in options) + " fi;"


def _rates(plan: Plan, level: Level) -> list[tuple[int, int]]:
    """Rates for all kinds of the gates near a level, strip by strip."""
    kinds = [range(max(plan.actors[actor].kinds) + 1) for actor in level.near]
    return [level.rate(some, strip) for some in product(*kinds) for strip in range(max(level.strips) + 1)]


def _tables(plan: Plan) -> Iterator[str]:
    yield from _rows(plan)
    yield from _flow(plan)
    yield from _deciding(plan)
    yield from _acting(plan)


def _array(name: str, numbers: Sequence[int]) -> str:
    return f"static const int {name}[] = {{ {', '.join(map(str, numbers)) or 0} }};"


def _switch(head: str, cases: Sequence[str]) -> Iterator[str]:
    yield f"static int {head} {{ switch (k) {{"
    yield from (f"case {n}: return {case};" for n, case in enumerate(cases))
    yield "} return 0; }"


def _rows(plan: Plan) -> Iterator[str]:
    """Kleene's logic on sets of values (1 false, 2 unknown, 4 true), from its own table."""
    yield _array("all_of", [_both(one, two) for one in range(8) for two in range(8)])
    yield _array("turned_round", [sum(1 << (2 - bit) for bit in range(3) if one >> bit & 1) for one in range(8)])
    for n, level in enumerate(plan.levels):
        yield _array(f"piece_low{n}", level.pieces)
        yield f"static int piece{n}(int v) {{ int k = {len(level.pieces) - 1}; "
        yield f"while (piece_low{n}[k] > v) k--; return k; }}"
    state = [f"now.d{n}" for n in range(len(plan.deciders))] + [f"now.a{n}" for n in range(len(plan.actors))]
    places = ", ".join(f"int p{n}" for n in range(len(plan.levels))) or "void"
    given = ", ".join(f"p{n}" for n in range(len(plan.levels)))
    for n, row in enumerate(plan.rows):
        match row:
            case p.Known(mask):
                value = str(mask)
            case p.ByPiece(level, masks):
                yield _array(f"mask{n}", masks)
                value = f"mask{n}[p{level}]"
            case p.Read(level, masks, sender):
                yield _array(f"mask{n}", masks)
                value = f"(now.m{sender} ? 2 : mask{n}[p{level}])"
            case p.ByState(automaton, masks):
                yield _array(f"mask{n}", masks)
                value = f"mask{n}[{state[automaton]}]"
            case p.Both(left, right):
                value = f"all_of[row{left}({given}) * 8 + row{right}({given})]"
            case p.Either(left, right):
                turned = [f"turned_round[row{one}({given})]" for one in (left, right)]
                value = f"turned_round[all_of[{turned[0]} * 8 + {turned[1]}]]"
            case p.Not(inner):
                value = f"turned_round[row{inner}({given})]"
            case p.Delayed(inner, automaton, masks):
                yield _array(f"mask{n}", masks or (2,))
                done = f"mask{n}[{state[automaton]}]" if automaton >= 0 else "2"
                value = f"delayed(row{inner}({given}), {done})"
        if n == 0:
            yield "static int delayed(int m, int done) { if (done == 1 || !(m & 4)) return m;"
            yield "return (m & 3) | 1 | (done == 2 ? 4 : 0); }"
        yield f"static int row{n}({places}) {{ return {value}; }}"
    here = ", ".join(f"piece{n}(now.v{n})" for n in range(len(plan.levels)))
    yield from _switch("row_now(int k)", [f"row{n}({here})" for n in range(len(plan.rows))])


def _both(one: int, two: int) -> int:
    found = {min(a, b) for a, b in product(range(3), repeat=2) if one >> a & 1 and two >> b & 1}
    return sum(1 << value for value in found)


def _flow(plan: Plan) -> Iterator[str]:
    """What the volumes may gain, and whether the harm may be anywhere between before and after."""
    for n, one in enumerate(plan.actors):
        yield _array(f"kinds{n}", one.kinds)
        kind = f"kinds{n}[now.a{n}]"
        if one.wire is not None:
            level, first, last = one.wire
            here = f"piece{level}(now.v{level})"
            kind = f"({here} >= {first} && {here} <= {last} ? {kind} : 0)"
        yield f"static int kind{n}(void) {{ return {kind}; }}"
    for n, level in enumerate(plan.levels):
        rates, strips = _rates(plan, level), max(level.strips) + 1
        yield _array(f"low{n}", [low for low, _ in rates])
        yield _array(f"high{n}", [high for _, high in rates])
        yield _array(f"strip{n}", level.strips)
        at = "0"
        for actor in level.near:
            at = f"({at} * {max(plan.actors[actor].kinds) + 1} + kind{actor}())"
        yield f"static int rate{n}(void) {{ return {at} * {strips} + strip{n}[piece{n}(now.v{n})]; }}"
    yield "static int gain(int k, int g) { int r;"
    yield from (f"if (k == {n}) {{ r = rate{n}(); return low{n}[r] <= g && g <= high{n}[r]; }}" for n in _each(plan))
    yield "return 0; }"
    yield "static void flow(void) {"
    for n, level in enumerate(plan.levels):
        yield f"int b{n} = now.v{n}, e{n} = b{n} + now.g{n};"
        yield f"if (e{n} < 0) e{n} = 0; if (e{n} > {level.most}) e{n} = {level.most};"
        yield f"int s{n} = piece{n}(b{n} < e{n} ? b{n} : e{n}), t{n} = piece{n}(b{n} < e{n} ? e{n} : b{n});"
    for n in _each(plan):
        yield f"for (int q{n} = s{n}; q{n} <= t{n}; q{n}++)"
    yield f"if (row{plan.harm}({', '.join(f'q{n}' for n in _each(plan))}) & 4) now.bad = 1;"
    yield from (f"now.v{n} = e{n}; now.g{n} = 0;" for n in _each(plan))
    yield "}"


def _each(plan: Plan) -> range:
    return range(len(plan.levels))


def _deciding(plan: Plan) -> Iterator[str]:
    """Which moves fit, and what is asked of the outputs in the end."""
    for n, one in enumerate(plan.deciders):
        yield f"static int move{n}(int k) {{ switch (now.d{n}) {{"
        for state, moves in enumerate(one.moves):
            yield f"case {state}:"
            for move in moves:
                fits = " && ".join(f"(row_now({row}) & {mask})" for row, mask in move.needs) or "1"
                yield f"if ({fits}) {{ if (k-- == 0) return {move.to}; }}"
            yield "break;"
        yield "} return -1; }"
    yield from _switch("target(int k, int way)", [f"move{n}(way)" for n in range(len(plan.deciders))])
    yield "static int pick(int k, int way) { return target(k, way) >= 0; }"
    yield "static void rest(void) {"
    yield from (f"now.o{n} = {output.safe};" for n, output in enumerate(plan.outputs))
    waiting = [n for n, one in enumerate(plan.deciders) if one.drives in (SEQUENCE, INTERLOCK)]
    yield from (f"now.n{n} = now.d{n};" for n in waiting)
    yield from _wishing(plan, LINK, "now.o{o} = {v};")
    yield "}"
    for n, output in enumerate(plan.outputs):
        yield _array(f"free{n}", output.free)
    yield "static void settle(void) {"
    yield f"int was_ready = now.ready, wished[{len(plan.outputs) or 1}], asked[{len(plan.outputs) or 1}];"
    yield f"static const int safe[] = {{ {', '.join(str(output.safe) for output in plan.outputs) or 0} }};"
    yield f"for (int o = 0; o < {len(plan.outputs)}; o++) wished[o] = -1;"
    yield from _wishing(plan, SEQUENCE, "wished[{o}] = wished[{o}] < 0 || wished[{o}] == {v} ? {v} : safe[{o}];")
    for n, output in enumerate(plan.outputs):
        yield f"asked[{n}] = wished[{n}] < 0 ? safe[{n}] : wished[{n}];"
        if output.free:
            free = f"free{n}[now.f{n} - 1]"
            yield f"if (now.f{n}) asked[{n}] = wished[{n}] < 0 || wished[{n}] == {free} ? {free} : safe[{n}];"
    yield from _wishing(plan, INTERLOCK, "asked[{o}] = {v};")
    yield from _ending(plan)
    yield from _wishing(plan, LINK, "asked[{o}] = {v};")
    yield from (f"now.o{n} = asked[{n}]; now.f{n} = 0;" for n in range(len(plan.outputs)))
    yield "now.ready = 1; }"


def _wishing(plan: Plan, kind: int, does: str) -> Iterator[str]:
    for n, one in enumerate(plan.deciders):
        if one.drives != kind:
            continue
        yield f"switch (now.n{n}) {{"
        for state, wishes in enumerate(one.wishes):
            if wishes:
                yield f"case {state}: " + " ".join(does.format(o=o, v=v) for o, v in wishes) + " break;"
        yield "}"


def _ending(plan: Plan) -> Iterator[str]:
    """Where each decider ends: an interlock stands until the law is ready, others are told what was not granted."""
    for n, one in enumerate(plan.deciders):
        if one.drives == INTERLOCK:
            yield f"if (!was_ready) now.n{n} = now.d{n};"
            continue
        yield f"switch (now.n{n}) {{"
        for state, wishes in enumerate(one.wishes):
            if wishes and one.turned[state] != state:
                missed = " || ".join(f"asked[{o}] != {v}" for o, v in wishes)
                yield f"case {state}: if ({missed}) now.n{n} = {one.turned[state]}; break;"
        yield "}"


def _acting(plan: Plan) -> Iterator[str]:
    """Where each gate may go by what is asked of it."""
    of = {output.actor: n for n, output in enumerate(plan.outputs)}
    for n, one in enumerate(plan.actors):
        ways = [list(each[asked]) for each in one.moves for asked in (0, 1)]
        firsts = [sum(map(len, ways[:k])) for k in range(len(ways) + 1)]
        yield _array(f"first{n}", firsts)
        yield _array(f"next{n}", [to for some in ways for to in some])
        asked = f"now.o{of[n]}" if n in of else "0"
        yield f"static int after{n}(int way) {{ int r = 2 * now.a{n} + {asked}, k = first{n}[r] + way;"
        yield f"return k < first{n}[r + 1] ? next{n}[k] : -1; }}"
    yield from _switch("next(int k, int at)", [f"after{n}(at)" for n in range(len(plan.actors))])
    yield "static int way(int k, int at) { return next(k, at) >= 0; }"
    yield "static void over(void) {"
    yield from (f"now.d{n} = now.n{n}; now.n{n} = 0;" for n in range(len(plan.deciders)))
    yield from (f"now.o{n} = 0;" for n in range(len(plan.outputs)))
    yield from (f"now.m{n} = 0;" for n in _senders(plan))
    yield "}"
