"""Where peaks are found on a solid, and what a sharp rim does to them."""

from dataclasses import replace

import numpy as np
import pytest
from solid_meshes import draw_up, grid, moved

from fea.material import Material
from fea.solid import SolidModel
from fea.solid.spots import (
    ABOUT_SHARE,
    HALF_COUNTS,
    LEAST_ERROR,
    near_rims,
    solid_spots,
    spot_at,
    surface_nodes,
)
from fea.solid.stress import recover

IRON = Material("iron", 110_000.0, 0.26)


@pytest.fixture(scope="module")
def stress():
    """A block 40 x 20 x 20, its deck at 0; displacement is not asked of it here."""
    mesh = moved(
        draw_up(*grid(8, 4), [-1, -0.75, -0.5, -0.25, 0]), lambda p: p * [40.0, 20.0, 20.0]
    )
    model = SolidModel(mesh, {"block": IRON}, {"floor": "xyz"})
    return recover(model.solve(np.zeros_like(mesh.points)))[0]


def hump(stress, height, x, y, z, width=6.0):
    away = stress.solution.model.mesh.points[stress.nodes] - [x, y, z]
    return height * np.exp(-(away**2).sum(axis=1) / width**2)


def with_rim(stress, *at):
    """The same stress with a sharp rim through the nodes nearest to some places."""
    solution = stress.solution
    mesh = solution.model.mesh
    nodes = [int(((mesh.points - place) ** 2).sum(axis=1).argmin()) for place in at]
    model = SolidModel(replace(mesh, rims=np.array([nodes])), {"block": IRON}, {"floor": "xyz"})
    return replace(stress, solution=replace(solution, model=model))


def test_peaks_are_told_by_place_and_those_inside_the_metal_are_not(stress):
    value = hump(stress, 100, 5, 0, 0) + hump(stress, 80, 35, 20, -10)
    value += hump(stress, 300, 20, 10, -10, 1.5)
    spots = solid_spots([stress], {"block": value})
    assert [(spot.x_mm, spot.y_mm, spot.depth_mm) for spot in spots[:2]] == [
        (5.0, 0.0, 0.0),
        (35.0, 20.0, 10.0),
    ]
    assert spots[0].value == pytest.approx(100, rel=1e-3)
    assert {spot.node for spot in spots} <= set(surface_nodes(stress))


def test_sharp_rim_hides_no_finite_peak_beside_it(stress):
    rim = with_rim(stress, (20, 0, 0), (20, 5, 0), (20, 2.5, 0))
    value = hump(rim, 500, 20, 2.5, 0, 2.0) + hump(rim, 100, 35, 10, 0)
    value = np.maximum(value, hump(rim, 60, 5, 20, -10))
    spots = solid_spots([rim], {"block": value})
    assert [(spot.x_mm, spot.sharp) for spot in spots if spot.value > 10] == [
        (35.0, False),
        (5.0, False),
        (20.0, True),
    ]


def test_what_climbs_towards_a_sharp_rim_is_no_peak_of_its_own(stress):
    rim = with_rim(stress, (20, 0, 0), (20, 5, 0), (20, 2.5, 0))
    away = rim.solution.model.mesh.points[rim.nodes] - [20, 2.5, 0]
    spots = solid_spots([rim], {"block": 100 / (1 + np.linalg.norm(away, axis=1))})
    assert {spot.sharp for spot in spots} == {True}


def test_the_far_end_of_a_tall_prism_is_not_its_rim_s():
    """Columns 0.25 mm wide, 4 mm tall: a rim round the upper face leaves their lower half alone."""
    mesh = draw_up(*grid(4, 4), (-4.0, 0.0))
    deck = mesh.flats["deck"]
    rims = np.concatenate([deck[:, [0, 1, 3]], deck[:, [1, 2, 4]], deck[:, [2, 0, 5]]])
    model = SolidModel(replace(mesh, rims=rims), {"block": IRON})
    near, depth = near_rims(model), -mesh.points[:, 2]
    assert near[depth == 0].all()
    assert not near[depth >= 2].any()
    squat = draw_up(*grid(4, 4), (-0.25, 0.0))
    model = SolidModel(replace(squat, rims=rims), {"block": IRON})
    assert near_rims(model).all()


