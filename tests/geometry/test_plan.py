"""What stands where, and how deep: random blocks against shapely, turned and mirrored ones."""

import itertools
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from sections import BANK, LOCAL, SINGLE, UNIFORM, section
from shapely import (
    MultiLineString,
    Polygon,
    contains_xy,
    distance,
    points,
    prepare,
)
from slices import Slices

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
)
from geometry.outline import draw_section

SEGMENTS = 40  # of a quarter circle: within 0.02 mm


def random_section(seed: int) -> DeckSection:
    """A block with any of the features, the first drawn one of a seed that can be built."""
    rng = np.random.default_rng(seed)

    def clock() -> float:
        return float(rng.uniform(0, 12))

    def some(most: int, make) -> tuple:
        return tuple(make() for _ in range(rng.integers(0, most + 1)))

    while True:
        bores = int(rng.choice([1, 1, 2, 3]))
        liner, wall = float(rng.choice([0.0, 2.5])), float(rng.uniform(5, 8))
        gap = float(rng.choice([rng.uniform(-5, -2), rng.uniform(7, 12)]))  # between barrels

        def at(bores=bores) -> tuple[int, ...] | None:
            """Some of the bores, or all."""
            chosen = np.flatnonzero(rng.random(bores) < 0.6) + 1
            return tuple(chosen.tolist()) if len(chosen) and rng.random() < 0.7 else None

        walls = rng.uniform(5, 8, rng.integers(3, 6))
        block = Block(
            bore=86,
            liner=liner,
            barrel_wall=wall,
            wall_table=tuple((12 * k / len(walls), float(wall)) for k, wall in enumerate(walls))
            if rng.random() < 0.3
            else (),
            jacket=float(rng.uniform(8, 13)),
            outer_wall=float(rng.uniform(6, 12)),
            ties=some(
                3,
                lambda: Tie(
                    clock=clock(),
                    width=float(rng.uniform(5, 12)),
                    depth=float(rng.uniform(5, 35)),
                    fillet=float(rng.uniform(1, 3.5)),
                    bores=at(),
                ),
            ),
            relief_cuts=some(
                3,
                lambda: ReliefCut(
                    clock=clock(),
                    radius=float(rng.uniform(54, 62)),
                    diameter=float(rng.uniform(8, 16)),
                    depth=float(rng.uniform(5, 35)),
                    bores=at(),
                ),
            ),
            bores=bores,
            pitch=max(86 + 2 * (liner + wall) + gap, 94.0),
            firing_bore=int(rng.integers(1, bores + 1)),
            valley_fillet=float(rng.uniform(1, 3)),
        )
        insert = Insert(
            depth=float(rng.uniform(5, 15)),
            width=float(rng.uniform(4, 8)) if rng.random() < 0.3 else None,
            zones=some(
                2,
                lambda: DeeperZone(
                    clock=clock(),
                    width=float(rng.uniform(15, 60)),
                    depth=float(rng.uniform(15.5, 28)),
                    blend=float(rng.choice([0.0, rng.uniform(5, 20)])),
                ),
            ),
            slots=some(
                1,
                lambda: WaterSlot(
                    clock=clock(),
                    width=float(rng.uniform(2, 4)),
                    arc=float(rng.choice([0.0, 10.0])),
                    bores=at(),
                ),
            ),
            fills_relief_cuts=bool(rng.random() < 0.6),
        )
        made = DeckSection(block=block, depth=30.0, insert=insert if rng.random() < 0.7 else None)
        try:
            draw_section(made)
        except SectionError:
            continue
        return made


