"""What a run leaves behind: ``results.json``, and everything else through its own writer."""

from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path
from typing import Any

from cases import __version__
from cases.cautions import CAUTIONS
from cases.plots import design_keys, write_pictures
from cases.report import write_report
from cases.run import CaseResult, DesignResult
from cases.vtu import write_vtu
from geometry.section import THINNEST_WALL


def results_dict(result: CaseResult) -> dict[str, Any]:
    """The content of ``results.json``: plain numbers, text and lists, the unit in each key.

    Numbers are rounded to seven digits.
    """
    case = result.case
    results = {
        "hoopclock": __version__,
        "job": case.name,
        "note": case.note,
        "section_depth_mm": case.section_depth,
        "peak_pressure_mpa": case.peak_pressure,
        "pressurised_depth_mm": case.pressurised_depth,
        "line_load_n_per_mm": case.line_load,
        "thinnest_wall_mm": case.thinnest_wall,
        "thinnest_wall_lowered": case.thinnest_wall < THINNEST_WALL,
        "mesh": case.mesh,
        "tolerance": case.tolerance,
        "designs": [_design(design) for design in result.designs],
        "cautions": list(CAUTIONS),
    }
    return _plain(results)  # type: ignore[no-any-return]


def _design(design: DesignResult) -> dict[str, Any]:
    spots = [
        {item.name: getattr(spot, item.name) for item in fields(spot)} for spot in design.hot_spots
    ]
    checks = {item.name: getattr(design.checks, item.name) for item in fields(design.checks)}
    model = design.solution.model
    return {
        "design": design.name,
        "hot_spots": spots,
        "bore": {
            "clock_hours": design.bore.clock_hours,
            "growth_um": design.bore.growth_um,
            "mean_growth_um": design.bore.mean_growth_um,
            "out_of_round_um": design.bore.out_of_round_um,
            "orders_um": {str(order): value for order, value in design.bore.orders_um.items()},
        },
        "coolant": {
            "open_area_mm2": design.open_area_mm2,
            "insert_area_mm2": design.insert_area_mm2,
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
        "solver": model.factor.name,
        "checks": {name: value for name, value in checks.items() if value is not None},
        "seconds": design.seconds,
    }


def _plain(value: Any) -> Any:
    """Numbers of any kind as plain Python ones, arrays and tuples as lists."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return float(f"{value:.7g}") if isinstance(value, float) else value


def write_outputs(result: CaseResult, folder: str | Path) -> None:
    """Write pictures, ``report.html``, a ``.vtu`` per design and ``results.json``.

    Parameters
    ----------
    result : CaseResult
    folder : str or Path
        Must exist and be empty.

    Raises
    ------
    OSError
        If a file can't be written.
    """
    folder = Path(folder)
    write_pictures(result, folder)
    write_report(result, folder)
    keys = design_keys(result)
    for design in result.designs:
        write_vtu(design, folder / f"{keys[design.name]}.vtu")
    files = sorted(path.name for path in folder.iterdir())
    text = json.dumps({**results_dict(result), "files": files}, indent=1, allow_nan=False)
    (folder / "results.json").write_text(text + "\n", encoding="utf-8")
