"""Contact and friction against closed forms: along the joint, and what touches, sticks and slides.

Half-planes, a pin in a plate and a strip on a rigid base; how each is posed stands in
:mod:`cases.check.contacts`. Sources stand with the formulas in :mod:`fea.closed_form.contact`; the
numbers here were worked out elsewhere, mostly from formulas that are from memory.
"""

from functools import cache

import numpy as np
import pytest

from cases.check import contacts, joints
from fea.closed_form import (
    cattaneo_mindlin,
    hertz_line,
    pin_in_hole,
    pressed_pin,
    pulled_strip,
    sliding_stress,
)

pytestmark = pytest.mark.verification

HERTZ = hertz_line(1000.0, 50.0, 70_000.0)
PAIRS = 0.1
"""Distance of the pairs over the half-width of the contact."""


@cache
def pushed(*shares):
    return contacts.pushed(*shares)


def test_hertz_in_numbers():
    assert HERTZ.half_width == pytest.approx(1.34867, rel=1e-5)
    assert HERTZ.peak == pytest.approx(472.035, rel=1e-5)


def test_pressure_of_a_cylinder_on_a_flat():
    """All along the contact, and no wider than that by more than a pair at each end."""
    solved = contacts.hertz()
    x = solved.x / HERTZ.half_width
    exact = HERTZ.peak * np.sqrt(np.maximum(1 - x**2, 0))
    inside = np.abs(x) < 0.8
    assert solved.steps[0].contact.pressure[inside] == pytest.approx(exact[inside], rel=0.01)
    assert np.abs(x[solved.steps[0].contact.closed]).max() == pytest.approx(1, abs=PAIRS)
    assert solved.steps[0].contact.force.sum() == pytest.approx(1000.0, rel=2e-5)


@pytest.mark.parametrize(
    ("shares", "at", "friction"),
    [
        ((0.5,), (0.0, 0.5), (0.292893, 0.366025)),
        ((0.75, 0.0), (0.0, 0.5, 0.9), (0.081139, 0.358719, -0.435890)),
    ],
)
def test_friction_of_a_push_in_numbers(shares, at, friction):
    assert cattaneo_mindlin(at, *shares) == pytest.approx(friction, rel=1e-5)


@pytest.mark.parametrize(("shares", "stuck"), [((0.5,), 0.707107), ((0.75,), 0.5)])
def test_a_push_slides_from_the_edges_inwards(shares, stuck):
    """Cattaneo and Mindlin: what sticks, to a pair, and friction away from the edge of it."""
    solved = pushed(*shares)
    contact = solved.steps[-1].contact
    x = solved.x / HERTZ.half_width
    assert np.abs(x[contact.closed & contact.sticks]).max() == pytest.approx(stuck, abs=PAIRS)
    pairs = solved.model.pairs
    found = -contact.friction * pairs.tangent[:, 0] / pairs.area
    exact = cattaneo_mindlin(x, *shares)
    smooth = (np.abs(x) < 0.9) & (np.abs(np.abs(x) - stuck) > 0.15)
    scale = contacts.FRICTION * HERTZ.peak
    assert found[smooth] / scale == pytest.approx(exact[smooth], abs=0.02)


def test_a_push_let_go_slides_back_at_the_edges():
    """Down to 0.790569 of the half-width; nothing pulls, yet friction is locked in."""
    solved = pushed(0.75, 0.0)
    contact = solved.steps[-1].contact
    slides = contact.closed & ~contact.sticks
    x = np.abs(solved.x) / HERTZ.half_width
    assert x[slides].min() == pytest.approx(0.790569, abs=PAIRS)
    assert contact.friction.sum() == pytest.approx(0, abs=0.02)
    middle = solved.friction_at(0.0) / (contacts.FRICTION * HERTZ.peak)
    assert -middle == pytest.approx(0.081139, rel=0.02)


def test_stress_beside_a_contact_that_slides():
    """A pull behind it of 2 mu p0 at its edge, 0.22918 p0 half a width further."""
    assert sliding_stress([-1.0, 1.0], 0.3) == pytest.approx([0.6, -0.6])
    assert sliding_stress(-1.5, 0.3) == pytest.approx(0.229180, rel=1e-5)
    solved = pushed(0.999)
    for place in (1.5, 2.0):
        behind, before = (
            solved.along(side * place * HERTZ.half_width, "barrel")[0] / HERTZ.peak
            for side in (-1, 1)
        )
        exact = sliding_stress(-place, contacts.FRICTION)
        assert (behind - before) / 2 == pytest.approx(exact, rel=0.03)


@pytest.mark.parametrize(
    ("degrees", "opens", "peak"),
    [
        (10, 82.2206, 3.66156), (30, 7.94354, 1.26029), (45, 2.82312, 0.882111),
        (60, 1.06720, 0.711721), (75, 0.287077, 0.628103),
    ],
)  # fmt: skip
def test_pin_in_a_hole_in_numbers(degrees, opens, peak):
    """E dR/Q and peak pressure R/Q by half-angle of contact (Persson), confirmed by collocation."""
    pin = pin_in_hole(np.radians(degrees), 25.0, 0.05, 70_000.0)
    assert 70_000.0 * 0.05 / pin.load == pytest.approx(opens, rel=1e-5)
    assert pin.peak * 25.0 / pin.load == pytest.approx(peak, rel=1e-5)


def test_pin_in_a_wider_hole_touches_over_its_angle():
    solved = contacts.pin(3279.60, -0.05)
    x, y = solved.model.parted.mesh.points[solved.model.pairs.own].T
    angle = np.degrees(np.abs(np.arctan2(y, x)))
    assert angle[solved.steps[0].contact.closed].max() == pytest.approx(60, abs=2.2)
    for degrees, pressure in ((0, 93.367), (30, 79.215), (45, 58.983)):
        assert solved.pressure_towards(degrees) == pytest.approx(pressure, rel=0.01)


