"""From the table of a case file to what was found on its block."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.case import Case
from cases.inspection.cells import ReadingsError
from cases.inspection.given import Inspection
from cases.inspection.readings import Expected, Readings, read_readings


def read_inspection(table: Any, case: Case, faults: Faults) -> Inspection | None:
    """What a case states of its block as it was found, checked; None where it says nothing.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    stated = table.inspection
    if stated is None:
        return None
    if stated.liner is not None and not case.block.liner:
        faults.add(("inspection", "liner"), "The block has no liner. Leave it out.")
    readings = None
    if stated.readings is not None:
        readings = _readings(table, case, faults)
    return Inspection(readings=readings)


def _readings(table: Any, case: Case, faults: Faults) -> Readings | None:
    stated, block = table.inspection, case.block
    where = ("inspection", "readings")
    if table.block.wall_table:
        faults.add(
            where,
            "The block has a wall_table too, and both say its walls. Leave wall_table under "
            "[block] out.",
        )
        return None
    expected = Expected(
        bores=block.bores, wall=block.barrel_wall, liner=block.liner,
        liner_is=stated.liner or "", deepest=block.jacket_floor or block.floor_depth,
    )  # fmt: skip
    try:
        return read_readings(case.source_path.parent / stated.readings, expected)
    except ReadingsError as error:
        for text in error.faults:
            faults.add(where, text)
        return None
