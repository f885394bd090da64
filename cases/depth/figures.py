"""Pictures of the depth section: the barrel from the side, curves by depth, what depth buys."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from cases.base.figures import BANDS, COLUMN, light_frame, line_styles, new_figure
from cases.depth.result import Array, DepthResult, DesignDepth, Pressure
from geometry.clock import format_clock
from geometry.drawing import DEEPER, FILLS, INK, WATER

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

GAS_COLOUR, ENVELOPE_COLOUR = "#7A2E00", "#5B3A8C"
SHOWN = 2.2
"""Depth to which curves are drawn, in section depths: below it nothing happens."""
LEGEND_COLUMNS = 2


def depth_figures(result: DepthResult) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each picture."""
    yield "depth-view", view_figure(result)
    yield "depth", curves_figure(result)
    if any(design.sweep for design in result.designs):
        yield "insert-depth", sweep_figure(result)


def view_figure(result: DepthResult) -> Figure:
    """The barrel of each design cut along the bore, at the clock position that is looked at."""
    count = len(result.designs)
    figure = new_figure(max(8.4, 2.3 * count), 6.4)
    cells = np.atleast_1d(figure.subplots(1, count, sharey=True))
    figure.subplots_adjust(left=0.085, right=0.985, top=0.94, bottom=0.17, wspace=0.22)
    widest = max(wall.outer for wall in result.walls)
    reach = widest + 1.1 * (widest - result.bore_radius)
    for axes, design in zip(cells, result.designs, strict=True):
        _draw_side(axes, result, design.insert_depth, reach)
        axes.set_title(design.name, fontweight="bold")
        axes.set(xlim=(result.bore_radius - 6, reach), ylim=(1.02 * result.floor, -3))
        axes.set_xlabel("from the bore axis [mm]")
        axes.tick_params(labelleft=True)
    cells[0].set_ylabel("depth below the deck [mm]")
    handles = [_swatch(FILLS["barrel"], "barrel")]
    if result.liner_radius > result.bore_radius:
        handles.append(_swatch(FILLS["liner"], "liner"))
    if any(design.insert_depth for design in result.designs):
        handles.append(_swatch(FILLS["insert"], "backed by the insert"))
    if result.cut_depth:
        handles.append(_swatch(BANDS["relief cut"], "relief cut"))
    handles.append(_swatch(WATER, "water jacket"))
    figure.legend(handles=handles, loc="lower center", ncols=3, columnspacing=1.4)
    return figure


def _draw_side(axes: Axes, result: DepthResult, insert: float, reach: float) -> None:
    from matplotlib.patches import Rectangle

    def fill(left: float, right: float, top: float, bottom: float, colour: str) -> None:
        axes.add_patch(
            Rectangle(
                (left, top), right - left, bottom - top, facecolor=colour, edgecolor=INK,
                linewidth=0.6,
            )
        )  # fmt: skip

    plain = result.walls[-1].outer
    axes.add_patch(Rectangle((plain, 0), reach - plain, result.floor, facecolor=WATER))
    for wall in result.walls:
        fill(result.liner_radius, wall.outer, wall.top, wall.bottom, FILLS["barrel"])
        if wall.outer < plain:
            axes.add_patch(
                Rectangle(
                    (wall.outer, 0), reach - wall.outer, wall.bottom, facecolor=BANDS["relief cut"]
                )
            )
    if result.liner_radius > result.bore_radius:
        fill(result.bore_radius, result.liner_radius, 0, result.floor, FILLS["liner"])
    if insert:
        outer = next(wall.outer for wall in result.walls if wall.bottom > 0)
        fill(outer, reach, 0, insert, FILLS["insert"])
    gas = result.pressures[0].by_depth
    depth = np.linspace(0, result.floor, 61)
    pressed = gas(depth) / gas(np.zeros(1))
    tips = result.bore_radius - 0.3
    for z, share in zip(depth, pressed, strict=True):
        if share > 0.02:
            arrow = {"arrowstyle": "-|>", "color": GAS_COLOUR, "lw": 0.7, "mutation_scale": 5}
            axes.annotate("", (tips, z), (tips - 5 * share, z), arrowprops=arrow)
    axes.axhline(result.section_depth, color=INK, linewidth=0.9, linestyle=":")
    axes.annotate(
        f"H {result.section_depth:.1f} mm", (reach, result.section_depth), xytext=(-3, -3),
        textcoords="offset points", ha="right", va="top", fontsize=8,
    )  # fmt: skip
    axes.plot([result.bore_radius, plain], [result.floor] * 2, color=INK, linewidth=2.5)
    axes.annotate(
        "floor", (plain, result.floor), xytext=(4, 2), textcoords="offset points", fontsize=8
    )
    axes.spines[["top", "right"]].set_visible(False)


