"""A solid whose walls lean, beside the same block cut slice by slice, and solved elsewhere.

The other solid has cones and wedges of a kernel of its own, cut from one another, and tetrahedra of
third order (NGSolve, 92,439 unknowns). Its volume is 426,911 mm3, ours 426,908.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from prisms import volumes
from shapely import box
from slices import Slices

from cases.solid.profiles import growth_down
from fea.material import Material
from fea.solid import SolidModel
from geometry import Block, Insert, Register, ReliefCut, Tie
from geometry.solid.columns import section_of
from geometry.solid.layers import COARSE, FINE, mesh_solid

DRAFT = 1.5
SINGLE = Block(
    bore=80, barrel_wall=6, jacket=9, outer_wall=8, jacket_depth=60, crankcase_floor=75,
    ties=(Tie(clock=0, width=9, depth=12), Tie(clock=6, width=9, depth=16)),
    relief_cuts=(ReliefCut(clock=2, radius=53, diameter=16, depth=24),),
    floor_radius=0, underside_radius=0, draft=DRAFT,
)  # fmt: skip
MEASURED = replace(SINGLE, liner=2, valley_fillet=1, wall_table=((0, 6), (3, 7.5), (6, 6), (9, 5)))
BANK = replace(
    SINGLE, bores=3, pitch=90, firing_bore=2, barrel_wall=6.5,
    ties=tuple(replace(tie, fillet=0.0) for tie in SINGLE.ties),
)  # fmt: skip
REGISTER = Register(depth=8, barrel=1.5, outer_wall=1, corner_radius=2.5)
BLOCKS = {
    "bare": (SINGLE, None),
    "measured walls": (MEASURED, None),
    "bank": (replace(BANK, draft=1.0), None),
    "pieces": (SINGLE, Insert(depth=8)),
    "ring": (SINGLE, Insert(depth=8, form="ring")),
    "registered": (SINGLE, Insert(depth=8, register=REGISTER)),
}


def cut(section):
    """Volume of metal above the jacket's floor, slice by slice as the walls lean. [mm3]."""
    block, insert = section.block, section.insert
    low_x, high_x = (block.axes[0], block.axes[-1]) if block.bores > 1 else (-1e3, 1e3)
    own = box(low_x, -1e3, high_x, 1e3)
    deck = Slices(section.at_deck)
    kinks = {down_to for _, down_to in filter(None, block.bore_leans)}
    stops = sorted({*(z for z in deck.stops if z < block.jacket_depth), *kinks, block.jacket_depth})
    total = 0.0
    for low, high in pairwise(stops):
        for node, weight in zip(*np.polynomial.legendre.leggauss(2), strict=True):
            z = (low + high) / 2 + node * (high - low) / 2
            here = Slices(replace(section, block=block.at_depth(z)))
            metal = here.outside - here.bores - here.open_jacket(z) - here.pockets(z)
            metal -= (here.milled(z) & here.jacket) | deck.register(z)
            if insert is not None and z < insert.depth:
                metal |= here.insert_plan
            total += weight / 2 * (high - low) * (metal & own).area
    return total


@pytest.mark.parametrize(("block", "insert"), BLOCKS.values(), ids=BLOCKS)
def test_volume_above_the_jackets_floor(block, insert):
    """To 0.02 %, of the 4 to 6 % by which upright walls as thick as a section's fall short."""
    section = section_of(block, insert)
    mesh = mesh_solid(section, COARSE)
    assert mesh.leans_to == block.jacket_depth
    above = mesh.points[mesh.prisms[:, 8], 2] > -block.jacket_depth
    found, upright = volumes(mesh)[above].sum(), mesh_upright(section)
    wanted = cut(section)
    assert found == pytest.approx(wanted, rel=2e-4)
    assert -0.065 < upright / wanted - 1 < -0.035


def test_volume_of_a_bank_whose_bores_have_walls_of_their_own():
    """Upright, to 0.02 %; the plain walls of the third bore on all of them are 1 % more."""
    rows = ((0, 6.5), (3, 7.2), (6, 6.1), (9, 6.4)), ((1, 5.8), (5, 6.6), (9, 6.1)), ()
    section = section_of(replace(BANK, draft=0.0, bore_walls=rows), None)
    mesh = mesh_solid(section, COARSE)
    above = mesh.points[mesh.prisms[:, 8], 2] > -BANK.jacket_depth
    assert volumes(mesh)[above].sum() == pytest.approx(cut(section), rel=2e-4)
    alike = section_of(replace(BANK, draft=0.0), None)
    assert cut(alike) > 1.005 * cut(section)


