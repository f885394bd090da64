"""Edges of an insert as they are cut: how far they stand off the pocket, and which can be cut."""

from dataclasses import replace

import numpy as np
import pytest
from fea_meshes import ring, uniform
from sections import BANK, SINGLE, section
from shapely import LineString, Point, get_parts, unary_union
from slices import Slices

from geometry import Insert, Register, SectionError
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import part_off
from geometry.planar import corner_fillet, polygon
from geometry.rounding import CORNER_EXTRA, Rounding, facing
from geometry.section import EDGE_BREAK

BARE_BANK = replace(BANK, relief_cuts=())


def parted(block, insert, **changes):
    outline = draw_section(section(block, insert, **changes))
    return part_off(mesh_outline(outline, element_size=10.0, detail=0.3), "insert")


def places(of):
    """Nodes of the joint as x + iy, and its gap there."""
    joint = of.joint
    return of.mesh.points[joint.own] @ [1, 1j], joint.gap


@pytest.mark.parametrize("pocket", [0.0, 3.0])
def test_gap_of_a_right_corner(pocket):
    """Derived: R - sqrt(R^2 - s^2) on the faces, (sqrt 2 - 1)(R - r) in the corner's middle."""
    loop = polygon([0, 20, 20 + 12j, 12j])
    radius = 3.5
    fillet = corner_fillet(loop, 0, pocket) if pocket else None
    rounding = Rounding("insert", tuple(facing(loop, 0, fillet, corner_fillet(loop, 0, radius))))
    away = np.array([0.0, 0.1, 0.3, 0.5])
    middle = pocket * (1 - np.sqrt(0.5)) * (1 + 1j)
    for z in (radius - away + 0j, 1j * (radius - away)):
        expected = radius - np.sqrt(radius**2 - away**2)
        assert rounding.corner_gap(z) == pytest.approx(expected, abs=1e-12)
    if pocket:
        expected = (np.sqrt(2) - 1) * (radius - pocket)
        assert rounding.corner_gap(np.array([middle])) == pytest.approx(expected)
    beyond = np.array([3.6, 10, 20, 20 + 3j, 3.6j, 12 + 12j, 1 + 12j])
    assert (rounding.corner_gap(beyond) == 0).all()


@pytest.mark.parametrize("radius", [3.0, 3.4, 4.0])
@pytest.mark.parametrize("pitch", [97, 103])
def test_gap_is_that_of_an_insert_whose_corners_are_rolled_round(radius, pitch):
    """Against shapely: the pocket's sharp plan less what a ball of the corner radius can't reach,
    met along the normal of the joint."""
    insert = Insert(depth=10, corner_radius=radius, edge_break=0.0)
    of = parted(BARE_BANK, insert, pitch=pitch)
    slices = Slices(section(BARE_BANK, insert, pitch=pitch), segments=256)
    sharp = slices.jacket - unary_union([strip for _, strip in slices.strips])
    rolled = unary_union([
        water.buffer(-radius, quad_segs=256).buffer(radius, quad_segs=256)
        for water in get_parts(sharp)
    ])  # fmt: skip
    z, gap = places(of)
    along = z[:, 1] - z[:, 0]
    normal = -1j * along / np.abs(along)  # at the mid-side node, out of the insert
    pocket = slices.open_jacket(0).boundary
    compared, corner = 0, 0.0
    for at, n, stands_off in zip(z[:, 2], normal, gap[:, 2], strict=True):
        here = Point(at.real, at.imag)
        if pocket.distance(here) > 2e-3:  # the mesh has a chord there
            continue
        # the chord's normal is some degrees off where the mesh is coarse
        line = LineString([(w.real, w.imag) for w in (at + 0.02 * n, at - 3 * n)])
        assert stands_off == pytest.approx(line.intersection(rolled).distance(here), abs=5e-3)
        compared, corner = compared + 1, max(corner, stands_off)
    assert compared > 0.9 * len(z)
    assert corner >= 0.4 * (radius - 3)


def test_usual_corner_is_the_fillet_and_a_half():
    z, usual = places(parted(BARE_BANK, Insert(depth=10)))
    same, stated = places(parted(BARE_BANK, Insert(depth=10, corner_radius=3 + CORNER_EXTRA)))
    assert (z == same).all()
    assert usual == pytest.approx(stated)
    assert usual.max() > 0.2


def test_short_faces_get_smaller_corners_or_the_pocket_s_own():
    """Fillets of 4.4 and 4.5 mm leave 0.2 mm and nothing of the tie's sides in a jacket of 9."""
    for fillet, least, most in ((4.4, 0.005, 0.1), (4.5, 0.0, 0.0)):
        ties = tuple(replace(tie, fillet=fillet) for tie in SINGLE.ties)
        _, gap = places(parted(SINGLE, Insert(depth=10, edge_break=0.0), ties=ties,
                               relief_cuts=()))  # fmt: skip
        assert least <= gap.max() <= most