def _swatch(colour: str, label: str) -> Patch:
    from matplotlib.patches import Patch

    return Patch(facecolor=colour, edgecolor=INK, linewidth=0.6, label=label)


def curves_figure(result: DepthResult) -> Figure:
    """Pressure, growth and hoop stress against depth, with cut and inserts drawn in."""
    figure = new_figure(9.4, 5.6)
    gas, growth, hoop = figure.subplots(
        1, 3, sharey=True, gridspec_kw={"width_ratios": [0.62, 1, 1]}
    )
    foot = 0.135 + 0.0375 * math.ceil((len(result.designs) + 3) / LEGEND_COLUMNS)
    figure.subplots_adjust(left=0.07, right=0.985, top=0.985, bottom=foot, wspace=0.17)
    for axes in (growth, hoop):
        axes.tick_params(labelleft=True)
    shown = min(SHOWN * result.section_depth, result.floor)
    _draw_pressure(gas, result.pressures, shown)
    first = result.pressures[0].name
    styles = line_styles(len(result.designs))
    for (colour, dash), design in zip(styles, result.designs, strict=True):
        curves = design.curves[first]
        growth.plot(curves.growth_um, result.depth_mm, dash, color=colour, label=design.name)
        hoop.plot(curves.barrel_hoop_mpa, result.row_mm.mean(axis=0), dash, color=colour)
        for axes, most, at in (
            (growth, design.growth_um, design.growth_at_mm),
            (hoop, design.hoop_mpa, design.hoop_at_mm),
        ):
            axes.plot([most], [at], "o", color=colour, markersize=4.5, clip_on=False)
            if design.insert_depth:
                axes.axhline(
                    design.insert_depth, color=colour, linestyle=dash, linewidth=0.9, alpha=0.8
                )
    for axes in (gas, growth, hoop):
        axes.axvline(0, color=INK, linewidth=0.7)
        light_frame(axes, "x")
        axes.axhline(result.section_depth, color=INK, linestyle=":", linewidth=1.0)
        if result.cut_depth:
            axes.axhspan(
                0, result.cut_depth, color=BANDS["relief cut"], alpha=0.45, linewidth=0, zorder=0
            )
    gas.set_ylim(shown, 0)
    gas.set_ylabel(f"depth below the deck at {format_clock(result.clock)} [mm]")
    growth.set_xlabel("growth of the bore [um]")
    hoop.set_xlabel("hoop stress, mean of the barrel wall [MPa]")
    _curves_legend(figure, result, *growth.get_legend_handles_labels())
    return figure


def _draw_pressure(axes: Axes, pressures: Sequence[Pressure], shown: float) -> None:
    """What presses on the wall, down to a depth [mm]."""
    ends = np.array([end for one in pressures for end in one.ends if end < shown])
    depth = np.sort(np.concatenate([np.linspace(0, shown, 601), ends - 1e-6, ends + 1e-6]))
    colours = (GAS_COLOUR, ENVELOPE_COLOUR)
    for one, colour, dash in zip(pressures, colours, ("-", "-."), strict=False):
        axes.plot(10 * one.by_depth(depth), depth, dash, color=colour, label=one.name)
    axes.fill_betweenx(depth, 10 * pressures[0].by_depth(depth), color="#D55E00", alpha=0.14)
    axes.set_xlabel("pressure on the wall [bar]")
    if len(pressures) > 1:
        axes.legend(loc="lower right", fontsize=8)


