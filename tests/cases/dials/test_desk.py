"""The desk behind the page: answers in their order, given up by a move, nothing lost.

Work is done in this process, and judging by a formula: 10 bar for each mm of depth.
"""

import asyncio
import os
import threading
from dataclasses import replace

import pytest

from cases.base.faults import RunError
from cases.base.progress import ENDED
from cases.base.toml import load_toml
from cases.base.units import LENGTH, parse_quantity
from cases.block.drawn import draw_all
from cases.dials import answer, desk, first
from cases.dials.answer import Colours, Fit, Judged, Quick
from cases.dials.desk import START, Desk, in_order
from cases.dials.dial import WORST_BORE
from cases.dials.first import First
from cases.dials.plan import Shade
from cases.dials.seat import EndedError
from cases.dials.state import Setting, read_state, state_path

SHADE = Shade("data:,", 0.0, 1.0, "MPa", "pull")


class Here:
    """In place of a process: works in the thread that asks."""

    def __init__(self, spare=False, ready=None):
        self.cuts = 0

    def run(self, work, *args, tell=None):
        if tell is None:
            return work(*args)
        cuts = self.cuts
        found = work(tell, *args)
        if self.cuts != cuts:
            raise EndedError
        return found

    def cut(self):
        self.cuts += 1

    def stand_by(self):
        pass

    def close(self):
        self.cuts += 1


def depth_of(raw):
    return parse_quantity(raw["design"][1]["depth"], LENGTH)


def quick(raw, path, name, bore):
    return Quick(
        words=f"{depth_of(raw):g} mm", marks=(),
        around={"stress": tuple(map(float, range(120)))}, stress_mpa=1.0, error_mpa=0.1,
        growth_um=1.0, growth_error_um=0.1,
    )  # fmt: skip


def coloured(raw, path, name, bore):
    return Colours(stress=SHADE, temperature=None, around={"temperature": (float(bore),) * 120})


def worst(raw):
    """Bore 2 of several, where none is stated."""
    return raw["block"].get("firing_bore", min(raw["block"].get("bores", 1), 2))


def judged(raw, setting, fits=False):
    limit = 10 * depth_of(raw)
    return Judged(
        setting=setting, status="holds", share=0.9, limit_bar=limit, limit_factor=1.0,
        sentence=f"{limit:g} bar", cells={"carries": f"{limit:g} bar"},
        numbers={"carries": limit}, marks=(), flags=(),
        around={"contact": (1.5,) * 120}, clock=2.0, place=(50.0, 3.0), down=SHADE,
        bore=worst(raw), ranked="firing_bore" not in raw["block"],
        fit=Fit(words="10 to 20 um", outside="", picture="data:,") if fits else None,
    )  # fmt: skip


def weighed(raw, path, name):
    share = depth_of(raw) / 10
    return First(status="holds", words=f"{share:g}", more="", share=share, used=0.5)


@pytest.fixture
def asked(monkeypatch):
    """What was judged, in order, the coarse solid at other fits left out."""
    found = []

    def judge(tell, raw, path, name, setting, fits):
        if not fits or setting == "fine":
            found.append((depth_of(raw), setting))
        return judged(raw, setting, fits)

    monkeypatch.setattr(desk, "Seat", Here)
    monkeypatch.setattr(desk, "REST", 0.02)
    monkeypatch.setattr(answer, "quick_look", quick)
    monkeypatch.setattr(answer, "colours", coloured)
    monkeypatch.setattr(answer, "judge", judge)
    monkeypatch.setattr(first, "first_answer", weighed)
    return found


async def settled(of):
    """Until nothing is at work."""
    while of._tasks:
        await asyncio.gather(*of._tasks)


def held_back(monkeypatch, go, held):
    """Judgements wait for ``go`` where ``held`` says so, of a case and whether fits are sought."""
    before = answer.judge

    def slow(tell, raw, path, name, setting, fits):
        if held(raw, fits):
            go.wait(60)
        return before(tell, raw, path, name, setting, fits)

    monkeypatch.setattr(answer, "judge", slow)


