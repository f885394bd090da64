"""The sheet of walls to measure: places, methods, what is left out, and that it reads back."""

import html
import json
import math
import re
from dataclasses import replace
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

from cases import RunError, read_case
from cases.bores.walls import walls_worth
from cases.cli import main
from cases.inspection.readings import Expected, read_readings
from cases.inspection.sheet import sheet_of, sheet_page, sheet_text
from cases.inspection.worth import (
    FURTHEST,
    THINNER,
    Spare,
    WallWorth,
    spare_of,
    spare_of_rating,
)
from cases.report.rated import inputs_hash
from geometry.clock import format_clock

CASE = """\
job = "Two bores, to be measured (invented)"
[block]
bores = 2
firing_bore = 1
pitch = "96 mm"
bore = "80 mm"
barrel_wall = "7 mm"
jacket = "9 mm"
outer_wall = "8 mm"
jacket_depth = "70 mm"
draft = "1 deg"
material = "A356-T6"
[[tie]]
clock = "12:00"
width = "8 mm"
depth = "12 mm"
[[relief_cut]]
clock = "4:45"
radius = "52 mm"
diameter = "15 mm"
depth = "40 mm"
bores = [1]
[gas]
peak_pressure = "100 bar"
pressurised_depth = "24 mm"
[[design]]
name = "bare"
"""
LINED = CASE.replace(
    'barrel_wall = "7 mm"',
    'barrel_wall = "7 mm"\nliner = "2 mm"\nliner_material = "grey iron class 30"',
).replace('"52 mm"', '"54 mm"')


UNTOLD = Spare(mm=None, words="It is not told here.")
RING = """\
[[design]]
name = "ring"
material = "6061-T6"
depth = "8 mm"
"""


@pytest.fixture
def case(tmp_path):
    path = tmp_path / "two.toml"

    def of(text=CASE):
        path.write_text(text)
        return read_case(path)

    return of


def at(sheet, bore, clock):
    return [of for of in sheet.rows if of.bore == bore and format_clock(of.clock) == clock]


def test_it_has_the_hours_the_roots_of_cuts_and_ten_degrees_beside(case):
    sheet = sheet_of(case(), UNTOLD)
    clocks = {
        bore: {format_clock(of.clock) for of in sheet.rows if of.bore == bore} for bore in (1, 2)
    }
    assert {"4:45", "4:25", "5:05", "1:00", "8:00"} <= clocks[1]
    assert "4:45" not in clocks[2]
    root = at(sheet, 1, "4:45")
    assert [(of.depth, of.method.name) for of in root] == [
        (5, "ball micrometer"), (20, "ball micrometer"), (45, "ultrasound"),
    ]  # fmt: skip
    # 52 - 7.5 - 40 = 4.5 mm down to its floor, below it 7 mm and the draft (derived)
    assert [of.expected for of in root] == [
        4.5, 4.5, pytest.approx(7 + 45 * math.tan(math.radians(1))),
    ]  # fmt: skip
    assert [of.depth for of in at(sheet, 2, "5:00")] == [5, 15, 30]
    assert [of.method.name for of in at(sheet, 2, "5:00")] == ["ball micrometer"] * 2 + ["caliper"]


def test_what_no_method_reaches_is_named_and_left_out(case):
    sheet = sheet_of(case(), UNTOLD)
    missed = {(of.bore, format_clock(of.clock)): (of.depths, of.why) for of in sheet.left_out}
    assert missed[1, "3:00"][0] == (5, 20, 45)
    assert "two barrels run together" in missed[1, "3:00"][1]
    assert (1, "9:00") not in missed
    assert "two barrels run together" in missed[2, "9:00"][1]
    assert missed[1, "12:00"] == ((5,), "a tie stands there, so the wall has no far side")
    # below the tie jaws can't pass it, and ultrasound reads from the bore
    assert [(of.depth, of.method.name) for of in at(sheet, 1, "12:00")] == [
        (20, "ultrasound"), (45, "ultrasound"),
    ]  # fmt: skip
    lined = sheet_of(case(LINED), UNTOLD)
    deep = [of for of in lined.left_out if "reflects ultrasound" in of.why]
    assert {format_clock(of.clock) for of in deep if of.bore == 1} >= {"12:00", "4:45", "8:00"}
    assert not [of for of in lined.rows if of.method.name == "ultrasound"]


