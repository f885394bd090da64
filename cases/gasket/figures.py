"""A picture for each gasket: its holes over every design, open, half open and blocked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.base.figures import COLUMN, new_figure
from cases.base.subject import Solved
from cases.gasket.given import Gasket, gasket_given
from cases.gasket.result import GasketWater, Hole, water_of
from geometry.drawing import FILLS, INK, WATER, curves_path
from geometry.outline import loops_around
from geometry.overlay import Loop
from geometry.planar import Area
from geometry.section import Block

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

OPEN, BLOCKED, OVER_METAL = "#0072B2", "#D55E00", "#8A8A8A"
"""Blue and vermilion, which the colour-blind tell apart (Okabe & Ito); blocked is hatched too."""
METAL, BEAD = "#C2C8D0", "#5B3A8C"
ABREAST = 2  # bores of a panel
GAP = 0.1  # between the panels of a deck [inch]


def gasket_figures(result: Solved) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each gasket's picture."""
    for place, gasket in enumerate(gasket_given(result.case).gaskets):
        yield f"gasket-{place + 1}", gasket_figure(result, place, gasket)


def gasket_figure(result: Solved, place: int, gasket: Gasket) -> Figure:
    """The holes of one gasket over every design, the whole deck from above."""
    panels: list[Panel] = []
    for design in result.designs:
        found = water_of(design)
        assert found is not None
        panels.append((design.name, design, found.deck, gasket, found.gaskets[place]))
    return whole_deck(result.case.block, panels)


Panel = tuple[str, Any, Sequence[Sequence[Loop]], Gasket, GasketWater]
"""Title; what has a section and an outline; what is open at the deck; a gasket, and over it."""


def whole_deck(block: Block, panels: Sequence[Panel]) -> Figure:
    """The whole deck from above, once for each panel, so many bores ``ABREAST``."""
    from matplotlib.patches import Patch

    half = 1.03 * block.outside_radius
    middles = [(one + other) / 2 for one, other in pairwise(block.axes)]
    edges = [block.axes[0] - half, *middles[ABREAST - 1 :: ABREAST], block.axes[-1] + half]
    stretches = list(pairwise(edges))
    size = COLUMN / max(high - low for low, high in stretches)  # of a mm [inch]
    alone = len(stretches) == 1
    across = min(len(panels), 2) if alone and block.bores == 1 else 1
    rows = -(-len(panels) // across)
    lefts = [size * (low - edges[0]) + GAP * k for k, (low, _) in enumerate(stretches)]
    wide = across * (size * (edges[-1] - edges[0]) + GAP * (len(stretches) - 1))
    tall, head, foot = 2 * half * size, 0.28, 0.58
    figure = new_figure(wide, rows * (tall + head) + foot)
    whole = figure.get_figheight()
    for k, (title, *drawn) in enumerate(panels):
        row, column = divmod(k, across)
        bottom = (foot + (rows - 1 - row) * (tall + head)) / whole
        for stretch, (left, (low, high)) in enumerate(zip(lefts, stretches, strict=True)):
            place = left + column * wide / across
            axes = figure.add_axes((place / wide, bottom, size * (high - low) / wide, tall / whole))
            axes.set_xlim(low, high)
            axes.set_ylim(-half, half)
            axes.set_aspect("equal")
            axes.set_axis_off()
            _draw(axes, *drawn)
            shown = range(stretch * ABREAST + 1, block.bores + 1)[:ABREAST]
            named = f", bore{'s' * (len(shown) > 1)} {' and '.join(map(str, shown))}"
            bores = "" if alone else named
            axes.set_title(f"{title}{bores}", fontsize=10, pad=3)
    figure.legend(
        handles=[
            Patch(facecolor=OPEN, edgecolor=INK, label="open through deck, gasket and head"),
            Patch(facecolor="white", edgecolor=BLOCKED, hatch="////", label="blocked"),
            Patch(facecolor=FILLS["insert"], label="insert"),
            Patch(facecolor=WATER, edgecolor="#9CC4D8", label="water at the deck"),
            Patch(facecolor="none", edgecolor=BEAD, linestyle="--", label="bead about the bore"),
        ],
        loc="lower left", ncols=2, fontsize=7.5, frameon=False,
        handlelength=1.4, columnspacing=1.2,
    )  # fmt: skip
    return figure


def _draw(
    axes: Axes, design: Any, deck: Sequence[Sequence[Loop]], gasket: Gasket, found: GasketWater
) -> None:
    from matplotlib.patches import Circle, PathPatch

    block = design.section.block
    outline = design.outline
    for face in outline.faces:
        parts = {layer.part for layer in outline.regions[face.region]}
        axes.add_patch(
            PathPatch(
                curves_path(outline.loops(face)), linewidth=0,
                facecolor=FILLS["insert"] if "insert" in parts else METAL,
            )
        )  # fmt: skip
    for loops in deck:
        axes.add_patch(PathPatch(curves_path(loops), facecolor=WATER, edgecolor="#9CC4D8", lw=0.5))
    for axis in block.axes:
        for radius in (gasket.bead_inside, gasket.bead_outside):
            axes.add_patch(
                Circle((axis, 0), radius, fill=False, edgecolor=BEAD, linestyle="--", linewidth=0.6)
            )
    axis = block.axes[0]
    water = Area([loop for loops in deck for loop in loops])
    head = None if gasket.head is None else Area([of.loop(axis) for of in gasket.head])
    edges = [curve for loops in deck for loop in loops for curve in loop]
    edges += [c for of in gasket.head or () for c in of.loop(axis)]
    for opening, hole in zip(gasket.openings, found.holes, strict=True):
        loop = opening.loop(axis)
        path = curves_path([loop])
        colour = BLOCKED if hole.bare > 1e-6 else OVER_METAL
        whole = hole.open > 0.999 * hole.area
        axes.add_patch(
            PathPatch(
                path, facecolor="white" if not whole else OPEN, edgecolor=INK if whole else colour,
                hatch=None if whole else "//////", linewidth=0.8,
            )
        )  # fmt: skip
        if not whole and hole.open > 1e-6:
            own = Area([loop])

            def common(z: Any, own: Area = own) -> Any:
                held = own.holds(z) & water.holds(z)
                return held if head is None else held & head.holds(z)

            seen = loops_around([*edges, *loop], common)
            axes.add_patch(PathPatch(curves_path(seen), facecolor=OPEN, edgecolor=INK, lw=0.5))
        if hole.is_blocked:
            _number(axes, hole, loop, block.axes[hole.bore - 1])


def _number(axes: Axes, hole: Hole, loop: Loop, axis: float) -> None:
    """The number of a blocked hole, outward of it."""
    z = np.array([curve.point(0.5) for curve in loop])
    middle = z.mean()
    way = (middle - axis) / abs(middle - axis)
    far = middle + way * (((z - middle) * np.conj(way)).real.max() + 5.0)
    axes.text(
        far.real, far.imag, str(hole.number), ha="center", va="center", fontsize=7.5,
        fontweight="bold", color=BLOCKED, clip_on=True,
    )  # fmt: skip
