"""Pictures of the load steps: contact pressure, temperature, and the bore step by step."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.base.figures import (
    BANDS,
    COLUMN,
    EMPTY,
    Line,
    cell_grid,
    clock_axis,
    light_frame,
    line_styles,
    magnification,
    new_figure,
    polar_axes,
    triangulated,
)
from cases.life.result import is_lived, service_of
from cases.life.steps import COLD_GAS, HONED, PRESSED, WARM, WARM_GAS, LoadStep
from cases.life.tie_faces import BEFORE, PAST, firing_faces
from geometry.drawing import INK, View, border_path, clock_ring, view_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.cm import ScalarMappable
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    from cases.life.result import SolvedStep, TieFace
    from cases.stress.result import DesignResult
    from fea.heat import HeatField

STEP_LINES = {
    PRESSED: ("#777777", ":"), WARM: ("#D55E00", "--"), WARM_GAS: ("#7A2E00", "-"),
    COLD_GAS: ("#0072B2", "-."),
}  # fmt: skip
"""Colour and dash of each step: warm ones red-brown, cold blue."""
STEP_MARKS = dict(zip(STEP_LINES, "oDs^", strict=True))
USUAL = 0.93
"""Share of the pressures that are well below the end of the axis."""
BREAK = 0.25
"""Pairs further apart than this round the clock are joined by a line only where one side of the
joint runs from one to the other. [h]."""
LEGEND_COLUMNS = 3
SHOWN_PARTS = ("liner", "barrel", "tie", "insert")
"""Parts whose hottest place is told, in order."""
STEP_APART = 0.09
"""From load step to load step at a side of a tie, where it is 1 from tie to tie."""
SHOWN_SIDES = {"barrel": "against the barrel", "outer wall": "against the outer wall"}
"""Sides of the insert whose pressure is drawn round the clock."""


def service_maps(designs: Sequence[DesignResult]) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each field: temperature."""
    lived = [design for design in designs if is_lived(design)]
    if any(service_of(design).heat for design in lived):
        yield "temperature", temperature_figure(lived)


