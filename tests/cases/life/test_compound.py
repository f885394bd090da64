"""Compound in the joint of an insert: what is refused, what it holds, what is told of it."""

import json
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BLOCK, FIT, HEAT, RING, TIES
from readback import Page, Quantity, faults_of_table, told

from cases.base.faults import CaseError, RunError
from cases.fit.chapter import fit_chapters
from cases.fit.lines import first_lines, fit_lines
from cases.gas.solve import gas_load
from cases.life.given import InsertCompound, InsertFit, SideFit, life_given
from cases.life.joint import joint_state
from cases.life.life import FittedLife, fits_of, life_of
from cases.life.lines import life_lines
from cases.life.read import _compound_notes, read_life
from cases.life.refine import _read
from cases.life.result import Piece, service_of
from cases.life.steps import COLD_GAS, PRESSED, WARM, WARM_GAS
from cases.report.results import results_dict, write_outputs
from cases.run import solve_case
from cases.stress.solve import START
from fea.contact import Compound, Contact, Pairs
from fea.hotspots import along_spot
from fea.stress import recover
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.section import Block

COMPOUND = """\
[design.compound]
shear_strength = "16 MPa"
tensile_strength = "12 MPa"
largest_gap = "150 um"
friction = 0.08
"""
HOT = """\
[[design.compound.hot]]
temperature = "150 degC"
shear_strength = "8 MPa"
tensile_strength = "6 MPa"
"""
LOOSE = """\
[design.fit]
clearance = "50 um"
friction = 0.15
"""
BONDED = """\
[design.fit]
bonded = true
"""


@pytest.mark.parametrize(
    ("texts", "path", "words"),
    [
        pytest.param((COMPOUND,), "design[1].compound", "nothing is said of its fit",
                     id="without a fit"),
        pytest.param((BONDED, COMPOUND), "design[1].compound", "a compound holds nothing",
                     id="bonded"),
        pytest.param(
            (LOOSE.replace("50 um", "400 um"), COMPOUND), "design[1].compound.largest_gap",
            "against the barrel leaves a gap of 200 um, and the compound fills 150 um",
            id="gap larger than its fill",
        ),
        pytest.param((FIT, COMPOUND.replace("16 MPa", "0 MPa")),
                     "design[1].compound.shear_strength", "must be above 0 MPa", id="no strength"),
        pytest.param((FIT, COMPOUND.replace("16 MPa", "16 Pa")),
                     "design[1].compound.shear_strength",
                     "1.6e-05 MPa is less than any compound holds", id="Pa"),
        pytest.param((FIT, COMPOUND.replace("12 MPa", "12 GPa")),
                     "design[1].compound.tensile_strength", "is outside 0 to 200 MPa", id="GPa"),
        pytest.param((FIT, COMPOUND, HOT, HOT), "design[1].compound.hot[2].temperature",
                     "150 degC is outside 150 to 600 degC", id="not rising"),
        pytest.param((FIT, COMPOUND, HOT.replace("150 degC", "20 degC")),
                     "design[1].compound.hot[1].temperature",
                     "Strengths at 20 degC stand in the compound itself", id="cold among the hot"),
        pytest.param((FIT, COMPOUND, HEAT), "design[1].compound",
                     "nothing is said of the compound's strength there", id="warm, and not known"),
    ],
)  # fmt: skip
def test_a_compound_that_can_t_be(case_of, texts, path, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, TIES, RING, *texts)
    assert any(fault.path == path and words in fault.text for fault in refused.value.faults), (
        refused.value
    )


def test_a_compound_is_read_as_it_stands(case_of):
    (fit,) = life_given(case_of(BLOCK, TIES, RING, FIT, COMPOUND, HOT)).fits.values()
    assert fit.compound == InsertCompound(
        tension=((20, 12), (150, 6)), shear=((20, 16), (150, 8)), largest_gap=0.15, friction=0.08
    )


