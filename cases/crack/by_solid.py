"""A crack where the solid is pulled: how the section's stress intensity changes by it.

K is linear in the stress that the metal carries without the crack across its way. The section tells
its own K, and what an even stress on the crack's faces makes of it, with wall, ties and insert
about the crack in it. What the solid's stress differs from the section's is weighed along the crack
as an edge crack weighs it (:func:`fea.crack.edge.edge_intensity`), times what the section has of
even stress over such a crack: 2 % off at most on a test block, at 0.96 of the wall. The solid's
stress is that of the design as it is made, where that was solved: depth, heat and what of a joint
has opened are in it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.crack.given import CrackInput
from cases.crack.result import Array, CrackSeries, SolidCrack
from cases.solid.result import SolidState, solid_of
from fea.crack import ROOT_M, grow
from fea.crack.edge import edge_intensity
from geometry.cracked import CrackPath

if TYPE_CHECKING:
    from cases.stress.result import DesignResult

NEAR = 6.0
"""How far from the crack's way stress is taken to interpolate it. [mm]."""
LEVELS = 9
"""Depths that are looked at."""
Profile = Callable[[Array], Array]
"""Stress across the crack's way at distances from its mouth [mm], any shape. [MPa]."""


def solid_crack(
    given: CrackInput, design: DesignResult, series: CrackSeries, even: Array
) -> SolidCrack | None:
    """The crack by the solid of a design, at the depth where it is opened most; None without one.

    Parameters
    ----------
    given : CrackInput
    design : DesignResult
    series : CrackSeries
        The same crack in its section.
    even : ndarray, shape (n,)
        K in the section of 1 MPa that opens the crack evenly, by its lengths. [MPa sqrt(m)]
    """
    solid = solid_of(design)
    if solid is None:
        return None
    state = solid.as_made or solid.shown
    path, lengths = series.path, series.length
    flat = _section_stress(design, path)
    held = even * ROOT_M / edge_intensity(np.ones_like, lengths)
    depths = _depths(path)
    gas, idle = _solid_stress(state, path)

    def opened(of: Profile) -> Array:
        return np.asarray(held * edge_intensity(of, lengths) / ROOT_M)

    def loaded(depth: float) -> Array:
        return series.k1 + opened(lambda s: gas(s, depth) - flat(s))

    by_depth = np.array([loaded(depth)[0] for depth in depths])
    worst = float(depths[int(np.argmax(by_depth))])
    largest, least = loaded(worst), opened(lambda s: idle(s, worst))
    longest = path.length if given.longest is None else given.longest
    end = "breakthrough" if longest >= path.length * (1 - 1e-9) else "longest"
    return SolidCrack(
        as_made=solid.as_made is not None,
        depth_mm=worst,
        depths_mm=depths,
        flaw_by_depth=by_depth,
        largest_k1=largest,
        idle_k1=least,
        crack_growth=grow(
            lengths, largest, least, given.law, given.flaw, longest, path.borders[1:-1], end
        ),
    )


def _depths(path: CrackPath) -> Array:
    """Depths at which the metal at the mouth stands, down to H at most. [mm]."""
    layer = next(one for one in path.stretches[0].layers if one.part in path.parts)
    ahead = path.at(min(0.05, path.length / 2))
    thick = float(layer.thickness(np.array([ahead.real]), np.array([ahead.imag]))[0])
    return layer.top + thick * np.linspace(0, 1, LEVELS)


def _section_stress(design: DesignResult, path: CrackPath) -> Profile:
    """Stress of a section across a crack's way."""
    points, values = [], []
    for layer in design.stresses:
        if layer.part in path.parts:
            at = design.mesh.points[layer.nodes]
            near = _off_way(at, path) < NEAR
            points.append(at[near])
            xx, yy, xy = layer.stress[:, near]
            values.append(_across(path, xx, yy, xy))
    read = _interpolated(np.concatenate(points), np.concatenate(values))

    def stress(s: Array) -> Array:
        z = path.mouth + s * path.direction
        return read(np.stack([z.real, z.imag], axis=-1))

    return stress


def _solid_stress(
    state: SolidState, path: CrackPath
) -> tuple[Callable[[Array, float], Array], Callable[[Array, float], Array]]:
    """Stress of a solid across a crack's way at a depth [mm]: at gas, and with none."""
    nodes: list[NDArray[np.int64]] = []
    gas: list[Array] = []
    idle: list[Array] = []
    for number, field in enumerate(state.fields):
        if field.part not in path.parts:
            continue
        near = _off_way(state.mesh.points[field.nodes, :2], path) < NEAR
        nodes.append(field.nodes[near])
        still = state.idle[number] if state.idle else 0 * field.stress
        for told, stress in ((gas, field.stress), (idle, still)):
            xx, yy, _, xy, _, _ = stress[:, near]
            told.append(_across(path, xx, yy, xy))
    own, first = np.unique(np.concatenate(nodes), return_index=True)
    both = np.stack([np.concatenate(gas), np.concatenate(idle)], axis=1)[first]
    read = _interpolated(state.mesh.points[own], both)

    def at(column: int) -> Callable[[Array, float], Array]:
        def stress(s: Array, depth: float) -> Array:
            z = path.mouth + s * path.direction
            return read(np.stack([z.real, z.imag, 0 * s - depth], axis=-1))[..., column]

        return stress

    return at(0), at(1)


def _off_way(at: Array, path: CrackPath) -> Array:
    """Distance of places x, y from the way of a crack, shape (k,). [mm]."""
    z = (at @ [1, 1j] - path.mouth) / path.direction
    return np.asarray(np.hypot(z.imag, z.real - np.clip(z.real, 0, path.length)))


def _across(path: CrackPath, xx: Array, yy: Array, xy: Array) -> Array:
    """Normal stress across the way."""
    normal = 1j * path.direction
    x, y = normal.real, normal.imag
    return x * x * xx + y * y * yy + 2 * x * y * xy


def _interpolated(points: Array, values: Array) -> Callable[[Array], Array]:
    """Values between points along straight lines; at the nearest one outside of them."""
    from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

    inside, beyond = LinearNDInterpolator(points, values), NearestNDInterpolator(points, values)

    def read(at: Array) -> Array:
        found = inside(at)
        lost = np.isnan(found) if found.ndim < at.ndim else np.isnan(found).any(axis=-1)
        found[lost] = beyond(at[lost])
        return np.asarray(found)

    return read
