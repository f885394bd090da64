"""The tail of yielding metal by hand: a triangle of six nodes, cut into four alike (derived)."""

from types import SimpleNamespace

import numpy as np
import pytest

from fea.material import Material
from fea.strength import over_yield

METAL = Material(
    "metal", 70_000.0, 0.33, yield_points=((20.0, 200.0),), tensile_points=((20.0, 400.0),)
)


@pytest.mark.parametrize(("tail", "share"), [(0.0, 0.5), (0.24, 0.5), (0.26, 0.25), (0.99, 0.25)])
def test_corners_have_a_quarter_of_a_triangle(tail, share):
    """Each corner has a third of one of the four, each middle of a side all of the rest: 1/12 and
    3/12. Pulled by 100 MPa at the corners and 50 between, of 200 MPa."""
    points = np.array([[0, 0], [2, 0], [0, 2], [1, 0], [1, 1], [0, 1]], float)
    pull = np.array([100.0, 100, 100, 50, 50, 50])
    layer = SimpleNamespace(
        part="barrel", nodes=np.arange(6), triangles=np.arange(6)[None], elements=np.array([0]),
        stress=np.stack([pull, 0 * pull, 0 * pull]), thickness=np.full(6, 20.0),
    )  # fmt: skip
    mesh = SimpleNamespace(points=points, triangles=np.arange(6)[None])
    found, _, row = over_yield([layer], {"barrel": METAL}, mesh, None, tail, ("barrel",))
    assert found == pytest.approx(share)
    assert (row < 3) == (share == 0.5)
