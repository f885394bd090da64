"""``[inspection]`` of a case file."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from cases.base.tables import Table, key


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
    liner: Literal["in", "out"] | None = key(
        "whether the liner stood in the bore when walls were read, where the file has no column "
        "that says so",
        "out",
        None,
        left_out="as the column liner of the file says",
    )


class InspectionKeys(Table):
    """What was found on the block."""

    inspection: InspectionTable | None = Field(
        None, description="what was found on the block as it stands in the shop"
    )
