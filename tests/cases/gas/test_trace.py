"""A measured trace: what is read of it, what is counted of its scatter, and what is refused.

All traces are invented.
"""

import re

import numpy as np
import pytest
from bench import BARE, BLOCK, GAS

from cases.base.faults import CaseError
from cases.gas.cylinder import ATMOSPHERE
from cases.gas.given import gas_given
from cases.gas.solve import gas_load
from cases.gas.trace import SPREAD, TraceError, read_trace
from cases.rating.given import PRESSURE_SCATTER, rating_given
from cases.read import read_case
from cases.report.page import write_report
from cases.report.results import results_dict
from cases.run import solve_case

CRANK = """\
[engine]
stroke = "84 mm"
rod = "140 mm"
top_ring = "6 mm"
crown_below_deck = "0.4 mm"
"""
HEADING = "angle [deg];pressure [bar abs]"


def pressure(deg, peak=80.0, at=14.0):
    """An invented cycle: one hill over a low plain. [bar], absolute."""
    return 1.2 + (peak - 1.2) * np.exp(-(((deg - at) / 30.0) ** 2))


def lines(deg, columns, heading=HEADING, split=";"):
    rows = [split.join(f"{value:.6f}" for value in row) for row in np.column_stack([deg, *columns])]
    return "\n".join([heading, *rows]) + "\n"


@pytest.fixture
def written(tmp_path):
    def write(text):
        path = tmp_path / "pressure.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write


ONE = np.arange(-360.0, 360.0, 1.0)


def test_one_cycle_is_its_own_mean(written):
    trace = read_trace(written(lines(ONE, [pressure(ONE)])))
    assert (trace.cycles, trace.scatter, trace.absolute, trace.told) == (1, None, True, True)
    assert trace.deg == pytest.approx(ONE)
    assert trace.pressure == pytest.approx(pressure(ONE) / 10)


@pytest.mark.parametrize(
    ("heading", "split", "comma", "times"),
    [
        ("angle [deg],pressure [bar abs]", ",", False, 1.0),
        ("Crank angle in °CA;Cylinder 1 in bar(a)", ";", True, 1.0),
        ("deg\tkPa abs", "\t", False, 100.0),
        ("degCA\tMPa (absolute)", "\t", True, 0.1),
        ("angle (degrees);p (psia)", ";", False, 14.5037738),
        ("angle;p\n[deg];[bar] abs", ";", False, 1.0),
        ('"angle [deg]";"p [bara]"', ";", True, 1.0),
    ],
)
def test_what_columns_and_units_may_be(written, heading, split, comma, times):
    """1 bar is 100 kPa, 0.1 MPa and 14.5037738 psi."""
    text = lines(ONE, [times * pressure(ONE)], "", split)
    text = text.replace(".", ",") if comma else text
    trace = read_trace(written(f"\ufeff{heading}{text}"))
    assert trace.absolute
    assert trace.pressure == pytest.approx(pressure(ONE) / 10, abs=1e-6)


@pytest.mark.parametrize(
    ("heading", "key", "absolute", "told"),
    [
        ("bar", None, False, False),
        ("bar", False, False, True),
        ("bar", True, True, True),
        ("bar g", None, False, True),
        ("barg", False, False, True),
        ("bar gauge", None, False, True),
        ("abs. pressure in bar", None, True, True),
    ],
)
def test_gauge_or_absolute(written, heading, key, absolute, told):
    """Gauge unless heading or key say: an atmosphere of 1.01325 bar more on the wall."""
    trace = read_trace(written(lines(ONE, [pressure(ONE)], f"angle [deg];{heading}")), key)
    assert (trace.absolute, trace.told) == (absolute, told)
    more = 0.0 if absolute else 0.101325
    assert trace.pressure.max() == pytest.approx(8.0 + more)


def test_angles_may_count_the_firing_top_as_360_or_begin_anew(written):
    deg = np.arange(0.0, 720.0, 0.5)
    late = read_trace(written(lines(deg, [pressure(deg - 360)])))
    assert late.turned
    assert float(late.deg[np.argmax(late.pressure)]) == 14.0
    early = read_trace(written(lines(deg, [pressure((deg + 360) % 720 - 360)])))
    assert not early.turned
    assert early.pressure == pytest.approx(late.pressure, abs=1e-6)


