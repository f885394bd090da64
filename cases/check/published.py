"""Published answers, ours beside them, and how far the two may differ.

``PROBLEMS`` holds the values with their sources; how each problem is posed stands in
:mod:`cases.check.sections`, :mod:`cases.check.fits`, :mod:`cases.check.heat`,
:mod:`cases.check.friction`, :mod:`cases.check.gas`, :mod:`cases.check.fatigue`,
:mod:`cases.check.strengths`,
:mod:`cases.check.tubes`, :mod:`cases.check.solids`, :mod:`cases.check.solid_fits`,
:mod:`cases.check.solid_heat`, :mod:`cases.check.coolants`, :mod:`cases.check.engines` and
:mod:`cases.check.cracks`. mm, N,
MPa, W and degC; K and J in the gas.
"""

from __future__ import annotations

import datetime
import platform
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.base.templates import render
from cases.base.version import __version__
from cases.check import contacts as contact_problems
from cases.check import coolants as coolant_problems
from cases.check import cracks as crack_problems
from cases.check import distances as distance_problems
from cases.check import engines as engine_problems
from cases.check import fatigue as fatigue_problems
from cases.check import fits as fit_problems
from cases.check import friction as friction_problems
from cases.check import gas as gas_problems
from cases.check import heat as heat_problems
from cases.check import joints as joint_problems
from cases.check import sections as problems
from cases.check import solid_fits as solid_fit_problems
from cases.check import solid_heat as solid_heat_problems
from cases.check import solids as solid_problems
from cases.check import strengths as strength_problems
from cases.check import tubes as depth_problems
from cases.check import waters as water_problems
from cases.check.contacts import ContactAnswer
from cases.check.coolants import CoolantAnswer
from cases.check.cracks import CrackAnswer
from cases.check.distances import NotchAnswer
from cases.check.engines import ShopAnswer
from cases.check.fatigue import FatigueAnswer
from cases.check.fits import FitAnswer, PunchAnswer, StrengthAnswer
from cases.check.friction import FrictionAnswer
from cases.check.gas import GasAnswer, SpeedsAnswer, WallAnswer
from cases.check.heat import HeatAnswer
from cases.check.sections import Answer
from cases.check.solid_fits import ALLOY, IRON, SolidFitAnswer
from cases.check.solid_heat import SolidHeatAnswer
from cases.check.solids import SolidAnswer
from cases.check.strengths import MetalAnswer
from cases.check.tubes import LONG, DepthAnswer
from cases.check.waters import WaterAnswer
from cases.gas.cylinder import woschni
from fea.bore import bore_growth
from fea.closed_form import hertz_line
from fea.material import ABSOLUTE_ZERO

Array = NDArray[np.float64]

Reading = Callable[[Any], Array | float]
"""A value of an answer; where it has several places, that furthest from the published counts."""


@dataclass(frozen=True, slots=True)
class Target:
    """One published value, and where it is read in the answer."""

    quantity: str  # with its unit
    published: float
    allowed: float  # difference, as a share of the published value
    read: Reading


@dataclass(frozen=True, slots=True)
class Problem:
    """A problem with a published answer."""

    name: str
    setting: str
    source: str
    # takes the fineness
    solve: Callable[
        ...,
        Answer
        | DepthAnswer
        | HeatAnswer
        | SolidFitAnswer
        | SolidHeatAnswer
        | GasAnswer
        | SpeedsAnswer
        | WallAnswer
        | FatigueAnswer
        | MetalAnswer
        | CrackAnswer
        | FrictionAnswer
        | NotchAnswer
        | ContactAnswer
        | CoolantAnswer
        | WaterAnswer
        | ShopAnswer
        | SolidAnswer,
    ]
    targets: tuple[Target, ...]
    fineness: float = 1.0
    note: str = ""  # why more than a thousandth is allowed
    seconds: float = 0.2  # that it usually takes


@dataclass(frozen=True, slots=True)
class Outcome:
    """A published value and ours."""

    target: Target
    ours: float

    @property
    def difference(self) -> float:
        """Ours over the published value, less one."""
        return self.ours / self.target.published - 1

    @property
    def passed(self) -> bool:
        """Whether the difference is within what is allowed."""
        return abs(self.difference) <= self.target.allowed


@dataclass(frozen=True, slots=True)
class Checked:
    """A problem solved, with all of its values."""

    problem: Problem
    outcomes: tuple[Outcome, ...]
    solver: str

    @property
    def passed(self) -> bool:
        """Whether every value came near enough."""
        return all(outcome.passed for outcome in self.outcomes)


def check_problem(problem: Problem) -> Checked:
    """Solve a problem and set it beside what is published.

    Raises
    ------
    RunError
        If it can't be solved or read.
    """
    try:
        answer = problem.solve(fineness=problem.fineness)
        outcomes = []
        for target in problem.targets:
            found = np.atleast_1d(target.read(answer))
            ours = float(found[np.argmax(np.abs(found - target.published))])
            outcomes.append(Outcome(target, ours))
    except Exception as error:  # gmsh raises bare Exceptions
        raise RunError(f'problem "{problem.name}": {error}') from error
    return Checked(problem, tuple(outcomes), answer.solver)


def write_check_page(checked: Sequence[Checked], path: str | Path) -> None:
    """Write what was found as one page that needs no network.

    Raises
    ------
    OSError
        If the page can't be written.
    """
    page = render(
        "check/page.html.j2",
        checked=checked,
        failed=[one for one in checked if not one.passed],
        version=__version__,
        solver=checked[0].solver,
        machine=f"Python {platform.python_version()}, {platform.platform()}",
        made=datetime.datetime.now().astimezone().strftime("%Y-%m-%d %H:%M %Z"),
    )
    Path(path).write_text(page, encoding="utf-8")


def _growth(answer: Answer) -> float:
    return bore_growth(answer.solution).mean_growth_um


def _tube_growth(z: float) -> Reading:
    return lambda answer: answer.growth_at(z)


def _order(n: int) -> Reading:
    return lambda answer: bore_growth(answer.solution).orders_um[str(n)]


def _hoop(edge: str, part: str | None = None) -> Reading:
    return lambda answer: answer.polar(answer.nodes(edge), part)[1]


def _hoop_at(*places: complex, over: float = 1.0, centre: complex = 0) -> Reading:
    def read(answer: Answer) -> Array:
        nodes = [answer.node_at(z.real, z.imag) for z in places]
        hoop: Array = answer.polar(nodes, centre=(centre.real, centre.imag))[1]
        return hoop / over

    return read


def _stress_at(place: complex, component: str, over: float = 1.0) -> Reading:
    row = ("xx", "yy", "xy").index(component)
    return lambda answer: answer.stress(answer.node_at(place.real, place.imag))[row] / over


def _wider(a: complex, over: float = 1.0) -> Reading:
    """How far the nodes at a and -a move apart along the line through them."""

    def read(answer: Answer) -> float:
        apart = answer.moved(a.real, a.imag) - answer.moved(-a.real, -a.imag)
        return float(apart @ [a.real, a.imag]) / abs(a) / over

    return read


def _thin_ring_moment(answer: Answer) -> float:
    """Moment across the loads over P R: half the difference of the stress inside and outside."""
    nodes = [answer.node_at(0, 59.4), answer.node_at(0, 60.6)]
    inside, outside = answer.polar(nodes)[1]
    return float(inside - outside) / 2 * 1.2**2 / 6 / (1000 * 60)


def _pressure(answer: FitAnswer) -> Array:
    return answer.contact.pressure


def _most(answer: StrengthAnswer) -> float:
    return answer.most


def _largest_pressure(answer: PunchAnswer) -> float:
    return float(answer.contact.pressure.max())


def _pressed_most_at(answer: PunchAnswer) -> float:
    return float(np.abs(answer.x[np.argmax(answer.contact.pressure)]))


def _half_width(answer: PunchAnswer) -> float:
    return float(np.ptp(answer.pressed)) / 2


def _in_the_middle(answer: PunchAnswer) -> float:
    return float(answer.contact.pressure[np.argmin(np.abs(answer.x))])


def _warmth(x: float, y: float) -> Reading:
    return lambda answer: answer.at(x, y)


def _warmth_in_solid(x: float, y: float, z: float) -> Reading:
    return lambda answer: answer.at(x, y, z)


def _kelvin_in_solid(x: float, y: float, z: float) -> Reading:
    return lambda answer: answer.at(x, y, z) - ABSOLUTE_ZERO


def _grows_by(off: float) -> Reading:
    return lambda answer: answer.growth(off)


def _pressed_at(off: float) -> Reading:
    return lambda answer: answer.pressure(off)


def _warmth_on(edge: str, part: str | None = None) -> Reading:
    return lambda answer: answer.on(edge, part)


def _spot(part: str) -> Reading:
    """Stress along y at (1, 0), on the side of a part."""
    return lambda answer: answer.stress(answer.node_at(1, 0), part)[1]


def _heat(path: str, over: float = 1.0) -> Reading:
    return lambda answer: answer.field.heat[path] / over


def _depth(deg: float) -> Reading:
    return lambda answer: answer.closed.crank.depth(deg)


def _intensity(number: int, over: float = 0.0) -> Reading:
    """K_I over 1 MPa times the root of pi a of the length of a number, ``over`` more [mm]."""
    return lambda answer: answer.shape_factor(1.0, answer.lengths + over)[number]


def _sliding(answer: CrackAnswer) -> float:
    return float(answer.found[0].k2 / np.sqrt(np.pi * answer.lengths[0]))


def _boils(bar: float) -> Reading:
    return lambda answer: answer.boils_at(bar)


def _crisis(bar: float) -> Reading:
    return lambda answer: answer.critical_flux(bar)


def _end_of_bubbles(bar: float) -> Reading:
    return lambda answer: answer.critical_superheat(bar)


def _superheat(flux: float) -> Reading:
    return lambda answer: answer.superheat(1.01325, flux)


def _nusselt(reynolds: float, prandtl: float) -> Reading:
    return lambda answer: answer.nusselt(reynolds, prandtl)


def _peak(answer: GasAnswer) -> float:
    """Over the bar that the gas starts from."""
    return answer.closed.peak / 0.1


def _peak_deg(answer: GasAnswer) -> float:
    return answer.closed.peak_deg


def _work(answer: GasAnswer) -> float:
    return answer.efficiency


def _hottest(answer: GasAnswer) -> float:
    return float(answer.closed.temperature.max())


def _coolant_heat(answer: SpeedsAnswer) -> float:
    return answer.coolant_heat


def _above_water(answer: HeatAnswer) -> float:
    """Middle of the wall over its water [K]."""
    ends = (answer.on("bore").mean(), answer.on("outside").mean())
    return float(np.mean(ends)) - heat_problems.WATER


