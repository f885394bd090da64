"""Hole-basis fits against ISO 286: its formulas for grades, limits of fits at a few diameters.

Limits of H7 and of the shafts are those of ISO 286-2 (from memory), compared once with an open
library of that standard's tables.
"""

import math

import pytest

from cases.fit.iso import FINER, GRADES, STEPS, iso_fits, nearest_fit


@pytest.mark.parametrize(("grade", "units"), [(6, 10), (7, 16)])
def test_grades_follow_the_formula_of_the_standard(grade, units):
    """IT6 = 10 i and IT7 = 16 i, i = 0.45 D^(1/3) + 0.001 D; the table is rounded to whole um."""
    for low, high, told in zip(STEPS, STEPS[1:], GRADES[grade], strict=False):
        middle = math.sqrt(low * high)
        unit = 0.45 * middle ** (1 / 3) + 0.001 * middle
        assert told == pytest.approx(units * unit, abs=0.75)


@pytest.mark.parametrize(
    ("diameter", "name", "least", "most"),
    [
        (25.0, "H7/k6", -19, 15),  # hole 0 to 21, shaft +2 to +15
        (25.0, "H7/p6", 1, 35),  # +22 to +35
        (50.0, "H7/n6", -8, 33),  # hole 0 to 25, shaft +17 to +33
        (80.0, "H7/s6", 29, 78),  # hole 0 to 30, shaft +59 to +78
        (100.0, "H7/r6", 16, 73),  # hole 0 to 35, shaft +51 to +73
        (116.0, "H7/s6", 44, 101),  # shaft +79 to +101
        (100.0, "H7/h6", -57, 0),
        (130.0, "H7/u6", 130, 195),  # hole 0 to 40, shaft +170 to +195
    ],
)
def test_limits_of_fits(diameter, name, least, most):
    (fit,) = (one for one in iso_fits(diameter) if one.name == name)
    assert (fit.least_um, fit.most_um) == (least, most)


def test_steps_end_with_the_diameter_that_they_name():
    assert [iso_fits(at)[0].least_um for at in (80.0, 80.01)] == [-49, -57]
    assert iso_fits(18.0) == iso_fits(320.0) == ()
    assert set(STEPS[1:]) <= set(FINER)


def test_heavier_fits_press_more():
    for diameter in (25.0, 70.0, 116.0, 300.0):
        middles = [one.middle_um for one in iso_fits(diameter)]
        assert middles == sorted(middles)
        assert nearest_fit(diameter, -100.0).name == "H7/h6"
        assert nearest_fit(diameter, 1e3).name == "H7/u6"
