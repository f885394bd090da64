"""Pictures of the gas: pressure and load by crank angle, largest pressure by depth."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from cases.base.figures import BANDS, COLUMN, light_frame, line_styles, new_figure
from geometry.drawing import INK

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.case import Case
    from cases.gas.wall_load import WallLoad

SHOWN = (-120.0, 150.0)
"""Crank angles that are drawn: before and after them the pressure is low. [deg]."""
PRESSURE_COLOUR, LOAD_COLOUR = "#7A2E00", "#5B3A8C"
DEEPEST = 2.5
"""Depth that is drawn, in section depths."""


def gas_figures(case: Case, load: WallLoad) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each picture."""
    yield "gas", crank_figure(load)
    yield "pressure-by-depth", depth_figure(case, load)


def crank_figure(load: WallLoad) -> Figure:
    """Pressure on the wall, and load of the section, against crank angle."""
    figure = new_figure(COLUMN, 4.2)
    pressure, line = figure.subplots(2, 1, sharex=True)
    figure.subplots_adjust(left=0.14, right=0.97, top=0.98, bottom=0.12, hspace=0.14)
    marks = (
        (pressure, 10 * load.pressure, 10 * load.peak, load.curve.peak_deg, "bar", PRESSURE_COLOUR),
        (line, load.line_loads, load.line_load, load.line_load_deg, "N/mm", LOAD_COLOUR),
    )
    for axes, values, most, deg, unit, colour in marks:
        axes.plot(load.deg, values, color=colour)
        axes.plot([deg], [most], "o", color=colour, markersize=5)
        axes.annotate(
            f"{most:.0f} {unit} at {deg:.0f} deg", (deg, most), xytext=(0, 6),
            textcoords="offset points", ha="center",
        )  # fmt: skip
        axes.axvline(0, color=INK, linewidth=0.6)
        axes.set_ylim(min(0.0, 1.05 * float(values.min())), 1.2 * most)
        light_frame(axes, "y")
    pressure.set_ylabel("pressure on the wall [bar]")
    line.set_ylabel("load of the section [N/mm]")
    line.set_xlim(SHOWN)
    line.set_xticks(range(-120, 151, 60))
    line.set_xlabel("crank angle after the top of the firing stroke [deg]")
    return figure


def depth_figure(case: Case, load: WallLoad) -> Figure:
    """Largest pressure that each depth ever sees, with the depths of the inserts drawn in."""
    lines = 4 + sum(design.insert is not None for design in case.designs)
    foot = 0.55 + 0.2 * math.ceil(lines / 2)
    height = 3.3 + foot
    figure = new_figure(COLUMN, height)
    axes = figure.add_axes((0.14, foot / height, 0.83, 3.2 / height))
    deepest = min(DEEPEST * case.section_depth, float(load.reach(180.0)))
    depth = np.linspace(0, deepest, 501)
    axes.fill_betweenx(depth, 10 * load.largest(depth), color="#D55E00", alpha=0.16)
    axes.plot(10 * load.largest(depth), depth, color=PRESSURE_COLOUR, label="largest pressure ever")
    worst = float(load.pressure[int(np.argmax(load.line_loads))])
    reach = float(load.reach(load.line_load_deg))
    axes.plot(
        [10 * worst, 10 * worst, 0], [0, reach, reach], color=LOAD_COLOUR, linestyle="-.",
        label=f"at {load.line_load_deg:.0f} deg, section loaded most",
    )  # fmt: skip
    axes.axhline(
        case.section_depth, color=INK, linewidth=1.1, label=f"section, {case.section_depth:.1f} mm"
    )
    cuts = [cut.depth for cut in case.block.relief_cuts]
    if cuts:
        axes.axhline(
            max(cuts), color=BANDS["relief cut"], linewidth=3,
            label=f"deepest relief cut, {max(cuts):g} mm",
        )  # fmt: skip
    for (colour, dash), design in zip(line_styles(len(case.designs)), case.designs, strict=True):
        if design.insert is None:
            continue
        ends = sorted({design.insert.depth, design.insert.deepest})
        words = " to ".join(f"{end:g}" for end in ends)
        for end in ends:
            axes.axhline(
                end, color=colour, linestyle=dash, linewidth=1.2,
                label=f"insert {design.name}, {words} mm" if end == ends[0] else None,
            )  # fmt: skip
    axes.set(xlim=(0, 10.5 * load.peak), ylim=(deepest, 0))
    axes.set_xlabel("pressure on the bore wall [bar]")
    axes.set_ylabel("depth below the deck [mm]")
    axes.spines[["top", "right"]].set_visible(False)
    figure.legend(loc="lower center", ncols=2, fontsize=8, handlelength=2.2, columnspacing=1.2)
    return figure
