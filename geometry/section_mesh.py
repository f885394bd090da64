"""What the geometry hands over: plain arrays, names, and the depth of metal at each point."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.clock import clock_of, hours_between
from geometry.rounding import Rounding
from geometry.section import DeeperZone

TRIANGLE_SIDES = np.array([[0, 1, 3], [1, 2, 4], [2, 0, 5]])
"""Ends and mid-side node of each side of a triangle, metal on the left."""


@dataclass(frozen=True, slots=True)
class UniformDepth:
    """The same thickness everywhere."""

    thickness: float  # [mm]

    def __call__(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """Thickness at points of any shape. [mm]."""
        return np.full(np.shape(x), self.thickness)


@dataclass(frozen=True, slots=True)
class ProfileDepth:
    """An insert's depth: the base, or any deeper zone that reaches here, up to a cap.

    A zone with a blend that reaches the line halfway to the next bore runs out beyond it, over the
    length of its blend; one without ends there.
    """

    base: float  # [mm]
    zones: tuple[DeeperZone, ...]
    cap: float  # depth of open space at this place [mm]
    axis: float = 0.0  # x of the bore axis that the clock is about [mm]
    beside: tuple[float, ...] = ()  # x of the axes of the bores next to it [mm]
    arc: float = 0.0  # radius at which a blend is a length [mm]

    def __call__(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """Thickness at points of any shape. [mm]."""
        x = np.asarray(x)
        depth = np.full(np.broadcast(x, y).shape, self.base)
        for zone in self.zones:
            share = _of_full_depth(zone, x - self.axis, y)
            for axis in self.beside if zone.blend else ():
                past = np.abs(x - (self.axis + axis) / 2) / blend_length(zone, self.arc)
                runs_out = run_out(past) * _of_full_depth(zone, x - axis, y)
                share = np.maximum(share, runs_out)
            depth = np.maximum(depth, self.base + (zone.depth - self.base) * share)
        return np.minimum(depth, self.cap)


def blend_length(zone: DeeperZone, radius: float) -> float:
    """Length of a zone's blend at a radius. [mm]."""
    return float(radius * np.radians(zone.blend))


def run_out(past: NDArray[np.float64]) -> NDArray[np.float64]:
    """From 1 where a run-out begins to 0 where it ends, at a share of its length."""
    share: NDArray[np.float64] = 0.5 * (1 + np.cos(np.pi * np.clip(past, 0, 1)))
    return share


def _of_full_depth(
    zone: DeeperZone, x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Share of a zone's further depth at points about its bore axis."""
    beyond = 30 * np.abs(hours_between(clock_of(x, y), zone.clock)) - zone.width / 2  # [deg]
    return run_out(beyond / zone.blend if zone.blend else np.where(beyond > 0, 1.0, 0.0))


Depth = UniformDepth | ProfileDepth


@dataclass(frozen=True, slots=True)
class Layer:
    """One part's share of the metal over a region."""

    part: str  # "barrel", "liner", "tie", "outer wall" or "insert"
    thickness: Depth
    top: float = 0.0  # from the deck down to it; more than 0 on the floor of a cut [mm]


def common_depth(
    one: Layer,
    other: Layer,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    edge_break: float = 0.0,
) -> NDArray[np.float64]:
    """Depth over which two layers stand side by side at points.

    Parameters
    ----------
    one, other : Layer
    x, y : ndarray, shape (...)
        [mm]
    edge_break : float
        Of the lower edge of ``one``. [mm]

    Returns
    -------
    ndarray, shape (...)
        0 where one ends above the other's top. [mm]
    """
    low = np.minimum(one.top + one.thickness(x, y) - edge_break, other.top + other.thickness(x, y))
    return np.maximum(low - max(one.top, other.top), 0.0)


@dataclass(frozen=True, slots=True)
class Corner:
    """A point where stress has no finite value, however fine the mesh."""

    x: float  # [mm]
    y: float  # [mm]
    angle: float  # angle of metal around it [deg]


@dataclass(frozen=True, slots=True)
class SectionMesh:
    """A section in curved quadratic triangles.

    Regions with the same layers are one region, so a region's border is a free edge, a change of
    material or a step of thickness. Where two layers lie over one another (an insert above the
    floor of a relief cut) they share the strain.
    """

    points: NDArray[np.float64]  # (n, 2), corner nodes and mid-side nodes [mm]
    triangles: NDArray[np.int64]  # (m, 6): v0 v1 v2 m01 m12 m20, counter-clockwise
    region: NDArray[np.int64]  # (m,): index into regions
    regions: tuple[tuple[Layer, ...], ...]  # layers of each region
    edges: Mapping[str, NDArray[np.int64]]  # name -> (k, 3): end, end, mid-side node
    corners: tuple[Corner, ...] = ()
    rounding: Rounding | None = None  # of the insert as it is cut

    @property
    def parts(self) -> tuple[str, ...]:
        """Parts that its layers are of, in order of the alphabet."""
        return tuple(sorted({layer.part for layers in self.regions for layer in layers}))


def named_sides(mesh: SectionMesh, name: str) -> NDArray[np.int64]:
    """Sides of a named edge as their triangles have them, metal on the left.

    A side between two triangles is given once, as one of them has it.

    Parameters
    ----------
    mesh : SectionMesh
    name : str

    Returns
    -------
    ndarray, shape (k, 3)
        First end, second end and mid-side node.

    Raises
    ------
    ValueError
        If the edge is unknown, or has a side that no triangle has.
    """
    if name not in mesh.edges:
        raise ValueError(
            f'the mesh has no edge "{name}". Choose from {", ".join(sorted(mesh.edges))}.'
        )
    edge, middle = mesh.edges[name], mesh.triangles[:, 3:]
    owners = np.full(len(mesh.points), -1)
    owners[middle] = np.arange(len(middle))[:, None]
    owner = owners[edge[:, 2]]
    place = np.argmax(middle[owner] == edge[:, 2:], axis=1)
    sides: NDArray[np.int64] = mesh.triangles[owner[:, None], TRIANGLE_SIDES[place]]
    if (owner < 0).any() or (np.sort(sides[:, :2]) != np.sort(edge[:, :2])).any():
        raise ValueError(f'edge "{name}" of the mesh has a side that no triangle has.')
    return sides


def bodies_of(triangles: NDArray[np.int64], nodes: int) -> NDArray[np.int64]:
    """Number of the connected body of each triangle; triangles hang together by shared sides.

    Parameters
    ----------
    triangles : ndarray, shape (m, 6)
    nodes : int
        Number of nodes in the mesh.

    Returns
    -------
    ndarray, shape (m,)
        From 0 on.
    """
    from scipy import sparse
    from scipy.sparse.csgraph import connected_components

    m = len(triangles)
    shared = sparse.coo_array(
        (np.ones(3 * m), (np.repeat(np.arange(m), 3), m + triangles[:, 3:].ravel())),
        shape=(m + nodes, m + nodes),
    )
    _, labels = connected_components(shared, directed=False)
    bodies: NDArray[np.int64] = np.unique(labels[:m], return_inverse=True)[1]
    return bodies
