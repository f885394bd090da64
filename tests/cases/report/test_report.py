"""Pictures, report and VTU files of a small solved bank, and of a plain ring."""

from __future__ import annotations

import base64
import dataclasses
import html
import itertools
import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from urllib.parse import unquote

import matplotlib
import numpy as np
import pytest

from cases.base import figures as plots
from cases.base.figures import LINES, line_styles
from cases.base.output import file_keys
from cases.base.templates import render
from cases.block.features import features
from cases.gas.solve import gas_of
from cases.read import read_case
from cases.report.page import write_report
from cases.report.panels import svg_address
from cases.report.pictures import write_pictures
from cases.report.terminal import print_result
from cases.run import solve_case
from cases.stress.lines import stress_lines
from cases.stress.maps import FIELDS, stress_maps, stress_scale
from cases.stress.result import CaseResult
from cases.stress.spots import labelled_spots, listed_spots, rated_worst
from cases.stress.traces import barrel_face, bore_wall, plain_wall, stress_at_cut
from cases.stress.vtu import PART_IDS, write_vtu
from cases.stress.why import crack_direction, why
from cases.subjects import SUBJECTS
from fea.closed_form import lame_ring
from fea.stress import hoop
from geometry.clock import hours_between
from geometry.drawing import _pushed_apart, view_of
from geometry.section import Block, Tie
from geometry.section_mesh import Corner

BANK = """
job = "Two <in line> & invented"
note = "Invented for a test."

[block]
bores = 2
pitch = "97 mm"
bore = "87 mm"
liner = "2.5 mm"
liner_material = "grey iron class 30"
barrel_wall = "6 mm"
jacket = "9 mm"
outer_wall = "9 mm"
material = "A356-T6"

[[tie]]
clock = "12:20"
width = "10 mm"
depth = "12 mm"
fillet = "3 mm"

[[tie]]
clock = "5:40"
width = "10 mm"
depth = "12 mm"
fillet = "3 mm"

[[relief_cut]]
clock = "7:35"
radius = "57 mm"
diameter = "15 mm"
depth = "22 mm"

[gas]
peak_pressure = "100 bar"

[section]
mesh = "coarse"

[[design]]
name = "bare"

[[design]]
name = "filled"
depth = "10 mm"
material = "6061-T6"

[[design.zone]]
clock = "7:35"
width = "30 deg"
depth = "18 mm"
blend = "10 deg"
"""

RING = """
job = "Ring"

[block]
bore = "100 mm"
barrel_wall = "20 mm"
material = "A356-T6"

[gas]
peak_pressure = "100 bar"

[section]
depth = "30 mm"
mesh = "coarse"

[[design]]
name = "bare"
"""


def solved(text: str, folder: Path) -> CaseResult:
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return solve_case(read_case(path))


@pytest.fixture(scope="module")
def bank(tmp_path_factory) -> CaseResult:
    return solved(BANK, tmp_path_factory.mktemp("bank"))


@pytest.fixture(scope="module")
def ring(tmp_path_factory) -> CaseResult:
    return solved(RING, tmp_path_factory.mktemp("ring"))


@pytest.fixture(scope="module")
def written(bank, tmp_path_factory) -> tuple[Path, tuple[Path, ...]]:
    """Folder with pictures and report of the bank, and the pictures' paths."""
    folder = tmp_path_factory.mktemp("written")
    pictures = write_pictures(bank, folder)
    write_report(bank, folder)
    return folder, pictures


@pytest.fixture
def page(written) -> str:
    return (written[0] / "report.html").read_text(encoding="utf-8")


class Tables(HTMLParser):
    """Every table of a page as rows of cell texts."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tables: list[list[list[str]]] = []
        self._open = False
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")
            self._open = True

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self._open = False

    def handle_data(self, data):
        if self._open:
            self.tables[-1][-1][-1] += data


def table_with(page: str, heading: str) -> list[list[str]]:
    return next(table for table in Tables(page).tables if heading in table[0])


# --- around the clock ---


def test_traces_of_a_ring_follow_lame(ring):
    """Lamé's ring: Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, art. 28."""
    (design,) = ring.designs
    pressure = gas_of(ring).line_load / ring.case.section_depth
    for trace, radius in ((bore_wall(design), 50.0), (barrel_face(design), 70.0)):
        exact = lame_ring(radius, 50.0, 70.0, p_in=pressure, youngs_modulus=1.0, poisson=0.3)
        assert trace.radius_mm == pytest.approx(radius, rel=2e-4)
        assert trace.hoop_mpa == pytest.approx(float(exact.hoop), rel=5e-3)
    assert barrel_face(design).wall_mm == pytest.approx(20.0, abs=0.02)


