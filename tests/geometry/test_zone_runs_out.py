"""A deeper zone that reaches the line between two bores runs out beyond it."""

from dataclasses import replace

import numpy as np
import pytest
from sections import BANK, section
from shapely import contains_xy
from slices import Slices

from geometry import DeeperZone, Insert
from geometry.outline import draw_section
from geometry.planar import inside

ZONE = DeeperZone(clock=1.7, width=50, depth=18, blend=9)
MIDDLE = 97 / 2  # between bores 2 and 3


def depth_at(insert, z):
    """Depth of the insert at points, by the outline's faces."""
    outline = draw_section(section(replace(BANK, relief_cuts=()), insert))
    found = np.zeros(len(z))
    for face in outline.faces:
        here = inside(outline.loops(face), z)
        for layer in outline.regions[face.region]:
            if layer.part == "insert":
                found[here] = layer.thickness(z[here].real, z[here].imag)
    return found


def across_the_line(step):
    """Pairs of points in the jacket either side of the line, as far as a step from it. [mm]."""
    y = np.arange(36.0, 37.8, 0.2)
    return (MIDDLE - step) + 1j * y, (MIDDLE + step) + 1j * y


def test_depth_is_the_same_on_both_sides_of_the_line():
    left, right = across_the_line(1e-3)
    insert = Insert(depth=6, zones=(ZONE,))
    deep = depth_at(insert, left)
    assert deep.min() > 12
    assert depth_at(insert, right) == pytest.approx(deep, abs=0.01)
    stepped = Insert(depth=6, zones=(replace(ZONE, blend=0.0),))
    assert depth_at(stepped, left).min() == 18
    assert depth_at(stepped, right).max() == 6


def test_it_has_run_out_after_the_length_of_its_blend():
    """A quarter of the way it keeps (1 + cos 45 deg) / 2 of what it has on the line."""
    insert = Insert(depth=6, zones=(ZONE,))
    run = (52 + 4.5) * np.radians(9)
    z = MIDDLE + 37.2j
    for share, kept in ((0.0, 1.0), (0.25, 0.5 + np.sqrt(0.5) / 2), (0.5, 0.5), (1.0, 0.0)):
        place = np.array([z + max(share * run, 1e-6)])
        turn = np.degrees(np.angle(place))  # still within the full width about bore 2
        assert 39 - 25 < turn[0] < 39 + 25
        assert depth_at(insert, place) == pytest.approx(6 + 12 * kept, abs=0.02)


@pytest.mark.parametrize("width", [30, 60])
def test_volume_by_slices(width):
    zones = (replace(ZONE, width=width), DeeperZone(clock=9.9, width=20, depth=14, blend=6))
    of = section(replace(BANK, relief_cuts=()), Insert(depth=6, zones=zones, edge_break=0.0))
    slices = Slices(of)
    rng = np.random.default_rng(1)
    z = MIDDLE + rng.uniform(-10, 10, 4000) + 1j * rng.uniform(25, 60, 4000)
    deep = depth_at(of.insert, z)
    z, deep = z[deep > 0], deep[deep > 0]
    for level in (8.0, 11.0, 16.0):
        area = slices.deep_enough(level)
        within = contains_xy(area, z.real, z.imag)
        edge = np.abs(deep - level) < 0.15
        assert (within == (deep > level))[~edge].all()
        assert within.any() == (deep > level).any()