def test_pressed_pin_lifts_off_at_its_load():
    """2199.11 N/mm: just below all touches, beyond a part of the far side is open."""
    fit = {"overlap": 0.02, "radius": 25.0, "youngs_modulus": 70_000.0}
    both = pressed_pin([0.0, np.pi], 1000.0, **fit)
    assert both == pytest.approx([40.7324, 15.2676], rel=1e-5)
    solved = contacts.pin(1000.0, 0.02)
    assert [solved.pressure_towards(at) for at in (0, 180)] == pytest.approx(both, rel=5e-3)
    x, y = solved.model.parted.mesh.points[solved.model.pairs.own].T
    all_round = pressed_pin(np.arctan2(y, x), 1000.0, **fit)
    assert solved.steps[0].contact.pressure == pytest.approx(all_round, rel=0.01)
    assert contacts.pin(0.99 * 2199.11, 0.02).steps[0].contact.closed.all()
    beyond = contacts.pin(1.03 * 2199.11, 0.02)
    opened = ~beyond.steps[0].contact.closed
    x, _ = beyond.model.parted.mesh.points[beyond.model.pairs.own].T
    assert 0 < opened.mean() < 0.3
    assert x[opened].max() < 0
    with pytest.raises(ValueError, match=r"lifts the pin off: it may be 2199.11 N/mm"):
        pressed_pin(0.0, 2200.0, **fit)


def test_a_strip_pulled_to_and_fro_never_shakes_down():
    """It slides by the same again in every cycle, and loses the same work."""
    solved = contacts.strip()
    form = pulled_strip(72_400.0 * 160.0, 15.0, 6000.0)
    assert form.slip_length == 400
    assert (form.end_moves, form.left, form.lost) == pytest.approx(
        (0.103591, 0.0517956, 103.591), rel=1e-5
    )
    assert solved.slip_length(1) == pytest.approx(form.slip_length, rel=0.01)
    assert solved.slip_length(2) == pytest.approx(form.slip_length / 2, abs=6)
    for pulled, let_go in ((1, 2), (3, 4)):
        assert solved.end_moves(pulled) == pytest.approx(form.end_moves, rel=0.01)
        assert solved.end_moves(let_go) == pytest.approx(form.left, rel=0.01)
    assert solved.lost((3, 4)) == pytest.approx(form.lost, rel=0.01)
    contact = solved.steps[1].contact
    places = contact.closed & ~contact.sticks
    along = form.slip_length - (300 - solved.x[places])
    exact = 15.0 * along**2 / (2 * 72_400.0 * 160.0)
    assert np.abs(contact.slip[places]) == pytest.approx(exact, abs=2e-3)


def test_square_edges_press_as_steeply_as_published():
    """Dundurs & Lee 1972 and Williams 1952 (values worked out elsewhere): no friction 0.22599,
    bonded 0.45552, sliding 0.36201 at the edge in front."""
    smooth, bonded, slides = joints.smooth_hub(), joints.bonded_hub(), joints.sliding_hub()
    assert [smooth.slope(side) for side in (1, -1)] == pytest.approx([0.22599] * 2, rel=0.05)
    assert bonded.opening_slope == pytest.approx(0.45552, rel=0.05)
    assert slides.slope(1) == pytest.approx(0.36201, rel=0.05)
    assert not slides.steps[-1].contact.sticks[slides.x > 0].any()


def test_a_lap_of_two_bars_shares_its_pull():
    """Where it sticks the stiffer bar has two thirds (derived); what each bar carries along it."""
    solved = joints.lap()
    contact, x = solved.steps[1].contact, solved.x
    upper = solved.model.parted.mesh.points[solved.model.pairs.own, 1] > 0
    along = -contact.friction * solved.model.pairs.tangent[:, 0]
    order = np.argsort(x[upper])
    carried = 2 * np.cumsum(along[upper][order])  # of the inner bar, from the left
    at = np.interp([-300, 0, 100], x[upper][order], carried)
    assert np.abs(at) == pytest.approx([1500.0, 2000.0, 2000.0], rel=0.03)
    assert solved.lost((3, 4)) == pytest.approx(51.7956, rel=0.01)
    assert solved.lost((1, 2)) > 1.2 * solved.lost((3, 4))


def test_a_block_on_a_spring_shakes_down_below_twice_its_friction():
    """Melan's bound of one node: 2 mu N = 40 N (derived)."""
    quiet, lively = joints.block_on_a_spring(30.0), joints.block_on_a_spring(50.0)
    assert quiet.lost((3, 4)) < 1e-3 * lively.lost((3, 4))
    assert lively.lost((3, 4)) == pytest.approx(0.4, rel=0.01)
    places = [lively.stands_at(step) for step in range(1, 5)]
    assert places == pytest.approx([0.03, 0.02, 0.03, 0.02], rel=0.01)


def test_tension_of_a_cord_falls_as_published():
    """Euler: e^(mu angle) from the end that is pulled, until it has fallen to what held it."""
    solved = joints.cord()
    x, y = solved.model.parted.mesh.points[solved.model.pairs.own].T
    angle = np.arctan2(y, x)
    order = np.argsort(angle)
    tension = joints.PULLED - np.cumsum(np.abs(solved.steps[-1].contact.friction[order]))
    at = np.interp([0.5, 1.0, 1.5], angle[order], tension)
    assert at == pytest.approx([1357.26, 1228.10, 1111.23], rel=3e-3)
    assert tension[angle[order] > 2.1] == pytest.approx(joints.HELD, rel=5e-3)
