"""Cracks whose stress intensity is known, each posed once: drawn, opened, solved and read.

mm, N and MPa. Every one takes the fineness of its mesh, which scales all sizes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.check.sections import ALLOY, DEPTH, metal, plane, ring
from fea.crack import CrackLoad, Intensity, gas_on_faces, intensities
from fea.elasticity import Traction
from fea.model import SectionModel
from geometry.cracked import opened, tip_sizes, trace_path, with_path
from geometry.faces import Outline
from geometry.planar import Curve, arc, circle, line
from geometry.sizing import SizeWishes

Array = NDArray[np.float64]

PARTS = frozenset({"barrel"})
MATERIALS = {"barrel": ALLOY}


@dataclass(frozen=True)
class CrackAnswer:
    """Stress intensities of one crack at several lengths."""

    lengths: Array  # shape (n,) [mm]
    found: tuple[Intensity, ...]
    solver: str

    @property
    def k1(self) -> Array:
        """Opening, shape (n,). [MPa sqrt(mm)]."""
        return np.array([at.k1 for at in self.found])

    def shape_factor(self, stress: float, lengths: Array | None = None) -> Array:
        """K_I over a stress times the root of pi times lengths.

        Parameters
        ----------
        stress : float
            [MPa]
        lengths : ndarray, shape (n,), optional
            Its own if left out. [mm]

        Returns
        -------
        ndarray, shape (n,)
        """
        return self.k1 / (stress * np.sqrt(np.pi * (self.lengths if lengths is None else lengths)))


def solve_lengths(
    outline: Outline,
    mouth: complex,
    direction: complex,
    lengths: Sequence[float],
    tractions: Mapping[str, Traction],
    *,
    element_size: float,
    gas_in_crack: float = 0.0,
    fixed: Mapping[str, str] | None = None,
    fineness: float = 1.0,
) -> CrackAnswer:
    """One mesh, opened to each length in turn.

    Parameters
    ----------
    outline : Outline
    mouth, direction : complex
        As :func:`geometry.cracked.trace_path` takes them.
    lengths : sequence of float
        [mm]
    tractions : mapping of str to Traction
        On named edges. [N/mm]
    element_size : float
        Largest element. [mm]
    gas_in_crack : float
        Pressure between the faces. [MPa]
    fixed : mapping of str to str, optional
        As :class:`fea.model.SectionModel` takes it.

    Raises
    ------
    SectionError
        If there is no metal where the crack would start.
    """
    from geometry.mesh import mesh_outline

    path = trace_path(outline, mouth, direction, PARTS)
    everywhere = SizeWishes(np.array([mouth]), np.array([fineness * element_size]), 0.0)
    mesh = mesh_outline(
        with_path(outline, path, lengths),
        wishes=[everywhere, tip_sizes(path, lengths, fineness)],
        roundness=64 / fineness,
    )

    def forces(model: SectionModel) -> Array:
        return sum(
            (model.edge_load(edge, traction) for edge, traction in tractions.items()),
            np.zeros((len(model.mesh.points), 2)),
        )

    load = CrackLoad(forces, gas_on_faces(mesh, gas_in_crack, DEPTH) if gas_in_crack else None)
    found: list[Intensity] = []
    for length in lengths:
        cracked = opened(mesh, path, length)
        model = SectionModel(cracked.mesh, MATERIALS, fixed)
        found += intensities(model, cracked, [load])
    return CrackAnswer(np.array(lengths), tuple(found), model.factor.name)


# --- plates ---


def _plate(left: float, right: float, half: float, hole: float = 0.0) -> Outline:
    """A plate over x from ``left`` to ``right``, y up to ``half`` either way; edges by side.

    A hole about the origin stands in it; where ``left`` is 0, half of one.
    """
    low, high = -1j * half, 1j * half
    sides: list[Curve] = [
        line(left + low, right + low, "bottom"),
        line(right + low, right + high, "right"),
        line(right + high, left + high, "top"),
    ]
    if left == 0 and hole > 0:
        sides += [
            line(high, 1j * hole, "left"),
            *arc(0, hole, -np.pi / 2, np.pi / 2, "hole"),
            line(-1j * hole, low, "left"),
        ]
    else:
        sides.append(line(left + high, left + low, "left"))
        sides += circle(0, hole, "hole") if hole > 0 else []
    return plane(
        sides, metal(lambda x, y: left < x < right and abs(y) < half and np.hypot(x, y) > hole)
    )


def _pull(x: Array, y: Array, nx: Array, ny: Array) -> Array:
    """1 MPa along y on edges that face along y. [N/mm]."""
    return np.stack([np.zeros_like(x), DEPTH * ny])


PULLED: dict[str, Traction] = {"top": _pull, "bottom": _pull}


def edge_crack(
    shares: Sequence[float], bending: bool = False, fineness: float = 1.0
) -> CrackAnswer:
    """Edge crack of ``shares`` of a plate of width 10 and height 60, 1 MPa at the edge."""
    width = 10.0

    def bent(x: Array, y: Array, nx: Array, ny: Array) -> Array:
        return _pull(x, y, nx, ny) * (1 - 2 * x / width)

    return solve_lengths(
        _plate(0.0, width, 3 * width), 0, 1, [width * share for share in shares],
        dict.fromkeys(PULLED, bent) if bending else PULLED, element_size=2.5, fineness=fineness,
    )  # fmt: skip


def centre_crack(shares: Sequence[float], fineness: float = 1.0) -> CrackAnswer:
    """Crack across the middle of a plate of half width 10, half of it modelled; 1 MPa."""
    return solve_lengths(
        _plate(0.0, 10.0, 30.0), 0, 1, [10.0 * share for share in shares], PULLED,
        element_size=2.5, fixed={"left": "x"}, fineness=fineness,
    )  # fmt: skip


def hole_with_cracks(lengths: Sequence[float], both: bool, fineness: float = 1.0) -> CrackAnswer:
    """Cracks of ``lengths`` [mm] from a hole of radius 1 in a wide plate; 1 MPa across them."""
    half = 120.0
    return solve_lengths(
        _plate(0.0 if both else -half, half, half, 1.0), 1, 1, lengths, PULLED,
        element_size=15.0, fixed={"left": "x"} if both else None, fineness=fineness,
    )  # fmt: skip


def slanted_edge_crack(fineness: float = 1.0) -> CrackAnswer:
    """Crack of 1 mm at 45 deg to the edge of a wide plate, 1 MPa along the edge."""
    return solve_lengths(
        _plate(0.0, 80.0, 80.0), 0, complex(np.exp(0.25j * np.pi)), [1.0], PULLED,
        element_size=10.0, fineness=fineness,
    )  # fmt: skip


# --- rings ---


def cracked_ring(
    outside: float,
    shares: Sequence[float],
    gas_in_crack: bool,
    pull: bool = False,
    fineness: float = 1.0,
) -> CrackAnswer:
    """Radial crack at the bore, of ``shares`` of the wall of a ring 50/``outside`` mm.

    1 MPa in the bore, or, where ``pull``, pulling on the outside instead.
    """
    bore = 50.0
    edge, sign = ("outside", 1) if pull else ("bore", -1)
    wall = outside - bore

    def pressed(x: Array, y: Array, nx: Array, ny: Array) -> Array:
        return sign * DEPTH * np.stack([nx, ny])

    return solve_lengths(
        ring(bore, outside), bore, 1, [wall * share for share in shares], {edge: pressed},
        element_size=wall / 5, gas_in_crack=float(gas_in_crack), fineness=fineness,
    )  # fmt: skip
