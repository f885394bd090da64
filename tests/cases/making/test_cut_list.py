"""With the folder alone: outline, depth and pocket of each piece, from what stands on the sheets.

Nothing of the program reads them here but the modeller's volume of a STEP file, which is asked
whether what was rebuilt is what the solids have.
"""

import datetime
import math
import re
from collections import defaultdict
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from made import CASE, REGISTER, RING, ZONE, arcs

from cases import read_case
from cases.making.drawing import write_drawings
from cases.making.make import made_of
from cases.making.paper import svg_of
from cases.making.sheets import sheets_of
from geometry.cad import step_volumes, write_solids

DATE = datetime.date(2026, 5, 31)
MM = re.compile(r'"([\d.]+) mm"')
ROUND = """\
[[design.slot]]
clock = "1:00"
width = "4 mm"
[[design.slot]]
clock = "7:00"
width = "4 mm"
arc = "20 deg"
"""
BANK = CASE.replace('bore = "87 mm"', 'bore = "87 mm"\nbores = 2\npitch = "125 mm"')
BANK = BANK.replace('clock = "3:00"', 'clock = "12:20"').replace('clock = "9:00"', 'clock = "6:10"')
SIDEWAYS = ZONE.replace("12:00", "2:20")
TIED = ZONE.replace("12:00", "3:00")
TEXTS = {
    "two bores in inches, pieces in a register": MM.sub(
        lambda of: f'"{float(of[1]) / 25.4:.5f} in"', BANK + REGISTER + SIDEWAYS + ROUND
    ),
    "a ring over ties": RING + ROUND,
    "a ring in a register, its zone at a tie": RING + REGISTER + TIED,
}


def sheets(folder):
    """Words by their class, of all sheets of a title."""
    found = defaultdict(lambda: defaultdict(list))
    for path in folder.glob("sheet-*-a4.svg"):
        words = [of for of in ElementTree.parse(path).getroot().iter() if of.tag.endswith("text")]
        title = next(of.text for of in words if of.get("class") == "title")
        for of in words:
            found[title][of.get("class") or ""].append(of.text or "")
    return found


def flattened(edges, most=0.002):
    """A polygon within that of the arcs."""
    points = []
    for start, end, bulge in edges:
        sweep = 4 * math.atan(bulge)
        if not bulge:
            points.append(start)
            continue
        radius = abs(end - start) / 2 / math.sin(abs(sweep) / 2)
        count = max(2, math.ceil(abs(sweep) / math.sqrt(8 * most / radius)))
        centre = start + (end - start) / 2 * (1 + 1j / math.tan(sweep / 2))
        points += [centre + (start - centre) * np.exp(1j * sweep * k / count) for k in range(count)]
    return np.array(points)


def inside(z, polygon):
    """Whether places lie in a polygon, by crossings of a ray."""
    after = np.roll(polygon, -1)
    held = np.zeros(len(z), bool)
    for a, b in zip(polygon, after, strict=True):
        over = (a.imag > z.imag) != (b.imag > z.imag)
        across = a.real + (z.imag - a.imag) * (b.real - a.real) / ((b.imag - a.imag) or 1.0)
        held ^= over & (z.real < across)
    return held


ZONES = re.compile(
    r"Zone \d+: ([\d.]+) \w+ deep about bore ([\d, ]+) from (-?[\d.]+) to (-?[\d.]+) deg, "
    r"clockwise from 12:00; blends to ([\d.]+) at (-?[\d.]+) and (-?[\d.]+) deg, half a cosine wave"
    r"(?:; past half the pitch it runs out the same way over ([\d.]+) \w+ along the row)?"
)


def zones_of(text):
    """What notes say of zones: depth, bores, ends and blends, and how each runs out."""
    return [
        (float(depth), [int(of) for of in bores.split(",")], [float(of) for of in ends],
         float(over or "nan"))
        for depth, bores, *ends, over in ZONES.findall(text)
    ]  # fmt: skip


def depth_at(z, zones, plain, pitch):
    """Depth of a piece at places about the axis of bore 1, by the notes."""
    found = np.full(len(z), plain)
    for depth, bores, (first, last, base, low, _), over in zones:
        assert base == plain
        for bore in bores:
            off = z - pitch * (bore - 1)
            turned = np.degrees(np.pi / 2 - np.angle(off))
            beyond = np.abs((turned - (first + last) / 2 + 180) % 360 - 180) - (last - first) / 2
            share = 0.5 * (1 + np.cos(np.pi * np.clip(beyond / (first - low), 0, 1)))
            if pitch:
                past = np.abs(off.real) - pitch / 2
                share = share * 0.5 * (1 + np.cos(np.pi * np.clip(past / over, 0, 1)))
            found = np.maximum(found, plain + (depth - plain) * share)
    return found


