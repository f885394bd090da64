r"""What a crack does: stress intensity by length, design by design, and how fast it grows.

The crack stands in the deck section of each design at the same place, straight, through the whole
depth of the metal that it is in. The insert is bonded to what stands beside it; it is not bonded
to the floor of a relief cut beneath it, and does not crack. A joint that can open under the crack
is not modelled, so what the insert holds is an upper bound.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from cases.base.faults import RunError
from cases.case import Case
from cases.crack.by_solid import solid_crack
from cases.crack.given import CrackInput
from cases.crack.place import (
    check_lengths,
    crack_path,
    crack_refusal,
    one_metal,
    radial_ends,
)
from cases.crack.result import Array, CrackPlace, CrackResult, CrackSeries
from cases.gas.solve import GasLoad
from cases.life.result import SolvedStep, is_lived, service_of
from cases.life.steps import HONED, WARM
from cases.rating.result import DepthSpot, is_rated, rating_of
from cases.solid.result import SolidSpot, SolidState, solid_of
from fea.crack import ROOT_M, CrackLoad, FaceStress, Intensity, gas_on_faces, grow, intensities
from fea.model import SectionModel
from fea.stress import LayerStress, principal
from geometry.clock import clock_of
from geometry.cracked import (
    CrackPath,
    opened,
    tied_at_sides,
    tip_sizes,
    trace_path,
    with_path,
)
from geometry.refusals import SectionError
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeWishes

if TYPE_CHECKING:
    from cases.stress.result import DesignResult


LENGTHS = 10
"""Lengths that are solved."""
CLEAR = 0.04
"""Share of the wall that a tip keeps away from a border of metal, at most."""
AROUND = 3.0
"""How far around a crack the stress is taken to interpolate it. [mm]."""
ON_WALL = 0.5
"""A solid's spot nearer than this to an edge of the plan is on a wall, not on a floor. [mm]."""
COARSER = 1.5
"""Elements away from the crack, over those of the solved mesh."""


def run_cracks(
    case: Case,
    load: GasLoad,
    given: CrackInput,
    designs: Sequence[DesignResult],
    progress: Callable[[str, str], None] | None = None,
    executor: Executor | None = None,
) -> CrackResult:
    """Put a crack into every design of a case.

    Parameters
    ----------
    case : Case
    load : GasLoad
    given : CrackInput
    designs : sequence of DesignResult
        The crack's place is that of the first.
    progress : callable, optional
        Told the name of the design and "crack" when one begins, or, with an executor, when it is
        done.
    executor : concurrent.futures.Executor, optional
        Solves the designs side by side, each in a process of its own; the results are the same.

    Raises
    ------
    CaseError
        If there is no metal at the place, or the crack would be longer than the wall.
    RunError
        If a crack can't be meshed or solved.
    """
    place = crack_place(case, given, designs[0])
    for design in designs:  # all, before the first is meshed
        check_lengths(case, given, _path(case, design, place))
    tell = progress or (lambda name, stage: None)
    series = []
    if executor is None:
        for design in designs:
            tell(design.name, "crack")
            series.append(crack_series(case, load, given, design, place))
    else:
        working = [executor.submit(crack_series, case, load, given, of, place) for of in designs]
        for future in working:
            series.append(future.result())
            tell(series[-1].design, "crack")
    return CrackResult(
        given=given, place=place, series=tuple(series), notes=_notes(case, given, place, series[0])
    )


def _notes(case: Case, given: CrackInput, place: CrackPlace, first: CrackSeries) -> tuple[str, ...]:
    """What is to be known of this crack beyond the cautions that hold for all."""
    notes = []
    if given.gas_in_crack and abs(abs(place.mouth) - case.block.bore / 2) > 0.01:
        notes.append(
            "Gas is taken to be in the crack, though its mouth is not at the bore: that is so only "
            "where another way leads to it."
        )
    borders = first.path.borders[1:-1]
    if len(borders):
        at = ", ".join(f"{border:.2f}" for border in borders)
        notes.append(
            f"The depth of the metal changes {at} mm along the crack, and the stress intensity "
            "jumps there. It is read to either side, and taken as constant in between."
        )
    if first.idle_step:
        notes.append(
            f'With no gas the crack carries what the load step "{first.idle_step}" leaves along '
            "its way: press and heat of a block that has no stress at 20 degC. What casting and "
            "machining left in the metal is not known, and adds to it."
        )
    return tuple(notes)


