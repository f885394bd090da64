"""Meshes with their fields as VTU files for open mesh viewers, no larger than they need be."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

PLACE_STEP = 2.0**-10
"""What places are rounded to: half a micrometre off at the most. [mm]."""
_STEPS = {"_mm": 2.0**-14, "_mpa": 2.0**-4}
"""What fields are rounded to, by their unit: 0.03 um and 0.03 MPa off at the most."""


def write_fields(
    path: str | Path,
    points: ArrayLike,
    cells: tuple[str, NDArray[np.integer]],
    point_data: Mapping[str, ArrayLike],
    cell_data: Mapping[str, ArrayLike],
) -> None:
    """Write a mesh of one kind of cell and its fields, as numbers that end early, which pack well.

    Parameters
    ----------
    path : str or Path
        File to write, ending in ``.vtu``; packed by LZMA.
    points : array, shape (n, 3)
        [mm]
    cells : (str, array)
        Kind of cell as meshio names it, and nodes of each, shape (n_cells, n_nodes).
    point_data : mapping
        Field by name, shape (n,) or (n, k), the unit at the end of its name. Those in mm and MPa
        are rounded, to 0.03 um and 0.03 MPa at the most; all have single precision.
    cell_data : mapping
        Whole numbers by name, shape (n_cells,).

    Raises
    ------
    OSError
        If the file can't be written.
    """
    import meshio

    kind, nodes = cells
    meshio.Mesh(
        _rounded(points, PLACE_STEP),
        [(kind, nodes.astype(np.int32))],
        point_data={name: _field(name, of) for name, of in point_data.items()},
        cell_data={name: [np.asarray(of, dtype=np.int32)] for name, of in cell_data.items()},
    ).write(path, compression="lzma")


def _field(name: str, values: ArrayLike) -> NDArray[np.float32]:
    for unit, step in _STEPS.items():
        if name.endswith(unit):
            return _rounded(values, step)
    return np.asarray(values, dtype=np.float32)


def _rounded(values: ArrayLike, step: float) -> NDArray[np.float32]:
    return (np.round(np.asarray(values) / step) * step).astype(np.float32)
