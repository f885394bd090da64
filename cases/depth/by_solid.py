"""How deep an insert pays, by the solid: the same block with the insert shallower and deeper.

Each is a coarse solid, cold and in one piece, of which only the worst spot of the block's own metal
is kept; the insert as drawn and the bare block have their fine ones already. What is told hangs on
the deeper one; the shallower is asked for where no more depth pays. Coarser ones won't do: with
elements 1.4 times as long, at two thirds of the cost, the worst stress of one depth fell by a
seventh and moved elsewhere (bundled block, ``uniform`` 12 mm deep).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from typing import TYPE_CHECKING

from cases.base.faults import RunError
from cases.case import Case, Design
from cases.depth.result import SolidDepth, SolidDepths
from cases.depth.solve import depth_at, with_depth
from cases.gas.solve import GasLoad
from cases.solid.result import SolidSpot, solid_of
from cases.solid.solve import one_piece_solid

if TYPE_CHECKING:
    from cases.stress.result import DesignResult

DEEPER, SHALLOWER = 1.3, 0.6
"""Depths that are tried, over that of the insert as it is drawn; much deeper, and the blends of a
zone stand so steep that layers of the solid turn over (bundled block, ``local`` 1.6 times)."""
SHALLOWEST = 2.0
"""Insert that is tried, at least. [mm]."""
LEAST_STEP = 1.0
"""Depths nearer than this to that of the insert as it is drawn are not tried. [mm]."""

Solve = Callable[[Case, Design, GasLoad], SolidSpot | None]


def worst_spot(case: Case, design: Design, gas: GasLoad) -> SolidSpot | None:
    """The worst spot of the block's own metal by a coarse solid, cold and in one piece.

    Raises
    ------
    RunError
        If it can't be meshed or solved.
    """
    return one_piece_solid(case, design, gas, "coarse").governing


def depths_by_solid(
    case: Case,
    gas: GasLoad,
    designs: Sequence[DesignResult],
    clock: float,
    least_gain: float,
    executor: Executor | None = None,
    solve: Solve = worst_spot,
) -> dict[str, SolidDepths]:
    """What a deeper and a shallower insert do, of each design with an insert and a solid.

    Parameters
    ----------
    case : Case
    gas : GasLoad
    designs : sequence of DesignResult
    clock : float
        Where the insert's depth is counted. [h]
    least_gain : float
        What a millimetre must take off, as a share of the bare block's stress.
    executor : concurrent.futures.Executor, optional
    solve : callable
        Worst spot of a design.
    """
    bare = next((_drawn(one) for one in designs if one.section.insert is None), None)
    found: dict[str, SolidDepths] = {}
    for design in designs:
        insert, spot = design.section.insert, _drawn(design)
        if insert is None or spot is None:
            continue
        here = SolidDepth(depth_mm=depth_at(insert, clock, case.section_depth), spot=spot)
        found[design.name] = SolidDepths(
            tried=(here,),
            drawn=here,
            bare_mpa=bare.principal_mpa if bare else None,
            least_gain=least_gain,
        )
    for share in (DEEPER, SHALLOWER):
        jobs = {
            name: changed
            for name, told in found.items()
            if not told.pays and (changed := _changed(case, name, clock, share))
        }
        working = {
            name: executor.submit(solve, case, changed, gas) if executor else None
            for name, changed in jobs.items()
        }
        for name, changed in jobs.items():
            told, future = found[name], working[name]
            depth = depth_at(changed.insert, clock, case.section_depth)
            try:
                spot = future.result() if future else solve(case, changed, gas)
            except RunError as error:
                note = f"{depth:.1f} mm could not be solved. {error}"
                found[name] = replace(told, notes=(*told.notes, note))
                continue
            if spot is not None:
                tried = (*told.tried, SolidDepth(depth_mm=depth, spot=spot))
                rising = tuple(sorted(tried, key=lambda one: one.depth_mm))
                found[name] = replace(told, tried=rising)
    return found


def _drawn(design: DesignResult) -> SolidSpot | None:
    """The worst spot of a design as it is drawn, cold and in one piece; None without a solid."""
    solid = solid_of(design)
    return solid.one_piece.governing if solid and solid.one_piece else None


def _changed(case: Case, name: str, clock: float, share: float) -> Design | None:
    """A design, its insert so deep at the clock position, as far as H lets it; None if as drawn."""
    design = next(one for one in case.designs if one.name == name)
    assert design.insert is not None
    height = case.section_depth
    here = depth_at(design.insert, clock, height)
    depth = min(max(share * here, SHALLOWEST), height)
    if abs(depth - here) < LEAST_STEP:
        return None
    return replace(design, insert=with_depth(design.insert, clock, depth, height))
