"""A liner that is a piece of its own: its joint opens, closes and slides in every load step."""

import dataclasses
import re
from types import SimpleNamespace

import numpy as np
import pytest

from cases.base.templates import render
from cases.life.chapter import life_chapters
from cases.life.given import CAST_IN, PRESSED_IN, SLIP, LifeInput
from cases.life.liner import GAS_IN_GAP, liner_range, share_conducting
from cases.life.lines import life_lines
from cases.life.result import service_of
from cases.report.results import results_dict
from cases.run import solve_case
from fea.closed_form import fitted_pressure, lame_ring
from fea.material import Material
from fea.stress import hoop
from geometry import Block

RING = """\
job = "ring with a liner (invented)"
[block]
bore = "90 mm"
barrel_wall = "23 mm"
material = "A356-T6"
liner = "7 mm"
liner_material = "grey iron class 30"
{liner}
[gas]
peak_pressure = "100 bar"
pressurised_depth = "20 mm"
[section]
depth = "20 mm"
tolerance = "1 %"
{heat}
[[design]]
name = "bare"
"""
HEAT = """\
[heat]
gas_film = "1000 W/(m2 K)"
gas_temperature = "{0} degC"
outside_film = "1000 W/(m2 K)"
outside_temperature = "{0} degC"
liner_conductance = "20000 W/(m2 K)"
"""
A, C, B = 45.0, 52.0, 75.0
IRON, ALLOY = (105_000.0, 0.26), (72_400.0, 0.33)
SOFT = Material("alloy", 1.0, 0.33, softening=((20.0, 1.0), (50.0, 0.99), (100.0, 0.97)))


def alloy_at(degc):
    return ALLOY[0] * float(SOFT.stiffness_share(degc)), ALLOY[1]


def solved(case_of, liner, heat=""):
    case = case_of(RING.format(liner=liner, heat=heat))
    (design,) = solve_case(case).designs
    return design, service_of(design)


def hoops(design, step, part, radius):
    """Hoop stress at the nodes of a part at a radius."""
    found = []
    for layer in step.stresses:
        x, y = design.found["life"].mesh.points[layer.nodes].T
        at = np.isclose(np.hypot(x, y), radius)
        if layer.part == part and at.any():
            found.append(hoop(layer.stress[:, at], x[at], y[at]))
    return np.concatenate(found)


PRESSED = 'liner_joint = "pressed"\nliner_interference = "80 um"'


def test_a_pressed_liner_is_a_shrink_fit_cold_warm_and_at_gas(case_of):
    """Lame's rings with what is left of the overlap (Timoshenko, *Strength of Materials*, Part II,
    3rd ed., 1956, shrink-fit stresses, from memory; warm, derived from the same condition)."""
    design, service = solved(case_of, PRESSED, HEAT.format(80))
    cold = {"overlap": 0.04, "inner": IRON, "outer": ALLOY}
    warm = {
        **cold, "outer": alloy_at(80.0), "expansion": (10.8e-6, 21.5e-6), "rise": (60.0, 60.0),
    }  # fmt: skip
    assert [step.name for step in service.steps] == ["honed", "warm", "warm at gas", "cold at gas"]
    for name, gas, fit in (
        ("honed", 0.0, cold), ("warm", 0.0, warm), ("warm at gas", 10.0, warm),
        ("cold at gas", 10.0, cold),
    ):  # fmt: skip
        step = service.step(name)
        q = fitted_pressure(A, C, B, **fit, p_in=gas)
        (liner,) = step.liners
        assert liner.mean_pressure_mpa == pytest.approx(q, rel=5e-3, abs=0.03)
        assert (liner.bore, liner.open_share) == (1, 0.0)
        inside = lame_ring(A, A, C, p_in=gas, p_out=q, youngs_modulus=1.0, poisson=0.3).hoop
        around = lame_ring(C, C, B, p_in=q, youngs_modulus=1.0, poisson=0.3).hoop
        assert hoops(design, step, "liner", A) == pytest.approx(float(inside), abs=0.4)
        assert hoops(design, step, "barrel", C) == pytest.approx(float(around), abs=0.4)