def test_contact_has_it_where_a_side_is_not_bonded():
    compound = InsertCompound(
        tension=((20, 12), (150, 6)), shear=((20, 16), (150, 8)), largest_gap=0.15, friction=0.08
    )
    sides = {"barrel": SideFit(friction=0.12), "tie": SideFit(bonded=True)}
    found = fits_of(InsertFit(sides=sides, pressed=(), compound=compound), {"barrel", "tie"})
    assert found["insert", "barrel"].compound == Compound(
        tension=compound.tension, shear=compound.shear, fills=0.15, friction=0.08
    )
    assert found["insert", "tie"].compound is None


def two_pairs():
    """Of 10 and 30 mm2 against the barrel."""
    area, own, none = np.array([10.0, 30.0]), np.arange(2), np.zeros(2)
    side = np.array([[0, 1]])
    part, against = np.full(2, "insert"), np.full(2, "barrel")
    normal = np.tile([1.0, 0.0], (2, 1))
    return Pairs(own, own, side, side, against[:1], normal, area, part, against, none)


def test_intact_compound_holds_by_its_area_and_friction_comes_on_top():
    """10 mm2 of 8 MPa and 0.1 x 100 N; 30 mm2 are broken: 0.2 x 50 N."""
    pairs, area, none = two_pairs(), np.array([10.0, 30.0]), np.zeros(2)
    life = SimpleNamespace(
        cold=SimpleNamespace(
            pairs=pairs,
            model=SimpleNamespace(node_bodies=np.array([1, 1])),
            friction=lambda _: np.array([0.1, 0.2]),
            strengths=lambda at: (np.zeros(2), np.full(2, at.mean() / 10)),
        ),
        fit=InsertFit(sides={"barrel": SideFit()}, pressed=()),
        pieces=[
            Piece(number=1, body=1, bore=1, clock="3:00", clock_hours=3.0, length_mm=1, mass_g=20)
        ],
        case=SimpleNamespace(block=Block(bore=80, barrel_wall=8)),
        mesh=SimpleNamespace(points=np.array([[50.0, 1], [50, -1]])),
    )
    force = np.array([100.0, 50.0])
    flags = np.array([True, True])
    contact = Contact(
        closed=flags, sticks=flags, force=force, pressure=force / area, friction=none, gap=none,
        slip=none, intact=np.array([True, False]), broken=np.array([False, True]), filler=none,
    )  # fmt: skip
    warm = SimpleNamespace(temperature=np.array([80.0, 80.0]))
    state = joint_state(life, SimpleNamespace(iterations=1, contact=contact, solution=warm))
    assert state.hold_n == pytest.approx(10 * 8 + 0.1 * 100 + 0.2 * 50)
    (side,) = state.sides
    assert (side.intact_share, side.broken_share) == (0.25, 0.75)
    assert (state.intact_share, state.broken_share) == (0.25, 0.75)


def test_what_becomes_of_it_is_told_once():
    """A quarter is beyond its fill; of the rest all breaks warm, or is too hot; then no more."""
    fit = InsertFit(
        sides={"barrel": SideFit()}, pressed=(),
        compound=InsertCompound(tension=((20, 1),), shear=((20, 1),), largest_gap=0.15, friction=0),
    )  # fmt: skip
    filled = np.array([False, True])

    def notes(strong_when_warm):
        def step(name, broken, temperature):
            contact = SimpleNamespace(intact=filled & (not broken), broken=filled & broken)
            side = SimpleNamespace(against="barrel", bonded=False, broken_share=0.75 * broken)
            joint = SimpleNamespace(contact=contact, sides=[side])
            solution = SimpleNamespace(temperature=temperature)
            return SimpleNamespace(name=name, joint=joint, solution=solution)

        def strengths(temperature):
            strength = np.full(2, 5.0 if temperature is None else strong_when_warm)
            return strength, strength

        cold = SimpleNamespace(pairs=two_pairs(), strengths=strengths)
        life = SimpleNamespace(
            fit=fit, cold=cold, touched={"barrel"},
            case=SimpleNamespace(block=Block(bore=80, barrel_wall=8)),
            mesh=SimpleNamespace(points=np.array([[50.0, 1], [50, -1]])),
        )  # fmt: skip
        steps = [step(PRESSED, False, None), step(WARM, True, 90.0), step(WARM_GAS, True, None)]
        return _compound_notes(life, steps)

    empty = (
        "pressed in: over 25 % of the barrel side the gap is larger than the 150 um that the "
        "compound fills; it holds nothing there."
    )
    assert notes(1.0) == [empty, "warm: the compound is used up over 75 % of the barrel side."]
    assert notes(0.0) == [
        empty,
        "warm: over 75 % of the barrel side the compound is hotter than it has strength; the joint "
        "there is as if there were none, for good.",
    ]


