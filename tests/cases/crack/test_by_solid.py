"""A crack by a solid whose stress is the section's, times more at one depth than at another."""

import json
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BARE
from readback import Page

from cases.crack import lines
from cases.crack.by_solid import solid_crack
from cases.crack.data import crack_dict
from cases.crack.given import crack_given
from cases.crack.lines import crack_lines
from cases.crack.solve import crack_place, run_cracks
from cases.gas.solve import gas_of
from cases.report.page import write_report
from cases.run import solve_case
from cases.solid.result import DesignSolid, PartField, SolidSpot
from fea.crack.edge import edge_intensity

CASE = """\
job = "bench block (invented)"
[section]
mesh = "coarse"
tolerance = "20 %"
depth = "24 mm"
[gas]
peak_pressure = "120 bar"
pressurised_depth = "24 mm"
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
[crack]
clock = "4:20"
flaw = "0.5 mm"
gas_in_crack = false
speed = "6000 rpm"
"""
DEEPEST, MOST, IDLE = 9.0, 2.5, 0.3


def more(depth):
    """By how much the solid is pulled harder at a depth."""
    return MOST - abs(depth - DEEPEST) / 12


def state_of(design, more=more):
    """A state on the nodes of the section at many depths; with no gas a share of its stress."""
    depths = np.arange(0, 27.0, 1.5)
    points, fields, start = [], [], 0
    for layer in design.stresses:
        at = design.mesh.points[layer.nodes]
        stress = np.zeros((6, len(depths), len(at)))
        stress[[0, 1, 3]] = [
            np.outer([more(depth) for depth in depths], component) for component in layer.stress
        ]
        stress = stress.reshape(6, -1)
        points += [np.column_stack([at, 0 * at[:, 0] - depth]) for depth in depths]
        nodes = np.arange(start, start + stress.shape[1])
        start += len(nodes)
        fields.append(
            PartField(part=layer.part, nodes=nodes, principal=stress[0], angle=0 * nodes,
                      stress=stress)
        )  # fmt: skip
    return SimpleNamespace(
        mesh=SimpleNamespace(points=np.concatenate(points)), fields=tuple(fields), worst=(),
        idle=tuple(IDLE * field.stress for field in fields),
    )  # fmt: skip


def with_state(design, more=more, worst=()):
    state = state_of(design, more)
    state.worst = worst
    solid = DesignSolid(name=design.name, setting="fine", one_piece=state, as_made=state)
    return replace(design, found={**design.found, "solid": solid})


@pytest.fixture(scope="module")
def solved(case_of):
    return solve_case(case_of(CASE, BARE))


@pytest.fixture(scope="module")
def cracked(solved):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cases.crack.solve.LENGTHS", 4)
        given = crack_given(solved.case)
        design = with_state(solved.designs[0])
        return run_cracks(solved.case, gas_of(solved), given, [design])


def test_an_edge_crack_under_bending_is_that_of_the_handbook():
    """Stress that falls from 1 at the edge to 0 at the tip: 0.439 of sqrt(pi a) (Tada, Paris &
    Irwin, half plane, from memory: 1.1215 - 0.6826)."""
    a = np.array([2.0, 5.0])
    found = [edge_intensity(lambda s, end=end: 1 - s / end, [end])[0] for end in a]
    assert found == pytest.approx(0.439 * np.sqrt(np.pi * a), rel=0.01)


def test_k_is_the_section_s_times_what_the_solid_is_pulled_more(cracked):
    (series,) = cracked.series
    found = series.solid
    assert found.as_made
    assert found.depth_mm == pytest.approx(DEEPEST)
    # deep cracks feel the other side of the wall, which the weight knows for even stress alone
    assert found.largest_k1 == pytest.approx(more(found.depth_mm) * series.k1, rel=0.025)
    assert found.idle_k1 == pytest.approx(IDLE * found.largest_k1, rel=0.04)
    assert found.largest_k1[0] == pytest.approx(more(found.depth_mm) * series.k1[0], rel=0.003)
    assert found.flaw_by_depth == pytest.approx(
        [more(depth) * series.k1[0] for depth in found.depths_mm], rel=0.02
    )
    assert found.crack_growth.life < series.crack_growth.life
    assert series.told_growth is found.crack_growth