def crack_place(case: Case, given: CrackInput, design: DesignResult) -> CrackPlace:
    """Where a crack starts and which way it runs.

    At the spot that governs the design's rating by its solid, or the part's worst in the solid,
    where it has one and that is on a wall; else at the spot that governs the rating by the section,
    where that is in the part, or the part's worst hot spot; normal to the largest principal stress.
    Or along the radius at a clock position, from the side of the wall that is pulled harder.

    Raises
    ------
    CaseError
        If there is no such part or no metal of it there.
    """
    if given.clock is None:
        return _at_solid_spot(given, design) or _at_hot_spot(case, given, design)
    ends = radial_ends(case, given, design.outline)
    pulled = [_largest_near(design.stresses, given.part, design.mesh, z) for z, _ in ends]
    mouth, along = ends[int(np.argmax(pulled))]
    return CrackPlace(
        part=given.part, mouth=mouth, direction=along, clock_hours=given.clock,
        chosen="along the radius at the clock position that was given, from the side that is "
        f"pulled harder in design {design.name}",
    )  # fmt: skip


def _at_solid_spot(given: CrackInput, design: DesignResult) -> CrackPlace | None:
    """At the worst spot of the part in the solid; None without, or where that is on no wall."""
    solid = solid_of(design)
    if solid is None:
        return None
    state = solid.as_made or solid.shown
    spots: list[SolidSpot | DepthSpot] = [
        one for one in state.worst if one.part == given.part and not one.sharp
    ]
    rated = rating_of(design).solid if is_rated(design) else None
    chosen = f"the worst spot of the {given.part} in the solid of design {design.name}"
    if rated and rated.governing and rated.governing.part == given.part:
        at = " at its limit" if rated.limit else ""
        spots = [rated.governing]
        chosen = f"the spot that governs design {design.name} by its solid{at}"
    if not spots:
        return None
    spot = max(spots, key=lambda one: one.principal_mpa)
    z = complex(spot.x_mm, spot.y_mm)
    mouth = _foot(design, z)
    if abs(mouth - z) > ON_WALL:
        return None
    across = 1j * _pulled_along(state, spot.part, spot.x_mm, spot.y_mm, spot.depth_mm)
    path = _deepest(design, given.part, mouth, across)
    if path is None:
        return None
    return CrackPlace(
        part=given.part, mouth=mouth, direction=path.direction,
        clock_hours=float(clock_of(mouth.real, mouth.imag)),
        chosen=f"at {chosen}, {spot.depth_mm:.1f} mm down, {spot.principal_mpa:.0f} MPa, normal to "
        "its largest stress seen from above",
    )  # fmt: skip


def _pulled_along(state: SolidState, part: str, x: float, y: float, depth: float) -> complex:
    """Direction in the plan of the largest stress at a place, a unit vector."""
    field = next(one for one in state.fields if one.part == part)
    away = state.mesh.points[field.nodes] - [x, y, -depth]
    xx, yy, _, xy, _, _ = field.stress[:, int((away**2).sum(axis=1).argmin())]
    return complex(np.exp(0.5j * np.arctan2(2 * xy, xx - yy)))


def _foot(design: DesignResult, z: complex) -> complex:
    """Place on the outline of a design that is nearest to another. [mm]."""
    feet = (piece.point(min(max(piece.share(z), 0.0), 1.0)) for piece in design.outline.pieces)
    return min(feet, key=lambda foot: abs(foot - z))


def _at_hot_spot(case: Case, given: CrackInput, design: DesignResult) -> CrackPlace:
    spots = [spot for spot in design.hot_spots if spot.part == given.part and not spot.sharp]
    rating = rating_of(design) if is_rated(design) else None
    governing = rating.governing if rating else None
    chosen = f"the worst hot spot of the {given.part} in design {design.name}"
    if governing and governing.spot.part == given.part:
        at = " at its limit" if rating and rating.limit else ""
        spots, chosen = [governing.spot], f"the spot that governs design {design.name}{at}"
    if not spots:
        raise crack_refusal(
            case,
            "part",
            f"Design {design.name} has no hot spot in the {given.part} to start from. Give the "
            "clock position of the crack, or another part.",
        )
    spot = spots[0]
    z = complex(spot.x_mm, spot.y_mm)
    mouth = _foot(design, z)
    if abs(mouth - z) > spot.size_mm:
        raise crack_refusal(
            case,
            "part",
            f"The worst hot spot of the {given.part}, at {spot.clock}, lies inside the metal. Give "
            "the clock position of the crack.",
        )
    across = complex(np.exp(1j * np.deg2rad(spot.principal_angle_deg + 90)))
    path = _deepest(design, given.part, mouth, across)
    if path is None:
        raise crack_refusal(
            case,
            "part",
            f"Normal to the largest stress at {spot.clock} there is no metal to crack. Give the "
            "clock position of the crack.",
        )

    return CrackPlace(
        part=given.part, mouth=mouth, direction=path.direction,
        clock_hours=float(clock_of(mouth.real, mouth.imag)),
        chosen=f"at {chosen}, {spot.principal_mpa:.0f} MPa, normal to its largest principal stress",
    )  # fmt: skip


