"""How a gasket lies over the block: turned, turned over, and openings where none may be."""

import cmath
import math

import ezdxf
import numpy as np
import pytest
from gaskets import CASE, EARLY, LATE, write_case

from cases import read_case
from cases.base.faults import CaseError
from cases.gasket.given import gasket_given
from cases.gasket.place import by_circles
from cases.gasket.solve import design_water
from cases.inspection.cells import ReadingsError
from geometry import Block, planar

BLOCK = Block(bore=87, barrel_wall=6, jacket=9, outer_wall=9, bores=3, pitch=97, firing_bore=2)
DRAWN = '[[gasket]]\nname = "drawn"\ndrawing = "gasket.dxf"\nlayer = "WATER"\n'
SLOTTED = CASE[: CASE.index("[[design.slot]]")] + "".join(
    f'[[design.slot]]\nclock = "{clock}"\nwidth = "5 mm"\n' for clock in ("1:30", "5:00")
)
HOLES = [complex(40, 40), complex(40, -40), complex(-39, 41), complex(97 + 56, 5)]


def middles(openings):
    return [np.mean([of.start for of in opening.loop()]) for opening in openings]


def draw(folder, turn=1 + 0j, shift=0j, pitch=97.0, holes=HOLES, bores=True):
    made = ezdxf.new("R2010")
    made.header["$INSUNITS"] = 4
    space = made.modelspace()
    for z in holes:
        z = z * turn + shift
        space.add_circle((z.real, z.imag), 3, dxfattribs={"layer": "WATER"})
    for z in (0, pitch) if bores else ():
        z = z * turn + shift
        for radius in (44.5, 47.0):  # both edges of a bead
            space.add_circle((z.real, z.imag), radius, dxfattribs={"layer": "BORES"})
    made.saveas(folder / "gasket.dxf")


@pytest.mark.parametrize("degrees", [0.0, 30.0, 90.0, -135.0, 180.0])
def test_a_drawing_is_laid_on_the_bores_by_its_circles(degrees):
    axes = np.array([0, 97, 194]) * cmath.exp(1j * math.radians(degrees)) + 12 - 40j
    turn, shift, words = by_circles(list(axes[[1, 0, 2]]), BLOCK)
    laid = sorted((axes * turn + shift).real)
    assert laid == pytest.approx([0, 97, 194], abs=1e-9)
    assert np.abs((axes * turn + shift).imag).max() < 1e-9
    straight = degrees % 180
    assert ("turned by" in words) == bool(straight)


def test_circles_that_are_not_of_this_block_are_refused():
    with pytest.raises(ReadingsError, match=r"2 circles in the drawing .* the block has 3 bores"):
        by_circles([0j, 97 + 0j], BLOCK)
    with pytest.raises(ReadingsError, match=r"bore 1 is 5 mm off at a pitch of 97 mm"):
        by_circles([0j, 102 + 0j, 204 + 0j], BLOCK)


def test_a_turned_drawing_is_laid_straight_and_that_is_said(tmp_path):
    turn = cmath.exp(1j * math.radians(30))
    draw(tmp_path, turn, 500 + 300j)
    gasket = gasket_given(read_case(write_case(tmp_path, gaskets=DRAWN))).gaskets[0]
    assert middles(gasket.openings) == pytest.approx(HOLES)
    assert gasket.notes == (
        "turned by 30 deg in its drawing, and laid straight on the bores by its circles",
    )


def test_a_drawing_without_circles_counts_from_bore_1(tmp_path):
    draw(tmp_path, bores=False)
    gasket = gasket_given(read_case(write_case(tmp_path, gaskets=DRAWN))).gaskets[0]
    assert middles(gasket.openings) == pytest.approx(HOLES)
    assert "its origin counts as the axis of bore 1" in gasket.notes[0]


@pytest.mark.parametrize(
    ("by", "over", "words"),
    [
        (-1, False, "turned by half a turn"),
        (1, True, "turned over along the bank"),
        (-1, True, "turned over across the bank"),
    ],
)
def test_a_gasket_that_lies_the_wrong_way_round_is_found(tmp_path, by, over, words):
    """Slots by the clock at places of which no other way of lying has any."""
    case = CASE.replace(
        '[[tie]]\nclock = "6:00"', '[[tie]]\nclock = "10:40"\nwidth = "30 mm"\ndepth = "12 mm"\n'
        'bores = [1]\n[[tie]]\nclock = "6:00"'
    )  # fmt: skip
    holes = [complex(97 + 56 * math.cos(a), 56 * math.sin(a)) for a in (0.5, 0.7)]
    holes += [complex(56 * math.cos(a), 56 * math.sin(a)) for a in (-2.5, -2.7)]
    holes += [97 + 56 * cmath.exp(1j * a) for a in (-0.55, -0.75)]
    # over metal of bore 1 as it would lie the other way
    wrong = [(z.conjugate() if over else z) * by + (97 if by < 0 else 0) for z in holes]
    draw(tmp_path, holes=wrong)
    found = read_case(write_case(tmp_path, case=case, gaskets=DRAWN))
    (one,) = design_water(found, found.designs[0]).gaskets
    assert words in one.notes[0]
    draw(tmp_path, holes=holes)
    found = read_case(write_case(tmp_path, case=case, gaskets=DRAWN))
    (one,) = design_water(found, found.designs[0]).gaskets
    assert "check that it lies" not in one.notes[0]


