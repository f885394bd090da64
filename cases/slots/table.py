"""``[slots]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field

from cases.base.tables import Length, Range, Table, key, share_within
from cases.base.units import SHARE
from cases.slots.given import OFF_BEAD, OPEN_SHARE, WEB

SHARES = Range(5, 100, "%")
NO_SOURCE = "common practice, no source"


def _share(value: object) -> float:
    return share_within(value, SHARES, ": it is of what a hole opens over the bare deck")


class SlotsTable(Table):
    """``[slots]``."""

    design: Annotated[str, Field(min_length=1)] | None = key(
        "the design for whose insert slots are proposed, in place of its own",
        "local",
        None,
        left_out="the only one with an insert",
        allowed="a design with an insert",
    )
    cutter: Annotated[Length, Range(1, 50, "mm")] = key(
        "the diameter of the one cutter for all slots; none is narrower", "5 mm"
    )
    open_share: Annotated[float, BeforeValidator(_share), SHARE, SHARES] = key(
        "how much of what each hole of every gasket opens over the bare deck the slots must leave "
        "open; a vent all of it",
        "90 %",
        OPEN_SHARE,
    )
    web: Annotated[Length, Range(0.5, 30, "mm")] = key(
        "the least metal of the insert from a slot to its joint and to another slot",
        "2 mm",
        WEB,
        left_out=NO_SOURCE,
    )
    off_bead: Annotated[Length, Range(0, 30, "mm")] = key(
        "the least distance from a slot to the bead about a bore",
        "1 mm",
        OFF_BEAD,
        left_out=NO_SOURCE,
    )


class SlotsKeys(Table):
    """Slots that are looked for."""

    slots: SlotsTable | None = Field(
        None, description="slots to be proposed, that open every hole of all gaskets"
    )
