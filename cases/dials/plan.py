"""The plan and the wall from deck to floor as pictures of lines, in mm, drawn at once."""

from __future__ import annotations

import base64
import html
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.clock import clock_to_angle
from geometry.drawing import CUT, DEEPER, FILLS, INK, WATER, View
from geometry.faces import Outline
from geometry.outline import planned
from geometry.plan import Plan
from geometry.planar import Curve
from geometry.section import Block, DeckSection
from geometry.section_mesh import ProfileDepth
from geometry.solid.columns import section_of

LETTER = 3.4
"""Height of letters. [mm]."""
CLOCK = "#5B3A8C"
"""Of the place that is looked at."""
REACH = 1.25
"""How far along a ray is looked, over the block's half width: a ray that slants leaves it later."""
FINER = 0.05
"""Step along a ray by which the wall at the deck is measured. [mm]."""
ACROSS = 0.5
"""Step between places of the picture from deck to floor. [mm]."""
EMPTY = "#F4F4F4"


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the plan with its number."""

    x_mm: float
    y_mm: float
    words: str


@dataclass(frozen=True, slots=True)
class Shade:
    """Colours laid over a picture."""

    picture: str  # a data address
    low: float
    high: float
    unit: str
    title: str


def plan_svg(
    section: DeckSection,
    outline: Outline,
    view: View,
    *,
    shade: Shade | None = None,
    marks: Sequence[Mark] = (),
    clock: float | None = None,
) -> str:
    """The content of a picture of the plan, as wide and high as the view, from its left top corner.

    Parameters
    ----------
    section : DeckSection
    outline : Outline
        Of it.
    view : View
    shade : Shade, optional
        In place of the colours of parts.
    marks : sequence of Mark
        Numbered from 1.
    clock : float, optional
        Position that is looked at. [h]
    """
    left, top = view.half_width, view.half_height
    block = section.block
    found = [_ground(outline, block, view)]
    if shade is not None:
        found.append(
            f'<image href="{shade.picture}" x="0" y="0" width="{2 * left:.3f}" '
            f'height="{2 * top:.3f}" preserveAspectRatio="none"/>'
        )
    for face in outline.faces:
        layers = outline.regions[face.region]
        names = [layer.part for layer in layers]
        part = "insert" if "insert" in names else names[0]
        fill = "none" if shade is not None else FILLS[part]
        if shade is None and any(
            isinstance(of.thickness, ProfileDepth) and _deeper(of.thickness, outline.loops(face))
            for of in layers
        ):
            fill = DEEPER
        path = " ".join(_way(loop, left, top) for loop in outline.loops(face))
        found.append(
            f'<path d="{path}" fill="{fill}" fill-rule="evenodd" stroke="{INK}" '
            'stroke-width="0.35"/>'
        )
    found += _cuts(block, left, top)
    found += _clock_ring(block, left, top)
    if clock is not None:
        found.append(_ray(block, clock, left, top))
    for number, mark in enumerate(marks, 1):
        x, y = left + mark.x_mm, top - mark.y_mm
        found.append(
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="3.4" fill="#fff" stroke="{INK}" '
            f'stroke-width="0.7"><title>{html.escape(mark.words)}</title></circle>'
            f'<text x="{x:.2f}" y="{y + 1.5:.2f}" font-size="4.4" font-weight="bold" '
            f'text-anchor="middle" fill="{INK}">{number}</text>'
        )
    return "".join(found)


def _deeper(depth: ProfileDepth, loops: Sequence[Sequence[Curve]]) -> bool:
    """Whether an insert is deeper than its base at the middle of a face."""
    ends = np.array([curve.point(0.5) for curve in loops[0]])
    return bool((depth(ends.real, ends.imag) > depth.base + 1e-6).mean() > 0.5)


def _way(loop: Sequence[Curve], left: float, top: float) -> str:
    """A closed loop of curves as a path."""

    def at(z: complex) -> str:
        return f"{left + z.real:.3f} {top - z.imag:.3f}"

    way = [f"M{at(loop[0].start)}"]
    for curve in loop:
        if curve.bulge:
            large, turn = int(abs(curve.sweep) > math.pi), int(curve.bulge < 0)
            way.append(f"A{curve.radius:.3f} {curve.radius:.3f} 0 {large} {turn} {at(curve.end)}")
        else:
            way.append(f"L{at(curve.end)}")
    return f"{''.join(way)}Z"


def _ground(outline: Outline, block: Block, view: View) -> str:
    """Water within the outside of the block, the bores empty."""
    left, top = view.half_width, view.half_height
    loops = [outline.loops(face)[0] for face in outline.faces]
    widest = max(loops, key=lambda loop: np.ptp([curve.start.real for curve in loop]))
    bores = "".join(
        f'<circle cx="{left + axis:.2f}" cy="{top:.2f}" r="{block.bore / 2:.2f}" fill="#fff"/>'
        for axis in block.axes
    )
    return f'<path d="{_way(widest, left, top)}" fill="{WATER}"/>{bores}'


def _cuts(block: Block, left: float, top: float) -> list[str]:
    """Edges of the relief cuts."""
    found = []
    for number, axis in enumerate(block.axes, 1):
        for cut in block.relief_cuts:
            if cut.bores is None or number in cut.bores:
                angle = float(clock_to_angle(cut.clock))
                x = left + axis + cut.radius * math.cos(angle)
                y = top - cut.radius * math.sin(angle)
                found.append(
                    f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{cut.diameter / 2:.2f}" fill="none" '
                    f'stroke="{CUT}" stroke-width="0.7" stroke-dasharray="2.4 1.4"/>'
                )
    return found


def _clock_ring(block: Block, left: float, top: float) -> list[str]:
    """Hours just inside the bore that fires."""
    found = []
    for hour in range(12):
        angle = float(clock_to_angle(hour))
        x, y = (0.84 * block.bore / 2 * of for of in (math.cos(angle), math.sin(angle)))
        found.append(
            f'<text x="{left + x:.2f}" y="{top - y + 0.35 * LETTER:.2f}" font-size="{LETTER}" '
            f'text-anchor="middle" fill="#555">{hour or 12}</text>'
        )
    return found


def _ray(block: Block, clock: float, left: float, top: float) -> str:
    """The way that is looked along: from the bore's wall out."""
    angle = float(clock_to_angle(clock))
    ends = [
        (left + radius * math.cos(angle), top - radius * math.sin(angle))
        for radius in (0.93 * block.bore / 2, block.outside_radius + 1.0)
    ]
    (a, b), (c, d) = ends
    return (
        f'<line x1="{a:.2f}" y1="{b:.2f}" x2="{c:.2f}" y2="{d:.2f}" stroke="#fff" '
        f'stroke-width="2.2"/><line x1="{a:.2f}" y1="{b:.2f}" x2="{c:.2f}" y2="{d:.2f}" '
        f'stroke="{CLOCK}" stroke-width="1.1"/>'
    )


