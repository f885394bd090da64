"""Gas in the cylinder: crank, burn, one zone of gas through a cycle, and what reaches the wall.

A four-stroke engine at one speed. Crank angles are in degrees after the top of the firing stroke;
the gas is closed in from the intake valve's closing to the bottom after the burn. mm, MPa, K, J
and W; a pressure is absolute unless it is said to push on the wall. scipy is imported where a cycle
is solved, so that a case file is refused at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

GAS_CONSTANT = 287.05
"""Specific gas constant of dry air: 8314.46 / 28.965 (CODATA 2018; molar mass from memory).
The charge is taken as air. [J/(kg K)]."""
ZERO_CELSIUS = 273.15  # exact: definition of the Celsius scale [K]
ATMOSPHERE = 0.101325
"""Standard atmosphere, exact (CGPM 1954). [MPa]."""

GAMMA_300, GAMMA_SLOPE = 1.38, -8e-5
"""Ratio of the specific heats at 300 K, and its change per kelvin: Gatowski et al., SAE 841359
(1984), from memory. Not sure, so an input: 1.392 and -8.13e-5 are given for it elsewhere."""
BURNED_AT_END = 0.999
"""Share that has burned when the duration ends; a = -ln(1 - share) = 6.908 (common practice)."""
WIEBE_SHAPE = 2.0
"""Wiebe's exponent m of a spark-ignition engine (common practice; Heywood 1988, sec. 9.2)."""
MOTORED_EXPONENT = 1.32
"""Polytropic exponent of Woschni's cylinder without burn (common practice, no source)."""
CLOSED, EXCHANGE, BURNING = 2.28, 6.18, 3.24e-3
"""Woschni's C1 with closed valves and in gas exchange, and C2 from the start of the burn on
[m/(s K)]: Woschni, SAE 670931 (1967); Heywood 1988, sec. 12.4 (from memory)."""

HOTTEST_GAS = 4000.0  # no fuel in air comes near; the heat capacities end here [K]
INTAKE_RANGE = (0.02, 0.6)
"""Intake pressures that a wanted power is looked for in (common practice, no source). [MPa]."""
STEP = 0.1  # of crank angle between the values that are kept [deg]
RELATIVE, ABSOLUTE = 1e-10, 1e-9
"""Tolerances of the integration; the absolute one in K and J."""


class EngineError(ValueError):
    """The engine can't do what is asked of it; ``key`` is the key of the case file to look at."""

    def __init__(self, text: str, key: str = "") -> None:
        super().__init__(text)
        self.key = key


@dataclass(frozen=True, kw_only=True, slots=True)
class Crank:
    """Cylinder, crank and connecting rod; the rod is longer than half the stroke."""

    bore: float  # [mm]
    stroke: float  # [mm]
    rod: float  # between its eyes [mm]
    compression_ratio: float  # largest over smallest volume

    @property
    def area(self) -> float:
        """Area of the bore. [mm2]."""
        return math.pi * self.bore**2 / 4

    @property
    def swept(self) -> float:
        """Swept volume. [mm3]."""
        return self.area * self.stroke

    @property
    def clearance(self) -> float:
        """Volume above the piston at the top. [mm3]."""
        return self.swept / (self.compression_ratio - 1)

    def depth(self, deg: ArrayLike) -> Array:
        r"""Depth of the piston below its top position.

        .. math:: x = R + L - (R \cos\theta + \sqrt{L^2 - R^2 \sin^2\theta})

        Parameters
        ----------
        deg : array_like, shape (...)
            Crank angle after the top. [deg]

        Returns
        -------
        ndarray, shape (...)
            [mm].

        References
        ----------
        .. [1] Heywood, *Internal Combustion Engine Fundamentals*, 1988, sec. 2.2.

        Examples
        --------
        >>> Crank(bore=86, stroke=86, rod=143.5, compression_ratio=10).depth([0, 90, 180])
        array([ 0.     , 49.59401, 86.     ])
        """
        theta, crank = np.deg2rad(deg), self.stroke / 2
        reach = crank * np.cos(theta) + np.sqrt(self.rod**2 - (crank * np.sin(theta)) ** 2)
        return np.asarray(crank + self.rod - reach)

    def volume(self, deg: ArrayLike) -> Array:
        """Volume of the gas, shape (...). [mm3]."""
        return self.clearance + self.area * self.depth(deg)

    def motion(self, deg: float) -> tuple[float, float]:
        """Volume [mm3] and its change with the crank angle [mm3/deg] at one angle."""
        theta, crank = math.radians(deg), self.stroke / 2
        sine, cosine = crank * math.sin(theta), crank * math.cos(theta)
        along = math.sqrt(self.rod**2 - sine**2)
        volume = self.clearance + self.area * (crank + self.rod - cosine - along)
        return volume, self.area * (sine + sine * cosine / along) * math.pi / 180


