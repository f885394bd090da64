"""Contact: pairs, fits, what a solution must obey, and what is said when it can't be found."""

from dataclasses import replace

import numpy as np
import pytest
from fea_meshes import ring, uniform
from sections import LOCAL, SINGLE, UNIFORM, section

import fea.contact.interior
import fea.contact.search
from fea.contact import SETTINGS, Compound, ContactError, Fit, FittedModel, pairs_of
from fea.contact.search import SetsSearch
from fea.material import Material
from fea.model import SectionModel
from fea.stress import recover
from geometry import Insert, Layer, UniformDepth
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import part_off, parts_off

ALLOY = Material("alloy", 72_000.0, 0.33, expansion=21.5e-6, softening=((20.0, 1.0), (220.0, 0.8)))
BAR = Material("bar", 69_000.0, 0.33, expansion=23.6e-6)
IRON = Material("iron", 105_000.0, 0.26, expansion=10.8e-6)
MATERIALS = {"barrel": ALLOY, "tie": ALLOY, "outer wall": ALLOY, "liner": IRON, "insert": BAR}
SIDES = ("barrel", "tie", "outer wall")
TIGHT = {("insert", part): Fit(overlap=0.005, friction=0.15) for part in SIDES}


def gas(model, q=420.0, edge="bore"):
    return model.model.edge_load(edge, lambda _x, _y, nx, ny: -q * np.stack([nx, ny]))


def heat(parted):
    x, y = parted.mesh.points.T
    return 95 + 60 * np.exp(-(np.hypot(x, y) - 43.5) / 10)


@pytest.fixture(scope="module")
def mesh():
    outline = draw_section(section(SINGLE, LOCAL))
    return mesh_outline(outline, element_size=9.0, detail=0.35)


@pytest.fixture(scope="module")
def parted(mesh):
    return part_off(mesh, "insert")


@pytest.fixture(scope="module")
def cold(parted):
    return FittedModel(parted, MATERIALS, TIGHT)


@pytest.fixture(scope="module")
def steps(cold, parted):
    """Pressed in cold, warm, warm with gas, cold again: the models and what they do."""
    warm = cold.at(heat(parted))
    pressed = cold.solve()
    heated = warm.solve(before=pressed)
    fired = warm.solve(gas(warm), heated)
    return [(cold, pressed, None), (warm, heated, None), (warm, fired, gas(warm)),
            (cold, cold.solve(before=fired), None)]  # fmt: skip


@pytest.fixture(scope="module")
def rings():
    layers = [uniform("insert", 8.0), uniform("barrel", 20.0)]
    return part_off(ring((45, 52, 75), layers, 4.0), "insert")


def ring_model(rings, friction=0.0, overlap=0.03):
    return FittedModel(
        rings, MATERIALS, {("insert", "barrel"): Fit(overlap=overlap, friction=friction)}
    )


def test_pairs_of_a_ring(rings):
    pairs = pairs_of(rings)
    points = rings.mesh.points[pairs.own]
    assert (points == rings.mesh.points[pairs.other]).all()
    radial = points / np.hypot(*points.T)[:, None]
    assert (pairs.normal * radial).sum(axis=1) == pytest.approx(1, abs=1e-4)
    assert (pairs.tangent * (radial[:, ::-1] * [-1, 1])).sum(axis=1) == pytest.approx(1, abs=1e-4)
    assert pairs.area.sum() == pytest.approx(2 * np.pi * 52 * 8, rel=1e-5)
    assert set(pairs.against) == {"barrel"}


def standing_off(parted, gap):
    """The same joint with a gap, one for all nodes or by node of each side. [mm]."""
    gap = np.broadcast_to(gap, parted.joint.depth.shape)
    return replace(parted, joints=(replace(parted.joint, gap=gap),))


