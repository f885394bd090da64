"""What the deck section of a design does under gas, and the designs of a case together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from cases.case import Case
from fea.adaptive import Pass
from fea.bore import BoreShape
from fea.equilibrium import SelfChecks
from fea.hotspots import HotSpot
from fea.model import Solution
from fea.stress import LayerStress
from geometry.outline import Outline
from geometry.section import DeckSection
from geometry.section_mesh import SectionMesh


@dataclass(frozen=True, kw_only=True, slots=True)
class DesignResult:
    """What one design of a case does under the gas load, cold and in one piece."""

    name: str
    section: DeckSection
    outline: Outline
    mesh: SectionMesh
    solution: Solution
    stresses: tuple[LayerStress, ...]
    hot_spots: tuple[HotSpot, ...]  # worst first
    passes: tuple[Pass, ...] = ()  # mesh by mesh, where it was refined
    stopped: str = ""  # what asked for a larger mesh than is made, in words
    bore: BoreShape
    checks: SelfChecks
    open_area_mm2: float  # open water seen at the deck
    insert_area_mm2: float
    seconds: Mapping[str, float] = field(default_factory=dict)  # by stage, and "total"
    found: Mapping[str, Any] = field(default_factory=dict)  # findings of later subjects, by key


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseResult:
    """All designs of a case, in its order."""

    case: Case
    designs: tuple[DesignResult, ...]
    found: Mapping[str, Any] = field(default_factory=dict)  # about the case as a whole, by key


def first_of(result: CaseResult) -> DesignResult:
    """The design that others are set against: the bare one, or the first where there is none."""
    bare = (design for design in result.designs if design.section.insert is None)
    return next(bare, result.designs[0])
