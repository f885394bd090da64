"""Films that hang on the wall: the curve, and what a section and a solid make of it."""

from dataclasses import replace

import numpy as np
import pytest
from fea_meshes import ring, uniform
from scipy.optimize import brentq

from cases.check.prisms import grid_solid
from fea.heat import CurvedFilm, Film, Films, HeatModel
from fea.material import Material
from fea.solid.heat import SolidFilm, SolidHeat

ALLOY = Material("alloy", 70_000.0, 0.33, conductivity=0.15)
WALL = np.linspace(80.0, 220.0, 701)
BOILS = CurvedFilm(WALL, 6e-3 * (WALL - 90.0) + 4e-6 * np.maximum(WALL - 120.0, 0.0) ** 3)
"""Convection, and boiling that goes with the cube of the superheat, as Rohsenow has it."""


def exact(flux, inner, outer):
    """Temperature of the outside and inside of a ring that a heat flux enters (Fourier)."""
    through = flux * inner / outer
    wall = brentq(lambda at: float(BOILS.flux_at(at)) - through, 90.0, 219.0)
    return wall, wall + flux * inner / 0.15 * np.log(outer / inner)


def wet_ring(cells):
    """A ring of 40 to 47 mm whose outside the coolant wets."""
    mesh = ring([40, 47], [uniform("barrel", 20.0)], cells)
    return replace(mesh, edges={"bore": mesh.edges["bore"], "barrel": mesh.edges["outside"]})


def test_a_curve_is_linear_between_its_points_and_beyond():
    film = CurvedFilm(np.array([90.0, 100.0, 110.0]), np.array([0.0, 0.1, 0.4]))
    assert film.flux_at([80.0, 95.0, 105.0, 120.0]) == pytest.approx([-0.1, 0.05, 0.25, 0.7])
    slope, temperature = film.at(np.array([95.0, 105.0]))
    assert slope == pytest.approx([0.01, 0.03])
    assert temperature == pytest.approx([90.0, 110.0 - 0.4 / 0.03])


@pytest.mark.parametrize(
    ("wall", "flux"),
    [
        ([90.0], [0.0]),
        ([90.0, 90.0], [0.0, 1.0]),
        ([90.0, 100.0], [1.0, 1.0]),
        ([90.0, 100.0], [0.0, np.nan]),
        ([90.0, 100.0, 110.0], [0.0, 1.0]),
    ],
)
def test_a_curve_that_does_not_rise_is_refused(wall, flux):
    with pytest.raises(ValueError, match="must rise, point by point"):
        CurvedFilm(np.array(wall), np.array(flux))


@pytest.mark.parametrize("flux", [0.05, 0.3, 1.2])
def test_a_section_finds_the_wall_where_boiling_takes_what_comes(flux):
    """Below the start of boiling, beyond it and far beyond; a ring by Fourier's law."""
    mesh = wet_ring(24)
    field = HeatModel(mesh, {"barrel": ALLOY}, Films(gas=flux, coolant=BOILS)).solve()
    outside, inside = exact(flux, 40.0, 47.0)
    radius = np.hypot(*mesh.points.T)
    assert field.temperature[radius > 46.99] == pytest.approx(outside, abs=0.4)
    assert field.temperature[radius < 40.01] == pytest.approx(inside, abs=0.9)
    (wall,) = (of for of in field.walls.values() if of.flux > 0)
    assert wall.flux == pytest.approx(flux * 40 / 47, rel=2e-3)
    assert wall.temperature_degc == pytest.approx(outside, abs=0.4)
    assert sum(field.heat.values()) == pytest.approx(0, abs=1e-9 * field.heat["gas"])


@pytest.mark.parametrize("flux", [0.05, 0.3, 1.2])
def test_a_solid_finds_it_too(flux):
    angle = np.linspace(0, np.pi / 2, 9)
    mesh = grid_solid(
        "barrel", np.linspace(40, 47, 4), angle, [-20, 0], names={"u0": "bore", "u1": "outside"}
    )
    found = SolidHeat(mesh, {"barrel": ALLOY}, {"bore": flux, "outside": BOILS}).solve()
    outside, inside = exact(flux, 40.0, 47.0)
    radius = np.hypot(*mesh.points[:, :2].T)
    assert found.temperature[radius > 46.99] == pytest.approx(outside, abs=0.05)
    assert found.temperature[radius < 40.01] == pytest.approx(inside, abs=0.2)
    assert found.walls["outside"].flux == pytest.approx(flux * 40 / 47, rel=2e-3)
    assert found.walls["outside"].temperature_degc == pytest.approx(outside, abs=0.05)
    assert sum(found.heat.values()) == pytest.approx(0, abs=1e-9 * found.heat["bore"])


def test_a_solid_under_other_films_is_as_if_it_had_them_from_the_first(monkeypatch):
    """The same metal is not integrated again, and what it had is left as it was."""
    angle = np.linspace(0, np.pi / 2, 5)
    mesh = grid_solid(
        "barrel", np.linspace(40, 47, 3), angle, [-20, 0], names={"u0": "bore", "u1": "outside"}
    )
    mild, hot = ({"bore": flux, "outside": BOILS} for flux in (0.05, 1.2))
    one = SolidHeat(mesh, {"barrel": ALLOY}, mild)
    before = one.solve()
    fresh = SolidHeat(mesh, {"barrel": ALLOY}, hot).solve()
    monkeypatch.setattr("fea.solid.heat.in_prisms", None)
    other = one.under(hot)
    assert other.solve().temperature == pytest.approx(fresh.temperature, abs=0.02)
    assert other.solve().heat == pytest.approx(fresh.heat, rel=1e-4)
    assert one.solve().temperature == pytest.approx(before.temperature, abs=0.02)
    with pytest.raises(ValueError, match="films on bore; the solid has some on bore, outside"):
        one.under({"bore": 0.3})


def test_a_straight_curve_is_a_film():
    mesh = wet_ring(12)
    straight = CurvedFilm(np.array([90.0, 200.0]), 6e-3 * np.array([0.0, 110.0]))
    one, other = (
        HeatModel(mesh, {"barrel": ALLOY}, Films(gas=Film(5e-4, 900.0), coolant=of)).solve()
        for of in (straight, Film(6e-3, 90.0))
    )
    assert one.temperature == pytest.approx(other.temperature, abs=1e-9)
    assert one.heat == pytest.approx(other.heat)


def test_asked_again_it_starts_from_where_it_was():
    model = HeatModel(wet_ring(12), {"barrel": ALLOY}, Films(gas=0.6, coolant=BOILS))
    first = model.solve()
    assert model.solve().temperature == pytest.approx(first.temperature, abs=1e-3)
    assert SolidFilm(1e-3, 90.0).at(np.zeros(2))[1] == pytest.approx(90.0)
