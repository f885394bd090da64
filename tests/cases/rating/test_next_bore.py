"""What a bore beside does to a place that its own gas pulls, and what that takes off a limit."""

import re
from dataclasses import replace

import numpy as np
import pytest
from inspected import TWO

from cases import read_case, solve_case
from cases.rating import solve
from cases.rating.next_bore import pushed_at, sections_beside
from cases.rating.result import rating_of
from cases.stress.solve import solve_section
from geometry.outline import draw_section

PLAIN = re.sub(r"\[\[(tie|relief_cut)\]\]\n(?:\w+ = .*\n)+", "", TWO).replace("110 mm", "91 mm")
DESIGN = '[[design]]\nname = "bare"\n'


@pytest.fixture
def case(tmp_path):
    """Two plain bores, each the other's mirror; the second fires."""
    (tmp_path / "case.toml").write_text(f"{PLAIN}{DESIGN}")
    return read_case(tmp_path / "case.toml")


def solved(case, bore):
    fired = replace(case, block=replace(case.block, firing_bore=bore))
    (design,) = case.designs
    return solve_section(fired, design, draw_section(fired.section(design)), 240.0)


def test_two_bores_do_to_each_other_what_the_other_does_to_them(case):
    found = []
    for bore in (1, 2):
        own, other = solved(case, bore), solved(case, 3 - bore)
        fired = replace(case, block=replace(case.block, firing_bore=bore))
        (beside,) = sections_beside(fired, case.designs[0], 240.0)
        assert beside.section.block.firing_bore == 3 - bore
        side = 1 if bore == 1 else -1  # on which the other stands
        for turn in np.deg2rad(np.arange(30, 91, 10)):
            x, y = side * 46.5 * np.cos(turn), 46.5 * np.sin(turn)
            found.append(pushed_at(own, [beside], "barrel", (x, y)))
            # read at the same place by hand, along the pull of its own gas
            here = stress(own, x, y)
            pull, way = np.linalg.eigh(here)
            felt = way[:, 1] @ stress(other, x - side * 91.0, y) @ way[:, 1]
            assert found[-1] == pytest.approx(max(0.0, -felt) / pull[1], abs=0.04)  # meshes differ
    assert found[:7] == pytest.approx(found[7:], abs=0.04)  # meshes differ
    assert max(found) > 0.02


def stress(solved, x, y):
    """Of the barrel at its node nearest to a place, as a tensor."""
    (layer,) = [of for of in solved.stresses if of.part == "barrel"]
    at = np.argmin(np.hypot(*(solved.mesh.points[layer.nodes] - (x, y)).T))
    xx, yy, xy = layer.stress[:, at]
    return np.array([[xx, xy], [xy, yy]])


def test_without_draws_or_a_bore_beside_nothing_is_solved(case):
    (design,) = case.designs
    undrawn = case.told("rating", replace(case.given["rating"], draws=0))
    assert sections_beside(undrawn, design, 240.0) == []
    alone = replace(case, block=replace(case.block, bores=1, firing_bore=1))
    assert sections_beside(alone, design, 240.0) == []


def test_what_is_pushed_takes_off_the_limit(case, monkeypatch):
    """From nothing to 30 % more range, 15 % in the middle; less of the gas, as shares grow faster
    than it (the mean stress grows too). A stated bore is no exception."""
    drawn = case.told("rating", replace(case.given["rating"], draws=200, wall_tolerance=0.0))
    each = []
    for pushed in (0.0, 0.3):
        monkeypatch.setattr(solve, "pushed_at", lambda *_, found=pushed: found)
        rating = rating_of(solve_case(drawn, rate=True).designs[0])
        assert rating.pushed == pushed
        each.append(np.array(rating.band.each))
    ratio = each[1] / each[0]
    assert 1 / 1.15 - 0.01 < np.median(ratio) < 0.95
    assert 1 / 1.3 - 0.01 < ratio.min() < 0.87
    assert ratio.max() == pytest.approx(1.0, abs=0.01)
