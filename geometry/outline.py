"""From a section to flat regions of known thickness, with named edges; no mesh yet.

The section is drawn with lines and arcs only, so areas are exact. What can't be built is refused
here, with the feature, its clock position, the numbers and the nearest allowed value.

Where a fillet runs out tangent to a wall, the last tenth or so of its height counts as that wall: a
cusp has no angle to mesh. A ring goes around that tip as around the wall: it stands out of the face
by some hundredths of a millimetre, at a slope of a few degrees.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from geometry import limits, planar
from geometry.clock import clock_to_angle
from geometry.faces import Outline, outline_from_curves
from geometry.plan import Placed, Plan, around_bank, in_strip, placed, registered, slot_loop
from geometry.planar import Curve
from geometry.refusals import SectionError
from geometry.rounding import CORNER_EXTRA, INSIDE_RADIUS, Rounding, between, facing
from geometry.section import DeckSection, Insert, Tie
from geometry.section_mesh import blend_length

TIP = 0.15
"""Where a fillet is no higher than a quarter of this over a wall, it counts as the wall. [mm]."""

TIP_PART = 10
"""The fillet's radius over the same, where the radius is small."""

Tip = tuple[complex, float, str]
"""Where a fillet runs out, how far around it a face is left out [mm], and the face's tag."""

Made = TypeVar("Made")

Loop = list[Curve]
Rounded = list[tuple[Loop, list[planar.Fillet]]]
"""Loops with their fillets, and these."""

KEPT = 16
"""Drawings that are kept."""

__all__ = ["Outline", "draw_section", "outline_from_curves"]


def draw_section(section: DeckSection) -> Outline:
    """Regions of a section with the depth of metal in each, and their named edges.

    The last few are kept: a case is drawn as it is read, and drawn again to be solved.

    Parameters
    ----------
    section : DeckSection

    Returns
    -------
    Outline
        At every point the layers hold the depth of solid metal between the deck and H:
        parent metal less any relief cut, and the insert as deep as there is room for it.

    Raises
    ------
    SectionError
        Where the section can't be built.
    """
    return _drawn_once(section)


@lru_cache(maxsize=KEPT)
def _drawn_once(section: DeckSection) -> Outline:
    return _as_drafted(section, _draw)


def _draw(section: DeckSection) -> Outline:
    block = section.block
    if block.bores > 1 and block.jacket == 0:
        raise SectionError(
            f"block.bores = {block.bores} needs a water jacket around the bank. Give "
            "block.jacket and block.outer_wall.", "block.jacket",
        )  # fmt: skip
    plan = _planned(section)
    outline = _drawn(plan)
    limits.check_ring(plan, outline, _drawn)
    limits.check_thickness(plan, outline)
    return outline


def _drawn(plan: Plan) -> Outline:
    """Faces of a plan, whatever it leaves of any metal."""
    outline = drawn(plan, plan.layers, water_at=plan.water)
    insert = plan.section.insert
    if insert is None:
        return outline
    return replace(outline, rounding=Rounding("insert", tuple(plan.corners), insert.edge_break))


def drawn(
    plan: Plan,
    layers_at: Callable[[NDArray[np.complex128]], Sequence[tuple[Any, ...]]],
    *,
    more: Sequence[Curve] = (),
    tip: float = TIP,
    water_at: Callable[[NDArray[np.complex128]], NDArray[np.bool_]] | None = None,
) -> Outline:
    """Faces between all lines of a plan and some more, by what stands at points.

    Parameters
    ----------
    plan : Plan
    layers_at, water_at : callable
        As of :func:`outline_from_curves`.
    more : sequence of Curve
    tip : float
        As :data:`TIP`. [mm]
    """
    curves, tips = _all_curves(plan, tip)

    def removed(pieces: Sequence[Curve]) -> NDArray[np.bool_]:
        out = np.zeros(len(pieces), dtype=bool)
        for tag in {tag for _, _, tag in tips}:
            own = np.array([piece.tag.startswith(tag) for piece in pieces])
            z, length = np.array([tip[:2] for tip in tips if tip[2] == tag]).T
            middle = planar.Curves.of(pieces).points(0.5)[own]
            out[own] = (np.abs(middle[:, None] - z) < length.real).any(axis=1)
        return out

    return outline_from_curves([*curves, *more], layers_at, water_at, removed)


