"""Starting and stopping is a cycle too: damage summed by hand (Miner; derived)."""

from dataclasses import replace

import numpy as np
import pytest
from pulled import COLD, SWT, WARM, WROUGHT, Pulled, case_with, three_rings, uniaxial

from cases.base.faults import CaseError
from cases.rating.band import band_of
from cases.rating.judge import Judge
from cases.rating.limit import rate_design
from cases.rating.result import FATIGUE, TENSILE
from cases.rating.shares import judge, summed

METAL = replace(WROUGHT, yield_points=(), tensile_points=((20.0, 900.0),))
"""Bears 90 MPa 1e8 times, with a slope of -0.1: 9.0e8 and 9.0e12 as powers of ten."""
WISHES = replace(SWT, cycles=1e8, starts=1e4)


def damage(amplitude, mean, cycles):
    """Of so many cycles, by Smith, Watson and Topper."""
    return cycles / (1e8 * (np.sqrt((mean + amplitude) * amplitude) / 90) ** -10)


def test_the_damage_of_starts_is_added():
    """Warm 40 to 100 MPa by the gas; -100 MPa when it stands cold: 100 about 0."""
    at = np.array([20.0])
    given = (WISHES, METAL, uniaxial(40.0), uniaxial(100.0), at)
    plain = judge(*given, cycles=1e8)
    found = judge(*given, cycles=1e8, standing=uniaxial(-100.0))
    of_gas, of_starts = damage(30, 70, 1e8), damage(100, 0, 1e4)
    assert plain.shares[FATIGUE] == pytest.approx(of_gas**0.1)
    assert found.shares[FATIGUE] == pytest.approx((of_gas + of_starts) ** 0.1)
    assert found.life_cycles == pytest.approx(1e8 / (of_gas + of_starts))
    assert found.reversed == plain.reversed  # of the gas alone
    none = judge(replace(WISHES, starts=0.0), *given[1:], cycles=1e8, standing=uniaxial(-100.0))
    assert none.shares[FATIGUE] == plain.shares[FATIGUE]


@pytest.mark.parametrize("standing", [100.0, -60.0])
def test_hours_hot_weaken_a_start_that_pulls_cold(standing):
    """Cold again 80 % of the strength is left; warm, at 120 degC, half of it, as tested there."""
    metal = replace(
        METAL, tensile_points=((20.0, 900.0), (120.0, 450.0)),
        kept_points=((20.0, 1.0), (120.0, 0.8)),
    )  # fmt: skip
    gas = -60.0 if standing > 0 else 100.0
    at = np.array([120.0])
    found, virgin = (
        judge(WISHES, of, uniaxial(gas), uniaxial(gas), at, cycles=1e8, standing=uniaxial(standing))
        for of in (metal, replace(metal, kept_points=()))
    )
    more = 1 / 0.8 if standing > 0 else 1.0
    assert found.shares[FATIGUE] == pytest.approx(more * virgin.shares[FATIGUE])


@pytest.mark.parametrize(("standing", "gas", "left"), [(100.0, -60.0, 1.0), (-60.0, 100.0, 0.5)])
def test_the_strength_of_a_start_is_that_at_the_end_which_pulls(standing, gas, left):
    """80 about 20 MPa; at 120 degC half of the strength is left. The gas itself adds nothing."""
    metal = replace(METAL, tensile_points=((20.0, 900.0), (120.0, 450.0)))
    found = judge(
        WISHES, metal, uniaxial(gas), uniaxial(gas), np.array([120.0]), cycles=1e8,
        standing=uniaxial(standing),
    )  # fmt: skip
    wear = np.sqrt(100 * 80)
    assert found.shares[FATIGUE] == pytest.approx(wear / (left * 90 * (1e4 / 1e8) ** -0.1))


@pytest.mark.parametrize("components", [3, 6])
def test_of_no_places_no_shares_are_told(components):
    """A part of a solid may have none about the bore that fires."""
    none = np.zeros((components, 0))
    found = judge(WISHES, METAL, none, none, np.zeros(0), cycles=1e8, standing=none, beside=none)
    assert found.shares[FATIGUE].shape == found.life_cycles.shape == (0,)


