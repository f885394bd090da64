"""What is left of the walls at the deck, against what the parts are said to be."""

from dataclasses import replace

import numpy as np
import pytest
from sections import BANK, SINGLE, section

from geometry import Insert, Register, ReliefCut, parse_clock
from geometry.left import walls_left

CUT = ReliefCut(clock=4.75, radius=57.5, diameter=16, depth=22)
PLAIN = replace(SINGLE, relief_cuts=())


def at(wall, clock):
    """Thickness about the first bore at a clock position. [mm]."""
    return wall.thickness[0, int(np.argmin(np.abs(wall.clock - parse_clock(clock))))]


def test_walls_as_cast_are_as_stated_and_none_at_a_tie():
    barrel, outer = walls_left(section(PLAIN))
    for wall, stated in ((barrel, 6.0), (outer, 9.0)):
        assert np.nanmin(wall.thickness) == pytest.approx(stated, abs=1e-4)
        assert np.nanmax(wall.thickness) == pytest.approx(stated, abs=1e-4)
        assert np.isnan([at(wall, "12:24"), at(wall, "3:12")]).all()


def test_a_relief_cut_and_a_register_leave_the_less_of_both():
    """The cut reaches from 49.5 to 65.5 mm from the axis, between a liner of 46 and an outside of
    70 mm; the register takes 1 mm off a barrel wall of 6 and 5.5 mm off an outer wall of 9 mm."""
    register = Register(depth=6, barrel=1, outer_wall=5.5)
    made = section(PLAIN, Insert(depth=5, register=register), relief_cuts=(CUT,))
    barrel, outer = walls_left(made)
    assert barrel.least == pytest.approx((49.5 - 46, 4.75, 1), abs=1e-3)
    assert at(barrel, "2:00") == pytest.approx(5.0, abs=1e-4)
    assert at(outer, "4:45") == at(outer, "2:00") == pytest.approx(3.5, abs=1e-4)


def test_a_ring_in_a_register_bares_the_wall_at_a_tie():
    held = Insert(depth=6, form="ring", register=Register(depth=6, ledge=1.5))
    barrel, outer = walls_left(section(PLAIN, held))
    assert at(barrel, "3:12") == pytest.approx(4.5, abs=1e-4)
    assert at(outer, "3:12") == pytest.approx(7.5, abs=1e-4)


def test_a_drafted_jacket_leaves_what_is_stated_at_the_deck():
    held = Insert(depth=5, register=Register(depth=6, barrel=1))
    barrel, outer = walls_left(section(PLAIN, held, draft=2.0))
    assert at(barrel, "2:00") == np.nanmin(barrel.thickness) == pytest.approx(5.0, abs=1e-4)
    assert at(outer, "2:00") == pytest.approx(9.0, abs=1e-4)


def test_a_wall_table_counts_row_by_row():
    table = ((0, 6), (4, 5), (8, 6.5))
    held = Insert(depth=6, register=Register(depth=6, barrel=1))
    barrel, _ = walls_left(section(PLAIN, held, wall_table=table))
    assert barrel.least == pytest.approx((4.0, 4.0, 1), abs=1e-4)
    assert at(barrel, "8:00") == pytest.approx(5.5, abs=1e-4)


def test_no_wall_is_told_where_barrels_run_together():
    barrel, outer = walls_left(section(BANK, relief_cuts=()))
    assert np.isnan(at(barrel, "3:00"))
    assert np.isnan(at(outer, "3:00"))
    assert at(barrel, "9:00") == pytest.approx(6.0, abs=1e-4)  # the end of the bank
    assert np.isnan(barrel.thickness[1, [180, 540]]).all()  # 3:00 and 9:00 of the middle bore
    assert barrel.thickness.shape == outer.thickness.shape == (3, 720)
