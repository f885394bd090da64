"""Drawings of pieces: they open without faults, read back equal, and say what is to be cut."""

import math
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import recover
from made import CASE, REGISTER, RING

from cases.making.drawing import LAYERS, write_drawings
from cases.making.limits import side_limits
from cases.making.make import made_of
from geometry.planar import Area, Curve, signed_area

SLOT = '[[design.slot]]\nclock = "12:00"\nwidth = "5 mm"\narc = "20 deg"\n'
SLOTTED = CASE + SLOT


@pytest.fixture
def drawn(case, tmp_path):
    def of(text=CASE, inch=False, **changed):
        read = case(text)
        read = read.told("making", replace(read.given["making"], **changed))
        if inch:
            read = replace(read, spoken=replace(read.spoken, length="in", small="thou"))
        making = made_of(read, "low", None, "")
        missing = write_drawings(making, tmp_path)
        return making, missing, tmp_path

    return of


def on(drawing, layer):
    return [of for of in drawing.modelspace() if of.dxf.layer == layer]


def loops(drawing, layer):
    return loops_of(on(drawing, layer))


def loops_of(lines):
    found = []
    for line in lines:
        assert line.closed
        points = [(complex(x, y), bulge) for x, y, bulge in line.get_points("xyb")]
        found.append(
            [
                Curve(z, after, bulge)
                for (z, bulge), (after, _) in zip(points, [*points[1:], points[0]], strict=True)
            ]
        )
    return found


def shown(dimension):
    """The number that stands in a drawing for a dimension."""
    (words,) = [of for of in dimension.get_geometry_block() if of.dxftype() in ("MTEXT", "TEXT")]
    text = words.text if words.dxftype() == "MTEXT" else words.dxf.text
    value = float(text.removeprefix("R").replace(",", "."))
    assert value == pytest.approx(dimension.get_measurement(), abs=6e-4)
    return value


@pytest.mark.parametrize("text", [SLOTTED, RING], ids=["pieces", "ring"])
def test_it_opens_without_faults_and_reads_back_equal(drawn, text):
    making, missing, folder = drawn(text)
    assert not missing
    for piece in making.pieces:
        drawing, auditor = recover.readfile(folder / f"piece-{piece.number}.dxf")
        assert not auditor.errors
        assert not auditor.fixes
        assert drawing.header["$INSUNITS"] == 4
        assert {layer.dxf.name for layer in drawing.layers} >= set(LAYERS)
        back = loops(drawing, "OUTLINE") + loops(drawing, "SLOTS")
        assert sum(map(signed_area, back)) == pytest.approx(piece.area, rel=1e-12)
        for loop, own in zip(back, piece.loops, strict=True):
            for one, other in zip(loop, own, strict=True):
                assert abs(one.start - other.start) < 1e-9
                assert one.bulge == pytest.approx(other.bulge, abs=1e-12)


def test_dimensions_measure_what_is_drawn(drawn):
    making, _, folder = drawn(SLOTTED)
    piece = making.pieces[0]
    drawing = ezdxf.readfile(folder / "piece-1.dxf")
    told = [shown(of) for of in on(drawing, "DIMENSIONS") if of.dxftype() == "DIMENSION"]

    def has(value):
        return any(abs(one - value) < 6e-4 for one in told)

    radii = {round(curve.radius, 3) for curve in piece.curves if curve.bulge}
    assert {52.0, 61.0, 3.5, 2.5} <= radii
    assert all(has(radius) for radius in radii)
    straight = [curve.length for curve in piece.loops[0] if not curve.bulge]
    assert len(straight) == 2
    assert all(has(length) for length in straight)
    assert has(61.0)  # from the axis to the outer wall at 12:00


def test_the_cutter_keeps_its_radius_from_the_piece(drawn):
    making, _, folder = drawn(SLOTTED, cutter=4.0)
    for piece in making.pieces:
        drawing = ezdxf.readfile(folder / f"piece-{piece.number}.dxf")
        outer, *inner = loops(drawing, "CUTTER")
        length = sum(curve.length for curve in piece.loops[0])
        around = signed_area(piece.loops[0]) + 2.0 * length + math.pi * 4.0  # Steiner
        assert signed_area(outer) == pytest.approx(around, rel=1e-6)
        assert len(inner) == len(piece.loops) - 1


@pytest.mark.parametrize("text", [CASE + REGISTER, RING], ids=["register", "ring"])
def test_the_cutter_of_the_pocket_keeps_its_radius_from_every_wall(drawn, text):
    making, missing, folder = drawn(text, pocket_cutter=5.0)
    assert not missing
    for piece in making.pieces:
        drawing = ezdxf.readfile(folder / f"piece-{piece.number}.dxf")
        walls, paths = loops(drawing, "POCKET"), loops(drawing, "POCKET_CUTTER")
        assert len(paths) == len(walls)
        shares = np.linspace(0, 1, 400)
        edge, way = (
            np.concatenate([of.points(shares) for loop in some for of in loop])
            for some in (walls, paths)
        )
        away = np.abs(way[::20, None] - edge).min(axis=1)
        assert away == pytest.approx(np.full(len(away), 2.5), abs=0.02)
        assert Area(walls).holds(way).all()
        assert any("of the pocket 5 mm" in of.dxf.text for of in on(drawing, "NOTES"))


def test_a_pocket_that_its_cutter_does_not_enter_is_said(drawn):
    _, missing, folder = drawn(CASE + REGISTER + 'corner_radius = "3 mm"\n', pocket_cutter=7.0)
    assert len(missing) == 2
    assert missing[0].startswith("No cutter of 7 mm follows the pocket of piece 1: a hollow of ")
    assert "radius 3 mm near" in missing[0]
    assert not on(ezdxf.readfile(folder / "piece-1.dxf"), "POCKET_CUTTER")


