"""What is told of the solid: page, terminal, results.json, pictures, VTU, read back."""

import json
import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, replace
from types import SimpleNamespace

import meshio
import numpy as np
import pytest
from pictured import fits_a_narrow_screen
from readback import Page, Quantity, fault_of_cell

from cases.base.faults import Refusal
from cases.base.subject import TextTable
from cases.life.flags import Flag
from cases.life.given import InsertFit, life_given
from cases.life.result import flags_of
from cases.report.page import write_report
from cases.report.results import results_dict, write_outputs
from cases.solid import SUBJECT
from cases.solid.figures import governing_places, stress_figure
from cases.solid.hot import DepthHeat, HotPlace
from cases.solid.joint import joint_rows
from cases.solid.lines import solid_lines
from cases.solid.planes import check_planes
from cases.solid.profiles import growth_down, stress_down
from cases.solid.result import SolidSide, solid_of
from cases.solid.vtu import WEDGE, write_solid_vtu
from cases.solid.words import first_lines, worth_words
from cases.stress.columns import stress_columns
from geometry import ReliefCut

HEADINGS = {
    "clock position": "clock", "below the deck": "depth_mm", "solid": "principal_mpa",
    "stress": "principal_mpa", "error": "error_mpa", "section": "section_mpa",
    "solid over section": "ratio", "crank angle": "crank_angle_deg", "radius": "radius_mm",
    "part": "part",
}  # fmt: skip
UNITS = {"mm": "mm", "mpa": "MPa", "deg": "deg", "ratio": "", "um": "um"}


def expected(spot, heading):
    """What a cell under a heading shows of a spot."""
    name = HEADINGS[heading]
    value = getattr(spot, name)
    if value is None or isinstance(value, str):
        return value
    return Quantity(value, UNITS[name.rpartition("_")[2] if "_" in name else name])


@pytest.fixture
def page(told, tmp_path, monkeypatch):
    monkeypatch.setattr("cases.report.page._data_address", str)
    return Page(write_report(told, tmp_path).read_text(encoding="utf-8"))


def test_page_shows_the_governing_spot_of_each_design_beside_the_section(told, page):
    table = next(one for one in page.tables if one.title.startswith("Worst spot of the block"))
    assert len(table.rows) == len(told.designs)
    for row, design in zip(table.rows, told.designs, strict=True):
        state = solid_of(design).one_piece
        for (heading, unit), cell in zip(table.headings[1:], row[1:], strict=True):
            wanted = (
                Quantity(float(np.mean(state.growth_um)), "um")
                if heading == "growth at the deck"
                else expected(state.governing, heading)
            )
            assert not fault_of_cell(cell, wanted, unit), heading


def test_page_lists_every_spot_and_says_which_can_t_be_rated(told, page):
    (table,) = [one for one in page.tables if "Separate spots" in one.title]
    spots = [spot for design in told.designs for spot in solid_of(design).one_piece.worst]
    for row, spot in zip(table.rows, spots, strict=True):
        for (heading, unit), cell in zip(table.headings[1:-1], row[1:-1], strict=True):
            assert not fault_of_cell(cell, expected(spot, heading), unit), heading
        assert ("don't rate" in row[-1]) == spot.sharp
        assert ("not within 6 %" in row[-1]) == (not spot.settled and not spot.sharp)


def hot_place(part, clock, hours, depth, temperature, flux=None):
    return HotPlace(
        part=part, clock=clock, clock_hours=hours, radius_mm=43.5, x_mm=0.0, y_mm=43.5,
        depth_mm=depth, temperature_degc=temperature, flux_w_per_mm2=flux,
    )  # fmt: skip


