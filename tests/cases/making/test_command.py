"""``hoopclock make``: what it says and writes, what it takes of a rating, what it refuses."""

import cmath
import html
import json
import math
import re
from xml.etree import ElementTree

import ezdxf
import pytest
from click.testing import CliRunner
from made import CASE

import cases.base.progress
from cases import read_case
from cases.base.version import __version__
from cases.cli import main
from cases.report.rated import inputs_hash as hash_of
from geometry.planar import Curve, signed_area

WARM = CASE.replace('"20 degC"', '"120 degC"')
INCH = re.sub(r'"(\d+) um"', lambda of: f'"{int(of[1]) / 25.4:.2f} thou"', WARM)
INCH = re.sub(r'"([\d.]+) mm"', lambda of: f'"{float(of[1]) / 25.4:.6f} in"', INCH)
INCH = INCH.replace('"120 degC"', '"248 degF"')


@pytest.fixture
def make(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def of(text=WARM, design="low", *more, rated=True):
        (tmp_path / "two.toml").write_text(text)
        if rated and not is_rated(tmp_path):
            rate(tmp_path, text, pieces=[], fit_advice=None)
        told = CliRunner().invoke(main, ["make", "two.toml", "--design", design, *more])
        return told, tmp_path / "two" / f"make-{design}"

    return of


def page_text(folder):
    return (folder / "making.html").read_text(encoding="utf-8")


def page_of(folder):
    text = page_text(folder)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<style>.*?</style>|<[^>]+>", " ", text)))


def numbers_of(folder):
    return json.loads((folder / "making.json").read_text(encoding="utf-8"))


def is_rated(tmp_path):
    """Whether what a rating left is of the case as it is."""
    left = tmp_path / "two" / "rated.json"
    own = hash_of(read_case(tmp_path / "two.toml"))
    return left.exists() and json.loads(left.read_text())["inputs_hash"] == own


def rate(tmp_path, text=WARM, into="two", inputs_hash=None, **changed):
    """Leave what a rating would, of the same case."""
    (tmp_path / "two.toml").write_text(text)
    pieces = [
        {"number": 1, "pressing_force_n": 4000.0, "hold_n": 600.0},
        {"number": 2, "pressing_force_n": 5000.0, "hold_n": 750.0},
    ]
    points = [
        {"interference_um": at, "out_of_round_um": out} for at, out in ((4.0, 6.0), (12.0, 10.0))
    ]
    advice = {
        "low_um": 5.0,
        "high_um": 14.0,
        "nominal_um": 9.5,
        "asked_um": 8.0,
        "by_interference": points,
    }
    design = {
        "design": "low", "rating": {"limit": None}, "pieces": pieces, "fit_advice": advice,
        **changed,
    }  # fmt: skip
    results = {
        "hoopclock": __version__,
        "inputs_hash": inputs_hash or hash_of(read_case(tmp_path / "two.toml")),
        "designs": [design],
    }  # fmt: skip
    (tmp_path / into).mkdir(exist_ok=True)
    (tmp_path / into / "rated.json").write_text(json.dumps(results))


def test_it_says_and_writes_how_the_insert_goes_in(make):
    told, folder = make()
    assert told.exit_code == 0, told.output
    found, page = numbers_of(folder), page_of(folder)
    least = found["least_clearance_um"]
    words = f"every side opens by at least {least:.0f} um, 10 um asked"
    assert found["drops_in"]
    assert words in told.output
    assert words in page
    air = min(of["air_seconds"] for of in found["pieces"])
    assert f"{int(air)} s in the air" in page
    for of in found["pieces"]:
        for side in of["clearance_um"].values():
            assert f"{side['at_20_degc']:.0f} {side['nominal']:.0f} {side['least']:.0f}" in page
    assert found["interference_um"] == pytest.approx(
        {"low": 6.0, "nominal": 8.0, "high": 10.0, "by": "tolerance of the case"}
    )
    assert "injure people" in page
    files = [
        "insert.step",
        "making.html",
        "making.json",
        "piece-1.dxf",
        "piece-2.dxf",
        "pocket.step",
        *(f"sheet-{k}-{paper}.svg" for k in (1, 2, 3) for paper in ("a4", "letter")),
        "sheets-a4.pdf",
        "sheets-letter.pdf",
        "traveller-a4.pdf",
        "traveller-letter.pdf",
        "traveller.html",
    ]
    assert sorted(of.name for of in folder.iterdir()) == files


def test_the_page_tells_the_cutter_of_the_pocket(make):
    cutters = '[making]\ncutter = "4 mm"\npocket_cutter = "5 mm"\n'
    told, folder = make(WARM.replace("[making]\n", cutters))
    assert told.exit_code == 0, told.output
    page = page_of(folder)
    assert "CUTTER the middle of a cutter of 4 mm goes around outline and slots" in page
    assert "POCKET_CUTTER one of 5 mm along the walls of the pocket" in page
    sheets = [ElementTree.parse(of).getroot() for of in sorted(folder.glob("sheet-*-a4.svg"))]
    words = " ".join("".join(sheet.itertext()) for sheet in sheets)
    assert re.search(r"Cutter of the insert 4(\.0+)? mm, of the\s*pocket 5(\.0+)? mm", words), words


def test_the_inside_of_a_ring_is_no_slot(make):
    _, folder = make(WARM.replace('depth = "6 mm"', 'depth = "6 mm"\nform = "ring"'))
    captions = re.findall(r"<caption>(.*?)</caption>", page_text(folder))
    assert [of for of in captions if of in ("Outline", "Inside", "Slot 1")] == ["Outline", "Inside"]


def test_it_says_what_it_is_at(make, monkeypatch):
    monkeypatch.setattr(cases.base.progress, "SILENT_AT_FIRST", 0.001)
    told, _ = make()
    assert "low: drawings and solids" in told.stderr
    assert "drawings and solids" not in told.stdout


def test_a_rating_that_tells_no_forces_is_said(make):
    told, folder = make()
    assert "Press forces are not told. Rated before, the same case" in told.output
    assert "Pressed in cold" not in page_of(folder)


@pytest.mark.parametrize("left", ["nothing", "another case", "elsewhere"])
def test_where_nothing_is_rated_it_is_rated_first(make, tmp_path, monkeypatch, left):
    """Findings count in the folder of the results, and where a rating leaves them by itself."""
    asked = []

    def run(path, out, **how):
        asked.append((path.name, str(out), how))
        rate(tmp_path, into=out)

    monkeypatch.setattr("cases.cli._run", run)
    rate(tmp_path, **({"inputs_hash": "0"} if left == "another case" else {}),
         into=tmp_path / ("elsewhere" if left == "nothing" else "two"))  # fmt: skip
    out = () if left != "elsewhere" else ("--out", "other")
    told, _ = make(WARM, "low", "--section", *out, rated=False)
    assert told.exit_code == 0, told.output
    made = tmp_path / ("other" if out else "two") / "make-low"
    assert numbers_of(made)["interference_um"]["by"] == "window of the rating"
    if left == "elsewhere":
        assert not asked
    else:
        assert asked == [("two.toml", "two", {"rate": True, "setting": None})]
        assert "so it is rated first" in told.output


def test_of_a_rating_it_takes_window_and_forces(make, tmp_path):
    rate(tmp_path)
    told, folder = make()
    found, page = numbers_of(folder), page_of(folder)
    assert found["interference_um"]["by"] == "window of the rating"
    told_of = found["interference_um"]
    assert [told_of[key] for key in ("low", "nominal", "high")] == [5.0, pytest.approx(9.5), 14.0]
    # friction 0.1 and 0.2 of 4000 and 5000 N
    forces = [(of["press_low_n"], of["press_high_n"]) for of in found["pieces"]]
    assert forces == [(pytest.approx(400), pytest.approx(800)), (500, 1000)]
    assert "Pressed in cold: 400 to 1000 N a piece, over 6 mm." in told.output
    assert "1 400 800 600" in page
    assert found["out_of_round_pressed_um"] == pytest.approx(8.0)
    assert "the bore is 8 um out of round" in page
    assert "main-bearing bores are not in the model" in page


def test_what_is_stated_of_the_making_leaves_a_rating_as_it_is(make, tmp_path):
    rate(tmp_path)
    told, folder = make(WARM.replace('"120 degC"', '"100 degC"\nfriction_high = 0.3'))
    assert max(of["press_high_n"] for of in numbers_of(folder)["pieces"]) == pytest.approx(1500)
    assert told.exit_code == 0


def test_a_window_beside_the_stated_fit_is_drawn_and_that_is_said(make, tmp_path):
    advice = {
        "low_um": 15.0, "nominal_um": 17.5, "high_um": 20.0, "asked_um": 8.0, "by_interference": [],
    }  # fmt: skip
    rate(tmp_path, fit_advice=advice)
    told, folder = make()
    made = numbers_of(folder)["interference_um"]
    assert made["by"] == "window of the rating"
    assert [made[end] for end in ("low", "nominal", "high")] == pytest.approx([15.0, 17.5, 20.0])
    assert told.output.count("outside the window") == 1


def test_a_file_in_inches_is_answered_in_them(make):
    told, folder = make(INCH)
    assert told.exit_code == 0, told.output
    least = numbers_of(folder)["least_clearance_um"]
    assert f"at least {round(least) / 25.4:.2f} thou" in told.output
    assert "248 degF" in page_of(folder)
    assert " um" not in told.output


@pytest.mark.parametrize(
    ("design", "words"),
    [
        ("bare", "It has no insert to make. It has: low."),
        ("lwo", 'Did you mean "low"? It has: low.'),
    ],
)
def test_a_design_that_can_not_be_made_is_refused(make, design, words):
    told, folder = make(WARM, design, rated=False)
    assert told.exit_code == 2
    assert words in told.output
    assert not folder.parent.exists()


def test_wrong_input_is_refused(make):
    text = WARM.replace('"120 degC"', '"160 degC"\nfriction_low = 0.4')
    told, folder = make(text, rated=False)
    assert told.exit_code == 2
    assert "making.block_temperature" in told.output
    assert "above hottest_block, 150 degC" in told.output
    assert "making.friction_low" in told.output
    assert not folder.parent.exists()


def test_an_insert_without_a_fit_says_so(make):
    told, folder = make(re.sub(r"\[design\.fit\]\n(.+\n)*", "", WARM))
    assert told.exit_code == 0
    assert "Whether it drops in is not known: the design says nothing of its fit" in told.output
    assert numbers_of(folder)["drops_in"] is None


def test_what_does_not_drop_in_is_told_with_what_would_do(make):
    told, folder = make(CASE.replace('"8 um"', '"22 um"'))
    assert told.exit_code == 0
    assert "It does not drop in" in told.output
    assert "What would do, each by itself: the block at" in page_of(folder)
    assert numbers_of(folder)["would_do"][-1] == "press it in cold"


def test_a_jacket_with_draft_is_drawn_half_way_down_the_insert(make):
    told, folder = make(WARM.replace('jacket = "9 mm"', 'jacket = "9 mm"\ndraft = "1 deg"'))
    assert "contours are those 3 mm below the deck" in told.output
    radii = re.findall(r'<td class="n">(6\d\.\d+)</td><td>left', page_text(folder))
    assert radii
    assert {float(of) for of in radii} == {round(61 - 3 * math.tan(math.radians(1)), 3)}


def test_a_piece_that_is_no_more_has_no_drawing(make):
    _, folder = make()
    (folder / "note.dxf").write_text("of someone else")
    make(WARM.replace('depth = "6 mm"', 'depth = "6 mm"\nform = "ring"'))
    drawings = sorted(of.name for of in folder.glob("*.dxf"))
    assert drawings == ["note.dxf", "piece-1.dxf"]


@pytest.mark.parametrize(("text", "size"), [(WARM, 1.0), (INCH, 1 / 25.4)], ids=["mm", "in"])
def test_a_reader_can_rebuild_each_piece_from_the_page_alone(make, text, size):
    slot = '[[design.slot]]\nclock = "12:00"\nwidth = "5 mm"\narc = "20 deg"\n'
    _, folder = make(text + slot)
    page = page_text(folder)
    contours = page.split("<h2>Contours</h2>")[1].split("<h2>Cautions</h2>")[0]
    tables = [
        re.findall(r"<tbody>.*?</tbody>", of, re.S)
        for of in re.split(r"<h3>Piece \d+</h3>", contours)[1:]
    ]
    areas = [sum(map(rebuilt_area, of)) for of in tables]
    known = [of["area_mm2"] * size**2 for of in numbers_of(folder)["pieces"]]
    assert sorted(map(len, tables)) == [1, 2]
    # a micrometre over a perimeter of some 340 mm to 1000 mm2
    assert areas == pytest.approx(known, rel=5e-5)


def rebuilt_area(table):
    cells = [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in re.findall(r"<tr>.*?</tr>", table)]
    points = [complex(float(x), float(y)) for x, y, _, _ in cells]
    loop = []
    for start, end, (_, _, way, turn) in zip(points, [*points[1:], points[0]], cells, strict=True):
        half = 0.0 if way == "line" else math.asin(abs(end - start) / 2 / float(way))
        loop.append(Curve(start, end, math.tan(half / 2) * (-1 if turn == "right" else 1)))
    return signed_area(loop)


def test_the_plan_has_every_piece_numbered_to_scale_and_a_title(make, tmp_path):
    _, folder = make()
    sheet = ElementTree.parse(folder / "sheet-1-a4.svg").getroot()
    marked = {name: [of for of in sheet.iter() if of.get("class") == name]
              for name in ("piece", "number", "bar", "scale", "job", "case-hash", "note", "mass")
              }  # fmt: skip
    assert len(marked["piece"]) == 2
    assert [of.text for of in marked["number"]] == ["1", "2"]
    up, down = re.fullmatch(r"50 mm, scale ([\d.]+):([\d.]+)", marked["scale"][0].text).groups()
    scale = float(up) / float(down)
    (bar,) = marked["bar"]
    x = [float(of) for of in re.findall(r"[ML] ([\d.]+)", bar.get("d"))]
    assert x[1] - x[0] == pytest.approx(50 * scale, rel=5e-3)
    assert marked["job"][0].text == "Two pieces (invented)"
    assert marked["case-hash"][0].text == hash_of(read_case(tmp_path / "two.toml"))
    assert marked["note"][0].text == "Estimate, see cautions"
    pieces = numbers_of(folder)["pieces"]
    mass = sum(of["area_mm2"] * 6 * 2.7e-3 for of in pieces)  # 6061: 2.70 g/cm3
    assert marked["mass"][0].text.startswith(f"{mass:.1f} g")
    assert sum(of["mass_g"] for of in pieces) == pytest.approx(mass, rel=1e-3)
    for path, of in zip(marked["piece"], pieces, strict=True):
        assert -svg_area(path.get("d")) / scale**2 == pytest.approx(of["area_mm2"], rel=1e-2)


def svg_area(words):
    found, area = words.split(), 0.0
    while found:
        mark = found.pop(0)
        if mark == "M":
            here = complex(float(found.pop(0)), float(found.pop(0)))
            continue
        if mark == "Z":
            continue
        bulge = 0.0
        if mark == "A":
            radius, _, _, large, left = (float(found.pop(0)) for _ in range(5))
            assert not large
        there = complex(float(found.pop(0)), float(found.pop(0)))
        if mark == "A":
            half = math.asin(abs(there - here) / 2 / radius)
            bulge = math.tan(half / 2) * (1 if left else -1)
        area += signed_area([Curve(here, there, bulge)])
        here = there
    return area


@pytest.mark.parametrize("way", ["as it lies", "turned", "mirrored"])
def test_a_gasket_that_lies_another_way_is_said_and_sheets_stay_as_they_are(
    make, tmp_path, monkeypatch, way
):
    """Slots at 1:30 and 4:00 of both bores, and a hole over each; the drawing is in inches."""
    slots = "".join(
        f'[[design.slot]]\nclock = "{clock}"\nwidth = "5 mm"\n' for clock in ("1:30", "4:00")
    )
    bank = WARM.replace('bore = "87 mm"', 'bores = 2\npitch = "125 mm"\nbore = "87 mm"')
    bank = bank.replace('clock = "3:00"', 'clock = "12:00"').replace('"9:00"', '"6:00"')
    gasket = '[[gasket]]\nname = "late"\ndrawing = "late.dxf"\nlayer = "WATER"\n'
    turn = cmath.exp(1j * math.radians({"as it lies": 12, "turned": 192, "mirrored": 12}[way]))
    document = ezdxf.new()
    document.header["$INSUNITS"] = 1

    def circle(z, radius, layer):
        z = (z.conjugate() if way == "mirrored" else z) * turn / 25.4 + 2 - 1j
        document.modelspace().add_circle(
            (z.real, z.imag), radius / 25.4, dxfattribs={"layer": layer}
        )

    for axis in (0, 125):
        circle(axis, 45.5, "BORE")
        for clock in (1.5, 4.0):
            circle(axis + 56.5j * cmath.exp(-1j * math.pi * clock / 6), 2.5, "WATER")
    document.saveas(tmp_path / "late.dxf")
    told, folder = make(bank + slots + gasket)
    assert told.exit_code == 0, told.output
    said = {
        "as it lies": ("79 mm2 of 79 mm2 open; none of its 4 holes blocked", ""),
        "turned": ("4 of its 4 holes blocked", 'lies = "turned by half a turn"'),
        "mirrored": ("4 of its 4 holes blocked", 'lies = "turned over along the bank"'),
    }[way]
    traveller = html.unescape((folder / "traveller.html").read_text(encoding="utf-8"))
    for where in (" ".join(told.output.split()), page_of(folder)):
        for words in said:
            assert words in where
    assert said[0].partition(" mm2 open")[0].split(" ")[0] in traveller
    sheets = [ElementTree.parse(path).getroot() for path in folder.glob("sheet-*-a4.svg")]
    words = " ".join(of.text or "" for sheet in sheets for of in sheet.iter())
    # a slot of 5 mm in the middle of 9 mm; 56.5 mm less 2.5 mm, and a bead to 43.5 + 2 + 1.5 mm
    assert "least web 2.00 mm, to the barrel; 7.00 mm to the bead of gasket late" in words
