"""A joint by itself against the same laws written out as one linear system (derived)."""

import numpy as np
import pytest

from fea.contact.condensed import Condensed, mixed, settle

PAIRS = 5


@pytest.fixture
def joint():
    """Stiffness, and the joint condensed from it with springs as stiff as a tenth of it."""
    parts = np.random.default_rng(7).normal(size=(2 * PAIRS, 2 * PAIRS))
    stiffness = parts @ parts.T + 5 * np.eye(2 * PAIRS)
    springs = np.linspace(0.5, 2.0, 2 * PAIRS)
    flexibility = np.asfortranarray(np.tril(np.linalg.inv(stiffness + np.diag(springs))))
    return stiffness, Condensed.of_lower(stiffness, springs, flexibility)


@pytest.mark.parametrize("friction", [0.0, 0.2])
def test_laws_of_held_and_free_jumps(joint, friction):
    stiffness, condensed = joint
    held = np.isin(np.arange(2 * PAIRS), [0, 1, 3, 5])  # the first of them sticks, 1 and 3 slide
    random = np.random.default_rng(8)
    known, load, tied = random.normal(size=(3, 2 * PAIRS))
    share = np.array([0.0, friction, 0.0, -friction, 0.0])
    jumps, reaction, sliding = condensed.hold(held).solve(
        known, load, tied, share, np.zeros(PAIRS), 1e-12
    )
    assert jumps[held] == pytest.approx(known[held])
    assert reaction == pytest.approx(stiffness @ jumps - load)
    force = np.where(held[:PAIRS], -reaction[:PAIRS], 0.0)
    assert sliding == pytest.approx(share * force, abs=1e-9)
    pulled = np.concatenate([np.zeros(PAIRS), sliding]) - condensed.springs * (jumps - tied)
    assert reaction[~held] == pytest.approx(pulled[~held])


def test_nothing_is_held(joint):
    stiffness, condensed = joint
    none, load = np.zeros(2 * PAIRS), np.arange(2.0 * PAIRS)
    jumps, _, _ = condensed.hold(none > 0).solve(none, load, none, none[:PAIRS], none[:PAIRS], 1e-9)
    assert jumps == pytest.approx(np.linalg.solve(stiffness + np.diag(condensed.springs), load))


def test_stiffer_springs_of_some_jumps_and_another_load(joint):
    """Put in by Woodbury's formula, the same as a joint condensed with them."""
    stiffness, condensed = joint
    stiffer = condensed.springs * np.where(np.arange(2 * PAIRS) % 3 == 0, 1e3, 1.0)
    held = np.arange(2 * PAIRS) == 1
    for of, springs in ((condensed.with_springs(stiffer), stiffer), (condensed, condensed.springs)):
        assert (of.springs == springs).all()
        for load in np.eye(2 * PAIRS)[[0, 7]]:
            whole = stiffness + np.diag(springs)
            assert of.moved(load) == pytest.approx(np.linalg.solve(whole, load))
            none = np.zeros(2 * PAIRS)
            jumps, _, _ = of.hold(held).solve(none, load, none, none[:PAIRS], none[:PAIRS], 1e-9)
            wanted = np.zeros(2 * PAIRS)
            wanted[~held] = np.linalg.solve(whole[np.ix_(~held, ~held)], load[~held])
            assert jumps == pytest.approx(wanted)


def test_mixing_finds_what_stays_as_it_is():
    """Of x = A x + b in three unknowns, found by four steps at most, as by GMRES."""
    matrix = np.array([[0.3, 2.0, 0.0], [0.0, -0.8, 1.0], [0.5, 0.0, 0.1]])
    goal = np.array([1.0, 2.0, 3.0])
    at, tried = goal, []
    for _ in range(4):
        tried.append((at, matrix @ at + goal - at))
        at = mixed(tried)
    assert at == pytest.approx(np.linalg.solve(np.eye(3) - matrix, goal))


def test_friction_that_outgrows_its_forces_is_settled():
    """Twice as much the other way each time: the plain sweep runs away (derived)."""
    matrix, goal = np.array([[-2.0, 0.5], [0.0, 0.3]]), np.array([1.0, 2.0])
    answer, at, to = settle(lambda x: ("made", matrix @ x + goal), np.zeros(2), 1e-9)
    assert answer == "made"
    assert at == pytest.approx(np.linalg.solve(np.eye(2) - matrix, goal))
    assert to == pytest.approx(at)
