"""Parts fitted into a solid, against closed forms: pressure, heat, friction and its memory."""

from copy import copy
from dataclasses import replace

import numpy as np
import pytest

import fea.solid.fitted
from cases.check.prisms import grid_solid, joined_at, plain, side_by_side
from fea.closed_form.fits import fitted_pressure, joint_pressure
from fea.contact import Fit
from fea.material import Material
from fea.solid.coulomb import QUICK, SEARCH
from fea.solid.fitted import FittedSolid, SolidContactError
from fea.solid.model import SolidModel
from geometry.solid import SolidMesh, side_of, together

IRON = Material("iron", 110_000.0, 0.26, expansion=11e-6)
ALLOY = Material("alloy", 72_400.0, 0.33, expansion=21.5e-6)
BORE, JOINT, OUTSIDE, LENGTH = 45.0, 52.0, 62.0, 12.0
QUARTER = {"v0": "y = 0", "v1": "x = 0"}


def blocks(friction=0.0, bonded=False, overlap=0.0, beyond=None):
    """Two blocks side by side whose faces have three sizes, one held at its far end."""
    z, y = [-7, -2.5, -1, 0], [0, 2, 6, 7]
    left = grid_solid("left", [-5, -2, 0], y, z, plain, {"u0": "end", "u1": "fitted"})
    right = grid_solid("right", [0, 3, 8], y, z, plain, {"u1": "wall"})
    mesh = side_by_side(left, right)
    model = SolidModel(mesh, {"left": ALLOY, "right": ALLOY}, {"wall": "x"})
    fit = Fit(overlap=overlap, friction=friction, bonded=bonded)
    return FittedSolid(
        model, joined_at(mesh, ["fitted"], ["right"]), {"right": fit}, beyond and beyond(mesh)
    )


def test_even_pressure_goes_through_a_joint_as_it_is():
    """A patch test: 8 MPa at the end are 8 MPa at every pair, and stress is that of one piece."""
    fitted = blocks()
    state = fitted.solve(fitted.model.pressure_load("end", 8.0))
    assert state.pressure == pytest.approx(8.0, rel=1e-6)
    assert state.force.sum() == pytest.approx(8.0 * 49, rel=1e-6)
    x, y, z = fitted.model.mesh.points.T
    moved = state.solution.displacement
    assert moved[:, 0] == pytest.approx(-8.0 / 72_400 * (x - 8), abs=1e-9)
    for of in (x < 0, x > 0):  # each block as it lies, and may be turned
        widens = (moved[:, 1] - 0.33 * 8.0 / 72_400 * y)[of]
        plane = np.column_stack([np.ones(of.sum()), z[of]])
        assert plane @ np.linalg.lstsq(plane, widens)[0] == pytest.approx(widens, abs=1e-9)
    assert state.solution.reactions.sum(axis=0) == pytest.approx([-8.0 * 49, 0, 0], abs=1e-6)
    assert state.solution.hold_reactions == pytest.approx(0, abs=1e-6)


def test_a_lid_on_a_block():
    """A joint across, of triangles: even pressure is even there within what their nodes allow."""
    x, y = [0, 4, 6, 10], [0, 3, 7]
    lid = grid_solid("lid", x, y, [0, 2, 5], plain, {"below": "foot", "above": "top"})
    block = grid_solid("block", x, y, [-5, -2, 0], plain, {"below": "base"})
    mesh = side_by_side(lid, block)
    model = SolidModel(mesh, {"lid": ALLOY, "block": ALLOY}, {"base": "z"})
    joint = joined_at(mesh, [], ["block"], ["foot"])
    state = FittedSolid(model, joint, {"block": Fit()}).solve(model.pressure_load("top", 8.0))
    assert state.closed.all()
    assert state.force.sum() == pytest.approx(8.0 * 70)
    assert state.pressure == pytest.approx(8.0, rel=0.02)
    top = np.unique(mesh.flats["top"])
    assert state.solution.displacement[top, 2] == pytest.approx(-8.0 / 72_400 * 10, rel=2e-3)


