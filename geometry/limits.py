"""What can't be built, refused with the feature, its place, the numbers and the cure."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray

from geometry import planar
from geometry.clock import clock_of, clock_to_angle, format_clock, hours_between
from geometry.faces import Outline
from geometry.plan import Placed, Plan, slot_loop, slot_radius
from geometry.planar import Curve, Half
from geometry.refusals import SectionError
from geometry.section import (
    LEAST_CUT,
    RANGES,
    Block,
    DeckSection,
    Insert,
    Register,
    ReliefCut,
    Tie,
    WaterSlot,
)

FEATHER = math.radians(12)
"""Metal that runs out to an edge keener than this is refused. [rad].

Common practice, no source: such an edge crumbles under the cutter.
"""


LEAST_WATER = 0.5
"""Width of the jacket between barrel and outer wall below which there is none. [mm]."""


def check_wall(section: DeckSection) -> None:
    """Refuse a wall that is thinner than the section allows, or a barrel that fills the jacket.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    block, least = section.block, section.thinnest_wall
    walls = [("block.barrel_wall", "block.barrel_wall =", block.barrel_wall)]
    for row, (clock, wall) in enumerate(block.wall_table, 1):
        words = f"block.wall_table row {row} at {format_clock(clock)}:"
        walls.append((f"block.wall_table[{row}]", words, wall))
    for bore, rows in enumerate(block.bore_walls, 1):
        for clock, wall in rows:
            words = f"the barrel wall of bore {bore} at {format_clock(clock)}:"
            walls.append(("block.bore_walls", words, wall))
    if block.jacket > 0:
        walls.append(("block.outer_wall", "block.outer_wall =", block.outer_wall))
    for key, words, wall in walls:
        if wall < least:
            raise SectionError(
                f"{words} {wall:g} mm is thinner than the {least:g} mm allowed. Give at least "
                f"{least:g} mm, or lower section.thinnest_wall on purpose.", key,
            )  # fmt: skip
    thickest = max([block.barrel_wall, *(wall for _, wall in block.varied_walls)])
    if block.jacket > 0 and thickest > block.barrel_wall + block.jacket - LEAST_WATER:
        most, key = block.barrel_wall + block.jacket - LEAST_WATER, _walls_key(block)
        raise SectionError(
            f"block.{key}: a barrel wall of {thickest:g} mm leaves no water between barrel "
            f"and outer wall. Give at most {most:g} mm, or a wider jacket.", f"block.{key}",
        )  # fmt: skip


def _walls_key(block: Block) -> str:
    return "bore_walls" if block.bore_walls else "wall_table"


