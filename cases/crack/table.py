"""``[crack]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictBool

from cases.base.tables import Clock, GrowthRate, Intensity, Length, Speed, Table


class CrackTable(Table):
    """``[crack]``."""

    part: Literal["barrel", "liner", "tie", "outer wall"] = Field(
        "barrel", description="the part that cracks"
    )
    clock: Clock | None = Field(
        None, description='where it starts, such as "1:30"; the worst hot spot if left out'
    )
    flaw: Length = Field(description='the depth of the flaw that grows, such as "0.5 mm"')
    longest: Length | None = Field(
        None, description='how long it may get, such as "5 mm"; the whole wall if left out'
    )
    gas_in_crack: StrictBool = Field(
        description="true where the gas gets between the faces of the crack, or false"
    )
    paris_c: GrowthRate | None = Field(
        None, description='C: growth per cycle at 1 MPa sqrt(m), such as "4.5e-7 mm/cycle"'
    )
    paris_m: Annotated[float, Field(strict=True, ge=1, le=12)] | None = Field(
        None, description="m, the exponent that goes with it, a plain number such as 3.0"
    )
    threshold: Intensity | None = Field(
        None, description='the range below which nothing grows, such as "1.8 MPa sqrt(m)"'
    )
    walker_gamma: Annotated[float, Field(strict=True, ge=0, le=1)] = Field(
        1.0, description="Walker's exponent for the mean stress, a plain number from 0 to 1"
    )
    toughness: Intensity | None = Field(
        None, description='at which the rest of the wall breaks, such as "20 MPa sqrt(m)"'
    )
    speed: Speed | None = Field(
        None, description='of the crank while it grows, "6000 rpm"; the engine\'s if left out'
    )


class CrackKeys(Table):
    """A crack."""

    crack: CrackTable | None = Field(None, description="a crack that is followed as it grows")
