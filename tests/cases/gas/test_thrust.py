"""Side thrust of the piston by hand. Formulas derived from the geometry of crank and rod."""

from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, BLOCK, GAS

from cases.gas.curve import PressureCurve
from cases.gas.cylinder import ATMOSPHERE, Crank
from cases.gas.given import gas_given
from cases.gas.solve import gas_load
from cases.gas.thrust import Piston, acceleration, side_thrust, thrust_of
from cases.gas.wall_load import WallLoad

CRANK = Crank(bore=80, stroke=84, rod=140, compression_ratio=9.0)
DEG = np.arange(-180.0, 181.0)
PISTON = Piston(mass=400.0, pin_height=30.0)


def load(pressure):
    """Of a wall that bears a pressure [MPa] at all angles."""
    absolute = np.full(len(DEG), pressure + ATMOSPHERE)
    curve = PressureCurve(
        crank=CRANK, deg=DEG, pressure=absolute, peak=pressure + ATMOSPHERE, peak_deg=0.0
    )
    return WallLoad(curve=curve, top_ring=6.0, crown_below_deck=0.5, section_depth=24.0)


def test_acceleration_at_the_ends_of_the_stroke():
    """R w2 (1 + R/L) at the top and -R w2 (1 - R/L) at the bottom; w = 628.3185 /s."""
    top, bottom = acceleration(CRANK, 6000.0, [0.0, 180.0])
    assert top == pytest.approx(42 * 628.3185307**2 * 1.3)
    assert bottom == pytest.approx(-42 * 628.3185307**2 * 0.7)


def test_acceleration_is_the_second_derivative_of_the_depth():
    step = np.rad2deg(1e-3)
    before, at, after = (CRANK.depth(DEG + turn) for turn in (-step, 0.0, step))
    expected = 628.3185307**2 * (before - 2 * at + after) / 1e-6
    assert acceleration(CRANK, 6000.0, DEG) == pytest.approx(expected, rel=1e-4, abs=20.0)


def test_gas_less_inertia_times_the_tangent_of_the_rod():
    """30 deg, 7 MPa, 400 g, 6000 rpm: area 5026.55 mm2, a = 16.962e6 mm/s2 by
    w2 (36.3731 + 882 / 138.416 + 583443 / 138.416^3), sin phi = 0.15;
    (35185.8 - 6784.8) x 0.151717 = 4308.9 N. The pin: 0.5 + 7.2109 + 30 mm down."""
    found = side_thrust(load(7.0), PISTON, 6000.0, [30.0])
    assert found.force == pytest.approx([4308.9], rel=1e-4)
    depth = 42 * (1 - np.cos(np.pi / 6)) + 140 - (140**2 - 21**2) ** 0.5
    assert found.depth == pytest.approx([30.5 + depth])


@pytest.mark.parametrize(
    ("rotation", "deg", "mass", "clock"),
    [
        pytest.param("clockwise", 40.0, 1e-6, 0.0, id="firing stroke"),
        pytest.param("clockwise", -40.0, 1e-6, 6.0, id="compression"),
        pytest.param("clockwise", 40.0, 1e5, 6.0, id="inertia above the gas"),
        pytest.param("anticlockwise", 40.0, 1e-6, 6.0, id="the other way round"),
        pytest.param("anticlockwise", -40.0, 1e-6, 0.0, id="the other way round, compression"),
    ],
)
def test_which_side(rotation, deg, mass, clock):
    """Seen from bore 1, the 9:00 end, a crank that turns clockwise has its pin to the right, at
    6:00, after the top; the rod leans on the piston, which presses on 12:00."""
    piston = replace(PISTON, rotation=rotation, mass=mass)
    found = side_thrust(load(7.0), piston, 6000.0, [deg])
    assert found.side() == pytest.approx([clock])


def test_of_a_case(case_of):
    """Piston of 0.7 g/cm3 of the bore's cube, 358 g, its pin 0.35 bores down, where not stated."""
    gas = '[gas]\npeak_pressure = "120 bar"\n'
    crank = '[engine]\nstroke = "84 mm"\nrod = "140 mm"\nspeed = "6000 rpm"\n'
    block = BLOCK.replace(GAS, gas)
    plain = case_of(block, BARE, crank)
    piston = gas_given(plain).engine.piston
    assert (piston.mass, piston.pin_height) == (pytest.approx(358.4), pytest.approx(28.0))
    stated = 'piston_mass = "0.5 kg"\npin_height = "33 mm"\nrotation = "anticlockwise"\n'
    case = case_of(block, BARE, crank + stated)
    found = thrust_of(case, gas_load(case)).largest()
    piston = Piston(mass=500.0, pin_height=33.0, rotation="anticlockwise")
    by_hand = side_thrust(gas_load(case).wall_load, piston, 6000.0, np.arange(0.0, 180.0))
    assert found.clock == 6.0
    assert found.force == pytest.approx([by_hand.force.max()], rel=1e-3)
    assert 10.0 < float(found.deg[0]) < 40.0