def test_a_gap_takes_from_the_overlap(rings):
    """A ring that stands off by 10 um all round is fitted by as much less."""
    gapped = ring_model(standing_off(rings, 0.01), overlap=0.03).solve().contact
    less = ring_model(rings, overlap=0.02).solve().contact
    assert gapped.force == pytest.approx(less.force, rel=1e-9)
    away = ring_model(standing_off(rings, 0.04), overlap=0.03).solve().contact
    assert not away.closed.any()
    assert away.gap == pytest.approx(0.01, abs=1e-6)


def test_a_bond_fills_the_gap(rings):
    fits = {("insert", "barrel"): Fit(overlap=0.02, bonded=True)}
    bonded, gapped = (FittedModel(one, MATERIALS, fits).solve().contact.force
                      for one in (rings, standing_off(rings, 0.01)))  # fmt: skip
    assert gapped == pytest.approx(bonded, rel=1e-12)


def test_where_all_stands_off_no_face_is_plain(rings):
    nodes = rings.mesh.points[rings.joint.own]
    gap = np.where(nodes[..., 1] > 0, 0.02, 0.0)
    pairs = pairs_of(standing_off(rings, gap))
    everywhere = np.ones(len(pairs.own), dtype=bool)
    above = rings.mesh.points[pairs.own, 1] > 0
    assert (pairs.faces(everywhere) == ~above).all()
    assert (pairs.faces(above) == above).all()


def test_area_of_pairs_is_that_of_the_sides(parted):
    pairs, joint = pairs_of(parted), parted.joint
    ends = parted.mesh.points[joint.own]
    bulge = ends[:, 2] - (ends[:, 0] + ends[:, 1]) / 2
    chord = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    length = chord + 8 / 3 * (bulge**2).sum(axis=1) / chord  # of a flat arc
    mean = joint.depth @ np.array([1, 1, 4]) / 6
    assert pairs.area.sum() == pytest.approx((length * mean).sum(), rel=1e-3)
    assert set(pairs.against) == set(SIDES)


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"friction": -0.1}, "friction = -0.1 must not be negative"),
        ({"friction": np.nan}, "friction = nan must not be negative"),
        ({"overlap": np.inf}, "overlap = inf mm must be a number"),
    ],
)
def test_fits_that_are_none(values, message):
    with pytest.raises(ValueError, match=message):
        Fit(**values)


GLUE = {"tension": ((20, 8.0),), "shear": ((20, 12.0), (150, 4.0)), "fills": 0.1, "friction": 0.1}


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"tension": ()}, "no tension strength at any temperature"),
        ({"shear": ((20, -1.0),)}, "shear strength of -1 MPa at 20 degC must not be negative"),
        ({"shear": ((20, np.nan),)}, "shear strength of nan MPa"),
        ({"tension": ((-300, 1.0),)}, "below absolute zero"),
        ({"shear": ((150, 4.0), (20, 12.0))}, "at 150 degC stands before that at 20 degC"),
        ({"fills": -0.1}, "fills = -0.1 mm must not be negative"),
        ({"friction": np.inf}, "friction = inf must not be negative"),
    ],
)
def test_compounds_that_are_none(values, message):
    with pytest.raises(ValueError, match=message):
        Compound(**(GLUE | values))


def test_what_is_bonded_needs_no_compound():
    with pytest.raises(ValueError, match="a compound holds nothing there"):
        Fit(bonded=True, compound=Compound(**GLUE))


def test_a_fit_against_what_is_not_there(rings):
    with pytest.raises(ValueError, match=r"insert does not touch tie\. Choose from barrel\."):
        FittedModel(rings, MATERIALS, {("insert", "tie"): Fit()})
    with pytest.raises(ValueError, match="does not touch tie"):
        ring_model(rings).with_fits({("insert", "tie"): Fit()})


