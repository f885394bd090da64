"""Pictures of a solved case: section, stress fields, clock plots, bore growth, comparison.

matplotlib is imported when a picture is drawn, not when this module is.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.around import barrel_face, bore_wall, features
from cases.case import PARENT_PARTS
from fea.stress import hoop, principal
from geometry.clock import hours_between
from geometry.drawing import (
    INK,
    View,
    border_path,
    clock_ring,
    draw_section_picture,
    in_bore_labels,
    view_of,
)
from geometry.section import Block

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.colors import Colormap
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch
    from matplotlib.path import Path as Outline
    from matplotlib.text import Text
    from matplotlib.tri import Triangulation

    from cases.run import CaseResult, DesignResult
    from cases.service import Step
    from fea.hotspots import HotSpot
    from fea.stress import LayerStress

DOTS_PER_INCH = 150
LABELLED_SPOTS = 6  # in a map; two thirds as many where three stand side by side
LABELLED_SHARE = 0.4  # of the worst; weaker spots stay without a label
LABELLED_APART = 0.6  # around the clock; nearer ones would hide one another [h]
LONGEST_LINE = 200  # that is drawn; a longer one would take hours [characters]
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
SHADES = np.uint8(0xFC)
"""Bits kept of each colour of a field: 64 shades look smooth and pack into half the bytes."""
BANDS = {"relief cut": "#F3D9B8", "tie": "#D6E8D2", "next bore": "#E6E6E6"}


Box = tuple[float, float, float, float]  # left, bottom, width, height, as shares of the figure


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


def write_pictures(
    result: CaseResult, folder: Path, executor: Executor | None = None
) -> tuple[Path, ...]:
    """Write every picture of a solved case, each as PNG and SVG.

    Parameters
    ----------
    result : CaseResult
    folder : Path
        Must exist.
    executor : concurrent.futures.Executor, optional
        Draws the maps of stress while the rest is drawn here.

    Returns
    -------
    tuple of Path
        Files written. The name before the dot says what it is: ``section``, ``inserts``,
        ``hoop``, ``principal``, ``stress-<design>``, ``clock``, ``growth``, ``designs``; with an
        engine ``gas``, ``pressure-by-depth``; with load steps ``temperature``,
        ``bore-temperature``, ``contact``, ``contact-ties``, ``steps``; with ratings ``ladder``,
        ``haigh``, ``strength-used``, ``spread``; with a depth section ``depth-view``, ``depth``,
        ``insert-depth``; with a crack ``crack-intensity``, ``crack-growth``, ``crack-place``.
    """
    if executor is None:
        return (*_write(_maps, result, folder), *_write(_diagrams, result, folder))
    drawing = executor.submit(_write, _maps, result, folder)
    diagrams = _write(_diagrams, result, folder)
    return (*drawing.result(), *diagrams)


def _write(
    figures: Callable[[CaseResult], Iterator[tuple[str, Figure]]], result: CaseResult, folder: Path
) -> list[Path]:
    import matplotlib

    written: list[Path] = []
    with matplotlib.rc_context(STYLE):
        for name, figure in figures(result):
            box = "tight" if _spell_out(figure) else None  # codes take more room than letters
            for kind, extra in (
                ("png", {"pil_kwargs": {"compress_level": 1}}),
                ("svg", {"metadata": {"Date": None}}),
            ):
                path = folder / f"{name}.{kind}"
                figure.savefig(path, dpi=DOTS_PER_INCH, facecolor="white", bbox_inches=box, **extra)
                written.append(path)
    return written


def _spell_out(figure: Figure) -> bool:
    """Write letters that the font of a picture lacks as their codes; whether there are any.

    Only numbers along an axis may be formulas, powers of ten; elsewhere a ``$`` is a letter.
    """
    from matplotlib.axis import Axis
    from matplotlib.text import Text

    spelled = False
    along = []
    for axis in figure.findobj(Axis):
        along += axis.get_ticklabels(which="both")
        names = [label.get_text() for label in axis.get_ticklabels()]
        coded = [_coded(label) for label in axis.get_ticklabels()]
        if coded != names:
            axis.set_ticklabels(coded)
            spelled = True
    for text in set(figure.findobj(Text)) - set(along):
        text.set_parse_math(False)
        if (coded_text := _coded(text)) != text.get_text():
            text.set_text(coded_text)
            spelled = True
    return spelled


def _coded(text: Text) -> str:
    """What a text says, each letter that its font lacks as its code; endless lines cut."""
    from matplotlib.font_manager import findfont, get_font

    lines = text.get_text().split("\n")
    said = "\n".join(
        line if len(line) <= LONGEST_LINE else f"{line[:LONGEST_LINE]}..." for line in lines
    )
    if said.isascii():
        return said
    known = get_font(findfont(text.get_fontproperties())).get_charmap()
    return "".join(
        letter
        if letter.isspace() or ord(letter) in known
        else letter.encode("unicode_escape").decode("ascii")
        for letter in said
    )


def design_keys(result: CaseResult) -> dict[str, str]:
    """File-name form of each design's name: lower case letters, digits and hyphens, all unlike."""
    keys: dict[str, str] = {}
    for design in result.designs:
        plain = re.sub(r"[^a-z0-9]+", "-", design.name.lower()).strip("-") or "design"
        key, number = plain, 2
        while key in keys.values():
            key, number = f"{plain}-{number}", number + 1
        keys[design.name] = key
    return keys


