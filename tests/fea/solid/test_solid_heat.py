"""Conduction in a solid against closed forms."""

import numpy as np
import pytest

from cases.check.prisms import grid_solid, joined_at, plain, side_by_side
from fea.material import Material
from fea.solid.heat import SolidFilm, SolidHeat

METAL = Material("metal", 70_000.0, 0.33, conductivity=0.15)
IRON = Material("iron", 110_000.0, 0.26, conductivity=0.05)
INNER, JOINT, OUTER = 45.0, 52.0, 62.0
GAS, WATER = SolidFilm(1e-3, 400.0), SolidFilm(5e-3, 90.0)


def tube(part, inside, outside, names, cells=4):
    angle = np.linspace(0, np.pi / 2, 9)
    return grid_solid(
        part, np.linspace(inside, outside, cells + 1), angle, [-20, -8, 0], names=names
    )


def resistance(inside, outside, conductivity):
    """Of a quarter of a tube 20 mm long. [K/W]."""
    return np.log(outside / inside) / (conductivity * 20 * np.pi / 2)


def film_resistance(film, radius):
    return 1 / (film.coefficient * radius * 20 * np.pi / 2)


def test_a_plane_wall():
    mesh = grid_solid(
        "wall", [0, 4, 6], [0, 5, 10], [-8, -3, 0], plain, {"u0": "hot", "u1": "cold"}
    )
    found = SolidHeat(mesh, {"wall": METAL}, {"hot": GAS, "cold": WATER}).solve()
    flux = (400 - 90) / (1 / 1e-3 + 6 / 0.15 + 1 / 5e-3)
    inside = 400 - flux / 1e-3
    assert found.temperature == pytest.approx(inside - flux * mesh.points[:, 0] / 0.15)
    assert found.heat == pytest.approx({"hot": flux * 80, "cold": -flux * 80})
    warmest, place = found.hottest("wall")
    assert (warmest, place[0]) == (pytest.approx(inside), 0)


def test_a_tube_between_two_films():
    mesh = tube("tube", INNER, OUTER, {"u0": "bore", "u1": "jacket"})
    found = SolidHeat(mesh, {"tube": METAL}, {"bore": GAS, "jacket": WATER}).solve()
    films = film_resistance(GAS, INNER), film_resistance(WATER, OUTER)
    heat = 310 / (sum(films) + resistance(INNER, OUTER, 0.15))
    assert found.heat["bore"] == pytest.approx(heat, rel=1e-5)
    radius = np.hypot(*mesh.points[:, :2].T)
    closed_form = 400 - heat * (films[0] + np.log(radius / INNER) / (0.15 * 20 * np.pi / 2))
    assert found.temperature == pytest.approx(closed_form, abs=0.02)


def test_a_film_and_a_flux_that_vary_with_depth():
    """Heat is that of the film's mean: the wall conducts so well that it is as warm all over."""
    copper = Material("copper", 70_000.0, 0.33, conductivity=1e4)
    mesh = tube("tube", INNER, OUTER, {"u0": "bore", "u1": "jacket"})
    by_depth = SolidFilm(lambda z: 1e-4 * z, lambda z: 300 + z)
    found = SolidHeat(mesh, {"tube": copper}, {"bore": by_depth, "jacket": WATER}).solve()
    around = np.pi / 2 * INNER
    conductance, drive = around * 1e-4 * 200, around * 1e-4 * (300 * 200 + 8000 / 3)
    jacket = np.pi / 2 * OUTER * 20 * 5e-3
    warm = (drive + jacket * 90) / (conductance + jacket)
    assert found.temperature == pytest.approx(warm, abs=0.05)
    assert found.heat["jacket"] == pytest.approx(jacket * (90 - warm), rel=1e-3)
    flux = SolidHeat(mesh, {"tube": copper}, {"bore": 0.2, "jacket": WATER}).solve()
    assert flux.heat == pytest.approx(
        {"bore": 0.2 * around * 20, "jacket": -0.2 * around * 20}, rel=1e-4
    )