@pytest.fixture(scope="module")
def case(case_of):
    return case_of(BLOCK, HEAT, TIES, RING, LOOSE, COMPOUND, HOT)


@pytest.fixture(scope="module")
def solved(case):
    return solve_case(case)


@pytest.fixture(scope="module")
def life(case, solved):
    return life_of(case, case.designs[0], solved.designs[0].mesh, gas_load(case))


def test_what_is_used_up_is_told_where_people_read_it(solved, tmp_path, unpictured):
    """Terminal, page and results.json; shares by the area of the pairs."""
    service = service_of(solved.designs[0])
    plain = service.pairs.gap == 0  # rounded corners are no part of a side
    area, against = service.pairs.area * plain, service.pairs.against
    shares = {
        step.name: {
            str(side): float(area[broken & (against == side)].sum() / area[against == side].sum())
            for side in np.unique(against)
            for broken in [step.joint.contact.broken]
        }
        for step in service.steps
    }
    assert not any(shares[PRESSED].values())
    assert shares[WARM_GAS]["barrel"] > 0.02
    notes = " ".join(service.notes)
    said = re.search(r"warm at gas: the compound is used up over (\d+) % of the barrel side", notes)
    assert int(said[1]) == round(100 * shares[WARM_GAS]["barrel"])
    assert all(f"ring, {note}" in life_lines(solved) for note in service.notes)

    found = json.loads(json.dumps(results_dict(solved), default=float))["designs"][0]["steps"]
    for step, row in zip(service.steps, found, strict=True):
        for side in row["contact"]["sides"]:
            assert side["broken_share"] == pytest.approx(shares[step.name][side["against"]])
        whole = float(area[step.joint.contact.broken].sum() / area.sum())
        assert row["contact"]["broken_share"] == pytest.approx(whole)

    write_outputs(solved, tmp_path)
    page = Page((tmp_path / "report.html").read_text())
    (table,) = (one for one in page.tables if one.title.startswith("The compound in the joint"))
    rows = [
        {"design": "ring", "at": Quantity(20, "degC"), "shear strength": Quantity(16, "MPa"),
         "tensile strength": Quantity(12, "MPa"), "fills gaps to": Quantity(150, "um"),
         "friction": Quantity(0.08)},
        {"design": "", "at": Quantity(150, "degC"), "shear strength": Quantity(8, "MPa"),
         "tensile strength": Quantity(6, "MPa"), "fills gaps to": None, "friction": None},
    ]  # fmt: skip
    assert not faults_of_table(table, rows)
    (table,) = (one for one in page.tables if one.title.startswith("Step by step"))
    column = [row[-1] for row in table.rows]
    for text, step in zip(column, service.steps, strict=True):
        assert told(text)
        assert int(text.split()[0]) == round(100 * step.joint.broken_share)


