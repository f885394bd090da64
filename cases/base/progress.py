"""How far a run is, and what is left of it: one line on a terminal, plain lines elsewhere.

What is left follows from what stages usually take, and from how long those that ended took here.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from dataclasses import dataclass, field
from threading import Event, RLock, Thread
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Task
    from rich.text import Text

    from cases.base.subject import Progress, Usual

ENDED = "done"
"""What is announced, as a stage, where a design has come to its end."""
TOLD_FROM = 0.1
"""Share of a run after which it is told what is left."""
SILENT_AT_FIRST, SILENT_FOR = 0.5, 2.5
"""How long a run that writes plain lines says nothing, before the first and between them: with what
is imported before the first within a second, and with what a loaded machine adds never more than 3.
[s]."""
_AS_USUAL = 0.05  # weight of the usual pace beside what ended, as a share of the run
_QUICK = (
    0.25  # of what a design usually takes, one with nothing fitted (bundled case, coarse: 0.22)
)
_OVERRUN = 0.05  # what is left of a stage that takes too long, as a share of its usual time


@dataclass(frozen=True)
class RunPlan:
    """What a run announces, with what each stage usually takes. [s]."""

    before: Sequence[str] = ()  # stages too short to count
    designs: Sequence[str] = ()
    each: Sequence[Usual] = ()  # of every design
    once: Sequence[Usual] = ()  # of all together, after them
    at_once: int = 1  # designs at work side by side
    quick: Collection[str] = ()  # those of them in which nothing is fitted

    def of(self, name: str) -> Sequence[Usual]:
        """The stages of a design."""
        share = _QUICK if name in self.quick else 1.0
        return [(stage, share * seconds) for stage, seconds in self.each]

    def waiting(self, begun: Collection[str]) -> list[float]:
        """What designs take that have not begun, the longest first, as they are begun. [s]."""
        waits = (_sum(self.of(name)) for name in self.designs if name not in begun)
        return sorted(waits, reverse=True)

    def usual(self) -> float:
        """The whole of it on the clock of the wall. [s]."""
        return _last_end([], self.waiting(()), self.at_once) + _sum(self.once)


@dataclass
class RunClock:
    """How far a run is.

    Parameters
    ----------
    plan : RunPlan
    start : float
        When it began. [s]
    """

    plan: RunPlan
    start: float
    saying: str = ""  # who and what began last
    _share: float = 0.0
    _work: dict[str, _Stages] = field(default_factory=dict)  # by design
    _once: _Stages = field(init=False)

    def __post_init__(self) -> None:
        """What comes last has not begun."""
        self._once = _Stages(self.plan.once)

    def begin(self, name: str, stage: str, now: float) -> None:
        """Hear that a stage of a design, or of all of them, begins.

        Parameters
        ----------
        name, stage : str
            As they are announced.
        now : float
            [s]
        """
        self.saying = f"{name}: {stage}"
        if stage in self.plan.before:
            return
        if any(stage == known for known, _ in self.plan.once):
            self._once.begin(stage, now)
            return
        work = self._work.setdefault(name, _Stages(self.plan.of(name)))
        if stage == ENDED:
            work.end(now)
        else:
            work.begin(stage, now)

    def share(self, now: float) -> float:
        """The share of the run that is done: it never falls.

        Parameters
        ----------
        now : float
            [s]
        """
        self._share = max(self._share, 1 - self._usual_left(now) / self.plan.usual())
        return self._share

    def left(self, now: float) -> float:
        """How long it will take yet, at the pace of what has ended. [s].

        Parameters
        ----------
        now : float
            [s]
        """
        return self._pace() * self._usual_left(now)

    def words(self, now: float) -> str:
        """What is left, in words; nothing while too little is done to tell.

        Parameters
        ----------
        now : float
            [s]
        """
        return time_left(self.left(now)) if self.share(now) >= TOLD_FROM else ""

    def _pace(self) -> float:
        """Seconds that an usual second takes here."""
        ended = [*self._work.values(), self._once]
        prior = _AS_USUAL * self.plan.usual()
        took = sum(work.took for work in ended) + prior
        return took / (sum(work.usually for work in ended) + prior)

    def _usual_left(self, now: float) -> float:
        pace = self._pace()
        once = self._once.left(now, pace)
        if self._once.begun:
            return once
        begun = [work.left(now, pace) for work in self._work.values()]
        waiting = self.plan.waiting(self._work)
        return _last_end([left for left in begun if left], waiting, self.plan.at_once) + once


class _Stages:
    """Stages that come one after another, of which some may be left out."""

    def __init__(self, stages: Sequence[Usual]) -> None:
        self.stages = stages
        self.at = -1
        self.since = self.took = self.usually = 0.0  # [s]

    @property
    def begun(self) -> bool:
        return self.at >= 0

    @property
    def at_work(self) -> bool:
        return 0 <= self.at < len(self.stages)

    def begin(self, stage: str, now: float) -> None:
        where = [at for at, (name, _) in enumerate(self.stages) if name == stage]
        self._go_to(next((at for at in where if at > self.at), self.at), now)

    def end(self, now: float) -> None:
        self._go_to(len(self.stages), now)

    def _go_to(self, at: int, now: float) -> None:
        if self.at_work:
            self.took += now - self.since
            self.usually += self.stages[self.at][1]
        self.at, self.since = at, now

    def left(self, now: float, pace: float) -> float:
        """Usual seconds to its end."""
        if not self.at_work:
            return 0.0 if self.begun else _sum(self.stages)
        usual = self.stages[self.at][1]
        rest = max(usual - (now - self.since) / pace, _OVERRUN * usual)
        return rest + _sum(self.stages[self.at + 1 :])


def _sum(stages: Sequence[Usual]) -> float:
    return sum(seconds for _, seconds in stages)


def _last_end(at_work: Sequence[float], waiting: Sequence[float], places: int) -> float:
    """When the last task ends, each of those that wait beginning where one ends first."""
    ends = sorted([*at_work, *[0.0] * (places - len(at_work))])
    for task in waiting:
        ends = sorted([ends[0] + task, *ends[1:]])
    return ends[-1]


def time_left(seconds: float) -> str:
    """What is left, in words.

    Parameters
    ----------
    seconds : float

    Examples
    --------
    >>> time_left(2.0), time_left(43.0), time_left(80.0), time_left(200.0)
    ('about 5 s left', 'about 45 s left', 'about 1.5 min left', 'about 3 min left')
    """
    if seconds < 60:
        return f"about {max(5 * round(seconds / 5), 5)} s left"
    halves = round(seconds / 30) / 2
    return f"about {halves if halves < 3 else round(seconds / 60):g} min left"


@contextmanager
def progress(plan: RunPlan) -> Iterator[Progress]:
    """Tell how far a run is: design and stage at work, share done, what is left.

    On a terminal it is one line, gone at the end; elsewhere plain lines, where a run is silent for
    ``SILENT_AT_FIRST``, then each ``SILENT_FOR``. Both go to the stream for errors.
    """
    lock, clock = RLock(), RunClock(plan, monotonic())

    def tell(name: str, stage: str) -> None:
        with lock:
            clock.begin(name, stage, monotonic())

    def told() -> str:
        with lock:
            return _told(clock)

    with _line(told) if sys.stderr.isatty() else _plain_lines(told):
        yield tell


def begun(words: str) -> AbstractContextManager[None]:
    """Tell what is at work where no plan is known, by plain lines while it takes long.

    Parameters
    ----------
    words : str
        Such as "reading case.toml".
    """
    return _plain_lines(lambda: words)


@contextmanager
def _line(told: Callable[[], str]) -> Iterator[None]:
    from rich.console import Console
    from rich.progress import Progress, ProgressColumn, SpinnerColumn, TimeElapsedColumn
    from rich.text import Text

    class Done(ProgressColumn):
        """Share, who is at what, and what is left."""

        def render(self, task: Task) -> Text:
            return Text(told())

    with Progress(
        SpinnerColumn(),
        TimeElapsedColumn(),
        Done(),
        console=Console(stderr=True),
        transient=True,
    ) as line:
        line.add_task("", total=None)
        yield


@contextmanager
def _plain_lines(told: Callable[[], str]) -> Iterator[None]:
    stream, ended = sys.stderr, Event()

    def say() -> None:
        silent = SILENT_AT_FIRST
        while not ended.wait(silent):
            silent = SILENT_FOR
            with suppress(OSError):  # whoever reads it has seen enough
                print(told(), file=stream, flush=True)

    teller = Thread(target=say, daemon=True)
    teller.start()
    try:
        yield
    finally:
        ended.set()
        teller.join()


def _told(clock: RunClock) -> str:
    now = monotonic()
    parts = f"{clock.share(now):4.0%}", clock.saying, clock.words(now)
    return "  ".join(part for part in parts if part)
