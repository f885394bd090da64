"""Gas on the wall by crank angle: stated peaks with crank and without, angles to solve."""

import numpy as np
import pytest
from bench import BARE, BLOCK, ENGINE, GAS

from cases.base.faults import CaseError
from cases.gas.cylinder import ATMOSPHERE
from cases.gas.given import all_assumed, gas_given
from cases.gas.lines import gas_lines
from cases.gas.solve import GasLoad, gas_load
from cases.gas.wall_load import MISSED

PEAK = '[gas]\npeak_pressure = "120 bar"\n'
PLAIN = BLOCK.replace(GAS, PEAK)
CRANK = """\
[engine]
stroke = "84 mm"
rod = "140 mm"
compression_ratio = 9.5
speed = "7000 rpm"
top_ring = "6 mm"
crown_below_deck = "0.3 mm"
"""


def test_a_stated_peak_has_the_shape_of_its_engine(case_of):
    """The same engine with its intake: pressures in proportion but for the walls' heat."""
    whole = gas_load(case_of(BLOCK.replace(GAS, ""), ENGINE, BARE)).wall_load
    peak = whole.curve.peak - ATMOSPHERE
    text = ENGINE.replace('intake_pressure = "2 bar"\n', "")
    stated = gas_load(case_of(PLAIN.replace("120 bar", f"{peak:.9f} MPa"), text, BARE)).wall_load
    assert stated.cycle is None
    assert stated.curve.peak == pytest.approx(whole.curve.peak)
    assert stated.pressure == pytest.approx(whole.pressure, rel=1e-6)
    assert stated.line_load == pytest.approx(whole.line_load, rel=1e-6)


def test_a_stated_peak_is_what_the_wall_bears_at_its_peak(case_of):
    """Gauge: 120 bar above the air, and so above the crankcase. Absolute: 1.01325 bar less."""
    gauge = gas_load(case_of(PLAIN, CRANK, BARE))
    assert gauge.peak_pressure == pytest.approx(12.0)
    assert gauge.read(gauge.peak_pressure) == pytest.approx(12.0)
    absolute = gas_load(case_of(PLAIN.replace("[gas]", '[gas]\nreference = "absolute"'), CRANK,
                                BARE))  # fmt: skip
    assert absolute.peak_pressure == pytest.approx(12.0 - 0.101325)
    assert absolute.read(absolute.peak_pressure) == pytest.approx(12.0)


def test_what_stands_in_for_the_crank_is_told(case_of):
    case = case_of(PLAIN, BARE)
    crank = gas_load(case).wall_load.curve.crank
    assert (crank.stroke, crank.rod, crank.compression_ratio) == (80.0, 132.0, 9.0)
    assert gas_load(case).wall_load.top_ring == pytest.approx(5.6)
    told = dict(all_assumed(gas_given(case)))
    assert told["engine.stroke"] == "stroke 80 mm, of a square engine"
    assert told["engine.rod"] == "rod 132 mm, 1.65 times the stroke"
    assert told["engine.top_ring"] == "top ring 5.6 mm below the crown, 0.07 times the bore"
    assert told["engine.compression_ratio"] == "compression ratio 9"
    stated = dict(all_assumed(gas_given(case_of(PLAIN, CRANK, BARE))))
    assert not {"engine.stroke", "engine.rod", "engine.top_ring", "engine.compression_ratio",
                "engine.crown_below_deck", "engine.speed"} & set(stated)  # fmt: skip


class Solved:
    """A case as far as its gas."""

    def __init__(self, case):
        self.case, self.found = case, {"gas": gas_load(case)}


def test_the_terminal_tells_what_was_assumed_of_the_crank(case_of):
    lines = gas_lines(Solved(case_of(PLAIN, BARE)))
    assert "stroke 80 mm, of a square engine; rod 132 mm" in lines[-1]
    assert "compression ratio 9" in lines[-1]
    assert gas_lines(Solved(case_of(BLOCK, BARE))) == []


def test_only_a_stated_depth_is_static(case_of):
    static = gas_load(case_of(BLOCK, BARE))
    assert static == GasLoad(peak_pressure=12.0, pressurised_depth=24.0)
    assert static.line_load == 12.0 * 24.0
    by_crank = gas_load(case_of(PLAIN, CRANK, BARE))
    q = by_crank.wall_load.pressure * np.minimum(by_crank.wall_load.reach(by_crank.wall_load.deg),
                                                 24.0)  # fmt: skip
    assert by_crank.line_load == pytest.approx(q.max())
    assert by_crank.line_load < 0.7 * static.line_load


def test_a_deeper_section_does_not_raise_the_load_beyond_the_reach(case_of):
    """Where the gas ends above H, more of H bears nothing."""
    loads = [
        gas_load(case_of(PLAIN.replace('depth = "24 mm"', f'depth = "{depth} mm"'), CRANK, BARE))
        for depth in (60, 80)
    ]
    assert loads[0].line_load == pytest.approx(loads[1].line_load, rel=1e-9)


