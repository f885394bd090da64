"""Sizes of elements: walls measured, wishes spread over a grid, and met by the mesh."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from sections import BANK, ring, section

from geometry.faces import outline_from_curves
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.planar import circle
from geometry.section_mesh import Layer, UniformDepth
from geometry.sizing import SizeGrid, SizeWishes, patches, sample_edges, spread, walls

METAL = (Layer("barrel", UniformDepth(10.0)),)


def between_circles(offset: float):
    """Metal between a circle of radius 30 mm at ``offset`` and one of 50 mm about the origin."""

    def layers(z):
        return [METAL if abs(w) < 50 and abs(w - offset) > 30 else () for w in z]

    return outline_from_curves([*circle(0, 50.0, "outside"), *circle(offset, 30.0, "bore")], layers)


@pytest.mark.parametrize("offset", [0.0, 6.0])
def test_a_wall_is_as_thick_as_the_way_straight_across(offset):
    """Between eccentric circles, from the inner one outwards: to the outer circle by its normal,
    and the nearest point of it no nearer than 50 less the distance from its centre (derived)."""
    outline = between_circles(offset)
    halves = [[half for face in outline.faces for loop in face.loops for half in loop]]
    samples = sample_edges(outline.pieces, halves, 0.5)
    thickness, across = walls(outline.pieces, samples, reach=30.0, wedge=2.5)
    inner = np.abs(np.abs(samples.z - offset) - 30) < 1e-9
    exact = np.where(inner, 50 - np.abs(samples.z), np.abs(samples.z - offset) - 30)
    assert thickness == pytest.approx(exact, abs=0.03)
    away = np.abs(samples.z[across] - samples.z)
    assert away == pytest.approx(thickness)
    assert (inner[across] != inner).all()


def test_walls_are_measured_within_one_face_and_no_further_than_asked():
    outline = draw_section(section(ties=(), relief_cuts=()))
    samples = sample_edges(
        outline.pieces, [[h for loop in f.loops for h in loop] for f in outline.faces], 0.5
    )
    part = [outline.regions[face.region][0].part for face in outline.faces]
    thickness, _ = walls(outline.pieces, samples, reach=8.0, wedge=2.5)
    for name, wall in (("liner", 2.5), ("barrel", 6.0), ("outer wall", math.inf)):
        own = np.array([part[face] == name for face in samples.face])
        assert thickness[own] == pytest.approx(np.full(own.sum(), wall), abs=0.03)


def test_samples_point_into_their_face():
    outline = draw_section(section())
    halves = [[h for loop in f.loops for h in loop] for f in outline.faces]
    samples = sample_edges(outline.pieces, halves, 2.0)
    from geometry.planar import inside

    for number, face in enumerate(outline.faces):
        own = samples.face == number
        loops = outline.loops(face)
        assert inside(loops, (samples.z + 0.01 * samples.inward)[own]).all()
        assert not inside(loops, (samples.z - 0.01 * samples.inward)[own]).any()
    pieces = [outline.pieces[k] for k in samples.piece]
    along = [p.share(z) * p.length for p, z in zip(pieces, samples.z, strict=True)]
    assert samples.from_start == pytest.approx(along)


def test_sizes_grow_from_each_wish_with_the_distance():
    """The least of wish plus grading times distance; as stated, wishes count up to 12 % less and
    ways along the grid up to 8 % more, and a place up to half a step off."""
    rng = np.random.default_rng(6)
    z = rng.uniform(0, 15, 12) + 1j * rng.uniform(0, 10, 12)
    size, grading, step = rng.uniform(0.2, 1.0, 12), 0.3, 0.25
    found = spread(z, size, grading, 2.0, 0j, step, (61, 41))
    x, y = np.meshgrid(0.25 * np.arange(61), 0.25 * np.arange(41), indexing="ij")
    away = np.abs((x + 1j * y)[..., None] - z)
    slack = grading * step
    low = np.minimum((size / 1.12 + grading * away).min(axis=-1) - slack, 2.0)
    high = np.minimum((size + 1.09 * grading * away).min(axis=-1) + slack, 2.0)
    assert (found >= low - 1e-12).all()
    assert (found <= high + 1e-12).all()


def test_patches_follow_wishes_that_are_too_small_for_the_grid():
    grid = SizeGrid(0j, 1.0, np.full((40, 30), 3.0))
    wishes = SizeWishes(np.array([7.3 + 5.2j, 25 + 20j, 12 + 12j]), np.array([0.2, 0.4, 2.5]), 0.5)
    found = patches(wishes, grid)
    assert len(found) == 2
    for z, size in ((7.3 + 5.2j, 0.2), (25 + 20j, 0.4)):
        least = []
        for patch in found:
            axes = [o + patch.step * np.arange(n) for o, n in zip(
                (patch.origin.real, patch.origin.imag), patch.size.shape, strict=True)]  # fmt: skip
            at = RegularGridInterpolator(axes, patch.size, bounds_error=False, fill_value=np.inf)
            least.append([float(at((z.real + d, z.imag))) for d in (0.0, 2.0)])
        near, further = np.min(least, axis=0)
        assert size / 1.12 - 1e-9 <= near < size + 0.5 * 0.3
        assert further == pytest.approx(size + 0.5 * 2, abs=0.15)
    assert patches(replace(wishes, size=np.full(3, 2.0)), grid) == []


def side_lengths(mesh):
    z = mesh.points @ [1, 1j]
    ends = np.concatenate([mesh.triangles[:, [a, b]] for a, b in ((0, 1), (1, 2), (2, 0))])
    return z[ends].mean(axis=1), np.abs(np.diff(z[ends], axis=1)[:, 0])


def test_elements_are_as_large_as_wished_for_and_grow_from_there():
    place = 65 + 0j
    wishes = [SizeWishes(np.array([place]), np.array([0.3]), 0.3),
              SizeWishes(np.array([0j]), np.array([6.0]), 0.0)]  # fmt: skip
    middle, length = side_lengths(mesh_outline(draw_section(ring()), wishes=wishes, roundness=8))
    away = np.abs(middle - place)
    for low, high in ((0.0, 1.0), (3.0, 5.0), (8.0, 12.0)):
        near = (away >= low) & (away < high)
        assert (length[near] / (0.3 + 0.3 * away[near])).mean() == pytest.approx(1.0, abs=0.2)
    assert length[away > 30].mean() == pytest.approx(6.0, rel=0.3)


def test_arcs_have_the_elements_that_are_aimed_at_and_walls_theirs():
    """A bore in thick metal by its turn; a thin ring by its wall; both finer by ``fineness``."""
    counts = {}
    for wall, fineness in ((90.0, 1.0), (90.0, 0.5), (4.0, 1.0), (90.0, 2.0)):
        outline = draw_section(ring(bore=60.0, wall=wall))
        mesh = mesh_outline(outline, element_size=wall / 3, fineness=fineness)
        counts[wall, fineness] = len(mesh.edges["bore"])
    assert counts[90.0, 1.0] == pytest.approx(32, abs=4)
    assert counts[90.0, 0.5] == pytest.approx(64, abs=8)
    assert counts[4.0, 1.0] == pytest.approx(2 * math.pi * 30 / (4 / 3.4), rel=0.15)
    assert counts[90.0, 2.0] == pytest.approx(32, abs=4)


def test_elements_are_no_larger_than_asked_for_but_far_away():
    mesh = mesh_outline(draw_section(ring(bore=60.0, wall=90.0)), element_size=5.0)
    middle, length = side_lengths(mesh)
    assert np.quantile(length[np.abs(middle) < 60], 0.99) < 1.5 * 5
    assert length[np.abs(middle) < 60].mean() > 0.7 * 5
    coarse = mesh_outline(draw_section(ring(bore=60.0, wall=90.0)), element_size=5.0, fineness=3.0)
    assert side_lengths(coarse)[1].max() > 10


def test_bores_that_do_not_fire_are_meshed_coarser():
    mesh = mesh_outline(draw_section(section(BANK)), element_size=6.0)
    assert len(mesh.edges["other bores"]) / 2 < 0.75 * len(mesh.edges["bore"])