def _wall_row(number: int) -> Reading:
    """Depth that the gas reaches at one of the angles [mm]."""
    return lambda answer: answer.load.reach(answer.load.deg)[number]


def _wall_line(number: int) -> Reading:
    """Load on the section at one of the angles [N/mm]."""
    return lambda answer: answer.load.line_loads[number]


def _wall_most(answer: WallAnswer) -> float:
    return answer.load.line_load


def _wall_most_deg(answer: WallAnswer) -> float:
    return answer.load.line_load_deg


def _towards(angle: float) -> Reading:
    return lambda answer: answer.pressure_towards(angle)


def _pressure_at(x: float) -> Reading:
    return lambda answer: answer.pressure_at(x * HERTZ.half_width)


def _friction_at(x: float) -> Reading:
    """Friction at both sides of the middle of a contact, over that of its peak pressure."""
    most = contact_problems.FRICTION * HERTZ.peak
    return lambda answer: np.array(
        [-answer.friction_at(side * x * HERTZ.half_width) / most for side in (-1, 1)]
    )


def _beside(x: float) -> Reading:
    """Stress along the flat beside a sliding contact, as far as it changes sign across it."""

    def read(answer: ContactAnswer) -> float:
        here, there = (answer.along(at * HERTZ.half_width, "barrel")[0] for at in (x, -x))
        return float(here - there) / 2 / HERTZ.peak

    return read


def _shear_below(low: float, high: float, within: float) -> Reading:
    """Largest shear stress between two depths, over the peak pressure; all over the half-width."""
    a = HERTZ.half_width
    return lambda answer: (
        answer.largest_shear("barrel", within * a, (low * a, high * a)) / HERTZ.peak
    )


def _gap(answer: FitAnswer) -> Array:
    return 1000 * answer.contact.gap


def _notched(length: float, line: bool) -> Reading:
    return lambda answer: answer.ratio(length, line)


def _reversed(line: str) -> Reading:
    return lambda answer: answer.reversed_mpa[line]


def _named(name: str) -> Reading:
    return lambda answer: answer.found[name]


def _life(answer: FatigueAnswer) -> float:
    return answer.life


def _released_over_found(answer: GasAnswer) -> float:
    """Heat of the burn over work, wall heat and energy of the gas, summed from its curves."""
    closed, walls = answer.closed, 450.0
    crank = closed.crank
    work = 1e-3 * np.trapezoid(closed.pressure, crank.volume(closed.deg))
    area = 2 * crank.area + 4 * crank.volume(closed.deg) / crank.bore
    lost = np.trapezoid(closed.film * area * (closed.temperature - walls), closed.deg) / 36000
    gained = closed.mass * closed.capacity.energy(closed.temperature[0], closed.temperature[-1])
    return float((work + lost + gained) / closed.burn.heat)


DOWLING = "Dowling, Mechanical Behavior of Materials, 4th ed., 2013, ch. 9"
GOODIER = "Timoshenko & Goodier, Theory of Elasticity, 3rd ed., 1970"
LAME_FIT = "Lamé for each ring with the misfit at the joint; Timoshenko, as before"
INCROPERA = "Incropera & DeWitt, Fundamentals of Heat and Mass Transfer"
NAFEMS = "NAFEMS, The Standard NAFEMS Benchmarks, TNSB Rev 3, 1990"
PETERSON = "Pilkey, Peterson's Stress Concentration Factors"
PLATE = 0.125
"""Fineness for plates: their edges are no thin walls, which is what the default looks after."""

HERTZ = hertz_line(1000.0, contact_problems.HERTZ_RADIUS, 70_000.0)
JOHNSON = "Johnson, Contact Mechanics, 1985 (from memory)"
NEAR_EDGE = "Read from 0.04 to 0.8 mm off, where other terms of the stress still count."
STIFF_BLOCK = "Block and ground give way a little beside the spring."
FINE_JOINT = "Pairs lie a tenth of the contact's half-width apart."

_UNIT = 2 * 1000 / (np.pi * 80)  # 2 P / (pi b) of the thick squeezed ring [MPa]
_THIN = 1000 * 60**3 / (70000 * 1.2**3 / 12)  # P R^3 / (E I) of the thin one [mm]
_LOBES = (
    "The stress of order n falls off n times as fast from the bore as that of a round pressure; "
    "with half the element size it comes within 0.1 %."
)
_ARCS = (
    "The ellipse is drawn in arcs whose curvature jumps by 1 %, and the plate is 40 holes wide, "
    "not endless."
)


def _solid_growth(radius: float, depth: float) -> Reading:
    """Growth of a solid tube at a radius and a depth. [um]."""
    return lambda answer: answer.growth(radius, depth)


def _solid_hoop(radius: float, depth: float) -> Reading:
    """Hoop stress of a solid tube there. [MPa]."""
    return lambda answer: answer.hoop(radius, depth)


def _along_pull(depth: float, answer: SolidAnswer) -> float:
    """Stress along the pull beside the hole at a depth. [S]."""
    return solid_problems.along_x(answer, depth)


NUKIYAMA = ((1.385, 8.0), (5.44, 13.5), (12.66, 18.8), (22.42, 25.7), (27.15, 31.0))
"""Heat flux [cal/(cm2 s)] and superheat [K], measured."""
CAL_PER_CM2_S = 0.041868  # [MW/m2]
PRISMS = "derived: finite elements elsewhere, two codes agreeing to 2e-5"
SURFACE = "Stress on a surface is that of a quadratic fitted to the strain within it."

