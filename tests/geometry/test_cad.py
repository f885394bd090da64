"""Solids as STEP files: they read back with the volume of their area times their depth."""

from dataclasses import replace

import pytest

from cases.cli import DEMO
from cases.read import read_case
from geometry.cad import step_volumes, write_solids
from geometry.cut_pieces import as_cast, cut_pieces, piece_volumes, pocket_loops
from geometry.planar import signed_area
from geometry.section import Register


@pytest.fixture(scope="module")
def section():
    """The insert of the bundled block, with zones that pass half the pitch."""
    case = read_case(DEMO)
    design = next(of for of in case.designs if of.name == "local")
    return replace(case.section(design), drawn_over=design.insert.depth)


def written(section, folder):
    pieces = cut_pieces(section)
    solids = write_solids(section, pieces, folder / "insert.step", folder / "pocket.step")
    return pieces, solids, *(step_volumes(folder / f"{of}.step") for of in ("insert", "pocket"))


@pytest.mark.parametrize("bores", [2, pytest.param(4, marks=pytest.mark.slow)])
def test_pieces_with_blended_zones_read_back_with_their_volume(section, tmp_path, bores):
    if bores == 2:
        block = replace(section.block, bores=2, firing_bore=1)
        insert = replace(section.insert, slots=(), zones=section.insert.zones[:1])
        section = replace(section, block=block, insert=insert)
    pieces, solids, read, pocket = written(section, tmp_path)
    assert len(read) == len(pieces) == 4 * bores
    known = piece_volumes(section, pieces, 0.1)
    assert solids.volumes == pytest.approx(known, rel=1e-3)
    assert sorted(read) == pytest.approx(sorted(known), rel=1e-3)
    area = sum(signed_area(loop) for group in pocket_loops(section) for loop in group)
    assert sum(pocket) == pytest.approx(area * 16.0, rel=1e-6)


def test_volumes_of_pieces_with_zones_and_slots_are_summed_closely_enough(section):
    """To well within what a file may be off by: about the last bore, beside far more places."""
    pieces = [of for of in cut_pieces(section) if of.bore == 4]
    found, close = piece_volumes(section, pieces), piece_volumes(section, pieces, 0.05)
    assert found == pytest.approx(close, rel=4e-4)


@pytest.fixture(scope="module")
def single(section):
    """The same about a bore alone, without slots."""
    block = replace(section.block, bores=1, pitch=None, firing_bore=1)
    insert = replace(section.insert, slots=(), zones=section.insert.zones[:1])
    return replace(section, block=block, insert=insert)


@pytest.mark.parametrize("form", ["pieces", "ring"])
def test_plain_pieces_and_a_register_have_area_times_depth(single, tmp_path, form):
    register = Register(depth=4.0, ledge=1.0)
    plain = replace(single, insert=replace(single.insert, zones=(), form=form, register=register))
    pieces, _, read, pocket = written(plain, tmp_path)
    assert sorted(read) == pytest.approx(sorted(of.area * 4.0 for of in pieces), rel=1e-6)
    # under the register's floor the jacket as cast, to the underside of the ties
    area, cast = (
        sum(signed_area(loop) for group in groups for loop in group)
        for groups in (pocket_loops(plain), pocket_loops(as_cast(plain, 12.0)))
    )
    assert area > 1.1 * cast
    assert sum(pocket) == pytest.approx(area * 4.0 + cast * 8.0, rel=1e-6)


def test_a_pocket_ends_on_the_floor_of_a_relief_cut(single, tmp_path):
    # of 22 and 25 mm; at 8 mm it leaves half of the pocket's 16 mm where it is cut into the walls
    reliefs = tuple(replace(of, depth=8.0) for of in single.block.relief_cuts)
    shallow = replace(single, block=replace(single.block, relief_cuts=reliefs))
    _, _, _, pocket = written(shallow, tmp_path)
    without = replace(shallow, block=replace(shallow.block, relief_cuts=()))
    whole, jacket = (
        sum(signed_area(loop) for group in pocket_loops(of) for loop in group)
        for of in (shallow, without)
    )
    assert whole > 1.02 * jacket
    assert sum(pocket) == pytest.approx(16.0 * jacket + 8.0 * (whole - jacket), rel=1e-4)


def test_a_zone_without_a_blend_steps(single, tmp_path):
    zones = tuple(replace(zone, blend=0.0) for zone in single.insert.zones)
    stepped = replace(single, insert=replace(single.insert, zones=zones))
    pieces, _, read, _ = written(stepped, tmp_path)
    known = piece_volumes(stepped, pieces, 0.1)
    assert sorted(read) == pytest.approx(sorted(known), rel=2e-3)


@pytest.mark.parametrize("clock", [2.5, 8.5])
def test_a_blend_across_the_joint_of_two_arcs_is_whole(single, tmp_path, clock):
    zone = replace(single.insert.zones[0], clock=clock, width=20.0, depth=14.0)
    crossing = replace(single, insert=replace(single.insert, zones=(zone,)))
    pieces, _, read, _ = written(crossing, tmp_path)
    assert sorted(read) == pytest.approx(sorted(piece_volumes(crossing, pieces, 0.1)), rel=1e-3)


@pytest.mark.parametrize(
    ("clock", "width", "blend"), [(11.8, 20.0, 8.0), (0.0, 40.0, 10.0), (2.9, 40.0, 10.0)]
)
def test_a_piece_whose_zone_begins_or_ends_at_its_edge_is_one_solid(
    single, tmp_path, clock, width, blend
):
    # across the joint of two arcs, and up to the side of a tie
    zone = replace(single.insert.zones[0], clock=clock, width=width, blend=blend, depth=14.0)
    crossing = replace(single, insert=replace(single.insert, zones=(zone,)))
    pieces, solids, read, _ = written(crossing, tmp_path)
    assert len(read) == len(pieces)
    assert sorted(read) == pytest.approx(sorted(solids.volumes), rel=1e-5)
    assert solids.volumes == pytest.approx(piece_volumes(crossing, pieces), rel=1e-3)


def test_where_two_zones_meet_the_deeper_of_them_stays(single, tmp_path):
    wide, deep = (
        replace(single.insert.zones[0], clock=clock, width=width, depth=depth)
        for clock, width, depth in ((3.0, 40.0, 9.0), (2.5, 20.0, 14.0))
    )
    for zones in ((wide, deep), (deep, wide)):
        met = replace(single, insert=replace(single.insert, zones=zones))
        pieces, _, read, _ = written(met, tmp_path)
        known = piece_volumes(met, pieces, 0.1)
        assert sorted(read) == pytest.approx(sorted(known), rel=1e-3)


def test_a_zone_fills_the_corner_between_two_bores_that_stand_far_apart(single, tmp_path):
    # the outer wall runs straight there: 1.4 times as far from the axis as about the bore
    zone = replace(single.insert.zones[0], clock=1.5, width=30.0)
    block = replace(single.block, bores=2, pitch=125.0, relief_cuts=())
    wide = replace(single, block=block, insert=replace(single.insert, zones=(zone,)))
    pieces, _, read, _ = written(wide, tmp_path)
    assert sorted(read) == pytest.approx(sorted(piece_volumes(wide, pieces, 0.1)), rel=1e-3)
