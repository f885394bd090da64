r"""Stress intensity at a crack's tip, by an interaction integral over the metal around it.

In the crack's own axes, x along it and y across, with a function q that falls from 1 around the
tip to 0 at a radius,

.. math::

    I = \int (\sigma_{ij} \bar u_{j,x} + \bar\sigma_{ij} u_{j,x}
        - \sigma_{mn} \bar\varepsilon_{mn} \delta_{xi})\, q_{,i} \,dA
        - \int_{faces} T_j\, \bar u_{j,x}\, q \,ds, \qquad K = \frac{E}{2} I,

barred what a crack of K = 1 alone would give (Williams, *J. Appl. Mech.* 24 (1957) 109-114). The
form is the domain integral of Shih, Moran & Nakamura (*Int. J. Fract.* 30 (1986) 79-102) for two
states at once (Yau, Wang & Corten, *J. Appl. Mech.* 47 (1980) 335-341); references from memory.

The section carries N = t sigma. Where the thickness and the metal are the same all over the
domain, t leaves the integral, and nothing else is to be added; so the domain always stays within
one region. T is what acts on the faces there, as the mean over the thickness.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.elasticity import hooke
from fea.material import Material
from fea.model import SectionModel, Solution
from fea.quadrature import in_triangles
from geometry.cracked import Cracked
from geometry.section_mesh import TRIANGLE_SIDES, SectionMesh, UniformDepth

Array = NDArray[np.float64]

DOMAIN = (0.3, 0.9)
"""Radii between which q falls, as shares of the clear radius around the tip."""

_GAUSS, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(16)


FaceStress = Callable[[int, Array, Array], Array]
"""s(region, x, y) -> sxx, syy, sxy, shape (3, ...) [MPa], that pushes on both faces: the traction
on the metal is -s n. A pressure p is (p, p, 0); the stress that a body without the crack carries
along its path, put here, gives the K that this stress gives."""


@dataclass(frozen=True, slots=True)
class CrackLoad:
    """What loads a section with a crack."""

    forces: Callable[[SectionModel], Array]  # on the nodes, shape (n, 2), the faces left out [N]
    on_faces: FaceStress | None = None


@dataclass(frozen=True, slots=True)
class Intensity:
    """Stress intensity at a tip."""

    k1: float  # opening; negative where the faces press on one another [MPa sqrt(mm)]
    k2: float  # sliding [MPa sqrt(mm)]

    @property
    def kink_deg(self) -> float:
        r"""Direction in which the hoop stress about the tip is largest, from straight ahead.

        .. math:: \theta = 2 \arctan\frac{K_I - \sqrt{K_I^2 + 8 K_{II}^2}}{4 K_{II}}

        Erdogan & Sih, *J. Basic Eng.* 85 (1963) 519-525 (from memory). Counter-clockwise
        positive. [deg].

        Examples
        --------
        >>> Intensity(0.0, 1.0).kink_deg
        -70.53
        >>> Intensity(1.0, 0.0).kink_deg
        0.0
        """
        if self.k2 == 0:
            return 0.0
        root = np.sqrt(self.k1**2 + 8 * self.k2**2)
        return float(np.degrees(2 * np.arctan((self.k1 - root) / (4 * self.k2))))


def clear_radius(cracked: Cracked) -> float:
    """Distance from the tip to where its region ends, the crack's own faces left out. [mm]."""
    mesh = cracked.mesh
    triangles = mesh.triangles[mesh.region == cracked.region]
    sides = triangles[:, TRIANGLE_SIDES].reshape(-1, 3)
    uses = np.bincount(sides[:, 2], minlength=len(mesh.points))
    rim = sides[uses[sides[:, 2]] == 1]
    face = mesh.edges.get(cracked.faces.get(cracked.region, ""))
    if face is not None:
        rim = rim[~np.isin(rim[:, 2], face[:, 2])]
    return float(np.hypot(*(mesh.points[rim[:, :2]] - mesh.points[cracked.tip]).T).min())


