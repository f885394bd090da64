"""The head on a solid: what presses, how far metal gives, steps across joints; closed forms."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BARE, FIT, LINED, RING

import cases.head.depth as module
from cases.base.faults import Refusal
from cases.gas.solve import gas_load
from cases.head.clamp import clamp_of
from cases.head.depth import deck_in_depth, insert_nodes, lay_in_depth
from cases.head.given import HeadInput, head_given
from cases.head.lines import depth_words
from cases.head.result import DeckInDepth, DeckLoad, JointStep
from cases.life.steps import EngineState
from cases.solid.gas import instants
from cases.solid.life import solid_life
from cases.solid.solve import _meshed

HEAD = '[head]\nbolt_preload = "25 kN"\nbolt_circle = "124 mm"\n'
LONG = 40.0
PLAIN = f"""\
job = "ring (invented)"
[block]
bore = "90 mm"
LINER
material = "A356-T6"
crankcase_floor = "{LONG:g} mm"
[gas]
peak_pressure = "30 bar"
pressurised_depth = "20 mm"
[section]
mesh = "coarse"
depth = "20 mm"
"""
RING_ALONE = PLAIN.replace("LINER", 'barrel_wall = "10 mm"')
LOOSE_LINER = PLAIN.replace(
    "LINER",
    'liner = "5 mm"\nliner_material = "grey iron class 30"\nbarrel_wall = "10 mm"\n'
    'liner_joint = "slip"\nliner_clearance = "100 um"',
)
BLOCK = LINED.replace('material = "A356', 'crankcase_floor = "60 mm"\njacket_depth = "40 mm"\n'
                      'material = "A356', 1)  # fmt: skip


def lived(case, name):
    design = next(one for one in case.designs if one.name == name)
    load = gas_load(case)
    return solid_life(case, design, load, instants(case, load), _meshed(case, design, "coarse"))


def under(case, mean, width, *, friction=0.0, preload=20e3, allowed=0.03):
    """The case with a head of four bolts, all of whose load is on the fire ring."""
    head = HeadInput(
        bolt_preload=preload, bolt_clocks=(1.5, 4.5, 7.5, 10.5), bolt_circle=160.0,
        fire_ring_share=1.0, fire_ring_diameter=mean, fire_ring_width=width,
        gasket_friction=friction, water_pressure=0.2, gasket_step=allowed,
    )  # fmt: skip
    return case.told("head", head)


def depth_of(case, life, land=0.0):
    clamp = clamp_of(case, head_given(case), gas_load(case))
    return deck_in_depth(case, SimpleNamespace(clamp=clamp, land_pressure_mpa=land), life)


def test_an_even_load_squeezes_a_ring_as_hookes_law_has_it(case_of):
    """A fire ring as wide as the wall: F L / (A E) down, nu F r / (A E) out."""
    case = under(case_of(RING_ALONE, BARE), 100.0, 9.999)
    life = lived(case, "bare")
    clamp = clamp_of(case, head_given(case), gas_load(case))
    gasket = lay_in_depth(life.mesh, case, head_given(case), clamp, 0.0)
    assert gasket.ring.sum() == pytest.approx(80e3)
    assert gasket.firing == pytest.approx(gasket.ring)
    metal = case.part_materials(case.designs[0])["barrel"]
    strain = 80e3 / (math.pi * (55**2 - 45**2) * metal.youngs_modulus)
    solution, state = life.under(EngineState.COLD, "clamped", gasket.down)
    assert state is None
    top = np.unique(life.mesh.flats["deck"])
    assert solution.displacement[top, 2] == pytest.approx(-strain * LONG, rel=0.02)
    bore = np.unique(life.mesh.sides["bore"])
    out = (solution.displacement[bore, :2] * life.mesh.points[bore, :2]).sum(axis=1) / 45
    assert out.mean() == pytest.approx(metal.poisson * strain * 45, rel=0.02)


def test_a_liner_that_slips_steps_down_by_what_it_is_squeezed(case_of):
    """All of the load on a loose liner: it sinks by F L / (A E), its barrel not at all."""
    case = under(case_of(LOOSE_LINER, BARE), 95.0, 4.999, allowed=0.01)
    found = depth_of(case, lived(case, "bare"))
    assert isinstance(found, DeckInDepth)
    built, clamped, fired = found.loads
    iron = case.part_materials(case.designs[0])["liner"]
    sinks = 1e3 * 80e3 * LONG / (math.pi * (50**2 - 45**2) * iron.youngs_modulus)
    (step,) = clamped.steps
    assert (step.part, step.against) == ("liner", "barrel")
    assert step.step_um == pytest.approx(-sinks, rel=0.03)
    assert step.mean_um == pytest.approx(-sinks, rel=0.03)
    assert clamped.ring_uneven_um < 0.03 * sinks
    assert built.steps[0].step_um == pytest.approx(0, abs=1e-6)
    left = clamp_of(case, head_given(case), gas_load(case)).left
    assert 0.5 < left < 0.9
    # what is left of the load; the gas bends the liner's wall and draws it in
    assert fired.steps[0].step_um == pytest.approx(-left * sinks, rel=0.25)
    assert sinks > 10
    assert found.loses_seal
    wider = replace(found, step_allowed_um=2 * sinks)
    assert not wider.loses_seal


@pytest.fixture(scope="module")
def block(case_of):
    return case_of(BLOCK, HEAD, BARE, RING.replace("8 mm", "6 mm"), FIT)


def test_friction_under_the_gasket_holds_the_deck_in_its_plane(block):
    """No more than mu N, against the way the deck goes; the bare block is pulled less by it."""
    life = lived(block, "bare")
    held, free = (
        depth_of(block.told("head", replace(head_given(block), gasket_friction=mu)), life, 8.0)
        for mu in (0.15, 0.0)
    )
    assert free.friction_used == 0
    assert free.worst_mpa["by friction"] == pytest.approx(free.worst_mpa["free"])
    assert 0.5 < held.friction_used <= 1.02
    assert held.worst_mpa["by friction"] < 0.95 * held.worst_mpa["free"]
    assert held.worst_mpa["free"] == pytest.approx(free.worst_mpa["free"])
    sag = [load.ring_sag_um for load in held.loads]
    assert sag[0] == pytest.approx(0, abs=1e-9)
    assert sag[1] > sag[2] > 0  # the gas takes most of the clamp load off


@pytest.mark.slow
def test_a_gasket_that_pushes_the_insert_out_of_its_fit_is_told(block):
    """What a fit of 40 um holds is less than 8 MPa on the insert: it loses the seal."""
    life = lived(block, "ring")
    found = depth_of(block, life, 8.0)
    assert isinstance(found, DeckInDepth)
    assert found.insert_gives_way
    assert found.loses_seal
    assert "ledge" in depth_words("ring", SimpleNamespace(in_depth=found))[1]
    soft = depth_of(block, life, 0.2)
    assert not soft.insert_gives_way
    assert {(step.part, step.against) for step in soft.loads[1].steps} >= {("insert", "barrel")}


def test_a_deck_that_tilts_as_a_whole_is_flat(block):
    """A head lies on it as before; only what leaves the plane is told."""
    life = lived(block, "bare")
    clamp = clamp_of(block, head_given(block), gas_load(block))
    gasket = lay_in_depth(life.mesh, block, head_given(block), clamp, 2.0)
    reader = module._Reader(block, life, gasket)
    idle = life.idle(EngineState.COLD)
    x, y, _ = life.mesh.points.T
    tilted = idle.displacement.copy()
    tilted[:, 2] += 0.02 + 4e-4 * x - 3e-4 * y
    flat = reader.load("tilted", (replace(idle, displacement=tilted), None))
    assert flat.ring_sag_um == pytest.approx(0, abs=1e-6)
    assert flat.ring_uneven_um == pytest.approx(0, abs=1e-6)
    tilted[:, 2] -= 0.01 * (np.hypot(x, y) < 45)
    sunk = reader.load("sunk", (replace(idle, displacement=tilted), None))
    assert sunk.ring_sag_um == pytest.approx(10, rel=0.2)  # some of the seat lies beyond


def test_a_relieved_gasket_lies_on_all_but_the_insert(block):
    life = lived(block, "ring")
    clamp = clamp_of(block, head_given(block), gas_load(block))
    whole = lay_in_depth(life.mesh, block, head_given(block), clamp, 2.0)
    less = whole.relieved(insert_nodes(life.mesh))
    area = math.pi * (59**2 - 49**2)  # the jacket, ties left out
    assert 0.75 * 2 * area < whole.land.sum() - less.land.sum() < 2 * area
    assert less.ring.sum() == pytest.approx(whole.ring.sum()) == pytest.approx(clamp.ring_load)


def made_up(step=-41.0, *, gives=False):
    steps = (JointStep(part="insert", against="barrel", step_um=step, clock="2:10", mean_um=-20.0),)
    load = DeckLoad(name="clamped", ring_sag_um=12.3, ring_uneven_um=3.4, steps=steps)
    return DeckInDepth(
        engine="warm", step_allowed_um=30.0, loads=(load,), insert_gives_way=gives,
        worst_mpa={"no head": 120.0, "free": 118.0, "by friction": 101.0},
        worst_error_mpa={"no head": 5.0, "free": 6.0, "by friction": 7.0}, friction_used=0.9,
    )  # fmt: skip


def test_what_is_told_of_it():
    told, seal = depth_words("uniform", SimpleNamespace(in_depth=made_up()))
    assert "12 um clamped (uneven by 3 um)" in told
    assert "insert 41 um below the barrel at 2:10" in told
    assert "101 +- 7 MPa by friction" in told
    assert "a step of 41 um under the gasket, which takes 30 um" in seal
    assert len(depth_words("uniform", SimpleNamespace(in_depth=made_up(29.0)))) == 1
    (refused,) = depth_words("uniform", SimpleNamespace(in_depth=Refusal("No rest.")))
    assert refused == "uniform, in depth: No rest."
    assert depth_words("uniform", SimpleNamespace(in_depth=None)) == []


def test_no_rest_is_a_refusal(block, monkeypatch):
    life = lived(block, "bare")

    def none(*_):
        raise module.RubbingError("no balance")

    monkeypatch.setattr(module, "rubbed", none)
    found = depth_of(block, life, 8.0)
    assert isinstance(found, Refusal)
    assert "no balance" in found.text