def random_held(seed: int, form: str, machined: bool) -> DeckSection:
    """The first section of a seed, or of those after it, whose insert can be held in some way."""
    for later in itertools.count(seed, 10):
        made, rng = random_section(later), np.random.default_rng(later)
        if not made.insert or not made.block.ties:
            continue
        off = [float(rng.choice([0.0, rng.uniform(0.5, 2)])) for _ in range(2)]
        register = Register(
            depth=float(rng.uniform(4, 20)),
            barrel=off[0],
            outer_wall=0.0 if made.insert.width else off[1],
            corner_radius=float(rng.uniform(1, 3.5)),
        )
        insert = replace(made.insert, form=form, register=register if machined else None)
        held = replace(made, insert=insert)
        try:
            draw_section(held)
        except SectionError:
            continue
        return held
    raise AssertionError


TIES_THAT_MEET = DeckSection(  # between two bores, each with a corner of its own and one of both
    block=replace(
        BANK,
        bores=2,
        firing_bore=1,
        relief_cuts=(),
        ties=(
            Tie(clock=1.2, width=8, depth=9, fillet=3.5, bores=(1,)),
            Tie(clock=10.8, width=8, depth=20, fillet=1.2, bores=(2,)),
            Tie(clock=7.2, width=8, depth=14, fillet=1.5, bores=(2,)),
        ),
    ),
    depth=28,
)
TIES_THAT_CROSS = replace(
    TIES_THAT_MEET,
    block=replace(
        TIES_THAT_MEET.block,
        ties=(
            Tie(clock=1.5, width=8, depth=22, fillet=1.5, bores=(1,)),
            Tie(clock=10.5, width=8, depth=9, fillet=1.2, bores=(2,)),
        ),
    ),
    insert=Insert(depth=15),
)
CUTS_THAT_MEET = section(
    SINGLE,
    Insert(depth=14, zones=(DeeperZone(clock=4.6, width=40, depth=26, blend=8),)),
    depth=30,
    relief_cuts=tuple(
        ReliefCut(clock=c, radius=60, diameter=14, depth=d)
        for c, d in ((4.5, 20), (4.8, 12), (10.6, 12), (10.9, 20), (1.5, 24), (1.6, 40))
    ),
)
SLOTTED_PART = Insert(
    depth=10,
    width=6,
    slots=(WaterSlot(clock=2.5, width=2.5), WaterSlot(clock=9.9, width=2, arc=4, radius=54.8)),
)
TIES_OPPOSITE = section(
    ties=tuple(Tie(clock=c, width=8, depth=d) for c, d in ((0, 8), (6, 19), (3, 21), (9, 12)))
)
SECTIONS = {
    "ties that meet": lambda: TIES_THAT_MEET,
    "ties that cross": lambda: TIES_THAT_CROSS,
    "cuts that meet": lambda: CUTS_THAT_MEET,
    "ties opposite": lambda: TIES_OPPOSITE,
    "register of part width": lambda: section(
        insert=Insert(depth=6, width=5, register=Register(depth=9, barrel=1.5, corner_radius=0.8))
    ),
    "slots of part width": lambda: section(SINGLE, SLOTTED_PART),
    **{f"random {seed}": (lambda seed=seed: random_section(seed)) for seed in range(9)},
    **{
        f"{form} {'in a register ' if machined else ''}{seed}": (
            lambda seed=seed, form=form, machined=machined: random_held(seed, form, machined)
        )
        for seed, form, machined in [
            (100, "ring", False),
            (101, "ring", False),
            (102, "ring", True),
            (103, "ring", True),
            (104, "pieces", True),
            (105, "pieces", True),
            (106, "pieces", True),
        ]
    },
}


@cache
def drawn(name: str):
    made = SECTIONS[name]()
    return made, draw_section(made), Slices(made, SEGMENTS)


def polygon(loops) -> Polygon:
    """A face with holes, its arcs in chords 0.01 mm off at most."""
    rings = [
        [piece.point(k / 24) for piece in loop for k in range(24 if piece.bulge else 1)]
        for loop in loops
    ]
    outer, *holes = ([(z.real, z.imag) for z in ring] for ring in rings)
    face = Polygon(outer, holes)
    prepare(face)
    return face


