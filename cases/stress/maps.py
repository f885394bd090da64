"""Maps of stress over the section, one scale for all designs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.base.figures import EMPTY, Box, cell_grid, new_figure, round_up, shape_of, triangulated
from cases.base.output import file_keys
from cases.stress.spots import labelled_spots
from fea.stress import hoop, principal
from geometry.drawing import INK, View, border_path, clock_ring, in_bore_labels, view_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.colors import Colormap
    from matplotlib.figure import Figure
    from matplotlib.path import Path as Outline

    from cases.stress.result import CaseResult, DesignResult
    from fea.hotspots import HotSpot
    from fea.stress import LayerStress


SHADES = np.uint8(0xFC)
"""Bits kept of each colour of a field: 64 shades look smooth and pack into half the bytes."""


@dataclass(frozen=True, slots=True)
class Field:
    """A stress that is mapped over the section."""

    key: str
    title: str
    of: Callable[[LayerStress, NDArray[np.float64]], NDArray[np.float64]]  # layer, its points [MPa]
    of_spot: Callable[[HotSpot], float]
    signed: bool


FIELDS = (
    Field(
        "hoop", "hoop stress",
        lambda layer, points: hoop(layer.stress, points[:, 0], points[:, 1]),
        lambda spot: spot.hoop_mpa, signed=True,
    ),
    Field(
        "principal", "largest principal stress",
        lambda layer, points: principal(layer.stress)[0],
        lambda spot: spot.principal_mpa, signed=False,
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Scale:
    """One colour scale for every design of a case."""

    low: float
    high: float  # [MPa]
    colours: Colormap


@dataclass(frozen=True, slots=True)
class Map:
    """One field of one design, ready to be set into figures."""

    field: Field
    design: DesignResult
    image: NDArray[np.uint8]  # shape (rows, columns, 4)
    border: Outline
    scale: Scale


def stress_scale(
    field: Field,
    designs: Sequence[DesignResult],
    values: list[list[NDArray[np.float64]]],
    view: View,
) -> Scale:
    """The scale that holds all but the few highest values near the firing bore.

    Parameters
    ----------
    field : Field
    designs : sequence of DesignResult
    values : list of list of ndarray, shape (k,)
        Of the field at the k nodes of each layer, by design. [MPa]
    view : View
    """
    import matplotlib
    from matplotlib.colors import LinearSegmentedColormap, ListedColormap

    seen = []
    for design, layers in zip(designs, values, strict=True):
        for layer, value in zip(design.stresses, layers, strict=True):
            inside = view.holds(design.mesh.points[layer.nodes])
            seen.append(value[inside])
    size = np.abs(np.concatenate(seen)) if field.signed else np.concatenate(seen)
    high = round_up(max(float(np.quantile(size, 0.995)), 1e-9))
    if field.signed:
        colours = LinearSegmentedColormap.from_list(
            "blue-white-orange",
            ["#0B3C6F", "#2F7DBD", "#9CC8E6", "#FFFFFF", "#FBC58A", "#DD7215", "#7A2E00"],
        )
        return Scale(-high, high, colours)
    shades = matplotlib.colormaps["magma_r"](np.linspace(0, 0.92, 256))
    return Scale(0.0, high, ListedColormap(shades))


def _field_image(
    design: DesignResult, values: list[NDArray[np.float64]], scale: Scale, view: View
) -> NDArray[np.uint8]:
    """The field over the view as a picture, drawn once and set into every figure.

    Each layer is drawn by itself, so nothing is averaged across a border; an insert lies over the
    floor of a relief cut, as seen from the deck.
    """
    pixels = 700
    figure = new_figure(pixels / 100, pixels / 100 * shape_of(view))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(-view.half_width, view.half_width)
    axes.set_ylim(-view.half_height, view.half_height)
    for over in (False, True):
        points, triangles, colours, start = [], [], [], 0
        for layer, value in zip(design.stresses, values, strict=True):
            place = design.mesh.points[layer.nodes]
            near = view.holds(place, margin=1.05)[layer.triangles].any(axis=1)
            if (layer.part == "insert") != over or not near.any():
                continue
            points.append(place)
            triangles.append(layer.triangles[near] + start)
            colours.append(value)
            start += len(place)
        if triangles:
            mesh, used = triangulated(np.concatenate(points), np.concatenate(triangles))
            axes.tripcolor(
                mesh, np.concatenate(colours)[used], shading="gouraud", cmap=scale.colours,
                vmin=scale.low, vmax=scale.high,
            )  # fmt: skip
    figure.patch.set_facecolor(EMPTY)
    figure.canvas.draw()
    image = np.array(figure.canvas.buffer_rgba())  # type: ignore[attr-defined]
    return (image & SHADES) | np.uint8(2)


def field_figure(maps: Sequence[Map], view: View) -> Figure:
    """One field of every design, on one scale, with the worst spots marked."""
    figure, cells, spare = cell_grid(len(maps), view, foot=0.6)
    for cell, one in zip(cells, maps, strict=True):
        _draw_map(figure.add_axes(cell), one, view, one.design.name)
    height = figure.get_size_inches()[1]
    if spare is None:
        _colour_bar(figure, (0.28, 0.48 / height, 0.44, 0.14 / height), maps[0])
        return figure
    left, low, wide, high = spare
    bar = (left + 0.08 * wide, low + 0.66 * high, 0.84 * wide, 0.14 / height)
    _colour_bar(figure, bar, maps[0])
    figure.text(
        left + 0.08 * wide, low + 0.48 * high,
        "One scale for all designs; grey: no metal.\n"
        "The worst spots of each part, by rank,\n"
        "clock position and stress.",
        va="top", linespacing=1.5,
    )  # fmt: skip
    return figure


def design_figure(maps: Sequence[Map], view: View) -> Figure:
    """Every field of one design side by side."""
    figure, cells, _ = cell_grid(len(maps), view, foot=0.6)
    height = figure.get_size_inches()[1]
    for cell, one in zip(cells, maps, strict=True):
        _draw_map(figure.add_axes(cell), one, view, f"{one.design.name}: {one.field.title}")
        left, _, wide, _ = cell
        _colour_bar(figure, (left + 0.1 * wide, 0.48 / height, 0.8 * wide, 0.14 / height), one)
    return figure


def _draw_map(axes: Axes, one: Map, view: View, title: str) -> None:
    from matplotlib.patches import Circle, PathPatch

    axes.imshow(
        one.image, interpolation="none", aspect="equal",
        extent=(-view.half_width, view.half_width, -view.half_height, view.half_height),
    )  # fmt: skip
    axes.add_artist(PathPatch(one.border, fill=False, edgecolor=INK, linewidth=0.6))
    axes.set(xticks=[], yticks=[])
    axes.set_title(title, fontweight="bold")
    radius = one.design.section.block.bore / 2
    axes.add_artist(Circle((0, 0), radius, facecolor="white", edgecolor=INK, linewidth=0.6))
    clock_ring(axes, radius, every=3)
    _mark_spots(axes, one.field, one.design, radius)


def _colour_bar(figure: Figure, box: Box, one: Map) -> None:
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import Normalize

    axes = figure.add_axes(box)
    figure.colorbar(
        ScalarMappable(Normalize(one.scale.low, one.scale.high), one.scale.colours), cax=axes,
        orientation="horizontal", extend="both",
    )  # fmt: skip
    axes.set_xlabel(f"{one.field.title} [MPa], tension positive")


def _mark_spots(axes: Axes, field: Field, design: DesignResult, radius: float) -> None:
    """Number the worst spots in view, and write clock position and stress inside the bore."""
    near = labelled_spots(design)
    texts = [
        f"{number}  {spot.clock}\n"
        + ("no finite stress" if spot.sharp else f"{field.of_spot(spot):.0f} MPa")
        for number, spot in enumerate(near, start=1)
    ]
    places = [(spot.x_mm, spot.y_mm) for spot in near]
    in_bore_labels(axes, places, texts, radius, crosses=[spot.sharp for spot in near])


def stress_maps(result: CaseResult) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each map of stress."""
    keys = file_keys(result)
    view = view_of(result.case.block)
    borders = [border_path(design.outline, view) for design in result.designs]
    maps: dict[str, list[Map]] = {design.name: [] for design in result.designs}
    for field in FIELDS:
        values = [
            [field.of(layer, design.mesh.points[layer.nodes]) for layer in design.stresses]
            for design in result.designs
        ]
        scale = stress_scale(field, result.designs, values, view)
        for design, value, border in zip(result.designs, values, borders, strict=True):
            image = _field_image(design, value, scale, view)
            maps[design.name].append(Map(field, design, image, border, scale))
        yield field.key, field_figure([row[-1] for row in maps.values()], view)
    for name, row in maps.items():
        yield f"stress-{keys[name]}", design_figure(row, view)