def rings(inner=ALLOY, outer=IRON, *, cells=(6, 3), fixed=None, whole=False):
    """One ring in another, as long as it; a quarter of them, their middle above."""
    angle = np.linspace(0, 2 * np.pi if whole else np.pi / 2, cells[0] + 1)
    planes = {} if whole else QUARTER
    z = [-LENGTH, -5, 0]
    tube = grid_solid(
        "inner",
        np.linspace(BORE, JOINT, cells[1] + 1),
        angle,
        z,
        names={"u0": "bore", "u1": "fitted", "above": "top", **planes},
    )
    ring = grid_solid(
        "outer",
        np.linspace(JOINT, OUTSIDE, cells[1] + 1),
        angle,
        z,
        names={"u0": "around", "u1": "outside", "above": "middle", "below": "floor", **planes},
    )
    mesh = side_by_side(tube, ring)
    fixed = fixed or {"y = 0": "y", "x = 0": "x", "middle": "z"}
    model = SolidModel(mesh, {"inner": inner, "outer": outer}, fixed)
    return model, joined_at(mesh, ["fitted"], ["outer"])


def even(state):
    """Pressure, the same at every pair."""
    assert np.ptp(state.pressure) < 4e-3 * state.pressure.mean() + 1e-6
    return state.pressure.mean()


def of_rings(overlap, rise=0.0, p_in=0.0, softer=1.0):
    """Lame's pressure; ends are free, so rings of one length are in plane stress."""
    return fitted_pressure(
        BORE, JOINT, OUTSIDE, overlap=overlap, p_in=p_in,
        inner=(72_400 * softer, 0.33), outer=(110_000, 0.26),
        expansion=(21.5e-6, 11e-6), rise=(rise, rise),
    )  # fmt: skip


def test_what_is_beyond_sticks_as_it_was_fitted():
    """Pulled, it carries all; what is not beyond opens, and side stress is that of its overlap."""
    fitted = blocks(0.3, overlap=0.01, beyond=lambda mesh: mesh.points[:, 1] < 3)
    state = fitted.solve(fitted.model.pressure_load("end", -80.0))
    stuck, k = fitted.stuck, len(fitted.corners)
    assert 0 < stuck.sum() < k
    assert state.force[stuck].sum() + state.force[~stuck].sum() == pytest.approx(-80.0 * 49)
    assert (state.closed == stuck).all()
    assert state.jumps[:k][stuck] == pytest.approx(-0.01)
    assert state.slip[:, stuck] == pytest.approx(0)
    assert (state.gap[~stuck] > 0).all()
    own = fitted.joint.own[fitted.corners[~stuck]]
    other = fitted.joint.other[fitted.corners[~stuck]]
    moved = state.solution.displacement
    assert (moved[other, 0] - moved[own, 0] > -0.01).all()


def test_beyond_clearance_stays_apart_where_the_piece_sticks_elsewhere():
    """Of a side with clearance nothing is sought there; where nothing sticks, all is."""
    fitted = blocks(overlap=-0.01, beyond=lambda mesh: mesh.points[:, 1] < 3)
    assert not (fitted.stuck | fitted.apart).any()
    state = fitted.solve(fitted.model.pressure_load("end", 8.0))
    assert state.force.sum() == pytest.approx(8.0 * 49, rel=1e-6)


@pytest.fixture(scope="module")
def smooth():
    model, joint = rings()
    return FittedSolid(model, joint, {"outer": Fit(overlap=0.02)})


def test_rings_pressed_warm_and_under_gas(smooth):
    gas = smooth.model.pressure_load("bore", 9.0)
    pressed = smooth.solve()
    assert even(pressed) == pytest.approx(of_rings(0.02), rel=3e-3)
    warm = smooth.at(np.full(len(gas), 100.0)).solve(before=pressed)
    assert even(warm) == pytest.approx(of_rings(0.02, rise=80), rel=3e-3)
    fired = smooth.at(np.full(len(gas), 100.0)).solve(gas, before=warm)
    assert even(fired) == pytest.approx(of_rings(0.02, rise=80, p_in=9), rel=3e-3)
    cold = smooth.solve(before=fired)
    assert even(cold) == pytest.approx(even(pressed), rel=1e-4)


