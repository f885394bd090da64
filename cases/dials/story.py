"""Why a cut cracks, in four pictures of the block at hand, for the customer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from cases.base.figures import COLUMN, new_figure, round_up, triangulated
from cases.base.parts import PARENT_PARTS
from cases.bores.given import firing
from cases.case import Design
from cases.dials.answer import COLOURS
from cases.dials.plan import picture_address
from cases.dials.turn import only
from cases.gas.solve import gas_load
from cases.stress.result import DesignResult
from cases.stress.solve import quick_section
from cases.stress.spots import rated_worst
from cases.stress.traces import barrel_face, plain_wall, stress_at_cut
from cases.stress.why import crack_direction
from fea.stress import principal
from geometry.clock import clock_to_angle, format_clock
from geometry.drawing import INK, border_path, view_of
from geometry.section import ReliefCut

AROUND = 17.0
"""Half of what is shown about a cut. [mm]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Scene:
    """A picture with its sentence."""

    picture: str  # a data address
    heading: str
    words: str


def story(raw: Mapping[str, Any], path: Path, name: str, bore: int) -> list[Scene]:
    """Four pictures by the section, one piece and cold: plain wall, cut, its place, the insert.

    Empty where the bore that fires has no relief cut.

    Raises
    ------
    CaseError, RunError
        If it can't be read or solved.
    """
    case = firing(only(raw, path, name), bore)
    (design,), block = case.designs, case.block
    load = gas_load(case).line_load
    bare = Design(name="bare")
    plain = replace(case, block=replace(block, relief_cuts=()))
    cuts = [of for of in block.relief_cuts if of.bores is None or bore in of.bores]
    if not cuts:
        return []
    before, cut_bare, with_insert = (
        quick_section(one, what, load, bore)
        for one, what in ((plain, bare), (case, bare), (case, design))
    )
    stresses = {of: stress_at_cut(cut_bare, of, bore) for of in cuts}
    cut = max(stresses, key=lambda of: stresses[of])
    face = barrel_face(cut_bare)
    wall = float(np.median(face.hoop_mpa[plain_wall(block, face)]))
    left = _wall_left(cut, block.liner_radius)
    high = round_up(stresses[cut])
    held = stress_at_cut(with_insert, cut, bore)
    told, clock = case.spoken.told, format_clock(cut.clock)
    worst = rated_worst(cut_bare, PARENT_PARTS)
    way = crack_direction(worst).words if worst else "radial"
    ways = {
        "radial": "straight through the wall, in line with the bore's middle",
        "slanting": "on a slant through the wall",
        "around the bore": "around the bore, along the wall",
    }
    words = [
        ("The plain wall", f"The gas pulls the wall around the bore, everywhere much alike: about "
         f"{wall:.0f} MPa on its outside."),
        ("The cut", f"At {clock} room for the bolt leaves {left:.1f} mm of the "
         f"{block.barrel_wall:.1f} mm wall. The same pull has to pass there."),
        ("Where it cracks", f"So the metal there is pulled {stresses[cut] / wall:.1f} times as "
         f"hard: {stresses[cut]:.0f} MPa. A crack starts there and runs {ways[way]}."),
        ("The insert", f"The insert takes part of the push over to the outer wall: "
         f"{held:.0f} MPa are left, {100 * (1 - held / stresses[cut]):.0f} % less."),
    ]  # fmt: skip
    at = tuple(cut.radius * float(of(clock_to_angle(cut.clock))) for of in (np.cos, np.sin))
    shown = [(before, at), (cut_bare, None), (cut_bare, at), (with_insert, at)]
    return [
        Scene(picture=_picture(of, where, high), heading=heading, words=told(text))
        for (of, where), (heading, text) in zip(shown, words, strict=True)
    ]


def _wall_left(cut: ReliefCut, liner_radius: float) -> float:
    return cut.radius - cut.diameter / 2 - liner_radius


def _picture(solved: DesignResult, at: tuple[float, ...] | None, high: float) -> str:
    """Largest pull of the metal, all of the bore or about a place, on one scale."""
    view = view_of(solved.section.block)
    figure = new_figure(COLUMN, COLUMN)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    for layer in sorted(solved.stresses, key=lambda of: of.part == "insert"):
        mesh, used = triangulated(solved.mesh.points[layer.nodes], layer.triangles)
        axes.tripcolor(
            mesh, principal(layer.stress)[0][used], shading="gouraud", cmap=COLOURS, vmin=0,
            vmax=high,
        )  # fmt: skip
    from matplotlib.patches import PathPatch

    path = border_path(solved.outline, view)
    axes.add_artist(PathPatch(path, fill=False, edgecolor=INK, linewidth=0.7))
    middle, half = ((0.0, 0.0), view.half_height) if at is None else (at, AROUND)
    axes.set_xlim(middle[0] - half, middle[0] + half)
    axes.set_ylim(middle[1] - half, middle[1] + half)
    axes.set_aspect("equal")
    return picture_address(figure)
