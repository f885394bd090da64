"""Whether an insert drops in: clearance by side at the temperatures of block and insert.

A closed ring that is colder than its block gains at the outer wall and loses at the barrel: both
circles shrink towards one middle. So does one piece that goes around a bank, towards the middle of
the bank. A piece between ties is free to move and to bend a little: it opens each side by half its
width times the strain, and each end by half its length.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from cases.life.given import InsertFit
from cases.making.contraction import strain, temperature_of, warming_time
from cases.making.given import MakingInput
from fea.material import REFERENCE, Material
from geometry import Block, Insert
from geometry.cut_pieces import CutPiece
from geometry.planar import Area, Curve

BARREL, OUTER_WALL, ENDS = "barrel", "outer wall", "tie"
SAMPLES = (0.1, 0.5, 0.9)
"""Places of each curve of a loop at which a closed insert must pass."""


@dataclass(frozen=True, kw_only=True, slots=True)
class FitRange:
    """The common interference on the diameter that is made, at 20 degC. [mm]."""

    low: float
    nominal: float
    high: float
    by: str  # where low and high come from
    note: str = ""  # what is wrong with it

    def of(self, fit: InsertFit, part: str) -> tuple[float, float, float]:
        """Least, nominal and largest interference of a side, on the diameter. [mm]."""
        if part in fit.common:
            return self.low, self.nominal, self.high
        stated = fit.sides[part].interference
        return stated - fit.tolerance, stated, stated + fit.tolerance


@dataclass(frozen=True, kw_only=True, slots=True)
class SideClearance:
    """What a side stands off while the insert goes in; negative is interference."""

    part: str  # that it stands against
    cold: float  # both at 20 degC, nominal [mm]
    nominal: float  # at the temperatures of block and insert [mm]
    least: float  # the same with the largest interference that is made [mm]


@dataclass(frozen=True, kw_only=True, slots=True)
class Passage:
    """How a piece goes in."""

    number: int
    closed: bool  # it goes around a bore, and can't move to follow
    sides: tuple[SideClearance, ...]
    unbent: float | None  # least clearance as it is, not bent to follow; None of a closed one [mm]
    air_seconds: float  # in air, until less than the least clearance asked is left
    touching_seconds: float  # from the first touch, until it grips

    @property
    def least(self) -> float:
        """Of all sides. [mm]."""
        return min(side.least for side in self.sides)


def opening(block: Material, insert: Material, given: MakingInput) -> float:
    """Strain of the block over that of the insert, at their temperatures; positive opens a piece.

    Raises
    ------
    ValueError
        If the expansion of one of them is not known.
    """
    of_block, of_insert = expansion(block), expansion(insert)
    return float(
        strain(given.block_temperature, of_block) - strain(given.insert_temperature, of_insert)
    )


def expansion(material: Material) -> float:
    """Mean expansion from 20 to 100 degC. [1/K].

    Raises
    ------
    ValueError
        If it is not known.
    """
    if not material.expansion:
        raise ValueError(f"the thermal expansion of {material.name} is not known")
    return material.expansion


def width_of(block: Block, insert: Insert) -> float:
    """Radial width of an insert at the deck. [mm]."""
    full = block.jacket + insert.off_barrel + insert.off_outer_wall
    return full if insert.width is None else min(insert.width + insert.off_barrel, full)


def ring_clearance(radius: float, interference: float, opens: float, *, inside: bool) -> float:
    """What a closed ring stands off on one side. [mm].

    Parameters
    ----------
    radius : float
        Of the side. [mm]
    interference : float
        On the diameter, at 20 degC. [mm]
    opens : float
        Strain of the block over that of the insert. [1]
    inside : bool
        Whether it is the ring's inside, against the barrel.

    Notes
    -----
    c = R e - i/2 outside; inside the sign of the strain is the other. Outside it is the clearance
    by which a hub that is heated goes over its shaft.

    Examples
    --------
    >>> round(ring_clearance(61.0, 0.0, 0.0039, inside=False), 4)
    0.2379
    >>> round(ring_clearance(52.0, 0.0, 0.0039, inside=True), 4)
    -0.2028
    """
    return (-1 if inside else 1) * radius * opens - interference / 2


def piece_clearance(extent: float, interference: tuple[float, float], opens: float) -> float:
    """What a piece that is free to move stands off on each of two sides. [mm].

    Parameters
    ----------
    extent : float
        From side to side, at 20 degC. [mm]
    interference : tuple of float
        Of both sides, each as on a diameter: half of it is that side's. [mm]
    opens : float
        Strain of the block over that of the insert. [1]

    Examples
    --------
    >>> round(piece_clearance(9.0, (0.0, 0.0), 0.0039), 5)
    0.01755
    """
    return (extent * opens - sum(interference) / 2) / 2


def encloses_bore(piece: CutPiece, block: Block) -> bool:
    """Whether a piece goes around a bore."""
    outer = Area(piece.loops[:1])
    return bool(outer.holds(np.array(block.axes, dtype=complex)).any())


def side_of(curve: Curve, block: Block) -> str | None:
    """The part that an edge of an insert stands against; None where it faces water or a corner."""
    tags = [tag for tag in curve.tag.split("|") if tag not in ("register", "under")]
    if tags[0] == "relief":
        middle = curve.point(0.5)
        away = min(abs(middle - axis) for axis in block.axes)
        inner = away < (block.barrel_radius + block.jacket_radius) / 2
        return BARREL if inner else OUTER_WALL
    return {"barrel": BARREL, "jacket": OUTER_WALL, "tie": ENDS}.get(tags[0])


@dataclass(frozen=True, kw_only=True, slots=True)
class Way:
    """What a piece meets on its way in; its clearance at any strain of block over insert."""

    piece: CutPiece
    block: Block
    insert: Insert

    def bending(self, interference: Mapping[str, float], opens: float) -> dict[str, float]:
        """Clearance by side of a piece that moves and bends to follow its pocket. [mm]."""
        found = {}
        if self.insert.width is None:
            both = (interference[BARREL], interference[OUTER_WALL])
            across = piece_clearance(width_of(self.block, self.insert), both, opens)
            found = {BARREL: across, OUTER_WALL: across}
        if any(side_of(curve, self.block) == ENDS for curve in self.piece.loops[0]):
            ends = (interference[ENDS], interference[ENDS])
            found[ENDS] = piece_clearance(self.piece.length, ends, opens)
        return found

    def rigid(self, interference: Mapping[str, float], opens: float) -> dict[str, float]:
        """The same of one that does not bend, where its least clearance is largest. [mm].

        An edge at z with the outward normal n stands off by e z.n - i/2 - (a + w iz).n when the
        piece is moved by a and turned by w; a and w of the largest least of them are a linear
        programme. One with nothing behind it moves no further than the jacket is wide.
        """
        from scipy.optimize import linprog

        z, normal, parts = [], [], []
        for curve in self.piece.curves:
            if (part := side_of(curve, self.block)) is not None:
                z += [curve.point(at) for at in SAMPLES]
                normal += [-1j * curve.direction(at) for at in SAMPLES]
                parts += [part] * len(SAMPLES)
        at = np.array(z) - np.mean(z)
        n, part_of = np.array(normal), np.array(parts)
        free = opens * (at.conj() * n).real - np.array([interference[p] for p in parts]) / 2
        turn = ((1j * at).conj() * n).real
        moves = np.stack([n.real, n.imag, turn / np.abs(at).max()], axis=1)
        rows = np.column_stack([moves, np.ones(len(n))])
        far = self.block.jacket
        bounds = [*[(-far, far)] * 3, (None, None)]
        best = linprog([0, 0, 0, -1], A_ub=rows, b_ub=free, bounds=bounds)
        stands = free - moves @ best.x[:3]
        return {str(part): float(stands[part_of == part].min()) for part in dict.fromkeys(parts)}

    def clearances(self, interference: Mapping[str, float], opens: float) -> dict[str, float]:
        """Of a closed piece as it is rigid, of another as it bends.

        Raises
        ------
        ValueError
            If it stands between no two faces.
        """
        way = self.rigid if encloses_bore(self.piece, self.block) else self.bending
        found = way(interference, opens)
        if not found:
            raise ValueError(
                f"piece {self.piece.number} stands between no two faces, so nothing holds it"
            )
        return found

    def needed(self, interference: Mapping[str, float], clearance: float, most: float) -> float:
        """Strain of the block over the insert at which the least clearance is one asked for.

        Infinite where it takes more than ``most``. [1].
        """

        def left(opens: float) -> float:
            return min(self.clearances(interference, opens).values()) - clearance

        if left(0.0) >= 0:
            return 0.0
        if left(most) < 0:
            return math.inf
        return float(brentq(left, 0.0, most, xtol=1e-9))


def passages(
    pieces: tuple[CutPiece, ...],
    block: Block,
    insert: Insert,
    fit: InsertFit,
    made: FitRange,
    given: MakingInput,
    materials: tuple[Material, Material],
    contact_film: float,
) -> tuple[Passage, ...]:
    """How every piece goes in.

    Parameters
    ----------
    pieces : tuple of CutPiece
    block, insert : Block, Insert
    fit : InsertFit
    made : FitRange
    given : MakingInput
    materials : (Material, Material)
        Of block and insert.
    contact_film : float
        [W/(mm2 K)]

    Raises
    ------
    ValueError
        If an expansion or the insert's density is not known, or nothing holds a piece.
    """
    if materials[1].density is None:
        raise ValueError(f"the density of {materials[1].name} is not known")
    opens = opening(*materials, given)
    high = {part: made.of(fit, part)[2] for part in fit.sides}
    nominal = {part: made.of(fit, part)[1] for part in fit.sides}
    found = []
    for piece in pieces:
        way = Way(piece=piece, block=block, insert=insert)
        cold, warm = way.clearances(nominal, 0.0), way.clearances(nominal, opens)
        least = way.clearances(high, opens)
        closed = encloses_bore(piece, block)
        seconds = _seconds(way, high, opens, given, materials, contact_film)
        found.append(
            Passage(
                number=piece.number,
                closed=closed,
                sides=tuple(
                    SideClearance(part=part, cold=cold[part], nominal=warm[part], least=least[part])
                    for part in least
                ),
                unbent=None if closed else min(way.rigid(high, opens).values()),
                air_seconds=seconds[0],
                touching_seconds=seconds[1],
            )
        )
    return tuple(found)


def _seconds(
    way: Way,
    interference: Mapping[str, float],
    opens: float,
    given: MakingInput,
    materials: tuple[Material, Material],
    contact_film: float,
) -> tuple[float, float]:
    """In air down to the clearance asked for, and touching from there until nothing is left.

    None of either where the clearance is less from the start. [s].
    """
    block, insert = materials
    assert insert.density is not None
    of_block = float(strain(given.block_temperature, expansion(block)))
    piece, depth = way.piece, way.insert.depth
    thickness = piece.area * depth / (2 * piece.area + piece.perimeter * depth)

    def warm_at(clearance: float) -> float:
        """Temperature of the insert at which no more than a clearance is left."""
        needed = way.needed(interference, clearance, opens)
        if needed == math.inf:
            return -math.inf
        if needed == 0.0:  # it has that as warm as the block, too
            return math.inf
        return temperature_of(of_block - needed, expansion(insert))

    asked, grips = warm_at(given.least_clearance), warm_at(0.0)
    starts = given.insert_temperature
    if asked < starts:
        return 0.0, 0.0
    air = warming_time(
        starts, asked, REFERENCE, film=given.air_film, density=insert.density, thickness=thickness
    )
    touching = warming_time(
        min(asked, max(starts, REFERENCE)), grips, given.block_temperature,
        film=contact_film, density=insert.density, thickness=thickness,
    )  # fmt: skip
    return air, touching
