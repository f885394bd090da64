"""Facts of the trade, as trends on the bundled block: common practice, no source, each of them."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from fea.stress import hoop
from geometry.clock import clock_of, clock_to_angle, hours_between
from geometry.outline import draw_section

pytestmark = pytest.mark.verification


def outside_cut(cut, spot) -> float:
    """How far a spot lies outside a relief cut of the firing bore; negative on its floor. [mm]."""
    angle = float(clock_to_angle(cut.clock))
    x, y = cut.radius * np.cos(angle), cut.radius * np.sin(angle)
    return np.hypot(spot.x_mm - x, spot.y_mm - y) - cut.diameter / 2


def peak_at(result, cut) -> float:
    """Largest hoop stress in the firing bore's barrel over the arc that a relief cut takes."""
    barrel_radius = result.section.block.barrel_radius
    reach = np.degrees(np.arcsin(cut.diameter / 2 / cut.radius)) / 30  # [h]
    peaks = []
    for layer in result.stresses:
        x, y = result.mesh.points[layer.nodes].T
        near = np.abs(hours_between(clock_of(x, y), cut.clock)) < reach
        near &= np.hypot(x, y) < barrel_radius + 1e-6
        if layer.part == "barrel" and near.any():
            peaks.append(hoop(layer.stress, x, y)[near].max())
    return max(peaks)


def test_bare_block_is_worst_at_a_relief_cut(bundled):
    """Common practice, no source: the barrel cracks where the wall was cut, not at a tie."""
    bare = bundled["bare"]
    worst = bare.hot_spots[0]
    assert worst.part == "barrel"
    assert not worst.sharp
    assert min(outside_cut(cut, worst) for cut in bare.section.block.relief_cuts) < 0.2
    at_ties = [spot.principal_mpa for spot in bare.hot_spots if spot.part == "tie"]
    assert at_ties
    assert max(at_ties) < 0.9 * worst.principal_mpa


def test_cuts_crack_along_the_bore_axis(bundled):
    """Common practice, no source: at the cut the pull runs around the bore, so that the crack
    stands along the bore axis."""
    worst = bundled["bare"].hot_spots[0]
    assert worst.hoop_mpa == pytest.approx(worst.principal_mpa, rel=0.02)


@pytest.mark.parametrize("design", ["uniform", "local"])
def test_closing_the_deck_lowers_the_worst_spot(bundled, design):
    """Common practice, no source."""
    bare, closed = bundled["bare"], bundled[design]
    assert closed.hot_spots[0].principal_mpa < 0.9 * bare.hot_spots[0].principal_mpa
    for cut in bare.section.block.relief_cuts:
        assert peak_at(closed, cut) < 0.6 * peak_at(bare, cut)
    assert closed.bore.mean_growth_um < bare.bore.mean_growth_um
    assert closed.bore.out_of_round_um < bare.bore.out_of_round_um


def test_metal_behind_the_cuts_gets_most_of_the_gain(bundled):
    """Common practice, no source: beyond a uniform insert, deeper metal behind the relief cuts
    alone lowers the stress there by more than 60 % of what the same depth all round does."""
    uniform, at_cuts, all_round = (
        bundled[name] for name in ("uniform", "deep at the cuts", "deep all round")
    )
    for cut in uniform.section.block.relief_cuts:
        before = peak_at(uniform, cut)
        most = before - peak_at(all_round, cut)
        assert most > 0
        assert before - peak_at(at_cuts, cut) > 0.6 * most


def test_more_insert_leaves_less_water(bundled_case):
    """Common practice, no source: water area falls as the insert grows wider, and by no more than
    the insert's own area."""
    designs = {design.name: design for design in bundled_case.designs}
    sections = [bundled_case.section(designs["bare"])]
    full = replace(designs["uniform"].insert, slots=())
    sections += [replace(sections[0], insert=replace(full, width=width)) for width in (3, 6)]
    sections.append(replace(sections[0], insert=full))
    outlines = [draw_section(section) for section in sections]
    areas = [outline.open_area for outline in outlines]
    assert all(more > less for more, less in pairwise(areas))
    assert areas[-1] == pytest.approx(0, abs=1e-6)
    for area, outline in zip(areas, outlines, strict=True):
        assert areas[0] - area <= outline.insert_area + 1e-6
