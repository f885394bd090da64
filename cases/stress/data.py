"""The stress of a design for ``results.json``."""

from __future__ import annotations

from typing import Any

from cases.base.data import fields_of
from cases.stress.displaced import displaced
from cases.stress.result import DesignResult
from fea.hotspots import HotSpot


def design_dict(design: DesignResult) -> dict[str, Any]:
    """Hot spots, bore, water, materials, mesh and self-checks, the unit in each key."""
    checks = fields_of(design.checks)
    model, taken = design.solution.model, displaced(design)
    return {
        "hot_spots": [spot_dict(spot) for spot in design.hot_spots],
        "bore": fields_of(design.bore),
        "coolant": {
            "open_area_mm2": design.open_area_mm2,
            "insert_area_mm2": design.insert_area_mm2,
            "displaced_mm3": taken.water_mm3,
            "covered_barrel_mm2": taken.barrel_mm2,
        },
        "materials": {
            part: {
                "name": material.name,
                "youngs_modulus_mpa": material.youngs_modulus,
                "poisson": material.poisson,
                "source": material.source,
            }
            for part, material in model.materials.items()
        },
        "mesh": {
            "nodes": len(design.mesh.points),
            "elements": len(design.mesh.triangles),
            "unknowns": 2 * len(design.mesh.points),
        },
        "passes": [
            {
                "unknowns": one.unknowns,
                "worst_mpa": next(
                    (spot.principal_mpa for spot in one.hot_spots if not spot.sharp), None
                ),
                "settled_spots": sum(spot.settled for spot in one.hot_spots),
                "spots": len(one.hot_spots),
            }
            for one in design.passes
        ],
        "stopped": design.stopped,
        "solver": model.factor.name,
        "checks": {name: value for name, value in checks.items() if value is not None},
        "seconds": design.seconds,
    }


def spot_dict(spot: HotSpot) -> dict[str, Any]:
    """A hot spot without its numbers within the program."""
    return {
        name: value for name, value in fields_of(spot).items() if name not in ("region", "node")
    }
