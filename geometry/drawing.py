"""Pictures of a section: parts, clock ring, names and depths.

matplotlib is imported when something is drawn, not when this module is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from geometry.clock import clock_to_angle, format_clock, hours_between
from geometry.faces import Face, Outline
from geometry.planar import Curve
from geometry.section import Block, DeckSection, Insert
from geometry.section_mesh import ProfileDepth

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.patches import Patch, PathPatch
    from matplotlib.path import Path

INK = "#1A1A1A"
WATER = "#DCEFF8"
FILLS = {
    "barrel": "#BFD0E2", "liner": "#8D99A8", "tie": "#B5D3A8", "outer wall": "#DADFE5",
    "insert": "#F6C48A",
}  # fmt: skip
DEEPER = "#E0892C"
OVER = "#FBE6CB"
CUT = "#A03000"


@dataclass(frozen=True, slots=True)
class View:
    """The part of the plane that is shown: a rectangle about the firing bore's axis."""

    half_width: float  # [mm]
    half_height: float  # [mm]

    def holds(self, points: NDArray[np.float64], margin: float = 1.0) -> NDArray[np.bool_]:
        """Which points lie in the rectangle times ``margin``.

        Parameters
        ----------
        points : ndarray, shape (n, 2)
            [mm]
        margin : float

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        return (np.abs(points[:, 0]) <= margin * self.half_width) & (
            np.abs(points[:, 1]) <= margin * self.half_height
        )


def view_of(block: Block) -> View:
    """The firing bore with what stands next to it: 1.6 pitches of a bank, or all of one bore."""
    thickest = max([block.barrel_wall, *(wall for _, wall in block.varied_walls)])
    outside = block.outside_radius + (0.0 if block.jacket else thickest - block.barrel_wall)
    if block.bores == 1 or block.pitch is None:
        return View(1.04 * outside, 1.04 * outside)
    return View(0.8 * block.pitch, 1.04 * outside)


def face_path(outline: Outline, face: Face) -> Path:
    """The closed outline of a face, its holes included."""
    return curves_path(outline.loops(face))


def curves_path(loops: Iterable[Sequence[Curve]]) -> Path:
    """Loops of curves as one path; what lies in an even number of them is empty."""
    from matplotlib.path import Path

    return Path.make_compound_path(*(_path(loop) for loop in loops))


def border_path(outline: Outline, view: View) -> Path:
    """Free edges and borders between regions that reach into the view."""
    from matplotlib.path import Path

    near = [piece for piece in outline.pieces if _reaches([piece], view)]
    return Path.make_compound_path(*(_path([piece]) for piece in near))


def _path(run: Sequence[Curve]) -> Path:
    """Curves end to end as lines and cubics; an eighth turn as a cubic is 1e-5 of the radius off.

    Goldapp, *Approximation of circular arcs by cubic polynomials*, CAGD 8 (1991) 227-238
    (from memory): handles of 4/3 tan(sweep / 4).
    """
    from matplotlib.path import Path

    points, codes = [run[0].start], [Path.MOVETO]
    for curve in run:
        if not curve.bulge:
            points.append(curve.end)
            codes.append(Path.LINETO)
            continue
        parts = math.ceil(abs(curve.sweep) / (math.pi / 4))
        handle = 4 / 3 * math.tan(abs(curve.sweep) / parts / 4) * curve.radius
        for index in range(parts):
            first, last = index / parts, (index + 1) / parts
            start, end = curve.point(first), curve.point(last)
            points += [
                start + handle * curve.direction(first), end - handle * curve.direction(last), end,
            ]  # fmt: skip
            codes += [Path.CURVE4] * 3
    if len(run) > 1:
        points.append(run[0].start)
        codes.append(Path.CLOSEPOLY)
    z = np.array(points)
    return Path(np.stack([z.real, z.imag], axis=1), codes)


def _reaches(run: Sequence[Curve], view: View) -> bool:
    """Whether the box around curves meets the view."""
    z = np.array([curve.point(share) for curve in run for share in (0.0, 0.5, 1.0)])
    return bool(
        z.real.min() < view.half_width
        and z.real.max() > -view.half_width
        and z.imag.min() < view.half_height
        and z.imag.max() > -view.half_height
    )


def clock_ring(axes: Axes, radius: float, every: int = 1) -> None:
    """Clock ticks and the hours, or ``every`` so many of them, just inside a bore [mm]."""
    from matplotlib.collections import LineCollection

    angles = clock_to_angle(np.arange(12))
    rays = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    inner = np.where(np.arange(12) % 3 == 0, 0.93, 0.955) * radius
    ticks = np.stack([rays * inner[:, None], rays * 0.985 * radius], axis=1)
    axes.add_collection(LineCollection(list(ticks), colors="#777777", linewidths=0.8),
                        autolim=False)  # fmt: skip
    for hour in range(0, 12, every):
        x, y = 0.87 * radius * rays[hour]
        axes.text(x, y, str(hour or 12), ha="center", va="center", fontsize=7.5, color="#555555")


def in_bore_labels(
    axes: Axes,
    places: Sequence[tuple[float, float]],
    texts: Sequence[str],
    radius: float,
    crosses: Sequence[bool] = (),
    size: float = 7.5,
) -> None:
    """Write labels in the empty bore, each with a line to its place in the metal.

    Labels stand on a ring at their place's clock position, pushed apart where they would touch.

    Parameters
    ----------
    axes : Axes
    places : sequence of (x, y)
        Points that are named. [mm]
    texts : sequence of str
    radius : float
        Of the bore. [mm]
    crosses : sequence of bool, optional
        Mark these places with a cross, not with a ring.
    size : float
        Of the letters. [pt]
    """
    from matplotlib.collections import LineCollection

    if not places:
        return
    spots = np.array(places)
    angles = np.arctan2(spots[:, 1], spots[:, 0])
    ring = 0.57 * radius
    high = size * _mm_per_point(axes)  # of a letter
    sizes = [
        (0.62 * max(map(len, text.split("\n"))) * high, (1.35 * text.count("\n") + 1.6) * high)
        for text in texts
    ]
    spread = _pushed_apart(angles, np.array(sizes) / ring)
    at = ring * np.stack([np.cos(spread), np.sin(spread)], axis=1)
    axes.add_collection(
        LineCollection(list(np.stack([spots, at], axis=1)), colors=INK, linewidths=0.7, zorder=5),
        autolim=False,
    )
    for (x, y), text in zip(at, texts, strict=True):
        axes.text(x, y, text, ha="center", va="center", fontsize=size, linespacing=1.25, zorder=6,
                  bbox={"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none"},
                  )  # fmt: skip
    crossed = np.array([*crosses, *[False] * (len(places) - len(crosses))])
    for chosen, marker in ((~crossed, "o"), (crossed, "x")):
        axes.plot(*spots[chosen].T, marker, markersize=4.5, markerfacecolor="white",
                  markeredgecolor=INK, markeredgewidth=1.0, zorder=7)  # fmt: skip


def _mm_per_point(axes: Axes) -> float:
    """Length in the drawing that is one printer's point on paper; limits must be set."""
    box, (left, right), (low, high) = axes.get_position(), axes.get_xlim(), axes.get_ylim()
    width, height = axes.figure.get_size_inches()  # type: ignore[union-attr]
    return max((right - left) / (box.width * width), (high - low) / (box.height * height)) / 72