def test_gas_between_the_faces_opens_both_alike(solved, cracked):
    """A solid that is pulled as the section is has the section's K, gas between the faces or not;
    one that is pulled more has as much more of it, whatever the gas."""
    (plain,) = cracked.series
    bare, given = solved.designs[0], crack_given(solved.case)
    even = np.full(4, 0.1)
    gas = replace(plain, k1=plain.k1 + 1.0)
    alike = solid_crack(given, with_state(bare, more=lambda _: 1.0), gas, even)
    assert alike.largest_k1 == pytest.approx(gas.k1, rel=1e-6)
    harder, dry = (solid_crack(given, with_state(bare), of, even) for of in (gas, plain))
    assert harder.largest_k1 - dry.largest_k1 == pytest.approx(np.ones(4))
    assert solid_crack(given, bare, plain, even) is None


def test_it_starts_where_the_solid_is_pulled_hardest(solved):
    bare = solved.designs[0]
    ray = np.exp(1j * np.deg2rad(217.5))
    at = 49.5 * ray
    spot = SolidSpot(
        part="barrel", clock="7:45", clock_hours=7.75, radius_mm=49.5, x_mm=at.real, y_mm=at.imag,
        depth_mm=9.0, principal_mpa=123.0, error_mpa=1.0, sharp=False, settled=True,
        crank_angle_deg=None, section_mpa=80.0,
    )  # fmt: skip
    given = replace(crack_given(solved.case), clock=None)
    place = crack_place(solved.case, given, with_state(bare, worst=(spot,)))
    assert abs(place.mouth - at) < 1e-3
    assert place.sense == "inward"
    assert "in the solid of design bare, 9.0 mm down, 123 MPa" in place.chosen
    floor = replace(spot, x_mm=-42.6, y_mm=-32.7)
    by_section = crack_place(solved.case, given, with_state(bare, worst=(floor,)))
    assert "hot spot" in by_section.chosen


def test_it_is_told_first_with_the_section_s_beside(solved, cracked, tmp_path, unpictured):
    told = replace(solved, found={**solved.found, "crack": cracked})
    (series,) = cracked.series
    data = json.loads(json.dumps(crack_dict(cracked, "bare")["solid"], default=np.ndarray.tolist))
    assert data["depth_mm"] == pytest.approx(DEEPEST)
    assert data["state"] == "as made"
    assert data["cycles"] == pytest.approx(series.solid.crack_growth.life)
    assert f"after {series.solid.crack_growth.life:,.0f} cycles" in crack_lines(told)[0]
    assert "by the solids" in crack_lines(told)[0]
    page = Page(write_report(told, tmp_path).read_text(encoding="utf-8"))
    table = next(one for one in page.tables if one.title.startswith("By the solid: stress"))
    assert table.rows[0][:4] == ["bare", "as made", "9.0", f"{series.solid.largest_k1[0]:.2f}"]


@pytest.mark.parametrize(
    ("stops", "rated", "said"), [(True, True, True), (False, True, False), (True, False, False)]
)
def test_a_crack_that_stops_is_said_to_lift_no_limit(monkeypatch, stops, rated, said):
    series = SimpleNamespace(told_growth=SimpleNamespace(stops=stops))
    monkeypatch.setattr(lines, "crack_of", lambda result: SimpleNamespace(series=(series,)))
    design = SimpleNamespace(found={"rating": SimpleNamespace()} if rated else {})
    words = lines.no_limit(SimpleNamespace(designs=(design,)))
    assert ("lifts no limit" in words) == said
