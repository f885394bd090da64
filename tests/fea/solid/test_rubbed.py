"""Friction of known pressure on a solid's face, on springs whose answer is known by hand."""

import numpy as np
import pytest

import fea.solid.rubbed as module
from fea.solid.rubbed import RubbingError, rubbed

K = 4e4  # of each node's spring [N/mm]


def springs(load):
    """Displacement of nodes that each stand on a spring of their own."""
    return lambda friction: (load + friction) / K


def load_of(*forces):
    return np.column_stack([forces, np.zeros(len(forces)), np.full(len(forces), 7.0)])


def test_a_node_slides_where_its_load_is_more_than_it_can_bear():
    """u = (F - T) / k against the way it goes, by hand; of a small load all is borne."""
    load, bearable = load_of(500.0, -900.0, 3.0, 0.0, 800.0), np.array([200.0, 200, 200, 200, 0])
    found = rubbed(springs(load), bearable, np.zeros((5, 3)), 1e-5)
    moved = springs(load)(found.force)[:, 0]
    assert moved[[0, 1, 4]] == pytest.approx([300 / K, -700 / K, 800 / K], rel=0.01)
    assert found.force[2, 0] == pytest.approx(-3.0, rel=0.05)
    assert (found.force[:, 2] == 0).all()
    assert found.used == pytest.approx(403 / 800, abs=0.01)


def test_the_way_counts_from_where_it_was_pressed_on():
    load = load_of(500.0, 500.0)
    start = np.zeros((2, 3))
    start[1, 0] = 1200 / K  # beyond where it goes: rubbed the other way
    found = rubbed(springs(load), np.full(2, 100.0), start, 1e-5)
    assert found.force[:, 0] == pytest.approx([-100.0, 100.0], rel=0.01)


def test_friction_turns_with_the_way_of_its_node():
    load = np.array([[300.0, 400.0, 0.0]])
    found = rubbed(springs(load), np.array([250.0]), np.zeros((1, 3)), 1e-5)
    assert found.force[0, :2] == pytest.approx([-150.0, -200.0], rel=0.01)


def test_nothing_that_rubs_is_asked_once_or_not_at_all():
    found = rubbed(None, np.zeros(3), np.zeros((3, 3)), 1e-3)
    assert found.turns == 0
    assert not found.force.any()


def test_no_balance_is_told(monkeypatch):
    monkeypatch.setattr(module, "MOST_TURNS", 1)
    with pytest.raises(RubbingError, match="in 1 turns"):
        rubbed(springs(load_of(500.0)), np.array([100.0]), np.zeros((1, 3)), 1e-5)