def _as_drafted(section: DeckSection, make: Callable[[DeckSection], Made]) -> Made:
    """What is made of a section; where its draft is what forbids it, the refusal says so."""
    if section.block.draft == 0:
        return make(section)
    limits.check_draft(section)
    try:
        return make(section)
    except SectionError as reason:
        make(section.at_deck)
        limits.refuse_drafted(section, reason)


def planned(section: DeckSection) -> Plan:
    """The section with its features placed and its fillets drawn, each found to be possible."""
    return _as_drafted(section, _planned)


def _planned(section: DeckSection) -> Plan:
    block, insert = section.mean_block, section.insert
    ties = placed(block.ties, block, "tie")
    reliefs = placed(block.relief_cuts, block, "relief cut")
    slots = placed(insert.slots if insert else (), block, "slot")
    plan = Plan(section, ties, reliefs, slots, [], [])
    limits.check_wall(section)
    limits.check_register(section)
    for tie in ties:
        limits.check_tie(plan, tie)
        limits.check_milled(plan, tie)
    for relief in reliefs:
        limits.check_relief(plan, relief)
    if block.jacket > 0:
        loops = _water_loops(plan)
        rounded = [_rounded_loop(plan, loop) for loop in loops]
        plan = replace(
            plan,
            jacket_loops=[loop for loop, _ in rounded],
            fillets=[fillet for _, fillets in rounded for fillet in fillets],
        )
        if insert is not None:
            plan = _with_pocket(plan, insert, loops, rounded)
    limits.check_slots(plan)
    return plan


def _all_curves(plan: Plan, tip: float) -> tuple[list[Curve], list[Tip]]:
    """Every line across which the layers may change, and the tips of :func:`_step_curves`."""
    block = plan.block
    curves: list[Curve] = []
    for bore, axis in enumerate(block.axes):
        name = "bore" if bore + 1 == block.firing_bore else "other bores"
        curves += planar.circle(axis, block.bore / 2, name)
        if block.liner > 0:
            curves += planar.circle(axis, block.liner_radius, "liner")
    curves += [c for loop in plan.jacket_loops for c in loop]
    steps, tips = _step_curves(plan, tip)
    curves += steps
    curves += [c.tagged(f"register|{c.tag}") for loop in plan.register_loops for c in loop]
    if block.jacket > 0:
        curves += around_bank(block, block.outside_radius, "outside")
    curves += _relief_curves(plan)
    curves += [edge for edge, _, _ in plan.dressed]
    curves += _insert_curves(plan)
    return curves, tips


def _relief_curves(plan: Plan) -> list[Curve]:
    return [
        curve
        for index, (relief, centre) in enumerate(zip(plan.reliefs, plan.relief_at, strict=True))
        for curve in planar.circle(complex(centre), relief.feature.diameter / 2, f"relief|{index}")
    ]


def _with_pocket(plan: Plan, insert: Insert, loops: list[Loop], rounded: Rounded) -> Plan:
    """The plan with the edges that a register cuts, and the corners of the insert.

    ``loops`` are the edges of the jacket as cast, sharp, and ``rounded`` the same with fillets. A
    ring stands over the ties, so that it has no corners there.
    """
    machined = insert.register is not None
    if machined or insert.form == "ring":
        thicker = plan.block.barrel_wall - plan.section.block.barrel_wall
        cut = registered(plan.block, insert, thicker) if machined else replace(plan.block, ties=())
        pocket = Plan(
            replace(plan.section, block=cut, insert=None), placed(cut.ties, cut, "tie"),
            [], [], [], [],
        )  # fmt: skip
        loops = _water_loops(pocket)
        if insert.register is not None:
            limits.check_cutter(pocket, loops, insert.register)
        rounded = [_rounded_loop(pocket, loop) for loop in loops]
    edges = _dressed_edges(plan, [loop for loop, _ in rounded]) if insert.fills_relief_cuts else []
    return replace(
        plan,
        dressed=edges,
        register_loops=[loop for loop, _ in rounded] if machined else [],
        register_fillets=[f for _, fillets in rounded for f in fillets] if machined else [],
        corners=[
            corner
            for loop, (_, fillets) in zip(loops, rounded, strict=True)
            for corner in _insert_corners(plan, loop, fillets)
        ],
    )


