"""One design, from its table to what a solid finds of it; run in processes of their own.

What is sent is the case as its file has it and the table of one design, some kilobytes; what comes
back is :class:`Found`, half a kilobyte. A design is read as if someone had typed it, so that what a
typed case would be refused for refuses it too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter
from typing import Any

from cases.base.faults import CaseError, RunError
from cases.base.subject import Drawn
from cases.block.drawn import draw_all
from cases.case import Case, Design
from cases.gasket.areas import place_words
from cases.making.make import made_of
from cases.rating.result import rating_of
from cases.search.code import code_hash
from cases.search.found import Found
from cases.search.given import SearchInput
from cases.solid.given import Setting
from cases.solid.result import solid_of
from cases.solid.solve import FINENESS
from cases.stress.result import CaseResult
from cases.stress.solve import load_mesher
from cases.verdict.rows import row_of
from geometry.overlay import Patch, common_area, open_water
from geometry.refusals import SectionError
from geometry.section import DeckSection
from geometry.solid.columns import section_of
from geometry.solid.layers import mesh_solid
from geometry.solid.mesh import SolidMesh, prism_volumes

BARE: Mapping[str, Any] = {"name": "bare"}
"""The table of the bare block."""
WATER, PASSAGE, DROP = "open water", "open water of each passage", "drop-in clearance"
"""Demands that are known before any mesh."""


@dataclass(frozen=True, slots=True)
class Hands:
    """What reads, solves and names a case: of modules that rest on this one."""

    read: Callable[[Mapping[str, Any], Path], Case]
    solve: Callable[[Case, Setting | None], CaseResult]
    inputs: Callable[[Case], str]  # hash of all that is solved from


@dataclass(frozen=True, slots=True)
class Task:
    """A design of a case."""

    raw: Mapping[str, Any]  # the case as its file has it, without designs and search
    path: Path
    design: Mapping[str, Any]

    def case(self, hands: Hands) -> Case:
        """The case with this design alone."""
        return hands.read({**self.raw, "design": [self.design]}, self.path)


@dataclass(frozen=True, slots=True)
class BareWater:
    """Open water of the bare block at the deck."""

    area: float  # [mm2]
    passages: tuple[Patch, ...]


@dataclass(frozen=True, slots=True)
class Admitted:
    """Whether a design can be built and keeps what is known before any mesh."""

    key: str = ""  # hash of all inputs and of the code; empty where it is refused
    demand: str = ""  # that it does not meet, or the place of its table that can't be
    text: str = ""


def admit(hands: Hands, task: Task, given: SearchInput, bare: BareWater) -> Admitted:
    """Read and draw a design.

    Parameters
    ----------
    hands : Hands
    task : Task
    given : SearchInput
    bare : BareWater
    """
    try:
        case = task.case(hands)
        (drawn,) = draw_all(case, lambda name, stage: None)
    except CaseError as error:
        fault = error.faults[0]
        return Admitted(demand=_place(fault.path), text=fault.text)
    return _demanded(case, drawn, given, bare) or Admitted(key=f"{code_hash()}{hands.inputs(case)}")


def _place(path: str) -> str:
    """A place of the design's table without its number and name."""
    for start in ("design[1]", 'design "searched"'):
        path = path.removeprefix(start)
    return path.lstrip(".") or "design"


def _demanded(case: Case, drawn: Drawn, given: SearchInput, bare: BareWater) -> Admitted | None:
    """What is demanded and not kept."""
    share = drawn.outline.open_area / bare.area if bare.area > 0 else 1.0
    if share < given.least_open_water:
        text = f"{100 * share:.1f} % of the bare block's water is left open at the deck."
        return Admitted(demand=WATER, text=text)
    if given.least_passage_water > 0 and bare.passages:
        passage, share = _narrowest(drawn, bare.passages)
        if share < given.least_passage_water:
            place = place_words(case.block, passage.loops[0])
            text = f"{100 * share:.1f} % of the passage at {place} is left open at the deck."
            return Admitted(demand=PASSAGE, text=text)
    if given.drops_in:
        making = made_of(case, drawn.name, None, "")
        if making.unknown:
            return Admitted(demand=DROP, text=f"It is not known: {making.unknown}.")
        if not making.drops_in:
            text = f"The side that opens least stands off {1000 * making.least:.0f} um."
            return Admitted(demand=DROP, text=text)
    return None


