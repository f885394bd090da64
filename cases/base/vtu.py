"""Meshes with their fields as VTU files for open mesh viewers, no larger than they need be."""

from __future__ import annotations

import lzma
from collections.abc import Mapping
from pathlib import Path
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy.typing import ArrayLike, NDArray

PLACE_STEP = 2.0**-10
"""What places are rounded to: half a micrometre off at the most. [mm]."""
CELLS = {"triangle6": 22, "wedge18": 32}
"""Number of each kind: VTK_QUADRATIC_TRIANGLE and VTK_BIQUADRATIC_QUADRATIC_WEDGE."""
BLOCK = 1 << 20
"""What is packed at once. [bytes]."""
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

    Arrays stand behind the XML as bytes, packed in large blocks (Schroeder, Martin & Lorensen, *The
    Visualization Toolkit*, 4th ed., XML file formats): half of what they take as text in small
    blocks, which is what libraries write.

    Parameters
    ----------
    path : str or Path
        File to write, ending in ``.vtu``; packed by LZMA.
    points : array, shape (n, 3)
        [mm]
    cells : (str, array)
        Kind of cell, of ``CELLS``, and nodes of each, shape (n_cells, n_nodes).
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
    kind, nodes = cells
    places = _rounded(points, PLACE_STEP)
    behind = b""

    def array(name: str, values: NDArray[np.generic]) -> str:
        nonlocal behind
        at, of = len(behind), {"f": "Float", "i": "Int", "u": "UInt"}[values.dtype.kind]
        behind += _packed(values)
        wide = f'NumberOfComponents="{values.shape[1]}" ' if values.ndim > 1 else ""
        return (
            f'<DataArray type="{of}{8 * values.dtype.itemsize}" Name={quoteattr(name)} '
            f'{wide}format="appended" offset="{at}"/>'
        )

    ends = nodes.shape[1] * np.arange(1, len(nodes) + 1, dtype=np.int32)
    kinds = np.full(len(nodes), CELLS[kind], dtype=np.uint8)
    lines = [
        '<?xml version="1.0"?>',
        '<VTKFile type="UnstructuredGrid" version="0.1" byte_order="LittleEndian" '
        'header_type="UInt32" compressor="vtkLZMADataCompressor">',
        "<UnstructuredGrid>",
        f'<Piece NumberOfPoints="{len(places)}" NumberOfCells="{len(nodes)}">',
        f"<Points>{array('Points', places)}</Points>",
        f"<Cells>{array('connectivity', nodes.ravel().astype(np.int32))}",
        f"{array('offsets', ends)}{array('types', kinds)}</Cells>",
        "<PointData>",
        *(array(name, _field(name, of)) for name, of in point_data.items()),
        "</PointData>",
        "<CellData>",
        *(array(name, np.asarray(of, dtype=np.int32)) for name, of in cell_data.items()),
        "</CellData>",
        "</Piece>",
        "</UnstructuredGrid>",
        '<AppendedData encoding="raw">',
    ]
    head = "\n".join(lines).encode() + b"\n_"
    Path(path).write_bytes(head + behind + b"\n</AppendedData>\n</VTKFile>\n")


def _packed(values: NDArray[np.generic]) -> bytes:
    """An array in blocks of their own, behind their number and sizes."""
    plain = np.ascontiguousarray(values, dtype=values.dtype.newbyteorder("<")).tobytes()
    blocks = [plain[at : at + BLOCK] for at in range(0, len(plain), BLOCK)]
    packed = [lzma.compress(block) for block in blocks]
    last = len(plain) % BLOCK
    sizes = np.array([len(blocks), BLOCK, last, *map(len, packed)], dtype="<u4")
    return sizes.tobytes() + b"".join(packed)


def _field(name: str, values: ArrayLike) -> NDArray[np.float32]:
    for unit, step in _STEPS.items():
        if name.endswith(unit):
            return _rounded(values, step)
    return np.asarray(values, dtype=np.float32)


def _rounded(values: ArrayLike, step: float) -> NDArray[np.float32]:
    return (np.round(np.asarray(values) / step) * step).astype(np.float32)
