"""The page: pictures and verdict at the left, dials at the right."""

from __future__ import annotations

import asyncio
import contextlib
import webbrowser
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Response
from fastapi.responses import FileResponse
from nicegui import background_tasks, ui
from nicegui.events import MouseEventArguments

from cases.base.cautions import CAUTIONS
from cases.dials.desk import NOW, START, Desk, at_point
from cases.dials.dial import Dial, Value
from cases.dials.plan import legend_html, plan_svg, wall_size, wall_svg
from cases.dials.runs import Run
from cases.dials.serve import file_within
from cases.dials.story import story
from cases.dials.words import (
    BARE_UNSOLVED,
    CLASSES,
    FIRST,
    JUDGED,
    QUICK,
    RANKED,
    SEEKS_FIRST,
    fit_told,
    rows_html,
    scale_html,
    share_words,
)
from cases.making.make import folder_of
from geometry.clock import format_clock

if TYPE_CHECKING:
    from cases.dials.answer import Fit
    from cases.dials.first import First

PATIENCE = 30.0
"""How long a page and its server wait for each other, on a machine that is busy solving. [s]."""
RESULTS = "/results"
"""Address of the results of the case."""
PARTS, STRESS, TEMPERATURE = "parts", "pull", "temperature"
STYLE = Path(__file__).with_name("page.css")


def app_of(desk: Desk, address: str) -> FastAPI:
    """The page of a desk as an application.

    Parameters
    ----------
    desk : Desk
    address : str
        To be opened in a browser as soon as it answers; empty for none.
    """
    run = Run(desk.path)

    @contextlib.asynccontextmanager
    async def living(_: FastAPI) -> AsyncIterator[None]:
        desk.begin()
        if address:
            webbrowser.open_new_tab(address)
        yield
        run.end()
        desk.close()

    made = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, lifespan=living)

    @made.get(f"{RESULTS}/{{name:path}}")
    def result(name: str) -> Response:
        path = file_within(run.results, name)
        return FileResponse(path) if path else Response("There is no such file.", 404)

    @ui.page("/", title=f"{desk.path.name}: hoopclock")
    def opened() -> None:
        _Page(desk, run)

    ui.run_with(
        made, show_welcome_message=False, tailwind=False, dark=False, reconnect_timeout=PATIENCE
    )
    return made


