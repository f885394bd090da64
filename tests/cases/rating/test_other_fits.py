"""Which other interferences are solved."""

import pytest

from cases.base.faults import RunError
from cases.life.given import InsertCompound, InsertFit, SideFit
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

    def __init__(self, least_um, fit=FIT):
        self.least_um = least_um
        super().__init__(
            fit, limit_at(1000 * fit.interference),
            limited=True, of_use=NEAR_BEST, beyond=1.0, nearest_um=1.0,
        )  # fmt: skip

    def point(self, interference, near):
        if 1000 * interference < self.least_um:
            raise RunError("what touches was not found")
        return limit_at(1000 * interference)


def limit_at(um):
    return FitPoint(
        interference_um=um, held={PRESSED: 2.0}, over_yield={PRESSED: max(um, 0) / 80},
        out_of_round_um=1.0, limit=max(0.01, 1.1 - 3e-4 * (um - 16) ** 2), limit_error=0.01,
        tried=None, governs="tie 12:00",
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


COMPOUND = InsertCompound(tension=((20, 12),), shear=((20, 16),), largest_gap=0.1, friction=0.05)


@pytest.mark.parametrize("um", [22.0, 0.0, -40.0])
def test_a_compound_is_swept_from_the_widest_gap_that_it_fills_to_too_much_press(um):
    """Whether an interference or a clearance is stated."""
    side = {"barrel": SideFit(interference=um / 1000, friction=0.15)}
    common = {"pressed" if um > 0 else "filled": ("barrel",)}
    fits = Formula(
        -1e3, InsertFit(**{"sides": side, "pressed": (), "compound": COMPOUND, **common})
    )
    fits.out()
    found = [1000 * one for one in sorted(fits.points)]
    assert found[0] == pytest.approx(-190)
    assert {0.0, um} <= set(found)
    assert found[-1] > 22
    assert fits.window().low_um < 16 < fits.window().high_um
    assert not fits.unsolved


@pytest.mark.parametrize(
    ("um", "compound", "ends"),
    [(22.0, None, (17, 27)), (3.0, None, (0.3, 8)), (-40.0, COMPOUND, (-45, -35)),
     (-188.0, COMPOUND, (-190, -183)), (3.0, COMPOUND, (-2, 8))],
)  # fmt: skip
def test_draws_of_a_tolerance_are_read_between_its_ends(um, compound, ends):
    """As far as it presses, a tenth of it at the least, or the compound fills it (derived)."""
    fit = InsertFit(
        sides={"barrel": SideFit(interference=um / 1000, friction=0.15)}, compound=compound,
        pressed=("barrel",) if um > 0 else (), filled=() if um > 0 else ("barrel",),
        tolerance=0.005,
    )  # fmt: skip
    fits = Formula(-1e3, fit)
    fits.in_tolerance()
    low, high = ends
    assert [1000 * of for of in sorted(fits.points)] == pytest.approx([low, um, high])


def test_a_fit_turns_from_filled_to_pressed_as_its_interference_does():
    side = {"barrel": SideFit(interference=-0.04, friction=0.15), "tie": SideFit(interference=-0.1)}
    fit = InsertFit(sides=side, pressed=(), filled=("barrel",), compound=COMPOUND)
    assert (fit.swept, fit.interference) == (True, -0.04)
    pressed = fit.with_interference(0.01)
    assert (pressed.pressed, pressed.filled, pressed.interference) == (("barrel",), (), 0.01)
    assert pressed.sides["tie"].interference == -0.1
    again = pressed.with_interference(-0.02)
    assert (again.pressed, again.filled, again.interference) == ((), ("barrel",), -0.02)
