"""The barrel from the side: how its growth and stress change with depth, how deep an insert pays.

The depth section is a round tube: the liner and the barrel wall as they stand at one clock
position, from the deck down to the crankcase floor, where they are held; the deck end is free. Gas
presses on it by depth. Behind it stands a backing, so many MPa for each mm that the wall moves out:

* what the block itself gives (ties, outer wall, neighbours), over the depth of its deepest tie, or
  over the section depth H where it has none;
* what an insert adds, over the insert's depth at this clock position.

Both come from solved deck sections, by :mod:`fea.tube`: the hoop force that the wall carries
there, bare and with the insert, is less than that of a free ring, and the backing is such that a
ring of the same wall, with its relief cut, is spared as much when it grows alike over H, as the
deck section does. Even a shallow insert brings in the whole depth of the outer wall, so a
millimetre of a deep one adds less. So the deck section is solved again with the insert of other
depths, and what each further millimetre adds is taken to stand where that millimetre does: adding
metal never takes support away.

What it can't tell:

* It knows nothing of the bore going out of round. Its growth is the stretch of the wall at this
  clock position as if it were like that all round.
* The deck section doesn't say at which depth the block's own support stands. That it is even over
  the ties is an assumption; below them the barrel stands alone, though neighbours may hold it.
* Nor does it say how an insert's backing is shared over its depth. As it is taken here it stands
  rather high, so the peak below a shallow insert is rather overstated.
* The insert is one piece with the block, and doesn't hold the wall along the bore.
* Floors of cuts and ends of inserts are sharp here. So stress is the mean over the barrel wall,
  which they leave finite; what the wall's bending along the bore adds at its faces is not in it.
* Linear elastic, at 20 degC; the head, its bolts and its gasket are not there.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.block.features import own
from cases.case import Design
from cases.depth.given import depth_given, joined_stretch
from cases.depth.result import (
    Array,
    ByDepth,
    Curves,
    DepthResult,
    DesignDepth,
    Even,
    Pressure,
    Sweep,
    Wall,
)
from cases.gas.solve import GasLoad
from cases.stress.solve import solve_section
from cases.stress.spots import rated_spots
from geometry.clock import clock_to_angle, format_clock, hours_between
from geometry.outline import draw_section
from geometry.plan import barrel_curves, placed
from geometry.section import Block, Insert
from geometry.section_mesh import Layer, ProfileDepth, SectionMesh, UniformDepth

if TYPE_CHECKING:
    from cases.case import Case
    from cases.stress.result import DesignResult
    from fea.stress import LayerStress
    from fea.tube import AxisymmetricModel, AxisymmetricSolution

Backing = tuple[float, float]
"""Pressure for each mm that the wall moves [MPa/mm], and the depth down to which it stands [mm]."""

ELEMENT = 1.0
"""Side of an element; the wall bends over a length some ten times that. [mm]."""
ROWS = 150
"""Elements in a deep barrel."""
TRIED = (0.1, 0.25, 0.5, 1.0)
"""Insert depths for which the deck section is solved again, as shares of H."""
NEAR = 0.25
"""How far from the clock position the deck section's stress is still taken. [h]."""


def depth_section(case: Case, gas: GasLoad, designs: Sequence[DesignResult]) -> DepthResult:
    """Solve the depth section of every design.

    Parameters
    ----------
    case : Case
        With a ``depth``.
    gas : GasLoad
    designs : sequence of DesignResult
        Of :func:`cases.run.solve_case`. Where none is bare, the bare block is solved here.

    Returns
    -------
    DepthResult

    Raises
    ------
    ValueError
        If the case has no depth section.
    RunError
        If no backing accounts for what the wall carries in the deck section.
    """
    given = depth_given(case)
    if given is None:
        raise ValueError("the case has no [depth].")
    bare = next((one for one in designs if one.section.insert is None), None) or _bare(case, gas)
    clock = _governing(case.block, bare) if given.clock is None else given.clock
    place = _Place(case, gas, clock, walls_at(bare.section.mean_block, clock, given.floor))
    tried = np.arange(math.floor(case.section_depth) + 1.0)
    tube = _tube(place, bare, {*tried, *(place.depth_of(one.section.insert) for one in designs)})
    return DepthResult(
        clock=clock,
        chosen=given.clock is not None,
        floor=given.floor,
        section_depth=case.section_depth,
        least_gain=given.least_gain,
        bore_radius=case.block.bore / 2,
        liner_radius=case.block.liner_radius,
        walls=place.walls,
        backing=tube.backing[0],
        backing_depth=tube.backing[1],
        pressures=tube.pressures,
        depth_mm=tube.model.points[tube.bore, 1],
        row_mm=tube.model.rows("barrel")[0],
        designs=tuple(_seen(place, tube, one, tried, given.least_gain) for one in designs),
    )


