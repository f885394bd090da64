"""Sizes on the second mesh of a fitted life, and what is steep or sharp in its steps."""

import numpy as np
import pytest
from bench import BLOCK, FIT, RING, TIES

from cases.gas.solve import gas_load
from cases.life.given import life_given
from cases.life.life import life_of
from cases.life.refine import ROUND, _read, refined_life
from cases.run import solve_case
from cases.stress.solve import START
from fea.hotspots import element_size
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

CUT = """\
[[relief_cut]]
clock = "8:00"
radius = "55 mm"
diameter = "18 mm"
depth = "25 mm"
"""
"""It breaks into the jacket, so that the insert reaches around its dressed edges."""


@pytest.fixture(scope="module")
def on_first_mesh(case_of):
    """A life whose insert is bonded to the outer wall, on the first mesh, and its states."""
    held = "[design.fit.outer_wall]\nbonded = true\n"
    case = case_of(BLOCK, TIES, CUT, RING.replace("ring", "pieces"), FIT, held)
    (design,) = case.designs
    outline = draw_section(case.section(design))
    life = life_of(case, design, mesh_outline(outline, **START["coarse"]), gas_load(case))
    return outline, life, _read(life).states


def test_stress_has_no_finite_value_where_a_bond_ends(on_first_mesh):
    _, life, states = on_first_mesh
    ends = np.array(life.bond_ends())
    spots = [spot for state in states for spot in state.hot_spots]
    beside = [
        spot
        for spot in spots
        if np.hypot(*(ends - [spot.x_mm, spot.y_mm]).T).min() < 0.5 * spot.size_mm
    ]
    assert beside
    assert all(spot.sharp for spot in beside)
    for state in states:
        assert {tuple(place) for place in state.bond_ends} == {tuple(place) for place in ends}
    assert not all(spot.sharp for spot in spots)


def test_a_joint_is_steep_at_the_ends_of_a_dressed_edge(on_first_mesh):
    outline, _, states = on_first_mesh
    dressed = [arc for arc in outline.pieces if arc.tag.startswith("relief") and arc.radius < 2]
    assert dressed
    places = states[0].contact_ends @ [1, 1j]
    ends = [arc.point(share) for arc in dressed for share in (0.0, 1.0)]
    assert min(np.abs(places - end).min() for end in ends) < 1e-6


def test_elements_on_a_fillet_that_counts_are_a_share_of_its_radius(case_of):
    ties = TIES.replace('depth = "12 mm"', 'depth = "12 mm"\nfillet = "1.2 mm"')
    case = case_of(BLOCK, ties, RING, FIT)
    (design,) = case.designs
    solved = solve_case(case).designs[0]
    outline = draw_section(case.section(design))
    fillets = [curve for curve in outline.pieces if curve.radius == pytest.approx(1.2)]
    assert len(fillets) >= 8
    life = refined_life(case, design, solved, gas_load(case), life_given(case).fits[design.name])
    size = element_size(life.mesh.points[life.mesh.triangles[:, :3]])
    middle = life.mesh.points[life.mesh.triangles[:, :3]].mean(axis=1) @ [1, 1j]
    for fillet in fillets:
        near = np.argsort(np.abs(middle - fillet.point(0.5)))[:4]
        assert size[near].max() < 1.3 * ROUND * fillet.radius