def _curves_legend(
    figure: Figure, result: DepthResult, handles: list[Artist], labels: list[str]
) -> None:
    """The designs, and the levels that are drawn in."""
    from matplotlib.lines import Line2D

    handles.append(Line2D([], [], color=INK, linestyle=":", linewidth=1.0))
    labels.append(f"section depth {result.section_depth:.1f} mm")
    handles.append(Line2D([], [], color="#777777", linewidth=0.9))
    labels.append("level: underside of that insert")
    if result.cut_depth:
        handles.append(_swatch(BANDS["relief cut"], ""))
        labels.append(f"relief cut, {result.cut_depth:g} mm deep")
    figure.legend(
        handles, labels, loc="lower center", ncols=LEGEND_COLUMNS, handlelength=2.2,
        columnspacing=1.2, fontsize=8,
    )  # fmt: skip


def sweep_figure(result: DepthResult) -> Figure:
    """What a deeper insert leaves of growth and stress, and what its next millimetre takes off."""
    figure = new_figure(2 * COLUMN, 6.4)
    rows = figure.subplots(2, 2, sharex=True)
    figure.subplots_adjust(left=0.085, right=0.985, top=0.93, bottom=0.085, wspace=0.28, hspace=0.2)
    styles = line_styles(len(result.designs))
    for style, design in zip(styles, result.designs, strict=True):
        if sweep := design.sweep:
            growth = sweep.growth_um, sweep.growth_gain, sweep.enough_growth_mm
            hoop = sweep.hoop_mpa, sweep.hoop_gain, sweep.enough_hoop_mm
            for column, of in ((rows[:, 0], growth), (rows[:, 1], hoop)):
                _draw_sweep(column, design, sweep.depth_mm, *of, style)
    labels = (
        "largest growth [um]", "largest hoop stress of the wall [MPa]",
        "the next mm takes off\n[% of the bare growth]",
        "the next mm takes off\n[% of the bare stress]",
    )  # fmt: skip
    for axes, label in zip(rows.ravel(), labels, strict=True):
        axes.set_ylabel(label)
        axes.tick_params(labelbottom=True)
        light_frame(axes, "y")
    for axes in rows[0]:
        axes.set_ylim(bottom=0)
    sweeps = [design.sweep for design in result.designs if design.sweep]
    for axes, gains in (
        (rows[1, 0], [sweep.growth_gain for sweep in sweeps]),
        (rows[1, 1], [sweep.hoop_gain for sweep in sweeps]),
    ):
        _dress_gains(axes, result, gains)
    handles, names = rows[0, 0].get_legend_handles_labels()
    figure.legend(
        handles, names, loc="upper right", ncols=min(len(names), 2 * LEGEND_COLUMNS),
        handlelength=2.8, bbox_to_anchor=(0.99, 0.995),
    )  # fmt: skip
    return figure


def _draw_sweep(
    column: Sequence[Axes],
    design: DesignDepth,
    depth: Array,
    values: Array,
    gain: Array,
    enough: float | None,
    style: tuple[str, str],
) -> None:
    """One value of a design by the depth of its insert, and what each further millimetre gains."""
    value, gained = column
    colour, dash = style
    value.plot(depth, values, dash, color=colour, label=design.name)
    place = float(np.interp(design.insert_depth, depth, values))
    value.plot([design.insert_depth], [place], "o", color=colour, markersize=5)
    gained.plot((depth[:-1] + depth[1:]) / 2, 100 * gain, dash, color=colour)
    if enough is not None:
        for axes in (value, gained):
            axes.axvline(enough, color=colour, linestyle=dash, linewidth=0.9, alpha=0.8)


def _dress_gains(axes: Axes, result: DepthResult, gains: Sequence[Array]) -> None:
    """What is asked of a millimetre, and the ends of the axis."""
    asked = 100 * result.least_gain
    axes.axhline(0, color=INK, linewidth=0.7)
    axes.axhline(asked, color=DEEPER, linewidth=1.1)
    axes.annotate(
        f"asked: {asked:g} %", (result.section_depth, asked),
        xytext=(0, 3), textcoords="offset points", ha="right", fontsize=8,
    )  # fmt: skip
    axes.set_xlabel(f"depth of the insert at {format_clock(result.clock)} [mm]")
    least = min(-0.3, *(110 * float(gain.min()) for gain in gains))
    axes.set_ylim(least, _room(gains, result.least_gain))


def _room(gains: Sequence[Array], least: float) -> float:
    """Upper end of the axis of gains, beyond which the first two millimetres may go. [%]."""
    return 100 * max(2.5 * least, *(1.3 * float(np.max(gain[2:], initial=0.0)) for gain in gains))
