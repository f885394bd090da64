"""What presses of a fit: per side, roughness, creep; what a piece weighs and must hold."""

import numpy as np
import pytest
from bench import BARE, BLOCK, FIT, HEAT, RING, TIES
from unswept import solve_at_once

from cases.base.faults import CaseError
from cases.gas.solve import gas_load
from cases.life.given import InsertFit, SideFit, life_given
from cases.life.life import fits_of, life_of
from cases.life.read import read_life
from cases.life.result import service_of
from cases.life.steps import EngineState
from cases.report.results import results_dict
from cases.run import solve_case

ROUGH = RING + 'roughness = "{}"\n'


def fit_of(case):
    return life_given(case).fits["ring"]


def test_an_interference_per_side_is_half_of_that_on_the_diameter(case_of):
    per_side = FIT.replace('interference = "40 um"', 'interference_per_side = "20 um"')
    one, other = (fit_of(case_of(BLOCK, RING, text)) for text in (FIT, per_side))
    assert other.per_side
    assert not one.per_side
    assert one.sides == other.sides
    assert fits_of(other, {"barrel"})["insert", "barrel"].overlap == pytest.approx(0.020)


def test_both_ways_to_state_an_interference_are_refused(case_of):
    with pytest.raises(CaseError, match="Both interference and interference_per_side are given"):
        case_of(BLOCK, RING, FIT + 'interference_per_side = "20 um"\n')


@pytest.mark.parametrize(
    ("design", "presses"),
    [
        (RING, 40.0),  # none stated: none taken off
        (ROUGH.format("4 um"), 40.0 - 0.8 * 8),
        (ROUGH.format("4 um") + 'block_roughness = "6.3 um"\n', 40.0 - 0.8 * 10.3),
        (ROUGH.format("25 um"), 0.0),  # 40 um flattened, all of it
        (ROUGH.format("40 um"), 0.0),  # and no clearance is made of it
    ],
)
def test_roughness_takes_off_what_presses(case_of, design, presses):
    """0.8 (Rz + Rz) on the diameter, so half of that on each side (DIN 7190, from memory)."""
    fit = fit_of(case_of(BLOCK, design, FIT))
    assert 1000 * fit.pressing("barrel") == pytest.approx(presses)
    assert 2000 * fits_of(fit, {"barrel"})["insert", "barrel"].overlap == pytest.approx(presses)


def test_a_clearance_is_left_as_it_is():
    fit = InsertFit(
        sides={"barrel": SideFit(interference=-0.05)}, pressed=(), roughness=(0.004, 0.004),
        press_creep=0.2,
    )  # fmt: skip
    assert fit.pressing("barrel", crept=True) == -0.05


def test_two_milled_faces_eat_ten_um_and_that_is_told(case_of):
    """0.8 (6.3 + 6.3) = 10.08 um of the 10: it stands on its peaks and nothing holds it."""
    case = case_of(BLOCK, TIES, ROUGH.format("6.3 um"), FIT.replace("40 um", "10 um"))
    service = service_of(solve_at_once(case).designs[0])
    assert service.step("pressed in").joint.hold_n == pytest.approx(0, abs=1e-6)
    assert service.notes[0].startswith("roughness of Rz 6.3 um on the insert and 6.3 um on the")
    assert "eats 10.1 um on the diameter, all of the interference of 10 um" in service.notes[0]


@pytest.mark.parametrize(
    ("text", "path"),
    [
        (RING + 'block_roughness = "4 um"\n', "design[1].block_roughness"),
        (ROUGH.format("4 mm"), "design[1].roughness"),
    ],
)
def test_a_roughness_that_can_t_be_is_refused(case_of, text, path):
    with pytest.raises(CaseError) as error:
        case_of(BLOCK, text, FIT)
    assert path in [fault.path for fault in error.value.faults]


@pytest.fixture(scope="module")
def mesh(case_of):
    return solve_case(case_of(BLOCK, HEAT, TIES, RING)).designs[0].mesh


def lived(case, mesh):
    return life_of(case, case.designs[0], mesh, gas_load(case))


