"""A strip on a rigid base, held by friction alone (derived).

Friction t for each mm holds F over s = F / t; the strain falls to zero along it, so the end moves
by F^2 / (2 EA t). Let go, friction turns round over half of that length and keeps half of the way;
each cycle after the first takes up F^3 / (12 EA t), and F^3 / (6 EA t) is taken up at first.
"""

import numpy as np
import pytest

from cases.check.friction import ALLOY, DEPTH, FRICTION, LENGTH, LOAD, WIDTH, strip_on_a_base
from fea.friction import nodal_forces, rub

pytestmark = pytest.mark.verification

EA = ALLOY.youngs_modulus * WIDTH * DEPTH


@pytest.fixture(scope="module")
def strip():
    return strip_on_a_base()


def test_ends_and_slip(strip):
    way = LOAD**2 / (2 * EA * FRICTION)
    assert way == pytest.approx(0.103591, rel=1e-5)
    assert strip.slip_length == pytest.approx(LOAD / FRICTION, rel=1e-2)
    assert [strip.end(step) for step in range(3)] == pytest.approx([way, way / 2, way], rel=1e-3)


def test_displacement_all_along(strip):
    """A parabola from where the slip ends."""
    x = strip.model.mesh.points[:, 0]
    slipped = np.maximum(x - (LENGTH - LOAD / FRICTION), 0)
    exact = FRICTION * slipped**2 / (2 * EA)
    found = strip.steps[0].solution.displacement
    assert np.abs(found[:, 0] - exact).max() < 1e-3 * exact.max()
    assert np.abs(found[:, 1]).max() < 1e-3 * exact.max()


def test_work_that_friction_takes_up(strip):
    first = LOAD**3 / (6 * EA * FRICTION)
    assert strip.steps[0].worn == pytest.approx(first, rel=1e-3)
    assert strip.worn == pytest.approx(first / 2, rel=2e-3)


def test_friction_balances_the_pull_and_stays_within_its_limit(strip):
    limit = nodal_forces(
        strip.model.mesh,
        np.arange(len(strip.model.mesh.triangles)),
        lambda x, _y: np.full(x.shape, FRICTION / WIDTH),
    )
    assert limit.sum() == pytest.approx(FRICTION * LENGTH)
    for step, load in zip(strip.steps, (LOAD, 0, LOAD), strict=True):
        assert step.force.sum(axis=0) == pytest.approx([-load, 0], abs=1e-4 * LOAD)
        assert (np.hypot(*step.force.T) <= limit * (1 + 1e-9)).all()


def test_strip_on_springs(strip):
    """Held by k for each mm outright, the end moves by F / (sqrt(k EA) tanh(l sqrt(k / EA))); and
    springs that bear no more than the friction come to rigid friction as they get stiff."""
    model, k = strip.model, 200.0
    springs = nodal_forces(
        model.mesh, np.arange(len(model.mesh.triangles)), lambda x, _y: np.full(x.shape, k / WIDTH)
    )
    pull = model.edge_load("pulled", lambda _x, _y, nx, ny: LOAD / WIDTH * np.stack([nx, ny]))
    pulled = np.unique(model.mesh.edges["pulled"])

    def end(bearable, springs):
        return rub(model, pull, bearable, springs=springs).solution.displacement[pulled, 0].mean()

    stiff = np.sqrt(k * EA) * np.tanh(LENGTH * np.sqrt(k / EA))
    assert end(np.full(len(springs), np.inf), springs) == pytest.approx(LOAD / stiff, rel=1e-3)
    friction = springs * FRICTION / k
    soft, hard = (end(friction, springs * more) for more in (1, 1e4))
    assert hard == pytest.approx(LOAD**2 / (2 * EA * FRICTION), rel=2e-3)
    assert soft > 1.3 * hard