def check_draft(section: DeckSection) -> None:
    """Refuse a draft that closes the jacket above the section depth.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    block, depth = section.block, 2 * section.mean_at()
    thickest = max([block.barrel_wall, *(wall for _, wall in block.varied_walls)])
    room = block.jacket - (thickest - block.barrel_wall)
    left = room - 2 * depth * math.tan(math.radians(block.draft))
    if left >= LEAST_WATER:
        return
    most = math.degrees(math.atan(max(room - LEAST_WATER, 0.0) / (2 * depth)))
    does = f"leaves {left:.2g} mm of it at" if left > 0 else "closes it above"
    raise SectionError(
        f"block.draft = {block.draft:g} deg: the jacket is {room:g} mm wide at the deck, and the "
        f"draft {does} the section depth of {depth:.4g} mm; {LEAST_WATER:g} mm is the least "
        f"allowed. Give at most {_down(most)} deg, a wider jacket or a smaller section depth.",
        "block.draft",
    )


def refuse_drafted(section: DeckSection, reason: SectionError) -> NoReturn:
    """Say that what can be built at the deck can't be where the draft has narrowed the jacket.

    Raises
    ------
    SectionError
    """
    raise SectionError(
        f"block.draft = {section.block.draft:g} deg: what fits at the deck doesn't where the "
        f"jacket is narrower, in the mean over {2 * section.mean_at():.4g} mm. There {reason}",
        "block.draft",
    ) from reason


def check_register(section: DeckSection) -> None:
    """Refuse a register that breaks through a wall, or leaves too little of it.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    block, insert, least = section.block, section.insert, section.thinnest_wall
    if insert is None or insert.register is None:
        return
    register, ledge = insert.register, insert.register.ledge
    if ledge is not None and ledge >= block.jacket:
        raise SectionError(
            f"register.ledge = {ledge:g} mm is no narrower than the insert between the walls, "
            f"{block.jacket:g} mm. Make the ledge narrower.", "register.ledge",
        )  # fmt: skip
    needed = block.jacket + insert.off_outer_wall
    if insert.off_outer_wall and insert.width is not None and insert.width < needed:
        key = "ledge" if register.outer_wall is None else "outer_wall"
        raise SectionError(
            f"register.{key} = {insert.off_outer_wall:g} mm is taken off the outer wall, which an "
            f"insert {insert.width:g} mm wide doesn't reach. Make it at least {needed:g} mm wide, "
            'leave its width out, or cut the barrel only (outer_wall = "0 mm").', f"register.{key}",
        )  # fmt: skip
    barrel = [("block.barrel_wall", block.barrel_wall)] + [
        (f"the barrel wall at {format_clock(clock)} (block.{_walls_key(block)})", wall)
        for clock, wall in block.varied_walls
    ]
    walls = [
        ("barrel", insert.off_barrel, *min(barrel, key=lambda row: row[1])),
        ("outer_wall", insert.off_outer_wall, "block.outer_wall", block.outer_wall),
    ]
    for key, off, name, wall in walls:
        key = "ledge" if getattr(register, key) is None else key
        if off == 0 or wall - off >= least - 1e-9:
            continue
        does = f"leaves {wall - off:.3g} mm" if wall > off else "breaks through it"
        most = wall - least
        cure = f"Take off at most {_down(most)} mm" if most >= LEAST_CUT else "Leave it as cast"
        raise SectionError(
            f"register.{key} = {off:g} mm is taken off {name} = {wall:g} mm and {does}; "
            f"{least:g} mm is the least allowed. {cure}.", f"register.{key}",
        )  # fmt: skip


def check_cutter(machined: Plan, loops: Sequence[Sequence[Curve]], register: Register) -> None:
    """Refuse a pocket that the register's cutter can't enter, and say which can.

    Parameters
    ----------
    machined : Plan
        Of the block whose jacket is the pocket.
    loops : sequence of loops
        Edges of the pocket, corners still sharp.
    register : Register

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    radius = register.corner_radius
    stuck = _stuck(machined, loops, radius)
    if stuck is None:
        return
    low, high = 0.0, radius
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if _stuck(machined, loops, middle) is None else (low, middle)
    bore, hour = machined.block.nearest_bore(stuck.real, stuck.imag)
    where = f" of bore {bore}" if machined.block.bores > 1 else ""
    if low >= RANGES["register"]["corner_radius"][0]:
        cure = f"The largest that does is {_down(2 * low)} mm: make it at most {_down(low)} mm"
    else:
        cure = "None does"
    raise SectionError(
        f"register.corner_radius = {radius:g} mm: a cutter of {2 * radius:g} mm doesn't enter the "
        f"pocket near {format_clock(float(hour))}{where}. {cure}, or take more off the walls.",
        "register.corner_radius",
    )


def _stuck(machined: Plan, loops: Sequence[Sequence[Curve]], radius: float) -> complex | None:
    """Where a cutter of some radius [mm] doesn't enter a pocket; None where it does."""
    block = machined.block
    wall, clock = max(
        ((wall, clock) for clock, wall in block.varied_walls), default=(block.barrel_wall, 0.0)
    )
    if 2 * radius > block.barrel_wall + block.jacket - wall:
        ray = cmath.exp(1j * float(clock_to_angle(clock)))
        return (block.liner_radius + wall) * ray
    if block.bores > 1 and 0 < (block.pitch or 0.0) - 2 * block.barrel_radius < 2 * radius:
        return complex(block.axes[0] + block.barrel_radius)
    for loop in loops:
        fillets = []
        for k in np.flatnonzero(planar.turns(loop) >= planar.SMOOTH).tolist():
            fillet = planar.corner_fillet(loop, k, radius)
            if fillet is None:
                return loop[k].start
            fillets.append(fillet)
        for f, g in zip(fillets, [*fillets[1:], *fillets[:1]], strict=True):
            if len(fillets) > 1 and planar.room_between(loop, f, g) < -planar.SNAP:
                return f.corner
    return None


