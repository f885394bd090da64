"""The traveller: its blanks are the record's, page and paper say the same, in the order of work."""

import datetime
import html
import json
import re
from dataclasses import replace

import pypdf
import pytest
from made import CASE, RING, ZONE

from cases.cli import DEMO
from cases.making.make import made_of
from cases.making.paper import Words
from cases.making.traveller import traveller_of
from cases.making.traveller_pages import traveller_pages, traveller_plan, write_traveller
from cases.making.words import goes_in
from cases.read import read_case
from cases.record.entry import entry
from cases.store.kinds import KINDS

COMPOUND = """
[design.compound]
shear_strength = "30 MPa"
tensile_strength = "20 MPa"
hot = [{ temperature = "120 degC", shear_strength = "12 MPa", tensile_strength = "8 MPa" }]
largest_gap = "100 um"
friction = 0.1
"""
PLACES = [
    {"part": "tie", "clock": "9:10", "depth_mm": 12.5, "x_mm": -55.0, "y_mm": 3.0},
    {"part": "barrel", "clock": "1:00", "depth_mm": 0.0, "x_mm": 25.0, "y_mm": 43.0},
]
RATED = {
    "verdict": {
        "design": "low", "wanted_bar": 100.0, "reliability": 0.9, "worse_bores": [],
        "heat_flags": [],
        "rows": [{"design": "low", "status": "holds", "limit_bar": 120.0, "limit_factor": 1.2,
                  "at_most": False, "share": 0.953, "places": PLACES}],
    },
    "designs": [
        {
            "design": "low", "fit_advice": None, "rating": {"limit": None},
            "pieces": [
                {"number": 1, "pressing_force_n": 4000.0, "hold_n": 600.0},
                {"number": 2, "pressing_force_n": 5000.0, "hold_n": 750.0},
            ],
        }
    ],
}  # fmt: skip
VERDICT = (  # 120 bar by 6894.757 Pa a psi
    '"low" holds: 120 bar (1740 psi); 95 of 100 draws carry 100 bar wanted, 90 are asked.'
)
EXAMPLES = {"wall": "5.9 mm", "result": "tight", "text": "none"}


@pytest.fixture
def written(case, tmp_path):
    def of(text=CASE, rated=None):
        making = made_of(case(text), "low", json.loads(json.dumps(rated)), "Not rated.", "abc123")
        sheet = traveller_of(making, datetime.date(2026, 5, 31))
        write_traveller(making, sheet, tmp_path)
        page = (tmp_path / "traveller.html").read_text(encoding="utf-8")
        papers = {
            paper: pypdf.PdfReader(tmp_path / f"traveller-{paper}.pdf")
            for paper in ("a4", "letter")
        }
        return page, papers

    return of


def words_of(page):
    text = re.sub(r"<style>.*?</style>|<svg.*?</svg>|<[^>]+>", " ", page, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(text))


def text_of(paper):
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in paper.pages))


def blanks_of(page):
    found = []
    for tag in re.findall(r'<(?:td|span) class="blank"([^>]*)>', page):
        attributes = dict(re.findall(r'([\w-]+)="([^"]*)"', html.unescape(tag)))
        fixed = {
            key.removeprefix("data-with-").replace("-", "_"): value
            for key, value in attributes.items()
            if key.startswith("data-with-")
        }
        found.append((attributes["data-kind"], attributes["data-field"], fixed,
                      attributes["title"]))  # fmt: skip
    return found


def test_every_filled_blank_goes_into_the_record_by_its_name(written):
    page, _ = written(CASE, RATED)
    lines, signed = {}, set()
    for kind, field, fixed, name in blanks_of(page):
        if not kind:
            signed.add(field)
            continue
        own = name if kind in ("note", "leak test") else ""
        line = lines.setdefault((kind, *sorted(fixed.items()), own), dict(fixed))
        known = KINDS[kind].fields[field]
        line[field] = EXAMPLES.get(field, known.example)
    assert signed == {"who", "date"}
    assert {key[0] for key in lines} == {
        "reading", "cut", "main bores", "piece", "fitting", "bore", "deck", "leak test", "note",
    }  # fmt: skip
    assert {key[-1] for key in lines if key[0] == "note"} == {
        "note text: cracks before", "note text: washed",
    }  # fmt: skip
    leaks = [line for key, line in lines.items() if key[0] == "leak test"]
    merged = {field: value for line in leaks for field, value in line.items()}
    for key, line in lines.items():
        entry(key[0], merged if key[0] == "leak test" else line, who="R", instrument="gauge")


