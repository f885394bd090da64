"""The bundled block by a general library, NGSolve with Netgen: its own mesh and elements of order
four and five on the same depth-integrated section, with the depth of the insert written anew.

Beside a very fine solve of the general library (order 5, 260,000 to 500,000 unknowns, refined at
every spot) 3 of 183 hot spots of the bundled block, from a coarse, a normal and a fine start, lie
outside their reported error. All three are one place, on the outer wall of the bare block at 1:29,
half a millimetre from a weak junction, where the stress creeps on as elements shrink: there the
library's own value changed by 1.5 % between its last two meshes, and with that change allowed for 1
lies outside. Not every spot of a block is as well behaved as the problems in the books.
"""

from __future__ import annotations

import cmath
from dataclasses import replace

import numpy as np
import pytest

from cases.gas.solve import gas_load
from cases.run import solve_case
from fea.bore import growth_at
from fea.hotspots import hot_spots
from fea.model import SectionModel
from geometry.clock import clock_to_angle
from geometry.mesh import mesh_outline

pytest.importorskip("ngsolve", reason="the extra `compare` is not installed")
from benchmarks import general_library

pytestmark = [pytest.mark.slow, pytest.mark.verification]

FINE = general_library.Setting(order=4, max_size=4, root_size=0.3, grading=0.3, per_turn=16)
FINER = replace(FINE, order=5, max_size=3, root_size=0.15, per_turn=24)
REACH = 1.5  # [mm]


def root_of(result) -> complex:
    """Where the deepest relief cut pulls hardest: at the free edge of the metal left under it, and
    where the cut comes nearest to the bore if an insert supports that edge."""
    block = result.section.block
    cut = min(block.relief_cuts, key=lambda cut: cut.radius - cut.diameter / 2)
    bare = result.section.insert is None
    radius = block.barrel_radius if bare else cut.radius - cut.diameter / 2
    return cmath.rect(radius, float(clock_to_angle(cut.clock)))


def spots_at(result, root):
    """The worst hot spot, and the barrel's nearest to a root; where stronger ones crowd that out of
    the list, of the barrel by itself."""
    barrel = [layer for layer in result.stresses if layer.part == "barrel"]
    spots = [*result.hot_spots, *hot_spots(result.solution, barrel)]
    of_barrel = [spot for spot in spots if spot.part == "barrel"]
    return result.hot_spots[0], min(of_barrel, key=lambda spot: abs(place(spot) - root))


def place(spot) -> complex:
    return complex(spot.x_mm, spot.y_mm)


def without_shift(angle, growth):
    """Growth less rigid motion, which both leave to their holds."""
    shift = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    terms = np.column_stack([np.ones_like(angle), shift])
    return growth - shift @ np.linalg.lstsq(terms, growth, rcond=None)[0][1:]


@pytest.fixture(scope="module", params=["bare", "uniform", "local"])
def solved(request, bundled_case):
    """A design's result from a fine start, and the other library's at two finenesses."""
    design = next(d for d in bundled_case.designs if d.name == request.param)
    case = replace(bundled_case, mesh="fine", designs=(design,))
    (result,) = solve_case(case).designs
    section = general_library.plain_section(result.outline)
    materials = case.part_materials(design)
    return result, [
        general_library.solve(
            section, materials, gas_load(case).line_load, setting, root_of(result)
        )
        for setting in (FINE, FINER)
    ]


def test_stress_at_the_root_and_at_the_worst_spot(solved):
    result, others = solved
    for spot in spots_at(result, root_of(result)):
        fine, finer = (other.largest_principal(spot.part, place(spot), REACH) for other in others)
        assert abs(finer - fine) < 2e-3 * finer
        assert abs(spot.principal_mpa - finer) <= spot.error_mpa + abs(finer - fine)


def test_bore_growth(solved):
    """All round on an even mesh; the mean on the adapted one, which is coarse off the spots."""
    result, others = solved
    angle, theirs = others[-1].bore_growth()
    theirs = without_shift(angle, theirs)
    adapted = without_shift(angle, growth_at(result.solution, angle))
    assert adapted.mean() == pytest.approx(theirs.mean(), rel=1e-3)

    mesh = mesh_outline(result.outline)
    model = SectionModel(mesh, result.solution.model.materials)
    even = without_shift(angle, growth_at(model.solve(result.solution.line_load), angle))
    assert np.abs(even - theirs).max() < 1e-3 * np.abs(theirs).max()
