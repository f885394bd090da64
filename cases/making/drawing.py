"""A piece as a drawing exchange file: its outline in true lines and arcs, dimensions, cutter path.

One file a piece, about the axis of its bore. Layers: ``OUTLINE`` the piece in plan, its slots on
``SLOTS``, ``CUTTER`` the way of the cutter's middle around both, ``STEPS`` where the block ends it
before its own depth, ``POCKET`` what it goes into as it is cut, ``POCKET_CUTTER`` the way of the
cutter's middle along its walls, ``SECTIONS`` across both beside the plan
(:mod:`cases.making.across`), ``DATUM`` the axis of the bore, ``DIMENSIONS`` and ``NOTES``. The
outline is that of the pocket with the piece's own corners: what a side is made larger, or smaller,
by stands in the notes.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from cases.base.units import LENGTH
from cases.making.across import bodies, walls
from cases.making.limits import side_limits
from cases.making.make import Making
from cases.making.points import FREE, stands
from geometry.clock import format_clock
from geometry.cut_pieces import CutPiece, Loop, slot_numbers
from geometry.cutter import TooHollowError, offset_loop, pocket_paths
from geometry.planar import Area, Curve

LAYERS = {
    "OUTLINE": 7, "SLOTS": 5, "CUTTER": 1, "STEPS": 6, "POCKET": 4, "POCKET_CUTTER": 1,
    "SECTIONS": 7, "DATUM": 3, "DIMENSIONS": 2, "NOTES": 8,
}  # fmt: skip
"""Colours by number, as drawing exchange files have them."""
INCHES, MILLIMETRES = 1, 4
"""As the header variable $INSUNITS counts."""
SAME = 0.005
"""Radii nearer than this have one dimension. [mm]."""
STYLE = "EZDXF"


def file_of(piece: CutPiece) -> str:
    """Name of a piece's file."""
    return f"piece-{piece.number}.dxf"


OWN = re.compile(r"piece-\d+\.dxf|sheet-\d+-\w+\.svg")


def drop_others(folder: Path, written: Collection[str]) -> None:
    """Remove drawings of pieces that a design had when it was made before.

    Parameters
    ----------
    folder : Path
    written : collection of str
        Names of files that were written now.
    """
    for path in folder.iterdir():
        if OWN.fullmatch(path.name) and path.name not in written:
            path.unlink()


def write_drawings(making: Making, folder: Path) -> tuple[str, ...]:
    """Write a file for each piece; what no cutter can follow, in words.

    Parameters
    ----------
    making : Making
    folder : Path
    """
    missing = []
    for piece in making.pieces:
        drawing, faults = _drawing(making, piece)
        drawing.saveas(folder / file_of(piece))
        missing += faults
    return tuple(missing)


