"""Heat: which metal is under which film, balance, joints that open, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from fea_meshes import Slope, ring, uniform
from sections import BANK, LOCAL, SINGLE, section
from skfem import CellBasis, ElementTriP2, FacetBasis
from weak_forms import conduction, film_loss

from fea.heat import (
    Film,
    Films,
    HeatField,
    HeatModel,
    Underside,
    conduction_products,
    find_surfaces,
    paths_of,
)
from fea.material import Material
from fea.model import SectionModel
from geometry import Insert
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import carried, part_off
from geometry.section_mesh import Layer, UniformDepth

ALLOY = Material("alloy", 70_000.0, 0.33, conductivity=0.15)
IRON = Material("iron", 110_000.0, 0.26, conductivity=0.05)
MATERIALS = {"barrel": ALLOY, "tie": ALLOY, "outer wall": ALLOY, "insert": ALLOY, "liner": IRON}
GAS, WATER = Film(5e-4, 900.0), Film(5e-3, 90.0)
UNDERSIDES = (
    Underside(part="insert", path="underside of insert", at_depth=True),
    Underside(part="tie", path="underside of ties", at_depth=False),
)
PATHS = paths_of(UNDERSIDES)
FILMS = Films(gas=GAS, coolant=WATER, joints={"insert": 5e-3, "liner": 0.02}, undersides=UNDERSIDES)
LAYERS = (
    (Layer("barrel", UniformDepth(20.0)),),
    (Layer("barrel", Slope(8.0, 0.02), top=10.0), Layer("insert", UniformDepth(5.0))),
)


def drawn(block, insert=None, **changes):
    outline = draw_section(section(block, insert, **changes))
    return outline, mesh_outline(outline, element_size=10.0, detail=0.3)


@pytest.fixture(scope="module")
def bank():
    """Three bores with a deep insert, whole, and with insert and liner cut loose."""
    outline, whole = drawn(BANK, LOCAL)
    first = part_off(whole, "insert")
    second = part_off(first.mesh, "liner")
    return outline, whole, second.mesh, (carried(first.joint, second), second.joint)


@pytest.fixture(scope="module")
def mesh():
    return ring([50, 65, 80], LAYERS, 9)


def area(mesh, *paths):
    return sum(s.area.sum() for s in find_surfaces(mesh, UNDERSIDES) if s.path in paths)


def matrix(surfaces, n):
    """Of films with a coefficient of 1 on some surfaces."""
    total = np.zeros((n, n))
    for surface in surfaces:
        low, high = np.tril_indices(surface.nodes.shape[1])
        one, other = surface.nodes[:, low].T, surface.nodes[:, high].T
        np.add.at(total, (one, other), surface.squares)
        off = low != high
        np.add.at(total, (other[off], one[off]), surface.squares[off])
    return total


def test_conduction_is_the_weak_form_of_scikit_fem(mesh):
    model = SectionModel(mesh, MATERIALS)
    basis = CellBasis(model.basis.mesh, ElementTriP2(), intorder=2)
    x, y = np.asarray(basis.global_coordinates())
    k = np.zeros_like(x)
    for index, layers in enumerate(mesh.regions):
        inside = mesh.region == index
        for layer in layers:
            k[inside] += layer.thickness(x[inside], y[inside]) * MATERIALS[layer.part].conductivity
    number = model.dofs[:, 0] // 2
    expected = conduction.assemble(basis, k=k)[number][:, number].toarray()
    n = len(mesh.points)
    low, high = np.tril_indices(6)
    found = np.zeros((n, n))
    products = conduction_products(mesh, MATERIALS)
    for a, b, values in zip(low, high, products, strict=True):
        np.add.at(found, (mesh.triangles[:, a], mesh.triangles[:, b]), values)
        if a != b:
            np.add.at(found, (mesh.triangles[:, b], mesh.triangles[:, a]), values)
    assert np.abs(found - expected).max() < 1e-12 * np.abs(expected).max()


def test_films_are_the_weak_form_of_scikit_fem(mesh):
    """On the walls of the bore, 20 mm deep, and on the underside of the insert."""
    model = SectionModel(mesh, MATERIALS)
    number = model.dofs[:, 0] // 2
    plain = model.basis.mesh
    radius = np.hypot(*plain.p[:, plain.facets].mean(axis=1))
    on_bore = FacetBasis(plain, ElementTriP2(), facets=np.flatnonzero(radius < 50.1), intorder=7)
    below = CellBasis(plain, ElementTriP2(), elements=np.flatnonzero(mesh.region == 1), intorder=4)
    surfaces = find_surfaces(mesh, UNDERSIDES)
    for path, basis, h in (("gas", on_bore, 20.0), ("underside of insert", below, 1.0)):
        expected = film_loss.assemble(basis, h=h)[number][:, number].toarray()
        found = matrix([s for s in surfaces if s.path == path], len(mesh.points))
        assert np.abs(found - expected).max() < 1e-6 * np.abs(expected).max()


def test_what_stands_in_the_water(bank):
    """Areas of a bank, from its outline; the coarse mesh cuts the fillets of the ties short."""
    outline, whole, _, _ = bank
    depth = max(layer.thickness.thickness for layer in whole.regions[0])
    assert area(whole, "gas") == pytest.approx(3 * np.pi * 87 * depth, rel=1e-4)
    assert area(whole, "underside of insert") == pytest.approx(outline.insert_area, rel=1e-3)
    assert area(whole, "underside of ties") == pytest.approx(outline.part_area("tie"), rel=5e-3)
    floors = {r for r, layers in enumerate(whole.regions) if any(at.top > 0 for at in layers)}
    floor = sum(outline.area(face) for face in outline.faces if face.region in floors)
    deck = sum(outline.area(face) for face in outline.faces)
    assert area(whole, "head") == pytest.approx(deck, rel=1e-4)
    # floors, and the walls of the pockets that the insert leaves free
    assert area(whole, "relief cuts") > floor


@pytest.mark.parametrize("insert", [None, Insert(depth=10), LOCAL], ids=["bare", "even", "local"])
def test_walls_of_a_jacket(insert):
    """By hand: each side of the jacket is wet from the insert's underside (or the deck) down to
    H, and below the ties too; the ties' own sides from the underside down to 12 mm. With relief
    cuts and zones left out the jacket is two circles."""
    if insert is LOCAL:
        insert = replace(LOCAL, zones=())
    _, mesh = drawn(SINGLE, insert, relief_cuts=(), ties=(), depth=30.0)
    top = 0.0 if insert is None else insert.depth
    around = 2 * np.pi * (43.5 + 2.5 + 6) + 2 * np.pi * (43.5 + 2.5 + 6 + 9)
    assert area(mesh, "jacket") == pytest.approx(around * (30 - top), rel=1e-4)
    assert area(mesh, "relief cuts") == 0


def test_a_tie_wets_the_walls_below_it():
    _, mesh = drawn(SINGLE, relief_cuts=(), depth=30.0)
    sides = mesh.points[mesh.edges["jacket"]]
    steps = mesh.points[mesh.edges["step"]]
    depth = np.where(_of_ties(mesh, "jacket"), 12.0, 30.0)
    expected = depth @ _length(sides) + (30 - 12) * _length(steps).sum()
    assert area(mesh, "jacket") == pytest.approx(expected, rel=1e-3)


def _of_ties(mesh, edge):
    tie = [any(layer.part == "tie" for layer in layers) for layers in mesh.regions]
    nodes = np.unique(mesh.triangles[np.array(tie)[mesh.region]][:, 3:])
    return np.isin(mesh.edges[edge][:, 2], nodes)


def _length(sides):
    """Of quadratic sides, by their two halves."""
    half = [np.hypot(*(sides[:, 2] - sides[:, i]).T) for i in range(2)]
    return half[0] + half[1]


def test_cutting_parts_loose_leaves_every_wall_as_it_was(bank):
    _, whole, parted, _ = bank
    for path in PATHS:
        assert area(parted, path) == pytest.approx(area(whole, path), rel=1e-9), path


def test_pockets_are_wet_unless_the_insert_fills_them():
    floor = Layer("barrel", UniformDepth(12.0), top=8.0)
    for depth, wet in ((5.0, True), (8.0, False)):
        insert = Layer("insert", UniformDepth(depth))
        mesh = ring([50, 65, 80], [uniform("barrel", 20.0), (floor, insert)], 9)
        ground = np.pi * (80**2 - 65**2)
        assert area(mesh, "underside of insert") == pytest.approx(ground * wet, rel=1e-4)
        expected = ground * wet + 2 * np.pi * 65 * (8 - depth)
        assert area(mesh, "relief cuts") == pytest.approx(expected, rel=1e-4, abs=1e-9)
        for at, *_ in [part_off(mesh, "insert").mesh], [mesh]:
            assert area(at, "outside") == pytest.approx(2 * np.pi * 80 * (12 + depth), rel=1e-4)
            assert area(at, "underside of insert") == pytest.approx(ground * wet, rel=1e-4)


def test_only_undersides_that_are_named_are_wet(bank):
    """By any name of a part, on a path of any name."""
    mesh = bank[2]
    plate = Underside(part="tie", path="plate", at_depth=False)
    assert {surface.path for surface in find_surfaces(mesh)}.isdisjoint({"plate", *PATHS[3:5]})
    renamed = sum(of.area for of in find_surfaces(mesh, (plate,)) if of.path == "plate")
    same = sum(of.area for of in find_surfaces(mesh, UNDERSIDES) if of.path == PATHS[4])
    assert renamed.sum() > 0
    assert (renamed == same).all()


def test_an_insert_of_the_sections_depth_has_an_underside_and_a_tie_has_none():
    for part, expected in (("insert", True), ("tie", False), ("barrel", False)):
        mesh = ring([50, 65, 80], [uniform("barrel", 20.0), uniform(part, 20.0)], 9)
        found = area(mesh, "underside of insert", "underside of ties")
        assert found == pytest.approx(np.pi * (80**2 - 65**2) * expected, rel=1e-4)


def test_heat_that_enters_leaves(bank):
    """All films at work; through the liner goes what the gas brings, less what the head takes."""
    _, _, mesh, joints = bank
    films = replace(FILMS, head=Film(1e-3, 150.0), outside=Film(5e-5, 40.0))
    field = HeatModel(mesh, MATERIALS, films, joints).solve()
    assert set(field.heat) == set(PATHS)
    assert field.heat["gas"] > 0
    assert all(field.heat[path] < 0 for path in PATHS if path not in ("gas", "head"))
    assert abs(sum(field.heat.values())) < 1e-9 * field.heat["gas"]
    (deck,) = find_surfaces(mesh, paths=["head"])
    inside = np.unique(mesh.triangles[_region_of(mesh, "liner")])
    to_head = deck.area[inside] @ (1e-3 * (150.0 - field.temperature[inside]))
    assert field.joint_heat["liner"] == pytest.approx(-field.heat["gas"] - to_head, rel=1e-9)
    assert field.joint_heat["insert"] > 0


def _region_of(mesh, part):
    regions = [any(layer.part == part for layer in layers) for layers in mesh.regions]
    return np.array(regions)[mesh.region]


def test_heat_flux_enters_as_given(mesh):
    films = Films(gas=0.25, outside=Film(2e-3, 50.0))
    field = HeatModel(mesh, MATERIALS, films).solve()
    assert field.heat["gas"] == pytest.approx(0.25 * 2 * np.pi * 50 * 20, rel=1e-5)
    assert field.heat["outside"] == pytest.approx(-field.heat["gas"], rel=1e-9)


def test_one_temperature_all_round_is_kept(bank):
    _, _, mesh, joints = bank
    same = Films(
        gas=Film(1e-3, 90), coolant=WATER, head=WATER, joints=FILMS.joints, undersides=UNDERSIDES
    )
    field = HeatModel(mesh, MATERIALS, same, joints).solve()
    assert np.abs(field.temperature - 90).max() < 1e-9
    assert max(map(abs, field.joint_heat.values())) < 1e-6


def test_a_perfect_joint_is_none(bank):
    """Conductance without end: the whole mesh, but for the floors of pockets, which share the
    temperature of the insert above them only while they are one body."""
    _, whole, mesh, joints = bank
    perfect = replace(FILMS, joints=dict.fromkeys(FILMS.joints, 1e4))
    bonded = HeatModel(whole, MATERIALS, FILMS).solve()
    field = HeatModel(mesh, MATERIALS, perfect, joints).solve()
    for path in PATHS:
        assert field.heat[path] == pytest.approx(bonded.heat[path], rel=1e-2, abs=1e-6)
    assert field.hottest("insert").temperature_degc == pytest.approx(
        bonded.hottest("insert").temperature_degc, abs=0.3
    )


def test_a_joint_passes_heat_where_it_touches(bank):
    _, _, mesh, joints = bank
    model = HeatModel(mesh, MATERIALS, FILMS, joints)
    whole = model.solve()
    none = np.zeros(len(mesh.points), dtype=bool)
    open_ = model.solve({"insert": none})
    assert open_.joint_heat["insert"] == 0
    insert = np.unique(mesh.triangles[_region_of(mesh, "insert")])
    assert open_.temperature[insert] == pytest.approx(np.full(len(insert), 90.0), abs=1e-6)
    half = model.solve({"insert": mesh.points[:, 0] > 0})
    assert 0 < half.joint_heat["insert"] < whole.joint_heat["insert"]
    left = insert[mesh.points[insert, 0] < -60]
    assert half.temperature[left] == pytest.approx(np.full(len(left), 90.0), abs=5.0)
    again = model.solve()
    assert np.abs(again.temperature - whole.temperature).max() < 1e-9


def test_bore_temperature_by_the_clock(mesh):
    x, y = mesh.points.T
    field = HeatField(mesh, 100 + 0.4 * x + 0.6 * y, {}, {})
    around = field.around_bore()
    assert around.shape == (360,)
    assert around[[0, 90, 180, 270]] == pytest.approx([130, 120, 70, 80], abs=1e-3)
    with pytest.raises(ValueError, match='no edge "slot"'):
        field.around_bore("slot")


def test_hottest_place_of_a_part(mesh):
    x, y = mesh.points.T
    field = HeatField(mesh, 100 + x, {}, {})
    barrel, insert = field.hottest("barrel"), field.hottest("insert")
    assert (barrel.part, barrel.clock) == ("barrel", "3:00")
    assert barrel.temperature_degc == pytest.approx(180)
    assert insert.radius_mm == pytest.approx(80)
    assert (insert.x_mm, insert.y_mm) == pytest.approx((80, 0))
    cold = HeatField(mesh, 100 - y, {}, {}).hottest("insert")
    assert cold.clock_hours == pytest.approx(6, abs=0.2)
    with pytest.raises(ValueError, match="no layer of the mesh is of the part tie"):
        field.hottest("tie")


@pytest.mark.parametrize(
    "films",
    [
        Films(gas=GAS),
        Films(gas=0.2),
        Films(gas=GAS, coolant=Film(0.0, 90.0)),
        Films(gas=GAS, coolant=Film(0.0, 90.0), outside=Film(0.0, 20.0), head=Film(0.0, 20.0)),
    ],
)
def test_no_way_out_for_the_heat(films):
    mesh = ring([50, 80], [uniform("barrel", 20.0)], 9)
    with pytest.raises(ValueError, match=r"no way out for the heat of the barrel\. Give a film"):
        HeatModel(mesh, MATERIALS, films).solve()


def test_a_film_that_touches_nothing_is_no_way_out():
    mesh = ring([50, 80], [uniform("barrel", 20.0)], 9)
    with pytest.raises(ValueError, match="no way out"):
        HeatModel(mesh, MATERIALS, Films(gas=GAS, coolant=WATER)).solve()


def test_an_open_joint_may_shut_a_part_in():
    """A liner cut loose in a ring cooled from outside."""
    mesh = ring([50, 60, 80], [uniform("liner", 20.0), uniform("barrel", 20.0)], 9)
    parted = part_off(mesh, "liner")
    films = Films(gas=GAS, outside=WATER, joints={"liner": 0.02})
    model = HeatModel(parted.mesh, MATERIALS, films, [parted.joint])
    assert model.solve().joint_heat["liner"] < 0
    open_ = {"liner": np.zeros(len(parted.mesh.points), dtype=bool)}
    with pytest.raises(ValueError, match="no way out for the heat of the liner"):
        model.solve(open_)
    insulating = replace(films, joints={"liner": 0.0})
    with pytest.raises(ValueError, match="of the liner"):
        HeatModel(parted.mesh, MATERIALS, insulating, [parted.joint]).solve()


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Film(-1e-3, 90.0), r"film coefficient = -0.001 W/\(mm2 K\) must not be negative"),
        (lambda: Film(float("nan"), 90.0), "film coefficient = nan"),
        (lambda: Film(1e-3, -274.0), "film temperature -274 degC is not above absolute zero"),
        (lambda: Film(1e-3, float("inf")), "film temperature inf"),
        (lambda: Films(gas=float("nan")), "heat flux nan W/mm2 must be finite"),
        (lambda: Films(gas=GAS, joints={"insert": -1.0}), "joint of the insert = -1"),
    ],
)
def test_refused_films(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def test_refused_models():
    mesh = ring([50, 60, 80], [uniform("liner", 20.0), uniform("barrel", 20.0)], 9)
    parted = part_off(mesh, "liner")
    films = Films(gas=GAS, outside=WATER)
    with pytest.raises(ValueError, match="no material for liner"):
        HeatModel(mesh, {"barrel": ALLOY}, films)
    cold = {"barrel": ALLOY, "liner": Material("cork", 1e3, 0.0)}
    with pytest.raises(ValueError, match="cork of the liner has no conductivity"):
        HeatModel(mesh, cold, films)
    with pytest.raises(ValueError, match="no conductance of the joint of the liner"):
        HeatModel(parted.mesh, MATERIALS, films, [parted.joint])
    model = HeatModel(parted.mesh, MATERIALS, replace(films, joints={"liner": 1.0}), [parted.joint])
    with pytest.raises(ValueError, match="no joint of the part insert"):
        model.solve({"insert": np.ones(len(parted.mesh.points), dtype=bool)})
    with pytest.raises(ValueError, match=r"joint of the liner have shape \(3,\)"):
        model.solve({"liner": np.ones(3, dtype=bool)})