def test_pairs_of_one_of_several_joints(mesh, parted):
    both = pairs_of(parts_off(mesh, ("insert", "liner")))
    alone, found = pairs_of(parted), both.of("insert")
    for name in ("area", "normal", "part", "against", "sides"):
        assert (getattr(found, name) == getattr(alone, name)).all()
    liner = both.of("liner")
    assert len(liner.own) + len(found.own) == len(both.own)
    ends = np.stack([liner.own[liner.sides[:, 0]], liner.own[liner.sides[:, 1]]])
    assert set(both.own[both.sides[len(found.sides) :].T].ravel()) == set(ends.ravel())
    assert set(liner.against) == {"barrel"}


def test_a_fit_of_a_part_that_is_not_cut_loose(rings):
    with pytest.raises(ValueError, match=r"the liner is not cut loose\. Choose from insert\."):
        FittedModel(rings, MATERIALS, {("liner", "barrel"): Fit()})


def test_a_joint_is_named_where_what_touches_is_in_doubt(mesh, parted):
    """The liner's alone is in doubt: a pair of the insert's has the larger area, and no doubt."""
    model = FittedModel(parts_off(mesh, ("insert", "liner")), MATERIALS, {})
    error = model._search.error("{part}!", (model.pairs.part == "liner").astype(float))
    assert (str(error), error.part, error.against) == ("liner!", "liner", "barrel")


def test_a_part_that_touches_nothing():
    layers = (Layer("insert", UniformDepth(5.0)),), (Layer("barrel", UniformDepth(8.0), 6.0),)
    apart = part_off(ring((40, 50, 60), layers, 6.0), "insert")
    with pytest.raises(ValueError, match="insert touches nothing"):
        FittedModel(apart, MATERIALS, {})


@pytest.mark.parametrize("insert", [None, UNIFORM], ids=["rings", "block"])
def test_a_bonded_part_is_as_if_never_cut(insert):
    """Without relief cuts: metal of the insert and below it would part there."""
    if insert:
        outline = draw_section(section(SINGLE, insert, relief_cuts=()))
        mesh = mesh_outline(outline, element_size=9.0, detail=0.35)
    else:
        mesh = ring((45, 52, 75), [uniform("insert", 8.0), uniform("barrel", 20.0)], 4.0)
    parted = part_off(mesh, "insert")
    model = FittedModel(parted, MATERIALS, {})
    x, y = mesh.points.T
    warmth = 95 + 60 * np.exp(-(np.hypot(x, y) - 43.5) / 10)
    whole = SectionModel(mesh, MATERIALS).at(warmth)
    uncut = whole.solve(420.0).displacement[parted.origin]
    found = model.at(warmth[parted.origin]).solve(gas(model)).solution.displacement
    x, y = parted.mesh.points.T
    one, none = np.ones_like(x), np.zeros_like(x)
    rigid = np.stack([np.r_[one, none], np.r_[none, one], np.r_[-y, x]], axis=1)
    off = (found - uncut).T.ravel()
    off -= rigid @ np.linalg.lstsq(rigid, off, rcond=None)[0]
    assert np.abs(off).max() < 1e-9 * np.abs(uncut).max()


@pytest.mark.parametrize("bonded", ["outer wall", "barrel"])
def test_a_bond_goes_as_far_as_its_part(cold, bonded):
    """Not as far as the longer of two sides that meet at its end, which is by the mesh."""
    fits = {side: Fit(overlap=0.01, friction=0.1) for side in set(cold.pairs.side)}
    fits["insert", bonded] = Fit(bonded=True, overlap=0.02)
    found, pairs = cold.with_fits(fits), cold.pairs
    reached = np.unique(pairs.sides[pairs.along == bonded])
    np.testing.assert_array_equal(np.flatnonzero(found.bonded), reached)
    assert (pairs.against[reached] != bonded).any()
    assert (pairs.along != bonded).any()


def test_another_fit_is_as_a_new_model(cold, parted):
    of = {"barrel": Fit(overlap=0.01), "tie": Fit(overlap=-0.02), "outer wall": Fit(bonded=True)}
    fits = {("insert", part): fit for part, fit in of.items()}
    reused = cold.with_fits(fits).solve()
    fresh = FittedModel(parted, MATERIALS, fits).solve()
    assert (reused.contact.closed == fresh.contact.closed).all()
    assert reused.contact.force == pytest.approx(fresh.contact.force, rel=1e-6, abs=1e-6)
    assert cold.fits == TIGHT


