"""From the table of a case file to what designs are rated by."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from cases.base.checking import Faults
from cases.base.units import HOUR
from cases.block.table import BlockTable
from cases.case import Case
from cases.gas.given import gas_given
from cases.inspection.given import inspection_given
from cases.rating.given import MOST_OF_WALL, Rating
from fea.strength import PORE_CLASSES, PORE_SCATTER


def read_rating(table: Any, case: Case, faults: Faults) -> Rating:
    """What a case wants its designs rated by, checked.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
        With its gas.
    faults : Faults
    """
    rating = table.rating
    thinnest = min(table.block.barrel_wall, table.block.outer_wall or math.inf)
    faults.between(
        ("rating", "wall_tolerance"), rating.wall_tolerance, 0.0, MOST_OF_WALL * thinnest, "mm",
        "It is to either side of the wall as drawn.",
    )  # fmt: skip
    faults.within(("rating",), rating, "hours_hot", "pull")
    given = rating.model_dump() | {"hours_hot": rating.hours_hot / HOUR}
    block = table.block
    stated = Rating(
        **given, left_out=rating.left_out, process_left_out=block.process is None,
        surface=block.surface, **_pore(block),
    )  # fmt: skip
    before = len(faults.found)
    faults.within(("block",), block, "pore", "surface")
    if block.pore is not None and block.casting_class:
        faults.add(
            ("block", "casting_class"),
            "It stands for a pore, and a pore is given too. Leave one of them out.",
        )
    elif stated.pore is not None and len(faults.found) == before:
        key = "casting_class" if block.casting_class else "pore"
        _check_pore(key, stated.pore, thinnest, case, faults)
    found = inspection_given(case)
    if found and found.fits and "wall_tolerance" in rating.left_out:
        fits = [found.fit_of(bore) for bore in range(1, case.block.bores + 1)]
        each = [of.tolerance(found.depth) if of else stated.wall_tolerance for of in fits]
        most = MOST_OF_WALL * thinnest
        stated = replace(stated, bore_tolerances=tuple(min(of, most) for of in each))
    measured = gas_given(case).scatter
    if measured is None or "pressure_scatter" not in rating.left_out:
        return stated
    return replace(stated, pressure_scatter=measured.share, scatter_measured=True)


def _pore(block: BlockTable) -> dict[str, Any]:
    """The largest pore, stated or that of a casting class."""
    if not block.casting_class:
        scatter = PORE_SCATTER if block.pore_scatter is None else block.pore_scatter
        return {"pore": block.pore, "pore_scatter": scatter}
    pore, scatter, off = PORE_CLASSES[block.casting_class]
    if block.pore_scatter is not None:
        scatter = block.pore_scatter
    return {
        "pore": pore, "pore_scatter": scatter, "pore_off": off,
        "casting_class": block.casting_class,
    }  # fmt: skip


def _check_pore(key: str, pore: float, thinnest: float, case: Case, faults: Faults) -> None:
    """Whether a pore fits into the wall, and its metal can be judged by one."""
    where, metal = ("block", key), case.materials.get("barrel")
    if pore >= thinnest:
        faults.add(
            where,
            f"A pore of {pore:g} mm is no smaller than the wall of {thinnest:g} mm that it is in. "
            "Check its unit: pores at a cut are 0.05 to 1 mm.",
        )
    elif metal is not None and not metal.cast:
        faults.add(
            where, f"{metal.name} is not cast, and has no pores of a casting. Leave the pore out."
        )
    elif metal is not None and (metal.fatigue is None or metal.fatigue.threshold is None):
        faults.add(
            where,
            f"What a pore does to {metal.name} can't be told: it has no fatigue strength or no "
            "threshold. State both, or leave the pore out, so that casting_quality counts.",
        )
