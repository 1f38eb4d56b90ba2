"""Questions about a rig shared out over processes: how they are asked, watched and stopped."""

from __future__ import annotations

import os
import signal
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing import active_children, current_process, get_context, parent_process
from threading import Thread
from time import monotonic
from types import FrameType
from typing import TYPE_CHECKING, TypeVar

from ullage.cli.speak import Misuse

if TYPE_CHECKING:
    from multiprocessing.queues import SimpleQueue
    from multiprocessing.synchronize import Event

    from ullage.plant.faults import Fault
    from ullage.verdict.advice import Advice
    from ullage.verdict.docket import Item
    from ullage.verdict.exercise import Exercised
    from ullage.verdict.properties import Property
    from ullage.verdict.verdicts import Inquiry, Tally, Verdict

T = TypeVar("T")

GRACE = 10.0
"""A process is given so long to hear that it shall end, then it is ended [s]."""

TICK = 0.2
"""How often the work of other processes is looked at, and told of [s]."""

MANY, TOGETHER = 1000, 200
"""Of more questions than this a process is given so many at once: neighbours have much in common."""

ADVICE_TIME = 60.0
"""A change that would hold one harm off is looked for so long [s]."""

LATELY = 5.0
"""How fast it goes is told of so long a time [s]."""


@dataclass(frozen=True, slots=True)
class Task:
    """What a process needs to know of the whole: the rig file as it was read, and how hard to try."""

    text: bytes
    name: str
    effort: int
    runs: int


@dataclass(slots=True)
class Work:
    """How far everything has come.

    Attributes
    ----------
    done, most : int
        Questions answered, and those that are known so far to be asked.
    tallies : dict
        How far each process has come with its question.
    found : int
        States that all of them have found since the beginning.
    lately : deque of (float, int)
        When how many had been found [s of a clock], of the last `LATELY`.
    """

    done: int = 0
    most: int = 0
    tallies: dict[str, Tally] = field(default_factory=dict)
    found: int = 0
    lately: deque[tuple[float, int]] = field(default_factory=deque)

    def hear(self, name: str, tally: Tally, now: float) -> None:
        """Take in how far a process has come at a time [s of a clock]; fewer states than before are a new search."""
        before = self.tallies[name].nodes if name in self.tallies else 0
        self.found += tally.nodes - before if tally.nodes >= before else tally.nodes
        self.tallies[name] = tally
        self.lately.append((now, self.found))
        while now - self.lately[0][0] > LATELY:
            self.lately.popleft()

    @property
    def rate(self) -> float:
        """States that are found in a second, of late; 0 where too little is known."""
        if not self.lately:
            return 0.0
        (begun, before), (now, found) = self.lately[0], self.lately[-1]
        return (found - before) / (now - begun) if now - begun > TICK else 0.0

    def words(self) -> str:
        """How far it has come: ``12 of 40 questions, 31,200 states (1,022 open), 84,000/s``."""
        nodes, waiting, runs, changes = (
            sum(getattr(t, of) for t in self.tallies.values()) for of in ("nodes", "waiting", "runs", "changes")
        )
        told = [f"{self.done} of {self.most} questions"] if self.most else ["what depends on what"]
        if nodes:
            told.append(f"{nodes:,} states ({waiting:,} open)" + (f", {self.rate:,.0f}/s" if self.rate else ""))
        if runs:
            told.append(f"{runs} runs tried")
        if changes:
            told.append(f"{changes} changes tried")
        return ", ".join(told)


Certificates = list[list[str]]
"""Certificates of one question, each as lines."""

Watch = Callable[[Work], None]
"""Told how far the work has come, every `TICK` or so."""


class Stop:
    """Whether a person has asked to stop: by the first interrupt; the second one ends all at once."""

    def __init__(self) -> None:
        self.asked = False

    @contextmanager
    def heard(self) -> Iterator[Stop]:
        """Listen to interrupts meanwhile."""
        before = signal.signal(signal.SIGINT, self._hear)
        try:
            yield self
        finally:
            signal.signal(signal.SIGINT, before)

    def _hear(self, number: int, frame: FrameType | None) -> None:
        if self.asked:
            raise KeyboardInterrupt
        self.asked = True


