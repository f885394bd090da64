"""What the heat of a solid comes to: hottest places with their depth, and flags by them."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BARE, BLOCK, ENGINE, GAS, HEAT, TIES

from cases.gas.solve import gas_load
from cases.life.flags import HOTTEST_BORE
from cases.life.given import HOTTER, InsertCompound, life_given
from cases.life.heat import conducting
from cases.life.hot import hot_lines
from cases.life.result import flags_of
from cases.solid.data import solid_dict
from cases.solid.hot import depth_heat
from cases.solid.life import Conduction, FittedSolidLife, life_materials
from cases.solid.result import DesignSolid
from cases.solid.solve import _meshed
from cases.solid.words import heat_words
from cases.stress.solve import solve_section
from geometry.outline import draw_section

LOW = 'crankcase_floor = "60 mm"\njacket_depth = "40 mm"\nmaterial = "A356-T6"\n'
SHORT = BLOCK.replace('material = "A356-T6"\n', LOW).replace(GAS, ENGINE)
ENGINES = "[heat]\n" + HEAT.split('700 degC"\n')[1]


@pytest.fixture(scope="module")
def warm(case_of):
    """A bare block heated by its engine: what is found of its solid, with the section's heat."""
    case = case_of(SHORT, TIES, BARE, ENGINES)
    design, load, heat = case.designs[0], gas_load(case), life_given(case).heat
    materials = life_materials(case, design)
    mesh = _meshed(case, design, "coarse")
    conduction = Conduction(heat, case, load, mesh, materials, None)
    conduction.solve()
    flat = solve_section(case, design, draw_section(case.section(design)), load.line_load).mesh
    field = conducting(heat, load, flat, materials, ()).solve()
    return case, load, heat, conduction.found, materials, (field, case.section_depth)


def told(warm, **changes):
    case, load, heat, found, materials, section = warm
    found = replace(found, **changes)
    return depth_heat(case.block, heat, load, found, materials, section)


def test_hottest_places_are_those_of_the_field_with_their_depth(warm):
    found, of = told(warm), warm[3]
    bore = found.hottest[0]
    points, hot = of.mesh.points, of.temperature
    on = np.abs(np.hypot(points[:, 0], points[:, 1]) - warm[0].block.bore / 2) < 1e-6
    assert (bore.part, bore.temperature_degc) == ("bore", hot[on].max())
    node = np.flatnonzero(on)[np.argmax(hot[on])]
    assert (bore.x_mm, bore.y_mm, -bore.depth_mm) == tuple(points[node])
    barrel = next(one for one in found.hottest if one.part == "barrel")
    assert barrel.temperature_degc == of.hottest("barrel")[0]
    floor = next(one for one in found.hottest if one.part == "floor")
    assert floor.depth_mm == -of.hottest("floor")[1][2] > 35.0
    assert found.wettest.flux_w_per_mm2 == max(
        wall.flux for name, wall in of.walls.items() if name in ("jacket", "undersides", "floors")
    )
    assert sum(found.paths_w.values()) == pytest.approx(0, abs=1e-3 * found.paths_w["bore"])


def test_section_is_a_little_above_the_solids_mean_over_its_depth(warm):
    """Its bore, around: it lets no heat down the barrel. Both know the same films."""
    mean, most = told(warm).section_above_k
    rise = told(warm).hottest[0].temperature_degc - warm[2].coolant[1]
    assert 0 < mean < HOTTER * rise
    assert mean < most < 2 * HOTTER * rise


