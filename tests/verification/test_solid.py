"""Solids against published values: the error that a spot states, and what finer meshes give.

Values as in cases.check.published; holes by finite elements elsewhere that are good to 1e-4.
"""

import numpy as np
import pytest

from cases.check.solids import IRON, hole_in_thick_plate, tube_pressed_at_its_top, warm_taper
from fea.solid.spots import spot_at
from fea.solid.stress import recover

pytestmark = pytest.mark.verification
HOLES = {0.25: (3.033, 2.948), 0.5: (3.083, 2.855), 1.0: (3.131, 2.708), 2.0: (3.109, 2.590)}
TUBE = {0: 91.385, 5: 82.320, 12: 68.523, 22: 47.437}


def spot(answer, x, y, z):
    node = int(((answer.points - [x, y, z]) ** 2).sum(axis=1).argmin())
    return spot_at(recover(answer.solution)[0], node, 0.0)


def test_stated_error_covers_the_true_one_in_nineteen_of_twenty():
    found = []
    for fineness in (2.0, 1.4):
        tube = tube_pressed_at_its_top(IRON, fineness)
        across = 45 * np.sqrt(0.5)
        found += [(spot(tube, across, across, -depth), hoop) for depth, hoop in TUBE.items()]
        for ratio, (middle, surface) in HOLES.items():
            plate = hole_in_thick_plate(ratio, fineness)
            found.append((spot(plate, 0, 10, -10 * ratio), 50 * middle))
            found.append((spot(plate, 0, 10, 0), 50 * surface))
    covered = [abs(one.principal_mpa - true) <= one.error_mpa for one, true in found]
    assert np.mean(covered) >= 0.95
    assert np.median([one.error_mpa / one.principal_mpa for one, _ in found]) < 0.1


def test_finer_mesh_comes_nearer():
    off = [abs(warm_taper(of).at(1, 0, 0)[2] + 105.6) for of in (3.0, 1.0)]
    assert off[1] < 0.5 * off[0]


def test_top_pressed_alone_cuts_faces_where_the_gas_ends():
    whole = tube_pressed_at_its_top(IRON, 2.0).solution.model
    for reach in (27.3, 28.0, 28.55):
        load = whole.pressure_load("bore", 15.0, reach=reach)
        assert load[:, 0].sum() == pytest.approx(15 * 45 * reach, rel=1e-6)
