"""Critical distance on our own meshes against closed forms, and what does not settle.

Hole: Kirsch, *Z. VDI* 42 (1898). Crack: El Haddad, Topper & Smith, *Eng. Fract. Mech.* 11 (1979)
573-584 (from memory). Point and line method: Taylor, *Int. J. Fatigue* 21 (1999) 413-420 (from
memory). Values by L/r are worked out elsewhere to six digits.
"""

from functools import cache

import pytest

from cases.check import distances
from fea.closed_form import strength_with_crack, strength_with_hole

pytestmark = pytest.mark.verification


@cache
def hole(fineness):
    return distances.hole(fineness)


@pytest.mark.parametrize(
    ("share", "point", "line"),
    [(0.1, 0.372084, 0.404873), (0.5, 0.516956, 0.592593), (1.0, 0.658537, 0.710526)],
)
def test_plate_with_a_hole(share, point, line):
    solved = hole(0.125)
    assert solved.ratio(10 * share, line=False) == pytest.approx(point, rel=1e-3)
    assert solved.ratio(10 * share, line=True) == pytest.approx(line, rel=1e-3)
    form = strength_with_hole(10 * share, 10.0)
    assert (form.point, form.line) == pytest.approx((point, line), rel=2e-6)


def test_a_mean_settles_between_two_element_sizes_where_the_root_does_not():
    """A hole of a hundred times L on elements of twice the size: the mean moves less than 0.5 %."""
    coarse, fine = (hole(fineness).ratio(0.5, line=True) for fineness in (0.5, 0.25))
    assert coarse == pytest.approx(fine, rel=5e-3)


def test_plate_with_a_crack():
    """By the mean that of El Haddad, on elements that have no finite stress at the tip."""
    solved, form = distances.crack(), strength_with_crack(1.0, 4.0)
    assert solved.ratio(1.0, line=True) == pytest.approx(form.line, rel=0.03)
    assert solved.ratio(1.0, line=False) == pytest.approx(form.point, rel=3e-3)
    assert solved.ratio(4.0, line=True) == pytest.approx(
        strength_with_crack(4.0, 4.0).line, rel=0.02
    )
