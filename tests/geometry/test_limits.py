"""What can't be built: the message, its key, and the cure that it names."""

import math
import re
from dataclasses import replace

import pytest
from sections import BANK, SINGLE, section

from geometry import (
    Block,
    DeckSection,
    Insert,
    Register,
    ReliefCut,
    SectionError,
    Tie,
    WaterSlot,
    format_clock,
    parse_clock,
)
from geometry.outline import draw_section

RELIEF = BANK.relief_cuts[0]

REFUSED = {
    "relief cut breaks into the bore": (
        {"relief_cuts": (replace(RELIEF, radius=50),)},
        r"relief cut 1 at 1:42 .* breaks into the liner .* radius of 55\.5 mm.*at most 5 mm",
    ),
    "relief cut leaves a thin barrel": (
        {"relief_cuts": (replace(RELIEF, radius=55),)},
        r"relief cut 1 at 1:42 .* leaves 1 mm of barrel wall.*under 1\.5 mm.*radius of 55\.5 mm",
    ),
    "relief cut breaks through the outer wall": (
        {"relief_cuts": (replace(RELIEF, radius=63),)},
        r"relief cut 1 at 1:42 .*breaks through the outer wall by 1 mm.*radius of 60\.5 mm",
    ),
    "tie wider than its arc": (
        {"ties": (SINGLE.ties[0], replace(SINGLE.ties[1], clock=0.6))},
        r"tie 1 at 12:24 is 8 mm wide, more than its arc.*at most 2\.89 mm",
    ),
    "tie where another takes all of the arc": (
        {"ties": (SINGLE.ties[0], replace(SINGLE.ties[1], clock=0.45))},
        r"tie 1 at 12:24 is 8 mm wide, more than its arc of the barrel takes\. Move the ties "
        r"apart, make the other narrower, or leave one of them out\.",
    ),
    "two ties at one place": ({"ties": (SINGLE.ties[0],) * 2}, r"at the clock position of another"),
    "fillet too large for the jacket": (
        {"ties": (replace(SINGLE.ties[1], fillet=6.0),)},
        r"fillet of 6 mm doesn't fit between tie 1 at 3:12 and the .* at most 4\.5 mm",
    ),
    "thin tie": (
        {"ties": (Tie(clock=3, width=1.4, depth=9, fillet=0.5),)},
        r"left 1\.4 mm thick between two sides of tie 1 at 3:00 near [23]:.* 1\.5 mm is the least",
    ),
    "tie that is a hair too thin": (
        {"ties": (Tie(clock=3, width=1.46, depth=9, fillet=0.5),)},
        r"left 1\.46 mm thick between two sides of tie 1 at 3:00 .* 1\.5 mm is the least",
    ),
    "thin barrel": ({"barrel_wall": 1.2, "relief_cuts": ()}, r"barrel_wall = 1\.2 mm is thinner"),
    "thin row of the wall table": (
        {"wall_table": ((0, 6), (4, 1.0), (8, 6)), "relief_cuts": ()},
        r"wall_table row 2 at 4:00: 1 mm is thinner than the 1\.5 mm",
    ),
    "wall table fills the jacket": (
        {"wall_table": ((0, 6), (4, 15.0), (8, 6)), "relief_cuts": ()},
        r"leaves no water.*at most 14\.5 mm",
    ),
    "slot outside the insert": (
        {"insert": Insert(depth=9, slots=(WaterSlot(clock=2.6, width=9),))},
        r"slot 1 at 2:36 .* reaches outside the insert.* at most 6 mm wide",
    ),
    "slot at a tie": (
        {"insert": Insert(depth=9, slots=(WaterSlot(clock=3.2, width=4),))},
        r"slot 1 at 3:12 .* Move it",
    ),
    "ring that leaves a skin of a tie": (
        {"insert": Insert(depth=11, form="ring")},
        r"a ring 11 mm deep leaves 1 mm of tie 1 at 12:24 \(12 mm deep\) below it, under 1\.5 mm\. "
        r"Make the ring at most 10\.5 mm deep, or make the ring at least 12 mm deep, which mills",
    ),
    "ring cut through by a relief cut": (
        {"insert": Insert(depth=5, form="ring", fills_relief_cuts=False)},
        r"9 mm wide, is no closed ring: near 1:\d\d a relief cut .* Let it fill the relief cuts",
    ),
    "slot of a ring over a tie": (
        {"insert": Insert(depth=5, form="ring", slots=(WaterSlot(clock=3.2, width=3),))},
        r"slot 1 at 3:12 .* lies over a tie, or leaves less than 1\.5 mm of it beside a wall",
    ),
    "register through the barrel wall": (
        {"insert": Insert(depth=5, register=Register(depth=6, barrel=7))},
        r"register\.barrel = 7 mm is taken off block\.barrel_wall = 6 mm and breaks through it; "
        r"1\.5 mm is the least allowed\. Take off at most 4\.5 mm",
    ),
    "register through a row of the wall table": (
        {
            "insert": Insert(depth=5, register=Register(depth=6, barrel=2)),
            "wall_table": ((0, 6), (4, 3), (8, 6)),
            "relief_cuts": (),
        },
        r"taken off the barrel wall at 4:00 \(block\.wall_table\) = 3 mm and leaves 1 mm; ",
    ),
    "ledge through the outer wall": (
        {"insert": Insert(depth=6, register=Register(depth=6, ledge=4.4)), "outer_wall": 5.0,
         "relief_cuts": ()},
        r"register\.ledge = 4\.4 mm is taken off block\.outer_wall = 5 mm and leaves 0\.6 mm; ",
    ),
    "register that thins the wall beside a relief cut": (
        {
            "insert": Insert(depth=5, register=Register(depth=6, outer_wall=2.5)),
            "relief_cuts": (ReliefCut(clock=2.25, radius=66, diameter=3, depth=20),),
        },
        r"the block is left 1\.01 mm thick between the register's face and relief cut 1 at 2:15 ",
    ),
    "ledge wider than the jacket": (
        {"insert": Insert(depth=6, register=Register(depth=6, ledge=9, barrel=0))},
        r"register\.ledge = 9 mm is no narrower than the insert between the walls, 9 mm",
    ),
    "register of a wall that the insert doesn't reach": (
        {"insert": Insert(depth=6, width=9, register=Register(depth=6, outer_wall=1))},
        r"register\.outer_wall = 1 mm .* an insert 9 mm wide doesn't reach\. .* 10 mm wide",
    ),
    "pocket that no cutter of that size enters": (
        {"insert": Insert(depth=5, register=Register(depth=6, corner_radius=6, barrel=1))},
        r"a cutter of 12 mm doesn't enter the pocket near .* that does is 10 mm: make it",
    ),
    "slot over the floor of a register": (
        {
            "insert": Insert(
                depth=5,
                register=Register(depth=6, barrel=2),
                slots=(WaterSlot(clock=2.5, width=3, radius=53.2),),
            )
        },
        r"slot 1 at 2:30 .* lies over the floor of the register, .* at most 2\.\d+ mm wide",
    ),
    "ring over a tie of the register's depth": (
        {"insert": Insert(depth=5, form="ring", register=Register(depth=11))},
        r"a ring 11 mm deep leaves 1 mm of tie 1",
    ),
    "draft that closes the jacket": (
        {"draft": 10.0, "depth": 27.0},
        r"draft = 10 deg: the jacket is 9 mm wide .* closes it above the section depth of 27 mm; "
        r"0\.5 mm is the least allowed\. Give at most 8\.94 deg",
    ),
    "draft that leaves hardly any jacket": (
        {"draft": 9.0, "depth": 27.0},
        r"the draft leaves 0\.45 mm of it at the section depth of 27 mm",
    ),
    "draft that makes a slot too wide": (
        {
            "draft": 1.0,
            "depth": 28.0,
            "insert": Insert(depth=9, slots=(WaterSlot(clock=2.6, width=6),)),
        },
        r"draft = 1 deg: what fits at the deck doesn't .* There slot 1 at 2:36 .* at most 5\.5 mm",
    ),
    "a tie that is wrong at the deck too": (
        {"draft": 1.0, "ties": (Tie(clock=3, width=80, depth=12),)},
        r"^tie 1 at 3:00",
    ),
    "slots too near each other": (
        {"insert": Insert(depth=9, slots=tuple(WaterSlot(clock=c, width=4) for c in (2.5, 2.67)))},
        r"the insert is left .* between slot 2 at 2:40 and slot 1 at 2:30 near 2:34",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("change", "message"), REFUSED.values(), ids=REFUSED.keys())
def test_refused(change, message):
    with pytest.raises(SectionError, match=message):
        draw_section(section(**change))


def test_tie_into_the_neighbouring_barrel():
    with pytest.raises(SectionError, match=r"tie 1 at 2:36 on bore 1 meets .*free is 1:\d\d"):
        draw_section(section(BANK, ties=(Tie(clock=2.6, width=8, depth=12),)))


@pytest.mark.parametrize(("barrel", "radius"), [(0.0, 4.45), (1.0, 4.95), (2.0, 5.3)])
def test_the_largest_cutter_that_is_named_enters(barrel, radius):
    """Walls 9 mm apart and what is taken off them; the corners at the ties take the rest."""
    register = Register(depth=6, barrel=barrel, corner_radius=9)
    with pytest.raises(SectionError, match="doesn't enter the pocket") as caught:
        draw_section(section(insert=Insert(depth=5, register=register)))
    assert caught.value.feature == "register.corner_radius"
    named = float(re.search(r"at most ([\d.]+) mm", str(caught.value))[1])
    assert radius < named <= (9 + barrel) / 2
    draw_section(section(insert=Insert(depth=5, register=replace(register, corner_radius=named))))


def test_a_ring_that_ends_short_of_the_valley_says_which_width_closes_it():
    """The fillet of 3 mm between the barrels reaches 1.65 mm out from them: Pythagoras in the
    triangle of its centre, at 55 mm from both axes, and half the pitch (derived)."""
    out = math.hypot(97 / 2, math.sqrt(55**2 - (97 / 2) ** 2) - 3) - 52
    narrow, wide = (Insert(depth=5, form="ring", width=width) for width in (1.2, 3.2))
    found = (
        rf"1\.2 mm wide, is no .* near 2:09 of bore 1 .* than {out:.2f} mm wide .* least 3\.2 mm"
    )
    with pytest.raises(SectionError, match=found) as caught:
        draw_section(section(BANK, narrow))
    assert caught.value.feature == "insert.form"
    draw_section(section(BANK, wide))


def test_a_ring_as_deep_as_a_tie_mills_it_away():
    outline = draw_section(section(insert=Insert(depth=12, form="ring")))
    assert not any(layer.part == "tie" for layers in outline.regions for layer in layers)


def test_bore_number_that_is_none():
    with pytest.raises(SectionError, match=r"stands on bore 7, but the block has bores 1 to 3"):
        draw_section(section(BANK, ties=(Tie(clock=1, width=8, depth=12, bores=(7,)),)))


def test_a_case_can_lower_the_limit_on_purpose():
    thin = replace(RELIEF, radius=55)
    with pytest.raises(SectionError):
        draw_section(section(relief_cuts=(thin,)))
    draw_section(replace(section(relief_cuts=(thin,)), thinnest_wall=0.9))


def test_message_names_the_key():
    with pytest.raises(SectionError) as caught:
        draw_section(section(relief_cuts=(RELIEF, replace(RELIEF, clock=4.6, radius=50))))
    assert caught.value.feature == "relief_cut[2].radius"


THIN_WALLS = ((0, 6), (4, 2.0), (8, 6))
NO_CUTS = {"relief_cuts": ()}


@pytest.mark.parametrize(
    ("key", "change"),
    [
        ("block.barrel_wall", lambda wall: {"barrel_wall": wall, **NO_CUTS}),
        ("block.outer_wall", lambda wall: {"outer_wall": wall, **NO_CUTS}),
        ("block.wall_table[2]", lambda wall: {
            "wall_table": ((0, 6), (4, wall), (8, 6)), **NO_CUTS
        }),
    ],
)  # fmt: skip
def test_a_wall_may_be_as_thin_as_the_section_allows_and_no_thinner(key, change):
    draw_section(section(**change(1.5)))
    with pytest.raises(
        SectionError, match=r"1\.49 mm is thinner than the 1\.5 mm allowed"
    ) as caught:
        draw_section(section(**change(1.49)))
    assert caught.value.feature == key


def refusal(change) -> str:
    block, changes = change if isinstance(change, tuple) else (SINGLE, change)
    try:
        draw_section(section(block, **changes))
    except SectionError as error:
        return f"{error.feature}: {error}"
    return ""


def one_tie(**changes):
    return {"ties": (replace(SINGLE.ties[1], **changes),), **NO_CUTS}


def one_slot(**changes):
    return {"insert": Insert(depth=9, slots=(replace(WaterSlot(clock=2.6, width=9), **changes),))}


def one_cut(**changes):
    return {"relief_cuts": (replace(RELIEF, **changes),)}


AT_BORE_1 = {"bores": (1,), "clock": 3.0, "radius": 60.0, "depth": 10.0, "diameter": 10.0}
WIDE = replace(BANK, ties=(), relief_cuts=(), bores=2, firing_bore=1, pitch=110)


def into_the_next_bore(**changes):
    return WIDE, {"relief_cuts": (replace(RELIEF, **{**AT_BORE_1, **changes}),)}


def walls(wall):
    return {"wall_table": ((0, 6), (4, wall), (8, 6)), "ties": (), **NO_CUTS}


def close_ties(width):
    first, second = SINGLE.ties[0], replace(SINGLE.ties[1], clock=0.6, fillet=0.0)
    return {"ties": (replace(first, width=width, fillet=0.0), second), **NO_CUTS}


def deep(depth):
    return {"insert": Insert(depth=depth), "depth": 30.0}


CURES = {  # what is refused, the words, the value that is told, and by how much less is too little
    "a relief cut further out": (
        one_cut(radius=50), r"breaks into.*to a radius of ([\d.]+) mm", "radius", -0.01, one_cut),
    "a smaller relief cut": (
        one_cut(radius=54), r"barrel wall.*diameter at most ([\d.]+) mm", "diameter", 0.02,
        lambda **c: one_cut(radius=54, **c)),
    "a relief cut further in": (
        one_cut(radius=61), r"outer wall.*to a radius of ([\d.]+) mm", "radius", 0.02, one_cut),
    "a smaller relief cut at the outer wall": (
        one_cut(radius=61), r"outer wall.*diameter at most ([\d.]+) mm", "diameter", 0.04,
        lambda **c: one_cut(radius=61, **c)),
    "a smaller relief cut at the next bore": (
        into_the_next_bore(), r"liner of bore 2\. Make its diameter at most ([\d.]+) mm",
        "diameter", 0.02, into_the_next_bore),
    "a narrower tie": (
        close_ties(9.0), r"more than its arc.*at most ([\d.]+) mm wide", "width", 0.02, close_ties),
    "a smaller fillet": (
        one_tie(fillet=6.0), r"fillet of.*takes at most ([\d.]+) mm", "fillet", 0.02, one_tie),
    "a narrower slot": (
        one_slot(), r"reaches outside.*at most ([\d.]+) mm wide", "width", 0.2, one_slot),
    "a narrower slot off the middle": (
        one_slot(radius=57.5), r"reaches outside.*at most ([\d.]+) mm wide", "width", 0.2,
        lambda **c: one_slot(radius=57.5, **c)),
    "thinner walls in a table": (
        walls(16.0), r"no water.*at most ([\d.]+) mm", "wall", 0.01, walls),
    "a shallower insert": (
        deep(40.0), r"the insert at most ([\d.]+) mm deep", "depth", 0.01, deep),
}  # fmt: skip


@pytest.mark.parametrize(("change", "words", "name", "less", "make"), CURES.values(), ids=CURES)
def test_the_cure_that_is_named_is_one_and_hardly_less_is_not(change, words, name, less, make):
    found = re.search(words, refusal(change))
    assert found, refusal(change)
    told = float(found[1])
    assert refusal(make(**{name: told})) == ""
    assert refusal(make(**{name: told + less})).split(": ")[0] == refusal(change).split(": ")[0]


@pytest.mark.parametrize("clock", [2.5, 2.55, 2.6, 2.65])
def test_a_tie_may_stand_where_it_is_told_to_and_not_2_minutes_before(clock):
    def bank(at):
        return BANK, {"ties": (Tie(clock=at, width=8, depth=12),), **NO_CUTS}

    found = re.search(r"on bore 1 meets .*free is (\d+:\d\d)", refusal(bank(clock)))
    free = parse_clock(found[1])
    assert free < clock
    assert refusal(bank(free)) == ""
    assert "meets the barrel" in refusal(bank(free + 2 / 60))


def test_a_cut_at_the_next_bore_is_not_cured_by_moving_it_out():
    assert "move its centre" not in refusal(into_the_next_bore())
    assert refusal(into_the_next_bore()).startswith("relief_cut[1].radius: relief cut 1 at 3:00 on")


def two_cuts(apart: float, diameter: float = 12.0) -> DeckSection:
    """A thick ring with two pockets whose centres, at radius 65 mm, are so far apart."""
    first = 7.0
    second = first + math.degrees(2 * math.asin(apart / 130)) / 30
    cuts = [ReliefCut(clock=c, radius=65, diameter=diameter, depth=20) for c in (first, second)]
    return DeckSection(block=Block(bore=87, barrel_wall=45, relief_cuts=tuple(cuts)), depth=30)


def test_metal_between_two_pockets_is_measured_where_it_is_thinnest():
    draw_section(two_cuts(13.51))
    middle = format_clock(7.0 + math.degrees(math.asin(13 / 130)) / 30)
    words = rf"left 1 mm thick between relief cut 2 at 7:.. and relief cut 1 at 7:00 near {middle}"
    with pytest.raises(SectionError, match=words) as caught:
        draw_section(two_cuts(13.0))
    radius = float(re.search(r"at radius ([\d.]+) mm", str(caught.value))[1])
    assert radius == pytest.approx(math.sqrt(65**2 - 6.5**2), abs=0.15)
    assert "by 0.5 mm" in str(caught.value)
    assert caught.value.feature.startswith("relief_cut[")


def test_metal_that_runs_out_to_a_keen_edge_is_refused():
    """Two circles of radius r whose centres are 2 r cos(a / 2) apart leave an edge of angle a."""
    draw_section(two_cuts(12 * math.cos(math.radians(20 / 2))))
    with pytest.raises(SectionError, match="mm thick between relief cut"):
        draw_section(two_cuts(12 * math.cos(math.radians(8 / 2))))


@pytest.mark.parametrize(("turn", "refused"), [(0.17, True), (0.18, True), (0.25, False)])
def test_the_insert_between_two_slots_is_measured_by_itself(turn, refused):
    insert = Insert(depth=9, slots=tuple(WaterSlot(clock=2.3 + k * turn, width=4) for k in (0, 1)))
    found = re.match(r"slot\[\d\]: the insert is left ([\d.]+) mm", refusal({"insert": insert}))
    assert bool(found) == refused
    if found:
        apart = 2 * 56.5 * math.sin(math.radians(30 * turn / 2)) - 4
        assert float(found[1]) == pytest.approx(apart, abs=0.1)


def test_a_fillet_of_a_valley_that_does_not_fit_is_the_blocks():
    assert refusal((BANK, {"valley_fillet": 40.0})).startswith("block.valley_fillet: a fillet of 4")
