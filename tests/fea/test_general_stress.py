"""Criteria of six components: those of plane stress where it is one, whichever way it lies."""

import numpy as np
import pytest

from fea.strength import (
    CRITERIA,
    GENERAL_CRITERIA,
    general_largest_principal,
    general_signed_von_mises,
)


def plane(stress):
    """Plane stress (3, n) with all components (6, n)."""
    xx, yy, xy = stress
    none = np.zeros_like(xx)
    return np.stack([xx, yy, none, xy, none, none])


def turned(stress, rotation):
    """The same states seen along other axes."""
    xx, yy, zz, xy, yz, zx = stress
    tensor = np.array([[xx, xy, zx], [xy, yy, yz], [zx, yz, zz]])
    tensor = np.einsum("ia,abn,jb->ijn", rotation, tensor, rotation)
    return np.stack([tensor[0, 0], tensor[1, 1], tensor[2, 2], tensor[0, 1], tensor[1, 2],
                     tensor[2, 0]])  # fmt: skip


@pytest.fixture(scope="module")
def cycles():
    """Plane stress at both ends of 400 cycles: pulled, pushed, sheared."""
    return np.random.default_rng(5).normal(0, 80, (2, 3, 400))


@pytest.fixture(scope="module")
def rotation():
    turn, _ = np.linalg.qr(np.random.default_rng(6).normal(size=(3, 3)))
    return turn


@pytest.mark.parametrize("name", list(CRITERIA))
def test_plane_stress_is_judged_as_such_whichever_way_it_lies(cycles, rotation, name):
    wanted = CRITERIA[name](*cycles)
    whole = [plane(end) for end in cycles]
    flat = GENERAL_CRITERIA[name](*whole)
    leaning = GENERAL_CRITERIA[name](*(turned(end, rotation) for end in whole))
    for one, two, three in zip(wanted, flat, leaning, strict=True):
        np.testing.assert_allclose(two, one, atol=1e-9)
        np.testing.assert_allclose(three, one, atol=1e-9)


def test_the_plane_of_the_largest_tension_is_that_of_a_library(rotation):
    """Against eigenvectors, also where two principal stresses are all but one, or one is none."""
    random = np.random.default_rng(8)
    size = 10.0 ** random.uniform(-13, 0, 300)
    values = random.normal(0, 80, (3, 300))
    values[1, :150] = values[0, :150] * (1 + size[:150])
    values[2, 150:] = 80 * size[150:]
    none = np.zeros(300)
    ways = np.linalg.qr(random.normal(size=(3, 3)))[0]
    gas = turned(np.stack([*values, none, none, none]), ways)
    idle = turned(gas, rotation) / 2
    tensors = [np.array([[xx, xy, zx], [xy, yy, yz], [zx, yz, zz]])
               for xx, yy, zz, xy, yz, zx in (gas, idle)]  # fmt: skip
    for (amplitude, mean), across in zip(
        zip(*general_largest_principal(idle, gas), strict=True), tensors, strict=True
    ):
        found, vectors = np.linalg.eigh(np.moveaxis(across, -1, 0))
        pulls = found[:, 2] > 1e-9 * np.abs(found).max(axis=1)
        normal = np.where(pulls[:, None], vectors[:, :, 2], vectors[:, :, 1])
        ends = [np.einsum("ni,ijn,nj->n", normal, of, normal) for of in tensors]
        np.testing.assert_allclose(amplitude, np.abs(ends[0] - ends[1]) / 2, atol=1e-7)
        np.testing.assert_allclose(mean, (ends[0] + ends[1]) / 2, atol=1e-7)


def test_a_uniform_pressure_is_no_tension():
    pushed = np.array([-40.0, -40.0, -40.0, 0.0, 0.0, 0.0])
    amplitude, mean = general_largest_principal(np.zeros(6), pushed)
    np.testing.assert_allclose(mean, [-20, -20])
    np.testing.assert_allclose(amplitude, [20, 20])


def test_the_sign_counts_all_three_normal_stresses():
    """A stress along z alone: plane stress in x and y would call a push there tension."""
    amplitude, mean = general_signed_von_mises(np.zeros(6), np.array([10.0, 0, -90, 0, 0, 0]))
    assert mean[0] < 0
    assert amplitude[0] == pytest.approx(-mean[0])