PEAKS = np.array([70.0, 80.0, 84.0, 90.0, 76.0])


@pytest.mark.parametrize("how", ["running on", "anew", "beside"])
def test_mean_and_scatter_of_several_cycles(written, how):
    """Peaks 70, 80, 84, 90, 76: mean 80, sum of squares 232, deviation sqrt(232 / 4)."""
    curves = [pressure(ONE, peak) for peak in PEAKS]
    if how == "beside":
        text = lines(ONE, curves, "deg;" + ";".join(f"cycle {n} bar abs" for n in range(5)))
    else:
        deg = np.concatenate([ONE + 720 * n * (how == "running on") for n in range(5)])
        text = lines(deg, [np.concatenate(curves)])
    trace = read_trace(written(text))
    assert trace.pressure.max() == pytest.approx(8.0)
    assert (trace.scatter.cycles, trace.scatter.mean) == (5, pytest.approx(8.0))
    assert trace.scatter.deviation == pytest.approx(0.1 * 58**0.5)
    assert trace.scatter.share == pytest.approx(58**0.5 / 80)
    assert trace.scatter.allowance == pytest.approx(1 + 3 * 58**0.5 / 80)


def test_cycles_are_cut_at_gas_exchange(written):
    """From 90 degrees on for three cycles and a half: the two and a half whole ones after 360."""
    deg = np.arange(90.0, 90.0 + 3.5 * 720)
    number = np.floor((deg + 360) / 720).astype(int)
    text = lines(deg, [pressure((deg + 360) % 720 - 360, PEAKS[number])])
    trace = read_trace(written(text))
    assert trace.cycles == 3
    assert trace.scatter.mean == pytest.approx(np.mean(PEAKS[1:4]) / 10)


def test_peaks_at_unlike_angles_count_though_the_mean_cycle_is_lower(written):
    curves = [pressure(ONE, 80.0, at) for at in (4.0, 24.0)]
    trace = read_trace(written(lines(ONE, curves, "deg;bar abs;bar abs")))
    assert trace.scatter.deviation == pytest.approx(0, abs=1e-9)
    assert trace.scatter.of_mean < 7.8
    assert trace.scatter.allowance == pytest.approx(8.0 / trace.pressure.max())


GOOD = lines(ONE, [pressure(ONE)])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("", "no numbers in it", id="nothing"),
        pytest.param("angle [deg];pressure [bar]\n", "no numbers in it", id="heading alone"),
        pytest.param(GOOD.partition("\n")[2], "It has no heading", id="no heading"),
        pytest.param(lines(ONE, [pressure(ONE)], "angle;pressure [bar]"),
                     "no unit of the crank angle", id="no unit of the angle"),
        pytest.param(lines(ONE, [pressure(ONE)], "time [ms];pressure [bar]"),
                     "no unit of the crank angle", id="time"),
        pytest.param(lines(ONE, [pressure(ONE)], "angle [deg];pressure"),
                     "no unit of the pressure", id="no unit of the pressure"),
        pytest.param(lines(ONE, [pressure(ONE)] * 2, "deg;bar;psi"), "or several", id="two units"),
        pytest.param(GOOD.replace("\n100.000000;", "\n;"), "has a gap", id="no angle"),
        pytest.param(GOOD.replace("\n100.000000;1.", "\n100.000000;nan"), "has a gap", id="nan"),
        pytest.param(GOOD.replace("\n-3.000000;", "\n-3.0 "), "has a gap", id="one column there"),
        pytest.param("angle [deg]\n1\n2\n", "has one column", id="one column"),
        pytest.param(lines(ONE[::2], [pressure(ONE[::2])]).replace("\n-2.000000;", "\n-6.0;"),
                     "Line 181 has an angle out of order", id="unordered"),
        pytest.param(lines(ONE[::-1], [pressure(ONE[::-1])]), "don't rise", id="backwards"),
        pytest.param(lines(np.delete(ONE, [400, 401]), [pressure(np.delete(ONE, [400, 401]))]),
                     "Line 402 has a gap: the crank angle goes from 39 to 42", id="a gap"),
        pytest.param(lines(ONE[::9], [pressure(ONE[::9])]), "are 9 degrees apart", id="coarse"),
        pytest.param(lines(ONE[180:540], [pressure(ONE[180:540])]),
                     "covers 359 degrees, less than one cycle", id="one turn"),
        pytest.param(lines(ONE[:-1], [pressure(ONE[:-1])]), "less than one cycle", id="one short"),
        pytest.param(lines(np.tile(ONE[180:540], 2), [pressure(np.tile(ONE[180:540], 2))]),
                     "angle out of order", id="turns one under another"),
        pytest.param(lines(ONE, [pressure(ONE) - 1.3]), "line 2, is a negative absolute pressure",
                     id="below nothing"),
        pytest.param(lines(ONE, [pressure(ONE) - 3.0], "deg;bar gauge"),
                     "negative absolute pressure, -0.7868 bar", id="gauge below nothing"),
        pytest.param(lines(ONE, [pressure(ONE, at=180.0)]), "It peaks at 180 degrees",
                     id="peak at the bottom"),
        pytest.param(lines(ONE, [pressure(ONE)], "deg;MPa"), "outside 5 to 500 bar. Check the unit",
                     id="MPa for bar"),
        pytest.param(lines(ONE, [pressure(ONE)], "deg;kPa"), "outside 5 to 500 bar. Check the unit",
                     id="kPa for bar"),
        pytest.param(lines(ONE, [pressure(ONE), pressure(ONE), pressure(ONE, 300.0)],
                           "deg;bar;bar;bar"), "Cycle 3 peaks at 301 bar", id="spike"),
    ],
)  # fmt: skip
def test_what_is_no_trace_is_refused(written, text, words):
    with pytest.raises(TraceError) as refused:
        read_trace(written(text))
    assert words in str(refused.value)


