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


def inspection_figures(found: Inspection) -> Iterator[tuple[str, Figure]]:
    """Name and figure of the map of walls, where any were read."""
    if found.fits:
        yield "walls-read", walls_figure(found)


def walls_figure(found: Inspection) -> Figure:
    """The map of walls of each bore that was read; grey where the wall has no far side."""
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import Normalize

    from cases.base.figures import EMPTY, new_figure

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
    rows = -(-len(found.fits) // ACROSS)
    figure = new_figure(9.0, 0.9 + 2.5 * rows)
    panels = figure.subplots(rows, ACROSS, squeeze=False, sharex=True, sharey=True).ravel()
    marks: dict[str, Line2D] = {}
    for axes, fit, wall, open_ in zip(panels, found.fits, walls, free, strict=False):
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
    for axes in panels[len(found.fits) :]:
        axes.set_visible(False)
    inch = 1 / figure.get_figheight()
    figure.subplots_adjust(
        left=0.08, right=0.87, bottom=0.55 * inch, top=1 - 0.65 * inch, hspace=0.3
    )
    figure.legend(
        marks.values(), marks.keys(), loc="upper center", ncols=3, frameon=False, fontsize=9
    )
    figure.supxlabel("clock position [h]", fontsize=9)
    figure.supylabel("below the deck [mm]", fontsize=9)
    scale = ScalarMappable(Normalize(low, high), COLOURS)
    bar = figure.colorbar(scale, cax=figure.add_axes((0.90, 0.2, 0.02, 0.6)))
    bar.set_label("barrel wall [mm]")
    return figure
