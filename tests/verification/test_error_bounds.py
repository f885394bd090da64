"""The reported error of a hot spot against its true one, on problems with known answers.

Each problem is solved adaptively from a coarse, a normal and a fine start. The formulas and their
sources stand in :mod:`fea.closed_form`, values that have none beside the problem.

``pytest -m slow tests/verification/test_error_bounds.py -s`` prints 84 runs (28 problems with a
known answer: Lame, Michell, Jeffery, Kirsch, Inglis, NAFEMS LE1, notches; from the three starts):
the true error lies within the reported one in all of them; median true error 0.13 %, reported
0.70 %, reported over true 3.2; worst true error 1.03 %.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pytest

from cases.check.sections import (
    ALLOY,
    DEPTH,
    IRON,
    NOTCH,
    SYMMETRY,
    FallingDepth,
    gas,
    kirsch_cut,
    metal,
    notched_plate,
    plane,
    pull,
    quarter_membrane,
    ring,
    square_with_ellipse,
    square_with_hole,
)
from fea.adaptive import Adapted, adapt
from fea.closed_form import (
    eccentric_bore_hoop,
    inglis_tip,
    joint_pressure,
    lame_ring,
    power_law_ring,
    ring_harmonic,
)
from fea.elasticity import Traction
from fea.hotspots import HotSpot
from fea.material import Material
from fea.model import SectionModel
from geometry.mesh import mesh_outline
from geometry.outline import Outline
from geometry.planar import circle, polygon
from geometry.section_mesh import Layer, UniformDepth

pytestmark = pytest.mark.verification

PLANE = {"youngs_modulus": 70000.0, "poisson": 0.33}
STARTS = {"coarse": (4.0, 0.25), "normal": (3.0, 0.35), "fine": (1.0, 1.0)}
"""Largest element, as a multiple of the problem's own, and share of the usual detail."""


@dataclass(frozen=True)
class Problem:
    """A section, its load, and the stress of its hot spots."""

    name: str
    source: str
    outline: Outline
    tractions: Mapping[str, Traction]
    peaks: tuple[tuple[str, complex | None, float], ...]  # part, place if it has one, MPa
    fixed: Mapping[str, str] = field(default_factory=dict)
    materials: Mapping[str, Material] = field(default_factory=lambda: {"barrel": ALLOY})
    element_size: float = 4.0  # [mm]

    def adapted(self, start: str) -> Adapted:
        coarser, detail = STARTS[start]

        def solve(mesh):
            model = SectionModel(mesh, self.materials, self.fixed)
            loads = [model.edge_load(edge, push) for edge, push in self.tractions.items()]
            return model.solve_forces(sum(loads))

        return adapt(
            lambda wishes: mesh_outline(
                self.outline, element_size=coarser * self.element_size, detail=detail, wishes=wishes
            ),
            solve,
        )

    def runs(self, start: str) -> list[tuple[float, float, HotSpot]]:
        """True and reported error over the stress, and the spot, for each peak."""
        adapted = self.adapted(start)
        rows = []
        for part, place, exact in self.peaks:
            spot = max(
                (
                    spot
                    for spot in adapted.hot_spots
                    if spot.part == part
                    and (
                        place is None
                        or abs(complex(spot.x_mm, spot.y_mm) - place) < 0.3 * abs(place)
                    )
                ),
                key=lambda spot: spot.principal_mpa,
            )
            rows.append((abs(spot.principal_mpa / exact - 1), spot.error_mpa / exact, spot))
        return rows


def lame(a: float, b: float) -> Problem:
    hoop = float(lame_ring(a, a, b, p_in=10, **PLANE).hoop)
    return Problem(
        f"ring {a:g}/{b:g}", "Lamé", ring(a, b), {"bore": gas(10 * DEPTH)},
        (("barrel", None, hoop),),
    )  # fmt: skip


