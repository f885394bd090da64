"""What opens when block and insert are at unlike temperatures."""

import datetime
import math
from dataclasses import replace

import pytest
from made import CASE, RING

from cases.making.contraction import strain
from cases.making.make import made_of
from cases.making.passage import BARREL, ENDS, OUTER_WALL, ring_clearance
from cases.making.sheets import write_sheets
from cases.making.words import goes_in

E = -float(strain(-195.8, 23.6e-6))  # what 6061 shrinks by in nitrogen


def making(case, text=CASE, **changed):
    read = case(text)
    read = read.told("making", replace(read.given["making"], **changed))
    return made_of(read, "low", None, "")


def sides(one):
    return {side.part: side for side in one.sides}


def test_a_closed_ring_gains_at_one_wall_and_loses_at_the_barrel(case):
    (one,) = making(case, RING).passages
    of = sides(one)
    # R e - i/2 outside, -R e - i/2 at the barrel, R 61 and 52 mm (derived)
    assert one.closed
    assert of[OUTER_WALL].nominal == pytest.approx(61 * E - 0.004, rel=1e-6)
    assert of[BARREL].nominal == pytest.approx(-52 * E - 0.004, rel=1e-6)
    assert of[BARREL].least == pytest.approx(-52 * E - 0.005, rel=1e-6)
    assert [round(1000 * r * E) for r in (61, 52)] == [237, 202]
    assert one.unbent is None


def test_a_piece_opens_each_side_by_half_its_width_times_the_strain(case):
    first, second = making(case).passages
    of = sides(first)
    assert not first.closed
    assert of[BARREL].cold == pytest.approx(-0.004)
    for part in (BARREL, OUTER_WALL):
        assert of[part].nominal == pytest.approx((9 * E - 0.008) / 2, rel=1e-9)
        assert of[part].least == pytest.approx((9 * E - 0.010) / 2, rel=1e-9)
    # a thirteenth of what the diameter of the outer wall suggests
    assert pytest.approx(13.6, abs=0.1) == 61 * E / (9 * E / 2)
    # along the middle of the jacket between two ties of 8 mm; half of 50 um, less the tolerance
    length = 56.5 * (math.pi - 2 * math.asin(4 / 56.5))
    assert of[ENDS].least == pytest.approx((length * E + 0.048) / 2, abs=2e-4)
    assert second.least == pytest.approx(first.least)


NARROW = CASE.replace('depth = "6 mm"', 'depth = "6 mm"\nwidth = "6 mm"')


def test_a_piece_with_water_behind_it_is_held_by_its_ends_alone(case):
    one, _ = making(case, NARROW).passages
    length = 55 * (math.pi - 2 * math.asin(4 / 55))  # of its middle
    assert sides(one).keys() == {ENDS}
    assert one.least == pytest.approx((length * E + 0.048) / 2, abs=2e-4)
    # it moves off the barrel, no further than there is jacket
    assert one.least < one.unbent < 9


def test_what_is_clear_of_both_ends_at_any_temperature_never_grips(case):
    text = CASE.replace('depth = "6 mm"', 'depth = "6 mm"\nwidth = "5 mm"')
    found = making(case, text)
    assert [(of.air_seconds, of.touching_seconds) for of in found.passages] == [
        (math.inf, math.inf)
    ] * 2
    assert "It does not grip as it warms: no time presses." in list(goes_in(found))


def test_a_piece_that_nothing_holds_is_said(case, tmp_path):
    """Thinner than half the jacket, its ends are corners alone."""
    made = making(case, NARROW.replace('width = "6 mm"', 'width = "3 mm"'))
    assert made.unknown == "piece 1 stands between no two faces, so nothing holds it"
    write_sheets(made, datetime.date(2026, 5, 31), made.masses, tmp_path)
    half = math.pi * 53.5 - 8
    assert half - 2 < made.pieces[0].length < half  # less its corners


def test_a_half_circle_that_does_not_bend_opens_less(case):
    # moved by a along its middle it stands off by R e - a at the outer wall there, less at its ends
    # by the barrel: 52 e - a at the middle, a cos(phi) - 52 e at the ends (derived)
    (one, _) = making(case, CASE.replace('"8 um"', '"0.5 um"').replace('"2 um"', '"0 um"')).passages
    assert one.unbent < 0 < one.least


def test_a_hub_is_heated_over_its_shaft_as_din_7190_has_it():
    # d 50 mm, U 50 um, clearance d/1000, 11e-6: 181.82 K
    rise = 181.82
    found = ring_clearance(25.0, 0.050, 11e-6 * rise, inside=False)
    assert found == pytest.approx(0.025, rel=1e-4)


def test_a_warmer_block_opens_it_further(case):
    cold, warm = making(case), making(case, block_temperature=120.0)
    more = warm.least - cold.least
    assert more == pytest.approx(9 * float(strain(120.0, 21.5e-6)) / 2, rel=1e-9)
    assert warm.passages[0].air_seconds > cold.passages[0].air_seconds


def test_less_clearance_than_asked_is_refused_with_what_would_do(case):
    text = CASE.replace('"8 um"', '"22 um"')
    made = making(case, text)
    assert not made.drops_in
    first = made.cures[0]
    assert "in liquid nitrogen" in first
    warm = float(first.split()[3])
    assert making(case, text, block_temperature=warm).drops_in
    assert not making(case, text, block_temperature=warm - 1.5).drops_in
    (less,) = [of for of in made.cures if "interference of at most" in of]
    most = int(less.split("at most ")[1].split(" um")[0])
    fits = making(case, CASE.replace('"8 um"', f'"{most - 2.5} um"'))
    tight = making(case, CASE.replace('"8 um"', f'"{most - 1} um"'))
    assert fits.drops_in
    assert not tight.drops_in
    assert made.cures[-1] == "press it in cold"


def test_a_ring_pressed_on_both_sides_drops_in_at_no_temperature(case):
    made = making(case, RING, block_temperature=150.0)
    assert not made.drops_in
    assert not any("degC" in cure for cure in made.cures)
    (one,) = [cure for cure in made.cures if "clearance on the diameter" in cure]
    assert one.startswith("fit it on the outer wall alone")
    least = int(one.split("at least ")[1].split(" um")[0])
    text = RING.replace(
        'ties = { clearance = "50 um" }',
        f'ties = {{ clearance = "50 um" }}\nbarrel = {{ clearance = "{least + 3} um" }}',
    )
    assert making(case, text, block_temperature=150.0).drops_in
    assert any("pieces" in cure for cure in made.cures)


def test_dry_ice_leaves_less_time(case):
    text = CASE.replace('"8 um"', '"0.5 um"').replace('tolerance = "2 um"', 'tolerance = "0 um"')
    nitrogen = making(case, text, least_clearance=0.005)
    ice = making(case, text, least_clearance=0.005, cooled_in="dry ice")
    assert ice.drops_in
    assert 0 < ice.passages[0].air_seconds < nitrogen.passages[0].air_seconds
    assert ice.passages[0].touching_seconds < 10 < ice.passages[0].air_seconds


def test_what_presses_from_the_start_leaves_no_time(case):
    (one, *_) = making(case, CASE.replace('"8 um"', '"80 um"')).passages
    assert (one.air_seconds, one.touching_seconds) == (0, 0)
