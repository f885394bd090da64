"""A joint filled with compound against closed forms: rings that are pulled apart and turned.

Lame's rings and statics stand behind every number, as in :mod:`test_press_fit`; strengths are
invented. Rings are radii in mm from the bore out.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from fea_meshes import ring, uniform

import fea.contact.fitted
from fea.closed_form import fitted_pressure, joint_pressure
from fea.contact import Compound, ContactError, Fit, FittedModel
from fea.contact.search import SetsSearch
from fea.material import Material
from geometry.parted import part_off

pytestmark = pytest.mark.verification

CAST = Material("cast alloy", 72_400.0, 0.33, expansion=21.5e-6)
IRON = Material("iron", 110_000.0, 0.26, expansion=11e-6)
A, C, B, T = 45, 52, 75, 8.0
INNER, OUTER = (IRON.youngs_modulus, IRON.poisson), (CAST.youngs_modulus, CAST.poisson)
TENSION, SHEAR, MU = 2.0, 3.0, 0.12
BOND = Compound(tension=((20, TENSION), (200, TENSION)), shear=((20, SHEAR), (200, SHEAR)),
                fills=0.03, friction=MU)  # fmt: skip
PER_KELVIN = fitted_pressure(
    A, C, B, overlap=C * (CAST.expansion - IRON.expansion), inner=INNER, outer=OUTER
)
"""Pull of bonded rings that are one kelvin warmer, Lame. [MPa]."""
CLOSING = fitted_pressure(A, C, B, overlap=0.001, inner=INNER, outer=OUTER)
"""Pressure of 1 um of radial interference. [MPa]."""


@cache
def parted():
    return part_off(ring((A, C, B), [uniform("insert", T), uniform("barrel", T)], 2.5), "insert")


def rings(overlap=0.0, compound=BOND, friction=0.3):
    fit = Fit(overlap=overlap, friction=friction, compound=compound)
    return FittedModel(parted(), {"insert": IRON, "barrel": CAST}, {("insert", "barrel"): fit})


def warmer(model, rise):
    return model.at(np.full(len(model.parted.mesh.points), 20.0 + rise))


def gas(model, p):
    """A pressure [MPa] in the bore."""
    return model.model.edge_load("bore", lambda _x, _y, nx, ny: -T * p * np.stack([nx, ny]))


def turning(model, torque):
    """Shear on the bore with a torque [N mm], and on the outside against it."""

    def shear(radius, torque):
        force = torque / (2 * np.pi * radius**3)
        return lambda x, y, _nx, _ny: force * np.stack([-y, x])

    edges = model.model.edge_load
    return edges("bore", shear(A, torque)) + edges("outside", shear(B, -torque))


def mean_pressure(fitted, model):
    return float(fitted.contact.force.sum() / model.pairs.area.sum())


@pytest.mark.parametrize("overlap", [0.0, 0.005])
def test_heat_opens_the_joint_where_lames_pull_is_the_strength(overlap):
    """The iron ring grows less: q = q0 - k dT reaches -T, all round at once."""
    rise = (TENSION + 1000 * overlap * CLOSING) / PER_KELVIN
    model = rings(overlap)
    pressed = model.solve()
    assert pressed.contact.intact.all()
    below = warmer(model, 0.995 * rise).solve(before=pressed)
    assert below.contact.intact.all()
    pull = 0.995 * rise * PER_KELVIN - 1000 * overlap * CLOSING
    assert -below.contact.pressure == pytest.approx(pull, rel=5e-3)
    beyond = warmer(model, 1.005 * rise).solve(before=pressed)
    assert beyond.contact.broken.all()
    assert not beyond.contact.closed.any()
    free = C * (CAST.expansion - IRON.expansion) * 1.005 * rise - overlap
    assert beyond.contact.gap.mean() == pytest.approx(free, rel=2e-3)


def test_a_torque_turns_the_ring_at_its_shear_strength_and_friction():
    """Shear is even: all slips at once at 2 pi c^2 t (S + mu q), statics."""
    model = rings(0.02)
    pressed = model.solve()
    limit = 2 * np.pi * C**2 * T * (SHEAR + MU * 20 * CLOSING)
    below = model.solve(turning(model, 0.99 * limit), pressed)
    assert below.contact.intact.all()
    assert np.abs(below.contact.friction).sum() * C == pytest.approx(0.99 * limit, rel=1e-3)
    with pytest.raises(ContactError, match="insert"):
        model.solve(turning(model, 1.01 * limit), pressed)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9])
def test_pull_and_shear_together_break_it_on_the_ellipse(share):
    """(sigma / T)^2 + (tau / S)^2 = 1, with Lame's pull and the shear of a torque."""
    model = rings()
    pressed = model.solve()
    warm = warmer(model, share * TENSION / PER_KELVIN)
    limit = 2 * np.pi * C**2 * T * SHEAR * np.sqrt(1 - share**2)
    below = warm.solve(turning(model, 0.99 * limit), pressed)
    assert below.contact.intact.all()
    with pytest.raises(ContactError, match="insert"):
        warm.solve(turning(model, 1.01 * limit), pressed)


