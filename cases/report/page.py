"""The report: one page that tells the story of a solved case, readable with no network."""

from __future__ import annotations

import base64
import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases import __version__
from cases.base.cautions import CAUTIONS
from cases.base.page import render
from cases.base.parts import PARENT_PARTS
from cases.gas.cycle import Capacity
from cases.life.chapter import _life
from cases.life.life import has_service
from cases.rating.chapter import rating_contents
from cases.report.keys import design_keys
from cases.stress.spots import UNSETTLED_TEXT, listed_spots, rated_worst, sharp_text, sharp_texts
from cases.stress.why import change, crack_direction, place_of, why
from geometry.section import THINNEST_WALL

if TYPE_CHECKING:
    from cases.stress.result import CaseResult


def write_report(result: CaseResult, folder: str | Path) -> Path:
    """Write ``report.html``, with its pictures inside.

    Parameters
    ----------
    result : CaseResult
    folder : str or Path
        Where :func:`cases.report.pictures.write_pictures` has left the pictures of the same result.

    Returns
    -------
    Path
        The page.

    Raises
    ------
    OSError
        If a picture is missing or the page can't be written.
    """
    folder = Path(folder)
    page = render(
        "report/page.html.j2",
        **_contents(result),
        picture=lambda name: _data_address(folder / name),
    )
    path = folder / "report.html"
    path.write_text(page, encoding="utf-8")
    return path


def _data_address(path: Path) -> str:
    kind = {".svg": "image/svg+xml", ".png": "image/png"}[path.suffix]
    return f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode('ascii')}"


def _contents(result: CaseResult) -> dict[str, Any]:
    """What the template shows."""
    from cases.check.published import PROBLEMS
    from fea.checks import CUT_FORCE_LIMIT, REACTION_LIMIT, RING_LIMIT

    case = result.case
    first = next((one for one in result.designs if one.section.insert is None), result.designs[0])
    story = why(first)
    inserts = any(design.section.insert for design in result.designs)
    others = [design for design in result.designs if design is not first]
    materials = _materials(result)
    return {
        "version": __version__,
        "made": datetime.datetime.now().astimezone().strftime("%Y-%m-%d %H:%M %Z"),
        "case": case,
        "block": case.block,
        "materials": materials,
        "result": result,
        "keys": design_keys(result),
        "first": first,
        "why": story,
        "changes": [change(design, first, story) for design in others],
        "first_drawn": result.designs[0],
        "worst_of": rated_worst,
        "block_parts": PARENT_PARTS,
        "other_parts": [
            part for part, there in (("liner", case.block.liner > 0), ("insert", inserts)) if there
        ],
        "orders": sorted(first.bore.orders_um, key=int)[:5],
        "has_ring": any(design.checks.lame_ratio is not None for design in result.designs),
        "shallow": _shallow(result),
        "place_of": lambda spot: place_of(case.block, spot),
        "crack_of": crack_direction,
        "listed": {design.name: listed_spots(design) for design in result.designs},
        "has_inserts": inserts,
        "sharp_text": sharp_text,
        "sharp_texts": sharp_texts(result),
        "unsettled_text": UNSETTLED_TEXT,
        "limits": {"reaction": REACTION_LIMIT, "cut": CUT_FORCE_LIMIT, "ring": RING_LIMIT},
        "lowered": case.thinnest_wall < THINNEST_WALL,
        "usual_thinnest": THINNEST_WALL,
        "published": PROBLEMS,
        "cautions": CAUTIONS,
        "usual_gamma": case.wall_load is not None
        and case.wall_load.cycle.engine.capacity == Capacity(),
        "has_service": has_service(case),
        "has_fit": case.fitted,
        **_life(result, first),
        **rating_contents(result, materials),
    }


def _shallow(result: CaseResult) -> list[str]:
    """Designs whose insert ends above the floor of a relief cut somewhere."""
    deepest = max((cut.depth for cut in result.case.block.relief_cuts), default=0.0)
    return [
        design.name
        for design in result.designs
        if design.section.insert is not None and design.section.insert.deepest < deepest
    ]


def _materials(result: CaseResult) -> list[tuple[str, Any]]:
    """(parts, material), each material of the case once."""
    rows: dict[Any, list[str]] = {}
    for design in result.case.designs:
        for part, material in result.case.part_materials(design).items():
            parts = rows.setdefault(material, [])
            if part not in parts and (part != "insert" or design.insert is not None):
                parts.append(part)
    return [(", ".join(parts), material) for material, parts in rows.items() if parts]
