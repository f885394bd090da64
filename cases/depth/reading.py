"""From the table of a case file to its depth section."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.case import Case
from cases.depth.given import DepthInput, check_depth


def read_depth(table: Any, case: Case, faults: Faults) -> DepthInput | None:
    """What a case states of its depth section, checked.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    if table.depth is None:
        return None
    given = DepthInput(**table.depth.model_dump(), left_out=table.depth.left_out)
    inserts = [design.insert for design in case.designs]
    faults.attempt(("depth",), lambda: check_depth(given, case.block, case.section_depth, inserts))
    return given
