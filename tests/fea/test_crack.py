"""Cracks: mesh opened along a path, and the interaction integral."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cases.check.sections import ALLOY, IRON, metal, plane, ring
from fea.closed_form import lame_ring
from fea.crack import (
    CrackLoad,
    Intensity,
    clear_radius,
    face_load,
    gas_on_faces,
    intensities,
    intensity,
    mode_gradient,
)
from fea.material import Material
from fea.model import SectionModel, Solution
from geometry.cracked import (
    PATH,
    opened,
    stretches_along,
    tied_at_sides,
    tip_sizes,
    trace_path,
    with_path,
)
from geometry.mesh import mesh_outline
from geometry.planar import circle, polygon
from geometry.refusals import SectionError
from geometry.section_mesh import Layer, UniformDepth, bodies_of
from geometry.sizing import SizeWishes

SOFT = Material("soft", 70000.0, 0.4)


def meshed(outline, path, tips, size):
    everywhere = SizeWishes(np.array([path.mouth]), np.array([size]), 0.0)
    return mesh_outline(with_path(outline, path, tips), wishes=[everywhere, tip_sizes(path, tips)])


def block(half=10.0):
    """A square about the origin."""
    inside = metal(lambda x, y: max(abs(x), abs(y)) < half)
    corners = [half * z for z in (-1 - 1j, 1 - 1j, 1 + 1j, -1 + 1j)]
    return plane(polygon(corners, "outside"), inside)


def layered_ring(radii, layers):
    """Rings within one another, each with its layer."""

    def at(z):
        place = int(np.searchsorted(radii, abs(z)))
        return (layers[place - 1],) if 0 < place < len(radii) else ()

    names = ["bore", *["joint"] * (len(radii) - 2), "outside"]
    curves = [c for r, name in zip(radii, names, strict=True) for c in circle(0, r, name)]
    return plane(curves, at)


def pressed(load):
    return lambda model: model.edge_load("bore", lambda _x, _y, nx, ny: -load * np.stack([nx, ny]))


@pytest.mark.parametrize("mode", [1, 2])
def test_fields_of_a_tip(mode):
    """The faces are free, and ahead the stress is 1 / sqrt(2 pi r) (Williams 1957)."""
    angle = np.array([0.0, np.pi - 1e-12, -np.pi + 1e-12])
    gradient = mode_gradient(2 * np.cos(angle), 2 * np.sin(angle), mode, SOFT)
    strain = (gradient + gradient.swapaxes(0, 1)) / 2
    stress = 2 * SOFT.mu * strain + SOFT.lam * np.trace(strain) * np.eye(2)[..., None]
    ahead = 1 / np.sqrt(4 * np.pi)
    assert stress[1, :, 0] == pytest.approx([0, ahead] if mode == 1 else [ahead, 0])
    assert stress[1, :, 1:] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("k1", "k2"), [(3.0, 0.0), (0.0, 2.0), (3.0, -2.0)])
def test_integral_reads_an_exact_field(k1, k2):
    """Nodes moved as Williams says, about a tip that is turned by 30 degrees."""
    turn = complex(np.exp(1j * np.pi / 6))
    outline = block()
    path = trace_path(outline, -10 + 0j, turn, {"barrel"})
    tips = [9.0]
    cracked = opened(meshed(outline, path, tips, 2.0), path, tips[0])
    model = SectionModel(cracked.mesh, {"barrel": SOFT})
    z = (cracked.mesh.points @ [1, 1j] - path.at(tips[0])) / turn
    upper = np.zeros(len(z), dtype=bool)
    centre = z[cracked.mesh.triangles[:, :3]].mean(axis=1)
    upper[cracked.mesh.triangles[centre.imag > 0]] = True
    angle = np.angle(z)
    on_face = (np.abs(z.imag) < 1e-6) & (z.real < 0)
    angle[on_face] = np.where(upper[on_face], np.pi, -np.pi)
    kappa = (3 - 0.4) / 1.4
    c1, c3, s1, s3 = (f(n * angle / 2) for f in (np.cos, np.sin) for n in (1, 3))
    scale = np.sqrt(np.abs(z) / (2 * np.pi)) / (4 * SOFT.mu)
    along = k1 * ((2 * kappa - 1) * c1 - c3) + k2 * ((2 * kappa + 3) * s1 + s3)
    across = k1 * ((2 * kappa + 1) * s1 - s3) - k2 * ((2 * kappa - 3) * c1 + c3)
    moved = scale * (along + 1j * across) * turn
    field = Solution(
        model, np.stack([moved.real, moved.imag], axis=1), np.zeros((len(z), 2)), np.zeros(0)
    )
    found = intensity(field, cracked)
    assert (found.k1, found.k2) == pytest.approx((k1, k2), abs=3e-3)


@pytest.mark.parametrize("gas", [False, True])
def test_the_domain_does_not_matter(gas):
    """Within 1 % over domains from a tenth of the clear radius to nearly all of it."""
    outline = ring(50.0, 80.0)
    path = trace_path(outline, 50 + 0j, 1 + 0j, {"barrel"})
    mesh = meshed(outline, path, [6.0], 6.0)
    cracked = opened(mesh, path, 6.0)
    model = SectionModel(cracked.mesh, {"barrel": ALLOY})
    faces = gas_on_faces(mesh, 1.0, 20.0) if gas else None
    forces = pressed(20.0)(model) + (face_load(model, cracked, faces) if faces else 0)
    solution = model.solve_forces(forces)
    found = [
        intensity(solution, cracked, faces, domain).k1
        for domain in ((0.1, 0.3), (0.2, 0.5), (0.3, 0.9), (0.6, 0.98))
    ]
    assert np.ptp(found) < 2e-3 * np.mean(found)


def test_stress_that_is_cut_gives_the_same():
    """Superposition: the stress of the whole ring, put on the faces, gives the K of the load that
    it came from; along a slanted crack, so that it slides as well."""
    outline, start = ring(50.0, 80.0), 50 + 0j
    turn = complex(np.exp(0.6j))
    path = trace_path(outline, start, turn, {"barrel"})
    tips = [4.0, 12.0]
    mesh = meshed(outline, path, tips, 5.0)

    def whole(_region, x, y):
        r = np.hypot(x, y)
        state = lame_ring(r, 50, 80, p_in=1.0, youngs_modulus=70000.0, poisson=0.33)
        c, s = x / r, y / r
        return np.stack([
            state.radial * c**2 + state.hoop * s**2,
            state.radial * s**2 + state.hoop * c**2,
            (state.radial - state.hoop) * s * c,
        ])  # fmt: skip

    for tip in tips:
        cracked = opened(mesh, path, tip)
        model = SectionModel(cracked.mesh, {"barrel": ALLOY})
        nothing = CrackLoad(lambda m: np.zeros((len(m.mesh.points), 2)), whole)
        loaded, cut = intensities(model, cracked, [CrackLoad(pressed(20.0)), nothing])
        assert cut.k1 == pytest.approx(loaded.k1, rel=2e-3)
        assert abs(loaded.k2) > 0.1 * loaded.k1
        assert cut.k2 == pytest.approx(loaded.k2, rel=5e-3)


def series(radii, layers, materials, tips, parts, load=20.0):
    outline = layered_ring(radii, layers)
    path = trace_path(outline, complex(radii[0]), 1 + 0j, parts)
    mesh = meshed(outline, path, tips, 5.0)
    found = []
    for tip in tips:
        cracked = opened(mesh, path, tip)
        model = SectionModel(cracked.mesh, materials)
        found.append(intensities(model, cracked, [CrackLoad(pressed(load))])[0].k1)
    return np.array(found)


def test_across_a_bonded_joint():
    """From a liner into the barrel: of the same metal it is as if there were no joint; a stiffer
    barrel holds a crack that comes near, and one that has passed opens less."""
    layers = [Layer("liner", UniformDepth(20.0)), Layer("barrel", UniformDepth(20.0))]
    plain = [Layer("barrel", UniformDepth(20.0))]
    tips = [3.0, 4.5, 6.0, 12.0]
    one = series([50.0, 80.0], plain, {"barrel": ALLOY}, tips, {"barrel"})
    same = {"liner": ALLOY, "barrel": ALLOY}
    joined = series([50.0, 55.0, 80.0], layers, same, tips, {"liner", "barrel"})
    assert joined == pytest.approx(one, rel=2e-3)
    stiff = {"liner": ALLOY, "barrel": IRON}
    held = series([50.0, 55.0, 80.0], layers, stiff, tips, {"liner", "barrel"})
    assert (held[:2] < 0.8 * joined[:2]).all()


def test_thickness_counts_as_stiffness():
    """derived: N = t D eps, so a step of thickness is a step of modulus, and K, a stress, of the
    thicker side is less by the ratio."""
    tips = [3.0, 12.0]
    parts = {"liner", "barrel"}
    thick = [Layer("liner", UniformDepth(20.0)), Layer("barrel", UniformDepth(40.0))]
    stiff = [Layer("liner", UniformDepth(20.0)), Layer("barrel", UniformDepth(20.0))]
    double = replace(ALLOY, youngs_modulus=140000.0)
    by_thickness = series([50, 55, 80], thick, {"liner": ALLOY, "barrel": ALLOY}, tips, parts)
    by_modulus = series([50, 55, 80], stiff, {"liner": ALLOY, "barrel": double}, tips, parts)
    assert by_thickness == pytest.approx(by_modulus * [1, 0.5], rel=1e-9)


def test_metal_that_stays_whole_holds_the_mouth():
    """A crack in the barrel alone, behind a liner that does not crack."""
    layers = [Layer("liner", UniformDepth(20.0)), Layer("barrel", UniformDepth(20.0))]
    outline = layered_ring([50.0, 51.0, 80.0], layers)
    path = trace_path(outline, 51 + 0j, 1 + 0j, {"barrel"})
    mesh = meshed(outline, path, [4.0], 5.0)
    cracked = opened(mesh, path, 4.0)
    same = {"liner": ALLOY, "barrel": ALLOY}
    held = intensities(SectionModel(cracked.mesh, same), cracked, [CrackLoad(pressed(20.0))])[0]
    mouth = np.abs(cracked.mesh.points - [51, 0]).sum(axis=1) < 1e-6
    assert mouth.sum() == 1
    free = series([50.0, 80.0], layers[1:], {"barrel": ALLOY}, [5.0], {"barrel"})[0]
    assert 0.2 * free < held.k1 < 0.8 * free


def test_metal_that_goes_on_holds_the_mouth():
    """A crack of the wall beside a pocket: the pocket's floor goes on beyond its mouth, whole."""
    floor, wall = Layer("barrel", UniformDepth(4.0), 16.0), Layer("barrel", UniformDepth(20.0))
    outline = layered_ring([50.0, 55.0, 60.0], [wall, floor])
    path = trace_path(outline, 55 + 0j, -1 + 0j, {"barrel"})
    cracked = opened(meshed(outline, path, [2.0], 4.0), path, 2.0)
    mouth = np.abs(cracked.mesh.points - [55, 0]).sum(axis=1) < 1e-6
    assert mouth.sum() == 1
    behind = np.abs(cracked.mesh.points[:, 1]) < 1e-9
    behind &= (cracked.mesh.points[:, 0] > 53.01) & (cracked.mesh.points[:, 0] < 54.99)
    assert behind.sum() % 2 == 0
    assert bodies_of(cracked.mesh.triangles, len(cracked.mesh.points)).max() == 0