def service_figures(designs: Sequence[DesignResult]) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each picture of the load steps, but for fields."""
    lived = [design for design in designs if is_lived(design)]
    if any(service_of(design).heat for design in lived):
        yield "bore-temperature", bore_temperature_figure(lived)
    fitted = [design for design in lived if service_of(design).pairs]
    if fitted:
        yield "contact", contact_figure(fitted)
    if any(firing_faces(fitted)):
        yield "contact-ties", tie_figure(fitted)
    yield "steps", steps_figure(lived)


def shown_steps(design: DesignResult) -> list[SolvedStep]:
    """The steps that differ: the hone changes the bore only."""
    return [step for step in service_of(design).steps if step.name != HONED]


def temperature_figure(designs: Sequence[DesignResult]) -> Figure:
    """Temperature of every design when warm, on one scale."""
    import matplotlib
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import ListedColormap, Normalize

    view = view_of(designs[0].section.block)
    fields = [service_of(design).heat for design in designs]
    heated = [(one, heat) for one, heat in zip(designs, fields, strict=True) if heat is not None]
    near = [heat.temperature[view.holds(heat.mesh.points)] for _, heat in heated]
    low, high = min(float(one.min()) for one in near), max(float(one.max()) for one in near)
    scale = ScalarMappable(
        Normalize(10 * math.floor(low / 10), 10 * math.ceil(high / 10)),
        ListedColormap(matplotlib.colormaps["inferno"](np.linspace(0.15, 0.97, 256))),
    )
    figure, cells, spare = cell_grid(len(heated), view, foot=0.75)
    for cell, (design, heat) in zip(cells, heated, strict=True):
        _draw_temperature(figure.add_axes(cell), design, heat, view, scale)
    height = figure.get_size_inches()[1]
    box = (0.28, 0.62 / height, 0.44, 0.14 / height)
    if spare is not None:
        left, bottom, wide, high_ = spare
        box = (left + 0.08 * wide, bottom + 0.55 * high_, 0.84 * wide, 0.14 / height)
    bar = figure.add_axes(box)
    figure.colorbar(scale, cax=bar, orientation="horizontal")
    bar.set_xlabel("temperature when warm [degC]\ninside the bore: hottest place of each part")
    return figure


def _draw_temperature(
    axes: Axes, design: DesignResult, heat: HeatField, view: View, scale: ScalarMappable
) -> None:
    """One design: the insert over the block, the bore with what is hottest."""
    from matplotlib.patches import Circle, PathPatch

    axes.set(xlim=(-view.half_width, view.half_width), xticks=[], yticks=[], facecolor=EMPTY,
             ylim=(-view.half_height, view.half_height))  # fmt: skip
    insert = np.array([row[0].part == "insert" for row in heat.mesh.regions])
    over = insert[heat.mesh.region]
    for rows in (np.flatnonzero(~over), np.flatnonzero(over)):
        seen = view.holds(heat.mesh.points, margin=1.05)[heat.mesh.triangles[rows]].any(axis=1)
        if seen.any():
            mesh, used = triangulated(heat.mesh.points, heat.mesh.triangles[rows[seen]])
            axes.tripcolor(mesh, heat.temperature[used], shading="gouraud", cmap=scale.cmap,
                           norm=scale.norm, rasterized=True)  # fmt: skip
    border = PathPatch(border_path(design.outline, view), fill=False, edgecolor=INK)
    border.set_linewidth(0.6)
    axes.add_artist(border)
    radius = design.section.block.bore / 2
    axes.add_artist(Circle((0, 0), radius, facecolor="white", edgecolor=INK, linewidth=0.6))
    clock_ring(axes, radius, every=3)
    axes.set_title(design.name, fontweight="bold")
    there = {layer.part for row in heat.mesh.regions for layer in row}
    axes.text(
        0, 0, "\n".join(_hottest(heat, part) for part in SHOWN_PARTS if part in there),
        ha="center", va="center", linespacing=1.6,
    )  # fmt: skip


def _hottest(heat: HeatField, part: str) -> str:
    place = heat.hottest(part)
    return f"{part} {place.temperature_degc:.0f} degC at {place.clock}"


def bore_temperature_figure(designs: Sequence[DesignResult]) -> Figure:
    """Temperature of the bore wall against clock position."""
    head = 0.2 + 0.2 * math.ceil(len(designs) / LEGEND_COLUMNS)
    height = 3.2 + head
    figure = new_figure(COLUMN, height)
    axes = figure.add_axes((0.14, 0.54 / height, 0.83, 2.6 / height))
    for (colour, dash), design in zip(line_styles(len(designs)), designs, strict=True):
        heat = service_of(design).heat
        if heat is not None:
            wall = heat.around_bore()
            axes.plot(np.arange(361) / 30, np.append(wall, wall[0]), dash, color=colour,
                      label=design.name)  # fmt: skip
    clock_axis(axes)
    light_frame(axes, "y")
    axes.set_ylabel("bore wall when warm [degC]")
    figure.legend(
        loc="upper right",
        bbox_to_anchor=(0.99, 0.99),
        ncols=LEGEND_COLUMNS,
        handlelength=2.4,
        columnspacing=1.2,
    )
    return figure


def contact_figure(designs: Sequence[DesignResult]) -> Figure:
    """Contact pressure about the firing bore against clock position: at gas, and its range."""
    figure = new_figure(COLUMN, 1.55 + 1.5 * len(designs) * len(SHOWN_SIDES))
    panels = figure.subplots(len(designs) * len(SHOWN_SIDES), 1, sharex=True, squeeze=False)[:, 0]
    figure.subplots_adjust(
        left=0.14, right=0.97, hspace=0.45, top=1 - 0.55 / figure.get_size_inches()[1],
        bottom=0.98 / figure.get_size_inches()[1],
    )  # fmt: skip
    for row, design in enumerate(designs):
        for column, (part, words) in enumerate(SHOWN_SIDES.items()):
            axes = panels[row * len(SHOWN_SIDES) + column]
            around = {
                step.name: pressure_around(design, step, part) for step in shown_steps(design)
            }
            hours = next(iter(around.values()))[0]
            pressures = np.array([pressure for _, pressure in around.values()])
            step = next(name for name in (WARM_GAS, COLD_GAS) if name in around)
            axes.fill_between(
                hours,
                pressures.min(axis=0),
                pressures.max(axis=0),
                color="#E3C7B5",
                linewidth=0,
                label="least to most of all load steps",
            )
            axes.plot(hours, around[step][1], color=STEP_LINES[step][0], label=step)
            clock_axis(axes)
            light_frame(axes, "y")
            low, high = 0.0, 0.0
            if np.isfinite(pressures).any():
                low, high = np.nanquantile(pressures, (1 - USUAL, USUAL))
            axes.set_ylim(1.6 * min(low, 0.0), 1.6 * high if high > 0 else 1.0)
            axes.set_xlabel("")
            axes.set_ylabel("pressure [MPa]")
            axes.set_title(f"{design.name}, {words}", loc="left", fontsize=8.5, pad=3)
    panels[-1].set_xlabel(
        "clock position about the bore that fires [h]\nAt the ends of a joint pressure peaks as "
        "high as\nedges are sharp: the axis cuts it off.\nNo line: a tie, or no joint."
    )
    figure.legend(
        *panels[0].get_legend_handles_labels(),
        loc="upper right",
        bbox_to_anchor=(0.99, 0.998),
        ncols=2,
        handlelength=2,
        fontsize=8,
        columnspacing=1.2,
    )
    return figure


def pressure_around(
    design: DesignResult, step: SolvedStep, against: str
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Contact pressure on one side of the insert about the firing bore.

    Parameters
    ----------
    design : DesignResult
    step : SolvedStep
    against : str
        Part of the block that the side stands against.

    Returns
    -------
    hours, pressure : ndarray, shape (k,)
        Rising clock positions [h] and pressure [MPa], nan where the side is interrupted.
    """
    service = service_of(design)
    assert service.pairs is not None
    assert step.joint is not None
    pairs, block = service.pairs, design.section.block
    x, y = service.mesh.points[pairs.own].T
    bore, hours = block.nearest_bore(x, y)
    chosen = np.flatnonzero((pairs.against == against) & (bore == block.firing_bore))
    order = np.argsort(hours[chosen])
    hours, pressure = hours[chosen][order], step.joint.contact.pressure[chosen][order]
    ends = pairs.own.size * pairs.sides.min(axis=1) + pairs.sides.max(axis=1)
    near, far = np.sort([chosen[order][:-1], chosen[order][1:]], axis=0)
    joined = np.isin(pairs.own.size * near + far, ends)
    gaps = np.flatnonzero((np.diff(hours) > BREAK) & ~joined) + 1
    return np.insert(hours, gaps, np.nan), np.insert(pressure, gaps, np.nan)