PROBLEMS = (
    Problem(
        "Thick ring under pressure",
        "Radii 50 and 80 mm, 10 MPa in the bore, E = 70 GPa, nu = 0.4.",
        f"Lamé; {GOODIER}, thick cylinder (art. 28, number from memory)",
        partial(problems.lame_ring, 0.4),
        (
            Target("hoop stress, bore [MPa]", 22.82051, 1e-3, _hoop("bore")),
            Target("hoop stress, outside [MPa]", 12.82051, 1e-3, _hoop("outside")),
            Target("growth of the bore [um]", 19.15751, 1e-4, _growth),
        ),
    ),
    Problem(
        "Iron liner bonded in an alloy barrel",
        "Radii 45, 55 and 80 mm, 9 MPa in the bore; E = 110 and 72 GPa, nu = 0.26 and 0.33.",
        "Lamé for each part; Timoshenko, Strength of Materials, Part II, compound cylinders",
        problems.compound_ring,
        (
            Target("hoop stress, bore [MPa]", 22.38431, 1e-3, _hoop("bore")),
            Target(
                "hoop stress, barrel at liner [MPa]",
                10.64679,
                1e-3,
                _hoop("liner fit", "barrel"),
            ),
            Target("growth of the bore [um]", 10.11449, 1e-4, _growth),
        ),
    ),
    Problem(
        "Ring of two metals over one another",
        "Radii 50 and 80 mm, 10 MPa in the bore; 12 mm of alloy (E = 70 GPa, nu = 0.33) and 8 mm "
        "of iron (110 GPa, 0.26) that share their strain.",
        "derived: t lambda and t mu of the layers add up to Lamé's ring of one metal",
        problems.layered_ring,
        (
            Target("hoop stress, bore, alloy [MPa]", 18.47103, 1e-3, _hoop("bore", "barrel")),
            Target("hoop stress, bore, iron [MPa]", 29.34474, 1e-3, _hoop("bore", "insert")),
            Target("growth of the bore [um]", 14.96263, 1e-4, _growth),
        ),
    ),
    Problem(
        "Ring with a step of depth",
        "Radii 50 and 90 mm, 8 mm deep inside r = 60 and 20 mm outside, 10 MPa on the 8 mm face, "
        "E = 70 GPa, nu = 0.33.",
        "derived from Lamé and the radial force through the step",
        problems.stepped_ring,
        (
            Target("hoop stress, bore [MPa]", 8.875637, 1e-3, _hoop("bore")),
            Target("growth of the bore [um]", 8.696884, 1e-4, _growth),
        ),
    ),
    Problem(
        "Ring whose depth falls with the radius",
        "Radii 50 and 90 mm, depth as r^-1.5, 10 MPa in the bore, E = 70 GPa, nu = 0.33.",
        "Stodola, Steam and Gas Turbines, 1927; Timoshenko, Strength of Materials, Part II, disk "
        "of variable thickness",
        problems.power_law_ring,
        (
            Target("hoop stress, bore [MPa]", 28.36525, 1e-3, _hoop("bore")),
            Target("hoop stress, outside [MPa]", 13.08205, 1e-3, _hoop("outside")),
            Target("growth of the bore [um]", 22.61803, 1e-4, _growth),
        ),
    ),
    Problem(
        "Ring under an oval pressure",
        "Radii 50 and 80 mm, 10 MPa cos 2 theta in the bore, E = 70 GPa, nu = 0.33.",
        f"Michell, Proc. London Math. Soc. 31 (1899); {GOODIER}, general solution in polar "
        "coordinates",
        problems.harmonic_ring,
        (
            Target("hoop stress, bore, 0 deg [MPa]", -94.1552, 2e-3, _hoop_at(50, -50)),
            Target("order 2 of the bore [um]", 114.7797, 1e-4, _order(2)),
            Target("order 2 of the outside [um]", 111.5069, 1e-4, _wider(80, 2e-3)),
        ),
        note=_LOBES,
    ),
    Problem(
        "Ring under a four-lobed pressure",
        "Radii 50 and 80 mm, 10 MPa cos 4 theta in the bore, E = 70 GPa, nu = 0.33.",
        "Michell, as before, worked out for order 4",
        partial(problems.harmonic_ring, 4),
        (
            Target("hoop stress, bore, 0 deg [MPa]", -21.80765, 6e-3, _hoop_at(50, -50)),
            Target("hoop stress, outside, 0 deg [MPa]", 12.11233, 1e-3, _hoop_at(80, -80)),
            Target("order 4 of the bore [um]", 7.949626, 3e-4, _order(4)),
        ),
        note=_LOBES,
    ),
    Problem(
        "Ring with its bore off the centre",
        "Radii 50 and 80 mm, axes 15 mm apart, 10 MPa in the bore.",
        "Jeffery, Phil. Trans. R. Soc. A 221 (1921) 265-293",
        problems.eccentric_bore,
        (
            Target("thin side, inside [MPa]", 37.44414, 1e-3, _hoop_at(-50)),
            Target("thin side, outside [MPa]", 36.06904, 1e-3, _hoop_at(-65, centre=15)),
            Target("thick side, inside [MPa]", 18.27770, 1e-3, _hoop_at(50)),
            Target("thick side, outside [MPa]", 5.40273, 1e-3, _hoop_at(95, centre=15)),
        ),
    ),
    Problem(
        "Thick ring squeezed by two opposite loads",
        "Radii a = b / 2 and b, loads P per mm of depth on the outside, nu = 0.3.",
        f"{GOODIER}, art. 43 (number from memory), its series summed again; hoop outside: "
        "converged finite elements elsewhere",
        problems.squeezed_ring,
        (
            Target(
                "hoop, bore, at a load [2P/(pi b)]",
                10.1554,
                6e-3,
                _hoop_at(40, -40, over=_UNIT),
            ),
            Target(
                "hoop, bore, across [2P/(pi b)]",
                -8.8988,
                1e-3,
                _hoop_at(40j, -40j, over=_UNIT),
            ),
            Target(
                "hoop, outside, across [2P/(pi b)]",
                2.928,
                1e-3,
                _hoop_at(80j, -80j, over=_UNIT),
            ),
            Target("bore along the loads [P/E]", -8.797, 3e-4, _wider(40, 1000 / 70000)),
            Target("bore across [P/E]", 6.211, 3e-4, _wider(40j, 1000 / 70000)),
        ),
        note="The stress below a point load changes fast along the bore; with half the element "
        "size it comes within 0.1 %. The movements are published to four digits.",
    ),
    Problem(
        "Thin ring squeezed by two opposite loads",
        "Mean radius R = 60 mm, wall 1.2 mm, loads P per mm of depth on the outside.",
        "Timoshenko, Strength of Materials; Roark's Formulas for Stress and Strain, ring table "
        "(from memory)",
        partial(problems.squeezed_ring, 59.4, 60.6),
        (
            Target(
                "diameter along [P R^3/(E I)]",
                -0.1488,
                2e-3,
                _wider(59.4, _THIN),
            ),
            Target("diameter across [P R^3/(E I)]", 0.1366, 2e-3, _wider(59.4j, _THIN)),
            Target("moment across [P R]", -0.1817, 2e-3, _thin_ring_moment),
        ),
        note="The formula leaves out stretching and shear, and is published to four digits.",
    ),
    *(
        Problem(
            f"Nearly incompressible cylinder, nu = {poisson:g}",
            "Radii 3 and 9, unit pressure in the bore, E = 1000, plane strain: E / (1 - nu^2) and "
            "nu / (1 - nu) stand for E and nu.",
            "MacNeal & Harder, Finite Elements in Analysis and Design 1 (1985) 3-20",
            partial(problems.plane_strain_cylinder, poisson),
            (Target("growth of the bore [0.001]", growth, 5e-3, _growth),),
            note="It asks whether the elements lock, which leaves a small part of the growth.",
        )
        for poisson, growth in ((0.49, 5.0399), (0.4999, 5.0623))
    ),
    Problem(
        "Round hole in a pulled plate",
        "Radius a, pull S along x; the movement of the hole's edge is the same for any nu.",
        f"Kirsch, Z. VDI 42 (1898); {GOODIER}, art. 35 (number from memory)",
        problems.kirsch_hole,
        (
            Target("side of the hole [S]", 3.0, 1e-3, _stress_at(10j, "xx", 50)),
            Target("where the pull meets the hole [S]", -1.0, 1e-3, _stress_at(10, "yy", 50)),
            Target(
                "edge moves along pull [S a/E]",
                3.0,
                1e-4,
                lambda answer: 140 * answer.moved(10, 0)[0],
            ),
            Target(
                "edge moves across [S a/E]", -1.0, 1e-4, lambda answer: 140 * answer.moved(0, 10)[1]
            ),
        ),
        PLATE,
    ),
    Problem(
        "Elliptic hole across the pull",
        "Half-axes 20 across and 10 along, pull S.",
        "Inglis, Trans. Inst. Naval Architects 55 (1913): S (1 + 2 A/B) and -S",
        partial(problems.inglis_hole, 20, 10),
        (
            Target("tip [S]", 5.0, 4e-3, _stress_at(20, "yy")),
            Target("where the pull meets the hole [S]", -1.0, 4e-3, _stress_at(10j, "xx")),
        ),
        PLATE,
        _ARCS,
    ),
    Problem(
        "Elliptic hole along the pull",
        "Half-axes 10 across and 20 along, pull S.",
        "Inglis, as before",
        partial(problems.inglis_hole, 10, 20),
        (
            Target("side [S]", 2.0, 4e-3, _stress_at(10, "yy")),
            Target("where the pull meets the hole [S]", -1.0, 4e-3, _stress_at(20j, "xx")),
        ),
        PLATE,
        _ARCS,
        seconds=0.7,
    ),
    Problem(
        "Elliptic membrane, NAFEMS LE1",
        "Ellipses of half-axes 2 x 1 and 3.25 x 2.75 m, outward pressure of 10 MPa, E = 210 GPa, "
        "nu = 0.3; stress along y at D, (2, 0).",
        f"{NAFEMS}, LE1: 92.7; converged finite elements elsewhere: 92.658",
        problems.elliptic_membrane,
        (
            Target("at D, as published [MPa]", 92.7, 2e-3, _stress_at(20, "yy")),
            Target("at D, converged [MPa]", 92.658, 1e-3, _stress_at(20, "yy")),
        ),
        PLATE,
        "The published value is rounded; it lies 0.05 % above the converged one.",
    ),
    Problem(
        "Tapered panel under shear, Cook's membrane",
        "Corners (0,0), (48,44), (48,60), (0,44), left side built in, a load of 1 up the right "
        "one, E = 1, nu = 1/3, depth 1; movement at (48,52).",
        "Cook, J. Struct. Div. ASCE 100 (1974); converged finite elements elsewhere 23.968, often "
        "printed as 23.91 to 23.97",
        problems.cook_membrane,
        (Target("movement up", 23.968, 5e-4, lambda answer: answer.moved(48, 52)[1]),),
        PLATE,
    ),
    Problem(
        "Semicircular notch in the edge of a wide plate",
        "Plate 80 notch radii wide, pull S.",
        f"Ling, 1947; {PETERSON}",
        problems.edge_notch,
        (Target("stress at the notch [S]", 3.065, 3e-3, _stress_at(-10j, "xx")),),
        PLATE,
        "The value is that of a half-plane; converged finite elements elsewhere on plates 60 to 80 "
        "radii wide give 3.061 to 3.070.",
    ),
    Problem(
        "Two opposite notches, strip 5 radii wide",
        "Semicircular notches, stress over the mean of the net section.",
        f"{PETERSON}, chart 2.3",
        partial(problems.opposite_notches, 50),
        (Target("stress at the notch", 1.8636, 3e-3, _stress_at(-10j, "xx", 50 / 30)),),
        PLATE,
        "The chart is good to 0.6 %.",
    ),
    Problem(
        "Two opposite notches, strip 10 radii wide",
        "Semicircular notches, stress over the mean of the net section.",
        f"{PETERSON}, chart 2.3",
        partial(problems.opposite_notches, 100),
        (Target("stress at the notch", 2.4142, 8e-3, _stress_at(-10j, "xx", 100 / 80)),),
        PLATE,
        "The chart is good to 0.6 %; converged finite elements elsewhere give 2.4263.",
    ),
    Problem(
        "One notch, strip 4 radii wide",
        "Semicircular notch, load through the centre of the net section, stress over its mean.",
        f"{PETERSON}, chart 2.9",
        partial(problems.single_notch, 40),
        (Target("stress at the notch", 1.6117, 3e-3, _stress_at(-10j, "xx", 40 / 30)),),
        PLATE,
        "The chart's formula is a fit.",
    ),
    Problem(
        "Shrink fit of steel rings",
        "Radii 4, 6 and 8 in, E = 30e6 psi, 0.005 in too large on the radius; in MPa.",
        "Timoshenko, Strength of Materials, Part II, 3rd ed., 1956, shrink fits: 4050 psi; the "
        "hoop stress beside it 14,468 psi, worked out",
        fit_problems.shrink_fit,
        (
            Target("pressure of the joint [MPa]", 27.9300, 1e-3, _pressure),
            Target("hoop stress, outer ring [MPa]", 99.7534, 1e-3, _hoop("liner fit", "barrel")),
        ),
        0.5,
        seconds=0.9,
    ),
    Problem(
        "Wrought ring pressed into a cast one",
        "Radii 45, 52 and 75 mm, E = 71.7 and 72.4 GPa, nu = 0.33, 0.1 mm on the diameter.",
        f"{LAME_FIT}, worked out for these numbers",
        fit_problems.ring_in_block,
        (
            Target("pressure of the joint [MPa]", 7.04549, 1e-3, _pressure),
            Target("hoop stress, bore [MPa]", -56.1149, 1e-3, _hoop("bore")),
            Target("hoop stress, outer ring [MPa]", 20.0896, 1e-3, _hoop("liner fit", "barrel")),
            Target("growth of the bore [um]", -35.2185, 1e-3, _growth),
        ),
        0.5,
        seconds=1.0,
    ),
    Problem(
        "Iron ring in a cast one, 50 K warmer",
        "As above, iron of 110 GPa, nu = 0.26; alpha = 11 and 21.5e-6 /K: loose at 91.6 K.",
        f"{LAME_FIT} and free expansion, worked out for these numbers",
        fit_problems.warm_iron_ring,
        (Target("pressure of the joint [MPa]", 4.16172, 1e-3, _pressure),),
        0.5,
        seconds=1.0,
    ),
    Problem(
        "Ring pressed on a barrel as its liner has left it",
        "Radii 40, 44, 54 and 64 mm: iron cast in, 0.06 mm on the diameter; then a wrought ring, "
        "0.012 mm on that of the barrel as measured with its liner in.",
        f"{LAME_FIT}, the two presses in sum, derived and worked out for these numbers",
        fit_problems.ring_on_a_lined_barrel,
        (
            Target("pressure of the joint [MPa]", 0.893710, 1e-3, _pressure),
            Target("hoop stress in the liner [MPa]", -52.3531, 1e-3, _hoop("bore")),
        ),
        0.5,
        seconds=1.5,
    ),
    Problem(
        "Compound between two rings, heated until it opens",
        "The same rings with no press, bonded by compound of 2 MPa in tension.",
        f"{LAME_FIT} and free expansion, worked out for these numbers",
        fit_problems.heated_until_it_opens,
        (Target("rise of temperature [K]", 19.97975, 1e-3, _most),),
    ),
    Problem(
        "Compound between two rings, turned until it slips",
        "The same, cold, 3 MPa in shear; depth 20 mm.",
        "Even shear, 2 pi c^2 t S, derived",
        fit_problems.turned_until_it_slips,
        (Target("torque [N m]", 1019.384, 1e-3, lambda answer: 1e-3 * _most(answer)),),
        seconds=1.0,
    ),
    Problem(
        "Flat punch with rounded edges",
        "Flat over 10 mm, edges of 50 mm radius, pressed with 2235.37 N/mm on a plane, both of E = "
        "70 GPa, no friction. The edge is the gap s^2 / (2 R) of the joint, as a fitted insert's.",
        "Ciavarella, Hills & Monno, Proc. IMechE C 212 (1998) 319-328, from memory; opened and "
        "closed again by a series for the half-plane",
        fit_problems.punch_on_plane,
        (
            Target("largest pressure [MPa]", 342.745, 5e-3, _largest_pressure),
            Target("its distance from the middle [mm]", 5.37064, 5e-3, _pressed_most_at),
            Target("pressure in the middle [MPa]", 123.919, 1e-3, _in_the_middle),
            Target("half width of contact [mm]", 6.25, 1e-2, _half_width),
        ),
        note="places are known to a node; the pressure is steep beside its peak",
    ),
    Problem(
        "Gas in the bore of a wrought ring in a cast one",
        "As above at 20 degC, 10 MPa in the bore: the joint is pressed harder than that.",
        f"{LAME_FIT}, worked out for these numbers",
        fit_problems.gas_in_the_bore,
        (
            Target("pressure of the joint [MPa]", 13.1410, 1e-3, _pressure),
            Target("hoop stress, outer ring [MPa]", 37.4705, 1e-3, _hoop("liner fit", "barrel")),
            Target("growth of the bore [um]", -19.9061, 1e-3, _growth),
        ),
    ),
    Problem(
        "Gas behind a ring that it has opened",
        "The same at 25 MPa, beyond the 18.04 MPa at which the joint opens: gas on both faces.",
        f"{LAME_FIT}, worked out for these numbers",
        fit_problems.gas_behind,
        (
            Target("hoop stress, bore [MPa]", -25.0, 1e-3, _hoop("bore")),
            Target("hoop stress, outer ring [MPa]", 71.2855, 1e-3, _hoop("liner fit", "barrel")),
            Target("growth of the bore [um]", -10.5126, 1e-3, _growth),
            Target("gap [um]", 19.27, 2e-3, _gap),
        ),
        note="The gap is given to four digits.",
    ),
    Problem(
        "Torque on a ring pressed into another",
        "The rings above, 8 mm deep, friction 0.12, turned against one another.",
        "statics, derived: all of the joint slips at once at 2 pi c^2 t mu q; Lame's ring in shear",
        fit_problems.turned_fit,
        (
            Target("torque that is held [N m]", 114.913, 1e-3, lambda answer: answer.most / 1000),
            Target(
                "twist of the outer ring [urad]", 8.06519, 1e-3, lambda answer: 1e6 * answer.twist
            ),
        ),
    ),
    Problem(
        "Pin in a hole that is a little wider",
        "R = 25 mm, 0.05 mm wider, E = 70 GPa, 3279.6 N/mm at the middle of the pin: touches over "
        "60 deg to either side.",
        "Persson 1964; Ciavarella & Decuzzi, Int. J. Solids Struct. 38 (2001) (both from memory), "
        "confirmed by collocation elsewhere",
        partial(contact_problems.pin, 3279.60, -0.05),
        tuple(
            Target(f"pressure, {angle} deg [MPa]", pressure, 1e-2, _towards(angle))
            for angle, pressure in ((0, 93.367), (30, 79.215), (45, 58.983))
        ),
        note="Pairs lie 2 deg apart, and the load is spread over the middle fifth of the pin.",
    ),
    Problem(
        "Pressed pin pushed to a side",
        "R = 25 mm, 0.02 mm too large on the radius, E = 70 GPa, 1000 N/mm at the middle.",
        "derived: the same where all of it touches, q0 + Q cos / (pi R)",
        partial(contact_problems.pin, 1000.0, 0.02),
        (
            Target("pressure towards the load [MPa]", 40.7324, 5e-3, _towards(0)),
            Target("pressure behind [MPa]", 15.2676, 5e-3, _towards(180)),
        ),
        note="Pairs lie 2 deg apart, and the load is spread over the middle fifth of the pin.",
    ),
    Problem(
        "Cylinder on a flat",
        "R = 50 mm, 1000 N/mm, E = 70 GPa both; half-width a = 1.34867 mm.",
        f"Hertz; {JOHNSON}",
        contact_problems.hertz,
        (
            Target("peak pressure [MPa]", 472.035, 1e-2, _pressure_at(0.0)),
            Target("pressure at a / 2 [MPa]", 408.794, 1e-2, _pressure_at(0.5)),
            Target("largest shear below [peak]", 0.300283, 2e-2, _shear_below(0.5, 1.2, 0.3)),
        ),
        note=FINE_JOINT,
    ),
    Problem(
        "Cylinder on a flat, pushed along",
        "The same with friction, pushed by half of what friction holds: slips outside 0.707 a.",
        f"Cattaneo 1938; Mindlin, J. Appl. Mech. 16 (1949); {JOHNSON}",
        partial(contact_problems.pushed, 0.5),
        (
            Target("friction at 0 [mu p0]", 0.292893, 2e-2, _friction_at(0.0)),
            Target("friction at a / 2 [mu p0]", 0.366025, 2e-2, _friction_at(0.5)),
        ),
        note=FINE_JOINT,
    ),
    Problem(
        "Cylinder on a flat, pushed along and let go",
        "Pushed by three quarters of what friction holds, then by nothing: what is locked in.",
        "as before",
        partial(contact_problems.pushed, 0.75, 0.0),
        (
            Target("friction at 0 [mu p0]", 0.081139, 2e-2, _friction_at(0.0)),
            Target("friction at a / 4 [mu p0]", 0.098741, 2e-2, _friction_at(0.25)),
        ),
        note=FINE_JOINT,
    ),
    Problem(
        "Cylinder on a flat, about to slide",
        "Pushed by 0.999 of what friction of 0.3 holds.",
        "Smith & Liu, J. Appl. Mech. 20 (1953) (from memory), worked out elsewhere",
        partial(contact_problems.pushed, 0.999),
        (
            Target("stress along, 1.5 a behind [p0]", 0.229180, 2e-2, _beside(-1.5)),
            Target("largest shear below [p0]", 0.3449, 1e-2, _shear_below(0.25, 0.6, 1.5)),
        ),
        note=FINE_JOINT,
    ),
    Problem(
        "Strip pressed on a rigid base, pulled to and fro",
        "EA = 72.4 GPa x 160 mm2, friction 15 N/mm, pulled with 6000 N and let go: it never shakes "
        "down.",
        "derived: force falls by the friction where it slides; confirmed by a chain elsewhere",
        contact_problems.strip,
        (
            Target("length that slides [mm]", 400.0, 1e-2, lambda answer: answer.slip_length(1)),
            Target("end moves [um]", 103.591, 1e-2, lambda answer: 1000 * answer.end_moves(1)),
            Target(
                "and stays off by [um]", 51.7956, 1e-2, lambda answer: 1000 * answer.end_moves(2)
            ),
            Target("lost in each cycle [N mm]", 103.591, 1e-2, lambda answer: answer.lost((3, 4))),
        ),
        note="Where it slides ends at a pair, and pairs lie 2.6 mm apart.",
        seconds=0.8,
    ),
    Problem(
        "Square edge of a hub on a flat",
        "Half-width 10 mm, pressed, on a flat of its metal: the pressure near the edge grows "
        "as r^-s, s by what the joint does.",
        "Dundurs & Lee, J. Elasticity 2, 1972 (from memory), worked out elsewhere; bonded it is "
        "Williams' corner of 270 deg, J. Appl. Mech. 19, 1952",
        joint_problems.smooth_hub,
        (Target("s, no friction", 0.22599, 0.05, lambda answer: answer.slope(1)),),
        note=NEAR_EDGE,
    ),
    Problem(
        "Square edge of a bonded hub",
        "The same, one with the flat.",
        "Williams, J. Appl. Mech. 19, 1952, corner of 270 deg, opened",
        joint_problems.bonded_hub,
        (Target("s, bonded", 0.45552, 0.05, lambda answer: answer.opening_slope),),
        note=NEAR_EDGE,
    ),
    Problem(
        "Square edge of a hub that slides",
        "The same, pushed along until all but a little slides, friction 0.3; edge in front.",
        "Dundurs & Lee, as before",
        joint_problems.sliding_hub,
        (Target("s, sliding", 0.36201, 0.05, lambda answer: answer.slope(1)),),
        note=NEAR_EDGE,
    ),
    Problem(
        "Lap of two bars, pulled and let go",
        "EA 11.584 and 23.168 MN, lap of 800 mm, friction 15 N/mm, pulled with 6000 N twice; slip "
        "from the pulled and from the held end, and the work of the second cycle.",
        "derived: bars that share the pull where they stick",
        joint_problems.lap,
        (
            Target("slips, pulled end [mm]", 266.667, 0.02, lambda lap: lap.slip_length(1, 1)),
            Target("slips, held end [mm]", 133.333, 0.025, lambda lap: lap.slip_length(-1, 1)),
            Target("pulled end moves [mm]", 0.0690608, 0.01, lambda lap: lap.end_slip(1, 1)),
            Target("held end moves [mm]", 0.0172652, 0.01, lambda lap: lap.end_slip(-1, 1)),
            Target("work [N mm]", 51.7956, 0.01, lambda lap: lap.lost((3, 4))),
        ),
        note="Pairs lie 2.5 mm apart, and the bars are 4 mm high, no lines.",
        seconds=3.0,
    ),
    Problem(
        "Block on a spring that never shakes down",
        "Pressed by 100 N, friction 0.2, spring 1000 N/mm, pushed by 50 N and let go, twice: more "
        "than twice its friction, so that it slides to and fro.",
        "derived: Coulomb's law and statics",
        partial(joint_problems.block_on_a_spring, 50.0),
        (
            Target("pushed [um]", 30, 0.01, lambda block: 1000 * block.stands_at(1)),
            Target("let go [um]", 20, 0.01, lambda block: 1000 * block.stands_at(2)),
            Target("work of a cycle [N mm]", 0.4, 0.01, lambda block: block.lost((3, 4))),
        ),
        note=STIFF_BLOCK,
    ),
    Problem(
        "Block on a spring that shakes down",
        "The same, pushed by 30 N, less than twice its friction: it slides once.",
        "as before",
        partial(joint_problems.block_on_a_spring, 30.0),
        (
            Target("pushed [um]", 10, 0.025, lambda block: 1000 * block.stands_at(1)),
            Target("let go twice [um]", 10, 0.025, lambda block: 1000 * block.stands_at(4)),
        ),
        note=STIFF_BLOCK,
    ),
    Problem(
        "Cord around a drum",
        "EA 1 MN, radius 50 mm, friction 0.2, drawn tight by 1000 N, one end then by 1500 N.",
        "Euler 1769 (from memory), and derived from it",
        joint_problems.cord,
        (
            Target("slips over [rad]", 2.02733, 0.015, lambda cord: cord.slip_arc),
            Target("end moves [mm]", 0.0236337, 2e-3, lambda cord: cord.end_moves),
        ),
        note="Pairs lie 0.8 mm apart around the drum, and the cord is 0.2 mm thick, no line.",
    ),
    Problem(
        "Two rings with a film inside, outside and a joint between",
        "Radii 50, 56 and 70 mm, k = 50 and 150 W/(m K), 600 W/(m2 K) to 900 degC inside, 3000 "
        "W/(m2 K) to 90 degC outside, 5e-5 m2 K/W between the rings.",
        f"{INCROPERA}, radial systems, worked out for these numbers",
        heat_problems.composite_cylinder,
        (
            Target("heat, each mm of depth [W]", 119.07129, 1e-4, _heat("gas", problems.DEPTH)),
            Target("bore [degC]", 268.307, 1e-4, _warmth_on("bore")),
            Target("joint, liner's side [degC]", 225.354, 1e-4, _warmth_on("liner fit", "liner")),
            Target("joint, barrel's side [degC]", 208.433, 1e-4, _warmth_on("liner fit", "barrel")),
            Target("outside [degC]", 180.242, 1e-4, _warmth_on("outside")),
        ),
    ),
    Problem(
        "Heat to the coolant by speed, petrol engine",
        "Full throttle at 1500 and 6000 rpm, 86 x 86 mm, all else usual: heat of gas and friction "
        "over that of the fuel, and how it falls.",
        "lecture notes on engine heat balances, student.infinitycodestudio.com/?p=2363, opened: "
        "the coolant takes some 35 % at low speed and 25 % at high",
        gas_problems.over_speeds,
        (Target("at 6000 rpm over at 1500 rpm", 25 / 35, 0.15, _coolant_heat),),
        note="the source has neither speeds nor sizes, and exhaust ports are in its shares alone",
    ),
    Problem(
        "Bore wall of a petrol engine, measured",
        "Three cylinders of 800 cm3 at 6000 rpm and full throttle, 6 mm of grey iron, 6000 "
        "W/(m2 K) of water: the middle of the wall over the water, mean over the stroke.",
        "abstract of a measurement on an 800 cc petrol engine, riss.kr 5747798778e0f6c6, opened: "
        "the wall is 20 to 30 K above its water",
        heat_problems.measured_wall,
        (Target("wall above the water [K]", 25.0, 0.2, _above_water),),
        note="the source gives a range of 20 %, and sizes, metal and films are what is usual",
    ),
    Problem(
        "Plate warm at its foot, NAFEMS T4",
        "600 x 1000 mm, k = 52 W/(m K), 100 degC at y = 0, insulated at x = 0, 750 W/(m2 K) to "
        "0 degC on the other sides; temperature at (600, 200).",
        f"{NAFEMS}, T4: 18.3; its series summed again: 18.253757",
        heat_problems.cooled_plate,
        (
            Target("at (600, 200), as published [degC]", 18.3, 4e-3, _warmth(600, 200)),
            Target("at (600, 200), series [degC]", 18.253757, 1e-3, _warmth(600, 200)),
        ),
        PLATE,
        "The published value is rounded; it lies 0.25 % above the series.",
    ),
    Problem(
        "Straight fin",
        "10 mm thick, 40 mm long, k = 150 W/(m K), foot at 180 degC, dry tip, 2000 W/(m2 K) to 90 "
        "degC on both faces.",
        f"{INCROPERA}, table 3.4, case B, worked out for these numbers",
        heat_problems.straight_fin,
        (
            Target("tip [degC]", 112.453119, 1e-3, _warmth(40, 20)),
            Target("heat into its foot [W]", 135.018732, 1e-3, _heat("gas")),
        ),
    ),
    Problem(
        "Round plate as a fin",
        "10 mm thick, k = 150 W/(m K), 180 degC at r = 50 mm, dry rim at 90 mm, 2000 W/(m2 K) to "
        "90 degC on both faces.",
        f"{INCROPERA}, annular fin, worked out for these numbers",
        heat_problems.annular_fin,
        (
            Target("r = 60 mm [degC]", 141.1093, 1e-3, _warmth(60, 0)),
            Target("rim [degC]", 109.028433, 1e-3, _warmth_on("outside")),
        ),
    ),
    Problem(
        "Free ring warmer inside than outside",
        "Radii 50 and 80 mm, 100 K between them by conduction, E = 70 GPa, nu = 0.33, alpha = "
        "22e-6 /K; growth from the temperature of the outside.",
        f"{GOODIER}, thermal stress, long cylinder, for plane stress; Roark",
        heat_problems.heated_ring,
        (
            Target("hoop stress, bore [MPa]", -88.8894, 1e-3, _hoop("bore")),
            Target("hoop stress, outside [MPa]", 65.1106, 1e-3, _hoop("outside")),
            Target("growth of the bore [um]", 46.50755, 1e-4, _growth),
        ),
        0.5,
    ),
    Problem(
        "Iron liner bonded in an alloy barrel, cooled",
        "Radii 45, 55 and 80 mm, 80 K colder than joined; E = 110 and 72 GPa, nu = 0.26 and 0.33, "
        "alpha = 12 and 22e-6 /K.",
        "Lamé for each part with the misfit at the joint; Timoshenko, Strength of Materials, Part "
        "II, compound cylinders; worked out for these numbers",
        heat_problems.cooled_compound_ring,
        (
            Target("hoop stress, bore [MPa]", -55.68672, 1e-3, _hoop("bore")),
            Target(
                "hoop stress, barrel at liner [MPa]", 25.70419, 1e-3, _hoop("liner fit", "barrel")
            ),
            Target("growth of the bore [um]", -65.9809, 1e-4, _growth),
        ),
    ),
    Problem(
        "Plate with a hot spot, NAFEMS T1",
        "20 x 20 mm, spot of radius 1 mm in its middle 100 K warmer, E = 100 GPa, nu = 0.3, "
        "alpha = 1e-5 /K; stress along y at (1, 0).",
        f"{NAFEMS}, T1: 50.0, E alpha dT / 2 of an endless plate (Goodier 1937); converged finite "
        "elements elsewhere: -49.55 inside the spot; derived: it jumps by E alpha dT at its edge",
        heat_problems.hot_spot,
        (
            Target("outside, as published [MPa]", 50.0, 0.012, _spot("barrel")),
            Target("outside, from the inside [MPa]", 50.45, 1e-3, _spot("barrel")),
            Target("inside, converged [MPa]", -49.55, 1e-3, _spot("liner")),
        ),
        PLATE,
        "The published value is that of an endless plate, 0.9 % below.",
    ),
    Problem(
        "Crank and connecting rod",
        "Stroke 86 mm, rod 143.5 mm: depth of the piston below its top position.",
        "Heywood, Internal Combustion Engine Fundamentals, 1988, sec. 2.2, worked out",
        gas_problems.real_rod,
        tuple(
            Target(f"{deg} deg after the top [mm]", depth, 1e-4, _depth(deg))
            for deg, depth in ((10, 0.847664), (30, 7.380676), (60, 26.41609), (120, 69.41609))
        ),
    ),
    Problem(
        "Gas on the wall by crank angle",
        "Stroke 86 mm, rod 143 mm, crown flush with the deck at the top, ring 7 mm below it; 6, "
        "7.5, 5.5, 2 and 0.9 MPa push on the wall 0, 10, 30, 60 and 90 deg after the top.",
        "derived: depth r + l - r cos - sqrt(l2 - r2 sin2) + 7 mm (Heywood, as before), times the "
        "pressure; worked out elsewhere",
        gas_problems.bared,
        (
            *(
                Target(f"reaches at {deg} deg [mm]", depth, 1e-5, _wall_row(number))
                for number, (deg, depth) in enumerate(
                    ((0, 7.0), (10, 7.84834), (30, 14.38640), (60, 33.43389), (90, 56.61818))
                )
            ),
            *(
                Target(f"load at {deg} deg [N/mm]", load, 1e-5, _wall_line(number))
                for number, (deg, load) in enumerate(
                    ((0, 42.0), (10, 58.8626), (30, 79.1252), (60, 66.8678), (90, 50.9564))
                )
            ),
            Target("reaches 28 mm at [deg]", 52.5678, 1e-5, lambda answer: answer.reached_at(28.0)),
        ),
    ),
    Problem(
        "Most load on the wall in expansion",
        "The same crank, compression 10.5, ring 5 mm below the crown; 8 MPa push on the wall at "
        "the top and fall as the volume to 1.25.",
        "derived: p (x + 5 mm) is largest where x = (xc - n h) / (n - 1) = 11.2105 mm",
        gas_problems.expansion,
        (
            Target("at [deg]", 37.338, 1e-4, _wall_most_deg),
            Target("load [N/mm]", 47.3665, 1e-5, _wall_most),
            Target("load at the top [N/mm]", 40.0, 1e-6, _wall_line(0)),
        ),
    ),
    Problem(
        "Burn at the top at once, Otto",
        "Compression 10, 1 bar and 300 K at the bottom, gamma 1.4, 1.8 MJ/kg within 0.1 deg.",
        "derived: isentropes and one isochore, any text",
        gas_problems.otto,
        (
            Target("peak [bar]", 108.743, 1e-3, _peak),
            Target("hottest [K]", 3262.28, 1e-3, _hottest),
            Target("work over heat", 0.601893, 1e-3, _work),
        ),
    ),
    *(
        Problem(
            f"Finite heat release from {start} deg",
            "Compression 10, gamma 1.4, heat of 20 p1 V1 over 40 deg by Wiebe (a = 5, m = 2), "
            "cosine volume.",
            "Ferguson & Kirkpatrick, Internal Combustion Engines, ch. 2 (problem, from memory); "
            "derived: its equations, integrated to 1e-10 elsewhere",
            partial(gas_problems.finite_heat_release, start),
            (
                Target("peak [p1]", peak, 1e-3, _peak),
                Target("at [deg]", deg, 1e-2, _peak_deg),
                Target("work over heat", efficiency, 1e-3, _work),
            ),
            note="The angle of the peak is given to 0.1 deg.",
        )
        for start, peak, deg, efficiency in ((-20, 87.78, 10.8, 0.5957), (0, 53.53, 27.7, 0.5549))
    ),
    Problem(
        "One zone of gas with a real rod",
        "86 x 86 mm, rod 143.5 mm, compression 10.5, 1 bar and 350 K at the bottom, gamma 1.3, "
        "1000 J over 50 deg from -20 deg by Wiebe (a = 5, m = 2), no heat lost.",
        "derived: the first law, integrated to 1e-10 elsewhere",
        gas_problems.real_rod,
        (
            Target("peak [bar]", 54.032, 1e-3, _peak),
            Target("at [deg]", 13.31, 1e-3, _peak_deg),
            Target("work over heat", 0.49024, 1e-3, _work),
            Target("hottest [K]", 2290.4, 1e-3, _hottest),
        ),
    ),
    Problem(
        "Energy balance with heat to the walls",
        "The same engine at 6000 rpm, walls at 450 K by Woschni's film, gamma falling with the "
        "temperature; work and heat summed again from the curves. Film of bore 0.1 m, 5 MPa, 2000 "
        "K, 20 m/s.",
        "derived: first law; film: Woschni, SAE 670931, 1967, worked out",
        gas_problems.balanced,
        (
            Target("heat accounted for [the burn's]", 1.0, 1e-3, _released_over_found),
            Target(
                "Woschni's film [W/(m2 K)]",
                790.04,
                1e-4,
                lambda answer: 1e6 * woschni(100.0, 5.0, 2000.0, 20.0),
            ),
        ),
    ),
    Problem(
        "Mean stress",
        "Amplitude 50 MPa about a mean of 60 MPa, tensile strength 262 MPa: the amplitude about "
        "zero that wears as hard; the last line is Walker's with an exponent of 0.5.",
        f"{DOWLING}, mean stress, worked out",
        fatigue_problems.mean_stress,
        tuple(
            Target(f"{line} [MPa]", amplitude, 1e-4, _reversed(line))
            for line, amplitude in (
                ("Goodman", 64.851),
                ("Gerber", 52.767),
                ("Smith-Watson-Topper", 74.162),
            )
        ),
    ),
    Problem(
        "Strength when hot, between the rows of a table",
        "Proof stress over that at 20 degC [%] of 6061-T6 and 7075-T6 at temperatures that the "
        "tables don't hold, straight between their rows and in the logarithm of the hours.",
        "MIL-HDBK-5J, 2003, figures 3.6.2.2.1(b) and 3.7.6.1.1(d), as digitised in public "
        "(repository KasperCalc), read at the same conditions",
        strength_problems.between_the_rows,
        tuple(
            Target(name, percent, 0.025, _named(name))
            for name, percent in (
                ("6061-T6, 115 degC, 0.5 h", 88.2),
                ("6061-T6, 115 degC, 10000 h", 87.8),
                ("6061-T6, 160 degC, 1000 h", 77.8),
                ("7075-T6, 115 degC, 100 h", 84.6),
                ("7075-T6, 115 degC, 10000 h", 67.3),
            )
        ),
        note="The figures are read to 1 %, and bend between two rows.",
    ),
    Problem(
        "Cast AlSi7Mg-T6 after half an hour at 200 degC",
        "Tensile strength over that at 20 degC [%]. The table counts it as 6061-T6, which is "
        "hardened alike; draws run through what is published of the alloy itself.",
        "BS 1490:1988 LM25-TF, as public data sheets quote it: reduced by about a fifth",
        strength_problems.of_its_own_sheet,
        (Target("counted [%]", 80.0, 0.2, _named("counted")),),
        note="Sources disagree; the lower one counts.",
    ),
    Problem(
        "Limit of metal with a small flaw",
        "HV 380, root of the area 0.05 mm, fully reversed, at a surface and inside [MPa].",
        "Murakami, Metal Fatigue, 2002: formula from memory, values in a public test",
        strength_problems.area_parameter_limits,
        (
            Target("at a surface [MPa]", 372.5, 1e-3, _named("surface")),
            Target("inside [MPa]", 406.4, 1e-3, _named("inside")),
        ),
    ),
    Problem(
        "Curve of short cracks",
        "Threshold 4 MPa sqrt(m), plain metal 200 MPa, Y = 0.65; range that is borne [MPa].",
        "El Haddad, Smith & Topper, Eng. Fract. Mech. 11 (1979) 573-584 (from memory), worked out",
        strength_problems.short_cracks,
        (
            Target("a0 [mm]", 0.3014, 1e-3, _named("a0")),
            Target("flaw of 0.1 mm [MPa]", 173.30, 1e-3, _named("flaw of 0.1 mm")),
            Target("flaw of 0.4 mm [MPa]", 131.10, 1e-3, _named("flaw of 0.4 mm")),
            Target("flaw of 1 mm [MPa]", 96.24, 1e-3, _named("flaw of 1 mm")),
            Target("long crack of 30 mm [MPa]", 20.045, 1e-3, _named("long crack of 30 mm")),
            Target("the curve there [MPa]", 20.045, 0.01, _named("curve at 30 mm")),
        ),
        note="The curve runs into the threshold's line from below.",
    ),
    Problem(
        "Smallest flaw that counts in A356-T6",
        "Root of the area at which the lines of Kitagawa and Takahashi meet, by threshold and "
        "fatigue strength of the library for 10 million cycles [mm].",
        "Roy, Nadot, Nadot-Martin, Bardin & Maijer, arXiv 1206.2343, abstract: 0.4 +- 0.1 mm, "
        "measured",
        strength_problems.smallest_flaw,
        (Target("size [mm]", 0.4, 0.25, _named("usual")),),
        note="As far as the measured size is known; threshold and fatigue strength from memory. No "
        "limits by single pores could be opened: of Aigner and others (Materials 12, 2019, 1578), "
        "Pomberger and others (Metals 10, 2020, 616), an area approach to hot castings (Metals 8, "
        "2018, 1033), Gao and others (2004) and Tijani and others (2013) the abstracts alone are, "
        "and they give none.",
    ),
    Problem(
        "Rough surfaces",
        "Cast aluminium of 262 MPa: share of the fatigue strength of polished metal.",
        "FKM guideline, 2012: formula from memory, constants as in an open library (pylife)",
        strength_problems.rough_surfaces,
        tuple(
            Target(name, share, 1e-3, _named(name))
            for name, share in (
                ("Rz 6.3 um", 0.9048),
                ("Rz 25 um", 0.8335),
                ("Rz 100 um", 0.7618),
                ("Rz 200 um", 0.7260),
            )
        ),
    ),
    Problem(
        "Life by Basquin's line",
        "Amplitude 150 MPa about a mean of 100 MPa by Smith, Watson and Topper; 7075-T6 with "
        "sigma_f' = 1466 MPa, b = -0.143.",
        f"{DOWLING}, table 9.1 (constants from memory), worked out",
        fatigue_problems.basquin,
        (Target("life [cycles]", 7.025e5, 1e-3, _life),),
    ),
    Problem(
        "Engines that must live",
        "How many show that 90 or 99 % carry a load, at 90 or 95 % confidence, where none fails, "
        "where they run twice as long with a Weibull slope of 2, and where one, two or three fail "
        "at 90 % and 90 %.",
        "success-run theorem, its Weibull form and the binomial (derived); the same stands in "
        "tables of reliability handbooks (from memory)",
        engine_problems.success_runs,
        tuple(
            Target(f"{name} [engines]", engines, allowed, _named(name))
            for name, engines, allowed in (
                ("90 % at 90 %", 21.854, 1e-4),
                ("99 % at 95 %", 298.07, 1e-4),
                ("twice as long, slope 2", 5.4636, 1e-4),
                ("one failed", 38, 0),
                ("two failed", 52, 0),
                ("three failed", 65, 0),
            )
        ),
    ),
    Problem(
        "Lives of which half are not over",
        "Ten of twenty units failed within 500 h: the lognormal lives of the most probability, by "
        "the likelihood that the shop's engines are counted by.",
        "data: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3; estimates derived with "
        "a general survival library (lifelines)",
        engine_problems.censored_lives,
        (
            Target("mu [ln h]", 6.22602, 1e-5, _named("mu")),
            Target("sigma [ln h]", 0.90891, 1e-4, _named("sigma")),
        ),
    ),
    Problem(
        "Circle through six places",
        "Mean and first order of readings, repeated about the centre that they lead to.",
        "the circle fits in the cookbook of a general library (SciPy), derived there by geometric "
        "distances",
        engine_problems.circle,
        tuple(
            Target(f"{name} [mm]", value, 1e-4, _named(name))
            for name, value in (("x", 10.50009), ("y", 9.65995), ("R", 23.33353))
        ),
    ),
    Problem(
        "Thick tube from the side, Lame",
        "Radii 50 and 80 mm, 10 MPa inside, no strain along it; E = 70000 MPa, nu = 0.33.",
        "Timoshenko & Goodier, Theory of Elasticity, 3rd ed., 1970, thick cylinder, plane strain",
        depth_problems.thick_tube,
        (
            Target("growth [mm]", 0.01766026, 1e-4, lambda answer: answer.growth()[1]),
            Target("hoop stress [MPa]", 22.82051, 1e-3, lambda answer: answer.hoop()[1].max()),
        ),
    ),
    Problem(
        "Nearly incompressible thick cylinder",
        "Radii 3 and 9, unit pressure inside, no strain along it; E = 1000, nu = 0.499.",
        "MacNeal & Harder, Finite Elem. Anal. Des. 1 (1985) 3-20",
        partial(depth_problems.nearly_incompressible, 0.499),
        (Target("growth [1/1000]", 5.0602, 1e-3, lambda answer: 1000 * answer.growth()[1]),),
    ),
    Problem(
        "Strip on a base with friction",
        "EA = 72400 x 160 N, pulled at its end with 6000 N against 15 N/mm of friction, let go and "
        "pulled again.",
        "derived: friction t alone holds it, F = t s, so the end moves by F2 / (2 EA t)",
        friction_problems.strip_on_a_base,
        (
            Target("length that slips [mm]", 400.0, 1e-2, lambda answer: answer.slip_length),
            Target("end, pulled [mm]", 0.103591, 1e-3, lambda answer: answer.end(0)),
            Target("end, let go [mm]", 0.0517956, 1e-3, lambda answer: answer.end(1)),
            Target("end, pulled again [mm]", 0.103591, 1e-3, lambda answer: answer.end(2)),
            Target("work of a cycle [N mm]", 103.591, 2e-3, lambda answer: answer.worn),
        ),
        note="The length is told to the nearest node; the corner of Coulomb's law is rounded.",
        seconds=1.0,
    ),
    Problem(
        "Thin tube pressed on a band",
        "Mean radius 50 mm, wall 0.5 mm, 1 MPa on 10 mm, 0 and 5 mm off its middle; E = 70000 MPa, "
        "nu = 0.33.",
        "Timoshenko & Woinowsky-Krieger, Plates and Shells, 2nd ed., 1959, ch. 15, worked out",
        depth_problems.band,
        tuple(
            Target(f"growth, {z:g} mm off [mm]", growth, 5e-3, _tube_growth(LONG / 2 + z))
            for z, growth in ((0, 0.0657018), (5, 0.0380233))
        ),
        note="Shell theory leaves out what is of the order of wall over radius.",
    ),
    Problem(
        "Thin tube pulled at its free edge",
        "The same tube, 1 N outward for each mm around its edge; there and 3 mm off.",
        "as before",
        depth_problems.edge_force,
        tuple(
            Target(f"growth, {z:g} mm off [mm]", growth, 5e-3, _tube_growth(z))
            for z, growth in ((0, 0.0365337), (3, 0.0122108))
        ),
        note="Shell theory leaves out what is of the order of wall over radius.",
    ),
    *(
        Problem(
            f"Crack at the edge of a plate, {load}",
            "Long plate, its ends free to turn, 1 MPa at the edge; K over the stress times the "
            "root of pi a, by a over the width.",
            "Kaya & Erdogan, Int. J. Fract. 16, 1980, from memory",
            partial(crack_problems.edge_crack, shares, bending),
            tuple(
                Target(f"a / W = {share:g}", factor, 3e-3, _intensity(number))
                for number, (share, factor) in enumerate(zip(shares, factors, strict=True))
            ),
            note="K converges with the size of the elements at the tip; 0.3 % is asked of it.",
        )
        for load, bending, shares, factors in (
            ("tension", False, (0.1, 0.3, 0.5, 0.7), (1.1892, 1.6599, 2.8246, 6.3549)),
            ("bending", True, (0.1, 0.3, 0.5, 0.7), (1.0472, 1.1241, 1.4972, 2.7252)),
        )
    ),
    Problem(
        "Cracks at both sides of a hole",
        "Hole of radius R in a wide plate, 1 MPa across the cracks; K over the stress times the "
        "root of pi (R + c).",
        "Newman, NASA TN D-6376, 1971, from memory",
        partial(crack_problems.hole_with_cracks, (0.1, 0.5, 1.0, 2.0), True),
        tuple(
            Target(f"(R + c) / R = {place:g}", factor, 2e-3, _intensity(number, 1.0))
            for number, (place, factor) in enumerate(
                ((1.1, 0.84), (1.5, 1.0582), (2.0, 1.0409), (3.0, 1.0161))
            )
        ),
        note="The plate is 240 R wide; 0.2 % is asked of K.",
    ),
    Problem(
        "Slanted crack at an edge",
        "45 deg to the edge of a wide plate that is pulled along it; K over the stress times the "
        "root of pi a.",
        "Murakami, Stress Intensity Factors Handbook, 1987, from memory",
        crack_problems.slanted_edge_crack,
        (
            Target("opening", 0.7049, 4e-3, _intensity(0)),
            Target("sliding", 0.3645, 4e-3, _sliding),
        ),
        note="The plate is 80 a wide, not endless.",
    ),
    *(
        Problem(
            f"Short ring of {metal.name} pressed on a long tube",
            "Ring 52/62 mm, 20 mm wide, 0.05 mm tight on the radius, no friction; tube of iron "
            "45/52 mm, 200 mm long; by the distance from the middle.",
            "derived elsewhere by axisymmetric finite elements of high order, to 1e-5; Lame's "
            "long ring would close the bore by a third more",
            partial(solid_fit_problems.short_ring, metal),
            (
                *(
                    Target(f"bore, {off:g} mm off [um]", grown, 1e-3, _grows_by(off))
                    for off, grown in zip((0, 10), growth, strict=True)
                ),
                *(
                    Target(f"pressure, {off:g} mm off [MPa]", pressed, 1e-2, _pressed_at(off))
                    for off, pressed in zip((0, 6), pressure, strict=True)
                ),
                Target("mean pressure [MPa]", mean, 1e-3, lambda answer: answer.mean_pressure()),
            ),
            note="Pressure at a sharp edge has no bound, which is felt beside it; 1 % is asked.",
        )
        for metal, growth, pressure, mean in (
            (IRON, (-20.3515, -16.988), (3.247, 8.235), 10.958),
            (ALLOY, (-15.511, -12.716), (3.301, 6.67), 8.181),
        )
    ),
    Problem(
        "Liner pressed in a ring, in the solid",
        "Liner of iron 45/52 mm in a ring of alloy 52/75 mm, 0.05 mm tight on the radius, no "
        "friction, held lengthwise.",
        "Lame, in plane strain (Timoshenko & Goodier, Theory of Elasticity, 3rd ed., from memory)",
        solid_fit_problems.liner_in_a_ring,
        (
            Target("pressure [MPa]", 9.890923, 1e-3, lambda answer: answer.mean_pressure()),
            Target("bore [um]", -30.04871, 1e-3, _grows_by(4)),
        ),
    ),
    *(
        Problem(
            f"The same liner warmed by 70 K, {joint}",
            f"Expansion 10.5e-6 and 21e-6 1/K: each free, they are 3.5 um apart. {stated}",
            "derived: Lame's rings in plane strain, less their free expansion",
            partial(solid_fit_problems.liner_in_a_ring, 70.0, strength),
            targets,
        )
        for joint, stated, strength, targets in (
            *(
                (
                    joint,
                    stated,
                    strength,
                    (
                        Target("gap [um]", 3.508, 1e-3, lambda answer: answer.gap()),
                        Target("bore [um]", 41.6745, 1e-3, _grows_by(4)),
                    ),
                )
                for joint, stated, strength in (
                    ("its joint open", "No compound.", None),
                    ("its compound broken", "Compound of 0.5 MPa.", 0.5),
                )
            ),
            (
                "its compound intact",
                "Compound of 1 MPa.",
                1.0,
                (
                    Target("pull [MPa]", 0.6939472, 1e-3, lambda answer: -answer.mean_pressure()),
                    Target("bore [um]", 43.78272, 1e-3, _grows_by(4)),
                ),
            ),
        )
    ),
    Problem(
        "Square fin in space",
        "8 x 8 x 30 mm, k = 0.15 W/(mm K), 2000 W/(m2 K) to 0 degC on its sides, tip dry, base at "
        "100 cos(l x) cos(l y) with l tan(4 l) = h / k.",
        "derived: T = 100 cos(l x) cos(l y) cosh(m (30 - z)) / cosh(30 m), m = l times the root "
        "of 2 (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., from memory)",
        solid_heat_problems.fin,
        (
            Target("half-way, middle [degC]", 32.0724, 1e-3, _warmth_in_solid(0, 0, -15)),
            Target("tip, middle [degC]", 17.5076, 1e-3, _warmth_in_solid(0, 0, 0)),
            Target("tip, corner [degC]", 16.6062, 1e-3, _warmth_in_solid(4, 4, 0)),
            Target("heat into the base [W]", 75.1670, 1e-3, _heat("base", 0.25)),
        ),
    ),
    Problem(
        "Cube with one warm face",
        "One face at 60 degC, five at 0; in the centre.",
        "derived: six such cubes, each with another face warm, add up to one at 60 degC all over",
        solid_heat_problems.cube,
        (Target("centre [degC]", 10.0, 1e-3, _warmth_in_solid(0.5, 0.5, -0.5)),),
    ),
    Problem(
        "Wall of an engine's cylinder",
        "Flat, 10 mm of iron, k = 73 W/(m K), gas of 2000 K by 120 W/(m2 K), coolant of 373 K by "
        "2200 W/(m2 K): a worked example.",
        "Katz, Automotive Aerodynamics (2016), example 11.6, opened; it prints 480 and 455 K, cut "
        "to whole kelvin, and 182,300 W/m2",
        solid_heat_problems.engine_wall,
        (
            Target("wall at the gas [K]", 480.0, 2.5e-3, _kelvin_in_solid(0, 0, 0)),
            Target("wall at the coolant [K]", 455.0, 2.5e-3, _kelvin_in_solid(0, 0, -10)),
            Target("heat flux [W/mm2]", 0.1823, 1e-3, _heat("gas", 1.0)),
        ),
        note="Cut to whole kelvin: up to 1 K, 0.25 %.",
    ),
    Problem(
        "Water that boils",
        "Boiling point by absolute pressure, and the heat flux at which a pool boils dry.",
        "IAPWS steam tables (stated); Zuber, Trans. ASME 80 (1958) with 0.149, and Gnielinski's "
        "Nu, by hand",
        coolant_problems.water,
        (
            *(
                Target(f"boils at {bar:g} bar [degC]", degc, 1e-4, _boils(bar))
                for bar, degc in ((1.0, 99.606), (1.5, 111.349), (2.0, 120.210))
            ),
            *(
                Target(f"boils dry at {bar:.2f} bar [MW/m2]", flux, 1e-3, _crisis(bar))
                for bar, flux in ((1.01325, 1.26071), (2.0, 1.65395))
            ),
            Target("Nu at Re 5e4, Pr 2", 185.7913, 1e-4, _nusselt(5e4, 2.0)),
        ),
        seconds=3.0,
    ),
    Problem(
        "Boiling curve of water in a pool",
        "Forster and Zuber's bubbles at 1 atm: where they end, at the critical heat flux.",
        "the boiling curve after Nukiyama (1934) as public texts have it, opened "
        "(cfdblog.cc, novasolver.jp): bubbles from 5 to 30 K of superheat",
        coolant_problems.water,
        (Target("superheat where they end [K]", 30.0, 0.15, _end_of_bubbles(1.01325)),),
        note="The texts give a round number; surfaces differ by more.",
        seconds=3.0,
    ),
    Problem(
        "Boiling of water at a wire, measured",
        "Nichrome wire of 0.575 mm in water at 1 atm: superheat of its wall by heat flux, as far "
        "as the critical heat flux told here, and the largest heat flux at which bubbles hold.",
        "Nukiyama, J. JSME 37 (1934) 367-374, in English Int. J. Heat Mass Transfer 9 (1966) "
        "1419-1433: table 3 as the public repository ruancomelli/boiling-learning copies it, and "
        "the abstract (1.08 to 1.8 million kcal/(m2 h)); both opened, the paper not",
        coolant_problems.water,
        (
            *(
                Target(f"superheat at {flux:.4f} MW/m2 [K]", measured, 0.25, _superheat(flux))
                for flux, measured in (
                    (CAL_PER_CM2_S * cal, superheat) for cal, superheat in NUKIYAMA
                )
            ),
            Target("largest heat flux [MW/m2]", 1.675, 0.25, _crisis(1.01325)),
        ),
        note="A wall is told up to 5 K too hot between 13 and 26 K; surfaces differ by as much. "
        "Below 8 K water rises with few bubbles. The largest flux is told at the lower end of "
        "what was measured, 1.26 to 2.09 MW/m2.",
        seconds=3.0,
    ),
    Problem(
        "Openings that lie over each other",
        "Circles of radius 5 whose centres are 4 mm apart; a slot of 5 mm along 1.2 rad of a "
        "circle of radius 50 with a hole of 9 mm over its end.",
        "derived: closed form of the lens; OCC's boolean of the same arcs (stated)",
        water_problems.openings,
        (
            Target("lens [mm2]", 39.633671, 1e-6, lambda of: of.lens),
            Target("slot and hole [mm2]", water_problems.OCC, 1e-6, lambda of: of.slot_and_hole),
        ),
    ),
    Problem(
        "Openings as orifices",
        "4, 5 and 6 mm with C = 0.61, 965 kg/m3 and 20 kPa, side by side and one behind another; "
        "discharge of a thin opening.",
        "derived: flows add side by side, drops in series; ISO 5167-2, Reader-Harris and "
        "Gallagher, corner taps, beta 0.1, Re 1e6 (stated)",
        water_problems.orifices,
        (
            Target("side by side [L/min]", 14.2504, 1e-4, lambda of: of.side_by_side),
            Target("in series [L/min]", 2.33578, 1e-4, lambda of: of.in_series),
            Target("discharge of a thin opening", 0.596471, 1e-2, lambda of: of.thin),
        ),
        note="The discharge is that of a wide wall by another handbook (Idelchik).",
    ),
    Problem(
        "Water with half its mass of glycol that boils",
        "Boiling point by absolute pressure.",
        "derived: Raoult's law with the steam tables and the molar masses, glycol vapour neglected",
        coolant_problems.half_glycol,
        tuple(
            Target(f"boils at {bar:g} bar [degC]", degc, 1e-3, _boils(bar))
            for bar, degc in ((1.0, 106.89), (1.5, 119.17), (2.0, 128.46))
        ),
    ),
    Problem(
        "Strength of a plate with a round hole by the critical distance",
        "Over that of plain metal, by the stress at L/2 from the hole and by its mean over 2L; by "
        "L over the radius.",
        "derived from Kirsch's stress, Z. VDI 42 (1898); point and line method: Taylor, Int. J. "
        "Fatigue 21 (1999) 413-420 (from memory)",
        distance_problems.hole,
        tuple(
            Target(f"L / r = {share:g}, {words}", ratio, 1e-3, _notched(10 * share, line))
            for share, *ratios in (
                (0.1, 0.372084, 0.404873),
                (0.5, 0.516956, 0.592593),
                (1.0, 0.658537, 0.710526),
            )
            for words, ratio, line in zip(("at L/2", "over 2L"), ratios, (False, True), strict=True)
        ),
        PLATE,
    ),
    Problem(
        "Strength of a cracked plate by the critical distance",
        "Crack of half-length a = 4 L, over the strength of plain metal.",
        "El Haddad, Topper & Smith, Eng. Fract. Mech. 11 (1979) 573-584 (from memory): the root of "
        "L / (a + L), which the mean gives exactly; the point derived from the same stress",
        distance_problems.crack,
        (
            Target("a / L = 4, over 2L", 0.447214, 3e-2, _notched(1.0, True)),
            Target("a / L = 4, at L/2", 0.458123, 3e-3, _notched(1.0, False)),
        ),
        note="The plate is 20 a wide (0.2 %). At the tip stress has no bound, and what the last "
        "element misses of the mean falls with the root of its size.",
    ),
    *(
        Problem(
            f"Crack at the bore of a ring, {words}",
            "b / a = 2, pressure in the bore; K over the pressure times the root of pi l, by l "
            "over the wall.",
            "Bowie & Freese, Eng. Fract. Mech. 4, 1972 (problem); finite elements elsewhere",
            partial(crack_problems.cracked_ring, 100.0, (0.1, 0.3, 0.5, 0.7), gas),
            tuple(
                Target(f"l / (b - a) = {share:g}", factor, 5e-3, _intensity(number))
                for number, (share, factor) in enumerate(
                    zip((0.1, 0.3, 0.5, 0.7), factors, strict=True)
                )
            ),
            note="No published table was found; the other finite elements are good to 0.5 %.",
        )
        for words, gas, factors in (
            ("gas in the crack", True, (2.790, 2.856, 3.122, 3.565)),
            ("no gas in the crack", False, (1.683, 1.622, 1.693, 1.860)),
        )
    ),
    Problem(
        "Tube with free ends, in space",
        "Radii 45 and 55, 90 long, E = 110 GPa, nu = 0.26, 15 MPa in all of the bore.",
        "Lame, as before, and nu times the sum of radial and hoop stress, derived",
        solid_problems.tube_with_free_ends,
        (
            Target("growth of the bore [um]", 32.58409, 5e-4, _solid_growth(45, 45)),
            Target("hoop stress at the bore [MPa]", 75.75, 2e-3, _solid_hoop(45, 45)),
            Target("shortening [um]", 12.9232, 5e-4, lambda answer: answer.height_change),
        ),
        note=SURFACE,
    ),
    Problem(
        "Tube pressed in its top 28 mm, iron",
        "The same tube standing on a plane without friction, its top free.",
        f"{PRISMS}; no published table was found",
        partial(solid_problems.tube_pressed_at_its_top, solid_problems.IRON),
        (
            *(
                Target(f"growth {depth} mm down [um]", growth, 1e-3, _solid_growth(45, depth))
                for depth, growth in (
                    (0, 38.9809),
                    (5, 35.4343),
                    (12, 30.3846),
                    (22, 21.9379),
                    (28, 15.6600),
                )
            ),
            *(
                Target(f"hoop stress {depth} mm down [MPa]", stress, 3e-3, _solid_hoop(45, depth))
                for depth, stress in ((0, 91.385), (5, 82.320), (12, 68.523), (22, 47.437))
            ),
        ),
        note=SURFACE,
    ),
    Problem(
        "Tube pressed in its top 28 mm, aluminium",
        "The same of E = 72.4 GPa, nu = 0.33.",
        PRISMS,
        partial(solid_problems.tube_pressed_at_its_top, solid_problems.CAST),
        tuple(
            Target(f"growth {depth} mm down [um]", growth, 1e-3, _solid_growth(45, depth))
            for depth, growth in (
                (0, 60.0401),
                (5, 54.5311),
                (12, 46.6926),
                (22, 33.6780),
                (28, 24.1019),
            )
        ),
        seconds=0.7,
    ),
    Problem(
        "Long thin tube pressed at its free end, in space",
        "Radii 44.5 and 51.5, iron, 15 MPa in the top 28 mm of the bore.",
        f"{PRISMS}; the shell of Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells "
        "(from memory), moves by 49.188 um",
        solid_problems.half_infinite_tube,
        (
            Target("growth of its end, mid-wall [um]", 49.691, 1e-3, _solid_growth(48, 0)),
            Target("at its end, in the bore [um]", 50.988, 1e-3, _solid_growth(44.5, 0)),
            Target("half-way, by the shell [um]", 49.188, 3e-2, _solid_growth(48, 0)),
        ),
        note="A shell knows no strain through its wall.",
    ),
    *(
        Problem(
            f"Long thin tube {words} at its free end, in space",
            f"The same tube, {load} on each mm of its mean circumference, the wall loaded evenly.",
            f"{PRISMS}; the shell, as before, moves by {shell:g} um",
            pose,
            (
                Target("growth of its end, mid-wall [um]", middle, 1e-3, _solid_growth(48, 0)),
                Target("at its end, in the bore [um]", bore, 3e-3, _solid_growth(44.5, 0)),
                Target("half-way, by the shell [um]", shell, 3e-2, _solid_growth(48, 0)),
            ),
            note="A shell knows no strain through its wall; stress jumps at the edge of its end.",
        )
        for words, load, pose, middle, bore, shell in (
            ("pulled", "100 N outward", solid_problems.pulled_end, 43.062, 44.36, 42.221),
            ("turned", "1000 N mm", solid_problems.turned_end, 29.142, 30.39, 29.788),
        )
    ),
    Problem(
        "Thick elliptic plate, NAFEMS LE10",
        "Ellipses of half-axes 2 x 1 and 3.25 x 2.75 m, 0.6 m thick, 1 MPa on top, held along the "
        "outside and, upwards, on its line half-way; stress along y at D, (2, 0) on top.",
        f"{NAFEMS}, LE10: -5.38; finite elements of higher order elsewhere -5.369 and -5.357",
        solid_problems.thick_plate,
        (Target("at D [MPa]", -5.38, 1e-2, lambda answer: answer.at(2, 0, 0)[1]),),
        0.5,
        f"Displacement under the line that supports it has no bound: the value drifts. {SURFACE}",
        seconds=2.0,
    ),
    Problem(
        "Cylinder, taper and sphere, warm, NAFEMS LE11",
        "Temperature r + z, alpha = 2.3e-4 /K, between planes; stress along the axis at A.",
        f"{NAFEMS}, LE11: -105; converged finite elements elsewhere -105.6",
        solid_problems.warm_taper,
        (Target("at A, converged [MPa]", -105.6, 5e-3, lambda answer: answer.at(1, 0, 0)[2]),),
        note="The published value is rounded, and 0.6 % below the converged one.",
    ),
    *(
        Problem(
            f"Hole through a plate {ratio:g} times as thick as its diameter{words}",
            f"Pull S, nu = {metal.poisson:g}; stress along the pull beside the hole, over S.",
            "Sternberg & Sadowsky, J. Appl. Mech. 16 (1949), not seen; finite elements elsewhere, "
            "good to 1e-4",
            partial(solid_problems.hole_in_thick_plate, ratio, material=metal),
            (
                Target("half-way [S]", middle, allowed, partial(_along_pull, 10 * ratio)),
                Target("on the surface [S]", surface, 1e-2, partial(_along_pull, 0.0)),
            ),
            note=SURFACE,
        )
        for metal, words, allowed, rows in (
            (
                solid_problems.BENCH,
                "",
                5e-3,
                ((0.25, 3.033, 2.948), (0.5, 3.083, 2.855), (1, 3.131, 2.708), (3, 3.074, 2.556)),
            ),
            (solid_problems.BENCH, "", 8e-3, ((0.1, 3.007, 2.990),)),
            (solid_problems.CAST, ", aluminium", 5e-3, ((1, 3.152, 2.674),)),
        )
        for ratio, middle, surface in rows
    ),
    *(
        Problem(
            f"Stepped shaft with a fillet, {words}",
            "Diameters 75 and 50, fillet 5, nu = 0.3; largest stress over the mean of the thin end"
            f"{' at its surface' if bending else ''}.",
            f"{codes}; the handbooks' polynomials ({PETERSON}) are {low} lower here",
            partial(solid_problems.filleted_shaft, 75, 50, 5, bending),
            (Target("largest stress", factor, allowed, lambda answer: answer.worst),),
            note=SURFACE,
        )
        for words, bending, factor, allowed, codes, low in (
            ("pulled", False, 2.114, 5e-3, "finite elements elsewhere, two codes", "12 %"),
            ("bent", True, 1.800, 5e-3, "finite elements elsewhere, one code", "3 %"),
        )
    ),
)
