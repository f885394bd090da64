"""The crack of a case: where it starts, its series of lengths, its growth, and what is refused."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, ENGINE

from cases.base.faults import CaseError
from cases.crack.data import crack_dict
from cases.crack.figures import crack_figures
from cases.crack.given import crack_given
from cases.crack.solve import crack_lengths, crack_place, one_metal, run_cracks
from cases.gas.solve import gas_of
from cases.life.steps import COLD_GAS, HONED
from cases.run import solve_case
from fea.crack import IIW_ALUMINIUM, ROOT_M
from geometry.cracked import CrackPath, Stretch, trace_path
from geometry.section_mesh import Layer, UniformDepth

HEAD = """\
job = "bench block (invented)"
[section]
mesh = "coarse"
tolerance = "20 %"
depth = "26 mm"
[gas]
peak_pressure = "120 bar"
pressurised_depth = "26 mm"
"""
BLOCK = """\
[block]
bore = "87 mm"
barrel_wall = "8 mm"
jacket = "9 mm"
outer_wall = "9 mm"
material = "A356-T6"
[[relief_cut]]
clock = "7:45"
radius = "57.5 mm"
diameter = "16 mm"
depth = "22 mm"
"""
RING = """\
[block]
bore = "100 mm"
barrel_wall = "50 mm"
material = "A356-T6"
"""
CLOSED = """\
[[design]]
name = "closed"
material = "6061-T6"
depth = "12 mm"
[design.fit]
interference = "20 um"
friction = 0.12
"""


def crack(*lines, flaw="0.5 mm", gas="false", speed='speed = "6000 rpm"'):
    return "\n".join(["[crack]", f'flaw = "{flaw}"', f"gas_in_crack = {gas}", speed, *lines, ""])


@pytest.fixture(scope="module")
def solved(case_of):
    """A block with a relief cut, bare and with a fitted insert."""
    return solve_case(case_of(HEAD, crack(), BLOCK, BARE, CLOSED))


@pytest.fixture(scope="module")
def cracked(solved):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cases.crack.solve.LENGTHS", 4)
        return run_cracks(solved.case, gas_of(solved), crack_given(solved.case), solved.designs)


def test_bore_crack_of_a_plain_ring(case_of):
    """All the way from a case file: 2.790 and 2.971 p sqrt(pi l) at 0.1 and 0.4 of the wall of a
    ring 50/100 mm with gas in the crack (Bowie & Freese 1972, values of finite elements
    elsewhere)."""
    text = crack('clock = "2:00"', 'longest = "20 mm"', flaw="5 mm", gas="true")
    result = solve_case(case_of(HEAD, text, RING, BARE))
    found = run_cracks(result.case, gas_of(result), crack_given(result.case), result.designs)
    assert abs(found.place.mouth) == pytest.approx(50)
    assert found.place.sense == "outward"
    (series,) = found.series
    assert (len(series.length), series.crack_growth.end) == (10, "longest")
    factor = series.k1 * ROOT_M / (12 * np.sqrt(np.pi * series.length))
    assert factor[[0, -1]] == pytest.approx([2.790, 2.971], rel=5e-3)
    assert np.abs(series.k2).max() < 5e-3 * series.k1.min()
    assert series.idle_step == ""
    assert found.notes == ()


def test_it_starts_at_the_worst_hot_spot(solved, cracked):
    bare = solved.designs[0]
    spot = next(spot for spot in bare.hot_spots if spot.part == "barrel" and not spot.sharp)
    place = cracked.place
    assert abs(place.mouth - complex(spot.x_mm, spot.y_mm)) < 1e-3
    pull = np.exp(1j * np.deg2rad(spot.principal_angle_deg))
    assert abs((place.direction * np.conj(pull)).real) < 1e-9
    assert f"{spot.principal_mpa:.0f} MPa" in place.chosen
    short = trace_path(bare.outline, place.mouth, place.direction, {"barrel"})
    assert place.direction == short.direction


def test_of_two_ways_it_takes_the_deeper_metal(solved):
    """From the wall of the pocket: into the wall of 26 mm, not into the floor of 4 mm."""
    bare = solved.designs[0]
    spot = next(spot for spot in bare.hot_spots if spot.part == "barrel")
    ray = np.exp(1j * np.deg2rad(217.5))
    at = replace(spot, x_mm=49.5 * ray.real, y_mm=49.5 * ray.imag, principal_angle_deg=-52.5)
    for turn in (0.0, 180.0):
        turned = replace(at, principal_angle_deg=at.principal_angle_deg + turn)
        design = replace(bare, hot_spots=(turned,))
        place = crack_place(solved.case, crack_given(solved.case), design)
        assert place.sense == "inward"
        assert abs(place.mouth) == pytest.approx(49.5)


def test_it_ends_where_gas_would_get_out(solved):
    """From the bore towards the pocket: its wall is the end, though its floor goes on."""
    given = replace(crack_given(solved.case), clock=7.75, gas_in_crack=True)
    bare = solved.designs[0]
    ray = np.exp(1j * np.deg2rad(217.5))
    path = trace_path(bare.outline, 43.5 * ray, ray, one_metal("barrel"))
    assert path.length == pytest.approx(6)
    assert path.end == "the edge of the deep metal, beyond which only some barrel goes on"
    assert one_metal("tie") == one_metal("barrel") != one_metal("liner")
    place = crack_place(solved.case, given, bare)
    assert place.sense == "inward"  # the outside is pulled harder there


def test_the_insert_helps(cracked):
    bare, closed = cracked.series
    assert (closed.k1 < 0.8 * bare.k1).all()
    assert (closed.crack_growth.life > bare.crack_growth.life) or closed.crack_growth.stops
    assert bare.length[0] == 0.5
    assert closed.length == pytest.approx(bare.length)
    assert (bare.idle_step, closed.idle_step) == (HONED, HONED)
    assert bare.idle_k1 == pytest.approx(0, abs=1e-9)
    assert (closed.idle_k1 < 0).all()  # pressed on, the barrel is squeezed


def test_idle_stress_is_cut_along_the_way(solved, cracked, monkeypatch):
    """The stress of a whole block under gas, cut along the crack, gives the K of the gas."""
    monkeypatch.setattr("cases.crack.solve.HONED", COLD_GAS)
    monkeypatch.setattr("cases.crack.solve.LENGTHS", 4)
    bare = run_cracks(
        solved.case, gas_of(solved), crack_given(solved.case), solved.designs[:1]
    ).series[0]
    assert bare.k1 == pytest.approx(cracked.series[0].k1)
    assert bare.idle_k1 == pytest.approx(bare.k1, rel=0.03)


def test_a_clock_position_runs_along_the_radius(solved):
    given = replace(crack_given(solved.case), clock=1.0)
    place = crack_place(solved.case, given, solved.designs[0])
    ray = np.exp(1j * np.deg2rad(60))
    assert abs(place.direction) == pytest.approx(1)
    assert (place.direction * np.conj(ray)).imag == pytest.approx(0, abs=1e-12)
    assert min(abs(abs(place.mouth) - r) for r in (43.5, 51.5)) < 1e-6
    path = trace_path(solved.designs[0].outline, place.mouth, place.direction, {"barrel"})
    assert path.length == pytest.approx(8)


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        (
            {"longest": 9.5},
            "longest",
            r"9\.5 mm is more than the wall has: the metal is 8 mm thick along the crack, up to",
        ),
        ({"flaw": 7.9}, "flaw", r"Give at most 7\.2 mm"),
        ({"part": "tie"}, "clock", r"no tie at 1:00\. Give a clock position where it stands"),
    ],
)
def test_no_metal_and_too_long(solved, changes, key, words):
    given = replace(crack_given(solved.case), clock=1.0, **changes)
    with pytest.raises(CaseError, match=words) as caught:
        run_cracks(solved.case, gas_of(solved), given, solved.designs)
    assert caught.value.faults[0].path == f"crack.{key}"


def test_lengths_keep_off_borders():
    layer = Layer("barrel", UniformDepth(20.0))
    other = Layer("barrel", UniformDepth(5.0))
    ends = [(0.0, 3.0, layer), (3.0, 3.2, other), (3.2, 8.0, layer)]
    stretches = tuple(Stretch(start, end, 0, (of,)) for start, end, of in ends)
    path = CrackPath(0j, 1 + 0j, frozenset({"barrel"}), stretches, ())
    assert path.borders == pytest.approx([0, 3, 3.2, 8])
    lengths = crack_lengths(path, 0.5, 8.0)
    assert (np.diff(lengths) > 0).all()
    assert np.abs(lengths[:, None] - path.borders[1:]).min() >= 0.05 - 1e-12
    assert ((lengths > 3) & (lengths < 3.2)).any()
    assert (lengths[0], lengths[-1]) == (0.5, pytest.approx(7.95))
    assert crack_lengths(path, 0.06, 2.0)[[0, -1]] == pytest.approx([0.06, 2.0])


def test_results_and_pictures(solved, cracked):
    found = crack_dict(cracked, "bare")
    text = json.dumps(found, default=lambda of: np.asarray(of).tolist())
    assert json.loads(text)["length_mm"][0] == 0.5
    assert found["cycles"] == cracked.series[0].crack_growth.life
    names = dict(crack_figures(cracked, solved.designs))
    assert set(names) == {"crack-intensity", "crack-growth", "crack-place"}
    assert re.search("from memory", found["law"]["source"])


# --- what a case may say ---


def faults(case_of, *texts):
    with pytest.raises(CaseError) as caught:
        case_of(HEAD, *texts)
    return {fault.path: fault.text for fault in caught.value.faults}


def test_constants_of_the_case(case_of):
    own = 'paris_c = "2e-10 m/cycle"\nparis_m = 3.6\nwalker_gamma = 0.7\ntoughness = "20 MPa m^0.5"'
    law = crack_given(case_of(HEAD, crack(own), BLOCK, BARE)).law
    assert (law.rate, law.exponent, law.threshold) == (pytest.approx(2e-7), 3.6, 0.0)
    assert (law.walker_gamma, law.toughness, law.source) == (0.7, 20.0, "the case's own")
    law = crack_given(case_of(HEAD, crack('threshold = "30 N/mm^1.5"'), BLOCK, BARE)).law
    assert law.rate == IIW_ALUMINIUM.rate
    assert law.threshold_at([0, 0.9]) == pytest.approx(30 / ROOT_M)


@pytest.mark.parametrize(
    ("text", "path", "words"),
    [
        (crack(speed=""), "crack", "The speed is missing"),
        (crack('paris_m = 3.0'), "crack", "paris_c and paris_m go together"),
        (crack('part = "liner"'), "crack.part", "There is no liner"),
        (crack('part = "insert"'), "crack.part", "barrel"),
        (crack('longest = "0.4 mm"'), "crack.longest", "not longer than the flaw, 0.5 mm"),
        (crack(flaw="0.01 mm"), "crack.flaw", r"outside 0\.05 to 50 mm"),
        (crack('threshold = "1.8"'), "crack.threshold", "unit is missing"),
        (crack('paris_c = "1e-11 MPa"', "paris_m = 3.0"), "crack.paris_c", "mm/cycle"),
        (crack("walker_gamma = 1.5"), "crack.walker_gamma", "less than or equal to 1"),
        (crack('clok = "1:00"'), "crack.clok", "Did you mean clock"),
    ],
)  # fmt: skip
def test_what_is_refused(case_of, text, path, words):
    assert re.search(words, faults(case_of, text, BLOCK, BARE)[path])


def test_constants_of_aluminium_are_not_those_of_iron(case_of):
    block = BLOCK.replace(
        'barrel_wall = "8 mm"',
        'barrel_wall = "8 mm"\nliner = "2 mm"\nliner_material = "grey iron class 30"',
    )
    text = crack('part = "liner"')
    assert "Give paris_c and paris_m of it" in faults(case_of, text, block, BARE)["crack"]
    own = crack('part = "liner"', 'paris_c = "1e-8 mm/cycle"', "paris_m = 3.0")
    assert crack_given(case_of(HEAD, own, block, BARE)).part == "liner"


def test_the_speed_comes_from_the_engine(case_of):
    head = HEAD.partition("[gas]")[0]
    case = case_of(head, crack(speed=""), ENGINE, BLOCK, BARE)
    assert crack_given(case).cycles_per_hour == pytest.approx(210000)


def test_a_wrong_speed_is_not_called_missing(case_of):
    with pytest.raises(CaseError) as refused:
        case_of(HEAD, crack(speed='speed = "0 rpm"'), BLOCK, BARE)
    (fault,) = refused.value.faults
    assert "0 rpm is outside 300 to 25000 rpm" in str(fault)
