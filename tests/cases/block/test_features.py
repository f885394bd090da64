"""What stands where: the bore nearest to a place, the pocket of a relief cut."""

import numpy as np
import pytest

from cases.block.features import at_pocket, cut_near
from geometry.section import Block, ReliefCut

CUT = ReliefCut(clock=3.0, radius=50.0, diameter=16.0, depth=20.0, bores=(2,))


@pytest.fixture
def bank():
    """Three bores 120 mm apart, the middle one fires; the pocket stands right of bore 2."""
    return Block(
        bore=80.0, barrel_wall=8.0, jacket=10.0, outer_wall=9.0, bores=3, pitch=120.0,
        firing_bore=2, relief_cuts=(CUT,),
    )  # fmt: skip


def test_a_place_belongs_to_the_bore_whose_axis_is_nearest(bank):
    bore, hours = bank.nearest_bore([-120.0, 1.0, 61.0, 121.0], [40.0, -40.0, 0.0, -0.5])
    assert bore.tolist() == [1, 2, 3, 3]
    assert hours[0] == pytest.approx(0.0)
    assert hours[2] == pytest.approx(9.0)


def test_a_pocket_reaches_to_its_edge_and_a_little_further(bank):
    """8 mm about 50 mm at 3:00, and a tenth of its diameter: 1.6 mm."""
    x = 50.0 - np.array([0.0, 8.0, 9.5, 9.7])
    assert at_pocket(bank, CUT, 2, x, np.zeros(4)).tolist() == [True, True, True, False]
    assert not at_pocket(bank, CUT, 1, 50.0, 0.0)
    assert cut_near(bank, 44.0, 0.0) == (CUT, 2)
    assert cut_near(bank, 164.0, 0.0) is None  # bore 3 has none
