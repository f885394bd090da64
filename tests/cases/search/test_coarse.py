"""Designs that differ by their interference alone, by one coarse solid."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BARE, BLOCK, TIES
from search_stubs import CUT, HANDS, UNIFORM

from cases.base.faults import RunError
from cases.base.toml import load_toml
from cases.rating.band import Solved
from cases.rating.depth_band import SolidDraws, band_of_solid, draws_of, judging_of
from cases.search import coarse
from cases.search.coarse import fewer, judge_alike
from cases.search.evaluate import BARE as BARE_TABLE
from cases.search.evaluate import Task, bare_volume, judge_fine
from cases.solid.gas import Instant


def test_of_the_crank_angles_that_of_most_pressure_is_kept():
    for most in range(7):
        pressed = [Instant(float(at), 9.0 - abs(at - most), 5.0) for at in range(7)]
        kept = fewer(pressed)
        assert pressed[most] in kept
        assert len(kept) in (2, 3)
    assert fewer(pressed[:1]) == tuple(pressed[:1])


def at_fit(out_of_round=1.0, governs="", heats=(1.0, 1.4)):
    """What was solved at a fit."""
    solved = Solved(
        fits=np.zeros(1), loads=np.array([0.0, 1.0]), places=(), yielding=np.zeros((1, 2)),
        heats=np.array(heats),
    )  # fmt: skip
    return coarse._AtFit(solved=solved, governs=governs, out_of_round_um=out_of_round)


def test_a_design_between_two_fits_is_told_of_both():
    solved = {0.02: at_fit(30.0, "barrel"), 0.03: at_fit(40.0, "tie")}
    told = coarse._beside(solved, 0.024)
    assert told.out_of_round_um == pytest.approx(34)
    assert told.governs == "barrel"
    told = coarse._beside(solved, 0.03)
    assert (told.out_of_round_um, told.governs) == (40.0, "tie")


class Loads:
    """A solid at an interference; above 25 um its contact is not found."""

    life = object.__new__(coarse.FittedSolidLife)
    life.fit = SimpleNamespace(tolerance=0.005, compound=None)

    def __init__(self, fit, asked):
        self.fit, self.asked = fit, asked

    def with_interference(self, fit, factor):
        assert factor == 1.0
        self.asked.append((self.fit, fit))
        if fit > 0.025:
            raise RunError("not found")
        return Loads(fit, self.asked)


def test_fits_are_solved_from_the_one_before_and_none_beyond_one_that_is_not_found(
    monkeypatch,
):
    asked, read = [], []

    def bands(draws, shifts, others, stated):
        read.extend(stated)
        return stated

    monkeypatch.setattr(coarse, "bands_at", bands)
    alike = SimpleNamespace(
        _solved=lambda loads, factors: at_fit(1000 * loads.fit), _found=lambda at, band: band
    )
    fits = [0.034, 0.014, 0.026, 0.022, 0.018, 0.030]
    draws = SimpleNamespace(judging=None)
    told = coarse._Alike._swept(
        alike, fits, 3, {}, draws, at_fit(22.0), Loads(0.022, asked), (1.4,)
    )
    assert [(round(a, 3), round(b, 3)) for a, b in asked] == [
        (0.022, 0.03), (0.022, 0.014), (0.014, 0.009)
    ]  # fmt: skip
    near = pytest.approx
    assert told == ["not found", near(14), "not found", near(22), near(18), "not found"]


def test_no_fit_is_read_between_two_far_from_each_other():
    assert coarse.to_solve([0.016, 0.032, 0.024], 0.004) == [0.016, 0.024, 0.032]
    assert coarse.to_solve([0.0, 0.0], 0.0) == coarse.to_solve([0.0], 0.005) == [0.0]


@pytest.mark.parametrize(("limit", "beyond"), [(1.2, False), (1.75, True)])
def test_what_draws_carry_beyond_all_that_was_solved_is_told_as_at_least(
    monkeypatch, limit, beyond
):
    # heats of 1.0 and 1.4 of the wanted load tell of 1.4 * 1.3
    monkeypatch.setattr(coarse, "stands", lambda gas, factor: SimpleNamespace(pressure_mpa=1.0))
    told = dict.fromkeys(
        ("hottest_degc", "wetted_mm2", "mass_g"), None
    ) | {"open_mm2": 1.0, "taken_mm3": 1.0, "machining_mm3": 1.0, "doubts": ()}  # fmt: skip
    band = SimpleNamespace(
        limit=limit, pressure_mpa=(1.0, 2.0, 3.0), factor=(1.0, 1.5, 1.8), carries=0.9
    )
    found = coarse._Alike._found(SimpleNamespace(gas=None, told=told), at_fit(), band)
    assert found.at_least == beyond
    assert (found.low_bar, found.high_bar) == (10.0, None)


def tasks_of(tmp_path, *fits):
    """Designs of a block by their interferences, and its metal."""
    path = tmp_path / "case.toml"
    path.write_text(BLOCK + TIES + CUT + BARE + UNIFORM + "[rating]\ndraws = 200\n")
    raw = load_toml(path)
    uniform = raw.pop("design")[1]
    tasks = [
        Task(raw, path, {**uniform, "fit": {**uniform["fit"], "interference": f"{fit} um",
                                            "tolerance": "4 um"}})
        for fit in fits
    ]  # fmt: skip
    return tasks, bare_volume(HANDS, Task(raw, path, BARE_TABLE), "coarse")


@pytest.mark.slow  # four solids and a rating
def test_designs_of_one_solid_are_as_each_by_itself(tmp_path):
    tasks, bare = tasks_of(tmp_path, 16, 24, 32)
    together = judge_alike(HANDS, tasks, bare, {})
    alone = [judge_alike(HANDS, [task], bare, {})[0] for task in tasks]
    for one, same in zip(together, alone, strict=True):
        # its draws are read along straight lines between fits 8 um apart, alone between 4: 3.2 %
        assert one.limit == pytest.approx(same.limit, rel=0.05)
        assert one.out_of_round_um == pytest.approx(same.out_of_round_um, rel=0.02)
        assert replace(one, limit=1, limit_bar=1, low_bar=1, high_bar=1, share=1, seconds=0,
                       out_of_round_um=1, governs="") == replace(
            same, limit=1, limit_bar=1, low_bar=1, high_bar=1, share=1, seconds=0,
            out_of_round_um=1, governs="")  # fmt: skip
    assert len({round(of.limit, 3) for of in together}) == 3


@pytest.mark.slow  # two ratings
def test_a_coarse_solid_alone_tells_what_a_rating_by_it_does(tmp_path):
    (task,), bare = tasks_of(tmp_path, 24)
    shifts = coarse.wall_shifts(HANDS, task)
    assert set(shifts) == {"wall thickness"}
    (quick,) = judge_alike(HANDS, [task], bare, shifts)

    class Coarsely:
        read, inputs = HANDS.read, HANDS.inputs

        @staticmethod
        def solve(case, setting):
            return HANDS.solve(case, "coarse")

    (rated,) = judge_fine(Coarsely, task, bare)
    assert quick.limit == pytest.approx(rated.limit, rel=0.05)
    assert quick.taken_mm3 == pytest.approx(rated.taken_mm3)
    assert quick.machining_mm3 == pytest.approx(rated.machining_mm3)
    assert quick.mass_g == pytest.approx(rated.mass_g, rel=0.005)
    assert quick.open_mm2 == pytest.approx(rated.open_mm2)
    assert quick.wetted_mm2 == pytest.approx(rated.wetted_mm2)
    assert quick.out_of_round_um == pytest.approx(rated.out_of_round_um, rel=0.05)
    assert quick.governs.split()[0] == rated.governs.split()[0]


@pytest.mark.slow  # a solid of the bundled case
def test_weak_draws_are_read_as_one_more_load_tells():
    # from no gas straight to a limit of 1.96, as with all at its middle, it was 1.15 in place of 1
    path = Path(coarse.__file__).parents[1] / "library" / "hillclimb_four.toml"
    raw = load_toml(path)
    designs = raw.pop("design")
    zones = [{**of, "depth": "16 mm"} for of in designs[2]["zone"]]
    fit = {**designs[2]["fit"], "interference": "22.5 um"}
    task = Task(raw, path, {**designs[2], "zone": zones, "fit": fit})
    alike = coarse._Alike(coarse._few_draws(task.case(HANDS)), 0.0)
    loads = coarse.SolidLoads(alike.life)
    loads.begin()
    loads.count_yield()
    loads.know_heats(alike.gas, [(1.0, loads)])

    def limit(solved):
        draws = SolidDraws(alike.gas, 0.9, judging_of(loads), solved)
        return band_of_solid(draws, {})[0].limit

    told = limit(alike._solved(loads, (1.4,)).solved)
    loads.used(0.7)
    hot = loads.at_heat(1.4)
    more = draws_of(loads, 1.0, [(1.0, loads), (1.4, hot)]).solved
    assert list(more.loads) == [0.0, 0.7, 1.0]
    assert told == pytest.approx(limit(more), rel=0.02)