@dataclass(frozen=True, kw_only=True, slots=True)
class Burn:
    r"""Wiebe's burn, x = 1 - exp(-a z^(m+1)), z the share of the duration that is over.

    References
    ----------
    .. [1] Heywood, *Internal Combustion Engine Fundamentals*, 1988, sec. 9.2; Stone,
       *Introduction to Internal Combustion Engines* (from memory).
    """

    start: float  # [deg]
    duration: float  # [deg]
    heat: float  # [J]
    burned_at_end: float = BURNED_AT_END
    shape: float = WIEBE_SHAPE  # m

    @classmethod
    def centred(cls, centre: float, duration: float, heat: float) -> Burn:
        """The burn of which half is over at the angle ``centre`` [deg]; heat in J."""
        half = (math.log(2) / _wiebe_rate(BURNED_AT_END)) ** (1 / (WIEBE_SHAPE + 1))
        return cls(start=centre - half * duration, duration=duration, heat=heat)

    @property
    def end(self) -> float:
        """Where the duration ends; the little that is left burns after it. [deg]."""
        return self.start + self.duration

    def burned(self, deg: ArrayLike) -> Array:
        """Share that has burned, shape (...).

        Examples
        --------
        >>> burn = Burn(start=-20, duration=40, heat=1000.0)
        >>> burn.burned([-20, 0, 20, 90])
        array([0.     , 0.57831, 0.999  , 1.     ])
        """
        z = np.maximum((np.asarray(deg, dtype=float) - self.start) / self.duration, 0.0)
        return 1 - np.exp(-_wiebe_rate(self.burned_at_end) * z ** (self.shape + 1))

    def rate(self, deg: float) -> float:
        """Heat set free at one angle. [J/deg]."""
        z = (deg - self.start) / self.duration
        if z <= 0:
            return 0.0
        a, m = _wiebe_rate(self.burned_at_end), self.shape
        return self.heat * a * (m + 1) * z**m * math.exp(-a * z ** (m + 1)) / self.duration


def _wiebe_rate(burned_at_end: float) -> float:
    """Wiebe's a = -ln(1 - share burned at the end)."""
    return -math.log1p(-burned_at_end)


@dataclass(frozen=True, kw_only=True, slots=True)
class Capacity:
    """Ratio of the specific heats, linear in the temperature; cv = R / (gamma - 1)."""

    gamma_300: float = GAMMA_300
    slope: float = GAMMA_SLOPE  # [1/K]

    def gamma(self, temperature: float) -> float:
        """Ratio of the specific heats at a temperature [K]."""
        return self.gamma_300 + self.slope * (temperature - 300.0)

    def cv(self, temperature: float) -> float:
        """Specific heat at constant volume. [J/(kg K)]."""
        return GAS_CONSTANT / (self.gamma(temperature) - 1)

    def energy(self, low: float, high: float) -> float:
        """Internal energy from one temperature to another, the integral of cv. [J/kg].

        Examples
        --------
        >>> Capacity(gamma_300=1.4, slope=0.0).energy(300.0, 400.0)
        71762.5
        """
        if self.slope == 0:
            return self.cv(low) * (high - low)
        share = (self.gamma(high) - 1) / (self.gamma(low) - 1)
        return GAS_CONSTANT / self.slope * math.log(share)


@dataclass(frozen=True, kw_only=True, slots=True)
class Walls:
    """What the gas gives heat to, head, piston and bore alike."""

    temperature: float  # [K]
    speed: float  # of the crank [rpm]


