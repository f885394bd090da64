"""Triangles whose sides follow an outline's arcs, where they are large beside its details.

Beside a bent side in a narrow corner a straight one would cross it. It is bent along with it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.faces import Outline
from geometry.mesh import smallest_jacobian
from geometry.planar import Curves
from geometry.section_mesh import TRIANGLE_SIDES, SectionMesh

Integers = NDArray[np.int64]
Points = NDArray[np.complex128]

SOUND = 0.2
"""Least Jacobian of a triangle, over that of straight sides, that is let be."""

ROUNDS = 8

ON_CURVE = 1e-6
"""A node this near to a curve lies on it. [mm]."""


def rounded(mesh: SectionMesh, outline: Outline) -> SectionMesh:
    """A mesh with its sides on the arcs of an outline, inner ones bent where that needs it.

    Parameters
    ----------
    mesh : SectionMesh
        Its named edges are those of the outline.
    outline : Outline
    """
    z: Points = mesh.points @ np.array([1, 1j])
    at, fixed = mesh.triangles, np.zeros(len(z), dtype=bool)
    bend = np.zeros(len(z), dtype=complex)  # of mid-side nodes off the chord
    for name, edges in mesh.edges.items():
        pieces = [c for c, n in zip(outline.pieces, outline.names, strict=True) if n == name]
        bend[edges[:, 2]] = _off_chord(Curves.of(pieces), z[edges])
        fixed[edges[:, 2]] = True
    ends = at[:, TRIANGLE_SIDES[:, :2]]
    chord = (z[ends[..., 0]] + z[ends[..., 1]]) / 2
    length = np.abs(z[ends[..., 0]] - z[ends[..., 1]])
    middle = at[:, 3:]

    def sound() -> NDArray[np.bool_]:
        z[middle] = chord + bend[middle]
        points = np.stack([z.real, z.imag], axis=1)
        return np.asarray(smallest_jacobian(points, at) >= SOUND)

    for _ in range(ROUNDS):
        bad = np.flatnonzero(~sound())
        if not len(bad):
            break
        own, long = middle[bad], length[bad]
        most = np.argmax(np.abs(bend[own]), axis=1)[:, None]
        lead, its_length = (np.take_along_axis(a, most, axis=1) for a in (bend[own], long))
        wanted = lead * np.minimum(1.0, long / its_length) ** 2
        moves = ~fixed[own] & (np.abs(wanted) > np.abs(bend[own]))
        bend[own[moves]] += 0.5 * (wanted - bend[own])[moves]
    for halving in range(6):
        bad = np.flatnonzero(~sound())
        bend[middle[bad]] *= 0.5 if halving < 5 else 0.0
    z[middle] = chord + bend[middle]
    return replace(mesh, points=np.stack([z.real, z.imag], axis=1))


def _off_chord(curves: Curves, sides: Points) -> Points:
    """From the middle of the chord of sides (k, 3) to their curve, the one that both ends are on.

    Sides along a straight line, or along none of the curves, have none.
    """
    ends, middle = sides[:, :2], sides[:, :2].mean(axis=1)
    bent = np.flatnonzero(curves.bulge)
    if not len(bent) or not len(sides):
        return np.zeros(len(sides), dtype=complex)
    arcs = curves[bent]
    off = np.abs(np.abs(ends[:, :, None] - arcs.centre) - arcs.radius).max(axis=1)
    near = np.abs(middle[:, None] - arcs.points(0.5)) <= arcs.length / 2 + ON_CURVE
    off = np.where(near, off, np.inf)
    best = off.argmin(axis=1)
    ray = middle - arcs.centre[best]
    foot = arcs.centre[best] + arcs.radius[best] * ray / np.abs(ray)
    on_arc = np.take_along_axis(off, best[:, None], axis=1)[:, 0] < ON_CURVE
    return np.where(on_arc, foot - middle, 0.0)


def flatness(mesh: SectionMesh) -> NDArray[np.float64]:
    """Area of each triangle with straight sides, over the square of its longest, (m,)."""
    z: Points = mesh.points @ np.array([1, 1j])
    a, b, c = (z[mesh.triangles[:, k]] for k in range(3))
    area = ((b - a).conj() * (c - a)).imag / 2
    return area / np.maximum(np.maximum(np.abs(b - a), np.abs(c - b)), np.abs(a - c)) ** 2
