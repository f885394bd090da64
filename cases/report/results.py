"""What a run leaves behind: ``results.json``, and everything else through its own writer."""

from __future__ import annotations

import json
from concurrent.futures import Executor
from pathlib import Path
from typing import Any

from cases import __version__
from cases.base.cautions import CAUTIONS, RATING_CAUTIONS
from cases.base.data import _plain
from cases.crack.data import crack_dict
from cases.depth.data import depth_dict
from cases.gas.data import _asked, _pressure
from cases.rating.data import _rated
from cases.report.keys import design_keys
from cases.report.page import write_report
from cases.report.pictures import write_pictures
from cases.stress.data import _design
from cases.stress.result import CaseResult
from cases.stress.vtu import write_vtu
from geometry.section import THINNEST_WALL


def results_dict(result: CaseResult) -> dict[str, Any]:
    """The content of ``results.json``: plain numbers, text and lists, the unit in each key.

    Numbers are rounded to seven digits.
    """
    case = result.case
    crack = crack_dict(result.crack) if result.crack else None
    cracks = crack.pop("designs") if crack else {}
    results = {
        "hoopclock": __version__,
        "job": case.name,
        "note": case.note,
        "section_depth_mm": case.section_depth,
        "peak_pressure_mpa": case.peak_pressure,
        "pressurised_depth_mm": case.pressurised_depth,
        "line_load_n_per_mm": case.line_load,
        "pressure": _pressure(case),
        "thinnest_wall_mm": case.thinnest_wall,
        "thinnest_wall_lowered": case.thinnest_wall < THINNEST_WALL,
        "mesh": case.mesh,
        "tolerance": case.tolerance,
        "designs": [
            {
                **_design(design),
                "pressure": _asked(case),
                **_rated(design),
                **({"depth": depth_dict(result.depth, design.name)} if result.depth else {}),
                **({"crack": {**crack, **cracks[design.name]}} if crack else {}),
            }
            for design in result.designs
        ],
        "cautions": [
            *CAUTIONS,
            *(RATING_CAUTIONS if any(design.rating for design in result.designs) else ()),
        ],
    }
    return _plain(results)  # type: ignore[no-any-return]


def write_outputs(result: CaseResult, folder: str | Path, executor: Executor | None = None) -> None:
    """Write pictures, ``report.html``, a ``.vtu`` per design and ``results.json``.

    Parameters
    ----------
    result : CaseResult
    folder : str or Path
        Must exist and be empty.
    executor : concurrent.futures.Executor, optional
        Helps to draw.

    Raises
    ------
    OSError
        If a file can't be written.
    """
    folder = Path(folder)
    write_pictures(result, folder, executor)
    write_report(result, folder)
    keys = design_keys(result)
    for design in result.designs:
        write_vtu(design, folder / f"{keys[design.name]}.vtu")
    files = sorted(path.name for path in folder.iterdir())
    text = json.dumps({**results_dict(result), "files": files}, indent=1, allow_nan=False)
    (folder / "results.json").write_text(text + "\n", encoding="utf-8")
