"""Parts check themselves; where the bores are and which is nearest; the depth of a section."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from sections import BANK, SINGLE, section

from geometry import (
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    Register,
    ReliefCut,
    SectionError,
    Tie,
    WaterSlot,
    default_depth,
)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: replace(BANK, pitch=90), r"pitch = 90 mm is not more than .* above 92 mm"),
        (lambda: replace(BANK, pitch=None), r"bores = 3 needs a pitch"),
        (lambda: Tie(clock=13, width=8, depth=12), r"tie.clock = 13 h is outside 0 to 12 h"),
        (lambda: section(insert=Insert(depth=40), depth=30.0), r"insert depth 40 mm .* at most 30"),
        (lambda: Insert(depth=-1), r"insert.depth = -1 mm is outside"),
        (lambda: Insert(depth=9, form="half"), r'"half" is no form .* Choose "pieces" or "ring"'),
        (
            lambda: section(insert=Insert(depth=5, register=Register(depth=40)), depth=30.0),
            r"register depth 40 mm .* at most 30 mm",
        ),
        (lambda: Register(depth=5, barrel=0.1), r"barrel = 0\.1 mm is no step .* least 0\.2 mm"),
        (
            lambda: Register(depth=5, ledge=2, outer_wall=1.5),
            r"register\.outer_wall = 1\.5 mm leaves no ledge of 2 mm\. Take .* 2 mm, or none",
        ),
        (
            lambda: Insert(depth=5, register=Register(depth=6, ledge=1)),
            r"an insert 5 mm deep can't stand on a ledge 6 mm below the deck",
        ),
        (
            lambda: Insert(depth=5, width=3, register=Register(depth=5, ledge=3)),
            r"register\.ledge = 3 mm is no narrower than the insert, which is 3 mm wide",
        ),
        (lambda: Insert(depth=math.nan), r"insert.depth = nan mm is outside"),
        (lambda: DeeperZone(clock=1, width=300, depth=5, blend=40), r"longer than the whole"),
        (
            lambda: Insert(depth=9, zones=(DeeperZone(clock=1, width=30, depth=9),)),
            r"zone 1 at 1:00 is 9 mm deep, no deeper than the insert's 9 mm",
        ),
        (lambda: section(jacket=0.0), r"no jacket, so no tie"),
        (lambda: section(outer_wall=0.0), r"needs an outer wall"),
        (lambda: replace(SINGLE, wall_table=((0, 6), (12, 5), (3, 4))), r"2 different clock"),
        (lambda: replace(SINGLE, draft=11), r"block\.draft = 11 deg is outside 0 to 10 deg"),
        (
            lambda: Block(bore=86, barrel_wall=6, draft=1),
            r"draft = 1 deg is of the walls of a jacket, .* none\. Give block\.jacket",
        ),
        (
            lambda: replace(SINGLE, jacket=9, draft=5).at_depth(60),
            r"draft = 5 deg closes the jacket of 9 mm 51\.4 mm below the deck",
        ),
    ],
)  # fmt: skip
def test_parts_check_themselves(make, message):
    with pytest.raises(SectionError, match=message):
        make()


def test_default_depth_covers_the_deepest_insert():
    assert default_depth(SINGLE) == pytest.approx(1.4 * math.sqrt(47.75 * 8.5))
    assert default_depth(SINGLE, 40.0) == 40.0


PARTS = {
    "tie": Tie(clock=3, width=8, depth=12),
    "relief_cut": ReliefCut(clock=2.75, radius=57.5, diameter=16, depth=22),
    "zone": DeeperZone(clock=3, width=40, depth=18, blend=10),
    "slot": WaterSlot(clock=3, width=4, arc=5),
    "insert": Insert(depth=9, width=5),
    "block": replace(SINGLE, bores=2, pitch=110, ties=(), relief_cuts=()),
    "section": DeckSection(block=SINGLE, depth=30),
}
NUMBERS = [
    (noun, field.name)
    for noun, part in PARTS.items()
    for field in fields(part)
    if "float" in str(field.type) and "tuple" not in str(field.type)
    and (noun, field.name) != ("slot", "radius")
]  # fmt: skip


@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf, 1e6])
@pytest.mark.parametrize(("noun", "name"), NUMBERS)
def test_no_number_of_a_part_may_be_negative_endless_or_none(noun, name, value):
    if (name, value) == ("pitch", 1e6):
        return
    with pytest.raises(SectionError, match=rf"{noun}\.{name}") as caught:
        replace(PARTS[noun], **{name: value})
    assert caught.value.feature.startswith(noun)


@pytest.mark.parametrize("pitch", [-97.0, 0.0, math.nan, math.inf])
@pytest.mark.parametrize("block", [SINGLE, BANK], ids=["single", "bank"])
def test_a_pitch_that_is_no_distance(block, pitch):
    with pytest.raises(SectionError, match=r"block.pitch = \S+ mm is no distance") as caught:
        replace(block, pitch=pitch)
    assert caught.value.feature == "block.pitch"


def test_a_pitch_just_above_the_bore_with_its_liners():
    assert replace(BANK, pitch=92.01).pitch == 92.01
    with pytest.raises(SectionError, match="above 92 mm"):
        replace(BANK, pitch=92.0)


@pytest.mark.parametrize(("firing", "axes"), [(1, [0, 97, 194]), (2, [-97, 0, 97]),
                                              (3, [-194, -97, 0])])  # fmt: skip
def test_bore_axes_are_counted_from_the_firing_bore(firing, axes):
    assert list(replace(BANK, firing_bore=firing).axes) == axes


def test_bore_numbers_go_no_further_than_the_bores():
    for change in ({"firing_bore": 4}, {"firing_bore": 0}, {"bores": 0}, {"bores": 17}):
        with pytest.raises(SectionError, match=r"block\.(firing_bore|bores) = "):
            replace(BANK, **change)


def test_nearest_bore_of_places_in_any_shape():
    """The nearest axis by trying all; the hour by turning a hand of the clock there."""
    rng = np.random.default_rng(3)
    x, y = rng.uniform(-150, 150, (2, 4, 60))
    bore, hours = BANK.nearest_bore(x, y)
    assert bore.shape == hours.shape == x.shape
    assert ((hours >= 0) & (hours < 12)).all()
    away = np.array([np.hypot(x - axis, y) for axis in (-97, 0, 97)])
    chosen = np.take_along_axis(away, (bore - 1)[None], axis=0)[0]
    assert (chosen == away.min(axis=0)).all()
    turn = np.radians(30 * hours)
    axis = np.array([-97, 0, 97])[bore - 1]
    assert axis + chosen * np.sin(turn) == pytest.approx(x)
    assert chosen * np.cos(turn) == pytest.approx(y)


def test_the_deepest_of_an_insert_is_that_of_its_zones():
    zones = tuple(DeeperZone(clock=c, width=30, depth=d) for c, d in ((1, 12), (5, 19), (8, 15)))
    insert = Insert(depth=9, zones=zones)
    assert (Insert(depth=9).deepest, insert.deepest) == (9, 19)
    assert DeckSection(block=SINGLE, depth=19, insert=insert).insert is insert
    with pytest.raises(SectionError, match="insert depth 19 mm is more than the section depth 18"):
        DeckSection(block=SINGLE, depth=18, insert=insert)


@pytest.mark.parametrize("rows", [1, 2])
def test_a_wall_table_needs_three_rows(rows):
    with pytest.raises(SectionError, match=f"{rows} different clock positions in {rows} rows"):
        replace(SINGLE, wall_table=((0, 6), (6, 5))[:rows])


def test_no_outer_wall_stands_outside_no_jacket():
    with pytest.raises(SectionError, match=r"no jacket.*no outer wall") as caught:
        Block(bore=87, barrel_wall=6, outer_wall=9)
    assert caught.value.feature == "block.jacket"


def test_an_insert_needs_a_jacket():
    with pytest.raises(SectionError, match="no jacket for an insert to fill"):
        DeckSection(block=Block(bore=87, barrel_wall=20), depth=30, insert=Insert(depth=9))


def test_nearest_bore_of_one_place_and_halfway():
    bore, hours = BANK.nearest_bore(97.0, -50.0)
    assert (int(bore), float(hours)) == (3, 6.0)
    assert BANK.nearest_bore(48.5, 0.0)[0] == 2
    assert SINGLE.nearest_bore([-300.0, 300.0], 0.0)[0].tolist() == [1, 1]


def test_radii_add_up_from_the_bore_outward():
    assert (SINGLE.liner_radius, SINGLE.barrel_radius) == (46.0, 52.0)
    assert (SINGLE.jacket_radius, SINGLE.outside_radius) == (61.0, 70.0)
