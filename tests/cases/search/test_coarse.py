"""Designs that differ by their interference alone, by one coarse solid."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from bench import BARE, BLOCK, TIES
from search_stubs import CUT, HANDS, UNIFORM

from cases.base.toml import load_toml
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


def test_a_fit_without_a_limit_takes_none_from_those_beside_it():
    at = coarse._AtFit(
        loads=None, limit=None, solved=None, tried=2.0, governs="", out_of_round_um=1.0
    )
    told = coarse._Alike._found(SimpleNamespace(told={}), at, None)
    assert told == "no limit was found by its solid"


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
