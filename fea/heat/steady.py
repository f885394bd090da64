r"""Steady conduction in a section whose thickness varies from place to place.

Find the temperature T with, for every v,

.. math::

    \int \sum_l t_l k_l \nabla T \cdot \nabla v \,dA
    + \sum_f \int_f h_f (T - T_f)\, v \,dF + \sum_j \int_j c_j\, [T]\,[v] \,dF = 0,

l the layers of metal at a place, t their thickness [mm], k their conductivity [W/(mm K)]; f the
surfaces under a film of coefficient h [W/(mm2 K)] and temperature T_f [degC]; j the joints between
bodies, of conductance c [W/(mm2 K)] and with a jump [T] from one side to the other. Surfaces are
walls, dF = depth ds, and the faces of layers seen from above or below, dF = dA. Conduction in
layers is along the section only.

Which metal is under which film stands in :mod:`fea.heat.surfaces`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fea.bore import POSITIONS, edge_places
from fea.elasticity import edge_points
from fea.factor import Factor
from fea.heat.surfaces import Underside, find_surfaces, paths_of
from fea.material import ABSOLUTE_ZERO, Material
from fea.quadrature import in_triangles, on_sides
from geometry.clock import clock_of, clock_to_angle, format_clock
from geometry.parted import Joint
from geometry.section_mesh import SectionMesh, bodies_of, named_sides

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Film:
    """A surface that takes heat in proportion to how much warmer it is than its surroundings.

    Raises
    ------
    ValueError
        If the coefficient is negative, or the temperature below absolute zero.
    """

    coefficient: float  # [W/(mm2 K)]; 2000 W/(m2 K) are 2e-3
    temperature: float  # [degC]

    def __post_init__(self) -> None:
        _require_coefficient("film coefficient", self.coefficient)
        if not (math.isfinite(self.temperature) and self.temperature >= ABSOLUTE_ZERO):
            raise ValueError(
                f"film temperature {self.temperature:g} degC is not above absolute zero, "
                f"{ABSOLUTE_ZERO:g} degC."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Films:
    """What takes heat to the metal and from it; a film that is None passes none.

    Raises
    ------
    ValueError
        If the heat flux is no number, or a conductance is negative.
    """

    gas: Film | float  # film on the bores, or heat flux into them [W/mm2]
    coolant: Film | None = None
    head: Film | None = None
    outside: Film | None = None
    joints: Mapping[str, float] = field(default_factory=dict)  # by part cut loose [W/(mm2 K)]
    undersides: tuple[Underside, ...] = ()  # that the coolant wets

    def __post_init__(self) -> None:
        if not isinstance(self.gas, Film) and not math.isfinite(self.gas):
            raise ValueError(f"heat flux {self.gas:g} W/mm2 must be finite.")
        for part, conductance in self.joints.items():
            _require_coefficient(f"conductance of the joint of the {part}", conductance)

    @property
    def paths(self) -> tuple[str, ...]:
        """Ways of heat into the metal and out of it: :func:`fea.heat.paths_of`."""
        return paths_of(self.undersides)

    def of(self, path: str) -> Film | None:
        """The film on one of ``paths``; None where there is none, or a heat flux."""
        if path == "gas":
            return self.gas if isinstance(self.gas, Film) else None
        film: Film | None = getattr(self, path if path in ("head", "outside") else "coolant")
        return film


def _require_coefficient(what: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{what} = {value:g} W/(mm2 K) must not be negative.")


@dataclass(frozen=True, slots=True)
class HotPlace:
    """Where a part is hottest."""

    part: str
    temperature_degc: float
    clock: str
    clock_hours: float  # [h]
    radius_mm: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True, eq=False)
class HeatField:
    """Temperature of a section, and the heat that flows.

    Attributes
    ----------
    mesh : SectionMesh
    temperature : ndarray, shape (n,)
        At ``mesh.points``. [degC]
    heat : dict of str to float
        Into the metal by each of ``Films.paths``, what leaves negative; they add up to 0. [W]
    joint_heat : dict of str to float
        Through the joint of each part that is cut loose, into the part. [W]
    solver : str
        Library that factored.
    """

    mesh: SectionMesh
    temperature: Array
    heat: dict[str, float]
    joint_heat: dict[str, float]
    solver: str = ""

    def hottest(self, part: str) -> HotPlace:
        """Where a part is hottest.

        Raises
        ------
        ValueError
            If no layer is of this part.
        """
        mesh = self.mesh
        regions = [part in (layer.part for layer in layers) for layers in mesh.regions]
        nodes = np.unique(mesh.triangles[np.array(regions)[mesh.region]])
        if not len(nodes):
            raise ValueError(f"no layer of the mesh is of the part {part}.")
        node = nodes[np.argmax(self.temperature[nodes])]
        x, y = mesh.points[node]
        hours = float(clock_of(x, y))
        return HotPlace(
            part=part,
            temperature_degc=float(self.temperature[node]),
            clock=format_clock(hours),
            clock_hours=hours,
            radius_mm=float(np.hypot(x, y)),
            x_mm=float(x),
            y_mm=float(y),
        )

    def around_bore(self, edge: str = "bore") -> Array:
        """Temperature of a bore at the clock positions of :func:`fea.bore.bore_growth`.

        Parameters
        ----------
        edge : str
            A closed free edge around the origin.

        Returns
        -------
        ndarray, shape (360,)
            At k / 30 h. [degC]

        Raises
        ------
        ValueError
            If the edge is unknown, or doesn't run round the origin once.
        """
        angle = clock_to_angle(np.arange(POSITIONS) * 12.0 / POSITIONS)
        sides = named_sides(self.mesh, edge)
        place, s = edge_places(self.mesh.points[sides].transpose(2, 1, 0), angle, edge)
        along, _ = edge_points(self.temperature[sides[place]].T[None], s[None])
        return along[0, 0]


class HeatModel:
    """The equations of a section's heat, assembled once for any state of its joints.

    Parameters
    ----------
    mesh : SectionMesh
        A part that joints let go is cut loose with :func:`geometry.parted.part_off`.
    materials : mapping of str to Material
        One for each part that the mesh's layers name.
    films : Films
    joints : sequence of Joint
        In the numbers of ``mesh``; each part needs its conductance in ``films.joints``.

    Raises
    ------
    ValueError
        For a part without material, a material that does not conduct, or a joint without
        conductance.
    """

    def __init__(
        self,
        mesh: SectionMesh,
        materials: Mapping[str, Material],
        films: Films,
        joints: Sequence[Joint] = (),
    ) -> None:
        _check(mesh, materials, films, joints)
        self.mesh = mesh
        self.films = films
        paths = [path for path in films.paths if path == "gas" or films.of(path) is not None]
        self._surfaces = find_surfaces(mesh, films.undersides, paths)
        self._bridges = {joint.part: _Bridge(mesh, joint, films) for joint in joints}
        rows, columns, values = [], [], []
        for nodes, products in self._products(materials):
            one, other = (nodes[:, at].T for at in np.tril_indices(nodes.shape[1]))
            rows.append(np.maximum(one, other).ravel())
            columns.append(np.minimum(one, other).ravel())
            values.append(products.ravel())
        self._places = np.concatenate(rows), np.concatenate(columns)
        self._values = np.concatenate(values)
        self._load = self._heat_at_zero()
        self._bodies = _bodies_by_node(mesh)
        self._factor: Factor | None = None

    def _products(self, materials: Mapping[str, Material]) -> Iterator[tuple[Integers, Array]]:
        """Nodes (k, p) and their matrices as (p (p + 1) / 2, k): metal, films, then joints."""
        yield self.mesh.triangles, conduction_products(self.mesh, materials)
        for surface in self._surfaces:
            film = self.films.of(surface.path)
            if film is not None:
                yield surface.nodes, film.coefficient * surface.squares
        for bridge in self._bridges.values():
            yield bridge.pairs, np.array([[1], [-1], [1]]) * bridge.conductance

    def _heat_at_zero(self) -> Array:
        """Heat into each node of metal at 0 degC, shape (n,). [W]."""
        load = np.zeros(len(self.mesh.points))
        for surface in self._surfaces:
            load += self._drive(surface.path) * surface.area
        return load

    def _drive(self, path: str) -> float:
        """Heat flux of a path into metal at 0 degC. [W/mm2]."""
        film = self.films.of(path)
        if film is not None:
            return film.coefficient * film.temperature
        return float(self.films.gas) if path == "gas" else 0.0  # type: ignore[arg-type]

    def solve(self, closed: Mapping[str, NDArray[np.bool_] | Array] | None = None) -> HeatField:
        """Temperature, with joints open where they don't touch, or touch in part.

        Parameters
        ----------
        closed : mapping of str to ndarray, shape (n,), optional
            For the part of a joint, whether each node of the mesh is in touch, or the share of the
            conductance that it has, read at the part's own nodes; a joint that is not named is
            closed all along.

        Raises
        ------
        ValueError
            If a mask is not one for each node or of a part without joint, or if heat can't leave
            a body.
        NotPositiveDefiniteError
            If the equations can't be factored.
        """
        touching = self._touching(closed or {})
        self._require_ways_out(touching)
        values = self._values.copy()
        joints = np.concatenate([[], *(np.tile(share, 3) for share in touching.values())])
        values[len(values) - len(joints) :] *= joints
        n = len(self.mesh.points)
        lower = sparse.coo_array((values, self._places), shape=(n, n)).tocsc()
        if self._factor is None:
            self._factor = Factor(lower)
        else:
            self._factor = self._factor.refactor(lower.data)
        temperature = self._factor.solve(self._load)
        return HeatField(
            self.mesh,
            temperature,
            self._heat(temperature),
            {
                part: float(bridge.conductance * touching[part] @ bridge.gap(temperature))
                for part, bridge in self._bridges.items()
            },
            self._factor.name,
        )

    def _heat(self, temperature: Array) -> dict[str, float]:
        heat = dict.fromkeys(self.films.paths, 0.0)
        for surface in self._surfaces:
            film = self.films.of(surface.path)
            if film is None:
                heat[surface.path] += self._drive(surface.path) * float(surface.area.sum())
            else:
                gap = film.temperature - temperature
                heat[surface.path] += film.coefficient * float(surface.area @ gap)
        return heat

    def _touching(self, closed: Mapping[str, NDArray[np.bool_] | Array]) -> dict[str, Array]:
        """For each bridge, 1 where a pair of nodes is in touch, 0 where it conducts nothing."""
        if unknown := sorted(set(closed) - set(self._bridges)):
            raise ValueError(f"there is no joint of the part {unknown[0]}.")
        found = {}
        for part, bridge in self._bridges.items():
            mask = np.asarray(closed.get(part, np.ones(len(self.mesh.points), dtype=bool)))
            if mask.shape != (len(self.mesh.points),):
                raise ValueError(
                    f"closed nodes of the joint of the {part} have shape {mask.shape}; the mesh "
                    f"needs {(len(self.mesh.points),)}."
                )
            found[part] = mask[bridge.pairs[:, 0]].astype(float)
        return found

    def _require_ways_out(self, touching: Mapping[str, Array]) -> None:
        """Every body, or another that it touches, has a film that is not the gas."""
        count = int(self._bodies.max()) + 1
        links = sparse.coo_array((count, count))
        for part, bridge in self._bridges.items():
            joined = bridge.conductance * touching[part] > 0
            one, other = self._bodies[bridge.pairs[joined]].T
            links = links + sparse.coo_array((np.ones(len(one)), (one, other)), links.shape)
        _, group = connected_components(links, directed=False)
        outlet = np.zeros(count)
        for surface in self._surfaces:
            film = self.films.of(surface.path)
            if film is not None and surface.path != "gas":
                outlet += film.coefficient * np.bincount(self._bodies, surface.area, count)
        ways = np.bincount(group, outlet)
        if (ways > 0).all():
            return
        shut = ways[group[self._bodies[self.mesh.triangles[:, 0]]]] == 0
        regions = np.unique(self.mesh.region[shut])
        parts = sorted({layer.part for index in regions for layer in self.mesh.regions[index]})
        raise ValueError(
            f"there is no way out for the heat of the {', '.join(parts)}. Give a film of the "
            "coolant, the head or the outside with a coefficient above 0, or close the joint."
        )


def _check(
    mesh: SectionMesh,
    materials: Mapping[str, Material],
    films: Films,
    joints: Sequence[Joint],
) -> None:
    for part in sorted({layer.part for layers in mesh.regions for layer in layers}):
        if part not in materials:
            raise ValueError(f"no material for {part}. Give one for each part.")
        if not materials[part].conductivity > 0:
            raise ValueError(
                f"{materials[part].name} of the {part} has no conductivity. Give it one above 0."
            )
    for joint in joints:
        if joint.part not in films.joints:
            raise ValueError(f"no conductance of the joint of the {joint.part}. Give one.")


def conduction_products(mesh: SectionMesh, materials: Mapping[str, Material]) -> Array:
    """Matrices of heat that flows down the gradient, ∫ t k ∇N_a · ∇N_b dA, triangle by triangle.

    Parameters
    ----------
    mesh : SectionMesh
    materials : mapping of str to Material
        By part.

    Returns
    -------
    ndarray, shape (21, m)
        By pair of nodes in the order of ``np.tril_indices``. [W/K]
    """
    places = in_triangles(mesh.points, mesh.triangles, order=2)
    conducting = np.zeros_like(places.size)
    for index, layers in enumerate(mesh.regions):
        inside = np.flatnonzero(mesh.region == index)
        x, y = places.x[:, inside], places.y[:, inside]
        for layer in layers:
            conductivity = materials[layer.part].conductivity
            conducting[:, inside] += conductivity * layer.thickness(x, y)
    over = np.sqrt(conducting / places.size)
    slopes_x, slopes_y = over * places.slopes_x, over * places.slopes_y
    products = np.empty((21, len(mesh.triangles)))
    for pair, (a, b) in enumerate(zip(*np.tril_indices(6), strict=True)):
        np.einsum("qm,qm->m", slopes_x[a], slopes_x[b], out=products[pair])
        products[pair] += np.einsum("qm,qm->m", slopes_y[a], slopes_y[b])
    return products


class _Bridge:
    """A joint as pairs of nodes with the conductance of their share of it.

    Attributes
    ----------
    pairs : ndarray, shape (k, 2)
        Node of the part, node of the rest.
    conductance : ndarray, shape (k,)
        Where closed. [W/K]
    """

    def __init__(self, mesh: SectionMesh, joint: Joint, films: Films) -> None:
        places = on_sides(mesh.points, joint.own)
        areas = places.shares(places.shapes @ joint.depth.T)
        self.pairs = np.stack([joint.own.ravel(), joint.other.ravel()], axis=1)
        self.conductance = films.joints[joint.part] * areas.T.ravel()

    def gap(self, temperature: Array) -> Array:
        """How much warmer the rest is than the part at each pair, shape (k,). [K]."""
        own, other = temperature[self.pairs].T
        return other - own


def _bodies_by_node(mesh: SectionMesh) -> Integers:
    bodies = np.zeros(len(mesh.points), dtype=np.int64)
    bodies[mesh.triangles] = bodies_of(mesh.triangles, len(mesh.points))[:, None]
    return bodies
