"""What the heat of a solid comes to: where it is hottest, and what of it no one may miss.

It decides over that of the section, which knows no depth.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.gas.solve import GasLoad
from cases.life.flags import Bond, Flag, HeatSeen, HotSurface, heat_flags, place_words
from cases.life.given import Heat
from cases.life.heat import gas_film
from cases.solid.gas import BORE
from cases.solid.heat import WATER_FACES
from cases.solid.result import SurfacePlace
from fea.heat import HeatField
from fea.material import Material
from fea.solid.faces import named_nodes
from fea.solid.heat import SolidTemperature
from geometry.clock import clock_of, format_clock
from geometry.section import Block

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True)
class HotPlace(SurfacePlace):
    """A place of a solid and how hot it is; of the bore, or of a part where it is hottest."""

    temperature_degc: float
    flux_w_per_mm2: float | None = None  # that leaves the metal, of a wall


CLOCK_STEPS = 120
"""Steps of the clock that temperatures are told at, each a tenth of an hour."""


@dataclass(frozen=True, kw_only=True, slots=True)
class DepthHeat:
    """What the temperature of a solid comes to, warm at the asked load.

    Attributes
    ----------
    hottest : tuple of HotPlace
        The bore that fires, then each part.
    wettest : HotPlace or None
        Where most heat goes to the coolant; None where it takes none.
    flags : tuple of Flag
    paths_w : mapping of str to float
        Heat into the metal by the faces of each film. [W]
    section_above_k : (float, float), optional
        The section's bore over the solid's mean down to the section depth: in the mean around it,
        and where they differ most. [K]
    barrel_degc : tuple of float or None
        Hottest of the firing bore's barrel over all its depth, each tenth of an hour of the clock
        from 12:00 on; None where no node is. [degC]
    """

    hottest: tuple[HotPlace, ...]
    wettest: HotPlace | None
    flags: tuple[Flag, ...]
    paths_w: Mapping[str, float]
    section_above_k: tuple[float, float] | None = None
    barrel_degc: tuple[float | None, ...] = ()


def depth_heat(
    block: Block,
    given: Heat,
    load: GasLoad,
    found: SolidTemperature,
    materials: Mapping[str, Material],
    section: tuple[HeatField, float] | None = None,
    bond: Bond | None = None,
) -> DepthHeat:
    """What the temperature of a solid comes to.

    Parameters
    ----------
    block : Block
    given : Heat
    load : GasLoad
        Whose engine heats the bore where the case states no other film.
    found : SolidTemperature
    materials : mapping of str to Material
        By part.
    section : (HeatField, float), optional
        The heat of the section, and its depth [mm], to be set beside it.
    bond : Bond, optional
        The insert's joint, where a compound fills it.
    """
    mesh = found.mesh
    wall = named_nodes(mesh, BORE)
    top = int(wall[np.argmax(found.temperature[wall])])
    bore = _place("bore", mesh.points[top], found.temperature[top])
    parts = []
    for part in mesh.parts:
        temperature, at = found.hottest(part)
        parts.append(_place(part, at, temperature))
    wet = [
        _place(name, np.array([of.x_mm, of.y_mm, -of.depth_mm]), of.temperature_degc, of.flux)
        for name, of in found.walls.items()
        if name in WATER_FACES
    ]
    seen = HeatSeen(
        bore=_surface(block, bore),
        bore_metal=materials["liner" if block.liner else "barrel"],
        wet=tuple(_surface(block, of, f"the {of.part}, ") for of in wet),
        parts={of.part: (_surface(block, of), materials[of.part]) for of in parts},
        bond=bond,
    )
    return DepthHeat(
        hottest=(bore, *parts),
        wettest=max(wet, key=lambda of: of.flux_w_per_mm2 or 0.0, default=None),
        flags=heat_flags(given, gas_film(given, load), seen),
        paths_w=dict(found.heat),
        section_above_k=_section_above(found, wall, *section) if section else None,
        barrel_degc=_barrel_around(block, found),
    )


def _barrel_around(block: Block, found: SolidTemperature) -> tuple[float | None, ...]:
    """Hottest of the barrel that fires, by the clock. [degC]."""
    mesh, hottest = found.mesh, np.full(CLOCK_STEPS, -np.inf)
    nodes = np.unique(mesh.prisms[mesh.part == mesh.parts.index("barrel")])
    x, y = mesh.points[nodes, 0], mesh.points[nodes, 1]
    own = np.hypot(x, y) < block.jacket_radius
    at = np.round(clock_of(x[own], y[own]) * CLOCK_STEPS / 12).astype(int) % CLOCK_STEPS
    np.maximum.at(hottest, at, found.temperature[nodes[own]])
    return tuple(float(of) if np.isfinite(of) else None for of in hottest)


def _place(part: str, at: Array, temperature: float, flux: float | None = None) -> HotPlace:
    x, y, z = (float(of) for of in at)
    hours = float(clock_of(x, y))
    return HotPlace(
        part=part,
        clock=format_clock(hours),
        clock_hours=hours,
        radius_mm=float(np.hypot(x, y)),
        x_mm=x,
        y_mm=y,
        depth_mm=-z,
        temperature_degc=float(temperature),
        flux_w_per_mm2=flux,
    )


def _surface(block: Block, of: HotPlace, lead: str = "") -> HotSurface:
    return HotSurface(
        temperature_degc=of.temperature_degc,
        place=f"{lead}{place_words(block, of.x_mm, of.y_mm)}, {of.depth_mm:.0f} mm down",
        flux=of.flux_w_per_mm2 or 0.0,
    )


def _section_above(
    found: SolidTemperature, wall: Sequence[int] | NDArray[np.int64], heat: HeatField, depth: float
) -> tuple[float, float]:
    """How much hotter the section's bore is than the mean of the solid's over its depth. [K]."""
    points = found.mesh.points[wall]
    hours = clock_of(points[:, 0], points[:, 1])
    columns, which = np.unique(hours.round(4), return_inverse=True)
    levels = np.linspace(0.0, depth, 57)
    around = heat.around_bore()
    above = []
    for column, at in enumerate(columns.tolist()):
        rows = np.flatnonzero(which == column)
        rows = rows[np.argsort(-points[rows, 2])]
        down = -points[rows, 2]
        if down[0] > 0 or down[-1] < depth:
            continue  # it does not go through
        felt = np.interp(levels, down, found.temperature[np.asarray(wall)[rows]])
        mean = np.trapezoid(felt, levels) / depth
        flat = np.interp(at, np.arange(len(around) + 1) / 30, np.append(around, around[0]))
        above.append(float(flat - mean))
    return float(np.mean(above)), max(above, key=abs)
