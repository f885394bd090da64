"""The dimensioned sheets of an insert: a plan of all pieces, then a sheet for each.

Lines by ISO 128, title block by ISO 7200, tolerances of form and place by ISO 1101. Contours are
told by numbered points (:mod:`cases.making.points`), so that nothing has to be measured off a
sheet. What is milled into the block for a piece stands on sheets of its own
(:mod:`cases.making.pocket`).
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from cases.base.units import MASS
from cases.gasket.areas import off_axes, off_bead
from cases.gasket.given import gasket_given
from cases.head.given import head_given
from cases.making.across import section_drawing
from cases.making.dimensions import Item, Speaks, dimension, scale_words, usual_scale
from cases.making.drawing import measured
from cases.making.limits import radius_limits, ring_classes, side_limits
from cases.making.make import Making
from cases.making.paper import (
    CENTRE,
    HEIGHT,
    HIDDEN,
    LARGE,
    PAPERS,
    SMALL,
    THICK,
    WIDTH,
    Page,
    Stroke,
    Words,
    box,
    clipped,
    folded,
    moved,
    ruled,
    svg_of,
    wide,
    write_pdf,
)
from cases.making.passage import BARREL, OUTER_WALL, side_of
from cases.making.pocket import is_milled, milled_ties, pocket_sheets
from cases.making.points import (
    FILLET,
    FREE,
    PLAN,
    ROW,
    ROWS_FIRST,
    TABLE,
    TITLE,
    bar,
    by_bore,
    labels,
    names_of,
    notes,
    placed,
    rows_of,
    table,
)
from cases.record.given import record_given
from geometry.clock import format_clock
from geometry.cut_pieces import CutPiece, depth_along, middle_of, slot_numbers
from geometry.overlay import least_distance
from geometry.planar import Curve, circle, line

PROFILE = (complex(3, TITLE + 3), complex(150, 81))
CELL = complex(88, 81)
CELLS = tuple(complex(x, y) for y in (105, 23) for x in (2, 90, 178))
"""Lower left corners of the rooms of sections. [mm]."""
DEPTH_TOLERANCE = 0.05
"""Of depths, and that the underside is parallel to the deck to (common practice, no source).
[mm]."""
ELSEWHERE = 0.0032
"""Roughness Ra of faces that press nothing (common practice, no source). [mm]."""
SMOOTH = 0.0008
"""Ra of faces that fit where the fit says nothing of it (common practice, no source). [mm]."""
FREELY = 0.1
"""How far off their points slots and free edges may be (common practice, no source). [mm]."""


def sheets_of(making: Making, date: datetime.date, mass: Sequence[float]) -> list[Page]:
    """All sheets, the plan first.

    Parameters
    ----------
    making : Making
    date : date
    mass : sequence of float
        Of each piece without its stock; empty where it is not known. [g]
    """
    pieces = making.pieces
    rest = [
        [("more points", items) for items in _rest(making, piece)]
        + [("sections", items) for items in _sections(making, piece)]
        + [("pocket", items) for items in pocket_sheets(making, piece)]
        for piece in pieces
    ]
    count = 1 + len(pieces) + sum(map(len, rest))
    number = 1
    pages = [_plan_page(making, date, mass, count)]
    for place, piece in enumerate(pieces):
        for part in range(1 + len(rest[place])):
            number += 1
            what, more = rest[place][part - 1] if part else ("", [])
            title = f"piece {piece.number}" + (f", {what}" if part else "")
            own = [mass[place]] if mass else []
            items = list(more) if part else _of_piece(making, piece, own)
            items += _title(making, date, title, own, number, count)
            pages.append(Page(title=_named(making, title), items=tuple(items)))
    return pages


def file_of_sheet(number: int, paper: str) -> str:
    """Name of a sheet's picture."""
    return f"sheet-{number}-{paper}.svg"


