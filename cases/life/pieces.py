"""The pieces that ties part an insert into: where each stands, how long it is, what it weighs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cases.life.result import Piece
from fea.model import SectionModel
from fea.quadrature import in_triangles
from geometry.clock import format_clock
from geometry.section import Block
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

FINE = 0.1
"""Apart on the middle of the jacket at which is asked whose it is. [mm]."""
NEAR = 8
"""Triangles nearest to a place, by their middles, that are asked whether they hold it."""


def pieces_of(
    block: Block, model: SectionModel, joined: Integers, density: float | None
) -> tuple[Piece, ...]:
    """The pieces of an insert, by number.

    Parameters
    ----------
    block : Block
    model : SectionModel
        Of the mesh with the insert cut loose.
    joined : ndarray of int
        Nodes of the insert along its joint; a piece has some.
    density : float, optional
        Of the insert. [g/mm3]
    """
    mesh = model.mesh
    volumes = _volumes(mesh, model.bodies)
    places, step, whose = _middle(block, mesh, model.bodies)
    found = []
    for body in np.unique(model.node_bodies[joined]):
        stretch = places[whose == body]
        if not len(stretch):  # it stands beside the middle of the jacket, where ties cross
            stretch = mesh.points[model.node_bodies == body] @ (1, 1j)
        middle = stretch.mean()
        bore, hours = block.nearest_bore(middle.real, middle.imag)
        found.append((int(bore), float(hours), int(body)))
    return tuple(
        Piece(
            number=number, body=body, bore=bore, clock=format_clock(hours), clock_hours=hours,
            length_mm=float(step * (whose == body).sum()),
            mass_g=None if density is None else float(density * volumes[body]),
        )
        for number, (bore, hours, body) in enumerate(sorted(found), 1)
    )  # fmt: skip


def _volumes(mesh: SectionMesh, bodies: Integers) -> Array:
    """Metal of each body, the integral of its thickness, shape (bodies,). [mm3]."""
    volumes = np.zeros(bodies.max() + 1)
    for number, layers in enumerate(mesh.regions):
        (of,) = np.nonzero(mesh.region == number)
        at = in_triangles(mesh.points, mesh.triangles[of], 4)
        for layer in layers:
            metal = (layer.thickness(at.x, at.y) * at.size).sum(axis=0)
            volumes += np.bincount(bodies[of], metal, len(volumes))
    return volumes


def _middle(
    block: Block, mesh: SectionMesh, bodies: Integers
) -> tuple[NDArray[np.complex128], float, Integers]:
    """The middle of the jacket, and which body of an insert has each place of it.

    It follows the bank: circles about the bores, as far as they lie in no other.

    Returns
    -------
    places : ndarray of complex, shape (k,)
        x + i y. [mm]
    step : float
        From one to the next. [mm]
    whose : ndarray of int, shape (k,)
        -1 where no insert is.
    """
    from scipy.spatial import cKDTree

    radius = (block.barrel_radius + block.jacket_radius) / 2
    count = int(np.ceil(2 * np.pi * radius / FINE))
    circle = radius * np.exp(2j * np.pi * np.arange(count) / count)
    axes = np.array(block.axes)
    places = np.concatenate([axis + circle for axis in axes])
    away = np.abs(places[:, None] - axes)
    places = places[(away > radius * (1 - 1e-9)).all(axis=1)]

    of_insert = np.array(
        [any(layer.part == "insert" for layer in layers) for layers in mesh.regions]
    )[mesh.region]
    corners = (mesh.points @ (1, 1j))[mesh.triangles[:, :3]]
    middles = corners.mean(axis=1)
    _, near = cKDTree(np.stack([middles.real, middles.imag], 1)).query(
        np.stack([places.real, places.imag], 1), min(NEAR, len(middles))
    )
    within = np.min(
        [
            ((corners[near, (k + 1) % 3] - corners[near, k]).conj()
             * (places[:, None] - corners[near, k])).imag
            for k in range(3)
        ],
        axis=0,
    ) >= 0  # fmt: skip
    held = within & of_insert[near]  # by the insert, whatever lies below it
    column = np.where(held.any(axis=1), held.argmax(axis=1), within.argmax(axis=1))
    whose = near[np.arange(len(near)), column]  # the nearest where water holds the place
    return places, 2 * np.pi * radius / count, np.where(of_insert[whose], bodies[whose], -1)