def test_heading_and_key_must_agree(written):
    with pytest.raises(TraceError, match="heading says absolute, reference says gauge"):
        read_trace(written(GOOD), absolute=False)


@pytest.fixture
def traced(tmp_path, written):
    """A case with a trace, read from its folder."""

    def read(text, gas='[gas]\ntrace = "pressure.csv"\n', crank=CRANK):
        if text is not None:
            written(text)
        path = tmp_path / "case.toml"
        path.write_text(BLOCK.replace(GAS, "") + gas + crank + BARE)
        return read_case(path)

    return read


def test_a_trace_loads_the_wall_by_crank_angle(traced):
    """At 40 deg by hand: x = 42 (1 - cos 40) + 140 - sqrt(140^2 - (42 sin 40)^2) = 12.4538 mm."""
    load = gas_load(traced(GOOD)).wall_load
    assert load.cycle is None
    assert float(load.reach(40.0)) == pytest.approx(0.4 + 6.0 + 12.4538, abs=1e-4)
    assert float(load.pressure_at(40.0)) == pytest.approx(pressure(40.0) / 10 - ATMOSPHERE)
    q = (pressure(ONE) / 10 - ATMOSPHERE) * np.minimum(load.reach(ONE), 24.0)
    assert gas_load(traced(GOOD)).line_load == pytest.approx(q.max())


def test_scatter_is_on_the_wall_but_not_in_what_a_sensor_reads(traced):
    """Peaks 70, 80, 84, 90, 76 bar absolute, and detonation 1.2."""
    curves = [pressure(ONE, peak) for peak in PEAKS]
    text = lines(ONE, curves, "deg" + ";bar abs" * 5)
    gas = gas_load(traced(text, '[gas]\ntrace = "pressure.csv"\npressure_factor = 1.2\n'))
    factor = 1.2 * (1 + SPREAD * 58**0.5 / 80)
    assert gas.factor == pytest.approx(factor)
    assert gas.peak_pressure == pytest.approx(factor * 8.0 - ATMOSPHERE)
    assert gas.read(gas.peak_pressure) == pytest.approx(8.0)
    assert (gas.detonation, gas.smooth) == (pytest.approx(1.2), False)


def test_scatter_of_the_trace_spreads_the_band_unless_the_case_states_it(traced):
    text = lines(ONE, [pressure(ONE, peak) for peak in PEAKS], "deg" + ";bar abs" * 5)
    gas = '[gas]\ntrace = "pressure.csv"\n[rating]\n'
    measured = rating_given(traced(text, gas))
    assert measured.pressure_scatter == pytest.approx(58**0.5 / 80)
    assert measured.scatter_measured
    stated = rating_given(traced(text, gas + 'pressure_scatter = "3 %"\n'))
    assert (stated.pressure_scatter, stated.scatter_measured) == (0.03, False)
    assert rating_given(traced(GOOD, gas)).pressure_scatter == PRESSURE_SCATTER