def test_barrel_face_ends_where_barrels_run_together(bank):
    face = barrel_face(bank.designs[0])
    (next_bore,) = (f for f in features(bank.case.block) if f.kind == "next bore")
    assert next_bore.clock_hours == 3.0  # bore 1 fires, the other is on its right
    gone = ~np.isfinite(face.hoop_mpa)
    assert gone[np.abs(face.clock_hours - 3) < 0.5].all()
    assert not gone[~next_bore.covers(face.clock_hours, 0.1)].any()


def test_barrel_face_shows_the_worst_spot_of_the_relief_cut(bank):
    bare = bank.designs[0]
    spot = rated_worst(bare, ("barrel",))
    face = barrel_face(bare)
    at = np.argmin(np.abs(face.clock_hours - spot.clock_hours))
    assert face.radius_mm[at] == pytest.approx(spot.radius_mm, abs=0.1)
    assert face.hoop_mpa[at] == pytest.approx(spot.hoop_mpa, rel=0.01)


def test_plain_wall_leaves_out_every_feature(bank):
    face = barrel_face(bank.designs[0])
    plain = face.clock_hours[plain_wall(bank.case.block, face)]
    for clock in (1 / 3, 3.0, 5 + 40 / 60, 7 + 35 / 60):
        assert np.abs(plain - clock).min() > 0.25
    assert face.wall_mm[plain_wall(bank.case.block, face)] == pytest.approx(6.0, abs=0.02)


def test_a_feature_covers_both_sides_of_twelve():
    tie = Tie(clock=12.0, width=20.0, depth=10.0)
    block = Block(bore=90, barrel_wall=5, jacket=10, outer_wall=8, ties=(tie,))
    (feature,) = features(block)
    assert feature.covers(np.array([11.9, 0.1, 1.0])).tolist() == [True, True, False]


# --- pictures ---


def test_every_picture_is_there_and_fit_for_print(written, bank):
    """Fields in points only; what is lines in lines too, to a hundredth of a point."""
    from PIL import Image

    _, pictures = written
    names = {path.name for path in pictures}
    fields = {"hoop", "principal", "stress-bare", "stress-filled"}
    lines = {"section", "inserts", "clock", "growth", "designs", "gas", "pressure-by-depth"}
    points = {f"{stem}.png" for stem in fields | lines}
    assert names == points | {f"{stem}.svg" for stem in lines}
    for path in pictures:
        if path.suffix == ".png":
            with Image.open(path) as image:
                assert min(image.info["dpi"]) > (109 if path.stem in lines else 149)
                assert image.size[0] > (400 if path.stem in lines else 1000)
                assert image.mode == "P"
        else:
            root = ET.parse(path).getroot()
            assert root.tag == "{http://www.w3.org/2000/svg}svg"
            drawn = [path.get("d", "") for path in root.iter("{http://www.w3.org/2000/svg}path")]
            assert not any(re.search(r"\.\d{3}", one) for one in drawn)


def test_the_same_result_gives_the_same_pictures(written, bank, tmp_path):
    folder, _ = written
    for path in write_pictures(bank, tmp_path):
        assert path.read_bytes() == (folder / path.name).read_bytes(), path.name


def test_picture_names_of_designs_are_unlike():
    designs = [SimpleNamespace(name=name) for name in ("A b", "a-b", "3/8 in", "...", "!")]
    keys = file_keys(SimpleNamespace(designs=designs))
    assert list(keys.values()) == ["a-b", "a-b-2", "3-8-in", "design", "design-2"]


def figures_of(result: CaseResult):
    with matplotlib.rc_context(plots.STYLE):
        for name, figure in itertools.chain(
            *(
                getattr(subject, hook)(result)
                for hook in ("maps", "figures")
                for subject in SUBJECTS
            )
        ):
            figure.set_dpi(plots.DOTS_PER_INCH)
            figure.canvas.draw()
            yield name, figure