def _narrowest(drawn: Drawn, passages: Sequence[Patch]) -> tuple[Patch, float]:
    """The passage of the bare block of which a design leaves the least share open, and that."""
    left = [loop for patch in open_water(drawn.section) for loop in patch.loops]
    shares = [common_area(of.loops, left) / of.area if left else 0.0 for of in passages]
    least = min(range(len(shares)), key=shares.__getitem__)
    return passages[least], shares[least]


def bare_water(hands: Hands, task: Task) -> BareWater:
    """Open water of the bare block at the deck.

    Raises
    ------
    CaseError
        If the block can't be built.
    """
    (drawn,) = draw_all(task.case(hands), lambda name, stage: None)
    return BareWater(float(drawn.outline.open_area), open_water(drawn.section))


def bare_volume(hands: Hands, task: Task, setting: Setting) -> float:
    """Metal of the bare block's solid. [mm3]."""
    case = task.case(hands)
    return float(prism_volumes(solid_mesh(case, case.designs[0], setting)).sum())


def solid_mesh(case: Case, design: Design, setting: Setting) -> SolidMesh:
    """The solid of a design, meshed.

    Raises
    ------
    RunError
        If it can't be.
    """
    load_mesher()
    section = section_of(case.block, design.insert, case.thinnest_wall)
    try:
        return mesh_solid(section, FINENESS[setting])
    except SectionError as error:
        raise RunError(f'design "{design.name}", solid: {error}') from error


def judge_fine(hands: Hands, task: Task, bare_mm3: float) -> list[Found | str]:
    """Rate a design by its fine solid, as a case that states it is rated; or why it can't be.

    Parameters
    ----------
    hands : Hands
    task : Task
    bare_mm3 : float
        Metal of the bare block's solid, as fine.

    Returns
    -------
    list of Found or str
        One.
    """
    try:
        return [_judged(hands, task, bare_mm3)]
    except (RunError, CaseError) as error:
        return [str(error)]


def _judged(hands: Hands, task: Task, bare_mm3: float) -> Found:
    start = perf_counter()
    result = hands.solve(task.case(hands), "fine")
    (design,) = result.designs
    row = row_of(result, design, None)
    solid, rating = solid_of(design), rating_of(design).solid
    limit = row.limit_factor if row.limit_factor is not None else row.beyond
    if solid is None or rating is None or limit is None:
        why = solid.untold if solid and solid.untold else "no limit was found by its solid"
        raise RunError(f"{why}")
    taken, cut = metal_of(solid.shown.mesh, design.section, design.insert_area_mm2, bare_mm3)
    hottest = [of for of in (row.hottest_barrel_degc, row.hottest_insert_degc) if of is not None]
    return Found(
        limit=limit, at_least=row.limit_factor is None, limit_bar=row.limit_bar,
        low_bar=row.limit_low_bar, high_bar=row.limit_high_bar, share=row.share,
        governs=", ".join(
            of for of in (row.places[0].words if row.places else "", row.state, row.criterion) if of
        ),
        hottest_degc=max(hottest, default=None),
        out_of_round_um=row.distortion.out_of_round_um if row.distortion else None,
        open_mm2=row.open_water_mm2, wetted_mm2=row.wetted_barrel_mm2, taken_mm3=taken,
        mass_g=row.mass_g, machining_mm3=cut, doubts=row.doubts,
        seconds=perf_counter() - start,
    )  # fmt: skip


def metal_of(
    mesh: SolidMesh, section: DeckSection, insert_area: float, bare_mm3: float
) -> tuple[float, float]:
    """Water that metal takes the place of, and metal to cut off block and insert. [mm3].

    An insert is cut from a plate of its outline, slots in it, as thick as it is deep at most.

    Parameters
    ----------
    mesh : SolidMesh
    section : DeckSection
    insert_area : float
        Of the insert at the deck. [mm2]
    bare_mm3 : float
        Metal of the bare block's solid, meshed alike.
    """
    insert = section.insert
    assert insert is not None
    volumes = prism_volumes(mesh)
    whole = float(volumes.sum())
    own = float(volumes[mesh.part == mesh.parts.index("insert")].sum())
    plate = insert_area * insert.deepest
    return whole - bare_mm3, max(bare_mm3 - (whole - own), 0.0) + max(plate - own, 0.0)
