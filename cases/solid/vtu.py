"""A solved solid as a VTU file for open mesh viewers."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cases.base.vtu import write_fields
from cases.solid.result import SolidState
from cases.stress.vtu import PART_IDS
from fea.solid.stress import von_mises

SOLID_PART_IDS = {**PART_IDS, "floor": len(PART_IDS)}
LOWER, MIDDLE, UPPER = np.arange(6), np.arange(6, 12), np.arange(12, 18)
WEDGE = np.concatenate([
    LOWER[:3], UPPER[:3], LOWER[3:], UPPER[3:], MIDDLE[:3], MIDDLE[3:]
])  # fmt: skip
"""Nodes of a prism in the order of VTK_BIQUADRATIC_QUADRATIC_WEDGE (cell type 32): corners below
and above, edges below, above and upright, then the middles of the upright faces (Schroeder, Martin
& Lorensen, *The Visualization Toolkit*, 4th ed., file formats; vtkBiQuadraticQuadraticWedge)."""
STRESS_STEP, TENSOR_STEP, PLACE_STEP = 0.5, 1.0, 2.0**-11
"""What fields of a solid are rounded to, far below its errors: what is judged by, and displacement,
0.25 MPa and 0.25 um off at most, single components of stress 0.5 MPa."""


def write_solid_vtu(state: SolidState, path: str | Path) -> None:
    """Write displacement and stress of a solid on its curved prisms.

    Every part brings its own nodes, as stress jumps from part to part. Stress at each node is that
    of the crank angle that is worst there.

    Parameters
    ----------
    state : SolidState
    path : str or Path
        File to write, ending in ``.vtu``. Point data: ``displacement_mm`` (three components, at
        the crank angle of the governing spot), ``principal_mpa``, ``von_mises_mpa``,
        ``stress_mpa`` (sxx, syy, szz, sxy, syz, szx), ``crank_angle_deg`` where the gas has one.
        Cell data: ``part`` (``SOLID_PART_IDS``). Nodes are in the order in which the prisms name
        them first, which packs best.

    Raises
    ------
    OSError
        If the file can't be written.
    """
    mesh = state.mesh
    starts = np.cumsum([0, *(len(field.nodes) for field in state.fields)])
    prisms: list[NDArray[np.int64]] = []
    for start, field in zip(starts, state.fields, strict=False):
        own = mesh.prisms[mesh.part == mesh.parts.index(field.part)]
        prisms.append(start + np.searchsorted(field.nodes, own))
    counts = [len(own) for own in prisms]
    nodes = np.concatenate([field.nodes for field in state.fields])
    stress = np.concatenate([field.stress for field in state.fields], axis=1)
    cells, kept = _by_first_use(np.concatenate(prisms)[:, WEDGE])
    fields = {
        "displacement_mm": _rounded(state.displacement[nodes], PLACE_STEP),
        "principal_mpa": _rounded(
            np.concatenate([field.principal for field in state.fields]), STRESS_STEP
        ),
        "von_mises_mpa": _rounded(von_mises(stress), STRESS_STEP),
        "stress_mpa": _rounded(stress.T, TENSOR_STEP),
    }
    if state.angles_deg:
        angle = np.concatenate([field.angle for field in state.fields])
        fields["crank_angle_deg"] = np.asarray(state.angles_deg)[angle]
    ids = np.array([SOLID_PART_IDS[field.part] for field in state.fields], dtype=np.int32)
    write_fields(
        path,
        mesh.points[nodes[kept]],
        ("wedge18", cells),
        {name: values[kept] for name, values in fields.items()},
        {"part": np.repeat(ids, counts)},
    )


def _by_first_use(cells: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Cells by nodes that are numbered as they are named first, and the old number of each."""
    named, first, old = np.unique(cells, return_index=True, return_inverse=True)
    order = np.argsort(first)
    return np.argsort(order)[old.reshape(cells.shape)], named[order]


def _rounded(values: NDArray[np.float64], step: float) -> NDArray[np.float64]:
    return np.round(values / step) * step
