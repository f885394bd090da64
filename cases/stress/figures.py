"""Stress and growth against clock position, and the designs compared."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from cases.base.figures import (
    BANDS,
    COLUMN,
    clock_axis,
    light_frame,
    line_styles,
    magnification,
    new_figure,
    polar_axes,
)
from cases.base.parts import PARENT_PARTS
from cases.block.features import features
from cases.stress.spots import rated_worst
from cases.stress.traces import barrel_face, bore_wall
from geometry.drawing import INK
from geometry.section import Block

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from cases.stress.result import DesignResult


LEGEND_COLUMNS = 3
LETTER = 0.055
"""Width of a letter of 7.5 points. [inch]."""


def clock_figure(designs: Sequence[DesignResult]) -> Figure:
    """Hoop stress against clock position, on the bore wall and at the barrel's outer side."""
    head = 0.62 + 0.2 * math.ceil(len(designs) / LEGEND_COLUMNS)
    height = 4.3 + head
    figure = new_figure(COLUMN, height)
    block = designs[0].section.block
    top, low = figure.subplots(2, 1, sharex=True)
    figure.subplots_adjust(
        left=0.67 / COLUMN, right=0.97, top=1 - head / height, bottom=0.45 / height, hspace=0.1
    )
    innermost = "liner" if block.liner else "barrel"
    for (colour, dash), design in zip(line_styles(len(designs)), designs, strict=True):
        wall = bore_wall(design)
        hours = np.concatenate([wall.clock_hours, wall.clock_hours[:1] + 12])
        top.plot(hours, np.append(wall.hoop_mpa, wall.hoop_mpa[0]), dash, color=colour,
                 label=design.name)  # fmt: skip
        face = barrel_face(design)
        hours = np.append(face.clock_hours, 12.0)
        low.plot(hours, np.append(face.hoop_mpa, face.hoop_mpa[0]), dash, color=colour)
    for axes, place in (
        (top, f"on the bore wall ({innermost})"),
        (low, "at the barrel's outer side"),
    ):
        axes.set_ylabel(f"{place}\nhoop stress [MPa]")
        light_frame(axes, "y")
        axes.axhline(0.0, color=INK, linewidth=0.8)
        for feature in features(block):
            for turn in (-12.0, 0.0, 12.0):
                left = max(0.0, feature.clock_hours - feature.half_width + turn)
                right = min(12.0, feature.clock_hours + feature.half_width + turn)
                if left < right:
                    axes.axvspan(left, right, color=BANDS[feature.kind], linewidth=0, zorder=0)
    _name_bands(top, block)
    clock_axis(low)
    figure.legend(
        *top.get_legend_handles_labels(), loc="upper right", bbox_to_anchor=(0.99, 0.995),
        ncols=LEGEND_COLUMNS, handlelength=2.4, columnspacing=1.2,
    )  # fmt: skip
    return figure


def _name_bands(axes: Axes, block: Block) -> None:
    """Names of the bands along the top, each on the lowest of three levels that has room."""
    inches = axes.get_position().width * COLUMN
    ends = [-1.0, -1.0, -1.0]  # of the last name on each level [h]
    for feature in features(block):
        words = feature.kind if feature.kind == "next bore" else feature.label
        half = 6 * LETTER * len(words) / inches
        at = min(max(feature.clock_hours, half), 12 - half)
        level = next((of for of, end in enumerate(ends) if at - half > end), len(ends) - 1)
        ends[level] = at + half
        axes.annotate(
            words, (at, 1.0),
            xycoords=("data", "axes fraction"), xytext=(0, 3 + 10 * level),
            textcoords="offset points", ha="center", va="bottom", fontsize=7.5,
        )  # fmt: skip


