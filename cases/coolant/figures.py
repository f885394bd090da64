"""Picture of the coolant: heat flux by wall temperature."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from cases.base.figures import COLUMN, light_frame, new_figure
from cases.base.subject import Solved
from cases.coolant.given import coolant_of
from geometry.drawing import INK

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.coolant.film import WetFilm

CURVE, CONVECTION = "#0072B2", "#5B3A8C"
BEYOND = 1.25
"""Heat flux that is drawn, over the critical one."""


def coolant_figures(result: Solved) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each picture."""
    film = coolant_of(result)
    assert film is not None
    yield "coolant", curve_figure(film)


def curve_figure(film: WetFilm) -> Figure:
    """Heat flux that leaves a wall, with boiling and by flow alone."""
    figure = new_figure(COLUMN, 3.8)
    axes = figure.subplots()
    figure.subplots_adjust(left=0.15, right=0.97, top=0.96, bottom=0.14)
    most = BEYOND * film.critical_flux
    wall = np.linspace(film.given.temperature, film.critical_wall + 12, 300)
    flux = film.curve.flux_at(wall)
    axes.plot(wall, flux, color=CURVE, label="flow and boiling")
    axes.plot(
        wall, film.convection * (wall - film.given.temperature), "--", color=CONVECTION,
        label="flow alone",
    )  # fmt: skip
    axes.axhline(film.critical_flux, color=INK, linewidth=0.9, linestyle=":")
    axes.annotate(
        f"critical heat flux of a pool, {film.critical_flux:.2f} MW/m\u00b2",
        (wall[0], film.critical_flux), xytext=(4, 4), textcoords="offset points",
    )  # fmt: skip
    axes.axvline(film.boils_at, color=INK, linewidth=0.9, linestyle=":")
    axes.annotate(
        f"boils at {film.boils_at:.0f} degC", (film.boils_at, 0.45 * most), xytext=(-4, 0),
        textcoords="offset points", rotation=90, ha="right", va="center",
    )  # fmt: skip
    axes.set_xlim(wall[0], wall[-1])
    axes.set_ylim(0, most)
    axes.set_xlabel("wall temperature [degC]")
    axes.set_ylabel("heat flux [MW/m\u00b2]")
    axes.legend(loc="center left", bbox_to_anchor=(0.02, 0.7))
    light_frame(axes, "y")
    return figure
