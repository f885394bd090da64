"""From readings to the block: liner in or out, cuts, ties, bores as made, each bore's own walls."""

from dataclasses import replace

import numpy as np
import pytest
from inspected import HEAD, LINER, TWO, lines, wall
from sections import BANK, SINGLE

from cases.base.faults import CaseError
from cases.inspection.places import half_width, place_of
from cases.rating.given import rating_given
from geometry import Block, DeckSection, SectionError
from geometry.left import walls_left
from geometry.outline import draw_section


@pytest.fixture
def found(tmp_path):
    """Reads a case with readings beside it; gives the case and what was found."""
    from cases import read_case

    def of(readings, text=TWO, more=""):
        (tmp_path / "walls.csv").write_text(HEAD + readings)
        path = tmp_path / "case.toml"
        names = 'readings = "walls.csv"\n' if readings else ""
        path.write_text(f'{text}[inspection]\n{names}{more}[[design]]\nname = "bare"\n')
        case = read_case(path)
        return case, case.given["inspection"]

    return of


def test_each_bore_gets_its_own_walls(found):
    case, seen = found(lines(1) + lines(2, mean=6.6, size=0.5, towards=3.0))
    assert (seen.few, seen.notes) == ((), ())
    for bore, kind in ((1, (7.0, 0.3, 6.0)), (2, (6.6, 0.5, 3.0))):
        rows = np.array(case.block.wall_rows(bore))
        assert rows[:, 1] == pytest.approx(wall(rows[:, 0], *kind), abs=5e-3)
    plain, _ = walls_left(DeckSection(block=case.block, depth=24.0))
    at = np.array([120, 300, 360])  # minutes: 2:00, 5:00, 6:00
    assert plain.thickness[0, at] == pytest.approx(wall(at / 60), abs=0.01)
    assert plain.thickness[1, at] == pytest.approx(wall(at / 60, 6.6, 0.5, 3.0), abs=0.01)
    draw_section(case.section(case.designs[0]))


def test_a_taper_that_was_read_is_that_of_the_block(found):
    """Bore 1 grows by 0.03 with depth from 7 mm 15 mm down, bore 2 was read at one depth."""
    deep = lines(1) + lines(1, more=0.6, depth=35.0) + lines(2)
    case, seen = found(deep, TWO.replace('jacket = "9 mm"', 'jacket = "9 mm"\ndraft = "0.5 deg"'))
    slope, down_to = case.block.bore_leans[0]
    assert (slope, down_to) == (pytest.approx(0.03, abs=1e-3), 35.0)
    assert seen.fits[0].taper[0] == pytest.approx(slope)
    assert case.block.bore_leans[1] is None
    for depth in (0.0, 12.0, 30.0):
        rows = np.array(case.block.at_depth(depth).wall_rows(1))
        grown = slope * (depth - 15)
        assert rows[:, 1] == pytest.approx(wall(rows[:, 0]) + grown, abs=0.01)
        assert seen.fits[0].at(rows[:, 0], depth)[0] == pytest.approx(rows[:, 1], abs=1e-5)
    draft = np.tan(np.deg2rad(0.5))
    (below,), (at,) = (np.array(case.block.at_depth(of).wall_rows(1))[:1, 1] for of in (45.0, 35.0))
    assert below - at == pytest.approx(10 * draft)
    second = np.array(case.block.at_depth(25.0).wall_rows(2))
    assert second[:, 1] == pytest.approx(wall(second[:, 0]) + 10 * draft, abs=0.01)


def test_a_bore_without_readings_keeps_the_drawings_wall_and_is_named(found):
    case, seen = found(lines(2, mean=6.6))
    assert seen.few == (1,)
    assert case.block.wall_rows(1) == ()
    plain, _ = walls_left(DeckSection(block=case.block, depth=24.0))
    assert plain.thickness[0, 360] == pytest.approx(7.0, abs=1e-5)
    assert plain.thickness[1, 360] == pytest.approx(wall(6.0, 6.6), abs=0.01)


def test_what_has_no_far_side_is_named_and_not_counted(found):
    _, seen = found(
        lines(1) + "1;12:20;5;9;caliper\n2;9:00;5;9;ultrasound\n1;12:20;20;6.9;ultrasound\n",
        TWO.replace("110 mm", "96 mm"),
    )
    assert [note.split(":")[-1] for note in seen.notes] == [
        " a tie stands there, so the wall has no far side. It is not counted.",
        " two barrels run together there, so the wall has no far side. It is not counted.",
    ]
    assert "line 10, bore 1 at 12:20, 5 mm deep" in seen.notes[0]
    assert [of.line for of in seen.fit_of(1).readings][-1] == 12