def test_rings_with_a_clearance_that_heat_closes(smooth):
    """Open until the rise takes up the clearance, then pressed as if they had met there."""
    clear = smooth.with_fits({"outer": Fit(overlap=-0.03)})
    apart = clear.solve()
    assert not apart.closed.any()
    assert (apart.pressure == 0).all()
    assert apart.gap == pytest.approx(0.03, abs=2e-5)
    closes = 0.03 / (JOINT * 10.5e-6)  # a rise of 55 K
    count = len(clear.model.mesh.points)
    below = clear.at(np.full(count, 20 + 0.9 * closes)).solve(before=apart)
    assert below.pressure == pytest.approx(0, abs=1e-3)
    above = clear.at(np.full(count, 20 + 2 * closes)).solve(before=below)
    assert even(above) == pytest.approx(of_rings(-0.03, rise=2 * closes), rel=2e-3)


def test_rings_that_heat_parts():
    """The alloy outside grows away from its iron ring: no pressure and the gap of free growth."""
    model, joint = rings(IRON, ALLOY)
    fitted = FittedSolid(model, joint, {"outer": Fit(overlap=0.02, friction=0.1)})
    pressed = fitted.solve()
    assert pressed.closed.all()
    rise = 100.0
    open_ = fitted.at(np.full(len(model.mesh.points), 20 + rise)).solve(before=pressed)
    assert not open_.closed.any()
    assert (open_.friction == 0).all()
    assert open_.gap.mean() == pytest.approx(JOINT * 10.5e-6 * rise - 0.02, rel=2e-3)
    again = fitted.solve(before=open_)
    assert again.pressure == pytest.approx(pressed.pressure, rel=0.02)


def growth(p_in, p_out, a, b, radius, material):
    """Outward displacement of a ring in plane stress (Lame). [mm]."""
    young, nu = material.youngs_modulus, material.poisson
    even = (1 - nu) * (p_in * a**2 - p_out * b**2) * radius
    return (even + (1 + nu) * a**2 * b**2 * (p_in - p_out) / radius) / (young * (b**2 - a**2))


def test_three_rings_one_in_another():
    """Two joints as one, the ring between cut loose from the outer and the inner one from it."""
    radii, metals = (BORE, 49.0, 54.0, OUTSIDE), (ALLOY, IRON, ALLOY)
    names = ("inner", "between", "outer")
    angle = np.linspace(0, np.pi / 2, 9)
    bodies = [
        grid_solid(
            name,
            np.linspace(a, b, 4),
            angle,
            [-LENGTH, -5, 0],
            names={"u1": f"{name} fitted", "above": "middle", **QUARTER},
        )
        for name, a, b in zip(names, radii[:-1], radii[1:], strict=True)
    ]
    mesh = side_by_side(*bodies)
    joints = {
        "inner": joined_at(mesh, ["inner fitted"], ["between"]),
        "between": joined_at(mesh, ["between fitted"], ["outer"]),
    }
    fixed = {"y = 0": "y", "x = 0": "x", "middle": "z"}
    model = SolidModel(mesh, dict(zip(names, metals, strict=True)), fixed)
    sides = side_of("inner", "between"), side_of("between", "outer")
    fits = {sides[0]: Fit(overlap=0.01), sides[1]: Fit(overlap=0.015)}
    fitted = FittedSolid(model, together(joints), fits)
    state = fitted.solve()

    def overlaps(p, q):
        """That pressures at the two joints take up."""
        inner, between, outer = zip(radii[:-1], radii[1:], metals, strict=True)

        def ring(p_in, p_out, of, radius):
            return growth(p_in, p_out, of[0], of[1], radius, of[2])

        return np.array(
            [
                ring(p, q, between, 49.0) - ring(0, p, inner, 49.0),
                ring(q, 0, outer, 54.0) - ring(p, q, between, 54.0),
            ]
        )

    by_pressure = np.column_stack([overlaps(1, 0), overlaps(0, 1)])
    expected = np.linalg.solve(by_pressure, [0.01, 0.015])
    for side, pressure in zip(sides, expected, strict=True):
        of = np.array(fitted.side) == side
        assert state.pressure[of] == pytest.approx(pressure, rel=5e-3)