def test_creep_takes_off_the_press_once_it_has_been_hot(case_of, mesh):
    """A fifth gone: warm and after it is the fit of 32 um, pressed in that of 40.

    Without friction, which would remember what pressed before.
    """
    smooth = FIT.replace("friction = 0.12\n", "")
    full = lived(case_of(BLOCK, HEAT, TIES, RING, smooth), mesh)
    crept = lived(case_of(BLOCK, HEAT, TIES, RING, smooth + 'press_creep = "20 %"\n'), mesh)
    less = full.with_interference(0.032)
    warm = [life._models[EngineState.WARM] for life in (full, less)]
    assert warm[0]._joint is warm[1]._joint  # condensed once for all that is swept

    def force(life, step):
        return life.solved[step].contact.force.sum()

    pressed, *later = full.steps[0], "warm", "warm at gas", "cold at gas"
    assert force(crept, pressed) == pytest.approx(force(full, pressed), rel=1e-9)
    for step in later:
        step = next(one for one in full.steps if one == step)
        assert force(crept, step) == pytest.approx(force(less, step), rel=1e-3)
        assert force(crept, step) < 0.97 * force(full, step)
    heavier = crept.with_interference(0.050)
    assert force(heavier, step) == pytest.approx(force(full, step), rel=1e-3)


def test_nothing_creeps_in_a_case_without_heat(case_of):
    case = case_of(BLOCK, TIES, RING, FIT + 'press_creep = "20 %"\n')
    plain = case_of(BLOCK, TIES, RING, FIT)
    joints = [service_of(solve_at_once(one).designs[0]).step("cold at gas").joint
              for one in (case, plain)]  # fmt: skip
    assert joints[0].hold_n == pytest.approx(joints[1].hold_n, rel=1e-9)


def test_the_pieces_of_an_insert_are_measured_and_weighed(case_of):
    """By hand: ties 8 mm wide at 12:00 and 6:20, jacket from 48 to 58 mm, 8 mm deep, 2700 kg/m3.

    The middle of the jacket is 2 pi 53 mm long less both ties, as they are wide there; the plan is
    the jacket's less both ties and the four fillets of each, (1 - pi / 4) r^2 of 3 mm.
    """
    result = solve_at_once(case_of(BLOCK, TIES, BARE, RING, FIT))
    bare, ring = results_dict(result)["designs"]
    assert bare["pieces"] == []
    right, left = ring["pieces"]
    assert [(one["number"], one["bore"]) for one in (right, left)] == [(1, 1), (2, 1)]
    assert right["clock_hours"] == pytest.approx(3 + 1 / 6, abs=0.1)
    assert left["clock_hours"] == pytest.approx(9 + 1 / 6, abs=0.1)
    whole, tie = 2 * np.pi * 53.0, 2 * 53.0 * np.arcsin(4.0 / 53.0)
    assert right["length_mm"] == pytest.approx(whole * 190 / 360 - tie, abs=0.3)
    assert left["length_mm"] == pytest.approx(whole * 170 / 360 - tie, abs=0.3)
    plan = np.pi * (58.0**2 - 48.0**2) - 2 * 8.0 * 10.0 - 8 * (1 - np.pi / 4) * 3.0**2
    weight = right["mass_g"] + left["mass_g"]
    assert weight == pytest.approx(2.7e-3 * 8.0 * plan, rel=5e-4)


HEAVY = """
[material."of tungsten"]
youngs_modulus = "69 GPa"
poisson = 0.33
source = "invented for this test"
{}"""


@pytest.mark.parametrize(
    ("material", "more", "asked"),
    [
        ('density = "17 g/cm3"\n', "", 50.0),
        ('density = "17 g/cm3"\n', "vibration = 20\n", 20.0),
        ('density = "17 g/cm3"\n', 'vibration = 20\nleast_hold = "900 N"\n', None),
        ("", "", None),
    ],
)
def test_a_piece_must_hold_its_mass_times_the_vibration(case_of, mesh, material, more, asked):
    """At 9.80665 m/s2 for each g; a stated hold is a floor; 100 N where no density is known."""
    ring = RING.replace("6061-T6", "of tungsten")
    case = case_of(BLOCK, TIES, ring, FIT + more, HEAVY.format(material))
    service = read_life(lived(case, mesh))
    for piece, told in zip(service.pieces, service.steps[0].joint.pieces, strict=True):
        wanted = 900.0 if "900" in more else 100.0
        if asked:
            wanted = asked * 9.80665 * piece.mass_g / 1000
        assert told.asked_hold_n == pytest.approx(wanted)
        assert (piece.mass_g is None) is (not material)


def test_a_loose_piece_is_one_that_its_mass_shakes_out(case_of, mesh):
    """2000 g of shaking on some 40 g of aluminium ask for more than the press holds."""
    shaken = lived(case_of(BLOCK, TIES, RING, FIT + "vibration = 1000\n"), mesh)
    held = read_life(shaken).steps[0].joint
    assert (held.held_share < 1) is any(
        "hold less than they must" in note for note in read_life(shaken).notes
    )
    light = FIT.replace("40 um", "1 um") + "vibration = 1000\n"
    notes = read_life(lived(case_of(BLOCK, TIES, RING, light), mesh)).notes
    assert any("hold less than they must" in note for note in notes)
