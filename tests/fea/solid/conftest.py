"""What tests of solids share."""

import pytest
from solid_meshes import LEVELS, draw_up, grid, moved


@pytest.fixture(scope="module")
def box():
    """30 by 20 by 25 mm of uneven layers."""
    return moved(draw_up(*grid(3, 4), LEVELS), lambda p: p * [30.0, 20.0, 25.0])