def _water_loops(plan: Plan) -> list[list[Curve]]:
    """Edges of the water between barrels, ties and outer wall, corners still sharp."""
    block = plan.block
    curves = [c for loop in plan.barrel_loops for c in loop]
    curves += around_bank(block, block.jacket_radius, "jacket")
    for index, tie in enumerate(plan.ties):
        curves += _tie_sides(plan, tie, f"tie|{index}")
    return loops_around(curves, lambda z: plan.water(z) & ~plan.in_tie(z))


def loops_around(
    curves: Sequence[Curve], within: Callable[[NDArray[np.complex128]], NDArray[np.bool_]]
) -> list[list[Curve]]:
    """Edges of an area that curves bound, with it on their left."""
    pieces = planar.cut(curves)
    walks = planar.cycles(pieces)
    inside = within(planar.beside(pieces, walks))
    side = {half: o for walk, o in zip(walks, inside.tolist(), strict=True) for half in walk}
    edges = [p for i, p in enumerate(pieces) if side[i, True] != side[i, False]]
    walks = planar.cycles(edges)
    inside = within(planar.beside(edges, walks))
    return [
        [planar.run(edges, half) for half in walk]
        for walk, o in zip(walks, inside.tolist(), strict=True)
        if o
    ]


def _tie_sides(plan: Plan, tie: Placed[Tie], tag: str) -> list[Curve]:
    """Both sides of a tie, from beside its bore axis to beyond the block."""
    far = 2 * plan.block.outside_radius + (plan.block.pitch or 0.0)
    feet = (tie.axis + side * tie.feature.width * tie.ray for side in (-0.5j, 0.5j))
    return [planar.line(foot, foot + far * tie.ray, tag) for foot in feet]


def _meets_another(plan: Plan, tie: Placed[Tie]) -> bool:
    """Whether a tie of another depth stands in the same place of the jacket."""
    z = np.concatenate([c.points(np.linspace(0, 1, 2000)) for c in _tie_sides(plan, tie, "")])
    z = z[plan.water(z)]
    return any(
        in_strip(other, z).any() for other in plan.ties if other.feature.depth != tie.feature.depth
    )


def _rounded_loop(plan: Plan, loop: list[Curve]) -> tuple[list[Curve], list[planar.Fillet]]:
    """A loop with the stated fillets in every corner where metal is concave."""
    fillets: list[planar.Fillet] = []
    for k in np.flatnonzero(planar.turns(loop) >= planar.SMOOTH).tolist():
        radius = plan.fillet_radius(loop[k - 1].tag, loop[k].tag)
        if radius > 0:
            fillet = planar.corner_fillet(loop, k, radius)
            if fillet is None:
                limits.refuse_fillet(plan, loop, k, radius)
            else:
                fillets.append(fillet)
    for f, g in zip(fillets, [*fillets[1:], *fillets[:1]], strict=True):
        if len(fillets) > 1 and planar.room_between(loop, f, g) < -planar.SNAP:
            limits.refuse_overlap(plan, loop, f, g)
    return planar.rounded(loop, fillets), fillets


def _insert_corners(
    plan: Plan, loop: list[Curve], fillets: Sequence[planar.Fillet]
) -> list[tuple[Curve, Curve]]:
    """The corners of the insert in a loop with sharp corners, the pocket's fillets given."""
    pocket = {fillet.corner: fillet for fillet in fillets}
    corners = [
        k
        for k in np.flatnonzero(planar.turns(loop) >= planar.SMOOTH).tolist()
        if _insert_fills(plan, pocket[z].arc.point(0.5) if (z := loop[k].start) in pocket else z)
    ]
    least = [pocket[z].radius if (z := loop[k].start) in pocket else 0.0 for k in corners]
    assert plan.section.insert is not None
    radius = plan.section.insert.corner_radius
    if radius is None:
        cut = _usual_corners(loop, corners, least, CORNER_EXTRA)
    else:
        limits.check_corner_radius(plan, loop, corners, least, radius)
        cut = [planar.corner_fillet(loop, k, radius) for k in corners]
    return [
        stretch
        for k, fillet in zip(corners, cut, strict=True)
        if fillet is not None
        for stretch in facing(loop, k, pocket.get(fillet.corner), fillet)
    ]


