"""Problems of strength when hot and of flaws whose answer is known, each posed once.

MPa, mm, degC and hours. They have no mesh, so their fineness changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cases.base.checking import Faults
from cases.materials.hot import hot_tables
from cases.materials.reading import Materials
from cases.rating.given import Rating
from cases.rating.steep import critical_distances
from cases.subjects import case_table
from fea.strength import (
    SURFACE_SHAPE,
    flaw_share,
    long_crack_range,
    murakami_limit,
    roughness_share,
    short_crack_length,
)


@dataclass(frozen=True)
class MetalAnswer:
    """Numbers by their name."""

    found: Mapping[str, float]

    @property
    def solver(self) -> str:
        """Library that counted."""
        return f"numpy {np.__version__}"


def between_the_rows(fineness: float = 1.0) -> MetalAnswer:
    """Share of the proof stress at 20 degC that is left, in %, at conditions not in the tables."""
    conditions = (
        ("6061-T6", 115.0, 0.5), ("6061-T6", 115.0, 1e4), ("6061-T6", 160.0, 1e3),
        ("7075-T6", 115.0, 100.0), ("7075-T6", 115.0, 1e4),
    )  # fmt: skip
    return MetalAnswer(
        {f"{name}, {at:g} degC, {hours:g} h": _left(name, "proof", at, hours)
         for name, at, hours in conditions}
    )  # fmt: skip


def of_its_own_sheet(fineness: float = 1.0) -> MetalAnswer:
    """Share of the tensile strength of cast AlSi7Mg-T6 that is left, in %."""
    return MetalAnswer({"counted": _left("AlSi7Mg-T6", "tensile", 200.0, 0.5)})


def _left(table: str, kind: str, at: float, hours: float) -> float:
    return 100 * float(np.interp(at, *np.transpose(hot_tables()[table].at_hours(kind, hours))))


def area_parameter_limits(fineness: float = 1.0) -> MetalAnswer:
    """Limits of metal of HV 380 with a flaw whose area has a root of 50 um."""
    return MetalAnswer(
        {where: float(murakami_limit(380, 0.05, where=where)) for where in ("surface", "inside")}
    )


def short_cracks(fineness: float = 1.0) -> MetalAnswer:
    """A threshold of 4 MPa sqrt(m) and 200 MPa of plain metal."""
    short = float(short_crack_length(4.0, 200.0))
    of = {f"flaw of {size:g} mm": 200 * float(flaw_share(size, short)) for size in (0.1, 0.4, 1.0)}
    return MetalAnswer(
        {"a0": short, **of, "long crack of 30 mm": float(long_crack_range(4.0, 30.0)),
         "curve at 30 mm": 200 * float(flaw_share(30.0, short))}
    )  # fmt: skip


def smallest_flaw(fineness: float = 1.0) -> MetalAnswer:
    """Size at which a flaw begins to count in the A356-T6 of the library, root of its area [mm].

    Where the lines of plain metal and of the long crack meet, for the cycles of a rating.
    """
    metal = Materials({}, Faults("a check", {}, case_table())).named(
        "A356-T6", ("block", "material"), "the block"
    )
    assert metal is not None
    lengths = critical_distances(Rating(), metal)
    assert lengths is not None
    return MetalAnswer({"usual": lengths[1] / SURFACE_SHAPE**2})


def rough_surfaces(fineness: float = 1.0) -> MetalAnswer:
    """Cast aluminium of 262 MPa, by Rz in um."""
    return MetalAnswer(
        {f"Rz {height:g} um": float(roughness_share(height, 262.0, cast=True))
         for height in (6.3, 25.0, 100.0, 200.0)}
    )  # fmt: skip