def plane(metal):
    """Metal whose plane stress is this one's plane strain, as the rings' growth is written."""
    nu = metal.poisson
    return replace(metal, youngs_modulus=metal.youngs_modulus / (1 - nu**2), poisson=nu / (1 - nu))


RADII, LINER_IN = (BORE, 49.0, 54.0, OUTSIDE), 0.02
"""Of liner, barrel and outer ring; by how much the liner overlaps the barrel. [mm]."""
LINED = {"liner": IRON, "barrel": ALLOY, "insert": ALLOY}


def lined(cast_in, part_of_it, stated):
    """A lined barrel with an outer ring drawn to overlap it by so much, of one height."""
    own = LINER_IN
    metals = dict(LINED)
    if cast_in:
        metals["liner"] = replace(IRON, misfit=own / 49.0 / (1 + IRON.poisson))  # along z as well
    angle, walls = np.linspace(0, np.pi / 2, 9), {"below": "floor", "above": "deck", **QUARTER}
    names = {"liner": {"u1": "liner fitted"}, "barrel": {}, "insert": {"u0": "insert fitted"}}
    bodies = [
        grid_solid(part, np.linspace(a, b, 4), angle, [-6, 0], names={**names[part], **walls})
        for part, a, b in zip(metals, RADII[:-1], RADII[1:], strict=True)
    ]
    mesh = side_by_side(*bodies)
    joints = {"insert": joined_at(mesh, ["insert fitted"], ["barrel"])}
    joints["liner"] = joined_at(mesh, ["liner fitted"], ["barrel"])
    fits = {side_of("insert", "barrel"): Fit(overlap=stated, friction=0.1)}
    fits[side_of("liner", "barrel")] = Fit(bonded=True) if cast_in else Fit(overlap=own)
    fixed = {"y = 0": "y", "x = 0": "x", "deck": "z", "floor": "z"}
    model, cold = SolidModel(mesh, metals, fixed), np.full(len(mesh.points), 20.0)
    x, y, _ = mesh.points.T
    far = (y > x) & (np.hypot(x, y) > 50.0) if part_of_it else None
    return FittedSolid(model, together(joints), fits, far).at(cold)


