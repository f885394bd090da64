"""The report: one page that tells the story of a solved case, readable with no network."""

from __future__ import annotations

import base64
import datetime
import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from cases import __version__
from cases.base.cautions import CAUTIONS
from cases.base.figures import design_keys, rated_worst
from cases.base.page import render
from cases.case import PARENT_PARTS
from cases.gas.cycle import Capacity
from cases.life.life import SpotRange, has_service
from cases.life.steps import COLD_GAS, TAIL, WARM_GAS
from cases.life.tie_faces import most_open
from cases.rating.words import rating_contents
from cases.stress.traces import (
    UNSETTLED_TEXT,
    barrel_face,
    cut_near,
    features,
    plain_wall,
    sharp_text,
    stress_at_cut,
)
from fea.bore import HIGHEST_ORDER
from geometry.clock import format_clock
from geometry.section import THINNEST_WALL, Block, ReliefCut

if TYPE_CHECKING:
    from cases.case import Case
    from cases.run import CaseResult, DesignResult
    from fea.hotspots import HotSpot

LISTED_SPOTS = 8  # of all parts together
LISTED_BY_PART = 3
LISTED_CYCLES = 2  # of each part, hot at gas


def write_report(result: CaseResult, folder: str | Path) -> Path:
    """Write ``report.html``, with its pictures inside.

    Parameters
    ----------
    result : CaseResult
    folder : str or Path
        Where :func:`cases.base.figures.write_pictures` has left the pictures of the same result.

    Returns
    -------
    Path
        The page.

    Raises
    ------
    OSError
        If a picture is missing or the page can't be written.
    """
    folder = Path(folder)
    page = render(
        "report/page.html.j2",
        **_contents(result),
        picture=lambda name: _data_address(folder / name),
    )
    path = folder / "report.html"
    path.write_text(page, encoding="utf-8")
    return path


def _data_address(path: Path) -> str:
    kind = {".svg": "image/svg+xml", ".png": "image/png"}[path.suffix]
    return f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode('ascii')}"


def _contents(result: CaseResult) -> dict[str, Any]:
    """What the template shows."""
    from cases.check.published import PROBLEMS
    from fea.checks import CUT_FORCE_LIMIT, REACTION_LIMIT, RING_LIMIT

    case = result.case
    first = next((one for one in result.designs if one.section.insert is None), result.designs[0])
    story = why(first)
    inserts = any(design.section.insert for design in result.designs)
    others = [design for design in result.designs if design is not first]
    materials = _materials(result)
    return {
        "version": __version__,
        "made": datetime.datetime.now().astimezone().strftime("%Y-%m-%d %H:%M %Z"),
        "case": case,
        "block": case.block,
        "materials": materials,
        "result": result,
        "keys": design_keys(result),
        "first": first,
        "why": story,
        "changes": [change(design, first, story) for design in others],
        "first_drawn": result.designs[0],
        "worst_of": rated_worst,
        "block_parts": PARENT_PARTS,
        "other_parts": [
            part for part, there in (("liner", case.block.liner > 0), ("insert", inserts)) if there
        ],
        "orders": sorted(first.bore.orders_um, key=int)[:5],
        "has_ring": any(design.checks.lame_ratio is not None for design in result.designs),
        "shallow": _shallow(result),
        "place_of": lambda spot: place_of(case.block, spot),
        "crack_of": crack_direction,
        "listed": {design.name: listed_spots(design) for design in result.designs},
        "has_inserts": inserts,
        "sharp_text": sharp_text,
        "sharp_texts": sharp_texts(result),
        "unsettled_text": UNSETTLED_TEXT,
        "limits": {"reaction": REACTION_LIMIT, "cut": CUT_FORCE_LIMIT, "ring": RING_LIMIT},
        "lowered": case.thinnest_wall < THINNEST_WALL,
        "usual_thinnest": THINNEST_WALL,
        "published": PROBLEMS,
        "cautions": CAUTIONS,
        "usual_gamma": case.wall_load is not None
        and case.wall_load.cycle.engine.capacity == Capacity(),
        "has_service": has_service(case),
        "has_fit": case.fitted,
        **_life(result, first),
        **rating_contents(result, materials),
    }