def compound() -> Problem:
    a, c, b = 45.0, 55.0, 80.0
    alloy = Material("alloy", 72000.0, 0.33)
    q = joint_pressure(a, c, b, p_in=9, inner=(110000, 0.26), outer=(72000, 0.33))
    inner = lame_ring(a, a, c, p_in=9, p_out=q, youngs_modulus=110000, poisson=0.26)
    outer = lame_ring(c, c, b, p_in=q, youngs_modulus=72000, poisson=0.33)
    depth = UniformDepth(DEPTH)

    def layers(z):
        if not a < abs(z) < b:
            return ()
        return (Layer("liner" if abs(z) < c else "barrel", depth),)

    curves = [*circle(0, a, "bore"), *circle(0, c, "liner"), *circle(0, b, "outside")]
    return Problem(
        "compound ring", "Lamé for each part", plane(curves, layers), {"bore": gas(9 * DEPTH)},
        (("liner", None, float(inner.hoop)), ("barrel", None, float(outer.hoop))),
        materials={"liner": IRON, "barrel": alloy},
    )  # fmt: skip


def stepped() -> Problem:
    def layers(z):
        if not 50 < abs(z) < 90:
            return ()
        return (Layer("barrel", UniformDepth(8.0 if abs(z) < 60 else 20.0)),)

    curves = [*circle(0, 50, "bore"), *circle(0, 60, "joint"), *circle(0, 90, "outside")]
    return Problem(
        "ring with a step of depth", "derived from Lamé", plane(curves, layers),
        {"bore": gas(80.0)}, (("barrel", None, 8.875637),),
    )  # fmt: skip


def power_law() -> Problem:
    hoop = float(power_law_ring(50, 50, 90, -1.5, p_in=10, **PLANE).hoop)
    return Problem(
        "ring of falling depth", "Stodola 1927", ring(50, 90, FallingDepth()),
        {"bore": gas(200.0)}, (("barrel", None, hoop),),
    )  # fmt: skip


def harmonic(n: int) -> Problem:
    def push(x, y, nx, ny):
        return -10 * DEPTH * np.cos(n * np.arctan2(y, x)) * np.stack([nx, ny])

    exact = ring_harmonic(50, np.pi / n, 50, 80, n, p_in=10, **PLANE)
    return Problem(
        f"ring under cos {n} theta", "Michell 1899", ring(50, 80), {"bore": push},
        (("barrel", None, float(exact.hoop)),),
    )  # fmt: skip


def eccentric(offset: float) -> Problem:
    inside, outside = (float(s[0]) for s in eccentric_bore_hoop([np.pi], 50, 80, offset, p_in=10))
    place, hoop = max((-50, inside), (offset - 80, outside), key=lambda at: at[1])
    outline = plane(
        [*circle(0, 50, "bore"), *circle(offset, 80, "outside")],
        metal(lambda x, y: np.hypot(x, y) > 50 and np.hypot(x - offset, y) < 80),
    )
    return Problem(
        f"bore {offset:g} off centre", "Jeffery 1921", outline, {"bore": gas(10 * DEPTH)},
        (("barrel", complex(place), hoop),),
    )  # fmt: skip


def kirsch(a: float, half: float) -> Problem:
    return Problem(
        f"hole {a:g} in {half:g}", "Kirsch 1898", square_with_hole(a, half), {"cut": kirsch_cut(a)},
        (("barrel", 1j * a, 150.0),), SYMMETRY,
    )  # fmt: skip


ARCS = 64
"""Arcs to a quarter of an ellipse: jumps of curvature scatter the answer by 0.1 %."""


def inglis(across: float, along: float) -> Problem:
    return Problem(
        f"ellipse {across:g} by {along:g}", "Inglis 1913",
        square_with_ellipse(across, along, ARCS), {"pulled": pull},
        (("barrel", complex(across), inglis_tip(1, across, along)),), SYMMETRY, element_size=160,
    )  # fmt: skip


def membrane() -> Problem:
    """Published 92.7 MPa, rounded; converged finite elements elsewhere 92.658."""
    return Problem(
        "elliptic membrane", "NAFEMS LE1", quarter_membrane(ARCS),
        {"outside": lambda x, y, nx, ny: 10 * pull(x, y, nx, ny)},
        (("barrel", 20 + 0j, 92.658),), SYMMETRY, {"barrel": Material("steel", 210000.0, 0.3)},
    )  # fmt: skip