def write_sheets(
    making: Making, date: datetime.date, mass: Sequence[float], folder: Path
) -> list[Page]:
    """Write all sheets on each paper, in one PDF and a picture each."""
    pages = sheets_of(making, date, mass)
    for paper in PAPERS:
        write_pdf(pages, paper, folder / f"sheets-{paper}.pdf")
        for number, page in enumerate(pages, 1):
            text = svg_of(page, paper)
            (folder / file_of_sheet(number, paper)).write_text(text, encoding="utf-8")
    return pages


def _named(making: Making, title: str) -> str:
    return f"{making.case.name}: {making.design.name}, {title}"


def _title(
    making: Making, date: datetime.date, what: str, mass: Sequence[float], number: int, count: int
) -> list[Item]:
    """Frame and title block."""
    material = making.design.insert_material
    assert material is not None
    told = making.case.spoken
    job = record_given(making.case).job
    weighs = f"{sum(mass):.1f} g ({MASS.written(sum(mass), 'lb'):.3f} lb)" if mass else "not known"
    rows = (
        (
            ("Job", making.case.name, 66), ("Block number", job or "", 40),
            ("Design", making.design.name, 40), ("Title", what, 51),
            ("Sheet", f"{number} of {count}", 24), ("Date", date.isoformat(), 28),
            ("Revision", making.given.revision or "–", 18),
        ),
        (
            ("Material and temper", material.name, 66), ("Mass", weighs, 40),
            ("Case hash", making.inputs, 40),
            ("Lengths in", f"{told.length}, at {told.told('20 degC')}, looking down on the deck",
             75),
            ("Note", "Estimate, see cautions", 46),
        ),
    )  # fmt: skip
    items: list[Item] = [
        box(0j, complex(WIDTH, HEIGHT), THICK),
        box(0j, complex(WIDTH, TITLE), THICK),
    ]
    for place, row in enumerate(rows):
        x, low = 0.0, TITLE / 2 * (1 - place)
        for label, value, width in row:
            items += [
                box(complex(x, low), complex(x + width, low + TITLE / 2)),
                Words(at=complex(x + 1, low + TITLE / 2 - 3.0), text=label, size=SMALL),
                Words(at=complex(x + 1, low + 2.2), text=clipped(value, width - 2, 3.1), size=3.1,
                      name=label.lower().replace(" ", "-")),
            ]  # fmt: skip
            x += width
    return items


