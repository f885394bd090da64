"""What stands behind the page: a case, its dials, and the answers as they come.

It knows no browser. All pages that are open look at one desk and are told when it changes.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from cases.base.faults import CaseError, Fault, RunError
from cases.base.progress import ENDED
from cases.base.subject import Usual
from cases.base.toml import load_toml
from cases.block.drawn import draw_all
from cases.bores.given import every_bore, firing
from cases.dials.dial import Dial, Value, dials_of, movable
from cases.dials.plan import Mark, Ray, Shade, ray_at
from cases.dials.save import saved_text, write_whole
from cases.dials.seat import EndedError, Seat, warm
from cases.dials.state import Setting, State, read_state, write_state
from cases.dials.turn import dial_of, moved_of, only, turned
from cases.life.given import life_given
from cases.read import case_of
from cases.report.rated import inputs_hash
from cases.run import plan_of
from cases.search.code import code_hash
from cases.solid.given import Setting as Fineness
from cases.solid.given import with_solid
from geometry.clock import clock_of
from geometry.drawing import view_of
from geometry.refusals import SectionError

if TYPE_CHECKING:
    from cases.case import Case
    from cases.dials.answer import Colours, Judged, Quick
    from cases.dials.first import First
    from geometry.drawing import View
    from geometry.faces import Outline
    from geometry.section import DeckSection

Found = TypeVar("Found")

REST = 0.8
"""How long no dial moves before its setting is judged. [s]."""
NEW = "insert"
"""Name of the design of a case that has none with an insert."""
NOW, START = "now", "as it started"
MOST_ANSWERS = 24
"""Answers that are kept beside the case."""
Way = Literal["fine solid", "coarse solid with other fits", "coarse solid"]
"""How a setting is judged."""
WAYS: tuple[Way, ...] = ("fine solid", "coarse solid with other fits", "coarse solid")
"""The one that tells most first."""
FINE, WITH_FITS, COARSE = WAYS
FINENESS: Mapping[Way, Fineness] = {FINE: "fine", WITH_FITS: "coarse", COARSE: "coarse"}
MOST_KEYS = 500
"""Settings whose keys are kept at hand."""


@dataclass(frozen=True, eq=False, slots=True)
class Drawn:
    """A setting, read and drawn."""

    raw: Mapping[str, Any]
    case: Case  # with that design alone
    section: DeckSection
    outline: Outline
    view: View
    key: str  # hash of all that it is solved from

    @property
    def bore(self) -> int:
        """That fires."""
        return self.case.block.firing_bore


class Desk:
    """A case and its dials.

    Parameters
    ----------
    path : Path
        Of the case file.

    Attributes
    ----------
    refused : str
        Why the file can't be read as it is; the last good one is shown. Empty where it can.
    faults : mapping of str to str
        What is wrong with where the dials stand, by the dial; "" of none of them.
    drawn : Drawn or None
        The last setting that could be drawn.
    quick : Quick or None
        Of it, or of one before where ``quick_old``.
    colours : Colours or None
        Of the quick look that is shown, as soon as they are there.
    answers : dict of str to Judged
    firsts : dict of str to First
        Whether the wanted load is carried, by the key of a setting.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.refused = ""
        self.text = ""
        self.raw: Mapping[str, Any] = {}
        self.case: Case | None = None
        self.dials: Sequence[Dial] = ()
        self.state = State(now=Setting(NEW))
        self.faults: Mapping[str, str] = {}
        self.failed = ""
        self.drawn: Drawn | None = None
        self.quick: Quick | None = None
        self.quick_old = True
        self.colours: Colours | None = None
        self.shown: Judged | None = None  # the last verdict, of another setting where it is old
        self.answers: dict[str, Judged] = {}
        self.firsts: dict[str, First] = {}
        self.clock: float | None = None  # that was pointed at
        self.ray = Ray(0.0)
        self.saying = ""  # what is at work
        self.share = 0.0  # of it that is done
        self._keys: dict[str, str] = {}
        self._worst: dict[str, int] = {}  # bore of each design, where the file states none
        self._listeners: list[Callable[[], None]] = []
        self._at_work: set[Seat] = set()
        self._quick_busy = asyncio.Lock()
        self._draw_busy = asyncio.Lock()
        self._write_busy = asyncio.Lock()
        self._turn = 0
        self._tasks: set[asyncio.Task[None]] = set()
        self.look_up()
        wet = self.case is not None and is_wet(self.case)
        self._looking, self._weighing = Seat(), Seat(spare=True, ready=partial(warm, wet))
        judging, fitting = (Seat(ready=partial(warm, wet, behind=True)) for _ in range(2))
        self._first_busy = asyncio.Lock()
        self._looking.stand_by()
        self._seats = ((asyncio.Lock(), judging), (asyncio.Lock(), fitting))

    # what is open

    def look_up(self) -> None:
        """Read the file and what was kept of it; a wrong one leaves the last good."""
        kept = read_state(self.path)
        self.refused = ""
        try:
            raw = load_toml(self.path)
            self.case = case_of(raw, self.path)
            self.raw, self.text = raw, self.path.read_text(encoding="utf-8-sig")
        except CaseError as error:
            self.refused = str(error)
            if not self._open_good(kept):
                return
        names = movable(self.raw) or [NEW]
        now = kept.now if kept and kept.now.design in names else Setting(names[-1])
        self.state = replace(kept or State(now=now), now=now, good=self.text)
        self._read_dials()
        self.answers = _read_answers(self.path)

    def _open_good(self, kept: State | None) -> bool:
        """Take the last text that could be read, where one was kept or is open."""
        import tomllib

        if self.case is not None:
            return True
        with suppress(ValueError, CaseError):
            if kept and kept.good:
                raw = tomllib.loads(kept.good)
                self.case = case_of(raw, self.path)
                self.raw, self.text = raw, kept.good
                return True
        return False

    def _read_dials(self) -> None:
        assert self.case is not None
        self.dials = dials_of(self.raw, self.case, self.state.now.design)

    def dial(self, key: str) -> Dial:
        """The dial of a key."""
        return next(of for of in self.dials if of.key == key)

    def value(self, dial: Dial) -> Value:
        """Where a dial stands."""
        return self.state.now.values.get(dial.key, dial.value)

    @property
    def names(self) -> list[str]:
        """Designs that can be moved."""
        return movable(self.raw) or [NEW]

    @property
    def unsaved(self) -> bool:
        """Whether the dials stand elsewhere than in the file."""
        return bool(moved_of(self.dials, self.state.now.values)) or self.names == [NEW]

    # who looks

    def listen(self, listener: Callable[[], None]) -> None:
        """Tell a page whenever anything has changed."""
        self._listeners.append(listener)

    def unlisten(self, listener: Callable[[], None]) -> None:
        """Tell it no more."""
        if listener in self._listeners:
            self._listeners.remove(listener)

    def changed(self) -> None:
        """Tell all pages."""
        for listener in tuple(self._listeners):
            listener()

    # what is done

    def move(self, key: str, value: Value) -> None:
        """Move a dial."""
        self._to(self.state.moved(key, value))

    def undo(self) -> None:
        """Take the last step back."""
        self._to(self.state.undone())

    def choose(self, design: str) -> None:
        """Move another design of the case, as the file has it."""
        self._to(self.state.at(Setting(design)))

    def recall(self, name: str) -> None:
        """Go to one that was kept; START is the design as the file has it."""
        kept = self.state.kept.get(name)
        self._to(self.state.at(kept or Setting(self.state.now.design)))

    def keep(self, name: str) -> None:
        """Keep this under a name.

        Raises
        ------
        ValueError
            In words, where the name won't do.
        """
        if name.strip() in (NOW, START):
            raise ValueError(f"Choose another name: {name} has a meaning here.")
        self._kept(self.state.keeping(name))

    def compare(self, name: str, shown: bool) -> None:
        """Show one that was kept beside it, or not."""
        self._kept(self.state.comparing(name, shown))

    def forget(self, name: str) -> None:
        """Let one that was kept go."""
        self._kept(self.state.without(name))

    def look_at(self, clock: float) -> None:
        """Point at a clock position. [h]."""
        self.clock = clock % 12
        self._cast()
        self.changed()

    def _cast(self) -> None:
        """Look along the ray at the clock position that is looked at."""
        if self.drawn is not None:
            with suppress(SectionError):
                self.ray = ray_at(self.drawn.section, self.looked_clock())

    def _to(self, state: State) -> None:
        if state is self.state:
            return
        other = state.now.design != self.state.now.design
        self.state = state
        if other:
            self._read_dials()
        self._write()
        self.quick_old, self.failed = True, ""
        self.begin()

    def _kept(self, state: State) -> None:
        self.state = state
        self._write()
        if not self._at_work:
            self.begin()
        self.changed()

    def _write(self) -> None:
        """Keep the state; a place that can't be written is told, and all goes on."""
        try:
            write_state(self.state, self.path)
        except OSError as error:
            self.failed = f"What you do can't be kept beside the case: {error.strerror}."

    def save(self) -> None:
        """Write what was moved into the case file.

        Raises
        ------
        ValueError
            In words, where the file has been changed by someone else, or would be refused.
        OSError
        """
        if self.refused or self.path.read_text(encoding="utf-8-sig") != self.text:
            raise ValueError(
                "The file has been changed since it was read. Open it again first; what you have "
                "moved stays."
            )
        if self.faults or self.drawn is None:
            raise ValueError("It can't be built as it stands, so it is not saved.")
        design, after = self.state.now.design, self._raw(self.state.now)
        text = saved_text(self.text, self.raw, after)
        before = {of.key: of.value for of in self.dials if of.key in self.state.now.values}
        write_whole(self.path, text)
        self.state = self.state.saved(design, before)
        self._write()
        self.look_up()
        self.begin()

    # answers

    def begin(self, setting: Fineness = "coarse") -> None:
        """Find the answers to where the dials stand; those to where they stood are given up."""
        self._give_up()
        task = asyncio.get_running_loop().create_task(self._answer(self._turn, setting))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        self.changed()

    def fine(self) -> None:
        """Judge it by the fine solid."""
        if self.drawn is not None and not self.faults:
            self.begin("fine")

    def stop(self) -> None:
        """Give up what is at work."""
        self._give_up()
        self.changed()

    def _give_up(self) -> None:
        self._turn += 1
        for seat in self._at_work:
            seat.cut()
        self.saying, self.share = "", 0.0

    def look(self, work: Callable[..., Any], *args: Any) -> Any:
        """Something else done by the process that looks; waits for it.

        Raises
        ------
        Exception
            As the work raises it.
        """
        return self._looking.run(work, *args)

    def close(self) -> None:
        """End all processes."""
        self._looking.close()
        for seat in (self._weighing, *(of for _, of in self._seats)):
            seat.close()

    async def _answer(self, turn: int, setting: Fineness = "coarse") -> None:
        """Draw, look, rest, judge; what is no more wanted on the way is left."""
        if self.case is None:
            return
        if not await self._draw(turn) or self.drawn is None:
            return
        try:
            if self.quick_old:
                await self._look(turn)
            await asyncio.sleep(0 if setting == "fine" else REST)
            if turn != self._turn:
                return
            self.state = self.state.rested()
            now = self.state.now
            if setting == "fine":
                await self._judge(turn, now, NOW, FINE)
            else:
                await asyncio.gather(self._judge(turn, now, NOW, COARSE), self._beside(turn, now))
            for name in (START, *self.state.compared):
                if turn == self._turn:
                    await self._judge(turn, self.setting_of(name), name, COARSE)
        except (CaseError, RunError) as error:
            if turn == self._turn:
                self.failed = str(error)
        except EndedError:
            return
        if turn == self._turn:
            self.saying, self.share = "", 0.0
            self.changed()

    async def _draw(self, turn: int) -> bool:
        """Read and draw where the dials stand; tells whether it can be built."""
        async with self._draw_busy:
            if turn != self._turn:
                return False
            now = self.state.now
            try:
                drawn = await asyncio.to_thread(self._drawn, now)
            except CaseError as error:
                if turn == self._turn:
                    self.faults = self._by_dial(error)
                    self.changed()
                return False
            self.faults, self.drawn = {}, drawn
            if turn == self._turn:
                self._know(now, drawn)
                self.shown = self._judged(drawn.key) or self.shown
                self.changed()
                await asyncio.to_thread(self._cast)
                self.changed()
        return turn == self._turn

    def _raw(self, setting: Setting) -> dict[str, Any]:
        dials = self.dials
        if setting.design != self.state.now.design:
            assert self.case is not None
            dials = dials_of(self.raw, self.case, setting.design)
        return turned(self.raw, setting.design, dials, setting.values)

    def _drawn(self, setting: Setting) -> Drawn:
        raw = self._raw(setting)
        case = only(raw, self.path, setting.design)
        key = f"{code_hash()}{inputs_hash(case)}"
        if every_bore(case):
            if judged := self._judged(key):
                self._worst[setting.design] = judged.bore
            case = firing(case, self._worst.get(setting.design, 1))
        (drawing,) = draw_all(case, lambda name, stage: None)
        return Drawn(
            raw=raw, case=case, section=drawing.section, outline=drawing.outline,
            view=view_of(case.block), key=key,
        )  # fmt: skip

    def _by_dial(self, error: CaseError) -> dict[str, str]:
        """Faults beside the dials that they are of, or beside the one that moved last."""
        raw, design = self._raw(self.state.now), self.state.now.design
        told: dict[str, list[str]] = {}
        for fault in error.faults:
            key = dial_of(fault, raw, design, self.dials)
            last = self.state.moving
            if key is None or (last and last.split()[0] == key.split()[0]):
                key = last
            told.setdefault(key, []).append(fault.text if key else _said(fault))
        return {key: " ".join(texts) for key, texts in told.items()}

    async def _look(self, turn: int) -> None:
        """Look quickly at what is drawn; what it is coloured by comes after."""
        from cases.dials.answer import colours, quick_look

        async with self._quick_busy:
            if turn != self._turn or self.drawn is None:
                return
            drawn, design = self.drawn, self.state.now.design

            def asked(work: Callable[..., Found]) -> Found:
                return self._looking.run(work, drawn.raw, self.path, design, drawn.bore)

            self.saying = "Quick look at the section"
            self.changed()
            quick = await asyncio.to_thread(asked, quick_look)
            if turn != self._turn:
                return
            self.quick, self.quick_old, self.colours, self.saying = quick, False, None, ""
            self.changed()
            for seat in (self._weighing, self._seats[0][1]):
                await asyncio.to_thread(seat.stand_by)
            found = await asyncio.to_thread(asked, colours)
            if turn == self._turn:
                self.colours = found
                self.changed()

    async def _beside(self, turn: int, setting: Setting) -> None:
        """What goes on beside the verdict: a first answer, then other fits."""
        with suppress(RunError):  # the verdict tells
            await self._weigh(turn, setting)
        if turn == self._turn:
            await self._judge(turn, setting, NOW, WITH_FITS)

    async def _weigh(self, turn: int, setting: Setting) -> None:
        """Whether a setting carries the wanted load, where nothing has told that."""
        from cases.dials.first import first_answer

        key = await asyncio.to_thread(self.key_of, setting)
        if key in self.firsts or self._judged(key):
            return
        async with self._first_busy:
            if turn != self._turn:
                return
            self._at_work.add(self._weighing)
            self.changed()
            work = partial(
                self._weighing.run, first_answer, self._raw(setting), self.path, setting.design
            )
            try:
                first = await asyncio.to_thread(work)
            finally:
                self._at_work.discard(self._weighing)
        if len(self.firsts) > MOST_KEYS:
            self.firsts.clear()
        self.firsts[key] = first
        if turn == self._turn:
            self.changed()

    async def _judge(self, turn: int, setting: Setting, name: str, way: Way) -> None:
        """Judge a setting where that has not been done; the answer is kept."""
        from cases.dials.answer import judge

        try:
            key = await asyncio.to_thread(self.key_of, setting)
        except CaseError:
            return
        if any(f"{key} {better}" in self.answers for better in WAYS[: WAYS.index(way) + 1]):
            await self._show(turn, name, key)
            return
        if way == WITH_FITS and not (self.drawn and is_pressed(self.drawn.case)):
            return
        loop = asyncio.get_running_loop()
        raw = self._raw(setting)
        fineness, fits = FINENESS[way], way != COARSE
        shares = await asyncio.to_thread(self._shares, raw, fineness, fits)
        who = "this design" if name == NOW else name

        def tell(_design: str, stage: str) -> None:
            if stage == ENDED:
                return
            loop.call_soon_threadsafe(self._told, turn, way, f"{who}, {way}: {stage}",
                                      shares.get(stage, 0.0))  # fmt: skip

        busy, seat = self._seats[way == WITH_FITS]
        async with busy:
            if turn != self._turn:
                return
            self._at_work.add(seat)
            try:
                work = partial(
                    seat.run, judge, raw, self.path, setting.design, fineness, fits, tell=tell
                )
                judged = await asyncio.to_thread(work)
            finally:
                self._at_work.discard(seat)
        self.answers[f"{key} {way}"] = judged
        self._trim()
        async with self._write_busy:
            await asyncio.to_thread(_write_answers, self.path, dict(self.answers))
        await self._show(turn, name, key)

    async def _show(self, turn: int, name: str, key: str) -> None:
        if turn != self._turn:
            return
        if name == NOW:
            self.shown = self._judged(key)
            if self.clock is None:
                self._cast()
            if self.shown and self.drawn and self.shown.bore != self.drawn.bore:
                await self._draw(turn)
                self.quick_old = True
                await self._look(turn)
        if not self._at_work:
            self.saying, self.share = "", 0.0
        self.changed()

    def _told(self, turn: int, way: Way, what: str, share: float) -> None:
        """Say how far a judgement is; with other fits where nothing else is judged beside it."""
        judging = self._seats[0][1] in self._at_work
        if turn == self._turn and self._at_work and not (way == WITH_FITS and judging):
            self.saying, self.share = f"Judging {what}", share
            self.changed()

    def _shares(self, raw: Mapping[str, Any], fineness: Fineness, fits: bool) -> dict[str, float]:
        """What of a judgement is usually done as each stage begins."""
        case = with_solid(case_of(raw, self.path), fineness, lived=True, evidence=False, swept=fits)
        stages = in_order(plan_of(case, True, 1).each)
        whole = sum(seconds for _, seconds in stages) or 1.0
        done, shares = 0.0, {}
        for stage, seconds in stages:
            shares[stage] = done / whole
            done += seconds
        return shares

    def _trim(self) -> None:
        while len(self.answers) > MOST_ANSWERS:
            del self.answers[next(iter(self.answers))]

    def _judged(self, key: str) -> Judged | None:
        found = (self.answers.get(f"{key} {way}") for way in WAYS)
        return next(filter(None, found), None)

    def key_of(self, setting: Setting) -> str:
        """Hash of all that a setting is solved from.

        Raises
        ------
        CaseError
            If it can't be built.
        """
        if self._place(setting) not in self._keys:
            self._know(setting, self._drawn(setting))
        return self._keys[self._place(setting)]

    def _know(self, setting: Setting, drawn: Drawn) -> None:
        """Keep the key of a setting that was drawn."""
        if len(self._keys) > MOST_KEYS:
            self._keys.clear()
        self._keys[self._place(setting)] = drawn.key

    def _place(self, setting: Setting) -> str:
        """A setting of the file as it stands, by name."""
        return json.dumps([self.text, asdict(setting)], sort_keys=True)

    def setting_of(self, name: str) -> Setting:
        """A kept one, or where it started: the design of the file at the load that is wanted."""
        now = self.state.now
        if name == START:
            load = {key: of for key, of in now.values.items() if key in ("load", "bore")}
            return Setting(now.design, load)
        return now if name == NOW else self.state.kept[name]

    @property
    def judged(self) -> bool:
        """Whether the verdict that is shown is that of where the dials stand."""
        if self.drawn is None or self.faults or self.shown is None:
            return False
        return self.shown is self._judged(self.drawn.key) and self._is_drawn()

    @property
    def first(self) -> First | None:
        """The first answer to where the dials stand; None where the verdict is there, or none."""
        if self.drawn is None or self.faults or self.judged or not self._is_drawn():
            return None
        return self.firsts.get(self.drawn.key)

    @property
    def seeks_first(self) -> bool:
        """Whether it is being found whether where the dials stand carries the wanted load."""
        return self._weighing in self._at_work and not self.judged

    @property
    def seeks_fit(self) -> bool:
        """Whether other fits of where the dials stand are being solved."""
        return self._seats[1][1] in self._at_work

    def _is_drawn(self) -> bool:
        assert self.drawn is not None
        return self.drawn.raw == self._raw(self.state.now)

    def rows(self) -> list[tuple[str, Judged | None]]:
        """Where it started and what is compared, each with its verdict where there is one."""
        found: list[tuple[str, Judged | None]] = []
        for name in (START, *self.state.compared):
            key = self._keys.get(self._place(self.setting_of(name)), "")
            found.append((name, self._judged(key)))
        return found

    # the place that is looked at

    def looked_clock(self) -> float:
        """Clock position that is looked at: the worst, where none was chosen. [h]."""
        if self.clock is not None:
            return self.clock
        if self.shown is not None:
            return self.shown.clock
        return 0.0 if self.drawn is None else _first_clock(self.drawn.case)

    def around(self, what: str) -> tuple[float | None, bool]:
        """A value where it is looked at, and whether it is the judged one."""
        at = round(self.looked_clock() * 10) % 120
        if self.judged and self.shown is not None and what in self.shown.around:
            return self.shown.around[what][at], True
        if not self.quick_old:
            for of in (self.quick, self.colours):
                if of is not None and what in of.around:
                    return of.around[what][at], False
        return None, False


