"""Gas in the cylinder: one zone of gas through a cycle, and the engine that gives what is wanted.

A four-stroke engine at one speed. Crank angles are in degrees after the top of the firing stroke;
the gas is closed in from the intake valve's closing to the bottom after the burn. mm, MPa, K, J
and W; a pressure is absolute unless it is said to push on the wall. scipy is imported where a cycle
is solved, so that a case file is refused at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from cases.gas.curve import PressureCurve
from cases.gas.cylinder import (
    ATMOSPHERE,
    GAS_CONSTANT,
    ZERO_CELSIUS,
    Array,
    Burn,
    Capacity,
    Crank,
    Walls,
    woschni,
)

MOTORED_EXPONENT = 1.32
"""Polytropic exponent of Woschni's cylinder without burn (common practice, no source)."""
CLOSED, EXCHANGE, BURNING = 2.28, 6.18, 3.24e-3
"""Woschni's C1 with closed valves and in gas exchange, and C2 from the start of the burn on
[m/(s K)]: Woschni, SAE 670931 (1967); Heywood 1988, sec. 12.4 (from memory)."""

COOLANT_SHARE = (0.17, 0.26)
"""Of the fuel's heat that the coolant takes at full load, with what exhaust ports and friction
bring (Heywood 1988, Table 12.1, from memory)."""
COOLANT_BY_SPEED = (0.25, 0.35)
"""The same at full throttle, at high speed and at low, of a petrol engine: another source, opened
(lecture notes on heat balances, student.infinitycodestudio.com/?p=2363)."""
LEAST_WALL_SHARE = 0.03
"""Of the fuel's heat that the closed gas gives to the walls (common practice, no source)."""
HOTTEST_GAS = 4000.0  # no fuel in air comes near; the heat capacities end here [K]
INTAKE_RANGE = (0.02, 0.6)
"""Intake pressures that a wanted power is looked for in (common practice, no source). [MPa]."""
ANGLE_STEP = 0.1  # of crank angle between the values that are kept [deg]
RELATIVE, ABSOLUTE = 1e-10, 1e-9
"""Tolerances of the integration; the absolute one in K and J."""


class EngineError(ValueError):
    """The engine can't do what is asked of it; ``key`` is the key of the case file to look at."""

    def __init__(self, text: str, key: str = "") -> None:
        super().__init__(text)
        self.key = key


@dataclass(frozen=True, eq=False, kw_only=True)
class Closed:
    """The gas from the closing of the intake valve to the bottom, shape (n,) each."""

    crank: Crank
    capacity: Capacity
    burn: Burn
    mass: float  # [kg]
    deg: Array  # rising
    pressure: Array  # [MPa]
    temperature: Array  # [K]
    film: Array  # 0 without walls [W/(mm2 K)]
    work: Array  # done by the gas up to here [J]
    wall_heat: Array  # given to the walls up to here [J]
    peak: float  # [MPa]
    peak_deg: float

    @property
    def energy_error(self) -> float:
        """Heat of the burn that the balance does not account for, as a share of it."""
        released = self.burn.heat * float(self.burn.burned(self.deg[-1]))
        gained = self.mass * self.capacity.energy(self.temperature[0], self.temperature[-1])
        return float((released - self.wall_heat[-1] - self.work[-1] - gained) / released)


