"""In which order the unknowns of a solid are eliminated, and the memory that its factor takes.

Nodes that stand above one another on the edges of prisms are eliminated together, bottom to top,
their columns by minimum degree. With the layers of a block that is found at once, and the factor is
smaller than where each unknown is ordered by itself: 5 to 10 % at 6 to 12 layers, a fifth less time
to order and factor. Nested dissection of single nodes (METIS) gave a tenth to an eighth smaller
factors, and took more time to order than it saved below some 300,000 unknowns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fea.factor import elimination_order
from geometry.solid.mesh import SolidMesh

Integers = NDArray[np.int64]

FILL = 10
"""Entries of a factor over n^(4/3) of its unknowns where nothing better is known."""
OF_ENTRY = 8
"""Memory of an entry of the factor. [bytes]."""
OF_UNKNOWN = 4500
"""Memory of an unknown beside the factor: some 60 entries of its column of the stiffness, in three
copies with their places, and gradients and averages of the recovery. Measured: see
:func:`memory_needed`. [bytes]."""
BESIDE = 2e8
"""Memory of the libraries. [bytes]."""


@dataclass(frozen=True, eq=False, slots=True)
class ColumnOrder:
    """An order of elimination.

    Attributes
    ----------
    order : ndarray, shape (c n,), or None
        Unknowns in that order; None where the library has to find its own.
    entries : int
        Entries of the factor, at the most.
    """

    order: Integers | None
    entries: int


def column_order(mesh: SolidMesh, components: int = 3) -> ColumnOrder:
    """The order for a mesh, column by column.

    Parameters
    ----------
    mesh : SolidMesh
    components : int
        Unknowns of a node: 3 of a displacement, 1 of a temperature.
    """
    n = len(mesh.points)
    levels = mesh.prisms.reshape(-1, 3, 6)
    low, high = levels[:, :2].ravel(), levels[:, 1:].ravel()
    edges = sparse.coo_array((np.ones(len(low)), (low, high)), shape=(n, n))
    count, column = connected_components(edges, directed=False)
    around = column[levels[:, 0]]
    keys = np.sort(around, axis=1)
    first, second = np.triu_indices(6, 1)
    pairs = np.unique(keys[:, second].astype(np.int64) * count + keys[:, first])
    row, beside = np.divmod(pairs, count)
    coupled = row != beside
    weight = components * np.bincount(column, minlength=count)
    found = elimination_order(row[coupled], beside[coupled], weight)
    if found is None:
        return ColumnOrder(None, int(FILL * float(components * n) ** (4 / 3)))
    order, entries = found
    rank = np.empty(count, dtype=np.int64)
    rank[order] = np.arange(count)
    nodes = np.lexsort((mesh.points[:, 2], rank[column]))
    return ColumnOrder((components * nodes[:, None] + np.arange(components)).ravel(), entries)


def memory_needed(mesh: SolidMesh) -> float:
    """Memory that a solid takes to be factored and its stress recovered, about. [bytes].

    Found before anything is assembled, within a fifth of what was measured at 160,000 to 460,000
    unknowns.
    """
    unknowns = mesh.points.size
    return OF_ENTRY * column_order(mesh).entries + OF_UNKNOWN * unknowns + BESIDE


def require_memory(mesh: SolidMesh, at_hand: float) -> None:
    """Refuse a solid that memory doesn't hold, before it is assembled.

    Parameters
    ----------
    mesh : SolidMesh
    at_hand : float
        Memory that may be taken. [bytes]

    Raises
    ------
    MemoryError
        With the need, and what makes it smaller.
    """
    needed = memory_needed(mesh)
    if needed > at_hand:
        raise MemoryError(
            f"a solid of {mesh.points.size} unknowns needs about {needed / 1e9:.1f} GB, and "
            f"{at_hand / 1e9:.1f} GB are at hand. Use a coarser mesh or fewer layers, or end the "
            "model nearer to the bore; half of the unknowns need some four tenths of the memory."
        )
