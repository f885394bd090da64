"""Stress of a solid: at the best places of each prism, averaged metal by metal to the nodes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from fea.material import Material
from fea.solid.edges import EdgeGauges
from fea.solid.elasticity import COMPONENTS, hooke, lame, thermal_stress
from fea.solid.gauges import Gauges
from fea.solid.model import SolidSolution
from fea.solid.smoothing import BARLOW_VALUES, EXTRAPOLATION, Metal, Smoothing

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class PartStress:
    """Stress of one part.

    Attributes
    ----------
    part : str
    nodes : ndarray, shape (k,)
        Nodes of the part, into ``mesh.points``, in ascending order.
    prisms : ndarray, shape (m, 18)
        Prisms of the part, into ``nodes``.
    elements : ndarray, shape (m,)
        The same prisms, into ``mesh.prisms``.
    stress : ndarray, shape (6, k)
        Recovered xx, yy, zz, xy, yz, zx. [MPa]
    inside : ndarray, shape (6, k)
        The same as the metal inside alone says: on the surface less well known. [MPa]
    solution : SolidSolution
        What the stress was recovered from.
    """

    part: str
    nodes: Integers
    prisms: Integers
    elements: Integers
    stress: Array
    inside: Array
    solution: SolidSolution

    def raw_of(self, elements: Integers) -> Array:
        """Stress of single prisms of the part, carried on from their Barlow points to their nodes.

        Parameters
        ----------
        elements : ndarray, shape (c,)
            Into ``mesh.prisms``.

        Returns
        -------
        ndarray, shape (6, c, 18)
            [MPa]
        """
        return raw_stress(self.solution, self.part, elements)


def raw_stress(solution: SolidSolution, part: str, elements: Integers) -> Array:
    """As :meth:`PartStress.raw_of`, of a part under a load."""
    return _at_points(solution, part, elements) @ EXTRAPOLATION.T


def recover(solution: SolidSolution) -> tuple[PartStress, ...]:
    """Stress of every part.

    Where the solution has a temperature, moduli are those at that temperature and the thermal
    stress is taken out, both at the places where strain is taken.

    Parameters
    ----------
    solution : SolidSolution

    Returns
    -------
    tuple of PartStress
        In the order of ``mesh.parts``.
    """
    return recover_many([solution])[0]


def recover_many(solutions: Sequence[SolidSolution]) -> tuple[tuple[PartStress, ...], ...]:
    """Stress of every part under each of several loads, as :func:`recover`."""
    return tuple(tuple(_by_part(solution)) for solution in solutions)


def recover_at(solution: SolidSolution, rows: Mapping[str, Integers]) -> dict[str, Array]:
    """Stress at some nodes of some parts, as :func:`recover` has it there.

    Parameters
    ----------
    solution : SolidSolution
    rows : mapping of str to ndarray of int, shape (r,)
        By part, into :attr:`PartStress.nodes`.

    Returns
    -------
    dict of str to ndarray, shape (6, r)
        xx, yy, zz, xy, yz, zx. [MPa]
    """
    return SomeNodes(solution.model.smoothing, rows).stress(solution)


class SomeNodes:
    """Some nodes of some parts, ready to have their stress recovered many times.

    Parameters
    ----------
    smoothing : Smoothing
        Of the model whose solutions are asked.
    rows : mapping of str to ndarray of int, shape (r,)
        As :func:`recover_at` takes them.
    """

    def __init__(self, smoothing: Smoothing, rows: Mapping[str, Integers]) -> None:
        self._asked: list[tuple[_Nodes, dict[str, Integers]]] = []
        parts = [of for of in smoothing.parts if of.part in rows]
        for metal in {id(of.metal): of.metal for of in parts}.values():
            own = {of.part: of.rows[rows[of.part]] for of in parts if of.metal is metal}
            wanted, place = np.unique(np.concatenate([*own.values()]), return_inverse=True)
            ends = np.cumsum([len(of) for of in own.values()])[:-1]
            places = dict(zip(own, np.split(place.ravel(), ends), strict=True))
            self._asked.append((_some_of(metal, next(iter(own)), wanted), places))

    def stress(self, solution: SolidSolution) -> dict[str, Array]:
        """As :func:`recover_at`."""
        found: dict[str, Array] = {}
        for nodes, places in self._asked:
            stress, _ = nodes.stress(solution)
            found |= {part: stress[:, place] for part, place in places.items()}
        return found


def _by_part(solution: SolidSolution) -> Iterator[PartStress]:
    stresses: dict[int, tuple[Array, Array]] = {}
    for of in solution.model.smoothing.parts:
        metal = of.metal
        if id(metal) not in stresses:
            every = _Nodes(
                of.part, metal.elements, metal.average, metal.nodes, metal.gauges, metal.edges
            )  # fmt: skip
            stresses[id(metal)] = every.stress(solution)
        stress, inside = (known[:, of.rows] for known in stresses[id(metal)])
        yield PartStress(of.part, of.nodes, of.prisms, of.elements, stress, inside, solution)


@dataclass(frozen=True, eq=False, slots=True)
class _Nodes:
    """Nodes of one metal whose stress is asked for."""

    part: str  # one that is of the metal
    elements: Integers  # (c,), what prisms tell it, into mesh.prisms
    average: sparse.csr_array  # (k, 6 c)
    nodes: Integers  # (k,), into mesh.points, in ascending order
    gauges: Gauges  # of these nodes
    edges: EdgeGauges  # of these nodes

    def stress(self, solution: SolidSolution) -> tuple[Array, Array]:
        """There, and as the metal inside alone says, both of shape (6, k). [MPa]."""
        at_points = _at_points(solution, self.part, self.elements).reshape(6, -1)
        inside = (self.average @ at_points.T).T
        stress = _with_gauges(solution, self.part, self.nodes, inside, self.gauges)
        _read_edges(solution, self.part, self.nodes, inside, self.edges, stress)
        return stress, inside


def _some_of(metal: Metal, part: str, wanted: Integers) -> _Nodes:
    """Nodes of a metal, into its own, in ascending order."""
    average = metal.average[wanted]
    told = np.zeros(len(metal.elements), dtype=bool)
    told[average.indices // 6] = True
    number = np.cumsum(told) - 1
    columns = 6 * number[average.indices // 6] + average.indices % 6
    shape = (len(wanted), 6 * int(told.sum()))
    nodes = metal.nodes[wanted]
    return _Nodes(
        part,
        metal.elements[told],
        sparse.csr_array((average.data, columns, average.indptr), shape=shape),
        nodes,
        metal.gauges.only(np.flatnonzero(np.isin(metal.gauges.nodes, nodes))),
        metal.edges.only(np.flatnonzero(np.isin(metal.edges.nodes, nodes))),
    )


def _at_points(solution: SolidSolution, part: str, elements: Integers) -> Array:
    """Stress at the Barlow points of prisms of a part, shape (6, c, 6)."""
    model = solution.model
    material = model.materials[part]
    stress = hooke(model.smoothing.strain(solution.displacement, elements), *lame(material))
    if solution.temperature is not None:
        warmth = solution.temperature[model.mesh.prisms[elements]] @ BARLOW_VALUES.T
        stress *= material.stiffness_share(warmth)
        stress[:3] -= thermal_stress(material, warmth)
    return stress


def _as_warm(
    solution: SolidSolution, material: Material, nodes: Integers
) -> tuple[float | Array, float | Array]:
    """Young's modulus of nodes as warm as they are [MPa], and strain that warmth alone makes."""
    if solution.temperature is None:
        return material.youngs_modulus, 0.0
    warmth = solution.temperature[nodes]
    young = material.youngs_modulus * material.stiffness_share(warmth)
    return young, thermal_stress(material, warmth) * (1 - 2 * material.poisson) / young