def test_heat_in_depth_is_told_everywhere(told, tmp_path, monkeypatch):
    """Made up: where it is hottest, the wall that boils dry, the section 3 and 12 K hotter."""
    flag = Flag(kind="crisis", words="the coolant may boil dry at the jacket, 3:52, 17 mm down.")
    heat = DepthHeat(
        hottest=(hot_place("bore", "3:00", 3.0, 8.4, 213.4), hot_place("barrel", "2:58", 2.97,
                 12.2, 193.2)),
        wettest=hot_place("jacket", "3:52", 3.87, 17.3, 126.0, 2.34), flags=(flag,),
        paths_w={"bore": 4100.0, "jacket": -4100.0}, section_above_k=(3.2, 12.4),
    )  # fmt: skip
    first = told.designs[0]
    warm = replace(solid_of(first), heat=heat)
    hot = replace(
        told,
        designs=(replace(first, found={**first.found, "solid": warm}), *told.designs[1:]),
    )
    words = (
        f"Hottest in depth, {first.name}: bore 213 degC at 3:00, 8 mm down; barrel 193 degC at "
        "2:58, 12 mm down; most to the coolant 2.34 MW/m2 at the jacket, 3:52, 17 mm down."
    )
    above = "its bore is 3 K above the solid's mean over the section depth around the bore, and 12"
    monkeypatch.setattr("cases.report.page._data_address", str)
    page = Page(write_report(hot, tmp_path).read_text(encoding="utf-8"))
    assert any(words in line for line in page.prose["solid"])
    assert any(above in line for line in page.prose["solid"])
    lines = [line for line in solid_lines(hot) if isinstance(line, str)]
    assert words in lines
    assert any(above in line for line in lines)
    stored = results_dict(hot)["designs"][0]["solid"]["heat"]
    assert stored["flags"] == [{"kind": "crisis", "words": flag.words}]
    assert stored["section_above_most_k"] == 12.4
    assert flags_of(hot.designs[0]) == (flag,)


def test_the_chapter_opens_with_the_order_of_the_designs(told, page):
    assert page.prose["solid"][1] == first_lines(told)[0]


def test_results_json_has_the_keys_that_others_rely_on(told):
    design = json.loads(json.dumps(results_dict(told)))["designs"][1]["solid"]
    state = solid_of(told.designs[1]).one_piece
    found = design["one_piece"]
    for key in ("part", "clock", "clock_hours", "radius_mm", "depth_mm", "principal_mpa",
                "error_mpa", "sharp", "crank_angle_deg"):  # fmt: skip
        for spot, one in zip(state.worst, found["worst"], strict=True):
            value = getattr(spot, key)
            assert one[key] == (pytest.approx(value) if isinstance(value, float) else value), key
    assert found["growth_um"] == pytest.approx(state.growth_um, rel=1e-6)
    assert len(found["growth_um"]) == 360
    assert found["growth_crank_angle_deg"] == state.growth_crank_angle_deg
    assert found["unknowns"] == state.unknowns
    assert found["seconds"] == pytest.approx(state.seconds)
    assert design["ratio"] == pytest.approx(state.governing.principal_mpa / 91.7)
    assert "as_made" not in design


def test_terminal_sets_the_solid_beside_the_section(told):
    table = solid_lines(told)[0]
    assert isinstance(table, TextTable)
    for row, design in zip(table.rows, told.designs, strict=True):
        spot = solid_of(design).one_piece.governing
        assert row[:3] == (design.name, f"{spot.part} {spot.clock}", f"{spot.depth_mm:.1f}")
        assert float(row[3]) == round(spot.principal_mpa)
        assert float(row[4]) == pytest.approx(spot.error_mpa, abs=0.05)
        assert float(row[5]) == round(spot.section_mpa)
        assert float(row[6]) == pytest.approx(spot.ratio, abs=0.005)


def test_designs_stand_in_the_order_of_the_solid(told):
    """By the section the insert is pulled less, by the solid more: the sentence says both."""
    (line,) = first_lines(told)
    assert re.search(r"the least first: bare 1\d\d MPa .*; ring 17\d MPa", line)
    assert line.endswith("The section, a mean over the depth, would order them ring, bare.")


def test_no_order_is_told_where_a_fit_is_asked(told):
    """Cold and in one piece says nothing of it; they stand as in the case."""
    given = replace(life_given(told.case), fits={"ring": InsertFit(sides={}, pressed=())})
    (line,) = first_lines(replace(told, case=told.case.told("life", given)))
    assert "in no order as a fit is asked: bare" in line
    assert "least first" not in line
    assert "would order" not in line
    turned = replace(told, designs=told.designs[::-1], case=told.case.told("life", given))
    assert "as a fit is asked: ring" in first_lines(turned)[0]


