"""VTU files read back: Lame's ring component by component, and a block against its own fields."""

from __future__ import annotations

import meshio
import numpy as np
import pytest
from numpy.testing import assert_allclose

from cases.run import solve_case
from cases.stress.vtu import write_vtu
from fea.material import Material

RING = """\
job = "Ring"
[block]
bore = "100 mm"
barrel_wall = "20 mm"
material = "A356-T6"
[gas]
peak_pressure = "100 bar"
pressurised_depth = "30 mm"
[section]
depth = "30 mm"
mesh = "coarse"
[[design]]
name = "bare"
"""
BLOCK = """\
job = "Block"
[block]
bore = "80 mm"
liner = "2 mm"
liner_material = "grey iron class 30"
barrel_wall = "8 mm"
jacket = "10 mm"
outer_wall = "9 mm"
material = "A356-T6"
[[tie]]
clock = "1:00"
width = "12 mm"
depth = "12 mm"
[[relief_cut]]
clock = "7:45"
radius = "54 mm"
diameter = "12 mm"
depth = "16 mm"
[gas]
peak_pressure = "120 bar"
pressurised_depth = "24 mm"
[section]
mesh = "coarse"
depth = "24 mm"
tolerance = "20 %"
[[design]]
name = "half"
depth = "8 mm"
material = "6061-T6"
"""
STRESSES = ("sxx_mpa", "syy_mpa", "sxy_mpa")


@pytest.fixture(scope="module")
def block(case_of):
    (design,) = solve_case(case_of(BLOCK)).designs
    return design


def read_back(design, folder):
    write_vtu(design, folder / "design.vtu")
    mesh = meshio.read(folder / "design.vtu")
    x, y, z = mesh.points.T
    assert (z == 0).all()
    return mesh, x, y, np.hypot(x, y)


def tensors(read):
    """Stress tensors of the file, shape (n, 2, 2). [MPa]."""
    sxx, syy, sxy = (read[name].astype(float) for name in STRESSES)
    return np.moveaxis(np.array([[sxx, sxy], [sxy, syy]]), -1, 0)


def unheld(x, y, moved):
    """Displacement without the shift and the turn that the holds leave in it. [mm]."""
    one, none = np.ones_like(x), np.zeros_like(x)
    rigid = np.array([[one, none], [none, one], [-y, x]])
    flat = moved[:, :2].T.ravel()
    size, *_ = np.linalg.lstsq(rigid.reshape(3, -1).T, flat)
    left = (flat - size @ rigid.reshape(3, -1)).reshape(2, -1)
    return np.transpose([*left, moved[:, 2]])


def test_a_ring_is_lame_s_in_every_component(case_of, tmp_path):
    """Timoshenko & Goodier, Theory of Elasticity, 3rd ed., 1970, thick cylinder (from memory)."""
    (design,) = solve_case(case_of(RING)).designs
    mesh, x, y, r = read_back(design, tmp_path)
    a, b, p = 50.0, 70.0, 10.0
    metal: Material = design.solution.model.materials["barrel"]
    mean, swing = p * a**2 / (b**2 - a**2), p * a**2 / (b**2 - a**2) * (b / r) ** 2
    hoop, radial = mean + swing, mean - swing
    cos, sin = x / r, y / r
    young, nu = metal.youngs_modulus, metal.poisson
    moved = r * (hoop - nu * radial) / young  # plane stress
    von_mises = np.sqrt(hoop**2 + radial**2 - hoop * radial)
    wanted = {
        "hoop_mpa": hoop, "radial_mpa": radial, "principal_mpa": hoop, "von_mises_mpa": von_mises,
        "sxx_mpa": radial * cos**2 + hoop * sin**2, "syy_mpa": radial * sin**2 + hoop * cos**2,
        "sxy_mpa": (radial - hoop) * sin * cos, "thickness_mm": np.full(len(r), 30.0),
        "displacement_mm": np.transpose([moved * cos, moved * sin, 0 * r]),
    }  # fmt: skip
    mesh.point_data["displacement_mm"] = unheld(x, y, mesh.point_data["displacement_mm"])
    assert mesh.point_data.keys() == wanted.keys()  # an array of no known source fails
    for name, values in wanted.items():
        off = 0.02 * hoop.max() if name.endswith("_mpa") else max(2e-3 * np.abs(values).max(), 4e-5)
        assert mesh.point_data[name] == pytest.approx(values, abs=float(off)), name
    assert {name: set(data[0]) for name, data in mesh.cell_data.items()} == {
        "part": {0}, "region": {0}, "layer": {0},
    }  # fmt: skip


