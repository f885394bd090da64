"""What a row tells of a design that no other subject tells: how held, what is machined, water.

Areas and volumes are those of a drawing: a jacket 9 mm wide around a barrel of 49 mm (derived).
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BARE, ENGINE, GAS, HEAT, RING

from cases.gas.solve import gas_load
from cases.life.given import InsertCompound, InsertFit, SideFit
from cases.solid.solve import _meshed
from cases.verdict import rows
from cases.verdict.rows import _distortion, _held, _machined, _metal, _water, wetted_barrel
from fea.closed_form import ring_conformability
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

CASE = f"""\
job = "a ring in a jacket (invented)"
[block]
bore = "80 mm"
barrel_wall = "9 mm"
jacket = "9 mm"
outer_wall = "8 mm"
material = "A356-T6"
jacket_depth = "60 mm"
crankcase_floor = "75 mm"
floor_radius = "0 mm"
{GAS}[section]
mesh = "coarse"
{RING}"""


@pytest.fixture(scope="module")
def meshes(case_of):
    case = case_of(CASE, BARE)
    return case, {one.name: _meshed(case, one, "coarse") for one in case.designs}


def test_water_and_mass_are_of_the_whole_block(case_of):
    """Three bores in one jacket, whose walls run straight from bore to bore."""
    text = CASE.replace("[block]", '[block]\nbores = 3\nfiring_bore = 2\npitch = "140 mm"')
    case = case_of(text, BARE)
    drawn = next(one for one in case.designs if one.name == "ring")
    section = case.section(drawn)
    outline = draw_section(section)
    mesh = mesh_outline(outline, element_size=8.0, detail=0.25)
    design = SimpleNamespace(section=section, outline=outline, mesh=mesh, found={})
    wanted = (2 * 140 * 116 + math.pi * (58**2 - 3 * 49**2)) * 8
    found = _water(SimpleNamespace(case=case), design)
    assert found["displaced_mm3"] == pytest.approx(wanted, rel=1e-3)
    mass = _metal(drawn.insert_material, design)["mass_g"]
    assert mass == pytest.approx(wanted * drawn.insert_material.density, rel=1e-3)


def test_the_barrel_is_wetted_from_the_insert_down_to_the_floor(meshes):
    case, found = meshes
    around = 2 * math.pi * 49
    assert wetted_barrel(found["bare"], case.block) == pytest.approx(around * 60, rel=1e-3)
    assert wetted_barrel(found["ring"], case.block) == pytest.approx(around * 52, rel=1e-3)


def side(interference=0.0, **changes):
    return SideFit(interference=interference, friction=0.1, **changes)


@pytest.mark.parametrize(
    ("sides", "words"),
    [
        ({}, "one piece with the block"),
        ({"barrel": side(0.02)}, "pressed on barrel"),
        ({"barrel": side(0.02), "tie": side(-0.05)}, "pressed on barrel, clear of ties"),
        (
            {"barrel": side(0.02), "outer wall": side(0.02), "tie": side(0.02)},
            "pressed between barrel, outer wall and ties",
        ),
        ({"barrel": side(bonded=True), "outer wall": side(0.01)},
         "bonded to barrel, pressed on outer wall"),
        ({"barrel": side()}, "slipped in"),
    ],
)  # fmt: skip
def test_how_an_insert_is_held(sides, words):
    assert _held(InsertFit(sides=sides, pressed=tuple(sides))) == words


def test_a_compound_is_named():
    compound = InsertCompound(
        tension=((20.0, 10.0),), shear=((20.0, 8.0),), largest_gap=0.1, friction=0.1
    )
    fit = InsertFit(sides={"barrel": side(-0.02)}, pressed=("barrel",), compound=compound)
    assert _held(fit) == "clear of barrel, with a retaining compound"
    assert _held(None) == "one piece with the block"


class Drawn:
    def __init__(self, section):
        self.section = section


def test_what_is_machined(case_of):
    ties = '[[tie]]\nclock = "12:00"\nwidth = "8 mm"\ndepth = "14 mm"\n'
    ring = CASE.replace('name = "ring"', 'name = "ring"\nform = "ring"')
    over = '[design.register]\ndepth = "10 mm"\nbarrel = "0.5 mm"\nouter_wall = "0.75 mm"\n'
    fit = InsertFit(sides={"barrel": side(0.02)}, pressed=("barrel",))
    for text, given, wanted in (
        (CASE, fit, ("faces of the jacket finished to the fit, 8 mm deep",)),
        (CASE, None, ()),
        (
            ring + over, fit,
            ("1 tie of a bore milled down by 10 mm",
             "a register 10 mm deep, 0.5 mm off the barrel and 0.75 mm off the outer wall"),
        ),
    ):  # fmt: skip
        case = case_of(text, ties, BARE)
        bare, design = case.designs
        draw_section(case.section(design))
        assert _machined(Drawn(case.section(design)), given, None) == wanted
        assert _machined(Drawn(case.section(bare)), None, None) == ()


@pytest.mark.parametrize(
    ("top", "low", "follows", "with_gas"),
    [(0.9, 0.9, True, True), (2.0, 0.9, False, True), (2.0, 60.0, False, False)],
)
def test_the_ring_has_the_gas_of_each_depth_behind_it(
    case_of, monkeypatch, top, low, follows, with_gas
):
    """Order 8 at 10 and 85 mm, over what the ring can follow by itself; F / (h r) is 0.29 MPa."""
    case = case_of(CASE.replace(GAS, ""), ENGINE, HEAT, BARE)
    largest = 1000 * ring_conformability(
        8,
        radius=40,
        radial_width=3.1,
        axial_height=1.2,
        youngs_modulus=160e3,
        tangential_force=14.0,
    )
    around = np.cos(8 * np.radians(np.arange(360)))
    state = SimpleNamespace(
        growth_by_depth=np.outer([top, low], largest * around), depth_mm=np.array([10.0, 85.0])
    )
    monkeypatch.setattr(rows, "solid_of", lambda design: SimpleNamespace(as_made=state))
    result = SimpleNamespace(case=case, found={"gas": gas_load(case)})
    found = _distortion(result, SimpleNamespace(found={}), None)
    assert (found.ring_follows, found.ring_follows_with_gas) == (follows, with_gas)