def test_opened_mesh():
    """Both faces have their nodes, the tip one, and the rest of the mesh is as it was."""
    outline = ring(50.0, 80.0)
    path = trace_path(outline, 50 + 0j, 1 + 0j, {"barrel"})
    assert path.length == pytest.approx(30)
    mesh = meshed(outline, path, [5.0, 10.0], 6.0)
    for tip in (5.0, 10.0):
        cracked = opened(mesh, path, tip)
        behind = mesh.points[np.unique(mesh.edges[PATH])]
        nodes = np.count_nonzero(behind[:, 0] < 50 + tip - 1e-6)
        assert len(cracked.mesh.points) == len(mesh.points) + nodes
        assert bodies_of(cracked.mesh.triangles, len(cracked.mesh.points)).max() == 0
        assert cracked.mesh.points[cracked.tip] == pytest.approx([50 + tip, 0])
        assert clear_radius(cracked) == pytest.approx(tip, rel=0.01)
        (faces,) = cracked.faces.values()
        sides = SectionModel(cracked.mesh, {"barrel": ALLOY}).sides(faces)
        ends = cracked.mesh.points[sides[:, :2]]
        assert np.hypot(*(ends[:, 0] - ends[:, 1]).T).sum() == pytest.approx(2 * tip)
    with pytest.raises(ValueError, match="no node at 7 mm"):
        opened(mesh, path, 7.0)


