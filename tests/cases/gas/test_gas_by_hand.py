"""An engine's gas by hand: constants of handbooks, parts of a cycle, what a case hands on.

Woschni: SAE 670931 (1967), in Heywood, *Internal Combustion Engine Fundamentals*, 1988, sec. 12.4
(from memory): velocity C1 Sp + C2 (Vd T1 / p1 V1) (p - pm), C1 = 2.28 closed and 6.18 in gas
exchange, C2 = 3.24e-3 from the burn on, pm a motored pressure.
"""

import numpy as np
import pytest
from bench import BLOCK, ENGINE, GAS

from cases.gas.cycle import Engine, close_in, run_engine
from cases.gas.cylinder import Burn, Capacity, Crank, Walls, woschni
from cases.gas.solve import gas_load
from cases.gas.wall_load import WallLoad

CRANK = Crank(bore=80, stroke=84, rod=140, compression_ratio=9.0)
INVENTED = Engine(
    crank=CRANK, cylinders=4, speed=6000.0, intake_pressure=0.2, intake_temperature=50.0,
    air_fuel_ratio=12.0, fuel_heating_value=43000.0, combustion_efficiency=0.85,
    burn_duration=60.0, burn_centre=9.0, wall_temperature=180.0, mechanical_efficiency=0.85,
    volumetric_efficiency=0.95,
)  # fmt: skip


@pytest.fixture(scope="module")
def cycle():
    return run_engine(INVENTED)


def test_the_walls_get_their_heat_once_in_two_turns(cycle):
    """6000 rpm are 50 cycles a second; what they get in one is the sum over the closed part of
    h A (T - Tw) dt, 36,000 degrees a second."""
    closed = cycle.closed
    assert cycle.wall_heat == pytest.approx(50 * closed.wall_heat[-1])
    area = np.pi * 80**2 / 2 + 4 * CRANK.volume(closed.deg) / 80
    flow = closed.film * area * (closed.temperature - 180 - 273.15)
    assert closed.wall_heat[-1] == pytest.approx(np.trapezoid(flow, closed.deg) / 36_000, rel=1e-4)


def test_film_of_the_strokes_of_gas_exchange(cycle):
    """6.18 x the mean piston speed, 2 x 0.084 m x 100 /s = 16.8 m/s, at the intake's pressure;
    what is pushed out has expanded from the bottom without loss."""
    deg, pressure, hot, film = cycle.whole
    intake, exhaust = (deg > 361) & (deg < 539), (deg > 181) & (deg < 359)
    assert hot[intake] == pytest.approx(323.15)
    assert pressure[intake | exhaust] == pytest.approx(0.2)
    end, last = cycle.closed.temperature[-1], cycle.closed.pressure[-1]
    gamma = 1.38 - 8e-5 * (end - 300)
    spent = end * (0.2 / last) ** ((gamma - 1) / gamma)
    assert hot[exhaust] == pytest.approx(spent)
    for stroke, temperature in ((intake, 323.15), (exhaust, spent)):
        assert film[stroke] == pytest.approx(float(woschni(80.0, 0.2, temperature, 6.18 * 16.8)))


def test_film_of_the_burn_has_the_gas_s_own_motion():
    """At one angle after the burn's start, by Woschni's formula with the motored pressure
    p1 (V1 / V)^1.32."""
    burn = Burn(start=-20, duration=60, heat=1500.0)
    closed = close_in(
        CRANK, burn, pressure=0.19, temperature=323.15, walls=Walls(temperature=453.15, speed=6000)
    )
    at = int(np.searchsorted(closed.deg, 30.0))
    volume, first = (float(CRANK.volume(deg)) for deg in (closed.deg[at], -180.0))
    swept = np.pi * 80**2 / 4 * 84
    motored = 0.19 * (first / volume) ** 1.32
    by_burn = 3.24e-3 * swept * 323.15 / (0.19 * first) * (closed.pressure[at] - motored)
    velocity = 2.28 * 16.8 + by_burn
    expected = woschni(80.0, closed.pressure[at], closed.temperature[at], velocity)
    assert closed.film[at] == pytest.approx(float(expected), rel=1e-6)


def test_capacities_fall_as_gas_gets_hotter():
    """cp / cv of burned gas is less than that of cold air: 1.38 at 300 K, 1.24 at 2050 K by
    Gatowski et al., SAE 841359 (from memory)."""
    assert Capacity().gamma(300.0) == pytest.approx(1.38)
    assert Capacity().gamma(2050.0) == pytest.approx(1.24)


STATED = (
    'crankcase_pressure = "1.4 bar"\ncrown_below_deck = "0.8 mm"\ngamma_300 = 1.37\n'
    'gamma_slope = -9e-5\nintake_closing = "40 deg"\ncylinders = 6\n'
)


def test_what_a_case_states_of_its_engine_reaches_the_wall(case_of):
    case = case_of(BLOCK.replace(GAS, ""), ENGINE, STATED,
                   "[gas]\npressure_factor = 1.2\n", '[[design]]\nname = "bare"\n')  # fmt: skip
    load = gas_load(case).wall_load
    engine = load.cycle.engine
    assert load.crankcase == pytest.approx(0.14)
    assert load.crown_below_deck == pytest.approx(0.8)
    assert load.factor == 1.2
    assert load.section_depth == 24.0
    assert (engine.capacity.gamma_300, engine.capacity.slope) == (1.37, -9e-5)
    assert (engine.intake_closing, engine.cylinders) == (40.0, 6)
    assert load.peak == pytest.approx(1.2 * load.cycle.peak - 0.14)
    assert load.pressure.max() == pytest.approx(load.peak, rel=1e-3)
    assert float(load.reach(0.0)) == pytest.approx(0.8 + 6.0)


def test_a_crown_that_stands_proud_bares_less_wall(cycle):
    """6 mm to the ring, 1 mm proud: 5 mm of wall at the top."""
    load = WallLoad(curve=cycle.curve, top_ring=6.0, crown_below_deck=-1.0, section_depth=24.0)
    assert float(load.reach(0.0)) == pytest.approx(5.0)
