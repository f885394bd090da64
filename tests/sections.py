"""Small invented sections that several tests share."""

from dataclasses import replace

from geometry import (
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    ReliefCut,
    Tie,
    WaterSlot,
    default_depth,
)

SINGLE = Block(
    bore=87,
    liner=2.5,
    barrel_wall=6,
    jacket=9,
    outer_wall=9,
    ties=tuple(Tie(clock=c, width=8, depth=12) for c in (0.4, 3.2, 6.8, 9.1)),
    relief_cuts=tuple(
        ReliefCut(clock=c, radius=57.5, diameter=16, depth=22) for c in (1.3, 4.2, 7.75, 10.2)
    ),
)
BANK = replace(
    SINGLE,
    bores=3,
    pitch=97,
    firing_bore=2,
    ties=tuple(Tie(clock=c, width=8, depth=12) for c in (0.33, 5.2, 6.8, 11.1)),
    relief_cuts=(
        ReliefCut(clock=1.7, radius=57.5, diameter=16, depth=22),
        ReliefCut(clock=7.7, radius=57, diameter=14, depth=40),
    ),
)
UNIFORM = Insert(depth=10, slots=(WaterSlot(clock=2.6, width=4),))
LOCAL = Insert(
    depth=9,
    zones=(
        DeeperZone(clock=1.7, width=40, depth=18, blend=10),
        DeeperZone(clock=7.7, width=30, depth=16),
    ),
)


def section(block=SINGLE, insert=None, **changes):
    """A block's section with H as the program would choose it for inserts up to 18 mm."""
    depth = changes.pop("depth", default_depth(block, 18))
    return DeckSection(block=replace(block, **changes), depth=depth, insert=insert)


def ring(bore=100.0, wall=30.0, depth=20.0):
    """A plain thick ring."""
    return DeckSection(block=Block(bore=bore, barrel_wall=wall), depth=depth)
