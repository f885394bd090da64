"""The plan of all pieces on one sheet, A4 across, with a title block."""

from __future__ import annotations

import datetime
import math

import numpy as np

from cases.base.templates import render
from cases.making.make import Making
from cases.record.given import record_given
from geometry.cut_pieces import CutPiece
from geometry.planar import Curve

WIDTH, HEIGHT = 297.0, 210.0
"""ISO 216, A4. [mm]."""
ROOM = (255.0, 130.0)
"""For the plan. [mm]."""
BARS = {"mm": (50.0, "50 mm"), "in": (50.8, "2 in")}
SHEET = "sheet.svg"


def sheet_svg(making: Making, date: datetime.date) -> str:
    """The sheet; looking down on the deck, 12:00 up.

    Parameters
    ----------
    making : Making
    date : date
        That it is written on.
    """
    block = making.case.block
    points = np.array([of.point(t) for one in making.pieces for of in one.curves for t in (0, 0.5)])
    span = np.ptp(points.real), np.ptp(points.imag)
    scale = min(1.0, *(room / most for room, most in zip(ROOM, span, strict=True)))
    middle = (
        (points.real.max() + points.real.min()) / 2,
        (points.imag.max() + points.imag.min()) / 2,
    )
    at = WIDTH / 2 - scale * middle[0], 10 + ROOM[1] / 2 + scale * middle[1]
    labels = [
        (at[0] + scale * z.real, at[1] - scale * z.imag + 1, f"{piece.number}")
        for piece in making.pieces
        for z in [_beside(making, piece)]
    ]
    return render(
        "making/sheet.svg.j2", making=making, width=WIDTH, height=HEIGHT, at=at, scale=scale,
        axes=block.axes, bore=block.bore, path=_path, labels=labels,
        bar=BARS[making.case.spoken.length], title=_title(making, date),
    )  # fmt: skip


def _beside(making: Making, piece: CutPiece) -> complex:
    """Where a piece's number stands: outside of it, at its clock position."""
    block = making.case.block
    turn = math.pi / 2 - math.pi / 6 * piece.clock
    return block.axes[piece.bore - 1] + (block.jacket_radius + 4) * complex(
        math.cos(turn), math.sin(turn)
    )


def _path(piece: CutPiece) -> str:
    return " ".join(f"M {_at(loop[0].start)} {' '.join(map(_way, loop))} Z" for loop in piece.loops)


def _at(z: complex) -> str:
    return f"{z.real:.4f} {z.imag:.4f}"


def _way(curve: Curve) -> str:
    if not curve.bulge:
        return f"L {_at(curve.end)}"
    large, left = int(abs(curve.sweep) > math.pi), int(curve.bulge > 0)
    return f"A {curve.radius:.4f} {curve.radius:.4f} 0 {large} {left} {_at(curve.end)}"


def _title(making: Making, date: datetime.date) -> list[tuple[str, str]]:
    material, insert = making.design.insert_material, making.design.insert
    assert material is not None
    assert insert is not None
    told, job = making.case.spoken.told, record_given(making.case).job
    deeper = f", {insert.deepest:g} mm in its zones" if insert.zones else ""
    return [
        ("Job", f"{making.case.name}{f', number {job}' if job else ''}"),
        ("Design", f"{making.design.name}, {len(making.pieces)} pieces"),
        ("Material", material.name),
        ("Depth", told(f"{insert.depth:g} mm{deeper}")),
        ("Case", making.inputs),
        ("Date", date.isoformat()),
        ("Sizes", "at 20 degC; contours and fits as in making.html"),
        ("Note", "estimate, see cautions"),
    ]