def notched(
    name: str, source: str, width: float, half_length: float, stress: float,
    fixed: Mapping[str, str], element_size: float,
) -> Problem:  # fmt: skip
    return Problem(
        name, source, notched_plate(width, half_length), {"pulled": pull},
        (("barrel", -1j * NOTCH, stress),), {"x = 0": "x", **fixed}, element_size=element_size,
    )  # fmt: skip


def opposite(width: float, factor: float) -> Problem:
    """Two opposite notches; factor on the net section: converged finite elements elsewhere, within
    0.6 % of Pilkey, Peterson's Stress Concentration Factors, chart 2.3."""
    return notched(
        f"opposite notches in {width:g}", "Peterson, chart 2.3, converged elsewhere",
        width / 2, 2.5 * width, factor * width / (width - 20), {"lower": "y"}, 8.0,
    )  # fmt: skip


def problems() -> list[Problem]:
    return [
        *(lame(a, b) for a, b in ((50, 80), (43.5, 49.5), (30, 50), (20, 80))),
        compound(),
        stepped(),
        power_law(),
        *(harmonic(n) for n in (2, 3, 4, 6)),
        *(eccentric(offset) for offset in (5, 10, 15, 22)),
        *(kirsch(a, half) for a, half in ((10, 40), (5, 40), (3, 40), (1, 60))),
        inglis(20, 10),
        inglis(10, 20),
        membrane(),
        notched("notch in a half-plane", "Ling 1947, Peterson", 800, 800, 3.065, {}, 160.0),
        *(
            opposite(width, factor)
            for width, factor in ((40, 1.6231), (50, 1.8635), (100, 2.4263), (200, 2.7424))
        ),
    ]


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize(
    "problem", [lame(20, 80), harmonic(3), kirsch(3, 40), membrane()], ids=lambda p: p.name
)
def test_true_error_lies_within_the_reported_one(problem, start):
    ((true, reported, spot),) = problem.runs(start)
    assert true <= reported <= 0.02
    assert spot.settled


@pytest.mark.slow
def test_reported_error_holds_over_many_runs():
    """At least 95 % of the runs; and small enough to be of use: at the median, four times the true
    error and under 1 % of the stress."""
    rows = []
    for problem in problems():
        for start in STARTS:
            for true, reported, spot in problem.runs(start):
                rows.append((true, reported, spot.settled))
                print(
                    f"{problem.name:32} {start:6} true {true:8.3%}  reported {reported:8.3%}  "
                    f"{'' if true <= reported else 'outside'} {problem.source}"
                )
    true, reported, settled = np.array(rows).T
    print(
        f"{len(rows)} runs: within {np.mean(true <= reported):.1%}, settled {settled.mean():.1%}, "
        f"median true {np.median(true):.2%}, reported {np.median(reported):.2%}, "
        f"ratio {np.median(reported / true):.1f}, worst true {true.max():.2%}"
    )
    assert len(rows) >= 60
    assert np.mean(true <= reported) >= 0.95
    assert settled.all()
    assert np.median(reported / true) < 4
    assert np.median(reported) < 0.01


def corner(start: str) -> Adapted:
    """An L-shaped plate whose arms are pulled apart, symmetric about the diagonal: mode I."""
    a = 40.0
    corners = [0j, a + 0j, a + 1j * a, -a + 1j * a, -a - 1j * a, -1j * a]
    names = ["face", "pulled", "top", "left", "pulled", "face"]
    outline = plane(
        [side.tagged(name) for side, name in zip(polygon(corners), names, strict=True)],
        metal(lambda x, y: abs(x) < a and abs(y) < a and not (x > 0 > y)),
    )
    return Problem(
        "corner", "Williams 1952", outline, {"pulled": pull}, (), {"left": "x", "top": "y"}
    ).adapted(start)


@pytest.mark.parametrize("start", STARTS)
def test_sharp_corner_grows_with_the_published_exponent(start):
    """Metal of 270 degrees: lambda = 0.5445 in mode I (Williams, J. Appl. Mech. 19 (1952) 526-528),
    so the stress grows as size^-0.4555."""
    *_, spot = corner(start).hot_spots
    assert (spot.sharp, spot.settled) == (True, False)
    assert spot.exponent == pytest.approx(0.4555, rel=0.1)
    assert np.hypot(spot.x_mm, spot.y_mm) < spot.size_mm
