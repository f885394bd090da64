"""A solved case whose every number is another, so that one told in place of another shows.

Places stay, so do meshes and fields; what is left holds together no longer, which whoever tells
it need not know.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping

import numpy as np

from cases.gas.given import GasInput
from cases.gas.solve import gas_load
from cases.rating.result import Band
from cases.stress.why import place_of
from fea.adaptive import Pass
from fea.bore import BoreShape
from fea.crack import Growth
from fea.equilibrium import SelfChecks
from fea.hotspots import HotSpot

FOUND = (BoreShape, SelfChecks, HotSpot, Pass)
KEPT = (
    "x_mm", "y_mm", "radius_mm", "clock_hours", "clock", "mouth", "direction", "place", "given",
    "path", "walls", "pressures", "depth_mm", "row_mm", "growth", "solver", "mesh", "pairs",
    "floor", "section_depth", "bore_radius", "liner_radius", "interference_um",
    "solution", "stresses", "outline", "section", "seconds", "heat",
)  # fmt: skip
BAND = Band(
    reliability=0.9,
    limit=0.67,
    carries=0.28,
    draws=2400,
    factor=(0.62, 0.87, 1.13),
    pressure_mpa=(7.13, 9.24, 11.95),
    power_kw=(132.0, 151.0, None),
    causes={"gas pressure": 0.61, "barrel wall": 0.22},
)
SWEEPS = [
    {"per_side": False, "ring_mm": None, "tolerance_um": 0.0},
    {"asked_um": 900.0},
    {"rated": False, "one_piece": None},
    {"unsolved": ("77.3 um could not be solved. No contact was found.",)},
]
"""What else may be found of other fits."""
POINTS = [
    {"limit": None, "tried": 6.0},
    {"held": {"warm": 0.013}},
    {"held": {}},
    {"limit": 0.013},
    {"over_yield": {"pressed in": 0.3, "warm": 1.3}},
]
"""What else may be found at each of them."""
LIVES = [
    {"life_cycles": {"warm": 5.37e6, "cold": 6.12e3}, "life_hours": 25.6},
    {"life_cycles": {"warm": 4.24e4, "cold": 2.35e9}, "life_hours": 0.212},
    {"life_cycles": {"warm": 4.2e11, "cold": math.inf}, "life_hours": 1e6},
    {"life_cycles": {"warm": math.inf, "cold": 340.0}, "life_hours": math.inf},
]
"""Lives that are told in other words."""
GROWN = Growth(
    length=np.array([0.5, 0.61, 0.7312]), cycles=np.array([0.0, 5.2e4, 81234.0]), end="longest"
)


def shaken(result, seed=1):
    """The result with every finding's number replaced by another of its size."""
    numbers = np.random.default_rng(seed)

    def other(value):
        if isinstance(value, float | np.floating):
            if not math.isfinite(value):
                return value
            return float(value * numbers.uniform(0.6, 1.4) + 1e-2 * numbers.uniform(1, 9))
        if isinstance(value, np.ndarray) and value.dtype.kind == "f":
            shift = 1e-2 * (np.abs(value).max(initial=0.0) or 1.0)
            return value * numbers.uniform(0.6, 1.4, value.shape) + shift
        if dataclasses.is_dataclass(value) and _found(value):
            changes = {
                field.name: other(getattr(value, field.name))
                for field in dataclasses.fields(value)
                if field.name not in KEPT
            }
            return dataclasses.replace(value, **changes)
        if isinstance(value, Mapping):
            return {key: other(item) for key, item in value.items()}
        if isinstance(value, tuple):
            return tuple(other(item) for item in value)
        return value

    crack = other(result.found["crack"])
    last = dataclasses.replace(crack.series[-1], crack_growth=GROWN)  # one that grows
    crack = dataclasses.replace(crack, series=(*crack.series[:-1], last))
    return dataclasses.replace(
        result,
        designs=tuple(_banded(other(design), numbers) for design in result.designs),
        found={**result.found, "depth": other(result.found["depth"]), "crack": crack},
    )


def with_gas(result, peak_mpa, factor, depth_mm):
    """The result under a stated peak pressure instead of an engine."""
    given = GasInput(peak_pressure=peak_mpa, factor=factor, pressurised_depth=depth_mm)
    case = result.case.told("gas", given)
    gas = gas_load(case)
    return dataclasses.replace(result, case=case, found={**result.found, "gas": gas})


def with_sweep(result, each, **changes):
    """The result with other fits found otherwise, and each of them."""
    designs = []
    for design in result.designs:
        sweep = design.found["fit"]
        if sweep is not None:
            if changes.get("rated") is False:
                each = {"limit": None, "limit_error": 0.0, "governs": None, "band": None,
                        "within": None}  # fmt: skip
            points = tuple(dataclasses.replace(point, **each) for point in sweep.points)
            sweep = dataclasses.replace(sweep, points=points, **changes)
        found = {**design.found, "fit": sweep}
        designs.append(dataclasses.replace(design, found=found))
    return dataclasses.replace(result, designs=tuple(designs))


def with_rating(result, **changes):
    """The result with the ratings changed."""
    designs = [
        dataclasses.replace(
            one,
            found={**one.found, "rating": dataclasses.replace(one.found["rating"], **changes)},
        )
        for one in result.designs
    ]
    return dataclasses.replace(result, designs=tuple(designs))


def worst_at_cut(design):
    """The design with its worst spot at the relief cut."""
    block, spots = design.section.block, design.hot_spots
    (there, *_) = (spot for spot in spots if place_of(block, spot).startswith("relief cut"))
    most = 1.3 * max(spot.principal_mpa for spot in spots)
    spots = tuple(
        dataclasses.replace(spot, principal_mpa=most) if spot is there else spot for spot in spots
    )
    return dataclasses.replace(design, hot_spots=spots)


def _found(value):
    module = type(value).__module__
    return isinstance(value, FOUND) or (module.startswith("cases.") and module.endswith(".result"))


def _banded(design, numbers):
    """A design with a band, as if it had been drawn."""
    times = numbers.uniform(0.8, 1.2)
    band = dataclasses.replace(BAND, factor=tuple(times * one for one in BAND.factor))
    rating = dataclasses.replace(design.found["rating"], band=band)
    return dataclasses.replace(design, found={**design.found, "rating": rating})