Faces = Sequence[tuple[LoadStep, "TieFace"]]
"""Sides of ties, each in a load step."""


def tie_figure(designs: Sequence[DesignResult]) -> Figure:
    """Mean pressure and open share of each side of the ties about the firing bore, step by step.

    A side that the insert of one design stands against has its place in all of them.
    """
    faces = [(design, step, face) for design, step, face in firing_faces(designs) if step != HONED]
    ties = sorted({(face.clock_hours, face.clock) for _, _, face in faces})
    places = {  # along the axis; from tie to tie it is 1
        (hours, side): number + off
        for number, (hours, _) in enumerate(ties)
        for side, off in ((BEFORE, -0.25), (PAST, 0.25))
    }
    steps = [name for name in STEP_LINES if any(step == name for _, step, _ in faces)]
    figure, panels = _tie_panels(len(designs), len(ties), [_step_handle(step) for step in steps])
    highest = max(0.0, *(face.mean_pressure_mpa for _, _, face in faces))
    lowest = min(0.0, *(face.mean_pressure_mpa for _, _, face in faces))
    room = 0.08 * (highest - lowest) or 1.0
    for (pressed, opened), design in zip(panels, designs, strict=True):
        own = [(step, face) for of, step, face in faces if of is design]
        _draw_faces(pressed, opened, own, steps, places)
        there = {(face.clock_hours, face.side) for _, face in own}
        for place, at in places.items():
            if place not in there:
                pressed.text(at, room / 4, "no joint", ha="center", fontsize=7.5)
        pressed.set_ylim(lowest - (room if lowest < 0 else 0), highest + room)
        pressed.set_title(_tie_title(design), loc="left", fontsize=8.5, pad=5)
        opened.set_xticks(list(places.values()), [side for _, side in places], fontsize=7.5)
        for number, (_, clock) in enumerate(ties):
            opened.annotate(
                f"tie {clock}", (number, 0), xycoords=opened.get_xaxis_transform(),
                xytext=(0, -20), textcoords="offset points", ha="center", va="top", fontsize=8.5,
                fontweight="bold",
            )  # fmt: skip
    return figure


def _tie_panels(
    designs: int, ties: int, handles: Sequence[Line2D]
) -> tuple[Figure, list[tuple[Axes, Axes]]]:
    """A figure with axes of pressure and of open share for each design, and a legend."""
    tall, short, gap, pitch, head, foot = 1.1, 0.6, 0.22, 2.7, 0.82, 0.45
    height = head + pitch * designs - 0.3 + foot
    left, right = 0.85, 0.1
    wide = max(COLUMN - left - right, 0.78 * ties)
    width = left + wide + right
    figure = new_figure(width, height)
    panels = []
    for row in range(designs):
        top = height - head - row * pitch
        pressed, opened = (
            figure.add_axes((left / width, low / height, wide / width, high / height))
            for low, high in ((top - tall, tall), (top - tall - gap - short, short))
        )
        for axes in (pressed, opened):
            _dress_for_ties(axes, ties)
            axes.yaxis.set_label_coords(-0.5 / wide, 0.5)
        pressed.set_xticks([])
        pressed.set_ylabel("mean pressure\n[MPa]")
        opened.set(ylim=(0, 100), yticks=(0, 50, 100))
        opened.set_ylabel("open [%]")
        panels.append((pressed, opened))
    figure.text(
        0.15 / width, 0.1 / height,
        "Sides of the ties about the bore that fires, before and past each\ntie as hours run. "
        "Open: share of the side's area.",
        fontsize=8,
    )  # fmt: skip
    figure.legend(
        handles=handles, loc="upper left", borderaxespad=0,
        bbox_to_anchor=(left / width, 1 - 0.08 / height), ncols=2, handlelength=3, borderpad=0,
    )  # fmt: skip
    return figure, panels


