"""What gaskets open over a block and an insert: by hand, and read back from where it is told."""

import json
import math
from types import SimpleNamespace

import pytest
from gaskets import CASE, EARLY, write_case
from pictured import fits_a_narrow_screen
from readback import Page, Quantity, fault_of_sentence, faults_of_table, told

from cases import read_case
from cases.cli import DEMO
from cases.gasket.figures import gasket_figures, whole_deck
from cases.gasket.result import water_of
from cases.gasket.solve import design_water
from cases.gasket.words import first_lines, gasket_lines
from cases.report.page import write_report
from cases.report.results import results_dict
from geometry.outline import draw_section
from geometry.overlay import open_water


@pytest.fixture(scope="module")
def over(gasket_case):
    """Both designs under both gaskets."""
    return [design_water(gasket_case, design) for design in gasket_case.designs]


def test_the_bare_deck_opens_every_hole_whole(over):
    bare, _ = over
    for gasket in bare.gaskets:
        assert [of.open for of in gasket.holes] == pytest.approx([of.area for of in gasket.holes])
        assert not gasket.blocked
    kidney = 4 * 56 * math.radians(12) + 4 * math.pi
    assert bare.gaskets[0].open == pytest.approx(6 * 9 * math.pi + 2.25 * math.pi + 2 * kidney)
    assert bare.gaskets[1].holes[2].open == pytest.approx(36)


def lens(r, s, d):
    """Common area of two circles, closed form."""
    a = math.acos((d**2 + r**2 - s**2) / (2 * d * r))
    b = math.acos((d**2 + s**2 - r**2) / (2 * d * s))
    return r**2 * (a - math.sin(2 * a) / 2) + s**2 * (b - math.sin(2 * b) / 2)


def test_an_insert_leaves_what_slot_and_hole_have_in_common(over):
    early = over[1].gaskets[0]
    round_slot = early.holes[1]  # a hole of 6 mm at a radius of 56 holds the slot of 5 mm at 56.5
    assert round_slot.open == pytest.approx(math.pi * 6.25, rel=1e-9)
    assert early.holes[8].open == pytest.approx(early.holes[8].area)  # its own slot
    assert early.holes[8].is_open
    assert [of.number for of in early.blocked] == [3, 4, 5, 8]
    assert [of.number for of in early.vents_lost] == [4]
    one, two = early.bores
    assert one.open + two.open == pytest.approx(early.open)
    assert one.holes_blocked == 3
    assert one.blocked == pytest.approx(sum(of.blocked for of in early.holes[:5]))
    assert two.bare == pytest.approx(sum(of.area for of in early.holes[5:]))
    assert over[1].gaskets[1].idle == ("1:30 of bore 2", "4:30 of bore 2", "10:30 of bore 2")
    assert over[1].worst.gasket == "late"


def test_least_metal_about_the_slots_is_exact(over):
    lands = over[1].gaskets[0].lands
    assert lands.slot_to_joint == pytest.approx(2.0, abs=1e-9)  # 9 mm of jacket less 5 mm
    assert lands.slot_to_bead == pytest.approx(52 + 2 - (91 + 3) / 2, abs=1e-9)
    assert lands.joint_to_bead == pytest.approx(52 - 47, abs=1e-9)
    assert over[0].gaskets[0].lands.slot_to_joint is None


def test_the_head_takes_its_part(tmp_path):
    head = "bore; clock; radius [mm]; width [mm]\n1; 1:30; 56; 4\n2; 4:30; 59; 6\n"
    (tmp_path / "head.csv").write_text(head)
    gaskets = '[[gasket]]\nname = "early"\ntable = "early.csv"\nhead_table = "head.csv"\n'
    case = read_case(write_case(tmp_path, gaskets=gaskets))
    (bare,) = design_water(case, case.designs[0]).gaskets
    holes = [of.open for of in bare.holes]
    assert holes[0] == pytest.approx(4 * math.pi)
    assert holes[6] == pytest.approx(lens(3, 3, 3))
    assert sum(holes) == pytest.approx(holes[0] + holes[6])
    assert bare.holes[1].share == 1  # what the head shuts, no insert blocks
    assert not bare.blocked


def test_a_hole_over_metal_opens_nothing_and_is_not_blocked_by_an_insert(tmp_path):
    row = "; 1; 12:00; 56; round; 5; ;\n"  # over the tie
    case = read_case(write_case(tmp_path, early=EARLY + row))
    for design in case.designs:
        hole = design_water(case, design).gaskets[0].holes[-1]
        assert (hole.bare, hole.open) == pytest.approx((0, 0), abs=1e-9)
        assert not hole.is_blocked


