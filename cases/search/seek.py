"""A search from its case to its front: coarse solids for the many, fine ones for what is printed.

Of the designs that the fine solid has judged the ratio of its figures to the coarse one's is
learned, with its scatter; those that may be in front within that scatter are judged next, until
none is left that may. Nothing that the fine solid has not judged is in the front that is told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor, Future, as_completed
from dataclasses import dataclass, field, replace
from pathlib import Path
from time import monotonic
from typing import Any

import numpy as np

from cases.base.digest import digest_of
from cases.base.faults import CaseError, Fault, RunError
from cases.case import Case
from cases.search.coarse import Outcome, Shifts, judge_alike, wall_shifts
from cases.search.code import code_hash
from cases.search.design import NAME, base_table, design_table
from cases.search.evaluate import (
    Admitted,
    BareWater,
    Hands,
    Task,
    admit,
    bare_volume,
    bare_water,
    judge_fine,
)
from cases.search.found import Found, lacks, objectives, told
from cases.search.front import knee, to_the_bend, unbeaten
from cases.search.given import SearchInput, search_given
from cases.search.loop import POPULATION, Told, generations
from cases.search.space import Number, Point, holds
from cases.search.start import bare_task
from cases.search.store import Store
from cases.search.table import BONDED
from cases.solid.given import Setting

USUAL = 6 * POPULATION
"""Designs that a search judges by coarse solids unless more are asked for."""
MOST_FINE = 16
"""Designs that it judges by fine ones at the most, in one run."""
AT_ONCE = 4
"""Of those, how many before the correction is learned again."""
COARSE_ERROR = 0.06
"""Of what a coarse solid tells, until the fine one has judged two (judgement)."""
FITS = 6
"""Interferences, at the most, that a design is judged at with its mesh and factor."""
FIT = "interference"
"""The free number that asks for neither anew."""
ALL_REFUSED = 2 * POPULATION
"""Designs after which the demands are told to contradict, where none has kept all of them."""

Tell = Callable[[str, int, int, str], None]
"""Told what is at work ("coarse", "fine", or "walls" before them), how many are done, of how many,
and the best."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Seen:
    """A design of the search."""

    point: Point
    table: Mapping[str, Any]  # as a case file states it
    coarse: Found
    fine: Found | None = None

    @property
    def found(self) -> Found:
        """By the finest solid that has judged it."""
        return self.fine or self.coarse


@dataclass(frozen=True, kw_only=True, slots=True)
class Result:
    """What a search has come to."""

    given: SearchInput
    seed: int
    seen: tuple[Seen, ...]  # in the order they were asked for
    front: tuple[Seen, ...]  # judged by the fine solid, by the first that is wanted, best first
    knee: int  # place of the knee in the front
    left: int  # designs that may be in front and the fine solid has not judged
    refused: Mapping[str, int]  # designs that can't be or keep no demand, by reason
    failed: tuple[str, ...]  # why designs could not be judged
    reused: int  # results that were in the store
    unwalled: str = ""  # why walls count for nothing in what coarse solids tell, where so
    interrupted: bool = False
    ended: bool = False  # as none of the first ``ALL_REFUSED`` keeps all demands


@dataclass
class _Progress:
    """What is gathered on the way, by the name of a point."""

    admitted: dict[tuple, Admitted] = field(default_factory=dict)
    found: dict[tuple[str, tuple], Found] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)
    reused: int = 0