class _Page:
    """One browser window on the desk."""

    def __init__(self, desk: Desk, run: Run) -> None:
        self.desk, self.run = desk, run
        self.shows = PARTS
        self.rebuilt: tuple[str, str] = ("", "")
        self.dials: list[_DialRow] = []
        self.kept_shown: Any = None
        ui.add_css(STYLE.read_text(encoding="utf-8"))
        ui.colors(primary="#005a8c", accent="#5B3A8C")
        self._build()
        self.refresh()
        client = ui.context.client
        desk.listen(self.refresh)
        client.on_delete(lambda: desk.unlisten(self.refresh))

    # what stands on it

    def _build(self) -> None:
        desk = self.desk
        with ui.element("header").classes("bar"):
            with ui.element("div").classes("grow"):
                self.title = _heading(1, "")
                self.file = ui.label().classes("soft")
            self.undo = _button("Undo", desk.undo)
            self.save = _button("Save", self._save)
            self.report = _button("Report", self._report)
            self.make = _button("Make", self._make)
        self._build_run()
        self.refused = ui.element("div").classes("refused").props('role="alert"')
        with self.refused:
            self.why_refused = ui.element("pre")
            with self.why_refused:
                self.refused_text = ui.label()
            self.reopen = _button("Open the file again", self._reopen)
        self.first = ui.element("section").classes("first").props('aria-live="polite"')
        with self.first:
            self.first_words = ui.label().style("font-weight: 700")
            self.first_more = ui.label()
            self.first_by = ui.label().classes("soft")
        self.verdict = ui.element("section").classes("verdict").props('aria-live="polite"')
        with self.verdict:
            self.sentence = ui.label().style("font-weight: 700")
            self.by = ui.label().classes("soft")
            self.flags = ui.label().classes("wrong")
            self.fit = ui.label()
        with ui.element("div").classes("bar"):
            self.saying = ui.label().classes("soft grow").props('role="status"')
            self.stop = _button("Stop", desk.stop)
            self.fine = _button("Judge by the fine solid", desk.fine)
        self.failed = ui.label().classes("wrong").props('role="alert"')
        self.rows = ui.html("", sanitize=False).classes("rows").props('tabindex="0"')
        with ui.element("main").classes("desk"):
            with ui.element("div").classes("left see"):
                self._build_plan()
            with ui.element("div").classes("right"):
                self._build_dials()
            with ui.element("div").classes("left more"):
                self._build_more()
        for caution in CAUTIONS:
            ui.label(caution).classes("soft")

    def _build_plan(self) -> None:
        with ui.element("div").classes("bar"):
            _heading(2, "From above").classes("grow")
            self.colour = ui.toggle(
                {PARTS: "parts", STRESS: "pull", TEMPERATURE: "temperature"}, value=PARTS,
                on_change=lambda event: self._colour(event.value),
            ).props('dense no-caps aria-label="what the colours of the plan show"')  # fmt: skip
        with ui.element("div").classes("pictures"):
            with ui.element("div"):
                self.plan: Any = (
                    ui.interactive_image(
                        size=self._plan_size(), on_mouse=self._pointed, sanitize=False
                    )
                    .style("width: 100%")
                    .props('role="img"')
                )
                self.scale = ui.html("", sanitize=False).classes("soft")
            with ui.element("div").classes("down"):
                self.down_title = ui.label().classes("soft")
                self.down: Any = ui.interactive_image(size=self._down_size(), sanitize=False)
                self.down.style("width: 100%").props('role="img"')
                self.down_scale = ui.html("", sanitize=False).classes("soft")

    def _build_more(self) -> None:
        self.marks = ui.html("", sanitize=False).props('aria-label="numbered places"')
        self.quick = ui.label()
        self.quick_by = ui.label(QUICK).classes("soft")
        self.fit_box = ui.element("div").style("width: 100%")
        with self.fit_box:
            _heading(2, "What another fit carries")
            self.fits: Any = ui.image().style("width: 100%; max-width: 34rem").props("no-spinner")
            self.fit_note = ui.label(BARE_UNSOLVED).classes("soft")
        _heading(2, "Point at a place")
        with ui.element("div").classes("dial"):
            ui.label("Clock position, 12 is up; or point at the plan").classes("name")
            with ui.element("div").classes("set"):
                self.clock = _Range("clock position that is looked at", 0, 11.9, 0.1, self._look)
                self.at_clock = ui.label().classes("typed").style("font-weight: 700")
        self.looked = ui.html("", sanitize=False).props('role="status"')
        with ui.element("div").classes("bar"):
            _heading(2, "Why does a cut crack?").classes("grow")
            self.tell_story = _button("Show in four pictures", self._story)
        self.story = ui.element("div").classes("story")

    def _build_run(self) -> None:
        self.run_box = ui.element("section").classes("run").props('aria-live="polite"')
        with self.run_box:
            with ui.element("div").classes("bar"):
                self.run_says = ui.label().classes("grow")
                self.run_link = ui.link("Open it", RESULTS, new_tab=True)
            said = ui.expansion("All that it said").props("dense").style("width: 100%")
            with said, ui.element("pre"):
                self.run_text = ui.label().style("white-space: pre-wrap")

    def _build_dials(self) -> None:
        _heading(2, "Dials")
        self.design = (
            ui.select(self.desk.names, label="Design that is moved", on_change=self._design)
            .classes("dial")
            .props('dense outlined options-dense aria-label="design that is moved"')
        )
        self.place = ui.element("div").style("width: 100%")
        self.wrong = ui.label().classes("wrong").props('role="alert"')
        with ui.element("div").classes("bar"):
            self.name = ui.input(label="Keep this as").classes("grow").props("dense outlined")
            self.name.on("keydown.enter", self._keep)
            _button("Keep", self._keep)
        self.name_wrong = ui.label().classes("wrong").props('role="alert"')
        self.kept = ui.element("div").style("width: 100%")

    # what changes on it

    def refresh(self) -> None:
        """Show where the desk stands."""
        desk = self.desk
        case = desk.case
        self.title.set_text(case.name if case else desk.path.name)
        self.file.set_text(
            f"{desk.path.name}{': moved since it was saved' if case and desk.unsaved else ''}"
        )
        self.refused.set_visibility(bool(desk.refused))
        last = "\n\nThe last good one is shown below." if case and desk.refused else ""
        self.refused_text.set_text(f"{desk.refused}{last}")
        _enable(self.undo, bool(desk.state.past))
        savable = case is not None and desk.unsaved and not desk.faults and not desk.refused
        _enable(self.save, savable)
        settled = case is not None and not desk.unsaved and not self.run.at_work
        for button in (self.report, self.make):
            _enable(button, settled and not desk.refused)
        self._show_verdict()
        if case is None:
            return
        self._show_pictures()
        self._show_place()
        self._show_dials()
        self._show_kept()
        self._show_run()

    def _show_verdict(self) -> None:
        desk, shown = self.desk, self.desk.shown
        judged = desk.judged
        if shown is None:
            self.sentence.set_text("Not judged yet." if desk.case else "")
            self.by.set_text("")
            self.flags.set_text("")
            self.fit.set_text("")
            self.fit_box.set_visibility(False)
        else:
            self.sentence.set_text(shown.sentence)
            by = JUDGED.format(setting=shown.setting)
            if shown.ranked:
                by += RANKED.format(bore=shown.bore)
            self.by.set_text(by if judged else f"Of before the last move, not of this. {by}")
            self.flags.set_text(" ".join(shown.flags))
            self._show_fit(shown.fit)
        self._show_first(desk.first)
        kind = CLASSES.get(shown.status, "") if shown else ""
        self.verdict.classes(replace=f"verdict {kind}{'' if judged else ' old'}")
        self.saying.set_text(f"{desk.saying}{share_words(desk.share)}" if desk.saying else "")
        self.stop.set_visibility(bool(desk.saying))
        fine = judged and shown is not None and shown.setting == "coarse" and not desk.saying
        self.fine.set_visibility(fine)
        self.failed.set_text(desk.failed)
        if desk.case is not None:
            rows = [(NOW, shown, not judged), *((name, of, False) for name, of in desk.rows())]
            self.rows.set_content(rows_html(rows, desk.case.spoken))

    def _show_first(self, first: First | None) -> None:
        self.first.set_visibility(first is not None or self.desk.seeks_first)
        kind = CLASSES[first.status] if first else ""
        self.first.classes(kind, remove=" ".join(CLASSES.values()))
        self.first_words.set_text(first.words if first else SEEKS_FIRST)
        self.first_more.set_text(first.more if first else "")
        self.first_by.set_text(FIRST if first else "")

    def _show_fit(self, fit: Fit | None) -> None:
        seeking = self.desk.seeks_fit
        self.fit.set_text(fit_told(fit, seeking))
        self.fit_box.set_visibility(fit is not None)
        if fit is not None:
            self.fits.set_source(fit.picture)
            self.fits.props(f'alt="limit against interference: {_escaped(fit.words)}"')

    def _plan_size(self) -> tuple[float, float]:
        drawn = self.desk.drawn
        return (2 * drawn.view.half_width, 2 * drawn.view.half_height) if drawn else (155.0, 135.0)

    def _down_size(self) -> tuple[float, float]:
        drawn = self.desk.drawn
        return wall_size(drawn.section.block) if drawn else (50.0, 120.0)

    def _show_pictures(self) -> None:
        desk = self.desk
        drawn, quick, shown = desk.drawn, desk.quick, desk.shown
        if drawn is None:
            return
        spoken = drawn.case.spoken
        now = quick is not None and not desk.quick_old and not desk.faults
        shade = None
        if now and desk.colours is not None:
            coloured = desk.colours
            shade = {STRESS: coloured.stress, TEMPERATURE: coloured.temperature}.get(self.shows)
        judged = desk.judged and shown is not None
        marks = shown.marks if judged and shown else quick.marks if now and quick else ()
        for image, size in ((self.plan, self._plan_size()), (self.down, self._down_size())):
            if image.props.get("size") != size:
                image.props["size"] = size
                image.update()
        clock = desk.looked_clock()
        picture = plan_svg(
            drawn.section, drawn.outline, drawn.view, shade=shade, marks=marks, clock=clock
        )
        self.plan.set_content(_in_box(picture, self._plan_size()))
        fade = "1" if not desk.faults else "0.45"
        self.plan.style(f"opacity: {fade}")
        self.plan.props(f'aria-label="plan of the block about the bore that fires, {self.shows}"')
        self.scale.set_content(scale_html(shade, spoken) if shade else legend_html(drawn.section))
        by = "judged by the solid, at the limit" if judged else "by the quick look"
        listed = "".join(f"<li>{_escaped(mark.words)}</li>" for mark in marks)
        words = f'<span class="soft">Numbered places, {by}:</span><ol>{listed}</ol>'
        self.marks.set_content(words if marks else "")
        self.quick.set_text(quick.words if quick else "")
        self.quick.classes(replace="" if now else "old")
        down = shown.down if judged and shown and abs(shown.clock - clock) < 0.05 else None
        place = shown.place if down and shown else None
        self.down_title.set_text(
            f"At {format_clock(clock)}, deck to floor: "
            + ("worst place ringed; stress of the solid" if down else "parts; depth in mm")
        )
        picture = wall_svg(drawn.section, desk.ray.strips, shade=down, place=place)
        self.down.set_content(_in_box(picture, self._down_size()))
        self.down.props(f'aria-label="wall at {format_clock(clock)} from deck to floor"')
        self.down_scale.set_content(scale_html(down, spoken))

    def _show_place(self) -> None:
        desk = self.desk
        clock = desk.looked_clock()
        assert desk.case is not None
        self.clock.show(round(clock, 1) % 12)
        self.at_clock.set_text(format_clock(clock))
        told = desk.case.spoken.told
        wall = desk.ray.wall
        rows = [(
            "wall of the barrel at the deck",
            "something joins it here" if wall is None else told(f"{wall:.1f} mm"), "",
        )]  # fmt: skip
        for what, name, unit in (
            ("stress", "pull of the barrel", "MPa"),
            ("temperature", "hottest of the barrel", "degC"),
            ("contact", "insert presses on the barrel", "MPa"),
        ):
            value, judged = desk.around(what)
            words = "not known here yet" if value is None else told(f"{value:.1f} {unit}")
            by = "" if value is None else "judged" if judged else "quick look"
            rows.append((name, words, by))
        cells = [
            f'<tr><th scope="row">{name}</th><td>{_escaped(words)}</td>'
            f'<td class="soft">{by}</td></tr>'
            for name, words, by in rows
        ]
        self.looked.set_content(f'<table class="looked">{"".join(cells)}</table>')

    def _show_dials(self) -> None:
        desk = self.desk
        now = desk.state.now.design
        if (now, desk.text) != self.rebuilt:
            self.rebuilt = (now, desk.text)
            self.place.clear()
            with self.place:
                self.dials = [
                    _DialRow(desk, of) for of in desk.dials if not of.key.startswith("slot ")
                ]
                if slots := [of for of in desk.dials if of.key.startswith("slot ")]:
                    with ui.expansion("Water slots").props("dense").style("width: 100%"):
                        self.dials += [_DialRow(desk, of) for of in slots]
            self.design.set_options(desk.names)
        _set(self.design, now)
        for row in self.dials:
            row.refresh()
        self.wrong.set_text(desk.faults.get("", ""))

    def _show_kept(self) -> None:
        desk = self.desk
        stands = (tuple(desk.state.kept), desk.state.compared)
        if stands == self.kept_shown:
            return
        self.kept_shown = stands
        self.kept.clear()
        with self.kept:
            if desk.state.kept:
                ui.label("Kept; up to three are compared").classes("soft")
            for name in (*desk.state.kept, START):
                with ui.element("div").classes("bar"):
                    if name != START:
                        ui.checkbox(
                            name, value=name in desk.state.compared,
                            on_change=lambda event, of=name: desk.compare(of, event.value),
                        ).classes("grow").props("dense")  # fmt: skip
                    else:
                        ui.label(name).classes("grow")
                    _button("Go to it", lambda of=name: desk.recall(of))
                    if name != START:
                        _button("Forget", lambda of=name: desk.forget(of))

    def _show_run(self) -> None:
        self.run_box.set_visibility(bool(self.run.lines))
        self.run_says.set_text(self.run.says)
        self.run_text.set_text("\n".join(self.run.lines))
        self.run_link.set_visibility(bool(self.run.page))
        self.run_link.props(f'href="{RESULTS}/{self.run.page}"')

    # what is done on it

    def _colour(self, shows: str) -> None:
        self.shows = shows
        self._show_pictures()

    def _pointed(self, event: MouseEventArguments) -> None:
        view = self.desk.drawn.view if self.desk.drawn else None
        if view is not None:
            x, y = event.image_x - view.half_width, view.half_height - event.image_y
            self.desk.look_at(round(at_point(x, y), 1))

    def _look(self, clock: float) -> None:
        if abs(clock - round(self.desk.looked_clock(), 1) % 12) > 1e-6:
            self.desk.look_at(clock)

    def _design(self, event: Any) -> None:
        if event.value != self.desk.state.now.design:
            self.desk.choose(event.value)

    def _reopen(self) -> None:
        self.desk.look_up()
        self.desk.begin()

    def _keep(self) -> None:
        try:
            self.desk.keep(self.name.value or "")
        except ValueError as error:
            self.name_wrong.set_text(str(error))
        else:
            self.name_wrong.set_text("")
            self.name.set_value("")

    def _save(self) -> None:
        try:
            self.desk.save()
        except (ValueError, OSError) as error:
            self.desk.failed = str(error)
            self.desk.changed()

    def _report(self) -> None:
        self._run("rate", "report.html")

    def _make(self) -> None:
        name = self.desk.state.now.design
        self._run("make", f"{folder_of(name)}/making.html", "--design", name)

    def _run(self, verb: str, page: str, *more: str) -> None:
        background_tasks.create(self.run.start(verb, page, self.desk.changed, *more))

    async def _story(self) -> None:
        desk = self.desk
        if desk.drawn is None:
            return
        self.tell_story.disable()
        with self.story:
            self.story.clear()
            ui.label("Drawing ...").classes("soft")
        try:
            scenes = await asyncio.to_thread(
                desk.look,
                story,
                desk.drawn.raw,
                desk.path,
                desk.state.now.design,
                desk.drawn.bore,
            )
            failed = "" if scenes else "The bore that fires has no relief cut."
        except Exception as error:  # told where the pictures would stand
            scenes, failed = [], str(error)
        self.story.clear()
        with self.story:
            if failed:
                ui.label(failed).classes("wrong")
            for number, scene in enumerate(scenes, 1):
                with ui.element("figure").style("margin: 0"):
                    ui.image(scene.picture).props(f'alt="{scene.heading}" no-spinner')
                    ui.label(f"{number}. {scene.heading}").style("font-weight: 700")
                    ui.label(scene.words)
        self.tell_story.enable()


