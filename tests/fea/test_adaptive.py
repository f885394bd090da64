"""Refinement: it stops where the spots are settled, says where they are not, and saves unknowns."""

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import brentq
from sections import SINGLE, section

from cases.check.sections import ALLOY, DEPTH, kirsch_hole, plane, ring
from fea import adapt, adaptive
from fea.adaptive import REFINEMENT, State, _halved, energy_errors, influence_load, refine
from fea.equilibrium import SelfCheckError, fine_enough, self_checks
from fea.hotspots import element_size, hot_spots
from fea.material import Material
from fea.model import SectionModel
from fea.stress import principal, recover
from fea.trail import Gauge, Trail, followed
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.planar import line
from geometry.section_mesh import Layer, UniformDepth
from geometry.sizing import SizeWishes

NOTEBOOK = Path(__file__).parents[2] / "notebooks" / "refinement.py"


def adapted_ring(start, load=10 * DEPTH, **options):
    """A ring of 20/80 mm under pressure from a first mesh."""
    outline = ring(20, 80)
    return adapt(
        lambda wishes: mesh_outline(outline, wishes=wishes, **start),
        lambda mesh: SectionModel(mesh, {"barrel": ALLOY}).solve(load),
        **options,
    )


PARTS = ("barrel", "liner", "tie", "outer wall")
COARSE, FINE = {"element_size": 20.0, "detail": 0.25}, {"fineness": 0.7}
NONE = np.zeros((0, 2))
"""Places."""


def test_one_mesh_is_enough_where_it_is_fine():
    found = adapted_ring(FINE)
    assert len(found.passes) == 1
    assert found.settled


def test_coarse_mesh_is_refined_until_the_spots_are_settled():
    found = adapted_ring(COARSE)
    assert 1 < len(found.passes) <= 3
    assert not any(spot.settled for spot in found.passes[0].hot_spots)
    assert found.settled
    assert found.passes[-1].hot_spots == found.hot_spots
    assert all(spot.error_mpa <= 0.02 * spot.principal_mpa for spot in found.hot_spots)


def test_spot_that_is_not_settled_says_so():
    found = adapted_ring(COARSE, most_passes=1)
    assert not found.settled
    open_ = [spot for spot in found.hot_spots if not spot.settled]
    assert all(spot.error_mpa > 0.02 * spot.principal_mpa for spot in open_)


def test_tighter_tolerance_costs_unknowns_and_buys_accuracy():
    loose, tight = (adapted_ring(COARSE, tolerance=share) for share in (0.05, 0.005))
    assert loose.passes[-1].unknowns < tight.passes[-1].unknowns
    assert tight.settled
    assert tight.hot_spots[0].error_mpa < 0.005 * tight.hot_spots[0].principal_mpa


SPOTS_SETTLED = {"tolerance": 0.9}
ROUGH = {"element_size": 60.0, "detail": 0.1}


def cut_forces_agree(solution, stresses):
    return fine_enough(solution, stresses, 10 * DEPTH)


def test_a_mesh_that_is_too_coarse_for_its_self_checks_is_made_finer():
    """Twice as far off as may be at first, though no spot asks for more."""
    plain = adapted_ring(ROUGH, **SPOTS_SETTLED)
    assert len(plain.passes) == 1
    with pytest.raises(SelfCheckError, match=r"1\.0197 of the gas load"):
        self_checks(plain.solution, plain.stresses, 10 * DEPTH)
    found = adapted_ring(ROUGH, **SPOTS_SETTLED, fine_enough=cut_forces_agree)
    assert 1 < len(found.passes) <= 4
    assert found.passes[-1].unknowns > 1.4 * found.passes[0].unknowns
    self_checks(found.solution, found.stresses, 10 * DEPTH)


def test_self_checks_are_asked_of_a_mesh_that_would_be_the_last():
    """Whether the spots are settled or the meshes used up."""
    for options in ({"tolerance": 0.02}, {"most_passes": 1}):
        asked = []
        found = adapted_ring(COARSE, **options, fine_enough=lambda *_, of=asked: not of.append(1))
        assert found.passes == adapted_ring(COARSE, **options).passes
        assert len(asked) == 1


@pytest.mark.parametrize("options", [SPOTS_SETTLED, {"most_passes": 1}])
def test_self_checks_that_never_pass_are_given_up(options):
    found = adapted_ring(ROUGH, **options, fine_enough=lambda *_: False)
    unknowns = [one.unknowns for one in found.passes]
    assert len(unknowns) == 1 + REFINEMENT.finer_passes
    assert unknowns == sorted(unknowns)
    assert unknowns[-1] > 2 * unknowns[0]


