"""The engine of a case: three ways to the peak pressure, the load it gives, and what is refused.

All numbers of the engine are invented.
"""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from bench import ENGINE as BENCH_ENGINE
from click.testing import CliRunner

from cases.base.faults import CaseError
from cases.cli import main
from cases.gas import SUBJECT
from cases.gas.cycle import HOTTEST_GAS, EngineError, close_in, run_engine, run_engine_for
from cases.gas.cylinder import Burn, Capacity, Crank
from cases.gas.given import gas_given
from cases.gas.solve import gas_load, gas_of
from cases.life.given import life_given
from cases.life.result import service_of
from cases.report.page import write_report
from cases.report.pictures import write_pictures
from cases.report.results import results_dict
from cases.run import solve_case

BLOCK = """\
job = "bench engine (invented)"
[block]
bores = 2
pitch = "100 mm"
bore = "87 mm"
barrel_wall = "8 mm"
jacket = "9 mm"
outer_wall = "9 mm"
material = "A356-T6"
[section]
mesh = "coarse"
tolerance = "10 %"
depth = "26 mm"
[[relief_cut]]
clock = "7:45"
radius = "60 mm"
diameter = "15 mm"
depth = "22 mm"
[[design]]
name = "bare"
[[design]]
name = "local"
material = "6061-T6"
depth = "6 mm"
[[design.zone]]
clock = "7:45"
width = "40 deg"
depth = "16 mm"
"""
ENGINE = BENCH_ENGINE + 'combustion_efficiency = "85 %"\n'
POWER = ENGINE.replace('intake_pressure = "2 bar"', 'power = "120 kW"')
HEAT = """\
[heat]
coolant_film = "5000 W/(m2 K)"
coolant_temperature = "90 degC"
"""


@pytest.fixture(scope="module")
def solved(case_of):
    return solve_case(case_of(BLOCK, POWER, HEAT, "[gas]\npressure_factor = 1.2\n"))


def test_three_ways_to_the_same_load(case_of):
    by_engine = case_of(BLOCK, ENGINE)
    cycle = gas_load(by_engine).wall_load.cycle
    by_power = case_of(BLOCK, POWER.replace("120 kW", f"{cycle.power:.9f} kW"))
    assert gas_load(by_power).wall_load.cycle.engine.intake_pressure == pytest.approx(0.2, rel=1e-6)
    assert gas_load(by_power).line_load == pytest.approx(gas_load(by_engine).line_load, rel=1e-6)
    measured = f"""\
[gas]
peak_pressure = "{gas_load(by_engine).peak_pressure:.9f} MPa"
pressurised_depth = "{gas_load(by_engine).pressurised_depth:.9f} mm"
"""
    stated = case_of(BLOCK, measured)
    assert gas_load(stated).wall_load is None
    assert gas_load(stated).line_load == pytest.approx(gas_load(by_engine).line_load, rel=1e-8)


def test_the_worst_crank_angle_loads_the_section(case_of):
    case = case_of(BLOCK, ENGINE)
    load = gas_load(case).wall_load
    assert gas_load(case).line_load == pytest.approx(load.line_loads.max(), rel=1e-12)
    assert gas_load(case).peak_pressure == pytest.approx(load.cycle.peak - 0.101325, rel=1e-12)
    assert load.line_load_deg > load.cycle.peak_deg  # later, when the piston bares more wall
    assert gas_load(case).pressurised_depth < case.section_depth
    assert (load.section_depth, load.cycle.engine.cylinders) == (26, 2)


def test_a_factor_multiplies_the_pressure(case_of):
    factor = "[gas]\npressure_factor = 1.5\n"
    plain, more = case_of(BLOCK, ENGINE), case_of(BLOCK, ENGINE, factor)
    assert gas_load(more).peak_pressure == pytest.approx(
        1.5 * gas_load(plain).wall_load.cycle.peak - 0.101325
    )
    assert gas_load(more).line_load > 1.5 * gas_load(plain).line_load
    stated = case_of(BLOCK, factor, 'peak_pressure = "80 bar"\npressurised_depth = "10 mm"\n')
    assert gas_load(stated).peak_pressure == pytest.approx(12.0)


