"""Slots proposed: they open what is asked, keep their distances, and are told as they are."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from gaskets import CASE, write_case
from readback import Page, Quantity, faults_of_table

from cases import read_case
from cases.base.faults import CaseError
from cases.base.templates import render
from cases.gasket.areas import lands_of
from cases.gasket.given import gasket_given
from cases.gasket.solve import design_water
from cases.report.rated import inputs_hash
from cases.slots import SUBJECT
from cases.slots.result import Strength
from cases.slots.search import Cut, Room, Target, apart, best_cut, most_open, slots_about
from cases.slots.solve import find_slots
from cases.slots.words import FILE
from geometry import planar

ONE = CASE.replace('bores = 2\npitch = "97 mm"\nfiring_bore = 2\n', "").replace("bores = [2]\n", "")
EARLY = """\
clock; radius [mm]; width [mm]; shape; arc [deg]; vent
1:30; 56; 6; ; ;
2:00; 57; 4; ; ;
4:30; 56; 4; slot; 12;
9:00; 55.5; 3; ; ; yes
"""
LATE = "clock; radius [mm]; width [mm]\n1:45; 56; 5\n7:30; 56.5; 5\n"
COARSE = '[section]\nmesh = "coarse"\ntolerance = "20 %"\n'


def asked(folder, slots, **more):
    files = {"early": EARLY, "late": LATE, "case": ONE} | more
    return read_case(write_case(folder, COARSE, f"[slots]\n{slots}", **files))


@pytest.fixture(scope="module")
def wanted(tmp_path_factory):
    return asked(tmp_path_factory.mktemp("slots"), 'cutter = "4 mm"\nweb = "1.6 mm"\n')


@pytest.fixture(scope="module")
def found(wanted):
    return find_slots(wanted, 240.0)


def test_every_hole_is_open_as_far_as_is_asked_and_all_distances_are_kept(found, tmp_path):
    """By the case file that the text makes, read again, with exact areas."""
    own = re.search(r"\[\[design\.slot\]\](.|\n)*\Z", ONE).start()
    case = read_case(write_case(tmp_path, case=ONE[:own] + found.text, early=EARLY, late=LATE))
    design = case.designs[1]
    holes = [of for one in design_water(case, design).gaskets for of in one.holes]
    assert min(of.share for of in holes) >= 0.9
    assert [of.is_open for of in holes if of.vent] == [True]
    assert not found.missed
    lands = lands_of(case, design, gasket_given(case).gaskets[0])
    assert lands.slot_to_joint >= 1.6
    assert lands.slot_to_slot >= 1.6
    assert lands.slot_to_bead >= 1.0
    assert min(of.width for of in design.insert.slots) >= 4.0
    assert found.count == len(design.insert.slots)


def test_hardly_more_metal_is_taken_than_the_holes_have(found, wanted):
    holes = [of for one in found.water.gaskets for of in one.holes]
    early, late = found.water.gaskets
    assert len(holes) == 6
    assert found.area < 1.25 * (early.bare + late.bare)
    assert found.area > 0.9 * early.bare


def test_the_section_weighs_them(found):
    plain, stated, proposed = found.strengths
    assert [of.name for of in found.strengths] == [
        "without slots", "its slots as stated", "slots proposed",
    ]  # fmt: skip
    assert proposed.block < 1.25 * plain.block
    assert proposed.insert > plain.insert
    assert stated.where
    assert found.tried >= 1


@pytest.fixture
def unweighed(monkeypatch):
    """What is looked for alone, without its stress."""

    def strength(_case, _design, name, _load):
        return Strength(name=name, block=1.0, insert=1.0, where="")

    monkeypatch.setattr("cases.slots.solve._strength", strength)


def test_what_no_cutter_enters_is_told(tmp_path, unweighed):
    case = asked(tmp_path, 'cutter = "8 mm"\nweb = "1.6 mm"\n')
    none = find_slots(case, 240.0)
    assert none.slots == ()
    assert re.search(
        r"a cutter of 8 mm enters nowhere over a hole: at most 5\.\d mm are left between webs of "
        r"1\.6 mm at \d+:\d\d of bore 1", none.why_none,
    )  # fmt: skip
    (line,) = SUBJECT.lines(result_of(case, none))
    assert line.startswith("Slots proposed: No slots for slotted: a cutter of 8 mm")
    assert "Give a smaller cutter" in page_of(case, none)[0]


def test_a_hole_that_webs_leave_no_room_for_is_opened_as_far_as_can_be(tmp_path, unweighed):
    case = asked(tmp_path, 'cutter = "4 mm"\nweb = "2.4 mm"\n')
    some = find_slots(case, 240.0)
    assert {(of.gasket, of.hole.number) for of in some.missed} >= {("early", 1)}
    for of in some.missed:
        assert of.reached == of.hole.share < of.asked
        assert of.reached > 0.5
    assert "open all but some holes as far as is asked (" in SUBJECT.lines(result_of(case, some))[0]


@pytest.mark.parametrize(
    ("slots", "more", "told"),
    [
        ('cutter = "4 mm"\ndesign = "sloted"\n', {}, "Did you mean slotted?"),
        ('cutter = "4 mm"\nweb = "1 mm"\n', {}, "It is thinner than any metal may be here, 1.5 mm"),
        ('cutter = "4 mm"\n', {"gaskets": ""}, "Nothing says which holes they must open"),
    ],
)
def test_wishes_that_can_not_be_are_refused(tmp_path, slots, more, told):
    with pytest.raises(CaseError) as error:
        asked(tmp_path, slots, **more)
    assert told in str(error.value)


def test_wishes_move_nothing_that_is_rated(wanted):
    assert inputs_hash(wanted) == inputs_hash(wanted.told("slots", None))


def result_of(case, found):
    return type("R", (), {"case": case, "designs": (), "found": {"slots": found}})()


def page_of(case, found):
    (one,) = SUBJECT.chapters(result_of(case, found))
    html = render(one.template, picture=str, number={}, case=case, **dict(one.contents))
    return html, Page(f'<h2 id="slots">Slots</h2><p>{one.finding}</p>{html}')


def test_slots_are_read_back_from_page_results_and_file(wanted, found, tmp_path):
    html, page = page_of(wanted, found)
    tables = {of.headings[0][0]: of for of in page.tables}
    slots = [
        {
            "slot at": re.search(r'clock = "(.*)"', text)[1],
            "width": Quantity(of.width, "mm"),
            "between end centres": Quantity(of.arc, "deg") if of.arc else "round",
            "radius of its centre line": Quantity(of.radius, "mm"),
            "bores": "all",
        }
        for of, text in zip(found.slots, found.text.split("\n\n"), strict=True)
    ]
    assert not faults_of_table(tables["slot at"], slots)
    gaskets = [
        {
            "gasket": of.gasket,
            "open": Quantity(of.open, "mm2"),
            "of the bare block's": Quantity(of.open / of.bare),
        }
        for of in found.water.gaskets
    ]
    assert not faults_of_table(tables["gasket"], gaskets)
    stress = [
        {
            "section, cold and in one piece": of.name,
            "worst stress of the block": Quantity(of.block, "MPa"),
            "where": of.where,
            "of the insert": Quantity(of.insert, "MPa"),
        }
        for of in found.strengths
    ]
    assert not faults_of_table(tables["section, cold and in one piece"], stress)
    assert found.text.replace('"', "&#34;") in html
    result = result_of(wanted, found)
    data = SUBJECT.case_data(result)["slots_proposed"]
    assert data["count"] == found.count
    assert data["area_mm2"] == found.area
    assert [of["width_mm"] for of in data["slots"]] == [of.width for of in found.slots]
    assert data["worst_stress"][-1]["block_mpa"] == found.strengths[-1].block
    SUBJECT.write(result, tmp_path)
    assert (tmp_path / FILE).read_text() == found.text == data["text"]
    (finding,) = SUBJECT.lines(result)
    assert (
        f"{found.count} slots for slotted ({found.area:.0f} mm2 in all) open every hole" in finding
    )
    assert f"{found.strengths[-1].block:.0f} MPa with them" in finding
    assert [name for name, _ in SUBJECT.figures(result)] == ["slots"]


def points(loop):
    x = np.arange(-80, 80, 0.2)
    z = (x[:, None] + 1j * x).ravel()
    return z[planar.Area([loop]).holds(z)]


RING = [[planar.circle(0, 61.0), planar.circle(0, 52.0)]]


def target(clock_deg, size, share=0.9, radius=56.5):
    middle = math.radians(clock_deg)
    loop = planar.circle(radius * complex(math.cos(middle), math.sin(middle)), size / 2)
    return Target(str(clock_deg), points(loop), share, middle)


def test_a_round_hole_gets_a_round_slot_of_its_own_share():
    room = Room(RING, 1.5, [(0.0, 48.0)])
    cut = best_cut([target(40, 4.0)], room, np.arange(3, 6.01, 0.1), np.array([56.5]))
    assert cut.area == pytest.approx(0.9 * 4 * math.pi, rel=0.03)
    assert 0.3 < cut.slot(1).clock - 1.0 < 1.0
    assert most_open(target(40, 4.0), room, np.array([2.0]), np.array([56.5])) < 0.8


def test_neighbours_share_a_slot_where_a_web_would_be_too_thin():
    room, widths, radii = Room(RING, 1.5, []), np.arange(4, 6.01, 0.5), np.arange(55, 58.1, 0.5)
    near = slots_about([target(40, 5.0), target(46, 5.0)], room, widths, radii)
    far = slots_about([target(40, 5.0), target(60, 5.0)], room, widths, radii)
    assert (len(near), len(far)) == (1, 2)
    assert apart(*far) > 1.5
    fewest = slots_about([target(40, 5.0), target(60, 5.0)], room, widths, radii, each=1e4)
    assert len(fewest) == 1
    across = slots_about([target(-178, 5.0), target(179, 5.0)], room, widths, radii)
    assert len(across) == 1  # the way round has no seam
    assert across[0].high - across[0].low < 0.2


def test_a_slot_keeps_off_joint_and_bead():
    line = Cut(0.5, 0.9, 56.5, 0.0)
    assert Room(RING, 1.5, []).widest(line) == pytest.approx(9 - 3, abs=0.1)
    assert Room(RING, 1.5, [(0.0, 54.5)]).widest(line) == pytest.approx(4.0, abs=0.05)
    half = [planar.arc(0, 61.0, 0.0, 0.7), planar.arc(0, 52.0, 0.7, 0.0)]
    closed = [*half[0], planar.line(half[0][-1].end, half[1][0].start), *half[1],
              planar.line(half[1][-1].end, half[0][0].start)]  # fmt: skip
    assert Room([[closed]], 1.5, []).widest(line) == 0  # it leaves its piece
    assert replace(target(40, 5.0), share=1.0).share == 1.0
