"""Pictures of a crack: stress intensity by length, length by cycles, the crack in the section."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from cases.base.figures import COLUMN, light_frame, line_styles, new_figure
from fea.crack import Growth
from geometry.drawing import FILLS, INK, face_path

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from cases.crack.result import CrackResult, CrackSeries
    from cases.stress.result import DesignResult

AROUND = 0.55
"""Metal that is drawn around a crack, in lengths of its whole way."""
KINK = 0.16
"""Length of the strokes that show where it would turn, in lengths of its whole way."""
ABREAST = 3
"""Designs side by side."""
CRACK_COLOUR, KINK_COLOUR = "#7A0019", "#0B3C8C"
_ALONG = np.linspace(0, 1, 65)


def crack_figures(
    result: CrackResult, designs: Sequence[DesignResult]
) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each picture."""
    yield "crack-intensity", intensity_figure(result)
    yield "crack-growth", crack_growth_figure(result)
    yield "crack-place", place_figure(result, designs)


def intensity_figure(result: CrackResult) -> Figure:
    """Stress intensity against length, at gas and, where there is any, with no gas."""
    figure, axes = _column(3.6, 0.1)
    idle = any(series.idle_step for series in result.series)
    for (colour, dash), series in zip(line_styles(len(result.series)), result.series, strict=True):
        for number, run in enumerate(_runs(series)):
            label = "" if number else series.design
            axes.plot(
                series.length[run], series.told_k1[run], color=colour, linestyle=dash,
                marker="o", markersize=3.5, label=label and label + (", at gas" if idle else ""),
            )  # fmt: skip
            if series.idle_step:
                axes.plot(
                    series.length[run], series.told_idle_k1[run], color=colour, linestyle=dash,
                    linewidth=0.9, label=label and f"{label}, no gas",
                )  # fmt: skip
    law = result.given.law
    for value, words in ((law.threshold, "threshold"), (law.toughness, "toughness")):
        if value:
            axes.axhline(value, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
            axes.annotate(
                words, (0.0, value), (4, 2), xycoords=("axes fraction", "data"),
                textcoords="offset points", ha="left", va="bottom", fontsize=8,
            )  # fmt: skip
    axes.axhline(0, color=INK, linewidth=0.6)
    _mark_borders(axes, result.series[0])
    axes.set_xlim(0, 1.02 * result.series[0].path.length)
    axes.margins(y=0.1)
    axes.set_xlabel("length of the crack [mm]")
    axes.set_ylabel("stress intensity, opening [MPa √m]")
    _finish(axes)
    return figure


def crack_growth_figure(result: CrackResult) -> Figure:
    """Length against cycles, hours of running on top."""
    figure, axes = _column(3.0, 0.6)
    per_hour = result.given.cycles_per_hour
    lives = [s.told_growth.cycles[-1] for s in result.series if s.told_growth.cycles[-1] > 0]
    low, high = (0.003 * min(lives), 3 * max(lives)) if lives else (1.0, 1e6)
    styles = line_styles(len(result.series))
    for number, (series, (colour, dash)) in enumerate(zip(result.series, styles, strict=True)):
        growth = series.told_growth
        axes.plot(
            *_staircase(growth, low, high), color=colour, linestyle=dash,
            label=f"{series.design}\n{_ending(growth, per_hour)}", zorder=3 - 0.01 * number,
        )  # fmt: skip
        if not growth.stops:
            axes.plot([growth.life], [growth.length[-1]], "X", color=colour, markersize=7)
    axes.set_xscale("log")
    axes.set(xlim=(low, high), ylim=(0, 1.06 * result.series[0].path.length))
    axes.set_xlabel("cycles at full load")
    axes.set_ylabel("length of the crack [mm]")
    hours = axes.secondary_xaxis("top", functions=(_times(1 / per_hour), _times(per_hour)))
    hours.set_xlabel(f"hours at {result.given.speed:g} rpm")
    _finish(axes)
    axes.spines["top"].set_visible(True)
    return figure


def place_figure(result: CrackResult, designs: Sequence[DesignResult]) -> Figure:
    """The crack in the section of each design, and which way it would turn at each length."""
    columns = min(ABREAST, len(designs))
    rows = -(-len(designs) // columns)
    wide = min(COLUMN, 9.4 / columns)
    figure = new_figure(columns * wide, wide * rows + 1.0)
    foot = 1.0 / figure.get_figheight()
    legend: dict[str, Artist] = {}
    for number, (design, series) in enumerate(zip(designs, result.series, strict=True)):
        row, column = divmod(number, columns)
        high = (1 - foot) / rows
        axes = figure.add_axes(
            (
                (column + 0.04) / columns,
                foot + (rows - 1 - row + 0.02) * high,
                0.92 / columns,
                0.86 * high,
            )
        )
        legend |= _draw_place(axes, design, series)
        axes.set_title(design.name, fontweight="bold", pad=18)
        axes.annotate(
            series.told_growth.words, (0.5, 1), xycoords="axes fraction", xytext=(0, 4),
            textcoords="offset points", ha="center", va="bottom",
        )  # fmt: skip
    figure.legend(handles=list(legend.values()), loc="lower center", ncols=2)
    return figure


def _column(tall: float, head: float) -> tuple[Figure, Axes]:
    """A picture and its axes, so high, with so much room above. [inch]."""
    height = 0.55 + tall + head
    figure = new_figure(COLUMN, height)
    return figure, figure.add_axes((0.14, 0.55 / height, 0.83, tall / height))


def _runs(series: CrackSeries) -> list[slice]:
    """Lengths that stand in one metal."""
    cuts = np.searchsorted(series.length, series.path.borders[1:-1])
    ends = [0, *cuts.tolist(), len(series.length)]
    return [slice(start, end) for start, end in pairwise(ends)]


def _mark_borders(axes: Axes, series: CrackSeries) -> None:
    for border in series.path.borders[1:-1]:
        axes.axvline(border, color="#777777", linewidth=0.8, linestyle="--")
        axes.annotate(
            "the metal changes its depth", (border, 0.99), (-4, 0),
            xycoords=("data", "axes fraction"), textcoords="offset points", rotation=90,
            ha="right", va="top", fontsize=7.5, color="#444444",
        )  # fmt: skip
    axes.axvline(series.path.length, color=INK, linewidth=1.2)
    axes.annotate(
        "end of the wall", (series.path.length, 0.02), (-4, 0),
        xycoords=("data", "axes fraction"), textcoords="offset points", rotation=90,
        ha="right", va="bottom", fontsize=7.5,
    )  # fmt: skip


def _staircase(
    growth: Growth, low: float, high: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Cycles and lengths over a whole logarithmic axis."""
    cycles = np.concatenate([[low], np.maximum(growth.cycles, low)])
    length = np.concatenate([[growth.length[0]], growth.length])
    if growth.stops:
        cycles, length = np.append(cycles, high), np.append(length, growth.length[-1])
    return cycles, length


def _ending(growth: Growth, per_hour: float) -> str:
    if growth.stops:
        return f"{growth.words}, at {growth.length[-1]:.2f} mm"
    return f"{growth.words} after {growth.life:,.0f} cycles,\n{growth.life / per_hour:.3g} h"


def _times(factor: float) -> Callable[[Any], Any]:
    return lambda values: values * factor


def _finish(axes: Axes) -> None:
    """Frame, grid, and what each line is, in as many lines below as that takes."""
    light_frame(axes, "both")
    figure = axes.figure
    handles, labels = axes.get_legend_handles_labels()
    high = 0.1 + 0.17 * sum(label.count("\n") + 1 for label in labels)
    width, height = figure.get_size_inches()  # type: ignore[union-attr]
    box = axes.get_position()
    figure.set_size_inches(width, height + high)  # type: ignore[union-attr]
    axes.set_position(
        (box.x0, (box.y0 * height + high) / (height + high), box.width,
         box.height * height / (height + high))
    )  # fmt: skip
    figure.legend(  # type: ignore[union-attr]
        handles, labels, loc="lower left", bbox_to_anchor=(0.02, 0.0), fontsize=8, handlelength=3,
        labelspacing=0.3,
    )  # fmt: skip


def _draw_place(axes: Axes, design: DesignResult, series: CrackSeries) -> dict[str, Artist]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch, PathPatch

    path, outline = series.path, design.outline
    legend: dict[str, Artist] = {}
    middle, half = path.at(path.length / 2), (0.5 + AROUND) * path.length
    for face in outline.faces:
        layers = outline.regions[face.region]
        edge = np.concatenate([c.points(_ALONG) for loop in outline.loops(face) for c in loop])
        away = edge - middle
        if (np.maximum(np.abs(away.real), np.abs(away.imag)) > half).all():
            continue
        part = "insert" if any(layer.part == "insert" for layer in layers) else layers[0].part
        style: dict[str, Any] = {"facecolor": FILLS[part], "edgecolor": INK, "linewidth": 0.7}
        patch = PathPatch(face_path(outline, face), **style)
        axes.add_artist(patch)
        legend.setdefault(part, Patch(**style, label=part))
        if part == "barrel" and layers[0].top > 0:
            patch.set_hatch("/////")
            legend["floor"] = Patch(
                facecolor="white", edgecolor=INK, hatch="/////", linewidth=0.7,
                label="floor of a relief cut",
            )  # fmt: skip
    ways = np.array([path.at(way) for way in (0.0, series.told_growth.length[-1])])
    whole = np.array([path.mouth, path.at(path.length)])
    axes.plot(whole.real, whole.imag, color=CRACK_COLOUR, linewidth=1.0, linestyle=":")
    axes.plot(ways.real, ways.imag, color=CRACK_COLOUR, linewidth=2.4)
    legend["crack"] = Line2D([], [], color=CRACK_COLOUR, linewidth=2.4, label="crack, as it grows")
    legend["way"] = Line2D(
        [], [], color=CRACK_COLOUR, linewidth=1.0, linestyle=":", label="rest of its way"
    )
    stroke = KINK * path.length
    for way, kink in zip(series.length[::3], series.kink_deg[::3], strict=True):
        tip = path.at(way)
        end = tip + stroke * path.direction * np.exp(1j * np.deg2rad(kink))
        axes.annotate(
            "", (end.real, end.imag), (tip.real, tip.imag),
            arrowprops={"arrowstyle": "->", "color": KINK_COLOUR, "linewidth": 1.3,
                        "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
    legend["kink"] = Line2D(
        [], [], color=KINK_COLOUR, linewidth=1.3, marker=">", markersize=4,
        label="way it would turn from there",
    )  # fmt: skip
    axes.set_aspect("equal")
    axes.set_xlim(middle.real - half, middle.real + half)
    axes.set_ylim(middle.imag - half, middle.imag + half)
    axes.set(xticks=[], yticks=[])
    step = 2 if path.length > 4 else 1
    corner = complex(middle.real - 0.92 * half, middle.imag - 0.9 * half)
    axes.plot([corner.real, corner.real + step], [corner.imag] * 2, color=INK, linewidth=2)
    axes.text(
        corner.real + step / 2, corner.imag + 0.03 * half, f"{step} mm", ha="center", va="bottom",
        fontsize=8, bbox={"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none"},
    )  # fmt: skip
    return legend