def check_tie(plan: Plan, tie: Placed[Tie]) -> None:
    """Refuse a tie that is wider than its arc, or that stands where no jacket is to be crossed.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    block, feature, key = plan.block, tie.feature, f"tie[{tie.number}]"
    name = tie.say("tie", block)
    neighbours = [t for t in plan.ties if t is not tie and t.bore == tie.bore]
    turns = [float(hours_between(t.feature.clock, feature.clock)) for t in neighbours]
    if 0.0 in turns:
        raise SectionError(
            f"{name} stands at the clock position of another tie. Move or remove one of them.",
            f"{key}.clock",
        )
    rooms = [  # arc of the barrel that each neighbour leaves to this tie [mm]
        2 * math.radians(30 * abs(turn)) * block.barrel_radius - other.feature.width
        for turn, other in zip(turns, neighbours, strict=True)
    ]
    most = min([1.2 * block.barrel_radius, *rooms])
    if feature.width > most:
        narrower = f"Make it at most {_down(most)} mm wide, or move the ties apart"
        apart = "Move the ties apart, make the other narrower, or leave one of them out"
        raise SectionError(
            f"{name} is {feature.width:g} mm wide, more than its arc of the barrel takes. "
            f"{narrower if most >= RANGES['tie']['width'][0] else apart}.", f"{key}.width",
        )  # fmt: skip
    if not _crosses(plan, tie, tie.ray):
        raise SectionError(
            f"{name} meets the barrel of a neighbouring bore instead of crossing the jacket to "
            f"the outer wall. {_free_clocks(plan, tie)}", f"{key}.clock",
        )  # fmt: skip


def check_milled(plan: Plan, tie: Placed[Tie]) -> None:
    """Refuse a ring that leaves a skin of a tie below it; one as deep as the tie mills it away.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    insert, least, deep = plan.section.insert, plan.section.thinnest_wall, tie.feature.depth
    if insert is None or insert.form != "ring":
        return
    milled = max(insert.depth, insert.register.depth if insert.register else 0.0)
    left = deep - milled
    if 0 < left < least - 1e-9:
        cures = [f"make the ring at least {deep:g} mm deep, which mills the tie away"]
        if deep - least >= RANGES["insert"]["depth"][0]:
            cures.insert(0, f"make the ring at most {_down(deep - least)} mm deep")
        raise SectionError(
            f"a ring {milled:g} mm deep leaves {left:.3g} mm of {tie.say('tie', plan.block)} "
            f"({deep:g} mm deep) below it, under {least:g} mm. {_cure(cures)}", "insert.depth",
        )  # fmt: skip


