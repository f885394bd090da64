"""The design that a point stands for, as a case file states one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import deepcopy
from typing import Any

from cases.base.units import parse_length
from cases.search.given import SearchInput
from cases.search.reading import FRICTION, MATERIAL
from cases.search.space import Point
from cases.search.table import ALL_ROUND, BONDED, CLEAR
from geometry.clock import format_clock, parse_clock

NAME = "searched"
"""Of the design that a point is judged as."""
NONE: Mapping[str, Any] = {"name": NAME, "material": MATERIAL, "depth": "6 mm"}
"""Where the case has no design with an insert."""
CLEARANCE = "50 um"
"""Of ends that clear the ties, where the design to begin with states none (common practice, no
source)."""
ZONE = {"width": "24 deg", "blend": "8 deg"}
"""Of a zone that the design to begin with doesn't have."""
SIDES = ("barrel", "outer_wall", "ties")
FITS = ("interference", "interference_per_side", "clearance", "bonded")


def base_table(given: SearchInput, designs: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
    """The table of the design to begin with, of those of a case file."""
    return next((of for of in designs if of["name"] == given.like), NONE)


def design_table(
    given: SearchInput, base: Mapping[str, Any], point: Point, ties: tuple[float, ...]
) -> dict[str, Any]:
    """The table of a design.

    Parameters
    ----------
    given : SearchInput
    base : mapping
        Table of the design to begin with.
    point : mapping
    ties : tuple of float
        Depths of the block's ties. [mm]
    """
    table: dict[str, Any] = {**deepcopy(dict(base)), "name": NAME}
    for key in ("form", "material"):
        if key in point:
            table[key] = point[key]
    for key in ("depth", "width"):
        if key in point:
            table[key] = _mm(point[key])
    if "tie_left" in point and table.get("form") == "ring":
        table["depth"] = _mm(max(ties) - float(point["tie_left"]))
    if "register_depth" in point:
        table["register"]["depth"] = _mm(point["register_depth"])
    if "slot_width" in point:
        for slot in table["slot"]:
            slot["width"] = _mm(point["slot_width"])
    if given.clocks:
        table["zone"] = list(_zones(given, point, table))
        if not table["zone"]:
            del table["zone"]
    if "interference" in point or "hold" in point:
        table["fit"] = fit_table(table.get("fit") or {"friction": FRICTION}, point)
    return table


def _mm(value: float | str) -> str:
    return f"{value:g} mm"


def _zones(given: SearchInput, point: Point, table: Mapping[str, Any]) -> Any:
    """Zones of all groups that are deeper than the insert."""
    depth = parse_length(table["depth"])
    own = table.get("zone", [])
    for at, clocks in enumerate(given.clocks):
        mark = f" {at + 1}" if len(given.clocks) > 1 else ""
        deep = float(point[f"zone depth{mark}"])
        if deep <= depth:
            continue
        for clock in clocks:
            beside = [of for of in own if parse_clock(of["clock"]) == parse_clock(clock)]
            zone = {**ZONE, **(beside[0] if beside else {})}
            hours = parse_clock(clock) + float(point.get(f"zone shift{mark}", 0.0)) / 30
            zone["clock"] = format_clock(hours % 12)
            zone["depth"] = _mm(deep)
            if f"zone width{mark}" in point:
                zone["width"] = f"{point[f'zone width{mark}']:g} deg"
            yield zone


def fit_table(fit: Mapping[str, Any], point: Point) -> dict[str, Any]:
    """How it is held: what a base states of sides gives way to the word of the point."""
    made = {key: of for key, of in fit.items() if key not in FITS}
    hold = point.get("hold")
    if hold is None:
        hold = CLEAR if "clearance" in fit.get("ties", {}) else ALL_ROUND
    for side in SIDES:
        if side in made:
            made[side] = {key: of for key, of in made[side].items() if key not in FITS}
            if not made[side]:
                del made[side]
    if hold == BONDED:
        return {"bonded": True, **made}
    if "interference" in point:
        made = {"interference": f"{point['interference']:g} um", **made}
    else:
        made = {**{key: of for key, of in fit.items() if key in FITS}, **made}
    if hold == CLEAR:
        clearance = fit.get("ties", {}).get("clearance", CLEARANCE)
        made["ties"] = {**made.get("ties", {}), "clearance": clearance}
    return made