@pytest.mark.parametrize("stated", [0.0, 0.008])
@pytest.mark.parametrize(("cast_in", "part_of_it"), [(False, False), (True, True), (False, True)])
def test_an_insert_made_for_the_block_as_its_liner_left_it(cast_in, part_of_it, stated):
    """An outer ring on a lined barrel of one height: its pressure is that of its own overlap.

    Superposition of Lame's rings in plane strain (derived): the liner's overlap alone, then the
    insert's on rings that fit. Where no contact is sought the insert sticks as it was fitted.
    """
    fitted = lined(cast_in, part_of_it, stated).fitted_as_it_stands("insert")
    state, mesh = fitted.solve(), fitted.model.mesh
    x, y, _ = mesh.points.T

    liner, barrel, insert = (
        (a, b, plane(metal))
        for a, b, metal in zip(RADII[:-1], RADII[1:], LINED.values(), strict=True)
    )

    def ring(of, radius, p_in=0.0, p_out=0.0):
        return growth(p_in, p_out, of[0], of[1], radius, of[2])

    meets = np.array(
        [
            [ring(barrel, 49.0, 1) - ring(liner, 49.0, 0, 1), ring(barrel, 49.0, 0, 1)],
            [-ring(barrel, 54.0, 1), ring(insert, 54.0, 1) - ring(barrel, 54.0, 0, 1)],
        ]
    )
    before, after = LINER_IN / meets[0, 0], np.linalg.solve(meets, [0.0, stated])
    of = np.array([side == side_of("insert", "barrel") for side in fitted.side])
    assert state.pressure[of] == pytest.approx(after[1], rel=0.01, abs=0.02 if part_of_it else 1e-6)
    assert state.pressure[~of] == pytest.approx(before + after[0], rel=0.01)
    assert state.slip[:, of] == pytest.approx(0, abs=1e-5)
    r = np.hypot(x, y)
    out = (state.solution.displacement[:, :2] * mesh.points[:, :2]).sum(axis=1) / r
    rim = np.abs(r - 54.0) < 1e-6
    nodes = np.isin(np.arange(len(x)), mesh.prisms[mesh.part == mesh.parts.index("barrel")]) & rim
    stands = ring(barrel, 54.0, before + after[0], after[1])
    assert out[nodes] == pytest.approx(stands, rel=0.01)
    assert out[rim & ~nodes] == pytest.approx(ring(insert, 54.0, after[1]), rel=0.01, abs=1e-5)


def test_the_rest_without_the_part_stands_as_it_does_alone():
    """Meshed and solved by itself."""
    found = lined(True, True, 0.008)
    mesh = found.model.mesh
    of_rest = mesh.part != mesh.parts.index("insert")
    nodes, prisms = np.unique(mesh.prisms[of_rest], return_inverse=True)
    number = np.full(len(mesh.points), -1)
    number[nodes] = np.arange(len(nodes))
    faces = {
        kind: {
            name: number[of][(number[of] >= 0).all(axis=1)]
            for name, of in getattr(mesh, kind).items()
        }
        for kind in ("sides", "flats")
    }
    alone = SolidMesh(
        mesh.points[nodes], prisms.reshape(-1, 18), mesh.part[of_rest], mesh.parts, **faces
    )
    held = {"y = 0": "y", "x = 0": "x", "deck": "z", "floor": "z"}
    joint = joined_at(alone, ["liner fitted"], ["barrel"])
    rest = FittedSolid(SolidModel(alone, found.model.materials, held), joint,
                       {"barrel": Fit(bonded=True)})  # fmt: skip
    stands = rest.at(np.full(len(nodes), 20.0)).solve().solution.displacement
    of_insert = np.ones(len(mesh.points), dtype=bool)
    of_insert[nodes] = False
    assert found.stuck.any()
    moved = found._moved_without(of_insert)
    assert moved[nodes] == pytest.approx(stands, abs=1e-3 * np.abs(stands).max())


@pytest.mark.parametrize("part_of_it", [False, True])
def test_a_rest_that_only_the_part_is_cut_from_stands_as_none_of_the_joint_holds_it(part_of_it):
    """A ring that has grown by itself, as large as it is alone, and one made for it.

    Pressed as by the ring that has not grown (superposition).
    """
    model, joint = rings(ALLOY, replace(IRON, misfit=2e-4))
    x, y, _ = model.mesh.points.T
    fits, far = {"outer": Fit(overlap=0.02)}, y > x if part_of_it else None
    fitted = FittedSolid(model, joint, fits, far).at(np.full(len(x), 20))
    assert fitted.stuck.any() == part_of_it
    moved, r = fitted._moved_alone(), np.hypot(x, y)
    outer = np.unique(model.mesh.prisms[model.mesh.part == model.mesh.parts.index("outer")])
    out = (moved[:, :2] * model.mesh.points[:, :2]).sum(axis=1) / r
    assert out[outer] == pytest.approx(2e-4 * r[outer], rel=1e-3)  # springs
    state = fitted.fitted_as_it_stands("inner").solve()
    plain = FittedSolid(*rings(ALLOY, IRON), fits, far).solve()
    assert state.pressure == pytest.approx(plain.pressure, rel=3e-3)
    as_drawn = fitted.solve()
    assert as_drawn.pressure.mean() < 0.6 * state.pressure.mean()


