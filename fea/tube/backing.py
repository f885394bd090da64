r"""What stands behind a wall, read from a solved section.

A wall that goes round a bore of radius a and is loaded by q [N/mm] carries the hoop force q a if
nothing stands behind it: half of the gas load across any plane through the axis. What is missing of
it at a place is what stands behind the wall there. That is statics. Growth would not do: parts of
the wall that merely bend to and fro grow by it with no force behind them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.closed_form import lame_ring
from fea.material import Material
from fea.stress import LayerStress, hoop
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]

SAMPLES = 800
"""Places along a ray at which stress is read."""
STIFFEST = 1e6
"""Backing that is as good as rigid: a column of steel 0.2 mm long. [MPa/mm]."""
SOFTEST = -0.5
"""Backing that is let pass at most below none, as a share of the wall's own stiffness."""

_FOUR = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])  # a quadratic triangle in small ones


def hoop_force(
    mesh: SectionMesh,
    stresses: Sequence[LayerStress],
    angle: float,
    ends: tuple[float, float],
    parts: Sequence[str],
) -> float:
    """Force around the axis that some parts carry across a ray from it.

    Parameters
    ----------
    mesh : SectionMesh
    stresses : sequence of LayerStress
        Of a solution on this mesh.
    angle : float
        Of the ray, from +x, counter-clockwise. [rad]
    ends : tuple of float
        Radii from which to which it is summed. [mm]
    parts : sequence of str

    Returns
    -------
    float
        Tension positive. [N]

    Raises
    ------
    ValueError
        If the ray meets no metal there.
    """
    low, high = ends
    step = (high - low) / SAMPLES
    along = np.array([np.cos(angle), np.sin(angle)])
    places = (low + step * (np.arange(SAMPLES) + 0.5))[:, None] * along
    small = mesh.triangles[:, _FOUR].reshape(-1, 3)
    reach, off = mesh.points[small] @ along, mesh.points[small] @ [-along[1], along[0]]
    met = (off.min(axis=1) <= 0) & (off.max(axis=1) >= 0)
    met &= (reach.max(axis=1) >= low) & (reach.min(axis=1) <= high)
    if not met.any():
        raise ValueError(f"there is no metal between the radii {low:g} and {high:g} mm.")
    near = np.flatnonzero(met)
    corners = mesh.points[small[near]]
    first = corners[:, :1]
    edges = (corners[:, 1:] - first).transpose(0, 2, 1)
    local = np.einsum("tij,tpj->tpi", np.linalg.inv(edges), places - first)
    shares = np.concatenate([1 - local.sum(axis=-1, keepdims=True), local], axis=-1)
    holder = shares.min(axis=-1).argmax(axis=0)  # of each place
    share, nodes = shares[holder, np.arange(SAMPLES)], small[near[holder]]
    region = mesh.region[near[holder] // len(_FOUR)]
    force = 0.0
    for layer in stresses:
        here = np.flatnonzero(region == layer.region)
        if layer.part not in parts or not len(here):
            continue
        around = hoop(layer.stress, *mesh.points[layer.nodes].T)
        values = around[np.searchsorted(layer.nodes, nodes[here])]
        depth = layer.depth(*places[here].T)
        force += step * float(((values * share[here]).sum(axis=-1) * depth).sum())
    return force


@dataclass(frozen=True, slots=True)
class Ring:
    """One material of a wall."""

    inner: float  # [mm]
    outer: float  # [mm]
    material: Material


@dataclass(frozen=True, slots=True)
class Strip:
    """A stretch of a wall's height with the same rings all the way, from the bore out."""

    height: float  # [mm]
    rings: tuple[Ring, ...]
    known: float = 0.0  # backing that is known [MPa/mm]
    sought: bool = False  # whether the one that is looked for stands here as well


def strip_forces(strip: Strip, backing: float) -> tuple[float, float]:
    r"""What a strip takes for each mm that its bore grows, of 1 mm height.

    Lame's rings, plane stress, each pressed on its outside by what it moves: with a displacement
    :math:`u_b = c_1 p_a + c_2 p_b` there and :math:`p_b = s u_b`, p_b = s c_1 / (1 - s c_2) p_a.

    Parameters
    ----------
    strip : Strip
    backing : float
        Pressure on the outermost ring for each mm that it moves. [MPa/mm]

    Returns
    -------
    pressure : float
        In the bore. [MPa/mm]
    held : float
        Backing pressure times its radius: hoop force that the wall is spared. [N/mm per mm]
    """
    stiffness, chain = backing, 1.0
    for ring in reversed(strip.rings):
        ends = [ring.inner, ring.outer]
        moduli = {
            "youngs_modulus": ring.material.youngs_modulus,
            "poisson": ring.material.poisson,
        }
        by_in = lame_ring(ends, *ends, p_in=1.0, **moduli).growth
        by_out = lame_ring(ends, *ends, p_out=1.0, **moduli).growth
        passed = stiffness * by_in[1] / (1 - stiffness * by_out[1])
        moved = by_in + passed * by_out
        chain *= moved[1] / moved[0]
        stiffness = 1 / moved[0]
    return float(stiffness), float(backing * strip.rings[-1].outer * chain)


def wall_share(strips: Sequence[Strip], backing: float) -> float:
    """Share of q a that the wall itself carries around, all strips growing alike.

    Parameters
    ----------
    strips : sequence of Strip
    backing : float
        In the strips in which it is sought. [MPa/mm]
    """
    load = held = 0.0
    for strip in strips:
        pressure, spared = strip_forces(strip, strip.known + (backing if strip.sought else 0.0))
        load += strip.height * pressure
        held += strip.height * spared
    return 1 - held / (load * strips[0].rings[0].inner)


def find_backing(strips: Sequence[Strip], share: float) -> float:
    """The backing with which a wall carries a share of its load around.

    Parameters
    ----------
    strips : sequence of Strip
    share : float
        Hoop force of the wall over q a.

    Returns
    -------
    float
        In the strips in which it is sought. [MPa/mm]

    Raises
    ------
    ValueError
        If no backing between ``SOFTEST`` and ``STIFFEST`` gives it.
    """
    from scipy.optimize import brentq

    low = SOFTEST * min(strip_forces(strip, 0.0)[0] for strip in strips)
    shares = wall_share(strips, STIFFEST), wall_share(strips, low)
    if not shares[0] <= share <= shares[1]:
        raise ValueError(
            f"the wall carries {100 * share:.0f} % of its load around, which no backing from "
            f"{low:.0f} MPa/mm to a rigid one gives ({100 * shares[0]:.0f} to "
            f"{100 * shares[1]:.0f} %)."
        )
    return float(brentq(lambda k: wall_share(strips, k) - share, low, STIFFEST, xtol=1e-9))
