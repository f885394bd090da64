"""Plan and wall as pictures: what is drawn stands where the geometry has it, all texts escaped."""

import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from cases.block.drawn import draw_all
from cases.dials.plan import ACROSS, Mark, Shade, on_grid, plan_svg, ray_at, wall_size, wall_svg
from cases.read import read_case
from geometry.drawing import FILLS, view_of
from geometry.left import walls_left

SHADE = Shade("data:image/png;base64,", 0.0, 1.0, "MPa", "pull")


@pytest.fixture(scope="module")
def drawn():
    case = read_case(Path("cases/library/hillclimb_four.toml"))
    return draw_all(case, lambda name, stage: None)[2]


def read(svg):
    return ElementTree.fromstring(f"<svg>{svg}</svg>")


def test_the_plan_shows_every_face_and_is_sound(drawn):
    view = view_of(drawn.section.block)
    svg = read(plan_svg(drawn.section, drawn.outline, view))
    fills = [of.get("fill") for of in svg.iter("path")]
    assert len(fills) == len(drawn.outline.faces) + 1
    assert FILLS["tie"] in fills
    shaded = read(plan_svg(drawn.section, drawn.outline, view, shade=SHADE))
    assert {of.get("fill") for of in shaded.iter("path")} == {"none", "#DCEFF8"}
    assert len(list(shaded.iter("image"))) == 1


def test_a_mark_stands_at_its_place_and_its_words_are_escaped(drawn):
    view = view_of(drawn.section.block)
    marks = [Mark(10.0, 20.0, '<script>"x"</script>')]
    svg = read(plan_svg(drawn.section, drawn.outline, view, marks=marks))
    (mark,) = [of for of in svg.iter("circle") if of.find("title") is not None]
    assert mark.find("title").text == '<script>"x"</script>'
    assert float(mark.get("cx")) == pytest.approx(view.half_width + 10, abs=0.01)
    assert float(mark.get("cy")) == pytest.approx(view.half_height - 20, abs=0.01)


@pytest.mark.parametrize(
    ("clock", "wall"),
    [(7.7, 2.5), (1 + 16 / 60, 3.25), (4.0, 6.0), (12 + 20 / 60, None), (3.0, None)],
)  # fmt: skip
def test_the_wall_at_the_deck_is_what_cuts_leave(drawn, clock, wall):
    """Held against the walls of the geometry's own measure, and the comments of the file."""
    found = ray_at(drawn.section, clock).wall
    assert found == (None if wall is None else pytest.approx(wall, abs=0.06))
    barrel, _ = walls_left(drawn.section)
    at = round((clock % 12) * 60)
    firing = barrel.thickness[drawn.section.block.firing_bore - 1, at]
    assert np.isnan(firing) == (wall is None)
    assert wall is None or firing == pytest.approx(found, abs=0.06)


def test_the_wall_down_has_cut_insert_and_floor(drawn):
    """At 7:42: 2.5 mm of barrel down to 25 mm, where the cut's floor begins; the insert 16 deep."""
    block = drawn.section.block
    strips = ray_at(drawn.section, 7.7).strips
    parts = {of.part for of in strips}
    assert parts == {"liner", "barrel", "insert", "outer wall"}
    assert max(of.bottom for of in strips) == block.floor_depth
    assert max(of.bottom for of in strips if of.part == "insert") == pytest.approx(16.0)
    floor = [of for of in strips if of.part == "barrel" and of.top > 0]
    assert {of.top for of in floor} == {25.0}
    assert min(of.near for of in floor) == pytest.approx(block.liner_radius + 2.5, abs=ACROSS)
    metal = on_grid(drawn.section, strips)
    assert metal.sum() == pytest.approx(
        sum((of.bottom - of.top) / ACROSS for of in strips), rel=0.01
    )
    size = wall_size(block)
    svg = read(wall_svg(drawn.section, strips, shade=SHADE, place=(50.0, 3.0)))
    for of in svg.iter("rect"):
        assert float(of.get("x")) + float(of.get("width")) <= size[0]
        assert float(of.get("y")) + float(of.get("height")) <= size[1] + 1e-9
    assert re.fullmatch(r"[\d.]+", svg.find("circle").get("cx"))
