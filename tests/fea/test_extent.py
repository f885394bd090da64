"""How far a joint touches: contact ends where pressure does, between two pairs."""

from types import SimpleNamespace

import numpy as np
import pytest

from fea.contact import held_ends, kinks, last_pairs, last_sides, touching_shares


def row(pressure, step=1.0):
    """Pairs in a row, with their sides, places and contact; open where there is no pressure."""
    count = len(pressure)
    pairs = SimpleNamespace(
        own=np.arange(count), sides=np.column_stack([np.arange(count - 1), np.arange(1, count)])
    )
    points = np.column_stack([step * np.arange(count), np.zeros(count)])
    pressure = np.array(pressure, dtype=float)
    return pairs, points, SimpleNamespace(closed=pressure > 0, pressure=pressure)


@pytest.mark.parametrize("end", [0.1, 0.3, 0.5, 0.8, 0.99])
def test_the_end_of_a_contact_on_smooth_metal_is_found_between_pairs(end):
    """Hertz: pressure is the root of the distance from the end (Johnson 1985, from memory)."""
    places = np.arange(9.0)
    pairs, points, contact = row(np.sqrt(np.maximum(places - (3 - end), 0.0)))
    touching = touching_shares(pairs, points, contact)
    half_at_end = np.array([0.5, *[1.0] * 7, 0.5])
    assert touching @ half_at_end == pytest.approx(5 + end)


def test_all_open_and_all_closed_are_none_and_all():
    for pressure, share in (([0, 0, 0], 0), ([1, 2, 1], 1)):
        assert touching_shares(*row(pressure)).tolist() == [share] * 3


def test_a_pair_alone_touches_halfway_to_its_neighbours():
    assert touching_shares(*row([0, 0, 2, 0, 0])).tolist() == [0, 0, 1, 0, 0]


def test_contact_ends_in_sides_with_one_pair_open():
    pairs, _, contact = row([0, 0, 1, 2, 0])
    assert last_sides(pairs, contact).tolist() == [1, 3]


def test_last_pairs_touch_where_contact_ends_and_not_where_the_joint_does():
    pairs, _, contact = row([0, 0, 1, 2, 0, 3, 1])
    alone, _, touching = row([0, 2, 0, 1, 1, 0])
    after, before = last_pairs(pairs, contact)
    assert np.flatnonzero(after).tolist() == [2, 5]
    assert np.flatnonzero(before).tolist() == [3]
    assert [np.flatnonzero(some).tolist() for some in last_pairs(alone, touching)] == [[3], [4]]


def curved(*radii, along=0.2):
    """Pairs in a row along arcs of some radii that join smoothly, a side an arc."""
    places, turned = [0j], 0.0
    middles = []
    for radius in radii:
        swept = along / radius
        for share in (0.5, 1.0):
            turn = turned + swept * share / 2
            chord = 2 * radius * np.sin(swept * share / 2)
            (middles if share < 1 else places).append(places[-1] + chord * np.exp(1j * turn))
        turned += swept
    count, z = len(places), np.array([*places, *middles])
    sides = np.column_stack([np.arange(count - 1), np.arange(1, count)])
    middle = np.arange(count, count + len(middles))
    pairs = SimpleNamespace(own=np.arange(count), sides=sides, middle=np.stack([middle] * 2, 1))
    return pairs, np.column_stack([z.real, z.imag])


def test_a_joint_has_kinks_where_its_curvature_jumps_and_it_slides():
    """A face of 50 mm, a dressed edge of 1.5 mm that bends the other way, a cut of 10 mm."""
    pairs, points = curved(50, 50, -1.5, -1.5, 10, 10)
    slides = np.ones(len(pairs.own), dtype=bool)
    np.testing.assert_array_equal(kinks(pairs, points, 0.05, slides), points[[2, 4]])
    assert kinks(pairs, points, 0.69, slides).tolist() == points[[4]].tolist()  # 1/1.5 + 1/50
    slides[4] = False
    np.testing.assert_array_equal(kinks(pairs, points, 0.05, slides), points[[2]])


def test_a_bond_ends_at_the_last_pair_that_is_held():
    pairs, points, _ = row([0] * 6)
    held = np.array([True, True, False, False, True, True])
    assert held_ends(pairs, points, held)[:, 0].tolist() == [1, 4]
    assert not len(held_ends(pairs, points, np.ones(6, dtype=bool)))