def test_a_spot_s_error_is_the_largest_gap_between_what_is_known_of_it_in_unlike_ways(stress):
    """A pull along x: 1 MPa more at one node than its prisms say; 0.4 all about it; 0.8 inside."""
    solution = stress.solution
    mesh = solution.model.mesh
    pulled = np.zeros_like(mesh.points)
    pulled[:, 0] = 1e-3 * mesh.points[:, 0]
    pulled[:, 1:] = -0.26e-3 * mesh.points[:, 1:]
    even = recover(replace(solution, displacement=pulled))[0]
    node = int(((mesh.points - [20, 10, 0]) ** 2).sum(axis=1).argmin())
    row = np.searchsorted(even.nodes, node)
    assert spot_at(even, node, 0.0).error_mpa == pytest.approx(LEAST_ERROR * 110, rel=1e-6)

    def told(spot, largest):
        """Of a spot, and as small gaps tell it."""
        error = spot.error_mpa - LEAST_ERROR * spot.principal_mpa
        return error / (1 - error / (HALF_COUNTS * largest))

    off = even.stress.copy()
    off[0, row] += 1
    alone = spot_at(replace(even, stress=off), node, 0.0)
    assert told(alone, 111) == pytest.approx(1, rel=1e-6)

    off, alike = even.stress.copy(), even.inside.copy()
    for of in (off, alike):
        of[0] += 0.4
        of[0, row] -= 0.4
    within = told(spot_at(replace(even, stress=off), node, 0.0), 110.4)
    assert 0.8 * 0.4 < within < 0.4
    about = replace(even, stress=off, inside=alike)
    all_about = told(spot_at(about, node, 0.0), 110.4)
    assert 0.8 * ABOUT_SHARE * 0.4 < all_about < ABOUT_SHARE * 0.4

    inside = even.inside.copy()
    inside[0, row] -= 0.8
    below = spot_at(replace(even, inside=inside), node, 0.0)
    assert told(below, 110) == pytest.approx(0.8, rel=1e-6)

    model = SolidModel(replace(mesh, coarseness=2.0), solution.model.materials)
    coarse = replace(even, inside=inside, solution=replace(even.solution, model=model))
    least = LEAST_ERROR * 110
    doubled = spot_at(coarse, node, 0.0).error_mpa - least
    assert doubled == pytest.approx(2 * (below.error_mpa - least), rel=1e-6)


def test_of_a_large_gap_less_counts(stress):
    """Half as much as of a small one where it is a share of the largest stress about the spot."""
    solution = stress.solution
    points = solution.model.mesh.points
    node = int(((points - [20, 10, 0]) ** 2).sum(axis=1).argmin())
    row = np.searchsorted(stress.nodes, node)
    even = recover(replace(solution, displacement=1e-3 * points * [1, -0.26, -0.26]))[0]
    errors = {}
    for share in (1e-4 * HALF_COUNTS, HALF_COUNTS, 100.0):
        inside = even.inside.copy()
        inside[0, row] -= share * 110
        spot = spot_at(replace(even, inside=inside), node, 0.0)
        errors[share] = spot.error_mpa / 110 - LEAST_ERROR
    small, half, large = errors.items()
    assert small[1] == pytest.approx(small[0], rel=1e-3)
    assert half[1] == pytest.approx(half[0] / 2, rel=1e-3)
    assert large[1] == pytest.approx(HALF_COUNTS, rel=0.01)


def test_where_there_is_no_stress_there_is_no_error(stress):
    assert spot_at(stress, int(stress.nodes[-1]), 0.0).error_mpa == 0