@pytest.mark.parametrize("clearance", [0.0, 0.02])
def test_a_clearance_that_is_filled_carries_from_the_first(clearance):
    """Cured with no stress: then gas makes the joint pressure of bonded rings, Lame."""
    model = rings(-clearance)
    loose = model.solve()
    assert loose.contact.filler == pytest.approx(clearance, abs=1e-6)
    assert not loose.contact.force.any()
    fired = model.solve(gas(model, 9.0), loose)
    q = joint_pressure(A, C, B, p_in=9.0, inner=INNER, outer=OUTER)
    assert fired.contact.pressure == pytest.approx(q, rel=5e-3)
    assert fired.contact.intact.all()


def test_a_clearance_beyond_its_fill_is_as_without_compound():
    model, bare = rings(-0.04), rings(-0.04, compound=None)
    steps = []
    for rig in (model, bare):
        loose = rig.solve()
        assert not (loose.contact.intact | loose.contact.broken).any()
        steps.append(rig.solve(gas(rig, 60.0), loose))
    assert steps[0].contact.force == pytest.approx(steps[1].contact.force)
    assert steps[0].contact.closed.any()


def test_compound_fills_where_the_gap_is_small_enough():
    """A ring pressed in oval: filled where it stands off by 30 um at most, and holds there only."""
    model = rings(-0.02)
    oval = model.model.edge_load(
        "outside",
        lambda x, y, nx, ny: -60 * np.cos(2 * np.arctan2(y, x)) * np.stack([nx, ny]),
    )
    loose = model.solve(oval)
    wide = loose.contact.gap > BOND.fills
    assert 0.1 < wide.mean() < 0.9
    np.testing.assert_array_equal(loose.contact.intact, ~wide)
    fired = model.solve(oval + gas(model, 2.0), loose)
    assert not fired.contact.force[wide].any()


def test_what_is_broken_stays_broken_when_the_load_goes():
    """Heated beyond, cold again, half as warm: as two rings that lie in one another."""
    model = rings(0.005)
    rise = (TENSION + 5 * CLOSING) / PER_KELVIN
    pressed = model.solve()
    hot = warmer(model, 1.1 * rise).solve(before=pressed)
    cold = model.solve(before=hot)
    assert cold.contact.broken.all()
    assert mean_pressure(cold, model) == pytest.approx(5 * CLOSING, rel=2e-3)
    apart = warmer(model, 0.9 * rise)
    assert not apart.solve(before=cold).contact.force.any()
    intact = apart.solve(before=pressed).contact
    assert intact.intact.all()
    assert not apart.solve(before=pressed.broken_as(hot.contact)).contact.force.any()


def test_what_is_broken_rubs_on_what_is_left_of_the_compound():
    """Cured in a clearance and pulled off, the ring lies on it: no way back, friction that of wet.

    Turned under gas it slips at 2 pi c^2 t mu q, statics.
    """
    model = rings(-0.02)
    hot = warmer(model, 1.05 * TENSION / PER_KELVIN).solve(before=model.solve())
    assert hot.contact.broken.all()
    bore = gas(model, 30.0)
    fired = model.solve(bore, model.solve(before=hot))
    q = joint_pressure(A, C, B, p_in=30.0, inner=INNER, outer=OUTER)
    assert fired.contact.pressure == pytest.approx(q, rel=5e-3)
    limit = 2 * np.pi * C**2 * T * MU * q
    below = model.solve(bore + turning(model, 0.98 * limit), fired)
    assert below.contact.sticks.all()
    with pytest.raises(ContactError, match="insert"):
        model.solve(bore + turning(model, 1.02 * limit), fired)


