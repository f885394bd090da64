"""Pictures of what designs stand: ladder, Haigh diagrams, strength used, causes of the spread."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from cases.base.figures import COLUMN, light_frame, line_styles, new_figure
from cases.gas.solve import GasLoad
from cases.rating.depth_words import told_governs
from cases.rating.flaws import fatigue_left
from cases.rating.given import rating_given
from cases.rating.result import DISTANCE, is_rated, rating_of
from cases.rating.shares import counted, kept_at, wanted_cycles
from cases.rating.words import (
    NO_BOUND,
    count_words,
    haigh_spot,
    haigh_spots,
    limit_words,
    no_limit_words,
)
from fea.hotspots import APART
from fea.strength import MEAN_LINES, allowed_amplitude
from geometry.drawing import INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from cases.case import Case
    from cases.rating.result import RatedSpot
    from cases.stress.result import DesignResult

LIMIT_COLOUR, BAND_COLOUR = "#0072B2", "#BFD9EA"
ASKED_COLOUR = "#7A2E00"
MEAN_DASHES = dict(zip(MEAN_LINES, ("-", "--", "-."), strict=True))
LEGEND_COLUMNS = 3
SHOWN_SHARE = 3.0
"""Shares of a strength beyond this many times the limit are cut off at the end of the axis."""
TOGETHER = 0.05
"""Points of a Haigh diagram nearer than this share of its height bear one label."""
WIDEST_WORDS = 56
"""Letters of a line on the ladder."""
WIDEST_NAME = 18
"""Letters of a line beside bars."""


def rating_figures(
    case: Case, gas: GasLoad, designs: Sequence[DesignResult]
) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each picture of the ratings."""
    rated = [design for design in designs if is_rated(design)]
    yield "ladder", ladder_figure(gas, rated)
    fatigued = [design for design in rated if haigh_spot(case, design)]
    if fatigued:
        yield "haigh", haigh_figure(case, fatigued)
    if any(rating_of(design).used for design in rated):
        yield "strength-used", used_figure(rated)
    if any((band := rating_of(design).told_band) and band.causes for design in rated):
        yield "spread", spread_figure(rated)


def ladder_figure(gas: GasLoad, designs: Sequence[DesignResult]) -> Figure:
    """Limits one under another: against power where an engine gives it, else against peak pressure.

    A dot is the limit as drawn, by the solid where there is one, a bar the 5 to 95 % band, with a
    mark at its median.
    """
    load = gas.cycle
    foot, pitch = 1.15, 0.85
    height = foot + 0.35 + pitch * len(designs)
    figure = new_figure(COLUMN, height)
    left = 0.2 + 0.075 * max(len(design.name) for design in designs)
    box = left / COLUMN, foot / height, 0.97 - left / COLUMN, pitch * len(designs) / height
    axes = figure.add_axes(box)
    asked = 10 * gas.read(gas.peak_pressure) if load is None else load.power
    unit, scale = ("bar", 10) if load is None else ("kW", 1)
    largest = asked
    spans: dict[int, Sequence[float | None]] = {}
    for place, design in enumerate(designs):
        rating = rating_of(design)
        limit, band, solid = rating.stands, rating.told_band, rating.solid
        value = None if limit is None else limit.power_kw if load else limit.pressure_mpa
        if band is not None:
            spans[place] = band.power_kw if load else band.pressure_mpa
        if limit is None:
            words = (
                f"over {solid.tried:.1f} times what is asked" if solid else no_limit_words(rating)
            )
        elif limit.factor == 0:
            words = "used up with no gas at all"
        elif value is None:
            words = f"{limit_words(limit)} times what is asked, no boost known"
        else:
            value *= scale
            axes.plot(value, place, "o", color=LIMIT_COLOUR, markersize=8, zorder=4)
            most = "at most " if limit.at_most else ""
            words = f"{most}{value:.0f} {unit}, {limit.factor:.2f} times what is asked"
            largest = max(largest, value)
        governs = textwrap.fill(told_governs(rating), WIDEST_WORDS)
        axes.annotate(
            f"{words}\n{governs}", (0.015, place + 0.22), xycoords=("axes fraction", "data"),
            va="top", fontsize=7.5, linespacing=1.3, zorder=5,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
        )  # fmt: skip
    end = 1.06 * max(largest, *(scale * one for span in spans.values() for one in span if one), 0)
    for place, span in spans.items():
        _draw_band(axes, place, [one and scale * one for one in span], end)
    axes.axvline(asked, color=ASKED_COLOUR, linestyle="--", zorder=3)
    axes.annotate(
        f"asked: {asked:.0f} {unit}", (asked, 1), xycoords=("data", "axes fraction"), xytext=(0, 4),
        textcoords="offset points", ha="center", va="bottom", color=ASKED_COLOUR,
    )  # fmt: skip
    axes.set(xlim=(0, end), ylim=(len(designs) - 0.3, -0.3))
    axes.set_yticks(range(len(designs)), [design.name for design in designs])
    axes.set_xlabel(
        "peak pressure of the mean cycle [bar]"
        if load is None
        else "brake power of the engine [kW]"
    )
    light_frame(axes, "x")
    axes.tick_params(axis="y", length=0)
    _ladder_legend(figure, any(rating_of(design).told_band for design in designs))
    return figure


