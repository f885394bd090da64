"""What can be moved on the page: the dials of one design of a case."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from cases.base.faults import Location
from cases.base.units import ANGLE, LENGTH, POWER, PRESSURE, Quantity, parse_quantity
from cases.bores.given import every_bore
from cases.case import Case
from cases.materials.reading import library_materials
from cases.search.reading import DEPTHS, MATERIAL
from cases.search.table import ALL_ROUND, BONDED, CLEAR
from geometry.clock import format_clock, hours_between, parse_clock
from geometry.left import walls_left

Value = float | str
Values = Mapping[str, Value]

WORST_BORE = "the worst of them, by the section"
"""Choice of the bore that fires, where the file states none."""
ONE_PIECE = "one piece with the block"
"""Of a design that states no fit."""
STEPS = {
    "mm": 0.1, "in": 0.005, "um": 0.5, "thou": 0.02, "deg": 1.0, "bar": 1.0, "psi": 10.0,
    "kW": 1.0, "hp": 1.0, "PS": 1.0,
}  # fmt: skip
"""What a key press moves a dial by."""
LOADS = 0.3, 2.0
"""Least and most wanted load over that of the file."""
LARGEST_PRESS = 0.6  # interference over the bore [um/mm]
PRESS = 0.25  # the same, where a design states none (common practice, no source)
WIDTH, BLEND = "24 deg", "8 deg"
"""Of a zone that the design doesn't have."""
WIDEST_ZONE, LONGEST_SLOT = 60.0, 60.0  # [deg]
NEAR = 0.25
"""A zone this near to a relief cut is the one behind it. [h]."""
LOAD_KEYS = (
    (("gas", "peak_pressure"), "Wanted load: peak gas pressure", PRESSURE),
    (("engine", "power"), "Wanted load: power of the engine", POWER),
    (("engine", "boost"), "Wanted load: boost, above the atmosphere", PRESSURE),
    (("engine", "intake_pressure"), "Wanted load: intake pressure, absolute", PRESSURE),
)
"""By which a case may state its load, in the order that they are looked for."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Dial:
    """One thing that can be moved.

    Attributes
    ----------
    key : str
        Its name among the values.
    label : str
    value : float or str
        Of the file, a number in ``unit``.
    unit : str
        As the case speaks; empty of a choice.
    least, most, step : float
        Of a number: what it can be dragged to. More may be typed.
    options : tuple of str
        Of a choice.
    places : tuple of tuple
        Where it stands in the file; empty where several keys follow from it.
    """

    key: str
    label: str
    value: Value
    unit: str = ""
    least: float = 0.0
    most: float = 0.0
    step: float = 1.0
    options: tuple[str, ...] = ()
    places: tuple[Location, ...] = ()

    @property
    def quantity(self) -> Quantity:
        """What a number measures."""
        return next(of for of in (LENGTH, PRESSURE, POWER, ANGLE) if self.unit in of.units)

    def read(self, typed: str) -> Value:
        """A value as someone typed it, a bare number in the dial's own unit.

        Raises
        ------
        ValueError
            In words, where it is none.
        """
        if self.options:
            if typed not in self.options:
                raise ValueError(f"Choose from {', '.join(self.options)}.")
            return typed
        with suppress(ValueError):
            number = float(typed)
            if math.isfinite(number):
                return number
        inside = parse_quantity(typed.strip(), self.quantity)
        return self.quantity.written(inside, self.unit)

    def text(self, value: Value) -> str:
        """A value as it stands in a case file.

        Examples
        --------
        >>> Dial(key="depth", label="Depth", value=5.0, unit="mm").text(6.5)
        '6.5 mm'
        """
        return value if isinstance(value, str) else f"{value:.6g} {self.unit}"


def movable(raw: Mapping[str, Any]) -> list[str]:
    """Names of the designs of a case that have an insert, in its order."""
    return [of["name"] for of in raw.get("design", ()) if "depth" in of]


def base_of(raw: Mapping[str, Any], name: str) -> tuple[int, Mapping[str, Any]]:
    """Place and table of a design; one after the last, and a plain insert, where there is none."""
    for at, table in enumerate(raw["design"]):
        if table["name"] == name:
            return at, table
    return len(raw["design"]), {"name": name, "material": MATERIAL, "depth": "6 mm"}


def zone_clocks(case: Case, table: Mapping[str, Any]) -> list[str]:
    """Clock positions that can have a deeper zone: those that have one, and the relief cuts."""
    clocks = [of["clock"] for of in table.get("zone", [])]
    for cut in case.block.relief_cuts:
        fires = cut.bores is None or case.block.firing_bore in cut.bores
        taken = [abs(float(hours_between(parse_clock(of), cut.clock))) for of in clocks]
        if fires and min(taken, default=math.inf) > NEAR:
            clocks.append(format_clock(cut.clock))
    return sorted(clocks, key=parse_clock)


def hold_of(table: Mapping[str, Any]) -> str:
    """How a design is held, in a word."""
    fit = table.get("fit")
    if fit is None:
        return ONE_PIECE
    if fit.get("bonded"):
        return BONDED
    return CLEAR if "clearance" in fit.get("ties", {}) else ALL_ROUND


def fit_key(table: Mapping[str, Any]) -> str:
    """The key that a design states its fit by."""
    fit = table.get("fit", {})
    return next(
        (key for key in ("interference_per_side", "clearance") if key in fit), "interference"
    )


def dials_of(raw: Mapping[str, Any], case: Case, name: str) -> list[Dial]:
    """The dials of a design, in the order that they stand in.

    Parameters
    ----------
    raw : mapping
        The case as its file has it.
    case : Case
        Read of it.
    name : str
        Of the design.
    """
    at, table = base_of(raw, name)
    return [
        *_load(raw, case),
        *_depths(case, at, table),
        *_holding(raw, case, at, table),
        *_slots(case, at, table),
        *_block(raw, case, at, table),
    ]


def _number(
    case: Case, key: str, label: str, inside: float, metric: str, bounds: tuple[float, float],
    quantity: Quantity, places: Sequence[Location] = (),
) -> Dial:  # fmt: skip
    """A number in the units of the case; value and bounds in inside units."""
    unit = case.spoken.unit(metric)
    value, least, most = (quantity.written(of, unit) for of in (inside, *bounds))
    step = STEPS[unit]
    return Dial(
        key=key, label=label, value=value, unit=unit, step=step,
        least=round(min(math.floor(least / step + 1e-9) * step, value), 6),
        most=round(max(math.ceil(most / step - 1e-9) * step, value), 6), places=tuple(places),
    )  # fmt: skip


def _load(raw: Mapping[str, Any], case: Case) -> Iterator[Dial]:
    """The wanted load, by the key that the case states it by; none of a measured trace."""
    if "trace" in raw.get("gas", {}):
        return
    for (table, key), label, quantity in LOAD_KEYS:
        if key in raw.get(table, {}):
            stated = parse_quantity(raw[table][key], quantity)
            metric = "kW" if quantity is POWER else "bar"
            bounds = LOADS[0] * stated, LOADS[1] * stated
            yield _number(case, "load", label, stated, metric, bounds, quantity, [(table, key)])
            return


def _depths(case: Case, at: int, table: Mapping[str, Any]) -> Iterator[Dial]:
    """Depth all round, depth and width behind each cut."""
    bore, depth = case.block.bore, parse_quantity(table["depth"], LENGTH)
    yield _number(
        case, "depth", "Depth of the insert", depth, "mm", (DEPTHS[0] * bore, DEPTHS[1] * bore),
        LENGTH, [("design", at, "depth")],
    )  # fmt: skip
    own = {of["clock"]: of for of in table.get("zone", [])}
    deepest = max([of.depth for of in case.block.relief_cuts], default=0.25 * bore)
    for clock in zone_clocks(case, table):
        zone = own.get(clock, {"depth": table["depth"], "width": WIDTH})
        yield _number(
            case, f"zone {clock} depth", f"Depth behind the cut, {clock}",
            parse_quantity(zone["depth"], LENGTH), "mm", (DEPTHS[0] * bore, deepest), LENGTH,
        )  # fmt: skip
        yield _number(
            case, f"zone {clock} width", f"Width of that, {clock}",
            parse_quantity(zone["width"], ANGLE), "deg", (4.0, WIDEST_ZONE), ANGLE,
        )  # fmt: skip


def _holding(
    raw: Mapping[str, Any], case: Case, at: int, table: Mapping[str, Any]
) -> Iterator[Dial]:
    """Way of holding, fit and material."""
    hold = hold_of(table)
    ways = [*((CLEAR,) if case.block.ties else ()), ALL_ROUND, BONDED]
    if hold == ONE_PIECE:
        ways.append(ONE_PIECE)
    yield Dial(
        key="hold", label="Way of holding", value=hold, options=tuple(ways),
        places=(("design", at, "fit"),),
    )  # fmt: skip
    key, fit = fit_key(table), table.get("fit", {})
    stated = parse_quantity(fit[key], LENGTH) if key in fit else _usual_press(case)
    label = {
        "interference": "Interference on the diameter",
        "interference_per_side": "Interference on each side",
        "clearance": "Clearance on the diameter",
    }[key]
    most = LARGEST_PRESS * case.block.bore / 1000
    place = [("design", at, "fit", key)]
    yield _number(case, "interference", label, stated, "um", (0.0, most), LENGTH, place)
    names = tuple(dict.fromkeys([*raw.get("material", {}), *library_materials()]))
    yield Dial(
        key="material", label="Material of the insert", value=table["material"], options=names,
        places=(("design", at, "material"),),
    )  # fmt: skip


def _usual_press(case: Case) -> float:
    return round(PRESS * case.block.bore) / 1000


def _slots(case: Case, at: int, table: Mapping[str, Any]) -> Iterator[Dial]:
    """Width of all water slots, where they have one, and the arc of each."""
    slots = table.get("slot", [])
    widths = {parse_quantity(of["width"], LENGTH) for of in slots}
    if len(widths) == 1:
        yield _number(
            case, "slot width", "Width of the water slots", widths.pop(), "mm",
            (1.0, case.block.jacket), LENGTH,
            [("design", at, "slot", of, "width") for of in range(len(slots))],
        )  # fmt: skip
    for of, slot in enumerate(slots):
        arc = parse_quantity(slot["arc"], ANGLE) if "arc" in slot else 0.0
        where = f", bore {', '.join(map(str, slot['bores']))}" if "bores" in slot else ""
        yield _number(
            case, f"slot {of + 1} arc", f"Length of the slot at {slot['clock']}{where}", arc, "deg",
            (0.0, LONGEST_SLOT), ANGLE, [("design", at, "slot", of, "arc")],
        )  # fmt: skip


def _block(raw: Mapping[str, Any], case: Case, at: int, table: Mapping[str, Any]) -> Iterator[Dial]:
    """Which bore fires, with the least wall that its cuts leave."""
    block = case.block
    if block.bores == 1:
        return
    names = [bore_name(case, number) for number in range(1, block.bores + 1)]
    unstated = [WORST_BORE] if every_bore(case) else []
    yield Dial(
        key="bore", label="Bore that fires, with its walls as measured",
        value=WORST_BORE if unstated else names[block.firing_bore - 1],
        options=(*unstated, *names), places=(("block", "firing_bore"),),
    )  # fmt: skip


def bore_number(option: str) -> int:
    """Of a bore by its name."""
    return int(option.split(":")[0].removeprefix("bore "))


def bore_name(case: Case, number: int) -> str:
    """A bore, with the least that its barrel wall is at the deck."""
    if not case.block.jacket:
        return f"bore {number}"
    bare = next((of for of in case.designs if of.insert is None), None)
    section = case.section(bare or case.designs[0])
    barrel, _ = walls_left(section)
    row = barrel.thickness[number - 1]
    if not (row == row).any():
        return f"bore {number}"
    least = min(float(of) for of in row if of == of)
    clock = format_clock(float(barrel.clock[[float(of) for of in row].index(least)]))
    return case.spoken.told(f"bore {number}: least wall {least:.1f} mm at {clock}")
