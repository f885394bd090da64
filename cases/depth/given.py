"""What a case states of its depth section."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from cases.case import Case
from geometry.clock import format_clock
from geometry.refusals import SectionError, require_between
from geometry.section import Block, Insert

LEAST_GAIN = 0.01
"""Gain of another millimetre below which it is not worth its water (common practice, no source).
Share of the bare block's growth or stress, per mm."""


DEEPEST_FLOOR = 1000.0  # [mm]


@dataclass(frozen=True, kw_only=True, slots=True)
class DepthInput:
    """What a case states of its depth section."""

    floor: float  # of the crankcase, below the deck [mm]
    clock: float | None = None  # None: of the bare block's governing hot spot [h]
    least_gain: float = LEAST_GAIN  # share of the bare value, per mm
    left_out: frozenset[str] = field(default=frozenset(), compare=False)  # keys not in the case


def check_depth(
    given: DepthInput, block: Block, section: float, inserts: Iterable[Insert | None]
) -> None:
    """Refuse a depth section that can't be.

    Parameters
    ----------
    given : DepthInput
    block : Block
    section : float
        Section depth H. [mm]
    inserts : iterable of Insert or None

    Raises
    ------
    SectionError
        Its feature is ``depth.floor`` or ``depth.clock``.
    """
    reaching = [(section, "the deck section")]
    reaching += [(cut.depth, "a relief cut") for cut in block.relief_cuts]
    reaching += [(tie.depth, "a tie") for tie in block.ties]
    reaching += [(insert.lowest, "an insert") for insert in inserts if insert]
    deepest, what = max(reaching)
    require_between(
        "depth.floor", given.floor, deepest, DEEPEST_FLOOR, "mm",
        f"The crankcase floor lies below all else; {what} reaches {deepest:g} mm down.",
    )  # fmt: skip
    joined = None if given.clock is None else joined_stretch(block, given.clock)
    if given.clock is not None and joined is not None:
        raise SectionError(
            f"depth.clock = {format_clock(given.clock)} lies where two barrels run together, "
            f"from {format_clock(joined[0])} to {format_clock(joined[1])}: there is no free wall "
            "to look at. Give a clock position outside of that, or leave it out.",
            "depth.clock",
        )


def joined_stretch(block: Block, clock: float) -> tuple[float, float] | None:
    """Clock positions from which to which the barrel here runs into its neighbour. [h].

    None where it stands free.
    """
    from cases.block.features import features

    for feature in features(block):
        if feature.kind == "next bore" and feature.covers(np.array([clock])).any():
            middle = feature.clock_hours
            return middle - feature.half_width, middle + feature.half_width
    return None


def depth_given(case: Case) -> DepthInput | None:
    """What a case states of its depth section, if it asks for one."""
    return case.given.get("depth")