def _draw_band(axes: Axes, place: int, span: Sequence[float | None], end: float) -> None:
    """A band with its median; an arrow at an end that no engine gives."""
    low, median, high = span
    if low is None and high is None:
        return
    left, right = low or 0.0, high or end
    axes.barh(place, right - left, left=left, height=0.3, color=BAND_COLOUR, zorder=2)
    if median is not None:
        axes.plot([median] * 2, [place - 0.15, place + 0.15], color=INK, linewidth=1.4)
    for at, sign in ((low, "<"), (high, ">")):
        if at is None:
            axes.plot(left if sign == "<" else right, place, sign, color=INK, clip_on=False)


def _ladder_legend(figure: Figure, banded: bool) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    signs: list[Line2D | Patch] = [
        Line2D([], [], marker="o", linestyle="", color=LIMIT_COLOUR, markersize=8,
               label="limit of the design as drawn"),
    ]  # fmt: skip
    if banded:
        signs += [
            Patch(color=BAND_COLOUR, label="5 to 95 % of the draws"),
            Line2D([], [], marker="|", linestyle="", color=INK, markersize=11, markeredgewidth=1.4,
                   label="their median"),
        ]  # fmt: skip
    figure.legend(handles=signs, loc="lower left", bbox_to_anchor=(0.02, 0.0), ncols=1,
                  handlelength=1.4, fontsize=8, labelspacing=0.3)  # fmt: skip


def haigh_figure(case: Case, designs: Sequence[DesignResult]) -> Figure:
    """Mean against amplitude: what the block's metal bears, and the worst places of each design."""
    from matplotlib.lines import Line2D

    columns = min(len(designs), 2)
    rows = math.ceil(len(designs) / columns)
    height = 3.4 * rows + 1.4
    width = columns * COLUMN
    figure = new_figure(width, height)
    panels = np.ravel(figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False))
    figure.subplots_adjust(
        left=0.6 / width, right=1 - 0.1 / width, bottom=0.5 / height, top=1 - 1.25 / height,
        wspace=0.2, hspace=0.36,
    )  # fmt: skip
    for axes in panels[len(designs) :]:
        axes.set_visible(False)
    highest = max(_draw_haigh(axes, case, one) for axes, one in zip(panels, designs, strict=False))
    panels[0].set_ylim(0, 1.1 * highest)
    for axes, design in zip(panels, designs, strict=False):
        _label_spots(axes, haigh_spots(case, design))
    for axes in panels[: len(designs)]:
        axes.set_ylabel("amplitude [MPa]")
        axes.tick_params(labelbottom=True, labelleft=True)
        axes.set_xlabel("mean of the cycle [MPa]")
    chosen = rating_given(case).mean_stress
    signs = [
        Line2D([], [], color=INK, linestyle=dash, linewidth=2.4 if line == chosen else 0.9,
               label=f"{line}, chosen" if line == chosen else line)
        for line, dash in MEAN_DASHES.items()
    ]  # fmt: skip
    signs += [
        Line2D([], [], marker="o", linestyle="", color=ASKED_COLOUR, markersize=6,
               label="at the asked gas load, worst first"),
        Line2D([], [], marker="D", linestyle="", markeredgecolor=LIMIT_COLOUR,
               markerfacecolor="white", markeredgewidth=1.6, markersize=7,
               label="governing place at the limit"),
    ]  # fmt: skip
    figure.legend(handles=signs, loc="upper center", bbox_to_anchor=(0.5, 1.0), ncols=2,
                  handlelength=2.4, labelspacing=0.4, columnspacing=1.2, fontsize=8)  # fmt: skip
    return figure


