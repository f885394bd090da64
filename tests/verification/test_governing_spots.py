"""Which spot governs, and by how much, on whole blocks: against an independent model.

Reference: NGSolve with solids built in OCC from the numbers of the case: curved tetrahedra of third
order about cuts and ties of the bore that fires, second elsewhere, 150,000 to 260,000 unknowns; one
piece, 20 degC; gas and side thrust at the crank angles where this project finds its worst spots;
floors of cuts, undersides and edges dressed for the insert have their radii. Stress is averaged at
the nodes of one metal; a coarser mesh (1.9 in place of 1.3 mm along cuts) moved walls of cuts by
0.5 to 2 %. What lies within 1.5 mm of an insert's underside is left out of it.

``SIAMESED`` was made after all sizes and errors had been chosen: its barrels run together and its
walls lean. Its reference has third order everywhere, 185,000 and 248,000 unknowns; from one to the
other its walls of cuts moved by 0.1 and 0.2 %, its growth by 0.2 %, and its volume is that of the
prisms to 0.03 %. Fine, the walls read 3 to 4 % low; coarse, 5 to 8 %.

``LEANING`` is held out: neither sizes of meshes nor stated errors were chosen on it. On it, and on
two siamesed blocks with liners that are not kept here, the governing spot was the reference's and
within 0.6 to 3.4 % (fine) and 0.2 to 4.7 % (coarse) in four designs.
"""

import numpy as np
import pytest

from cases import read_case
from cases.gas.solve import gas_load
from cases.solid.result import OWN_PARTS
from cases.solid.solve import one_piece_solid
from geometry.clock import clock_to_angle, parse_clock

APART = """\
job = "Three apart (invented)"
tie = [
    { clock = "12:40", width = "8 mm", depth = "12 mm" },
    { clock = "4:50", width = "8 mm", depth = "12 mm" },
    { clock = "7:30", width = "9 mm", depth = "15 mm" },
    { clock = "10:50", width = "8 mm", depth = "12 mm" },
]
relief_cut = [
    { clock = "1:50", radius = "53 mm", diameter = "17 mm", depth = "20 mm" },
    { clock = "6:10", radius = "52.5 mm", diameter = "16 mm", depth = "26 mm" },
]

[block]
bores = 3
firing_bore = 2
pitch = "106 mm"
bore = "82 mm"
barrel_wall = "6.5 mm"
jacket = "10 mm"
outer_wall = "9 mm"
material = "319-T6"
jacket_depth = "70 mm"
crankcase_floor = "96 mm"

[gas]
peak_pressure = "110 bar"

[engine]
stroke = "86 mm"
rod = "140 mm"
compression_ratio = 9.5
speed = "6500 rpm"
top_ring = "6 mm"
crown_below_deck = "0.3 mm"

[[design]]
name = "bare"

[[design]]
name = "uniform"
material = "7075-T6"
depth = "5 mm"
inside_radius = "0 mm"

[[design]]
name = "local"
material = "7075-T6"
depth = "5 mm"
inside_radius = "0 mm"
zone = [
    { clock = "1:50", width = "24 deg", depth = "12 mm", blend = "12 deg" },
    { clock = "6:10", width = "22 deg", depth = "14 mm", blend = "12 deg" },
]
"""
"""Water between the barrels; edges of cuts are not dressed."""

THIN = """\
job = "Overbored thin (invented)"
tie = [
    { clock = "12:30", width = "0.3 in", depth = "0.45 in" },
    { clock = "2:50", width = "0.25 in", depth = "0.45 in" },
    { clock = "5:05", width = "0.32 in", depth = "0.6 in" },
    { clock = "7:40", width = "0.3 in", depth = "0.45 in" },
    { clock = "10:10", width = "0.28 in", depth = "0.5 in" },
]
relief_cut = [
    { clock = "1:40", radius = "2.42 in", diameter = "0.6 in", depth = "0.8 in" },
    { clock = "6:20", radius = "2.455 in", diameter = "0.65 in", depth = "0.7 in" },
    { clock = "8:55", radius = "2.43 in", diameter = "0.6 in", depth = "0.9 in" },
]

[block]
bores = 1
bore = "4.06 in"
barrel_wall = "0.165 in"
jacket = "0.42 in"
outer_wall = "0.4 in"
material = "A356-T6"
jacket_depth = "3 in"
crankcase_floor = "3.9 in"

[gas]
peak_pressure = "1300 psi"

[engine]
stroke = "3.5 in"
rod = "5.7 in"
compression_ratio = 9.5
speed = "6500 rpm"
top_ring = "0.22 in"
crown_below_deck = "0.01 in"

[[design]]
name = "bare"

[[design]]
name = "uniform"
material = "6061-T6"
depth = "0.16 in"

[[design]]
name = "local"
material = "6061-T6"
depth = "0.16 in"
zone = [
    { clock = "1:40", width = "20 deg", depth = "0.45 in", blend = "10 deg" },
    { clock = "8:55", width = "20 deg", depth = "0.5 in", blend = "10 deg" },
]
"""
"""Walls of 4.2 mm, 2.2 mm at the cuts, five ties, a shallow insert."""