def _draw_faces(
    pressed: Axes,
    opened: Axes,
    faces: Faces,
    steps: Sequence[LoadStep],
    places: Mapping[tuple[float, str], float],
) -> None:
    """Pressure and open share of each side, the load steps beside one another at its place."""
    for number, step in enumerate(steps):
        colour, dash = STEP_LINES[step]
        now = [face for name, face in faces if name == step]
        aside = STEP_APART * (number - (len(steps) - 1) / 2)
        at = [places[face.clock_hours, face.side] + aside for face in now]
        for axes, values in (
            (pressed, [face.mean_pressure_mpa for face in now]),
            (opened, [100 * face.open_share for face in now]),
        ):
            axes.vlines(at, 0, values, color=colour, linestyle=dash, linewidth=1.3)
            axes.plot(at, values, STEP_MARKS[step], color=colour, markersize=4, clip_on=False)


def _dress_for_ties(axes: Axes, count: int) -> None:
    """A strip for each tie at 0, 1, ... with room for its sides beside it."""
    for number in range(count):
        axes.axvspan(number - 0.03, number + 0.03, color=BANDS["tie"], zorder=0)
    axes.axhline(0, color=INK, linewidth=0.8, clip_on=False)
    light_frame(axes, "y", foot=False)
    axes.set_xlim(-0.5, count - 0.5)
    axes.tick_params(axis="x", length=0, pad=6)


def _tie_title(design: DesignResult) -> str:
    joints = [step.joint for step in shown_steps(design) if step.joint]
    bonded = any(side.bonded and side.against == "tie" for side in joints[0].sides)
    return f"{design.name}, against the ties" + (", bonded: below 0 it pulls" if bonded else "")


def _step_handle(step: LoadStep) -> Line2D:
    from matplotlib.lines import Line2D

    colour, dash = STEP_LINES[step]
    return Line2D([], [], color=colour, linestyle=dash, marker=STEP_MARKS[step], markersize=5,
                  label=step)  # fmt: skip


def _shape_line(step: SolvedStep) -> Line:
    """The bore's shape in a step; its mean is told in words, as what matters is the shape."""
    colour, dash = STEP_LINES[step.name]
    words = (
        f"{step.name}: out of round {step.bore.out_of_round_um:.0f} um, "
        f"mean {step.bore.mean_growth_um:+.0f} um"
    )
    return step.bore.growth_um - step.bore.mean_growth_um, dash, colour, words


def steps_figure(designs: Sequence[DesignResult]) -> Figure:
    """The bore of every design step by step on polar plots, magnified alike."""
    shown = [
        (design, [step for step in shown_steps(design) if step.name != PRESSED or step.joint])
        for design in designs
    ]
    radius = designs[0].section.block.bore / 2
    shapes = [_shape_line(step)[0] for _, steps in shown for step in steps]
    magnified = magnification(radius, shapes)
    side, gap, head, foot = 3.9, 0.15, 1.15, 0.8
    columns = min(len(designs), 2)
    rows = math.ceil(len(designs) / columns)
    width = columns * side + (columns + 1) * gap
    pitch = 0.8 * side + head + 0.6
    height = rows * pitch + foot
    figure = new_figure(width, height)
    for index, (design, steps) in enumerate(shown):
        row, column = divmod(index, columns)
        left = gap + column * (side + gap) + 0.1 * side
        low = foot + (rows - 1 - row) * pitch
        axes = figure.add_axes(
            (left / width, low / height, 0.8 * side / width, 0.8 * side / height),
            projection="polar",
        )
        polar_axes(axes, radius, shapes, magnified, [_shape_line(step) for step in steps])
        figure.text(
            (left - 0.1 * side) / width + 0.01, (low + 0.8 * side + 1.3) / height, design.name,
            fontweight="bold", va="top",
        )  # fmt: skip
        axes.legend(
            loc="upper left", bbox_to_anchor=(-0.14, 1.36), fontsize=7.5, handlelength=3,
            borderaxespad=0, labelspacing=0.25,
        )  # fmt: skip
    figure.text(
        0.5, 0.12 / height,
        f"shape [um], mean taken out; bore to scale, shape magnified {magnified:g} "
        "times;\nfrom the honed circle on, pressed in: before the hone",
        ha="center", fontsize=8,
    )  # fmt: skip
    return figure
