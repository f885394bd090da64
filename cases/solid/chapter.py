"""The chapter on the solid."""

from __future__ import annotations

from cases.base.output import file_keys
from cases.base.subject import Chapter
from cases.gas.solve import gas_of
from cases.life.given import life_given
from cases.solid.figures import governing_places
from cases.solid.joint import joint_rows
from cases.solid.planes import CUT_LIMITS, check_planes
from cases.solid.result import refused_of
from cases.solid.words import (
    ERRORS,
    above_words,
    heat_words,
    order_lines,
    solids,
    unsettled,
    untold_lines,
    worth_words,
)
from cases.stress.result import CaseResult
from fea.equilibrium import REACTION_LIMIT
from fea.solid.equilibrium import REST_LIMIT, RIGID_LIMIT

LISTED = 8
"""Spots of a design that are listed."""


def solid_chapters(result: CaseResult) -> tuple[Chapter, ...]:
    """The block in depth, where it was solved or refused."""
    found, life = solids(result), life_given(result.case)
    refused = [
        (design.name, refusal) for design in result.designs if (refusal := refused_of(design))
    ]
    if not found and not refused:
        return ()
    return (
        Chapter(
            key="solid",
            title="The block in depth",
            template="solid/chapter.html.j2",
            finding=" ".join(order_lines(result)),
            contents={
                "solids": [
                    (design, solid, solid.shown, solid.shown.governing) for design, solid in found
                ],
                "refused": refused,
                "first_lines": untold_lines(result),
                "unsettled": unsettled(result),
                "hot": [heat_words(design.name, of.heat) for design, of in found if of.heat],
                "above": above_words(result),
                "worth": worth_words(result),
                "promised": {name: 100 * error for name, error in ERRORS.items()},
                "most": LISTED,
                "joint": joint_rows(result),
                "fitted": any(
                    solid.as_made is not None and (life.fits.get(design.name) or life.liner_opens)
                    for design, solid in found
                ),
                "lined": life.liner_opens,
                "kind": "narrow" if len(governing_places(result)) == 1 else "full",
                "keys": file_keys(result),
                "gas": gas_of(result),
            },
        ),
        *_checks(result),
    )


def _checks(result: CaseResult) -> tuple[Chapter, ...]:
    """The self-checks of the solids."""
    states = [
        (design.name, name, state.checks)
        for design, solid in solids(result)
        for name, state in (("one piece", solid.one_piece), ("as made", solid.as_made))
        if state is not None
    ]
    if not states:
        return ()
    depths = [f"{-at:.0f}" for axis, at in check_planes(result.case) if axis == "z"]
    return (
        Chapter(
            key="solid-checks",
            title="Checks of the solids",
            template="solid/checks.html.j2",
            finding="Every solid has passed its checks.",
            contents={
                "states": states,
                "depths": f"{', '.join(depths[:-1])} and {depths[-1]} mm",
                "limits": {
                    "reaction": REACTION_LIMIT, "cut": CUT_LIMITS[solids(result)[0][1].setting],
                    "rigid": RIGID_LIMIT,
                    "rest": REST_LIMIT,
                },
            },
            appendix=True,
        ),
    )  # fmt: skip