def intensity(
    solution: Solution,
    cracked: Cracked,
    on_faces: FaceStress | None = None,
    domain: tuple[float, float] = DOMAIN,
) -> Intensity:
    """Stress intensity at the tip of a crack.

    Parameters
    ----------
    solution : Solution
        On ``cracked.mesh``; :func:`face_load` of the same stress is in its load.
    cracked : Cracked
    on_faces : FaceStress, optional
        Free faces if left out.
    domain : tuple of float
        As ``DOMAIN``.

    Raises
    ------
    ValueError
        If the metal around the tip has more than one layer, or its depth varies.
    """
    mesh = solution.model.mesh
    layers = mesh.regions[cracked.region]
    if len(layers) != 1 or not isinstance(layers[0].thickness, UniformDepth):
        raise ValueError("the metal around the crack's tip is not one layer of one depth.")
    material = solution.model.materials[layers[0].part]
    inner, outer = (share * clear_radius(cracked) for share in domain)
    along = np.array([cracked.direction.real, cracked.direction.imag])
    axes = np.array([along, [-along[1], along[0]]])
    local = (mesh.points - mesh.points[cracked.tip]) @ axes.T
    q = _falling(np.hypot(*local.T), inner, outer)
    near = np.flatnonzero(mesh.region == cracked.region)
    triangles = mesh.triangles[near[np.ptp(q[mesh.triangles[near]], axis=1) > 0]]

    places = in_triangles(local, triangles, order=6)
    slopes = np.stack([places.slopes_x, places.slopes_y], axis=1)  # (node, by, point, triangle)
    moved = (solution.displacement @ axes.T)[triangles]  # (triangle, node, component)
    q_by = np.einsum("abqk,ka->bqk", slopes, q[triangles])  # times the area
    gradient = np.einsum("abqk,kai->ibqk", slopes, moved) / places.size
    stress = _hooke(gradient, material)
    k = np.zeros(2)
    for mode in (1, 2):
        of_mode = mode_gradient(places.x, places.y, mode, material)
        stress_of_mode = _hooke(of_mode, material)
        flow = np.einsum("ijqk,jqk->iqk", stress, of_mode[:, 0])
        flow += np.einsum("ijqk,jqk->iqk", stress_of_mode, gradient[:, 0])
        flow[0] -= np.einsum("ijqk,ijqk->qk", stress, of_mode)
        k[mode - 1] = material.youngs_modulus / 2 * (flow * q_by).sum()
    if on_faces is not None:
        root = np.sqrt(outer) * (1 + _GAUSS) / 2  # of the distance behind the tip
        x, y = mesh.points[cracked.tip][:, None] - along[:, None] * root**2
        sxx, syy, sxy = on_faces(cracked.region, x, y)
        pulled = np.einsum("ai,ijk,j->ak", axes, np.array([[sxx, sxy], [sxy, syy]]), axes[1])
        weight = np.sqrt(outer) * _GAUSS_WEIGHT * _falling(root**2, inner, outer)
        k += np.sqrt(2 / np.pi) * (pulled[::-1] @ weight)
    return Intensity(float(k[0]), float(k[1]))


def face_load(model: SectionModel, cracked: Cracked, on_faces: FaceStress) -> Array:
    """Nodal forces, shape (n, 2), of a stress on both faces of a crack. [N]."""
    mesh = cracked.mesh
    forces = np.zeros((len(mesh.points), 2))
    for region, edge in cracked.faces.items():

        def traction(x: Array, y: Array, nx: Array, ny: Array, region: int = region) -> Array:
            sxx, syy, sxy = on_faces(region, x, y)
            depth = sum(layer.thickness(x, y) for layer in mesh.regions[region])
            return -depth * np.stack([sxx * nx + sxy * ny, sxy * nx + syy * ny])

        forces += model.edge_load(edge, traction)
    return forces


