"""Openings out of tables and drawings: what is read, and what is refused and how."""

import math

import ezdxf
import numpy as np
import pytest

from cases.gasket.drawing_file import circles_of, openings_of, read_drawing
from cases.gasket.opening import moved, opening_of
from cases.gasket.table_file import read_table
from cases.inspection.cells import ReadingsError
from geometry import Block, planar

BLOCK = Block(bore=87, barrel_wall=6, jacket=9, outer_wall=9, bores=2, pitch=97, firing_bore=2)


def table(folder, text):
    path = folder / "gasket.csv"
    path.write_text(text, encoding="utf-8")
    return read_table(path, BLOCK)


def refused(folder, text):
    with pytest.raises(ReadingsError) as error:
        table(folder, text)
    return " | ".join(error.value.faults)


def area(opening):
    return planar.signed_area(opening.loop())


def test_a_table_gives_places_by_clock_and_by_x_and_y(tmp_path):
    round_, slot, straight, corners = table(
        tmp_path,
        "bore;clock;radius [mm];x [in];y [in];shape;width [mm];length [mm];arc [deg];"
        "corners [mm];vent\n"
        "2;3:00;56;;;;6;;;;yes\n"
        "1;12:00;50;;;slot;4;;20;;\n"
        "1;;;0;2;slot;4;10;;;\n"
        "2;;;;;polygon;;;;0 50 / 0 60 / 10 60;no\n",
    )
    assert round_.vent
    assert not slot.vent
    assert area(round_) == pytest.approx(9 * math.pi, rel=1e-12)
    assert np.mean([c.start for c in round_.loop()]) == pytest.approx(97 + 56)
    assert area(slot) == pytest.approx(4 * 50 * math.radians(20) + 4 * math.pi, rel=1e-12)
    assert area(straight) == pytest.approx(4 * 6 + 4 * math.pi, rel=1e-12)
    x, y = np.array([(c.point(0.5).real, c.point(0.5).imag) for c in straight.loop()]).T
    assert (x.max(), x.min()) == pytest.approx((5, -5), abs=0.7)  # along its circle, 12:00
    assert y.mean() == pytest.approx(50.8)
    assert area(corners) == pytest.approx(50)
    assert {c.start for c in corners.loop()} == {97 + 50j, 97 + 60j, 107 + 60j}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("clock;radius;width [mm]\n1:30;56;6\n", "column 2: it has no unit. Write radius [mm]"),
        ("clock;radius [mm];widht [mm]\n1:30;56;6\n", "Did you mean width"),
        ("bore;width [mm]\n1;6\n", "nothing says where the openings are"),
        ("clock;radius [mm];width [mm]\n", "It has no opening"),
        ("clock;radius [mm];width [mm]\n13:30;56;6\n", 'column 1 (clock): "13:30" is no clock'),
        ("clock;radius [mm];width [mm]\n1:30;;6\n", "line 2, column 2 (radius): It is empty"),
        ("clock;radius [mm];width [mm]\n1:30;56;6 mm\n", '"6 mm" is not a number'),
        ("clock;radius [in];width [in]\n1:30;2.2;60\n", "60 in is outside 0.01969 to 7.874 in"),
        ("bore;clock;radius [mm];width [mm]\n3;1:30;56;6\n", "give 1 to 2"),
        ("clock;radius [mm];width [mm];shape\n1:30;56;6;oval\n", '"oval" is no shape'),
        ("clock;radius [mm];width [mm];shape\n1:30;56;6;slot\n", "A slot needs arc [deg]"),
        ("clock;radius [mm];width [mm];shape;length [mm]\n1:30;56;6;slot;5\n", "no longer than"),
        ("shape;corners [mm]\npolygon;0 50 / 0 60\n", "needs three corners"),
        ("shape;corners [mm]\npolygon;0 50 / 0,60 / 7\n", '"0,60" is no corner'),
        ("clock;radius [mm];width [mm];vent\n1:30;56;6;maybe\n", "neither yes nor no"),
    ],
)  # fmt: skip
def test_a_table_that_is_wrong_is_refused_with_its_place(tmp_path, text, told):
    assert told in refused(tmp_path, text)