def _draw_haigh(axes: Axes, case: Case, design: DesignResult) -> float:
    """One diagram; the largest amplitude in it."""
    at = haigh_spot(case, design)
    assert at is not None
    wishes, material = rating_given(case), case.materials["barrel"]
    cycles = wanted_cycles(case, at.state)
    left = fatigue_left(wishes, material, at.spot.part, at.judged_by == DISTANCE)
    strength = counted(
        wishes, material, at.temperature_degc, cycles=cycles,
        strength=kept_at(material, at.been_degc), left=left,
    )  # fmt: skip
    assert strength.tensile_mpa is not None
    assert strength.fatigue_mpa is not None
    tensile, fatigue = float(strength.tensile_mpa), float(strength.fatigue_mpa)
    spots = haigh_spots(case, design)
    limit = at if at is rating_of(design).governing and rating_of(design).limit else None
    points = [*spots, *([limit] if limit else [])]
    low = min(-0.1 * tensile, *(1.15 * spot.mean_mpa for spot in points))
    mean = np.linspace(low, tensile, 400, endpoint=False)
    for line, dash in MEAN_DASHES.items():
        borne = allowed_amplitude(mean, line, strength=fatigue, tensile=tensile)
        chosen = line == wishes.mean_stress
        axes.plot(
            np.append(mean, mean[-1]),
            np.append(borne, 0),
            dash,
            color=INK,
            linewidth=2.4 if chosen else 0.9,
            zorder=2,
        )
    axes.axvline(0, color=INK, linewidth=0.6)
    axes.plot([spot.mean_mpa for spot in spots],
              [spot.amplitude_mpa for spot in spots], "o", color=ASKED_COLOUR,
              markersize=6, zorder=3)  # fmt: skip
    if limit:
        axes.plot(limit.mean_mpa, limit.amplitude_mpa, "D", markeredgecolor=LIMIT_COLOUR,
                  markerfacecolor="white", markeredgewidth=1.6, markersize=7, zorder=4)  # fmt: skip
        same = [spot for spot in spots if _same_place(spot, limit)]
        if same:
            axes.plot([same[0].mean_mpa, limit.mean_mpa],
                      [same[0].amplitude_mpa, limit.amplitude_mpa], ":", color=LIMIT_COLOUR,
                      linewidth=1.2, zorder=1)  # fmt: skip
    axes.set_title(
        f"{design.name}\n{material.name} at {at.temperature_degc:.0f} degC"
        f"{'' if at.been_degc is None else f' after {at.been_degc:.0f}'}, "
        f"{count_words(cycles)} cycles {at.state}", loc="left", fontsize=8.5,
    )  # fmt: skip
    light_frame(axes, "both")
    return max(fatigue, *(spot.amplitude_mpa for spot in points))


def _same_place(one: RatedSpot, other: RatedSpot) -> bool:
    """Whether two spots, at two gas loads, are one place."""
    away = math.hypot(one.spot.x_mm - other.spot.x_mm, one.spot.y_mm - other.spot.y_mm)
    return one.spot.part == other.spot.part and away < APART