def test_no_mesh_is_larger_than_the_most_and_what_asks_is_told(monkeypatch):
    """A free end of a joint of two metals asks for ever finer elements."""
    stiff, soft = Material("steel", 210000.0, 0.3), Material("polymer", 5000.0, 0.3)
    free = butt_joint(stiff, soft, most_passes=6)
    assert not free.stopped
    most = (free.passes[0].unknowns + free.passes[-1].unknowns) // 2
    monkeypatch.setattr(adaptive, "REFINEMENT", replace(REFINEMENT, most_unknowns=most))
    bound = butt_joint(stiff, soft, most_passes=6)
    assert len(bound.passes) < len(free.passes)
    assert bound.passes == free.passes[: len(bound.passes)]
    assert bound.passes[-1].unknowns <= most
    part = bound.stopped.split("the spot at ")[1].split()[0]
    assert part in ("barrel", "insert")
    assert f"{most:,} are the most" in bound.stopped


def test_where_errors_need_two_meshes_the_second_is_made_as_fine_as_the_most_allows(monkeypatch):
    stiff, soft = Material("steel", 210000.0, 0.3), Material("polymer", 5000.0, 0.3)
    free = butt_joint(stiff, soft, most_passes=2)
    first, asked = (one.unknowns for one in free.passes)
    most = (2 * first + asked) // 3
    assert first < 0.9 * most
    how = replace(REFINEMENT, most_unknowns=most, two_witnesses=True)
    monkeypatch.setattr(adaptive, "REFINEMENT", how)
    bound = butt_joint(stiff, soft, most_passes=4)
    assert bound.passes[0].unknowns == first
    assert len(bound.passes) == 2
    assert first < bound.passes[1].unknowns == pytest.approx(most, rel=0.15)
    assert bound.stopped.endswith("It is as fine as that allows.")
    # where what there is is too many, the first is the last
    monkeypatch.setattr(adaptive, "REFINEMENT", replace(how, most_unknowns=first // 2))
    alone = butt_joint(stiff, soft, most_passes=4)
    assert len(alone.passes) == 1
    assert alone.stopped.endswith("Errors are those of the mesh before it.")


def test_gauges_are_settled_by_two_meshes_and_ask_for_halves_until_then():
    """A number that moves by the size of the elements: 1 + h."""
    outline, asked = ring(20, 80), []

    def on(mesh):
        corners = mesh.points[mesh.triangles[:, :3]]
        size = float(element_size(corners).min())
        solution = SectionModel(mesh, {"barrel": ALLOY}).solve(10 * DEPTH)
        state = State(solution, (), (), solution.model.solve_forces, *np.zeros((3, 0, 2)))
        gauge = Gauge("h", "the size", 1 + size, 0.3, np.array([50j]), np.array([size]))
        asked.append(size)
        return SimpleNamespace(states=[state], gauges=[gauge])

    found = refine(
        lambda wishes: mesh_outline(outline, element_size=4.0, wishes=wishes),
        on, 0.02, most_passes=8, choose=lambda spots: [()],
    )  # fmt: skip
    assert not found.unsettled
    assert 2 < len(found.passes) < 8
    assert found.errors["h"] == pytest.approx(asked[-2] - asked[-1])
    assert asked[-2] - asked[-1] <= 0.3 < asked[-3] - asked[-2]


def test_halved_sizes_take_from_the_largest():
    assert _halved(np.array([4.0, 1.0, 1.0, 1.0])) == pytest.approx([0.875] * 4)
    assert _halved(np.array([10.0, 0.1, 0.1])) == pytest.approx([4.9, 0.1, 0.1])


def test_metal_without_tension_is_made_finer_too():
    asked = iter([False, True])
    found = adapt(
        lambda wishes: mesh_outline(ring(20, 80), wishes=wishes, **COARSE),
        lambda mesh: SectionModel(mesh, {"barrel": ALLOY}).solve(100.0, "outside"),
        fine_enough=lambda *_: next(asked),
    )
    assert found.passes[1].unknowns > 1.4 * found.passes[0].unknowns


def test_metal_without_tension_needs_no_refinement():
    found = adapt(
        lambda wishes: mesh_outline(ring(20, 80), wishes=wishes, **COARSE),
        lambda mesh: SectionModel(mesh, {"barrel": ALLOY}).solve(100.0, "outside"),
    )
    assert found.hot_spots == ()
    assert len(found.passes) == 1


def test_same_input_gives_the_same_path():
    one, other = (adapted_ring(COARSE) for _ in range(2))
    assert one.passes == other.passes


def butt_joint(stiff: Material, soft: Material, **options):
    """Two blocks bonded along x = 0 and pulled along x, with their free edge at y = 30."""
    depth = UniformDepth(DEPTH)
    names = {"left": "x", "lower": "y"}
    outline = plane(
        [
            line(-40, 0, "lower"), line(0, 40, "lower"), line(40, 40 + 30j, "pulled"),
            line(40 + 30j, 30j, "upper"), line(30j, -40 + 30j, "upper"),
            line(-40 + 30j, -40, "left"), line(0, 30j, "joint"),
        ],
        lambda z: (
            (Layer("barrel" if z.real < 0 else "insert", depth),)
            if abs(z.real) < 40 and 0 < z.imag < 30 else ()
        ),
    )  # fmt: skip

    def solve(mesh):
        model = SectionModel(mesh, {"barrel": stiff, "insert": soft}, names)
        return model.solve_forces(
            model.edge_load("pulled", lambda _x, _y, nx, ny: DEPTH * np.stack([nx, ny]))
        )

    return adapt(
        lambda wishes: mesh_outline(outline, element_size=6.0, wishes=wishes), solve,
        **options,
    )  # fmt: skip


def quarter_planes_exponent(stiff: Material, soft: Material) -> float:
    """Bogy, J. Appl. Mech. 35 (1968) 460-466, two bonded quarter planes (from memory)."""
    mu1, mu2 = stiff.mu, soft.mu
    k1, k2 = ((3 - m.poisson) / (1 + m.poisson) for m in (stiff, soft))
    below = mu1 * (k2 + 1) + mu2 * (k1 + 1)
    alpha = (mu1 * (k2 + 1) - mu2 * (k1 + 1)) / below
    beta = (mu1 * (k2 - 1) - mu2 * (k1 - 1)) / below

    def determinant(p):
        s2 = np.sin(np.pi * p / 2) ** 2
        return (
            beta**2 * (s2 - p**2) ** 2
            + 2 * alpha * beta * p**2 * (s2 - p**2)
            + alpha**2 * p**2 * (p**2 - 1)
            + s2 * (1 - s2)
        )

    return 1 - brentq(determinant, 0.5, 1 - 1e-6)


def test_free_end_of_a_joint_comes_out_as_sharp():
    """A border of two metals that meets a free edge has no finite stress."""
    stiff, soft = Material("steel", 210000.0, 0.3), Material("polymer", 5000.0, 0.3)
    found = butt_joint(stiff, soft, most_passes=6)
    at_end = [spot for spot in found.hot_spots if np.hypot(spot.x_mm, spot.y_mm - 30) < 1]
    assert at_end
    assert all(spot.sharp and not spot.settled for spot in at_end)
    fitted = max(spot.exponent for spot in at_end if spot.exponent is not None)
    assert fitted == pytest.approx(quarter_planes_exponent(stiff, soft), rel=0.25)
    ranks = [spot.sharp for spot in found.hot_spots]
    assert ranks == sorted(ranks)


def test_junction_is_not_believed_at_one_mesh():
    stiff, soft = Material("steel", 210000.0, 0.3), Material("polymer", 5000.0, 0.3)
    found = butt_joint(stiff, soft, most_passes=1, tolerance=0.9)
    at_end = [spot for spot in found.hot_spots if np.hypot(spot.x_mm, spot.y_mm - 30) < 1]
    assert at_end
    assert not any(spot.settled for spot in at_end)


def test_influence_load_gives_the_stress_at_the_spot():
    """The load of the spots' raw stress, times the displacement, is that stress over itself."""
    answer = kirsch_hole()
    spots = hot_spots(answer.solution, answer.stresses)[:1]
    load = influence_load(answer.solution, answer.stresses, spots, 0.0)
    (layer,) = answer.stresses
    node = answer.node_at(spots[0].x_mm, spots[0].y_mm)
    raw = layer.raw[:, layer.triangles == np.flatnonzero(layer.nodes == node)[0]].mean(axis=1)
    value = float((load * answer.solution.displacement).sum()) * spots[0].principal_mpa
    assert value == pytest.approx(principal(raw)[0], rel=1e-3)
    assert np.abs(load.sum(axis=0)).max() < 1e-12 * np.abs(load).sum()


def test_energy_error_falls_with_the_fourth_power_of_the_size():
    """The square of the energy norm's error, order 2 for quadratic elements (Strang & Fix 1973,
    from memory)."""
    coarse, fine = (
        energy_errors(answer.solution, answer.stresses).sum()
        for answer in (kirsch_hole(0.5), kirsch_hole(0.25))
    )
    assert np.log2(coarse / fine) == pytest.approx(4, abs=0.7)


def test_mesh_follows_wishes_finer_than_its_grid():
    outline = draw_section(section(SINGLE))
    piece = next(p for p in outline.pieces if p.bulge and p.radius < 20)
    place = piece.point(0.5)
    wishes = [
        SizeWishes(np.array([0j]), np.array([6.0]), 0.05),
        SizeWishes(np.array([place]), np.array([0.04]), 0.4),
    ]
    mesh = mesh_outline(outline, wishes=wishes)
    corners = mesh.points[mesh.triangles[:, :3]]
    away = np.abs(corners.mean(axis=1) @ [1, 1j] - place)
    assert element_size(corners[away < 0.06]) == pytest.approx(0.04, rel=0.5)
    assert element_size(corners[away > 20]).mean() > 2


@pytest.mark.slow
def test_adaptive_path_needs_a_quarter_of_the_unknowns_of_one_size():
    """1 % at the worst relief-cut root of the bundled block."""
    spec = importlib.util.spec_from_file_location("refinement", NOTEBOOK)
    module = importlib.util.module_from_spec(spec)
    sys.modules["refinement"] = module
    spec.loader.exec_module(module)
    try:
        _, values = module.app.run()
    finally:
        module.MESHER.shutdown()
        del sys.modules["refinement"]
    assert values["share"] <= 0.25
    values["MESHER"].shutdown()


def test_a_new_spot_is_set_against_what_stood_there_before():
    """Elements of half the size and order 2: of a change of 6 MPa a third is left."""
    mesh = mesh_outline(ring(20, 80), **COARSE)
    solution = SectionModel(mesh, {"barrel": ALLOY}).solve(10 * DEPTH)
    spot = replace(hot_spots(solution, recover(solution))[0], error_mpa=0.5, size_mm=1.0)
    alone = followed(spot, [], NONE, NONE, NONE, weak=0.0, far=0.0)
    assert alone.error() == 0.5
    set_against = alone.beside(2.0, spot.principal_mpa - 6.0)
    assert set_against.error() == pytest.approx(2.0)
    assert alone.beside(1.0, spot.principal_mpa + 6.0).error() == pytest.approx(6.0)
    assert replace(set_against, order=1).error() == pytest.approx(6.0)  # twice as much is left
    assert set_against.rates() == [pytest.approx(-np.log2(1 - 6.0 / spot.principal_mpa))]
    assert alone.beside(2.0, -6.0).rates() == []  # pushed there, as the other mesh has it


def test_two_witnesses_are_asked_of_every_spot():
    """On the way of a refinement that asks for them, no spot of the second mesh stands by its own
    mesh alone; what is told of it is more than its error, by where it is."""
    outline = draw_section(section(SINGLE))
    seen: list[Trail] = []

    def judged(self, tolerance):
        seen.append(self)
        return self.spot

    def forgetful(spot, _before, *rest):
        return followed(spot, [], *rest)

    def on(mesh):
        solution = SectionModel(mesh, dict.fromkeys(PARTS, ALLOY)).solve(300.0)
        stresses = recover(solution)
        state = State(
            solution, stresses, hot_spots(solution, stresses), solution.model.solve_forces,
            NONE, NONE, NONE,
        )  # fmt: skip
        return SimpleNamespace(states=(state,), gauges=())

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Trail, "judged", judged)
        patch.setattr(adaptive, "followed", forgetful)
        for asked in (True, False):
            seen.clear()
            refine(
                lambda wishes: mesh_outline(outline, wishes=wishes, element_size=8.0),
                on, 1e-4, most_passes=2, choose=lambda spots: spots,
                how=replace(REFINEMENT, two_witnesses=asked, told=2.0, told_at_junction=3.0,
                            order=1.5),
            )  # fmt: skip
            *_, last = seen
            assert (last.there is not None) == asked
            assert {(trail.at_junction, trail.told) for trail in seen} == {(True, 3), (False, 2)}
            assert {trail.order for trail in seen} == {1.5}


def test_the_error_that_is_told_may_be_more_than_what_refinement_goes_by():
    mesh = mesh_outline(ring(20, 80), **COARSE)
    solution = SectionModel(mesh, {"barrel": ALLOY}).solve(10 * DEPTH)
    spot = replace(hot_spots(solution, recover(solution))[0], error_mpa=0.5)
    trail = followed(spot, [], NONE, NONE, NONE, weak=0.0, far=0.0)
    tolerance = 0.7 / spot.principal_mpa
    twice, once = replace(trail, told=2.0).judged(tolerance), trail.judged(tolerance)
    assert (twice.error_mpa, once.error_mpa) == (1.0, 0.5)
    assert (twice.settled, once.settled, trail.done(tolerance)) == (False, True, True)


def test_ends_of_contact_add_half_of_what_a_pair_changes():
    mesh = mesh_outline(ring(20, 80), **COARSE)
    solution = SectionModel(mesh, {"barrel": ALLOY}).solve(10 * DEPTH)
    spot = replace(hot_spots(solution, recover(solution))[0], error_mpa=0.5)
    alone = followed(spot, [], NONE, NONE, NONE, weak=0.0, far=0.0)
    trail = replace(alone, by_ends=0.8)
    tolerance = 0.7 / spot.principal_mpa
    assert trail.judged(tolerance).error_mpa == pytest.approx(0.5 + 0.4)
    assert not trail.judged(tolerance).settled
    assert trail.done(tolerance)  # finer elements at the spot would tell no more
    assert replace(trail, least=2.0).judged(tolerance).error_mpa == 2.0
    breaking = replace(trail, by_breaking=0.3, told=2.0)
    assert breaking.judged(tolerance).error_mpa == pytest.approx(2 * 0.5 + 0.4 + 0.3)


def test_near_the_end_of_a_contact_another_halving_may_bring_as_much():
    mesh = mesh_outline(ring(20, 80), **COARSE)
    solution = SectionModel(mesh, {"barrel": ALLOY}).solve(10 * DEPTH)
    spot = replace(hot_spots(solution, recover(solution))[0], error_mpa=0.5, size_mm=1.0)
    end = np.array([[spot.x_mm + 3.0, spot.y_mm]])
    near = followed(spot, [], NONE, end, NONE, weak=0.0, far=0.0)
    assert near.at_junction
    assert not near.on_junction
    by_order = near.beside(4.0, spot.principal_mpa - 6.0)
    assert by_order.error() == pytest.approx(6.0 / 3)
    assert replace(by_order, unabated=True).error() == pytest.approx(6.0 / 2)
    little = near.beside(1.1, spot.principal_mpa - 1.0)
    assert replace(little, unabated=True).error() == pytest.approx(1.0)


def test_an_end_of_contact_is_no_sharp_corner():
    """Stress beside it is finite on smooth metal, however much it changes with the mesh; beside a
    junction and the end of a bond it is not."""
    mesh = mesh_outline(ring(20, 80), **COARSE)
    solution = SectionModel(mesh, {"barrel": ALLOY}).solve(10 * DEPTH)
    spot = replace(hot_spots(solution, recover(solution))[0], size_mm=2.0)
    here, beside = (np.array([[spot.x_mm + away, spot.y_mm]]) for away in (0.0, 3.0))
    later = replace(spot, size_mm=1.0, principal_mpa=1.2 * spot.principal_mpa)
    for junctions, contact_ends, bond_ends, sharp in (
        (NONE, here, NONE, False),
        (here, NONE, NONE, True),
        (NONE, NONE, beside, True),
        (beside, NONE, NONE, False),
    ):
        places = junctions, contact_ends, bond_ends
        before = followed(spot, [], *places, weak=0.0, far=0.0)
        trail = followed(later, [before], *places, weak=0.0, far=0.0)
        assert trail.judged(0.1).sharp is sharp
        new = followed(later, [], *places, weak=0.0, far=0.0)
        assert not new.judged(0.1).sharp
        assert new.beside(2.0, spot.principal_mpa).judged(0.1).sharp is sharp
        assert not new.beside(2.0, 0.99 * later.principal_mpa).judged(0.1).sharp
        assert not new.beside(1.0, spot.principal_mpa).judged(0.1).sharp