def drawing(folder, draw, units=4, version="R2010"):
    made = ezdxf.new(version)
    made.header["$INSUNITS"] = units
    draw(made.modelspace())
    path = folder / "gasket.dxf"
    made.saveas(path)
    return path


WATER = {"layer": "WATER"}


def shapes(space):
    """A circle, a kidney of bulges, a loop of lines and arcs, an ellipse and a spline."""
    space.add_circle((10, 0), 3, dxfattribs=WATER)
    half = math.tan(math.pi / 4)  # the bulge of half a turn
    space.add_lwpolyline(
        [(30, -2, 0), (40, -2, half), (40, 2, 0), (30, 2, half)], format="xyb", close=True,
        dxfattribs=WATER,
    )  # fmt: skip
    space.add_line((50, -2), (60, -2), dxfattribs=WATER)
    space.add_line((60, 2), (50, 2), dxfattribs=WATER)  # in no order, and not all one way
    space.add_arc((60, 0), 2, -90, 90, dxfattribs=WATER)
    space.add_arc((50, 0), 2, 90, 270, dxfattribs=WATER)
    space.add_ellipse((80, 0), (5, 0), 0.4, dxfattribs=WATER)
    knots = [(100 + 5 * math.cos(a), 5 * math.sin(a)) for a in np.linspace(0, math.tau, 9)]
    space.add_spline(fit_points=knots, dxfattribs=WATER)
    space.add_text("gasket", dxfattribs=WATER)


@pytest.mark.parametrize(("units", "size"), [(4, 1.0), (1, 25.4)])
def test_a_drawing_is_read_in_true_lines_and_arcs(tmp_path, units, size):
    sheet = read_drawing(drawing(tmp_path, shapes, units), None)
    found, passed = openings_of(sheet, "water")
    areas = sorted(area(of) / size**2 for of in found)
    kidney = 40 + 4 * math.pi
    assert passed == "passed over on layer water: 1 TEXT"
    assert areas[0] == pytest.approx(9 * math.pi, rel=1e-12)
    assert areas[1] == pytest.approx(10 * math.pi, rel=1e-5)  # the ellipse
    assert areas[2:4] == pytest.approx([kidney, kidney], rel=1e-12)
    spline = next(of for of in sheet.space if of.dxftype() == "SPLINE").construction_tool()
    z = np.array([complex(of[0], of[1]) for of in spline.approximate(20_000)])
    flat = abs((z.conj() * np.roll(z, -1)).imag.sum()) / 2
    assert areas[4] == pytest.approx(flat, rel=1e-6)


def test_an_unclosed_spline_with_control_points_is_refused(tmp_path):
    def draw(space):
        space.add_spline([(0, 50), (5, 50), (5, 55)], dxfattribs=WATER)

    sheet = read_drawing(drawing(tmp_path, draw), None)
    with pytest.raises(ReadingsError) as error:
        openings_of(sheet, "WATER")
    (told,) = error.value.faults
    assert told.startswith("SPLINE ")
    assert "on layer WATER: It does not close: 7.07 mm are open at x 5, y 55 mm" in told


def test_a_flipped_entity_lies_where_it_is_seen(tmp_path):
    def draw(space):
        half = math.tan(math.pi / 8)
        points = [(-10, 0, half), (-12, 2, 0), (-12, 0, 0)]
        space.add_lwpolyline(
            points, format="xyb", close=True, dxfattribs={**WATER, "extrusion": (0, 0, -1)}
        )

    (found,), _ = openings_of(read_drawing(drawing(tmp_path, draw), None), "WATER")
    assert {of.start for of in found.loop()} == {10 + 0j, 12 + 2j, 12 + 0j}