def _maps(result: CaseResult) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each map of stress."""
    keys = design_keys(result)
    view = view_of(result.case.block)
    borders = [border_path(design.outline, view) for design in result.designs]
    maps: dict[str, list[Map]] = {design.name: [] for design in result.designs}
    for field in FIELDS:
        values = [
            [field.of(layer, design.mesh.points[layer.nodes]) for layer in design.stresses]
            for design in result.designs
        ]
        scale = _scale(field, result.designs, values, view)
        for design, value, border in zip(result.designs, values, borders, strict=True):
            image = _field_image(design, value, scale, view)
            maps[design.name].append(Map(field, design, image, border, scale))
        yield field.key, field_figure([row[-1] for row in maps.values()], view)
    for name, row in maps.items():
        yield f"stress-{keys[name]}", design_figure(row, view)


def _diagrams(result: CaseResult) -> Iterator[tuple[str, Figure]]:
    """Name and figure of every other picture."""
    yield "section", section_figure(result.designs[0])
    if any(design.section.insert for design in result.designs):
        yield "inserts", inserts_figure(result.designs)
    yield "clock", clock_figure(result.designs)
    yield "growth", growth_figure(result.designs)
    yield "designs", designs_figure(result.designs)
    if result.case.wall_load is not None:
        from cases.gas_plots import gas_figures

        yield from gas_figures(result.case, result.case.wall_load)
    if any(design.service for design in result.designs):
        from cases.service_plots import service_figures

        yield from service_figures(result.designs)
    if any(design.rating for design in result.designs):
        from cases.rating_plots import rating_figures

        yield from rating_figures(result.case, result.designs)
    if result.depth:
        from cases.depth_plots import depth_figures

        yield from depth_figures(result.depth)
    if result.crack:
        from cases.crack_plots import crack_figures

        yield from crack_figures(result.crack, result.designs)


def new_figure(width: float, height: float) -> Figure:
    """An empty figure of a size in inches, drawn without a screen."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height))
    FigureCanvasAgg(figure)
    return figure


def section_figure(design: DesignResult) -> Figure:
    """The section about the firing bore, with its parts, clock ring and main dimensions."""
    view = view_of(design.section.block)
    figure = new_figure(8.4, 8.4 * shape_of(view) + 0.9)
    axes = figure.add_axes((0.085, 0.15, 0.9, 0.84))
    legend = draw_section_picture(axes, design.section, design.outline, view, dimensions=True)
    axes.set_xlabel("x from the firing bore's axis [mm], looking down on the deck")
    axes.set_ylabel("y [mm]; all sizes in mm")
    axes.legend(
        handles=legend, loc="upper center", bbox_to_anchor=(0.5, -0.09), ncols=4, columnspacing=1.4,
        handlelength=1.6,
    )  # fmt: skip
    return figure


