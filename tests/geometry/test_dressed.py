"""Edges of relief cuts, dressed where an insert that fills them reaches around."""

from dataclasses import replace

import numpy as np
import pytest
from sections import BANK, LOCAL, SINGLE, section
from slices import Slices

from geometry import Insert, ReliefCut, SectionError
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import part_off
from geometry.planar import inside

FILLED = Insert(depth=10)


def inside_corners(block, insert, **changes):
    """Corners that the insert has once it is cut loose."""
    mesh = mesh_outline(draw_section(section(block, insert, **changes)), element_size=10.0,
                        detail=0.3)  # fmt: skip
    return part_off(mesh, "insert").mesh.corners


@pytest.mark.parametrize("block", [SINGLE, BANK], ids=["single", "bank"])
@pytest.mark.parametrize("insert", [FILLED, LOCAL], ids=["uniform", "local"])
def test_no_inside_corner_is_left_sharp(block, insert):
    assert len(inside_corners(block, replace(insert, inside_radius=0))) >= 8
    assert inside_corners(block, insert) == ()


@pytest.mark.parametrize("radius", [0.6, 1.5])
def test_the_insert_gains_what_the_edges_lose(radius):
    """Against shapely: metal that a ball of the radius can't reach, where walls are thicker."""
    dressed = section(SINGLE, replace(FILLED, inside_radius=radius))
    sharp = section(SINGLE, replace(FILLED, inside_radius=0))
    gained = draw_section(dressed).insert_area - draw_section(sharp).insert_area
    pieces = Slices(dressed, segments=512).dressed
    assert len(pieces) == 16  # four cuts break through both faces
    assert gained == pytest.approx(sum(piece.area for piece, _ in pieces), rel=0.02)
    assert gained > 0.01 * radius**2


def test_a_bare_block_and_one_whose_pockets_stay_clear_keep_their_edges():
    for insert in (None, Insert(depth=10, fills_relief_cuts=False)):
        outlines = [
            draw_section(section(SINGLE, insert and replace(insert, inside_radius=radius)))
            for radius in (0.0, 3.0)
        ]
        areas = [[outline.area(face) for face in outline.faces] for outline in outlines]
        assert areas[0] == areas[1]


def test_two_cuts_that_meet_are_dressed_to_the_depth_of_the_shallower():
    cuts = (
        ReliefCut(clock=1.3, radius=57, diameter=17.5, depth=12),
        ReliefCut(clock=1.7, radius=57, diameter=16, depth=22),
    )
    outline = draw_section(section(SINGLE, FILLED, relief_cuts=cuts))
    assert inside_corners(SINGLE, FILLED, relief_cuts=cuts) == ()
    expected = Slices(section(SINGLE, FILLED, relief_cuts=cuts), segments=512)
    floors = {round(layer.top, 6) for row in outline.regions for layer in row if layer.top}
    assert floors <= {12.0, 22.0}
    assert {depth for _, depth in expected.dressed} == {12, 22}
    for piece, depth in expected.dressed:
        middle = piece.representative_point()
        z = np.array([complex(middle.x, middle.y)])
        (face,) = [face for face in outline.faces if inside(outline.loops(face), z)[0]]
        assert outline.regions[face.region][0].top == depth


def test_a_radius_that_does_not_fit_is_refused():
    """Two cuts leave a short face between them."""
    cuts = tuple(replace(SINGLE.relief_cuts[0], clock=clock) for clock in (1.19, 1.81))

    def with_radius(radius):
        return section(SINGLE, replace(FILLED, inside_radius=radius), relief_cuts=cuts)

    wanted = r"inside_radius = 10 mm doesn't fit at the edge between .*relief cut 1 at .*at most 5"
    with pytest.raises(SectionError, match=wanted) as refused:
        draw_section(with_radius(10))
    assert refused.value.feature == "insert.inside_radius"
    most = float(str(refused.value).split("at most ")[1].split(" mm")[0])
    draw_section(with_radius(most))
    with pytest.raises(SectionError, match="doesn't fit"):
        draw_section(with_radius(1.02 * most))
