r"""Steady conduction in a solid: films on named faces, heat across a joint where it touches.

Find the temperature T with, for every v,

.. math::

    \int k \nabla T \cdot \nabla v \,dV + \sum_f \int_f h_f (T - T_f)\, v \,dA
    + \sum_j \int_j c\, [T]\,[v] \,dA = \sum_q \int_q q\, v \,dA,

k the conductivity [W/(mm K)]; f the faces under a film of coefficient h [W/(mm2 K)] and fluid
temperature T_f [degC], both by the wall, place by place, where the film is curved (Newton's
method); j a joint of conductance c [W/(mm2 K)] with a jump [T] from one side to the
other; q the faces that a heat flux enters [W/mm2]. A joint is lumped at its nodes, whose shares of
a face are positive: 1, 4 and 16 parts of 36 of a face with nine, a third at each middle of a
triangle.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fea.assembly import Pattern
from fea.factor import Factor
from fea.heat import CurvedFilm
from fea.heat.steady import BEGIN, MOST_TURNS, SAME_WALL, HeatError
from fea.material import ABSOLUTE_ZERO, Material
from fea.solid.assembly import batches, in_prisms
from fea.solid.faces import FacePlaces, face_places, named_nodes
from fea.solid.topology import Topology
from geometry.solid.mesh import SolidMesh
from geometry.solid.parted import QUAD_MIDDLES, TRIANGLE_MIDDLES, SolidJoint

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
ByDepth = Callable[[Array], Array]
"""A value by depth below the deck [mm], arrays of any shape."""
ByPlace = Callable[[Array, Array, Array], Array]
"""A value by x, y, z [mm], arrays of any shape."""

_QUAD_SHARES = np.array([1, 1, 4, 4, 4, 16, 1, 1, 4]) / 36
_TRIANGLE_SHARES = np.array([0, 0, 0, 1, 1, 1]) / 3
_LOW = np.tril_indices(18)


@dataclass(frozen=True, slots=True)
class SolidFilm:
    """A face that takes heat in proportion to how much warmer it is than what wets it.

    Raises
    ------
    ValueError
        If the coefficient is negative, or the temperature below absolute zero.
    """

    coefficient: float | ByDepth  # [W/(mm2 K)]; 2000 W/(m2 K) are 2e-3
    temperature: float | ByDepth  # of the fluid [degC]

    def __post_init__(self) -> None:
        if not callable(self.coefficient):
            _require_coefficient(np.asarray(self.coefficient))
        if not callable(self.temperature):
            _require_temperature(np.asarray(self.temperature))

    def at(self, depth: Array) -> tuple[Array, Array]:
        """Coefficient and temperature at depths, each of their shape.

        Raises
        ------
        ValueError
            As the film itself, where they come from functions.
        """
        coefficient, temperature = (
            np.broadcast_to(np.asarray(of(depth) if callable(of) else of, dtype=float), depth.shape)
            for of in (self.coefficient, self.temperature)
        )
        _require_coefficient(coefficient)
        _require_temperature(temperature)
        return coefficient, temperature


def _require_coefficient(values: Array, what: str = "film coefficient") -> None:
    if wrong := [value for value in values.flat if not (math.isfinite(value) and value >= 0)]:
        raise ValueError(f"{what} = {wrong[0]:g} W/(mm2 K) must not be negative.")


def _require_temperature(values: Array) -> None:
    wrong = [of for of in values.flat if not (math.isfinite(of) and of >= ABSOLUTE_ZERO)]
    if wrong:
        raise ValueError(
            f"film temperature {wrong[0]:g} degC is not above absolute zero, {ABSOLUTE_ZERO:g} "
            "degC."
        )


@dataclass(frozen=True, slots=True)
class SolidWall:
    """Where most heat leaves metal through the faces of a name."""

    flux: float  # [W/mm2]
    temperature_degc: float  # of the wall
    x_mm: float
    y_mm: float
    depth_mm: float  # below the deck


@dataclass(frozen=True, eq=False)
class SolidTemperature:
    """Temperature of a solid, and the heat that flows.

    Attributes
    ----------
    mesh : SolidMesh
    temperature : ndarray, shape (n,)
        At ``mesh.points``. [degC]
    heat : dict of str to float
        Into the metal through the faces of each name that has a film, a flux or a given
        temperature, what leaves negative; they add up to 0. [W]
    joint_heat : tuple of float
        Through each joint, into the part. [W]
    solver : str
        Library that factored.
    walls : dict of str to SolidWall
        By the name of faces under a film, where most heat leaves the metal.
    """

    mesh: SolidMesh
    temperature: Array
    heat: dict[str, float]
    joint_heat: tuple[float, ...]
    solver: str = ""
    walls: dict[str, SolidWall] = field(default_factory=dict)

    def hottest(self, part: str) -> tuple[float, Array]:
        """Highest temperature of a part [degC], and where, shape (3,) [mm].

        Raises
        ------
        ValueError
            If there is no such part.
        """
        if part not in self.mesh.parts:
            raise ValueError(f"no part is named {part}. Choose from {', '.join(self.mesh.parts)}.")
        nodes = np.unique(self.mesh.prisms[self.mesh.part == self.mesh.parts.index(part)])
        node = nodes[np.argmax(self.temperature[nodes])]
        return float(self.temperature[node]), self.mesh.points[node]


class SolidHeat:
    """The equations of a solid's heat, assembled once for any state of its joints.

    Parameters
    ----------
    mesh : SolidMesh
    materials : mapping of str to Material
        One for each of ``mesh.parts``.
    films : mapping of str to SolidFilm, CurvedFilm or float
        By the name of faces: a film, or a heat flux into them [W/mm2]. Faces without one pass no
        heat.
    held : mapping of str to float or callable, optional
        Temperature of all faces of a name, or T(x, y, z) of arrays; where faces of two names meet,
        the mean. [degC]
    joints : sequence of (SolidJoint, float)
        Each with its conductance where it touches. [W/(mm2 K)]
    order : ndarray of int, shape (n,), optional
        In which nodes are eliminated, where one is known (:mod:`fea.solid.ordering`).

    Raises
    ------
    ValueError
        For a part without material, a material that does not conduct, faces without name, a heat
        flux that is no number, a negative conductance or what a film refuses.
    """

    def __init__(
        self,
        mesh: SolidMesh,
        materials: Mapping[str, Material],
        films: Mapping[str, SolidFilm | CurvedFilm | float],
        held: Mapping[str, float | ByPlace] | None = None,
        joints: Sequence[tuple[SolidJoint, float]] = (),
        order: Integers | None = None,
    ) -> None:
        _check(mesh, materials)
        self.mesh = mesh
        self._order = order
        self._joints = [joint for joint, _ in joints]
        self._conductances = [_conductance(joint, mesh, of) for joint, of in joints]
        rows, columns, self._metal = _conduction(mesh, materials)
        self._faces = {
            name: [_Faces(places, film) for places in face_places(mesh, name)]
            for name, film in films.items()
        }
        for faces in self._all_faces():
            nodes, low = faces.places.nodes, np.tril_indices(faces.places.nodes.shape[1])
            rows.append(nodes[:, low[0]].ravel())
            columns.append(nodes[:, low[1]].ravel())
        for joint in self._joints:  # own with own, other with other, one with the other
            rows += [joint.own, joint.other, joint.own]
            columns += [joint.own, joint.other, joint.other]
        row, column = np.concatenate(rows), np.concatenate(columns)
        self._pattern = Pattern(np.maximum(row, column), np.minimum(row, column), components=1)
        self._set_held(held or {})
        self._bodies = np.empty(len(mesh.points), dtype=np.int64)
        self._bodies[mesh.prisms] = Topology(mesh).bodies[:, None]
        self._factor: Factor | None = None

    def under(self, films: Mapping[str, SolidFilm | CurvedFilm | float]) -> SolidHeat:
        """The same solid under other films on the same faces, which start where walls stood last.

        Nothing is assembled anew, and the factor's order is kept.

        Parameters
        ----------
        films : mapping of str to SolidFilm, CurvedFilm or float
            As of the class, by the same names.

        Raises
        ------
        ValueError
            If the names are others, or as a film refuses.
        """
        if set(films) != set(self._faces):
            raise ValueError(
                f"films on {', '.join(sorted(films))}; the solid has some on "
                f"{', '.join(sorted(self._faces))}."
            )
        other = copy(self)
        other._faces = {
            name: [of.under(films[name]) for of in faces] for name, faces in self._faces.items()
        }
        return other

    def _all_faces(self) -> list[_Faces]:
        return [of for some in self._faces.values() for of in some]

    def _set_held(self, held: Mapping[str, float | ByPlace]) -> None:
        points = self.mesh.points
        known, times = np.zeros(len(points)), np.zeros(len(points))
        self._held = {name: named_nodes(self.mesh, name) for name in held}
        for name, of in held.items():
            nodes = self._held[name]
            known[nodes] += of(*points[nodes].T) if callable(of) else of
            times[nodes] += 1
        self._known, self._is_held = known / np.maximum(times, 1), times > 0
        self._times = times

    def solve(self, touching: Sequence[ArrayLike] | None = None) -> SolidTemperature:
        """Temperature, with joints open where they don't touch, or touch in part.

        Parameters
        ----------
        touching : sequence of array_like, shape (k,), optional
            For each joint the share of its conductance that each of its pairs has, 0 where it is
            open; pairs between corners take the mean of theirs. All touch if left out.

        Raises
        ------
        ValueError
            If a share is not one for each pair, or heat can't leave a body.
        HeatError
            If a film that hangs on the wall is not met.
        NotPositiveDefiniteError
            If the equations can't be factored.
        """
        shares = self._shares(touching)
        bridges = [
            share * conductance
            for share, conductance in zip(shares, self._conductances, strict=True)
        ]
        self._require_ways_out(bridges)
        temperature, unmet = self._solved(bridges)
        for turn in range(MOST_TURNS):
            moved = max((of.meet(temperature) for of in self._all_faces()), default=0.0)
            if moved <= SAME_WALL:
                break
            if turn == MOST_TURNS - 1:
                raise HeatError.of_films(moved)
            temperature, unmet = self._solved(bridges)
        heat = {name: self._heat_through(name, temperature) for name in self._faces}
        unmet = unmet / np.maximum(self._times, 1)
        for name, nodes in self._held.items():
            heat[name] = heat.get(name, 0.0) + float(unmet[nodes].sum())
        joint_heat = [
            float(bridge @ (temperature[joint.other] - temperature[joint.own]))
            for joint, bridge in zip(self._joints, bridges, strict=True)
        ]
        walls = {
            name: max((of.wall_peak(temperature) for of in faces), key=lambda wall: wall.flux)
            for name, faces in self._faces.items()
            if faces and faces[0].is_film
        }
        solver = self._factor.name if self._factor else ""
        return SolidTemperature(self.mesh, temperature, heat, tuple(joint_heat), solver, walls)

    def _solved(self, bridges: Sequence[Array]) -> tuple[Array, Array]:
        """Temperature with films as they are at walls of the turn before, and unmet heat [W]."""
        across = [sign * of for of in bridges for sign in (1, 1, -1)]
        films = [of.products() for of in self._all_faces()]
        values = np.concatenate([self._metal, *films, *across])
        pattern = self._pattern
        summed: Array = np.bincount(pattern.pairs, values, pattern.size).astype(float)
        entries = pattern.entries(summed[None, None])
        n = len(self.mesh.points)
        lower = sparse.csc_array((entries, pattern.rows, pattern.starts), shape=(n, n))
        drive = np.zeros(n)
        for faces in self._all_faces():
            np.add.at(drive, faces.places.nodes, faces.places.shares(faces.drive))
        load = drive - _symmetric(lower, self._known)
        load[self._is_held] = self._known[self._is_held]
        columns = pattern.columns()
        cut = self._is_held[pattern.rows] | self._is_held[columns]
        entries = np.where(cut, (pattern.rows == columns).astype(float), entries)
        if self._factor is None:
            self._factor = Factor(
                sparse.csc_array((entries, pattern.rows, pattern.starts), shape=(n, n)),
                self._order,
            )
        else:
            self._factor = self._factor.refactor(entries)
        temperature = self._factor.solve(load)
        return temperature, _symmetric(lower, temperature) - drive

    def _heat_through(self, name: str, temperature: Array) -> float:
        return float(sum(of.heat(temperature) for of in self._faces[name]))

    def _shares(self, touching: Sequence[ArrayLike] | None) -> list[Array]:
        if touching is None:
            return [np.ones(len(joint.own)) for joint in self._joints]
        if len(touching) != len(self._joints):
            raise ValueError(f"{len(touching)} states for {len(self._joints)} joints.")
        shares = []
        for joint, given in zip(self._joints, touching, strict=True):
            share = np.array(given, dtype=float)
            if share.shape != joint.own.shape:
                raise ValueError(
                    f"what touches has shape {share.shape}; the joint needs {joint.own.shape}."
                )
            for faces, middles in (
                (joint.triangles, TRIANGLE_MIDDLES),
                (joint.quads, QUAD_MIDDLES),
            ):
                for middle, ends in middles:
                    share[faces[:, middle]] = share[faces[:, list(ends)]].mean(axis=1)
            shares.append(share)
        return shares

    def _require_ways_out(self, bridges: Sequence[Array]) -> None:
        """Every body, or another that it touches, has a film or a given temperature."""
        count = int(self._bodies.max()) + 1
        links = sparse.coo_array((count, count))
        for joint, bridge in zip(self._joints, bridges, strict=True):
            one, other = (self._bodies[of[bridge > 0]] for of in (joint.own, joint.other))
            links = links + sparse.coo_array((np.ones(len(one)), (one, other)), links.shape)
        _, group = connected_components(links, directed=False)
        outlet = np.bincount(self._bodies, self._is_held, count)
        for faces in self._all_faces():
            conducts = (faces.coefficient * faces.places.area).sum(axis=0)
            outlet += np.bincount(self._bodies[faces.places.nodes[:, 0]], conducts, count)
        ways = np.bincount(group, outlet)
        if (ways > 0).all():
            return
        shut = ways[group[self._bodies[self.mesh.prisms[:, 0]]]] == 0
        parts = sorted({self.mesh.parts[index] for index in np.unique(self.mesh.part[shut])})
        raise ValueError(
            f"there is no way out for the heat of the {', '.join(parts)}. Give a film with a "
            "coefficient above 0 on one of its faces, or close its joint."
        )


def _check(mesh: SolidMesh, materials: Mapping[str, Material]) -> None:
    for part in mesh.parts:
        if part not in materials:
            raise ValueError(f"no material for {part}. Give one for each part.")
        if not materials[part].conductivity > 0:
            raise ValueError(
                f"{materials[part].name} of the {part} has no conductivity. Give it one above 0."
            )


def _conduction(
    mesh: SolidMesh, materials: Mapping[str, Material]
) -> tuple[list[Integers], list[Integers], Array]:
    """Rows, columns and values of heat that flows down the gradient, prism by prism."""
    conductivity = np.array([materials[part].conductivity for part in mesh.parts])
    products = np.empty((len(mesh.prisms), len(_LOW[0])))
    for some in batches(len(mesh.prisms)):
        places = in_prisms(mesh.points, mesh.prisms[some])
        k, q = places.volume.shape
        weights = conductivity[mesh.part[some], None] * places.volume
        slopes = (places.gradients * np.sqrt(weights)[..., None, None]).reshape(k, 3 * q, 18)
        products[some] = (slopes.swapaxes(1, 2) @ slopes)[:, _LOW[0], _LOW[1]]
    nodes = mesh.prisms
    return [nodes[:, _LOW[0]].ravel()], [nodes[:, _LOW[1]].ravel()], products.ravel()


class _Faces:
    """Faces under a film or a heat flux, as it is where the walls stand.

    Attributes
    ----------
    places : FacePlaces
    is_film : bool
        Not a heat flux.
    coefficient, drive : ndarray, shape (q, k)
        At quadrature points: of the film [W/(mm2 K)], and the heat flux into metal at 0 degC
        [W/mm2].
    """

    def __init__(
        self,
        places: FacePlaces,
        film: SolidFilm | CurvedFilm | float,
        wall: Array | float = BEGIN,
    ) -> None:
        self.places, self._film = places, film
        self.is_film = isinstance(film, SolidFilm | CurvedFilm)
        depth = -places.place[2]
        self._wall = np.broadcast_to(wall, depth.shape)
        if isinstance(film, CurvedFilm):
            self.coefficient, temperature = film.at(self._wall)
            self.drive = self.coefficient * temperature
        elif isinstance(film, SolidFilm):
            self.coefficient, temperature = film.at(depth)
            self.drive = self.coefficient * temperature
        elif math.isfinite(film):
            self.coefficient, self.drive = np.zeros_like(depth), np.full_like(depth, film)
        else:
            raise ValueError(f"heat flux {film:g} W/mm2 must be finite.")

    def under(self, film: SolidFilm | CurvedFilm | float) -> _Faces:
        """The same faces under another film, walls as they are."""
        return _Faces(self.places, film, self._wall)

    def products(self) -> Array:
        """Of the film, face by face, by pair of nodes as ``np.tril_indices`` has them. [W/K]."""
        places, low = self.places, np.tril_indices(self.places.nodes.shape[1])
        squares = np.einsum(
            "qk,qkp,qkr->kpr", self.coefficient * places.area, places.shapes, places.shapes
        )
        return np.asarray(squares[:, low[0], low[1]].ravel())

    def wall(self, temperature: Array) -> Array:
        """Temperature at quadrature points, shape (q, k). [degC]."""
        return np.einsum("qkp,kp->qk", self.places.shapes, temperature[self.places.nodes])

    def meet(self, temperature: Array) -> float:
        """Take the film where walls are now; how far those moved that it follows. [K]."""
        if not isinstance(self._film, CurvedFilm):
            return 0.0
        before, self._wall = self._wall, self.wall(temperature)
        self.coefficient, film = self._film.at(self._wall)
        self.drive = self.coefficient * film
        return float(np.abs(self._wall - before).max())

    def flux(self, temperature: Array) -> Array:
        """Out of the metal at quadrature points, shape (q, k). [W/mm2]."""
        return np.asarray(self.coefficient * self.wall(temperature) - self.drive)

    def heat(self, temperature: Array) -> float:
        """Into the metal. [W]."""
        return -float((self.flux(temperature) * self.places.area).sum())

    def wall_peak(self, temperature: Array) -> SolidWall:
        """Where most heat leaves."""
        flux = np.where(self.places.area > 0, self.flux(temperature), -np.inf)
        most = int(np.argmax(flux))
        x, y, z = self.places.place.reshape(3, -1)[:, most].tolist()
        return SolidWall(
            flux=float(flux.flat[most]),
            temperature_degc=float(self.wall(temperature).flat[most]),
            x_mm=x,
            y_mm=y,
            depth_mm=-z,
        )


def _conductance(joint: SolidJoint, mesh: SolidMesh, conductance: float) -> Array:
    """Of each pair of nodes where all touch, shape (k,). [W/K]."""
    _require_coefficient(np.asarray(conductance), "conductance of a joint")
    found = np.zeros(len(joint.own))
    no_sides, no_flats = np.zeros((0, 9), dtype=np.int64), np.zeros((0, 6), dtype=np.int64)
    for faces, shares, sides, flats in (
        (joint.quads, _QUAD_SHARES, joint.own[joint.quads], no_flats),
        (joint.triangles, _TRIANGLE_SHARES, no_sides, joint.own[joint.triangles]),
    ):
        alone = replace(mesh, sides={"joint": sides}, flats={"joint": flats})
        if len(faces):
            (places,) = face_places(alone, "joint")
            np.add.at(found, faces, places.area.sum(axis=0)[:, None] * shares)
    return conductance * found


def _symmetric(lower: sparse.csc_array, vector: Array) -> Array:
    """A symmetric matrix, by its lower triangle, times a vector."""
    return np.asarray(lower @ vector + lower.T @ vector - lower.diagonal() * vector)