def test_the_window_of_a_joint_that_is_filled_is_told_where_people_read_it(solved):
    """From the widest gap that is filled to a press: terminal, chapter and results.json."""
    data = results_dict(solved)["designs"][0]["fit_advice"]
    assert data["compound"] == {
        "tensile_strength_mpa": 12, "shear_strength_mpa": 16, "largest_gap_um": pytest.approx(150)
    }  # fmt: skip
    assert data["asked_um"] == pytest.approx(-50)
    solved_at = [of["interference_um"] for of in data["by_interference"]]
    assert solved_at[0] == pytest.approx(-285)
    assert {-50.0, 0.0} <= {round(um, 6) for um in solved_at}
    assert solved_at[-1] > 10
    assert data["low_um"] < 0 < data["high_um"]
    (said,) = (of for of in [*first_lines(solved), *fit_lines(solved)] if of.startswith("ring: "))
    assert "the asked clearance of 50 um " in said
    assert f" {data['low_um']:.0f} to {data['high_um']:.0f} um " in said
    assert "less than 0 is clearance" in said
    assert "of 12 MPa in tension and 16 MPa in shear at 20 degC, which fills 150 um a side" in said
    (chapter,) = fit_chapters(solved)
    assert f"ring {data['low_um']:.0f} to {data['high_um']:.0f} um (less than" in chapter.finding


def test_what_warm_gas_breaks_is_broken_in_a_cold_engine_too(life):
    warm, cold = (life.solved[step].contact for step in (WARM_GAS, COLD_GAS))
    assert (warm.broken & ~life.solved[WARM].contact.broken).any()
    assert cold.broken[warm.broken].all()
    more = life.at_gas(1.4)
    assert life._at_gas_load[COLD_GAS, 1.4].broken[life._at_gas_load[WARM_GAS, 1.4].broken].all()
    assert len(more) == 2


def refuses(*_):
    raise RunError("nothing holds the insert.")


def test_what_a_finer_mesh_may_break_is_told(life, monkeypatch):
    """The pull at the end of a bond grows where pairs are half as large: what uses more than half
    of its strength may break, and then all of it."""
    most = max(
        life._models[step.engine].compound_used(life.solved[step]).max()
        for step in (WARM, WARM_GAS, COLD_GAS)
    )
    assert 0.5 < most <= 1.0
    states = _read(life).states  # of the steps but for the hone
    (change,) = states[2].by_breaking()
    weak = {
        side: replace(fit, compound=replace(
            fit.compound, tension=((20, 1e-6), (150, 1e-6)), shear=((20, 1e-6), (150, 1e-6))
        ))
        for side, fit in life.cold.fits.items()
    }  # fmt: skip
    cold = life.cold.with_fits(weak)
    warm = cold.at(life.solved[WARM].solution.temperature)
    heated = warm.solve(before=cold.solve())
    fired = warm.solve(life.forces, heated)
    assert fired.contact.broken.sum() > life.solved[WARM_GAS].contact.broken.sum()
    largest = max(np.abs(layer.stress).max() for layer in change)
    assert largest > 1.0
    for layer, new, old in zip(
        change, recover(fired.solution), life.stress_of(WARM_GAS), strict=True
    ):
        np.testing.assert_allclose(layer.stress, new.stress - old.stress, atol=1e-2 * largest)
    assert not states[0].by_breaking()
    with monkeypatch.context() as patch:
        patch.setattr(life, "_broken", None)
        patch.setattr(FittedLife, "solve_like", refuses)
        assert life.by_breaking(WARM_GAS) == (life.stress_of(WARM_GAS),)
    monkeypatch.setattr("cases.life.life.MAY_BREAK", 1.001 * most)
    assert not life.by_breaking(WARM_GAS)


