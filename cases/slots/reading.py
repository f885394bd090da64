"""From the table of a case file to the slots that it asks for."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.base.faults import closest
from cases.case import Case
from cases.gasket.given import gasket_given
from cases.slots.given import SlotWishes


def read_slots(whole: Any, case: Case, faults: Faults) -> SlotWishes | None:
    """What a case asks of slots, checked; None where it asks for none."""
    table = whole.slots
    if table is None:
        return None
    where = ("slots",)
    faults.within(where, table)
    if not gasket_given(case).gaskets and not whole.gasket:
        faults.add(
            where, "Nothing says which holes they must open. Give [[gasket]], or leave [slots] out."
        )
    if table.web < case.thinnest_wall:
        faults.add(
            (*where, "web"),
            f"It is thinner than any metal may be here, {case.thinnest_wall:g} mm (thinnest_wall "
            "under [section]). Give as much or more.",
        )
    inserts = [design.name for design in case.designs if design.insert is not None]
    name = table.design or (inserts[0] if len(inserts) == 1 else "")
    if name not in inserts:
        near = closest(name, inserts) if name else ""
        have = f" It has: {', '.join(inserts)}." if inserts else ""
        faults.add(
            (*where, "design"),
            f"Name a design with an insert.{f' Did you mean {near}?' if near else ''}{have}",
        )
        return None
    return SlotWishes(
        design=name, cutter=table.cutter, share=table.open_share, web=table.web,
        off_bead=table.off_bead,
    )  # fmt: skip
