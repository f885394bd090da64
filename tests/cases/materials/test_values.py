"""Metals with their units, of the library and of a case's own."""

import numpy as np
import pytest
from bench import BARE, TIES

from cases.base.checking import Faults
from cases.materials.reading import Materials, library_materials
from cases.subjects import case_table
from fea.material import Fatigue


def named(name):
    return Materials({}, Faults("a test", {}, case_table())).named(name, ("block",), "the block")


METALS = [named(name) for name in sorted(library_materials())]


def test_cast_aluminium_of_a_table():
    """A356.0-T6, permanent mould: Aluminum Association, typical values (strengths and fatigue in a
    public table); the modulus when hot: EN 1999-1-2, as public codes give it."""
    metal = named("A356-T6")
    assert metal.cast
    assert metal.youngs_modulus == pytest.approx(72_400.0)  # 10.5e6 psi
    assert metal.expansion == pytest.approx(21.5e-6)
    assert metal.conductivity == pytest.approx(0.151)
    assert (metal.yield_strength(20.0), metal.tensile_strength(20.0)) == (207.0, 283.0)
    assert metal.stiffness_share([20.0, 200.0]) == pytest.approx([1.0, 0.86])
    assert metal.fatigue.strength == 90.0  # 13 ksi
    assert metal.fatigue.cycles == 5e8
    # through 0.9 x 283 MPa at 1000 cycles (Shigley, from memory): derived
    slope = np.log(90 / 254.7) / np.log(5e5)
    assert metal.fatigue.exponent == pytest.approx(slope)


def test_wrought_aluminium_of_a_table():
    """6061-T6: 10.0e6 psi, 40 and 45 ksi, 14 ksi at 5e8 cycles, 23.6 um/(m K), 167 W/(m K):
    Aluminum Association, typical values (from memory)."""
    metal = named("6061-T6")
    assert not metal.cast
    assert metal.youngs_modulus == pytest.approx(68_900.0, rel=2e-3)
    assert metal.yield_strength(20.0) == pytest.approx(40 * 6.894757, rel=4e-3)
    assert metal.tensile_strength(20.0) == pytest.approx(45 * 6.894757, rel=4e-3)
    assert metal.fatigue.strength == pytest.approx(14 * 6.894757, rel=0.01)
    assert metal.fatigue.cycles == 5e8
    assert metal.expansion == pytest.approx(23.5e-6, rel=0.01)
    assert metal.conductivity == pytest.approx(0.167, rel=0.01)


@pytest.mark.parametrize("metal", METALS, ids=[metal.name for metal in METALS])
def test_a_metal_is_within_what_its_family_can_be(metal):
    """Families of alloys in any materials handbook: aluminium 65 to 80 GPa, 17 to 25 um/(m K), 90
    to 240 W/(m K); iron 80 to 215 GPa, 9 to 19 um/(m K), 10 to 60 W/(m K) (from memory)."""
    aluminium = metal.youngs_modulus < 80_000
    ranges = (
        ((65e3, 80e3), (17e-6, 25e-6), (0.09, 0.24))
        if aluminium
        else ((80e3, 215e3), (9e-6, 19e-6), (0.01, 0.06))
    )
    values = (metal.youngs_modulus, metal.expansion, metal.conductivity)
    for value, (least, most) in zip(values, ranges, strict=True):
        assert least <= value <= most
    assert metal.cast == ("cast" in library_materials()[metal.name]["description"]
                          or "iron" in library_materials()[metal.name]["description"])  # fmt: skip
    hot = np.array([20.0, 100.0, 150.0, 200.0, 260.0])
    if metal.tensile_points:
        assert (np.diff(metal.tensile_strength(hot)) <= 0).all()
        if metal.yield_points:
            assert (metal.yield_strength(hot) <= metal.tensile_strength(hot)).all()
        if metal.fatigue:
            assert 0.2 < metal.fatigue.strength / metal.tensile_strength(20.0) < 0.5
            assert 1e6 <= metal.fatigue.cycles <= 5e8


OWN = """\
job = "a metal of its own (invented)"
[block]
bore = "80 mm"
barrel_wall = "8 mm"
jacket = "10 mm"
outer_wall = "9 mm"
material = "own"
[gas]
peak_pressure = "120 bar"
pressurised_depth = "24 mm"
[section]
mesh = "coarse"
depth = "24 mm"
tolerance = "10 %"
"""
METAL = """\
[material."own"]
youngs_modulus = "10 GPa"
poisson = 0.3
source = "invented"
expansion = "20 um/(m K)"
conductivity = "150 W/(m K)"
yield_strength = "200 MPa"
tensile_strength = "300 MPa"
cast = true
fatigue_strength = "60 MPa"
fatigue_cycles = 1e7
"""
HOT = """\
[[material."own".hot]]
temperature = "120 degC"
yield_strength = "100 MPa"
tensile_strength = "150 MPa"
"""


def own(case_of, more="", metal=METAL):
    return case_of(OWN, TIES, BARE, metal, more, HOT).materials["barrel"]


def test_a_metal_of_the_case_is_as_it_is_stated(case_of):
    more = 'fatigue_scatter = "11 %"\nbasquin_exponent = -0.12\nthreshold = "6 MPa sqrt(m)"\n'
    metal = own(case_of, more)
    assert (metal.youngs_modulus, metal.poisson) == (10_000.0, 0.3)
    assert metal.expansion == pytest.approx(20e-6)
    assert metal.conductivity == pytest.approx(0.15)
    assert metal.yield_strength([20.0, 120.0]) == pytest.approx([200.0, 100.0])
    assert metal.tensile_strength([20.0, 120.0]) == pytest.approx([300.0, 150.0])
    assert metal.fatigue == Fatigue(60.0, 1e7, -0.12, 0.11, (6.0, 6.0, 6.0))
    assert metal.cast


@pytest.mark.parametrize(("modulus", "threshold"), [("90 GPa", (3.5, 5.0, 7.5)), ("100 GPa", None)])
def test_a_threshold_left_out_is_that_of_aluminium_or_not_known(case_of, modulus, threshold):
    metal = own(case_of, metal=METAL.replace("10 GPa", modulus))
    assert metal.youngs_modulus == pytest.approx(1000 * float(modulus.split()[0]))
    assert metal.fatigue.threshold == threshold


def test_what_a_metal_of_the_case_leaves_out_is_usual(case_of):
    """Cast metal scatters by 15 %, wrought by 8 % (Shigley's k_e); the line runs from 270 MPa at
    1000 cycles to 60 MPa at 1e7 (derived)."""
    cast = own(case_of).fatigue
    assert cast.scatter == pytest.approx(0.15)
    assert cast.exponent == pytest.approx(np.log(60 / 270) / np.log(1e4))
    wrought = own(case_of, metal=METAL.replace("cast = true", "cast = false"))
    assert wrought.fatigue.scatter == pytest.approx(0.08)
    assert not wrought.cast
