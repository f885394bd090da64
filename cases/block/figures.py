"""The section with its parts, and the inserts side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cases.base.figures import COLUMN, cell_grid, new_figure, shape_of
from geometry.drawing import draw_section_picture, view_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

    from cases.base.subject import Drawn


def section_figure(design: Drawn) -> Figure:
    """The section about the firing bore, with its parts and clock ring; sizes stand beside it."""
    view = view_of(design.section.block)
    left, foot, wide = 0.62, 1.35, COLUMN - 0.67
    height = wide * shape_of(view) + foot + 0.05
    figure = new_figure(COLUMN, height)
    place = left / COLUMN, foot / height, wide / COLUMN, 1 - (foot + 0.05) / height
    axes = figure.add_axes(place)
    legend = draw_section_picture(axes, design.section, design.outline, view, names=True)
    axes.set_xlabel("x from the firing bore's axis [mm], from above")
    axes.set_ylabel("y [mm]")
    axes.legend(
        handles=legend, loc="upper center", bbox_to_anchor=(0.5, -0.44 / (height - foot)), ncols=2,
        columnspacing=1.4, handlelength=1.6,
    )  # fmt: skip
    return figure


def inserts_figure(designs: Sequence[Drawn]) -> Figure:
    """Every design's section beside the others, with the depth of its insert."""
    view = view_of(designs[0].section.block)
    figure, cells, spare = cell_grid(len(designs), view, foot=1.15)
    legend: dict[str, Patch] = {}
    for cell, design in zip(cells, designs, strict=True):
        axes = figure.add_axes(cell)
        patches = draw_section_picture(axes, design.section, design.outline, view)
        legend |= {str(patch.get_label()): patch for patch in patches}
        axes.set_title(design.name, fontweight="bold")
        axes.set(xticks=[], yticks=[])
    if spare is None:
        place = {"loc": "lower center", "ncols": 2}
    else:
        left, low, wide, high = spare
        place = {"loc": "center", "bbox_to_anchor": (left + wide / 2, low + high / 2)}
    figure.legend(handles=list(legend.values()), **place)
    return figure
