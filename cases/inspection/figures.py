"""The map of walls: clock by depth, a panel a bore, readings as dots."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from cases.inspection.given import Inspection
from cases.inspection.places import place_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

COLOURS = "cividis"
"""Told apart by the colour-blind, and in grey (Nuñez et al., PLoS ONE 13 (2018), from memory)."""
ACROSS = 2  # panels side by side
HEAD, PITCH = 1.15, 2.6  # of what stands above the panels, of a row of them [inch]


def inspection_figures(found: Inspection) -> Iterator[tuple[str, Figure]]:
    """Name and figure of the map of walls, where any were read."""
    if found.fits:
        yield "walls-read", walls_figure(found)


def walls_figure(found: Inspection) -> Figure:
    """The map of walls of each bore that was read; grey where the wall has no far side."""
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import Normalize

    from cases.base.figures import COLUMN, EMPTY, new_figure

    clock = np.linspace(0, 12, 145)
    deepest = max(of.depth for fit in found.fits for of in fit.readings)
    depth = np.linspace(0, 1.1 * max(deepest, 5.0), 45)
    grid = np.array(np.meshgrid(clock, depth)).reshape(2, -1)
    walls, free = [], []
    for fit in found.fits:
        kinds = [place_of(found.drawn, fit.bore, c % 12, d).kind for c, d in grid.T.tolist()]
        open_ = np.array([kind in ("free", "cut") for kind in kinds]).reshape(len(depth), -1)
        wall = fit.at(*grid)[0].reshape(len(depth), -1) - found.off_wall
        walls.append(wall)
        free.append(open_)
    low = min(float(wall[open_].min()) for wall, open_ in zip(walls, free, strict=True))
    high = max(float(wall[open_].max()) for wall, open_ in zip(walls, free, strict=True))
    low, high = min(low, high - 0.2), max(high, low + 0.2)
    across = min(ACROSS, len(found.fits))
    rows = -(-len(found.fits) // across)
    height = HEAD + PITCH * rows
    figure = new_figure(across * COLUMN, height)
    marks: dict[str, Line2D] = {}
    for place, (fit, wall, open_) in enumerate(zip(found.fits, walls, free, strict=True)):
        row, column = divmod(place, across)
        foot = PITCH * (rows - 1 - row) + 0.55
        box = (column * COLUMN + 0.62) / across, foot, (COLUMN - 0.75) / across, PITCH - 0.85
        axes = figure.add_axes((box[0] / COLUMN, box[1] / height, box[2] / COLUMN, box[3] / height))
        axes.set_facecolor(EMPTY)
        axes.pcolormesh(
            clock, depth, np.ma.array(wall, mask=~open_), cmap=COLOURS, vmin=low, vmax=high,
            shading="gouraud" if open_.all() else "nearest", rasterized=True,
        )  # fmt: skip
        named = {of.reading.line for of in fit.outliers}
        at_cuts = [at for cut in found.cuts if cut.bore == fit.bore for at in cut.readings]
        borne = [of for of in fit.readings if of.line not in named]
        others = [of for of in fit.readings if of.line in named]
        for mark, size, what, some in (
            ("o", 5, "reading", borne),
            ("X", 8, "not borne out by the others", others),
            ("s", 5, "at a relief cut", at_cuts),
        ):
            drawn = axes.plot(
                [of.clock for of in some], [of.depth for of in some], mark, color="white",
                markeredgecolor="black", markersize=size,
            )  # fmt: skip
            if some:
                marks.setdefault(what, drawn[0])
        axes.set_title(f"bore {fit.bore}")
        axes.set_xlim(0, 12)
        axes.set_ylim(depth[-1], 0)
        axes.set_xticks(range(0, 13, 3), ["12", "3", "6", "9", "12"])
        axes.set_xlabel("clock position [h]")
        axes.set_ylabel("below the deck [mm]")
    figure.legend(
        marks.values(), marks.keys(), loc="upper left", ncols=2, frameon=False, fontsize=8
    )
    scale = ScalarMappable(Normalize(low, high), COLOURS)
    left, wide = 0.62 / (across * COLUMN), (COLUMN - 0.9) / (across * COLUMN)
    place_of_bar = left, 1 - 0.7 / height, wide, 0.12 / height
    bar = figure.colorbar(scale, cax=figure.add_axes(place_of_bar), orientation="horizontal")
    bar.set_label("barrel wall [mm]")
    return figure