def inserts_figure(designs: Sequence[DesignResult]) -> Figure:
    """Every design's section beside the others, with the depth of its insert."""
    view = view_of(designs[0].section.block)
    figure, cells, spare = cell_grid(len(designs), view, foot=0.5)
    legend: dict[str, Patch] = {}
    for cell, design in zip(cells, designs, strict=True):
        axes = figure.add_axes(cell)
        patches = draw_section_picture(axes, design.section, design.outline, view)
        legend |= {str(patch.get_label()): patch for patch in patches}
        axes.set_title(design.name, fontweight="bold")
        axes.set(xticks=[], yticks=[])
    if spare is None:
        place = {"loc": "lower center", "ncols": 4}
    else:
        left, low, wide, high = spare
        place = {"loc": "center", "bbox_to_anchor": (left + wide / 2, low + high / 2)}
    figure.legend(handles=list(legend.values()), title="sizes in mm", **place)
    return figure


def shape_of(view: View) -> float:
    """Height over width of a view."""
    return view.half_height / view.half_width


def cell_grid(count: int, view: View, foot: float) -> tuple[Figure, list[Box], Box | None]:
    """A figure with a cell of the view's shape per design, and the first spare cell if any.

    ``foot`` is the height kept at the bottom where there is no spare cell. [inch].
    """
    columns = count if count <= 2 else 2 if count <= 4 else 3
    rows = math.ceil(count / columns)
    side = {1: 7.2, 2: 4.9, 3: 3.6}[columns]
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
    image: NDArray[np.uint8]
    border: Outline
    scale: Scale


def _scale(
    field: Field,
    designs: Sequence[DesignResult],
    values: list[list[NDArray[np.float64]]],
    view: View,
) -> Scale:
    """The scale that holds all but the few highest values near the firing bore."""
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