def check_ring(plan: Plan, outline: Outline, drawn: Callable[[Plan], Outline]) -> None:
    """Refuse an insert in one ring that doesn't close around every barrel.

    Parameters
    ----------
    plan : Plan
    outline : Outline
        Of the same section.
    drawn : callable
        The outline of another plan.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    insert = plan.section.insert
    bore = _left_open(plan, outline) if insert and insert.form == "ring" else 0
    if insert is None or not bore:
        return
    block, width = plan.block, insert.width
    clock, cut = _way_barred(plan, bore)
    cures = ['hold it in pieces (form = "pieces")']
    why = "a relief cut that it is cut back from goes through it"
    if cut:
        cures.insert(0, "let it fill the relief cuts (fills_relief_cuts)")
    elif width is not None:
        closed = _with_insert(plan, replace(insert, width=None))
        low, high = width, block.jacket
        while high - low > 0.01 and not _left_open(closed, drawn(closed)):
            middle = (low + high) / 2
            tried = _with_insert(plan, replace(insert, width=middle))
            low, high = (middle, high) if _left_open(tried, drawn(tried)) else (low, middle)
        why = f"it must be more than {low:.2f} mm wide to pass the metal there"
        least = math.ceil(10 * (high + plan.section.thinnest_wall)) / 10
        cures.insert(0, "leave its width out")
        if least < block.jacket:
            cures.insert(0, f"make it at least {least:g} mm wide")
    else:
        why = "metal stands across it"
    where = f" of bore {bore}" if block.bores > 1 else ""
    raise SectionError(
        f"the insert, {width or block.jacket:g} mm wide, is no closed ring: near "
        f"{format_clock(clock)}{where} {why}. {_cure(cures)}", "insert.form",
    )  # fmt: skip


def _with_insert(plan: Plan, insert: Insert) -> Plan:
    return replace(plan, section=replace(plan.section, insert=insert))


def _left_open(plan: Plan, outline: Outline) -> int:
    """The first bore that the insert doesn't close around, from 1; 0 where there is none."""
    has = [any(layer.part == "insert" for layer in row) for row in outline.regions]
    full = {half for f in outline.faces if has[f.region] for loop in f.loops for half in loop}
    edges = [
        piece
        for index, piece in enumerate(outline.pieces)
        if ((index, True) in full) != ((index, False) in full)
    ]
    loops = [[planar.run(edges, half) for half in walk] for walk in planar.cycles(edges)]
    for bore, axis in enumerate(plan.block.axes, 1):
        if not any(planar.inside([loop], np.array([axis + 0j]))[0] for loop in loops):
            return bore
    return 0


def _way_barred(plan: Plan, bore: int) -> tuple[float, bool]:
    """Clock position [h] at which an open ring is cut through, and whether a relief cut does it."""
    block, insert = plan.block, plan.section.insert
    assert insert is not None
    clock = np.arange(0, 12, 1 / 60)
    radius = np.linspace(block.liner_radius, block.outside_radius, 200)[:, None]
    z = block.axes[bore - 1] + radius * np.exp(1j * clock_to_angle(clock))
    own = block.nearest_bore(z.real, z.imag)[0] == bore
    whole = _with_insert(plan, replace(insert, width=None, fills_relief_cuts=True))
    room, given = (
        np.array([bool(row) and row[-1].part == "insert" for row in some.layers(z.ravel())])
        for some in (whole, plan)
    )
    room = room.reshape(z.shape) & own
    shut = room.any(axis=0) & ~(given.reshape(z.shape) & own).any(axis=0)
    inner = np.where(shut, radius[room.argmax(axis=0), 0], 0.0)
    at = int(inner.argmax())
    cut = not insert.fills_relief_cuts and (plan.relief_depth(z[:, at])[room[:, at]] > 0).any()
    return float(clock[at]), bool(cut)


def _crosses(plan: Plan, tie: Placed[Tie], ray: complex) -> bool:
    """Whether a tie along a ray from its bore axis crosses the jacket clear of other barrels."""
    block, feature = plan.block, tie.feature
    along = np.linspace(block.barrel_radius, 3 * block.outside_radius, 400)
    across = feature.width * np.array([[-0.5], [0.0], [0.5]])
    z = tie.axis + (along + 1j * across) * ray
    crossing = plan.off_bank(z) < block.jacket_radius
    hit = np.zeros(z.shape, dtype=bool)
    for axis in block.axes:
        if axis != tie.axis:
            hit |= np.abs(z - axis) < block.barrel_radius + feature.fillet
    return bool(crossing.any(axis=1).all() and not (hit & crossing).any())


