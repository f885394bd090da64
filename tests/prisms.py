"""Integrals over prisms of 18 nodes and their faces, written out for tests."""

import numpy as np

SIXTH = np.sqrt(15)
LINE = [(-np.sqrt(0.6), 5 / 9), (0.0, 8 / 9), (np.sqrt(0.6), 5 / 9)]
_A, _B = (6 - SIXTH) / 21, (6 + SIXTH) / 21
_WA, _WB = (155 - SIXTH) / 2400, (155 + SIXTH) / 2400
TRIANGLE = [
    (1 / 3, 1 / 3, 9 / 80),
    (_A, _A, _WA), (1 - 2 * _A, _A, _WA), (_A, 1 - 2 * _A, _WA),
    (_B, _B, _WB), (1 - 2 * _B, _B, _WB), (_B, 1 - 2 * _B, _WB),
]  # fmt: skip


def _triangle(r, s):
    zero = 0 * r
    values = [
        (1 - r - s) * (1 - 2 * r - 2 * s), r * (2 * r - 1), s * (2 * s - 1),
        4 * r * (1 - r - s), 4 * r * s, 4 * s * (1 - r - s),
    ]  # fmt: skip
    along_r = [4 * r + 4 * s - 3, 4 * r - 1, zero, 4 - 8 * r - 4 * s, 4 * s, -4 * s]
    along_s = [4 * r + 4 * s - 3, zero, 4 * s - 1, -4 * r, 4 * r, 4 - 4 * r - 8 * s]
    return np.array(values), np.array(along_r), np.array(along_s)


def _line(t):
    return np.array([t * (t - 1) / 2, 1 - t * t, t * (t + 1) / 2]), np.array(
        [t - 0.5, -2 * t, t + 0.5]
    )


def jacobians(mesh, r, s, t):
    """Determinants at points of every prism, (m, points)."""
    (n, n_r, n_s), (h, h_t) = _triangle(r, s), _line(t)
    ways = [
        np.einsum("in,jn->jin", a, b).reshape(18, -1) for a, b in ((n_r, h), (n_s, h), (n, h_t))
    ]
    at = mesh.points[mesh.prisms]
    return np.linalg.det(np.stack([np.einsum("mid,in->mnd", at, w) for w in ways], axis=-1))


def volumes(mesh):
    r, s, t, w = np.array([(r, s, t, a * b) for r, s, a in TRIANGLE for t, b in LINE]).T
    return jacobians(mesh, r, s, t) @ w


def volume_by_part(mesh):
    volume = volumes(mesh)
    return {part: volume[mesh.part == k].sum() for k, part in enumerate(mesh.parts)}


def node_jacobians(mesh):
    r, s = np.tile([0, 1, 0, 0.5, 0.5, 0], 3), np.tile([0, 0, 1, 0, 0.5, 0.5], 3)
    return jacobians(mesh, r, s, np.repeat([-1.0, 0.0, 1.0], 6))


def _flat_normals(mesh, name):
    r, s, w = np.array(TRIANGLE).T
    _, n_r, n_s = _triangle(r, s)
    at = mesh.points[mesh.flats[name]]
    a, b = (np.einsum("mid,in->mnd", at, n) for n in (n_r, n_s))
    return np.cross(a, b), w


def _side_normals(mesh, name):
    u, t, w = np.array([(u, t, a * b) for u, a in LINE for t, b in LINE]).T
    (h, h_t), (g, g_u) = _line(t), _line(u)
    g, g_u = g[[0, 2, 1]], g_u[[0, 2, 1]]
    at = mesh.points[mesh.sides[name]]
    along, up = (
        np.einsum("mid,in->mnd", at, np.einsum("jn,in->jin", a, b).reshape(9, -1))
        for a, b in ((h, g_u), (h_t, g))
    )
    return np.cross(along, up), w


def _normals(mesh, name):
    return _flat_normals(mesh, name) if name in mesh.flats else _side_normals(mesh, name)


def area_vectors(mesh, name):
    """Of a named set of faces, outward, (k, 3)."""
    normals, weights = _normals(mesh, name)
    return np.einsum("mnd,n->md", normals, weights)


def area(mesh, name):
    normals, weights = _normals(mesh, name)
    return float((np.linalg.norm(normals, axis=2) @ weights).sum())