def at_desk(path, *steps):
    """The desk after some steps, each begun when the one before has settled."""

    async def run():
        of = Desk(path)
        of.begin()
        await settled(of)
        for step in steps:
            step(of)
            await settled(of)
        return of

    return asyncio.run(run())


def deeper(depth):
    return lambda of: of.move("depth", depth)


def test_a_move_is_drawn_looked_at_and_judged(small, asked):
    of = at_desk(small, deeper(7.0))
    assert of.drawn.section.insert.depth == 7.0
    assert of.quick.words == "7 mm"
    assert not of.quick_old
    assert of.judged
    assert of.shown.limit_bar == 70.0
    assert asked == [(6.0, "coarse"), (7.0, "coarse")]
    assert [(name, row.limit_bar) for name, row in of.rows()] == [(START, 60.0)]


def test_a_setting_is_drawn_once(small, asked, monkeypatch):
    """To be shown; its key is at hand when it is judged, and when it is gone back to."""
    drawn = []

    def counted(case, tell):
        drawn.append(case.designs[0].insert.depth)
        return draw_all(case, tell)

    monkeypatch.setattr(desk, "draw_all", counted)
    at_desk(small, deeper(7.0))
    assert drawn == [6.0, 7.0]


def test_what_was_judged_once_is_not_judged_again(small, asked):
    at_desk(small, deeper(7.0), lambda of: of.undo(), deeper(7.0))
    assert asked == [(6.0, "coarse"), (7.0, "coarse")]
    again = at_desk(small)
    assert again.judged
    assert again.shown == judged(again.drawn.raw, "coarse", fits=True)
    assert len(asked) == 2


def test_the_window_of_the_fit_comes_with_the_coarse_verdict(small, asked, monkeypatch):
    """Sought beside it, and only where there is a press."""
    of = at_desk(small)
    assert of.shown.fit.words == "10 to 20 um"
    assert len(asked) == 1
    assert at_desk(small, lambda of: of.move("hold", "one piece with the block")).shown.fit is None


def test_the_verdict_does_not_wait_for_the_window_of_the_fit(small, asked, monkeypatch):
    go = threading.Event()

    async def run():
        of = Desk(small)
        of.begin()
        async with asyncio.timeout(60):
            while of.shown is None or not of.seeks_fit:  # begun one after the other
                await asyncio.sleep(0.01)
        assert of.judged
        assert of.shown.fit is None
        assert of.seeks_fit
        go.set()
        await settled(of)
        return of

    held_back(monkeypatch, go, lambda _, fits: fits)
    of = asyncio.run(run())
    assert of.shown.fit is not None
    assert not of.seeks_fit


def test_a_first_answer_stands_until_the_verdict_is_there(small, asked, monkeypatch):
    """And stands for no other place of the dials."""
    go = threading.Event()

    async def run():
        of = Desk(small)
        of.begin()
        await settled(of)
        assert of.judged
        assert of.first is None
        of.move("depth", 7.0)
        while of.first is None:
            await asyncio.sleep(0.01)
        assert of.first.words == "0.7"
        assert not of.judged
        of.state = of.state.moved("depth", 8.0)
        assert of.first is None
        of.state = of.state.undone()
        go.set()
        await settled(of)
        return of

    held_back(monkeypatch, go, lambda raw, _: depth_of(raw) == 7.0)
    of = asyncio.run(run())
    assert of.first is None


def test_a_move_ends_a_first_answer(small, asked, monkeypatch):
    begun, go = threading.Event(), threading.Event()

    def slow(raw, path, name):
        if depth_of(raw) == 7.0:
            begun.set()
            go.wait(60)
        return weighed(raw, path, name)

    async def run():
        of = Desk(small)
        of.move("depth", 7.0)
        await asyncio.to_thread(begun.wait, 60)
        assert of.seeks_first or of.judged
        of.move("depth", 8.0)
        assert of._weighing.cuts == 1
        assert not of.judged
        go.set()
        await settled(of)
        return of

    monkeypatch.setattr(first, "first_answer", slow)
    of = asyncio.run(run())
    assert of.shown.limit_bar == 80.0


def test_a_first_answer_that_fails_leaves_the_verdict(small, asked, monkeypatch):
    def fails(raw, path, name):
        raise RunError("no convergence")

    monkeypatch.setattr(first, "first_answer", fails)
    of = at_desk(small)
    assert of.shown.fit is not None
    assert of.failed == ""