def round_up(value: float) -> float:
    """The next 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6 or 8 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(value))
    steps = (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10)
    return next(step for step in steps if step * power >= value * (1 - 1e-9)) * power


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


def triangulated(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> tuple[Triangulation, NDArray[np.int64]]:
    """Quadratic triangles as four straight ones each, and the nodes that they use."""
    from matplotlib.tri import Triangulation

    used, local = np.unique(triangles, return_inverse=True)
    quarters = local.reshape(-1, 6)[:, [[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]]]
    return Triangulation(*points[used].T, quarters.reshape(-1, 3)), used


def field_figure(maps: Sequence[Map], view: View) -> Figure:
    """One field of every design, on one scale, with the worst spots marked."""
    figure, cells, spare = cell_grid(len(maps), view, foot=0.6)
    for cell, one in zip(cells, maps, strict=True):
        _draw_map(figure.add_axes(cell), one, view, one.design.name)
    height = figure.get_size_inches()[1]
    if spare is None:
        _colour_bar(figure, (0.2, 0.48 / height, 0.6, 0.14 / height), maps[0])
        return figure
    left, low, wide, high = spare
    bar = (left + 0.08 * wide, low + 0.66 * high, 0.84 * wide, 0.14 / height)
    _colour_bar(figure, bar, maps[0])
    figure.text(
        left + 0.08 * wide, low + 0.48 * high,
        "One scale for all designs; grey: no metal.\n"
        "The worst spots of each part, with rank among\n"
        "all, clock position and stress.",
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
    _mark_spots(axes, one.field, one.design, radius, view)


def _colour_bar(figure: Figure, box: Box, one: Map) -> None:
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import Normalize

    axes = figure.add_axes(box)
    figure.colorbar(
        ScalarMappable(Normalize(one.scale.low, one.scale.high), one.scale.colours), cax=axes,
        orientation="horizontal", extend="both",
    )  # fmt: skip
    axes.set_xlabel(f"{one.field.title} [MPa], tension positive")


def _mark_spots(axes: Axes, field: Field, design: DesignResult, radius: float, view: View) -> None:
    """Number the worst spots in view, and write clock position and stress inside the bore."""
    width = axes.get_position().width * axes.figure.get_size_inches()[0]  # type: ignore[union-attr]
    near = labelled_spots(design, view, LABELLED_SPOTS if width > 4 else 2 * LABELLED_SPOTS // 3)
    texts = [
        f"{number}  {spot.clock}\n"
        + ("no finite stress" if spot.sharp else f"{field.of_spot(spot):.0f} MPa")
        for number, spot in near
    ]
    places = [(spot.x_mm, spot.y_mm) for _, spot in near]
    in_bore_labels(axes, places, texts, radius, crosses=[spot.sharp for _, spot in near])


def labelled_spots(design: DesignResult, view: View, most: int) -> list[tuple[int, HotSpot]]:
    """The spots that a map names, with their rank: the worst of each part, then the second, ...

    The block's own parts come before liner and insert.
    """
    shown = [
        (number, spot)
        for number, spot in enumerate(design.hot_spots, start=1)
        if view.holds(np.array([[spot.x_mm, spot.y_mm]]))[0]
    ]
    worst = max((spot.principal_mpa for _, spot in shown if not spot.sharp), default=0.0)
    turns: dict[str, int] = {}
    queue = []
    for number, spot in shown:
        if spot.principal_mpa >= LABELLED_SHARE * worst:
            turns[spot.part] = turns.get(spot.part, 0) + 1
            queue.append((turns[spot.part], spot.part not in PARENT_PARTS, number, spot))
    queue.sort(key=lambda item: item[:3])
    chosen: list[tuple[int, HotSpot]] = []
    for _, _, number, spot in queue:
        taken = np.array([other.clock_hours for _, other in chosen])
        if (
            len(chosen) < most
            and (np.abs(hours_between(taken, spot.clock_hours)) > LABELLED_APART).all()
        ):
            chosen.append((number, spot))
    return chosen


def clock_figure(designs: Sequence[DesignResult]) -> Figure:
    """Hoop stress against clock position, on the bore wall and at the barrel's outer side."""
    figure = new_figure(9.4, 6.9)
    block = designs[0].section.block
    top, low = figure.subplots(2, 1, sharex=True)
    figure.subplots_adjust(left=0.095, right=0.985, top=0.885, bottom=0.085, hspace=0.1)
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
        axes.grid(axis="y", color="#DDDDDD", linewidth=0.6)
        axes.set_axisbelow(True)
        axes.axhline(0.0, color=INK, linewidth=0.8)
        axes.spines[["top", "right"]].set_visible(False)
        for feature in features(block):
            for turn in (-12.0, 0.0, 12.0):
                left = max(0.0, feature.clock_hours - feature.half_width + turn)
                right = min(12.0, feature.clock_hours + feature.half_width + turn)
                if left < right:
                    axes.axvspan(left, right, color=BANDS[feature.kind], linewidth=0, zorder=0)
    _name_bands(top, block)
    low.set_xlim(0, 12)
    low.set_xticks(range(13), ["12", *map(str, range(1, 13))])
    low.set_xlabel("clock position, looking down on the deck [h]")
    figure.legend(
        *top.get_legend_handles_labels(), loc="upper right", bbox_to_anchor=(0.99, 0.995),
        ncols=min(len(designs), 4), handlelength=3,
    )  # fmt: skip
    return figure


