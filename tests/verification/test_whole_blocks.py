"""Whole blocks in depth against an independent model: other geometry, elements and solver.

Reference: NGSolve with solids built in OCC from the numbers of the case, not from the sections of
this project: curved tetrahedra of third order about the relief cuts and second elsewhere, 127,000
to 341,000 unknowns; one piece, 20 degC; floor held along z, sides free; gas of 10 MPa from the deck
to 28 or 14 mm. Edges of floors, undersides and inserts are sharp. Good to 1 to 2 % on the walls of
cuts (third against second order, and against a finer mesh through the wall), to 0.3 % in growth.
"""

from dataclasses import replace

import numpy as np
import pytest

from cases import read_case
from cases.cli import DEMO
from cases.solid.life import life_materials
from fea.solid import SolidModel
from fea.solid.spots import spot_at
from fea.solid.stress import principal, recover
from geometry.clock import clock_of
from geometry.solid.columns import section_of
from geometry.solid.layers import FINE, mesh_solid

SINGLE = """\
job = "Single (invented)"

[block]
bores = 1
bore = "90 mm"
barrel_wall = "5.5 mm"
jacket = "10 mm"
outer_wall = "8 mm"
material = "A356-T6"

[[tie]]
clock = "2:00"
width = "8 mm"
depth = "14 mm"

[[tie]]
clock = "8:00"
width = "8 mm"
depth = "14 mm"

[[relief_cut]]
clock = "4:30"
radius = "56 mm"
diameter = "16 mm"
depth = "30 mm"

[gas]
peak_pressure = "100 bar"

[[design]]
name = "bare"

[[design]]
name = "uniform"
material = "6061-T6"
depth = "8 mm"
"""
FIRST, SECOND = 1 + 25 / 60, 7 + 35 / 60  # relief cuts of the block of four [h]
OF_FOUR = {
    'clock = "1:16"': 'clock = "1:25"',
    'clock = "7:42"': 'clock = "7:35"',
    'pitch = "101 mm"': 'pitch = "97 mm"',
    "firing_bore = 1": "firing_bore = 2",
    "ductile iron 65-45-12": "grey iron class 30",
    'depth = "4 mm"': 'depth = "5 mm"',
}
"""What the block of four of the reference has, and the bundled one doesn't."""
DEPTHS = {
    "single": {"jacket_depth": 70.0, "crankcase_floor": 100.0},
    "four": {"jacket_depth": 80.0, "crankcase_floor": 110.0},
}
REACHES = (28.0, 14.0)  # of the gas [mm]
WALLS = {
    ("single", "bare"): {4.5: ((414.6, 2.6), (351.8, 1.5))},
    ("single", "uniform"): {4.5: ((198.9, 19.7), None)},
    ("four", "bare"): {
        FIRST: ((141.2, 2.9), (108.3, 1.8)),
        SECOND: ((163.2, 3.6), (120.8, 2.4)),
    },
    ("four", "uniform"): {
        FIRST: ((82.9, 15.2), None),
        SECOND: ((99.5, 17.1), None),
    },
    ("four", "local"): {FIRST: ((48.8, 18.7), None), SECOND: ((62.3, 19.7), None)},
}
"""Largest principal stress [MPa] on the wall of each relief cut, by its clock, and its depth [mm],
for both reaches; None where it lies within 5 mm
of the insert's sharp rim."""
GROWTH = {
    ("single", "bare"): "84.67 56.63 14.05 39.90 97.06 102.23 64.27 47.41 21.50 61.95 86.89 90.06",
    (
        "single",
        "uniform",
    ): "19.83 18.53 17.81 18.62 20.32 20.67 19.58 18.38 18.03 18.83 20.04 20.47",
    ("four", "bare"): "35.71 47.49 25.90 12.83 22.12 33.60 40.43 38.20 28.60 14.29 22.23 32.17",
    ("four", "uniform"): "23.09 20.05 18.75 24.25 17.59 17.65 27.52 17.78 18.03 24.34 18.56 18.69",
    ("four", "local"): "20.97 16.89 19.53 26.49 16.40 15.29 25.61 15.27 18.19 26.62 17.59 16.55",
}
"""Outward, at the deck, at 12:00, 1:00 and so on, gas down to 28 mm, less first order [um]."""
NEAR = {"bare": 0.01, "uniform": 0.02, "local": 0.02}
"""Allowed difference over the largest growth. With an insert, the bonded edge of its underside is
too stiff by some 1 % on these meshes, and about the other bores the reference has slots, which the
solid has not."""
GOOD_TO = 0.02
"""What the reference is good to on the walls of cuts."""
RIM = 1.5
"""What lies nearer than this to a cut's floor is not compared. [mm]."""


