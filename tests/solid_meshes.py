"""Small solids of simple shape for the tests of fea/solid."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from cases.check.sheets import draw_up, grid, named
from geometry.solid import SolidMesh

__all__ = ["draw_up", "grid", "moved", "named"]


def moved(mesh: SolidMesh, to: Callable[[np.ndarray], np.ndarray]) -> SolidMesh:
    """The same with its nodes, shape (n, 3), elsewhere."""
    return replace(mesh, points=to(mesh.points))