@pytest.fixture(scope="module")
def two_tubes():
    mesh = side_by_side(
        tube("liner", INNER, JOINT, {"u0": "bore", "u1": "fitted"}),
        tube("barrel", JOINT, OUTER, {"u0": "around", "u1": "jacket"}),
    )
    joint = joined_at(mesh, ["fitted"], ["barrel"])
    films = {"bore": GAS, "jacket": WATER}
    materials = {"liner": IRON, "barrel": METAL}
    return SolidHeat(mesh, materials, films, joints=[(joint, 4e-3)]), joint


def test_two_tubes_with_a_joint(two_tubes):
    heat, _ = two_tubes
    found = heat.solve()
    films = film_resistance(GAS, INNER), film_resistance(WATER, OUTER)
    across = 1 / (4e-3 * JOINT * 20 * np.pi / 2)
    metal = resistance(INNER, JOINT, 0.05) + resistance(JOINT, OUTER, 0.15)
    flow = 310 / (sum(films) + across + metal)
    assert found.heat["bore"] == pytest.approx(flow, rel=1e-4)
    assert found.joint_heat[0] == pytest.approx(-flow, rel=1e-4)  # into the part is inwards


def test_an_open_joint_conducts_nothing(two_tubes):
    """Touching over its upper 8 mm of 20, all heat goes that way."""
    heat, joint = two_tubes
    whole = heat.solve()
    upper = heat.mesh.points[joint.own, 2] > -8 - 1e-9
    part = heat.solve([upper])
    assert part.heat["bore"] < 0.95 * whole.heat["bore"]
    below = joint.own[heat.mesh.points[joint.own, 2] < -19]
    above = joint.own[heat.mesh.points[joint.own, 2] > -1]
    assert part.temperature[below].min() > part.temperature[above].max() + 5
    assert heat.solve([np.ones(len(joint.own))]).temperature == pytest.approx(whole.temperature)
    apart = heat.solve([np.zeros(len(joint.own))])
    assert apart.temperature[joint.own] == pytest.approx(400)
    assert apart.temperature[joint.other] == pytest.approx(90)


def test_across_a_lid():
    """A face across: half of it touches, and carries half of the heat of a lid that conducts."""
    lid, block = (
        grid_solid(
            "lid", [0, 5, 10], [0, 3, 6], [0, 2, 5], plain, {"below": "foot", "above": "top"}
        ),
        grid_solid("block", [0, 5, 10], [0, 3, 6], [-5, -2, 0], plain, {"below": "base"}),
    )
    mesh = side_by_side(lid, block)
    joint = joined_at(mesh, [], ["block"], ["foot"])
    fast = Material("fast", 70_000.0, 0.33, conductivity=1e5)
    heat = SolidHeat(
        mesh, {"lid": fast, "block": fast}, {}, {"top": 100.0, "base": 0.0}, [(joint, 1e-3)]
    )
    assert heat.solve().heat["top"] == pytest.approx(1e-3 * 60 * 100, rel=1e-4)
    x = mesh.points[joint.own, 0]
    half = np.where(x < 5 - 1e-9, 1.0, np.where(x > 5 + 1e-9, 0.0, 0.5))
    assert heat.solve([half]).heat["top"] == pytest.approx(1e-3 * 30 * 100, rel=1e-3)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"materials": {}}, "no material for tube"),
        (
            {"materials": {"tube": Material("wood", 1e4, 0.3)}},
            "wood of the tube has no conductivity",
        ),
        ({"films": {"lid": WATER}}, 'no face is named "lid"'),
        ({"films": {"bore": np.nan}}, "heat flux nan"),
        ({"films": {"bore": 0.1}}, "no way out for the heat of the tube"),
        ({"films": {"bore": SolidFilm(lambda z: z - 5, 20.0)}}, "must not be negative"),
    ],
)
def test_what_is_refused(change, message):
    mesh = tube("tube", INNER, OUTER, {"u0": "bore"}, cells=1)
    given = {"materials": {"tube": METAL}, "films": {"bore": GAS}, **change}
    with pytest.raises(ValueError, match=message):
        SolidHeat(mesh, **given).solve()


def test_films_that_are_refused():
    with pytest.raises(ValueError, match=r"coefficient = -1 W"):
        SolidFilm(-1.0, 20.0)
    with pytest.raises(ValueError, match=r"-300 degC is not above absolute zero"):
        SolidFilm(1e-3, -300.0)