def test_strength_is_that_of_the_pair_as_warm_as_it_is():
    """From T at 20 degC to none at 120: the pull meets it where k dT = T (1 - dT / 100)."""
    fades = Compound(
        tension=((20, TENSION), (120, 0.0)), shear=((20, SHEAR), (120, 0.0)), fills=0, friction=0
    )
    model = rings(compound=fades)
    pressed = model.solve()
    rise = TENSION / (PER_KELVIN + TENSION / 100)
    assert warmer(model, 0.995 * rise).solve(before=pressed).contact.intact.all()
    assert warmer(model, 1.005 * rise).solve(before=pressed).contact.broken.all()


@pytest.mark.parametrize("overlap", [0.02, -0.01])
def test_compound_hotter_than_its_last_strength_is_none(overlap):
    """As if there were none, whatever presses; a colder step afterwards finds it broken."""
    cold_only = Compound(tension=((20, 50.0),), shear=((20, 50.0),), fills=0.1, friction=MU)
    model, bare = rings(overlap, cold_only), rings(overlap, None, friction=MU)
    with_it, without = (warmer(rig, 10).solve(gas(rig, 40.0), rig.solve()) for rig in (model, bare))
    assert with_it.contact.broken.all()
    assert with_it.contact.closed.all()
    assert with_it.contact.force == pytest.approx(without.contact.force, rel=1e-4)
    cold = model.solve(before=with_it).contact
    assert not cold.intact.any()
    assert not cold.filler.any()
    again = model.solve(before=model.solve().broken_as(with_it.contact)).contact
    assert again.force == pytest.approx(cold.force, rel=1e-4)
    assert not again.filler.any()


def test_a_strong_compound_is_as_bonded():
    """Under a load that opens the joint elsewhere; and the joint is found at once."""
    strong = Compound(tension=((20, 1e4),), shear=((20, 1e4),), fills=0, friction=0)
    model = rings(compound=strong)
    one_piece = model.with_fits({("insert", "barrel"): Fit(bonded=True)})
    oval = model.model.edge_load(
        "bore", lambda x, y, nx, ny: -250 * np.cos(2 * np.arctan2(y, x)) * np.stack([nx, ny])
    )
    held = model.solve(oval, model.solve())
    whole = one_piece.solve(oval)
    assert held.contact.force == pytest.approx(whole.contact.force, abs=1e-6 * 250)
    assert held.contact.friction == pytest.approx(whole.contact.friction, abs=1e-6 * 250)
    assert held.iterations == 1


@pytest.fixture(scope="module")
def torn():
    """Rings pulled inwards at two places, where half of the joint breaks; the model, the load."""
    model = rings(compound=Compound(tension=((20, 4.0),), shear=((20, 6.0),), fills=0, friction=MU))
    pull = model.model.edge_load(
        "bore", lambda x, y, nx, ny: 80 * np.cos(np.arctan2(y, x)) ** 40 * np.stack([nx, ny])
    )
    return model, pull, model.solve()


def test_what_is_left_bears_less_than_its_strength(torn):
    model, pull, pressed = torn
    contact = model.solve(pull, pressed).contact
    intact = contact.intact
    assert 0.3 < contact.broken.mean() < 0.7
    area = model.pairs.area[intact]
    pulled = np.maximum(-contact.force[intact], 0) / area
    pressed_by = np.maximum(contact.force[intact], 0) / area
    sheared = np.maximum(np.abs(contact.friction[intact]) / area - MU * pressed_by, 0)
    assert np.hypot(pulled / 4.0, sheared / 6.0).max() < 1.001
    mean = np.abs(contact.force).mean()
    assert contact.force[contact.broken].min() > -1e-3 * mean
    x, y = parted().mesh.points[model.pairs.own].T
    for mirrored in ((-x, y), (x, -y)):
        at = np.argmin(np.hypot(x - mirrored[0][:, None], y - mirrored[1][:, None]), axis=1)
        assert np.mean(contact.broken != contact.broken[at]) < 0.05


def test_many_at_a_time_break_the_same_as_one_by_one(torn, monkeypatch):
    """Pulled more and more, in steps; the worst pair alone breaks in each pass."""
    model, pull, pressed = torn
    passes, find = [], SetsSearch.find

    def counted(self, *given):
        passes.append(1)
        return find(self, *given)

    monkeypatch.setattr(SetsSearch, "find", counted)
    many = model.solve(pull, pressed).contact
    few = len(passes)
    monkeypatch.setattr(
        fea.contact.fitted, "breaking", lambda used, *_: (used > 1) & (used == used.max())
    )
    step = pressed
    for share in (0.25, 0.5, 0.75, 1.0):
        step = model.solve(share * pull, step)
    assert np.mean(step.contact.broken != many.broken) < 0.05
    assert few < many.broken.sum() / 3