@pytest.mark.parametrize(
    ("draw", "told"),
    [
        (lambda s: s.add_lwpolyline([(0, 50), (5, 50), (5, 55)], dxfattribs=WATER),
         "on layer WATER: It does not close: 7.07 mm are open at x 5, y 55 mm"),
        (lambda s: (s.add_line((0, 50), (5, 50), dxfattribs=WATER),
                    s.add_line((5, 50), (5, 55.5), dxfattribs=WATER)),
         "with 1 others that join it, it does not close: 7.43 mm are open at x 5, y 55.5 mm"),
        (lambda s: s.add_circle((0, 50), 3, dxfattribs={"layer": "WATR"}),
         "Nothing stands on a layer WATER. Did you mean WATR? Layers with entities: WATR."),
        (lambda s: s.add_text("no", dxfattribs=WATER), "Layer WATER holds no opening"),
        (lambda s: s.add_3dface([(0, 0, 0), (1, 0, 0), (1, 1, 0)], dxfattribs=WATER),
         "An opening can't be read of it"),
        (lambda s: s.add_circle((0, 50), 3, dxfattribs={**WATER, "extrusion": (0, 1, 0)}),
         "It does not lie flat"),
        (lambda s: [s.add_line((0, k), (1, k), dxfattribs=WATER) for k in range(51)],
         "Layer WATER has 51 entities; at most 50"),
    ],
    ids=["polyline", "lines", "layer", "text", "face", "tilted", "many"],
)  # fmt: skip
def test_a_drawing_that_is_wrong_is_refused_with_entity_layer_and_place(
    tmp_path, monkeypatch, draw, told
):
    monkeypatch.setattr("cases.gasket.drawing_file.MOST_OF_A_LAYER", 50)
    sheet = read_drawing(drawing(tmp_path, draw), None)
    with pytest.raises(ReadingsError) as error:
        openings_of(sheet, "WATER")
    assert told in " | ".join(error.value.faults)


def test_a_drawing_without_units_is_asked_for_them(tmp_path):
    path = drawing(tmp_path, shapes, units=0)
    with pytest.raises(ReadingsError, match="It says no unit that is known"):
        read_drawing(path, None)
    assert read_drawing(path, "in").scale == 25.4
    with pytest.raises(ReadingsError, match=r'Its header says mm .* unit = "in"'):
        read_drawing(drawing(tmp_path, shapes), "in")


def test_a_hundred_thousand_entities_are_counted_and_refused(tmp_path):
    line = "0\nLINE\n8\n{}\n10\n0.0\n20\n0.0\n11\n1.0\n21\n1.0\n"
    text = "0\nSECTION\n2\nENTITIES\n" + line.format("SCAN") * 99_990 + line.format("WATER") * 10
    path = tmp_path / "scan.dxf"
    path.write_text(text + "0\nENDSEC\n0\nEOF\n")
    with pytest.raises(ReadingsError, match="It has 100000 entities, 99990 of them on layer SCAN"):
        read_drawing(path, "mm")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"\0\1\2", "no drawing exchange file in text"),
        (b"hello", "no drawing exchange file in text"),
        (b"0\nSECTION\n2\nENTITIES\n0\nLINE\nten\n", "damaged"),
    ],
)
def test_what_is_no_drawing_is_refused(tmp_path, content, told):
    path = tmp_path / "gasket.dxf"
    path.write_bytes(content)
    with pytest.raises(ReadingsError, match=told):
        read_drawing(path, None)
    with pytest.raises(ReadingsError, match="There is no file"):
        read_drawing(tmp_path / "none.dxf", None)


def test_bore_circles_are_found_by_their_size(tmp_path):
    def draw(space):
        shapes(space)
        space.add_circle((5, 7), 44)
        space.add_circle((102, 7), 44, dxfattribs={"layer": "BORES"})

    sheet = read_drawing(drawing(tmp_path, draw), None)
    assert circles_of(sheet, None, 84, 100) == [5 + 7j, 102 + 7j]
    assert circles_of(sheet, "bores", 84, 100) == [102 + 7j]


def test_an_opening_keeps_its_area_and_its_vent_when_it_is_moved():
    one = opening_of("it", planar.circle(50j, 3.0), vent=True)
    (other,) = moved([one], 1j, 10, over=True)
    assert other.vent
    assert area(other) == pytest.approx(9 * math.pi)
    assert np.mean([of.start for of in other.loop()]) == pytest.approx(-1j * 50 * 1j + 10)