def rows(pages):
    """Rows of the tables of points on pages, in their order."""
    found = [
        row
        for page in pages
        for row in zip(*(page[f"cell{column}"] for column in range(6)), strict=True)
    ]
    return sorted(found, key=lambda row: int(row[0]))


def volume(loops, depth, step):
    """Of what lies within the first loop and outside of the next, by squares. [unit3]."""
    outer, *holes = [flattened(edges, step / 100) for _, edges in loops]
    turn = np.exp(1j)
    around = outer / turn
    x = np.arange(around.real.min(), around.real.max() + step, step)
    y = np.arange(around.imag.min(), around.imag.max() + step, step)
    z = (x[None] + 1j * y[:, None]).ravel() * turn
    z = z[inside(z, outer)]
    for hole in holes:
        z = z[~inside(z, hole)]
    area = sum(shoelace(edges) for _, edges in loops)
    return float(depth(z).mean() * area)


def shoelace(edges):
    """Area within lines and arcs, with its sign."""
    area = 0.0
    for start, end, bulge in edges:
        sweep = 4 * math.atan(bulge)
        area += (start.conjugate() * end).imag / 2
        if bulge:
            radius = abs(end - start) / 2 / abs(math.sin(sweep / 2))
            area += radius**2 * (sweep - math.sin(sweep)) / 2
    return area


@pytest.fixture(scope="module", params=TEXTS)
def folder(request, tmp_path_factory):
    """What a shop gets, its sheets read."""
    path = tmp_path_factory.mktemp("folder")
    (path / "two.toml").write_text(TEXTS[request.param])
    making = made_of(read_case(path / "two.toml"), "low", None, "")
    write_drawings(making, path)
    write_solids(making.section, making.pieces, path / "insert.step", path / "pocket.step")
    for number, page in enumerate(sheets_of(making, DATE, ()), 1):
        (path / f"sheet-{number}-a4.svg").write_text(svg_of(page, "a4"), encoding="utf-8")
    return path, sheets(path)


def test_outline_and_depth_rebuilt_from_the_sheets_are_those_of_the_solids(folder):
    path, pages = folder
    plan = next(words for title, words in pages.items() if title.startswith("plan of"))
    size = 25.4 if plan["lengths-in"][0].startswith("in,") else 1.0
    pitch = float(plan["dimension"][0]) if plan["dimension"] else 0.0
    volumes = step_volumes(path / "insert.step")
    numbers = [int(of.split()[1]) for of in pages if re.fullmatch(r"piece \d+", of)]
    assert len(numbers) == len(volumes)
    told = []
    for number in numbers:
        page = pages[f"piece {number}"]
        axis = pitch * (int(re.search(r"bore (\d+) at", " ".join(page[""]))[1]) - 1)
        loops = arcs(
            rows([page, *(pages[of] for of in pages if of == f"piece {number}, more points")])
        )
        pocket = arcs(rows([pages[of] for of in pages if of == f"piece {number}, pocket"]))
        walls = [of for of in pocket if not of[0].startswith("floor")]
        floors = [of for of in pocket if of[0].startswith("floor")]
        drawn = ezdxf.readfile(path / f"piece-{number}.dxf").modelspace()
        for own, layers in ((loops, ("OUTLINE", "SLOTS")), (walls, ("POCKET",)),
                            (floors, ("STEPS",))):  # fmt: skip
            assert_alike(own, layers, drawn, size)
        zones, plain = zones_of(" ".join(page["notes"])), float(page["dimension"][3])
        edges = [(float(name[6:]), flattened(edge)) for name, edge in floors]

        def depth(z, zones=zones, plain=plain, axis=axis, edges=edges):
            found = depth_at(z + axis, zones, plain, pitch)
            for floor, edge in edges:
                found = np.where(inside(z, edge), np.minimum(found, floor), found)
            return found

        told.append(volume(loops, depth, 0.4 / size) * size**3)
        if walls and not any("Register" in of for of in pages[f"piece {number}, pocket"]["notes"]):
            (milled,) = step_volumes(path / "pocket.step")
            area = sum(shoelace(edge) for _, edge in walls)
            assert area * plain * size**3 == pytest.approx(milled, rel=1e-4)
    assert sorted(told) == pytest.approx(sorted(volumes), rel=1e-3)


def assert_alike(loops, layers, drawn, size):
    """Loops of a sheet are those on layers of the drawing, as far as their numbers are written."""
    found = [
        of.get_points("xyb")
        for of in drawn
        if of.dxf.layer in layers and of.dxftype() == "LWPOLYLINE"
    ]
    if not loops:  # nothing is milled: the drawing has the jacket as cast
        return
    assert len(loops) == len(found)
    for (_, edges), own in zip(loops, found, strict=True):
        for (start, end, bulge), (x, y, drawn_bulge) in zip(edges, own, strict=True):
            assert abs(start - complex(x, y)) * size < 1e-3
            assert abs(bulge - drawn_bulge) * abs(end - start) * size < 4e-3