def _with_gauges(
    solution: SolidSolution, part: str, nodes: Integers, stress: Array, gauges: Gauges
) -> Array:
    r"""Stress at nodes, on the surface by the strain in it and the traction across it.

    .. math:: \sigma_{11} = \frac{E}{1 - \nu^2} (\varepsilon_{11} + \nu \varepsilon_{22})
              + \frac{\nu}{1 - \nu} \sigma_{nn}, \quad
              \sigma_{12} = \frac{E}{1 + \nu} \varepsilon_{12}

    Parameters
    ----------
    solution : SolidSolution
    part : str
        Of the metal.
    nodes : ndarray, shape (k,)
        Into ``mesh.points``, in ascending order.
    stress : ndarray, shape (6, k)
        There, as the metal inside says; its traction across the surface counts. [MPa]
    gauges : Gauges
        Of those nodes.

    Returns
    -------
    ndarray, shape (6, k)
        Where faces meet at an edge, the mean of what each says. [MPa]
    """
    material = solution.model.materials[part]
    nu = material.poisson
    row = np.searchsorted(nodes, gauges.nodes)
    first, second, shear = gauges.strain(solution.displacement)
    young, free = _as_warm(solution, material, gauges.nodes)
    first, second = first - free, second - free
    inside = stress[:, row]
    one, other = np.ascontiguousarray(np.moveaxis(gauges.frames[:, :2], 0, -1))
    ways = [_products(one, one), _products(other, other), _products(one, other)]
    along, beside, between = ((way * inside).sum(axis=0) for way in ways)
    across = nu / (1 - nu) * (inside[:3].sum(axis=0) - along - beside)
    # what the surface says within itself takes the place of what the inside says
    off = (
        young / (1 - nu**2) * (first + nu * second) + across - along,
        young / (1 - nu**2) * (second + nu * first) + across - beside,
        2 * (young / (1 + nu) * shear - between),
    )
    times = np.bincount(row, minlength=len(nodes))
    on = times > 0
    found = stress.copy()
    for component in range(6):
        half = 1.0 if component < 3 else 0.5  # of what counts both shears
        change = half * sum(way[component] * by for way, by in zip(ways, off, strict=True))
        found[component, on] += np.bincount(row, change, len(nodes))[on] / times[on]
    return found