def test_readings_at_a_cut_say_where_it_stands(found):
    """Drawn it leaves 52 - 7.5 - 40 = 4.5 mm at its root; it is read 0.4 mm less (derived)."""
    case, seen = found(lines(1) + "1;4:45;5;4.1;caliper\n1;4:45;10;4.1;ball micrometer\n")
    (cut,) = seen.cuts
    assert (cut.bore, cut.drawn) == (1, pytest.approx(4.5))
    assert cut.off == pytest.approx(-0.4)
    assert cut.error == pytest.approx((1 / 0.1**2 + 1 / 0.03**2) ** -0.5)
    (placed,) = case.block.relief_cuts
    assert (placed.bores, placed.radius) == ((1,), pytest.approx(51.6))
    left, _ = walls_left(DeckSection(block=case.block, depth=24.0))
    assert left.thickness[0, 285] == pytest.approx(4.1, abs=1e-3)
    # below its floor the wall is as cast
    _, below = found(lines(1) + "1;4:45;25;6.9;caliper\n")
    assert below.cuts == ()
    assert len(below.fit_of(1).readings) == 9


def test_a_cut_of_all_bores_moves_on_the_one_that_was_read(found):
    text = TWO.replace("bores = [1]\n", "")
    case, _ = found(lines(1) + "2;4:45;5;4.6;caliper\n", text)
    cuts = case.block.relief_cuts
    assert [(cut.bores, round(cut.radius, 6)) for cut in cuts] == [((1,), 52.0), ((2,), 52.1)]
    _, beside = found(lines(1) + "2;4:57;5;5.6;caliper\n", text)
    assert beside.cuts == ()
    assert "on the side of the relief cut at 4:45 of bore 2" in beside.notes[0]


def test_with_the_liner_in_a_reading_is_of_both(found):
    more = 'liner = "in"\n'
    case, seen = found(lines(1, more=2.0), LINER, more)
    assert seen.fit_of(1).mean == pytest.approx(7.0, abs=0.01)
    # a bore worn by 0.1 mm has a liner 0.05 mm thinner (derived)
    case, seen = found(lines(1, more=1.95), LINER, more + 'bore_as_found = "80.1 mm"\n')
    assert seen.fit_of(1).mean == pytest.approx(7.0, abs=0.01)
    assert (case.block.bore, case.block.liner) == (80.1, pytest.approx(1.95))
    case, seen = found(lines(1), LINER, 'liner = "out"\n')
    assert seen.fit_of(1).mean == pytest.approx(7.0, abs=0.01)


def test_through_an_iron_liner_ultrasound_reads_the_liner_alone(found):
    _, seen = found(lines(1, more=2.0) + "1;3:00;30;1.9;ultrasound\n", LINER, 'liner = "in"\n')
    assert [of.wall for of in seen.liner] == [1.9]
    assert len(seen.fit_of(1).readings) == 8


def test_overboring_takes_the_liner_or_the_wall(found):
    make = 'bore_as_found = "80.02 mm"\nbore_to_make = "81 mm"\n'
    case, seen = found("", LINER, make)
    assert (case.block.bore, case.block.liner) == (81.0, pytest.approx(1.5))
    assert (case.block.barrel_wall, case.block.liner_radius) == (7.0, 42.0)
    assert (seen.off_wall, seen.liner_left) == (0.0, pytest.approx(1.5))
    case, seen = found(lines(1), TWO, make)
    # read from a bore of 80.02 mm, bored 0.49 mm further into the wall on each side (derived)
    rows = np.array(case.block.wall_rows(1))
    assert rows[:, 1] == pytest.approx(wall(rows[:, 0]) - 0.49, abs=5e-3)
    assert case.block.barrel_wall == pytest.approx(6.5)
    assert case.block.barrel_radius == pytest.approx(47.0)