class _DialRow:
    """A dial: dragged, moved by keys, or typed."""

    def __init__(self, desk: Desk, dial: Dial) -> None:
        self.desk, self.dial = desk, dial
        self.typed_wrong = ""
        self.told: Value | None = None
        self.slider: Any = None
        self.box = ui.element("div").classes("dial")
        unit = f", {dial.unit}" if dial.unit else ""
        name = _escaped(f"{dial.label}{unit}")
        with self.box:
            if dial.options:
                self.input: Any = (
                    ui.select(
                        list(dial.options),
                        label=dial.label,
                        value=desk.value(dial),
                        on_change=lambda event: self._to(event.value),
                    )
                    .props(f'dense outlined options-dense aria-label="{name}"')
                    .style("width: 100%")
                )
            else:
                ui.label(f"{dial.label} [{dial.unit}]").classes("name")
                with ui.element("div").classes("set"):
                    self.slider = _Range(
                        f"{dial.label}, {dial.unit}", dial.least, dial.most, dial.step,
                        self._dragged,
                    )  # fmt: skip
                    self.input = ui.input().classes("typed")
                    self.input.props(
                        f'dense outlined inputmode="decimal" aria-label="{name}, typed"'
                    )
                    self.input.on("blur", self._typed)
                    self.input.on("keydown.enter", self._typed)
            self.wrong = ui.label().classes("wrong").props('role="alert"')

    def refresh(self) -> None:
        """Show where it stands, and what is wrong with it."""
        value = self.desk.value(self.dial)
        self.box.classes(replace=f"dial{' moved' if value != self.dial.value else ''}")
        if self.dial.options:
            _set(self.input, value)
        else:
            assert isinstance(value, float)
            self.slider.show(min(max(value, self.dial.least), self.dial.most))
            if value != self.told:
                self.told = value
                _set(self.input, f"{value:.6g}")
        self.wrong.set_text(self.typed_wrong or self.desk.faults.get(self.dial.key, ""))

    def _dragged(self, value: float) -> None:
        stands = self.desk.value(self.dial)
        assert isinstance(stands, float)
        shown = min(max(stands, self.dial.least), self.dial.most)
        if abs(value - shown) > 0.01 * self.dial.step:
            self._to(round(float(value), 6))

    def _typed(self) -> None:
        text = (self.input.value or "").strip()
        if not text or text == f"{self.desk.value(self.dial):.6g}":
            self.typed_wrong = ""
            self.refresh()
            return
        try:
            value = self.dial.read(text)
        except ValueError as error:
            self.typed_wrong = str(error)
            self.refresh()
        else:
            self._to(value)

    def _to(self, value: Value) -> None:
        self.typed_wrong = ""
        if value != self.desk.value(self.dial):
            self.desk.move(self.dial.key, value)