def _read_edges(
    solution: SolidSolution, part: str, nodes: Integers, inside: Array, edges: EdgeGauges,
    stress: Array,
) -> None:  # fmt: skip
    r"""Have stress along edges by the strain along them and the tractions on both faces.

    .. math:: \sigma_{tt} = E \varepsilon_{tt} + \nu (\sigma_{aa} + \sigma_{bb})

    Parameters
    ----------
    solution : SolidSolution
    part : str
        Of the metal.
    nodes : ndarray, shape (k,)
        Into ``mesh.points``, in ascending order.
    inside : ndarray, shape (6, k)
        There, as the metal inside says; what is across the edge counts. [MPa]
    edges : EdgeGauges
        Of those nodes.
    stress : ndarray, shape (6, k)
        Changed. [MPa]
    """
    material = solution.model.materials[part]
    row = np.searchsorted(nodes, edges.nodes)
    young, free = _as_warm(solution, material, edges.nodes)
    pulled = young * (edges.strain(solution.displacement) - free)
    way = _products(edges.ways.T, edges.ways.T)
    across = inside[:3, row].sum(axis=0) - (way * inside[:, row]).sum(axis=0)
    off = pulled + material.poisson * across - (way * stress[:, row]).sum(axis=0)
    stress[:3, row] += off * way[:3]
    stress[3:, row] += off * way[3:] / 2  # of what counts both shears


def _products(one: Array, other: Array) -> Array:
    """What a stress is multiplied by to be seen along two ways (3, k), shape (6, k)."""
    straight = one * other
    skew = np.stack([one[i] * other[j] + one[j] * other[i] for i, j in COMPONENTS[3:]])
    return np.concatenate([straight, skew])