@pytest.mark.parametrize(
    ("text", "more", "words"),
    [
        (TWO, 'bore_to_make = "79 mm"\n', "smaller than the bore as it stands, 80 mm"),
        (TWO, 'bore_to_make = "90 mm"\n', "12.5 % larger than drawn; 10 % is allowed"),
        (LINER, 'bore_to_make = "84 mm"\n', "bores through the liner, whose outside is 84 mm"),
        (TWO.replace('"7 mm"', '"2 mm"'), 'bore_to_make = "84 mm"\n', "through the barrel wall"),
        (TWO, 'bore_as_found = "3 in"\n', "-4.7 % off the bore of 3.1496 in"),
        (TWO, "hardness = 8\n", "outside 20 to 400 HBW"),
        (TWO, '[[inspection.crack]]\nbore = 3\nclock = "1:00"\n', "outside 1 to 2"),
    ],
)  # fmt: skip
def test_what_cant_be_is_refused(found, text, more, words):
    with pytest.raises(CaseError, match=words):
        found("", text, more)


def test_acceptance_without_inspection_is_refused(tmp_path):
    from cases import read_case

    path = tmp_path / "case.toml"
    path.write_text(f'{TWO}[acceptance]\nleast_wall = "5 mm"\n[[design]]\nname = "bare"\n')
    with pytest.raises(CaseError, match="Nothing was inspected"):
        read_case(path)


def test_the_readings_scatter_feeds_the_band(found):
    case, seen = found(lines(1) + lines(2))
    rating = rating_given(case)
    assert rating.wall_tolerance == pytest.approx(seen.fit_of(2).tolerance(12.0))
    assert 0.03 < rating.wall_tolerance < 0.3
    few, seen = found(lines(1) + "".join(lines(2).splitlines(keepends=True)[1:7:2]))
    assert rating_given(few).wall_tolerance > rating.wall_tolerance
    stated, _ = found(lines(2), TWO + '[rating]\nwall_tolerance = "0.4 mm"\n')
    assert rating_given(stated).wall_tolerance == 0.4
    plain, _ = found(lines(1))
    assert rating_given(plain).wall_tolerance == 0.3


@pytest.mark.parametrize("block", [SINGLE, BANK, replace(BANK, draft=1.0)])
def test_a_places_wall_is_what_the_section_draws(block):
    """Against rays through the drawn section (:mod:`geometry.left`), at the deck."""
    left, _ = walls_left(DeckSection(block=block, depth=24.0))
    cuts = [cut for cut in block.relief_cuts if cut.depth > 0.1]
    clocks = [cut.clock + share * half_width(cut) for cut in cuts for share in (-0.8, 0, 0.5, 1.3)]
    for clock in [*clocks, *(hour + 0.5 for hour in range(12))]:
        minute = round(60 * clock) % 720
        place = place_of(block, 2 if block.bores > 1 else 1, minute / 60, 0.05)
        drawn = left.thickness[1 if block.bores > 1 else 0, minute]
        if np.isnan(drawn):
            assert place.kind in ("tie", "web")
        elif place.kind in ("free", "cut"):
            assert place.wall == pytest.approx(drawn, abs=0.02)
    assert place_of(block, 1, block.ties[0].clock, 5.0).kind == "tie"
    assert place_of(block, 1, block.ties[0].clock, 20.0).kind == "free"


def test_rows_for_each_bore_and_no_wall_table():
    rows = ((0.0, 6.0), (4.0, 6.2), (8.0, 5.8))
    with pytest.raises(SectionError, match="rows for 1 of 3 bores"):
        replace(BANK, bore_walls=(rows,))
    with pytest.raises(SectionError, match="no wall_table"):
        Block(bore=80, barrel_wall=6, bore_walls=(rows,), wall_table=rows)
    with pytest.raises(SectionError, match="2 different clock positions in 3 rows"):
        Block(bore=80, barrel_wall=6, bore_walls=((rows[0], rows[0], rows[1]),))
    thin = DeckSection(
        block=replace(BANK, bore_walls=((), rows, ((0.0, 6.0), (3.5, 1.0), (8.0, 6.0)))), depth=24
    )
    with pytest.raises(SectionError, match="the barrel wall of bore 3 at 3:30: 1 mm is thinner"):
        draw_section(thin)
    drafted = replace(BANK, bore_walls=((), rows, ()), draft=1.0).at_depth(10.0)
    assert drafted.bore_walls[1][1] == (4.0, pytest.approx(6.2 + 10 * np.tan(np.pi / 180)))
