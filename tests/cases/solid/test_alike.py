"""One block drawn in other ways: turned, mirrored, three times as large. Its stress is the same."""

import pytest

from cases import solve_solid
from geometry.clock import format_clock

WITHIN = 0.01
CUT, TIES = 2.0, ((0.5, 8), (5.2, 9))  # clock positions [h], widths [mm]


def block(turn=0.0, mirrored=False, larger=1.0):
    """Text of a case: one bore, two ties, a relief cut, bare and with a ring."""

    def at(hours):
        return format_clock(((12 - hours if mirrored else hours) + turn) % 12)

    def mm(length):
        return f'"{length * larger:.6g} mm"'

    ties = "".join(
        f'[[tie]]\nclock = "{at(hours)}"\nwidth = {mm(width)}\ndepth = {mm(12)}\nfillet = {mm(3)}\n'
        for hours, width in TIES
    )
    return f"""\
job = "alike (invented)"
[block]
bore = {mm(86)}
barrel_wall = {mm(6)}
jacket = {mm(9)}
outer_wall = {mm(9)}
valley_fillet = {mm(3)}
floor_radius = {mm(2)}
underside_radius = {mm(3)}
jacket_depth = {mm(68)}
crankcase_floor = {mm(84)}
material = "A356-T6"
[section]
depth = {mm(26)}
mesh = "coarse"
[gas]
peak_pressure = "120 bar"
pressurised_depth = {mm(20)}
{ties}[[relief_cut]]
clock = "{at(CUT)}"
radius = {mm(55.5)}
diameter = {mm(16)}
depth = {mm(22)}
[[design]]
name = "bare"
[[design]]
name = "ring"
material = "6061-T6"
depth = {mm(7)}
edge_break = {mm(0.3)}
inside_radius = {mm(1.5)}
"""


@pytest.fixture(scope="module")
def drawn(case_of):
    case = case_of(block())
    return {name: solve_solid(case, name) for name in ("bare", "ring")}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("names", "drawn_as", "moved"),
    [
        pytest.param(
            ("bare", "ring"), {"turn": 37 / 30}, lambda hours: hours + 37 / 30, id="turned"
        ),
        pytest.param(("bare", "ring"), {"mirrored": True}, lambda hours: 12 - hours, id="mirrored"),
        pytest.param(("bare",), {"larger": 3.0}, lambda hours: hours, id="three times as large"),
    ],
)
def test_a_block_drawn_in_another_way_has_the_same_stress(case_of, drawn, names, drawn_as, moved):
    case, larger = case_of(block(**drawn_as)), drawn_as.get("larger", 1.0)
    for name in names:
        expected, found = drawn[name].governing, solve_solid(case, name).governing
        print(drawn_as, name, expected.principal_mpa, found.principal_mpa, found.error_mpa)
        assert found.part == expected.part
        assert found.clock_hours == pytest.approx(moved(expected.clock_hours) % 12, abs=0.05)
        assert found.depth_mm / larger == pytest.approx(expected.depth_mm, abs=1.5)
        assert found.principal_mpa == pytest.approx(expected.principal_mpa, rel=WITHIN)