def principal(stress: Array) -> tuple[Array, Array]:
    """Principal stresses and their directions.

    Parameters
    ----------
    stress : ndarray, shape (6, ...)
        [MPa]

    Returns
    -------
    values : ndarray, shape (3, ...)
        Largest first. [MPa]
    directions : ndarray, shape (3, 3, ...)
        Unit vector x, y, z of each, by its number.

    Examples
    --------
    >>> principal(np.array([0.0, 0.0, 10.0, 30.0, 0.0, 0.0]))[0]
    array([ 30.,  10., -30.])
    """
    values, vectors = np.linalg.eigh(np.moveaxis(_matrix(stress), (0, 1), (-2, -1)))
    return (
        np.moveaxis(values[..., ::-1], -1, 0),
        np.moveaxis(vectors[..., ::-1], (-1, -2), (0, 1)),
    )


def extremes(stress: Array) -> tuple[Array, Array]:
    r"""Largest and smallest principal stress, in closed form.

    .. math:: \sigma_k = m + 2 \sqrt{q} \cos\left(\theta + \tfrac{2 \pi k}{3}\right), \quad
              \cos 3\theta = \frac{\det(\sigma - m I)}{2 q^{3/2}}, \quad
              6 q = \lVert\sigma - m I\rVert^2, \quad 3 m = \operatorname{tr}\sigma

    Parameters
    ----------
    stress : ndarray, shape (6, ...)
        [MPa]

    Returns
    -------
    largest, smallest : ndarray, shape (...)
        [MPa]

    References
    ----------
    .. [1] Smith, *Comm. ACM* 4 (1961) 168 (from memory).

    Examples
    --------
    >>> [float(of) for of in extremes(np.array([0.0, 0.0, 10.0, 30.0, 0.0, 0.0]))]
    [30.0, -30.0]
    """
    mean = (stress[0] + stress[1] + stress[2]) / 3
    (a, b, c), (d, e, f) = stress[:3] - mean, stress[3:]
    q = (a * a + b * b + c * c + 2 * (d * d + e * e + f * f)) / 6
    determinant = a * (b * c - e * e) - d * (d * c - e * f) + f * (d * e - b * f)
    root = np.sqrt(q)
    with np.errstate(divide="ignore", invalid="ignore"):
        cosine = np.where(q > 0, determinant / (2 * q * root), 0.0)
    angle = np.arccos(np.clip(cosine, -1, 1)) / 3
    return mean + 2 * root * np.cos(angle), mean + 2 * root * np.cos(angle + 2 * np.pi / 3)


def von_mises(stress: Array) -> Array:
    r"""Equivalent stress.

    .. math:: \sqrt{\tfrac12 \left((\sigma_x - \sigma_y)^2 + (\sigma_y - \sigma_z)^2
              + (\sigma_z - \sigma_x)^2\right) + 3 (\tau_{xy}^2 + \tau_{yz}^2 + \tau_{zx}^2)}

    Parameters
    ----------
    stress : ndarray, shape (6, ...)
        [MPa]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    References
    ----------
    .. [1] von Mises, *Göttinger Nachrichten* (1913) 582-592 (from memory).

    Examples
    --------
    >>> float(von_mises(np.array([100.0, 100.0, 0.0, 0.0, 0.0, 0.0])))
    100.0
    """
    xx, yy, zz, xy, yz, zx = stress
    apart = ((xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2) / 2
    return np.sqrt(apart + 3 * (xy**2 + yz**2 + zx**2))


def along(stress: Array, direction: Array) -> Array:
    """Normal stress along a direction, d·σ d.

    Parameters
    ----------
    stress : ndarray, shape (6, ...)
        [MPa]
    direction : ndarray, shape (3, ...)
        Unit vectors x, y, z.

    Returns
    -------
    ndarray, shape (...)
        [MPa]
    """
    return np.einsum("i...,ij...,j...->...", direction, _matrix(stress), direction)


def hoop(stress: Array, x: Array, y: Array) -> Array:
    """Normal stress around the z axis at places x, y from it, tension positive. [MPa]."""
    r = np.hypot(x, y)
    return along(stress, np.stack([-y / r, x / r, np.zeros_like(r)]))


def _matrix(stress: Array) -> Array:
    """Stress as matrices, shape (3, 3, ...)."""
    xx, yy, zz, xy, yz, zx = stress
    return np.array([[xx, xy, zx], [xy, yy, yz], [zx, yz, zz]])
