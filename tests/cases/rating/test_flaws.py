"""Pores and surfaces of a case: strengths by hand, limits, what is refused.

Formulas as in tests/fea/test_flaws.py; the rest is derived.
"""

from dataclasses import replace

import numpy as np
import pytest
from pulled import CAST, COLD, SWT, USUAL, WROUGHT, Pulled, case_with, three_rings, uniaxial
from scipy.stats import norm

from cases.base.faults import CaseError
from cases.rating.band import CLASS, LENGTH, PORE, band_of
from cases.rating.flaws import fatigue_left, pore_share
from cases.rating.judge import Judge
from cases.rating.limit import rate_design
from cases.rating.result import FATIGUE
from cases.rating.shares import counted, judge
from fea.material import Fatigue
from fea.strength import PORE_CLASSES

FLAWED = replace(CAST, fatigue=Fatigue(90.0, 1e8, -0.1, scatter=0.0, threshold=(4.0, 5.0, 7.0)))
PORED = replace(USUAL, pore=0.4, cycles=1e8)
A0 = 1000 / np.pi * (5 / (0.65 * 180)) ** 2
SHARE = np.sqrt(A0 / (A0 + 0.4 * np.sqrt(np.pi) / 2))
"""Plain metal bears 2 x 90 MPa, a threshold of 5 MPa sqrt(m), a round pore of 0.4 mm."""


def test_a_pore_stands_for_casting_quality_in_fatigue_alone():
    left = fatigue_left(PORED, FLAWED, "barrel")
    assert left == pytest.approx(SHARE)
    strengths = counted(PORED, FLAWED, np.array([20.0]), cycles=1e8, left=left)
    assert strengths.fatigue_mpa == pytest.approx(90 * SHARE)
    assert strengths.yield_mpa == pytest.approx(0.7 * 200)
    assert strengths.tensile_mpa == pytest.approx(0.7 * 300)


@pytest.mark.parametrize(
    ("part", "metal", "left"),
    [("barrel", FLAWED, SHARE), ("tie", FLAWED, SHARE), ("floor", FLAWED, SHARE),
     ("liner", FLAWED, 0.7), ("insert", FLAWED, 0.7), ("barrel", WROUGHT, 1.0)],
)  # fmt: skip
def test_a_pore_is_one_of_the_block(part, metal, left):
    assert fatigue_left(PORED, metal, part) == pytest.approx(left)


def test_of_pore_roughness_and_critical_distance_the_harsher_counts_and_never_a_product():
    """Rz 25 um leaves 1 - 0.20 lg 25 lg(600 / 133) of metal of 300 MPa, more than the pore."""
    rough = 1 - 0.20 * np.log10(25) * np.log10(600 / 133)
    both = replace(PORED, surface=0.025)
    assert rough > SHARE
    assert fatigue_left(both, FLAWED, "barrel") == pytest.approx(SHARE)
    assert fatigue_left(replace(both, pore=0.01), FLAWED, "barrel") == pytest.approx(rough)
    steep = np.array([False, True])
    assert fatigue_left(both, FLAWED, "barrel", steep) == pytest.approx([SHARE, 1.0])
    assert fatigue_left(replace(both, pore=None), FLAWED, "barrel") == pytest.approx(0.7 * rough)


def test_a_larger_pore_leaves_less_and_a_tougher_metal_more():
    sizes = pore_share(PORED, FLAWED, size=[0.5, 1.0, 2.0])
    assert (np.diff(sizes) < 0).all()
    tougher = pore_share(PORED, FLAWED, threshold=[-1.0, 0.0, 1.0])
    assert (np.diff(tougher) > 0).all()
    short = 1000 / np.pi * (7 / (0.65 * 180)) ** 2
    assert tougher[2] == pytest.approx(np.sqrt(short / (short + 0.4 * np.sqrt(np.pi) / 2)))


@pytest.fixture(scope="module")
def layers():
    return three_rings()


def test_a_limit_falls_as_a_pore_weakens_the_block(layers):
    """0 to s wears as s / sqrt(2) by Smith, Watson and Topper: 80 MPa of the gas in the barrel."""
    wishes = replace(SWT, pore=0.4, cycles=1e8)
    life = Pulled(layers, {COLD: (20.0, {"barrel": (0.0, 80.0)})})
    judge_ = Judge(case_with(wishes, barrel=replace(FLAWED, yield_points=())), None, life.mesh)
    found = rate_design(judge_, life)
    assert found.limit.factor == pytest.approx(90 * SHARE * np.sqrt(2) / 80, rel=3e-3)
    assert found.governing.kind == FATIGUE


def test_size_and_threshold_of_a_pore_are_drawn(layers):
    """The limit goes as the share: at the middle of size and threshold the one by hand, and both
    spread it; a pore of one size leaves the threshold alone."""
    metal = replace(FLAWED, yield_points=())
    found = {}
    for scatter in (0.3, 0.0):
        wishes = replace(
            SWT, pore=0.4, pore_scatter=scatter, cycles=1e8, wall_tolerance=0.0,
            pressure_scatter=0.0, draws=2000,
        )  # fmt: skip
        life = Pulled(layers, {COLD: (20.0, {"barrel": (0.0, 80.0)})})
        life.case = case_with(wishes, barrel=metal, insert=metal, liner=metal)
        found[scatter], _ = band_of(Judge(life.case, None, life.mesh), life, 1.1, None)
    assert found[0.3].factor[1] == pytest.approx(90 * SHARE * np.sqrt(2) / 80, rel=0.03)
    assert {*found[0.3].causes} == {PORE, LENGTH}
    assert {*found[0.0].causes} == {LENGTH}
    least, most = (
        90 * float(pore_share(PORED, FLAWED, threshold=of)) * np.sqrt(2) / 80 for of in (-0.9, 0.9)
    )
    assert found[0.0].factor == pytest.approx([least, 90 * SHARE * np.sqrt(2) / 80, most], rel=0.02)
    assert found[0.3].factor[0] < found[0.0].factor[0]