def test_stress_is_set_against_the_bare_design_only_where_no_fit_is_asked(told):
    """Of what is one piece with the block, the share by which it is pulled more or less."""
    bare, ring = told.designs
    (share,) = (one for one in stress_columns(told, ring) if one.heading == "against\nbare")
    stress = [max(spot.principal_mpa for spot in one.hot_spots if spot.part == "barrel"
                  and not spot.sharp) for one in (ring, bare)]  # fmt: skip
    assert share.values == (pytest.approx(100 * (stress[0] / stress[1] - 1)),)
    given = replace(life_given(told.case), fits={"ring": InsertFit(sides={}, pressed=())})
    fitted = replace(told, case=told.case.told("life", given))
    assert "against\nbare" not in [one.heading for one in stress_columns(fitted, ring)]


def test_beside_a_rating_the_order_is_left_to_the_chapter(told):
    designs = [replace(one, found={**one.found, "rating": None}) for one in told.designs]
    assert SUBJECT.first_lines(told) == first_lines(told)
    assert SUBJECT.first_lines(replace(told, designs=tuple(designs))) == []


def test_designs_that_errors_don_t_part_are_called_alike(told):
    bare, ring = told.designs
    same = solid_of(bare)
    designs = (bare, replace(ring, found={**ring.found, "solid": replace(same, name="ring")}))
    assert "bare and ring are alike" in first_lines(replace(told, designs=designs))[0]
    assert "alike" not in first_lines(told)[0]


def test_what_the_section_is_worth_is_what_was_found(told):
    ratios = [f"{solid_of(one).ratio:.2f} times ({one.name})" for one in told.designs]
    assert all(ratio in worth_words(told) for ratio in ratios)


def test_a_refused_solid_is_told_first_of_all(told, tmp_path, monkeypatch):
    monkeypatch.setattr("cases.report.page._data_address", str)
    bare, ring = told.designs
    why = Refusal("It would need 9.1 GB.")
    refused = replace(told, designs=(bare, replace(ring, found={**ring.found, "solid": why})))
    assert first_lines(refused)[0].startswith("ring: no solid")
    page = Page(write_report(refused, tmp_path).read_text(encoding="utf-8"))
    assert any("ring has no solid. It would need 9.1 GB." in line for line in page.prose["solid"])
    assert results_dict(refused)["designs"][1]["solid_refused"] == "It would need 9.1 GB."


def test_the_page_shows_the_self_checks_of_each_state(told, page):
    table = next(one for one in page.tables if one.title.startswith("As shares of the load"))
    names = [name for name, _ in table.headings]
    assert names[2:] == [
        "left over by loads and supports", "missed of the force across a cut",
        "strain of a turn as one body", "strain with no load",
    ]  # fmt: skip
    most = ("1e-06", "0.05", "1e-06", "1e-09")
    assert table.rows[0][2:] == [f"0, at most {of}" for of in most]
    for row, design in zip(table.rows[1:], told.designs, strict=True):
        assert row == [design.name, "one piece", "1.2e-09", "0.00234", "3.1e-13", "2.6e-17"]
    data = results_dict(told)["designs"][0]["solid"]["one_piece"]["checks"]
    assert data == {
        "reaction_ratio": 1.2e-9, "cut_force_ratio": 0.00234, "rigid_ratio": 3.1e-13,
        "rest_ratio": 2.6e-17,
    }  # fmt: skip


def test_stress_down_the_wall_is_that_of_the_column_at_the_spot(told):
    state = solid_of(told.designs[1]).one_piece
    spot = state.governing
    depth, stress = stress_down(state, spot)
    assert (np.diff(depth) > 0).all()
    assert depth[0] == 0
    assert depth[-1] == 40
    assert depth[np.argmax(stress)] == pytest.approx(spot.depth_mm)
    assert stress.max() == pytest.approx(spot.principal_mpa)


def test_growth_by_depth_is_read_off_the_bore(told):
    """31 um at the deck and 0.3 um less for each mm down, an oval of 4.5 um on it."""
    state = solid_of(told.designs[0]).one_piece
    depth, growth, _ = growth_down(state.mesh, state.displacement)
    assert growth[0, 90] == pytest.approx(31 + 4.5, abs=1e-3)
    assert growth[0, 0] == pytest.approx(31 - 4.5, abs=1e-3)
    np.testing.assert_allclose(growth.mean(axis=1), 31 - 0.3 * depth, atol=1e-3)


