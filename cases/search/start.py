"""What a search needs before it begins, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from cases.base.faults import CaseError, Fault
from cases.base.toml import load_toml
from cases.base.units import parse_duration
from cases.bores.given import every_bore, firing
from cases.case import Case
from cases.rating.given import rating_given
from cases.search.evaluate import BARE, Hands, Task
from cases.search.given import search_given
from cases.solid.given import solid_given

APART = ("design", "search", "record")
"""Tables that a design of the search is not read with."""


def case_to_search(
    path: Path, hands: Hands, rated_bore: Callable[[Case], int | None]
) -> tuple[dict[str, Any], Case]:
    """The content of a case file, and the case.

    Parameters
    ----------
    path : Path
    hands : Hands
    rated_bore : callable
        The bore that an earlier rating of the case came to.

    Raises
    ------
    CaseError
        If it is wrong, has no ``[search]``, or leaves open which bore fires.
    """
    raw = load_toml(path)
    case = hands.read(raw, path)
    if search_given(case) is None:
        text = (
            "It is missing. Add a line [search]: with nothing below it depth, depth behind the "
            "cuts, interference and way of holding are free; hoopclock keys search tells the rest."
        )
        raise CaseError(str(path), [Fault("search", text)])
    if solid_given(case).alone:
        text = "One piece and cold it is not rated, so nothing can be found. Leave [solid] out."
        raise CaseError(str(path), [Fault("solid", text)])
    if not rating_given(case).draws:
        text = "A search weighs the load that most draws carry. Leave it out, or give 200 or more."
        raise CaseError(str(path), [Fault("rating.draws", text, "0")])
    if every_bore(case):
        bore = rated_bore(case)
        if bore is None:
            text = (
                "It is missing, and a search looks at one bore. State it, or run hoopclock rate "
                "first, which finds the worst."
            )
            raise CaseError(str(path), [Fault("block.firing_bore", text)])
        raw = {**raw, "block": {**raw["block"], "firing_bore": bore}}
        case = firing(case, bore)
    return raw, case


def bare_task(raw: Mapping[str, Any], path: Path) -> Task:
    """The bare block of a case, and what all designs of a search are read with."""
    return Task({key: of for key, of in raw.items() if key not in APART}, path, BARE)


def store_name(raw: Mapping[str, Any], case: Case, hands: Hands) -> tuple[str, str]:
    """By which a store knows a case: hash of all but its designs, and its name."""
    bare = bare_task(raw, Path(case.source_path)).case(hands)
    return hands.inputs(bare), case.name


def seconds_of(until: str | None) -> float | None:
    """A time as it was typed. [s].

    Raises
    ------
    CaseError
        If it can't be read, or is none.
    """
    if until is None:
        return None
    try:
        seconds = parse_duration(until)
    except ValueError as error:
        raise CaseError("search", [Fault("--until", str(error), f'"{until}"')]) from None
    if seconds <= 0:
        text = 'It is no time to look in. Give one, such as "20 min".'
        raise CaseError("search", [Fault("--until", text, f'"{until}"')])
    return seconds