def test_a_piece_has_a_blank_for_pocket_and_insert_of_each_side(written):
    page, _ = written()
    pieces = {
        (fixed["piece"], fixed["side"], field)
        for kind, field, fixed, _ in blanks_of(page)
        if kind == "piece"
    }
    assert pieces == {
        (number, side, field)
        for number in "12"
        for side in ("barrel", "outer wall", "tie")
        for field in ("pocket", "insert")
    }


def test_a_ring_has_no_side_against_ties_and_says_what_would_do_in_both_units(written):
    page, _ = written(RING.replace('interference = "8 um"', 'interference = "30 um"'))
    sides = {fixed["side"] for kind, _, fixed, _ in blanks_of(page) if kind == "piece"}
    assert sides == {"barrel", "outer wall"}
    words = words_of(page)
    assert "Ties milled down to 6.00 mm (0.236 in) from A" in words
    assert re.search(r"low, 1 piece\b", words)
    um, thou = map(
        float, re.search(r"at least (\d+) um \(([\d.]+) thou\) of clear", words).groups()
    )
    assert thou == pytest.approx(um / 25.4, abs=0.01)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_page_and_paper_say_the_same(written, paper):
    page, papers = written(CASE, RATED)
    text, words = text_of(papers[paper]), words_of(page)
    assert set(papers[paper].get_fields()) == {name for *_, name in blanks_of(page)}
    for said in (
        VERDICT, "abc123", "2026-05-31", "400 (90)", "1000 (225)",
        "press low / nominal / high +3.0 / +4.0 / +5.0 um (+0.12 / +0.16 / +0.20 thou)",
        "pocket +0.0 / +1.0 um (+0.00 / +0.04 thou), insert +4.0 / +5.0 um",
        "6.20 mm (0.244 in) thick with 0.20 mm (0.008 in) for the deck",
        "Main bores", "Local codes",
    ):  # fmt: skip
        assert said in text
        assert said in words
    size = papers[paper].pages[0].mediabox
    across, high = (595.3, 841.9) if paper == "a4" else (612.0, 792.0)
    assert (float(size.width), float(size.height)) == pytest.approx((across, high), abs=0.1)


def test_its_order_is_the_order_of_work(written):
    _, papers = written(CASE, RATED)
    steps = ("1 Measure first", "before press", "2 Cut the block", "3 Make the insert", "4 Fit",
             "after press", "5 After", "after hone", "Leak test cold", "Leak test hot", "Washed",
             "Safety")  # fmt: skip
    text = text_of(papers["a4"])
    places = [text.index(step) for step in steps]
    assert places == sorted(places)


def test_worst_points_stand_on_the_plan_and_in_words(written):
    _, papers = written(CASE, RATED)
    text = text_of(papers["letter"])
    assert "A: tie 9:10, 12.5 mm (0.49 in) down" in text
    assert "B: barrel 1:00, 0.0 mm (0.00 in) down" in text


def test_of_a_bank_a_point_says_its_bore_and_nothing_refers_to_another_page(case):
    bank = CASE.replace('bore = "87 mm"', 'bores = 2\npitch = "125 mm"\nbore = "87 mm"')
    bank = bank.replace('"3:00"', '"12:00"').replace('"9:00"', '"6:00"')
    rated = json.loads(json.dumps(RATED))
    rated["verdict"] |= {"worse_bores": ["Bore 2 is worse."], "design": "high"}
    rated["designs"].append(rated["designs"][0] | {"design": "high"})
    rated["verdict"]["rows"][0]["places"][0] |= {"x_mm": 125.0 + 45.0, "y_mm": 3.0}
    sheet = traveller_of(
        made_of(case(bank), "low", rated, "", "abc123"), datetime.date(2026, 5, 31)
    )
    assert sheet.worst[0][1] == "tie 9:10 of bore 2, 12.5 mm (0.49 in) down"
    warned = " Told to make: high. Read what its report says first."
    assert sheet.verdict == VERDICT + warned