def test_a_rest_that_does_not_settle_without_the_part_is_no_result(monkeypatch):
    monkeypatch.setattr("fea.solid.fitted.STOOD", -1.0)
    with pytest.raises(SolidContactError, match="does not settle in 12 turns") as found:
        lined(False, True, 0.008).fitted_as_it_stands("insert")
    assert np.hypot(*found.value.place[:2]) == pytest.approx(54.0, abs=1e-6)


@pytest.mark.parametrize("patience", [0, 1])
def test_halves_are_tried_quickly_before_any_is_sought_long(monkeypatch, patience):
    """Whole, first half and first quarter; then patiently, halved as often as it is worth."""
    model, joint = rings(ALLOY)
    fitted = FittedSolid(model, joint, {})
    asked, search = [], fea.solid.fitted.search

    def missed(*given):
        asked.append(given[4])
        return replace(search(*given), settled=False)

    monkeypatch.setattr("fea.solid.fitted.search", missed)
    with pytest.raises(SolidContactError, match="was not found"):
        fitted.with_fits({"outer": Fit(overlap=0.02)}, patience).solve()
    patiently = [replace(SEARCH, most_cones=1)] if not patience else [SEARCH] * 2
    assert asked == [QUICK] * 3 + patiently


def test_softer_metal_is_met_by_the_one_factor():
    """Three quarters of the modulus at 120 degC, in the ring alone."""
    soft = replace(ALLOY, softening=((20.0, 1.0), (120.0, 0.75)))
    model, joint = rings(soft)
    fitted = FittedSolid(model, joint, {"outer": Fit(overlap=0.02)})
    pressed = fitted.solve()
    assert even(pressed) == pytest.approx(of_rings(0.02), rel=3e-3)
    warm = fitted.at(np.full(len(model.mesh.points), 120.0))
    softened = warm.solve(warm.model.pressure_load("bore", 9.0), before=pressed)
    expected = of_rings(0.02, rise=100, p_in=9, softer=0.75)
    assert even(softened) == pytest.approx(expected, rel=3e-3)
    assert abs(expected / of_rings(0.02, rise=100, p_in=9) - 1) > 0.05
    across = -9.0 * BORE * LENGTH
    reactions = softened.solution.reactions.sum(axis=0)
    assert reactions == pytest.approx([across, across, 0], abs=1e-4 * abs(across))


def test_bodies_between_two_temperatures_are_as_at_theirs():
    """Of a modulus that falls straight, halfway and at three quarters of the way."""
    soft = replace(ALLOY, softening=((20.0, 1.0), (220.0, 0.5)))
    model, joint = rings(soft)
    fitted = FittedSolid(model, joint, {"outer": Fit(overlap=0.02)})
    cool, hot = (fitted.at(np.full(len(model.mesh.points), of)) for of in (60.0, 180.0))
    gas = model.pressure_load("bore", 9.0)
    for share, degc in ((0.5, 120.0), (0.75, 150.0)):
        found = cool.between(hot, share).solve(gas)
        alone = fitted.at(np.full(len(model.mesh.points), degc)).solve(gas)
        assert found.solution.temperature == pytest.approx(degc)
        np.testing.assert_allclose(found.pressure, alone.pressure, rtol=1e-3)
        np.testing.assert_allclose(
            found.solution.displacement, alone.solution.displacement, atol=2e-6
        )