def _dressed_edges(plan: Plan, pocket: list[Loop]) -> list[tuple[Curve, planar.Area, float]]:
    """Edges of relief cuts, where they break through a face or another cut, rounded for the insert.

    An insert that fills the cut reaches around such an edge, and its inside corner has a radius.
    ``pocket`` are the edges of the jacket, or of what is machined of it.
    """
    insert = plan.section.insert
    assert insert is not None
    if not plan.reliefs or insert.inside_radius == 0:
        return []
    curves = [c for loop in pocket for c in loop] + _relief_curves(plan)
    open_ = planar.Area(pocket)
    dressed = []
    for loop in loops_around(curves, lambda z: ~open_.holds(z) & (plan.relief_depth(z) == 0)):
        turns = planar.turns(loop)
        corners = [
            k
            for k in np.flatnonzero(turns >= planar.SMOOTH).tolist()
            if _cuts_at(plan, loop, k) and plan.in_reach(np.array([loop[k].start]))[0]
        ]
        if insert.inside_radius is None:
            found = _usual_corners(loop, corners, [0.0] * len(corners), INSIDE_RADIUS)
        else:
            limits.check_inside_radius(plan, loop, corners, insert.inside_radius)
            found = [planar.corner_fillet(loop, k, insert.inside_radius) for k in corners]
        for k, fillet in zip(corners, found, strict=True):
            if fillet is not None:
                off = [*between(loop, fillet.leaves, fillet.joins), fillet.arc.reversed()]
                cuts = _cuts_at(plan, loop, k)
                deep = min(plan.reliefs[index].feature.depth for index in cuts)
                edge = fillet.arc.tagged(f"relief|{cuts[0]}")
                dressed.append((edge, planar.Area([off]), deep))
    return dressed


def _cuts_at(plan: Plan, loop: Sequence[Curve], corner: int) -> list[int]:
    """Relief cuts whose edge comes into a corner of a loop or leaves it."""
    tags = (loop[k].tag.split("|") for k in (corner - 1, corner))
    return [int(tag[1]) for tag in tags if tag[0] == "relief"]


def _insert_fills(plan: Plan, z: complex) -> bool:
    """Whether the insert stands in a corner of the jacket, and the corner is not cut away."""
    insert = plan.section.insert
    assert insert is not None
    at = np.array([z])
    return bool(plan.in_reach(at)[0] and plan.relief_depth(at)[0] < insert.depth)


def _usual_corners(
    loop: list[Curve], corners: Sequence[int], least: Sequence[float], extra: float
) -> list[planar.Fillet | None]:
    """Corners as a shop cuts them, less where faces are short; None where no larger one fits.

    Their radii [mm] are the least ones and ``extra``.
    """
    more = np.full(len(corners), extra)
    for halved in range(6):
        cut = [
            planar.corner_fillet(loop, k, radius + some)
            for k, radius, some in zip(corners, least, more.tolist(), strict=True)
        ]
        tight = np.array([fillet is None for fillet in cut], dtype=bool)
        for i, (f, g) in enumerate(zip(cut, [*cut[1:], *cut[:1]], strict=True)):
            if f and g and f is not g and planar.room_between(loop, f, g) <= planar.SNAP:
                tight[[i, (i + 1) % len(cut)]] = True
        if halved == 5 or not tight.any():
            break
        more[tight] /= 2
    return [None if out else fillet for fillet, out in zip(cut, tight, strict=True)]


