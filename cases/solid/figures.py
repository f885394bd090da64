"""Pictures of the solid: stress and growth against depth, the deck on top."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from cases.base.figures import COLUMN, light_frame, line_styles, new_figure
from cases.solid.profiles import stress_down
from cases.solid.result import SolidSpot
from cases.solid.words import solids
from cases.stress.result import CaseResult
from geometry.clock import hours_between
from geometry.drawing import INK

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_PLACES = 4
"""Clock positions in a picture."""
SAME_PLACE = 0.3
"""Governing spots of one part so near around the clock share a picture. [h]."""
SHOWN = 2.0
"""Depth to which curves are drawn, in section depths."""
LEGEND_COLUMNS = 3


def governing_places(result: CaseResult) -> list[SolidSpot]:
    """The worst spot of each design, those that lie at one place once, in clock order."""
    places: list[SolidSpot] = []
    for _, found in solids(result):
        spot = found.shown.governing
        if spot and not any(
            one.part == spot.part
            and abs(float(hours_between(one.clock_hours, spot.clock_hours))) < SAME_PLACE
            for one in places
        ):
            places.append(spot)
    return sorted(places[:MOST_PLACES], key=lambda one: one.clock_hours)


def solid_figures(result: CaseResult) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each picture; none where nothing is pulled."""
    places = governing_places(result)
    if places:
        yield "solid-stress", stress_figure(result, places)
        yield "solid-growth", growth_figure(result, places)


def stress_figure(result: CaseResult, places: Sequence[SolidSpot]) -> Figure:
    """Largest principal stress down the wall at each governing place, all designs."""
    figure, cells = _frame(result, places, "largest principal stress [MPa]")
    found = solids(result)
    for axes, place in zip(cells, places, strict=True):
        for (colour, dash), (design, solid) in zip(line_styles(len(found)), found, strict=True):
            depth, stress = stress_down(solid.shown, place)
            axes.plot(stress, depth, dash, color=colour, label=design.name)
            spot = solid.shown.governing
            if spot and _same_place(spot, place):
                axes.plot(
                    [spot.principal_mpa], [spot.depth_mm], "o", color=colour, markersize=5,
                    clip_on=False,
                )  # fmt: skip
        axes.set_title(f"{place.part} {place.clock}", fontweight="bold")
        axes.set_xlim(left=0)
    _legend(figure, len(found))
    return figure


def growth_figure(result: CaseResult, places: Sequence[SolidSpot]) -> Figure:
    """Growth of the bore down the wall at each governing clock position, all designs."""
    figure, cells = _frame(result, places, "growth of the bore [um]")
    found = solids(result)
    for axes, place in zip(cells, places, strict=True):
        for (colour, dash), (design, solid) in zip(line_styles(len(found)), found, strict=True):
            state = solid.shown
            index = round(place.clock_hours * 30) % 360
            axes.plot(
                state.growth_by_depth[:, index], state.depth_mm, dash, color=colour,
                label=design.name,
            )  # fmt: skip
        axes.set_title(place.clock, fontweight="bold")
        axes.axvline(0, color=INK, linewidth=0.7)
    _legend(figure, len(found))
    return figure


def _same_place(one: SolidSpot, other: SolidSpot) -> bool:
    return (
        one.part == other.part
        and abs(float(hours_between(one.clock_hours, other.clock_hours))) < SAME_PLACE
    )


def _frame(result: CaseResult, places: Sequence[SolidSpot], label: str) -> tuple[Figure, list]:
    count = len(places)
    figure = new_figure(max(COLUMN, 3.1 * count), 5.4)
    cells = list(np.atleast_1d(figure.subplots(1, count, sharey=True)))
    lines = math.ceil(len(solids(result)) / LEGEND_COLUMNS)
    figure.subplots_adjust(
        left=0.6 / figure.get_figwidth(), right=0.98, top=0.93, bottom=0.125 + 0.045 * lines,
        wspace=0.2,
    )  # fmt: skip
    deepest = max(float(solid.shown.depth_mm.max()) for _, solid in solids(result))
    shown = min(SHOWN * result.case.section_depth, deepest)
    for axes in cells:
        light_frame(axes, "both")
        axes.axhline(result.case.section_depth, color=INK, linestyle=":", linewidth=1.0)
        axes.set_ylim(shown, 0)
        axes.set_xlabel(label)
        axes.tick_params(labelleft=True)
    cells[0].annotate(
        f"H {result.case.section_depth:.1f} mm", (0.99, result.case.section_depth),
        xycoords=("axes fraction", "data"), xytext=(-2, -3), textcoords="offset points", va="top",
        ha="right", fontsize=8,
    )  # fmt: skip
    cells[0].set_ylabel("depth below the deck [mm]")
    return figure, cells


def _legend(figure: Figure, count: int) -> None:
    handles, labels = figure.axes[0].get_legend_handles_labels()
    figure.legend(
        handles, labels, loc="lower center", ncols=min(count, LEGEND_COLUMNS), handlelength=2.8
    )