def test_flags_of_the_solid_tell_depth_and_take_the_sections_place(warm):
    hotter = told(warm, temperature=warm[3].temperature + 150.0)
    (bore,) = (flag for flag in hotter.flags if flag.kind == "bore")
    assert hotter.hottest[0].temperature_degc > HOTTEST_BORE["aluminium"]
    assert f"{hotter.hottest[0].depth_mm:.0f} mm down" in bore.words
    assert "gas_temperature" in bore.words
    solid = DesignSolid(name="bare", setting="coarse", one_piece=None, heat=hotter)

    class Shown:
        name, found = "bare", {"solid": solid}

    class Of:
        designs = (Shown,)

    assert flags_of(Shown) == hotter.flags
    assert f"Heat, bare: {bore.words}" in hot_lines(Of)
    words = heat_words("bare", hotter)
    at = hotter.hottest[0]
    assert f"bore {at.temperature_degc:.0f} degC at {at.clock}, {at.depth_mm:.0f} mm" in words


def test_results_hold_the_heat_of_the_solid(warm, monkeypatch):
    heat = told(warm)
    monkeypatch.setattr("cases.solid.data._state", lambda state: {})
    solid = DesignSolid(name="bare", setting="coarse", one_piece=Nothing(), heat=heat)
    stored = solid_dict(solid)["heat"]
    assert stored["hottest"][0]["temperature_degc"] == heat.hottest[0].temperature_degc
    assert stored["hottest"][0]["depth_mm"] == heat.hottest[0].depth_mm
    assert stored["most_to_coolant"]["flux_mw_per_m2"] == heat.wettest.flux_w_per_mm2
    assert (stored["section_above_k"], stored["section_above_most_k"]) == heat.section_above_k
    assert [flag["kind"] for flag in stored["flags"]] == [flag.kind for flag in heat.flags]


class Nothing:
    """A state without a spot."""

    governing = ratio = None


def test_a_fin_below_the_section_would_take_off_more_than_the_solid_does(warm):
    """Why the section has no sink: a wall with a step of heat at H, its lower part a fin, loses
    (T1 - T2) (1 - exp(-2 m H)) / (2 m H) of its mean; the solid is cooler by far less."""
    case, load, heat, _, materials, (field, depth) = warm
    above, _ = told(warm).section_above_k
    rise = field.temperature[np.unique(field.mesh.edges["bore"])].mean() - heat.coolant[1]
    bore = heat.coolant[1] + rise

    def into_the_wall(down):
        film, gas = replace(load.wall_load, section_depth=down).film
        return film * (gas - bore)

    floor = case.block.crankcase_floor
    below = (into_the_wall(floor) * floor - into_the_wall(depth) * depth) / (floor - depth)
    step = (1 - below / into_the_wall(depth)) * rise
    fin = np.sqrt(heat.coolant[0] / (materials["barrel"].conductivity * case.block.barrel_wall))
    off = step * (1 - np.exp(-2 * fin * depth)) / (2 * fin * depth)
    assert above > 0
    assert off > 1.3 * above


def test_the_compound_of_a_solid_is_told_where_its_joint_is_hottest(warm):
    """The mean of both sides of a pair, of the insert's pairs alone, with its depth."""
    case, load, heat, found, materials, section = warm
    compound = InsertCompound(
        tension=((20.0, 12.0), (100.0, 6.0)), shear=((20.0, 16.0), (100.0, 8.0)),
        largest_gap=0.1, friction=0.1,
    )  # fmt: skip
    joint = SimpleNamespace(own=np.array([0, 1, 2]), other=np.array([3, 4, 5]))
    fitted = SimpleNamespace(
        case=case, temperature=np.array([80.0, 100.0, 300.0, 90.0, 130.0, 300.0]),
        loose=SimpleNamespace(joint=joint, is_of=lambda _: np.array([True, True, False])),
        mesh=SimpleNamespace(points=np.array([[0.0, 50.0, 0.0], [50.0, 0.0, -6.0]] * 3)),
        fit=SimpleNamespace(compound=compound),
    )  # fmt: skip
    bond = FittedSolidLife.bond.fget(fitted)
    assert bond.hottest.temperature_degc == 115.0
    flags = depth_heat(case.block, heat, load, found, materials, section, bond).flags
    (flag,) = (one for one in flags if one.kind == "compound")
    assert "115 degC at 3:00, 6 mm down" in flag.words