def holes_over(slots, bores=2):
    """Holes as large as round slots of 5 mm, about bore 1."""
    ways = [math.pi / 2 - math.radians(30 * clock) for clock in slots]
    return [97 * bore + 56.5 * cmath.exp(1j * way) for bore in range(bores) for way in ways]


@pytest.mark.parametrize(
    ("by", "over", "words"),
    [
        (-1, False, "turned by half a turn"),
        (1, True, "turned over along the bank"),
        (-1, True, "turned over across the bank"),
    ],
)
def test_where_the_bare_deck_can_not_tell_the_slots_of_an_insert_do(tmp_path, by, over, words):
    """Ties at 12:00 and 6:00 look alike all four ways; slots at 1:30 and 5:00 don't."""
    right = holes_over((1.5, 5.0))
    wrong = [(z.conjugate() if over else z) * by + (97 if by < 0 else 0) for z in right]
    draw(tmp_path, cmath.exp(1j * math.radians(37)), 3 - 8j, holes=wrong)

    def read(gaskets):
        case = read_case(write_case(tmp_path, case=SLOTTED, gaskets=gaskets))
        (one,) = design_water(case, case.designs[1]).gaskets
        return one

    lies = read(DRAWN)
    assert lies.open < 0.6 * lies.bare
    assert (
        f"would if it were {words}: check that it lies the right way round, and say"
        in lies.notes[0]
    )
    assert "over what slotted leaves open" in lies.notes[0]
    told = read(f'{DRAWN}lies = "{words}"\n')
    assert told.open == pytest.approx(4 * math.pi * 2.5**2, rel=1e-6)
    assert not any("check that it lies" in note for note in told.notes)


def test_what_lies_wrong_by_the_case_is_told_how_to_lie(tmp_path):
    draw(tmp_path, holes=holes_over((1.5, 5.0)))
    wrong = f'{DRAWN}lies = "turned by half a turn"\n'
    case = read_case(write_case(tmp_path, case=SLOTTED, gaskets=wrong))
    (one,) = design_water(case, case.designs[1]).gaskets
    assert 'say lies = "as given"' in one.notes[0]


def refused(folder, **files):
    with pytest.raises(CaseError) as error:
        read_case(write_case(folder, **files))
    return str(error.value)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("; 1; 1:32; 56; round; 6; ;", "line 11: it overlaps line 2 by"),
        ("; 1; 3:00; 45; round; 6; ;", "line 11: it lies in a bore at 3:00 of bore 1"),
        ("; 1; 3:00; 1; round; 40; ;", "line 11: it lies around the axis of a bore"),
        ("; 2; 3:00; 156; round; 6; ;", "mm beyond the outer wall at 3:00 of bore 2"),
    ],
    ids=["overlap", "bore", "axis", "off the block"],
)
def test_an_opening_where_none_may_be_is_refused_with_its_place(tmp_path, row, told):
    text = refused(tmp_path, early=EARLY + row + "\n")
    assert "gasket[1].table" in text
    assert told in text


def test_an_edge_that_crosses_itself_is_refused(tmp_path):
    crossed = LATE.replace("-44 36 / -38 36 / -38 42 / -44 42", "-44 36 / -38 42 / -38 36 / -44 42")
    assert "line 4: its edge crosses or touches itself" in refused(tmp_path, late=crossed)


@pytest.mark.parametrize(
    ("gaskets", "told"),
    [
        ('[[gasket]]\nname = "a"\n', "Give its openings once"),
        ('[[gasket]]\nname = "a"\ntable = "early.csv"\nlayer = "W"\n', "It is of a drawing"),
        ('[[gasket]]\nname = "a"\ndrawing = "no.dxf"\n', "Say the layer"),
        ('[[gasket]]\nname = "a"\ntable = "no.csv"\n', "There is no file no.csv"),
        ('[[gasket]]\nname = "a"\ntable = "early.csv"\n' * 2, "Another gasket has this name"),
        ('[[gasket]]\nname = "a"\ntable = "early.csv"\nbead_diameter = "87 mm"\n',
         "reaches into the bore of 87 mm"),
    ],
)  # fmt: skip
def test_a_gasket_that_is_stated_wrong_is_refused(tmp_path, gaskets, told):
    assert told in refused(tmp_path, gaskets=gaskets)


def test_areas_do_not_depend_on_the_bore_that_fires(tmp_path):
    other = CASE.replace("firing_bore = 2", "firing_bore = 1")
    found = []
    for case in (CASE, other):
        read = read_case(write_case(tmp_path, case=case))
        found.append(design_water(read, read.designs[1]).gaskets[0])
    assert [of.open for of in found[0].holes] == pytest.approx([of.open for of in found[1].holes])
    assert [of.bore for of in found[0].holes] == [of.bore for of in found[1].holes]
    assert planar.signed_area(gasket_given(read).gaskets[0].openings[0].loop()) > 0