def woschni(bore: float, pressure: ArrayLike, temperature: ArrayLike, velocity: ArrayLike) -> Array:
    r"""Film coefficient between gas and wall.

    .. math:: h = 3.26\, B^{-0.2} p^{0.8} T^{-0.55} w^{0.8}

    in W/(m2 K), with m, kPa, K and m/s.

    Parameters
    ----------
    bore : float
        [mm]
    pressure, temperature, velocity : array_like, shape (...)
        Of the gas. [MPa], [K], [m/s]

    Returns
    -------
    ndarray, shape (...)
        [W/(mm2 K)].

    References
    ----------
    .. [1] Woschni, SAE 670931, 1967; Heywood, *Internal Combustion Engine Fundamentals*, 1988,
       sec. 12.4 (constants from memory).

    Examples
    --------
    >>> float(1e6 * woschni(100.0, 5.0, 2000.0, 20.0))
    790.04
    """
    p, t, w = (np.asarray(value, dtype=float) for value in (pressure, temperature, velocity))
    film = 3.26e-6 * (bore / 1000) ** -0.2 * (1000 * p) ** 0.8 * t**-0.55 * w**0.8
    return np.asarray(film)


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
    from scipy.integrate import solve_ivp

    capacity = capacity or Capacity()
    if not closing <= burn.start < burn.end <= 180:
        raise EngineError(
            f"The burn would last from {burn.start:.0f} to {burn.end:.0f} deg after the top, but "
            f"the gas is closed in from {closing:.0f} to 180 deg only. Give a shorter "
            "burn_duration, or a burn_centre nearer to the top.",
            "burn_duration",
        )
    start_volume = float(crank.volume(closing))
    mass = 1e-3 * pressure * start_volume / (GAS_CONSTANT * temperature)

    def state(deg: float, hot: float) -> tuple[float, float, float]:
        """Volume change [mm3/deg], pressure [MPa] and film [W/(mm2 K)]."""
        volume, change = crank.motion(deg)
        now = 1e3 * mass * GAS_CONSTANT * hot / volume
        if walls is None:
            return change, now, 0.0
        velocity = CLOSED * crank.stroke * walls.speed / 30000
        if deg >= burn.start:
            motored = pressure * (start_volume / volume) ** MOTORED_EXPONENT
            share = crank.swept * temperature / (pressure * start_volume)
            velocity += BURNING * share * max(now - motored, 0.0)
        return change, now, float(woschni(crank.bore, now, hot, velocity))

    def change(deg: float, y: Array) -> list[float]:
        hot = float(y[0])
        growth, now, film = state(deg, hot)
        lost = 0.0
        if walls is not None:
            area = 2 * crank.area + 4 * crank.motion(deg)[0] / crank.bore
            lost = film * area * (hot - walls.temperature) / (6 * walls.speed)
        work = 1e-3 * now * growth
        return [(burn.rate(deg) - lost - work) / (mass * capacity.cv(hot)), work, lost]

    def too_hot(_deg: float, y: Array) -> float:
        return float(y[0]) - HOTTEST_GAS

    too_hot.terminal = True  # type: ignore[attr-defined]
    y = np.array([temperature, 0.0, 0.0])
    pieces: list[tuple[float, float, Callable[[ArrayLike], Array]]] = []
    for low, high in ((closing, burn.start), (burn.start, burn.end), (burn.end, 180.0)):
        if high <= low:
            continue
        done: Any = solve_ivp(
            change, (low, high), y, method="DOP853", rtol=RELATIVE, atol=ABSOLUTE,
            dense_output=True, events=too_hot,
        )  # fmt: skip
        if done.status != 0:
            raise EngineError(
                f"The gas would get hotter than {HOTTEST_GAS:g} K. Check air_fuel_ratio, "
                "fuel_heating_value and intake_temperature.",
                "air_fuel_ratio",
            )
        pieces.append((low, high, done.sol))
        y = done.y[:, -1]

    def pressure_at(deg: Array, values: Array) -> Array:
        return np.asarray(1e3 * mass * GAS_CONSTANT * values[0] / crank.volume(deg))

    angles = [np.linspace(low, high, _points(low, high)) for low, high, _ in pieces]
    rows = [sol(deg) for deg, (_, _, sol) in zip(angles, pieces, strict=True)]
    keep = [slice(1 if place else 0, None) for place in range(len(pieces))]
    deg = np.concatenate([one[part] for one, part in zip(angles, keep, strict=True)])
    values = np.concatenate([one[:, part] for one, part in zip(rows, keep, strict=True)], axis=1)
    curve = pressure_at(deg, values)
    peak, peak_deg = 0.0, 0.0
    around = deg[int(np.argmax(curve))]
    for low, high, sol in pieces:
        fine = np.linspace(max(low, around - STEP), min(high, around + STEP), 201)
        if fine[0] < fine[-1]:
            near = pressure_at(fine, sol(fine))
            place = int(np.argmax(near))
            if near[place] > peak:
                peak, peak_deg = float(near[place]), float(fine[place])
    return Closed(
        crank=crank,
        capacity=capacity,
        burn=burn,
        mass=mass,
        deg=deg,
        pressure=curve,
        temperature=values[0],
        film=np.array([state(*pair)[2] for pair in zip(deg, values[0], strict=True)]),
        work=values[1],
        wall_heat=values[2],
        peak=peak,
        peak_deg=peak_deg,
    )


def _points(low: float, high: float) -> int:
    return max(math.ceil((high - low) / STEP), 50) + 1


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
    def boost(self) -> float:
        """Intake pressure above the standard atmosphere. [MPa]."""
        return self.engine.intake_pressure - ATMOSPHERE

    @cached_property
    def whole(self) -> tuple[Array, Array, Array, Array]:
        """Angle [deg], pressure [MPa], temperature [K] and film [W/(mm2 K)] from -180 to 540.

        Up to the closing of the intake valve the gas stays as it is there. In the exhaust stroke
        it has expanded without loss from the bottom to the intake pressure; in the intake stroke
        it is as in the intake. Both have Woschni's film of gas exchange.
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
