"""Problems of the gas, its cycle and its load on the wall, whose answer is known, each posed once.

mm, MPa, K and J. They have no mesh, so their fineness changes nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy

from cases.gas.curve import PressureCurve
from cases.gas.cycle import Closed, Cycle, Engine, close_in, run_engine
from cases.gas.cylinder import ATMOSPHERE, GAS_CONSTANT, Array, Burn, Capacity, Crank, Walls
from cases.gas.wall_load import WallLoad

ENDLESS_ROD = Crank(bore=100, stroke=100, rod=5e7, compression_ratio=10)
SQUARE = Crank(bore=86, stroke=86, rod=143.5, compression_ratio=10.5)
DIATOMIC = Capacity(gamma_300=1.4, slope=0.0)
FIVE = 1 - math.exp(-5)  # has burned when the duration ends, where a = 5


@dataclass(frozen=True)
class GasAnswer:
    """A cycle whose start is known, to be read."""

    closed: Closed

    @property
    def solver(self) -> str:
        """Library that integrated."""
        return f"scipy {scipy.__version__}"

    @property
    def efficiency(self) -> float:
        """Work over the heat of the burn."""
        return float(self.closed.work[-1]) / self.closed.burn.heat


def otto(fineness: float = 1.0) -> GasAnswer:
    """A burn of 0.1 deg about the top; r = 10, 1 bar, 300 K, gamma 1.4, q / cv as of R = 287."""
    mass = 1e-3 * 0.1 * float(ENDLESS_ROD.volume(180)) / (GAS_CONSTANT * 300)
    burn = Burn(start=-0.05, duration=0.1, heat=mass * 1.8e6 * GAS_CONSTANT / 287)
    return GasAnswer(
        close_in(ENDLESS_ROD, burn, pressure=0.1, temperature=300.0, capacity=DIATOMIC)
    )


def finite_heat_release(start: float, fineness: float = 1.0) -> GasAnswer:
    """Q = 20 p1 V1 over 40 deg from ``start`` [deg]; r = 10, gamma 1.4, a = 5, m = 2."""
    heat = 20 * 1e-3 * 0.1 * float(ENDLESS_ROD.volume(180))
    burn = Burn(start=start, duration=40, heat=heat, burned_at_end=FIVE)
    return GasAnswer(
        close_in(ENDLESS_ROD, burn, pressure=0.1, temperature=300.0, capacity=DIATOMIC)
    )


def real_rod(fineness: float = 1.0) -> GasAnswer:
    """1000 J over 50 deg from -20 deg; 86 x 86 mm, rod 143.5 mm, r = 10.5, gamma 1.3."""
    burn = Burn(start=-20, duration=50, heat=1000.0, burned_at_end=FIVE)
    capacity = Capacity(gamma_300=1.3, slope=0.0)
    return GasAnswer(close_in(SQUARE, burn, pressure=0.1, temperature=350.0, capacity=capacity))


def balanced(fineness: float = 1.0) -> GasAnswer:
    """The same with walls at 450 K, 6000 rpm and gamma that falls with the temperature."""
    burn = Burn(start=-20, duration=50, heat=1000.0)
    walls = Walls(temperature=450.0, speed=6000.0)
    return GasAnswer(close_in(SQUARE, burn, pressure=0.1, temperature=350.0, walls=walls))


@dataclass(frozen=True)
class SpeedsAnswer:
    """An engine's cycles at high speed and at low, to be read."""

    fast: Cycle
    slow: Cycle

    @property
    def solver(self) -> str:
        """Library that integrated."""
        return f"scipy {scipy.__version__}"

    @property
    def coolant_heat(self) -> float:
        """Heat of gas and friction over that of the fuel, at high speed over that at low."""
        fast, slow = (of.wall_share + of.friction_share for of in (self.fast, self.slow))
        return fast / slow


def breathing_freely(bore: float, stroke: float, speed: float, cylinders: int) -> Cycle:
    """A petrol engine of a size [mm] and speed [rpm] at full throttle, the rest as is usual."""
    return run_engine(
        Engine(
            crank=Crank(bore=bore, stroke=stroke, rod=1.65 * stroke, compression_ratio=9.5),
            cylinders=cylinders, speed=speed, intake_pressure=0.1, intake_temperature=35.0,
            air_fuel_ratio=13.0, fuel_heating_value=43000.0, combustion_efficiency=0.92,
            burn_duration=60.0, burn_centre=8.0, wall_temperature=150.0,
            mechanical_efficiency=0.85, volumetric_efficiency=0.88, intake_closing=50.0,
        )
    )  # fmt: skip


def over_speeds(fineness: float = 1.0) -> SpeedsAnswer:
    """Four cylinders of 86 x 86 mm at full throttle, at 6000 and at 1500 rpm."""
    return SpeedsAnswer(*(breathing_freely(86, 86, speed, 4) for speed in (6000.0, 1500.0)))


@dataclass(frozen=True)
class WallAnswer:
    """A load on the wall by crank angle, to be read."""

    load: WallLoad

    @property
    def solver(self) -> str:
        """Library that reckoned."""
        return f"numpy {np.__version__}"

    def reached_at(self, depth: float) -> float:
        """Crank angle after the top at which the gas reaches a depth [mm]. [deg]."""
        fine = np.linspace(0, 180, 180_001)
        return float(np.interp(depth, self.load.reach(fine), fine))


UNEVEN = Crank(bore=86, stroke=86, rod=143, compression_ratio=10.5)


def _on_wall(deg: Array, pushing: Array, top_ring: float) -> WallAnswer:
    """Of pressures that push on the wall [MPa], the crown flush at the top, H without end."""
    gas = pushing + ATMOSPHERE
    most = int(np.argmax(gas))
    curve = PressureCurve(
        crank=UNEVEN, deg=deg, pressure=gas, peak=float(gas[most]), peak_deg=float(deg[most])
    )
    return WallAnswer(
        WallLoad(curve=curve, top_ring=top_ring, crown_below_deck=0.0, section_depth=1e3)
    )


def bared(fineness: float = 1.0) -> WallAnswer:
    """Five pressures at five angles; stroke 86, rod 143 mm, the ring 7 mm down."""
    deg = np.array([0.0, 10.0, 30.0, 60.0, 90.0])
    return _on_wall(deg, np.array([6.0, 7.5, 5.5, 2.0, 0.9]), 7.0)


def expansion(fineness: float = 1.0) -> WallAnswer:
    """8 MPa at the top, from there p (x + xc)^1.25 constant, xc = 86 / 9.5 mm; the ring 5 mm."""
    deg = np.linspace(0, 90, 90_001)
    clear = UNEVEN.stroke / (UNEVEN.compression_ratio - 1)
    return _on_wall(deg, 8.0 * (clear / (clear + UNEVEN.depth(deg))) ** 1.25, 5.0)