def _free_clocks(plan: Plan, tie: Placed[Tie]) -> str:
    """The nearest clock position at which a tie clears the neighbouring barrels."""
    for minutes in range(2, 360, 2):
        for clock in (tie.feature.clock - minutes / 60, tie.feature.clock + minutes / 60):
            if _crosses(plan, tie, cmath.exp(1j * float(clock_to_angle(clock)))):
                return (
                    f"The nearest clock position that is free is {format_clock(clock % 12)}; or "
                    "name the bores it belongs to (bores)."
                )
    return "Make it narrower, or name the bores it belongs to (bores)."


def check_relief(plan: Plan, relief: Placed[ReliefCut]) -> None:
    """Refuse a relief cut that breaks into a bore or out of the block, or all but does.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    block, feature, least = plan.block, relief.feature, plan.section.thinnest_wall
    centre = complex(relief.axis + feature.radius * relief.ray)
    half = feature.diameter / 2
    for bore, axis in enumerate(block.axes, 1):
        left = abs(centre - axis) - half - block.liner_radius
        name = "the bore" if block.bores == 1 else f"bore {bore}"
        if left < 0:
            what = f"breaks into {'the liner of ' if block.liner else ''}{name}"
        else:
            what = f"leaves {left:.3g} mm of barrel wall at {name}, under {least:g} mm"
        out = f"move its centre out to a radius of {feature.radius + least - left:.4g} mm"
        _require_left(plan, relief, left, what, out if bore == relief.bore else "")
    left = block.outside_radius - float(plan.off_bank(np.array([centre]))[0]) - half
    if left < 0:
        what = f"breaks through the outer wall by {-left:.3g} mm"
    else:
        what = f"leaves {left:.3g} mm of outer wall, under {least:g} mm"
    in_ = f"move its centre in to a radius of {_down(feature.radius - least + left)} mm"
    _require_left(plan, relief, left, what, in_)


def _require_left(
    plan: Plan, relief: Placed[ReliefCut], left: float, what: str, moved: str
) -> None:
    """Refuse a relief cut that leaves too little of a wall [mm]: what it does, where to move it."""
    feature, least = relief.feature, plan.section.thinnest_wall
    if left >= least - 1e-9:
        return
    cures = [moved] if moved else []
    smaller = feature.diameter - 2 * (least - left)
    if smaller >= 1:
        cures.append(f"make its diameter at most {_down(smaller)} mm")
    raise SectionError(
        f"{relief.say('relief cut', plan.block)} (radius {feature.radius:g} mm, diameter "
        f"{feature.diameter:g} mm) {what}. {_cure(cures)}", f"relief_cut[{relief.number}].radius",
    )  # fmt: skip


def _down(value: float) -> str:
    """A length rounded down to 0.01 mm, so that it is allowed as it is written."""
    return f"{math.floor(value * 100 + 1e-6) / 100:g}"


def _cure(cures: Sequence[str]) -> str:
    text = ", or ".join(cures)
    return text[:1].upper() + text[1:] + "." if text else "Leave it out."


def check_slots(plan: Plan) -> None:
    """Refuse a slot that is not wholly inside the insert.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    rooms = [curve for slot in plan.slots for curve in _slot_room(plan, slot, slot.feature.width)]
    edges = [curve for slot in plan.slots for curve in slot_loop(slot, plan.section)]
    if rooms and not (_in_insert(plan, rooms) and _opens_below(plan, edges)):
        for slot in plan.slots:
            _check_slot(plan, slot)


def _slot_room(plan: Plan, slot: Placed[WaterSlot], width: float) -> list[Curve]:
    """Edge of the metal that a slot needs if it has some width."""
    wide = width + 2 * plan.section.thinnest_wall
    return slot_loop(replace(slot, feature=replace(slot.feature, width=wide)), plan.section)


