"""Friction on the face of a section: what a pressure comes to, and what can't be held."""

from dataclasses import replace

import numpy as np
import pytest

from cases.check.heat import meshed
from fea.bore import bore_growth
from fea.friction import nodal_forces, rub
from fea.material import Material
from fea.model import SectionModel
from geometry import Block, DeckSection
from geometry.outline import draw_section

RING = DeckSection(block=Block(bore=80, barrel_wall=10), depth=20)
LOAD = 200.0  # 10 MPa over 20 mm [N/mm]


@pytest.fixture(scope="module")
def ring():
    return SectionModel(meshed(draw_section(RING), 1.0), {"barrel": Material("alloy", 7e4, 0.33)})


@pytest.fixture(scope="module")
def gas(ring):
    return ring.edge_load("bore", lambda _x, _y, nx, ny: -LOAD * np.stack([nx, ny]))


def everywhere(model, pressure):
    return nodal_forces(model.mesh, np.arange(len(model.mesh.triangles)), pressure)


def test_a_pressure_and_its_moments_come_to_the_nodes(ring):
    """On a ring of radii a and b: 1 MPa is its area, r2 is pi (b4 - a4) / 2; no share is less
    than zero."""
    a, b = 40, 50
    even = everywhere(ring, lambda x, _y: np.ones(x.shape))
    assert (even > 0).all()
    assert even.sum() == pytest.approx(np.pi * (b**2 - a**2), rel=1e-4)
    grown = everywhere(ring, lambda x, y: x**2 + y**2)
    assert grown.sum() == pytest.approx(np.pi * (b**4 - a**4) / 2, rel=2e-3)
    x, _ = ring.mesh.points.T
    tilted = everywhere(ring, lambda x, _y: 50 + x)
    assert tilted @ x == pytest.approx(np.pi * (b**4 - a**4) / 4, rel=5e-3)


def test_a_ring_within_a_ring_gets_its_own_load(ring):
    """A pressure that ends between nodes: the area of 43 to 46 mm."""
    band = everywhere(ring, lambda x, y: (np.abs(np.hypot(x, y) - 44.5) < 1.5).astype(float))
    assert band.sum() == pytest.approx(np.pi * (46**2 - 43**2), rel=2e-2)


def growth(solution):
    return bore_growth(solution).mean_growth_um


def test_little_friction_lets_all_go_and_much_holds_all(ring, gas):
    """Between the two the ring grows the less the more friction there is."""
    free = growth(ring.solve(LOAD))
    even = everywhere(ring, lambda x, _y: np.ones(x.shape))
    found = [growth(rub(ring, gas, mu * even).solution) for mu in (1e-5, 2, 5)]
    assert found[0] == pytest.approx(free, rel=1e-4)
    assert found[0] > 1.1 * found[1] > 1.2 * found[2] > 0
    held = rub(ring, gas, np.full(len(even), np.inf))
    assert growth(held.solution) < 1e-4 * free


def test_a_ring_that_slips_all_over(ring, gas):
    """Even friction tau is a body force towards the axis (derived): u = A r + B / r + c r2 with
    c = (1 - nu2) tau / (3 E t), pushed at a with q / t and free at b."""
    tau, a, b, t, modulus, nu = 1.0, 40, 50, 20, 7e4, 0.33
    rubbed = rub(ring, gas, everywhere(ring, lambda x, _y: np.full(x.shape, tau)))
    assert rubbed.slips.all()
    c, plate = (1 - nu**2) * tau / (3 * modulus * t), modulus / (1 - nu**2)
    rows = [[(1 + nu) * plate, -(1 - nu) * plate / r**2] for r in (a, b)]
    right = [-LOAD / t - plate * (2 + nu) * c * a, -plate * (2 + nu) * c * b]
    first, second = np.linalg.solve(rows, right)
    exact = first * a + second / a + c * a**2
    assert growth(rubbed.solution) == pytest.approx(1000 * exact, rel=1e-3)
    assert growth(ring.solve(LOAD)) > 1.05 * growth(rubbed.solution)


def test_a_body_that_nothing_rubs_on_is_refused(ring, gas):
    with pytest.raises(ValueError, match="nothing rubs on one of the bodies"):
        rub(ring, gas, np.zeros(len(gas)))


def test_a_balance_that_is_not_found_is_told(ring, gas, monkeypatch):
    from fea import friction

    monkeypatch.setattr(friction, "MOST_SYSTEMS", 1)
    even = everywhere(ring, lambda x, _y: np.full(x.shape, 3.0))
    with pytest.raises(friction.FrictionError, match="no balance of friction and load in 1 "):
        rub(ring, gas, even)


def test_friction_takes_the_place_of_the_holds(ring, gas):
    """The answer doesn't depend on where the section is held against rigid motion."""
    even = everywhere(ring, lambda x, _y: np.full(x.shape, 3.0))
    there = rub(ring, gas, even).solution.displacement
    turned = replace(ring.mesh, points=ring.mesh.points @ [[0, 1], [-1, 0]])
    other = SectionModel(turned, ring.materials)
    again = rub(other, gas @ [[0, 1], [-1, 0]], even).solution.displacement
    assert np.abs(again - there @ [[0, 1], [-1, 0]]).max() < 1e-4 * np.abs(there).max()
