"""What a design stands, with the band of its limit."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from functools import partial

from cases.base.faults import RunError
from cases.case import Case, Design
from cases.life.life import Life
from cases.rating.band import band_of
from cases.rating.judge import DesignRating, Judge, rate_design
from cases.stress.solve import _solve_design
from fea.adaptive import Adapted
from geometry.outline import draw_section
from geometry.section_mesh import SectionMesh


def _rate(
    case: Case,
    design: Design,
    adapted: Adapted,
    life: Life,
    mesh_outline: Callable[..., SectionMesh],
    step: Callable[[str], AbstractContextManager[None]],
) -> DesignRating:
    """What a design stands, with the band of its limit."""

    def other(changed: Case) -> tuple[Judge, Life]:
        mesh_changed = partial(mesh_outline, draw_section(changed.section(design)))
        adapted = _solve_design(changed, design, mesh_changed, lambda _: nullcontext())[0]
        life = Life(changed, design, adapted.solution.model.mesh)
        return _judge(changed, design, adapted, life), life

    with step("rating"):
        judge = _judge(case, design, adapted, life)
        rating = rate_design(judge, life)
    if not case.rating.draws or rating.limit is None or rating.limit.factor == 0:
        return rating
    try:
        with step("band"):
            band, untold = band_of(judge, life, rating.limit.factor, other)
    except RunError as error:
        note = f"no band: the design could not be solved around its limit. {error}"
        return replace(rating, notes=(*rating.notes, note))
    return replace(rating, band=band, notes=(*rating.notes, *untold))


def _judge(case: Case, design: Design, adapted: Adapted, life: Life) -> Judge:
    """The judge of a design, blind where the end of a bonded joint has no finite stress."""
    found = [(spot.x_mm, spot.y_mm) for spot in adapted.hot_spots if spot.sharp]
    return Judge(case, design, life.mesh, life.bond_ends() if design.fit else found)
