"""Where a crack can stand and how long it can get: what the outlines alone can tell."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cases.base.checking import Faults
from cases.base.faults import CaseError, Fault
from cases.base.parts import PARENT_PARTS
from cases.base.subject import Drawn
from cases.case import Case
from cases.crack.given import CrackInput
from geometry.clock import clock_to_angle, format_clock
from geometry.cracked import CrackPath, stretches_along, trace_path
from geometry.faces import Outline
from geometry.refusals import SectionError

LARGEST_FLAW = 0.9
"""Share of the wall that a flaw may have."""


def one_metal(part: str) -> frozenset[str]:
    """Parts that crack together with a part: the block's own metal is one."""
    return frozenset(PARENT_PARTS if part in PARENT_PARTS else [part])


def check_place(case: Case, given: CrackInput, drawn: Sequence[Drawn], faults: Faults) -> None:
    """Gather what is wrong with a crack before anything is solved.

    From which side of the wall it starts is told by stress alone; it is refused here where it
    can't be from either.

    Parameters
    ----------
    case : Case
    given : CrackInput
    drawn : sequence of Drawn
        All designs; the crack's place is that of the first.
    faults : Faults
    """
    try:
        _check_place(case, given, drawn)
    except CaseError as error:
        faults.take(error)


def _check_place(case: Case, given: CrackInput, drawn: Sequence[Drawn]) -> None:
    first = drawn[0].outline
    if first.part_area(given.part) == 0:
        parts = {layer.part for layers in first.regions for layer in layers} - {"insert"}
        raise crack_refusal(
            case,
            "part",
            f"There is no {given.part} in this block. Choose from {', '.join(sorted(parts))}.",
        )
    if given.clock is None:
        return
    shortest = [
        min(
            (
                crack_path(case, one.name, one.outline, mouth, direction, given.part)
                for one in drawn
            ),
            key=lambda path: path.length,
        )
        for mouth, direction in radial_ends(case, given, first)
    ]
    longer, shorter = sorted(shortest, key=lambda path: -path.length)
    try:
        check_lengths(case, given, longer)
    except CaseError:
        check_lengths(case, given, shorter)


def radial_ends(
    case: Case, given: CrackInput, outline: Outline
) -> tuple[tuple[complex, complex], tuple[complex, complex]]:
    """Inner and outer edge of a part at its clock position, each with the direction into it.

    Parameters
    ----------
    case : Case
    given : CrackInput
        With a clock position.
    outline : Outline

    Raises
    ------
    CaseError
        If there is no metal of the part there.
    """
    assert given.clock is not None
    direction = complex(np.exp(1j * clock_to_angle(given.clock)))
    stretches = [
        stretch
        for stretch in stretches_along(outline, 0j, direction)
        if any(layer.part == given.part for layer in stretch.layers)
    ]
    if not stretches:
        raise crack_refusal(
            case,
            "clock",
            f"There is no {given.part} at {format_clock(given.clock)}. Give a clock position where "
            "it stands, or leave clock out for its worst hot spot.",
        )
    end = stretches[0].end
    for stretch in stretches[1:]:
        if stretch.start - end > 1e-4:
            break
        end = stretch.end
    return (stretches[0].start * direction, direction), (end * direction, -direction)


def crack_path(
    case: Case, name: str, outline: Outline, mouth: complex, direction: complex, part: str
) -> CrackPath:
    """The way of a crack through a design.

    Parameters
    ----------
    case : Case
    name : str
        Of the design.
    outline : Outline
    mouth : complex
        [mm]
    direction : complex
        Unit vector.
    part : str

    Raises
    ------
    CaseError
        If there is no metal at the place.
    """
    try:
        return trace_path(outline, mouth, direction, one_metal(part))
    except SectionError as error:
        raise crack_refusal(case, "part", f"Design {name}: {error}") from None


def check_lengths(case: Case, given: CrackInput, path: CrackPath) -> None:
    """Refuse a crack that is longer than the wall.

    Raises
    ------
    CaseError
    """
    wall = f"the metal is {path.length:.3g} mm thick along the crack, up to {path.end}"
    if given.flaw > LARGEST_FLAW * path.length:
        raise crack_refusal(
            case,
            "flaw",
            f"{given.flaw:g} mm leaves nothing of the wall to grow through: {wall}. Give at most "
            f"{LARGEST_FLAW * path.length:.3g} mm.",
        )
    if given.longest is not None and given.longest > path.length * (1 + 1e-9):
        raise crack_refusal(
            case,
            "longest",
            f"{given.longest:g} mm is more than the wall has: {wall}. Give less, or leave it out "
            "for the whole wall.",
        )


def crack_refusal(case: Case, key: str, text: str) -> CaseError:
    """What is wrong with a key of ``[crack]``."""
    return CaseError(str(case.source_path), [Fault(f"crack.{key}", text)])