def test_loads_that_are_like_it_tell_what_softer_metal_asks_for(monkeypatch):
    """A third load that is put together of two begins where it ends."""
    soft = replace(ALLOY, softening=((20.0, 1.0), (120.0, 0.75)))
    model, joint = rings(soft)
    fitted = FittedSolid(model, joint, {"outer": Fit(overlap=0.02)})
    pressed = fitted.solve()
    warm = fitted.at(np.full(len(model.mesh.points), 120.0))
    gas = warm.model.pressure_load("bore", 9.0)
    like = [warm.solve(share * gas, before=pressed) for share in (0.2, 0.6)]
    alone = warm.solve(gas, before=pressed)
    turns = []
    search = fea.solid.fitted.search
    monkeypatch.setattr(
        "fea.solid.fitted.search", lambda *given: turns.append(given) or search(*given)
    )
    told = warm.solve(gas, before=pressed, guess=like[-1], like=like)
    assert len(turns) == 1
    assert told.pressure == pytest.approx(alone.pressure, rel=1e-3)
    assert told.solution.displacement == pytest.approx(alone.solution.displacement, abs=2e-6)


def test_a_bonded_side_is_one_piece():
    """As the same metal meshed as one, but for what lies between corners."""
    model, joint = rings(ALLOY, ALLOY)
    gas = model.pressure_load("bore", 9.0)
    bonded = FittedSolid(model, joint, {}).solve(gas)
    mesh = grid_solid(
        "one",
        np.concatenate([np.linspace(BORE, JOINT, 4), np.linspace(JOINT, OUTSIDE, 4)[1:]]),
        np.linspace(0, np.pi / 2, 7),
        [-LENGTH, -5, 0],
        names={"u0": "bore", "above": "middle", **QUARTER},
    )
    fixed = {"y = 0": "y", "x = 0": "x", "middle": "z"}
    one = SolidModel(mesh, {"one": ALLOY}, fixed)
    whole = one.solve(one.pressure_load("bore", 9.0))
    at_bore = [np.unique(of.mesh.sides["bore"]) for of in (model, one)]
    here, there = (
        np.linalg.norm(of.displacement[nodes][:, :2], axis=1).mean()
        for of, nodes in zip((bonded.solution, whole), at_bore, strict=True)
    )
    assert here == pytest.approx(there, rel=1e-4)
    assert bonded.pressure.mean() == pytest.approx(
        joint_pressure(BORE, JOINT, OUTSIDE, p_in=9, inner=(72_400, 0.33), outer=(72_400, 0.33)),
        rel=2e-3,
    )
    assert (bonded.gap == 0).all()
    pulled = FittedSolid(model, joint, {"outer": Fit(bonded=True)}).solve(-gas)
    assert pulled.pressure == pytest.approx(-bonded.pressure)


@pytest.fixture(scope="module")
def turned():
    """Rings held at the outside and on the floor, with friction of 0.12; and what holds them."""
    model, joint = rings(
        ALLOY, ALLOY, cells=(16, 1), whole=True, fixed={"outside": "xy", "floor": "z"}
    )
    fitted = FittedSolid(model, joint, {"outer": Fit(overlap=0.02, friction=0.12)})
    return fitted, fitted.solve()


def torque(model, moment):
    """Shear on the bore that adds up to a moment about z. [N mm]."""

    def shear(_place, normal):
        around = np.stack(
            [normal[1], -normal[0], np.zeros_like(normal[0])]
        )  # out of metal is inwards
        return around * moment / (2 * np.pi * BORE**2 * LENGTH)

    return model.face_load("bore", shear)


def test_a_joint_holds_what_its_friction_does(turned):
    fitted, pressed = turned
    most = 0.12 * JOINT * pressed.force.sum()
    held = fitted.solve(torque(fitted.model, 0.9 * most), before=pressed)
    around = np.abs(held.friction[0].sum()) * JOINT
    assert around == pytest.approx(0.9 * most, rel=5e-3)
    assert (np.hypot(*held.friction) <= 0.12 * held.force * 1.001 + 1e-3).all()
    assert np.abs(held.slip).max() < 2e-3
    with pytest.raises(SolidContactError, match="not found"):
        fitted.solve(torque(fitted.model, 1.1 * most), before=pressed)


