"""From an outline to curved quadratic triangles; the only file that imports gmsh."""

from __future__ import annotations

import math
import signal
import tempfile
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.faces import Outline
from geometry.planar import Curves
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeGrid, SizeWishes, patches, sample_edges, spread, walls

try:
    import gmsh
except OSError as error:  # the wheel needs libraries of the system that a bare machine lacks
    raise ImportError(
        f"the mesher can't start: {error}. On Debian or Ubuntu, as root: apt-get install -y "
        "--no-install-recommends libglu1-mesa libgl1 libgomp1 libxcursor1 libxft2 libxinerama1"
    ) from error

ACROSS_WALL = 3.4
"""Elements aimed at through the thickness of a wall; three are the least that bending needs."""

PER_TURN = 32
"""Elements aimed at round a full circle of any edge."""

FEWEST_PER_TURN = 7
"""Elements round a full circle of any edge at least, unless fewer are wished for."""

GRADING = 0.4
"""How fast elements may grow away from a fine place. [mm/mm]."""

SMALLEST = 0.08
"""No element is made smaller than this, unless wished for. [mm]."""


_ALONE = threading.Lock()  # the mesher has one model for the whole process


def mesh_outline(
    outline: Outline,
    *,
    element_size: float = 4.0,
    fineness: float = 1.0,
    detail: float = 1.0,
    wishes: Sequence[SizeWishes] = (),
    roundness: float = 16.0,
) -> SectionMesh:
    """Triangles that follow every edge of an outline, finer at fillets, cuts and thin walls.

    Parameters
    ----------
    outline : Outline
    element_size : float
        Largest element around the origin; further than the outline's height from it elements
        may be larger. [mm]
    fineness : float
        Below 1 it scales every size: 0.5 halves them all. Above 1 it scales the largest element
        only, so that walls, fillets and cuts keep what they need.
    detail : float
        Scales the elements across walls; those round arcs change half as much. 1 gives what a
        single solve needs, less a start that is refined later.
    wishes : sequence of SizeWishes
        Where there are any, the least of them counts and they take the place of ``element_size``,
        ``fineness`` and ``detail`` all over the section.
    roundness : float
        Elements round a full circle that arcs get whatever is wished for; fewer further away, as
        with ``element_size``.

    Returns
    -------
    SectionMesh
        The same for the same input, in any process.

    Raises
    ------
    RuntimeError
        If an element is turned inside out, or the mesher fails.
    """
    if wishes:
        sizes = _wished_sizes(outline, wishes, roundness)
        fewest = min(roundness, FEWEST_PER_TURN)
    else:
        sizes = [_size_grid(outline, element_size, fineness, detail)]
        fewest = FEWEST_PER_TURN
    with modeller("section"):
        gmsh.option.setNumber("Mesh.MinimumCircleNodes", fewest)
        curves = _draw(outline)
        with tempfile.TemporaryDirectory() as folder:
            _set_sizes(folder, sizes)
            gmsh.model.mesh.generate(2)
        return _collect(outline, curves)


@contextmanager
def modeller(name: str) -> Iterator[Any]:
    """The mesher with an empty model, for one at a time; what is in it goes at the end."""
    with _ALONE:
        if not gmsh.isInitialized():
            gmsh.initialize([], readConfigFiles=False, interruptible=False)
            _restore_broken_pipes()
        gmsh.option.restoreDefaults()  # or the largest model so far sets tolerances
        for option, value in _OPTIONS.items():
            gmsh.option.setNumber(option, value)
        gmsh.model.add(name)
        try:
            yield gmsh
        finally:
            gmsh.clear()


def _restore_broken_pipes() -> None:
    """Let a broken pipe be an error again: the mesher lets it end the process unheard."""
    number = getattr(signal, "SIGPIPE", None)
    if number and threading.current_thread() is threading.main_thread():
        signal.signal(number, signal.getsignal(number))