def _check_slot(plan: Plan, slot: Placed[WaterSlot]) -> None:
    section, feature, least = plan.section, slot.feature, plan.section.thinnest_wall
    block = plan.block
    name, key = slot.say("slot", block), f"slot[{slot.number}]"
    radius = slot_radius(slot, section)
    widest = 0.0
    for width in np.linspace(feature.width, 0.0, 61).tolist():
        if width < RANGES["slot"]["width"][0]:
            break
        edge = slot_loop(replace(slot, feature=replace(feature, width=width)), section)
        if _in_insert(plan, _slot_room(plan, slot, width)) and _opens_below(plan, edge):
            widest = width
            break
    if widest >= feature.width:
        return
    low, high = (format_clock((feature.clock + side * feature.arc / 60) % 12) for side in (-1, 1))
    stretch = f"from {low} to {high}" if feature.arc else f"at {low}"
    insert = section.insert
    over, beside = "", "a tie, a wall or an edge"
    if insert is not None and insert.register is not None:
        over = "lies over the floor of the register, "
    if insert is not None and insert.form == "ring":
        over, beside = "lies over a tie, ", "a wall or an edge"
    cure = (
        f"Make it at most {_down(widest)} mm wide"
        if widest >= 0.5
        else "Move it, shorten its arc, or name the bores it belongs to (bores)"
    )
    raise SectionError(
        f"{name} ({feature.width:g} mm wide, centre line at radius {radius:.4g} mm, {stretch}) "
        f"reaches outside the insert, {over}or leaves less than {least:g} mm of it beside "
        f"{beside}. {cure}.", f"{key}.width",
    )  # fmt: skip


