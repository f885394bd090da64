"""Of several loads the worst at each node."""

import numpy as np
import pytest
from solid_meshes import draw_up, grid, named

from fea.material import Material
from fea.solid import SolidModel
from fea.solid.envelope import worst_of
from fea.solid.stress import extremes, recover


@pytest.fixture(scope="module")
def solutions():
    """A beam bent up, bent down, and pulled."""
    mesh = named(
        draw_up(*grid(4, 1), (-1.0, -0.5, 0.0)),
        {"held": lambda x, y, z: x < 1e-6, "end": lambda x, y, z: x > 1 - 1e-6},
    )
    model = SolidModel(mesh, {"block": Material("m", 1000.0, 0.3)}, {"held": "xyz"})
    loads = [
        model.face_load("end", lambda place, normal, force=force: 0 * normal + force)
        for force in (
            np.array([0, 0, 1.0])[:, None, None], np.array([0, 0, -1.0])[:, None, None],
            np.array([0.6, 0, 0])[:, None, None],
        )
    ]  # fmt: skip
    return model.solve_many(loads)


def test_each_node_has_the_largest_of_all_and_the_stress_of_that_load(solutions):
    (worst,) = worst_of(solutions)
    each = np.stack([extremes(recover(one)[0].stress)[0] for one in solutions])
    np.testing.assert_array_equal(worst.principal, each.max(axis=0))
    np.testing.assert_array_equal(worst.load, each.argmax(axis=0))
    np.testing.assert_allclose(extremes(worst.stress)[0], worst.principal)
    assert set(worst.load) == {0, 1, 2}


def test_raw_stress_is_that_of_the_load_of_each_node(solutions):
    (worst,) = worst_of(solutions)
    elements = np.array([3, 0])
    raw = worst.raw_of(elements)
    for row, element in enumerate(elements):
        for place, node in enumerate(worst.prisms[element]):
            own = recover(solutions[worst.load[node]])[0].raw_of(np.array([element]))
            np.testing.assert_allclose(raw[:, row, place], own[:, 0, place])
