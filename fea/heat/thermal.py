r"""Thermal strain in plane stress.

Metal that is warmer than 20 degC wants to grow by alpha (T - 20) on all sides. Held, it is under

.. math::

    \sigma = \lambda \operatorname{tr}\varepsilon\, I + 2 \mu\, \varepsilon
             - \frac{E \alpha (T - 20)}{1 - \nu} I,

so that the last term acts as a load, L(v) = ∫ sum_l t_l E_l alpha_l (T - 20) / (1 - nu_l) div v dA.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.material import ABSOLUTE_ZERO, Material
from fea.quadrature import in_triangles
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]


def thermal_load(
    mesh: SectionMesh, materials: Mapping[str, Material], temperature: ArrayLike
) -> Array:
    r"""Nodal forces of the thermal strain.

    .. math:: f_a = \int \sum_l t_l \frac{E_l(T)\, \alpha_l (T - 20)}{1 - \nu_l} \nabla N_a \,dA

    The temperature is quadratic in each triangle, as the displacement is; quadrature is that of
    the stiffness, so that a free body of one material grows without stress.

    Parameters
    ----------
    mesh : SectionMesh
    materials : mapping of str to Material
        By part.
    temperature : array_like, shape (n,)
        At ``mesh.points``. [degC]

    Returns
    -------
    ndarray, shape (n, 2)
        In equilibrium, on each body by itself. [N]

    Raises
    ------
    ValueError
        If the temperatures are not one for each node, or one is below absolute zero.
    """
    temperature = checked_temperature(len(mesh.points), temperature)
    places = in_triangles(mesh.points, mesh.triangles, order=2)
    warmth = places.shapes @ temperature[mesh.triangles.T]
    held = np.zeros_like(warmth)
    for index, layers in enumerate(mesh.regions):
        inside = np.flatnonzero(mesh.region == index)
        x, y = places.x[:, inside], places.y[:, inside]
        for layer in layers:
            stress = materials[layer.part].thermal_stress(warmth[:, inside])
            held[:, inside] += layer.thickness(x, y) * stress
    flat, n = mesh.triangles.T.ravel(), len(mesh.points)
    forces = [(held * slopes).sum(axis=1) for slopes in (places.slopes_x, places.slopes_y)]
    return np.stack([np.bincount(flat, of.ravel(), n) for of in forces], axis=1)


def checked_temperature(nodes: int, temperature: ArrayLike) -> Array:
    """Temperatures as an array, one for each node of a mesh, shape (nodes,). [degC].

    Raises
    ------
    ValueError
        If their shape is another, one is no number, or below absolute zero.
    """
    array = np.asarray(temperature, dtype=float)
    if array.shape != (nodes,):
        raise ValueError(f"temperatures have shape {array.shape}; the mesh needs {(nodes,)}.")
    wrong = ~(np.isfinite(array) & (array >= ABSOLUTE_ZERO))
    if wrong.any():
        raise ValueError(
            f"temperature {array[np.argmax(wrong)]:g} degC is not above absolute zero, "
            f"{ABSOLUTE_ZERO:g} degC."
        )
    return array
