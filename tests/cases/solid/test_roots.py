"""Roots of ties beside the ends of a pressed insert, coarse and fine, beside far finer solids."""

from dataclasses import replace

import numpy as np
import pytest

from cases.gas.solve import gas_load
from cases.life.steps import EngineState
from cases.solid.gas import instants
from cases.solid.life import solid_life
from fea.solid.spots import near_rims, spot_at, surface_nodes
from fea.solid.stress import principal, recover
from geometry.solid import layers
from geometry.solid.columns import section_of
from geometry.solid.layers import COARSE, FINE, mesh_solid

TIES = "".join(
    f'[[tie]]\nclock = "{clock}"\nwidth = "8 mm"\ndepth = "12 mm"\n'
    for clock in ("1:00", "5:00", "7:00", "11:00")
)
TEXT = f"""\
job = "roots (invented)"
[block]
bore = "86 mm"
barrel_wall = "6 mm"
jacket = "9 mm"
outer_wall = "9 mm"
jacket_depth = "60 mm"
crankcase_floor = "75 mm"
material = "A356-T6"
[gas]
peak_pressure = "90 bar"
{TIES}[[design]]
name = "pressed"
material = "6061-T6"
depth = "5 mm"
[design.fit]
interference = "40 um"
friction = 0.15
ties = {{ clearance = "50 um" }}
[[design.slot]]
clock = "1:41"
width = "5 mm"
arc = "14 deg"
"""
FINEST = replace(FINE, foot=0.1, web=0.1, wall=1.2, roundness=40.0, thin=1.5)
ROOTS = (1.27, 0.73, 4.73, 10.73)
"""Clock positions where fillets come into the barrel, the first beside a slot's end."""


def at_roots(case):
    """Largest principal stress about each root at gas, with the error of each. [MPa]."""
    gas, design = gas_load(case), case.designs[0]

    def of(fineness):
        mesh = mesh_solid(section_of(case.block, design.insert), fineness)
        life = solid_life(case, design, gas, instants(case, gas), mesh)
        (solution,) = life.at_gas(EngineState.COLD, 1.0, (0,))
        (stress,) = (one for one in recover(solution) if one.part == "tie")
        nodes = surface_nodes(stress)
        nodes = nodes[~near_rims(solution.model)[nodes]]
        at = life.mesh.points[nodes]
        values, _ = principal(stress.stress[:, np.searchsorted(stress.nodes, nodes)])
        found = []
        for hours in ROOTS:
            turn = np.pi * hours / 6
            place = 49 * np.array([np.sin(turn), np.cos(turn)])
            near = np.linalg.norm(at[:, :2] - place, axis=1) < 3.0
            worst = int(nodes[near][np.argmax(values[0, near])])
            spot = spot_at(stress, worst, 0.0)
            found.append((spot.principal_mpa, spot.error_mpa))
        return np.array(found).T

    return of


@pytest.mark.slow
def test_roots_beside_an_insert_s_ends_are_known_to_their_error(case_of, monkeypatch):
    of = at_roots(case_of(TEXT))
    fine, coarse = of(FINE), of(COARSE)
    monkeypatch.setattr(layers, "LEAST_FOOT", 0.2)
    finest, _ = of(FINEST)
    assert np.abs(fine[0] / finest - 1).max() < 0.06
    assert np.abs(coarse[0] / finest - 1).max() < 0.15
    for told, error in (fine, coarse):
        assert (np.abs(told - finest) < error + 0.03 * finest).all()
