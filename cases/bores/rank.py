"""Bores in the order of how much of its strength their metal uses, by sections in one piece."""

from __future__ import annotations

from cases.bores.result import RankedSpot
from cases.case import Case, Design
from cases.rating.judge import RATED_PARTS
from cases.stress.solve import quick_section
from fea.material import REFERENCE, Material


def ranked(case: Case, design: Design, line_load: float) -> list[RankedSpot]:
    """The worst place of a design about each bore that fires, bore by bore.

    Parameters
    ----------
    case : Case
    design : Design
    line_load : float
        Of the gas. [N/mm]

    Raises
    ------
    RunError
        If a section can't be solved.
    """
    materials = case.part_materials(design)
    solved = [
        quick_section(case, design, line_load, bore) for bore in range(1, case.block.bores + 1)
    ]
    found = []
    for bore, own in enumerate(solved, 1):
        block = own.section.block
        spots = [
            of
            for of in own.hot_spots
            if of.part in RATED_PARTS and not of.sharp and block.about_firing(of.x_mm)
        ]
        worst = max(spots, key=lambda of: of.principal_mpa / strength(materials[of.part]))
        found.append(
            RankedSpot(
                bore=bore, part=worst.part, clock=worst.clock, principal_mpa=worst.principal_mpa,
                share=worst.principal_mpa / strength(materials[worst.part]),
            )
        )  # fmt: skip
    return found


def strength(material: Material) -> float:
    """What a place is ranked by: fatigue strength, or where none is known half the tensile. [MPa].

    Half: common practice, no source. One where neither is known, so that stress ranks.
    """
    if material.fatigue is not None:
        return material.fatigue.strength
    half = float(material.tensile_strength(REFERENCE)) / 2
    return half if 0 < half < float("inf") else 1.0
