"""Self-checks of a solid: reactions, force across cuts, motion as one body, rest without load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.equilibrium import CUT_FORCE_LIMIT, REACTION_LIMIT, CoarseError, SelfCheckError
from fea.solid.assembly import in_prisms, thermal_load
from fea.solid.elasticity import COMPONENTS
from fea.solid.model import SolidSolution
from fea.solid.stress import PartStress

Array = NDArray[np.float64]
Cut = tuple[str, float]
"""Axis of a plane's normal, "x", "y" or "z", and its place on that axis [mm]."""

RIGID_LIMIT = 1e-6
"""Strain of a turn by one radian: rounding, about 1e-13, and 2e-9 in a prism 1e-5 mm across."""
REST_LIMIT = 1e-9
"""Strain with no load over that under the load."""


@dataclass(frozen=True, slots=True)
class SolidChecks:
    """What the self-checks found; each must be 0.

    Attributes
    ----------
    reaction_ratio : float
        What loads and supports leave over, or a hold feels, over the load.
    cut_force_ratio : float
        What the recovered stress misses of the force across cuts, over the load; the worst.
    rigid_ratio : float
        Largest strain where all metal is turned as one body by one radian, to first order.
    rest_ratio : float or None
        Largest strain with no load over that under the load; None where it was not asked for.
    """

    reaction_ratio: float
    cut_force_ratio: float
    rigid_ratio: float
    rest_ratio: float | None = None


def solid_checks(
    solution: SolidSolution,
    stresses: Sequence[PartStress],
    forces: ArrayLike,
    cuts: Sequence[Cut] = (),
    rest: SolidSolution | None = None,
    cut_limit: float = CUT_FORCE_LIMIT,
    of_joints: float = 0.0,
) -> SolidChecks:
    """Hold a solid under a load against statics.

    Parameters
    ----------
    solution : SolidSolution
    stresses : sequence of PartStress
        From :func:`fea.solid.stress.recover`.
    forces : array_like, shape (n, 3)
        Nodal forces that it was solved for; those of its temperature come on top. [N]
    cuts : sequence of tuple of str and float
        Planes across which the force of the stress is held against that of the loads.
    rest : SolidSolution, optional
        The same solid with no load, at one temperature at which it is free of strain.
    cut_limit : float
        Share of the load that the recovered stress may miss across a cut.
    of_joints : float
        Sum of the forces by which parts that were fitted press on each other, a load too. [N]

    Raises
    ------
    SelfCheckError
        If a self-check fails; a :class:`fea.equilibrium.CoarseError` where a finer mesh may pass.
    """
    forces = np.asarray(forces, dtype=float)
    scale = _load(solution, forces, of_joints)
    left = float(np.abs((forces + solution.reactions).sum(axis=0)).max())
    held_by = float(np.abs(solution.hold_reactions).max(initial=0.0))
    reaction_ratio = max(left, held_by) / scale
    if not reaction_ratio <= REACTION_LIMIT:
        raise SelfCheckError(
            f"loads and supports leave {left:.3g} N over and a hold carries {held_by:.3g} N of a "
            f"load of {scale:.6g} N; both must be 0."
        )
    rigid_ratio = rigid_strain(solution)
    if not rigid_ratio <= RIGID_LIMIT:
        raise SelfCheckError(
            f"all metal turned as one body is strained by {rigid_ratio:.3g}; it must not be."
        )
    rest_ratio = None if rest is None else _rest_ratio(solution, rest)
    if not (rest_ratio is None or rest_ratio <= REST_LIMIT):
        raise SelfCheckError(
            f"with no load the metal is strained by {rest_ratio:.3g} of what the load strains it "
            "by; it must not be."
        )
    worst = 0.0
    for axis, at in cuts:
        carried, wanted = cut_force(solution, stresses, forces, (axis, at))
        missed = float(np.abs(carried - wanted).max()) / scale
        if not missed <= cut_limit:
            raise CoarseError(
                f"across the plane {axis} = {at:g} mm the recovered stress misses {missed:.4f} of "
                f"the load; it must miss less than {cut_limit:g}. Use a finer mesh."
            )
        worst = max(worst, missed)
    return SolidChecks(reaction_ratio, worst, rigid_ratio, rest_ratio)


def _rest_ratio(solution: SolidSolution, rest: SolidSolution) -> float:
    """Largest strain with no load over that under the load."""
    at_rest, loaded = (
        float(np.abs(one.model.smoothing.strain(one.displacement)).max())
        for one in (rest, solution)
    )
    return at_rest / (loaded or 1.0)


def _load(solution: SolidSolution, forces: Array, of_joints: float) -> float:
    """Sum of all forces' sizes, those of the temperature with them; 1 if there are none."""
    found = of_joints + float(np.linalg.norm(forces, axis=1).sum())
    if solution.temperature is not None:
        model = solution.model
        of_heat = thermal_load(model.mesh, model.materials, solution.temperature)
        found += float(np.linalg.norm(of_heat, axis=1).sum())
    return found or 1.0


def rigid_strain(solution: SolidSolution) -> float:
    """Largest strain, to first order, of all metal turned by one radian about each axis."""
    points = solution.model.mesh.points - solution.model.mesh.points.mean(axis=0)
    turns = (np.cross(axis, points) for axis in np.eye(3))
    return max(float(np.abs(solution.model.smoothing.strain(turn)).max()) for turn in turns)


def cut_force(
    solution: SolidSolution, stresses: Sequence[PartStress], forces: Array, cut: Cut
) -> tuple[Array, Array]:
    r"""Force across a plane, of the stress recovered inside the metal and of the loads beyond it.

    Both are means over the elements that the plane meets: with a function phi of the nodes that
    rises from 0 to 1 across them, virtual work says

    .. math:: \int \sigma_{ij}\, \phi_{,j} \,dV = \sum_a \phi_a (f_a + r_a)_i,

    f the loads and r the reactions, for the true stress and, to rounding, for that of the
    elements; the recovered one is between them. What the surface reads is of the surface alone:
    spread over tall prisms far down it missed 3 to 5 % of the load.

    Parameters
    ----------
    solution : SolidSolution
    stresses : sequence of PartStress
    forces : ndarray, shape (n, 3)
        Nodal forces without those of temperature. [N]
    cut : tuple of str and float

    Returns
    -------
    of_stress, of_loads : ndarray, shape (3,)
        [N]
    """
    mesh = solution.model.mesh
    axis, at = "xyz".index(cut[0]), cut[1]
    along = mesh.points[:, axis]
    reach = along[mesh.prisms]
    low, high = reach.min(axis=1), reach.max(axis=1)
    met = (low < at) & (high > at)
    band = float((high - low)[met].max(initial=1e-9))
    phi = np.clip((along - at) / band + 0.5, 0, 1)
    of_loads = phi @ (forces + solution.reactions)
    of_stress = np.zeros(3)
    for stress in stresses:
        of_part = phi[stress.nodes][stress.prisms]
        rising = np.flatnonzero(np.ptp(of_part, axis=1) > 0)
        places = in_prisms(mesh.points, mesh.prisms[stress.elements[rising]])
        slope = np.einsum("kqia,ka->ikq", places.gradients, of_part[rising])
        inside = stress.inside[:, stress.prisms[rising]] @ places.shapes.T
        for component, (i, j) in enumerate(COMPONENTS):
            weighted = inside[component] * places.volume
            of_stress[i] += (weighted * slope[j]).sum()
            if i != j:
                of_stress[j] += (weighted * slope[i]).sum()
    return of_stress, of_loads