def test_a_casting_class_stands_for_a_pore_that_may_be_larger_or_smaller(layers):
    """Evenly in its logarithm: from the 5th to the 95th of 100 draws its size goes by
    off^-0.9 to off^0.9, so where the threshold is one value the limit goes as a pore of that."""
    metal = replace(
        FLAWED, yield_points=(), fatigue=replace(FLAWED.fatigue, threshold=(5.0, 5.0, 5.0))
    )
    wishes = replace(
        SWT, pore=0.4, pore_scatter=0.0, pore_off=2.0, cycles=1e8, wall_tolerance=0.0,
        pressure_scatter=0.0, draws=2000,
    )  # fmt: skip
    life = Pulled(layers, {COLD: (20.0, {"barrel": (0.0, 80.0)})})
    life.case = case_with(wishes, barrel=metal, insert=metal, liner=metal)
    found, _ = band_of(Judge(life.case, None, life.mesh), life, 1.1, None)
    assert found.causes[CLASS] > 0.99
    by_hand = [
        90 * float(pore_share(PORED, metal, size=2.0**of)) * np.sqrt(2) / 80
        for of in (0.9, 0.0, -0.9)
    ]
    assert found.factor == pytest.approx(by_hand, rel=0.01)


def test_a_lognormal_pore_is_as_good_as_one_by_gumbels_law():
    """Median and deviation alike, from the 5th to the 95th of 100."""
    scatter = 0.3
    at = np.array([0.05, 0.25, 0.75, 0.95])
    scale = scatter * np.sqrt(6) / np.pi
    gumbel = 1 + scale * (np.log(np.log(2)) - np.log(-np.log(at)))
    lognormal = np.exp(scatter * norm.ppf(at))
    assert lognormal == pytest.approx(gumbel, rel=0.08)


def test_longer_lives_keep_falling():
    """No knee: each ten times the cycles cost the same share, pore or not, to 1e10 and beyond."""
    shares = [
        float(
            judge(USUAL, FLAWED, uniaxial(0.0), uniaxial(40.0), np.array([20.0]), cycles=cycles,
                  left=SHARE).shares[FATIGUE][0]
        )
        for cycles in (1e7, 1e8, 1e9, 1e10)
    ]  # fmt: skip
    assert np.diff(np.log10(shares)) == pytest.approx([0.1, 0.1, 0.1])


CASE = """\
job = "flaws (invented)"
[block]
bore = "80 mm"
barrel_wall = "{wall}"
material = "{metal}"
{block}
[gas]
peak_pressure = "90 bar"
[[design]]
name = "bare"
"""


def read(case_of, block, metal="A356-T6", wall="8 mm"):
    return case_of(CASE.format(block=block, metal=metal, wall=wall)).given["rating"]


def test_a_case_states_pore_and_surface(case_of):
    given = read(case_of, 'pore = "400 um"\npore_scatter = "20 %"\nsurface = "6.3 um"')
    assert (given.pore, given.pore_scatter) == (0.4, 0.2)
    assert given.surface == pytest.approx(0.0063)
    assert read(case_of, 'surface = "as cast"').surface == 0.2
    sand = read(case_of, 'casting_class = "sand, degassed"')
    assert (sand.pore, sand.pore_scatter, sand.pore_off) == PORE_CLASSES["sand, degassed"]
    measured = read(case_of, 'casting_class = "sand, degassed"\npore_scatter = "10 %"')
    assert (measured.pore_scatter, measured.pore_off) == (0.1, 1.5)
    plain = read(case_of, "")
    assert (plain.pore, plain.surface, plain.pore_scatter) == (None, None, 0.3)


@pytest.mark.parametrize(
    ("block", "metal", "wall", "words"),
    [
        ('pore = "4 mm"', "A356-T6", "3 mm", r"block\.pore.*no smaller than the wall of 3 mm"),
        ('pore = "6 mm"', "A356-T6", "8 mm", r"block\.pore.*outside 0.01 to 5 mm"),
        (
            'casting_class = "as poured"',
            "A356-T6",
            "0.7 mm",
            r"block\.casting_class.*no smaller than the wall of 0\.7 mm",
        ),
        ('casting_class = "sand, degassed"', "6061-T6", "8 mm", r"casting_class.*not cast"),
        (
            'pore = "0.4 mm"\ncasting_class = "sand, degassed"',
            "A356-T6",
            "8 mm",
            r"block\.casting_class.*Leave one of them out",
        ),
        ('casting_class = "good"', "A356-T6", "8 mm", r"casting_class.*sand, degassed"),
        ('pore = "0.4 mm"', "6061-T6", "8 mm", r"block\.pore.*not cast"),
        ('pore = "0.4 mm"', "319-T6", "8 mm", r"block\.pore.*no fatigue strength"),
        ('surface = "polished"', "A356-T6", "8 mm", r"block\.surface.*as cast.*peened"),
        ('surface = "2 mm"', "A356-T6", "8 mm", r"block\.surface.*outside 0.1 to 400 um"),
    ],
)
def test_a_flaw_that_can_not_be_is_refused(case_of, block, metal, wall, words):
    with pytest.raises(CaseError, match=f"(?s){words}"):
        read(case_of, block, metal, wall)