def layers_at(outline, x, y) -> list[dict[str, tuple[float, float]]]:
    """What the outline says that stands at points (n,): part -> (top, bottom). [mm]."""
    found = [{} for _ in x]
    for face in outline.faces:
        for k in np.flatnonzero(contains_xy(polygon(outline.loops(face)), x, y)):
            for layer in outline.regions[face.region]:
                depth = float(layer.thickness(x[k], y[k]))
                found[k][layer.part] = (layer.top, layer.top + depth)
    return found


def assert_same(found, expected, x, y):
    for one, other, at in zip(found, expected, zip(x, y, strict=True), strict=True):
        assert one.keys() == other.keys(), (at, one, other)
        for part in one:
            assert one[part] == pytest.approx(other[part], abs=1e-6), (at, part)


@pytest.mark.parametrize("name", SECTIONS)
def test_metal_stands_where_the_parts_say(name):
    _, outline, slices = drawn(name)
    left, low, right, high = slices.outside.bounds
    rng = np.random.default_rng(5)
    x, y = rng.uniform(left - 1, right + 1, 1000), rng.uniform(low - 1, high + 1, 1000)
    cells = [cell.representative_point() for cell in slices.cells()]
    x = np.append(x, [at.x for at in cells])
    y = np.append(y, [at.y for at in cells])
    clear = slices.clear(x, y) > 0.2  # the last tenth of a fillet's height counts as the wall
    x, y = x[clear], y[clear]
    assert_same(layers_at(outline, x, y), slices.columns(x, y), x, y)


@pytest.mark.parametrize("name", SECTIONS)
def test_open_water_is_what_is_left_of_the_jacket(name):
    _, outline, slices = drawn(name)
    assert outline.open_area == pytest.approx(slices.open_area(), rel=1e-3, abs=0.5)


def borders_of(made: DeckSection, slices: Slices, z: complex) -> set[str]:
    """Names of the free edges that a place may lie on."""
    block, names = made.block, set()
    for bore, axis in enumerate(block.axes, 1):
        if abs(abs(z - axis) - block.bore / 2) < 1e-6:
            names.add("bore" if bore == block.firing_bore else "other bores")
    off = abs(z - min(max(z.real, block.axes[0]), block.axes[-1]))
    if abs(off - block.outside_radius) < 1e-6:
        names.add("outside")
    for cut, axis in slices.at(block.relief_cuts):
        centre = axis + cut.radius * np.exp(1j * math.radians(90 - 30 * cut.clock))
        if abs(abs(z - centre) - cut.diameter / 2) < 1e-6:
            names.add("relief cut")
    at = Polygon([(z.real + a, z.imag + b) for a, b in ((-1, -1), (1, -1), (0, 1))]).centroid
    if not slices.slots.is_empty and slices.slots.boundary.distance(at) < 0.4:
        names.add("slot")
    return names or {"jacket"}


@pytest.mark.parametrize("name", SECTIONS)
def test_edges_are_called_by_what_lies_on_either_side(name):
    made, outline, slices = drawn(name)
    middle = np.array([piece.point(0.5) for piece in outline.pieces])
    across = 0.06j * np.array([piece.direction(0.5) for piece in outline.pieces])
    left, right = (slices.columns(z.real, z.imag) for z in (middle + across, middle - across))
    clear = [slices.clear(z.real, z.imag) > 0.03 for z in (middle + across, middle - across)]
    checked = 0
    for k, edge in enumerate(outline.names):
        one, other = left[k], right[k]
        if outline.pieces[k].length < 1 or not (clear[0][k] and clear[1][k]):
            continue
        checked += 1
        if not one or not other:
            assert edge in borders_of(made, slices, complex(middle[k])), (edge, middle[k])
        elif ("insert" in one) != ("insert" in other):
            assert edge == "insert fit", middle[k]
        elif ("liner" in one) != ("liner" in other):
            assert edge == "liner fit", middle[k]
        else:
            assert edge == "step", middle[k]
    assert checked > 0.5 * len(outline.names)


