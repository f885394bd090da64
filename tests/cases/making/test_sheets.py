"""Dimensioned sheets: all that cuts a piece stands on them, legible, in PDF as in pictures."""

import datetime
import itertools
import math
import re
from xml.etree import ElementTree

import numpy as np
import pypdf
import pytest
from made import CASE, REGISTER, RING, SLOT, ZONE, arcs

from cases.cli import DEMO
from cases.making.across import across, places_of
from cases.making.limits import side_limits
from cases.making.make import made_of
from cases.making.paper import Words, wide
from cases.making.sheets import sheets_of, write_sheets
from cases.read import read_case
from geometry.clock import clock_to_angle
from geometry.planar import Curve, signed_area

DATE = datetime.date(2026, 5, 31)
INCH = re.sub(r'"([\d.]+) mm"', lambda of: f'"{float(of[1]) / 25.4:.6f} in"', CASE + SLOT)
HEAD = """
[head]
bolt_preload = "25 kN"
bolt_circle = "126 mm"
fire_ring_diameter = "98 mm"
fire_ring_width = "3 mm"
"""
TEXTS = {"slot": CASE + SLOT, "zone": CASE + ZONE, "register": CASE + REGISTER, "ring": RING,
         "in": INCH}  # fmt: skip


@pytest.fixture(scope="module")
def banks(tmp_path_factory):
    """The bundled block's insert, in pieces and in one ring, its zones past half the pitch."""
    text = DEMO.read_text(encoding="utf-8").replace('pitch = "101 mm"', 'pitch = "97 mm"')
    found = {}
    for form in ("pieces", "ring"):
        path = tmp_path_factory.mktemp(form) / "bank.toml"
        path.write_text(text.replace('depth = "4 mm"', f'depth = "4 mm"\nform = "{form}"'),
                        encoding="utf-8")  # fmt: skip
        found[form] = made_of(read_case(path), "local", None, "")
    return found


def pages_of(making):
    return sheets_of(making, DATE, making.masses)


def rebuilt(rows):
    """Loops from rows of point, x, y, way and turn."""
    return [[Curve(*edge) for edge in edges] for _, edges in arcs(rows)]


def cells_of(words):
    """Rows of the table of points, of words by class and text."""
    columns = [[text for name, text in words if name == f"cell{column}"] for column in range(5)]
    return list(zip(*columns, strict=True))


@pytest.mark.parametrize("name", TEXTS)
def test_a_piece_is_rebuilt_from_its_sheet_alone(case, tmp_path, name):
    making = made_of(case(TEXTS[name]), "low", None, "")
    write_sheets(making, DATE, making.masses, tmp_path)
    size = 25.4 if name == "in" else 1.0
    titles = [page.title for page in pages_of(making)]
    for piece in making.pieces:
        number = 1 + titles.index(f"{making.case.name}: low, piece {piece.number}")
        sheet = ElementTree.parse(tmp_path / f"sheet-{number}-letter.svg").getroot()
        words = [(of.get("class"), of.text) for of in sheet.iter() if of.tag.endswith("text")]
        rows = cells_of(words)
        area = sum(map(signed_area, rebuilt(rows))) * size**2
        # half a micrometre over a perimeter of some 340 mm
        assert area == pytest.approx(piece.area, abs=0.17)
        paper = pypdf.PdfReader(tmp_path / "sheets-a4.pdf").pages[number - 1].extract_text()
        lines = [" ".join(line.split()) for line in paper.splitlines()]
        for _, text in words:
            assert " ".join((text or "").split()) in lines


@pytest.mark.parametrize("form", ["pieces", "ring"])
def test_a_bank_is_rebuilt_from_its_sheets_alone(banks, form):
    """Many points stand on a sheet for each bore."""
    making = banks[form]
    pages = [page for page in pages_of(making) if not page.title.endswith("pocket")]
    words = [(of.name, of.text) for page in pages for of in page.items if isinstance(of, Words)]
    rows = cells_of(words)
    if form == "ring":
        rows = sorted(rows, key=lambda row: int(row[0]))
        assert [int(row[0]) for row in rows] == list(range(1, len(rows) + 1))
    area = sum(map(signed_area, rebuilt(rows)))
    assert area == pytest.approx(sum(piece.area for piece in making.pieces), rel=5e-5)


