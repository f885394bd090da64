"""Small sections of simple shape for the tests of fea, meshed straight with gmsh."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise

import gmsh
import numpy as np

from geometry.section_mesh import Corner, Layer, SectionMesh, UniformDepth

Shapes = tuple[Sequence[Sequence[int]], Mapping[str, Sequence[int]]]
"""Surface tags of each region, and curve tags of each named edge."""


@contextmanager
def _session() -> Iterator[None]:
    gmsh.initialize([], readConfigFiles=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("General.NumThreads", 1)
        gmsh.option.setNumber("Mesh.ElementOrder", 2)
        yield
    finally:
        gmsh.finalize()


def mesh_shapes(
    draw: Callable[[], Shapes],
    regions: Sequence[tuple[Layer, ...]],
    size: float,
    corners: tuple[Corner, ...] = (),
    curved: bool = True,
) -> SectionMesh:
    """Mesh what ``draw`` draws with ``gmsh.model.occ``, at one element size [mm]."""
    with _session():
        surfaces, curves = draw()
        gmsh.model.occ.synchronize()
        gmsh.option.setNumber("Mesh.MeshSizeMax", size)
        gmsh.option.setNumber("Mesh.MeshSizeFromPoints", 0)
        gmsh.option.setNumber("Mesh.SecondOrderLinear", 0 if curved else 1)
        gmsh.model.mesh.generate(2)
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        number = np.zeros(int(tags.max()) + 1, dtype=np.int64)
        number[tags] = np.arange(len(tags))
        points = xyz.reshape(-1, 3)[:, :2]
        triangles, region = [], []
        for index, members in enumerate(surfaces):
            for tag in members:
                nodes = number[gmsh.model.mesh.getElementsByType(9, tag)[1]].reshape(-1, 6)
                triangles.append(nodes)
                region.append(np.full(len(nodes), index))
        edges = {
            name: np.concatenate(
                [
                    number[gmsh.model.mesh.getElementsByType(8, tag)[1]].reshape(-1, 3)
                    for tag in members
                ]
            )
            for name, members in curves.items()
        }
    used, packed = np.unique(np.concatenate(triangles), return_inverse=True)
    triangles_packed = packed.reshape(-1, 6)
    lower = np.zeros(len(points), dtype=np.int64)
    lower[used] = np.arange(len(used))
    corner = points[used][triangles_packed[:, :3]]
    (ax, ay), (bx, by) = (corner[:, 1] - corner[:, 0]).T, (corner[:, 2] - corner[:, 0]).T
    clockwise = ax * by - ay * bx < 0
    triangles_packed[clockwise] = triangles_packed[clockwise][:, [0, 2, 1, 5, 4, 3]]
    return SectionMesh(
        points=points[used],
        triangles=triangles_packed,
        region=np.concatenate(region),
        regions=tuple(regions),
        edges={name: lower[nodes] for name, nodes in edges.items()},
        corners=corners,
    )


def uniform(part: str, thickness: float) -> tuple[Layer, ...]:
    """One part of one thickness [mm]."""
    return (Layer(part, UniformDepth(thickness)),)


def ring(radii: Sequence[float], regions: Sequence[tuple[Layer, ...]], size: float) -> SectionMesh:
    """Rings within one another; edges "bore", "outside" and "fit 1", "fit 2", ... between."""

    def draw() -> Shapes:
        occ = gmsh.model.occ
        circles = [occ.addCircle(0, 0, 0, radius) for radius in radii]
        loops = [occ.addCurveLoop([circle]) for circle in circles]
        surfaces = [[occ.addPlaneSurface([outer, inner])] for inner, outer in pairwise(loops)]
        names = ["bore", *(f"fit {i}" for i in range(1, len(radii) - 1)), "outside"]
        return surfaces, {name: [circle] for name, circle in zip(names, circles, strict=True)}

    return mesh_shapes(draw, regions, size)


def plate_with_holes(size: float, thickness: float = 7.0, curved: bool = True) -> SectionMesh:
    """A 100 x 60 mm plate about the origin with a bore of 30 mm and three odd holes."""

    def draw() -> Shapes:
        occ = gmsh.model.occ
        plate = occ.addRectangle(-50, -30, 0, 100, 60)
        bore = occ.addDisk(0, 0, 0, 15, 15)
        holes = [
            occ.addDisk(-33, 12, 0, 7, 7),
            occ.addDisk(31, -8, 0, 11, 5),
            occ.addRectangle(20, 10, 0, 14, 9, roundedRadius=2),
        ]
        occ.cut([(2, plate)], [(2, tag) for tag in (bore, *holes)])
        occ.synchronize()
        ((_, surface),) = gmsh.model.getEntities(2)
        curves = [tag for _, tag in gmsh.model.getBoundary([(2, surface)], oriented=False)]
        spans = {tag: gmsh.model.getBoundingBox(1, tag) for tag in curves}
        inner = [t for t, box in spans.items() if max(map(abs, (*box[:2], *box[3:5]))) < 15.1]
        return [[surface]], {"bore": inner, "free": [t for t in curves if t not in inner]}

    return mesh_shapes(draw, [uniform("barrel", thickness)], size, curved=curved)


@dataclass(frozen=True)
class Slope:
    """A depth that rises along x."""

    base: float
    rise: float

    def __call__(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return self.base + self.rise * x


def without_rigid_motion(points: np.ndarray, displacement: np.ndarray) -> np.ndarray:
    """Displacement less the translation and rotation that fit it best."""
    x, y = points.T
    one, none = np.ones_like(x), np.zeros_like(x)
    rigid = np.stack([np.r_[one, none], np.r_[none, one], np.r_[-y, x]], axis=1)
    flat = displacement.T.ravel()
    return (flat - rigid @ np.linalg.lstsq(rigid, flat, rcond=None)[0]).reshape(2, -1).T
