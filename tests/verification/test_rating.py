"""Limits, lives and bands of plain rings against formulas.

Stress of a ring: Lame, in Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970 (from
memory). Mean-stress lines and Basquin's line: Dowling, *Mechanical Behavior of Materials*, ch. 9
(from memory). The limits that follow from them are derived beside each check.
"""

import math
import re
from statistics import NormalDist

import pytest
from bench import ENGINE as BENCH_ENGINE

from cases.rating.band import PRESSURE, WALLS
from cases.rating.result import rating_of
from cases.run import solve_case

A, B, GAS = 40.0, 52.0, 12.0
TENSILE, PROOF, STRENGTH, AT, EXPONENT, SCATTER = 300.0, 150.0, 80.0, 1e8, -0.1, 0.15
RING = f"""\
job = "plain ring (invented)"
[block]
bore = "{2 * A} mm"
barrel_wall = "{B - A} mm"
material = "test metal"
[gas]
peak_pressure = "{GAS} MPa"
pressurised_depth = "20 mm"
[section]
depth = "20 mm"
tolerance = "1 %"
[[design]]
name = "bare"
"""
METAL = """\
[material."test metal"]
youngs_modulus = "70 GPa"
poisson = 0.33
source = "invented"
"""
FATIGUES = f"""\
tensile_strength = "{TENSILE} MPa"
cast = false
fatigue_strength = "{STRENGTH} MPa"
fatigue_cycles = {AT}
fatigue_scatter = "{100 * SCATTER} %"
basquin_exponent = {EXPONENT}
"""
YIELDS = f'yield_strength = "{PROOF} MPa"\n'
ENGINE = BENCH_ENGINE.replace("7000 rpm", "6000 rpm").replace("2 bar", "1.5 bar")
HOOP = GAS * (B**2 + A**2) / (B**2 - A**2)  # at the bore, by Lame


def rated(case_of, metal, wishes, ring=RING):
    case = case_of(ring, METAL, metal, "[rating]\n", wishes)
    return rating_of(solve_case(case, rate=True).designs[0])


LIMITS = {
    # Each cycle goes from 0 to s, so that amplitude and mean are s / 2, and is worth S.
    "Goodman": lambda s: s / (1 / 2 + s / (2 * TENSILE)),  # s/2 = S (1 - s/2R)
    "Gerber": lambda s: 2 * TENSILE**2 / s * (math.sqrt(1 / 4 + (s / TENSILE) ** 2) - 1 / 2),
    "Smith-Watson-Topper": lambda s: s * math.sqrt(2),  # sqrt(s s/2) = S
}


@pytest.mark.parametrize("line", LIMITS)
def test_a_ring_is_limited_by_its_fatigue_strength(case_of, line):
    cycles = 1e6
    rating = rated(case_of, FATIGUES, f'mean_stress = "{line}"\ncycles = {cycles}\ndraws = 0\n')
    limit = LIMITS[line](STRENGTH * (cycles / AT) ** EXPONENT)
    assert rating.limit.factor == pytest.approx(limit / HOOP, rel=5e-3)
    assert rating.limit.pressure_mpa == pytest.approx(GAS * limit / HOOP, rel=5e-3)
    assert rating.governing.spot.radius_mm == pytest.approx(A)
    assert rating.governing.kind == "fatigue"
    # life at the asked pressure: reversed amplitude by the line, then Basquin
    half = HOOP / 2
    reversed_ = {
        "Goodman": half / (1 - half / TENSILE),
        "Gerber": half / (1 - (half / TENSILE) ** 2),
        "Smith-Watson-Topper": math.sqrt(HOOP * half),
    }[line]
    life = AT * (reversed_ / STRENGTH) ** (1 / EXPONENT)
    assert rating.life_cycles["cold"] == pytest.approx(life, rel=0.05)  # stress to the tenth power


