"""The mesh: conforming, curved, named, fine enough, and the same every time."""

import hashlib
import multiprocessing
import os
import resource
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import gmsh
import numpy as np
import pytest
from sections import BANK, LOCAL, SINGLE, UNIFORM, ring, section

from geometry.mesh import mesh_outline, smallest_jacobian
from geometry.outline import draw_section
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeWishes, spread

CASES = {
    "ring": ring(),
    "bare": section(),
    "uniform": section(insert=UNIFORM),
    "bank": section(BANK, LOCAL),
}


@pytest.fixture(scope="module", params=CASES, ids=CASES.keys())
def drawn(request):
    outline = draw_section(CASES[request.param])
    return outline, mesh_outline(outline, element_size=6.0)


def sides(mesh: SectionMesh) -> dict[tuple[int, int, int], list[int]]:
    """Regions beside every triangle side, keyed by its end nodes and its mid-side node."""
    beside: dict[tuple[int, int, int], list[int]] = {}
    for triangle, region in zip(mesh.triangles.tolist(), mesh.region.tolist(), strict=True):
        for a, b, middle in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
            low, high = sorted((triangle[a], triangle[b]))
            beside.setdefault((low, high, triangle[middle]), []).append(region)
    return beside


def test_the_mesh_conforms_across_parts(drawn):
    _, mesh = drawn
    assert {len(regions) for regions in sides(mesh).values()} <= {1, 2}
    assert set(np.unique(mesh.triangles)) == set(range(len(mesh.points)))


def test_every_border_side_has_one_name_and_no_other_side_has_any(drawn):
    _, mesh = drawn
    border = sorted(key for key, r in sides(mesh).items() if len(r) == 1 or r[0] != r[1])
    named = sorted(
        (*sorted((a, b)), middle) for rows in mesh.edges.values() for a, b, middle in rows.tolist()
    )
    assert named == border


def test_facet_counts_match_the_meshers_own_curves(drawn, monkeypatch):
    outline, mesh = drawn
    monkeypatch.setattr(gmsh, "clear", lambda: None)
    mesh_outline(outline, element_size=6.0)
    try:
        counts = [
            len(gmsh.model.mesh.getElements(1, tag)[1][0]) for _, tag in gmsh.model.getEntities(1)
        ]
    finally:
        monkeypatch.undo()
        gmsh.clear()
    assert len(counts) == len(outline.pieces)
    expected: dict[str, int] = {}
    for name, count in zip(outline.names, counts, strict=True):
        expected[name] = expected.get(name, 0) + count
    assert {name: len(rows) for name, rows in mesh.edges.items()} == expected


def test_sides_are_true_arcs(drawn):
    _, mesh = drawn
    bore = np.hypot(*mesh.points[mesh.edges["bore"]].transpose(2, 0, 1))
    radius = bore.mean()
    assert np.abs(bore - radius).max() < 1e-9


def test_no_triangle_is_folded(drawn):
    """A folded one is below 0; a corner where an arc runs out along a face has next to no angle."""
    _, mesh = drawn
    smallest = smallest_jacobian(mesh.points, mesh.triangles)
    assert smallest.min() > 1e-3
    assert (smallest > 0.05).mean() > 0.998


def test_area_is_that_of_the_outline(drawn):
    outline, mesh = drawn
    x, y = mesh.points[mesh.triangles].transpose(2, 0, 1)
    # exact area of a triangle with parabolic sides: the corner triangle and two thirds of each bow
    area = 0.0
    for a, b, middle in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
        chord = x[:, a] * y[:, b] - x[:, b] * y[:, a]
        bow = (x[:, middle] - x[:, a]) * (y[:, b] - y[:, a]) - (y[:, middle] - y[:, a]) * (
            x[:, b] - x[:, a]
        )
        area += (chord / 2 + 2 / 3 * bow).sum()
    exact = sum(outline.area(face) for face in outline.faces)
    assert area == pytest.approx(exact, rel=1e-6)


