"""The block from above with the insert of the verdict, and the places that govern, numbered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cases.base.figures import COLUMN, new_figure, shape_of
from cases.verdict.result import Verdict
from geometry.drawing import INK, draw_plan, view_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.stress.result import CaseResult


def plan_figure(result: CaseResult, verdict: Verdict) -> Figure:
    """The section about the firing bore, and up to three places in it; nothing else.

    Parameters
    ----------
    result : CaseResult
    verdict : Verdict
    """
    design = next(one for one in result.designs if one.name == verdict.choice.design)
    view = view_of(design.section.block)
    figure = new_figure(COLUMN, COLUMN * shape_of(view))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    draw_plan(axes, design.section, design.outline, view)
    axes.set_axis_off()
    for number, place in enumerate(verdict.row.places, 1):
        axes.text(
            place.x_mm, place.y_mm, str(number), ha="center", va="center", fontsize=11,
            fontweight="bold", color="white", zorder=8,
            bbox={"boxstyle": "circle,pad=0.2", "facecolor": "#8A1A10", "edgecolor": INK},
        )  # fmt: skip
    return figure