class Search:
    """One search at work.

    Parameters
    ----------
    hands : Hands
    raw : mapping
        The case as its file has it.
    case : Case
        With a search.
    store : Store
    executor : concurrent.futures.Executor
    tell : callable
    """

    def __init__(
        self,
        hands: Hands,
        raw: Mapping[str, Any],
        case: Case,
        store: Store,
        executor: Executor,
        tell: Tell,
    ) -> None:
        given = search_given(case)
        assert given is not None
        self.hands, self.given, self.store = hands, given, store
        self.executor, self.tell = executor, tell
        self.path = Path(case.source_path)
        self.bare = bare_task(raw, self.path.absolute())  # workers start elsewhere
        self.base = base_table(given, raw["design"])
        self.ties = tuple(tie.depth for tie in case.block.ties)
        self._bare_mm3: dict[Setting, float] = {}
        self._bare = BareWater(0.0, ())
        self._walls: Shifts | None = None
        self._unwalled = ""
        self.at = _Progress()
        self.points: dict[tuple, Point] = {}

    def run(self, *, seed: int, more: int, until: float | None) -> Result:
        """Look, then judge what may be in front.

        Parameters
        ----------
        seed : int
        more : int
            Designs to be judged beside those of the same search before; 0 goes on with it.
        until : float or None
            No new generation is begun after so long. [s]

        Raises
        ------
        CaseError
            If no design can be built, or none meets the demands that are known before a mesh.
        RunError
            If the store can't be written.
        """
        interrupted = ended = False
        try:
            self._bare = self._ask(bare_water, self.bare).result()
            begun = self._begun(seed, more)
            ended = self._look(seed, begun.start, begun.most, until, patient=more > 0)
            self._judge_front()
        except KeyboardInterrupt:
            interrupted = True
        return self._result(seed, interrupted=interrupted, ended=ended)

    def _ask(self, work: Callable[..., Any], *given: Any) -> Any:
        return self.executor.submit(work, self.hands, *given)

    def _task(self, table: Mapping[str, Any]) -> Task:
        return replace(self.bare, design=table)

    def _table(self, point: Point) -> dict[str, Any]:
        return design_table(self.given, self.base, point, self.ties)

    def _begun(self, seed: int, more: int) -> Any:
        """How the same search was begun, or how a new one begins: with what still counts."""
        free = [[of.name, repr(of)] for of in self.given.space]
        held = replace(self.given, space=(), chosen=())
        key = digest_of([code_hash(), free, held, self.base, seed])
        begun = self.store.begun(key)
        if begun is None:
            self.store.begin(key, self._known(), more or USUAL)
        elif more:
            self.store.begin(key, begun.start, begun.most + more)
        begun = self.store.begun(key)
        assert begun is not None
        return begun

    def _known(self) -> list[Point]:
        """The best of what earlier searches found and still counts: half a generation at most."""
        kept = [of for of in self.store.results("coarse") if holds(self.given.space, of.point)]
        self.admit([of.point for of in kept])
        counts = [
            of for of in kept if self.at.admitted[tuple(of.point.values())].key == _case_key(of.key)
        ]
        told_ = [told(self.given, Found.of(of.said)) for of in counts]
        sound = [(of, it) for of, it in zip(counts, told_, strict=True) if it and it.sound]
        front = unbeaten([it.values for _, it in sound])
        return [sound[at][0].point for at in front][: POPULATION // 2]

    def _look(
        self, seed: int, start: Sequence[Point], most: int, until: float | None, patient: bool
    ) -> bool:
        """Generations of coarse solids; whether they ended as none keeps all demands."""
        began = monotonic()
        rounds = generations(
            self.given.space,
            lambda points: self.judge(points, "coarse", most),
            objectives=len(self.given.wanted),
            seed=seed, most=most, start=start, admit=self.admit, alike=self._alike,
        )  # fmt: skip
        for _ in rounds:
            if until is not None and monotonic() - began > until:
                break
            found = [of for (setting, _), of in self.at.found.items() if setting == "coarse"]
            if not patient and len(found) >= ALL_REFUSED and not _sound(self.given, found):
                return len(found) < most
        return False

    def admit(self, points: Sequence[Point]) -> list[bool]:
        """Whether each point can be built and meets what is known before any mesh.

        Raises
        ------
        CaseError
            Once ``ALL_REFUSED`` were asked and none was let pass.
        """
        names = [tuple(point.values()) for point in points]
        new = {
            name: point
            for name, point in zip(names, points, strict=True)
            if name not in self.at.admitted
        }
        asked = [
            self._ask(admit, self._task(self._table(point)), self.given, self._bare)
            for point in new.values()
        ]
        for (name, point), work in zip(new.items(), asked, strict=True):
            self.at.admitted[name] = work.result()
            self.points[name] = point
        if len(self.at.admitted) >= ALL_REFUSED and not any(
            of.key for of in self.at.admitted.values()
        ):
            raise self._all_refused()
        return [bool(self.at.admitted[name].key) for name in names]

    def _all_refused(self) -> CaseError:
        """Which demand rules out how many, with an example of each."""
        count = self.refused()
        example = {of.demand: of.text for of in self.at.admitted.values()}
        tried = len(self.at.admitted)
        faults = [
            Fault(
                f"search: {demand}",
                f"It rules out {many} of the first {tried} designs. {example[demand]}",
            )
            for demand, many in sorted(count.items(), key=lambda of: -of[1])
        ]
        return CaseError(str(self.path), faults)

    def refused(self) -> Counter[str]:
        """Designs that were not let pass, by reason."""
        return Counter(of.demand for of in self.at.admitted.values() if not of.key)

    def _alike(self, point: Point) -> list[Point]:
        """The same design at other interferences, spread evenly over all that may be."""
        numbers = [of for of in self.given.space if isinstance(of, Number) and of.name == FIT]
        if not numbers or point.get("hold") == BONDED:
            return []
        (number,) = numbers
        own = number.place(float(point[FIT]))
        places = [(own + at * number.count // FITS) % number.count for at in range(FITS)]
        return [{**point, FIT: number.value(at)} for at in dict.fromkeys(places) if at != own]

    def judge(self, points: Sequence[Point], setting: Setting, most: int) -> list[Told | None]:
        """What solids find, each kept as soon as it is there."""
        names = [tuple(point.values()) for point in points]
        new: dict[tuple, Point] = {}
        for name, point in zip(names, points, strict=True):
            said = self.store.result(self._key(name, setting))
            if said is None:
                new[name] = point
                continue
            self.at.found[setting, name] = Found.of(said)
            self.at.reused += 1
        self._say(setting, most)
        asked = self._asked(new, setting) if new else {}
        for work in as_completed(asked):
            told_ = work.result()
            kept = []
            for name, found in zip(asked[work], told_, strict=True):
                if isinstance(found, str):
                    self.at.failed.append(found)
                    continue
                kept.append((self._key(name, setting), new[name], found.said()))
                self.at.found[setting, name] = found
            self.store.keep(setting, kept)
            self._say(setting, most)
        return [told(self.given, self.at.found.get((setting, name))) for name in names]

    def _asked(
        self, new: Mapping[tuple, Point], setting: Setting
    ) -> dict[Future[list[Outcome]], list[tuple]]:
        """Tasks at work, with the points of each: designs that one coarse solid serves together."""
        if setting not in self._bare_mm3:
            self._bare_mm3[setting] = self._ask(bare_volume, self.bare, setting).result()
        bare = self._bare_mm3[setting]
        together: dict[tuple, list[tuple]] = {}
        for name, point in new.items():
            solid = tuple(of for of in point.items() if of[0] != FIT or setting == "fine")
            together.setdefault(solid, []).append(name)
        asked = {}
        for some in together.values():
            tasks = [self._task(self._table(new[name])) for name in some]
            asked[
                self._ask(judge_fine, tasks[0], bare)
                if setting == "fine"
                else self._ask(judge_alike, tasks, bare, self._wall_shifts())
            ] = some
        return asked

    def _wall_shifts(self) -> Shifts:
        """What walls do to the limit of the design to begin with; kept as a result is."""
        if self._walls is None:
            task = self._task({**self.base, "name": NAME})
            try:
                key = f"{code_hash()}{self.hands.inputs(task.case(self.hands))}-walls"
                said = self.store.result(key)
                if said is None:
                    self.tell("walls", 0, 1, "")
                    said = self._ask(wall_shifts, task).result()
                    self.store.keep("walls", [(key, {}, said)])
                self._walls = {name: tuple(of) for name, of in said.items()}
            except (RunError, CaseError) as error:
                self._walls, self._unwalled = {}, str(error)
        return self._walls

    def _key(self, name: tuple, setting: Setting) -> str:
        return f"{self.at.admitted[name].key}-{setting}"

    def _say(self, setting: Setting, most: int) -> None:
        found = [of for (at, _), of in self.at.found.items() if at == setting]
        self.tell(setting, len(found), most, _best(self.given, found))

    def _seen(self) -> list[Seen]:
        """All that coarse solids have judged, in the order it was asked for."""
        return [
            Seen(
                point=point, table=self._table(point),
                coarse=self.at.found["coarse", name], fine=self.at.found.get(("fine", name)),
            )
            for name, point in self.points.items()
            if ("coarse", name) in self.at.found
        ]  # fmt: skip

    def _judge_front(self) -> None:
        """Fine solids for what may be in front, until none is left or enough were judged."""
        judged, tried = 0, set[tuple]()
        while judged < MOST_FINE:
            may = [
                of
                for of in may_lead(self.given, self._seen())
                if tuple(of.point.values()) not in tried
            ]
            batch = [of.point for of in may[: min(AT_ONCE, MOST_FINE - judged)]]
            if not batch:
                break
            tried |= {tuple(point.values()) for point in batch}
            self.judge(batch, "fine", min(judged + len(may), MOST_FINE))
            judged += len(batch)

    def _result(self, seed: int, *, interrupted: bool, ended: bool) -> Result:
        seen = self._seen()
        front = leading(self.given, seen)
        values = [it for of in front if (it := objectives(self.given, of.found))]
        return Result(
            given=self.given, seed=seed, seen=tuple(seen), front=tuple(front),
            knee=knee(values) if values else 0, left=len(may_lead(self.given, seen)),
            refused=dict(self.refused()), failed=tuple(self.at.failed), reused=self.at.reused,
            unwalled=self._unwalled, interrupted=interrupted, ended=ended,
        )  # fmt: skip


def _case_key(key: str) -> str:
    """A key without its setting."""
    return key.rpartition("-")[0]


def _sound(given: SearchInput, found: Sequence[Found]) -> list[Found]:
    """Those that keep all demands."""
    return [of for of in found if all(lack <= 0 for lack in lacks(given, of).values())]


def _best(given: SearchInput, found: Sequence[Found]) -> str:
    """What is best so far of the first that is wanted, in words."""
    from cases.search.found import WANTED

    want = WANTED[given.wanted[0]]
    values = [value for of in _sound(given, found) if (value := want.value(of)) is not None]
    if not values:
        return ""
    return f"best {given.wanted[0]} {want.told(max(values) if want.large else min(values))}"


def leading(given: SearchInput, seen: Sequence[Seen]) -> list[Seen]:
    """The front of what the fine solid has judged, best of the first that is wanted first."""
    known = [(of, told(given, of.fine)) for of in seen if of.fine]
    sound = [(of, it.values) for of, it in known if it and it.sound]
    members = [sound[at] for at in unbeaten([values for _, values in sound])]
    return [of for of, _ in sorted(members, key=lambda member: member[1])]


def may_lead(given: SearchInput, seen: Sequence[Seen]) -> list[Seen]:
    """Designs that the fine solid has not judged and that may be in front of those it has.

    Each objective is taken at the better end of what the correction leaves open, one standard
    deviation to either side of the mean ratio of fine to coarse, and so is the limit against the
    wanted load. Those nearest to the bend are first.
    """
    pairs = [(of.coarse, of.fine) for of in seen if of.fine]
    ratios = np.array([_ratios(given, coarse, fine) for coarse, fine in pairs])
    width = len(given.wanted) + 1
    if len(pairs) < 2:
        mean = ratios[0] if len(pairs) else np.ones(width)
        off = np.full(width, COARSE_ERROR)
    else:
        mean, off = ratios.mean(axis=0), ratios.std(axis=0, ddof=1)
    led = [objectives(given, of.found) for of in leading(given, seen)]
    may: list[tuple[Seen, tuple[float, ...]]] = []
    for of in seen:
        values = objectives(given, of.coarse)
        if of.fine or values is None:
            continue
        better = of.coarse.limit * (mean[-1] + off[-1])
        rest = {**lacks(given, of.coarse), "the wanted load": 1.0 - better}
        if any(lack > 0 for lack in rest.values()):
            continue
        ends = np.array([np.multiply(values, (mean + side * off)[:-1]) for side in (-1, 1)])
        may.append((of, tuple(ends.min(axis=0))))
    best = [
        may[at]
        for at in unbeaten([values for _, values in may])
        if not any(all(np.less_equal(values, may[at][1])) for values in led if values)
    ]
    if not best:
        return []
    order = np.argsort(to_the_bend([values for _, values in best]), kind="stable")
    return [best[at][0] for at in order]


def _ratios(given: SearchInput, coarse: Found, fine: Found | None) -> list[float]:
    """Fine over coarse, of each objective and of the limit."""
    assert fine is not None
    before, after = objectives(given, coarse), objectives(given, fine)
    assert before is not None
    assert after is not None
    two = zip((*before, coarse.limit), (*after, fine.limit), strict=True)
    return [new / old if old else 1.0 for old, new in two]