def test_paths_end_where_the_metal_does():
    outline = layered_ring(
        [50.0, 55.0, 80.0],
        [Layer("liner", UniformDepth(20.0)), Layer("barrel", UniformDepth(29.0))],
    )
    assert [s.end for s in stretches_along(outline, 0j, 1j)][:2] == pytest.approx([55, 80])
    path = trace_path(outline, 50j, 1j, {"liner"})
    assert (path.length, path.end) == (pytest.approx(5), "the barrel")
    whole = trace_path(outline, 50j, 1j, {"liner", "barrel"})
    assert whole.borders == pytest.approx([0, 5, 30])
    assert (whole.beyond, whole.end) == ((), "a free edge")
    inward = trace_path(outline, 80j, -1j, {"liner", "barrel"})
    assert (inward.length, inward.beyond[0].part) == (pytest.approx(25), "liner")
    assert inward.end == "the edge of the deep metal, beyond which only some liner goes on"
    turn = complex(np.exp(0.7j))
    slanted = trace_path(outline, 50 * turn, turn, {"liner", "barrel"})
    drawn = with_path(outline, slanted, [7.0])
    assert [face for _, face in drawn.cuts] == [s.face for s in slanted.stretches]
    for face in drawn.faces:
        for loop in drawn.loops(face):
            assert all(
                one.end == other.start
                for one, other in zip(loop, [*loop[1:], loop[0]], strict=True)
            )
    with pytest.raises(SectionError, match=r"no metal of the barrel ahead"):
        trace_path(outline, 80j, 1j, {"barrel"})
    inside = trace_path(outline, 52j, 1j, {"liner"})
    with pytest.raises(SectionError, match=r"start inside the metal, 2\.000 mm from"):
        with_path(outline, inside, [1.0])


