"""The depth of metal t(x, y), whatever overlaps, against volumes cut slice by slice.

t is the depth of solid metal between the deck and H, and its area integral the volume of metal.
The other way to that volume, derived in :mod:`slices`: shapely polygons with fine arcs are the
metal at one depth below the deck, and the slices are summed over the depth.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from skfem import CellBasis, ElementTriP0, MeshTri2
from slices import Slices

from geometry import Block, DeckSection, DeeperZone, Insert, Register, ReliefCut, Tie, WaterSlot
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

pytestmark = pytest.mark.verification

PLAIN = Block(
    bore=86,
    barrel_wall=8,
    jacket=9,
    outer_wall=10,
    ties=tuple(Tie(clock=c, width=8, depth=18, fillet=3) for c in (0, 3, 6, 9)),
)
OUT = 43 + 8 + 9  # jacket radius
BARE = DeckSection(block=PLAIN, depth=30)


def with_cuts(*cuts: ReliefCut, **changes) -> DeckSection:
    return replace(BARE, block=replace(PLAIN, relief_cuts=cuts, **changes))


BANK = Block(
    bore=87,
    liner=2.5,
    barrel_wall=5.5,
    jacket=10,
    outer_wall=9,
    bores=3,
    firing_bore=2,
    pitch=97,
    valley_fillet=3,
    ties=(
        Tie(clock=0.2, width=9, depth=16, fillet=3),
        Tie(clock=5.5, width=8, depth=14, fillet=3, bores=(1, 2)),
        Tie(clock=9, width=10, depth=20, fillet=3, bores=(1,)),
    ),
)
TWO_CUTS = (
    ReliefCut(clock=1.3, radius=56, diameter=15, depth=24),
    ReliefCut(clock=7.7, radius=57, diameter=17, depth=11),
)

SECTIONS = {
    "bare": BARE,
    "relief cut through a tie": with_cuts(
        ReliefCut(clock=3.2, radius=55, diameter=16, depth=25)
    ),
    "relief cut into a tie, not through": with_cuts(
        ReliefCut(clock=3.2, radius=55, diameter=16, depth=10)
    ),
    "two relief cuts that meet": with_cuts(
        ReliefCut(clock=1.3, radius=56, diameter=16, depth=12),
        ReliefCut(clock=1.7, radius=58, diameter=14, depth=22),
    ),
    "relief cut deeper than the section": with_cuts(
        ReliefCut(clock=4.25, radius=56, diameter=16, depth=60)
    ),
    "floor above the insert's underside": replace(
        with_cuts(*TWO_CUTS), insert=Insert(depth=16)
    ),
    "edges of pockets dressed far back": replace(
        with_cuts(*TWO_CUTS), insert=Insert(depth=16, inside_radius=2.5)
    ),
    "pockets left open": replace(
        with_cuts(*TWO_CUTS), insert=Insert(depth=16, fills_relief_cuts=False)
    ),
    "tie shallower than the insert": replace(BARE, insert=Insert(depth=26)),
    "relief cut through a tie under an insert": replace(
        with_cuts(ReliefCut(clock=3.2, radius=55, diameter=16, depth=12)), insert=Insert(depth=20)
    ),
    "deeper zones, step and blend": replace(
        with_cuts(*TWO_CUTS),
        insert=Insert(
            depth=9,
            zones=(
                DeeperZone(clock=1.4, width=30, depth=22, blend=12),
                DeeperZone(clock=7.5, width=40, depth=17),
                DeeperZone(clock=2.6, width=25, depth=14, blend=20),
            ),
        ),
    ),
    "slots": replace(
        BARE,
        insert=Insert(
            depth=12,
            slots=(WaterSlot(clock=1.5, width=5, arc=30), WaterSlot(clock=7.4, width=4)),
        ),
    ),
    "ring over ties, a relief cut through one": replace(
        with_cuts(*TWO_CUTS, ReliefCut(clock=3.2, radius=55, diameter=16, depth=14)),
        insert=Insert(
            depth=9, form="ring", zones=(DeeperZone(clock=1.4, width=30, depth=22, blend=12),)
        ),
    ),
    "ring of part width": replace(
        with_cuts(*TWO_CUTS), insert=Insert(depth=7, width=5, form="ring")
    ),
    "ring that mills a tie away": DeckSection(
        block=BANK, depth=28, insert=Insert(depth=14, form="ring")
    ),
    "register on both walls": replace(
        with_cuts(*TWO_CUTS, ReliefCut(clock=3.2, radius=55, diameter=16, depth=14)),
        insert=Insert(
            depth=5, register=Register(depth=7, barrel=1, outer_wall=2, corner_radius=2.5)
        ),
    ),
    "register of corners only, a deeper insert": replace(
        BARE, insert=Insert(depth=12, register=Register(depth=8, corner_radius=1.5))
    ),
    "ledge around siamesed barrels": DeckSection(
        block=BANK, depth=28, insert=Insert(depth=6, register=Register(depth=6, ledge=1.5))
    ),
    "ring on a ledge": replace(
        with_cuts(*TWO_CUTS),
        insert=Insert(depth=6, form="ring", register=Register(depth=6, ledge=1.5)),
    ),
    "register of an insert of part width": replace(
        BARE, insert=Insert(
            depth=6, width=5, register=Register(depth=9, barrel=1.5, corner_radius=1.5)
        )
    ),
    "insert of part width": replace(with_cuts(*TWO_CUTS), insert=Insert(depth=14, width=5)),
    "measured walls": with_cuts(
        TWO_CUTS[0],
        wall_table=((0, 8), (2, 7.2), (4, 8.6), (6.5, 9), (9, 7.5)),
    ),
    "walls bore by bore": DeckSection(
        block=replace(BANK, bore_walls=(
            ((0, 5.5), (3, 6.2), (6, 5.1), (9, 5.4)), (), ((1, 4.8), (5, 5.6), (9, 6.1)),
        )),
        depth=28,
    ),
    "siamesed barrels": DeckSection(block=BANK, depth=28),
    "siamesed barrels with everything": DeckSection(
        block=replace(
            BANK,
            relief_cuts=(
                ReliefCut(clock=1.7, radius=59, diameter=15, depth=13),
                ReliefCut(clock=7.2, radius=60, diameter=16, depth=24, bores=(2, 3)),
            ),
        ),
        depth=30,
        insert=Insert(
            depth=11,
            zones=(
                DeeperZone(clock=1.7, width=24, depth=19, blend=8),
                DeeperZone(clock=7.2, width=30, depth=26),
            ),
            slots=(WaterSlot(clock=11, width=5, arc=12), WaterSlot(clock=5.0, width=4)),
        ),
    ),
}  # fmt: skip


def metal_by_quadrature(mesh) -> float:
    """Area integral of t over the curved triangles. [mm3]."""
    basis = CellBasis(MeshTri2(mesh.points.T, mesh.triangles.T), ElementTriP0(), intorder=6)
    x, y = np.asarray(basis.global_coordinates())
    total = 0.0
    for index, layers in enumerate(mesh.regions):
        own = mesh.region == index
        for layer in layers:
            total += (layer.thickness(x[own], y[own]) * basis.dx[own]).sum()
    return total


@pytest.mark.parametrize("name", SECTIONS)
def test_metal_volume(name):
    section = SECTIONS[name]
    slices, outline = Slices(section), draw_section(section)
    assert metal_by_quadrature(mesh_outline(outline)) == pytest.approx(slices.volume(), rel=1e-3)
    assert outline.open_area == pytest.approx(slices.open_area(), rel=1e-3)


DRAFTED = {
    "bare": BARE,
    "measured walls": SECTIONS["measured walls"],
    "siamesed barrels": SECTIONS["siamesed barrels"],
    "insert between the ties": replace(BARE, insert=Insert(depth=12)),
    "ring over ties": replace(BARE, insert=Insert(depth=9, form="ring")),
    "ledge around siamesed barrels": SECTIONS["ledge around siamesed barrels"],
    "register on the outer wall": replace(
        BARE, insert=Insert(depth=6, register=Register(depth=6, outer_wall=2, corner_radius=2.5))
    ),
}


def drafted_volume(section: DeckSection) -> float:
    """Volume of metal whose walls lean by the draft, cut slice by slice. [mm3].

    A register is cut straight from the walls at the deck, and an insert fills what is open.
    """
    block, insert = section.block, section.insert
    deck = Slices(replace(section, block=replace(block, draft=0.0)))
    total = 0.0
    for low, high in zip(deck.stops[:-1], deck.stops[1:], strict=True):
        for node, weight in zip(*np.polynomial.legendre.leggauss(2), strict=True):
            z = (low + high) / 2 + node * (high - low) / 2
            thicker = z * np.tan(np.radians(block.draft))
            here = Slices(replace(section, block=replace(
                block,
                draft=0.0,
                barrel_wall=block.barrel_wall + thicker,
                wall_table=tuple((clock, wall + thicker) for clock, wall in block.wall_table),
                jacket=block.jacket - 2 * thicker,
                outer_wall=block.outer_wall + thicker,
                ties=tuple(replace(tie, width=tie.width + 2 * thicker) for tie in block.ties),
            )))  # fmt: skip
            metal = here.outside - here.bores - here.open_jacket(z) - here.pockets(z)
            metal -= (here.milled(z) & here.jacket) | deck.register(z)
            if insert is not None and z < insert.depth:
                metal |= here.insert_plan
            total += weight / 2 * (high - low) * metal.area
    return total


@pytest.mark.parametrize("name", DRAFTED)
def test_metal_volume_of_a_drafted_jacket(name):
    """Spread over the depth all metal of the wedges is there, to 0.2 %. An insert stands where they
    are thin and a register begins its part of them where they are thick: to 1 %, less than there
    is. Without draft they would lack 2 to 4 %."""
    section = replace(DRAFTED[name], block=replace(DRAFTED[name].block, draft=1.5))
    found = metal_by_quadrature(mesh_outline(draw_section(section)))
    away = found / drafted_volume(section) - 1
    assert (-0.002 if section.insert is None else -0.01) < away < 0.0005