def _name_bands(axes: Axes, block: Block) -> None:
    """Names of the bands along the top, on two levels where they would touch."""
    level, last = 0, -2.0
    for feature in features(block):
        at = min(max(feature.clock_hours, 0.4), 11.6)
        level = 1 - level if at - last < 1.05 and level == 0 else 0
        last = at
        axes.annotate(
            feature.label if feature.kind != "next bore" else feature.kind, (at, 1.0),
            xycoords=("data", "axes fraction"), xytext=(0, 3 + 10 * level),
            textcoords="offset points", ha="center", va="bottom", fontsize=7.5,
        )  # fmt: skip


def line_styles(count: int) -> list[tuple[str, str]]:
    """Colour and dash of each of several designs; no two alike up to four rounds of colours."""
    dashes = ("-", "--", "-.", ":")
    styles = []
    for index in range(count):
        colour, dash = LINES[index % len(LINES)]
        turn = dashes.index(dash) + index // len(LINES)
        styles.append((colour, dashes[turn % len(dashes)]))
    return styles


def growth_figure(designs: Sequence[DesignResult]) -> Figure:
    """Bore growth on a polar plot, magnified, 12:00 on top and clockwise."""
    figure = new_figure(7.4, 7.6)
    axes = figure.add_axes((0.08, 0.1, 0.84, 0.76), projection="polar")
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
        f"growth outward [um]\nbore drawn to scale,\ngrowth magnified {magnified:g} times\n"
        "thin black circle: bore at rest",
        transform=axes.transAxes, ha="center", va="center", linespacing=1.5,
    )  # fmt: skip
    figure.legend(loc="upper center", bbox_to_anchor=(0.5, 0.995), ncols=1, handlelength=3)
    return figure


Line = tuple[NDArray[np.float64], str, str, str]
"""Values at even steps from 12:00 on, dash, colour and name of a curve."""


def magnification(radius: float, growths: Sequence[NDArray[np.float64]]) -> float:
    """How many times growths [um] can be magnified beside a bore of a radius [mm]."""
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
    """Curves of growth [um] round a bore drawn to scale, 12:00 on top and clockwise."""
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


def designs_figure(designs: Sequence[DesignResult]) -> Figure:
    """Bars: worst stress in block and liner, bore growth, open water area and insert metal."""
    block, liner = ([_worst(one, parts) for one in designs] for parts in (PARENT_PARTS, ("liner",)))
    bars = [
        ("worst stress in\nthe block [MPa]", block, "{:.0f}"),
        ("worst stress in\nthe liner [MPa]", liner, "{:.0f}"),
        ("mean bore\ngrowth [um]", [one.bore.mean_growth_um for one in designs], "{:.1f}"),
        ("out of round\n[um]", [one.bore.out_of_round_um for one in designs], "{:.1f}"),
        ("open water at\nthe deck [mm2]", [one.open_area_mm2 for one in designs], "{:.0f}"),
        ("insert metal at\nthe deck [mm2]", [one.insert_area_mm2 for one in designs], "{:.0f}"),
    ]
    if not designs[0].section.block.liner:
        del bars[1]
    names = 0.25 + 0.085 * max(len(design.name) for design in designs)
    width, height = names + 1.62 * len(bars), 1.15 + 0.42 * len(designs)
    figure = new_figure(width, height)
    panels = figure.subplots(1, len(bars), sharey=True)
    figure.subplots_adjust(
        left=names / width, right=0.99, top=1 - 0.62 / height, bottom=0.18 / height, wspace=0.1
    )
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
    panels[0].set_yticks(places, [design.name for design in designs])
    panels[0].invert_yaxis()
    return figure


def _worst(design: DesignResult, parts: Sequence[str]) -> float:
    spot = rated_worst(design, parts)
    return math.nan if spot is None else spot.principal_mpa


def rated_worst(design: DesignResult | Step, parts: Sequence[str] = ()) -> HotSpot | None:
    """The spot with the largest principal stress, sharp corners left out; None if there is none.

    ``parts`` narrows it to those parts.
    """
    rated = [
        spot for spot in design.hot_spots if not spot.sharp and (not parts or spot.part in parts)
    ]
    return max(rated, key=lambda spot: spot.principal_mpa, default=None)
