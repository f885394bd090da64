"""A section whose face is rubbed: Coulomb friction of known pressure on its nodes.

The face is pressed on something that doesn't move by a pressure that is known beforehand, so the
friction T that a node can bear is known too: it holds up to there, and is a constant force against
the way the node goes beyond. Under a load that grows the displacement is the least of a convex
function,

    E(u) = 1/2 u.K u - f.u + sum of T_i |u_i - u0_i|,

u0 where the step begins; a way counts by its steps, each from the displacement of the one before
(backward Euler). The corner of |s| is rounded, sqrt(s2 + r2), and r let go down to ``ROUNDING`` of
the largest slip; where the metal under the face gives before it slips, to what it gives, so that
friction begins as a spring and ends as T. Each r is solved by Newton on the displacement and on the
direction of the friction together (Chan, Golub & Mulet, *SIAM J. Sci. Comput.* 20 (1999)
1964-1977, from memory), in a few systems where Newton on the displacement alone takes hundreds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse

from fea.factor import Factor
from fea.model import SectionModel, Solution
from fea.shapes import NODES, shapes
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

ROUNDING = 1e-6
"""Slip over the largest slip below which a node sticks."""
STAGES = 9
"""Roundings at most, each a tenth of the one before, the first that of the largest movement without
friction: where nothing slips, none is ever small."""
STICKS = 3
"""Roundings of slip up to which a node is told to stick."""
SETTLED = 1e-8
"""Force that is left over, as a share of all forces, at which a stage ends."""
MOST_SYSTEMS = 40
"""Systems of a stage."""
STIFFEST = 1e6
"""Stiffness of a node that is held outright, over the largest of the section."""
FINENESS = 4
"""Parts that each side of a quarter of a triangle is cut into where a pressure is summed."""

_QUARTERS = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])


class FrictionError(RuntimeError):
    """Friction and load find no balance."""


@dataclass(frozen=True, eq=False, slots=True)
class Rubbed:
    """A section under a load, held by friction.

    Attributes
    ----------
    solution : Solution
    force : ndarray, shape (n, 2)
        Of the friction on the metal. [N]
    slips : ndarray of bool, shape (n,)
        Nodes that bear as much as they can and move.
    worn : float
        Work that friction takes up in this step, where it is rigid up to its limit. [N mm]
    systems : int
        That were solved.
    """

    solution: Solution
    force: Array
    slips: Flags
    worn: float
    systems: int


def nodal_forces(
    mesh: SectionMesh, triangles: ArrayLike, pressure: Callable[[Array, Array], Array]
) -> Array:
    """What a pressure on the face of some triangles comes to at their nodes.

    Each triangle counts as four small ones, whose linear functions share the force out: none of the
    shares is negative, as those of the quadratic triangle's corners would be zero.

    Parameters
    ----------
    mesh : SectionMesh
    triangles : array_like of int, shape (k,)
    pressure : callable
        p(x, y), of the shape of its arguments. [MPa]

    Returns
    -------
    ndarray, shape (n,)
        At ``mesh.points``. [N]
    """
    chosen = mesh.triangles[np.asarray(triangles, dtype=np.int64)]
    found = np.zeros(len(mesh.points))
    for quarter in _QUARTERS:
        for share, area in _small(FINENESS):
            values, derivatives = shapes(share @ NODES[quarter])
            x, y = np.moveaxis(mesh.points[chosen], -1, 0)
            (xr, xs), (yr, ys) = ([at @ by for by in derivatives] for at in (x, y))
            size = (xr * ys - xs * yr) * area / 4
            force = pressure(x @ values, y @ values) * size
            np.add.at(found, chosen[:, quarter], force[:, None] * share)
    return found


def rub(
    model: SectionModel,
    forces: ArrayLike,
    bearable: ArrayLike,
    start: ArrayLike | None = None,
    springs: ArrayLike | None = None,
) -> Rubbed:
    """Displacement under nodal forces of a section that friction holds.

    Parameters
    ----------
    model : SectionModel
        Its holds against rigid motion are let go: friction takes their place.
    forces : array_like, shape (n, 2)
        On the nodes of ``model.mesh.points``. [N]
    bearable : array_like, shape (n,)
        Friction that each node can bear, T; 0 where nothing rubs, infinite where it is held. [N]
    start : array_like, shape (n, 2), optional
        Displacement that the step begins from; zero without. [mm]
    springs : array_like, shape (n,), optional
        Between each node and what rubs on it, for a load that only grows; rigid without. [N/mm]

    Raises
    ------
    ValueError
        If a body has no node that anything rubs on.
    FrictionError
        If no balance is found.
    """
    forces, bearable = np.asarray(forces, dtype=float), np.asarray(bearable, dtype=float)
    begun = np.zeros_like(forces) if start is None else np.asarray(start, dtype=float)
    rubbed = np.zeros(int(model.bodies.max()) + 1)
    np.maximum.at(rubbed, model.node_bodies, bearable)
    if not (rubbed > 0).all():
        raise ValueError("nothing rubs on one of the bodies, so nothing holds it.")
    system = _System(model, bearable, None if springs is None else np.asarray(springs, dtype=float))
    free = model.solve_forces(forces).displacement
    rounding = 0.1 * float(np.hypot(*(free - begun).T).max()) or 1.0
    u, direction = begun.copy(), np.zeros_like(begun)
    count = 0
    for stage in range(STAGES):
        if stage:
            rounding /= 10
        u, direction, systems = _stage(system, forces, begun, u, direction, rounding)
        count += systems
        moved = u - begun
        length = np.hypot(*moved.T)
        if rounding <= ROUNDING * length.max():
            break
    corner = np.maximum(rounding, system.gives)
    return Rubbed(
        solution=Solution(
            model, u, np.zeros_like(u), np.zeros(len(model.held)), temperature=model.temperature
        ),
        force=-system.friction(moved, direction),
        slips=(system.limit > 0) & (length > STICKS * corner),
        worn=float((system.limit * length).sum()),
        systems=count,
    )  # fmt: skip


class _System:
    """The section's stiffness without its holds, and what friction adds node by node."""

    def __init__(self, model: SectionModel, bearable: Array, springs: Array | None) -> None:
        pattern = model.pattern
        self.dofs, self.size = model.dofs, model.dofs.size
        self.values = pattern.entries(model.stiffness(model.temperature))
        lower = sparse.csc_array(
            (self.values, pattern.rows, pattern.starts), shape=(self.size,) * 2
        )
        self.whole = sparse.csr_array(lower + sparse.tril(lower, -1).T)
        self.held = np.isinf(bearable)
        self.limit = np.where(self.held, 0.0, bearable)
        rigid = STIFFEST * float(self.values.max())
        self.stiff = self.held * (np.full(len(bearable), rigid) if springs is None else springs)
        self.gives = np.zeros(len(bearable))  # slip that is none yet [mm]
        if springs is not None:
            np.divide(self.limit, springs, out=self.gives, where=self.limit > 0)
        self.diagonal = pattern.starts[:-1][self.dofs]  # (n, 2): entry of each unknown with itself
        self.factor: Factor | None = None
        self.pattern = pattern

    def pull(self, u: Array) -> Array:
        """K u, shape (n, 2). [N]."""
        flat = np.empty(self.size)
        flat[self.dofs] = u
        return np.asarray((self.whole @ flat)[self.dofs])

    def friction(self, moved: Array, direction: Array) -> Array:
        """Force that the metal rubs with, shape (n, 2). [N]."""
        return self.limit[:, None] * direction + self.stiff[:, None] * moved

    def solve(self, blocks: Array, load: Array) -> Array:
        """Displacement with blocks, shape (2, 2, n), added between each node's own unknowns."""
        values = self.values.copy()
        values[self.diagonal[:, 0]] += blocks[0, 0] + self.stiff
        values[self.diagonal[:, 1]] += blocks[1, 1] + self.stiff
        values[self.diagonal[:, 0] + 1] += blocks[1, 0]
        if self.factor is None:
            self.factor = Factor(
                sparse.csc_array(
                    (values, self.pattern.rows, self.pattern.starts), shape=(self.size,) * 2
                )
            )
        else:
            self.factor = self.factor.refactor(values)
        flat = np.empty(self.size)
        flat[self.dofs] = load
        return np.asarray(self.factor.solve(flat)[self.dofs])


