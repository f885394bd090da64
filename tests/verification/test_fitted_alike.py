"""The same fitted block turned, mirrored or of three times the size has the same limit.

The meshes differ. Of the size everything is, radii and interference as well, and films are divided
by it; the critical distance is the metal's own, and no place that governs here is judged by it.
Boiling is the water's own too: of the size only what doesn't boil is alike.
"""

import pytest

from cases.gas.solve import gas_load
from cases.life.refine import settled_life
from cases.rating.result import SURFACE
from cases.rating.solve import judge_of, rate_settled
from cases.read import read_case
from cases.stress.solve import solve_section
from geometry.clock import format_clock
from geometry.outline import draw_section

pytestmark = [pytest.mark.slow, pytest.mark.verification]


def text_of(turn=0.0, side=1, size=1.0, water=""):
    """One bore with two ties and a cut, turned by hours, mirrored by side -1, and its size."""

    def clock(hours):
        return format_clock((side * hours + turn) % 12 or 12.0)

    def mm(length):
        return f"{size * length:g} mm"

    def film(value):
        return f"{value / size:.12g} W/(m2 K)"

    ties = "".join(
        f'[[tie]]\nclock = "{clock(hours)}"\nwidth = "{mm(9)}"\ndepth = "{mm(12)}"\n'
        f'fillet = "{mm(3)}"\n'
        for hours in (0.8, 6.4)
    )
    wet = {
        "": (f'coolant_film = "{film(6000)}"\n', ""),
        "flows": ("", '[coolant]\nflow = "120 L/min"\n'),
        "stays liquid": (f'coolant_film = "{film(6000)}"\n', '[coolant]\npressure = "5 bar"\n'),
    }
    coolant_film, coolant = wet[water]
    return f"""\
job = "alike"
[block]
bore = "{mm(80)}"
barrel_wall = "{mm(7)}"
jacket = "{mm(10)}"
outer_wall = "{mm(9)}"
material = "A356-T6"
{ties}[[relief_cut]]
clock = "{clock(3.4)}"
radius = "{mm(55)}"
diameter = "{mm(18)}"
depth = "{mm(22)}"
[gas]
peak_pressure = "120 bar"
pressurised_depth = "{mm(24)}"
[heat]
gas_film = "{film(220)}"
gas_temperature = "700 degC"
{coolant_film}coolant_temperature = "95 degC"
joint_conductance = "{film(8000)}"
{coolant}[section]
mesh = "coarse"
depth = "{mm(24)}"
tolerance = "4 %"
[rating]
draws = 0
[[design]]
name = "fitted"
depth = "{mm(8)}"
material = "6061-T6"
corner_radius = "{mm(3.5)}"
edge_break = "{mm(0.3)}"
inside_radius = "{mm(1.5)}"
[design.fit]
interference = "{mm(0.02)}"
friction = 0.15
"""


def limit_of(folder, **changes):
    path = folder / "case.toml"
    path.write_text(text_of(**changes))
    case = read_case(path)
    load, (design,) = gas_load(case), case.designs
    outline = draw_section(case.section(design))
    solved = solve_section(case, design, outline, load.line_load)
    life = settled_life(case, design, solved, load)
    _, rating = rate_settled(judge_of(case, design, solved, life), life)
    assert rating.governing.judged_by == SURFACE
    return rating.limit.factor


@pytest.fixture(scope="module")
def as_drawn(tmp_path_factory):
    return limit_of(tmp_path_factory.mktemp("alike"))


ALIKE = {"turned": {"turn": 37 / 30}, "mirrored": {"side": -1}, "three times": {"size": 3.0}}


@pytest.mark.parametrize("changes", ALIKE.values(), ids=ALIKE)
def test_the_same_block_has_the_same_limit(tmp_path, as_drawn, changes):
    assert limit_of(tmp_path, **changes) == pytest.approx(as_drawn, rel=0.01)


@pytest.fixture(scope="module")
def with_water(tmp_path_factory):
    """As drawn, in water that flows and boils, and in one under a pressure at which it doesn't."""
    return {
        water: limit_of(tmp_path_factory.mktemp("alike"), water=water)
        for water in ("flows", "stays liquid")
    }


@pytest.mark.parametrize(
    ("water", "changes"),
    [
        pytest.param("flows", ALIKE["turned"], id="turned"),
        pytest.param("flows", ALIKE["mirrored"], id="mirrored"),
        pytest.param("stays liquid", ALIKE["three times"], id="three times"),
    ],
)
def test_the_same_block_in_water_has_the_same_limit(tmp_path, with_water, water, changes):
    found = limit_of(tmp_path, water=water, **changes)
    assert found == pytest.approx(with_water[water], rel=0.01)
