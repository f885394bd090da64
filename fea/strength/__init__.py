"""What stress does to metal: fatigue, the share that yields, and what counts where stress is steep.

Owns criteria, of plane stress and of all six components, mean-stress lines, lives and knock-downs
of fatigue, flaws, yield by volume, and the critical distance; it takes stress and materials, and is
told which parts count.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fea.ondemand import on_demand

if TYPE_CHECKING:
    from fea.strength.distance import Ways, critical_distance, inward, stacked, ways_into
    from fea.strength.fatigue import (
        BASQUIN_TOP,
        CAST_SCATTER,
        CASTING_QUALITY,
        CRITERIA,
        MEAN_LINES,
        WROUGHT_SCATTER,
        allowed_amplitude,
        basquin_exponent,
        cycles_to_failure,
        largest_principal,
        reversed_amplitude,
        signed_von_mises,
        strength_at,
        temperature_share,
    )
    from fea.strength.flaws import (
        PORE_CLASSES,
        PORE_SCATTER,
        SURFACE_SHAPE,
        area_parameter,
        flaw_share,
        long_crack_range,
        murakami_limit,
        roughness_share,
        short_crack_length,
    )
    from fea.strength.general_stress import (
        GENERAL_CRITERIA,
        general_largest_principal,
        general_signed_von_mises,
    )
    from fea.strength.yielding import beyond_tail, over_yield

__all__ = [
    "BASQUIN_TOP",
    "CASTING_QUALITY",
    "CAST_SCATTER",
    "CRITERIA",
    "GENERAL_CRITERIA",
    "MEAN_LINES",
    "PORE_CLASSES",
    "PORE_SCATTER",
    "SURFACE_SHAPE",
    "WROUGHT_SCATTER",
    "Ways",
    "allowed_amplitude",
    "area_parameter",
    "basquin_exponent",
    "beyond_tail",
    "critical_distance",
    "cycles_to_failure",
    "flaw_share",
    "general_largest_principal",
    "general_signed_von_mises",
    "inward",
    "largest_principal",
    "long_crack_range",
    "murakami_limit",
    "over_yield",
    "reversed_amplitude",
    "roughness_share",
    "short_crack_length",
    "signed_von_mises",
    "stacked",
    "strength_at",
    "temperature_share",
    "ways_into",
]

__getattr__ = on_demand(
    __name__,
    {
        "distance": "Ways critical_distance inward stacked ways_into",
        "fatigue": (
            "BASQUIN_TOP CASTING_QUALITY CAST_SCATTER CRITERIA MEAN_LINES WROUGHT_SCATTER "
            "allowed_amplitude basquin_exponent cycles_to_failure "
            "largest_principal reversed_amplitude signed_von_mises "
            "strength_at temperature_share"
        ),
        "flaws": (
            "PORE_CLASSES PORE_SCATTER SURFACE_SHAPE area_parameter flaw_share "
            "long_crack_range murakami_limit roughness_share short_crack_length"
        ),
        "general_stress": ("GENERAL_CRITERIA general_largest_principal general_signed_von_mises"),
        "yielding": "beyond_tail over_yield",
    },
)