ODD = """\
job = "Three ties at odd clocks (invented)"
tie = [
    { clock = "1:10", width = "9 mm", depth = "13 mm" },
    { clock = "5:20", width = "7 mm", depth = "16 mm", fillet = "2.5 mm" },
    { clock = "9:40", width = "10 mm", depth = "11 mm" },
]
relief_cut = [
    { clock = "3:05", radius = "58 mm", diameter = "18 mm", depth = "34 mm" },
    { clock = "7:25", radius = "57.5 mm", diameter = "16 mm", depth = "30 mm" },
]

[block]
bores = 1
bore = "92 mm"
barrel_wall = "6 mm"
jacket = "10.5 mm"
outer_wall = "8 mm"
material = "A356-T6"
jacket_depth = "72 mm"
crankcase_floor = "95 mm"

[gas]
peak_pressure = "120 bar"

[engine]
stroke = "90 mm"
rod = "145 mm"
compression_ratio = 9.5
speed = "6500 rpm"
top_ring = "7 mm"
crown_below_deck = "0.3 mm"

[[design]]
name = "bare"

[[design]]
name = "uniform"
material = "6061-T6"
depth = "6 mm"
inside_radius = "0 mm"
"""
"""Deep cuts; an insert that ends 5 mm above a tie's underside."""

LEANING = """\
job = "Leaning walls (invented)"
tie = [
    { clock = "12:20", width = "10 mm", depth = "18 mm", fillet = "4 mm" },
    { clock = "4:10", width = "8 mm", depth = "12 mm" },
    { clock = "8:00", width = "9 mm", depth = "14 mm", fillet = "2.5 mm" },
]
relief_cut = [
    { clock = "2:15", radius = "45.3 mm", diameter = "15 mm", depth = "26 mm" },
    { clock = "6:10", radius = "47.9 mm", diameter = "19 mm", depth = "16 mm" },
    { clock = "10:05", radius = "43.7 mm", diameter = "13 mm", depth = "36 mm" },
]

[block]
bores = 1
bore = "70 mm"
barrel_wall = "7 mm"
jacket = "12 mm"
draft = "2 deg"
outer_wall = "10 mm"
material = "319-T6"
jacket_depth = "58 mm"
crankcase_floor = "80 mm"
floor_radius = "1.5 mm"
underside_radius = "0 mm"

[gas]
peak_pressure = "130 bar"

[engine]
stroke = "70 mm"
rod = "120 mm"
compression_ratio = 9.5
speed = "6500 rpm"
top_ring = "5 mm"
crown_below_deck = "0.3 mm"

[[design]]
name = "bare"

[[design]]
name = "uniform"
material = "6061-T6"
depth = "6.5 mm"
inside_radius = "0 mm"
"""
"""Walls of the jacket with draft, 2.2 mm left at the deepest of three cuts. Held out: no size of
the meshes, and no error that is stated, was chosen on it."""