def _deepest(design: DesignResult, part: str, mouth: complex, across: complex) -> CrackPath | None:
    """Of the two ways along a line the one into the deepest metal; None where there is none."""
    paths = []
    for direction in (across, -across):
        try:
            paths.append(trace_path(design.outline, mouth, direction, one_metal(part)))
        except SectionError:
            continue

    def depth(path: CrackPath) -> tuple[float, float]:
        layers = path.stretches[0].layers
        ahead = path.at(min(0.05, path.length / 2))
        x, y = np.array([ahead.real]), np.array([ahead.imag])
        return sum(float(layer.thickness(x, y)[0]) for layer in layers), path.length

    return max(paths, key=depth, default=None)


def _largest_near(
    stresses: Sequence[LayerStress], part: str, mesh: SectionMesh, z: complex
) -> float:
    """Largest principal stress of a part at its node nearest to a place. [MPa]."""
    found = []
    for layer in stresses:
        if layer.part == part:
            away = np.abs(mesh.points[layer.nodes] @ [1, 1j] - z)
            nearest = int(np.argmin(away))
            value = float(principal(layer.stress[:, nearest])[0])
            found.append((round(float(away[nearest]), 6), -value))
    return -min(found)[1]


def crack_lengths(path: CrackPath, flaw: float, longest: float) -> Array:
    """Lengths to be solved: evenly from the flaw on, clear of borders, one at least in each metal.

    Parameters
    ----------
    path : CrackPath
    flaw, longest : float
        [mm]

    Returns
    -------
    ndarray, shape (n,)
        ``LENGTHS`` of them, unless short stretches of metal need more. [mm]
    """
    borders = path.borders
    clear = min(CLEAR * path.length, 0.25 * float(np.diff(borders).min()))
    lengths = np.linspace(flaw, longest, LENGTHS)
    ahead = borders[1:]  # the mouth is no border: a short crack has a fine mesh
    nearest = ahead[np.argmin(np.abs(lengths[:, None] - ahead), axis=1)]
    off = lengths - nearest
    side = np.where((off < 0) | (nearest == borders[-1]), -1.0, 1.0)
    lengths = np.where(np.abs(off) < clear, nearest + side * clear, lengths)
    missed = [
        (start + end) / 2
        for start, end in pairwise(borders)
        if flaw < start and end < longest and not ((lengths > start) & (lengths < end)).any()
    ]
    return np.unique(np.concatenate([lengths, missed]))


def crack_series(
    case: Case, load: GasLoad, given: CrackInput, design: DesignResult, place: CrackPlace
) -> CrackSeries:
    """Stress intensity of a crack in one design by its length, and its growth.

    One mesh serves all lengths.

    Raises
    ------
    CaseError
        If there is no metal at the place.
    RunError
        If a crack can't be meshed or solved.
    """
    path = _path(case, design, place)
    longest = path.length if given.longest is None else given.longest
    lengths = crack_lengths(path, given.flaw, longest)
    materials = design.solution.model.materials
    try:
        mesh = _mesh(design, path, lengths)
        loads = [*_loads(load, given, design, mesh, path), CrackLoad(_nothing, _even)]
        found: list[tuple[Intensity, ...]] = []
        for length in lengths:
            cracked = opened(mesh, path, float(length))
            found.append(intensities(SectionModel(cracked.mesh, materials), cracked, loads))
    except Exception as error:  # gmsh raises bare Exceptions
        raise RunError(f'design "{design.name}", crack: {error}') from error
    gas = [of[0] for of in found]
    k1, k2 = (np.array([getattr(of, key) for of in gas]) / ROOT_M for key in ("k1", "k2"))
    step = _idle_step(design)
    idle = np.array([of[1].k1 if len(of) > 2 else 0.0 for of in found]) / ROOT_M
    even = np.array([of[-1].k1 for of in found]) / ROOT_M
    end = "breakthrough" if longest >= path.length * (1 - 1e-9) else "longest"
    grown = grow(lengths, idle + k1, idle, given.law, given.flaw, longest, path.borders[1:-1], end)
    found_series = CrackSeries(
        design=design.name, path=path, length=lengths, k1=k1, k2=k2,
        kink_deg=np.array([of.kink_deg for of in gas]), idle_k1=idle,
        idle_step=str(step.name) if step else "", crack_growth=grown,
        unknowns=2 * len(cracked.mesh.points),
    )  # fmt: skip
    return replace(found_series, solid=solid_crack(given, design, found_series, even))


