"""Where the metal is pulled hardest: separate peaks of the largest principal stress."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import combinations
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from fea.material import Material
from fea.model import Solution
from fea.stress import LayerStress, extremes, hoop, principal, von_mises
from geometry.clock import clock_of, format_clock
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

DIP = 0.05
"""Peaks of one part between which the stress falls by less than this share are one peak."""
TWIN_DIP = 0.02
"""The same for twins of a part's worst, which all count; mesh noise is well below."""
APART = 3.0
"""Peaks of one material that lie closer than this are one spot to a machinist. [mm]."""
APART_ELEMENTS = 2.0
"""Peaks of one part closer than this many element sizes can't be told apart on the mesh."""
WEAKEST = 0.5
"""Spots below this share of the worst are left out, unless few would be left."""
FEW = 5
"""Spots that are shown however far they stay below the worst, and the worst of each part."""
ENOUGH = 2 * FEW
"""Spots of a part after which weak ones aren't looked at."""
TWINS = 0.01
"""Spots within this share of the worst stand in clock order: mesh noise may swap them."""
SHARP_ELEMENTS = 1.5
"""A spot within this many element sizes of a sharp corner is the corner's."""
GAP_SHARE = 0.6
"""Share of the gap between raw and recovered stress that counts as error.

Measured on holes, notches and rings with known answers, from 100 unknowns to 90,000: the true
error stays below in all of them, at a median of a quarter of it.
"""
LEAST_ERROR = 1e-3
"""Share of a spot's stress below which no error is claimed."""

_NEIGHBOURS = np.array(
    [[0, 3], [3, 1], [1, 4], [4, 2], [2, 5], [5, 0], [3, 4], [4, 5], [5, 3]]
)  # a quadratic triangle as four small ones
_SMALL = ([0, 3, 5], [3, 1, 4], [5, 4, 2])  # those at its corners: all neighbours meet in them
_SMALL_AROUND = ([0], [1], [2], [0, 1], [1, 2], [0, 2])  # of each node


class Peak(Protocol):
    """A local maximum, in a section or in a solid."""

    @property
    def part(self) -> str:
        """Whose metal it is in."""

    @property
    def clock_hours(self) -> float:
        """Clock position. [h]."""

    @property
    def sharp(self) -> bool:
        """Whether stress has no finite value there."""

    @property
    def value(self) -> float:
        """What it is a maximum of."""

    @property
    def place(self) -> tuple[float, ...]:
        """Where it is. [mm]."""


Peaking = TypeVar("Peaking", bound=Peak)


@dataclass(frozen=True, slots=True)
class HotSpot:
    """A local maximum of the largest principal stress in one part."""

    part: str
    clock: str
    clock_hours: float  # [h]
    radius_mm: float
    x_mm: float
    y_mm: float
    hoop_mpa: float
    principal_mpa: float  # largest principal stress
    principal_angle_deg: float  # its direction from +x
    von_mises_mpa: float
    error_mpa: float  # numerical error to reckon with
    sharp: bool  # at a corner where stress has no finite value: not to be rated by
    size_mm: float  # of the elements here
    region: int  # whose stress it is
    node: int  # of the mesh
    settled: bool = False  # error within the tolerance asked for; only refinement can tell
    exponent: float | None = None  # of a sharp one: stress grows as size to the power -exponent

    @property
    def value(self) -> float:
        """What it is a maximum of. [MPa]."""
        return self.principal_mpa

    @property
    def place(self) -> tuple[float, float]:
        """Where it is. [mm]."""
        return self.x_mm, self.y_mm