def _over_metal(plan: Plan, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
    """Whether the insert lies over machined metal at points: a tie, or the shoulder of a wall."""
    return plan.machined(z, *plan.parent(z)) > 0


def _points(curves: Sequence[Curve]) -> NDArray[np.complex128]:
    return planar.Curves.of(curves).points(np.linspace(0, 1, 17)[:, None]).ravel()


def _opens_below(plan: Plan, curves: Sequence[Curve]) -> bool:
    """Whether curves lie nowhere above metal that was machined for the insert."""
    return not _over_metal(plan, _points(curves)).any()


def _in_insert(plan: Plan, curves: Sequence[Curve]) -> bool:
    """Whether curves lie wholly in the plan of the insert, slots left aside."""
    insert = plan.section.insert
    assert insert is not None
    z = _points(curves)
    open_ = plan.jacket.holds(z) | _over_metal(plan, z)
    relief = plan.relief_depth(z) > 0
    open_ = (open_ | relief) if insert.fills_relief_cuts else (open_ & ~relief)
    return bool((open_ & plan.in_reach(z)).all())


def _tag_name(plan: Plan, tag: str) -> str:
    """How the messages call an edge."""
    kind, *rest = tag.split("|")
    if kind == "tie":
        return plan.ties[int(rest[0])].say("tie", plan.block)
    if kind == "relief":
        return plan.reliefs[int(rest[0])].say("relief cut", plan.block)
    if kind == "slot":
        return next(s for s in plan.slots if s.number == int(rest[0])).say("slot", plan.block)
    names = {
        "barrel": "the barrel's face",
        "under": "the barrel's face",
        "jacket": "the outer wall's face",
        "outside": "the outside",
        "reach": "the insert's edge",
        "register": "the register's face",
        "zone": "a deeper zone",
        "fillet": "a fillet",
        "liner": "the liner",
    }
    return names.get(kind, f"the {tag}")


def refuse_fillet(plan: Plan, loop: Sequence[Curve], corner: int, radius: float) -> NoReturn:
    """Say that a corner's fillet doesn't fit, and which would."""
    low, high = 0.0, radius
    for _ in range(30):
        middle = (low + high) / 2
        if planar.corner_fillet(loop, corner, middle) is None:
            high = middle
        else:
            low = middle
    _say_fillet(plan, loop[corner - 1].tag, loop[corner].tag, loop[corner].start, radius, low)


def refuse_overlap(
    plan: Plan, loop: Sequence[Curve], f: planar.Fillet, g: planar.Fillet
) -> NoReturn:
    """Say that two neighbouring fillets overlap, and which radius would fit."""
    starts = [c.start for c in loop]
    low, high = 0.0, 1.0
    for _ in range(30):
        share = (low + high) / 2
        pair = [
            planar.corner_fillet(loop, starts.index(h.corner), h.radius * share) for h in (f, g)
        ]
        if pair[0] and pair[1] and planar.room_between(loop, pair[0], pair[1]) >= 0:
            low = share
        else:
            high = share
    _say_fillet(plan, f.before, f.after, f.corner, f.radius, f.radius * low)


def _say_fillet(
    plan: Plan, before: str, after: str, at: complex, radius: float, fits: float
) -> NoReturn:
    names = sorted({_tag_name(plan, before), _tag_name(plan, after)}, reverse=True)
    ties = [int(tag.split("|")[1]) for tag in (before, after) if tag.startswith("tie")]
    key = f"tie[{plan.ties[ties[0]].number}].fillet" if ties else "block.valley_fillet"
    hour = format_clock(float(clock_of(at.real, at.imag)))
    raise SectionError(
        f"a fillet of {radius:g} mm doesn't fit between {' and '.join(names)} near {hour}: the gap "
        f"there takes at most {_down(fits)} mm. Make the fillet smaller, or the gap wider.", key,
    )  # fmt: skip


def check_corner_radius(
    plan: Plan, loop: Sequence[Curve], corners: Sequence[int], least: Sequence[float], radius: float
) -> None:
    """Refuse a radius of the insert's corners that its pocket can't take.

    Parameters
    ----------
    plan : Plan
    loop : sequence of Curve
        Edge of a pocket, open side on the left, its corners sharp.
    corners : sequence of int
        Pieces that leave the corners which the insert fills.
    least : sequence of float
        Fillets of the pocket there. [mm]
    radius : float
        [mm]

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    key = "insert.corner_radius"
    if not corners:
        return
    widest = int(np.argmax(least))
    if radius < least[widest]:
        where = _corner_name(plan, loop, corners[widest])
        raise SectionError(
            f"{key} = {radius:g} mm is less than the fillet of the pocket, {least[widest]:g} mm "
            f"{where}: the insert would ride on it. Give at least {least[widest]:g} mm.", key,
        )  # fmt: skip
    if (tight := _too_tight(loop, corners, radius)) is None:
        return
    low = _largest(loop, corners, radius)
    cure = (
        f"Give at most {_down(low)} mm."
        if float(_down(low)) >= least[widest]
        else f"The largest is {_down(low)} mm, less than the pocket's fillet of "
        f"{least[widest]:g} mm: make that smaller, or leave the key out."
    )
    raise SectionError(
        f"{key} = {radius:g} mm leaves no plain face of the insert "
        f"{_corner_name(plan, loop, tight)}. {cure}", key,
    )  # fmt: skip


def check_inside_radius(
    plan: Plan, loop: Sequence[Curve], corners: Sequence[int], radius: float
) -> None:
    """Refuse a radius of the insert's inside corners that the block's edges can't take.

    Parameters
    ----------
    plan : Plan
    loop : sequence of Curve
        Edge of the block's metal, with it on the left.
    corners : sequence of int
        Pieces that leave the edges which the insert reaches around.
    radius : float
        [mm]

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    if (tight := _too_tight(loop, corners, radius)) is None:
        return
    key = "insert.inside_radius"
    raise SectionError(
        f"{key} = {radius:g} mm doesn't fit at the edge {_corner_name(plan, loop, tight)}. Give at "
        f"most {_down(_largest(loop, corners, radius))} mm, or 0 for a sharp corner, which is not "
        "judged.", key,
    )  # fmt: skip


def _largest(loop: Sequence[Curve], corners: Sequence[int], radius: float) -> float:
    """The largest radius below one that is too tight for some corners. [mm]."""
    low, high = 0.0, radius
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if _too_tight(loop, corners, middle) is None else (low, middle)
    return low


def _too_tight(loop: Sequence[Curve], corners: Sequence[int], radius: float) -> int | None:
    """The first corner that a radius doesn't fit, or that it leaves no face after."""
    cut = [planar.corner_fillet(loop, k, radius) for k in corners]
    for k, f, g in zip(corners, cut, [*cut[1:], *cut[:1]], strict=True):
        if f is None:
            return k
        if g is not None and g is not f and planar.room_between(loop, f, g) <= planar.SNAP:
            return k
    return None


def _corner_name(plan: Plan, loop: Sequence[Curve], corner: int) -> str:
    """Where a corner of the jacket is, in words."""
    tags = loop[corner - 1].tag, loop[corner].tag
    names = sorted({_tag_name(plan, tag) for tag in tags}, reverse=True)
    at = loop[corner].start
    hour = format_clock(float(clock_of(at.real, at.imag)))
    return f"between {' and '.join(names)} near {hour}"


def check_thickness(plan: Plan, outline: Outline) -> None:
    """Refuse metal that is thinner than allowed, anywhere, as cut at the deck.

    The parent metal and the insert are judged each by itself: a relief cut takes metal away even
    where it leaves a floor, and a liner is no substitute for the wall around it.

    Raises
    ------
    SectionError
        With the key path, the value, what is allowed and the cure.
    """
    from geometry.sizing import sample_edges, walls

    least = plan.section.thinnest_wall
    body = _bodies(plan, outline)
    halves: dict[str, list[Half]] = {"parent": [], "insert": []}
    side = {
        half: body[k]
        for k, face in enumerate(outline.faces)
        for loop in face.loops
        for half in loop
    }
    for (piece, forward), name in side.items():
        if name and side.get((piece, not forward)) != name:
            halves[name].append((piece, forward))
    names = [name for name in halves if halves[name]]
    samples = sample_edges(outline.pieces, [halves[name] for name in names], least / 3)
    thickness, across = walls(outline.pieces, samples, least, wedge=1 / math.sin(FEATHER / 2))
    at = int(np.argmin(thickness))
    if thickness[at] >= least - 0.03:
        return
    z, other = samples.z[at], samples.piece[across[at]]
    between = sorted(
        {_tag_name(plan, outline.pieces[k].tag) for k in (samples.piece[at], other)}, reverse=True
    )
    sides = " and ".join(between) if len(between) > 1 else f"two sides of {between[0]}"
    hour = format_clock(float(clock_of(z.real, z.imag)))
    metal = "insert" if names[samples.face[at]] == "insert" else "block"
    key = _tag_key(plan, [outline.pieces[k].tag for k in (samples.piece[at], other)])
    raise SectionError(
        f"the {metal} is left {round(max(thickness[at], 0.0), 2):g} mm thick between "
        f"{sides} near {hour}, at radius {abs(z):.4g} mm; {least:g} mm is the "
        f"least allowed. Move or resize one of them by {least - thickness[at]:.2g} mm, or lower "
        "section.thinnest_wall on purpose.", key,
    )  # fmt: skip


def _bodies(plan: Plan, outline: Outline) -> list[str]:
    """What each face is at the deck: ``parent``, ``insert``, or nothing (a liner, a pocket)."""
    z = planar.beside(outline.pieces, [face.loops[0] for face in outline.faces])
    taken = plan.taken(z, *plan.parent(z))
    names = []
    for face, cut in zip(outline.faces, taken, strict=True):
        parts = [layer.part for layer in outline.regions[face.region]]
        if "insert" in parts:
            names.append("insert")
        elif cut == 0 and parts[0] != "liner":
            names.append("parent")
        else:
            names.append("")
    return names


def _tag_key(plan: Plan, tags: Sequence[str]) -> str:
    """Key path of the first feature among some edges."""
    for tag in tags:
        kind, *rest = tag.split("|")
        if kind == "relief":
            return f"relief_cut[{plan.reliefs[int(rest[0])].number}]"
        if kind == "tie":
            return f"tie[{plan.ties[int(rest[0])].number}]"
        if kind == "slot":
            return f"slot[{rest[0]}]"
        if kind == "register":
            return "register"
    return "block"