def test_boost_is_gauge(case_of):
    """1 bar above the standard atmosphere is 2.01325 bar absolute."""
    text = ENGINE.replace('intake_pressure = "2 bar"', 'boost = "1 bar"')
    cycle = gas_load(case_of(BLOCK.replace(GAS, ""), text, BARE)).wall_load.cycle
    assert cycle.engine.intake_pressure == pytest.approx(0.201325)
    assert cycle.boost == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("gas", "engine", "place", "words"),
    [
        (PEAK, ENGINE.replace('intake_pressure = "2 bar"', 'boost = "1 bar"'), "gas.peak_pressure",
         "by its boost. Leave out peak_pressure, or boost there"),
        ("", ENGINE + 'boost = "1 bar"\n', "engine", "intake_pressure and boost are given"),
        ("", ENGINE.replace('"2 bar"', '"2 bar"\npower = "90 kW"') + 'boost = "1 bar"\n', "engine",
         "intake_pressure and boost and power are given"),
        ("", CRANK, "engine", "give the pressure under [gas]"),
        ("", CRANK + 'boost = "1 bar"\n', "engine.air_fuel_ratio", "It is missing. This is air"),
        ("", ENGINE.replace('intake_pressure = "2 bar"', 'boost = "-0.9 bar"'), "engine.boost",
         "It is a gauge pressure"),
        (GAS, CRANK, "gas.pressurised_depth", "or the whole of [engine]"),
        (PEAK, '[engine]\nrod = "300 mm"\nstroke = "20 mm"\n', "engine.rod", "1.2 times the crank"),
        (PEAK, '[engine]\nrod = "40 mm"\n', "engine.rod", "goes with a stroke of 80 mm, as that"),
        (PEAK.replace("120", "0.5").replace("[gas]", '[gas]\nreference = "absolute"'), CRANK,
         "gas.peak_pressure", "is no pressure above the atmosphere"),
        (PEAK + 'reference = "relative"\n', CRANK, "gas.reference", "'gauge' or 'absolute'"),
    ],
)  # fmt: skip
def test_what_does_not_go_together_is_refused(case_of, gas, engine, place, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK.replace(GAS, gas), engine, BARE)
    faults = {fault.path: fault.text for fault in refused.value.faults}
    assert place in faults, faults
    assert words in faults[place]


FIRINGS = {
    "stated peak": (PEAK, CRANK),
    "stand-ins": (PEAK, ""),
    "engine": ("", ENGINE),
    "late burn": ("", ENGINE + 'burn_centre = "25 deg"\nburn_duration = "80 deg"\n'),
    "early, quick burn": ("", ENGINE + 'burn_centre = "2 deg"\nburn_duration = "30 deg"\n'),
    "long stroke": (PEAK, CRANK.replace('"84 mm"', '"130 mm"').replace("140", "200")),
    "high ring": (PEAK, CRANK.replace('"6 mm"', '"3 mm"')),
}
PLACES = {
    "the deck": lambda reach, place: np.ones_like(reach),
    "a long wall": lambda reach, place: 1 - np.exp(-reach / 12) * np.cos(reach / 12),
    "a free end, pulled less as gas goes deeper": lambda reach, place: np.exp(-reach / 15),
    "a beam's end": lambda reach, place: np.exp(-reach / 12) * np.cos(reach / 12),
    "a band above it": lambda reach, place: (
        1 + reach / place + (1 - reach / place) * np.tanh((reach - place) / 5)
    ),
    "a place at a depth": lambda reach, place: 1 + np.tanh((reach - place) / 8),
    "a place that gas passes": lambda reach, place: np.exp(-(((reach - place) / 17) ** 2)),
}
"""What the gas does to a place, for each MPa, by how deep it reaches [mm]."""


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("firing", FIRINGS)
@pytest.mark.parametrize("depth", [24.0, 50.0])
def test_finer_angles_find_no_more(case_of, firing, place, depth):
    """A hundredth, and more only of what is pulled hardest late, as the root of the pressure."""
    gas, engine = FIRINGS[firing]
    load = gas_load(case_of(BLOCK.replace(GAS, gas), engine, BARE)).wall_load
    angles = load.angles_to_solve(depth)
    assert 12 <= len(angles) <= (17 if depth < 30 else 24)
    assert np.abs(angles - load.curve.peak_deg).min() < 1e-6
    assert np.abs(angles - load.line_load_deg).min() < 1e-6
    fine = np.arange(-60.0, 140.0, 0.1)
    for at in (8.0, 0.6 * depth, 0.9 * depth):
        found, more = (
            load.pressure_at(deg) * PLACES[place](load.reach(deg), at) for deg in (angles, fine)
        )
        late = max(load.peak / float(load.pressure_at(fine[np.argmax(more)])), 1.0)
        assert found.max() >= (1 - MISSED * late**0.5) * more.max()