def test_a_liner_opens_where_the_barrel_outgrows_it(case_of):
    """0.1 mm on the diameter and 100 K: free expansion leaves a gap, and nothing is pulled."""
    liner = 'liner_joint = "pressed"\nliner_interference = "100 um"'
    _, service = solved(case_of, liner, HEAT.format(120))
    (cold,) = service.step("honed").liners
    q = fitted_pressure(A, C, B, overlap=0.05, inner=IRON, outer=ALLOY)
    assert cold.mean_pressure_mpa == pytest.approx(q, rel=5e-3)
    (warm,) = service.step("warm").liners
    assert (warm.open_share, warm.mean_pressure_mpa, warm.largest_pressure_mpa) == (1.0, 0.0, 0.0)
    assert warm.largest_gap_um == pytest.approx(1000 * (C * 10.7e-6 * 100 - 0.05), rel=0.02)
    for layer in service.step("warm").stresses:
        assert np.abs(layer.stress).max() < 0.03 * cold.mean_pressure_mpa


@pytest.mark.parametrize(("interference", "lifts"), [(40, True), (60, False)])
def test_gas_that_could_lift_a_liner_is_told(case_of, interference, lifts):
    """Of iron, 45/52/75 mm: the press is 3.51 MPa at 40 um, and gas of 10 MPa adds 6.05 MPa to it
    (Lame, derived)."""
    overlap = interference / 2000
    q = fitted_pressure(A, C, B, overlap=overlap, inner=IRON, outer=ALLOY, p_in=10.0)
    assert (q < 10) == lifts
    liner = f'liner_joint = "pressed"\nliner_interference = "{interference} um"'
    _, service = solved(case_of, liner)
    told = [note for note in service.notes if "joint of the liner" in note]
    words = f"cold at gas: the joint of the liner is pressed by {q:.1f} MPa, less than the 10.0"
    assert [note.startswith(words) for note in told] == [True] * lifts


@pytest.mark.parametrize("clearance", [10, 60])
def test_gas_presses_a_slip_liner_on_from_where_it_meets_the_barrel(case_of, clearance):
    """Alone until its clearance is used up, then two rings (Lame, derived)."""
    _, service = solved(case_of, f'liner_joint = "slip"\nliner_clearance = "{clearance} um"')
    overlap = -clearance / 2000
    q = fitted_pressure(A, C, B, overlap=overlap, inner=IRON, outer=ALLOY, p_in=10.0)
    alone = {"p_in": 10.0, "youngs_modulus": IRON[0], "poisson": IRON[1]}
    assert (q > 0) == (clearance == 10)
    assert service.step("honed").liners[0].open_share == 1.0
    (gas,) = service.step("cold at gas").liners
    assert gas.mean_pressure_mpa == pytest.approx(q, rel=0.01)
    growth = float(lame_ring(A, A, C, p_out=q, **alone).growth)
    assert service.step("cold at gas").bore.mean_growth_um == pytest.approx(1000 * growth, rel=5e-3)


def test_a_liner_that_is_cast_in_is_one_with_the_barrel(case_of):
    """It can't open: where it would, it pulls, and no joint is told."""
    liner = 'liner_joint = "cast in"\nliner_interference = "100 um"'
    _, told = solved(case_of, liner, HEAT.format(120))
    _, untold = solved(case_of, liner.replace('liner_joint = "cast in"\n', ""), HEAT.format(120))
    for service in (told, untold):
        assert all(step.liners == () for step in service.steps)
        assert service.step("warm").bore.mean_growth_um == told.step("warm").bore.mean_growth_um
        pulls = [float(np.abs(layer.stress).max()) for layer in service.step("warm").stresses]
        assert max(pulls) > 0.5


def test_heat_crosses_a_gap_through_the_gas_in_it():
    """0.031 W/(m K) over 10 um is 3100 W/(m2 K) of 20 000; a gap of 1 um hinders nothing."""
    found = share_conducting(np.array([True, False, False]), np.array([0.0, 0.01, 0.001]), 20e-3)
    assert GAS_IN_GAP == 3.1e-5
    assert found == pytest.approx([1.0, 0.155, 1.0])