def close_in(
    crank: Crank,
    burn: Burn,
    *,
    pressure: float,
    temperature: float,
    closing: float = -180.0,
    capacity: Capacity | None = None,
    walls: Walls | None = None,
) -> Closed:
    r"""Follow one zone of gas from the closing of the intake valve to the bottom after the burn.

    .. math:: m c_v(T)\,dT = dQ_{burn} - h A (T - T_w)\,dt - p\,dV, \qquad p V = m R T

    Parameters
    ----------
    crank : Crank
    burn : Burn
        Starts after ``closing`` and ends before 180.
    pressure, temperature : float
        Of the gas where the valve closes. [MPa], [K]
    closing : float
        Crank angle where the intake valve closes, -180 the bottom. [deg]
    capacity : Capacity, optional
    walls : Walls, optional
        None: no heat is lost.

    Returns
    -------
    Closed

    Raises
    ------
    EngineError
        If the burn does not lie within the closed part, or the gas gets hotter than
        ``HOTTEST_GAS``.

    References
    ----------
    .. [1] Heywood, *Internal Combustion Engine Fundamentals*, 1988, sec. 14.4 (from memory).
    """
    if not closing <= burn.start < burn.end <= 180:
        raise EngineError(
            f"The burn would last from {burn.start:.0f} to {burn.end:.0f} deg after the top, but "
            f"the gas is closed in from {closing:.0f} to 180 deg only. Give a shorter "
            "burn_duration, or a burn_centre nearer to the top.",
            "burn_duration",
        )
    balance = _Balance(
        crank=crank, burn=burn, capacity=capacity or Capacity(), walls=walls, pressure=pressure,
        temperature=temperature, volume=float(crank.volume(closing)),
    )  # fmt: skip
    pieces = _integrated(balance, closing)
    deg, values = _sampled(pieces)
    curve = balance.pressure_at(deg, values[0])
    peak, peak_deg = _peak(balance, pieces, deg[int(np.argmax(curve))])
    return Closed(
        crank=crank,
        capacity=balance.capacity,
        burn=burn,
        mass=balance.mass,
        deg=deg,
        pressure=curve,
        temperature=values[0],
        film=balance.film(deg, values[0]),
        work=values[1],
        wall_heat=values[2],
        peak=peak,
        peak_deg=peak_deg,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Balance:
    """The balance of energy of the closed gas; the last three are where the valve closes."""

    crank: Crank
    burn: Burn
    capacity: Capacity
    walls: Walls | None
    pressure: float  # [MPa]
    temperature: float  # [K]
    volume: float  # [mm3]

    @property
    def mass(self) -> float:
        """Of the gas. [kg]."""
        return 1e-3 * self.pressure * self.volume / (GAS_CONSTANT * self.temperature)

    def pressure_at(self, deg: Array, hot: Array) -> Array:
        """Pressure at angles, the temperature [K] known, shape (n,) each. [MPa]."""
        return np.asarray(1e3 * self.mass * GAS_CONSTANT * hot / self.crank.volume(deg))

    def film(self, deg: Array, hot: Array) -> Array:
        """Film coefficient at angles and temperatures [K], (n,); 0 without walls. [W/(mm2 K)]."""
        volume = self.crank.volume(deg)
        return self._film(deg, hot, volume, self.pressure_at(deg, hot)) + np.zeros(len(deg))

    def change(self, deg: float, y: Array) -> list[float]:
        """Change of temperature [K/deg], work and heat to the walls [J/deg] at one angle."""
        hot, mass = float(y[0]), self.mass
        volume, widening = self.crank.motion(deg)
        now = 1e3 * mass * GAS_CONSTANT * hot / volume
        lost = 0.0
        if self.walls is not None:
            film = float(self._film(deg, hot, volume, now))
            area = 2 * self.crank.area + 4 * volume / self.crank.bore
            lost = film * area * (hot - self.walls.temperature) / (6 * self.walls.speed)
        work = 1e-3 * now * widening
        return [(self.burn.rate(deg) - lost - work) / (mass * self.capacity.cv(hot)), work, lost]

    def _film(
        self, deg: float | Array, hot: float | Array, volume: float | Array, now: float | Array
    ) -> Array:
        crank = self.crank
        if self.walls is None:
            return np.zeros(())
        velocity = CLOSED * crank.stroke * self.walls.speed / 30000
        motored = self.pressure * (self.volume / volume) ** MOTORED_EXPONENT
        share = crank.swept * self.temperature / (self.pressure * self.volume)
        burning = BURNING * share * np.maximum(now - motored, 0.0)
        return woschni(crank.bore, now, hot, velocity + burning * (deg >= self.burn.start))


@dataclass(frozen=True, slots=True)
class _Piece:
    """What was integrated without a kink, between two angles [deg]."""

    low: float
    high: float
    at: Callable[[ArrayLike], Array]  # temperature, work and heat to the walls, (3, n)


def _integrated(balance: _Balance, closing: float) -> list[_Piece]:
    """From the valve's closing to the burn, through the burn, and on to the bottom."""
    from scipy.integrate import solve_ivp

    def too_hot(_deg: float, y: Array) -> float:
        return float(y[0]) - HOTTEST_GAS

    too_hot.terminal = True  # type: ignore[attr-defined]
    burn, y = balance.burn, np.array([balance.temperature, 0.0, 0.0])
    pieces = []
    for low, high in pairwise((closing, burn.start, burn.end, 180.0)):
        if high <= low:
            continue
        done: Any = solve_ivp(
            balance.change, (low, high), y, method="DOP853", rtol=RELATIVE, atol=ABSOLUTE,
            dense_output=True, events=too_hot,
        )  # fmt: skip
        if done.status != 0:
            raise EngineError(
                f"The gas would get hotter than {HOTTEST_GAS:g} K. Check air_fuel_ratio, "
                "fuel_heating_value and intake_temperature.",
                "air_fuel_ratio",
            )
        pieces.append(_Piece(low, high, done.sol))
        y = done.y[:, -1]
    return pieces


def _sampled(pieces: Sequence[_Piece]) -> tuple[Array, Array]:
    """Angles, rising, shape (n,), and what was integrated there, shape (3, n)."""
    angles = [np.linspace(of.low, of.high, _points(of.low, of.high)) for of in pieces]
    rows = [of.at(deg) for of, deg in zip(pieces, angles, strict=True)]
    keep = [slice(1 if place else 0, None) for place in range(len(pieces))]
    deg = np.concatenate([one[part] for one, part in zip(angles, keep, strict=True)])
    return deg, np.concatenate([row[:, part] for row, part in zip(rows, keep, strict=True)], axis=1)


def _peak(balance: _Balance, pieces: Sequence[_Piece], around: float) -> tuple[float, float]:
    """Largest pressure [MPa] and its angle, looked for within a step of an angle."""
    peak, peak_deg = 0.0, 0.0
    for of in pieces:
        fine = np.linspace(max(of.low, around - ANGLE_STEP), min(of.high, around + ANGLE_STEP), 201)
        if fine[0] < fine[-1]:
            near = balance.pressure_at(fine, of.at(fine)[0])
            place = int(np.argmax(near))
            if near[place] > peak:
                peak, peak_deg = float(near[place]), float(fine[place])
    return peak, peak_deg


def _points(low: float, high: float) -> int:
    return max(math.ceil((high - low) / ANGLE_STEP), 50) + 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Engine:
    """What is known of an engine, as a case states it; efficiencies are shares."""

    crank: Crank
    cylinders: int
    speed: float  # [rpm]
    intake_pressure: float  # [MPa]
    intake_temperature: float  # [degC]
    air_fuel_ratio: float  # by mass
    fuel_heating_value: float  # the lower one [J/g]
    combustion_efficiency: float
    burn_duration: float  # [deg]
    burn_centre: float  # where half has burned [deg]
    wall_temperature: float  # [degC]
    mechanical_efficiency: float  # brake over indicated work; pumping counts as friction
    volumetric_efficiency: float  # charge over what the swept volume holds at the intake
    intake_closing: float = 0.0  # after the bottom [deg]
    capacity: Capacity = field(default_factory=Capacity)


@dataclass(frozen=True, eq=False, kw_only=True)
class Cycle:
    """An engine's cycle and what comes of it."""

    engine: Engine
    closed: Closed

    @property
    def curve(self) -> PressureCurve:
        """Pressure of the closed gas by crank angle."""
        of = self.closed
        return PressureCurve(
            crank=of.crank, deg=of.deg, pressure=of.pressure, peak=of.peak, peak_deg=of.peak_deg
        )

    @property
    def peak(self) -> float:
        """Largest pressure. [MPa]."""
        return self.closed.peak

    @property
    def peak_deg(self) -> float:
        """Where it is. [deg]."""
        return self.closed.peak_deg

    @property
    def work(self) -> float:
        """Indicated work of compression and expansion, one cylinder, one cycle. [J]."""
        engine = self.engine
        closing = float(engine.crank.volume(engine.intake_closing - 180.0))
        bottom = engine.crank.clearance + engine.crank.swept
        before = 1e-3 * float(self.closed.pressure[0]) * (closing - bottom)
        return float(self.closed.work[-1]) + before

    @property
    def imep(self) -> float:
        """Indicated mean effective pressure, gross: of compression and expansion. [MPa]."""
        return 1e3 * self.work / self.engine.crank.swept

    @property
    def bmep(self) -> float:
        """Brake mean effective pressure. [MPa]."""
        return self.engine.mechanical_efficiency * self.imep

    @property
    def indicated_power(self) -> float:
        """Of all cylinders. [kW]."""
        return 1e-3 * self.engine.cylinders * self.work * self.engine.speed / 120

    @property
    def power(self) -> float:
        """Brake power of all cylinders. [kW]."""
        return self.engine.mechanical_efficiency * self.indicated_power

    @property
    def torque(self) -> float:
        """Brake torque, P = 2 pi N T. [N m]."""
        return 1e3 * self.power / (2 * math.pi * self.engine.speed / 60)

    @property
    def wall_heat(self) -> float:
        """Heat from the closed gas to the walls, one cylinder, mean over the cycle. [W]."""
        return float(self.closed.wall_heat[-1]) * self.engine.speed / 120

    @property
    def fuel_power(self) -> float:
        """Heat of the fuel of all cylinders, burned or not. [kW]."""
        engine = self.engine
        burned = self.closed.burn.heat / engine.combustion_efficiency
        return 1e-3 * engine.cylinders * burned * engine.speed / 120

    @property
    def wall_share(self) -> float:
        """Heat from the closed gas to the walls over that of the fuel."""
        return 1e-3 * self.engine.cylinders * self.wall_heat / self.fuel_power

    @property
    def friction_share(self) -> float:
        """Heat of friction and pumping over that of the fuel."""
        return (self.indicated_power - self.power) / self.fuel_power

    @property
    def boost(self) -> float:
        """Intake pressure above the standard atmosphere. [MPa]."""
        return self.engine.intake_pressure - ATMOSPHERE

    @cached_property
    def whole(self) -> tuple[Array, Array, Array, Array]:
        """Angle [deg], pressure [MPa], temperature [K] and film [W/(mm2 K)] from -180 to 540.

        All of shape (n,). Up to the closing of the intake valve the gas stays as it is there. In
        the exhaust stroke it has expanded without loss from the bottom to the intake pressure; in
        the intake stroke it is as in the intake. Both have Woschni's film of gas exchange.
        """
        engine, closed = self.engine, self.closed
        velocity = EXCHANGE * engine.crank.stroke * engine.speed / 30000
        end = float(closed.temperature[-1])
        ratio = engine.capacity.gamma(end)
        p = engine.intake_pressure
        spent = end * (p / float(closed.pressure[-1])) ** ((ratio - 1) / ratio)
        pieces = [(closed.deg, closed.pressure, closed.temperature, closed.film)]
        intake = engine.intake_temperature + ZERO_CELSIUS
        still = float(closed.pressure[0]), float(closed.temperature[0])
        open_parts = [((180.0, 360.0), p, spent), ((360.0, 540.0), p, intake)]
        if engine.intake_closing:
            open_parts.insert(0, ((-180.0, float(closed.deg[0])), *still))
        for ends, pressure, hot in open_parts:
            deg = np.linspace(*ends, _points(*ends))
            film = woschni(engine.crank.bore, pressure, hot, velocity)
            flat = [np.full(len(deg), float(value)) for value in (pressure, hot, film)]
            place = 0 if ends[0] < 0 else len(pieces)
            pieces.insert(place, (deg, flat[0], flat[1], flat[2]))
        deg, pressure_, hot_, film_ = (np.concatenate(rows) for rows in zip(*pieces, strict=True))
        return deg, pressure_, hot_, film_


@lru_cache(maxsize=8)  # a wanted load asks for those of the ends each time
def run_engine(engine: Engine) -> Cycle:
    """The cycle of an engine at its intake pressure.

    The cylinder holds charge of the intake's temperature where the intake valve closes: of the
    intake's density, times the volumetric efficiency, in its largest volume. The share of the
    swept volume is fresh; what the clearance holds is burned gas left over.

    Raises
    ------
    EngineError
        As :func:`close_in` does.
    """
    crank, hot = engine.crank, engine.intake_temperature + ZERO_CELSIUS
    density = 1e-3 * engine.volumetric_efficiency * engine.intake_pressure / (GAS_CONSTANT * hot)
    fresh = density * crank.swept
    fuel = 1000 * fresh / (1 + engine.air_fuel_ratio)
    heat = engine.combustion_efficiency * fuel * engine.fuel_heating_value
    closing = engine.intake_closing - 180.0
    filling = (crank.swept + crank.clearance) / float(crank.volume(closing))
    closed = close_in(
        crank,
        Burn.centred(engine.burn_centre, engine.burn_duration, heat),
        pressure=engine.volumetric_efficiency * engine.intake_pressure * filling,
        temperature=hot,
        closing=closing,
        capacity=engine.capacity,
        walls=Walls(temperature=engine.wall_temperature + ZERO_CELSIUS, speed=engine.speed),
    )
    return Cycle(engine=engine, closed=closed)


def run_engine_for(
    engine: Engine, wanted: float, read: Callable[[Cycle], float], unit: str, key: str
) -> Cycle:
    """The cycle at the intake pressure that gives a wanted value.

    Parameters
    ----------
    engine : Engine
        Its intake pressure does not count.
    wanted : float
    read : callable
        What is wanted of a cycle; rises with the intake pressure.
    unit, key : str
        Of the wanted value, for the message.

    Raises
    ------
    EngineError
        If no intake pressure within ``INTAKE_RANGE`` gives it.
    """
    from scipy.optimize import brentq

    low, high = INTAKE_RANGE
    ends = [read(run_engine(_at(engine, pressure))) for pressure in INTAKE_RANGE]
    if not ends[0] <= wanted <= ends[1]:
        short, pressure, value = (
            ("more than", high, ends[1]) if wanted > ends[1] else ("less than", low, ends[0])
        )
        raise EngineError(
            f"{wanted:.4g} {unit} is {short} this engine gives at any intake pressure from "
            f"{10 * low:g} to {10 * high:g} bar: {value:.4g} {unit} at {10 * pressure:g} bar. "
            "Change what is wanted, or the speed, the mixture or the burn.",
            key,
        )
    found = brentq(
        lambda pressure: read(run_engine(_at(engine, pressure))) - wanted, low, high, rtol=1e-8
    )
    return run_engine(_at(engine, float(found)))


def _at(engine: Engine, intake_pressure: float) -> Engine:
    return replace(engine, intake_pressure=intake_pressure)