def in_order(stages: Sequence[Usual]) -> list[Usual]:
    """Stages of a judgement as they come: a solid's other fits right after its limit."""
    named = [stage for stage, _ in stages]
    found = list(stages)
    if "other fits" in named and "solid rating" in named:
        fits = found.pop(named.index("other fits"))
        found.insert(named.index("solid rating") + 1, fits)
    return found


def is_wet(case: Case) -> bool:
    """Whether a case states what flows in its jacket."""
    heat = life_given(case).heat
    return heat is not None and heat.water is not None


def is_pressed(case: Case) -> bool:
    """Whether the one design of a case has a fit with an interference."""
    fits = life_given(case).fits
    return any(of.name in fits and fits[of.name].interference is not None for of in case.designs)


def _said(fault: Fault) -> str:
    return f"{fault.path}: {fault.text}" if fault.path else fault.text


def _first_clock(case: Case) -> float:
    """Of the relief cut that leaves least, where nothing has been solved yet. [h]."""
    cuts = case.block.relief_cuts
    if not cuts:
        return 0.0
    return min(cuts, key=lambda of: of.radius - of.diameter / 2).clock


def at_point(x: float, y: float) -> float:
    """Clock position of a point of the plan, seen from the firing bore. [h]."""
    return float(clock_of(x, y))


def answers_path(case: Path) -> Path:
    """Where the answers of a case are kept, beside it."""
    return case.with_name(f"{case.stem}.dials.answers.json")


def _write_answers(case: Path, answers: Mapping[str, Judged]) -> None:
    with suppress(OSError):
        told = {key: asdict(of) for key, of in answers.items()}
        write_whole(answers_path(case), json.dumps(told) + "\n")


def _read_answers(case: Path) -> dict[str, Judged]:
    """Answers that were kept; none that another version of the program gave."""
    from cases.dials.answer import Fit, Judged

    try:
        raw = json.loads(answers_path(case).read_text(encoding="utf-8"))
        return {
            key: Judged(
                **{
                    **of,
                    "marks": tuple(Mark(**mark) for mark in of["marks"]),
                    "flags": tuple(of["flags"]),
                    "around": {what: tuple(row) for what, row in of["around"].items()},
                    "place": of["place"] and tuple(of["place"]),
                    "down": of["down"] and Shade(**of["down"]),
                    "fit": of["fit"] and Fit(**of["fit"]),
                }
            )
            for key, of in raw.items()
            if key.startswith(code_hash())
        }
    except (OSError, ValueError, LookupError, TypeError, AttributeError):
        return {}