def test_reliability_and_casting_quality_come_off_the_strength(case_of):
    """90 of 100 carry what is 1.2816 standard deviations of the logarithm below the median, 99
    what is 2.3263 below (any table of statistics); casting quality weakens cast metal."""
    wishes = 'mean_stress = "Smith-Watson-Topper"\ndraws = 0\ncycles = 1e8\n'
    drawn = wishes.replace("draws = 0", "draws = 20000") + (
        'pressure_scatter = "0 %"\nwall_tolerance = "0 mm"\n'
    )
    plain = rated(case_of, FATIGUES, wishes).limit.factor
    for percent, deviations in ((90, 1.2816), (99, 2.3263)):
        rating = rated(case_of, FATIGUES, f'{drawn}reliability = "{percent} %"\n')
        assert rating.nominal.factor == pytest.approx(plain)
        reliable = math.log(rating.limit.factor / plain)
        # three standard errors of the 99 % quantile of 20,000 draws
        assert reliable == pytest.approx(-deviations * SCATTER, abs=0.012)
        assert rating.limit.pressure_mpa == pytest.approx(GAS * rating.limit.factor)
        asked = NormalDist().cdf(math.log(rating.band.factor[1]) / SCATTER)
        assert rating.band.carries == pytest.approx(asked, abs=0.01)
    cast = rated(
        case_of, FATIGUES.replace("false", "true"), wishes + 'casting_quality = "60 %"\n'
    ).limit.factor
    assert cast / plain == pytest.approx(0.6, rel=6e-3)


def test_a_ring_yields_when_all_but_a_tail_is_beyond(case_of):
    """Von Mises stress of a ring under internal pressure p, at r, from Lame's stresses:

    p a^2 / (b^2 - a^2) sqrt(1 + 3 (b/r)^4); 0.2 % of the metal lies within the radius r.
    """
    rating = rated(case_of, YIELDS, "draws = 0\n")
    r = math.sqrt(A**2 + 0.002 * (B**2 - A**2))
    mises = GAS * A**2 / (B**2 - A**2) * math.sqrt(1 + 3 * (B / r) ** 4)
    assert rating.limit.factor == pytest.approx(PROOF / mises, rel=5e-3)
    assert "not judged by tensile strength, fatigue" in rating.notes[0]


def test_the_band_of_a_ring_is_that_of_its_inputs(case_of):
    """Shares of strength depend on gas over strength alone, as nothing else stresses the ring.

    So ln(limit) = ln(strength) - ln(pressure): variances add, quantiles are 1.645 deviations off.
    """
    scatter = 0.08
    wishes = f'wall_tolerance = "0 mm"\npressure_scatter = "{100 * scatter} %"\ndraws = 20000\n'
    band = rated(case_of, FATIGUES, wishes).band
    low, middle, high = band.factor
    deviation = math.hypot(SCATTER, scatter)
    assert math.log(middle / low) == pytest.approx(1.645 * deviation, rel=0.04)
    assert math.log(high / middle) == pytest.approx(1.645 * deviation, rel=0.04)
    assert band.causes["strength of test metal"] == pytest.approx(
        (SCATTER / deviation) ** 2, abs=0.02
    )
    assert band.causes[PRESSURE] == pytest.approx((scatter / deviation) ** 2, abs=0.02)
    assert WALLS not in band.causes


def test_walls_move_the_limit_as_lame_says(case_of):
    """With nothing else drawn the band is that of an even wall: hoop stress at the bore by Lame."""
    metal = FATIGUES.replace(f"{100 * SCATTER} %", "0 %")
    wishes = (
        'mean_stress = "Smith-Watson-Topper"\nwall_tolerance = "0.5 mm"\n'
        'pressure_scatter = "0 %"\ndraws = 20000\n'
    )
    band = rated(case_of, metal, wishes).band

    def hoop(b):
        return (b**2 + A**2) / (b**2 - A**2)

    low, middle, high = band.factor
    assert low / middle == pytest.approx(hoop(B) / hoop(B - 0.45), rel=3e-3)
    assert high / middle == pytest.approx(hoop(B) / hoop(B + 0.45), rel=3e-3)
    assert band.causes == {WALLS: pytest.approx(1.0)}


def test_an_engine_at_its_limit_is_at_its_limit(case_of):
    """The boost that is told for the limit, asked for, has a limit factor of one."""
    asked = re.sub(r"\[gas\]\n(?:p.+\n)+", ENGINE, RING)
    wishes = "draws = 0\ncycles = 1e6\n"
    weak = FATIGUES.replace(f"{STRENGTH} MPa", "20 MPa")
    limit = rated(case_of, weak, wishes, asked).limit
    assert limit.factor > 1.2
    again = asked.replace('"1.5 bar"', f'"{limit.intake_mpa:.6f} MPa"')
    found = rated(case_of, weak, wishes, again).limit
    assert found.factor == pytest.approx(1.0, abs=5e-3)
    assert found.power_kw == pytest.approx(limit.power_kw, rel=5e-3)