def test_compound_is_wet_while_it_is_pressed_in(case_of):
    """Until it has cured what touches can let go and slide, and what it fills is open: where
    contact ends is told as of a dry joint. From then on it is held."""
    lives, off = [], '[design.fit.ties]\nclearance = "30 um"\n'
    for compound in ("", COMPOUND.replace("0.08", "0.12")):
        case = case_of(BLOCK, TIES, RING.replace("ring", "pieces"), FIT, off, compound)
        (design,) = case.designs
        mesh = mesh_outline(draw_section(case.section(design)), **START["coarse"])
        lives.append(life_of(case, design, mesh, gas_load(case)))
    dry, filled = ([_read(life).states[k] for k in (0, 1)] for life in lives)
    assert lives[1].solved[PRESSED].contact.filler.any()
    np.testing.assert_array_equal(filled[0].contact_ends, dry[0].contact_ends)
    assert not len(filled[0].bond_ends)
    assert len(filled[1].bond_ends)
    kept = zip(filled[1].by_ends()[-2:], filled[0].by_ends(), strict=True)
    for layers, of_press in kept:
        np.testing.assert_array_equal(layers[0].stress, of_press[0].stress)
    for one, other in zip(filled[0].by_ends(), dry[0].by_ends(), strict=True):
        largest = max(np.abs(layer.stress).max() for layer in other)
        assert largest > 0.1
        for layer, of_dry in zip(one, other, strict=True):
            np.testing.assert_allclose(layer.stress, of_dry.stress, atol=1e-6 * largest)


def test_a_cycle_without_gas_has_the_joint_that_gas_has_left(life):
    """Else the one time that compound breaks would count as a cycle."""
    warm, _ = life.at_gas(1.0)
    worn = life.solved[WARM].broken_as(life.solved[WARM_GAS].contact)
    model = life.cold.at(life.solved[WARM].solution.temperature)
    wanted = recover(model.solve(before=worn).solution)
    as_it_was = recover(life.solved[WARM].solution)
    off = max(
        np.abs(one.stress - two.stress).max() for one, two in zip(warm.idle, wanted, strict=True)
    )
    was = max(
        np.abs(one.stress - two.stress).max() for one, two in zip(as_it_was, wanted, strict=True)
    )
    assert off < 1e-3 * was


def test_the_table_of_cycles_tells_that_cycle(life):
    """Of a spot that is hot without gas too: what it has there once gas was."""
    (warm, _), first = life.at_gas(1.0), life.stress_of(WARM)
    ranges = read_life(life).ranges
    for one in ranges:
        assert one.idle_mpa == along_spot(warm.idle, one.spot)
        assert one.gas_mpa == along_spot(warm.gas, one.spot)
    assert any(abs(one.idle_mpa - along_spot(first, one.spot)) > 0.1 for one in ranges)


def test_compound_with_no_strength_when_warm_is_as_none(case_of, solved):
    """And it is said; wet and dry friction are the same here."""
    mild = HOT.replace("150 degC", "60 degC")
    touching = COMPOUND.replace("150 um", "0 um")
    with_it = case_of(BLOCK, HEAT, TIES, RING, FIT.replace("0.12", "0.08"), touching, mild)
    without = case_of(BLOCK, HEAT, TIES, RING, FIT.replace("0.12", "0.08"))
    mesh, load = solved.designs[0].mesh, gas_load(with_it)
    one, other = (life_of(case, case.designs[0], mesh, load) for case in (with_it, without))
    held = one.solved[WARM].contact
    assert not held.intact.any()
    assert held.force == pytest.approx(
        other.solved[WARM].contact.force, abs=1e-3 * held.force.max()
    )
    notes = " ".join(read_life(one).notes)
    assert "warm: over 100 % of the barrel side the compound is hotter than it has" in notes
    assert "used up" not in notes
    (flag,) = (of for of in read_life(one).flags if of.kind == "compound")
    assert "its strength is stated up to 60 degC" in flag.words
    assert not [of for of in read_life(other).flags if of.kind == "compound"]


def test_another_interference_keeps_the_compound():
    fit = InsertFit(
        sides={"barrel": SideFit(interference=0.02)}, pressed=("barrel",),
        compound=InsertCompound(tension=((20, 1),), shear=((20, 1),), largest_gap=0, friction=0),
    )  # fmt: skip
    assert replace(fit, compound=None).with_interference(0.03).compound is None
    assert fit.with_interference(0.03).compound is fit.compound