def _path(case: Case, design: DesignResult, place: CrackPlace) -> CrackPath:
    """The way of the crack through a design."""
    return crack_path(case, design.name, design.outline, place.mouth, place.direction, place.part)


def _mesh(design: DesignResult, path: CrackPath, lengths: Array) -> SectionMesh:
    """A mesh for all lengths: somewhat coarser than the solved one, finer at the tips."""
    from geometry.mesh import mesh_outline

    corners = design.mesh.points[design.mesh.triangles[:, :3]] @ [1, 1j]
    longest = np.abs(corners - np.roll(corners, 1, axis=1)).max(axis=1)
    as_solved = SizeWishes(corners.mean(axis=1), COARSER * longest, 1.5)
    drawn = with_path(design.outline, path, lengths.tolist())
    mesh = mesh_outline(drawn, wishes=[as_solved, tip_sizes(path, lengths.tolist())])
    if "insert" in mesh.parts:
        return tied_at_sides(mesh, "insert")
    return mesh


def _loads(
    load: GasLoad, given: CrackInput, design: DesignResult, mesh: SectionMesh, path: CrackPath
) -> list[CrackLoad]:
    """Gas; and what the section carries with no gas, where its load steps are known."""
    q = load.line_load

    def gas(model: SectionModel) -> Array:
        return model.edge_load("bore", lambda _x, _y, nx, ny: -q * np.stack([nx, ny]))

    within = gas_on_faces(mesh, load.peak_pressure, load.pressurised_depth)
    loads = [CrackLoad(gas, within if given.gas_in_crack else None)]
    step = _idle_step(design)
    if step:
        idle = _stress_of(service_of(design).mesh, step.stresses, mesh, path)
        loads.append(CrackLoad(_nothing, idle))
    return loads


def _nothing(model: SectionModel) -> Array:
    """No nodal forces, shape (n, 2)."""
    return np.zeros((len(model.mesh.points), 2))


def _even(_region: int, x: Array, _y: Array) -> Array:
    """Pull of 1 MPa across any way, shape (3, ...). [MPa]."""
    return np.stack([np.ones_like(x), np.ones_like(x), np.zeros_like(x)])


def _idle_step(design: DesignResult) -> SolvedStep | None:
    """The load step of a design with no gas: warm, or as it was honed where nothing heats it."""
    if not is_lived(design):
        return None
    service = service_of(design)
    return service.step(WARM) or service.step(HONED)


def _stress_of(
    solved: SectionMesh, stresses: Sequence[LayerStress], mesh: SectionMesh, path: CrackPath
) -> FaceStress:
    """Stress of a solved section, to be put on the faces of a crack in another mesh of it."""
    from scipy.interpolate import CloughTocher2DInterpolator, NearestNDInterpolator

    middle, reach = path.at(path.length / 2), path.length / 2 + AROUND

    @cache
    def near(region: int) -> tuple[Callable[..., Array], Callable[..., Array]]:
        (wanted,) = mesh.regions[region]
        points, values = [], []
        for layer in stresses:
            if layer.part == wanted.part and wanted in solved.regions[layer.region]:
                at = solved.points[layer.nodes]
                inside = np.abs(at @ [1, 1j] - middle) < reach
                points.append(at[inside])
                values.append(layer.stress[:, inside].T)
        known = np.concatenate(points), np.concatenate(values)
        return CloughTocher2DInterpolator(*known), NearestNDInterpolator(*known)

    def stress(region: int, x: Array, y: Array) -> Array:
        smooth, nearest = near(region)
        found = smooth(x, y)
        outside = np.isnan(found).any(axis=-1)  # between the nodes of a curved edge
        found[outside] = nearest(x[outside], y[outside])
        return np.moveaxis(found, -1, 0)

    return stress