class Alone:
    """All questions one after the other in this process.

    Parameters
    ----------
    task : Task
    stop : Stop
    watch : callable
    """

    def __init__(self, task: Task, stop: Stop, watch: Watch) -> None:
        self.stop, self.watch = stop, watch
        self.work = Work()
        self.inquiry = _inquiry(task, self._watched)
        self._told = 0.0

    def concerned(self, properties: Sequence[Property], faults: Sequence[Fault]) -> Iterator[frozenset[Fault]]:
        """Of each property the faults that could matter to it; all of them when stopped."""
        for asked in properties:
            yield frozenset(faults) if self.stop.asked else self.inquiry.concerned(asked, faults)

    def judge(self, items: Sequence[Item]) -> Iterator[Verdict]:
        """Verdicts, until stopped."""
        self.work.most += len(items)
        for item in items:
            if self.stop.asked:
                return
            yield self.inquiry.judge(item.asked, item.faults, item.hopeless, item.brief)
            self.work.done += 1

    def advised(self, items: Sequence[Item]) -> Iterator[tuple[Item, Advice]]:
        """The changes that would hold things off, until stopped."""
        self.work.most += len(items)
        for item in items:
            advice = None if self.stop.asked else _advice(self.inquiry, item)
            if advice is not None:
                yield item, advice
            self.work.done += 1

    def certified(self, items: Sequence[Item]) -> Iterator[Certificates | None]:
        """Certificates of what is PROVED, in order; None of what was not reached."""
        self.work.most += len(items)
        for item in items:
            yield None if self.stop.asked else self.inquiry.certify(item.asked, item.faults)
            self.work.done += 1

    def exercised(self, causes: Sequence[tuple[Fault, ...]]) -> Iterator[Exercised | None]:
        """What comes of an exercise with each set of faults, in order; None of what was not reached."""
        self.work.most += len(causes)
        for faults in causes:
            yield None if self.stop.asked else self.inquiry.exercise(faults)
            self.work.done += 1
            self.watch(self.work)

    def close(self) -> None:
        """Nothing is left open."""

    def _watched(self, tally: Tally) -> bool:
        now = monotonic()
        if now - self._told > TICK:
            self._told = now
            self.work.hear("", tally, now)
            self.watch(self.work)
        return not self.stop.asked


class Crew:
    """The questions shared out over several processes.

    Parameters
    ----------
    task : Task
    jobs : int
        So many processes.
    stop : Stop
    watch : callable
    """

    def __init__(self, task: Task, jobs: int, stop: Stop, watch: Watch) -> None:
        context = get_context("spawn")
        self.stop, self.watch, self.work = stop, watch, Work()
        self._news: SimpleQueue[tuple[str, Tally]] = context.SimpleQueue()
        self._halt: Event = context.Event()
        self._pool = ProcessPoolExecutor(jobs, context, _begin, (task, self._news, self._halt))

    def concerned(self, properties: Sequence[Property], faults: Sequence[Fault]) -> Iterator[frozenset[Fault]]:
        """Of each property the faults that could matter to it; all of them when stopped."""
        futures = [self._pool.submit(_concerned, asked, faults) for asked in properties]
        for _ in self._ended(futures):
            pass  # they are wanted in order
        for future in futures:
            found = _result(future)
            yield frozenset(faults) if found is None else found

    def judge(self, items: Sequence[Item]) -> Iterator[Verdict]:
        """Verdicts as they come, until stopped."""
        self.work.most += len(items)
        size = TOGETHER if len(items) > MANY else 1
        parts = [items[at : at + size] for at in range(0, len(items), size)]
        for verdicts in self._ended([self._pool.submit(_judge, part) for part in parts]):
            self.work.done += len(verdicts)
            yield from verdicts

    def advised(self, items: Sequence[Item]) -> Iterator[tuple[Item, Advice]]:
        """The changes that would hold things off, as they come, until stopped."""
        self.work.most += len(items)
        for advised in self._ended([self._pool.submit(_advised, item) for item in items]):
            self.work.done += 1
            yield advised

    def certified(self, items: Sequence[Item]) -> Iterator[Certificates | None]:
        """Certificates of what is PROVED, in order; None of what was not reached."""
        yield from self._in_order([self._pool.submit(_certified, item) for item in items])

    def exercised(self, causes: Sequence[tuple[Fault, ...]]) -> Iterator[Exercised | None]:
        """What comes of an exercise with each set of faults, in order; None of what was not reached."""
        yield from self._in_order([self._pool.submit(_exercised, faults) for faults in causes])

    def close(self) -> None:
        """End the processes."""
        self._halt.set()
        self._pool.shutdown(wait=False)
        for process in active_children():
            process.join(GRACE)
            process.terminate()

    def _ended(self, futures: Sequence[Future[T | None]]) -> Iterator[T]:
        """What the futures come to, as they end; not of those that were not reached."""
        waiting = set(futures)
        while waiting:
            ended, waiting = wait(waiting, TICK, FIRST_COMPLETED)
            if self.stop.asked and not self._halt.is_set():
                self._halt.set()  # what waits is answered with nothing, soon
            self._hear()
            yield from (found for future in ended if (found := _result(future)) is not None)

    def _in_order(self, futures: Sequence[Future[T | None]]) -> Iterator[T | None]:
        """What the futures come to, in order, when all have ended."""
        self.work.most += len(futures)
        for _ in self._ended(futures):
            self.work.done += 1
        yield from map(_result, futures)

    def _hear(self) -> None:
        """Take in what the processes tell."""
        while not self._news.empty():
            name, tally = self._news.get()
            self.work.hear(name, tally, monotonic())
        self.watch(self.work)