def bore_growth_figure(designs: Sequence[DesignResult]) -> Figure:
    """Bore growth on a polar plot, magnified, 12:00 on top and clockwise."""
    head = 0.5 + 0.2 * len(designs)
    side = 0.78 * COLUMN
    height = side + head + 0.3
    figure = new_figure(COLUMN, height)
    axes = figure.add_axes((0.11, 0.3 / height, 0.78, side / height), projection="polar")
    radius = designs[0].section.block.bore / 2
    growths = [np.asarray(design.bore.growth_um) for design in designs]
    magnified = magnification(radius, growths)
    curves = []
    for (colour, dash), design, growth in zip(
        line_styles(len(designs)), designs, growths, strict=True
    ):
        words = (
            f"{design.name}: mean {design.bore.mean_growth_um:.1f} um, "
            f"out of round {design.bore.out_of_round_um:.1f} um"
        )
        curves.append((growth, dash, colour, words))
    polar_axes(axes, radius, growths, magnified, curves)
    axes.text(
        0.5, 0.5,
        f"growth outward [um],\nmagnified {magnified:g} times\non a bore to scale;\n"
        "thin circle: at rest",
        transform=axes.transAxes, ha="center", va="center", linespacing=1.4, fontsize=8,
    )  # fmt: skip
    figure.legend(loc="upper center", bbox_to_anchor=(0.5, 0.995), ncols=1, handlelength=3)
    return figure


ABREAST = 3
"""Panels side by side."""


def designs_figure(designs: Sequence[DesignResult]) -> Figure:
    """Bars: worst stress in block and liner, bore growth, open water area and insert metal."""
    block, liner = ([_worst(one, parts) for one in designs] for parts in (PARENT_PARTS, ("liner",)))
    bars = [
        ("worst stress in\nthe block", block, "{:.0f} MPa"),
        ("worst stress in\nthe liner", liner, "{:.0f} MPa"),
        ("mean bore\ngrowth", [one.bore.mean_growth_um for one in designs], "{:.1f} um"),
        ("out of round\n", [one.bore.out_of_round_um for one in designs], "{:.1f} um"),
        ("open water at\nthe deck", [one.open_area_mm2 for one in designs], "{:.0f} mm2"),
        ("insert metal at\nthe deck", [one.insert_area_mm2 for one in designs], "{:.0f} mm2"),
    ]
    if not designs[0].section.block.liner:
        del bars[1]
    names = 0.25 + 0.085 * max(len(design.name) for design in designs)
    rows = math.ceil(len(bars) / ABREAST)
    wide, body, head = 1.62, 0.3 + 0.34 * len(designs), 0.55
    width, height = ABREAST * (names + wide), rows * (head + body)
    figure = new_figure(width, height)
    panels = [
        figure.add_axes(
            (
                (place % ABREAST * (names + wide) + names) / width,
                1 - (place // ABREAST + 1) * (head + body) / height + 0.1 / height,
                (wide - 0.1) / width,
                (body - 0.1) / height,
            )
        )
        for place in range(len(bars))
    ]
    places = np.arange(len(designs))
    colours = [colour for colour, _ in line_styles(len(designs))]
    for axes, (title, values, form) in zip(panels, bars, strict=True):
        axes.barh(places, np.nan_to_num(values), color=colours, height=0.62)
        largest = max(float(np.nanmax(values)) if np.isfinite(values).any() else 0.0, 1e-9)
        for place, value in zip(places, values, strict=True):
            text = form.format(value) if math.isfinite(value) else "no rated spot"
            first = values[0]
            if place and math.isfinite(value) and math.isfinite(first) and first:
                text += f" ({100 * (value / first - 1):+.0f}%)"
            inside = value > 0.5 * largest
            axes.annotate(
                text, (value if math.isfinite(value) else 0.0, place),
                xytext=(-4 if inside else 4, 0), textcoords="offset points", fontsize=8,
                va="center", ha="right" if inside else "left", color="white" if inside else INK,
            )  # fmt: skip
        axes.set_xlim(0, 1.02 * largest)
        axes.set_title(title, fontsize=9)
        axes.set_xticks([])
        axes.spines[["top", "right", "bottom"]].set_visible(False)
        axes.tick_params(length=0)
        axes.set_yticks(places, [design.name for design in designs])
        axes.invert_yaxis()
    return figure


def _worst(design: DesignResult, parts: Sequence[str]) -> float:
    spot = rated_worst(design, parts)
    return math.nan if spot is None else spot.principal_mpa
