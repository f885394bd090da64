"""Small solids of simple shape for the tests of fea/solid."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from cases.check.sheets import draw_up, grid, named
from geometry.solid import SolidMesh

LEVELS = [-1, -0.7, -0.3, 0]
"""Of uneven layers."""

__all__ = ["LEVELS", "draw_up", "grid", "moved", "named"]


def moved(mesh: SolidMesh, to: Callable[[np.ndarray], np.ndarray]) -> SolidMesh:
    """The same with its nodes, shape (n, 3), elsewhere."""
    return replace(mesh, points=to(mesh.points))