@pytest.fixture
def page_of(tmp_path, monkeypatch):
    """The words of a solved case's page, pictures left out."""

    def read(result):
        monkeypatch.setattr("cases.report.page._data_address", str)
        page = write_report(result, tmp_path).read_text(encoding="utf-8")
        return " ".join(re.sub(r"<[^>]+>", " ", page).split())

    return read


def test_results_and_page_tell_a_trace(traced, page_of):
    text = lines(ONE, [pressure(ONE, peak) for peak in PEAKS], "deg" + ";bar" * 5)
    result = solve_case(traced(text))
    told = results_dict(result)["pressure"]
    assert (told["from"], told["reads"]) == ("trace", "gauge")
    assert told["as_read_mpa"] == pytest.approx(8.0)
    assert told["peak_mpa"] == pytest.approx(8.0 + ATMOSPHERE)
    assert told["scatter"]["cycles"] == 5
    assert told["scatter"]["share"] == pytest.approx(0.1 * 58**0.5 / (8.0 + ATMOSPHERE))
    assert told["factor"] == told["scatter"]["factor"]
    assert len(told["by_crank"]["deg"]) == 720
    assert "power_kw" not in told
    assert told["thrust"]["clock_hours"] == 0.0
    page = page_of(result)
    for words in (
        "The mean cycle of the measured trace peaks at 80 bar , 14 degrees after the top",
        "5 cycles peak at 81.0 bar absolute in the mean, with a standard deviation of 7.6 bar",
        "the trace is gauge, above the atmosphere, which loads more",
        "kN of the piston on the wall at 12:00",
    ):
        assert words in page


def test_page_tells_what_stands_for_the_crank_of_a_stated_peak(traced, page_of):
    result = solve_case(traced(None, '[gas]\npeak_pressure = "100 bar"\n', ""))
    told = results_dict(result)["pressure"]
    assert (told["from"], told["as_read_mpa"]) == ("peak pressure", pytest.approx(10.0))
    page = page_of(result)
    for words in (
        "The peak of 100 bar is the case's own, the shape of the cycle that of an engine",
        "stroke 80 mm, of a square engine; rod 132 mm, 1.65 times the stroke",
        "engine.top_ring: top ring 5.6 mm below the crown",
        "compression ratio 9",
    ):
        assert words in page


def test_what_was_assumed_of_a_trace_is_told(traced):
    told = dict(gas_given(traced(GOOD.replace(" abs", ""))).assumed)
    assert told["reference"] == "the trace is gauge, above the atmosphere, which loads more"
    assert told["trace"].startswith("1 whole cycle of it says how the engine runs")
    assert "reference" not in dict(gas_given(traced(GOOD)).assumed)


@pytest.mark.parametrize(
    ("text", "gas", "place", "words"),
    [
        (None, '[gas]\ntrace = "none.csv"\n', "gas.trace", "There is no file none.csv beside"),
        (None, '[gas]\ntrace = ""\n', "gas.trace", "It can't be read"),
        (GOOD, GAS.replace("[gas]\n", '[gas]\ntrace = "pressure.csv"\n'), "gas.peak_pressure",
         "The trace says it too"),
        (GOOD, '[gas]\ntrace = "pressure.csv"\npressurised_depth = "20 mm"\n',
         "gas.pressurised_depth", "Leave out pressurised_depth"),
        (GOOD, '[gas]\ntrace = "pressure.csv"\nreference = "gauge"\n', "gas.trace",
         "heading says absolute"),
    ],
)  # fmt: skip
def test_a_case_with_a_wrong_trace_is_refused(traced, text, gas, place, words):
    with pytest.raises(CaseError) as refused:
        traced(text, gas)
    faults = {fault.path: fault.text for fault in refused.value.faults}
    assert words in faults[place]


def test_no_text_is_no_trace(tmp_path):
    path = tmp_path / "pressure.csv"
    path.write_bytes(b"angle [deg];p [\xe4]\n1;2\n")
    with pytest.raises(TraceError, match="not text in UTF-8"):
        read_trace(path)