THICK = """\
job = "Thick liner (invented)"
tie = [
    { clock = "2:20", width = "0.4 in", depth = "0.3 in" },
    { clock = "8:35", width = "0.35 in", depth = "0.8 in" },
]
relief_cut = [
    { clock = "5:00", radius = "2.36 in", diameter = "0.9 in", depth = "0.55 in" },
    { clock = "11:15", radius = "2.33 in", diameter = "0.8 in", depth = "0.5 in" },
]

[block]
bores = 1
bore = "3.4 in"
liner = "0.12 in"
liner_material = "grey iron class 30"
barrel_wall = "0.24 in"
jacket = "0.5 in"
outer_wall = "0.35 in"
material = "319-T6"
jacket_depth = "2.6 in"
crankcase_floor = "3.5 in"

[gas]
peak_pressure = "2000 psi"

[engine]
stroke = "3.3 in"
rod = "5.4 in"
compression_ratio = 9.5
speed = "6500 rpm"
top_ring = "0.25 in"
crown_below_deck = "0.01 in"

[[design]]
name = "bare"

[[design]]
name = "uniform"
material = "6061-T6"
depth = "0.2 in"
inside_radius = "0 mm"
"""
"""Two cuts that are pulled alike, to 1 %, and a tie whose underside is as bad with an insert."""

SIAMESED = """\
job = "Siamesed, leaning (invented)"
tie = [
    { clock = "12:25", width = "9 mm", depth = "14 mm", bores = [2] },
    { clock = "10:35", width = "8 mm", depth = "17 mm", fillet = "2.5 mm", bores = [2] },
    { clock = "5:50", width = "10 mm", depth = "13 mm", fillet = "4 mm", bores = [2] },
    { clock = "12:00", width = "9 mm", depth = "14 mm", bores = [1, 3] },
    { clock = "6:00", width = "9 mm", depth = "14 mm", bores = [1, 3] },
]
relief_cut = [
    { clock = "1:35", radius = "50.5 mm", diameter = "16 mm", depth = "24 mm", bores = [2] },
    { clock = "7:25", radius = "50 mm", diameter = "15 mm", depth = "33 mm", bores = [2] },
]

[block]
bores = 3
firing_bore = 2
pitch = "89 mm"
bore = "80 mm"
barrel_wall = "6.2 mm"
jacket = "10 mm"
draft = "1.5 deg"
outer_wall = "8 mm"
material = "A356-T6"
jacket_depth = "66 mm"
crankcase_floor = "88 mm"
valley_fillet = "3 mm"
floor_radius = "2 mm"
underside_radius = "2.5 mm"

[gas]
peak_pressure = "115 bar"

[engine]
stroke = "84 mm"
rod = "138 mm"
compression_ratio = 9.5
speed = "6500 rpm"
top_ring = "6 mm"
crown_below_deck = "0.3 mm"

[[design]]
name = "bare"

[[design]]
name = "uniform"
material = "6061-T6"
depth = "7 mm"
inside_radius = "0 mm"
"""
"""Barrels that run together, walls with draft, 2.5 mm left at the cuts."""