_OPTIONS = {
    "General.Terminal": 0,
    "General.NumThreads": 1,
    "Mesh.Algorithm": 6,
    "Mesh.MeshSizeExtendFromBoundary": 0,
    "Mesh.MeshSizeFromPoints": 0,
    "Mesh.MeshSizeFromCurvature": 0,
    "Mesh.MeshSizeMin": SMALLEST / 4,
    "Mesh.MeshSizeMax": 1e6,
    "Mesh.LcIntegrationPrecision": 1e-3,  # at 1e-9 the edges take five times as long as the rest
    "Mesh.ElementOrder": 1,
}


def _size_grid(outline: Outline, element_size: float, fineness: float, detail: float) -> SizeGrid:
    """Element sizes over the outline by its walls and arcs."""
    halves = [[half for loop in face.loops for half in loop] for face in outline.faces]
    largest = element_size * max(fineness, 1.0)
    samples = sample_edges(outline.pieces, halves, max(0.6, 0.4 * largest))
    thickness, _ = walls(outline.pieces, samples, ACROSS_WALL * largest, wedge=2.5)
    radius = np.array([c.radius for c in outline.pieces])[samples.piece]
    round_arc = math.tau * radius / (PER_TURN * (1 + detail) / 2)
    wish = np.minimum(thickness / (ACROSS_WALL * detail), round_arc)
    wish = np.clip(wish, SMALLEST, largest)

    grid = _grid_over(samples.z)
    x, y = (grid.step * np.arange(count) for count in grid.size.shape)
    size = spread(
        samples.z,
        wish,
        GRADING / math.sqrt(detail),
        largest,
        grid.origin,
        grid.step,
        grid.size.shape,
    )
    relaxed = _relaxed(grid.origin + x[:, None] + 1j * y, max(y[-1], grid.step))
    return replace(grid, size=size * relaxed * min(fineness, 1.0))


def _relaxed(z: NDArray[np.complex128], height: float) -> NDArray[np.float64]:
    """How much larger elements may be at places further from the origin than half a height."""
    return 1 + np.clip((np.abs(z) - 0.5 * height) / (0.25 * height), 0, 2.5)


def _wished_sizes(
    outline: Outline, wishes: Sequence[SizeWishes], roundness: float
) -> list[SizeGrid]:
    """The wished sizes on a grid over the outline, and patches where they are small."""
    halves = [[half for loop in face.loops for half in loop] for face in outline.faces]
    samples = sample_edges(outline.pieces, halves, 4.0)
    radius = Curves.of(outline.pieces).radius[samples.piece]
    bent = np.isfinite(radius)
    relaxed = _relaxed(samples.z[bent], max(np.ptp(samples.z.imag), 1.0))
    arcs = SizeWishes(samples.z[bent], math.tau * radius[bent] / roundness * relaxed, 1.0)
    wishes = (*wishes, arcs) if bent.any() else wishes
    common = float(np.quantile(np.concatenate([some.size for some in wishes]), 0.05))
    grid = _grid_over(samples.z, common / 6)
    size: NDArray[np.float64] | float = max(float(some.size.max()) for some in wishes)
    for some in wishes:
        size = spread(
            some.z, some.size, some.grading, size, grid.origin, grid.step, grid.size.shape
        )
    grid = replace(grid, size=np.asarray(size))
    return [grid, *(patch for some in wishes for patch in patches(some, grid))]


def _grid_over(z: NDArray[np.complex128], step: float = 0.0) -> SizeGrid:
    """An empty grid over points, of a step that leaves it 65 to 260 of them in height. [mm]."""
    low = complex(z.real.min(), z.imag.min())
    span = complex(z.real.max(), z.imag.max()) - low
    height = max(span.imag, 1.0)
    step = min(max(step, height / 260), height / 65)
    shape = (math.ceil(span.real / step) + 1, math.ceil(span.imag / step) + 1)
    return SizeGrid(low, step, np.zeros(shape))


