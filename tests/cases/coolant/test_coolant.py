"""The coolant: fluid, film, boiling, what is refused, and what a heated block makes of it."""

from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, BLOCK, HEAT, LINED
from ht.boiling_flow import Chen_Edelstein
from ht.boiling_nucleic import Rohsenow
from ht.conv_internal import turbulent_Dittus_Boelter

from cases.base.faults import CaseError
from cases.coolant import film as films
from cases.coolant.fluid import Fluid, latent_heat, vapour_density
from cases.coolant.given import SYSTEM_PRESSURE, WATER_BOILS, CoolantInput
from cases.coolant.reading import LIQUID_BELOW
from cases.gas.cylinder import ATMOSPHERE

WATER = CoolantInput(
    glycol=0.0, pressure=0.2, temperature=90.0, flow=2e6, film=None, width=9.0, depth=90.0
)
FLOWS = HEAT.replace('coolant_film = "5000 W/(m2 K)"\n', "")
COOLANT = '[coolant]\nflow = "120 L/min"\n'


@pytest.mark.parametrize(
    ("bar", "degc"), [(1, 99.606), (1.01325, 99.974), (1.5, 111.349), (2, 120.210)]
)
def test_water_boils_where_the_steam_tables_say(bar, degc):
    """IAPWS by CoolProp, as stated for 1 to 2 bar."""
    assert Fluid(0.0).boils_at(bar / 10) == pytest.approx(degc, abs=2e-3)
    assert Fluid(0.0).vapour_pressure(degc) == pytest.approx(bar / 10, rel=1e-4)


def test_water_boils_at_the_usual_pressure_where_it_is_written_down():
    assert Fluid(0.0).boils_at(SYSTEM_PRESSURE + ATMOSPHERE) == pytest.approx(WATER_BOILS, abs=5e-3)


def test_what_is_known_without_the_table_of_a_liquid_is_true_of_all_of_them():
    """Bounds that spare the import: viscosity by CoolProp, boiling under the atmosphere alone."""
    for share in (0.0, 0.2, 0.4, 0.5, films.RUNNY_GLYCOL):
        for degc in (films.RUNNY_FROM, 80.0, LIQUID_BELOW):
            liquid = Fluid(share).liquid(degc, ATMOSPHERE)
            assert liquid.viscosity / liquid.density < films.RUNNY
        assert Fluid(share).boils_at(ATMOSPHERE) > LIQUID_BELOW


def test_a_plainly_turbulent_flow_is_told_without_the_table_of_its_liquid(monkeypatch):
    monkeypatch.setattr(films, "reynolds_of", lambda _: pytest.fail("was asked"))
    assert films.too_slow(replace(WATER, flow=2e6)) is None
    slow = replace(WATER, flow=5e4)
    monkeypatch.undo()
    assert films.reynolds_of(slow) < films.TURBULENT
    assert films.too_slow(slow)


@pytest.mark.parametrize(
    ("share", "bar", "degc"),
    [(0.5, 1, 106.89), (0.5, 1.5, 119.17), (0.5, 2, 128.46), (0.4, 2, 125.89), (0.6, 2, 132.03)],
)
def test_a_mixture_boils_by_raoult(share, bar, degc):
    """Glycol vapour neglected; measured mixtures agree within some 1.5 K (from memory)."""
    assert Fluid(share).boils_at(bar / 10) == pytest.approx(degc, abs=0.05)


def test_liquids_have_the_properties_of_their_tables():
    """CoolProp's own values for water at 90 degC and 2 bar, and for half glycol at 20 and 90."""
    for share, degc, values in (
        (0.0, 90, (965.355, 4204.99, 3.1420e-4, 0.672843)),
        (0.5, 20, (1064.93, 3312.0, 3.693e-3, 0.38915)),
        (0.5, 90, (1019.04, 3615.8, 8.20e-4, 0.43147)),
    ):
        found = Fluid(share).liquid(degc, 0.2)
        got = found.density, found.capacity, found.viscosity, found.conductivity
        assert got == pytest.approx(values, rel=1e-3)


def test_gnielinski_and_its_neighbour():
    """Nu at Re 5e4 and Pr 2; Dittus and Boelter's (heating) is 6 % lower there."""
    assert films.gnielinski(5e4, 2.0) == pytest.approx(185.7913, rel=1e-6)
    assert turbulent_Dittus_Boelter(Re=5e4, Pr=2.0) == pytest.approx(174.3074, rel=1e-6)


@pytest.mark.parametrize(("bar", "flux"), [(1.01325, 1.26071), (2.0, 1.65395)])
def test_critical_heat_flux_of_water(bar, flux):
    """Zuber with 0.149, properties by CoolProp."""
    fluid = Fluid(0.0)
    boils = fluid.boils_at(bar / 10)
    assert films.critical_flux(fluid, bar / 10, boils) == pytest.approx(flux, rel=1e-3)


