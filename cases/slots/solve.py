"""Slots for an insert: looked for bore by bore, checked by exact areas, weighed by the section."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cases.base.parts import PARENT_PARTS
from cases.case import Case, Design
from cases.gasket.areas import between_slots, deck_of
from cases.gasket.given import gasket_given
from cases.gasket.result import WHOLE, DesignWater
from cases.gasket.solve import design_water
from cases.slots.given import SlotWishes, slots_given
from cases.slots.result import Missed, SlotsFound, Strength
from cases.slots.search import CLEAR, FINER, GRAIN, MORE, Cut, Room, Target, slots_about
from cases.stress.solve import solve_section
from cases.stress.spots import rated_worst
from geometry.clock import format_clock
from geometry.cut_pieces import cut_pieces
from geometry.outline import draw_section
from geometry.overlay import Loop, Patch, turned
from geometry.planar import Area
from geometry.refusals import SectionError
from geometry.section import WaterSlot

PER_SLOT = (0.0, 1e4)
"""What a slot counts beside its metal: least metal, and fewest slots. [mm2]."""
ALIKE = 0.01
"""Worst stress by which sets don't differ."""


def find_slots(case: Case, line_load: float) -> SlotsFound:
    """The smallest set of slots that opens every hole, at the least worst stress of the section.

    Parameters
    ----------
    case : Case
        With gaskets and wishes.
    line_load : float
        Of the gas. [N/mm]

    Raises
    ------
    Exception
        As mesher and solver raise it.
    """
    wishes = slots_given(case)
    assert wishes is not None
    design = next(of for of in case.designs if of.name == wishes.design)
    assert design.insert is not None
    plain = with_slots(design, ())
    sets: dict[tuple[WaterSlot, ...], None] = {}
    for outward in (False, True):
        for each in PER_SLOT:
            found = _set(case, plain, wishes, each, outward)
            sets.setdefault(found, None)
    sound = [found for found in sets if found and _can_be_drawn(case, with_slots(design, found))]
    strengths = [_strength(case, plain, "without slots", line_load)]
    if design.insert.slots:
        strengths.append(_strength(case, design, "its slots as stated", line_load))
    if not sound:
        return SlotsFound(
            design=design.name, slots=(), water=None, missed=_missed(case, wishes, None), area=0.0,
            count=0, strengths=tuple(strengths), tried=0, why_none=_why_none(case, plain, wishes),
        )  # fmt: skip
    waters = [design_water(case, with_slots(design, found)) for found in sound]
    misses = [_missed(case, wishes, water) for water in waters]
    fewest = min(map(len, misses))
    ways = [k for k, missed in enumerate(misses) if len(missed) == fewest]
    weighed = {
        k: _strength(case, with_slots(design, sound[k]), "slots proposed", line_load) for k in ways
    }
    alike = _least(ways, {k: of.block for k, of in weighed.items()})
    alike = _least(alike, {k: of.insert for k, of in weighed.items()})
    best = min(alike, key=lambda k: (_count(sound[k], case), waters[k].deck_area))
    return SlotsFound(
        design=design.name, slots=sound[best], water=waters[best], missed=misses[best],
        area=_area(case, with_slots(design, sound[best])), count=_count(sound[best], case),
        strengths=(*strengths, weighed[best]), tried=len(ways),
    )  # fmt: skip


def _least(ways: Sequence[int], stress: Mapping[int, float]) -> list[int]:
    """Those whose stress is next to the least."""
    least = min(stress[k] for k in ways)
    return [k for k in ways if stress[k] <= (1 + ALIKE) * least]


def with_slots(design: Design, slots: Sequence[WaterSlot]) -> Design:
    """The design with other slots."""
    assert design.insert is not None
    return replace(design, insert=replace(design.insert, slots=tuple(slots)))


def _set(
    case: Case, plain: Design, wishes: SlotWishes, each: float, outward: bool
) -> tuple[WaterSlot, ...]:
    """Slots about all bores, those that stand alike about several stated once."""
    whose: dict[tuple[float, float, float, float | None], list[int]] = defaultdict(list)
    for bore in range(1, case.block.bores + 1):
        targets = _targets(case, wishes, bore)
        if not targets:
            continue
        room, widths, radii = _room(case, plain, wishes, bore, targets)
        if outward:
            middle = (case.block.barrel_radius + case.block.jacket_radius) / 2
            radii = radii[radii >= middle]
        for cut in slots_about(targets, room, widths, radii, each):
            slot = cut.slot(bore)
            whose[slot.clock % 12, slot.width, slot.arc, slot.radius].append(bore)
    every = list(range(1, case.block.bores + 1))
    return tuple(
        WaterSlot(
            clock=clock, width=width, arc=arc, radius=radius,
            bores=None if bores == every else tuple(bores),
        )
        for (clock, width, arc, radius), bores in sorted(whose.items(), key=lambda of: of[0][0])
    )  # fmt: skip