def test_heat_takes_the_gas_from_the_engine_unless_it_states_it(case_of):
    case = case_of(BLOCK, ENGINE, HEAT)
    assert life_given(case).heat.gas is None  # the engine's
    film, temperature = gas_load(case).wall_load.film
    assert 100e-6 < film < 2000e-6
    assert 400 < temperature < 1500
    stated = 'gas_film = "220 W/(m2 K)"\ngas_temperature = "700 degC"\n'
    assert life_given(case_of(BLOCK, ENGINE, HEAT, stated)).heat.gas == (220e-6, 700.0)


def test_more_cylinders_need_less_boost_for_a_power(case_of):
    two, eight = case_of(BLOCK, POWER), case_of(BLOCK, POWER, "cylinders = 8\n")
    pressures = [gas_load(case).wall_load.cycle.engine.intake_pressure for case in (two, eight)]
    assert pressures[0] == pytest.approx(4 * pressures[1], rel=0.1)


def test_what_is_assumed_is_told(case_of):
    assert "burn over 60 degrees" in dict(gas_given(case_of(BLOCK, ENGINE)).engine.assumed).values()
    given = dict(gas_given(case_of(BLOCK, ENGINE, 'burn_duration = "60 deg"\n')).engine.assumed)
    assert not any("burn over" in words for words in given.values())


def test_results_page_and_pictures_tell_the_gas(solved, tmp_path, monkeypatch):
    pressure = results_dict(solved)["pressure"]
    load = gas_of(solved).wall_load
    assert pressure["from"] == "wanted power"
    assert pressure["power_kw"] == pytest.approx(120)
    assert pressure["peak_mpa"] == pytest.approx(load.cycle.peak, rel=1e-6)
    assert pressure["line_load_n_per_mm"] == pytest.approx(gas_of(solved).line_load, rel=1e-6)
    assert pressure["factor"] == 1.2
    assert max(pressure["by_crank"]["line_load_n_per_mm"]) <= pressure["line_load_n_per_mm"]
    assert pressure["by_depth"]["largest_wall_pressure_mpa"][0] == pytest.approx(
        load.peak, rel=1e-4
    )
    monkeypatch.setattr("cases.report.page._data_address", str)
    write_report(solved, tmp_path)
    write_pictures(solved, tmp_path, subjects=[SUBJECT])
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    text = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    for words in (
        f"under gas that peaks at {10 * load.peak:.0f} bar in bore 1 of 2.",
        "Gas pressure",
        "found for the 120 kW that are wanted",
        "multiplies its pressure by 1.2",
        "Detonation is not covered.",
        "burn over 60 degrees",
        "those of the engine's cycle",
        "Gatowski et al., SAE 841359, from memory",
        "No knock model",
    ):
        assert words in text
    assert "nan" not in text.lower().split()
    for name in ("gas", "pressure-by-depth"):
        assert (tmp_path / f"{name}.png").stat().st_size > 5_000
    svg = (tmp_path / "pressure-by-depth.svg").read_text(encoding="utf-8")
    assert "insert local, 6 to 16 mm" in svg


def test_gas_heats_the_section(solved):
    for design in solved.designs:
        assert service_of(design).heat.heat["gas"] > 0


def test_a_stated_peak_tells_that_detonation_is_not_covered(case_of, tmp_path, monkeypatch):
    gas = '[gas]\npeak_pressure = "100 bar"\npressurised_depth = "26 mm"\n'
    result = solve_case(case_of(BLOCK, gas))
    assert results_dict(result)["pressure"] == {
        "from": "peak pressure",
        "peak_mpa": 10.0,
        "factor": 1.0,
        "line_load_n_per_mm": 260.0,
    }
    monkeypatch.setattr("cases.report.page._data_address", str)
    write_report(result, tmp_path)
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert "The peak of 100 bar is the case's own" in page
    assert "Detonation is not covered." in page
    assert list(SUBJECT.figures(result)) == []


