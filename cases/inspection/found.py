"""From readings to the block as it is: walls bore by bore, cuts where they stand, bores as made."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from cases.case import Case
from cases.inspection.given import FoundCut, Inspection
from cases.inspection.methods import ULTRASOUND
from cases.inspection.places import Place, half_width, place_of
from cases.inspection.readings import Reading, Readings
from cases.inspection.walls import Measured, WallFit, fit_walls
from geometry import Block, ReliefCut
from geometry.clock import format_clock, hours_between

ROWS = 36  # of a bore's walls, round the clock
OF_ALUMINIUM = 90_000.0
"""Modulus above which a liner is of iron or steel, whose outside reflects ultrasound. [MPa]."""
NEAR_ROOT = 0.5
"""Share of a cut's half angle within which a reading tells where it stands: beyond, the ray grazes
its side."""


def with_readings(inspection: Inspection, readings: Readings, case: Case) -> Inspection:
    """What was found, with what readings say of walls, cuts and liner.

    Parameters
    ----------
    inspection : Inspection
        With its bores.
    readings : Readings
    case : Case
        With the block as it is drawn.
    """
    block, notes = inspection.drawn, list[str]()
    free: dict[int, list[Measured]] = defaultdict(list)
    at_cuts: dict[tuple[int, int], list[tuple[Measured, Place]]] = defaultdict(list)
    of_liner = []
    iron = bool(block.liner) and case.materials["liner"].youngs_modulus > OF_ALUMINIUM
    in_liner = block.liner_radius - (inspection.bore_as_found or block.bore) / 2
    for of in readings.rows:
        measured = Measured(
            clock=of.clock, depth=of.depth, wall=of.wall, error=of.error, line=of.line
        )
        if of.liner == "in" and of.method == ULTRASOUND.name and iron:
            of_liner.append(measured)
            continue
        if of.liner == "in":
            measured = replace(measured, wall=of.wall - in_liner)
            if measured.wall <= 0:
                notes.append(
                    f"{_named(of)}: {of.wall:g} mm with the liner in leaves nothing for the barrel "
                    f"outside a liner of {in_liner:.3g} mm. It is not counted."
                )
                continue
        place = place_of(block, of.bore, of.clock, of.depth)
        if place.kind in ("tie", "web"):
            what = "a tie stands there" if place.kind == "tie" else "two barrels run together there"
            notes.append(f"{_named(of)}: {what}, so the wall has no far side. It is not counted.")
        elif place.cut is not None:
            at_cuts[of.bore, place.cut].append((measured, place))
        else:
            free[of.bore].append(measured)
    slope = block.draft_slope
    fits = [fit_walls(bore, free[bore], slope) for bore in range(1, block.bores + 1)]
    return replace(
        inspection, readings=readings, fits=tuple(fit for fit in fits if fit),
        few=tuple(bore for bore, fit in enumerate(fits, 1) if fit is None),
        cuts=tuple(_cuts(block, at_cuts, notes)), liner=tuple(of_liner), notes=tuple(notes),
    )  # fmt: skip


def _named(of: Reading) -> str:
    return f"line {of.line}, {of.place}"


def _cuts(
    block: Block,
    at_cuts: dict[tuple[int, int], list[tuple[Measured, Place]]],
    notes: list[str],
) -> Iterator[FoundCut]:
    """Where cuts stand by the readings near their roots, by weighted least squares."""
    for (bore, at), found in sorted(at_cuts.items()):
        cut = block.relief_cuts[at]
        near = NEAR_ROOT * half_width(cut)
        told = [of for of in found if abs(float(hours_between(of[0].clock, cut.clock))) <= near]
        if not told:
            lines = ", ".join(str(of.line) for of, _ in found)
            notes.append(
                f"line {lines}: on the side of the relief cut at {format_clock(cut.clock)} of bore "
                f"{bore}, and none at its root. Not counted."
            )
            continue
        off, by, error = np.array(
            [(of.wall - place.wall, place.by_cut, of.error) for of, place in told]
        ).T
        weight = (by / error) ** 2
        yield FoundCut(
            bore=bore, cut=at, clock=cut.clock, depth=cut.depth,
            drawn=cut.radius - cut.diameter / 2 - block.liner_radius,
            off=float((weight * off / by).sum() / weight.sum()),
            error=float(weight.sum() ** -0.5), readings=tuple(of for of, _ in told),
        )  # fmt: skip


def block_found(inspection: Inspection) -> Block:
    """The block as it is to be run: bores as made, each with its own walls and cuts.

    A bore without enough readings keeps the drawing's wall.

    Raises
    ------
    SectionError
        If it can't be built.
    """
    drawn, off = inspection.drawn, inspection.off_wall
    plain = drawn.barrel_wall
    if not drawn.liner:
        plain -= (inspection.bore - drawn.bore) / 2
    block = replace(
        drawn, bore=inspection.bore, liner=inspection.liner_left, barrel_wall=plain,
        relief_cuts=_placed(drawn, inspection.cuts),
    )  # fmt: skip
    if not inspection.fits:
        return block
    clock = np.arange(ROWS) * 12 / ROWS
    rows: list[tuple[tuple[float, float], ...]] = []
    leans: list[tuple[float, float] | None] = []
    for bore in range(1, drawn.bores + 1):
        if (fit := inspection.fit_of(bore)) is None:
            rows.append(())
            leans.append(None)
            continue
        leans.append(_lean(fit, inspection.depth))
        slope = leans[-1][0] if leans[-1] else fit.slope
        wall = fit.at(clock, inspection.depth)[0] - slope * inspection.depth - off
        rows.append(tuple(zip(clock.tolist(), np.round(wall, 6).tolist(), strict=True)))
    return replace(block, wall_table=(), bore_walls=tuple(rows), bore_leans=tuple(leans))


def _lean(fit: WallFit, depth: float) -> tuple[float, float] | None:
    """Taper of a wall where it was read, down to the deepest reading at least to a depth. [mm]."""
    if fit.taper is None:
        return None
    return round(fit.taper[0], 9), max(depth, *(of.depth for of in fit.readings))


def _placed(drawn: Block, found: Sequence[FoundCut]) -> tuple[ReliefCut, ...]:
    """Relief cuts, those that were found elsewhere on some bores standing there."""
    off = {(of.bore, of.cut): of.off for of in found}
    placed = []
    for at, cut in enumerate(drawn.relief_cuts):
        bores = cut.bores or tuple(range(1, drawn.bores + 1))
        moved = [bore for bore in bores if (bore, at) in off]
        if left := tuple(bore for bore in bores if bore not in moved):
            placed.append(replace(cut, bores=left) if moved else cut)
        placed += [replace(cut, bores=(bore,), radius=cut.radius + off[bore, at]) for bore in moved]
    return tuple(placed)