def _targets(case: Case, wishes: SlotWishes, bore: int) -> list[Target]:
    """Holes of all gaskets that stand nearest to a bore, about its axis."""
    axis = case.block.axes[bore - 1]
    deck = deck_of(case, None)
    found = []
    for gasket in gasket_given(case).gaskets:
        head = None
        if gasket.head is not None:
            head = Area([of.loop(case.block.axes[0]) for of in gasket.head])
        for opening in gasket.openings:
            loop = opening.loop(case.block.axes[0])
            points = _points_in(loop, deck)
            if head is not None:
                points = points[head.holds(points)]
            if not len(points):
                continue
            middle = points.mean()
            if int(case.block.nearest_bore(middle.real, middle.imag)[0]) != bore:
                continue
            share = WHOLE if opening.vent else wishes.share
            about = points - axis
            found.append(
                Target(
                    name=f"{gasket.name}, {opening.name}", points=about,
                    share=min(share + MORE, 1.0) if share < 1 else 1.0,
                    middle=float(np.angle(about.mean())),
                )
            )  # fmt: skip
    return found


def _points_in(loop: Loop, deck: Sequence[Patch]) -> NDArray[np.complex128]:
    """A grid of points in a loop, over open water."""
    at = np.concatenate([curve.points(np.linspace(0, 1, 9)) for curve in loop])
    low, high = at.real.min(), at.real.max()
    x = np.arange(low + GRAIN / 2, high, GRAIN)
    y = np.arange(at.imag.min() + GRAIN / 2, at.imag.max(), GRAIN)
    z = (x[:, None] + 1j * y).ravel()
    z = z[Area([loop]).holds(z)]
    over = np.zeros(len(z), dtype=bool)
    for patch in deck:
        over |= patch.holds(z)
    return np.asarray(z[over])


def _room(
    case: Case, plain: Design, wishes: SlotWishes, bore: int, targets: Sequence[Target]
) -> tuple[Room, NDArray[np.float64], NDArray[np.float64]]:
    """Where slots may be about a bore, and the widths and radii to try."""
    axis = case.block.axes[bore - 1]
    pieces = cut_pieces(case.section(plain).at_deck)
    edges = [[turned(loop, 1, -axis) for loop in piece.loops] for piece in pieces]
    clear = max(of.bead_outside for of in gasket_given(case).gaskets) + wishes.off_bead
    room = Room(edges, wishes.web, [(other - axis, clear) for other in case.block.axes])
    far = np.concatenate([np.abs(of.points) for of in targets])
    spans = [float(np.ptp(np.abs(of.points))) for of in targets]
    widest = max(wishes.cutter, 2 * FINER * np.ceil((max(spans) + 2 * GRAIN) / (2 * FINER)))
    wide = np.arange(wishes.cutter, widest, 2 * FINER)
    between = np.floor(10 * (case.block.jacket - 2 * (wishes.web + CLEAR))) / 10
    widths = np.unique([*wide, widest, max(between, wishes.cutter)])
    radii = np.arange(np.floor(far.min()), far.max() + FINER, 2 * FINER)
    return room, widths, radii


def _can_be_drawn(case: Case, design: Design) -> bool:
    """Whether the section takes the slots, and those of different bores keep a web."""
    wishes = slots_given(case)
    assert wishes is not None
    try:
        draw_section(case.section(design))
        pieces = cut_pieces(case.section(design).at_deck)
    except SectionError:
        return False
    least = between_slots(pieces)
    return least is None or least >= wishes.web - 1e-6


def _missed(case: Case, wishes: SlotWishes, water: DesignWater | None) -> tuple[Missed, ...]:
    """Holes that are not open as far as is asked, by exact areas."""
    if water is None:
        return ()
    return tuple(
        Missed(gasket=one.gasket, hole=hole, asked=asked, reached=hole.share)
        for one in water.gaskets
        for hole in one.holes
        for asked in [WHOLE if hole.vent else wishes.share]
        if hole.share < asked
    )


def _strength(case: Case, design: Design, name: str, line_load: float) -> Strength:
    solved = solve_section(case, design, draw_section(case.section(design)), line_load)
    block, insert = (rated_worst(solved, of) for of in (PARENT_PARTS, ("insert",)))
    return Strength(
        name=name,
        block=block.principal_mpa if block else 0.0,
        insert=insert.principal_mpa if insert else 0.0,
        where=f"{block.part} {block.clock}" if block else "",
    )


def _count(slots: Sequence[WaterSlot], case: Case) -> int:
    return sum(len(of.bores) if of.bores else case.block.bores for of in slots)


def _area(case: Case, design: Design) -> float:
    """What slots take of an insert's metal in plan. [mm2]."""
    return _metal(case, with_slots(design, ())) - _metal(case, design)


def _metal(case: Case, design: Design) -> float:
    return sum(piece.area for piece in cut_pieces(case.section(design).at_deck))


def _why_none(case: Case, plain: Design, wishes: SlotWishes) -> str:
    """Why no slot can be cut: the widest that the webs leave room for."""
    widest, where = 0.0, ""
    for bore in range(1, case.block.bores + 1):
        for target in _targets(case, wishes, bore):
            room, _, radii = _room(case, plain, wishes, bore, [target])
            for radius in radii.tolist():
                width = room.widest(Cut(target.middle, target.middle, radius, 0.0))
                if width > widest:
                    clock = format_clock((90 - np.rad2deg(target.middle)) / 30 % 12)
                    widest, where = width, f"at {clock} of bore {bore}"
    if widest >= wishes.cutter:
        return "the slots that open the holes leave no web between each other"
    return (
        f"a cutter of {wishes.cutter:g} mm enters nowhere over a hole: at most {widest:.1f} mm are "
        f"left between webs of {wishes.web:g} mm{' ' + where if where else ''}"
    )