def gas_on_faces(mesh: SectionMesh, pressure: float, reach: float) -> FaceStress:
    """Gas between the faces of a crack, as the mean over the depth of the metal.

    Parameters
    ----------
    mesh : SectionMesh
    pressure : float
        [MPa]
    reach : float
        Depth from the deck down to which it acts. [mm]
    """

    def stress(region: int, x: Array, y: Array) -> Array:
        load, depth = np.zeros(np.shape(x)), np.zeros(np.shape(x))
        for layer in mesh.regions[region]:
            here = layer.thickness(x, y)
            load += pressure * np.clip(np.minimum(layer.top + here, reach) - layer.top, 0, None)
            depth += here
        return np.stack([load / depth, load / depth, np.zeros_like(load)])

    return stress


def intensities(
    model: SectionModel, cracked: Cracked, loads: Sequence[CrackLoad]
) -> tuple[Intensity, ...]:
    """Stress intensity of one crack under each of several loads.

    Parameters
    ----------
    model : SectionModel
        Of ``cracked.mesh``.
    cracked : Cracked
    loads : sequence of CrackLoad
    """
    forces = []
    for load in loads:
        forces.append(load.forces(model))
        if load.on_faces is not None:
            forces[-1] = forces[-1] + face_load(model, cracked, load.on_faces)
    return tuple(
        intensity(solution, cracked, load.on_faces)
        for solution, load in zip(model.solve_many(forces), loads, strict=True)
    )


def _falling(r: Array, inner: float, outer: float) -> Array:
    """From 1 at the inner radius to 0 at the outer, smooth at both."""
    s = np.clip((r - inner) / (outer - inner), 0, 1)
    return np.asarray(1 - s**2 * (3 - 2 * s))


def _hooke(gradient: Array, material: Material) -> Array:
    """Stress (2, 2, ...) of a displacement gradient (component, by, ...)."""
    strain = np.stack([gradient[0, 0], gradient[1, 1], (gradient[0, 1] + gradient[1, 0]) / 2])
    sxx, syy, sxy = hooke(strain, material.lam, material.mu)
    return np.array([[sxx, sxy], [sxy, syy]])


def mode_gradient(x: Array, y: Array, mode: int, material: Material) -> Array:
    r"""Displacement gradient around a tip at the origin, for K = 1 of one mode, plane stress.

    .. math::
        u_x^I &\propto (2\kappa - 1) \cos\tfrac\theta2 - \cos\tfrac{3\theta}2, \quad
        u_y^I \propto (2\kappa + 1) \sin\tfrac\theta2 - \sin\tfrac{3\theta}2 \\
        u_x^{II} &\propto (2\kappa + 3) \sin\tfrac\theta2 + \sin\tfrac{3\theta}2, \quad
        u_y^{II} \propto -(2\kappa - 3) \cos\tfrac\theta2 - \cos\tfrac{3\theta}2,

    each times :math:`\sqrt{r / 2\pi} / 4 \mu`, with :math:`\kappa = (3 - \nu) / (1 + \nu)`.

    Parameters
    ----------
    x, y : ndarray, shape (...)
        From the tip, x ahead of it. [mm]
    mode : int
        1 opens, 2 slides.
    material : Material

    Returns
    -------
    ndarray, shape (2, 2, ...)
        By component, then by derivative.

    References
    ----------
    .. [1] Williams, *J. Appl. Mech.* 24 (1957) 109-114 (from memory).
    """
    kappa = (3 - material.poisson) / (1 + material.poisson)
    r, angle = np.hypot(x, y), np.arctan2(y, x)
    c1, c3, s1, s3 = (f(n * angle / 2) for f in (np.cos, np.sin) for n in (1, 3))
    if mode == 1:
        a, b = 2 * kappa - 1, 2 * kappa + 1
        shape = np.stack([a * c1 - c3, b * s1 - s3])
        turned = np.stack([-a * s1 + 3 * s3, b * c1 - 3 * c3]) / 2
    else:
        a, b = 2 * kappa + 3, 2 * kappa - 3
        shape = np.stack([a * s1 + s3, -b * c1 - c3])
        turned = np.stack([a * c1 + 3 * c3, b * s1 + 3 * s3]) / 2
    cos, sin = np.cos(angle), np.sin(angle)
    along = cos / 2 * shape - sin * turned
    across = sin / 2 * shape + cos * turned
    return np.stack([along, across], axis=1) / (4 * material.mu * np.sqrt(2 * np.pi * r))