def test_register_steps_and_sections_stand_beside_the_piece(drawn):
    # a register 1 mm into both walls; a zone 60 deg wide with its blends goes below its floor, as
    # far as the jacket is open (closed form of half rings)
    register = '[design.register]\ndepth = "6 mm"\nledge = "1 mm"\ncorner_radius = "3 mm"\n'
    zone = '[[design.zone]]\nclock = "12:00"\nwidth = "40 deg"\ndepth = "10 mm"\nblend = "10 deg"\n'
    making, missing, folder = drawn(CASE + register + zone)
    assert not missing
    top = next(of for of in making.pieces if round(of.clock) % 12 == 0)
    drawing, auditor = recover.readfile(folder / f"piece-{top.number}.dxf")
    assert not auditor.errors
    (pocket,) = loops(drawing, "POCKET")
    strip = [r**2 * math.acos(4 / r) - 4 * math.sqrt(r**2 - 16) for r in (51.0, 62.0)]
    corners = 4 * 3.0**2 * (1 - math.pi / 4)
    assert signed_area(pocket) == pytest.approx(strip[1] - strip[0] - corners, abs=0.3)
    steps = [of for of in on(drawing, "STEPS") if of.dxftype() == "LWPOLYLINE"]
    assert len(steps) == 2
    shoulders = [math.pi / 6 * (a**2 - b**2) for a, b in ((52, 51), (62, 61))]
    assert sorted(map(signed_area, loops_of(steps))) == pytest.approx(shoulders, rel=2e-3)
    said = {of.dxf.text for of in on(drawing, "STEPS") if of.dxftype() == "TEXT"}
    assert said == {"no deeper than 6 mm"}
    across = [shown(of) for of in on(drawing, "SECTIONS") if of.dxftype() == "DIMENSION"]
    assert across == [11.0, 6.0, 11.0, 6.0, 8.0, 11.0, 6.0, 10.0, 11.0, 6.0, 8.0]


def test_a_slot_that_no_cutter_enters_is_said(drawn):
    _, missing, _ = drawn(SLOTTED, cutter=6.0)
    (line,) = missing
    assert line.startswith("No cutter of 6 mm follows slot 1 of piece")
    assert line.endswith("a hollow of radius 2.5 mm near 11:37 of bore 1.")


def test_a_clearance_of_no_stated_tolerance_may_be_larger_and_never_less(drawn):
    """In place of limits without any width, which no one can cut."""
    making, _, _ = drawn()
    fit = replace(making.fit, tolerance=0.0)
    (tie,) = (of for of in side_limits(replace(making, fit=fit)) if of.part == "tie")
    assert tie.press == pytest.approx((-0.075, -0.025, -0.025))
    assert tie.insert[1] - tie.pocket[0] == pytest.approx(-0.025)
    assert tie.insert[0] - tie.pocket[1] == pytest.approx(-0.075)


def test_a_file_in_inches(drawn):
    making, _, folder = drawn(inch=True)
    drawing = ezdxf.readfile(folder / "piece-1.dxf")
    assert drawing.header["$INSUNITS"] == 1
    (loop,) = loops(drawing, "OUTLINE")
    assert signed_area(loop) == pytest.approx(making.pieces[0].area / 25.4**2, rel=1e-9)
    words = [of.dxf.text for of in on(drawing, "NOTES")]
    assert any(line.startswith("barrel: insert +0.16 to +0.20 thou") for line in words)


def test_its_notes_say_size_material_and_datum(drawn):
    _, _, folder = drawn()
    words = [of.dxf.text for of in on(ezdxf.readfile(folder / "piece-2.dxf"), "NOTES")]
    assert "low, piece 2 of 2" in words[0]
    assert any(line.endswith("pocket's as drawn, with its liner in.") for line in words)
    # half of 8 +- 2 um, and of a clearance of 50 +- 2 um
    assert "barrel: insert +4.0 to +5.0 um, pocket +0.0 to +1.0 um" in words
    assert "tie: insert -25.0 to -24.0 um, pocket +0.0 to +1.0 um" in words
    assert any("axis of bore 1" in line for line in words)
    assert any("Depth 6 mm; break edges 0.3 mm." in line for line in words)


def test_a_second_library_reads_the_same(drawn):
    """GDAL's reader, by pyogrio: layers, corners of all loops, and the words beside them."""
    pyogrio = pytest.importorskip("pyogrio")
    making, _, folder = drawn(SLOTTED)
    for piece in making.pieces:
        meta, _, shapes, columns = pyogrio.raw.read(folder / f"piece-{piece.number}.dxf")
        found = dict(zip(meta["fields"], columns, strict=True))
        assert set(found["Layer"]) >= {"OUTLINE", "CUTTER", "POCKET", "DATUM", "NOTES"}
        rings = [
            shapely.from_wkb(shape)
            for shape, layer in zip(shapes, found["Layer"], strict=True)
            if layer in ("OUTLINE", "SLOTS")
        ]
        assert all(ring.is_ring for ring in rings)
        corners = np.concatenate([shapely.get_coordinates(ring) for ring in rings]) @ [1, 1j]
        for curve in piece.curves:  # about the axis of bore 1, where the only bore stands
            assert np.abs(corners - curve.start).min() < 1e-9
        outer, *slots = sorted((shapely.Polygon(ring).area for ring in rings), reverse=True)
        assert outer - sum(slots) == pytest.approx(piece.area, rel=3e-3)  # it flattens arcs
        said = [text for text in found["Text"] if text]
        assert any("Depth 6 mm; break edges 0.3 mm." in text for text in said)
