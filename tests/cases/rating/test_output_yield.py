"""The limit by yield of a cast ring against Lame and von Mises by hand."""

from __future__ import annotations

import numpy as np
import pytest

from cases.rating.result import rating_of
from cases.run import solve_case
from fea.closed_form import lame_ring

RING = """\
job = "Ring"
[block]
bore = "100 mm"
barrel_wall = "20 mm"
material = "soft"
[gas]
peak_pressure = "100 bar"
pressurised_depth = "30 mm"
[section]
depth = "30 mm"
mesh = "coarse"
[material."soft"]
youngs_modulus = "70 GPa"
poisson = 0.33
yield_strength = "80 MPa"
tensile_strength = "600 MPa"
source = "invented"
{cast}
[rating]
draws = 0
casting_quality = "{quality} %"
[[design]]
name = "bare"
"""
TAIL = 0.002  # of the metal by volume may yield


@pytest.mark.parametrize(
    ("cast", "quality"), [(True, 70), (True, 50), (False, 50)], ids=["cast", "poor", "wrought"]
)
def test_pores_of_a_casting_lower_the_limit_by_yield(case_of, cast, quality):
    """Timoshenko & Goodier, Theory of Elasticity, 3rd ed., 1970, thick cylinder (from memory)."""
    text = RING.format(cast="cast = true" if cast else "cast = false", quality=quality)
    (design,) = solve_case(case_of(text), rate=True).designs
    a, b = 50.0, 70.0
    edge = np.sqrt(a**2 + TAIL * (b**2 - a**2))  # metal within it is the tail
    ring = lame_ring(edge, a, b, p_in=1.0, youngs_modulus=70e3, poisson=0.33)
    von_mises = float(np.sqrt(ring.hoop**2 + ring.radial**2 - ring.hoop * ring.radial))
    strength = 80.0 * (quality / 100 if cast else 1.0)
    rating = rating_of(design)
    assert max(rating.used_at_limit, key=rating.used_at_limit.get) == "yield, cold"
    assert rating.limit.pressure_mpa == pytest.approx(strength / von_mises, rel=0.02)
    assert rating.used["yield, cold"] == pytest.approx(10 * von_mises / strength, rel=0.02)