def test_a_translation_is_no_growth(told):
    mesh = solid_of(told.designs[0]).one_piece.mesh
    _, growth, shift = growth_down(mesh, np.tile([0.03, -0.04, 0.01], (len(mesh.points), 1)))
    assert shift == pytest.approx(50, abs=1e-3)
    np.testing.assert_allclose(growth, 0, atol=1e-4)


def test_one_picture_has_all_designs_at_every_governing_place(told):
    places = governing_places(told)
    assert len(places) == 1  # both lie at 2:00 in the barrel
    figure = stress_figure(told, places)
    assert fits_a_narrow_screen(figure)
    (axes,) = figure.axes
    assert [line.get_label() for line in axes.lines if len(line.get_xdata()) > 2] == [
        design.name for design in told.designs
    ]
    low, high = axes.get_ylim()
    assert low > high == 0  # the deck on top


def test_the_vtu_file_holds_the_prisms_and_their_stress(told, tmp_path):
    state = solid_of(told.designs[0]).one_piece
    write_solid_vtu(state, tmp_path / "bare-solid.vtu")
    read = meshio.read(tmp_path / "bare-solid.vtu")
    (cells,) = read.cells
    assert cells.type == "wedge18"
    at = read.points[cells.data]
    # corners: three below, three above them; then middles of edges, then of upright faces
    np.testing.assert_allclose(at[:, :3, :2], at[:, 3:6, :2], atol=6e-4)
    assert (at[:, :3, 2] < at[:, 3:6, 2]).all()
    edges = [(0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5)]
    for place, (one, other) in enumerate(edges, 6):
        middle = (at[:, one] + at[:, other]) / 2
        assert np.abs(at[:, place] - middle).max() < 2.5  # off the chord of a curved edge
        np.testing.assert_allclose(at[:, place, 2], middle[:, 2], atol=1e-3)
    for place, (one, other) in zip((15, 16, 17), ((6, 9), (7, 10), (8, 11)), strict=True):
        np.testing.assert_allclose(at[:, place], (at[:, one] + at[:, other]) / 2, atol=1e-3)
    (field,) = state.fields
    own = np.searchsorted(field.nodes, state.mesh.prisms)[:, WEDGE]
    for name, wanted, off in (
        ("principal_mpa", field.principal, 0.25),
        ("stress_mpa", field.stress.T, 0.5),
        ("displacement_mm", state.displacement[field.nodes], 2.5e-4),
    ):
        np.testing.assert_allclose(read.point_data[name][cells.data], wanted[own], atol=off)
    assert len(read.points) == len(np.unique(cells.data))


@pytest.mark.parametrize("helped", [False, True])
def test_a_run_writes_all_of_it(told, tmp_path, monkeypatch, helped):
    monkeypatch.setattr("cases.report.results.write_pictures", lambda *_: ())
    monkeypatch.setattr("cases.report.page._data_address", str)
    with ThreadPoolExecutor(1) as helper:
        write_outputs(told, tmp_path, helper if helped else None)
    files = json.loads((tmp_path / "results.json").read_text(encoding="utf-8"))["files"]
    assert {"bare-solid.vtu", "ring-solid.vtu"} <= set(files)


def test_a_mesh_that_a_helper_can_t_write_is_an_error(told, tmp_path, monkeypatch, unpictured):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("cases.solid.vtu.write_fields", full)
    with ThreadPoolExecutor(1) as helper, pytest.raises(OSError, match="No space left"):
        write_outputs(told, tmp_path, helper)


def test_a_design_that_is_not_solved_as_it_is_made_is_told_before_the_order(told):
    bare, ring = told.designs
    found = replace(solid_of(ring), untold="What touches was not found.")
    untold = replace(told, designs=(bare, replace(ring, found={**ring.found, "solid": found})))
    first, order = first_lines(untold)
    assert first.startswith("ring: its solid was not solved as it is made")
    assert first.endswith("What touches was not found.")
    assert order == first_lines(told)[0]
    solid = results_dict(untold)["designs"][1]["solid"]
    assert solid["as_made_refused"] == "What touches was not found."


SIDES = tuple(
    SolidSide(
        step=step, part=part, against=against, pressing_force_n=force, open_share=open_,
        slip_um=slip,
    )
    for step, part, against, force, open_, slip in (
        ("pressed in", "insert", "barrel", 5210.0, 0.43, 2.34),
        ("pressed in", "insert", "tie", 377.0, 0.91, 0.12),
        ("warm", "insert", "barrel", 9120.0, 0.27, 5.71),
        ("warm", "liner", "barrel", 64_000.0, 0.0, 0.0),
    )
)  # fmt: skip


