"""What the deck section of a design does under gas, and the designs of a case together."""

from __future__ import annotations

from dataclasses import dataclass

from cases.case import Case
from cases.crack.result import CrackResult
from cases.depth.result import DepthResult
from cases.life.life import Service
from cases.rating.judge import DesignRating
from fea.adaptive import Pass
from fea.bore import BoreShape
from fea.checks import Checks
from fea.hotspots import HotSpot
from fea.model import Solution
from fea.stress import LayerStress
from geometry.outline import Outline
from geometry.section import DeckSection
from geometry.section_mesh import SectionMesh


@dataclass(frozen=True, kw_only=True, slots=True)
class DesignResult:
    """What one design of a case does under the gas load."""

    name: str
    section: DeckSection
    outline: Outline
    mesh: SectionMesh
    solution: Solution
    stresses: tuple[LayerStress, ...]
    hot_spots: tuple[HotSpot, ...]  # worst first
    passes: tuple[Pass, ...] = ()  # mesh by mesh, where it was refined
    bore: BoreShape
    checks: Checks
    open_area_mm2: float  # open water seen at the deck
    insert_area_mm2: float
    seconds: dict[str, float]  # draw, mesh, solve, recover, total; service and rating if there
    service: Service | None = None  # load steps, where the case has fit or heat
    rating: DesignRating | None = None  # where it was asked for


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseResult:
    """All designs of a case, in its order."""

    case: Case
    designs: tuple[DesignResult, ...]
    depth: DepthResult | None = None  # the barrel from the side, where the case asks for it
    crack: CrackResult | None = None  # a crack in every design, where the case asks for it
