"""One solved case with a word from every subject, and the same with every number another."""

from dataclasses import replace

import pytest
from shaken import shaken, worst_at_cut

from cases.fit import FitAdvice
from cases.fit.result import FitSweep
from cases.rating import Rating
from cases.rating.result import FitPoint
from cases.run import solve_case
from cases.subjects import SUBJECTS

BLOCK = """\
job = "Two bores, read back (invented)"
note = "Invented for a test."
[block]
bores = 2
firing_bore = 2
pitch = "96 mm"
bore = "80 mm"
liner = "2 mm"
liner_material = "grey iron class 30"
liner_interference = "30 um"
barrel_wall = "7 mm"
jacket = "9 mm"
outer_wall = "8 mm"
material = "A356-T6"
[[tie]]
clock = "12:20"
width = "8 mm"
depth = "12 mm"
[[tie]]
clock = "6:20"
width = "9 mm"
depth = "10 mm"
[[relief_cut]]
clock = "1:15"
radius = "55 mm"
diameter = "15 mm"
depth = "20 mm"
[engine]
stroke = "84 mm"
rod = "140 mm"
compression_ratio = 9.0
speed = "7000 rpm"
power = "160 kW"
intake_temperature = "50 degC"
air_fuel_ratio = 12.0
fuel_heating_value = "43 MJ/kg"
top_ring = "6 mm"
crown_below_deck = "0.3 mm"
[gas]
pressure_factor = 1.1
[section]
mesh = "coarse"
tolerance = "20 %"
[heat]
gas_film = "250 W/(m2 K)"
gas_temperature = "700 degC"
coolant_film = "5000 W/(m2 K)"
coolant_temperature = "90 degC"
joint_conductance = "6000 W/(m2 K)"
[piston_ring]
radial_width = "3.1 mm"
axial_height = "1.2 mm"
youngs_modulus = "160 GPa"
tangential_force = "14 N"
[rating]
draws = 0
reliability = "90 %"
[head]
bolt_preload = "36 kN"
bolt_circle = "124 mm"
fire_ring_share = "55 %"
[depth]
floor = "100 mm"
[crack]
flaw = "0.5 mm"
longest = "0.8 mm"
gas_in_crack = false
speed = "6000 rpm"
[[design]]
name = "deep"
depth = "8 mm"
material = "6061-T6"
roughness = "3.2 um"
block_roughness = "4.8 um"
[design.fit]
interference_per_side = "20 um"
tolerance = "4 um"
friction = 0.12
press_creep = "15 %"
least_hold = "20 N"
[[design]]
name = "bare"
"""


SWEEP = FitSweep(
    asked_um=40.0, per_side=True, tolerance_um=4.0, flattened_um=6.4, most_out_of_round_um=30.0,
    ring_mm=116.0, rated=True, one_piece=2.31, unsolved=(),
    points=tuple(
        FitPoint(
            interference_um=um, held={"pressed in": 31.4, "warm": held},
            over_yield={"pressed in": 0.21, "warm": 0.63}, out_of_round_um=0.31 * um,
            limit=limit, limit_error=0.013 * limit, governs="tie 12:20, fatigue, warm",
            band=(0.81 * limit, 1.27 * limit), within=0.97 * limit,
        )
        for um, held, limit in (
            (9.7, 4.2, 1.12), (24.3, 7.6, 1.41), (40.0, 11.7, 1.46), (61.0, 15.3, 0.83)
        )
    ),
)  # fmt: skip


class StatedFits(FitAdvice):
    """Other fits as they are stated here: each costs a contact of its own."""

    def solve(self, work):
        """The same for any fitted design."""
        return SWEEP if work.found["life"].pairs else None


class OneRated(Rating):
    """Rates the bare design only: under a fit each other load is a contact of its own."""

    def solve(self, work):
        """The rating, or None."""
        return super().solve(work) if work.drawn.name == "bare" else None


@pytest.fixture(scope="session")
def whole(case_of):
    """Other fits stated instead of solved, one rating for both: numbers are shaken anyway."""
    instead = {"rating": OneRated(), "fit": StatedFits()}
    subjects = [instead.get(subject.key, subject) for subject in SUBJECTS]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cases.crack.solve.LENGTHS", 4)
        result = solve_case(case_of(BLOCK), rate=True, subjects=subjects)
    bare, deep = result.designs
    deep = replace(deep, found={**deep.found, "rating": bare.found["rating"]})
    return replace(result, designs=(bare, deep))


@pytest.fixture(scope="session")
def told_result(whole):
    """The same with every number another, and the bare design, which is set against, last."""
    other = shaken(whole)
    bare, deep = other.designs
    return replace(other, designs=(deep, worst_at_cut(bare)))