def test_another_temperature_is_as_a_new_model(cold, parted, steps):
    warm = FittedModel(parted, MATERIALS, TIGHT).at(heat(parted))
    again = warm.solve(before=steps[0][1])
    assert again.contact.force == pytest.approx(steps[1][1].contact.force, rel=1e-5, abs=2e-5)
    back = cold.at(heat(parted)).at(np.full(len(parted.mesh.points), 20.0)).solve()
    assert back.contact.force == pytest.approx(steps[0][1].contact.force, rel=1e-5, abs=2e-5)


def test_laws_of_contact_hold(steps):
    for model, step, _ in steps:
        contact = step.contact
        mean = contact.force.sum() / contact.closed.sum()
        mu = 0.15
        assert contact.force.min() > -1e-3 * mean
        assert not contact.force[~contact.closed].any()
        assert contact.gap.min() > -1e-6
        assert not contact.gap[contact.closed].any()
        assert (np.abs(contact.friction) <= mu * contact.force.clip(0) + 1e-3 * mean).all()
        slides = contact.closed & ~contact.sticks & (contact.friction != 0)
        assert np.abs(contact.friction[slides]) == pytest.approx(
            mu * contact.force[slides], abs=1e-3 * mean
        )
        assert contact.pressure * model.pairs.area == pytest.approx(contact.force)
        assert contact.closed.any()
        assert not contact.closed.all() or step is steps[0][1]


def test_forces_on_every_piece_balance(steps):
    """Normal force and friction hold what the gas and nothing else puts on each body."""
    for model, step, forces in steps:
        pairs, contact, points = model.pairs, step.contact, model.parted.mesh.points
        on_part = -contact.force[:, None] * pairs.normal + contact.friction[:, None] * pairs.tangent
        total = np.zeros_like(points) if forces is None else forces.copy()
        np.add.at(total, pairs.own, on_part)
        np.add.at(total, pairs.other, -on_part)
        total += step.solution.reactions
        body = np.full(len(points), -1)
        body[model.parted.mesh.triangles] = model.model.bodies[:, None]
        largest = np.abs(on_part).sum()
        for number in range(body.max() + 1):
            here = body == number
            (x, y), (fx, fy) = points[here].T, total[here].T
            assert np.abs(total[here].sum(axis=0)).max() < 3e-4 * largest
            assert abs((x * fy - y * fx).sum()) < 3e-4 * largest * 60
        assert np.abs(step.solution.hold_reactions).max() < 1e-6 * largest


def test_the_springs_of_a_piece_do_not_count(parted, steps):
    loose = {("insert", part): Fit(overlap=-0.03, friction=0.15) for part in SIDES}
    for times in (0.1, 10.0):
        model = FittedModel(parted, MATERIALS, TIGHT, replace(SETTINGS, aid=times * SETTINGS.aid))
        again = model.solve()
        pressed = steps[0][1].contact
        assert again.contact.force == pytest.approx(pressed.force, abs=1e-3 * pressed.force.max())
    model = FittedModel(parted, MATERIALS, loose)
    apart = model.solve(gas(model, 50.0))
    assert not apart.contact.closed.any()
    inside = np.unique(parted.joint.own)
    assert np.abs(apart.solution.displacement[inside]).max() < 0.05