@dataclass(frozen=True, eq=False, slots=True)
class _Place:
    """Where the barrel is looked at from the side, and the walls that stand there."""

    case: Case
    gas: GasLoad
    clock: float  # [h]
    walls: tuple[Wall, ...]

    def depth_of(self, insert: Insert | None) -> float:
        """Depth of an insert here; 0 without one. [mm]."""
        return depth_at(insert, self.clock, self.case.section_depth)


@dataclass(frozen=True, eq=False, slots=True)
class _Tube:
    """The depth section of the bare block, to be backed by the insert of each design."""

    model: AxisymmetricModel
    pressures: tuple[Pressure, ...]
    forces: Mapping[str, Array]  # of each pressure, by its name
    share: float  # of the gas load that the wall carries around, by the deck section
    backing: Backing  # of the block itself

    @property
    def bore(self) -> NDArray[np.int64]:
        """Nodes of the bore wall."""
        return self.model.nodes("inside")

    def solve(self, pressure: Pressure, added: ByDepth, insert: float) -> AxisymmetricSolution:
        """Under a pressure, with the backing that an insert adds down to its depth [mm]."""
        own, reach = self.backing
        return self.model.solve(
            self.forces[pressure.name], lambda z: own * (z < reach) + added(z) * (z < insert)
        )


def _tube(place: _Place, bare: DesignResult, depths: set[float]) -> _Tube:
    """The depth section of the bare block, with lines of elements at some depths [mm]."""
    block, height = place.case.block, place.case.section_depth
    reach = min(max((tie.depth for tie in own(block.ties, block)), default=height), height)
    share, backing = _backing(place, bare.name, bare.mesh, bare.stresses, (0.0, 0.0), reach)
    pressures = _pressures(place.gas)
    ends = {end for one in pressures for end in one.ends}
    model = _model(place.case, place.walls, {*ends, *depths, reach, height})
    forces = {one.name: model.pressure("inside", one.by_depth) for one in pressures}
    return _Tube(model, pressures, forces, share, (backing, reach))


def _seen(
    place: _Place, tube: _Tube, design: DesignResult, tried: Array, least_gain: float
) -> DesignDepth:
    """One design from the side; with an insert also with it at each depth tried [mm]."""
    insert = place.depth_of(design.section.insert)
    share, backing, sweep = tube.share, 0.0, None
    added: ByDepth = np.zeros_like
    if insert:
        share, backing, added = _backed(place, tube, design, insert)
        swept = [tube.solve(tube.pressures[0], added, depth) for depth in tried]
        sweep = sweep_of(
            tried,
            1000 * np.array([one.displacement[tube.bore, 0].max() for one in swept]),
            np.array([one.row_stress("barrel")[3].max() for one in swept]),
            least_gain,
        )
    curves = {one.name: _curves(tube.solve(one, added, insert)) for one in tube.pressures}
    return DesignDepth(
        name=design.name,
        insert_depth=insert,
        wall_share=share,
        backing=backing,
        curves=curves,
        deck_mpa=_deck_stress(design, place.clock),
        sweep=sweep,
        solid=None,
        **_largest(tube.model, curves[tube.pressures[0].name], place.case.section_depth),
    )


def _backed(
    place: _Place, tube: _Tube, design: DesignResult, insert: float
) -> tuple[float, float, ByDepth]:
    """What an insert so deep [mm] leaves to the wall, its mean backing, and that by depth.

    The deck section is solved with the insert at other depths; what each further millimetre adds
    stands where that millimetre does.
    """
    from scipy.interpolate import PchipInterpolator

    share, backing = _backing(
        place, design.name, design.mesh, design.stresses, tube.backing, insert
    )
    held = {0.0: 0.0, insert: insert * backing}
    for depth, mesh, stresses in _other_depths(place, design, insert):
        held[depth] = depth * _backing(place, design.name, mesh, stresses, tube.backing, depth)[1]
    return share, backing, PchipInterpolator(*zip(*sorted(held.items()), strict=True)).derivative()


