"""Pictures of a section, read back: what is filled where, which label stands at what."""

import math
import re
from dataclasses import replace
from functools import reduce

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import Circle, PathPatch
from sections import BANK, LOCAL, SINGLE, section
from shapely import Polygon, contains_xy, symmetric_difference
from slices import Slices

from geometry import Tie, WaterSlot
from geometry.drawing import CUT, FILLS, draw_section_picture, view_of
from geometry.outline import draw_section

ONE_SIDED = replace(
    BANK,
    wall_table=((0, 6), (2.5, 7), (6, 5.5), (10, 6.5)),
    ties=(replace(BANK.ties[0], bores=(2, 3)), Tie(clock=5.2, width=9, depth=14, bores=(1,))),
    relief_cuts=(
        replace(BANK.relief_cuts[0], diameter=15, bores=(1,)),
        replace(BANK.relief_cuts[1], depth=21, bores=(2,)),
    ),
)
SLOTTED = replace(LOCAL, slots=(WaterSlot(clock=10, width=2.5, bores=(2,)),))


def picture(block, insert=None, **options):
    made = section(block, insert)
    axes = Figure(figsize=(7, 5)).add_subplot()
    draw_section_picture(axes, made, draw_section(made), view_of(block), **options)
    return made, axes


@pytest.mark.parametrize("insert", [None, SLOTTED], ids=["bare", "insert"])
def test_every_place_is_filled_with_the_colour_of_what_stands_there(insert):
    made, axes = picture(ONE_SIDED, insert)
    slices = Slices(made, 40)
    wide, high = axes.get_xlim()[1], axes.get_ylim()[1]
    rng = np.random.default_rng(4)
    x, y = rng.uniform(-wide, wide, 1500), rng.uniform(-high, high, 1500)
    clear = slices.clear(x, y) > 0.1
    x, y = x[clear], y[clear]
    shown = np.full(len(x), "", dtype=object)
    hatched = np.zeros(len(x), dtype=bool)
    names = {to_hex(colour): part for part, colour in FILLS.items()}
    for patch in axes.patches:
        if not isinstance(patch, PathPatch):
            continue
        rings = [Polygon(ring) for ring in patch.get_path().to_polygons()]
        inside = contains_xy(reduce(symmetric_difference, rings), x, y)
        shown[inside] = names.get(to_hex(patch.get_facecolor()), "")
        hatched[inside] = bool(patch.get_hatch())
    columns = slices.columns(x, y)
    expected = ["insert" if "insert" in parts else "".join(parts) for parts in columns]
    assert shown.tolist() == expected
    floors = [
        len(parts) == 1 and next(iter(parts.items()))[0] in ("barrel", "outer wall")
        and next(iter(parts.values()))[0] > 0
        for parts in columns
    ]  # fmt: skip
    assert hatched.tolist() == floors


def labels(axes) -> dict[str, complex]:
    """The text of each label in the bore and the place that its line leads to."""
    (lines,) = [
        c for c in axes.collections if isinstance(c, LineCollection) and c.get_zorder() == 5
    ]
    named = {}
    for spot, at in lines.get_segments():
        text = min(axes.texts, key=lambda t: np.hypot(*(np.array(t.get_position()) - at)))
        assert np.hypot(*(np.array(text.get_position()) - at)) < 1e-9
        named[text.get_text()] = complex(*spot)
    return named


def place(clock, radius):
    return radius * np.exp(1j * math.radians(90 - 30 * clock))


def test_features_of_the_firing_bore_are_named_at_their_places():
    _, axes = picture(ONE_SIDED, names=True)
    assert labels(axes) == {
        "cut 7:42": pytest.approx(place(7.7, 57 - 7)),
        "tie 12:20": pytest.approx(place(0.33, 52 + 4.5)),
    }
    assert "bore 87 mm" in [text.get_text() for text in axes.texts]


def test_depths_of_an_insert_are_written_where_it_has_them():
    _, axes = picture(SINGLE, LOCAL)
    named = labels(axes)
    plain = named.pop("insert\n9 mm deep")
    assert named == {
        "18 mm deep\nat 1:42": pytest.approx(place(1.7, 56.5)),
        "16 mm deep\nat 7:42": pytest.approx(place(7.7, 56.5)),
    }
    taken = [f.clock for f in (*SINGLE.ties, *SINGLE.relief_cuts, *LOCAL.zones)]
    assert min(abs(plain - place(clock, 56.5)) for clock in taken) > 20


def test_nothing_is_said_of_an_insert_that_is_not_there():
    _, axes = picture(SINGLE)
    assert "no insert" in [text.get_text() for text in axes.texts]


def test_edges_of_relief_cuts_are_drawn_at_the_bores_that_have_them():
    _, axes = picture(ONE_SIDED)
    dashed = [p for p in axes.patches if isinstance(p, Circle) and to_hex(p.get_edgecolor())
              == to_hex(CUT)]  # fmt: skip
    found = {(complex(*p.get_center()), 2 * p.get_radius()) for p in dashed}
    expected = {(-97 + place(1.7, 57.5), 15.0), (place(7.7, 57), 14.0)}
    assert len(found) == 2
    for centre, diameter in expected:
        assert any(abs(centre - c) < 1e-6 and diameter == pytest.approx(d) for c, d in found)


def test_hours_run_clockwise_from_the_top():
    _, axes = picture(SINGLE, names=True)
    hours = {t.get_text(): complex(*t.get_position()) for t in axes.texts
             if re.fullmatch(r"\d+", t.get_text())}  # fmt: skip
    assert len(hours) == 12
    for hour, at in hours.items():
        assert at == pytest.approx(place(int(hour), abs(at)))
        assert 0.8 * 43.5 < abs(at) < 43.5


def test_deeper_zones_are_shaded_by_their_depth():
    made, axes = picture(SINGLE, LOCAL)
    slices = Slices(made, 40)
    assert axes.images
    for image in axes.images:
        left, right, low, high = image.get_extent()
        shade = np.asarray(image.get_array())[..., 3]
        rows, columns = shade.shape
        x, y = np.meshgrid(np.linspace(left, right, columns), np.linspace(low, high, rows))
        deeper = (slices.profile(x.ravel(), y.ravel()) - 9) / (18 - 9)
        assert (np.abs(shade.ravel() - deeper) > 1e-6).mean() < 0.01  # but where a zone ends sharp


def test_the_view_shows_the_firing_bore_and_half_of_the_next():
    bank, single = view_of(ONE_SIDED), view_of(SINGLE)
    assert 97 / 2 < bank.half_width < 97
    assert bank.half_height > 70
    assert (single.half_width, single.half_height) == pytest.approx((72.8, 72.8))
    assert view_of(replace(SINGLE, pitch=97)) == single
    assert bank.holds(np.array([[0.0, 60.0], [90.0, 0.0], [0.0, -80.0]])).tolist() == [
        True, False, False,
    ]  # fmt: skip
