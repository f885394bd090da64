"""``[head]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field, StrictInt

from cases.base.tables import Clock, Force, Length, Pressure, Range, Table, key, share_within
from cases.base.units import SHARE
from cases.head.given import (
    FIRE_RING_SHARE,
    FIRE_RING_WIDTH,
    GASKET_FRICTION,
    GASKET_STEP,
    WATER_PRESSURE,
)

SHARES = Range(10, 100, "%")
NO_SOURCE = "common practice, no source"


def _fire_ring_share(value: object) -> float:
    return share_within(value, SHARES, ": it is what of the clamp load the fire ring carries")


class HeadTable(Table):
    """``[head]``."""

    bolt_preload: Annotated[Force, Range(1, 500, "kN")] = key(
        "the force that each bolt is tightened to", "60 kN"
    )
    bolts: Annotated[StrictInt, Range(3, 12, "bolts")] = key(
        "the bolts about a bore, evenly spaced, 12:00 halfway between two", 4, 4
    )
    bolt_clocks: list[Clock] = key(
        "the clock positions of the bolts about a bore",
        ["1:37", "4:23", "7:37", "10:23"],
        [],
        left_out="evenly spaced",
        allowed="three or more, each once",
        instead_of="bolts",
    )
    bolt_circle: Length = key(
        "the diameter of the circle about a bore that its bolts stand on",
        "130 mm",
        allowed="so that every bolt stands on the block, outside the barrels",
    )
    fire_ring_share: Annotated[float, BeforeValidator(_fire_ring_share), SHARE, SHARES] = key(
        "what of the clamp load the gasket's fire ring carries",
        "60 %",
        FIRE_RING_SHARE,
        left_out=NO_SOURCE,
    )
    fire_ring_diameter: Length | None = key(
        "the mean diameter of the fire ring, up to which gas is sealed in",
        "91 mm",
        None,
        left_out="4 mm more than the bore",
        allowed="so that the fire ring lies on the barrel",
    )
    fire_ring_width: Annotated[Length, Range(0.5, 20, "mm")] = key(
        "the radial width of the fire ring", "3 mm", FIRE_RING_WIDTH, left_out=NO_SOURCE
    )
    gasket_friction: Annotated[float, Field(strict=True, ge=0, le=1)] = key(
        "Coulomb's coefficient of friction between gasket and deck",
        0.15,
        GASKET_FRICTION,
        left_out=NO_SOURCE,
    )
    gasket_step: Annotated[Length, Range(0.001, 1, "mm")] = key(
        "the step across a joint of the deck that the gasket takes",
        "25 um",
        GASKET_STEP,
        left_out=NO_SOURCE,
    )
    water_pressure: Annotated[Pressure, Range(0, 20, "bar")] = key(
        "the pressure of the coolant, which lifts the insert",
        "2 bar",
        WATER_PRESSURE,
        left_out=NO_SOURCE,
    )


class HeadKeys(Table):
    """What clamps the deck."""

    head: HeadTable | None = Field(None, description="the head, its bolts and its gasket")
