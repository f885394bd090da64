"""Limits by the bore that fires."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from cases.bores.result import BoresFound, ByBore

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def bores_figure(found: BoresFound) -> Figure:
    """A line a design over the bores; filled where a bore was judged."""
    from cases.base.figures import COLUMN, light_frame, line_styles, new_figure

    figure = new_figure(COLUMN, 3.2)
    axes = figure.add_axes((0.16, 0.17, 0.8, 0.75))
    known = [of for bores in found.by_design.values() for of in bores if of.factor is not None]
    bars = all(of.pressure_mpa is not None for of in known)
    styles = line_styles(len(found.by_design))
    for (name, bores), (colour, dash) in zip(found.by_design.items(), styles, strict=True):
        limits = [_height(of, bars=bars) for of in bores]
        axes.plot([of.bore for of in bores], limits, dash, color=colour, label=name)
        for of, limit in zip(bores, limits, strict=True):
            filled = "white" if of.by == "rank" else colour
            axes.plot(of.bore, limit, "o", color=colour, markerfacecolor=filled, markersize=7)
    light_frame(axes, "y")
    axes.set_xticks([of.bore for of in next(iter(found.by_design.values()))])
    axes.set_xlabel("bore that fires")
    axes.set_ylabel("limit, peak pressure [bar]" if bars else "limit over the gas load")
    axes.set_ylim(bottom=0)
    axes.legend()
    return figure


def _height(of: ByBore, *, bars: bool) -> float:
    """A limit as it is drawn; not at all where none was found."""
    if of.factor is None:
        return math.nan
    return 10 * of.pressure_mpa if bars and of.pressure_mpa is not None else of.factor