def test_stages_come_in_the_order_that_they_are_told_in():
    stages = [("solid rating", 40.0), ("rating", 3.0), ("band", 7.0), ("other fits", 80.0)]
    assert in_order(stages) == [stages[0], stages[3], *stages[1:3]]
    assert in_order(stages[1:]) == stages[1:]


def test_what_is_done_is_not_at_work(small, asked, monkeypatch):
    """Other fits are still sought beside it."""
    said = []
    before = answer.judge

    def told(tell, raw, path, name, setting, fits):
        tell(name, "solid life")
        tell(name, ENDED)
        return before(tell, raw, path, name, setting, fits)

    async def run():
        of = Desk(small)
        of.listen(lambda: said.append(of.saying))
        of.begin()
        await settled(of)

    monkeypatch.setattr(answer, "judge", told)
    asyncio.run(run())
    assert any("solid life" in of for of in said)
    assert not [of for of in said if of.endswith(ENDED)]


def test_where_no_bore_is_stated_the_worst_is_drawn_looked_at_and_told(small, asked):
    text = small.read_text()
    small.write_text(text.replace('bore = "80 mm"', 'bore = "80 mm"\nbores = 3\npitch = "108 mm"'))
    of = at_desk(small)
    assert of.value(of.dial("bore")) == WORST_BORE
    assert (of.drawn.bore, of.shown.bore, of.shown.ranked) == (2, 2, True)
    assert of.colours.around["temperature"][0] == 2.0
    assert at_desk(small).drawn.bore == 2
    (first,) = [option for option in of.dial("bore").options if option.startswith("bore 1")]
    of = at_desk(small, lambda of: of.move("bore", first))
    assert (of.drawn.bore, of.shown.bore, of.shown.ranked) == (1, 1, False)


def test_old_answers_are_not_those_of_where_the_dials_stand(small, asked):
    async def run():
        of = Desk(small)
        of.begin()
        await settled(of)
        assert of.judged
        of.move("depth", 7.0)
        assert not of.judged
        assert of.quick_old
        assert of.around("contact") == (None, False)
        await settled(of)
        assert of.around("contact") == (1.5, True)

    asyncio.run(run())


def test_a_move_during_a_judgement_ends_it(small, asked, monkeypatch):
    begun, go = threading.Event(), threading.Event()

    def held(raw, fits):
        if depth_of(raw) == 7.0 and not fits:  # other fits begin beside it, sooner or later
            begun.set()
        return depth_of(raw) == 7.0

    async def run():
        of = Desk(small)
        of.begin()
        await settled(of)
        of.move("depth", 7.0)
        await asyncio.to_thread(begun.wait, 60)
        of.move("depth", 8.0)
        assert of._seats[0][1].cuts == 1
        go.set()
        await settled(of)
        return of

    held_back(monkeypatch, go, held)
    of = asyncio.run(run())
    assert of.shown.limit_bar == 80.0
    assert {round(one.limit_bar) for one in of.answers.values()} == {60, 80}


def test_of_many_moves_the_last_is_judged(small, asked):
    async def run():
        of = Desk(small)
        for step in range(30):
            of.move("depth", 6.0 + step / 10)
            await asyncio.sleep(0)
        await settled(of)
        return of

    of = asyncio.run(run())
    assert [depth for depth, _ in asked] == [8.9, 6.0]
    assert of.shown.limit_bar == 89.0
    of.state = of.state.undone()
    assert of.state.now.values == {}


def test_the_fine_answer_comes_on_request_and_stays(small, asked):
    of = at_desk(small, lambda of: of.fine())
    assert asked == [(6.0, "coarse"), (6.0, "fine")]
    assert of.shown.setting == "fine"


def test_the_load_that_is_wanted_is_that_of_the_start_too(small, asked):
    of = at_desk(small, deeper(7.0), lambda of: of.move("load", 130.0))
    assert of.setting_of(START).values == {"load": 130.0}
    assert asked[2:] == [(7.0, "coarse"), (6.0, "coarse")]