def turned(block: Block, insert: Insert | None, clock, bore) -> dict:
    """Block and insert with every clock position and bore number sent elsewhere."""

    def sent(features):
        return tuple(
            replace(
                f,
                clock=clock(f.clock) % 12,
                bores=f.bores and tuple(bore(number) for number in f.bores),
            )
            for f in features
        )

    moved = replace(
        block,
        ties=sent(block.ties),
        relief_cuts=sent(block.relief_cuts),
        wall_table=tuple((clock(c) % 12, wall) for c, wall in block.wall_table),
        firing_bore=bore(block.firing_bore),
    )
    if insert is None:
        return {"block": moved, "insert": None}
    zones = tuple(replace(zone, clock=clock(zone.clock) % 12) for zone in insert.zones)
    return {"block": moved, "insert": replace(insert, zones=zones, slots=sent(insert.slots))}


WALLS = replace(SINGLE, wall_table=((0, 6), (2.5, 7), (6, 5.5), (10, 6.5)))
SLOTTED = replace(LOCAL, slots=(WaterSlot(clock=2.5, width=3, arc=4),))
SLOTTED_BANK = replace(LOCAL, slots=(WaterSlot(clock=10.1, width=3, arc=2, bores=(1, 2)),))
ONE_SIDED = replace(
    BANK,
    firing_bore=1,
    ties=(replace(BANK.ties[0], bores=(1, 2)), BANK.ties[2]),
    relief_cuts=(replace(BANK.relief_cuts[0], bores=(3,)), BANK.relief_cuts[1]),
)


@pytest.mark.parametrize(
    ("block", "insert", "clock", "move", "swapped"),
    [
        (SINGLE, SLOTTED, lambda c: -c, lambda z: -z.conjugate(), False),
        (WALLS, UNIFORM, lambda c: -c, lambda z: -z.conjugate(), False),
        (WALLS, SLOTTED, lambda c: c + 2.3, lambda z: z * np.exp(-1j * np.radians(69)), False),
        (ONE_SIDED, None, lambda c: -c, lambda z: -z.conjugate(), True),
        (ONE_SIDED, SLOTTED_BANK, lambda c: 6 - c, lambda z: z.conjugate(), False),
        (ONE_SIDED, LOCAL, lambda c: c + 6, lambda z: -z, True),
    ],
    ids=["mirrored", "walls mirrored", "walls turned", "bank mirrored", "bank upside down",
         "bank turned"],
)  # fmt: skip
def test_a_turned_or_mirrored_block_gives_a_turned_or_mirrored_section(
    block, insert, clock, move, swapped
):
    made = section(block, insert)
    last = block.bores + 1
    other = replace(
        made, **turned(block, insert, clock, (lambda b: last - b) if swapped else (lambda b: b))
    )
    one, two = draw_section(made), draw_section(other)
    assert two.open_area == pytest.approx(one.open_area, rel=1e-6)
    for parts in ("barrel", "liner", "tie", "outer wall", "insert"):
        assert two.part_area(parts) == pytest.approx(one.part_area(parts), rel=1e-6)
    rng = np.random.default_rng(8)
    x, y = rng.uniform(-165, 165, 2000), rng.uniform(-75, 75, 2000)
    lines = MultiLineString(
        [[(z.real, z.imag) for z in p.points(np.linspace(0, 1, 25))] for p in one.pieces]
    )
    prepare(lines)
    clear = distance(points(x, y), lines) > 0.05
    x, y = x[clear], y[clear]
    z = move(x + 1j * y)
    found, expected = layers_at(two, z.real, z.imag), layers_at(one, x, y)
    assert_same(found, expected, z.real, z.imag)
    lengths = [
        {
            name: sum(p.length for p, n in zip(o.pieces, o.names, strict=True) if n == name)
            for name in o.names
        }
        for o in (one, two)
    ]
    assert lengths[1] == pytest.approx(lengths[0], rel=1e-6)
