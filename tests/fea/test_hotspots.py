"""Separate spots, in order, once each."""

from dataclasses import replace

import gmsh
import numpy as np
import pytest
from fea_meshes import mesh_shapes, ring, uniform
from sections import UNIFORM, section

from fea.hotspots import (
    _NEIGHBOURS,
    DIP,
    GAP_SHARE,
    LEAST_ERROR,
    TWIN_DIP,
    TWINS,
    hot_spots,
    layer_of,
    listed_once,
    separate_peaks,
)
from fea.material import Material
from fea.model import SectionModel
from fea.stress import principal, recover
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.section_mesh import Corner

METAL = Material("metal", 70_000.0, 0.4)
OTHER = Material("other", 71_000.0, 0.4)


def spots(mesh, load=200.0, materials=None):
    parts = {layer.part for layers in mesh.regions for layer in layers}
    model = SectionModel(mesh, materials or dict.fromkeys(parts, METAL))
    solution = model.solve(load)
    return hot_spots(solution, recover(solution))


def notched_ring(hours, size=1.5, radius=6.0, square=False, corners=()):
    """A ring 40/52 with half-round (or square) cuts in its outside."""

    def draw():
        occ = gmsh.model.occ
        angle = np.deg2rad(90 - 30 * np.asarray(hours))
        cuts = [
            (2, occ.addRectangle(x - radius, y - radius, 0, 2 * radius, 2 * radius))
            if square
            else (2, occ.addDisk(x, y, 0, radius, radius))
            for x, y in zip(52 * np.cos(angle), 52 * np.sin(angle), strict=True)
        ]
        bore = (2, occ.addDisk(0, 0, 0, 40, 40))
        occ.cut([(2, occ.addDisk(0, 0, 0, 52, 52))], [bore, *cuts])
        occ.synchronize()
        ((_, surface),) = gmsh.model.getEntities(2)
        names = {"bore": [], "outside": []}
        for _, tag in gmsh.model.getBoundary([(2, surface)], oriented=False):
            box = gmsh.model.getBoundingBox(1, tag)
            inside = max(map(abs, (*box[:2], *box[3:5]))) < 40.5
            names["bore" if inside and box[3] - box[0] > 79 else "outside"].append(tag)
        return [[surface]], names

    return mesh_shapes(draw, [uniform("barrel", 20)], size, corners)


@pytest.mark.parametrize("seed", range(3))
def test_peaks_are_those_that_no_high_way_joins_to_a_higher_one(seed):
    """Every node against its neighbours, one by one."""
    mesh = ring([50, 80], [uniform("barrel", 20)], 5)
    x, y = mesh.points.T
    rng = np.random.default_rng(seed)
    value = sum(
        rng.normal() * np.sin(rng.normal(size=2) @ [x, y] / 8 + rng.uniform(0, 6)) for _ in range(6)
    ) + rng.normal(scale=0.05, size=len(x))
    near = [set() for _ in x]
    for a, b in _NEIGHBOURS:
        for i, j in mesh.triangles[:, [a, b]].tolist():
            near[i].add(j)
            near[j].add(i)

    def stands_apart(node):
        dip = TWIN_DIP if value[node] >= (1 - TWINS) * value.max() else DIP
        reached, edge = {node}, [node]
        while edge:
            new = {k for k in near[edge.pop()] if value[k] > (1 - dip) * value[node]} - reached
            reached |= new
            edge += new
        return value[node] == max(value[k] for k in reached)

    expected = [node for node in np.argsort(-value).tolist() if value[node] > 0]
    expected = [node for node in expected if stands_apart(node)]
    assert len(expected) > 5
    assert separate_peaks(value, mesh.triangles).tolist() == expected


def test_an_even_ring_has_one_spot():
    (spot,) = spots(ring([50, 80], [uniform("barrel", 20)], 5))
    assert spot.part == "barrel"
    assert spot.radius_mm == pytest.approx(50, abs=1e-3)
    assert spot.hoop_mpa == pytest.approx(22.82, rel=5e-3)
    assert spot.principal_mpa == pytest.approx(spot.hoop_mpa, rel=1e-4)
    assert 0 < spot.error_mpa < 0.5
    assert not spot.sharp


def test_error_is_the_gap_to_the_stress_of_the_displacement_in_the_spots_own_layer():
    mesh = mesh_outline(draw_section(section(insert=UNIFORM)), fineness=2.5)
    parts = {layer.part for layers in mesh.regions for layer in layers}
    solution = SectionModel(mesh, dict.fromkeys(parts, METAL)).solve(1000.0)
    stresses = recover(solution)
    at_step = 0
    for spot in hot_spots(solution, stresses):
        layer = layer_of(stresses, spot)
        here = layer.nodes[layer.triangles] == spot.node
        gap = layer.raw[:, here] - layer.stress[:, layer.nodes == spot.node]
        off = np.abs(principal(gap)[:2]).max()
        expected = GAP_SHARE * off + LEAST_ERROR * spot.principal_mpa
        assert spot.error_mpa == pytest.approx(expected, rel=1e-9)
        at_step += len(np.unique(mesh.region[(mesh.triangles == spot.node).any(axis=1)])) > 1
    assert at_step