def test_sections_stand_at_each_zone_and_blend_with_their_sizes(case):
    # 6 mm deep between walls 11 mm apart; below the register's floor between the walls as cast,
    # 9 mm apart: 10 mm deep in the zone, and by a cosine half of that further in a blend's middle
    making = made_of(case(CASE + REGISTER + ZONE), "low", None, "")
    pages = {page.title.rpartition(", piece ")[2]: page for page in pages_of(making)}
    top = next(of for of in making.pieces if round(of.clock) % 12 == 0)
    plain = [f"{of.number}, sections" for of in making.pieces if of is not top]
    assert not set(plain) & set(pages)
    first = pages[str(top.number)]
    assert any("no deeper than 6.00 mm" in of.text for of in first.items if isinstance(of, Words))
    page = pages[f"{top.number}, sections"]
    said = [of for of in page.items if isinstance(of, Words)]
    assert [of.text for of in said if ": " in of.text and of.text.startswith("bore 1 at")][1:] == [
        "bore 1 at 11:10: blend of zone 1", "bore 1 at 12:00: zone 1",
        "bore 1 at 12:50: blend of zone 1",
    ]  # fmt: skip
    sizes = [of.text for of in said if of.name == "dimension"]
    deeper = ["11.000", "6.00", "8.00", "9.000"]
    assert sizes == ["11.000", "6.00", *deeper, "11.000", "6.00", "10.00", "9.000", *deeper]


def test_a_zone_whose_middle_passes_a_piece_by_is_cut_across_within_it(case):
    # 2.4 mm between two ties, from 3:08 to 3:13; the zone's middle is at 3:14
    text = CASE.replace('depth = "12 mm"\n', 'depth = "12 mm"\nfillet = "0.3 mm"\n')
    tie = '[[tie]]\nclock = "3:21"\nwidth = "7.8 mm"\ndepth = "12 mm"\nfillet = "0.3 mm"\n'
    making = made_of(case(text.replace("[gas]", f"{tie}[gas]") + ZONE.replace("12:00", "3:14")),
                     "low", None, "")  # fmt: skip
    piece = min(making.pieces, key=lambda of: of.area)
    (cut,) = [of for of in making.sections[piece.number] if of.place.what == "zone 1"]
    assert 3.1 < cut.place.clock < 3.23
    assert cut.depths == (10.0,)


def test_a_section_follows_a_zone_that_runs_out_between_bores(banks):
    # a zone past half the pitch ends by half a cosine over the length of its blend
    making = banks["pieces"]
    piece = next(of for of in making.pieces if of.bore == 1 and 1 < of.clock < 2)
    zone, block = making.design.insert.zones[0], making.section.mean_block
    place = [of for of in places_of(making, piece) if of.what == "blend of zone 1"][-1]
    under = across(making, piece, place).under
    length = (block.barrel_radius + block.jacket / 2) * math.radians(zone.blend)
    r = np.linspace(under[:, 0].min(), under[:, 0].max(), 400)
    past = r * math.cos(clock_to_angle(place.clock)) - block.pitch / 2
    runs_out = 0.5 * (1 + np.cos(np.pi * np.clip(past / length, 0, 1)))
    told = np.interp(r, under[:, 0], under[:, 1])
    held = told > 4.0 - 1e-6
    depth = 4.0 + 0.5 * (zone.depth - 4.0) * runs_out  # in the middle of the blend about the bore
    np.testing.assert_allclose(told[held], depth[held], atol=2e-3)
    assert (past[held] > 0.2 * length).any()


def extent(of):
    """Low x, high x, low y, high y of level words, less what letters may share."""
    across = wide(of.text, of.size, of.bold)
    x = of.at.real - {"start": 0.0, "middle": across / 2, "end": across}[of.anchor]
    return x, x + across, of.at.imag, of.at.imag + 0.7 * of.size


@pytest.mark.parametrize("form", ["pieces", "ring"])
def test_no_words_lie_on_others_or_beyond_the_frame(banks, form):
    for page in pages_of(banks[form]):
        level = [of for of in page.items if isinstance(of, Words) and of.text and not of.turn]
        places = [extent(of) for of in level]
        for of, (left, right, low, high) in zip(level, places, strict=True):
            assert left >= 0, of
            assert right <= page.size[0], of
            assert low >= 0, of
            assert high <= page.size[1], of
        for (one, a), (other, b) in itertools.combinations(zip(level, places, strict=True), 2):
            apart = a[1] <= b[0] or b[1] <= a[0] or a[3] <= b[2] or b[3] <= a[2]
            assert apart, (page.title, one.text, other.text)


def test_limits_of_pocket_and_insert_make_the_window(case):
    making = made_of(case(CASE), "low", None, "")
    for of in side_limits(making):
        low, _, high = (value / 2 for value in making.made.of(making.fit, of.part))
        assert of.insert[0] - of.pocket[1] == pytest.approx(low)
        assert of.insert[1] - of.pocket[0] == pytest.approx(high)
    page = pages_of(making)[1]
    words = [of.text for of in page.items if isinstance(of, Words)]
    # half of 8 +- 2 um, of which the pocket has half: 52 and 61 mm
    assert "R 52.0000: pocket 51.9990 to 52.0000, insert 51.9950 to 51.9960" in words
    assert "R 61.0000: pocket 61.0000 to 61.0010, insert 61.0040 to 61.0050" in words
    assert "0.0010 UZ+0.0045" in words
    assert "off the points, per side: pocket +0.0000 to +0.0010, insert -0.0250 to -0.0240" in words