def _drawing(making: Making, piece: CutPiece) -> tuple[Any, list[str]]:
    import ezdxf

    spoken = making.case.spoken
    inch = spoken.length == "in"
    size = LENGTH.written(1.0, spoken.length)
    drawing = ezdxf.new("R2010", setup=True)  # type: ignore[attr-defined]
    drawing.header["$INSUNITS"] = INCHES if inch else MILLIMETRES
    drawing.header["$MEASUREMENT"] = 0 if inch else 1
    for name, colour in LAYERS.items():
        drawing.layers.add(name, color=colour)
    space, axis = drawing.modelspace(), making.case.block.axes[piece.bore - 1]

    def at(z: complex) -> tuple[float, float]:
        return (z.real - axis) * size, z.imag * size

    def draw(loop: Sequence[Curve], layer: str, closed: bool = True) -> None:
        points = [(*at(curve.start), curve.bulge) for curve in loop]
        if not closed:
            points.append((*at(loop[-1].end), 0.0))
        space.add_lwpolyline(points, format="xyb", close=closed, dxfattribs={"layer": layer})

    missing = []

    def lacks(what: str, cutter: float, error: TooHollowError) -> None:
        bore, hours = making.case.block.nearest_bore(error.at.real, error.at.imag)
        missing.append(
            f"No cutter of {cutter:g} mm follows {what} of piece {piece.number}: {error.what} near "
            f"{format_clock(float(hours))} of bore {bore}."
        )

    for number, loop in enumerate(piece.loops):
        draw(loop, "SLOTS" if number else "OUTLINE")
        try:
            draw(offset_loop(loop, making.given.cutter / 2), "CUTTER")
        except TooHollowError as error:
            slot = slot_numbers(piece).get(number)
            lacks(f"slot {slot}" if slot else "the outline", making.given.cutter, error)
    height = 3.0 * size

    def write(words: str, place: tuple[float, float], layer: str) -> None:
        text = space.add_text(words, height=height, dxfattribs={"layer": layer})
        text.set_placement(place)

    for cap, loops in making.steps(piece):
        for loop in loops:
            draw(loop, "STEPS")
        write(spoken.told(f"no deeper than {cap:g} mm"), at(loops[0][0].point(0.5)), "STEPS")
    pocket = pocket_of(making, piece)
    for loop in pocket:
        draw(loop, "POCKET")
    mills = making.given.cuts_pocket
    try:
        for path, closed in pocket_paths(pocket, mills / 2, lambda of: stands(making, of) != FREE):
            draw(path, "POCKET_CUTTER", closed)
    except TooHollowError as error:
        lacks("the pocket", mills, error)
    _sections(making, piece, space, write, size, at)
    cross = 5.0 * size
    for way in ((cross, 0.0), (0.0, cross)):
        space.add_line((-way[0], -way[1]), way, dxfattribs={"layer": "DATUM"})
    _dimension(space, piece, at, size)
    low = min(0.0, *(at(curve.point(0.5))[1] for curve in piece.curves)) - 15 * size
    for row, words in enumerate(notes(making, piece)):
        write(words, (at(axis - 40)[0], low - 1.8 * height * row), "NOTES")
    return drawing, missing


def pocket_of(making: Making, piece: CutPiece) -> tuple[Loop, ...]:
    """The pocket that a piece goes into."""
    first = np.array([piece.loops[0][0].point(0.5)])
    inside = first + 1e-3j * piece.loops[0][0].direction(0.5)
    found = (loops for loops in making.pockets if Area(loops[:1]).holds(inside)[0])
    return next(found, ())


def _sections(
    making: Making, piece: CutPiece, space: Any, write: Any, size: float, at: Any
) -> None:
    """Sections across a piece below one another, right of the plan: walls, piece and its sizes."""
    z = np.concatenate([curve.points(np.linspace(0, 1, 9)) for curve in piece.loops[0]])
    left = max(150 * size, *(at(complex(one))[0] for one in z)) + 45 * size
    deck = max(at(complex(one))[1] for one in z)
    more = {"dimstyle": STYLE, "override": _style(size), "dxfattribs": {"layer": "SECTIONS"}}
    for cut in making.sections[piece.number]:
        place = cut.place
        first = float(cut.top[0, 0])

        def there(r: float, depth: float, first: float = first, deck: float = deck) -> Any:
            return left + size * (r - first), deck - size * depth

        for corners in (*walls(cut), *bodies(cut, making.given.deck_stock)):
            points = [there(*of) for of in corners]
            space.add_lwpolyline(points, close=True, dxfattribs={"layer": "SECTIONS"})
        clock = format_clock(place.clock)
        write(f"bore {place.bore} at {clock}: {place.what}",
              (left, deck + 22 * size), "SECTIONS")  # fmt: skip
        levels = cut.levels
        inner, outer = levels[0][0], levels[-1][1]
        space.add_linear_dim(
            base=(left, deck + 8 * size), p1=there(inner, 0.0), p2=there(outer, 0.0), **more
        ).render()
        for k, depth in enumerate(cut.depths):
            space.add_linear_dim(
                base=(left - 8 * size * (k + 1), deck), p1=there(first, 0.0),
                p2=there(first, depth), angle=90, **more,
            ).render()  # fmt: skip
        deck -= size * (float(cut.bottom[:, 1].max()) + 40)