def test_residual_slip_after_a_load(rings):
    """The bore is pressed oval and let go: what slid stays where friction keeps it."""
    model = ring_model(rings, friction=0.1)
    pressed = model.solve()
    oval = model.model.edge_load(
        "bore",
        lambda x, y, nx, ny: -250 * np.cos(2 * np.arctan2(y, x)) * np.stack([nx, ny]),
    )
    loaded = model.solve(oval, pressed)
    back = model.solve(before=loaded)
    assert not loaded.contact.sticks.all()
    assert np.abs(back.contact.slip).max() > 1e-5
    assert np.abs(back.contact.slip).max() < np.abs(loaded.contact.slip).max()
    assert np.abs(back.contact.friction).max() > 10 * np.abs(pressed.contact.friction).max()
    again = model.solve(oval, back)
    assert again.contact.slip == pytest.approx(loaded.contact.slip, abs=2e-5)


@pytest.mark.parametrize("friction", [0.0, 0.1])
def test_where_all_pairs_let_go_no_stress_is_left(rings, friction):
    """But for the springs of a loose piece, 2 % here."""
    model = ring_model(rings, friction)
    oval = model.model.edge_load(
        "bore", lambda x, y, nx, ny: -20 * np.cos(2 * np.arctan2(y, x)) * np.stack([nx, ny])
    )
    pressed = model.solve(before=model.solve(oval))
    assert pressed.contact.closed.all()
    change = model.let_go(pressed.contact.closed, pressed)
    for layer, less in zip(recover(pressed.solution), recover(change), strict=True):
        assert less.stress == pytest.approx(-layer.stress, abs=0.05 * np.abs(layer.stress).max())


def test_a_pair_that_lets_go_is_pushed_through_by_what_pressed_it(rings):
    """The others stay as they are, so that what changes fades away from it."""
    model = ring_model(rings)
    pressed = model.solve()
    pair = np.arange(len(pressed.contact.closed)) == 7
    change = model.let_go(pair, pressed)
    pairs, points = model.pairs, model.parted.mesh.points
    jump = change.displacement[pairs.own] - change.displacement[pairs.other]
    normal = (jump * pairs.normal).sum(axis=1)
    assert normal[pair] > 1e-5
    assert np.abs(normal[~pair]).max() < 1e-3 * normal[pair]
    stress = np.abs(np.concatenate([layer.stress[0] for layer in recover(change)]))
    nodes = np.concatenate([layer.nodes for layer in recover(change)])
    away = np.hypot(*(points[nodes] - points[pairs.own[pair]]).T)
    assert stress[away > 40].max() < 0.02 * stress[away < 5].max()


@pytest.fixture(scope="module")
def hasty(parted):
    """A model that gives up at once."""
    at_once = replace(SETTINGS, most_at_once=1, most_alone=1, most_iterations=1)
    return FittedModel(parted, MATERIALS, TIGHT, at_once)


def test_sets_that_are_not_found(hasty, parted):
    with pytest.raises(ContactError, match="what touches of the insert was not found in 1 iter"):
        hasty.at(heat(parted)).solve()


@pytest.mark.parametrize("side", SIDES)
def test_what_is_not_found_names_the_side_that_is_in_doubt(hasty, parted, side):
    """Only one side can open or slide; the place lies on it."""
    model = hasty.with_fits({("insert", side): Fit(overlap=0.005, friction=0.15)}).at(heat(parted))
    with pytest.raises(ContactError) as caught:
        model.solve(gas(model))
    assert caught.value.against == side
    of_side = parted.mesh.points[model.pairs.own[model.pairs.against == side]]
    assert (of_side == caught.value.place).all(axis=1).any()


def test_sets_begun_from_inside_are_the_same(cold, steps, monkeypatch):
    """The interior-point method leads to where the active sets lead by themselves."""
    asked = []

    def counted(*given, **named):
        asked.append(fea.contact.interior.from_inside(*given, **named))
        return asked[-1]

    monkeypatch.setattr(SetsSearch, "_not_on_their_way", lambda *_: True)
    monkeypatch.setattr(fea.contact.search, "from_inside", counted)
    before = None
    for model, step, forces in steps[:3]:
        again = model.solve(forces, before)
        largest = step.contact.force.max()
        assert again.contact.force == pytest.approx(step.contact.force, abs=2e-3 * largest)
        assert again.contact.friction == pytest.approx(step.contact.friction, abs=5e-3 * largest)
        wrong = np.count_nonzero(asked[-1].closed != step.contact.closed)
        assert wrong <= 0.01 * len(asked[-1].closed)
        assert again.iterations <= 25
        before = step
    assert len(asked) == 3