def test_the_blank_reads_back_once_it_is_filled_in(case, tmp_path):
    sheet = sheet_of(case(LINED), UNTOLD)
    head, *rows = sheet_text(sheet).splitlines()
    columns = head.split(";")
    filled = []
    for row in rows:
        cells = row.split(";")
        assert cells[columns.index("wall [mm]")] == ""
        cells[columns.index("wall [mm]")] = "9,0"
        cells[columns.index("liner")] = "in"
        filled.append(";".join(cells))
    path = tmp_path / "filled.csv"
    expected = Expected(bores=2, wall=7.0, liner=2.0, deepest=70.0)
    path.write_text("\n".join([head, *filled[:-3], *rows[-3:]]))
    found = read_readings(path, expected)
    assert (len(found.rows), found.empty) == (len(rows) - 3, 3)
    told = [(of.bore, format_clock(of.clock), of.depth, of.method.name) for of in sheet.rows]
    assert [(of.bore, format_clock(of.clock), of.depth, of.method) for of in found.rows] == told[
        :-3
    ]


def test_every_number_of_the_page_is_the_sheets(case):
    sheet = sheet_of(case(LINED), UNTOLD)
    page = sheet_page(replace(sheet, rows=tuple(replace(of, needed=3.3) for of in sheet.rows)))
    rows = re.findall(r"<tr><td>(.*?)</tr>", page)
    assert len(rows) == len(sheet.rows)
    for text, of in zip(rows, sheet.rows, strict=True):
        cells = re.split(r"</td><td[^>]*>", text)
        assert cells[:6] == [
            format_clock(of.clock), f"{of.depth:g}", of.method.name, of.what,
            f"{of.expected:.2f}", "3.30",
        ]  # fmt: skip
    for words in ("off by 0.10 mm, one standard error", "1 % of it is 0.06 mm on 6 mm"):
        assert words in page
    assert "not a certificate" in page
    assert page.count("deep:") == len(sheet.left_out)


def test_the_plan_has_each_bore_and_its_places_by_the_clock(case):
    sheet = sheet_of(case(), UNTOLD)
    plan = sheet_page(sheet).partition("<svg")[2].partition("</svg>")[0]
    numbers = re.findall(r'<text class="bore" x="([\d.]+)" y="([\d.]+)">(\d+)<', plan)
    assert [number for *_, number in numbers] == ["1", "2"]
    (x, y), (other, _) = [(float(x), float(y)) for x, y, _ in numbers]
    assert other - x == pytest.approx(96)
    dots = re.findall(r'<circle class="(\w+)" cx="([\d.]+)" cy="([\d.]+)"', plan)
    assert len(dots) == len({(of.bore, of.clock) for of in sheet.rows})
    ((_, *root),) = [dot for dot in dots if dot[0] == "root"]  # at 4:45 of bore 1
    middle, off = (40 + 47) / 2, math.radians(30 * 4.75)
    place = [x + middle * math.sin(off), y - middle * math.cos(off)]
    assert [float(of) for of in root] == pytest.approx(place, abs=0.1)
    hours = {
        text: (float(at) - x, float(down) - y)
        for at, down, text in re.findall(r'<text x="([\d.]+)" y="([\d.]+)">(\d+:00)<', plan)[:4]
    }
    assert hours["12:00"] == pytest.approx((0, -32), abs=0.1)
    assert hours["3:00"] == pytest.approx((32, 0), abs=0.1)


def test_it_speaks_the_cases_units(case):
    inches = re.sub(r'"([\d.]+) mm"', lambda of: f'"{float(of[1]) / 25.4:.5f} in"', CASE)
    text = sheet_text(sheet_of(case(inches), UNTOLD))
    assert "depth [in];wall [in]" in text
    assert "1;1:00;0.1969;" in text  # 5 mm
    assert re.search(r"1;4:45;0\.1969;;ball micrometer;;;root of a relief cut;0\.177;", text)


def rating(limit, ends, design="bare"):
    rated = {"limit": {"factor": limit}, "band": {"walls_low_high": ends}}
    return {"designs": [{"design": design, "rating": rated}]}


def test_the_least_wall_is_by_the_rating(case):
    """A limit that falls by a tenth with walls 0.3 mm thinner, twice the asked load (derived)."""
    found = case()

    def of_rating(limit, ends):
        return sheet_of(found, spare_of_rating(rating(limit, ends), 0.3))

    sheet = of_rating(1.2, [0.9, 1 / 0.9])
    spare = math.log(1.2) / (math.log(1 / 0.9) / 0.3)
    for of in at(sheet, 1, "5:00"):
        assert of.expected - of.needed == pytest.approx(spare)
    assert "0.5 mm to spare" in sheet.needed
    lacking = of_rating(0.9, [0.9, 1 / 0.9])
    assert "0.3 mm too little" in lacking.needed
    assert all(of.needed == pytest.approx(of.expected + 0.3) for of in lacking.rows)
    for limit, beyond in ((40.0, "<"), (0.02, ">")):
        far = of_rating(limit, [0.9, 1 / 0.9])
        share = 1 - FURTHEST if beyond == "<" else 1 + FURTHEST
        for of in far.rows:
            assert (of.needed, of.beyond) == (pytest.approx(share * of.expected), beyond)
        some = far.rows[0]
        told = f"{beyond}{share * some.expected:.2f}"
        assert sheet_text(far).splitlines()[1].endswith(f";{some.expected:.2f};{told}")
        assert html.escape(told) in sheet_page(far)
        assert f"{100 * FURTHEST:g} % of a wall" in far.needed
    assert "doesn't tell what walls are worth" in of_rating(1.2, None).needed