@dataclass(frozen=True, slots=True)
class Strip:
    """A part between two radii and two depths, at a clock position."""

    part: str
    near: float  # [mm]
    far: float
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Ray:
    """What stands along a ray of the plan from the bore out, deck to crankcase floor."""

    clock: float  # [h]
    strips: tuple[Strip, ...] = ()  # ``ACROSS`` wide each, without fillets of floors and undersides
    wall: float | None = None  # of the barrel at the deck; None where something joins it [mm]


def ray_at(section: DeckSection, clock: float) -> Ray:
    """What stands along a ray.

    Parameters
    ----------
    section : DeckSection
        Of a design.
    clock : float
        [h]

    Raises
    ------
    SectionError
        Where the block can't be built as deep as it is.
    """
    block = section.block
    whole = section_of(block, section.insert, section.thinnest_wall)
    plan = planned(whole)
    way = np.exp(1j * float(clock_to_angle(clock)))
    radii = block.bore / 2 + ACROSS * (np.arange(_across(block)) + 0.5)
    z = np.asarray(radii * way, dtype=np.complex128)
    own = np.abs(z.real - np.array(block.axes)[:, None]).argmin(axis=0) == block.firing_bore - 1
    within = own & (plan.off_bank(z) < block.outside_radius)
    strips: list[Strip] = []
    for radius, place, layers, stands in zip(radii, z, plan.layers(z), within, strict=True):
        if not stands:
            break
        lowest = 0.0
        for layer in layers:
            deep = float(layer.thickness(np.array(place.real), np.array(place.imag)))
            strips.append(_strip(layer.part, radius, layer.top, layer.top + deep))
            lowest = max(lowest, layer.top + deep)
        floor = block.jacket_floor
        if floor and lowest < floor:
            strips.append(_strip("outer wall", radius, floor, block.floor_depth))
    return Ray(clock, tuple(strips), _deck_wall(plan, way))


def _deck_wall(plan: Plan, way: complex) -> float | None:
    """Barrel metal at the deck along a ray, from the liner or the bore out. [mm]."""
    block = plan.block
    radii = np.arange(block.liner_radius + FINER / 2, block.outside_radius, FINER)
    layers = plan.layers(np.asarray(radii * way, dtype=np.complex128))
    barrel = [any(of.part == "barrel" and of.top == 0 for of in one) for one in layers]
    if all(barrel):
        return None
    end = barrel.index(False)
    joined = any(of.part != "insert" and of.top == 0 for of in layers[end])
    beyond = block.liner_radius + end * FINER > block.barrel_radius + 2 * FINER
    return None if joined or (beyond and not block.varied_walls) else end * FINER


