"""Depths of a block: as stated, as usual, and what can't be."""

import pytest

from geometry import Block, ReliefCut, SectionError, Tie

RING = {"bore": 80, "barrel_wall": 6}
OPEN = RING | {"jacket": 9, "outer_wall": 8}
CUT = (ReliefCut(clock=2.25, radius=53, diameter=16, depth=70),)


@pytest.mark.parametrize(
    ("stated", "jacket", "floor"),
    [
        pytest.param(OPEN, 64, 76, id="usual"),
        pytest.param(OPEN | {"jacket_depth": 50}, 50, 62, id="jacket stated"),
        pytest.param(OPEN | {"crankcase_floor": 90}, 64, 90, id="floor stated"),
        pytest.param(OPEN | {"crankcase_floor": 57}, 48, 57, id="a low block"),
        pytest.param(OPEN | {"relief_cuts": CUT}, 87.5, 99.5, id="a deep cut"),
        pytest.param(
            OPEN | {"ties": (Tie(clock=0, width=9, depth=80),)}, 100, 112, id="a deep tie"
        ),
        pytest.param(RING, 0, 76, id="no jacket"),
    ],
)
def test_floors_are_stated_or_usual(stated, jacket, floor):
    block = Block(**stated)
    assert block.jacket_floor == pytest.approx(jacket)
    assert block.floor_depth == pytest.approx(floor)


@pytest.mark.parametrize(
    ("wrong", "path", "words"),
    [
        pytest.param(
            {"jacket_depth": 80, "crankcase_floor": 75},
            "block.jacket_depth",
            "the jacket is 80 mm deep, but the crankcase begins 75 mm below the deck",
            id="jacket deeper than the crankcase",
        ),
        pytest.param(
            {"relief_cuts": CUT, "crankcase_floor": 70},
            "block.crankcase_floor",
            r"relief cut 1 at 2:15 is 70 mm deep.* Give block.crankcase_floor above 70 mm",
            id="floor above a cut's floor",
        ),
        pytest.param(
            {"floor_radius": 30},
            "block.floor_radius",
            "block.floor_radius = 30 mm is outside 0 to 20 mm",
            id="a fillet of another unit",
        ),
    ],
)
def test_floors_that_can_not_be_are_refused(wrong, path, words):
    with pytest.raises(SectionError, match=words) as refused:
        Block(**OPEN, **wrong)
    assert refused.value.feature == path