@pytest.fixture(scope="module")
def solved(tmp_path_factory):
    """Solutions of a design of a block under both reaches, each made once."""
    folder = tmp_path_factory.mktemp("blocks")
    four = DEMO.read_text(encoding="utf-8")
    for ours, theirs in OF_FOUR.items():
        assert ours in four
        four = four.replace(ours, theirs)
    cases = {}
    for block, text in (("single", SINGLE), ("four", four)):
        (folder / f"{block}.toml").write_text(text)
        cases[block] = read_case(folder / f"{block}.toml")
    found = {}

    def solve(name, design_name):
        if (name, design_name) not in found:
            case = cases[name]
            (design,) = (of for of in case.designs if of.name == design_name)
            block = replace(case.block, floor_radius=0.0, underside_radius=0.0, **DEPTHS[name])
            insert = design.insert and replace(design.insert, inside_radius=0.0)
            mesh = mesh_solid(section_of(block, insert), FINE)
            materials = {part: life_materials(case, design)[part] for part in mesh.parts}
            plain = {part: replace(of, misfit=0.0) for part, of in materials.items()}
            model = SolidModel(mesh, plain, {"crankcase": "z"})
            loads = [model.pressure_load("bore", 10.0, reach) for reach in REACHES]
            found[name, design_name] = block, model.solve_many(loads)
        return found[name, design_name]

    return solve


def on_wall(block, solution, clock):
    """Largest principal stress, its depth and its stated error where a cut thins the barrel."""
    mesh = solution.model.mesh
    (barrel,) = (of for of in recover(solution) if of.part == "barrel")
    (cut,) = (of for of in block.relief_cuts if of.clock == pytest.approx(clock))
    rows = np.flatnonzero(np.isin(barrel.nodes, mesh.sides["relief"]))
    at = mesh.points[barrel.nodes[rows]]
    off = np.abs((clock_of(at[:, 0], at[:, 1]) - clock + 6) % 12 - 6)
    rows = rows[(off < 1.0) & (at[:, 2] > RIM - cut.depth)]
    stress = principal(barrel.stress[:, rows])[0][0]
    worst = int(np.argmax(stress))
    spot = spot_at(barrel, int(barrel.nodes[rows[worst]]), float(stress[worst]))
    return spot.principal_mpa, spot.depth_mm, spot.error_mpa


@pytest.mark.slow
@pytest.mark.parametrize(("name", "design"), WALLS)
def test_worst_stress_on_the_walls_of_cuts(solved, name, design):
    block, solutions = solved(name, design)
    for clock, expected in WALLS[name, design].items():
        for solution, value in zip(solutions, expected, strict=True):
            if value is not None:
                stress, depth, error = on_wall(block, solution, clock)
                assert stress == pytest.approx(value[0], rel=0.03), (clock, stress, value)
                assert depth == pytest.approx(value[1], abs=2.5), (clock, depth, value)
                assert abs(stress - value[0]) <= error + GOOD_TO * value[0]
                assert error < 0.06 * stress


@pytest.mark.slow
@pytest.mark.parametrize(("name", "design"), GROWTH)
def test_growth_at_the_deck(solved, name, design):
    _, (solution, _) = solved(name, design)
    mesh = solution.model.mesh
    nodes = np.unique(mesh.sides["bore"])
    nodes = nodes[mesh.points[nodes, 2] > -1e-6]
    x, y = mesh.points[nodes, :2].T
    outward = (solution.displacement[nodes, :2] * np.stack([x, y], axis=1)).sum(axis=1)
    hours = clock_of(x, y)
    order = np.argsort(hours)
    every = np.arange(360) / 30
    growth = 1000 * np.interp(every, hours[order], (outward / np.hypot(x, y))[order], period=12)
    turn = np.exp(1j * np.pi * every / 6)
    growth -= 2 * ((growth * turn).mean() * turn.conj()).real
    expected = np.array(GROWTH[name, design].split(), dtype=float)
    assert growth[::30] == pytest.approx(expected, abs=NEAR[design] * expected.max())