def test_boiling_is_chens_less_its_convection():
    """Against the whole of Chen's correlation with next to no steam in the bulk."""
    fluid, pressure, size = Fluid(0.0), 0.2, 0.02
    boils = fluid.boils_at(pressure)
    liquid = fluid.liquid(boils, pressure)
    mass = 1.5 * liquid.density * np.pi / 4 * size**2
    reynolds = 1.5 * liquid.density * size / liquid.viscosity
    for superheat in (5.0, 15.0, 30.0):
        whole = Chen_Edelstein(
            m=mass, x=1e-9, D=size, rhol=liquid.density, rhog=vapour_density(pressure),
            mul=liquid.viscosity, mug=1.3e-5, kl=liquid.conductivity, Cpl=liquid.capacity,
            Hvap=latent_heat(pressure), sigma=fluid.surface_tension(boils),
            dPsat=1e6 * (fluid.vapour_pressure(boils + superheat) - pressure), Te=superheat,
        )  # fmt: skip
        flow = turbulent_Dittus_Boelter(Re=reynolds, Pr=liquid.prandtl)
        convection = flow * liquid.conductivity / size
        ours = films.suppression(reynolds) * films.nucleate(
            fluid, pressure, boils, np.array([superheat])
        )
        assert ours[0] == pytest.approx(1e-6 * (whole - convection) * superheat, rel=5e-3)


def test_boiling_is_of_the_size_that_another_correlation_has():
    """Less than Rohsenow (C 0.013, n 1) has in a pool at 5 to 20 K, by no more than three times."""
    fluid, pressure = Fluid(0.0), 0.101325
    boils = fluid.boils_at(pressure)
    liquid = fluid.liquid(boils, pressure)
    for superheat in (5.0, 10.0, 20.0):
        film = Rohsenow(
            rhol=liquid.density, rhog=vapour_density(pressure), mul=liquid.viscosity,
            kl=liquid.conductivity, Cpl=liquid.capacity, Hvap=latent_heat(pressure),
            sigma=fluid.surface_tension(boils), Te=superheat, Csf=0.013, n=1.0,
        )  # fmt: skip
        ours = films.nucleate(fluid, pressure, boils, np.array([superheat]))[0]
        assert 0.33 < ours / (1e-6 * film * superheat) < 1.2


def test_the_curve_is_flow_below_the_boiling_point_and_both_above():
    found = films.wet_film(WATER)
    assert found.speed == pytest.approx(2e6 / (2 * 9 * 90) / 1000)
    size = 1e-3 * 4 * 9 * 90 / (2 * (9 + 90))
    assert found.reynolds == pytest.approx(965.355 * found.speed * size / 3.142e-4, rel=1e-3)
    assert found.convection == pytest.approx(1e-6 * found.nusselt * 0.672843 / size, rel=1e-3)
    assert found.boils_at == pytest.approx(120.21, abs=0.01)
    assert found.curve.flux_at(110.0) == pytest.approx(20 * found.convection)
    share = films.suppression(found.reynolds)
    boiling = films.nucleate(Fluid(0.0), 0.2, found.boils_at, np.array([10.0]))[0]
    wall = found.boils_at + 10
    assert found.curve.flux_at(wall) == pytest.approx(
        found.convection * (wall - 90) + share * boiling
    )
    assert found.curve.flux_at(found.critical_wall) == pytest.approx(found.critical_flux)
    assert found.usual


def test_a_stated_film_boils_as_the_flow_that_would_give_it():
    by_flow = films.wet_film(WATER)
    stated = films.wet_film(replace(WATER, flow=None, film=by_flow.convection))
    assert stated.curve.flux == pytest.approx(by_flow.curve.flux, rel=1e-6)
    assert stated.speed is None


def test_a_case_with_flow_has_its_film(case_of):
    given = case_of(LINED, FLOWS, COOLANT, BARE).given["coolant"]
    assert given.flow == pytest.approx(2e6)
    assert given.pressure == pytest.approx(0.11 + 0.101325)
    assert (given.width, given.temperature, given.glycol) == (10.0, 90.0, 0.0)
    assert [key for key, _ in given.assumed] == ["coolant.pressure", "block.jacket_depth"]
    mixed = case_of(LINED, FLOWS, COOLANT, 'fluid = "water and glycol"\n', BARE).given["coolant"]
    assert mixed.glycol == 0.5
    assert "50 % glycol" in dict(mixed.assumed)["coolant.glycol"]


@pytest.mark.parametrize(
    ("heat", "coolant", "path", "words"),
    [
        (HEAT, COOLANT, "coolant", "not both"),
        (FLOWS, "[coolant]\n", "coolant", "not both"),
        ("", COOLANT, "coolant", "takes no heat without the temperature"),
        (FLOWS, '[coolant]\nflow = "0 L/min"\n', "coolant.flow", "coolant_film instead"),
        (FLOWS, '[coolant]\nflow = "1 L/min"\n', "coolant.flow", "below 3000 no film is known"),
        (FLOWS, COOLANT + 'glycol = "40 %"\n', "coolant.glycol", "does not go with"),
        (
            FLOWS.replace("90 degC", "125 degC"),
            COOLANT,
            "heat.coolant_temperature",
            "is no liquid: at 1.1 bar above the atmosphere this coolant boils at 122 degC",
        ),
        (FLOWS, COOLANT.replace("120 L/min", "120 bar"), "coolant.flow", "L/min"),
    ],
)
def test_what_can_not_be_is_refused(case_of, heat, coolant, path, words):
    with pytest.raises(CaseError) as refused:
        case_of(LINED, heat, coolant, BARE)
    faults = {fault.path: fault.text for fault in refused.value.faults}
    assert words in faults[path]


def test_a_block_without_a_jacket_has_no_coolant(case_of):
    dry = BLOCK.replace('jacket = "10 mm"\nouter_wall = "9 mm"\n', "")
    with pytest.raises(CaseError) as refused:
        case_of(dry, FLOWS, COOLANT, BARE)
    assert any("no water jacket" in fault.text for fault in refused.value.faults)