@pytest.mark.usefixtures("unpictured")
def test_the_command_tells_boost_and_power(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.toml").write_text(BLOCK + POWER)
    done = CliRunner().invoke(main, ["solve", "--section", "case.toml", "--out", "out"])
    assert done.exit_code == 0, done.output
    assert "120 kW" in done.output
    assert "Detonation is not covered" in " ".join(done.output.split())
    pressure = json.loads((tmp_path / "out/results.json").read_text())["pressure"]
    assert f"{10 * pressure['intake_pressure_mpa']:.2f} bar absolute" in done.output


def changed(key, value):
    """The engine with one of its lines changed."""
    text, count = re.subn(rf"(?m)^{key} = .*$", f"{key} = {value}", ENGINE)
    return text if count else f"{ENGINE}{key} = {value}\n"


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        (changed("compression_ratio", "1.0"), "engine.compression_ratio", "greater than 1"),
        (changed("compression_ratio", "0.5"), "engine.compression_ratio", "greater than 1"),
        (changed("compression_ratio", '"9:1"'), "engine.compression_ratio", "plain number"),
        (changed("rod", '"40 mm"'), "engine.rod", "40 mm is outside 50.4 to 840 mm"),
        (changed("rod", '"50 mm"'), "engine.rod", "1.2 times the crank radius"),
        (changed("rod", '"-140 mm"'), "engine.rod", "-140 mm is outside"),
        (changed("stroke", '"0 mm"'), "engine.stroke", "0 mm is outside 10"),
        (changed("burn_duration", '"-60 deg"'), "engine.burn_duration", "-60 deg is outside 5"),
        (changed("burn_duration", '"0 deg"'), "engine.burn_duration", "0 deg is outside 5"),
        (changed("burn_centre", '"200 deg"'), "engine.burn_centre", "200 deg is outside -30"),
        (changed("speed", '"0 rpm"'), "engine.speed", "0 rpm is outside 300"),
        (changed("speed", "7000"), "engine.speed", "Allowed units: rpm"),
        (changed("fuel_heating_value", '"43 kJ"'), "engine.fuel_heating_value", "MJ/kg"),
        (changed("fuel_heating_value", '"0 MJ/kg"'), "engine.fuel_heating_value", "outside 5"),
        (changed("combustion_efficiency", '"120 %"'), "engine.combustion_efficiency",
         "120 % is not above 0 % and up to 100 %"),
        (changed("mechanical_efficiency", '"-5 %"'), "engine.mechanical_efficiency", "-5 %"),
        (changed("mechanical_efficiency", '"0 %"'), "engine.mechanical_efficiency", "0 %"),
        (changed("volumetric_efficiency", "0.9"), "engine.volumetric_efficiency", "%"),
        (changed("air_fuel_ratio", "0"), "engine.air_fuel_ratio", "greater than 1"),
        (changed("air_fuel_ratio", "1.5"), "engine.air_fuel_ratio", "hotter than 4000 K"),
        (changed("intake_pressure", '"-1 bar"'), "engine.intake_pressure", "It is absolute"),
        (changed("gamma_300", "1.2") + "gamma_slope = -1e-4\n", "engine.gamma_slope",
         "must stay above 1.02"),
        (changed("cylinders", "0"), "engine.cylinders", "greater than or equal to 1"),
        (changed("top_ring", '"-1 mm"'), "engine.top_ring", "-1 mm is outside 0"),
        (changed("burn_duration", '"170 deg"') + 'burn_centre = "-30 deg"\n'
         + 'intake_closing = "80 deg"\n', "engine.burn_duration", "closed in from -100 to 180"),
        (changed("power", '"120 kW"'), "engine", "intake_pressure and power are given"),
        (ENGINE.replace('intake_pressure = "2 bar"\n', ""), "engine",
         "None of intake_pressure, boost and power is given"),
        (POWER.replace("120 kW", "2000 kW"), "engine.power",
         "2000 kW is more than this engine gives at any intake pressure from 0.2 to 6 bar"),
        (POWER.replace("120 kW", "2 kW"), "engine.power", "2 kW is less than"),
        (POWER.replace("120 kW", "-20 kW"), "engine.power", "-20 kW is outside"),
        (changed("intake_pressure", '"0.2 bar"') + 'crankcase_pressure = "6 bar"\n'
         + 'burn_centre = "60 deg"\n', "engine", "so nothing loads the wall"),
        ("[gas]\npressure_factor = 1.5\n", "gas", "or describe the engine under a heading"),
        (ENGINE + '[gas]\npeak_pressure = "100 bar"\n', "gas.peak_pressure",
         "Leave out peak_pressure, or intake_pressure there"),
        (ENGINE + '[gas]\npressurised_depth = "10 mm"\n', "gas.pressurised_depth",
         "The [engine] says it too"),
        (ENGINE + "[gas]\npressure_factor = 0.9\n", "gas.pressure_factor", "greater than or equal"),
        (ENGINE.replace("rod", "conrod"), "engine.conrod", "Did you mean rod?"),
    ],
)  # fmt: skip
def test_wrong_engine_is_refused(case_of, text, place, words):
    with pytest.raises(CaseError) as refused:
        gas_load(case_of(BLOCK, text))
    faults = {fault.path: fault.text for fault in refused.value.faults}
    assert place in faults, faults
    assert words in faults[place]