def _dimension(space: Any, piece: CutPiece, at: Any, size: float) -> None:
    """Extents from the axis, every unlike radius, length of every straight line."""
    override = _style(size)
    more = {"dimstyle": STYLE, "override": override, "dxfattribs": {"layer": "DIMENSIONS"}}
    z = np.array([curve.point(t) for curve in piece.loops[0] for t in np.linspace(0, 1, 9)])
    x, y = np.array([at(complex(one)) for one in z]).T
    for low, high, angle in ((x, y, 0.0), (y, x, 90.0)):
        first, last = int(low.argmin()), int(low.argmax())
        beyond = high.max() + 12 * size
        base = (0.0, beyond) if angle == 0 else (beyond, 0.0)
        for start in ((x[first], y[first]), (0.0, 0.0)):
            space.add_linear_dim(
                base=base, p1=start, p2=(x[last], y[last]), angle=angle, **more
            ).render()
            base = (base[0] + (angle != 0) * 8 * size, base[1] + (angle == 0) * 8 * size)
    known: list[float] = []
    for curve in piece.curves:
        if not curve.bulge or any(abs(curve.radius - one) < SAME for one in known):
            continue
        known.append(curve.radius)
        space.add_radius_dim(
            center=at(curve.centre), mpoint=at(curve.point(0.5)), dimstyle="EZ_RADIUS",
            override=override, dxfattribs={"layer": "DIMENSIONS"},
        ).render()  # fmt: skip
    for curve in piece.loops[0]:
        if not curve.bulge:
            space.add_aligned_dim(
                p1=at(curve.start), p2=at(curve.end), distance=6 * size, **more
            ).render()


def _style(size: float) -> dict[str, float]:
    """Of dimensions, in drawing units of ``size`` a millimetre."""
    return {
        "dimtxt": 2.5 * size, "dimasz": 2.0 * size, "dimexe": 1.0 * size, "dimexo": 0.6 * size,
        "dimgap": 0.6 * size, "dimdec": 4 if size < 1 else 3, "dimtih": 0, "dimlfac": 1.0,
    }  # fmt: skip


def notes(making: Making, piece: CutPiece) -> Iterator[str]:
    """What stands beside a piece, in the units of the case."""
    told = making.case.spoken.told
    insert = making.design.insert
    assert insert is not None
    assert making.design.insert_material is not None
    yield f"{making.case.name}: {making.design.name}, piece {piece.number} of {len(making.pieces)}"
    yield (
        f"Bore {piece.bore} at {format_clock(piece.clock)}, looking down on the deck. "
        f"Datum: axis of bore {piece.bore}, 12:00 up."
    )
    yield f"{making.design.insert_material.name}. Sizes at 20 degC."
    deeper = f", {insert.deepest:g} mm in its zones" if insert.zones else ""
    yield told(f"Depth {insert.depth:g} mm{deeper}; break edges {insert.edge_break:g} mm.")
    yield f"The outline is the pocket's as drawn{measured(making)}."
    yield "Against it, per side, more is larger:"
    yield from map(told, sizes(making))
    mills = making.given.cuts_pocket
    yield told(f"Cutter {making.given.cutter:g} mm (layer CUTTER), of the pocket {mills:g} mm.")
    yield "Estimate, see the cautions."


def measured(making: Making) -> str:
    """How the pocket is measured that sizes count from, in words; empty where it is no question."""
    return ", with its liner in" if making.case.block.liner else ""


def sizes(making: Making) -> Iterator[str]:
    """Limits of each side of insert and pocket against the drawn outline, at 20 degC."""
    limits = side_limits(making)
    if not limits:
        yield "to the pocket's own size, as nothing is said of its fit"
    for of in limits:
        if of.bonded:
            yield f"{of.part}: bonded, to the pocket's own size"
            continue
        low, high, least, most = (1000 * value for value in (*of.insert, *of.pocket))
        pocket = f"{least:+.1f} to {most:+.1f} um"
        yield f"{of.part}: insert {low:+.1f} to {high:+.1f} um, pocket {pocket}"
