"""``[inspection]`` and ``[acceptance]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictInt

from cases.base.tables import Clock, Length, Range, Table, key
from geometry.section import RANGES

HARDNESSES = Range(20, 400, "HBW")
Hardness = Annotated[float, Field(strict=True), HARDNESSES]
WALLS = Range(0.5, 300, "mm")
BORES = Range(*RANGES["block"]["bore"])


class FoundCrackTable(Table):
    """``[[inspection.crack]]``."""

    bore: StrictInt = key(
        "the bore that it is at, counted from 1", 1, allowed="1 to the number of bores"
    )
    clock: Clock = key("the clock position of its mouth", "7:40")
    depth: Annotated[Length, Range(0, 500, "mm")] = key(
        "how deep below the deck it begins", "0 mm", 0.0
    )


class InspectionTable(Table):
    """``[inspection]``."""

    readings: str | None = key(
        "a file of measured walls, its path from the case file on; hoopclock sheet writes the "
        "blank to fill in",
        "walls.csv",
        None,
        left_out="none",
        allowed="CSV or a worksheet .xlsx: bore, clock, depth [mm], wall [mm], and where they are "
        "known method, error [mm], liner, who",
        instead_of="wall_table under [block]",
    )
    recorded: bool = key(
        "whether the readings are those that the record keeps of the job, both named in [record]",
        True,
        False,
        instead_of="readings",
    )
    liner: Literal["in", "out"] | None = key(
        "whether the liner stood in the bore when walls were read, where the file has no column "
        "that says so",
        "out",
        None,
        left_out="as the column liner of the file says",
    )
    bore_as_found: Annotated[Length, BORES] | None = key(
        "the diameter of the bores as they were found", "87.02 mm", None, left_out="as drawn"
    )
    bore_to_make: Annotated[Length, BORES] | None = key(
        "the diameter that the bores are to be made: liner, or wall, is thinner for it",
        "87.25 mm",
        None,
        left_out="as they were found",
    )
    hardness: Hardness | None = key(
        "the hardness of the casting, Brinell as ISO 6506 writes it, a plain number",
        88,
        None,
        left_out="not measured",
    )
    crack: list[FoundCrackTable] = Field([], description="cracks that were found")


class AcceptanceTable(Table):
    """``[acceptance]``."""

    least_wall: Annotated[Length, WALLS] | None = key(
        "the least barrel wall as cast, away from relief cuts, in bores as they are to be made",
        "5.2 mm",
        None,
        left_out="not asked for",
    )
    largest_shift: Annotated[Length, Range(0.01, 20, "mm")] | None = key(
        "the largest shift of a barrel's outside against its bore",
        "0.5 mm",
        None,
        left_out="not asked for",
    )
    least_hardness: Hardness | None = key(
        "the least hardness, Brinell, a plain number", 80, None, left_out="not asked for"
    )
    crack: Literal["reject", "repair"] = key(
        "what a crack that was found does: the casting is rejected, or accepted with its repair",
        "reject",
        "reject",
    )


class InspectionKeys(Table):
    """What was found on the block, and what is accepted."""

    inspection: InspectionTable | None = Field(
        None, description="what was found on the block as it stands in the shop"
    )
    acceptance: AcceptanceTable | None = Field(
        None, description="the customer's rules for the casting"
    )