def test_depths_zones_and_slots_stand_on_the_sheet(case):
    making = made_of(case(CASE + ZONE + SLOT), "low", None, "")
    page = next(of for of in pages_of(making)[1:] if "slot" in str([
        item.text for item in of.items if isinstance(item, Words)]))  # fmt: skip
    words = [of.text for of in page.items if isinstance(of, Words)]
    text = " ".join(words)
    assert {"6.00", "10.00", "9.000"} <= set(words)
    assert "10.00 mm deep about bore 1 from -20.00 to 20.00 deg, clockwise from 12:00" in text
    assert "blends to 6.00 at -30.00 and 30.00 deg, half a cosine wave" in text
    # 9 mm less a slot of 5 mm in the middle
    assert "least web 2.00 mm" in text


def test_the_corners_of_a_pocket_are_told_by_the_pocket_itself(case):
    """The fillets of ties are no corners of a ring that goes over them; a single one has none."""
    bank = CASE.replace(
        'bore = "87 mm"', 'bores = 2\npitch = "97 mm"\nvalley_fillet = "4 mm"\nbore = "87 mm"'
    )
    bank = bank.replace('"3:00"', '"12:00"').replace('"9:00"', '"6:00"')
    ring = bank.replace('depth = "6 mm"', 'depth = "6 mm"\nform = "ring"')
    for text, words in ((CASE, "3.00 mm radius"), (ring, "4.00 mm radius"), (RING, "")):
        page = pages_of(made_of(case(text), "low", None, ""))[0]
        told = " ".join(of.text for of in page.items if isinstance(of, Words))
        assert ("Corners of the pocket" in told) == bool(words)
        assert f"Corners of the pocket {words}" in told or not words


def test_a_ring_says_which_ties_are_milled(case):
    pages = pages_of(made_of(case(RING), "low", None, ""))
    told = " ".join(of.text for of in pages[-1].items if isinstance(of, Words))
    assert pages[-1].title.endswith("pocket")
    assert (
        "Ties milled down to 6.00 mm from A, as wide as the pocket: bore 1 at 3:00, bore 1 at 9:00"
        in told
    )
    plain = pages_of(made_of(case(CASE), "low", None, ""))
    assert not any(page.title.endswith("pocket") for page in plain)


def test_what_holds_for_all_pieces_stands_on_the_plan(case):
    making = made_of(case(RING.replace('"8 um"', '"40 um"').replace('"2 um"', '"38 um"')), "low",
                     None, "")  # fmt: skip
    words = " ".join(of.text for of in pages_of(making)[0].items if isinstance(of, Words))
    assert "Datum A: the deck" in words
    assert "0.20 mm of stock above it" in words
    assert "Lead chamfer 0.30 mm x 45 deg" in words
    # ISO 286: H7 of 122 mm is 40 um, p6 43 to 68 um
    assert (
        "outer wall, 122.000 mm diameter: ISO 286 H7/p6, 3 to 68 um, is within 2.0 to 78.0 um"
        in words
    )


def plan_words(case, text):
    pages = pages_of(made_of(case(text), "low", None, ""))
    return " ".join(of.text for of in pages[0].items if isinstance(of, Words)), pages


def test_what_has_no_limits_of_its_own_is_told_them_where_a_table_names_it(case):
    narrow = CASE.replace('depth = "6 mm"', 'depth = "6 mm"\nwidth = "5 mm"')
    for text, sides in ((CASE, set()), (narrow, {"free"}), (CASE + REGISTER, {"tie fillet"})):
        words, pages = plan_words(case, text)
        named = {of.text for page in pages for of in page.items
                 if isinstance(of, Words) and of.name == "cell5"}  # fmt: skip
        assert named & {"free", "tie fillet"} == sides
        slots = "Slots and free edges" if "free" in sides else "Slots"
        assert f"{slots}: within 0.10 mm of the points." in words
        fillets = "Sides called tie fillet: within the limits of the tie."
        assert (fillets in words) == ("tie fillet" in sides)


def test_the_plan_says_that_the_block_is_milled_and_ties_below_a_ring(case):
    milled = "The block is milled as the sheets of the pocket say"
    assert milled not in plan_words(case, CASE)[0]
    assert f"{milled}." in plan_words(case, CASE + REGISTER)[0]
    assert f"{milled}, and the ties down to 6.00 mm." in plan_words(case, RING)[0]


def test_a_slot_says_how_far_it_is_from_the_ring_of_a_gasket(case):
    # from 54 mm off the axis, 5 mm about 56.5; the ring ends at (98 + 3) / 2
    text = CASE + SLOT + HEAD
    pages = pages_of(made_of(case(text), "low", None, ""))
    told = " ".join(of.text for page in pages for of in page.items if isinstance(of, Words))
    assert "least web 2.00 mm, to the barrel; 3.50 mm to the gasket's ring." in told
