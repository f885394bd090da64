"""From the tables of a case file to what was found on its block."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from cases.base.checking import Faults
from cases.base.faults import CaseError, Refusal, RunError
from cases.case import Case
from cases.inspection.cells import ReadingsError
from cases.inspection.found import with_readings
from cases.inspection.given import FoundCrack, Inspection, Rules
from cases.inspection.readings import Expected, Readings, read_readings, readings_kept

MOST_OVERBORE = 0.1
"""Of a bore that is made larger, over the bore as drawn; more is a slip of a unit."""
MOST_WORN = 0.02
"""The same of one as it was found, either way."""


def read_inspection(table: Any, case: Case, faults: Faults) -> Inspection | None:
    """What a case states of its block as it was found, checked; None where it says nothing.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    stated, block = table.inspection, case.block
    if stated is None:
        if table.acceptance is not None:
            faults.add(
                ("acceptance",),
                "Nothing was inspected that it could judge. Give [inspection] with its readings.",
            )
        return None
    if stated.liner is not None and not block.liner:
        faults.add(("inspection", "liner"), "The block has no liner. Leave it out.")
    faults.within(("inspection",), stated)
    found = Inspection(
        drawn=block, depth=case.section_depth / 2, bore_as_found=stated.bore_as_found,
        bore_to_make=stated.bore_to_make, hardness=stated.hardness,
        cracks=tuple(_cracks(table, case, faults)), rules=_rules(table.acceptance, faults),
    )  # fmt: skip
    _check_bores(found, faults)
    readings = _readings(table, case, faults)
    return with_readings(found, readings, case) if readings else found


def _readings(table: Any, case: Case, faults: Faults) -> Readings | None:
    stated, block = table.inspection, case.block
    where = ("inspection", "readings")
    if stated.readings is None and not stated.recorded:
        return None
    if stated.readings is not None and stated.recorded:
        faults.add(where, "Readings are in a file or in the record, not in both. Leave one out.")
        return None
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
        if stated.readings is not None:
            return read_readings(case.source_path.parent / stated.readings, expected)
        where = ("inspection", "recorded")
        return readings_kept(_recorded(table.record, case.source_path.parent), expected)
    except ReadingsError as error:
        for text in error.faults:
            faults.add(where, text)
        return None


def _recorded(record: Any, folder: Path) -> list[tuple[int, dict[str, Any]]]:
    """Number and values of each reading of the job that a case names.

    Raises
    ------
    ReadingsError
        If it names none, or the record can't be read.
    """
    from cases.store.file import opened
    from cases.store.kinds import inside_of

    if record is None or record.store is None or record.job is None:
        raise ReadingsError("Nothing says of which job. Give store and job under [record].")
    try:
        with opened(folder / record.store) as store:
            lines = store.job(record.job).standing("reading")
    except (CaseError, RunError) as error:
        raise ReadingsError(*Refusal.of(error).text.splitlines()) from None
    return [(line.number, {**inside_of(line.said), "who": line.who}) for line in lines]


def _check_bores(found: Inspection, faults: Faults) -> None:
    drawn, as_found, to_make = found.drawn, found.bore_as_found, found.bore_to_make
    if as_found is not None and abs(as_found / drawn.bore - 1) > MOST_WORN:
        faults.add(
            ("inspection", "bore_as_found"),
            f"It is {100 * (as_found / drawn.bore - 1):+.2g} % off the bore of {drawn.bore:g} mm "
            f"under [block]; {100 * MOST_WORN:g} % either way is allowed. Check the units of both.",
        )
    if to_make is None:
        return
    where, stands = ("inspection", "bore_to_make"), as_found or drawn.bore
    if to_make < stands:
        faults.add(
            where,
            f"It is smaller than the bore as it stands, {stands:g} mm, and boring takes metal off. "
            "Give a larger one; a new liner goes under [block].",
        )
    elif to_make > (1 + MOST_OVERBORE) * drawn.bore:
        faults.add(
            where,
            f"It is {100 * (to_make / drawn.bore - 1):.3g} % larger than drawn; "
            f"{100 * MOST_OVERBORE:g} % is allowed. Check its unit.",
        )
    elif drawn.liner and found.liner_left <= 0:
        faults.add(
            where,
            f"It bores through the liner, whose outside is {2 * drawn.liner_radius:g} mm. Give "
            "less, or state the block without that liner under [block].",
        )
    elif not drawn.liner and (to_make - drawn.bore) / 2 >= drawn.barrel_wall:
        faults.add(where, f"It bores through the barrel wall of {drawn.barrel_wall:g} mm.")


def _cracks(table: Any, case: Case, faults: Faults) -> list[FoundCrack]:
    cracks = []
    for at, crack in enumerate(table.inspection.crack):
        where = ("inspection", "crack", at)
        faults.between((*where, "bore"), crack.bore, 1, case.block.bores, "(bore number)")
        faults.within(where, crack)
        cracks.append(FoundCrack(bore=crack.bore, clock=crack.clock, depth=crack.depth))
    return cracks


def _rules(stated: Any, faults: Faults) -> Rules | None:
    if stated is None:
        return None
    faults.within(("acceptance",), stated)
    return Rules(
        least_wall=stated.least_wall, largest_shift=stated.largest_shift,
        least_hardness=stated.least_hardness, repairs_cracks=stated.crack == "repair",
    )  # fmt: skip