@dataclass(frozen=True, slots=True)
class Price:
    """What a design costs in heat, against the first one."""

    name: str
    barrel: float  # hottest place of the barrel [K]
    stress: float  # worst stress of the block, cold at gas, as a share


def _life(result: CaseResult, first: DesignResult) -> dict[str, Any]:
    """What the chapter of load steps shows beside the steps themselves."""
    prices = []
    paths: list[str] = []
    for design in result.designs:
        if design.service is None or design.service.heat is None:
            continue
        heat = design.service.heat
        paths += [path for path, flow in heat.heat.items() if flow and path not in paths]
        if design is not first and first.service and first.service.heat:
            now, before = (
                rated_worst(one.service.steps[-1], PARENT_PARTS) if one.service else None
                for one in (design, first)
            )
            hot, cool = (
                one.hottest("barrel").temperature_degc for one in (heat, first.service.heat)
            )
            stress = now.principal_mpa / before.principal_mpa - 1 if now and before else math.nan
            prices.append(Price(design.name, hot - cool, stress))
    return {
        "prices": prices,
        "heat_paths": paths,
        "life_title": life_title(result.case),
        "ring_orders": [str(order) for order in range(2, HIGHEST_ORDER + 1)],
        "cycles": worst_cycles,
        "tail": TAIL,
        "ties_open": most_open(result.designs),
    }


def life_title(case: Case) -> str:
    """What the load steps of a case have."""
    if case.heat:
        return "Fitted, warm and at gas" if case.fitted else "Warm and at gas"
    return "Fitted and at gas"


def worst_cycles(design: DesignResult) -> list[SpotRange]:
    """The widest cycles of every part: of spots hot at gas, and one of what is hot without only."""
    if design.service is None:
        return []
    widest = sorted(design.service.ranges, key=lambda cycle: -cycle.range_mpa)
    found: list[SpotRange] = []
    for cycle in widest:
        alike = sum((one.spot.part, one.hot_in) == (cycle.spot.part, cycle.hot_in) for one in found)
        if alike < (LISTED_CYCLES if cycle.hot_in in (WARM_GAS, COLD_GAS) else 1):
            found.append(cycle)
    return found


def sharp_texts(result: CaseResult) -> list[str]:
    """What to say of the sharp spots of a case, each once."""
    return list(
        dict.fromkeys(
            sharp_text(design, spot)
            for design in result.designs
            for spot in design.hot_spots
            if spot.sharp
        )
    )


def _shallow(result: CaseResult) -> list[str]:
    """Designs whose insert ends above the floor of a relief cut somewhere."""
    deepest = max((cut.depth for cut in result.case.block.relief_cuts), default=0.0)
    return [
        design.name
        for design in result.designs
        if design.section.insert is not None and design.section.insert.deepest < deepest
    ]


def _materials(result: CaseResult) -> list[tuple[str, Any]]:
    """(parts, material), each material of the case once."""
    rows: dict[Any, list[str]] = {}
    for design in result.case.designs:
        for part, material in result.case.part_materials(design).items():
            parts = rows.setdefault(material, [])
            if part not in parts and (part != "insert" or design.insert is not None):
                parts.append(part)
    return [(", ".join(parts), material) for material, parts in rows.items() if parts]


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
    away = [math.hypot(spot.x_mm - axis, spot.y_mm) for axis in block.axes]
    bore = away.index(min(away)) + 1
    if bore != block.firing_bore and spot.part in ("barrel", "liner"):
        return f"bore {bore}"
    if away[bore - 1] < 1.01 * block.bore / 2:
        return "bore wall"
    hours = np.array([spot.clock_hours])
    for feature in features(block):
        if spot.part != "liner" and feature.covers(hours, 0.25)[0]:
            if feature.kind == "tie":
                return feature.label
            if feature.kind == "next bore" and spot.part == "barrel":
                return "between the bores"
    return spot.part


def listed_spots(design: DesignResult) -> list[tuple[int, HotSpot]]:
    """The spots of the tables, with their rank: the worst of all, and the worst of every part."""
    listed = []
    seen: dict[str, int] = {}
    for number, spot in enumerate(design.hot_spots, start=1):
        seen[spot.part] = seen.get(spot.part, 0) + 1
        if number <= LISTED_SPOTS or seen[spot.part] <= LISTED_BY_PART or spot.sharp:
            listed.append((number, spot))
    return listed


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
