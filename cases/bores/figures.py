"""Limits by the bore that fires."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cases.bores.result import BoresFound

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def bores_figure(found: BoresFound) -> Figure:
    """A line a design over the bores; filled where a bore was judged."""
    from cases.base.figures import light_frame, line_styles, new_figure

    figure = new_figure(7.0, 3.4)
    axes = figure.add_axes((0.1, 0.16, 0.86, 0.72))
    bars = all(of.pressure_mpa for bores in found.by_design.values() for of in bores)
    styles = line_styles(len(found.by_design))
    for (name, bores), (colour, dash) in zip(found.by_design.items(), styles, strict=True):
        known = [(of, 10 * (of.pressure_mpa or 0.0) if bars else of.factor or 0.0) for of in bores]
        axes.plot(
            [of.bore for of, _ in known], [y for _, y in known], dash, color=colour, label=name
        )
        for of, y in known:
            judged = of.by != "rank"
            axes.plot(
                of.bore, y, "o", color=colour, markerfacecolor=colour if judged else "white",
                markersize=7,
            )  # fmt: skip
    light_frame(axes, "y")
    axes.set_xticks([of.bore for of in next(iter(found.by_design.values()))])
    axes.set_xlabel("bore that fires")
    axes.set_ylabel("limit, peak pressure [bar]" if bars else "limit over the gas load")
    axes.set_ylim(bottom=0)
    axes.legend()
    return figure
