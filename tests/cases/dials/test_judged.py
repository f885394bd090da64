"""What the page judges by is what the command finds, to the last digit."""

from dataclasses import replace

import pytest

from cases.base.toml import load_toml
from cases.dials.answer import colours, judge, quick_look
from cases.dials.dial import dials_of
from cases.dials.save import saved_text
from cases.dials.turn import turned
from cases.gas.solve import gas_load
from cases.read import read_case
from cases.run import solve_case
from cases.solid.given import with_solid
from cases.stress.solve import solve_section
from cases.verdict.read import verdict_of
from geometry.outline import draw_section


def test_a_quick_look_tells_its_error(small):
    """Held against a mesh refined to a hundredth of its error."""
    raw = load_toml(small)
    quick = quick_look(raw, small, "uniform", 1)
    coloured = colours(raw, small, "uniform", 1)
    case = read_case(small)
    design = case.designs[1]
    fine = solve_section(
        replace(case, tolerance=0.01), design, draw_section(case.section(design)),
        gas_load(case).line_load,
    )  # fmt: skip
    assert quick.growth_um == pytest.approx(fine.bore.mean_growth_um, abs=quick.growth_error_um)
    assert f"{quick.growth_um:.2f}" in quick.words
    assert "+-" in quick.words
    own = [of.principal_mpa for of in fine.hot_spots if not of.sharp and of.part != "insert"]
    assert quick.stress_mpa == pytest.approx(max(own), abs=quick.error_mpa)
    assert len(quick.around["stress"]) == len(coloured.around["temperature"]) == 120
    hottest = max(of for of in coloured.around["temperature"] if of is not None)
    assert 100 < hottest < 200


@pytest.mark.slow  # a fitted solid, rated twice: a minute of processor
def test_the_verdict_is_that_of_the_saved_file(small):
    raw, text = load_toml(small), small.read_text()
    told = []
    values = {"depth": 7.5, "load": 100.0}
    made = turned(raw, "uniform", dials_of(raw, read_case(small), "uniform"), values)
    judged = judge(lambda _, stage: told.append(stage), made, small, "uniform", "coarse", True)
    small.write_text(saved_text(text, raw, made))
    saved = with_solid(read_case(small), "coarse", lived=True)
    row = verdict_of(solve_case(saved, rate=True)).rows[1]
    assert row.design == "uniform"
    assert judged.status == row.status
    # draws are read between the ends of the tolerance, there between more fits
    assert judged.share == pytest.approx(row.share, abs=0.03)
    assert judged.limit_bar == pytest.approx(row.limit_bar, rel=0.02)
    assert judged.limit_factor == pytest.approx(row.limit_factor, rel=0.02)
    assert judged.numbers["out of round"] == pytest.approx(row.distortion.out_of_round_um)
    assert judged.numbers["hottest barrel"] == pytest.approx(row.hottest_barrel_degc)
    assert judged.numbers["insert"] == row.mass_g
    assert [(of.x_mm, of.y_mm) for of in judged.marks] == [
        (of.x_mm, of.y_mm) for of in row.places[:4]
    ]
    assert f"{row.fit.low_um:.1f} to {row.fit.high_um:.1f} um per side" in judged.fit.words
    hottest = max(of for of in judged.around["temperature"] if of is not None)
    assert hottest == pytest.approx(row.hottest_barrel_degc, abs=0.01)
    assert "solid life" in told
    assert judged.down is not None
    assert max(of for of in judged.around["contact"] if of is not None) > 0