def _draw(outline: Outline) -> list[int]:
    """The outline in the mesher: a curve for each piece, a surface for each face."""
    geo = gmsh.model.geo
    points: dict[complex, int] = {}

    def point(z: complex) -> int:
        if z not in points:
            points[z] = geo.addPoint(z.real, z.imag, 0)
        return points[z]

    curves = []
    centres: dict[complex, int] = {}
    for piece in outline.pieces:
        start, end = point(piece.start), point(piece.end)
        if piece.bulge:
            key = complex(round(piece.centre.real, 9), round(piece.centre.imag, 9))
            if key not in centres:
                centres[key] = geo.addPoint(piece.centre.real, piece.centre.imag, 0)
            curves.append(geo.addCircleArc(start, centres[key], end))
        else:
            curves.append(geo.addLine(start, end))
    for number, face in enumerate(outline.faces, 1):
        loops = [
            geo.addCurveLoop([curves[i] if forward else -curves[i] for i, forward in loop])
            for loop in face.loops
        ]
        geo.addPlaneSurface(loops, number)
    geo.synchronize()
    for cut, within in outline.cuts:
        gmsh.model.mesh.embed(1, [curves[cut]], 2, within + 1)
    return curves


def _set_sizes(folder: str, grids: Sequence[SizeGrid]) -> None:
    """Element sizes by fields that the mesher reads from files; the least of them counts."""
    field = gmsh.model.mesh.field
    tags = []
    for number, grid in enumerate(grids):
        path = Path(folder, f"sizes{number}")
        with path.open("wb") as file:
            start = [grid.origin.real, grid.origin.imag, -1.0, grid.step, grid.step, 2.0]
            file.write(np.array(start).tobytes())
            file.write(np.array([*grid.size.shape, 2], dtype=np.int32).tobytes())
            file.write(np.repeat(grid.size[:, :, None], 2, axis=2).tobytes())
        tag = field.add("Structured")
        field.setString(tag, "FileName", str(path))
        field.setNumber(tag, "TextFormat", 0)
        if number:
            field.setNumber(tag, "SetOutsideValue", 1)
            field.setNumber(tag, "OutsideValue", 1e6)
        tags.append(tag)
    least = field.add("Min")
    field.setNumbers(least, "FieldsList", tags)
    field.setAsBackgroundMesh(least)


