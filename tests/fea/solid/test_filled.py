"""A solid's joint filled with compound against closed forms: rings pulled apart, turned, fired.

As the section's in ``tests/verification/test_compound.py``: Lame's rings and statics; strengths are
invented. Both rings are of one metal, so that nothing shears them along their axis: of two, bonded
and warm, the ends do, which no plane rings know.
"""

import numpy as np
import pytest

from cases.check.prisms import grid_solid, joined_at, side_by_side
from fea.closed_form.fits import fitted_pressure, joint_pressure
from fea.contact import Compound, Fit
from fea.material import Material
from fea.solid.fitted import FittedSolid, SolidContactError
from fea.solid.model import SolidModel

CAST = Material("cast alloy", 72_400.0, 0.33, expansion=21.5e-6)
A, C, B, LENGTH = 45.0, 52.0, 75.0, 8.0
METAL = (72_400.0, 0.33)
TENSION, SHEAR, MU = 2.0, 3.0, 0.12
BOND = Compound(tension=((20, TENSION), (200, TENSION)), shear=((20, SHEAR), (200, SHEAR)),
                fills=0.03, friction=MU)  # fmt: skip
SHARE = joint_pressure(A, C, B, p_in=1.0, inner=METAL, outer=METAL)
"""Of what presses in the bore, or sucks, at the joint of bonded rings, Lame."""
CLOSING = fitted_pressure(A, C, B, overlap=0.001, inner=METAL, outer=METAL)
"""Pressure of 1 um of radial interference. [MPa]."""


def solid(whole=False):
    """A ring in another; a quarter of them, or all, held at the outside."""
    angle = np.linspace(0, 2 * np.pi, 17) if whole else np.linspace(0, np.pi / 2, 6)
    planes = {} if whole else {"v0": "y = 0", "v1": "x = 0"}
    bodies = [
        grid_solid(name, np.linspace(*radii), angle, [-LENGTH, 0], names=names | planes)
        for name, radii, names in (
            ("inner", (A, C, 3), {"u0": "bore", "u1": "fitted", "above": "top"}),
            ("outer", (C, B, 5), {"u1": "outside", "above": "middle", "below": "floor"}),
        )
    ]
    mesh = side_by_side(*bodies)
    fixed = (
        {"outside": "xy", "floor": "z"} if whole else {"y = 0": "y", "x = 0": "x", "middle": "z"}
    )
    model = SolidModel(mesh, {"inner": CAST, "outer": CAST}, fixed)
    return FittedSolid(model, joined_at(mesh, ["fitted"], ["outer"]), {})


@pytest.fixture(scope="module")
def quarter():
    return solid()


@pytest.fixture(scope="module")
def turned():
    return solid(whole=True)


def filled(rings, overlap=0.0, compound=BOND, friction=0.3):
    return rings.with_fits({"outer": Fit(overlap=overlap, friction=friction, compound=compound)})


def warmer(rings, rise):
    return rings.at(np.full(len(rings.model.mesh.points), 20.0 + rise))


def turning(rings, torque):
    """Shear on the bore that adds up to a moment [N mm]."""

    def shear(_place, normal):
        around = np.stack([normal[1], -normal[0], np.zeros_like(normal[0])])
        return around * torque / (2 * np.pi * A**2 * LENGTH)

    return rings.model.face_load("bore", shear)


def mean(state, rings):
    return float(state.force.sum() / rings.area.sum())


