"""Why the wall would crack where it does, and what a design changes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cases.base.parts import PARENT_PARTS
from cases.block.features import cut_near, features
from cases.stress.spots import rated_worst
from cases.stress.traces import barrel_face, plain_wall, stress_at_cut
from geometry.clock import format_clock
from geometry.section import ReliefCut

if TYPE_CHECKING:
    from cases.stress.result import DesignResult
    from fea.hotspots import HotSpot
from geometry.section import Block


@dataclass(frozen=True, slots=True)
class Crack:
    """Which way a crack would run: across the largest principal stress."""

    from_radius_deg: float  # angle between crack and radius, 0 to 90 [deg]
    words: str


def crack_direction(spot: HotSpot) -> Crack:
    """Direction of the crack to expect at a hot spot.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> pulled_along_the_hoop = SimpleNamespace(x_mm=50.0, y_mm=0.0, principal_angle_deg=90.0)
    >>> crack_direction(pulled_along_the_hoop)
    Crack(from_radius_deg=0.0, words='radial')
    """
    radius = math.degrees(math.atan2(spot.y_mm, spot.x_mm))
    off = abs((spot.principal_angle_deg + 90.0 - radius + 90.0) % 180.0 - 90.0)
    if off <= 30:
        words = "radial"
    elif off >= 60:
        words = "around the bore"
    else:
        words = "slanting"
    return Crack(off, words)


def place_of(block: Block, spot: HotSpot) -> str:
    """The feature at which a hot spot lies, in words; the part where there is none."""
    near = cut_near(block, spot.x_mm, spot.y_mm)
    if near is not None and spot.part != "liner":
        cut, bore = near
        where = "" if bore == block.firing_bore else f" of bore {bore}"
        return f"relief cut {format_clock(cut.clock)}{where}"
    bore = int(block.nearest_bore(spot.x_mm, spot.y_mm)[0])
    if bore != block.firing_bore and spot.part in ("barrel", "liner"):
        return f"bore {bore}"
    if math.hypot(spot.x_mm - block.axes[bore - 1], spot.y_mm) < 1.01 * block.bore / 2:
        return "bore wall"
    hours = np.array([spot.clock_hours])
    for feature in features(block):
        if spot.part != "liner" and feature.covers(hours, 0.25)[0]:
            if feature.kind == "tie":
                return feature.label
            if feature.kind == "next bore" and spot.part == "barrel":
                return "between the bores"
    return spot.part


@dataclass(frozen=True, slots=True)
class Why:
    """Why the wall would crack where it does."""

    spot: HotSpot | None  # worst rated spot of the block's own metal, liner left out
    place: str
    crack: Crack | None
    cut: ReliefCut | None  # the relief cut at the spot
    cut_bore: int  # the bore that it belongs to, counted from 1; 0 without
    wall_left_mm: float  # barrel metal between the pocket and the liner, or the bore
    plain_wall_mm: float  # median clear of relief cuts, ties and next bores
    plain_hoop_mpa: float  # median there, at the barrel's outer face
    liner_spot: HotSpot | None  # worst of the liner, where it is above the block's own

    @property
    def ratio(self) -> float:
        """Stress at the spot over the plain wall's hoop stress."""
        return math.nan if self.spot is None else self.spot.principal_mpa / self.plain_hoop_mpa

    @property
    def thinned(self) -> bool:
        """Whether the pocket takes anything off the barrel wall."""
        return self.cut is not None and self.wall_left_mm < 0.98 * self.plain_wall_mm


def why(design: DesignResult) -> Why:
    """What makes the worst place of a design the worst."""
    block = design.section.block
    spot = rated_worst(design, PARENT_PARTS)
    liner = rated_worst(design, ("liner",))
    face = barrel_face(design)
    plain = plain_wall(block, face)
    if not plain.any():
        plain = np.isfinite(face.hoop_mpa)
    near = None if spot is None else cut_near(block, spot.x_mm, spot.y_mm)
    cut = None if near is None else near[0]
    left = math.nan if cut is None else cut.radius - cut.diameter / 2 - block.liner_radius
    above = spot is not None and liner is not None and liner.principal_mpa > spot.principal_mpa
    return Why(
        spot=spot,
        place="" if spot is None else place_of(block, spot),
        crack=None if spot is None else crack_direction(spot),
        cut=cut,
        cut_bore=0 if near is None else near[1],
        wall_left_mm=left,
        plain_wall_mm=float(np.median(face.wall_mm[plain])),
        plain_hoop_mpa=float(np.median(face.hoop_mpa[plain])),
        liner_spot=liner if above else None,
    )


@dataclass(frozen=True, slots=True)
class Change:
    """A design against the first one; shares are -0.2 for 20 % less, nan where unknown."""

    design: DesignResult
    spot: HotSpot | None  # worst rated spot of the block's own metal
    stress: float
    cut_stress_mpa: float  # at the relief cut where the first design is worst
    cut_stress: float
    growth: float
    out_of_round: float
    water: float


def change(design: DesignResult, first: DesignResult, story: Why) -> Change:
    """Compare a design with the first, whose story is given."""
    spot, before = rated_worst(design, PARENT_PARTS), story.spot
    at_cut = math.nan
    if story.cut is not None:
        at_cut = stress_at_cut(design, story.cut, story.cut_bore)
    known = spot is not None and before is not None
    now_mpa = spot.principal_mpa if spot else math.nan
    before_mpa = before.principal_mpa if before else math.nan
    return Change(
        design=design,
        spot=spot if known else None,
        stress=now_mpa / before_mpa - 1,
        cut_stress_mpa=at_cut,
        cut_stress=at_cut / before_mpa - 1,
        growth=design.bore.mean_growth_um / first.bore.mean_growth_um - 1,
        out_of_round=_share(design.bore.out_of_round_um, first.bore.out_of_round_um),
        water=_share(design.open_area_mm2, first.open_area_mm2),
    )


def _share(now: float, before: float) -> float:
    return now / before - 1 if before else math.nan