def test_one_spot_at_the_root_of_each_cut_worst_first():
    """Cuts at 1:00, 4:30 and 8:00; the cut root at 46 mm is the place, across the hoop."""
    found = spots(notched_ring([1.0, 4.5, 8.0]))
    roots = [spot for spot in found if abs(spot.radius_mm - 46) < 0.2]
    assert sorted(round(spot.clock_hours, 1) for spot in roots) == [1.0, 4.5, 8.0]
    worst = found[0].principal_mpa
    assert all(spot.principal_mpa <= 1.0001 * worst / 0.99 for spot in found)
    rest = [s.principal_mpa for s in found if s.principal_mpa < 0.99 * worst]
    assert rest == sorted(rest, reverse=True)
    first = roots[0]
    across = np.mod(90 - 30 * first.clock_hours + 90, 180)
    assert np.mod(first.principal_angle_deg - across + 90, 180) - 90 == pytest.approx(0, abs=2)
    assert np.hypot(first.x_mm, first.y_mm) == pytest.approx(first.radius_mm)


def test_twins_stand_in_clock_order():
    found = spots(notched_ring([2.0, 5.0, 8.0, 11.0]))
    twins = [spot for spot in found if spot.principal_mpa > 0.99 * found[0].principal_mpa]
    assert [round(spot.clock_hours) for spot in twins] == [2, 5, 8, 11]
    assert twins[0].clock == "2:00"


def test_spots_are_apart():
    """Two small cuts side by side are one place; their roots lie 2 mm from one another."""
    found = spots(notched_ring([3.0, 3.08], size=0.5, radius=0.9))
    places = np.array([[spot.x_mm, spot.y_mm] for spot in found])
    away = np.hypot(*(places[:, None] - places).transpose(2, 0, 1))
    assert away[~np.eye(len(away), dtype=bool)].min() >= 3


def test_sharp_corners_are_marked_and_stand_last():
    """A square cut at 3:00: its two inner corners at x = 46, y = -6 and 6."""
    corners = tuple(Corner(46.0, y, 270.0) for y in (-6.0, 6.0))
    found = spots(notched_ring([3.0], size=2.0, square=True, corners=corners))
    sharp = [spot for spot in found if spot.sharp]
    assert len(sharp) == 2
    assert max(s.principal_mpa for s in sharp) > max(s.principal_mpa for s in found if not s.sharp)
    assert [spot.sharp for spot in found] == sorted(spot.sharp for spot in found)


def split(mesh, parts):
    """The same mesh with two regions, parted at y = 0; a part may have both."""
    upper = mesh.points[mesh.triangles[:, :3], 1].mean(axis=1) > 0
    return replace(mesh, region=upper.astype(int), regions=tuple(uniform(p, 20) for p in parts))


def test_a_peak_on_a_region_border_islisted_once():
    """A cut at 3:00 whose root lies on the border of two regions of one part."""
    whole = notched_ring([3.0, 9.0])
    both = spots(split(whole, ("barrel", "barrel")))
    roots = [spot for spot in both if abs(spot.radius_mm - 46) < 1]
    assert len(roots) == 2


def test_a_peak_between_two_parts_of_one_material_islisted_once():
    mesh = split(notched_ring([3.0, 9.0, 0.0]), ("tie", "barrel"))
    one = spots(mesh)
    at_three = [s for s in one if abs(s.radius_mm - 46) < 1 and abs(s.clock_hours - 3) < 0.3]
    assert len(at_three) == 1
    assert {spot.part for spot in one} == {"tie", "barrel"}
    two = spots(mesh, materials={"tie": METAL, "barrel": OTHER})
    at_three = [s for s in two if abs(s.radius_mm - 46) < 1 and abs(s.clock_hours - 3) < 0.3]
    assert len(at_three) == 2


def test_the_worst_of_each_part_stays():
    (spot,) = spots(ring([50, 80], [uniform("barrel", 20)], 10))
    lower = replace(spot, principal_mpa=0.9 * spot.principal_mpa, y_mm=spot.y_mm + 1)
    shoulder = replace(lower, part="tie", principal_mpa=0.5 * spot.principal_mpa)
    metals = {"barrel": METAL, "tie": METAL}
    assert listed_once([spot, shoulder], metals) == [spot, shoulder]
    first_tie = replace(shoulder, x_mm=-spot.x_mm, y_mm=-spot.y_mm, principal_mpa=20.0)
    assert listed_once([spot, shoulder, first_tie], metals) == [spot, first_tie]


def test_metal_in_compression_has_no_spot():
    mesh = ring([50, 80], [uniform("barrel", 20)], 10)
    model = SectionModel(mesh, {"barrel": METAL})
    solution = model.solve_forces(
        sum(
            model.edge_load(e, lambda _x, _y, nx, ny: -200 * np.stack([nx, ny])) for e in mesh.edges
        )
    )
    assert hot_spots(solution, recover(solution)) == ()


def test_error_shrinks_with_the_mesh():
    coarse, fine = (spots(notched_ring([1.0, 7.0], size=size))[0].error_mpa for size in (4, 1.5))
    assert fine < coarse


def test_a_spot_at_a_place_that_is_said_to_be_sharp_is_sharp():
    solution = SectionModel(notched_ring([2.0, 7.0]), {"barrel": METAL}).solve(200.0)
    stresses = recover(solution)
    first, second = hot_spots(solution, stresses)[:2]
    near = np.array([[first.x_mm + 0.3 * first.size_mm, first.y_mm]])
    told = {(spot.node, spot.sharp) for spot in hot_spots(solution, stresses, near)}
    assert told >= {(first.node, True), (second.node, False)}
