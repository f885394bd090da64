"""Sizes on the second mesh of a fitted life."""

import numpy as np
import pytest
from bench import BLOCK, FIT, RING, TIES

from cases.gas.solve import gas_load
from cases.life.given import life_given
from cases.life.refine import ROUND, refined_life
from cases.run import solve_case
from fea.hotspots import element_size
from geometry.outline import draw_section


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
