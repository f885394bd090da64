"""Lines and arcs: exact areas, cuts, faces and fillets."""

import cmath
import math

import numpy as np
import pytest

from geometry import planar
from geometry.planar import Curve


def test_circle_area_is_exact():
    assert planar.signed_area(planar.circle(3 + 4j, 5.0)) == pytest.approx(25 * math.pi, rel=1e-14)


@pytest.mark.parametrize("sweep", [-5.0, -1.0, 0.3, 3.0, 6.0])
def test_share_finds_a_point_again(sweep):
    curve = Curve(1 + 2j, 4 - 1j, math.tan(sweep / 4))
    for at in (0.0, 0.2, 0.5, 0.99, 1.0):
        assert curve.share(curve.point(at)) == pytest.approx(at, abs=1e-12)


def test_two_circles_cut_into_three_faces():
    pieces = planar.cut([*planar.circle(0, 5.0, "a"), *planar.circle(6, 5.0, "b")])
    walks = planar.cycles(pieces)
    areas = sorted(planar.signed_area([planar.run(pieces, h) for h in walk]) for walk in walks)
    lens = 2 * 25 * math.acos(0.6) - 6 * 4  # circles of radius 5 at 6: half chord 4
    disc = 25 * math.pi
    assert areas == pytest.approx([-(2 * disc - lens), lens, disc - lens, disc - lens], rel=1e-12)


def test_a_shared_stretch_is_kept_once_under_the_first_tag():
    pieces = planar.cut([planar.line(0, 10, "first"), planar.line(4, 14, "second")])
    assert [(p.start, p.end, p.tag) for p in pieces] == [
        (0, 4, "first"),
        (4, 10, "first"),
        (10, 14, "second"),
    ]


def test_touching_circles_meet_in_one_point():
    pieces = planar.cut([*planar.circle(0, 5.0), *planar.circle(8, 3.0)])
    assert sum(5 in (p.start, p.end) for p in pieces) == 4


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("turn", [0.0, 0.4, math.pi / 2, math.pi, -2.0])
def test_walks_part_where_curves_leave_in_one_direction(turn, mirrored):
    """A disc stands on a rectangle: where they touch, two curves leave either way."""
    way = cmath.exp(1j * turn)
    box = planar.polygon([(z + 1 - 2j) * way for z in (-10 - 5j, 10 - 5j, 10, -10)])
    disc = planar.circle((1 + 1j) * way, 3.0)
    disc = [c for arc in disc for c in (arc.part(0, 0.5), arc.part(0.5, 1))]
    pieces = planar.cut([*box, *disc])
    if mirrored:
        pieces = [Curve(c.start.conjugate(), c.end.conjugate(), -c.bulge) for c in pieces]
    areas = sorted(planar.walk_areas(pieces, planar.cycles(pieces)))
    round_ = 9 * math.pi
    assert areas == pytest.approx([-(100 + round_), round_, 100], rel=1e-9)


@pytest.mark.parametrize("bends", [(0.3, 0.1), (0.1, 0.3)])
def test_directions_on_either_side_of_half_a_turn_are_one(bends):
    angle = np.array([math.pi - 1e-9, 0.5, 1.0, 1e-9 - math.pi])
    ring = planar._turn_order(np.zeros(4, dtype=int), angle, np.array([bends[0], 0, 0, bends[1]]))
    expected = [1, 2, 3, 0] if bends[1] < bends[0] else [1, 2, 0, 3]
    assert ring.tolist() == expected


@pytest.mark.parametrize("radius", [0.5, 2.0, 4.0])
def test_fillet_in_a_square_corner(radius):
    loop = planar.polygon([0, 20, 20 + 10j, 10j])
    fillets = [planar.corner_fillet(loop, k, radius) for k in range(4)]
    rounded = planar.rounded(loop, fillets)
    expected = 200 - (4 - math.pi) * radius**2
    assert planar.signed_area(rounded) == pytest.approx(expected, rel=1e-13)
    turns = [planar.turn_at(rounded, k) for k in range(len(rounded))]
    assert np.abs(turns).max() < 1e-9


def test_fillet_that_does_not_fit():
    loop = planar.polygon([0, 20, 20 + 10j, 10j])
    assert planar.corner_fillet(loop, 1, 10.5) is None
    pair = [planar.corner_fillet(loop, k, 6.0) for k in (1, 2)]
    assert planar.room_between(loop, *pair) == pytest.approx(-2.0)


def test_fillet_between_a_line_and_an_arc_is_tangent_to_both():
    chord = math.sqrt(400 - 25)
    loop = [*planar.arc(0, 20, math.asin(-0.25), math.asin(0.25)), planar.line(0, 0)][:-1]
    loop += planar.polygon([chord + 5j, 5j, -5j, chord - 5j])[:3]
    fillet = planar.corner_fillet(loop, 0, 2.0)
    assert abs(fillet.arc.centre) == pytest.approx(18.0, abs=1e-12)
    assert fillet.arc.centre.imag == pytest.approx(-3.0, abs=1e-12)


def test_inside_agrees_with_the_definition():
    rng = np.random.default_rng(1)
    z = rng.uniform(-8, 8, 4000) + 1j * rng.uniform(-8, 8, 4000)
    ring = [planar.circle(0, 6.0, pieces=3), planar.circle(1, 2.0)]
    assert (planar.inside(ring, z) == ((np.abs(z) < 6) & (np.abs(z - 1) > 2))).all()
    most = [Curve(6, -6j, math.tan(3 * math.pi / 8)), planar.line(-6j, 6)]
    assert (planar.inside([most], z) == ((np.abs(z) < 6) & (z.real - z.imag < 6))).all()


def test_biarcs_follow_an_ellipse():
    angle = np.linspace(0, 2 * np.pi, 73)
    points = 3 * np.cos(angle) + 2j * np.sin(angle)
    tangents = -3 * np.sin(angle) + 2j * np.cos(angle)
    points[-1], tangents[-1] = points[0], tangents[0]
    curves = planar.smooth_curve(points, tangents / np.abs(tangents))
    assert planar.signed_area(curves) == pytest.approx(6 * math.pi, rel=2e-6)
    turns = [planar.turn_at(curves, k) for k in range(len(curves))]
    assert np.abs(turns).max() < 1e-9