def _pushed_apart(angles: NDArray[np.float64], sizes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Angles of labels on a ring, moved until none touches the next, in the same order.

    Parameters
    ----------
    angles : ndarray, shape (n,)
        Where the labels would stand. [rad]
    sizes : ndarray, shape (n, 2)
        Width and height of the labels over the radius of the ring.

    Returns
    -------
    ndarray, shape (n,)
        Where the ring is too short for all, they share it in proportion. [rad]
    """
    order = np.argsort(angles, kind="stable")
    moved = angles[order].copy()
    wide, high = sizes[order].T
    for _ in range(600 if len(moved) > 1 else 0):
        room = np.append(np.diff(moved), moved[0] + 2 * math.pi - moved[-1])
        middle = moved + room / 2  # the next label lies along the ring's tangent here
        along = (wide + np.roll(wide, -1)) * np.abs(np.sin(middle))
        along += (high + np.roll(high, -1)) * np.abs(np.cos(middle))
        gap = 2 * np.arcsin(np.minimum(along / 4, 1))
        gap *= min(1.0, 2 * math.pi / gap.sum())
        short = np.clip(gap - room, 0, None)
        if short.max() < 1e-3:
            break
        moved += 0.25 * (np.roll(short, 1) - short)
    out = np.empty_like(moved)
    out[order] = moved
    return out


def draw_section_picture(
    axes: Axes, section: DeckSection, outline: Outline, view: View, *, names: bool = False
) -> list[Patch]:
    """Draw a section as seen looking down on the deck, about its firing bore.

    Parameters
    ----------
    axes : matplotlib Axes
    section : DeckSection
    outline : Outline
        Of the same section.
    view : View
        What is shown.
    names : bool
        Name ties and relief cuts, and write the bore's diameter; otherwise the insert's depths.

    Returns
    -------
    list of Patch
        One for each kind of thing drawn, for a legend.
    """
    from matplotlib.patches import Patch

    block = section.block
    legend = draw_plan(axes, section, outline, view)
    if block.jacket:
        legend["water"] = Patch(facecolor=WATER, edgecolor="#8CB4C8", label="open water")
    clock_ring(axes, block.bore / 2, every=1 if names else 3)
    named = _block_labels(block) if names else _insert_labels(section)
    in_bore_labels(axes, [place for place, _ in named], [text for _, text in named],
                   block.bore / 2)  # fmt: skip
    if names:
        axes.text(0, 0, f"bore {block.bore:g} mm", ha="center", va="center", fontweight="bold")
    elif section.insert is None:
        axes.text(0, 0, "no insert", ha="center", va="center")
    return list(legend.values())


def draw_plan(axes: Axes, section: DeckSection, outline: Outline, view: View) -> dict[str, Patch]:
    """Draw metal, water and the pockets of relief cuts, with nothing written on them.

    Parameters
    ----------
    axes : matplotlib Axes
    section : DeckSection
    outline : Outline
        Of the same section.
    view : View
        What is shown.

    Returns
    -------
    dict of str to Patch
        One for each kind of metal drawn, for a legend.
    """
    block = section.block
    if block.jacket:
        _draw_water(axes, block, outline)
    legend = _draw_faces(axes, section, outline, view)
    legend |= _draw_cuts(axes, block)
    axes.set_aspect("equal")
    axes.set_xlim(-view.half_width, view.half_width)
    axes.set_ylim(-view.half_height, view.half_height)
    return legend


def _circle(axes: Axes, x: float, y: float, diameter: float, **style: object) -> None:
    from matplotlib.patches import Circle

    axes.add_artist(Circle((x, y), diameter / 2, **style))  # type: ignore[arg-type]


def _draw_water(axes: Axes, block: Block, outline: Outline) -> None:
    """All within the outside of the block as water, the bores empty; metal goes over it."""
    from matplotlib.patches import PathPatch

    axes.add_artist(PathPatch(_outside(outline), facecolor=WATER, linewidth=0))
    for axis in block.axes:
        _circle(axes, axis, 0, block.bore, color="white", linewidth=0)


def _draw_faces(axes: Axes, section: DeckSection, outline: Outline, view: View) -> dict[str, Patch]:
    """Faces of metal in the colours of their parts, deeper zones shaded, floors hatched."""
    from matplotlib.patches import Patch, PathPatch

    legend: dict[str, Patch] = {}
    machined = _machined_depths(section.insert)
    for face in outline.faces:
        if not _reaches(outline.loops(face)[0], view):
            continue
        layers = outline.regions[face.region]
        part = "insert" if any(layer.part == "insert" for layer in layers) else layers[0].part
        style: dict[str, Any] = {"facecolor": FILLS[part], "edgecolor": INK, "linewidth": 0.7}
        patch = PathPatch(face_path(outline, face), **style)
        axes.add_artist(patch)
        legend.setdefault(part, Patch(**style, label=part))
        if part == "insert" and layers[0].top in machined:
            patch.set_facecolor(OVER)
            style["facecolor"] = OVER
            legend["machined"] = Patch(**style, label="insert over machined metal")
        for layer in layers:
            depth = layer.thickness
            if isinstance(depth, ProfileDepth):
                if _shade_depth(axes, depth, patch, view):
                    legend["deeper"] = Patch(color=DEEPER, label="deeper zone of the insert")
            elif part in ("barrel", "outer wall") and depth.thickness < section.depth:
                patch.set_hatch("/////")
                legend["floor"] = Patch(facecolor="white", edgecolor=INK, hatch="/////",
                                        linewidth=0.7, label="floor of a relief cut")  # fmt: skip
    return legend


def _machined_depths(insert: Insert | None) -> list[float]:
    """Depths to which metal was machined for an insert. [mm]."""
    if insert is None:
        return []
    depths = [insert.register.depth] if insert.register else []
    return depths if insert.form == "pieces" else [insert.depth, *depths]


def _draw_cuts(axes: Axes, block: Block) -> dict[str, Patch]:
    """Edges of the relief cuts at every bore that has them."""
    from matplotlib.patches import Patch

    legend: dict[str, Patch] = {}
    style: dict[str, Any] = {"edgecolor": CUT, "linestyle": (0, (4, 2)), "fill": False}
    for number, axis in enumerate(block.axes, start=1):
        for cut in block.relief_cuts:
            if cut.bores is None or number in cut.bores:
                x, y = _at(cut.clock, cut.radius)
                _circle(axes, axis + x, y, cut.diameter, linewidth=1.2, zorder=4, **style)
                legend["cut"] = Patch(**style, label="edge of a relief cut")
    return legend


def _shade_depth(axes: Axes, depth: ProfileDepth, patch: PathPatch, view: View) -> bool:
    """Shade a face of an insert where it is deeper than its base; tells whether it is anywhere."""
    from matplotlib.colors import to_rgba

    box = patch.get_path().get_extents()
    left, right = max(box.x0, -view.half_width), min(box.x1, view.half_width)
    low, high = max(box.y0, -view.half_height), min(box.y1, view.half_height)
    deepest = max((zone.depth for zone in depth.zones), default=depth.base)
    if deepest <= depth.base or left >= right or low >= high:
        return False
    step = 0.5
    columns, rows = max(2, int((right - left) / step)), max(2, int((high - low) / step))
    x, y = np.meshgrid(np.linspace(left, right, columns), np.linspace(low, high, rows))
    deeper = (depth(x, y) - depth.base) / (deepest - depth.base)
    if not (deeper > 0).any():
        return False
    shade = np.empty((rows, columns, 4))
    shade[:] = to_rgba(DEEPER)
    shade[..., 3] = np.clip(deeper, 0, 1)
    image = axes.imshow(shade, extent=(left, right, low, high), origin="lower", aspect="equal",
                        interpolation="bilinear", zorder=patch.get_zorder())  # fmt: skip
    image.set_clip_path(patch)
    return True


def _outside(outline: Outline) -> Path:
    """The outside of the block, with everything within it."""
    paths = [_path(outline.loops(face)[0]) for face in outline.faces]
    return max(paths, key=lambda path: path.get_extents().width)


def _at(clock: float, radius: float) -> tuple[float, float]:
    """x, y of a clock position and radius about the firing bore. [mm]."""
    angle = float(clock_to_angle(clock))
    return radius * math.cos(angle), radius * math.sin(angle)


Named = tuple[tuple[float, float], str]


def _block_labels(block: Block) -> list[Named]:
    """Names of the ties and relief cuts of the firing bore, each with its place."""
    cuts = [
        (_at(cut.clock, cut.radius - cut.diameter / 2), f"cut {format_clock(cut.clock)}")
        for cut in block.relief_cuts
        if _stands(cut.bores, block)
    ]
    return cuts + [
        (_at(tie.clock, block.barrel_radius + block.jacket / 2), f"tie {format_clock(tie.clock)}")
        for tie in block.ties
        if _stands(tie.bores, block)
    ]


def _stands(bores: tuple[int, ...] | None, block: Block) -> bool:
    """Whether a feature with these ``bores`` stands at the firing bore."""
    return bores is None or block.firing_bore in bores


def _free_clock(block: Block, others: Sequence[float] = ()) -> float:
    """The clock position farthest from every feature, and from ``others``. [h]."""
    taken = [
        *(cut.clock for cut in block.relief_cuts if _stands(cut.bores, block)),
        *(tie.clock for tie in block.ties if _stands(tie.bores, block)),
    ]
    taken += [*others, *([2.5, 3.5, 8.5, 9.5] if block.bores > 1 else [])]
    hours = np.arange(0, 12, 0.25)
    if not taken:
        return 1.5
    away = np.abs(hours_between(hours[:, None], np.array(taken))).min(axis=1)
    return float(hours[np.argmax(away)])


def _insert_labels(section: DeckSection) -> list[Named]:
    """Depths of the insert, each with its place."""
    insert, block = section.insert, section.block
    if insert is None:
        return []
    middle = block.barrel_radius + (insert.width or block.jacket) / 2
    named = [
        (_at(zone.clock, middle), f"{zone.depth:g} mm deep\nat {format_clock(zone.clock)}")
        for zone in insert.zones
    ]
    others = [*(zone.clock for zone in insert.zones), *(slot.clock for slot in insert.slots)]
    plain = _free_clock(block, others)
    named.append((_at(plain, middle), f"insert\n{insert.depth:g} mm deep"))
    return named