def test_no_text_is_clipped_or_lies_on_another(bank):
    for name, figure in figures_of(bank):
        texts = [text for axes in figure.axes for text in [*axes.texts, axes.title]]
        for axes in figure.axes:
            for axis in (axes.xaxis, axes.yaxis):
                texts += [axis.label, *(tick.label1 for tick in axis._update_ticks())]
        texts = [text for text in texts if text.get_text() and text.get_visible()]
        boxes = [text.get_window_extent() for text in texts]
        for text, box in zip(texts, boxes, strict=True):
            assert figure.bbox.contains(box.x0, box.y0), (name, text.get_text())
            assert figure.bbox.contains(box.x1, box.y1), (name, text.get_text())
        for (one, a), (two, b) in itertools.combinations(zip(texts, boxes, strict=True), 2):
            overlap = a.padded(-1.5).overlaps(b.padded(-1.5))
            assert not overlap, (name, one.get_text(), two.get_text())


def test_all_maps_of_a_field_share_one_scale(bank):
    view = view_of(bank.case.block)
    for field in FIELDS:
        values = [
            [field.of(layer, one.mesh.points[layer.nodes]) for layer in one.stresses]
            for one in bank.designs
        ]
        scale = stress_scale(field, bank.designs, values, view)
        worst = max(field.of_spot(spot) for one in bank.designs for spot in one.hot_spots)
        assert 0.5 * worst < scale.high < 1.5 * worst
        assert scale.low == (-scale.high if field.signed else 0.0)


@pytest.mark.parametrize("count", [1, 2, 3, 6, 8])
@pytest.mark.parametrize("middle", [0.0, 0.8, 1.6])
def test_labels_are_pushed_apart_in_order(count, middle):
    angles = middle + np.sort(np.random.default_rng(count).uniform(-0.3, 0.3, count))
    sizes = np.full((count, 2), [0.6, 0.3])
    moved = _pushed_apart(angles, sizes)
    assert (np.diff(moved) > 0).all()
    for one, two in itertools.combinations(moved, 2):
        apart = np.abs([np.cos(one) - np.cos(two), np.sin(one) - np.sin(two)])
        assert (apart > 0.99 * sizes[0]).any()


def test_maps_number_the_worst_spots_without_holes(bank):
    for design in bank.designs:
        labelled = labelled_spots(design)
        assert any(one is rated_worst(design, ("barrel", "tie", "outer wall")) for one in labelled)
        assert len({spot.part for spot in labelled}) > 1
        order = [design.hot_spots.index(spot) for spot in labelled]
        assert order == sorted(order)
        for one, two in itertools.combinations(labelled, 2):
            assert abs(hours_between(one.clock_hours, two.clock_hours)) > 0.6
        assert len(labelled_spots(design, 2)) == 2
        numbers = [named for named, _ in listed_spots(design) if named]
        assert numbers == list(range(1, len(labelled) + 1))
    figure = dict(stress_maps(bank))["hoop"]
    for axes, design in zip(figure.axes, bank.designs, strict=False):
        told = [text.get_text() for text in axes.texts if "MPa" in text.get_text()]
        assert sorted(int(text.split()[0]) for text in told) == list(range(1, len(told) + 1))
        assert len(told) == len(labelled_spots(design)) > 2


# --- report ---


def test_the_page_loads_nothing_from_outside(page):
    loads = re.findall(r"""(?:src|href|srcset|data|action)\s*=\s*["']([^"']*)""", page)
    loads += re.findall(r"url\(([^)]*)", page) + re.findall(r"@import[^;]*", page)
    assert loads
    assert all(load.startswith(("data:image/", "#", "%23")) for load in loads)  # "#": in this page
    assert "<script" not in page
    assert "<link" not in page
    assert "http://" not in page
    assert "https://" not in page


def test_the_page_has_a_place_for_every_word_that_it_links(page):
    linked = set(re.findall(r'href="#(word-[a-z-]+)"', page))
    assert "word-relief-cut" in linked
    assert linked <= set(re.findall(r'id="(word-[a-z-]+)"', page))