def _insert_curves(plan: Plan) -> list[Curve]:
    """Edges of the insert inside the jacket, and the lines where its depth changes."""
    block, insert = plan.block, plan.section.insert
    if insert is None:
        return []
    curves: list[Curve] = []
    if insert.width is not None:
        for axis in block.axes:
            curves += planar.circle(axis, block.barrel_radius + insert.width, "reach")
    for slot in plan.slots:
        curves += slot_loop(slot, plan.section)
    reach = block.outside_radius + (block.pitch or 0.0)
    for zone in insert.zones:
        half = math.radians(zone.width / 2 + zone.blend)
        for axis in block.axes:
            for side in (-half, half) if half < math.pi - 1e-9 else ():
                ray = cmath.exp(1j * (float(clock_to_angle(zone.clock)) + side))
                curves.append(
                    planar.line(axis + block.liner_radius * ray, axis + reach * ray, "zone")
                )
    if insert.zones:
        for left, right in zip(block.axes[:-1], block.axes[1:], strict=True):
            middle = (left + right) / 2
            runs = {0.0, *(blend_length(zone, plan.mid_insert) for zone in insert.zones)}
            for x in {middle + side * run for run in runs for side in (-1, 1)}:
                curves.append(planar.line(x - 1j * reach, x + 1j * reach, "zone"))
    return curves


def _step_curves(plan: Plan, tip: float) -> tuple[list[Curve], list[Tip]]:
    """Barrel and outer-wall faces as they run on under the ties, and where to leave them out.

    A fillet runs out tangent to the face it joins, so between the two the section of the tie ends
    in a cusp without an angle. There, over a last length in which the tie is nowhere higher than
    about a tenth of the fillet radius, the tie counts as the wall it has grown into.
    """
    block = plan.block
    curves: list[Curve] = []
    tips: list[Tip] = []
    for bore in range(block.bores):
        tag = "outside" if block.jacket == 0 else f"under|barrel|{bore}"
        curves += [c.tagged(tag) for c in plan.barrel_loops[bore]]
    if block.jacket > 0:
        curves += [c.tagged("under|jacket") for c in around_bank(block, block.jacket_radius, "")]
    for tie in plan.ties:
        if _meets_another(plan, tie):
            curves += _tie_sides(plan, tie, "step")
    for fillet in [*plan.fillets, *plan.register_fillets]:
        as_cast = fillet in plan.fillets
        for tag, touch, sign in ((fillet.before, 0.0, 1), (fillet.after, 1.0, -1)):
            height = min(tip, fillet.radius / TIP_PART * (tip / TIP))
            length = math.sqrt(2 * height * fillet.radius)
            z = fillet.arc.point(touch)
            along = fillet.arc.direction(touch) * sign
            share = min(0.25, length / 2 / fillet.arc.length)
            on_arc = fillet.arc.point(share if sign > 0 else 1 - share)
            on_wall = z + along * length
            if as_cast and tag.startswith("tie"):
                if not _cut_beside(plan, z, along, on_arc):
                    continue
                on_wall = _nearest(plan.register_loops, on_wall)
                tips.append((z, abs(on_wall - z), "register"))
            elif as_cast:
                on_wall = plan.onto_face(tag, on_wall)
                tips.append((z, abs(on_wall - z), "under"))
            elif _stays_as_cast(plan, tag):
                on_wall = plan.onto_face(tag, on_wall)
                tips.append(((z + on_wall) / 2, abs(on_wall - z) / 2, "under"))
            else:
                continue
            curves.append(planar.line(on_arc, on_wall, "step"))
    return curves, tips


def _stays_as_cast(plan: Plan, tag: str) -> bool:
    """Whether a register takes nothing off a wall, so that its own fillet runs out into it."""
    insert = plan.section.insert
    off = {"barrel": insert.off_barrel, "jacket": insert.off_outer_wall} if insert else {}
    return off.get(tag.split("|")[0]) == 0


def _cut_beside(plan: Plan, tip: complex, along: complex, on_arc: complex) -> bool:
    """Whether a register takes the end of a fillet off the side of its tie, which runs on."""
    if not plan.register_loops or bool(plan.under_ring(np.array([tip]))[0]):
        return False
    foot = tip + ((on_arc - tip) * along.conjugate()).real * along
    return bool(plan.register.holds(np.array([(on_arc + foot) / 2]))[0])


def _nearest(loops: Sequence[Sequence[Curve]], z: complex) -> complex:
    """The point of some loops nearest to a point."""
    feet = (curve.point(min(max(curve.share(z), 0.0), 1.0)) for loop in loops for curve in loop)
    return min(feet, key=lambda foot: abs(foot - z))
