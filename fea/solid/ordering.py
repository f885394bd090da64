"""In which order the nodes of a solid are eliminated, and the memory that its factor takes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from fea.elimination import elimination_order, factor_entries
from geometry.solid.mesh import SolidMesh

Integers = NDArray[np.int64]

OF_ENTRY = 8
"""Memory of an entry of the factor. [bytes]."""
OF_UNKNOWN = 4500
"""Memory of an unknown beside the factor: some 60 entries of its column of the stiffness, in three
copies with their places, and gradients and averages of the recovery. Measured: see
:func:`memory_needed`. [bytes]."""
BESIDE = 2e8
"""Memory of the libraries. [bytes]."""


@dataclass(frozen=True, eq=False, slots=True)
class NodeOrder:
    """An order of elimination, the unknowns of a node together.

    Attributes
    ----------
    nodes : ndarray, shape (n,)
        In that order.
    entries : int
        That the factor takes room for with three unknowns a node, about.
    """

    nodes: Integers
    entries: int

    def unknowns(self, components: int = 3) -> Integers:
        """Unknowns in that order, so many of a node."""
        return (components * self.nodes[:, None] + np.arange(components)).ravel()


@lru_cache(maxsize=1)  # asked for memory first, then to factor
def node_order(mesh: SolidMesh) -> NodeOrder:
    """The order for the displacement of a mesh."""
    n, of_prism = len(mesh.points), mesh.prisms.shape[1]
    has = sparse.csr_array(
        (
            np.ones(mesh.prisms.size, dtype=np.int32),
            mesh.prisms.ravel(),
            np.arange(0, mesh.prisms.size + 1, of_prism),
        ),
        shape=(len(mesh.prisms), n),
    )
    graph = sparse.csr_array(has.T @ has)
    order = elimination_order(graph)
    return NodeOrder(order, factor_entries(graph, order, 3))


def memory_needed(mesh: SolidMesh) -> float:
    """Memory that a solid takes to be factored and its stress recovered, about. [bytes].

    Found before anything is assembled, within a fifth of what was measured at 160,000 to 460,000
    unknowns.
    """
    return OF_ENTRY * node_order(mesh).entries + OF_UNKNOWN * mesh.points.size + BESIDE


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
