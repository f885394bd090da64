"""``[crack]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictBool

from cases.base.tables import Clock, GrowthRate, Intensity, Length, Range, Speed, Table, key

ALUMINIUM = "those of an upper bound for aluminium, not of castings"


class CrackTable(Table):
    """``[crack]``."""

    part: Literal["barrel", "liner", "tie", "outer wall"] = key(
        "the part that cracks", "barrel", "barrel"
    )
    clock: Clock | None = key(
        "the clock position where it starts", "7:35", None, left_out="at the worst hot spot"
    )
    flaw: Annotated[Length, Range(0.05, 50, "mm")] = key(
        "the depth of the flaw that grows", "0.5 mm"
    )
    longest: Length | None = key(
        "how long it may get",
        "3 mm",
        None,
        left_out="the whole wall",
        allowed="longer than the flaw",
    )
    gas_in_crack: StrictBool = key(
        "true where the gas gets between the faces of the crack (a third more or worse), or false",
        False,
    )
    paris_c: Annotated[GrowthRate, Range(1e-15, 1, "mm/cycle")] | None = key(
        "C: growth per cycle at 1 MPa sqrt(m)", "4.5e-7 mm/cycle", None, left_out=ALUMINIUM
    )
    paris_m: Annotated[float, Field(strict=True, ge=1, le=12)] | None = key(
        "m, the exponent that goes with it", 3.0, None, left_out=ALUMINIUM
    )
    threshold: Annotated[Intensity, Range(0, 50, "MPa sqrt(m)")] | None = key(
        "the range below which nothing grows",
        "1.8 MPa sqrt(m)",
        None,
        left_out=f"{ALUMINIUM}; none beside paris_c",
    )
    walker_gamma: Annotated[float, Field(strict=True, ge=0, le=1)] = key(
        "Walker's exponent for the mean stress",
        0.65,
        1.0,
        left_out="the mean stress doesn't count",
    )
    toughness: Annotated[Intensity, Range(1, 500, "MPa sqrt(m)")] | None = key(
        "the stress intensity at which the rest of the wall breaks",
        "20 MPa sqrt(m)",
        None,
        left_out="it grows until it is through",
    )
    speed: Annotated[Speed, Range(300, 25000, "rpm")] | None = key(
        "the speed of the crank while it grows", "7000 rpm", None, left_out="the engine's"
    )


class CrackKeys(Table):
    """A crack."""

    crack: CrackTable | None = Field(None, description="a crack that is followed as it grows")