def test_loads_abreast_are_each_as_alone(turned):
    """Held by friction and by their joint, in metal that softens; one that fails is named."""
    fitted, pressed = turned
    soft = replace(ALLOY, softening=((20.0, 1.0), (120.0, 0.75)))
    fitted = copy(fitted)
    fitted.model = fitted.model.with_materials({"outer": soft})
    warm = fitted.at(np.linspace(40.0, 110.0, len(fitted.model.mesh.points)))
    start = warm.solve(before=pressed)
    most = 0.12 * JOINT * start.force.sum()
    loads = [torque(fitted.model, share * most) for share in (0.2, 0.9, 0.5)]
    found = warm.solve_many(loads, start, [None, start, None])
    for load, state in zip(loads, found, strict=True):
        alone = warm.solve(load, start)
        assert (state.closed == alone.closed).all()
        assert state.force == pytest.approx(alone.force, rel=1e-3, abs=1e-3 * alone.force.max())
        turned_by = np.abs(alone.friction).max()
        assert state.friction == pytest.approx(alone.friction, abs=2e-3 * turned_by)
    assert np.ptp([of.friction[0].sum() for of in found]) > 0.5 * most / JOINT
    with pytest.raises(SolidContactError, match="not found") as failed:
        warm.solve_many([*loads, torque(fitted.model, 1.2 * most)], start, [None] * 4)
    assert failed.value.number == 3


def test_the_ring_around_twists_by_what_the_joint_carries(turned):
    """CHECKS: twist of a ring held outside, T / (4 pi G t) (1 / c^2 - 1 / b^2), from statics."""
    fitted, pressed = turned
    moment = 0.5 * 0.12 * JOINT * pressed.force.sum()
    held = fitted.solve(torque(fitted.model, moment), before=pressed)
    moved = held.solution.displacement - pressed.solution.displacement
    nodes = fitted.joint.other
    x, y, _ = fitted.model.mesh.points[nodes].T
    twist = ((x * moved[nodes, 1] - y * moved[nodes, 0]) / (x**2 + y**2)).mean()
    shear = 72_400 / 2 / 1.33
    closed_form = moment / (4 * np.pi * shear * LENGTH) * (1 / JOINT**2 - 1 / OUTSIDE**2)
    assert twist == pytest.approx(closed_form, rel=0.02)


def test_friction_remembers(turned):
    """Turned until part of it slips and let go, a joint keeps some of the turn and of the shear."""
    fitted, pressed = turned
    most = 0.12 * JOINT * pressed.force.sum()
    there = fitted.solve(torque(fitted.model, 0.95 * most), before=pressed)
    back = fitted.solve(before=there)
    assert np.abs(back.friction - pressed.friction).max() > 0.1 * np.abs(there.friction).max()
    once_more = fitted.solve(torque(fitted.model, 0.95 * most), before=back)
    assert once_more.slip == pytest.approx(there.slip, abs=0.05 * np.abs(there.slip).max())
    again = fitted.solve(before=once_more)
    assert again.friction == pytest.approx(back.friction, abs=0.05 * np.abs(back.friction).max())


def test_a_ring_is_pulled_off_along_its_axis(turned):
    """As much as mu p A, by friction along the second tangent."""
    fitted, pressed = turned
    most = 0.12 * pressed.force.sum()
    area = np.pi * (JOINT**2 - BORE**2)

    def pull(share):
        return -fitted.model.pressure_load("top", share * most / area)

    held = fitted.solve(pull(0.9), before=pressed)
    assert held.friction[1].sum() == pytest.approx(0.9 * most, rel=1e-3)
    assert abs(held.friction[0].sum()) < 1e-3 * most
    with pytest.raises(SolidContactError):
        fitted.solve(pull(1.15), before=pressed)


def test_what_is_refused():
    model, joint = rings(cells=(2, 1))
    with pytest.raises(ValueError, match=r"no side tie. Choose from outer"):
        FittedSolid(model, joint, {"tie": Fit()})