def _result(future: Future[T]) -> T:
    try:
        return future.result()
    except BrokenProcessPool:
        what = "a process that worked on the proof was ended from outside, perhaps for want of memory"
        raise Misuse(what, "ask again with --jobs 1") from None


# --- in the other processes --------------------------------------------------------------------------

_hand: list[Inquiry] = []
"""The one inquiry of a process."""

_halted: list[Event] = []
"""The sign that nothing more is wished of it."""


def _begin(task: Task, news: SimpleQueue[tuple[str, Tally]], halt: Event) -> None:
    """Make ready for questions."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process hears it, and says so by `halt`
    told = 0.0

    def watched(tally: Tally) -> bool:
        nonlocal told
        if monotonic() - told > TICK:
            told = monotonic()
            news.put((current_process().name, tally))
        return not halt.is_set()

    Thread(target=_end_with_the_first, daemon=True).start()
    _halted.append(halt)
    _hand.append(_inquiry(task, watched))


def _end_with_the_first() -> None:
    """End when the process that asked is gone: nobody would ever stop this one."""
    first = parent_process()
    assert first, "a process that helps was started by another"
    first.join()
    os._exit(1)


def _inquiry(task: Task, watched: Callable[[Tally], bool]) -> Inquiry:
    from ullage.control.check import examine
    from ullage.verdict.verdicts import Inquiry

    return Inquiry(task.text, examine(task.text, task.name), watched, task.effort, task.runs)


def _advice(inquiry: Inquiry, item: Item) -> Advice | None:
    """A change that would hold something off, looked for no longer than `ADVICE_TIME`."""
    end = monotonic() + ADVICE_TIME
    return inquiry.advise(item.asked, item.faults, lambda: monotonic() < end)


def _concerned(asked: Property, faults: Sequence[Fault]) -> frozenset[Fault] | None:
    return None if _halted[0].is_set() else _hand[0].concerned(asked, faults)


def _exercised(faults: tuple[Fault, ...]) -> Exercised | None:
    return None if _halted[0].is_set() else _hand[0].exercise(faults)


def _judge(items: Sequence[Item]) -> list[Verdict] | None:
    """Verdicts on some items, until stopped."""
    left = (item for item in items if not _halted[0].is_set())
    found = [_hand[0].judge(item.asked, item.faults, item.hopeless, item.brief) for item in left]
    return found or None


def _certified(item: Item) -> Certificates | None:
    return None if _halted[0].is_set() else _hand[0].certify(item.asked, item.faults)


def _advised(item: Item) -> tuple[Item, Advice] | None:
    advice = None if _halted[0].is_set() else _advice(_hand[0], item)
    return None if advice is None else (item, advice)
