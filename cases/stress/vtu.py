"""Solved designs as VTU files for open mesh viewers."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from cases.base.vtu import write_fields
from fea.stress import hoop, principal, radial, von_mises

if TYPE_CHECKING:
    from cases.stress.result import DesignResult

PART_IDS = {"barrel": 0, "liner": 1, "tie": 2, "outer wall": 3, "insert": 4}


def write_vtu(design: DesignResult, path: str | Path) -> None:
    """Write displacement, stress and thickness of a design on its curved triangles.

    Stress jumps where material or thickness does, so every part of every region brings its own
    nodes: along a border they lie twice, once for each side, and where an insert stands above the
    floor of a relief cut both are there, one over the other.

    Parameters
    ----------
    design : DesignResult
    path : str or Path
        File to write, ending in ``.vtu``. Point data: ``displacement_mm`` (three components),
        ``hoop_mpa``, ``radial_mpa``, ``principal_mpa``, ``von_mises_mpa``, ``sxx_mpa``,
        ``syy_mpa``, ``sxy_mpa``, ``thickness_mm``. Cell data: ``part`` (``PART_IDS``),
        ``region`` (index into the mesh's regions) and ``layer`` (0, or 1 over another). Rounded by
        :mod:`cases.base.vtu`.

    Raises
    ------
    OSError
        If the file can't be written.
    """
    layers = design.stresses
    starts = np.cumsum([0, *(len(layer.nodes) for layer in layers)])
    nodes = np.concatenate([layer.nodes for layer in layers])
    triangles = np.concatenate(
        [layer.triangles + start for layer, start in zip(layers, starts[:-1], strict=True)]
    )
    sig = np.concatenate([layer.stress for layer in layers], axis=1)
    x, y = design.mesh.points[nodes].T
    counts = [len(layer.triangles) for layer in layers]
    regions = [layer.region for layer in layers]
    flat = np.zeros((len(nodes), 1))
    fields = {
        "displacement_mm": np.hstack([design.solution.displacement[nodes], flat]),
        "hoop_mpa": hoop(sig, x, y),
        "radial_mpa": radial(sig, x, y),
        "principal_mpa": principal(sig)[0],
        "von_mises_mpa": von_mises(sig),
        "sxx_mpa": sig[0],
        "syy_mpa": sig[1],
        "sxy_mpa": sig[2],
        "thickness_mm": np.concatenate([layer.thickness for layer in layers]),
    }
    cells = {
        "part": [PART_IDS[layer.part] for layer in layers],
        "region": regions,
        "layer": [regions[:i].count(region) for i, region in enumerate(regions)],
    }
    write_fields(
        path,
        np.hstack([design.mesh.points[nodes], flat]),
        ("triangle6", triangles),
        fields,
        {name: np.repeat(of, counts) for name, of in cells.items()},
    )