def _bare(case: Case, gas: GasLoad) -> DesignResult:
    """The bare block, solved."""
    design = Design(name="bare")
    return solve_section(case, design, draw_section(case.section(design)), gas.line_load)


def _governing(block: Block, bare: DesignResult) -> float:
    """Clock position of the worst hot spot where the barrel stands free. [h]."""
    for part in ("barrel", "tie", "liner"):
        for spot in rated_spots(bare, (part,)):
            if joined_stretch(block, spot.clock_hours) is None:
                return spot.clock_hours
    hours = bare.bore.clock_hours[np.argsort(-bare.bore.growth_um)]
    return next(float(hour) for hour in hours if joined_stretch(block, float(hour)) is None)


def walls_at(block: Block, clock: float, floor: float) -> tuple[Wall, ...]:
    """The barrel of the firing bore at a clock position, from the deck down.

    A relief cut of any bore that the ray from the axis meets leaves the metal up to it.

    Parameters
    ----------
    block : Block
    clock : float
        [h]
    floor : float
        Depth of the crankcase floor. [mm]

    Returns
    -------
    tuple of Wall
        The outside grows from each to the next.
    """
    ray = cmath.exp(1j * float(clock_to_angle(clock)))
    plain = _plain_radius(block, ray)
    cuts = []
    for cut in placed(block.relief_cuts, block, "relief cut"):
        centre = (cut.axis + cut.feature.radius * cut.ray) * ray.conjugate()
        half = cut.feature.diameter / 2
        if abs(centre.imag) < half:
            met = centre.real - math.sqrt(half**2 - centre.imag**2)
            if 0 < met < plain:
                cuts.append((cut.feature.depth, met))
    ends = sorted({0.0, floor, *(depth for depth, _ in cuts)})
    found: list[Wall] = []
    for top, bottom in pairwise(ends):
        outer = min([plain, *(met for depth, met in cuts if depth > top)])
        if found and found[-1].outer == outer:
            found[-1] = replace(found[-1], bottom=bottom)
        else:
            found.append(Wall(top, bottom, outer))
    return tuple(found)


def _plain_radius(block: Block, ray: complex) -> float:
    """Outside of the firing bore's barrel before relief cuts, along a ray. [mm]."""
    if not block.wall_rows(block.firing_bore):
        return block.barrel_radius
    places = np.linspace(0, 1, 17)
    curves = barrel_curves(block, block.firing_bore - 1)
    outline = np.array([curve.point(float(s)) for curve in curves for s in places]) / ray
    order = np.argsort(np.angle(outline))
    return float(np.interp(0.0, np.angle(outline)[order], np.abs(outline)[order]))


def _rings(case: Case, outer: float) -> list[tuple[str, float, float]]:
    """Part, inside and outside of liner and barrel."""
    block = case.block
    rings = [("barrel", block.liner_radius, outer)]
    return [("liner", block.bore / 2, block.liner_radius), *rings] if block.liner else rings


def _backing(
    place: _Place,
    name: str,
    mesh: SectionMesh,
    stresses: Sequence[LayerStress],
    known: Backing,
    sought: float,
) -> tuple[float, float]:
    """Share of the load that the wall carries in a deck section, and the backing it stands for.

    ``sought`` is the depth [mm] over which that backing stands, beside the one that is known.
    """
    from fea.tube import Ring, Strip, find_backing, hoop_force

    case, walls, height = place.case, place.walls, place.case.section_depth
    metal = max(wall.outer for wall in walls if wall.top < height)
    parts = _rings(case, metal)
    angle = float(clock_to_angle(place.clock))
    force = hoop_force(
        mesh, stresses, angle, (case.block.bore / 2, metal), [part for part, *_ in parts]
    )
    share = force / (place.gas.line_load * case.block.bore / 2)
    cuts = [wall.bottom for wall in walls if wall.bottom < height]
    strips = []
    for top, bottom in pairwise(sorted({0.0, height, known[1], sought, *cuts})):
        outer = next(wall.outer for wall in walls if top < wall.bottom)
        rings = tuple(
            Ring(low, high, case.materials[part]) for part, low, high in _rings(case, outer)
        )
        strips.append(Strip(bottom - top, rings, known[0] * (top < known[1]), top < sought))
    try:
        return share, find_backing(strips, share)
    except ValueError as error:
        raise RunError(
            f'design "{name}", depth section at {format_clock(place.clock)}: {error} Give another '
            "clock position under [depth]."
        ) from error