@pytest.mark.parametrize("overlap", [0.0, 0.005])
def test_the_joint_opens_where_lames_pull_is_the_strength(quarter, overlap):
    """The bore is sucked in: q = q0 - s p reaches -T, all round, and stays broken for good."""
    most = (TENSION + 1000 * overlap * CLOSING) / SHARE
    rings = filled(quarter, overlap)
    suck = -rings.model.pressure_load("bore", most)
    pressed = rings.solve()
    assert pressed.intact.all()
    below = rings.solve(0.98 * suck, pressed)
    assert below.intact.all()
    assert mean(below, rings) == pytest.approx(
        1000 * overlap * CLOSING - 0.98 * most * SHARE, rel=0.01
    )
    beyond = rings.solve(1.02 * suck, pressed)
    assert beyond.broken.all()
    assert not beyond.closed.any()
    shrinks = 2 * 1.02 * most * A**2 * C / (72_400 * (C**2 - A**2))
    assert beyond.gap.mean() == pytest.approx(shrinks - overlap, rel=5e-3)
    rest = rings.solve(before=beyond)
    assert rest.broken.all()
    assert mean(rest, rings) == pytest.approx(1000 * overlap * CLOSING, rel=0.01, abs=1e-3)
    assert not rings.solve(0.9 * suck, rest).force.any()
    assert not rings.solve(0.9 * suck, pressed.broken_as([beyond])).force.any()
    assert rings.solve(0.9 * suck, pressed).intact.all()


@pytest.mark.parametrize("clearance", [0.0, 0.02])
def test_a_clearance_that_is_filled_carries_from_the_first(quarter, clearance):
    """Cured with no stress: then gas makes the joint pressure of bonded rings, Lame."""
    rings = filled(quarter, -clearance)
    loose = rings.solve()
    assert loose.filler == pytest.approx(clearance, abs=1e-6)
    assert not loose.force.any()
    fired = rings.solve(rings.model.pressure_load("bore", 9.0), loose)
    q = 9.0 * SHARE
    assert mean(fired, rings) == pytest.approx(q, rel=5e-3)
    assert fired.intact.all()


def test_a_clearance_beyond_its_fill_is_as_without_compound(quarter):
    states = []
    for compound in (BOND, None):
        rings = filled(quarter, -0.04, compound)
        loose = rings.solve()
        assert not (loose.intact | loose.broken).any()
        states.append(rings.solve(rings.model.pressure_load("bore", 60.0), loose))
    assert states[0].force == pytest.approx(states[1].force)
    assert states[0].closed.any()


def test_a_torque_turns_the_ring_at_its_shear_strength_and_friction(turned):
    """Shear is even: all slips at once at 2 pi c^2 t (S + mu q), statics; sides pressed alike."""
    rings = filled(turned, 0.01)
    pressed = rings.solve()
    limit = C * (SHEAR * rings.area.sum() + MU * pressed.force.sum())
    below = rings.solve(turning(rings, 0.98 * limit), pressed)
    assert below.intact.all()
    assert np.abs(below.friction[0].sum()) * C == pytest.approx(0.98 * limit, rel=5e-3)
    with pytest.raises(SolidContactError):
        rings.solve(turning(rings, 1.03 * limit), pressed)


def test_strength_is_that_of_the_pair_as_warm_as_it_is(quarter):
    """From T at 20 degC to none at 120: half of it at 70."""
    fades = Compound(
        tension=((20, TENSION), (120, 0.0)), shear=((20, SHEAR), (120, 0.0)), fills=0, friction=0
    )
    rings = filled(quarter, compound=fades)
    pressed, warm = rings.solve(), warmer(rings, 50.0)
    suck = -rings.model.pressure_load("bore", TENSION / 2 / SHARE)
    assert warm.solve(0.98 * suck, pressed).intact.all()
    assert warm.solve(1.02 * suck, pressed).broken.all()
    assert rings.solve(1.9 * suck, pressed).intact.all()


def test_compound_too_hot_to_hold_is_gone(quarter):
    """Above its last temperature nothing fills the clearance, which opens again."""
    rings = filled(quarter, -0.02)
    loose = rings.solve()
    hot = warmer(rings, 190.0).solve(before=loose)
    assert hot.broken.all()
    assert not hot.filler.any()
    assert hot.gap.mean() == pytest.approx(0.02 * (1 + 21.5e-6 * 190), abs=1e-4)