def test_heat_and_contact_settle_on_what_crosses_the_gap(case_of):
    """Films, rings and joint in a row: flow = 340 K over the sum of their resistances (Fourier).

    What is let pass is 3 K a turn, of some 100 to 200 K across the gap.
    """
    heat = HEAT.format(60).replace('gas_temperature = "60 degC"', 'gas_temperature = "400 degC"')
    for clearance in (0, 100, 300):
        liner = f'liner_joint = "slip"\nliner_clearance = "{clearance} um"'
        _, service = solved(case_of, liner, heat)
        (state,) = service.step("warm").liners
        through = max(1 / 20e-3, 1e-3 * state.largest_gap_um / GAS_IN_GAP)
        row = 1 / (A * 1e-3) + np.log(C / A) / 0.050 + through / C + np.log(B / C) / 0.151
        flow = 340 * 2 * np.pi * 20 / (row + 1 / (B * 1e-3))
        assert service.heat.heat["gas"] == pytest.approx(flow, rel=0.03)
        assert state.open_share == 1
        assert not [note for note in service.notes if "settle" in note]


def test_the_joint_of_the_liner_is_told_step_by_step(case_of):
    """In results.json, in the chapter and in the terminal, as it was found."""
    result = solve_case(case_of(RING.format(liner=PRESSED, heat=HEAT.format(120))))
    (design,) = result.designs
    steps = service_of(design).steps
    for step, told in zip(steps, results_dict(result)["designs"][0]["steps"], strict=True):
        (liner,) = step.liners
        (found,) = told["liner_contact"]
        assert found == pytest.approx(dataclasses.asdict(liner), rel=1e-5)
        assert told["contact"] is None
    (chapter,) = life_chapters(result)
    shared = {"case": result.case, "result": result, "number": {}, "picture": lambda _: ""}
    page = render(chapter.template, **shared | dict(chapter.contents))
    table = page.partition("The joint of the liner of the bore that fires")[2].split("</table>")[0]
    rows = [re.findall(r"<td[^>]*>(.*?)</td>", row)[1:] for row in table.split("<tr>")[2:]]
    assert rows == [
        [step.name, f"{100 * liner.open_share:.0f} %", f"{100 * liner.slip_share:.0f} %",
         f"{liner.mean_pressure_mpa:.1f}", f"{liner.largest_gap_um:.0f}"]
        for step in steps for liner in step.liners
    ]  # fmt: skip
    assert service_of(design).step("warm").liners[0].open_share == 1
    assert "liner 100 % open" not in (lines := life_lines(result))[1]
    assert ", liner 0 % open" in lines[1]


def ranges(kind, **expansion):
    metals = {part: Material(part, 1e5, 0.3, expansion=of) for part, of in expansion.items()}
    block = Block(bore=86, barrel_wall=8, liner=2)
    given = {"life": LifeInput(liner_joint=kind)}
    return liner_range(SimpleNamespace(given=given, block=block, materials=metals))


def test_the_range_of_a_liner_whose_fit_is_not_stated():
    """Cast in: (21 - 11) 1e-6 x 60 and 140 K x 90 mm; none where the liner shrinks as much."""
    assert ranges(CAST_IN, barrel=21e-6, liner=11e-6) == pytest.approx((0.054, 0.126))
    assert ranges(CAST_IN, barrel=21e-6, liner=22e-6) == (0.0, 0.0)
    assert ranges(PRESSED_IN) == (0.02, 0.08)
    assert ranges(SLIP) == (-0.04, 0.0)


def test_a_pressed_liner_of_unknown_interference_is_in_the_middle_of_its_range(case_of):
    _, service = solved(case_of, 'liner_joint = "pressed"')
    q = fitted_pressure(A, C, B, overlap=0.025, inner=IRON, outer=ALLOY)
    assert service.step("honed").liners[0].mean_pressure_mpa == pytest.approx(q, rel=5e-3)
