"""Limit against interference."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cases.base.figures import COLUMN, LINES, light_frame, new_figure
from cases.fit.advice import advice_of
from cases.fit.lines import CLEARANCE
from cases.fit.result import sweep_of
from geometry.drawing import INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from cases.fit.result import FitAdvice, FitSweep
    from cases.rating.result import FitPoint
    from cases.stress.result import CaseResult

WINDOW, ASKED = "#DCEBDD", "#7A2E00"
CURVE, PIECE = LINES[1][0], LINES[2][0]
DRAWN = 0.13
"""How dark the spread of the draws is."""


def fits_figure(result: CaseResult) -> Figure:
    """A panel a fitted design: its limit, its window, the stated fit, one piece and bare."""
    shown = [
        (design.name, sweep, advice)
        for design in result.designs
        if (sweep := sweep_of(design)) and sweep.rated and (advice := advice_of(result, design))
    ]
    bare = [advice.limit_bare for _, _, advice in shown]
    tall, gap, head, foot = 1.9, 0.45, 0.95, 0.5
    height = head + len(shown) * (tall + gap) + foot - gap
    figure = new_figure(COLUMN, height)
    end = 1.02 * max(sweep.points[-1].interference_um for _, sweep, _ in shown)
    begin = 1.02 * min(0.0, *(sweep.points[0].interference_um for _, sweep, _ in shown))
    top = 1.1 * max(
        1.0, *(limit or 0.0 for limit in bare),
        *(_highest(point) for _, sweep, _ in shown for point in sweep.points),
        *(sweep.one_piece or 0.0 for _, sweep, _ in shown),
    )  # fmt: skip
    for row, (name, sweep, advice) in enumerate(shown):
        low = height - head - tall - row * (tall + gap)
        axes = figure.add_axes((0.185, low / height, 0.785, tall / height))
        _draw(axes, sweep, advice)
        axes.set(xlim=(begin, end), ylim=(0, top), ylabel="limit, times the\nasked gas load")
        axes.set_title(name, loc="left", fontweight="bold", pad=4)
        light_frame(axes, "both")
        if row == len(shown) - 1:
            less = f"; {CLEARANCE}" if begin < 0 else ""
            axes.set_xlabel(f"interference on the diameter [um]{less}")
    points = [point for _, sweep, _ in shown for point in sweep.points]
    _legend(
        figure, bare=any(limit is not None for limit in bare),
        drawn=any(point.band for point in points),
        one_piece=any(sweep.one_piece is not None for _, sweep, _ in shown),
    )  # fmt: skip
    return figure


def _highest(point: FitPoint) -> float:
    """Of what is drawn of a fit."""
    return max((point.least_limit or 0.0) + point.limit_error, *(point.band or (0.0,)))


def _draw(axes: Axes, sweep: FitSweep, advice: FitAdvice) -> None:
    if advice.window:
        axes.axvspan(advice.window.low_um, advice.window.high_um, color=WINDOW, zorder=0)
    at = [point.interference_um for point in sweep.points]
    limits = [point.least_limit or 0.0 for point in sweep.points]
    bands = [point.band for point in sweep.points if point.band]
    if len(bands) == len(at):
        low, high = zip(*bands, strict=True)
        axes.fill_between(at, low, high, color=CURVE, alpha=DRAWN, linewidth=0, zorder=1)
    errors = [point.limit_error for point in sweep.points]
    axes.errorbar(at, limits, errors, fmt="none", ecolor=CURVE, elinewidth=1.0, zorder=3)
    axes.plot(at, limits, "o-", color=CURVE, markersize=4, zorder=4)
    if advice.window and advice.limit_at_nominal is not None:
        axes.plot(
            advice.window.nominal_um, advice.limit_at_nominal, "D", color=CURVE, markersize=8,
            markerfacecolor="white", markeredgewidth=1.6, zorder=5,
        )  # fmt: skip
    for off in {-sweep.tolerance_um, sweep.tolerance_um}:
        axes.axvline(sweep.asked_um + off, color=ASKED, linestyle=":", linewidth=1.3)
    axes.axhline(1.0, color=INK, linewidth=0.7, linestyle=(0, (1, 3)))
    if sweep.one_piece is not None:
        axes.axhline(sweep.one_piece, color=PIECE, linestyle="--", linewidth=1.3)
    if advice.limit_bare is not None:
        axes.axhline(advice.limit_bare, color=INK, linewidth=1.4)


def _legend(figure: Figure, *, bare: bool, drawn: bool, one_piece: bool) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    signs: list[Line2D | Patch] = [
        Line2D([], [], color=CURVE, marker="o", markersize=4, label="fitted, with error"),
        Line2D([], [], color=CURVE, marker="D", markersize=8, markerfacecolor="white",
               linestyle="", label="to be made"),
        Patch(color=WINDOW, label="window"),
        Line2D([], [], color=ASKED, linestyle=":", label="stated, with its tolerance"),
    ]  # fmt: skip
    if one_piece:
        label = "in one piece, for comparison"
        signs.append(Line2D([], [], color=PIECE, linestyle="--", label=label))
    if drawn:
        signs.append(Patch(color=CURVE, alpha=DRAWN, label="5 to 95 % of draws"))
    if bare:
        signs.append(Line2D([], [], color=INK, linewidth=1.4, label="bare block"))
    figure.legend(
        handles=signs, loc="upper left", bbox_to_anchor=(0.02, 1.0), ncols=2, fontsize=8,
        handlelength=2.2, columnspacing=1.2,
    )  # fmt: skip
