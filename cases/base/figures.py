"""Pictures of a solved case: section, stress fields, clock plots, bore growth, comparison.

matplotlib is imported when a picture is drawn, not when this module is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from geometry.drawing import (
    INK,
    View,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.tri import Triangulation


DOTS_PER_INCH = 150
COLUMN = 4.15
"""Width of a picture, or of a panel, that a narrow screen shows whole with letters of 7.5 points as
high as 9 pixels. [inch]."""
STYLE = {
    "font.family": "DejaVu Sans", "font.size": 9, "axes.titlesize": 10, "axes.labelsize": 9,
    "text.color": INK, "axes.edgecolor": INK, "axes.labelcolor": INK, "xtick.color": INK,
    "ytick.color": INK, "axes.linewidth": 0.8, "svg.hashsalt": "hoopclock",
    "legend.frameon": False, "lines.linewidth": 1.6,
}  # fmt: skip
LINES = (
    ("#222222", "-"), ("#0072B2", "--"), ("#D55E00", "-"), ("#009E73", "-."),
    ("#CC79A7", "--"), ("#8C6D00", ":"), ("#56B4E9", "-"), ("#5B3A8C", "-."),
)  # fmt: skip
"""Colour and dash of each design in turn; the colours are told apart by the colour-blind
(Okabe & Ito, *Color Universal Design*, 2008, darkened where they were too light for paper)."""

EMPTY = "#DADADA"
BANDS = {"relief cut": "#F3D9B8", "tie": "#D6E8D2", "next bore": "#E6E6E6"}
GRID = "#DDDDDD"

Box = tuple[float, float, float, float]  # left, bottom, width, height, as shares of the figure


def new_figure(width: float, height: float) -> Figure:
    """An empty figure of a size in inches, drawn without a screen."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height))
    FigureCanvasAgg(figure)
    return figure