@pytest.mark.parametrize(
    ("draft", "pitch", "leans"),
    [
        (0.0, 92, ((0.02, 30.0), (-0.015, 40.0), None)),
        (1.0, 110, ((0.04, 30.0), (0.0, 40.0), None)),
    ],
)
def test_volume_of_a_bank_whose_walls_taper_bore_by_bore(draft, pitch, leans):
    """To 0.02 %, of the 0.6 % and more that walls without these tapers are off by."""
    rows = ((0, 6.5), (3, 7.2), (6, 6.1), (9, 6.4)), ((1, 5.8), (5, 6.6), (9, 6.1)), ()
    block = replace(BANK, draft=draft, pitch=pitch, bore_walls=rows, bore_leans=leans)
    section = section_of(block, None)
    mesh = mesh_solid(section, FINE)
    assert mesh.leans_to == BANK.jacket_depth
    above = mesh.points[mesh.prisms[:, 8], 2] > -BANK.jacket_depth
    wanted = cut(section)
    assert volumes(mesh)[above].sum() == pytest.approx(wanted, rel=2e-4)
    untapered = cut(section_of(replace(block, bore_leans=()), None))
    assert abs(untapered / wanted - 1) > 6e-3


@pytest.mark.parametrize(
    ("draft", "own", "most"),
    [pytest.param(1.0, True, 2e-3, id="unlike"), pytest.param(2.0, False, 0.02, id="steep")],
)
def test_volume_of_barrels_that_run_together_with_draft(draft, own, most):
    """Prisms where they meet would be squeezed flat: walls lean less there, and to the floor
    elsewhere. Upright ones are off by 4 and by 8 %."""
    rows = ((0, 6.5), (3, 7.2), (6, 6.1), (9, 6.4)), ((1, 5.8), (5, 6.6), (9, 6.1)), ()
    section = section_of(replace(BANK, draft=draft, bore_walls=rows if own else ()), None)
    mesh = mesh_solid(section, COARSE)
    assert mesh.leans_to == BANK.jacket_depth
    assert mesh.leans_least < 1
    above = mesh.points[mesh.prisms[:, 8], 2] > -BANK.jacket_depth
    assert volumes(mesh)[above].sum() == pytest.approx(cut(section), rel=most)


def mesh_upright(section):
    """The same of a solid whose walls stand upright."""
    upright = mesh_solid(replace(section, block=section.mean_block), COARSE)
    above = upright.points[upright.prisms[:, 8], 2] > -section.block.jacket_depth
    return volumes(upright)[above].sum()


ELSEWHERE = {1: (45.18, 63.46), 10: (37.78, 52.71), 20: (26.81, 37.52)}
"""Mean and largest growth of the bore at depths [mm], of the other solid. [um]."""


def test_growth_is_that_of_a_solid_made_elsewhere():
    """To 1.2 %; with upright walls the mean is off by 3 %, one way at the deck, another below."""
    ties = tuple(replace(tie, fillet=0.0) for tie in SINGLE.ties)
    section = section_of(replace(SINGLE, ties=ties, draft=2.0))
    metal = Material("cast", 72_400.0, 0.33)
    for straight in (False, True):
        own = replace(section, block=section.mean_block) if straight else section
        mesh = mesh_solid(own, COARSE if straight else FINE)
        model = SolidModel(mesh, dict.fromkeys(mesh.parts, metal), {"crankcase": "z"})
        moved = model.solve(model.pressure_load("bore", 10.0, 26.0)).displacement
        depth, growth, _ = growth_down(mesh, moved)
        off = []
        for at, (mean, most) in ELSEWHERE.items():
            here = np.array([np.interp(at, depth, growth[:, k]) for k in range(360)])
            off += [here.mean() / mean - 1, here.max() / most - 1]
        if straight:
            assert off[0] < -0.02
            assert off[4] > 0.02
        else:
            assert np.abs(off).max() < 0.012