def hot_spots(
    solution: Solution, stresses: Sequence[LayerStress], sharp_at: Array | None = None
) -> tuple[HotSpot, ...]:
    """Separate peaks of tension, worst first.

    A peak counts by itself if the stress dips by 5 % (2 % for a twin of the part's worst) on
    every way, within its part, to a higher one, and if it lies at least 3 mm and two element
    sizes from any higher one; across parts of one material too, so that a fillet between two
    parts is listed once. Spots at sharp corners come last. Those within 1 % of the worst stand
    in clock order.

    Parameters
    ----------
    solution : Solution
    stresses : sequence of LayerStress
        From :func:`fea.stress.recover`.
    sharp_at : ndarray, shape (k, 2), optional
        Places besides the mesh's own corners where stress has no finite value. [mm]

    Returns
    -------
    tuple of HotSpot
        Empty if no part is in tension anywhere.
    """
    mesh = solution.model.mesh
    sharp = _corners(mesh)
    if sharp_at is not None:
        sharp = np.concatenate([sharp, sharp_at])
    found: list[HotSpot] = []
    for part in dict.fromkeys(layer.part for layer in stresses):
        found += _part_spots(mesh, [layer for layer in stresses if layer.part == part], sharp)
    return ranked(listed_once(found, solution.model.materials))


def _corners(mesh: SectionMesh) -> Array:
    """Sharp corners of a mesh, shape (k, 2). [mm]."""
    return np.array([(corner.x, corner.y) for corner in mesh.corners]).reshape(-1, 2)


def _part_spots(mesh: SectionMesh, layers: Sequence[LayerStress], corners: Array) -> list[HotSpot]:
    value = np.full(len(mesh.points), -np.inf)
    owner = np.full(len(mesh.points), -1)
    for index, layer in enumerate(layers):
        largest, _ = extremes(layer.stress)
        higher = largest > value[layer.nodes]
        value[layer.nodes[higher]] = largest[higher]
        owner[layer.nodes[higher]] = index
    elements = np.concatenate([layer.elements for layer in layers])
    triangles = mesh.triangles[elements]
    peaks = separate_peaks(value, triangles)
    is_peak = np.zeros(len(mesh.points), dtype=bool)
    is_peak[peaks] = True
    row, place = np.nonzero(is_peak[triangles])
    corner = triangles[row, place]
    order = np.argsort(corner, kind="stable")
    around = elements[row[order]]  # triangles of each peak, peak by peak
    raw = _raw_at(layers[0], around, place[order])
    size = element_size(mesh.points[mesh.triangles[around, :3]])
    first, last = (np.searchsorted(corner[order], peaks, side) for side in ("left", "right"))
    kept: list[HotSpot] = []
    for node, start, end in zip(peaks, first, last, strict=True):
        rated = [spot for spot in kept if not spot.sharp]
        if len(rated) >= ENOUGH and value[node] < WEAKEST * rated[0].principal_mpa:
            break
        touching, sizes = around[start:end], size[start:end]
        x, y = mesh.points[node].tolist()
        sharp, apart = _is_sharp(x, y, sizes, corners), max(APART, APART_ELEMENTS * sizes.max())
        if not any(
            other.sharp == sharp and math.hypot(other.x_mm - x, other.y_mm - y) < apart
            for other in kept
        ):
            layer = layers[owner[node]]
            kept.append(_spot(mesh, layer, int(node), touching, sizes, raw[:, start:end], sharp))
    return kept


def listed_once(spots: Sequence[Peaking], materials: Mapping[str, Material]) -> list[Peaking]:
    """Spots less those on the shoulder of a higher one in another part of the same material.

    The worst of each part stays.
    """
    kept: list[Peaking] = []
    for spot in sorted(spots, key=lambda spot: -spot.value):
        shoulder = any(
            other.part != spot.part
            and other.sharp == spot.sharp
            and math.dist(other.place, spot.place) < APART
            and materials[other.part] == materials[spot.part]
            for other in kept
        )
        if not shoulder or all(other.part != spot.part for other in kept):
            kept.append(spot)
    return kept


