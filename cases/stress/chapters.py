"""The chapters on stress: why the wall cracks there, what designs change, water, all numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cases.base.output import file_keys
from cases.base.subject import Chapter
from cases.stress.displaced import displaced
from cases.stress.result import CaseResult, first_of
from cases.stress.spots import UNSETTLED_TEXT, listed_spots, sharp_text, sharp_texts
from cases.stress.why import Change, change, crack_direction, place_of, why
from fea.equilibrium import CUT_FORCE_LIMIT, REACTION_LIMIT, RING_LIMIT

GLANCE = (
    "the block's own metal is barrel, ties and outer wall, cold, each insert one piece with the "
    "block"
)


def stress_chapters(result: CaseResult) -> tuple[Chapter, ...]:
    """Three chapters, and two appendices."""
    case, first = result.case, first_of(result)
    story = why(first)
    changes = [change(one, first, story) for one in result.designs if one is not first]
    has_inserts = any(design.section.insert for design in result.designs)
    bare = first.section.insert is None
    shared: dict[str, Any] = {
        "block": case.block,
        "first": first,
        "keys": file_keys(result),
        "why": story,
        "changes": changes,
        "has_inserts": has_inserts,
        "place_of": lambda spot: place_of(case.block, spot),
        "unsettled_text": UNSETTLED_TEXT,
    }

    def chapter(
        key: str,
        title: str,
        *,
        appendix: bool = False,
        glance: str = "",
        finding: str = "",
        **contents: Any,
    ) -> Chapter:
        return Chapter(
            key=key, title=title, template=f"stress/{key}.html.j2", contents=shared | contents,
            appendix=appendix, glance=glance, finding=finding,
        )  # fmt: skip

    whose = "the bare wall" if bare else f'"{first.name}"'
    others = "insert" if has_inserts else "design"
    return (
        chapter("why", f"Why {whose} would crack where it does", sharp_texts=sharp_texts(result)),
        chapter(
            "changes", f"What each {others} changes" if changes else "Around the clock",
            finding=_changed(changes, first.name),
        ),
        chapter(
            "water", "What each design costs in water",
            finding=_open_water(result) if case.block.jacket else "",
            taken={design.name: displaced(design) for design in result.designs},
        ),
        chapter(
            "numbers", "All numbers", appendix=True, glance=GLANCE,
            listed={design.name: listed_spots(design) for design in result.designs},
            finding="Every separate peak of stress of the section, cold and in one piece.",
            orders=sorted(first.bore.orders_um, key=int)[:5], sharp_text=sharp_text,
            crack_of=crack_direction,
        ),
        chapter(
            "checks", "Checks", appendix=True, finding="Every section has passed its checks.",
            has_ring=any(design.checks.lame_ratio is not None for design in result.designs),
            limits={"reaction": REACTION_LIMIT, "cut": CUT_FORCE_LIMIT, "ring": RING_LIMIT},
        ),
    )  # fmt: skip


def _changed(changes: Sequence[Change], first: str) -> str:
    """What each design takes off the worst stress; empty with one design, or where not known."""
    told = [
        f"{one.design.name} {100 * one.stress:+.0f} %"
        for one in changes
        if one.stress == one.stress
    ]
    if not told:
        return ""
    return f"Worst stress of the block against {first}, cold and in one piece: {', '.join(told)}."


def _open_water(result: CaseResult) -> str:
    """What each design leaves of the water, seen from the deck."""
    left = [f"{design.name} {design.open_area_mm2:.0f} mm2" for design in result.designs]
    return f"Open water at the deck: {', '.join(left)}."


def section_limits(result: CaseResult) -> list[str]:
    """What a section can and can't see."""
    limits = [
        f"It is a flat section that stands for the top {result.case.section_depth:.1f} mm (H). "
        "Each point carries the depth of metal that is really there, and stress is the mean over "
        "that depth. Below H nothing helps and nothing pulls.",
    ]
    if all(design.found.get("solid") is None for design in result.designs):
        limits += _worth(result)
    if any(design.section.insert for design in result.designs):
        limits.append(
            "In the chapters on stress, growth, water and depth, and in the tables of all numbers, "
            "the insert is taken as bonded to the block, cold."
        )
    return [
        *limits,
        "No stress left by casting.",
        *sharp_texts(result),
    ]


def _worth(result: CaseResult) -> list[str]:
    """What the section is worth where no solid says so of this block."""
    shallow = _shallow(result)
    here = f": here that concerns {', '.join(shallow)}" if shallow else ""
    return [
        "Measured against three-dimensional models of a four-tie section with relief cuts: bore "
        "growth within about 15 %, depth-mean stress at the root of a bare relief cut within "
        "about 10 %.",
        "The peak in depth is 1.2 to 3 times the mean, most just below the underside of an insert "
        f"that is shallower than a relief cut{here}.",
        "No piston side force.",
    ]


def _shallow(result: CaseResult) -> list[str]:
    """Designs whose insert ends above the floor of a relief cut somewhere."""
    deepest = max((cut.depth for cut in result.case.block.relief_cuts), default=0.0)
    return [
        design.name
        for design in result.designs
        if design.section.insert is not None and design.section.insert.deepest < deepest
    ]