class _Range:
    """The browser's own slider: dragged, moved by keys, and told to who can't see it."""

    def __init__(
        self, name: str, least: float, most: float, step: float, does: Callable[[float], None]
    ) -> None:
        self.shown: float | None = None
        self.does = does
        self.element = ui.element("input").classes("range")
        self.element.props(
            f'type="range" min="{least:g}" max="{most:g}" step="{step:g}" '
            f'aria-label="{_escaped(name)}"'
        )
        self.element.on(
            "input", lambda event: self._moved(event.args),
            js_handler="(event) => emit(event.target.value)", throttle=0.05,
        )  # fmt: skip

    def show(self, value: float) -> None:
        """Stand at a value."""
        if value != self.shown:
            self.shown = value
            self.element.props["value"] = f"{value:.6g}"
            self.element.update()

    def _moved(self, value: str) -> None:
        self.shown = float(value)
        self.does(self.shown)


def _in_box(picture: str, size: tuple[float, float]) -> str:
    """A picture with its own size: that of the element stays as it was when the page was opened."""
    across, high = size
    box = f'viewBox="0 0 {across:g} {high:g}" width="100%" height="100%"'
    return f'<svg {box} preserveAspectRatio="none">{picture}</svg>'


def _set(element: Any, value: Any) -> None:
    """Set what an element shows, where it shows another."""
    if element.value != value:
        element.set_value(value)


def _enable(button: Any, enabled: bool) -> None:
    if button.enabled != enabled:
        button.set_enabled(enabled)


def _button(text: str, does: Callable[..., Any]) -> Any:
    return ui.button(text, on_click=lambda: does()).props("no-caps unelevated dense outline")


def _heading(level: int, text: str) -> Any:
    with ui.element(f"h{level}") as heading:
        label = ui.label(text)
    heading.set_text = label.set_text  # type: ignore[attr-defined]
    return heading


def _escaped(text: str) -> str:
    import html

    return html.escape(text)
