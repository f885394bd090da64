"""Where the metal of a solid is pulled hardest: separate peaks over its surface, part by part."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.hotspots import (
    APART,
    APART_ELEMENTS,
    ENOUGH,
    SHARP_ELEMENTS,
    WEAKEST,
    element_size,
    listed_once,
    ranked,
    separate_peaks,
)
from fea.solid.model import SolidModel
from fea.solid.stress import PartStress, along, extremes, hoop, principal, von_mises
from geometry.clock import clock_of, format_clock

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

ABOUT_SHARE = 0.45
"""What counts of the gap all about a spot: what single prisms say less the recovered stress, root
mean square over all nodes of the prisms about it. The gap at a single node may vanish by chance."""
HALF_COUNTS = 0.25
"""Gap, over the largest stress about the spot, of which half counts; of a larger one less."""
LEAST_ERROR = 1e-2
"""Share of a spot's stress below which no error is claimed: displacement has its own."""
TOLD = (
    "part", "clock", "clock_hours", "radius_mm", "x_mm", "y_mm", "depth_mm", "principal_mpa",
    "error_mpa",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SolidSpot:
    """A local maximum of the largest principal stress, or of a share, on the surface of a part."""

    part: str
    clock: str
    clock_hours: float  # [h]
    radius_mm: float
    x_mm: float
    y_mm: float
    depth_mm: float  # below the deck
    principal_mpa: float  # largest principal stress
    direction: tuple[float, float, float]  # its direction, a unit vector
    hoop_mpa: float  # around the z axis
    von_mises_mpa: float
    error_mpa: float  # numerical error to reckon with
    sharp: bool  # by a rim where stress has no finite value: not to be rated by
    size_mm: float  # of the elements on the surface here
    node: int  # of the mesh
    value: float  # what it is a maximum of: the stress [MPa], or the share

    def told(self) -> dict[str, Any]:
        """Where it is, its stress and that one's error, by the names that others tell them by."""
        return {name: getattr(self, name) for name in TOLD}

    @property
    def place(self) -> tuple[float, float, float]:
        """Where it is. [mm]."""
        return self.x_mm, self.y_mm, -self.depth_mm


def solid_spots(
    stresses: Sequence[PartStress], field: Mapping[str, Array] | None = None
) -> tuple[SolidSpot, ...]:
    """Separate peaks on the surface, highest first.

    A peak counts by itself if the field dips by 5 % (2 % for a twin of the part's worst) on every
    way over the part's surface to a higher one, and if it lies at least 3 mm and two element sizes
    from any higher one; across parts of one material too. Nodes within an element and a half of a
    sharp rim are looked at apart, so that the rim hides no finite peak beside it; what only climbs
    towards the rim is no such peak. Spots at rims come last.

    Parameters
    ----------
    stresses : sequence of PartStress
        From :func:`fea.solid.stress.recover`.
    field : mapping of str to ndarray, shape (k,), optional
        Of each part at the nodes of its ``PartStress``: what peaks are sought of; the largest
        principal stress without.

    Returns
    -------
    tuple of SolidSpot
        Empty if the field is nowhere above 0.
    """
    model = stresses[0].solution.model
    sharp = near_rims(model)
    found: list[SolidSpot] = []
    for stress in stresses:
        value = extremes(stress.stress)[0] if field is None else field[stress.part]
        found += _part_spots(stress, value, sharp)
    return ranked(listed_once(found, model.materials))


def surface_nodes(stress: PartStress) -> Integers:
    """Nodes of a part that lie on the surface of the metal, in ascending order, (s,)."""
    return np.unique(_surface(stress)[0])


def _surface(stress: PartStress) -> tuple[Integers, Integers]:
    """The part's share of the surface: triangles of six nodes, and the prism of each."""
    mesh = stress.solution.model.mesh
    triangles, prisms = stress.solution.model.topology.surface.triangles()
    own = mesh.part[prisms] == mesh.parts.index(stress.part)
    return triangles[own], prisms[own]


def near_rims(model: SolidModel) -> NDArray[np.bool_]:
    """Whether a node is so near a sharp rim that its stress is the rim's, shape (n,).

    Nodes of prisms that touch the rim, no further from it than an element and a half: of a tall
    prism the far end is the wall's own, and may be its finite peak.
    """
    from scipy.spatial import cKDTree

    mesh = model.mesh
    near = np.zeros(len(mesh.points), dtype=bool)
    if not len(mesh.rims):
        return near
    at_rim = near.copy()
    at_rim[mesh.rims] = True
    touching = mesh.prisms[at_rim[mesh.prisms].any(axis=1)]
    corners = mesh.points[touching[:, :3]]
    height = np.ptp(mesh.points[touching, 2], axis=1)
    size = np.zeros(len(near))
    np.maximum.at(size, touching, np.minimum(element_size(corners), height)[:, None])
    nodes = np.unique(touching)
    ends = mesh.points[mesh.rims]
    between = [(ends[:, k] + ends[:, 2]) / 2 for k in range(2)]
    away, _ = cKDTree(np.concatenate([*ends.swapaxes(0, 1), *between])).query(mesh.points[nodes])
    near[nodes] = away <= SHARP_ELEMENTS * size[nodes]
    return near


def _part_spots(stress: PartStress, value: Array, sharp: NDArray[np.bool_]) -> list[SolidSpot]:
    mesh = stress.solution.model.mesh
    triangles, _ = _surface(stress)
    everywhere = np.full(len(mesh.points), -np.inf)
    shown = np.unique(triangles)
    everywhere[shown] = value[np.searchsorted(stress.nodes, shown)]
    climbing = _climbs_to(everywhere, triangles, sharp)
    rated = separate_peaks(np.where(sharp, -np.inf, everywhere), triangles)
    at_rims = separate_peaks(everywhere, triangles)
    kept: list[SolidSpot] = []
    for peaks in (rated[~climbing[rated]], at_rims[sharp[at_rims]]):
        of_kind: list[SolidSpot] = []
        for node in peaks:
            if len(of_kind) >= ENOUGH and everywhere[node] < WEAKEST * of_kind[0].value:
                break
            spot = spot_at(stress, int(node), float(everywhere[node]), bool(sharp[node]))
            apart = max(APART, APART_ELEMENTS * spot.size_mm)
            if not any(math.dist(spot.place, other.place) < apart for other in of_kind):
                of_kind.append(spot)
        kept += of_kind
    return kept


def _climbs_to(value: Array, triangles: Integers, sharp: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whether a node beside those near a rim has a higher one of them in its triangles, (n,)."""
    highest = np.where(sharp[triangles], value[triangles], -np.inf).max(axis=1)
    beside = np.full(len(value), -np.inf)
    np.maximum.at(beside, triangles, highest[:, None])
    return ~sharp & (beside > value)


def spot_at(stress: PartStress, node: int, value: float, sharp: bool = False) -> SolidSpot:
    """What a spot tells, of any node of a part's surface.

    Parameters
    ----------
    stress : PartStress
    node : int
        Of the mesh, one of ``stress.nodes``.
    value : float
        Of the field that it is a spot of.
    sharp : bool
    """
    mesh = stress.solution.model.mesh
    x, y, z = mesh.points[node].tolist()
    own = stress.stress[:, np.searchsorted(stress.nodes, node)]
    values, directions = principal(own)
    triangles, _ = _surface(stress)
    corners = mesh.points[triangles[(triangles == node).any(axis=1), :3]]
    hours = float(clock_of(x, y))
    dx, dy, dz = directions[0].tolist()
    return SolidSpot(
        part=stress.part,
        clock=format_clock(hours),
        clock_hours=hours,
        radius_mm=float(np.hypot(x, y)),
        x_mm=x,
        y_mm=y,
        depth_mm=0.0 - z,
        principal_mpa=float(values[0]),
        direction=(dx, dy, dz),
        hoop_mpa=float(hoop(own, np.array(x), np.array(y))),
        von_mises_mpa=float(von_mises(own)),
        error_mpa=_error(stress, node, directions[0]) + LEAST_ERROR * float(np.abs(values).max()),
        sharp=sharp,
        size_mm=float(element_size(corners).mean()),
        node=node,
        value=value,
    )


def _error(stress: PartStress, node: int, direction: Array) -> float:
    """Error of the stress at a node, pulled hardest along a direction, by its gaps. [MPa].

    The largest of four: of the prisms' mean there, of what the metal inside says there, and of that
    about the spot, root mean square, all less what the surface says and along the direction, and a
    share of the gap all about it. A small one is the error to reckon with. Where few faces stand
    for a fillet, at ends of cuts' floors and under ties, inside and surface lie up to half of the
    stress apart while the surface is off by an eighth. A coarse mesh misses more than its gaps tell
    (:attr:`geometry.solid.mesh.SolidMesh.coarseness`).

    Chosen on 319 spots of six random blocks under gas, heat and both, fine and coarse, beside
    meshes of half the size, of which 97 % are covered. Held out: of ten other blocks 216 of 227
    coarse and 208 of 213 fine ones are, with 9.5 and 4.5 % stated in the median where 3.0 and 1.4 %
    are true; beside an independent model of six blocks
    (``tests/verification/test_governing_spots.py``), good to 2 %, 60 of 63 and 59 of 62 with that
    allowed. Of coarse spots at ties 97 %, with 10 % stated where 4 % is true.
    """
    mesh = stress.solution.model.mesh
    touching = (mesh.prisms[stress.elements] == node).any(axis=1)
    prisms = stress.prisms[touching]
    off = stress.raw_of(stress.elements[touching]) - stress.stress[:, prisms]
    about = np.sqrt((np.abs(extremes(off)).max(axis=0) ** 2).mean())
    row = int(np.searchsorted(stress.nodes, node))
    rows = np.unique(prisms)
    below = stress.inside[:, rows] - stress.stress[:, rows]
    ways = np.repeat(direction[:, None], len(rows), axis=1)
    here = (
        along(off[:, prisms == row].mean(axis=1), direction),
        along(below[:, rows == row][:, 0], direction),
        np.sqrt((along(below, ways) ** 2).mean()),
    )
    gap = max(ABOUT_SHARE * float(about), *(abs(float(of)) for of in here))
    most = HALF_COUNTS * float(np.abs(extremes(stress.stress[:, rows])).max())
    return mesh.coarseness * (most * gap / (most + gap) if most else gap)