BLOCKS = {
    "apart": APART, "thin": THIN, "odd": ODD, "leaning": LEANING, "thick": THICK,
    "siamesed": SIAMESED,
}  # fmt: skip
GOVERNING = {
    ("apart", "bare"): (226.6, "6:10", 0.8),
    ("apart", "uniform"): (73.8, "1:50", 11.8),
    ("apart", "local"): (44.3, "1:50", 15.8),
    ("thin", "uniform"): (118.6, "1:40", 13.1),
    ("thin", "local"): (90.7, "6:20", 12.6),
    ("odd", "uniform"): (112.8, "3:06", 14.9),
    ("leaning", "bare"): (323.3, "10:04", 1.8),
    ("leaning", "uniform"): (88.3, "10:04", 15.5),
    ("siamesed", "bare"): (311.9, "7:25", 1.4),
    ("siamesed", "uniform"): (91.1, "7:25", 17.8),
}
"""Largest principal stress [MPa] of the block's own metal, its clock and its depth [mm]."""
OTHERS = {
    ("apart", "bare"): ((216.6, 1.83, 44.5, 1.9), (100.4, 7.30, 41.0, 0.0)),
    ("apart", "uniform"): (
        (71.7, 6.17, 44.5, 16.1), (40.9, 10.58, 47.6, 9.6), (41.0, 1.62, 47.2, 19.4),
        (42.8, 6.35, 47.2, 25.6),
    ),
    ("apart", "local"): ((41.0, 6.17, 44.5, 20.7), (36.5, 12.9, 47.6, 9.5)),
    ("thin", "uniform"): (
        (114.1, 8.92, 54.1, 13.5), (90.4, 6.33, 54.1, 12.2), (61.8, 2.73, 57.3, 11.8),
    ),
    ("thin", "local"): ((62.9, 1.667, 53.85, 16.7), (61.4, 8.92, 54.1, 17.7)),
    ("odd", "uniform"): (
        (94.9, 7.43, 49.5, 17.0), (51.7, 9.4, 52.04, 9.5), (48.9, 9.92, 52.08, 9.5),
    ),
    ("leaning", "bare"): ((248.0, 2.25, 37.8, 2.6), (200.8, 6.17, 38.4, 1.6)),
    ("leaning", "uniform"): ((67.5, 2.22, 37.8, 12.1), (40.8, 8.25, 42.5, 14.0)),
    ("thick", "bare"): (
        (135.1, 5.0, 48.5, 1.5), (134.2, 11.27, 49.0, 0.9), (70.2, 11.42, 52.3, 12.7),
    ),
    ("siamesed", "bare"): ((275.0, 1.575, 42.5, 1.4), (108.1, 7.69, 40.0, 0.0)),
    ("siamesed", "uniform"): ((90.0, 1.576, 42.5, 14.2), (45.3, 1.376, 46.3, 23.9)),
}  # fmt: skip
"""Other walls of cuts, the bore's edge, roots of ties, ends of the floors of cuts, the underside of
a tie: stress [MPa], clock [h], radius and depth [mm]."""
NEAR = {"apart": 0.03, "thin": 0.03, "odd": 0.03, "leaning": 0.04, "siamesed": 0.04}
"""Allowed difference; elements of the reference along the thin wall that leans are larger, the
walls of 2.5 mm that the siamesed bores have left read 3 % low."""
GROWTH = {
    ("siamesed", "bare"): (
        56.54, 65.80, 30.32, -4.12, 17.18, 41.26, 33.45, 78.71, 33.69, -3.24, 7.62, 37.11,
    ),
    ("siamesed", "uniform"): (
        13.78, 10.25, 5.07, 7.70, 6.83, 9.73, 12.06, 9.71, 7.12, 7.90, 4.91, 9.63,
    ),
}  # fmt: skip
"""Outward way of the bore's edge at the deck hour by hour from 12, at the crank angle of the worst
spot, without what moves it aside as a whole. [um]"""
MOST = {("siamesed", "bare"): 100.1, ("siamesed", "uniform"): 13.8}
"""The largest of it. [um]"""
QUICK = {
    ("odd", "uniform"): ((51.7, 9.4, 52.04, 9.5), (48.9, 9.92, 52.08, 9.5)),
    ("leaning", "uniform"): ((40.8, 8.25, 42.5, 14.0),),
}
"""Roots of ties that a coarse solid sees too."""
EDGES = {
    ("apart", "bare"): (93.0, 10.67, 49.4, 12.2),
    ("siamesed", "bare"): (96.2, 10.407, 48.5, 17.1),
    ("thick", "bare"): (67.2, 8.74, 54.6, 20.4),
    ("thick", "uniform"): (45.1, 8.75, 54.2, 20.5),
}
"""The same of the side edge of a tie's underside that is pulled hardest.

Layers are too high there: of 2 mm the edge of the thick liner's bare block is 5.5 % low, of 1.2 mm
3 %, and all about half as large 1.8 %. As layers run through the whole block, thinner ones under
each tie cost 40 % more unknowns: what is stated covers it.
"""
EDGE_SETTINGS = {("siamesed", "bare"): ("fine",)}
"""Where a coarse solid doesn't tell that edge apart from another spot of a tie."""
GOOD_TO = 0.02
"""What the reference is good to where a design governs."""
ABOUT = 2.5
"""How far off a place its peak is sought. [mm]."""


@pytest.fixture(scope="module")
def solved(tmp_path_factory):
    """The solid of a design of a block, cold and in one piece, each solved once."""
    path, found = tmp_path_factory.mktemp("blocks") / "case.toml", {}

    def solve(name, design_name, setting="fine"):
        asked = name, design_name, setting
        if asked not in found:
            path.write_text(BLOCKS[name])
            case = read_case(path)
            (design,) = (of for of in case.designs if of.name == design_name)
            found[asked] = one_piece_solid(case, design, gas_load(case), setting)
        return found[asked]

    return solve


