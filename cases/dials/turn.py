"""A case with its dials moved: its content as if someone had typed it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

from cases.base.faults import Fault, key_path
from cases.base.units import ANGLE, LENGTH, parse_quantity
from cases.case import Case
from cases.dials.dial import (
    BLEND,
    ONE_PIECE,
    WIDTH,
    Dial,
    Values,
    base_of,
    bore_number,
    fit_key,
    hold_of,
)
from cases.read import case_of
from cases.search.design import FITS, fit_table
from cases.search.reading import FRICTION
from cases.search.table import BONDED


def moved_of(dials: Sequence[Dial], values: Values) -> dict[str, Any]:
    """The values that are not those of the file; of dials that there are."""
    return {
        of.key: values[of.key] for of in dials if of.key in values and values[of.key] != of.value
    }


def only(raw: Mapping[str, Any], path: Path, name: str) -> Case:
    """A case as its file would be read, with one of its designs left.

    Its section is as deep as with all of them.

    Raises
    ------
    CaseError
        If anything in the file would be refused.
    """
    case = case_of(raw, path)
    return replace(case, designs=tuple(of for of in case.designs if of.name == name))


def turned(
    raw: Mapping[str, Any], name: str, dials: Sequence[Dial], values: Values
) -> dict[str, Any]:
    """The content of a case with the dials of a design moved; all else as it is.

    Parameters
    ----------
    raw : mapping
        The case as its file has it.
    name : str
        Of the design; it is added where there is none.
    dials : sequence of Dial
        Of that design.
    values : mapping
        Those that are left out stand as the file has them.
    """
    made: dict[str, Any] = deepcopy(dict(raw))
    at, table = base_of(made, name)
    table = dict(table)
    made["design"] = [*made["design"][:at], table, *made["design"][at + 1 :]]
    moved = moved_of(dials, values)
    _turn_depths(table, dials, values, moved)
    _turn_fit(table, dials, values, moved)
    for dial in dials:
        if dial.key in moved and dial.key not in ("hold", "interference"):
            for *inside, key in dial.places:
                where: Any = made
                for step in inside:
                    where = where.setdefault(step, {}) if isinstance(where, dict) else where[step]
                where[key] = _written(dial, moved[dial.key])
    return made


def _written(dial: Dial, value: Any) -> Any:
    if dial.key == "bore":
        return bore_number(value)
    return dial.text(value)


def _turn_depths(
    table: dict[str, Any], dials: Sequence[Dial], values: Values, moved: Mapping[str, Any]
) -> None:
    """Zones that are deeper than the insert, where any dial of a depth has moved."""
    if not any(key == "depth" or key.startswith("zone ") for key in moved):
        return
    by_key = {of.key: of for of in dials}

    def inside(key: str) -> float:
        dial = by_key[key]
        return parse_quantity(dial.text(values.get(key, dial.value)), dial.quantity)

    depth, zones = inside("depth"), []
    own = {of["clock"]: of for of in table.get("zone", [])}
    for key in by_key:
        if not (key.startswith("zone ") and key.endswith(" depth")):
            continue
        clock = key.split()[1]
        stands = clock in own
        if not (stands or f"zone {clock} depth" in moved):
            continue
        zone = dict(own.get(clock, {"clock": clock, "width": WIDTH, "depth": "", "blend": BLEND}))
        if inside(key) <= depth:
            continue
        for what, quantity in (("depth", LENGTH), ("width", ANGLE)):
            dial = by_key[f"zone {clock} {what}"]
            text = dial.text(values.get(dial.key, dial.value))
            typed = zone.get(what)
            if not typed or parse_quantity(typed, quantity) != parse_quantity(text, quantity):
                zone[what] = text
        zones.append(zone)
    table.pop("zone", None)
    if zones:
        order = [of["clock"] for of in own.values()]
        zones.sort(key=lambda of: order.index(of["clock"]) if of["clock"] in order else len(order))
        table["zone"] = zones


def _turn_fit(
    table: dict[str, Any], dials: Sequence[Dial], values: Values, moved: Mapping[str, Any]
) -> None:
    """How it is held: the one key where only the press has moved, else the whole fit."""
    by_key = {of.key: of for of in dials}
    hold = str(values.get("hold", by_key["hold"].value))
    press = by_key["interference"]
    value = press.text(values.get("interference", press.value))
    if "hold" not in moved:
        if "interference" in moved and hold not in (BONDED, ONE_PIECE):
            table["fit"] = {**table["fit"], fit_key(table): value}
        return
    if hold == ONE_PIECE:
        table.pop("fit", None)
        return
    fit = fit_table(table.get("fit", {"friction": FRICTION}), {"hold": hold})
    if hold != BONDED and (hold_of(table) in (BONDED, ONE_PIECE) or "interference" in moved):
        fit = {fit_key(table): value, **{key: of for key, of in fit.items() if key not in FITS}}
    table["fit"] = fit


def dial_of(fault: Fault, raw: Mapping[str, Any], name: str, dials: Sequence[Dial]) -> str | None:
    """Key of the dial that a fault is of; None where it is of none.

    Parameters
    ----------
    fault : Fault
        Its path as reading or drawing tells it, such as ``design[2].zone[1].depth``.
    raw : mapping
        The content that was refused.
    name : str
        Of the design.
    dials : sequence of Dial
    """
    path, (at, table) = fault.path, base_of(raw, name)
    for start in (f'design "{name}"', f"design[{at + 1}]"):
        path = path.replace(start, "design")
    clocks = [of["clock"] for of in table.get("zone", [])]
    best, longest = None, 0
    for dial in dials:
        for place in _paths(dial, at, clocks):
            if (path == place or path.startswith((f"{place}.", f"{place}["))) and len(
                place
            ) > longest:
                best, longest = dial.key, len(place)
    return best


def _paths(dial: Dial, at: int, clocks: Sequence[str]) -> list[str]:
    """Key paths that a dial answers for, its design by no number."""
    paths = [key_path(of).replace(f"design[{at + 1}]", "design") for of in dial.places]
    if dial.key.startswith("zone "):
        _, clock, what = dial.key.split()
        if clock in clocks:
            number = clocks.index(clock) + 1
            paths.append(f"design.zone[{number}].{what}")
            if what == "depth":
                paths.append(f"design.zone[{number}]")
    if dial.key == "slot width":
        paths.append("design.slot")
    return paths