def test_an_impossible_block_says_why_beside_its_dial_and_nothing_is_lost(small, asked):
    of = at_desk(small, deeper(7.0), lambda of: of.move("interference", 3000.0))
    assert "outside 0 to 2000 um" in of.faults["interference"]
    assert of.drawn.section.insert.depth == 7.0
    assert not of.judged
    assert read_state(small).now.values == {"depth": 7.0, "interference": 3000.0}
    with pytest.raises(ValueError, match="can't be built"):
        of.save()


def test_a_run_that_fails_is_told(small, asked, monkeypatch):
    def fails(tell, raw, path, name, setting, fits):
        raise RunError("no convergence")

    monkeypatch.setattr(answer, "judge", fails)
    assert at_desk(small).failed == "no convergence"


def test_where_it_stood_is_there_again(small, asked):
    at_desk(small, deeper(7.0), lambda of: of.keep("deep"), lambda of: of.move("load", 130.0))
    of = at_desk(small)
    assert of.state.now.values == {"depth": 7.0, "load": 130.0}
    assert of.state.kept == {"deep": Setting("uniform", {"depth": 7.0})}
    assert dict(of.rows())["deep"].limit_bar == 70.0


def test_saving_writes_the_moved_key_and_keeps_the_rest(small, asked):
    before = small.read_text()
    of = at_desk(small, deeper(7.0), lambda of: of.save())
    assert small.read_text() == before.replace('depth = "6 mm"', 'depth = "7 mm"')
    assert not of.unsaved
    assert of.shown.limit_bar == 70.0
    assert len(asked) == 2
    of.state = of.state.undone().undone()
    assert of.value(of.dial("depth")) == 6.0


def test_a_file_that_someone_else_changed_is_not_written_over(small, asked):
    def other(of):
        small.write_text(small.read_text() + "# mine\n")

    of = at_desk(small, deeper(7.0), other)
    with pytest.raises(ValueError, match="changed since"):
        of.save()
    assert small.read_text().endswith("# mine\n")
    assert at_desk(small).state.now.values == {"depth": 7.0}


def test_a_wrong_file_opens_with_its_message_and_the_last_good_state(small, asked):
    at_desk(small, deeper(7.0))
    good = small.read_text()
    small.write_text(good.replace("barrel_wall", "barel_wall"))
    of = at_desk(small)
    assert "barel_wall" in of.refused
    assert of.shown.limit_bar == 70.0
    with pytest.raises(ValueError, match="changed since"):
        of.save()
    small.write_text(good)
    of = at_desk(small)
    assert of.refused == ""
    assert of.state.now.values == {"depth": 7.0}


@pytest.mark.parametrize("text", ["", "[", "a = 1", "\0"])
def test_a_wrong_file_that_was_never_good_opens_with_its_message(small, asked, text):
    small.write_text(text)
    of = at_desk(small)
    assert of.refused
    assert of.case is None
    assert not state_path(small).exists()


@pytest.mark.skipif(os.geteuid() == 0, reason="may write anywhere")
def test_a_place_that_can_not_be_written_is_told(small, asked):
    small.parent.chmod(0o500)
    try:
        assert "can't be kept" in at_desk(small, deeper(7.0)).failed
    finally:
        small.parent.chmod(0o700)


def test_answers_of_another_version_are_not_shown(small, asked, monkeypatch):
    at_desk(small)
    monkeypatch.setattr(desk, "code_hash", lambda: "another")
    at_desk(small)
    assert len(asked) == 2


def test_names_are_kept_as_they_are_typed(small, asked):
    of = at_desk(small, lambda of: of.keep("<img src=x>"))
    assert of.state.compared == ("<img src=x>",)
    with pytest.raises(ValueError, match="has a meaning"):
        of.keep(START)


def test_pages_are_told_of_every_change(small, asked):
    told = []

    def listening(of):
        of.listen(lambda: told.append(of.state.now.values.get("depth")))
        of.move("depth", 7.0)

    of = at_desk(small, listening)
    assert told[0] == 7.0
    assert len(told) >= 3
    assert load_toml(small)["design"][1]["depth"] == "6 mm"
    assert replace(of.state, past=()).now.design == "uniform"