def test_pockets_that_are_filled_touch_up_to_their_edge():
    """On the circle of a cut the insert stands off at sharp edges alone, which are broken."""
    for edge_break, inside, most in ((0.0, 0.0, 0.0), (0.4, 0.0, 0.2), (0.4, 1.5, 0.0)):
        insert = Insert(depth=10, edge_break=edge_break, inside_radius=inside)
        z, gap = places(parted(SINGLE, insert))
        cuts = SINGLE.relief_cuts
        centres = np.array([c.radius * np.exp(1j * np.radians(90 - 30 * c.clock)) for c in cuts])
        on = (np.abs(np.abs(z[..., None] - centres) - 8) < 1e-6).any(axis=-1).all(axis=1)
        assert on.sum() > 20
        assert gap[on].max() == pytest.approx(most)


def test_an_insert_narrower_than_the_jacket_ends_at_a_broken_edge():
    """s^2 / (2 R): half the break where the side ends, 0 from the break on."""
    of = parted(BARE_BANK, Insert(depth=10, width=5, edge_break=0.6), pitch=103)
    z, gap = places(of)
    ends, count = np.unique(of.joint.own[:, :2], return_counts=True)
    at = np.isin(of.joint.own[:, :2], ends[count == 1])
    assert at.sum() > 20
    assert gap[:, :2][at] == pytest.approx(0.3)
    away = np.abs(z[..., None] - z[:, :2][at]).min(axis=-1)
    radius = np.abs(z[..., None] - [-103, 0, 103]).min(axis=-1)
    far = (away > 0.6) & (radius > 55.5)  # of the barrel's corners
    assert far.sum() > 20
    assert (gap[far] == 0).all()


def test_underside_is_broken_where_the_insert_ends_above_the_metal_beside_it():
    for edge_break in (0.0, EDGE_BREAK, 2.0):
        joint = parted(BARE_BANK, Insert(depth=14, edge_break=edge_break)).joint
        assert joint.depth[joint.against == "tie"] == pytest.approx(12.0)
        assert joint.depth[joint.against == "barrel"] == pytest.approx(14 - edge_break)


def test_another_part_keeps_its_edges():
    mesh = mesh_outline(draw_section(section(BARE_BANK, Insert(depth=10))), element_size=10.0,
                        detail=0.3)  # fmt: skip
    assert mesh.rounding.part == "insert"
    liner = part_off(mesh, "liner").joint
    assert (liner.gap == 0).all()
    assert liner.depth == pytest.approx(section(BARE_BANK).depth)
    plain = part_off(ring((40, 50, 60), [uniform("insert", 5), uniform("barrel", 9)], 5), "insert")
    assert (plain.joint.gap == 0).all()


REFUSED = {
    "smaller than the fillet": (
        {"corner_radius": 2.5},
        r"corner_radius = 2\.5 mm is less than the fillet of the pocket, 3 mm between tie . at .* "
        r"near .*Give at least 3 mm",
        "insert.corner_radius",
    ),
    "no plain face": (
        {"corner_radius": 4.6},
        r"corner_radius = 4\.6 mm leaves no plain face of the insert between tie .* most 4\.49 mm",
        "insert.corner_radius",
    ),
    "break deeper than the insert": (
        {"edge_break": 4.0, "depth": 3.0},
        r"edge_break = 4 mm breaks away all of the insert's 3 mm",
        "insert.edge_break",
    ),
    "break out of range": ({"edge_break": 6.0}, r"is outside 0 to 5 mm", "insert.edge_break"),
}  # fmt: skip


@pytest.mark.parametrize(("change", "message", "key"), REFUSED.values(), ids=REFUSED.keys())
def test_refused(change, message, key):
    with pytest.raises(SectionError, match=message) as refused:
        draw_section(section(SINGLE, Insert(**{"depth": 10, **change})))
    assert refused.value.feature == key


def test_the_largest_corner_that_is_named_is_allowed():
    draw_section(section(SINGLE, Insert(depth=10, corner_radius=4.49)))
    ties = tuple(replace(tie, fillet=4.5) for tie in SINGLE.ties)
    tight = section(SINGLE, Insert(depth=10, corner_radius=4.6), ties=ties, relief_cuts=())
    with pytest.raises(SectionError, match=r"The largest is 4\.\d+ mm, less than the pocket's"):
        draw_section(tight)


def test_a_ring_has_no_corners_at_the_ties_that_it_stands_over():
    """Of one bore; pieces between four ties have four each, of two faces."""
    whole = {"relief_cuts": ()}
    pieces = draw_section(section(insert=Insert(depth=5), **whole)).rounding.corners
    ring = draw_section(section(insert=Insert(depth=5, form="ring"), **whole)).rounding.corners
    assert len({arc for _, arc in pieces}) == 16
    assert ring == ()


def test_the_corners_of_an_insert_follow_those_of_the_pocket_that_is_machined_for_it():
    """The cutter's 4 mm and 0.5 mm more, though the ties are cast with 3 mm."""
    held = Insert(depth=6, register=Register(depth=6, barrel=1, outer_wall=1, corner_radius=4))
    corners = draw_section(section(insert=held, relief_cuts=())).rounding.corners
    assert len({arc for _, arc in corners}) == 16
    assert {round(arc.radius, 9) for _, arc in corners} == {4.5}
