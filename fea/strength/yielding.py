"""How much of the metal is stressed beyond its yield strength."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from fea.material import REFERENCE, Material
from fea.stress import LayerStress, von_mises
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

QUARTERS = np.array([1, 1, 1, 3, 3, 3]) / 12
"""Share of a quadratic triangle's area that goes with each of its nodes, cut into four."""


def over_yield(
    stresses: Sequence[LayerStress],
    materials: Mapping[str, Material],
    mesh: SectionMesh,
    temperature: Array | None,
    tail: float,
    parts: Collection[str],
    counts: NDArray[np.bool_] | None = None,
) -> tuple[float, int, int]:
    """Share of the yield strength that all but a tail of some parts' metal stays below.

    By von Mises stress; edges of a contact, where stress has no finite peak, are in the tail.

    Parameters
    ----------
    stresses : sequence of LayerStress
    materials : mapping
        By part.
    mesh : SectionMesh
    temperature : ndarray, shape (n,), optional
        At the nodes; 20 degC if left out. [degC]
    tail : float
        Share of that metal by volume.
    parts : collection of str
        Those that count.
    counts : ndarray of bool, shape (n,), optional
        Nodes whose metal counts; all if left out.

    Returns
    -------
    share : float
        0 where no yield strength is known.
    layer, row : int
        Where it is: place in ``stresses``, and in its nodes.
    """
    shares, volumes = [np.zeros(0)], [np.zeros(0)]
    places: list[Integers] = [np.zeros((0, 2), dtype=np.int64)]
    for number, layer in enumerate(stresses):
        material = materials[layer.part]
        if layer.part not in parts or not material.yield_points:
            continue
        warmth = REFERENCE if temperature is None else temperature[layer.nodes]
        shares.append(von_mises(layer.stress) / material.yield_strength(warmth))
        (ax, ay), (bx, by) = (
            (mesh.points[mesh.triangles[layer.elements, k]]
             - mesh.points[mesh.triangles[layer.elements, 0]]).T
            for k in (1, 2)
        )  # fmt: skip
        weights = np.outer(np.abs(ax * by - ay * bx), QUARTERS) * layer.thickness[layer.triangles]
        count = len(layer.nodes)
        volumes.append(
            np.asarray(np.bincount(layer.triangles.ravel(), weights.ravel(), count), float)
        )
        places.append(np.stack([np.full(count, number), np.arange(count)], axis=1))
        if counts is not None:
            there = counts[layer.nodes]
            shares[-1], volumes[-1] = shares[-1][there], volumes[-1][there]
            places[-1] = places[-1][there]
    share, volume = np.concatenate(shares), np.concatenate(volumes)
    if not len(share):
        return 0.0, 0, 0
    last = beyond_tail(share, volume, tail)
    number, row = np.concatenate(places)[last]
    return float(share[last]), int(number), int(row)


def beyond_tail(share: Array, volume: Array, tail: float) -> int:
    """Where the largest share is that all but a tail of the metal stays below.

    Parameters
    ----------
    share, volume : ndarray, shape (k,)
    tail : float
        Share of the volume.
    """
    order = np.argsort(-share)
    above = np.cumsum(volume[order])
    return int(order[np.searchsorted(above, tail * above[-1])])