def place_of(hours, radius, depth):
    angle = float(clock_to_angle(hours))
    return np.array([radius * np.cos(angle), radius * np.sin(angle), -depth])


def peak_about(state, hours, radius, depth):
    """Largest principal stress of the block's own surface about a place. [MPa]."""
    place = place_of(hours, radius, depth)
    faces = (*state.mesh.sides.values(), *state.mesh.flats.values())
    outside = np.unique(np.concatenate([of.ravel() for of in faces]))
    worst = 0.0
    for of in state.fields:
        if of.part in OWN_PARTS:
            near = np.linalg.norm(state.mesh.points[of.nodes] - place, axis=1) < ABOUT
            near &= np.isin(of.nodes, outside)
            worst = max(worst, of.principal[near].max(initial=0.0))
    return worst


@pytest.mark.slow
@pytest.mark.parametrize(("name", "design"), GOVERNING)
def test_the_governing_spot_and_its_stress(solved, name, design):
    stress, clock, depth = GOVERNING[name, design]
    spot = solved(name, design).governing
    assert spot.part == "barrel"
    assert spot.clock_hours == pytest.approx(parse_clock(clock), abs=0.1)
    assert spot.depth_mm == pytest.approx(depth, abs=2.0)
    assert spot.principal_mpa == pytest.approx(stress, rel=NEAR[name])
    assert abs(spot.principal_mpa - stress) <= spot.error_mpa + GOOD_TO * stress


@pytest.mark.slow
@pytest.mark.parametrize(("name", "design"), OTHERS)
def test_other_spots_that_might_govern(solved, name, design):
    state = solved(name, design)
    for stress, hours, radius, depth in OTHERS[name, design]:
        found = peak_about(state, hours, radius, depth)
        assert found == pytest.approx(stress, rel=0.05), (hours, depth, found, stress)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "design"), GROWTH)
def test_growth_at_the_deck(solved, name, design):
    """To 1 % of the largest; a coarse solid of the bare block is off by 2 %."""
    state, wanted = solved(name, design), np.array(GROWTH[name, design])
    most = MOST[name, design]
    assert state.growth_um.max() == pytest.approx(most, rel=0.01)
    assert state.growth_um[::30] == pytest.approx(wanted, abs=0.01 * most)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "design"), QUICK)
def test_a_coarse_solid_names_the_same_spot(solved, name, design):
    """To 6 %; roots of ties to 8 %, where those in one tall layer were 13 and 14 % too low."""
    stress, clock, depth = GOVERNING[name, design]
    state = solved(name, design, "coarse")
    spot = state.governing
    assert (spot.part, spot.clock_hours) == ("barrel", pytest.approx(parse_clock(clock), abs=0.1))
    assert spot.depth_mm == pytest.approx(depth, abs=3.0)
    assert spot.principal_mpa == pytest.approx(stress, rel=0.06)
    for stress, *at in QUICK[name, design]:
        assert peak_about(state, *at) == pytest.approx(stress, rel=0.08), at


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "design", "setting"),
    [(*of, setting) for of in EDGES for setting in EDGE_SETTINGS.get(of, ("fine", "coarse"))],
)
def test_the_side_edge_of_an_underside_of_a_tie(solved, name, design, setting):
    stress, *at = EDGES[name, design]
    away = {
        float(np.linalg.norm(place_of(*at) - (of.x_mm, of.y_mm, -of.depth_mm))): of
        for of in solved(name, design, setting).worst
        if of.part == "tie"
    }
    spot = away[min(away)]
    assert min(away) < ABOUT
    assert spot.principal_mpa == pytest.approx(stress, rel=0.1 if setting == "fine" else 0.13)
    assert abs(spot.principal_mpa - stress) <= spot.error_mpa + GOOD_TO * stress


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted({block for block, _ in GOVERNING}))
def test_designs_in_order(solved, name):
    names = [design for block, design in GOVERNING if block == name]
    expected = sorted(names, key=lambda design: -GOVERNING[name, design][0])
    assert sorted(names, key=lambda design: -solved(name, design).governing.principal_mpa) == (
        expected
    )
