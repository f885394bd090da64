"""What the gas of a bore beside does to a place: its cycle is its range over all firings.

A place that its own gas pulls may be pushed by the next bore's. Sections in one piece tell by how
much at the place that governs; the band draws from nothing to that, as the section's neighbour is
not the solid's.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cases.case import Case, Design
from cases.rating.given import rating_given
from cases.stress.result import DesignResult
from cases.stress.solve import quick_section

Array = NDArray[np.float64]

MOST = 1.0  # more is no push by a bore beside, but a place that its own gas hardly pulls


def sections_beside(case: Case, design: Design, line_load: float) -> list[DesignResult]:
    """A design's sections with the bores beside the firing one firing; none without draws.

    Parameters
    ----------
    case : Case
    design : Design
    line_load : float
        Of the gas. [N/mm]

    Raises
    ------
    RunError
        If one can't be solved.
    """
    fires = case.block.firing_bore
    if not rating_given(case).draws:
        return []
    return [
        quick_section(case, design, line_load, bore)
        for bore in (fires - 1, fires + 1)
        if 1 <= bore <= case.block.bores
    ]


def pushed_at(
    own: DesignResult, beside: Sequence[DesignResult], part: str, at: tuple[float, float]
) -> float:
    """The most by which bores beside press a place, along the stress that its own gas pulls with.

    Parameters
    ----------
    own : DesignResult
        Section with the place's own bore firing, in one piece.
    beside : sequence of DesignResult
        The same with the bores beside it firing.
    part : str
        That the place is of.
    at : (float, float)
        x, y from the axis of its bore. [mm]

    Returns
    -------
    float
        Over that pull, up to ``MOST``; 0 where its own gas doesn't pull.
    """
    pull, way = np.linalg.eigh(_tensor(_stress_at(own, part, at)))
    if not beside or pull[1] <= 0:
        return 0.0
    bore = own.section.block.firing_bore
    felt = [
        way[:, 1]
        @ _tensor(_stress_at(of, part, (at[0] + of.section.block.axes[bore - 1], at[1])))
        @ way[:, 1]
        for of in beside
    ]
    return float(min(max(0.0, -min(felt)) / pull[1], MOST))


def _stress_at(solved: DesignResult, part: str, at: tuple[float, float]) -> Array:
    """Stress of a part at its node nearest to a place. [MPa]."""
    nearest, stress = np.inf, np.zeros(3)
    for layer in solved.stresses:
        if layer.part == part:
            away = np.hypot(*(solved.mesh.points[layer.nodes] - at).T)
            node = int(np.argmin(away))
            if away[node] < nearest:
                nearest, stress = away[node], layer.stress[:, node]
    return stress


def _tensor(stress: Array) -> Array:
    xx, yy, xy = stress
    return np.array([[xx, xy], [xy, yy]])