def _stage(
    system: _System, forces: Array, begun: Array, u: Array, direction: Array, rounding: float
) -> tuple[Array, Array, int]:
    """Balance with a corner of one rounding: displacement, direction of friction, systems."""
    all_forces = np.abs(forces).sum() + system.limit.sum()
    for count in range(MOST_SYSTEMS + 1):
        moved = u - begun
        length = np.hypot(np.hypot(*moved.T), np.maximum(rounding, system.gives))
        unit = moved / length[:, None]
        left = forces - system.pull(u) - system.friction(moved, unit)
        if np.abs(left).sum() <= SETTLED * all_forces:
            return u, unit, count
        if count == MOST_SYSTEMS:
            break
        share = system.limit / length
        cross = 0.5 * (
            np.einsum("ni,nj->ijn", direction, unit) + np.einsum("ni,nj->ijn", unit, direction)
        )
        step = system.solve(share * (np.eye(2)[:, :, None] - cross), left)
        turned = (
            (moved + step) / length[:, None]
            - direction
            - direction * ((unit * step).sum(axis=1) / length)[:, None]
        )
        direction = direction + _within_unit(direction, turned) * turned
        u = u + step
    raise FrictionError(
        f"no balance of friction and load in {MOST_SYSTEMS} systems at a rounding of "
        f"{rounding:.1e} mm."
    )


def _within_unit(direction: Array, turned: Array) -> float:
    """The largest part of a change, up to all of it, that keeps all directions within a unit."""
    a = (turned**2).sum(axis=1)
    b = (direction * turned).sum(axis=1)
    c = 1 - (direction**2).sum(axis=1)
    some = a > 0
    reach = (-b[some] + np.sqrt(np.maximum(b[some] ** 2 + a[some] * c[some], 0))) / a[some]
    return float(min(1.0, 0.99999 * reach.min(initial=np.inf)))


def _small(cuts: int) -> list[tuple[Array, float]]:
    """Middles of the small triangles of a triangle in its own shares, and their share of it."""
    found = []
    for i in range(cuts):
        for j in range(cuts - i):
            up = np.array([i + 1 / 3, j + 1 / 3]) / cuts
            found.append(up)
            if i + j < cuts - 1:
                found.append(np.array([i + 2 / 3, j + 2 / 3]) / cuts)
    return [(np.array([1 - r - s, r, s]), 0.5 / cuts**2) for r, s in found]
