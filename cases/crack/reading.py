"""From the table of a case file to its crack."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from cases.base.checking import Faults
from cases.case import Case
from cases.crack.given import CrackInput
from cases.crack.table import CrackTable
from cases.materials.reading import STIFFEST_ALUMINIUM
from fea.crack import IIW_ALUMINIUM, GrowthLaw


def read_crack(whole: Any, case: Case, faults: Faults) -> CrackInput | None:
    """What a case states of a crack, checked.

    Parameters
    ----------
    whole : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    table = whole.crack
    if table is None:
        return None
    engine = whole.engine
    speed = engine.speed if engine and table.speed is None else table.speed
    if speed is None:
        faults.add(
            ("crack",),
            "The speed is missing, so cycles can't be told in hours. Give speed, such as "
            'speed = "6000 rpm", or describe the [engine].',
        )
    if (table.paris_c is None) != (table.paris_m is None):
        faults.add(
            ("crack",),
            "paris_c and paris_m go together. Give both, or neither for an upper bound for "
            "aluminium.",
        )
    material = case.materials.get(table.part)
    if table.paris_c is None and material and material.youngs_modulus > STIFFEST_ALUMINIUM:
        faults.add(
            ("crack",),
            f"The constants that stand in for missing ones are those of aluminium, but the "
            f"{table.part} is of {material.name}. Give paris_c and paris_m of it.",
        )
    if table.part == "liner" and whole.block.liner == 0:
        faults.add(("crack", "part"), "There is no liner. Choose another part.")
    if table.longest is not None and table.longest <= table.flaw:
        faults.add(
            ("crack", "longest"),
            f"{table.longest:g} mm is not longer than the flaw, {table.flaw:g} mm.",
        )
    faults.within(("crack",), table)
    return CrackInput(
        part=table.part,
        clock=table.clock,
        flaw=table.flaw,
        longest=table.longest,
        gas_in_crack=table.gas_in_crack,
        law=_growth_law(table),
        speed=speed or 0.0,
        left_out=table.left_out,
    )


def _growth_law(table: CrackTable) -> GrowthLaw:
    """The law of growth that a case states, or the one that stands for it."""
    law = IIW_ALUMINIUM
    if table.paris_c is not None and table.paris_m is not None:
        law = GrowthLaw(rate=table.paris_c, exponent=table.paris_m, source="the case's own")
    if table.threshold is not None:
        law = replace(law, threshold=table.threshold, threshold_fall=0.0, least_threshold=0.0)
    return replace(law, walker_gamma=table.walker_gamma, toughness=table.toughness)
