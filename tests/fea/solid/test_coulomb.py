"""Sets of pairs at a joint by itself, solved both ways, and Coulomb's law along two tangents."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg.lapack import dpotri

from fea.solid.cones import MOST, SETTLED
from fea.solid.coulomb import (
    QUICK,
    SEARCH,
    CondensedJoint,
    SearchSettings,
    Sets,
    Since,
    Task,
    _from_cones,
    _sets_at,
    _stiff,
    search,
)

K = 12


def joint_of(stiffness, springs=0.0):
    springs = np.broadcast_to(springs, len(stiffness)).astype(float)
    root = np.linalg.cholesky(stiffness + np.diag(springs))
    return CondensedJoint(root, dpotri(root, lower=1)[0], springs)


@pytest.fixture
def numbers():
    return np.random.default_rng(7)


@pytest.fixture(params=[0.0, 0.5])
def joint(numbers, request):
    some = numbers.normal(size=(3 * K, 3 * K))
    return joint_of(some @ some.T + 30 * np.eye(3 * K), springs=request.param)


@pytest.fixture
def task(numbers):
    return Task(
        load=numbers.normal(size=3 * K) * 10,
        overlap=numbers.uniform(0.1, 0.3, size=K),
        held=np.arange(K) == 3,
        start=numbers.normal(size=(2, K)) * 0.01,
        mu=np.where(np.arange(K) < 10, 0.2, 0.0),
        tied=numbers.normal(size=3 * K) * 0.01,
    )


@pytest.fixture
def sets(numbers):
    """Pairs 0 to 2 open, 3 bonded, 4 and 5 stick, 6 to 9 slide, 10 and 11 are without friction."""
    number = np.arange(K)
    slides = (number >= 6) & (number < 10)
    angle = numbers.uniform(0, 2 * np.pi, size=K)
    way = np.where(slides, np.stack([np.cos(angle), np.sin(angle)]), 0.0)
    turn = np.where(slides, numbers.uniform(0.001, 0.01, size=K), 0.0)
    return Sets(number >= 3, (number >= 3) & (number < 6), way, turn)


def test_what_anchors_a_loose_piece_is_no_force_of_its_joint(joint, task, sets):
    """Along the normals it is metal, so that an open pair carries nothing; along the joint not."""
    pairs = np.arange(K) < 9
    springs = np.full(3 * K, 4.0)
    found = joint.anchored(pairs, springs).solve(sets, task)
    metal = joint.stiffness - np.diag(joint.springs)
    metal[np.arange(9), np.arange(9)] += 4.0
    open_ = ~sets.closed & pairs
    assert found.force[open_] == pytest.approx(0, abs=1e-12)
    tied = np.where(np.tile(pairs, 3) & (np.arange(3 * K) >= K), 4.0, joint.springs)
    tied[:9] = 0
    unmet = metal @ found.jumps - task.load
    assert unmet == pytest.approx(found.push)
    free = open_.nonzero()[0] + K
    assert found.push[free] == pytest.approx(-(tied * (found.jumps - task.tied))[free])


def test_sets_lead_to_what_they_say(joint, task, sets):
    found = joint.solve(sets, task)
    normal, slip = found.jumps[:K], found.jumps[K:].reshape(2, K) - task.start
    assert normal[sets.closed] == pytest.approx(-task.overlap[sets.closed])
    assert slip[:, sets.sticks] == pytest.approx(0)
    unmet = (joint.stiffness - np.diag(joint.springs)) @ found.jumps - task.load
    assert unmet == pytest.approx(found.push)
    put = found.push + joint.springs * (found.jumps - task.tied)  # what is not of the springs
    force, friction = -put[:K], -put[K:].reshape(2, K)
    assert force[~sets.closed] == pytest.approx(0)
    assert friction[:, ~sets.closed | (np.arange(K) >= 10)] == pytest.approx(0)
    ahead, rubs = sets.way, sets.rubs
    across = np.stack([-ahead[1], ahead[0]])
    assert (ahead * friction).sum(axis=0)[rubs] == pytest.approx(0.2 * force[rubs])
    aside = sets.turn * (across * friction).sum(axis=0)
    assert (across * slip).sum(axis=0)[rubs] == pytest.approx(aside[rubs])


def test_by_forces_and_by_jumps_are_one(joint, task, sets):
    by_forces, by_jumps = (way(sets, task) for way in (joint._by_forces, joint._by_jumps))
    for one, other in zip(by_forces, by_jumps, strict=True):
        assert one == pytest.approx(other, abs=1e-9)


def one_pair(push, pulls):
    """A pair on springs of 100 N/mm along its normal and 50 along the tangents, at rest closed."""
    joint = joint_of(np.diag([100.0, 50.0, 50.0]))
    none = np.zeros((2, 1))
    yes, no = np.ones(1, dtype=bool), np.zeros(1, dtype=bool)
    task = Task(np.array([push, *pulls]), np.zeros(1), no, none, np.full(1, 0.5), np.zeros(3))
    return search(joint, task, Sets(yes, yes, none, np.zeros(1)), np.zeros(1, dtype=np.int64))


def test_a_pair_sticks_within_its_limit_and_slides_along_the_pull_beyond():
    """Pressed by 10 N with friction 0.5: 4 N are held, 13 N leave 8 on springs of 50 N/mm."""
    held = one_pair(10.0, (2.4, 3.2))
    assert held.settled
    assert held.found.jumps == pytest.approx(0, abs=1e-9)
    assert held.found.friction[:, 0] == pytest.approx([2.4, 3.2])
    slid = one_pair(10.0, (5.0, 12.0))
    assert slid.settled
    assert slid.found.friction[:, 0] == pytest.approx([25 / 13, 60 / 13], rel=1e-4)
    assert slid.found.jumps[1:] == pytest.approx(np.array([5, 12]) / 13 * 8 / 50, rel=1e-3)


def test_a_pair_that_is_pulled_opens():
    opened = one_pair(-3.0, (1.0, 0.0))
    assert not opened.sets.closed.any()
    assert opened.found.jumps == pytest.approx([-0.03, 0.02, 0.0])
    assert opened.found.push == pytest.approx(0, abs=1e-12)


def test_a_piece_that_nothing_holds_is_told():
    """Two pairs along one line, no friction: the piece slides off, and springs keep it."""
    along = np.diag([100.0, 100.0, 0, 0, 50.0, 50.0])
    joint = joint_of(along, springs=1e-5)
    none = np.zeros((2, 2))
    yes = np.ones(2, dtype=bool)
    task = Task(
        np.array([5.0, 5.0, 3.0, 3.0, 0, 0]), np.zeros(2), ~yes, none, np.zeros(2), np.zeros(6)
    )
    ended = search(joint, task, Sets(yes, ~yes, none, np.zeros(2)), np.zeros(2, dtype=np.int64))
    assert ended.settled
    assert ended.loose.all()
    assert ended.found.force == pytest.approx(5)


@pytest.fixture(params=[20, 219])
def hard(request):
    """Pairs that feel one another much, with friction 0.9: sets after sets go round in circles."""
    numbers = np.random.default_rng(request.param)
    some = numbers.normal(size=(3 * K, 3 * K))
    joint = joint_of(1e3 * (some @ some.T + np.eye(3 * K)), springs=0.5)
    task = Task(
        load=numbers.normal(size=3 * K) * 40,
        overlap=numbers.uniform(-0.002, 0.004, size=K),
        held=np.zeros(K, dtype=bool),
        start=numbers.normal(size=(2, K)) * 0.001,
        mu=np.full(K, 0.9),
        tied=np.zeros(3 * K),
    )
    return joint, task


def from_all_closed(joint, task, settings=SEARCH):
    none = np.zeros((2, K))
    first = Sets(np.ones(K, dtype=bool), task.held, none, none[0])
    return search(joint, task, first, np.zeros(K, dtype=np.int64), settings)


def obeys(found, task, off):
    """Signs, limits, and friction along the slip, to ``off`` in mm and a thousandth in force."""
    gap = -found.jumps[:K] - task.overlap
    slip = found.jumps[K:].reshape(2, K) - task.start
    none = 1e-3 * found.force.sum() / K
    assert gap.min() > -1e-6
    assert found.force.min() > -none
    closed = found.force > none
    assert gap[closed] == pytest.approx(0, abs=off)
    limit, size = task.mu * found.force, np.hypot(*found.friction)
    assert (size <= limit + none).all()
    slides = closed & (np.hypot(*slip) > 1e-6)
    assert slides.any()
    assert size[slides] == pytest.approx(limit[slides], abs=none)
    along = (slip * found.friction).sum(axis=0)
    assert along == pytest.approx(np.hypot(*slip) * size, abs=off * size.max())


@pytest.mark.parametrize("hard", [232], indirect=True)
def test_what_sets_after_sets_miss_is_followed_from_a_load_that_is_solved(hard):
    """From that of half the load: what half of a part of the way leads to obeys the laws too."""
    joint, task = hard
    half = replace(task, load=task.load / 2)
    before = from_all_closed(joint, half, QUICK)
    assert before.settled
    since = Since(before.found, half.overlap)
    assert since.to(task, 0.0, joint).load == pytest.approx(half.load)
    assert since.to(task, 1.0, joint).load == pytest.approx(task.load)
    piece = np.zeros(K, dtype=np.int64)
    ended = search(joint, task, before.sets, piece, QUICK, since)
    assert ended.settled
    assert not ended.loose.any()
    assert 100 < ended.systems <= 160  # those of the first attempt, and of the way
    obeys(ended.found, task, 1e-6)
    alone = search(joint, task, before.sets, piece, QUICK)
    assert alone.systems > ended.systems


def test_what_sets_after_sets_miss_is_found_from_inside_the_cones(hard):
    ended = from_all_closed(*hard)
    assert ended.settled
    assert 100 < ended.systems <= 220  # those of the first attempt, and of one or two more
    obeys(ended.found, hard[1], 1e-6)


def test_a_state_on_the_way_to_rest_is_near_enough(hard, monkeypatch):
    """A convex problem costs as much as a hundred sets, and they end where all problems do."""
    states = list(_from_cones(*hard))
    told = []
    monkeypatch.setattr(
        "fea.solid.coulomb._from_cones", lambda *given: (told.append(of) or of for of in states)
    )
    ended = from_all_closed(*hard)
    assert 1 <= len(told) <= len(states) / 2
    obeys(ended.found, hard[1], 1e-6)


def test_where_sets_go_to_and_fro_what_obeys_the_laws_will_do(hard):
    """No sets are sought here: pairs that slide may stand off by friction of a slip's change."""
    stiff, task = hard
    joint = joint_of(stiff.stiffness - np.diag(stiff.springs), springs=1e-4)
    ended = from_all_closed(joint, task, SearchSettings(most=1))
    assert ended.settled
    assert 1 < ended.systems <= 1 + MOST  # one from each state on the way to rest
    slip = np.hypot(*(ended.found.jumps[K:].reshape(2, K) - task.start)).max()
    obeys(ended.found, task, 0.9 * SETTLED * slip)


def test_without_cvxopt_sets_are_sought_as_ever(hard, monkeypatch):
    monkeypatch.setattr("fea.solid.cones.solvers", None)
    assert from_all_closed(*hard).systems > 300


def test_from_inside_the_cones_a_joint_comes_to_rest_near_its_laws(joint, task):
    """Bonded, free of friction, rubbing: its sets are those that lead to themselves."""
    *_, (near, met) = _from_cones(joint, task)
    assert met
    sets = _sets_at(near, task, _stiff(joint))
    first = Sets(np.ones(K, dtype=bool), task.held, np.zeros((2, K)), np.zeros(K))
    ended = search(joint, task, first, np.zeros(K, dtype=np.int64))
    assert ended.settled
    assert not sets.changed(ended.sets)
    assert near.jumps == pytest.approx(ended.found.jumps, abs=0.01 * np.ptp(ended.found.jumps))