def _other_depths(
    place: _Place, design: DesignResult, insert: float
) -> Iterator[tuple[float, SectionMesh, tuple[LayerStress, ...]]]:
    """The deck section with the insert of other depths here, on the same mesh."""
    from fea.stress import recover

    given, height = design.section.insert, place.case.section_depth
    assert given is not None
    for share in TRIED:
        other = with_depth(given, place.clock, share * height, height)
        depth = place.depth_of(other)
        if abs(depth - insert) < 0.02 * height:
            continue
        model = design.solution.model
        changed = model.with_layers(
            [deepened(layers, given, other, height) for layers in design.mesh.regions]
        )  # fmt: skip
        yield depth, changed.mesh, recover(changed.solve(place.gas.line_load))


def with_depth(insert: Insert, clock: float, depth: float, height: float) -> Insert:
    """An insert changed so that it is so deep at a clock position, as far as H lets it.

    Where a deeper zone reaches there all zones change, else the base does; zones that the base has
    reached are gone.

    Parameters
    ----------
    insert : Insert
    clock : float
        [h]
    depth, height : float
        Wanted, and H. [mm]

    Examples
    --------
    >>> from geometry import DeeperZone
    >>> local = Insert(depth=5, zones=(DeeperZone(clock=2, width=30, depth=16),))
    >>> with_depth(local, 2.0, 20.0, 28.0).deepest, with_depth(local, 2.0, 3.0, 28.0).deepest
    (20.0, 3.0)
    >>> with_depth(local, 7.0, 8.0, 28.0).depth
    8.0
    """
    base, here = insert.depth, depth_at(insert, clock, height)
    if here <= base:
        zones = tuple(zone for zone in insert.zones if zone.depth > depth)
        return replace(insert, depth=depth, zones=zones)
    base = min(base, depth)
    wanted = [base + (depth - base) * (z.depth - base) / (here - base) for z in insert.zones]
    zones = tuple(
        replace(zone, depth=min(deep, height))
        for zone, deep in zip(insert.zones, wanted, strict=True)
        if deep > base
    )
    return replace(insert, depth=base, zones=zones)


def deepened(layers: Sequence[Layer], drawn: Insert, insert: Insert, height: float) -> list[Layer]:
    """The layers of a region of the section with the insert of other depths.

    Parameters
    ----------
    layers : sequence of Layer
        With the insert as it was drawn; a ring lies over ties that are milled down to its depth.
    drawn, insert : Insert
        As it was drawn, and of those depths.
    height : float
        Section depth H. [mm]
    """
    if insert.form == "ring" and any(layer.part == "insert" for layer in layers):
        layers = [_milled(layer, drawn.depth, insert.depth) for layer in layers]
        layers = [layer for layer in layers if layer.thickness != UniformDepth(0.0)]
    cap = max((other.top for other in layers if other.part != "insert"), default=height)
    found = []
    for layer in layers:
        thickness = layer.thickness
        if layer.part == "insert" and isinstance(thickness, ProfileDepth):
            thickness = replace(thickness, base=insert.depth, zones=insert.zones)
        elif layer.part == "insert":
            thickness = UniformDepth(min(insert.depth, cap))
        found.append(replace(layer, thickness=thickness))
    return found


def _milled(layer: Layer, drawn: float, depth: float) -> Layer:
    """A tie under a ring, milled down to another depth than it was drawn with; others as they are.

    A relief cut of the ring's own depth through a tie can't be told from the mill.
    """
    if layer.part != "tie" or layer.top != drawn or not isinstance(layer.thickness, UniformDepth):
        return layer
    bottom = layer.top + layer.thickness.thickness
    return replace(layer, top=depth, thickness=UniformDepth(max(bottom - depth, 0.0)))


def depth_at(insert: Insert | None, clock: float, height: float) -> float:
    """Depth of an insert at a clock position; 0 without one. [mm]."""
    if insert is None:
        return 0.0
    angle = float(clock_to_angle(clock))
    depth = ProfileDepth(insert.depth, insert.zones, height)
    return float(depth(np.array(math.cos(angle)), np.array(math.sin(angle))))