def test_a_step_begun_from_its_own_answer_is_found_sooner(steps):
    """Pairs that closed within the step slide free of friction in the guess as they did there."""
    (_, pressed, _), (model, heated, _), *_ = steps
    assert (heated.contact.closed & ~pressed.contact.closed).any()
    again = model.solve(before=pressed, guess=heated)
    np.testing.assert_array_equal(again.contact.closed, heated.contact.closed)
    assert again.iterations <= 2 < heated.iterations


def test_the_joint_by_itself_is_as_the_whole_section(parted, steps):
    """Also at another temperature than that of the joint, and begun from what is another's."""
    section = FittedModel(parted, MATERIALS, TIGHT, replace(SETTINGS, most_condensed=0))
    before = None
    for model, step, forces in steps:
        here = section if model.temperature is None else section.at(model.temperature)
        whole = here.solve(forces, before)
        assert step.contact.force == pytest.approx(whole.contact.force, rel=1e-4, abs=1e-2)
        assert step.contact.friction == pytest.approx(whole.contact.friction, rel=1e-3, abs=1e-2)
        moved = whole.solution.displacement
        assert step.solution.displacement == pytest.approx(moved, rel=1e-5, abs=1e-7)
        before = step
    (cold, pressed, _), _, (warm, fired, forces), _ = steps
    chilled = cold.solve(forces, pressed)
    assert np.abs(fired.softer).max() > 10
    assert not chilled.softer.any()
    for model, found, other in ((cold, chilled, fired), (warm, fired, chilled)):
        again = model.solve(forces, pressed if model is cold else steps[1][1], other)
        assert again.contact.force == pytest.approx(found.contact.force, rel=1e-4, abs=1e-2)


def test_an_open_ring_that_springs_off_its_fit_is_found():
    """Active sets open so long a joint a few pairs at a time, which is cheap by the joint alone."""
    one_tie = replace(SINGLE, ties=SINGLE.ties[:1], relief_cuts=())
    outline = draw_section(section(one_tie, Insert(depth=10, width=5)))
    mesh = mesh_outline(outline, element_size=4.0, detail=0.35)
    model = FittedModel(
        part_off(mesh, "insert"),
        MATERIALS,
        {("insert", "barrel"): Fit(), ("insert", "tie"): Fit(overlap=0.05)},
    )
    for step in (pressed := model.solve(), model.solve(gas(model), pressed)):
        assert step.iterations <= SETTINGS.most_alone
        contact = step.contact
        mean = contact.force.sum() / contact.closed.sum()
        assert contact.closed.mean() < 0.3
        assert contact.force.min() > -1e-3 * mean
        assert contact.gap.min() > -1e-5


def test_a_hard_step_is_taken_in_halves(cold, parted, steps, monkeypatch):
    whole, step, asked = steps[1][1], FittedModel._step, []

    def refuses_the_first(self, load, *rest):
        asked.append(load)
        if len(asked) == 1:
            raise ContactError("", "insert", "barrel", np.zeros(2))
        return step(self, load, *rest)

    monkeypatch.setattr(FittedModel, "_step", refuses_the_first)
    halved = cold.at(heat(parted)).solve(before=steps[0][1])
    assert len(asked) == 3
    assert asked[1] == pytest.approx((asked[2] + steps[0][1].load) / 2)
    assert halved.contact.force.sum() == pytest.approx(whole.contact.force.sum(), rel=0.02)
    asked.clear()
    pressed = cold.solve()
    assert pressed.contact.force == pytest.approx(steps[0][1].contact.force, rel=0.1, abs=20)