def test_a_faulty_engine_is_no_fault_of_the_heat(case_of):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, changed("rod", '"40 mm"'), HEAT)
    assert [fault.path for fault in refused.value.faults] == ["engine.rod"]


def test_gas_beyond_all_fuels_is_refused():
    crank = Crank(bore=86, stroke=86, rod=143.5, compression_ratio=10)
    burn = Burn(start=-20, duration=40, heat=5000.0)
    with pytest.raises(EngineError, match=f"hotter than {HOTTEST_GAS:g} K"):
        close_in(crank, burn, pressure=0.1, temperature=300.0)


def test_power_rises_with_speed_at_the_same_pressure(case_of):
    engine = gas_load(case_of(BLOCK, ENGINE)).wall_load.cycle.engine
    slow = run_engine(replace(engine, speed=3500.0))
    fast = run_engine(engine)
    assert fast.power == pytest.approx(2 * slow.power, rel=0.1)
    assert slow.imep < fast.imep  # more time to lose heat
    assert slow.closed.wall_heat[-1] > fast.closed.wall_heat[-1]


def test_any_value_of_a_cycle_can_be_wanted(case_of):
    engine = gas_load(case_of(BLOCK, ENGINE)).wall_load.cycle.engine
    found = run_engine_for(engine, 12.0, lambda cycle: cycle.peak, "MPa", "peak")
    assert found.peak == pytest.approx(12.0, rel=1e-6)


def test_cycle_of_another_capacity_is_colder():
    """Gas that takes up more heat gets less hot (derived: cv = R / (gamma - 1))."""
    crank = Crank(bore=86, stroke=86, rod=143.5, compression_ratio=10)
    burn = Burn(start=-20, duration=50, heat=900.0)
    hottest = [
        close_in(crank, burn, pressure=0.1, temperature=330.0, capacity=capacity).temperature.max()
        for capacity in (Capacity(gamma_300=1.38, slope=0.0), Capacity())
    ]
    assert hottest[1] < hottest[0] - 200


def test_curves_join_without_a_gap(case_of):
    load = gas_load(case_of(BLOCK, ENGINE, 'intake_closing = "50 deg"\n')).wall_load
    deg, pressure, hot, film = load.cycle.whole
    assert np.all(np.diff(deg) >= 0)
    assert len(deg) == len(pressure) == len(hot) == len(film)
    closed = (deg > -129) & (deg < 179)
    assert np.abs(np.diff(pressure[closed])).max() < 0.02 * pressure.max()