def _collect(outline: Outline, curves: list[int]) -> SectionMesh:
    """The mesher's arrays with unused nodes dropped and mid-side nodes added, edges by name."""
    tags, flat, _ = gmsh.model.mesh.getNodes()
    at = np.full(int(tags.max()) + 1, -1)
    at[tags.astype(np.int64)] = np.arange(len(tags))
    corners, region = [], []
    for number, face in enumerate(outline.faces, 1):
        _, nodes = gmsh.model.mesh.getElementsByType(2, number)
        if len(nodes) == 0:
            raise RuntimeError(f"the mesher left face {number} of the section empty")
        corners.append(nodes.reshape(-1, 3))
        region.append(np.full(len(nodes) // 3, face.region))
    used, numbered = np.unique(at[np.concatenate(corners).astype(np.int64)], return_inverse=True)
    numbered = numbered.reshape(-1, 3)
    points = flat.reshape(-1, 3)[used, :2]
    turned = _doubled_areas(points, numbered) < 0
    numbered[turned] = numbered[turned][:, [0, 2, 1]]

    ends, piece = _edge_lines(curves)
    number_of = np.full(len(at), -1)
    number_of[tags[used].astype(np.int64)] = np.arange(len(used))
    points, triangles, sides = _quadratic(
        points, numbered, number_of[ends], Curves.of(outline.pieces)[piece]
    )
    names = np.array(outline.names)[piece]
    return SectionMesh(
        points=points,
        triangles=triangles,
        region=np.concatenate(region),
        regions=outline.regions,
        edges={name: sides[names == name] for name in dict.fromkeys(outline.names)},
        corners=outline.corners,
        rounding=outline.rounding,
    )


def _edge_lines(curves: list[int]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """End nodes (k, 2) of the lines along all curves, and the place of each line's curve.

    The mesher gives the lines of all curves in a row, curve by curve as they are numbered, each
    chained from one drawn point to the next.
    """
    _, nodes = gmsh.model.mesh.getElementsByType(1)
    ends = nodes.reshape(-1, 2).astype(np.int64)
    drawn, _, _ = gmsh.model.mesh.getNodes(0)
    is_last = np.isin(ends[:, 1], drawn.astype(np.int64))
    nth: NDArray[np.int64] = np.cumsum(is_last) - is_last
    order = np.argsort(curves)
    if nth[-1] + 1 != len(curves):
        raise RuntimeError("the mesher left a curve of the section without lines")
    return ends, order[nth]


def _quadratic(
    points: NDArray[np.float64],
    corners: NDArray[np.int64],
    ends: NDArray[np.int64],
    along: Curves,
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Triangles with mid-side nodes, on the arc where a side lies along one.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
    corners : ndarray of int, shape (m, 3)
        Counter-clockwise.
    ends : ndarray of int, shape (k, 2)
        Sides that lie along curves.
    along : Curves
        The curve of each such side.

    Returns
    -------
    points : ndarray, shape (n + sides, 2)
    triangles : ndarray of int, shape (m, 6)
    sides : ndarray of int, shape (k, 3)
        Those of ``ends``, with their mid-side node.

    Raises
    ------
    RuntimeError
        If a triangle is turned inside out.
    """
    n = len(points)

    def key(a: NDArray[np.int64], b: NDArray[np.int64]) -> NDArray[np.int64]:
        return np.minimum(a, b) * n + np.maximum(a, b)

    keys, middle = np.unique(key(corners, np.roll(corners, -1, axis=1)), return_inverse=True)
    triangles = np.concatenate([corners, n + middle.reshape(-1, 3)], axis=1)
    z = points @ [1, 1j]
    mid = (z[keys // n] + z[keys % n]) / 2
    nodes = np.searchsorted(keys, key(*ends.T))
    bent = np.flatnonzero(along.bulge)
    arcs = along[bent]
    ray = mid[nodes[bent]] - arcs.centre
    mid[nodes[bent]] = arcs.centre + arcs.radius * ray / np.abs(ray)
    points = np.concatenate([points, np.stack([mid.real, mid.imag], axis=1)])

    if (_doubled_areas(points, corners) == 0).any():
        raise RuntimeError("the mesher made a triangle without area")
    is_bent = np.zeros(len(points), dtype=bool)
    is_bent[n + nodes[bent]] = True
    at_arc = triangles[is_bent[triangles[:, 3:]].any(axis=1)]
    folded = at_arc[smallest_jacobian(points, at_arc) <= 0]
    if len(folded):
        for a, b, between in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
            points[folded[:, between]] = points[folded[:, [a, b]]].mean(axis=1)
        if (smallest_jacobian(points, at_arc) <= 0).any():
            raise RuntimeError("the mesher folded a triangle over; try another element size")
    return points, triangles, np.column_stack([ends, n + nodes])


def _doubled_areas(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Twice the area of straight-sided triangles, negative where clockwise. [mm2]."""
    (ax, ay), (bx, by) = ((points[triangles[:, k]] - points[triangles[:, 0]]).T for k in (1, 2))
    return ax * by - ay * bx


def smallest_jacobian(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Smallest Jacobian determinant of quadratic triangles over their six nodes.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
    triangles : ndarray of int, shape (m, 6)

    Returns
    -------
    ndarray, shape (m,)
        Relative to that of the straight-sided triangle; 1 for straight sides, 0 where folded.
    """
    corners = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])
    r, s = corners.T
    zero = np.zeros(6)
    d_r = np.array(
        [4 * r + 4 * s - 3, 4 * r - 1, zero, 4 - 8 * r - 4 * s, 4 * s, -4 * s]
    )  # (shape, place)
    d_s = np.array([4 * r + 4 * s - 3, zero, 4 * s - 1, -4 * r, 4 * r, 4 - 4 * r - 8 * s])
    nodes = points[triangles]
    along_r = np.einsum("mki,kp->mpi", nodes, d_r)
    along_s = np.einsum("mki,kp->mpi", nodes, d_s)
    det = along_r[..., 0] * along_s[..., 1] - along_r[..., 1] * along_s[..., 0]
    a, b = nodes[:, 1] - nodes[:, 0], nodes[:, 2] - nodes[:, 0]
    return det.min(axis=1) / (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
