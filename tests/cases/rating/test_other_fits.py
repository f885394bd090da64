"""Which other interferences are solved."""

import pytest

from cases.base.faults import RunError
from cases.life.given import InsertFit, SideFit
from cases.life.steps import PRESSED
from cases.rating.other_fits import OtherFits
from cases.rating.result import FitPoint
from cases.rating.window import NEAR_BEST

FIT = InsertFit(
    sides={"barrel": SideFit(interference=0.022, friction=0.15)}, pressed=("barrel",),
    tolerance=0.005,
)  # fmt: skip


class Formula(OtherFits):
    """Limits by a formula: best at 16 um, none to be found below a fit."""

    def __init__(self, least_um):
        self.least_um = least_um
        super().__init__(
            FIT, limit_at(22.0),
            limited=True, of_use=NEAR_BEST, beyond=1.0, nearest_um=1.0,
        )  # fmt: skip

    def point(self, interference, near):
        if 1000 * interference < self.least_um:
            raise RunError("what touches was not found")
        return limit_at(1000 * interference)


def limit_at(um):
    return FitPoint(
        interference_um=um, held={PRESSED: 2.0}, over_yield={PRESSED: um / 80},
        out_of_round_um=1.0, limit=1.1 - 3e-4 * (um - 16) ** 2, limit_error=0.01, tried=None,
        governs="tie 12:00",
    )  # fmt: skip


@pytest.mark.parametrize("least", [0.0, 9.0, 17.0])
def test_where_a_light_fit_is_not_found_one_nearer_to_the_stated_is(least):
    """Halfway, and again: the window isn't cut at the stated fit."""
    fits = Formula(least)
    fits.out()
    lightest = 1000 * min(fits.points)
    assert least <= lightest < 22
    assert fits.window().low_um < 21
    assert len(fits.unsolved) == {0.0: 0, 9.0: 1, 17.0: 2}[least]
    assert all("what touches was not found" in of for of in fits.unsolved)


def test_where_none_lighter_is_found_it_ends():
    fits = Formula(21.9)
    fits.out()
    assert min(fits.points) == 0.022
    assert 3 <= len(fits.unsolved) <= 5