def _strip(part: str, radius: float, top: float, bottom: float) -> Strip:
    return Strip(part, float(radius) - ACROSS / 2, float(radius) + ACROSS / 2, top, bottom)


def wall_size(block: Block) -> tuple[float, float]:
    """Width and height of the picture from deck to floor. [mm]."""
    return ACROSS * _across(block) + 14.0, block.floor_depth + 8.0


def _across(block: Block) -> int:
    """Places along a ray."""
    return math.ceil((REACH * block.outside_radius - block.bore / 2) / ACROSS)


def wall_svg(
    section: DeckSection,
    strips: Sequence[Strip],
    *,
    shade: Shade | None = None,
    place: tuple[float, float] | None = None,
) -> str:
    """The content of a picture of the wall from deck to floor, bore at the left.

    Parameters
    ----------
    section : DeckSection
    strips : sequence of Strip
    shade : Shade, optional
        Over the whole of the metal, in place of the colours of parts.
    place : (float, float), optional
        Radius and depth of a place that is marked. [mm]
    """
    block = section.block
    start, head = block.bore / 2 - 10.0, 5.0
    wide, high = wall_size(block)
    found = []
    if strips:
        far = max(strip.far for strip in strips) - start - 10
        found.append(
            f'<rect x="10" y="{head}" width="{far:.2f}" height="{high - 8:.2f}" fill="{WATER}"/>'
        )
    for strip in strips:
        fill = "none" if shade is not None else FILLS[strip.part]
        found.append(
            f'<rect x="{strip.near - start:.2f}" y="{head + strip.top:.2f}" '
            f'width="{ACROSS + 0.03}" height="{strip.bottom - strip.top:.2f}" fill="{fill}" '
            'shape-rendering="crispEdges"/>'
        )
    if shade is not None:
        found.append(
            f'<image href="{shade.picture}" x="10" y="{head}" width="{wide - 14:.3f}" '
            f'height="{high - 8:.3f}" preserveAspectRatio="none"/>'
        )
    for depth in range(0, int(block.floor_depth) + 1, 20):
        found.append(
            f'<text x="8.5" y="{head + depth + 1.2:.1f}" font-size="{LETTER}" text-anchor="end" '
            f'fill="{INK}">{depth}</text><line x1="9" x2="10" y1="{head + depth}" '
            f'y2="{head + depth}" stroke="{INK}" stroke-width="0.3"/>'
        )
    if place is not None:
        found.append(
            f'<circle cx="{place[0] - start:.2f}" cy="{head + place[1]:.2f}" r="2.2" fill="none" '
            f'stroke="#fff" stroke-width="1.8"/><circle cx="{place[0] - start:.2f}" '
            f'cy="{head + place[1]:.2f}" r="2.2" fill="none" stroke="{INK}" stroke-width="0.8"/>'
        )
    return "".join(found)


def on_grid(section: DeckSection, strips: Sequence[Strip]) -> NDArray[np.bool_]:
    """Cells of ``ACROSS`` by ``ACROSS`` that are metal, shape (depths, radii)."""
    block = section.block
    across = _across(block)
    down = math.ceil(block.floor_depth / ACROSS)
    metal = np.zeros((down, across), dtype=bool)
    for strip in strips:
        column = int((strip.near - block.bore / 2) / ACROSS + 0.5)
        metal[round(strip.top / ACROSS) : round(strip.bottom / ACROSS), column] = True
    return metal


def legend_html(section: DeckSection) -> str:
    """The colours of the parts of a plan."""
    named = {"barrel": "barrel", "liner": "liner", "tie": "tie", "outer wall": "outer wall"}
    colours = {name: FILLS[part] for part, name in named.items()}
    if not section.block.liner:
        del colours["liner"]
    if section.insert is not None:
        colours["insert"] = FILLS["insert"]
        if section.insert.zones:
            colours["insert, deeper"] = DEEPER
    colours["water"] = WATER
    return "".join(
        f'<span style="white-space:nowrap"><span class="swatch" style="background:{colour}"></span>'
        f"{name}</span> "
        for name, colour in colours.items()
    )


def picture_address(figure: Any) -> str:
    """A figure as an address that holds all of it, clear where nothing is drawn."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=100, transparent=True)
    return f"data:image/png;base64,{base64.b64encode(buffer.getvalue()).decode('ascii')}"