def _plan_page(making: Making, date: datetime.date, mass: Sequence[float], count: int) -> Page:
    block, speaks = making.case.block, Speaks(making.case.spoken.length)
    insert = making.design.insert
    assert insert is not None
    room = (complex(3, 74), complex(WIDTH - 3, HEIGHT - 4))
    ends = np.array([axis + side * block.outside_radius * way
                     for axis in block.axes for side in (1, -1) for way in (1, 1j)])  # fmt: skip
    scale, at = placed(ends, room, 8.0)
    items: list[Item] = [
        Words(at=complex(4, HEIGHT - 6), text=f"Plan of the pieces, {scale_words(scale)}",
              size=LARGE, bold=True),
    ]  # fmt: skip
    for bore, axis in enumerate(block.axes, 1):
        spot = scale * axis + at
        items += [
            Stroke(loops=(moved(circle(axis, block.bore / 2), scale, at),), dash=HIDDEN,
                   closed=True),
            Words(at=spot + complex(2, -5), text=f"bore {bore}"),
        ]  # fmt: skip
        items += [ruled(spot - 6 * way, spot + 6 * way, dash=CENTRE) for way in (1, 1j)]
    items.append(Words(at=scale * block.axes[0] + at + complex(1, 7.5), text="B (each bore)",
                       size=SMALL))  # fmt: skip
    for piece in making.pieces:
        items.append(
            Stroke(loops=tuple(moved(loop, scale, at) for loop in piece.loops), width=0.35,
                   closed=True, grey=0.9, name="piece"))  # fmt: skip
    for piece in making.pieces:
        along = middle_of(block, insert, piece)
        spot = scale * complex(along[len(along) // 2]) + at
        items += [
            Stroke(loops=(tuple(circle(spot, 2.4)),), closed=True, grey=1.0),
            Words(at=spot - 1.0j, text=str(piece.number), anchor="middle", bold=True,
                  name="number"),
        ]  # fmt: skip
    if block.bores > 1:
        first, last = (scale * block.axes[k] + at for k in (0, 1))
        y = scale * block.outside_radius + at.imag + 3
        items += dimension(complex(first.real, y), complex(last.real, y),
                            speaks.size(block.pitch or 0.0, 3))  # fmt: skip
        items += [ruled(complex(z.real, z.imag + 7), complex(z.real, y + 1)) for z in (first, last)]
    items += bar(making, scale)
    items += notes(making_notes(making), complex(90, 72), WIDTH - 93, 72 - TITLE - 2)
    what = f"plan of {len(making.pieces)} piece{'s' * (len(making.pieces) > 1)}"
    items += _title(making, date, what, mass, 1, count)
    return Page(title=_named(making, what), items=tuple(items))


def making_notes(making: Making) -> Iterator[str]:
    """What holds for every piece."""
    insert, speaks = making.design.insert, Speaks(making.case.spoken.length)
    assert insert is not None
    given, fit = making.given, making.fit
    yield (
        "Datum A: the deck as it is before it is cut. Datum B: the axis of the bore that a sheet "
        "names, by its liner. x to 3:00, y to 12:00, depths down from A."
    )
    below = ""
    if making.case.block.draft and insert.register is None:
        below = f", {speaks.of(insert.depth / 2)} below A, as the jacket has draft: sides upright"
    yield f"The points are those of the pocket as drawn{measured(making)}{below}."
    yield (
        f"Thickness: the depths below A and {speaks.of(given.deck_stock)} of stock above it, which "
        "goes with the deck."
    )
    yield (
        f"Depths {speaks.size(0.0)} to +{speaks.of(DEPTH_TOLERANCE)}; underside parallel to A to "
        f"{speaks.of(DEPTH_TOLERANCE)}."
    )
    yield (
        f"Lead chamfer {speaks.of(insert.edge_break)} x 45 deg all around the underside; other "
        f"edges broken {speaks.of(insert.edge_break)} at most; slots both ends."
    )
    register = insert.register
    hollows = [
        curve.radius
        for loops in making.pockets
        for loop in loops
        for curve in loop
        if "fillet" in curve.tag and curve.bulge > 0
    ]
    if register is not None or hollows:
        corner = register.corner_radius if register else min(hollows)
        yield (
            f"Corners of the pocket {speaks.of(corner)} radius, by a cutter of at most "
            f"{speaks.of(2 * corner)}; those of the insert are larger, as the points say."
        )
    yield (
        f"Cutter of the insert {speaks.of(given.cutter)}, of the pocket "
        f"{speaks.of(given.cuts_pocket)}: paths on layers CUTTER and POCKET_CUTTER of the DXF."
    )
    if fit is not None and fit.roughness:
        own, block_ = (speaks.rough(of) for of in fit.roughness)
        yield (
            f"Faces that fit: Rz {own} of the insert, Rz {block_} of the block, as the fit assumes "
            f"(Ra about a quarter to a seventh of it). Elsewhere Ra {speaks.rough(ELSEWHERE)}."
        )
    else:
        yield (
            f"The fit assumes no roughness: faces that fit Ra {speaks.rough(SMOOTH)} at most. "
            f"Elsewhere Ra {speaks.rough(ELSEWHERE)}."
        )
    for part, (diameter, iso) in ring_classes(making).items():
        words = f"{part}, {speaks.of(diameter, 3)} diameter: "
        low, high = (1000 * of for of in (making.made.low, making.made.high)) if making.made else (
            0.0, 0.0)  # fmt: skip
        if iso is None:
            yield f"{words}no usual fit of ISO 286 on hole H7 stays within the limits here."
        else:
            yield making.case.spoken.told(
                f"{words}ISO 286 {iso.name}, {iso.least_um} to {iso.most_um} um, is within "
                f"{low:.1f} to {high:.1f} um."
            )
    sides = {row[5] for of in making.pieces for row in rows_of(making, of, names_of(of))}
    if FILLET in sides:
        yield f"Sides called {FILLET}: within the limits of the tie."
    yield f"Slots{' and free edges' * (FREE in sides)}: within {speaks.of(FREELY)} of the points."
    if is_milled(making):
        ties = milled_ties(making)
        below = f", and the ties down to {speaks.of(insert.depth)}" if ties else ""
        yield f"The block is milled as the sheets of the pocket say{below}."
    yield "Each piece marked on its deck face: its number, and a line at its clock position."


def _of_piece(making: Making, piece: CutPiece, mass: Sequence[float]) -> list[Item]:
    rows = rows_of(making, piece, names_of(piece))
    few = rows if len(rows) <= ROWS_FIRST else []
    return [
        *_piece_plan(making, piece),
        *_profile(making, piece),
        *table(few, TABLE),
        *_limits(making, piece, len(few)),
    ]


def _piece_plan(making: Making, piece: CutPiece) -> list[Item]:
    """The plan with its points numbered, overall sizes and where the axis of its bore is."""
    speaks, block = Speaks(making.case.spoken.length), making.case.block
    axis = block.axes[piece.bore - 1]
    z = np.array([of.point(t) for of in piece.loops[0] for t in np.linspace(0, 1, 9)])
    scale, at = placed(z, PLAN, 14.0)
    items: list[Item] = [
        Words(at=complex(4, HEIGHT - 6), size=LARGE, bold=True,
              text=f"Piece {piece.number}, {scale_words(scale)}"),
        Words(at=complex(4, HEIGHT - 10.5),
              text=f"bore {piece.bore} at {format_clock(piece.clock)}; points about its axis B"),
        Stroke(loops=tuple(moved(loop, scale, at) for loop in piece.loops), width=THICK,
               closed=True, grey=0.93, name="piece"),
    ]  # fmt: skip
    items += [
        Stroke(loops=tuple(moved(loop, scale, at) for loop in loops), dash=HIDDEN, closed=True)
        for _, loops in making.steps(piece)
    ]
    spot = scale * axis + at
    inside = (PLAN[0].real < spot.real < PLAN[1].real) and (PLAN[0].imag < spot.imag < PLAN[1].imag)
    if inside:
        items += [ruled(spot - 5 * way, spot + 5 * way, dash=CENTRE) for way in (1, 1j)]
        items.append(Words(at=spot + complex(1, 1), text="B"))
    if len(piece.curves) <= ROWS_FIRST:
        items += labels(piece, scale, at)
    items += bar(making, scale, complex(PLAN[1].real - 55, HEIGHT - 12))
    low = complex(z.real.min(), z.imag.min()) * scale + at
    high = complex(z.real.max(), z.imag.max()) * scale + at
    y, x = PLAN[0].imag + 1.5, PLAN[0].real + 4
    items += dimension(complex(low.real, y), complex(high.real, y),
                        speaks.size(float(np.ptp(z.real)), 3))  # fmt: skip
    items += dimension(complex(x, low.imag), complex(x, high.imag),
                        speaks.size(float(np.ptp(z.imag)), 3))  # fmt: skip
    left, right = z[z.real.argmin()], z[z.real.argmax()]
    bottom, top = z[z.imag.argmin()], z[z.imag.argmax()]
    for end in (left, right):
        foot = scale * complex(end) + at
        items.append(ruled(complex(foot.real, y - 1), complex(foot.real, foot.imag - 1)))
    for end in (bottom, top):
        foot = scale * complex(end) + at
        items.append(ruled(complex(x - 1, foot.imag), complex(foot.real - 1, foot.imag)))
    return items


def _rest(making: Making, piece: CutPiece) -> list[list[Item]]:
    """Sheets of the points of a piece that has many."""
    rows = rows_of(making, piece, names_of(piece))
    if len(rows) <= ROWS_FIRST:
        return []
    return by_bore(making, piece, rows, f"Piece {piece.number}")


def _frame(at: complex, symbol: str, cells: Sequence[str]) -> tuple[list[Item], float]:
    """A feature control frame (ISO 1101), from its lower left corner, and its width. [mm]."""
    high = 4.4
    items: list[Item] = [box(at, at + complex(5.5, high))]
    if symbol == "surface":  # profile of a surface: a half disc
        arc_ = Curve(at + complex(4.4, 1.3), at + complex(1.1, 1.3), 1.0)
        items.append(Stroke(loops=((arc_.part(0, 0.5), arc_.part(0.5, 1),
                                    line(arc_.end, arc_.start)),), closed=True))  # fmt: skip
    else:  # parallel: two slanted lines
        items += [ruled(at + complex(x, 1.0), at + complex(x + 1.2, 3.4)) for x in (1.4, 2.8)]
    x = at.real + 5.5
    for text in cells:
        width = wide(text, 2.5) + 2
        items += [
            box(complex(x, at.imag), complex(x + width, at.imag + high)),
            Words(at=complex(x + 1, at.imag + 1.3), text=text, size=2.5),
        ]
        x += width
    return items, x - at.real


def _limits(making: Making, piece: CutPiece, rows: int) -> list[Item]:
    """Limits of each side of pocket and insert with their frames, and the notes of the piece."""
    speaks = Speaks(making.case.spoken.length)
    y = TABLE.imag - (3.4 + ROW * rows + 4 if rows else 0.0)
    items: list[Item] = []
    sides = {row[5] for row in rows_of(making, piece, names_of(piece))}
    for of in side_limits(making):
        if of.part not in sides:
            continue
        wide_, middle = of.insert[1] - of.insert[0], sum(of.insert) / 2
        items.append(Words(at=complex(TABLE.real, y - 2), text=of.part, bold=True))
        frame, _ = _frame(
            complex(TABLE.real + 20, y - 3.2), "surface",
            (f"{speaks.size(wide_, 4)} UZ{'+' if middle >= 0 else '-'}"
             f"{speaks.size(abs(middle), 4)}", "A", "B"),
        )  # fmt: skip
        items += frame
        y -= 4.4
        for text in _side_words(making, piece, of.part, speaks):
            for row in folded(text, 110, SMALL):
                items.append(Words(at=complex(TABLE.real + 2, y - 2.2), text=row, size=SMALL,
                                   name="limits"))  # fmt: skip
                y -= 3.0
        y -= 1.6
    frame, across = _frame(
        complex(TABLE.real, y - 3.4), "parallel", (speaks.size(DEPTH_TOLERANCE), "A")
    )
    items += [*frame, Words(at=complex(TABLE.real + across + 2, y - 2.2), text="underside")]
    y -= 5
    items += notes(piece_notes(making, piece), complex(TABLE.real, y), 112, max(y - TITLE - 2, 6.0))
    return items


def _side_words(making: Making, piece: CutPiece, part: str, speaks: Speaks) -> Iterator[str]:
    """Limits of pocket and insert on one side, as radii where it is round."""
    of = next(side for side in side_limits(making) if side.part == part)
    block_radius = making.case.block.bore / 2
    if of.bonded:
        yield "bonded: to the pocket's own size"
        return
    signed = [
        f"{'+' if value >= 0 else '-'}{speaks.size(abs(value), 4)}"
        for value in (*of.pocket, *of.insert)
    ]
    yield (
        f"off the points, per side: pocket {signed[0]} to {signed[1]}, insert {signed[2]} to "
        f"{signed[3]}"
    )
    radii = sorted(
        {
            round(curve.radius, 4)
            for curve in piece.curves
            if curve.bulge
            and side_of(curve, making.case.block) == part
            and {"barrel", "jacket"} & set(curve.tag.split("|"))
            and curve.radius > block_radius
        }
    )
    if part in (BARREL, OUTER_WALL):
        for radius in radii[:2]:
            pocket, own = (radius_limits(part, radius, span) for span in (of.pocket, of.insert))
            yield (
                f"R {speaks.size(radius, 4)}: pocket {speaks.size(pocket[0], 4)} to "
                f"{speaks.size(pocket[1], 4)}, insert {speaks.size(own[0], 4)} to "
                f"{speaks.size(own[1], 4)}"
            )


def piece_notes(making: Making, piece: CutPiece) -> Iterator[str]:
    """Zones, slots and what a slot leaves."""
    block, insert = making.case.block, making.design.insert
    speaks = Speaks(making.case.spoken.length)
    assert insert is not None
    along = middle_of(block, insert, piece)
    for number, zone in enumerate(insert.zones, 1):
        bores = []
        for bore, axis in enumerate(block.axes, 1):
            own = along[np.abs(along - axis) < 1.01 * block.jacket_radius] - axis
            middle = 30 * zone.clock
            turned = np.degrees(np.pi / 2 - np.angle(own))
            off = np.abs((turned - middle + 180) % 360 - 180)
            if (off < zone.width / 2 + zone.blend).any():
                bores.append(bore)
        if not bores:
            continue
        first, last = 30 * zone.clock - zone.width / 2, 30 * zone.clock + zone.width / 2
        text = (
            f"Zone {number}: {speaks.of(zone.depth)} deep about bore "
            f"{', '.join(map(str, bores))} from {first:.2f} to {last:.2f} deg, clockwise from 12:00"
        )
        if zone.blend:
            text += (
                f"; blends to {speaks.size(insert.depth)} at {first - zone.blend:.2f} and "
                f"{last + zone.blend:.2f} deg, half a cosine wave"
            )
            if block.bores > 1:
                radius = block.barrel_radius + (insert.width or block.jacket) / 2
                over = speaks.of(radius * math.radians(zone.blend))
                text += f"; past half the pitch it runs out the same way over {over} along the row"
        elif block.bores > 1:
            text += "; it ends at half the pitch"
        yield f"{text}."
    for cap in dict.fromkeys(cap for cap, _ in making.steps(piece)):
        yield (
            f"Within dashes no deeper than {speaks.of(cap)}, where the block stands below: points "
            f"called floor {speaks.size(cap)} on the sheet of the pocket."
        )
    webs: dict[str, list[int]] = {}
    for place, number in slot_numbers(piece).items():
        webs.setdefault(_web_words(making, piece, place, speaks), []).append(number)
    for text, numbers in webs.items():
        which = f"Slot{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
        yield f"{which}: {text}."


def _web_words(making: Making, piece: CutPiece, place: int, speaks: Speaks) -> str:
    """What a slot leaves to the edges, and to the gasket's ring."""
    block, slot = making.case.block, piece.loops[place]
    others = [curve for other, loop in enumerate(piece.loops) if other != place for curve in loop]
    web = least_distance(slot, others)
    beside = next(curve for curve in others if least_distance(slot, [curve]) == web)
    text = f"least web {speaks.of(web)}, to the {side_of(beside, block) or 'edge'}"
    for gasket in gasket_given(making.case).gaskets:
        text += f"; {speaks.of(off_bead(slot, gasket, block))} to the bead of gasket {gasket.name}"
    head = head_given(making.case)
    if head is not None:
        ring = (head.fire_ring_diameter + head.fire_ring_width) / 2
        text += f"; {speaks.of(off_axes(slot, block) - ring)} to the gasket's ring"
    return text


def _profile(making: Making, piece: CutPiece) -> list[Item]:
    """The piece along its middle, and a section across it where it is plain."""
    block, insert = making.case.block, making.design.insert
    speaks = Speaks(making.case.spoken.length)
    assert insert is not None
    along = middle_of(block, insert, piece)
    depth = depth_along(block, insert, along)
    way = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(along)))])
    stock, deepest = making.given.deck_stock, float(depth.max())
    left, right = PROFILE[0].real + 12, 97.0
    high = PROFILE[1].imag - 14
    scale = min((right - left) / way[-1], (high - PROFILE[0].imag - 10) / deepest)
    scale = usual_scale(scale)

    def at(s: float, d: float) -> complex:
        return complex(left + scale * s, high - scale * d)

    under = [at(float(s), float(d)) for s, d in zip(way[::-1], depth[::-1], strict=True)]
    corners = [at(0.0, -stock), at(float(way[-1]), -stock), *under]
    sides = tuple(line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)
                  if a != b)  # fmt: skip
    items: list[Item] = [
        Words(at=complex(4, PROFILE[1].imag - 3), bold=True,
              text=f"Along the middle of the piece, {scale_words(scale)}"),
        Stroke(loops=(sides,), width=THICK, closed=True, grey=0.93),
        ruled(at(0, 0) - 3, at(float(way[-1]), 0) + 4, dash=CENTRE),
        Words(at=at(float(way[-1]), 0) + complex(4.5, -0.8), text="A"),
    ]  # fmt: skip
    items += dimension(at(0, -stock) + 3j, at(float(way[-1]), -stock) + 3j,
                        speaks.size(float(way[-1])))  # fmt: skip
    x = left - 5.0
    first = float(depth[0])
    items += dimension(complex(x, high), complex(x, high - scale * first), speaks.size(first))
    ends = (left + scale * float(way[int(depth.argmax())]), high)
    if deepest > first + 1e-6:
        foot = complex(ends[0], high - scale * deepest)
        items += dimension(complex(*ends), foot, speaks.size(deepest))
    clocks = [block.nearest_bore(z.real, z.imag) for z in (along[0], along[-1])]
    for (bore, hour), s, anchor in zip(
        clocks, (0.0, float(way[-1])), ("start", "end"), strict=True
    ):
        spot = complex(left + scale * s, high - scale * deepest - 4)
        items.append(Words(at=spot, size=SMALL, anchor=anchor,
                           text=f"bore {int(bore)}, {format_clock(float(hour))}"))  # fmt: skip
    room = complex(100, PROFILE[0].imag + 8), complex(PROFILE[1].real + 1, PROFILE[1].imag)
    items += section_drawing(making, making.sections[piece.number][0], *room)
    register = insert.register
    told = "no register: pocket as cast, faces finished"
    if register is not None:
        told = (
            f"register {speaks.size(register.depth)} deep, off barrel "
            f"{speaks.size(insert.off_barrel)}, off outer wall {speaks.of(insert.off_outer_wall)}"
        )
    items += [
        Words(at=complex(107, PROFILE[0].imag + 5 - 3 * k), text=text, size=SMALL)
        for k, text in enumerate(folded(told, 43, SMALL))
    ]
    return items


def _sections(making: Making, piece: CutPiece) -> list[list[Item]]:
    """Sheets of the sections of a piece that has zones."""
    sections = making.sections[piece.number]
    if len(sections) < 2:
        return []
    pages = []
    for first in range(0, len(sections), len(CELLS)):
        some = sections[first : first + len(CELLS)]
        items: list[Item] = [
            Words(at=complex(4, HEIGHT - 6), size=LARGE, bold=True,
                  text=f"Piece {piece.number}, sections on rays from the axis of a bore"),
            *bar(making, 1.0, complex(205, HEIGHT - 8)),
        ]  # fmt: skip
        for cut, corner in zip(some, CELLS, strict=False):
            items += section_drawing(making, cut, corner, corner + CELL)
        pages.append(items)
    return pages
