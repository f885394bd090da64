"""Contraction against published tables, warming against closed forms."""

import math

import numpy as np
import pytest

from cases.making.contraction import (
    OF_6061,
    specific_heat,
    strain,
    temperature_of,
    warming_time,
)

KELVIN = 273.15
PIECE = {"film": 1e-3, "density": 2.7e-3, "thickness": 4.0}  # [W/(mm2 K)], [g/mm3], [mm]


@pytest.mark.verification
@pytest.mark.parametrize(
    ("kelvin", "published"),
    # NIST, cryogenic material properties, 6061-T6: (L - L293) / L293
    [(77.0, -3887.0e-6), (194.65, -2132.4e-6), (195.0, -2125.4e-6)],
)
def test_6061_shrinks_as_published(kelvin, published):
    of_293 = strain(293.0 - KELVIN, OF_6061)
    assert strain(kelvin - KELVIN, OF_6061) - of_293 == pytest.approx(published, rel=1e-4)


@pytest.mark.verification
@pytest.mark.parametrize(("kelvin", "published"), [(77.0, -0.393e-2), (200.0, -0.201e-2)])
def test_it_is_near_to_pure_aluminium(kelvin, published):
    # Corruccini & Gniewek, NBS Monograph 29 (1961), from memory; the fit is within 4 % of its data
    assert strain(kelvin - KELVIN, OF_6061) == pytest.approx(published, rel=0.04)


@pytest.mark.verification
def test_it_grows_as_data_sheets_have_it():
    # 6061: mean of 23.6 um/(m K) from 20 to 100 degC, 25.2 to 300 degC
    assert strain([100.0, 300.0], 23.6e-6) == pytest.approx([80 * 23.6e-6, 280 * 25.2e-6])


def test_the_two_sides_of_20_degrees_meet():
    low, high = strain([19.0, 21.0], OF_6061)
    assert strain(20.0, OF_6061) == 0
    assert -low == pytest.approx(high, rel=0.03)


def test_another_alloy_goes_by_its_expansion():
    assert strain(-150.0, 2 * OF_6061) == pytest.approx(2 * strain(-150.0, OF_6061))


@pytest.mark.parametrize("at", [-195.8, -20.0, 20.0, 145.0])
def test_the_temperature_of_a_strain_is_found_again(at):
    assert temperature_of(float(strain(at, 21.5e-6)), 21.5e-6) == pytest.approx(at, abs=1e-6)


def test_no_temperature_gives_too_much():
    with pytest.raises(ValueError, match="no temperature"):
        temperature_of(0.1, OF_6061)


@pytest.mark.verification
def test_specific_heat_of_6061():
    # Ekin, Experimental Techniques for Low-Temperature Measurements, aluminium, from memory:
    # 336 J/(kg K) at 77 K, 902 at 300 K; the fit is within 5 % of its data
    assert specific_heat([77.0 - KELVIN, 300.0 - KELVIN]) == pytest.approx([336, 902], rel=0.07)


@pytest.mark.verification
def test_lumped_cooling():
    # rho 2700 c 900 h 1000 V/A 4 mm: tau 9.72 s, from 20 in -78.5 degC (closed form)
    def to(end):
        return warming_time(20.0, end, -78.5, heat=900.0, **PIECE)

    assert to(-78.5 + 98.5 / math.e) == pytest.approx(9.72)
    assert to(-74.00) == pytest.approx(30.0, rel=1e-3)
    assert to(-78.5 + 0.05 * 98.5) == pytest.approx(29.12, rel=1e-3)


def test_warming_goes_by_the_heat_at_each_temperature():
    fine = np.linspace(-195.8, -40.0, 20_001)
    by_time = specific_heat(fine) / (20.0 - fine)
    seconds = 1e-3 * 2.7e-3 * 4.0 / 1e-3 * np.trapezoid(by_time, fine)
    assert warming_time(-195.8, -40.0, 20.0, **PIECE) == pytest.approx(seconds, rel=1e-4)


def test_what_never_comes_takes_for_ever():
    assert warming_time(-80.0, 30.0, 20.0, **PIECE) == math.inf
    assert warming_time(-80.0, -90.0, 20.0, **PIECE) == math.inf
    assert warming_time(-80.0, -80.0, 20.0, **PIECE) == 0