def _pressures(gas: GasLoad) -> tuple[Pressure, ...]:
    """What presses on the wall; by crank angle that which loads most, and the envelope."""
    load = gas.wall_load
    if load is None:
        peak = Even(gas.peak_pressure, gas.pressurised_depth)
        return (Pressure("peak", peak, (gas.pressurised_depth,)),)
    worst = int(np.argmax(load.line_loads))
    reach = float(load.reach(load.deg[worst]))
    return (
        Pressure("worst angle", Even(float(load.pressure[worst]), reach), (reach,)),
        Pressure("envelope", load.largest, (float(load.reach(0.0)),)),
    )


def _model(case: Case, walls: Sequence[Wall], lines: set[float]) -> AxisymmetricModel:
    from fea.tube import AxisymmetricModel, Sleeve

    floor = walls[-1].bottom
    sleeves = [
        Sleeve(part=part, inner=inner, outer=outer, top=wall.top, bottom=wall.bottom)
        for wall in walls
        for part, inner, outer in _rings(case, wall.outer)
    ]
    materials = {sleeve.part: case.materials[sleeve.part] for sleeve in sleeves}
    size = max(ELEMENT, floor / ROWS)
    return AxisymmetricModel(sleeves, materials, size=size, lines=lines, fixed={"bottom": "rz"})


def _curves(solution: AxisymmetricSolution) -> Curves:
    model = solution.model
    bore = model.nodes("inside")
    nodes, stress = solution.stress(model.part[0])
    return Curves(
        growth_um=1000 * solution.displacement[bore, 0],
        bore_hoop_mpa=stress[3][np.searchsorted(nodes, bore)],
        barrel_hoop_mpa=solution.row_stress("barrel")[3],
    )


def _largest(model: AxisymmetricModel, curves: Curves, height: float) -> dict[str, float]:
    """Largest growth and mean hoop stress, where they are, and the stress's mean over H."""
    depth = model.points[model.nodes("inside"), 1]
    top, bottom = model.rows("barrel")[0]
    widest, worst = int(np.argmax(curves.growth_um)), int(np.argmax(curves.barrel_hoop_mpa))
    above = bottom <= height + 1e-9
    return {
        "growth_um": float(curves.growth_um[widest]),
        "growth_at_mm": float(depth[widest]),
        "hoop_mpa": float(curves.barrel_hoop_mpa[worst]),
        "hoop_at_mm": float((top + bottom)[worst] / 2),
        "mean_hoop_mpa": float(
            np.average(curves.barrel_hoop_mpa[above], weights=(bottom - top)[above])
        ),
    }


def _deck_stress(design: DesignResult, clock: float) -> float | None:
    """Largest hoop stress of the deck section at the barrel's outer side about here. [MPa]."""
    from cases.stress.traces import barrel_face

    face = barrel_face(design)
    near = np.abs(hours_between(face.clock_hours, clock)) <= NEAR
    near &= np.isfinite(face.hoop_mpa)
    return float(face.hoop_mpa[near].max()) if near.any() else None


def sweep_of(depth: Array, growth: Array, hoop: Array, least_gain: float) -> Sweep:
    """What each further millimetre of an insert buys.

    Parameters
    ----------
    depth : ndarray, shape (k,)
        Rising, from 0. [mm]
    growth, hoop : ndarray, shape (k,)
        Largest growth [um] and stress [MPa] at each.
    least_gain : float
        What a millimetre must take off, as a share of the first value.

    Returns
    -------
    Sweep

    Examples
    --------
    >>> growth, hoop = np.array([50, 40, 36, 35.9]), np.array([90, 89, 60, 58.0])
    >>> sweep = sweep_of(np.arange(4.0), growth, hoop, 0.01)
    >>> sweep.enough_growth_mm, sweep.enough_hoop_mm
    (2.0, None)
    """
    gains = [-np.diff(values) / np.diff(depth) / values[0] for values in (growth, hoop)]
    enough: list[float | None] = []
    for gain in gains:
        worth = np.flatnonzero(gain >= least_gain)
        last = int(worth[-1]) + 1 if len(worth) else 0
        enough.append(float(depth[last]) if last < len(gain) else None)
    return Sweep(
        depth_mm=depth,
        growth_um=growth,
        hoop_mpa=hoop,
        growth_gain=gains[0],
        hoop_gain=gains[1],
        enough_growth_mm=enough[0],
        enough_hoop_mm=enough[1],
    )