def _label_spots(axes: Axes, spots: Sequence[RatedSpot]) -> None:
    """Ranks beside the points; points that lie together share one label."""
    (left, right), (_, top) = axes.get_xlim(), axes.get_ylim()
    groups: list[tuple[float, float, list[int]]] = []
    for rank, spot in enumerate(spots, start=1):
        x, y = (spot.mean_mpa - left) / (right - left), spot.amplitude_mpa / top
        for gx, gy, ranks in groups:
            if abs(x - gx) < TOGETHER and abs(y - gy) < TOGETHER:
                ranks.append(rank)
                break
        else:
            groups.append((x, y, [rank]))
    for x, y, ranks in groups:
        axes.annotate(
            ", ".join(map(str, ranks)), (x, y), xycoords="axes fraction", xytext=(6, 4),
            textcoords="offset points", fontsize=8, color=ASKED_COLOUR, zorder=3.5,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5, "alpha": 0.8},
        )  # fmt: skip


def used_figure(designs: Sequence[DesignResult]) -> Figure:
    """Share of each strength that is used at the asked gas load, by criterion and state."""
    shares = {design.name: rating_of(design).used for design in designs}
    figure, axes = _grouped_bars(shares, "{:.2f}", cut=SHOWN_SHARE)
    axes.axvline(1, color=ASKED_COLOUR, linestyle="--", linewidth=1.4)
    axes.set_xlabel("share of the strength that is used\nat the asked gas load; 1 is the limit")
    return figure


def spread_figure(designs: Sequence[DesignResult]) -> Figure:
    """Share of the spread of each limit by each input alone."""
    shares = {}
    for design in designs:
        band = rating_of(design).told_band
        causes = band.causes if band else {}
        shares[design.name] = {name: 100 * share for name, share in causes.items()}
    figure, axes = _grouped_bars(shares, "{:.0f} %", cut=math.inf)
    axes.set_xlabel("share of the spread of the limit\nby each input alone [%]")
    return figure


def _grouped_bars(
    shares: Mapping[str, Mapping[str, float]], form: str, cut: float
) -> tuple[Figure, Axes]:
    """Horizontal bars in groups by name, one bar for each design that has a value there."""
    styles = line_styles(len(shares))
    drawn = {design: (colour, values) for (colour, _), (design, values)
             in zip(styles, shares.items(), strict=True) if values}  # fmt: skip
    names = list(dict.fromkeys(name for row in shares.values() for name in row))
    largest = max((value for row in shares.values() for value in row.values()), default=1.0)
    end = 1.14 * max(min(largest, cut), 1.0)
    thick = 0.8 / len(drawn)
    words = [textwrap.fill(name, WIDEST_NAME) for name in names]
    body = len(names) * (0.17 * len(drawn) + 0.16)
    height = body + 0.85 + 0.2 * math.ceil(len(drawn) / LEGEND_COLUMNS)
    figure = new_figure(COLUMN, height)
    left = 0.2 + 0.07 * max(len(line) for one in words for line in one.split("\n"))
    axes = figure.add_axes((left / COLUMN, 0.6 / height, 0.97 - left / COLUMN, body / height))
    for row, (design, (colour, values)) in enumerate(drawn.items()):
        at = [place - 0.4 + (row + 0.5) * thick for place, name in enumerate(names)
              if name in values]  # fmt: skip
        lengths = [values[name] for name in names if name in values]
        axes.barh(at, [min(value, end) for value in lengths], height=0.92 * thick, color=colour,
                  label=design)  # fmt: skip
        for place, value in zip(at, lengths, strict=True):
            said = NO_BOUND if math.isinf(value) else form.format(value)
            inside = value > 0.93 * end
            axes.annotate(
                said, (min(value, end), place), xytext=(-3 if inside else 3, 0),
                textcoords="offset points", va="center", ha="right" if inside else "left",
                fontsize=7.5, color="white" if inside else INK, zorder=5,
                bbox=None if inside else {"facecolor": "white", "edgecolor": "none", "pad": 0.4},
            )  # fmt: skip
    axes.set(xlim=(0, end), ylim=(len(names) - 0.5, -0.5))
    axes.set_yticks(range(len(names)), words)
    light_frame(axes, "x")
    axes.tick_params(axis="y", length=0)
    figure.legend(loc="upper right", bbox_to_anchor=(0.99, 0.995), ncols=LEGEND_COLUMNS,
                  handlelength=1.4)  # fmt: skip
    return figure, axes