def test_three_elements_through_the_thinnest_wall():
    """Along the ray through each relief cut: sides crossed between the pocket and the liner."""
    mesh = mesh_outline(draw_section(section()))
    for cut in SINGLE.relief_cuts:
        turn = np.exp(-1j * np.deg2rad(90 - 30 * cut.clock - 0.137))
        z = (mesh.points[:, 0] + 1j * mesh.points[:, 1]) * turn
        crossed = [
            (z[a].real * z[b].imag - z[b].real * z[a].imag) / (z[b].imag - z[a].imag)
            for a, b, _ in sides(mesh)
            if (z[a].imag > 0) != (z[b].imag > 0) and z[a].real > 0
        ]
        inside = [r for r in crossed if 46.05 < r < 57.5 - 8 - 0.05]
        assert len(inside) + 1 >= 3


def fingerprint(mesh: SectionMesh) -> str:
    digest = hashlib.sha256()
    for array in (mesh.points, mesh.triangles, mesh.region, *mesh.edges.values()):
        digest.update(np.ascontiguousarray(array).tobytes())
    return digest.hexdigest()


def mesh_fingerprint(name: str) -> str:
    return fingerprint(mesh_outline(draw_section(CASES[name]), element_size=6.0))


def test_same_mesh_whatever_was_meshed_before():
    """The mesher takes tolerances from the largest model that it has seen in its process."""
    outline = draw_section(CASES["bank"])
    alone = fingerprint(mesh_outline(outline))
    mesh_outline(draw_section(ring(bore=900.0, wall=50.0)), element_size=60.0)
    assert fingerprint(mesh_outline(outline)) == alone


def test_same_mesh_in_one_process_in_another_and_in_a_spawned_pool():
    here = mesh_fingerprint("uniform")
    code = "import test_mesh; print(test_mesh.mesh_fingerprint('uniform'))"
    folders = Path(__file__).parents[:3]  # of this file, of what tests share, of the packages
    other = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": os.pathsep.join(map(str, folders))},
    )
    assert other.stdout.strip() == here
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=spawn) as pool:
        assert set(pool.map(mesh_fingerprint, ["uniform"] * 2)) == {here}


def _meshes_without_leak(count: int) -> float:
    """Growth of the process's peak memory from the tenth of ``count`` meshes to the last. [MB]."""
    outline = draw_section(section(insert=UNIFORM))
    for k in range(count):
        mesh_outline(outline, element_size=12.0, fineness=1.5)
        if k == 10:
            before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024


@pytest.mark.slow
def test_forty_meshes_leak_nothing():
    assert _meshes_without_leak(40) < 25


@pytest.mark.slow
def test_a_thousand_meshes_leak_nothing():
    assert _meshes_without_leak(1000) < 40


@pytest.mark.parametrize(("roundness", "sides"), [(3.0, 4), (6.0, 8)])
def test_as_few_elements_round_a_circle_as_are_wished_for(roundness, sides):
    """The bore of a ring is drawn in four arcs, so a side takes one of them or a half."""
    large = SizeWishes(np.array([0j]), np.array([500.0]), 0.0)
    mesh = mesh_outline(draw_section(ring()), wishes=[large], roundness=roundness)
    assert len(mesh.edges["bore"]) == sides
    assert smallest_jacobian(mesh.points, mesh.triangles).min() > 0


def test_one_wish_spreads_as_two_of_the_same():
    place, size = np.array([3.3 + 1.2j]), np.array([0.5])
    one, two = (
        spread(np.repeat(place, k), np.repeat(size, k), 0.3, 4.0, -2j, 0.25, (60, 40))
        for k in (1, 2)
    )
    assert one == pytest.approx(two, rel=1e-12)
    assert 0.4 < one.min() < one.max() <= 4.0


def test_a_finer_mesh_has_more_elements():
    outline = draw_section(ring())
    counts = [len(mesh_outline(outline, element_size=h).triangles) for h in (8.0, 4.0, 2.0)]
    assert counts[0] * 2 < counts[1] * 1.2 < counts[2]