def separate_peaks(value: Array, triangles: Integers) -> Integers:
    """Nodes of peaks of a value above 0 that a dip parts from any higher one, highest first.

    Parameters
    ----------
    value : ndarray, shape (n,)
        By node.
    triangles : ndarray, shape (m, 6)
        Over which peaks are sought.

    Returns
    -------
    ndarray, shape (k,)
        Nodes.
    """
    pulled = np.flatnonzero(value > 0)
    none = len(pulled)
    number = np.full(len(value), none)
    number[pulled] = np.arange(none)
    value = value[pulled]
    nodes = np.take(number, triangles.T)
    if not none:
        return np.zeros(0, dtype=np.int64)
    order = np.argsort(value)
    rank = np.full(none + 1, -1)
    rank[order] = np.arange(none)
    peak = _climbed(order, rank, nodes)
    peaks = np.flatnonzero(peak[:none] == np.arange(none))
    dip_to = _dips(peaks, *_passes(value, peak, nodes), rank)
    peaks = peaks[np.argsort(-value[peaks], kind="stable")]
    twin = value[peaks] >= (1 - TWINS) * value[peaks[0]]
    passes_to = np.array([dip_to[int(node)] for node in peaks])
    return pulled[peaks[passes_to <= (1 - np.where(twin, TWIN_DIP, DIP)) * value[peaks]]]


def _climbed(order: Integers, rank: Integers, nodes: Integers) -> Integers:
    """Peak that each node comes to when all climb to their highest neighbours."""
    ranks = rank[nodes]
    top_of_small = np.stack([ranks[small].max(axis=0) for small in _SMALL])
    climb = rank.copy()
    for node, around in enumerate(_SMALL_AROUND):
        np.maximum.at(climb, nodes[node], top_of_small[around].max(axis=0))
    peak: Integers = np.append(order, len(order))[climb]
    while (peak[peak] != peak).any():
        peak = peak[peak]
    return peak


def _passes(value: Array, peak: Integers, nodes: Integers) -> tuple[Integers, Array]:
    """Passes between the grounds of two peaks, highest first: both peaks, shape (2, k), and value.

    The number beyond the last node stands for those that are not above 0.
    """
    none = len(value)
    grounds = peak[nodes]
    nodes = nodes[:, np.flatnonzero((grounds != grounds[0]).any(axis=0))]
    pairs = nodes[_NEIGHBOURS.T].reshape(2, -1)
    grounds = peak[pairs]
    between = np.flatnonzero((grounds[0] != grounds[1]) & (pairs < none).all(axis=0))
    pairs, grounds = pairs[:, between], np.sort(grounds[:, between], axis=0)
    height = value[pairs].min(axis=0)
    passes = np.argsort(-height)
    low_peak, high_peak = grounds[:, passes]
    _, first = np.unique(low_peak * none + high_peak, return_index=True)
    passes = passes[np.sort(first)]
    return grounds[:, passes], height[passes]


def _dips(peaks: Integers, grounds: Integers, heights: Array, rank: Integers) -> dict[int, float]:
    """Value of the highest pass from each peak to a higher one; 0 where there is none."""
    dip_to = dict.fromkeys(peaks.tolist(), 0.0)
    top = {node: node for node in dip_to}

    def highest(node: int) -> int:
        while top[node] != node:
            top[node] = top[top[node]]
            node = top[node]
        return node

    for first_peak, second_peak, level in zip(*grounds, heights, strict=True):
        low, high = sorted(
            (highest(int(first_peak)), highest(int(second_peak))), key=lambda node: rank[node]
        )
        if low != high:
            top[low] = high
            dip_to[low] = float(level)
    return dip_to


def element_size(corners: Array) -> Array:
    """Side of the equilateral triangle of the same area as some triangles.

    Parameters
    ----------
    corners : ndarray, shape (k, 3, 2) or (k, 3, 3)
        In the plane or in space. [mm]

    Returns
    -------
    ndarray, shape (k,)
        [mm]
    """
    first, second = np.moveaxis(corners[:, 1:] - corners[:, :1], 1, 0)
    seen = [
        first[:, i] * second[:, j] - first[:, j] * second[:, i]
        for i, j in combinations(range(corners.shape[2]), 2)
    ]  # twice the area, seen along each axis
    size: Array = np.sqrt(reduce(np.hypot, seen, np.zeros(len(corners))) * 2 / np.sqrt(3))
    return size