def test_embedded_pictures_are_whole(page, written):
    """Or a panel of one is, with all that it refers to."""
    lines = re.findall(r'src="data:image/svg\+xml,([^"]+)"', page)
    points = re.findall(r'src="data:image/png;base64,([A-Za-z0-9+/=]+)"', page)
    kept = [path.read_text(encoding="utf-8") for path in written[0].glob("*.svg")]
    whole = [
        unquote(svg_address(one)).partition(",")[2] for one in kept if "data-panels" not in one
    ]
    seen = 0
    for text in lines:
        data = unquote(html.unescape(text))
        root = ET.fromstring(data)
        assert root.tag.endswith("svg")
        asked = set(re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', data))
        names = {one.get("id") for one in root.iter()}
        assert len(list(root.iter())) > 12
        assert {one or other for one, other in asked} <= names
        seen += data in whole
    assert len(whole) >= seen >= len(whole) - 1 > 2  # inserts are shown in points
    assert len(lines) > seen + 5
    assert len(points) > 5
    for text in points:
        assert base64.b64decode(text, validate=True).startswith(b"\x89PNG")


def test_the_page_names_the_job_safely_and_says_it_is_invented(page):
    assert "<h1>Two &lt;in line&gt; &amp; invented</h1>" in page
    assert "Invented for a test." in page


def test_the_page_shows_every_caution(page):
    for words in ("not a certificate", "sonic-test", "liquid nitrogen", "licensed engineer",
                  "within about 15 %", "within about 10 %", "1.2 to 3 times",
                  "bonded"):  # fmt: skip
        assert words in page, words


def test_glance_table_holds_the_results(page, bank):
    _, *rows = table_with(page, "design")
    assert [row[0] for row in rows] == ["bare", "filled"]
    for row, design in zip(rows, bank.designs, strict=True):
        spot = max(
            (s for s in design.hot_spots if s.part in ("barrel", "tie", "outer wall")),
            key=lambda s: s.principal_mpa,
        )
        assert row[1].startswith(f"{spot.part}, {spot.clock}")
        assert row[2] == f"{spot.principal_mpa:.0f}"
        assert row[-4:] == [
            f"{design.bore.mean_growth_um:.1f}", f"{design.bore.out_of_round_um:.1f}",
            f"{design.open_area_mm2:.0f}", f"{design.insert_area_mm2:.0f}",
        ]  # fmt: skip


def test_spot_tables_hold_the_results(page, bank):
    tables = [table for table in Tables(page).tables if table[0][0] == "on the maps"]
    for (_, *rows), design in zip(tables, bank.designs, strict=True):
        assert next(row[0] for row in rows if row[0] != "\N{EN DASH}") == "1"
        assert {row[1] for row in rows} == {spot.part for spot in design.hot_spots}
        for row, (named, spot) in zip(rows, listed_spots(design), strict=True):
            assert row[0] == str(named or "\N{EN DASH}")
            assert row[1:3] == [spot.part, spot.clock]
            assert row[5:9] == [
                f"{value:.1f}"
                for value in (spot.principal_mpa, spot.hoop_mpa, spot.von_mises_mpa, spot.error_mpa)
            ]


def test_the_story_of_the_bare_wall(page, bank):
    bare = bank.designs[0]
    story = why(bare)
    assert story.place == "relief cut 7:35"
    assert story.wall_left_mm == pytest.approx(57 - 7.5 - 46)  # pocket edge to liner
    assert story.plain_wall_mm == pytest.approx(6.0, abs=0.02)
    face = barrel_face(bare)
    hours = face.clock_hours  # 12:20, 3:00, 5:40 and 7:35 left out with a quarter hour beside
    clear = (hours > 0.76) & (hours < 1.81) | (hours > 4.19) & (hours < 5.24)
    clear |= (hours > 6.09) & (hours < 7.08) | (hours > 8.09) & (hours < 11.91)
    assert story.plain_hoop_mpa == pytest.approx(np.median(face.hoop_mpa[clear]), rel=0.01)
    assert story.ratio == pytest.approx(story.spot.principal_mpa / story.plain_hoop_mpa)
    assert story.ratio > 1.3
    assert story.crack.from_radius_deg < 10
    assert (
        "The pocket leaves 3.50 mm of barrel wall where the plain wall has 6.00 mm: 58 %." in page
    )
    assert "radial, through the wall" in page
    assert f"{story.spot.principal_mpa:.0f} MPa against {story.plain_hoop_mpa:.0f} MPa" in page


def test_stress_at_a_relief_cut_is_the_worst_spot_there(bank):
    bare, filled = bank.designs
    story = why(bare)
    there = stress_at_cut(bare, story.cut, story.cut_bore)
    assert there == pytest.approx(story.spot.principal_mpa, rel=1e-6)
    # common practice, no source: closing the deck lowers the stress at a relief cut
    assert stress_at_cut(filled, story.cut, story.cut_bore) < 0.8 * there


@pytest.mark.parametrize(
    ("angle", "degrees", "words"),
    [
        pytest.param(135.0, 0.0, "radial", id="pulled along the hoop"),
        pytest.param(-45.0, 0.0, "radial", id="the same, half a turn on"),
        pytest.param(45.0, 90.0, "around the bore", id="pulled outwards"),
        pytest.param(90.0, 45.0, "slanting", id="between"),
    ],
)
def test_cracks_run_across_the_pull(angle, degrees, words):
    spot = SimpleNamespace(x_mm=30.0, y_mm=30.0, principal_angle_deg=angle)
    crack = crack_direction(spot)
    assert crack.from_radius_deg == pytest.approx(degrees)
    assert crack.words == words


def test_a_sharp_corner_is_never_rated_by(bank, tmp_path, unpictured):
    bare = bank.designs[0]
    sharp = with_first_spot(bare, sharp=True, principal_mpa=9871.0)
    result = dataclasses.replace(bank, designs=(sharp, bank.designs[1]))
    assert "9871" not in write_report(result, tmp_path).read_text(encoding="utf-8")
    assert rated_worst(sharp).principal_mpa < 9871


def with_first_spot(design, **changes):
    first = dataclasses.replace(design.hot_spots[0], **changes)
    return dataclasses.replace(design, hot_spots=(first, *design.hot_spots[1:]))


def with_corner_at_first_spot(design, away):
    """The design with a drawn sharp corner so many element sizes from its first spot."""
    spot = design.hot_spots[0]
    corner = Corner(spot.x_mm + away * spot.size_mm, spot.y_mm, 270.0)
    mesh = dataclasses.replace(design.mesh, corners=(corner,))
    return dataclasses.replace(design, mesh=mesh)


@pytest.fixture(params=["at a drawn corner", "elsewhere"])
def sharp_spot(request, bank):
    """The bank with its first spot sharp, what is to be said of it, and what must not be."""
    corner = request.param == "at a drawn corner"
    design = with_first_spot(bank.designs[0], sharp=True, settled=False)
    design = with_corner_at_first_spot(design, 1.0 if corner else 5.0)
    texts = ("Give it a fillet.", "A fillet won't help; judge the spot beside it.")
    result = dataclasses.replace(bank, designs=(design, bank.designs[1]))
    return result, *(texts if corner else reversed(texts))


def test_a_sharp_spot_says_what_to_do(sharp_spot, written):
    result, wanted, wrong = sharp_spot
    path = written[0] / "report.html"
    kept = path.read_text(encoding="utf-8")
    text = html.unescape(write_report(result, written[0]).read_text(encoding="utf-8"))
    path.write_text(kept, encoding="utf-8")
    assert text.count(wanted) == 2  # in its row, and among the limits
    assert wrong not in text
    notes = " ".join(stress_lines(result))
    spot = result.designs[0].hot_spots[0]
    assert f"Left out: bare, {spot.part} {spot.clock}. " in notes
    assert wanted in notes
    assert wrong not in notes


def test_an_error_that_is_too_large_is_told(bank, written, page, capsys):
    words = "error not within the tolerance yet"
    assert words not in page
    assert all(words not in note for note in stress_lines(bank))
    design = with_first_spot(bank.designs[0], settled=False)
    result = dataclasses.replace(bank, designs=(design, *bank.designs[1:]))
    path = write_report(result, written[0])
    text = path.read_text(encoding="utf-8")
    path.write_text(page, encoding="utf-8")
    assert text.count(words) == 2  # where the worst place is told, and in its row
    print_result(result)
    table = capsys.readouterr().out
    assert f"{design.hot_spots[0].principal_mpa:.0f}*" in table
    assert f"* {words}" in table


def test_a_lowered_limit_is_shown(bank, written, page):
    assert "on purpose" not in page
    lowered = dataclasses.replace(bank.case, thinnest_wall=1.0)
    path = write_report(dataclasses.replace(bank, case=lowered), written[0])
    text = path.read_text(encoding="utf-8")
    path.write_text(page, encoding="utf-8")
    assert "down to 1 mm on purpose; 1.5 mm is the usual limit" in text


def test_a_block_with_one_design_and_no_relief_cut(ring, tmp_path):
    write_pictures(ring, tmp_path)
    page = write_report(ring, tmp_path).read_text(encoding="utf-8")
    assert "this block has none" in page
    assert "nothing to compare" in page
    assert "no water jacket" in page
    assert "nan" not in re.sub(r"base64,[^\"]*", "", page)


# --- VTU ---


def test_vtu_reads_back_layer_by_layer(bank, tmp_path):
    import meshio

    design = bank.designs[1]
    path = tmp_path / "filled.vtu"
    write_vtu(design, path)
    mesh = meshio.read(path)
    (cells,) = mesh.cells
    assert cells.type == "triangle6"
    start = first = 0
    for layer in design.stresses:
        nodes = slice(start, start + len(layer.nodes))
        mine = slice(first, first + len(layer.triangles))
        x, y = design.mesh.points[layer.nodes].T
        assert mesh.points[nodes, 0] == pytest.approx(x, abs=5e-4)
        assert cells.data[mine] - start == pytest.approx(layer.triangles)
        assert (mesh.cell_data["part"][0][mine] == PART_IDS[layer.part]).all()
        assert (mesh.cell_data["region"][0][mine] == layer.region).all()
        read = mesh.point_data
        assert read["hoop_mpa"][nodes] == pytest.approx(hoop(layer.stress, x, y), abs=0.032)
        assert read["sxy_mpa"][nodes] == pytest.approx(layer.stress[2], abs=0.032)
        assert read["thickness_mm"][nodes] == pytest.approx(layer.thickness, abs=3.1e-5)
        moved = design.solution.displacement[layer.nodes]
        assert read["displacement_mm"][nodes, :2] == pytest.approx(moved, abs=3.1e-5)
        start, first = nodes.stop, mine.stop
    assert start == len(mesh.points)
    assert first == len(cells.data)
    assert mesh.cell_data["layer"][0].max() == 1  # the insert over the floor of the relief cut


def test_vtu_keeps_the_jump_between_liner_and_barrel(bank, tmp_path):
    import meshio

    design = bank.designs[0]
    write_vtu(design, tmp_path / "bare.vtu")
    mesh = meshio.read(tmp_path / "bare.vtu")
    fit = np.isclose(np.hypot(*mesh.points[:, :2].T), 46.0, atol=1e-3)
    parts = {
        name: np.unique(mesh.cells[0].data[mesh.cell_data["part"][0] == PART_IDS[name]])
        for name in ("liner", "barrel")
    }
    liner, barrel = (
        np.mean(mesh.point_data["hoop_mpa"][nodes[fit[nodes]]]) for nodes in parts.values()
    )
    assert liner > 1.2 * barrel  # iron strains with the alloy and is stiffer


def test_report_leads_to_the_published_problems(page):
    """Nothing that may be missing beside the page: it says how to run them."""
    section = page[page.index('id="checks"') :]
    assert "<code>hoopclock check</code>" in section


def test_many_designs_have_lines_of_their_own():
    assert len(set(line_styles(20))) == 20
    assert line_styles(3) == list(LINES[:3])


def test_a_rounded_zero_has_no_sign(tmp_path, monkeypatch):
    (tmp_path / "numbers.j2").write_text("{% for n in of %}{{ '%.0f'|format(n) }} {% endfor %}")
    monkeypatch.setattr("cases.base.templates.__file__", str(tmp_path / "base" / "page.py"))
    assert render("numbers.j2", of=[-0.2, -0.6, 0.2]) == "0 -1 0 "