def test_insert_over_a_floor_is_tied_at_its_sides():
    """An insert over the floor of a pocket: nodes of its own over the floor, shared at the wall;
    a crack of the wall leaves it whole."""
    floor = (Layer("barrel", UniformDepth(4.0), 16.0), Layer("insert", UniformDepth(10.0)))
    wall = (Layer("barrel", UniformDepth(20.0)),)

    def at(z):
        return () if not 50 < abs(z) < 60 else wall if abs(z) < 55 else floor

    curves = [*circle(0, 50, "bore"), *circle(0, 55, "relief"), *circle(0, 60, "outside")]
    outline = plane(curves, at)
    path = trace_path(outline, 60 + 0j, -1 + 0j, {"barrel"})
    assert path.borders == pytest.approx([0, 5, 10])
    mesh = tied_at_sides(meshed(outline, path, [2.0, 7.0], 4.0), "insert")
    parts = {tuple(layer.part for layer in row) for row in mesh.regions}
    assert parts == {("barrel",), ("insert",)}
    for tip in (2.0, 7.0):
        cracked = opened(mesh, path, tip)
        insert = [row[0].part == "insert" for row in cracked.mesh.regions]
        of_insert = np.array(insert)[cracked.mesh.region]
        before = mesh.triangles[of_insert]
        assert (cracked.mesh.triangles[of_insert] == before).all()
        model = SectionModel(cracked.mesh, {"barrel": ALLOY, "insert": ALLOY})
        assert model.bodies.max() == 0
        found = intensities(model, cracked, [CrackLoad(pressed(20.0))])[0]
        bare = plane(curves, lambda z: tuple(x for x in at(z) if x.part == "barrel"))
        alone = opened(meshed(bare, path, [2.0, 7.0], 4.0), path, tip)
        without = SectionModel(alone.mesh, {"barrel": ALLOY})
        free = intensities(without, alone, [CrackLoad(pressed(20.0))])[0]
        assert 0 < found.k1 < 0.9 * free.k1


def test_varying_or_double_metal_is_refused():
    outline = ring(50.0, 80.0)
    path = trace_path(outline, 50 + 0j, 1 + 0j, {"barrel"})
    cracked = opened(meshed(outline, path, [5.0], 6.0), path, 5.0)
    (layer,) = cracked.mesh.regions[0]
    cracked = replace(cracked, mesh=replace(cracked.mesh, regions=((layer, layer),)))
    solution = SectionModel(cracked.mesh, {"barrel": ALLOY}).solve(1.0)
    with pytest.raises(ValueError, match="not one layer of one depth"):
        intensity(solution, cracked)


def test_gas_reaches_as_deep_as_it_does():
    """Mean over the metal's depth: a wall of 20 mm under gas down to 5 mm; a floor below it."""
    floor = Layer("barrel", UniformDepth(4.0), 16.0)
    outline = layered_ring([50.0, 55.0, 60.0], [Layer("barrel", UniformDepth(20.0)), floor])
    mesh = mesh_outline(outline)
    of = {row[0]: index for index, row in enumerate(mesh.regions)}
    at = np.zeros(1)
    wall = of[Layer("barrel", UniformDepth(20.0))]
    for reach, in_wall, on_floor in ((5.0, 0.25, 0.0), (18.0, 0.9, 0.5), (30.0, 1.0, 1.0)):
        stress = gas_on_faces(mesh, 8.0, reach)
        assert stress(wall, at, at)[:, 0] == pytest.approx([8 * in_wall, 8 * in_wall, 0])
        assert stress(of[floor], at, at)[:, 0] == pytest.approx([8 * on_floor, 8 * on_floor, 0])


def test_kink():
    """Erdogan & Sih 1963: -70.5 degrees where it only slides, mirrored with the sign."""
    assert Intensity(0.0, 1.0).kink_deg == pytest.approx(-70.5288, abs=1e-3)
    assert Intensity(0.0, -1.0).kink_deg == pytest.approx(70.5288, abs=1e-3)
    assert Intensity(2.0, 0.01).kink_deg == pytest.approx(np.degrees(-2 * 0.005), rel=1e-3)
