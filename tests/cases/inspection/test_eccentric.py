"""Readings in, stress out: a ring whose bore is off centre, against Jeffery's closed form."""

import numpy as np
import pytest

from cases import read_case, solve_case
from fea.closed_form.rings import eccentric_bore_hoop

BORE, OUTER, OFF, TOWARDS = 50.0, 62.0, 2.0, 8.0
CASE = """\
job = "A ring, its core shifted (invented)"
[block]
bore = "100 mm"
barrel_wall = "12 mm"
material = "A356-T6"
[gas]
peak_pressure = "100 bar"
pressurised_depth = "20 mm"
[section]
depth = "20 mm"
[inspection]
readings = "walls.csv"
[[design]]
name = "bare"
"""


@pytest.mark.verification
def test_a_shifted_core_as_it_is_read_stresses_the_wall_as_jeffery_has_it(tmp_path):
    """Within 1 %, at the thin side and over the whole bore; e = 2 mm, r = 50 and 62 mm, 10 MPa."""
    clock = np.arange(12.0)
    turn = np.deg2rad(30 * (clock - TOWARDS))
    wall = OFF * np.cos(turn) + np.sqrt(OUTER**2 - (OFF * np.sin(turn)) ** 2) - BORE
    rows = [f"1;{int(c) or 12}:00;10;{w:.4f};0.02" for c, w in zip(clock, wall, strict=True)]
    text = "\n".join(["bore;clock;depth [mm];wall [mm];error [mm]", *rows])
    (tmp_path / "walls.csv").write_text(text.replace(".", ","))
    (tmp_path / "case.toml").write_text(CASE)
    case = read_case(tmp_path / "case.toml")
    shift = case.given["inspection"].fit_of(1).shift
    assert shift.size == pytest.approx(OFF, abs=0.01)
    assert shift.clock == pytest.approx(TOWARDS, abs=0.01)
    (design,) = solve_case(case).designs
    inner, outer = eccentric_bore_hoop(np.pi, BORE, OUTER, OFF, p_in=10.0)
    worst = max(design.hot_spots, key=lambda spot: spot.hoop_mpa)
    assert worst.hoop_mpa == pytest.approx(max(float(inner), float(outer)), rel=0.01)
    assert abs(worst.clock_hours - 2.0) < 0.1 or abs(worst.clock_hours - 2.0) > 11.9