def jointed(told):
    bare, ring = told.designs
    found = solid_of(ring)
    fitted = replace(found, as_made=replace(found.one_piece, joint=SIDES))
    return replace(told, designs=(bare, replace(ring, found={**ring.found, "solid": fitted})))


def test_results_have_the_joint_of_the_solid_by_side(told):
    solid = results_dict(jointed(told))["designs"][1]["solid"]
    assert solid["as_made"]["joint"] == [asdict(side) for side in SIDES]
    assert "joint" not in solid["one_piece"]


def test_the_page_has_the_joint_of_each_insert_by_side(told, tmp_path, monkeypatch):
    monkeypatch.setattr("cases.report.page._data_address", str)
    page = Page(write_report(jointed(told), tmp_path).read_text(encoding="utf-8"))
    (table,) = [one for one in page.tables if "Sides of each insert" in one.title]
    *sides, _ = SIDES  # the liner has its own place
    assert len(table.rows) == len(sides)
    for row, side in zip(table.rows, sides, strict=True):
        told_of = dict(zip([name for name, _ in table.headings], row, strict=True))
        assert (told_of["step"], told_of["side"]) == (side.step, side.against)
        assert not fault_of_cell(told_of["press"], Quantity(side.pressing_force_n / 1000, "kN"),
                                 "kN")  # fmt: skip
        assert told_of["open"] == f"{100 * side.open_share:.0f} %"
        assert not fault_of_cell(told_of["slip"], Quantity(side.slip_um, "um"), "um")


def test_a_side_by_the_solid_stands_beside_the_same_side_of_the_section(told):
    """Of the same step, and of none that the section has not."""
    of_section = [SimpleNamespace(against="barrel", open_share=0.3, largest_slip_um=1.5)]
    steps = {"warm": SimpleNamespace(joint=SimpleNamespace(sides=of_section))}
    result = jointed(told)
    result.designs[1].found["life"] = SimpleNamespace(step=steps.get)
    sections = [row.section for row in joint_rows(result)]
    assert sections == [None, None, *of_section]


def test_limits_tell_how_the_draft_is_taken(told):
    """1.4 sqrt(44 * 8) = 26.3 mm is the usual depth of a section; half of it is 0.34 mm."""
    case = replace(told.case, block=replace(told.case.block, draft=1.5, jacket_depth=60.0))

    def words(depth, least=1.0):
        designs = [
            replace(
                design, found={**design.found, "solid": leaning(solid_of(design), depth, least)}
            )
            for design in told.designs
        ]
        of = replace(told, case=case, designs=tuple(designs))
        (found,) = [one for one in SUBJECT.limits(of) if "draft" in one]
        return found

    def leaning(found, depth, least):
        mesh = replace(found.one_piece.mesh, leans_to=depth, leans_least=least)
        return replace(found, one_piece=replace(found.one_piece, mesh=mesh))

    assert words(60.0).startswith("The walls of the solids lean with the draft of 1.5 deg")
    assert words(60.0).endswith("60 mm down, and so does an insert that is not in a register.")
    assert "lean less, down to 20 % of that, as prisms would be squeezed" in words(60.0, 0.2)
    assert "lean down to 42 mm only" in words(42.0)
    assert "at the floor cast ones are 0.47 mm thicker" in words(42.0)
    assert "0.34 mm thinner at the deck and 1.23 mm thicker at the jacket's floor." in words(0.0)
    assert not any("draft" in one for one in SUBJECT.limits(told))


def test_cut_forces_are_checked_where_stress_is_judged(told):
    """Down to nine tenths of the deepest cut, tie or insert: a tie of 12 mm here."""
    depths = [-at for axis, at in check_planes(told.case) if axis == "z"]
    assert depths == pytest.approx([3.6, 7.2, 10.8])
    cut = ReliefCut(clock=2.25, radius=54.5, diameter=18.0, depth=20.0)
    cast = replace(told.case, block=replace(told.case.block, relief_cuts=(cut,)))
    assert min(at for axis, at in check_planes(cast) if axis == "z") == pytest.approx(-18.0)
    assert [axis for axis, _ in check_planes(cast)][3:] == ["x", "y"]