def test_a_block_against_its_own_fields(block, tmp_path):
    mesh, x, y, r = read_back(block, tmp_path)
    read, stress = mesh.point_data, tensors(mesh.point_data)
    out = np.stack([x, y], axis=1) / r[:, None]
    along = np.stack([-out[:, 1], out[:, 0]], axis=1)
    low, high = np.linalg.eigvalsh(stress).T
    for name, wanted in (
        ("radial_mpa", np.einsum("ni,nij,nj->n", out, stress, out)),
        ("hoop_mpa", np.einsum("ni,nij,nj->n", along, stress, along)),
        ("principal_mpa", high),
        ("von_mises_mpa", np.sqrt((low**2 + high**2 + (low - high) ** 2) / 2)),
    ):
        assert_allclose(read[name], wanted, rtol=0, atol=0.13, err_msg=name)  # of three rounded
    written = np.concatenate([layer.stress for layer in block.stresses], axis=1)
    for name, wanted in zip(STRESSES, written, strict=True):
        assert_allclose(read[name], wanted, rtol=0, atol=0.032, err_msg=name)
    nodes = np.concatenate([layer.nodes for layer in block.stresses])
    moved = block.solution.displacement[nodes]
    assert_allclose(read["displacement_mm"][:, :2], moved, rtol=0, atol=3.1e-5)
    assert (read["displacement_mm"][:, 2] == 0).all()
    assert moved.max() > 1e-3
    counts = [len(layer.triangles) for layer in block.stresses]
    regions = np.repeat([layer.region for layer in block.stresses], counts)
    assert (mesh.cell_data["region"][0] == regions).all()
    seen: dict[int, int] = {}
    for layer in block.stresses:
        seen[layer.region] = seen.get(layer.region, -1) + 1
    assert max(seen.values()) == 1  # the insert over the floor of the relief cut
    assert mesh.cell_data["layer"][0].max() == 1
    for region, most in seen.items():
        there = mesh.cell_data["layer"][0][regions == region]
        assert set(there) == set(range(most + 1))
    corners = np.concatenate([layer.nodes[layer.triangles] for layer in block.stresses])
    read_corners = mesh.points[mesh.cells[0].data][..., :2]
    assert_allclose(read_corners, block.mesh.points[corners], rtol=0, atol=5e-4)


def test_parts_and_thickness_are_where_the_drawing_has_them(block, tmp_path):
    """Liner to 42 mm, barrel to 50, insert 8 mm deep to 60, outer wall to 69 about the one bore."""
    mesh, _, _, _ = read_back(block, tmp_path)
    corners = mesh.points[mesh.cells[0].data[:, :3]]
    middle = corners.mean(axis=1)
    away, angle = np.hypot(*middle[:, :2].T), np.degrees(np.arctan2(middle[:, 1], middle[:, 0]))
    part = mesh.cell_data["part"][0]
    thick = np.array([mesh.point_data["thickness_mm"][row].mean() for row in mesh.cells[0].data])
    clear = np.abs((angle - 60 + 180) % 360 - 180) > 20  # the tie at 1:00 is 60 degrees from +x
    clear &= np.abs((angle + 142.5 + 180) % 360 - 180) > 20  # the relief cut at 7:45
    for low, high, number, depth in (
        (40.0, 42.0, 1, 24.0), (42.2, 49.8, 0, 24.0), (50.2, 59.8, 4, 8.0), (60.2, 69.0, 3, 24.0),
    ):  # fmt: skip
        there = (away > low) & (away < high) & clear
        assert there.any()
        assert (part[there] == number).all()
        assert thick[there] == pytest.approx(depth)
    tie = (away > 51) & (away < 59) & (np.abs(angle - 60) < 3)
    assert (part[tie] == 2).all()
    assert thick[tie] == pytest.approx(12.0)