def test_where_a_solid_stands_for_the_section_its_band_tells_what_walls_are_worth():
    """A section that only ranks has a limit and no band of its own."""
    alone = rating(1.2, [0.9, 1 / 0.9])
    both = rating(1.2, [0.9, 1 / 0.9])
    both["designs"][0]["rating"]["section"] = {"limit": {"factor": 3.0}, "band": None}
    assert spare_of_rating(both, 0.3).mm == spare_of_rating(alone, 0.3).mm > 0


def test_without_a_rating_the_least_wall_is_by_two_solids():
    """Walls 0.5 mm thinner take off a tenth (derived)."""
    worth = WallWorth(design="bare", bore=2, limit=0.8, thin=0.72)
    spare = spare_of(worth)
    assert spare.mm == pytest.approx(math.log(0.8) / math.log(1 / 0.9) * THINNER)
    assert "two coarse solids of bare, bore 2 firing" in spare.words
    assert f"{-spare.mm:.1f} mm too little" in spare.words
    assert "nothing was rated" in spare.words
    for none in (replace(worth, limit=None), replace(worth, thin=0.9), replace(worth, thin=None)):
        assert spare_of(none).mm is None
    untold = spare_of(WallWorth(design="bare", bore=1, untold="Its tie stands in the cut."))
    assert (untold.mm, "Its tie stands in the cut." in untold.words) == (None, True)


def test_walls_are_judged_about_the_bore_that_ranks_worst(case):
    """Bore 1 has the cut; a case that fires the other is judged there all the same, as drawn."""
    judged = []

    def judge(of):
        judged.append(of)
        stands = SimpleNamespace(factor=1.3 - 0.2 * len(judged))
        return SimpleNamespace(
            designs=[SimpleNamespace(found={"rating": SimpleNamespace(stands=stands)})]
        )

    found = case(CASE.replace("firing_bore = 1", "firing_bore = 2") + RING)
    worth = walls_worth(found, judge)
    assert worth == WallWorth(design="bare", bore=1, limit=1.1, thin=pytest.approx(0.9))
    drawn, thin = judged
    assert [of.block.firing_bore for of in judged] == [1, 1]
    assert [[one.name for one in of.designs] for of in judged] == [["bare"]] * 2
    assert drawn.block.barrel_wall - thin.block.barrel_wall == THINNER
    assert not drawn.given["rating"].draws

    def fails(of):
        raise RunError("It can't be meshed.")

    assert walls_worth(found, fails).untold == "It can't be meshed."


@pytest.fixture
def worth(monkeypatch):
    """What two solids would tell, that take a minute."""
    told = WallWorth(design="bare", bore=1, limit=1.21, thin=1.1)
    monkeypatch.setattr("cases.bores.walls.walls_worth", lambda *_: told)
    return told


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_the_verb_writes_both_and_spares_one_that_is_begun(case, tmp_path, worth):
    found, out = case(), tmp_path / "out"
    done = run("sheet", tmp_path / "two.toml", "--out", out)
    assert done.exit_code == 0, done.output
    sheet = sheet_of(found, spare_of(worth))
    assert f"{len(sheet.rows)} places to measure" in " ".join(done.output.split())
    assert "Nothing was rated into this folder: two coarse solids" in done.output
    assert (out / "sheet.csv").read_bytes().decode("utf-8-sig") == sheet_text(sheet)
    assert "1.0 mm to spare" in (out / "sheet.html").read_text()  # twice THINNER
    assert sorted(path.name for path in out.iterdir()) == ["sheet.csv", "sheet.html"]
    (out / "sheet.csv").write_text("begun")
    again = run("sheet", tmp_path / "two.toml", "--out", out)
    assert again.exit_code == 2
    assert "may be filled in" in again.output
    assert (out / "sheet.csv").read_text() == "begun"


def test_the_verb_takes_what_rate_left_in_the_folder(case, tmp_path):
    from cases.base.version import __version__

    found, out = case(), tmp_path / "out"
    out.mkdir()
    left = rating(1.2, [0.9, 1.1]) | {"hoopclock": __version__, "inputs_hash": inputs_hash(found)}
    left["designs"][0]["rating"]["limit"]["pressure_mpa"] = 12.0
    (out / "rated.json").write_text(json.dumps(left))
    done = run("sheet", tmp_path / "two.toml", "--out", out)
    assert done.exit_code == 0, done.output
    assert (
        "The least wall is for the asked load on &#34;bare&#34;" in (out / "sheet.html").read_text()
    )
