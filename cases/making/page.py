"""The page of how a design is made."""

from __future__ import annotations

from collections.abc import Sequence

from cases.base.cautions import CAUTIONS
from cases.base.templates import render
from cases.making.contour import contour
from cases.making.drawing import file_of, measured, sizes
from cases.making.make import UM, Making
from cases.making.words import goes_in, seconds, temperatures
from geometry.cut_pieces import slot_numbers

TEMPLATE = "making/page.html.j2"


def making_page(making: Making, missing: Sequence[str] = ()) -> str:
    """How a design goes in, to print; in the units of the case.

    Parameters
    ----------
    making : Making
    missing : sequence of str
        What no cutter can follow.
    """
    spoken = making.case.spoken

    def small(value: float | None) -> str:
        return "–" if value is None else spoken.numbers(f"{UM * value:.0f}", "um")

    def long(value: float) -> str:
        return spoken.numbers(f"{value:.2f}", "mm")

    def force(value: float | None) -> str:
        return "–" if value is None else spoken.numbers(f"{value:.0f}", "N")

    return render(
        TEMPLATE, making=making, lines=list(goes_in(making)), small=small, long=long, force=force,
        seconds=seconds, temperatures=spoken.told(temperatures(making)),
        um=spoken.unit("um"), mm=spoken.unit("mm"), newton=spoken.unit("N"),
        presses={of.number: of for of in making.press.pieces} if making.press else {},
        cautions=CAUTIONS, sizes=[spoken.told(of) for of in sizes(making)], file_of=file_of,
        measured=measured(making),
        contours={of.number: contour(making, of) for of in making.pieces},
        slots={of.number: slot_numbers(of) for of in making.pieces},
        missing=[spoken.told(of) for of in missing],
        cutter=spoken.told(f"{making.given.cutter:g} mm"),
        pocket_cutter=spoken.told(f"{making.given.cuts_pocket:g} mm"),
    )  # fmt: skip