def light_frame(axes: Axes, grid: Literal["x", "y", "both"], *, foot: bool = True) -> None:
    """Thin lines behind the curves, at the ticks of x, y or both; no frame above and at the right.

    Without ``foot`` there is none below either.
    """
    axes.grid(axis=grid, color=GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"] if foot else ["top", "right", "bottom"]].set_visible(False)


def clock_axis(axes: Axes) -> None:
    """Clock positions from 12 to 12 along x."""
    axes.set_xlim(0, 12)
    axes.set_xticks(range(13), ["12", *map(str, range(1, 13))])
    axes.set_xlabel("clock position, looking down on the deck [h]")


def shape_of(view: View) -> float:
    """Height over width of a view."""
    return view.half_height / view.half_width


def cell_grid(count: int, view: View, foot: float) -> tuple[Figure, list[Box], Box | None]:
    """A figure with a cell of the view's shape per design, and the first spare cell if any.

    ``foot`` is the height kept at the bottom where there is no spare cell. [inch].
    """
    columns = count if count <= 2 else 2 if count <= 4 else 3
    rows = math.ceil(count / columns)
    side = 3.6 if columns == 3 else 3.9
    gap, head = 0.12, 0.3
    spare = rows * columns > count
    bottom = gap if spare else foot + gap
    width = columns * side + (columns + 1) * gap
    high = side * shape_of(view)
    height = bottom + rows * (high + head)
    figure = new_figure(width, height)
    cells = []
    for index in range(rows * columns):
        row, column = divmod(index, columns)
        left = gap + column * (side + gap)
        low = bottom + (rows - 1 - row) * (high + head)
        cells.append((left / width, low / height, side / width, high / height))
    return figure, cells[:count], cells[count] if spare else None


def round_up(value: float) -> float:
    """The next 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6 or 8 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(value))
    steps = (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10)
    return next(step for step in steps if step * power >= value * (1 - 1e-9)) * power


def triangulated(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> tuple[Triangulation, NDArray[np.int64]]:
    """Quadratic triangles as four straight ones each, and the nodes that they use.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        [mm]
    triangles : ndarray of int, shape (m, 6)
        Corners, then the nodes at mid-side.

    Returns
    -------
    matplotlib.tri.Triangulation
        Of 4 m triangles.
    ndarray of int, shape (k,)
        Node of ``points`` that each of its points is.
    """
    from matplotlib.tri import Triangulation

    used, local = np.unique(triangles, return_inverse=True)
    quarters = local.reshape(-1, 6)[:, [[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]]]
    return Triangulation(*points[used].T, quarters.reshape(-1, 3)), used


def line_styles(count: int) -> list[tuple[str, str]]:
    """Colour and dash of each of several designs; no two alike up to four rounds of colours."""
    dashes = ("-", "--", "-.", ":")
    styles = []
    for index in range(count):
        colour, dash = LINES[index % len(LINES)]
        turn = dashes.index(dash) + index // len(LINES)
        styles.append((colour, dashes[turn % len(dashes)]))
    return styles


Line = tuple[NDArray[np.float64], str, str, str]
"""Values at even steps from 12:00 on, dash, colour and name of a curve."""


def magnification(radius: float, growths: Sequence[NDArray[np.float64]]) -> float:
    """How many times growths can be magnified beside a bore drawn to scale.

    Parameters
    ----------
    radius : float
        Of the bore. [mm]
    growths : sequence of ndarray, shape (n,)
        [um]
    """
    low, high = _span(growths)
    return round_up(radius * 1000 / max(high - low, 1e-6)) / 2


def _span(growths: Sequence[NDArray[np.float64]]) -> tuple[float, float]:
    return min(0.0, *(float(g.min()) for g in growths)), max(
        0.0, *(float(g.max()) for g in growths)
    )


def polar_axes(
    axes: Axes,
    radius: float,
    growths: Sequence[NDArray[np.float64]],
    magnified: float,
    curves: Sequence[Line],
) -> None:
    """Curves of growth round a bore drawn to scale, 12:00 on top and clockwise.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        Polar.
    radius : float
        Of the bore. [mm]
    growths : sequence of ndarray, shape (n,)
        That the axes have room for. [um]
    magnified : float
        How many times growth is, over the bore.
    curves : sequence of Line
        Each with n values. [um]
    """
    axes.set_theta_zero_location("N")  # type: ignore[attr-defined]
    axes.set_theta_direction(-1)  # type: ignore[attr-defined]
    bottom, top = _span(growths)
    span = max(top - bottom, 1e-6)
    step = next(s for s in round_steps(span) if span / s <= 5)
    low, high = math.floor(bottom / step) * step, math.ceil(max(top, 1e-9) / step) * step
    for growth, dash, colour, words in curves:
        angle = np.linspace(0, 2 * np.pi, len(growth) + 1)
        axes.plot(angle, np.append(growth, growth[0]), dash, color=colour, label=words)
    axes.set_rorigin(-radius * 1000 / magnified)  # type: ignore[attr-defined]
    axes.set_rlim(low, high)  # type: ignore[attr-defined]
    rings = np.arange(round(low / step), round(high / step) + 1) * step
    axes.set_rgrids(rings, [f"{ring:g}" for ring in rings], angle=15)  # type: ignore[attr-defined]
    for label in axes.get_yticklabels():
        label.set_fontsize(7.5)
        label.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.85})
    axes.set_thetagrids(  # type: ignore[attr-defined]
        np.arange(12) * 30.0, ["12:00", *(f"{hour}:00" for hour in range(1, 12))]
    )
    axes.plot(np.linspace(0, 2 * np.pi, 361), np.zeros(361), color=INK, linewidth=0.9)
    axes.grid(color="#D5D5D5", linewidth=0.6)


def round_steps(span: float) -> list[float]:
    """Round steps, rising, to mark a span with."""
    power = 10.0 ** (math.floor(math.log10(span)) - 1)
    return [power * step for step in (1, 2, 5, 10, 20, 50, 100)]