def spot_at(mesh: SectionMesh, layer: LayerStress, node: int) -> HotSpot:
    """What a hot spot tells, of any node of a layer.

    Parameters
    ----------
    mesh : SectionMesh
    layer : LayerStress
    node : int
        Of the mesh, one of ``layer.nodes``.
    """
    row, place = np.nonzero(mesh.triangles[layer.elements] == node)
    touching = layer.elements[row]
    sizes = element_size(mesh.points[mesh.triangles[touching, :3]])
    x, y = mesh.points[node].tolist()
    sharp = _is_sharp(x, y, sizes, _corners(mesh))
    return _spot(mesh, layer, node, touching, sizes, _raw_at(layer, touching, place), sharp)


def _raw_at(layer: LayerStress, elements: Integers, place: Integers) -> Array:
    """Stress of the displacement of a layer's part at one node of each triangle, shape (3, k)."""
    return layer.raw_of(elements)[:, np.arange(len(elements)), place]


def _spot(
    mesh: SectionMesh,
    layer: LayerStress,
    node: int,
    touching: Integers,
    sizes: Array,
    raw: Array,
    sharp: bool,
) -> HotSpot:
    place = int(np.searchsorted(layer.nodes, node))
    x, y = mesh.points[node]
    stress = layer.stress[:, place]
    largest, _, angle = principal(stress)
    own = raw[:, mesh.region[touching] == layer.region]
    off = float(np.abs(extremes(own - stress[:, None])).max())
    hours = float(clock_of(x, y))
    return HotSpot(
        part=layer.part,
        clock=format_clock(hours),
        clock_hours=hours,
        radius_mm=float(np.hypot(x, y)),
        x_mm=float(x),
        y_mm=float(y),
        hoop_mpa=float(hoop(stress, x, y)),
        principal_mpa=float(largest),
        principal_angle_deg=float(angle),
        von_mises_mpa=float(von_mises(stress)),
        error_mpa=GAP_SHARE * off + LEAST_ERROR * float(largest),
        sharp=sharp,
        size_mm=float(sizes.mean()),
        region=layer.region,
        node=node,
    )


def _is_sharp(x: float, y: float, sizes: Array, corners: Array) -> bool:
    """Whether a place is so near a sharp corner that its stress is the corner's."""
    reach = SHARP_ELEMENTS * sizes.max()
    return bool((np.hypot(*(corners - [x, y]).T) <= reach).any())


def layer_of(stresses: Sequence[LayerStress], spot: HotSpot) -> LayerStress:
    """The layer that a hot spot was read from, or the same one in another load step."""
    return next(
        layer for layer in stresses if (layer.part, layer.region) == (spot.part, spot.region)
    )


def along_spot(stresses: Sequence[LayerStress], spot: HotSpot) -> float:
    """Stress at a spot, in the direction of its largest principal stress. [MPa].

    Parameters
    ----------
    stresses : sequence of LayerStress
        Of the load step that the spot is of, or of another on the same mesh.
    spot : HotSpot
    """
    layer = layer_of(stresses, spot)
    angle = np.deg2rad(spot.principal_angle_deg)
    cos, sin = np.cos(angle), np.sin(angle)
    stress = layer.stress[:, np.searchsorted(layer.nodes, spot.node)]
    return float(stress @ [cos**2, sin**2, 2 * sin * cos])


def ranked(spots: Sequence[Peaking]) -> tuple[Peaking, ...]:
    """Worst first, rated before sharp, twins of the worst in clock order, weak ones left out."""
    highest_first = sorted(spots, key=lambda spot: -spot.value)
    rated = [spot for spot in highest_first if not spot.sharp]
    sharp = [spot for spot in highest_first if spot.sharp]
    worst = rated[0].value if rated else 0.0
    twins = [spot for spot in rated if spot.value >= (1 - TWINS) * worst]
    rest = rated[len(twins) :]
    seen = {spot.part for spot in twins}
    shown = sorted(twins, key=lambda spot: spot.clock_hours)
    for spot in rest:
        if spot.value >= WEAKEST * worst or len(shown) < FEW or spot.part not in seen:
            shown.append(spot)
            seen.add(spot.part)
    return (*shown, *(spot for spot in sharp if spot.value >= WEAKEST * worst))