def test_areas_are_read_back_from_results_and_page(solved, tmp_path, monkeypatch):
    monkeypatch.setattr("cases.report.page._data_address", str)
    monkeypatch.setattr("cases.report.results.write_pictures", lambda *_: ())
    found = json.loads(json.dumps(results_dict(solved)["designs"][1]["gaskets"]))
    water = water_of(solved.designs[1])
    early, late = water.gaskets
    for one, of in zip(found, (early, late), strict=True):
        assert one["gasket"] == of.gasket
        assert one["open_area_mm2"] == pytest.approx(of.open, rel=1e-6)
        assert one["bare_open_area_mm2"] == pytest.approx(of.bare, rel=1e-6)
        assert one["blocked_area_mm2"] == pytest.approx(sum(h.blocked for h in of.holes), rel=1e-6)
        for bore, by in zip(one["by_bore"], of.bores, strict=True):
            assert bore["open_area_mm2"] == pytest.approx(by.open, rel=1e-6, abs=1e-9)
            assert bore["holes_blocked"] == by.holes_blocked
        for hole, own in zip(one["holes"], of.holes, strict=True):
            assert hole["open_area_mm2"] == pytest.approx(own.open, rel=1e-6, abs=1e-9)
            assert hole["blocked"] == own.is_blocked
        land = one["least_land"]["slot_to_joint_mm"]
        assert land == pytest.approx(of.lands.slot_to_joint, rel=1e-6)
    write_report(solved, tmp_path)
    page = Page((tmp_path / "report.html").read_text(encoding="utf-8"))
    tables = [of for of in page.tables if of.chapter == "gasket"]
    shut = ("3 at 7:30 of bore 1; 4 at 9:00 of bore 1; 5 at 10:30 of bore 1; 8 at 7:30 of bore 2",
            "3 at 10:27 of bore 1; 4 at 7:30 of bore 1")  # fmt: skip
    for place, one in enumerate((early, late)):
        rows = [
            {
                "design": design.name,
                "open through deck, gasket and head": Quantity(of.open, "mm2"),
                "of the bare block's": Quantity(of.open / of.bare),
                "blocked": Quantity(sum(h.blocked for h in of.holes), "mm2"),
                "holes that are shut": "none" if design.name == "bare" else shut[place],
            }
            for design in solved.designs
            for of in [water_of(design).gaskets[place]]
        ]
        assert not faults_of_table(tables[2 * place], rows)
        by_bore = [
            {
                "open by bore": design.name,
                **{
                    f"bore {of.bore}": Quantity(of.open, "mm2")
                    for of in water_of(design).gaskets[place].bores
                },
            }
            for design in solved.designs
        ]
        assert not faults_of_table(tables[2 * place + 1], by_bore, "mm2")
        text = " ".join(page.prose["gasket"])
        words = told(
            "least metal: # mm from a slot to the joint, # mm from a slot to the bead",
            Quantity(one.lands.slot_to_joint), Quantity(one.lands.slot_to_bead),
        )  # fmt: skip
        assert not fault_of_sentence(text, words)
    finding = told(
        "slotted keeps # of # open (# ), 2 of 4 holes blocked, under late",
        Quantity(late.open), Quantity(late.bare, "mm2"), Quantity(late.open / late.bare),
    )  # fmt: skip
    assert not fault_of_sentence(" ".join(page.prose["gasket"]), finding)


def test_terminal_and_first_lines_tell_what_is_blocked(solved):
    (line,) = gasket_lines(solved)
    early, late = water_of(solved.designs[1]).gaskets
    assert line == (
        f"Through the gasket, slotted: early {early.open:.0f} of {early.bare:.0f} mm2 open "
        f"({100 * early.open / early.bare:.0f} %), 4 of 9 holes blocked; late {late.open:.0f} of "
        f"{late.bare:.0f} mm2 open ({100 * late.open / late.bare:.0f} %), 2 of 4 holes blocked."
    )
    (vent,) = first_lines(solved)
    assert vent.startswith("slotted blocks a vent of gasket early (4 at 9:00 of bore 1)")


def test_each_gasket_has_its_picture_with_blocked_holes_numbered(solved):
    figures = dict(gasket_figures(solved))
    assert list(figures) == ["gasket-1", "gasket-2"]
    assert all(map(fits_a_narrow_screen, figures.values()))
    numbers = [{text.get_text() for text in axes.texts} for axes in figures["gasket-1"].axes]
    assert numbers == [set(), {"3", "4", "5", "8"}]


def test_a_case_without_gaskets_says_nothing(case_of, tmp_path):
    case = case_of(CASE)
    from cases.gasket import SUBJECT

    assert not SUBJECT.asked(case, rate=True)
    assert SUBJECT.chapters(type("R", (), {"case": case, "designs": ()})()) == ()
    patches = open_water(case.section(case.designs[0]))
    assert len(patches) == 4


def test_openings_may_stand_in_the_case_file(tmp_path):
    stated = (
        '[[gasket]]\nname = "stated"\n[[gasket.opening]]\nclock = "1:30"\nwidth = "6 mm"\n'
        '[[gasket.opening]]\nclock = "10:30"\nwidth = "4 mm"\narc = "12 deg"\nradius = "56 mm"\n'
        "bores = [2]\nvent = true\n"
    )
    case = read_case(write_case(tmp_path, gaskets=stated))
    (one,) = design_water(case, case.designs[1]).gaskets
    assert [(of.bore, of.name, of.vent) for of in one.holes] == [
        (1, "opening 1 of bore 1", False), (2, "opening 1 of bore 2", False),
        (2, "opening 2 of bore 2", True),
    ]  # fmt: skip
    assert one.holes[0].radius == pytest.approx(56.5)  # the middle of the jacket
    assert one.holes[2].open == pytest.approx(one.holes[2].area)


def test_a_long_deck_is_drawn_two_bores_a_panel():
    """Four bores 101 mm apart: the second panel begins halfway between second and third."""
    case = read_case(DEMO)
    section = case.section(case.designs[0])
    drawn = SimpleNamespace(section=section, outline=draw_section(section))
    gasket = SimpleNamespace(bead_inside=44.0, bead_outside=46.0, head=None, openings=())
    figure = whole_deck(case.block, [("bare", drawn, [], gasket, SimpleNamespace(holes=()))])
    assert fits_a_narrow_screen(figure)
    titles = [axes.get_title() for axes in figure.axes]
    assert titles == ["bare, bores 1 and 2", "bare, bores 3 and 4"]
    assert figure.axes[0].get_xlim()[1] == figure.axes[1].get_xlim()[0] == case.block.axes[1] + 50.5