def test_the_verdict_of_a_design_stands_on_one_line(case):
    other = json.loads(json.dumps(RATED))
    other["verdict"]["design"] = "high"
    other["designs"].append(other["designs"][0] | {"design": "high"})
    for rated in (RATED, other):
        sheet = traveller_of(
            made_of(case(), "low", rated, "", "abc123"), datetime.date(2026, 5, 31)
        )
        page = traveller_pages(
            made_of(case(), "low", rated, "", "abc123"), sheet
        )[0]  # fmt: skip
        assert [of.text for of in page.items if isinstance(of, Words) and '"low"' in of.text] == [
            sheet.verdict
        ]
    most = json.loads(json.dumps(RATED))
    most["verdict"]["rows"][0]["at_most"] = True
    sheet = traveller_of(made_of(case(), "low", most, "", ""), datetime.date(2026, 5, 31))
    assert sheet.verdict == VERDICT.replace("holds: ", "holds: at most ")
    bare = json.loads(json.dumps(RATED))
    bare["verdict"]["wanted_bar"] = None
    bare["verdict"]["rows"][0] |= {"limit_bar": None, "at_most": True}
    sheet = traveller_of(made_of(case(), "low", bare, "", ""), datetime.date(2026, 5, 31))
    assert "holds: 1.20 times the gas load; 95 of 100 draws carry what is wanted" in sheet.verdict


def test_a_fit_that_is_not_known_is_not_said_not_to_drop_in(written):
    page, _ = written(CASE[: CASE.index("[design.fit]")])
    words = words_of(page)
    assert "Not known how: block 20 degC" in words
    assert "Whether it drops in is not known: the design says nothing of its fit" in words
    assert "does not drop in" not in words
    assert "Press in" not in words


def test_the_plate_for_an_insert_is_as_thick_as_its_zones(written):
    page, _ = written(CASE + ZONE)
    assert (
        "6.20 mm (0.244 in) thick, 10.20 mm (0.402 in) in its zones, with 0.20 mm (0.008 in) for"
        in words_of(page)
    )


def test_letters_of_near_points_stand_clear_of_each_other(case):
    making = made_of(case(), "low", None, "Not rated.")
    sheet = replace(
        traveller_of(making, datetime.date(2026, 5, 31)),
        worst=((complex(-3, 52), "left of it"), (complex(3, 52), "right of it")),
    )
    words = [of for of in traveller_plan(making, sheet) if isinstance(of, Words)]
    a, b = (next(of for of in words if of.text == letter) for letter in "AB")
    assert (a.anchor, b.anchor) == ("end", "start")
    assert a.at.real < b.at.real


def test_two_sides_are_enough_for_sixteen_pieces():
    making = made_of(read_case(DEMO), "local", None, "Not rated.")
    assert len(making.pieces) == 16
    assert len(traveller_pages(making, traveller_of(making, datetime.date(2026, 5, 31)))) == 2


def test_a_compound_says_amount_gap_and_what_it_holds_hot(written, case):
    page, _ = written(CASE + COMPOUND)
    words = words_of(page)
    told = list(goes_in(made_of(case(CASE + COMPOUND), "low", None, "Not rated.")))
    assert any("it fills gaps of up to 100 um" in line for line in told)
    assert any("12 MPa of shear and 8 MPa of tension at 120 degC" in line for line in told)
    # on the traveller in both, by 25.4 um a thou, 6894.757 Pa a psi, 16.387 cm3 a cubic inch
    assert "it fills gaps of up to 100 um (3.9 thou)" in words
    assert (
        "30 MPa (4351 psi) of shear and 20 MPa (2901 psi) of tension at 20 degC (68 degF)" in words
    )
    assert "12 MPa (1740 psi) of shear and 8 MPa (1160 psi) of tension at 120 degC" in words
    cm3, in3 = map(float, re.search(r"about ([\d.]+) cm3 \(([\d.]+) in3\) in all", words).groups())
    assert in3 == pytest.approx(cm3 / 16.387, rel=0.1)
    # both pieces: perimeter of some 2 x 340 mm, 6 mm deep, gaps 10, 10 and 27.5 um, 1.5 times
    assert cm3 == pytest.approx(1.5 * 2 * 340 * 6 * (0.01 + 0.01 + 0.0275) / 3 / 1000, rel=0.1)