def test_shares_are_summed_as_damage():
    one, other = np.array([1.0, 0.0, 0.3, np.inf]), np.array([1.0, 0.5, 0.0, 1.0])
    assert summed(one, other, -0.1) == pytest.approx([2**0.1, 0.5, 0.3, np.inf])
    assert summed(np.zeros(1), np.zeros(1), -0.1) == 0


@pytest.fixture(scope="module")
def layers():
    return three_rings()


def test_cold_metal_that_was_hot_is_judged_by_what_is_left(layers):
    metal = replace(METAL, kept_points=((20.0, 1.0), (200.0, 0.7)))
    by = dict.fromkeys(("barrel", "insert", "liner"), metal)
    life = Pulled(layers, {COLD: (20.0, {"barrel": (20.0, 60.0)})})
    judge_ = Judge(case_with(WISHES, **by), None, life.mesh)
    (cycle,) = life.at_gas(1.0)
    virgin = judge_(cycle)
    been = judge_(replace(cycle, been=np.full(len(life.mesh.points), 200.0)))
    for kind in (FATIGUE, TENSILE):
        for before, after in zip(virgin.layers, been.layers, strict=True):
            np.testing.assert_allclose(after.shares[kind], before.shares[kind] / 0.7)
    assert judge_.used([been]) > 1.4 * judge_.used([virgin])


def test_starts_lower_the_limit_and_every_draw(layers):
    """Without gas 20 MPa warm and -180 cold; the gas adds 60 f. Damage of f by hand."""
    standing = {"barrel": (-180.0, 0.0)}
    wishes = replace(WISHES, starts=1e6, wall_tolerance=0.0, pressure_scatter=0.0, draws=200)
    metal = replace(METAL, fatigue=replace(METAL.fatigue, scatter=0.0))
    by = dict.fromkeys(("barrel", "insert", "liner"), metal)
    life = Pulled(layers, {WARM: (20.0, {"barrel": (20.0, 60.0)})}, standing=standing)
    life.case = case_with(wishes, heat=True, **by)
    judge_ = Judge(life.case, None, life.mesh)
    factor = rate_design(judge_, life).limit.factor

    def used(of):
        top = 20 + 60 * of
        return damage(30 * of, 20 + 30 * of, 1e8) + damage((top + 180) / 2, (top - 180) / 2, 1e6)

    assert used(factor) == pytest.approx(1.0, rel=0.02)
    assert damage((20 + 60 * factor + 180) / 2, (60 * factor - 160) / 2, 1e6) > 0.1
    band, _ = band_of(judge_, life, factor, None)
    assert band.factor == pytest.approx([factor] * 3, rel=5e-3)


CASE = """\
job = "starts (invented)"
[block]
bore = "80 mm"
barrel_wall = "8 mm"
material = "A356-T6"
[gas]
peak_pressure = "90 bar"
[rating]
{}
[[design]]
name = "bare"
"""


def test_a_case_states_starts_and_a_pull(case_of):
    given = case_of(CASE.format('starts = 300\npull = "0.5 min"')).given["rating"]
    assert (given.starts, given.pull) == (300.0, 30.0)
    plain = case_of(CASE.format("")).given["rating"]
    assert (plain.starts, plain.pull) == (1000.0, 12.0)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("starts = -3", r"rating\.starts.*-3 starts are not 0, or 1 to 1e\+06"),
        ('starts = "300 h"', r"rating\.starts.*plain number of starts"),
        ('pull = "12"', r"rating\.pull.*unit"),
        ('pull = "2 h"', r"rating\.pull.*outside 0.1 to 3600 s"),
    ],
)
def test_starts_or_a_pull_that_can_not_be_are_refused(case_of, line, words):
    with pytest.raises(CaseError, match=f"(?s){words}"):
        case_of(CASE.format(line))
