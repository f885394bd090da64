"""What walls are worth at the asked load where nothing was rated: by two coarse solids.

Sections rank the bores; the bare block is judged about the worst of them as a rating does it,
without draws and with a coarse solid, as drawn and with all walls thinner.
"""

from __future__ import annotations

from dataclasses import replace

from cases.base.faults import CaseError, RunError
from cases.bores.choose import Judging
from cases.bores.given import firing
from cases.bores.rank import ranked
from cases.case import Case
from cases.gas.solve import gas_load
from cases.inspection.given import inspection_given
from cases.inspection.worth import THINNER, WallWorth
from cases.rating.band import thinner
from cases.rating.result import rating_of
from cases.stress.solve import QUICK
from geometry.refusals import SectionError


def walls_worth(case: Case, judge: Judging) -> WallWorth:
    """What the walls of a block are worth, as drawn; without limits where it can't be told.

    Parameters
    ----------
    case : Case
        Of its designs the first that is bare counts, or where none is the first.
    judge : callable
        Rates a case by a coarse solid, without draws.
    """
    design = next((one for one in case.designs if one.insert is None), case.designs[0])
    found = inspection_given(case)
    drawn = case if found is None else replace(case, block=found.drawn)
    quick = replace(
        drawn.told("rating", replace(drawn.given["rating"], draws=0)),
        designs=(design,), mesh="coarse", tolerance=max(QUICK, case.tolerance),
    )  # fmt: skip
    bore = case.block.firing_bore
    try:
        if case.block.bores > 1:
            spots = ranked(quick, design, gas_load(quick).line_load)
            bore = max(spots, key=lambda of: of.share).bore
        fired = firing(quick, bore)
        limits = [
            None if (stands := rating_of(judge(of).designs[0]).stands) is None else stands.factor
            for of in (fired, thinner(fired, THINNER))
        ]
    except (CaseError, RunError, SectionError) as error:
        return WallWorth(design=design.name, bore=bore, untold=str(error))
    return WallWorth(design=design.name, bore=bore, limit=limits[0], thin=limits[1])
