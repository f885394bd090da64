"""A section solved, and beside it a solid that is made up: a ring of prisms with a known field."""

from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, BLOCK, ENGINE, GAS, RING, TIES
from solid_meshes import draw_up, grid, moved

from cases import solve_case, with_solid
from cases.solid.profiles import growth_down
from cases.solid.result import DesignSolid, PartField, SolidSpot, SolidState
from fea.solid.equilibrium import SolidChecks
from geometry.clock import clock_of, format_clock

LEVELS = (-40.0, -26.0, -16.0, -9.0, -4.0, 0.0)
INNER, OUTER = 40.0, 48.0

CASE = BLOCK.replace(GAS, ENGINE) + TIES + BARE + RING
ANGLES = (5.0, 14.0, 30.0)


def ring():
    """A ring of prisms in two halves that share no node but touch: its bore is one row of sides."""
    points, triangles = grid(24, 2)
    mesh = replace(draw_up(points, triangles, LEVELS), parts=("barrel",))
    # wrap the unit square around, radius along y
    turn = 2 * np.pi * mesh.points[:, 0]
    radius = INNER + (OUTER - INNER) * mesh.points[:, 1]
    inside = mesh.points[mesh.sides["around"][:, 5], 1] == 0
    mesh = replace(mesh, sides={"bore": mesh.sides["around"][inside]})
    mesh = moved(
        mesh,
        lambda at: np.column_stack([radius * np.cos(turn), -radius * np.sin(turn), at[:, 2]]),
    )
    # the seam: nodes at the end of the turn are those at its start
    _, first, same = np.unique(
        np.round(mesh.points, 6), axis=0, return_index=True, return_inverse=True
    )
    same = same.ravel()
    return replace(
        mesh, points=mesh.points[first], prisms=same[mesh.prisms],
        sides={"bore": same[mesh.sides["bore"]]},
    )  # fmt: skip


def spot(mesh, field, node, part="barrel", **more):
    x, y, z = mesh.points[node]
    values = {
        "part": part,
        "clock": format_clock(float(clock_of(x, y))),
        "clock_hours": float(clock_of(x, y)),
        "radius_mm": float(np.hypot(x, y)),
        "x_mm": float(x),
        "y_mm": float(y),
        "depth_mm": float(-z),
        "principal_mpa": float(field[node]),
        "error_mpa": 0.013 * float(field[node]),
        "sharp": False,
        "settled": True,
        "crank_angle_deg": ANGLES[1],
        "section_mpa": 91.7,
    }
    return SolidSpot(**values | more)


def made_up(depth, most, worst_of=None):
    """A state whose stress peaks at 2:00 at a depth, and whose bore grows by depth and clock."""
    mesh = ring()
    hours = clock_of(*mesh.points[:, :2].T)
    near = np.exp(-(((mesh.points[:, 2] + depth) / 9) ** 2) - ((hours - 2) / 2) ** 2)
    principal = most * near / near.max() + 3
    nodes = np.arange(len(mesh.points))
    stress = np.zeros((6, len(nodes)))
    stress[2] = principal
    field = PartField(
        part="barrel", nodes=nodes, principal=principal, angle=nodes % len(ANGLES), stress=stress
    )
    x, y, z = mesh.points.T
    angle = np.arctan2(y, x)
    outward = 1e-3 * (31 + 4.5 * np.cos(2 * angle) + 0.3 * z)
    displacement = np.column_stack([outward * np.cos(angle), outward * np.sin(angle), 0 * z])
    depths, growth, shift = growth_down(mesh, displacement)
    order = np.argsort(-principal)
    spots = (
        spot(mesh, principal, order[0]),
        spot(mesh, principal, order[40], settled=False, section_mpa=None),
        spot(mesh, 2 * principal, order[9], sharp=True),
    )
    return SolidState(
        worst=spots, angles_deg=ANGLES, growth_um=growth[0], growth_crank_angle_deg=ANGLES[1],
        growth_by_depth=growth, shift_um=shift, depth_mm=depths, mesh=mesh, fields=(field,),
        displacement=displacement, unknowns=3 * len(nodes), seconds=4.31,
        checks=SolidChecks(1.2e-9, 0.00234, 3.1e-13, 2.6e-17),
    )  # fmt: skip


@pytest.fixture(scope="session")
def sections(case_of):
    """Two designs, solved as sections."""
    return solve_case(case_of(CASE))


@pytest.fixture(scope="session")
def told(sections):
    """The same with a solid each, the order of the designs turned by it."""
    bare, insert = sections.designs
    solids = (
        DesignSolid(name="bare", setting="coarse", one_piece=made_up(4.0, 120.0)),
        DesignSolid(name="ring", setting="coarse", one_piece=made_up(16.0, 170.0)),
    )
    designs = tuple(
        replace(design, found={**design.found, "solid": found})
        for design, found in zip((bare, insert), solids, strict=True)
    )
    return replace(sections, case=with_solid(sections.case, "coarse"), designs=designs)
