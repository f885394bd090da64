"""The deck section as small frozen dataclasses: mm, degrees and clock hours.

A part is a noun a machinist knows; it checks its own numbers once. What depends on several
parts together (a relief cut that breaks into the bore, say) is checked by
:mod:`geometry.outline`, which draws the section.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.clock import clock_of, format_clock
from geometry.refusals import OutOfRangeError, SectionError, require_between

THINNEST_WALL = 1.5
"""Metal thinner than this is refused unless the section allows it. [mm].

Common practice, no source: a cut that leaves less can't be trusted to be there at all.
"""

EDGE_BREAK = 0.3
"""Radius to which an insert's edges are broken where nothing is said. [mm].

Common practice, no source: a file or a brush takes off 0.2 to 0.5 mm.
"""

FLOOR_RADIUS = 2.0
"""Radius between the floor of a relief cut and its wall where nothing is said. [mm].

Common practice, no source: the corner of the cutter, or a cast pocket's least fillet.
"""

UNDERSIDE_RADIUS = 3.0
"""Radius between the underside of a tie and the walls where nothing is said. [mm].

Common practice, no source: cast metal has no inner corner sharper than 2 to 3 mm.
"""

JACKET_SHARE = 0.8
"""Depth of a jacket over the bore where nothing is said.

Common practice, no source: the water reaches about as far down as the rings are hot.
"""

FLOOR_SHARE = 0.15
"""Metal between a jacket's floor and the crankcase, over the bore, where nothing is said.

Common practice, no source.
"""

BELOW_FEATURES = 1.25
"""A jacket whose depth isn't stated reaches this many times as deep as any tie or relief cut."""

Form = Literal["pieces", "ring"]
"""Of an insert: a piece in each pocket between the ties, or one around the barrels over them."""

RANGES: Mapping[str, Mapping[str, tuple[float, float, str]]] = {
    "tie": {"width": (0.5, 500.0, "mm"), "depth": (0.1, 500.0, "mm"), "fillet": (0.0, 50.0, "mm")},
    "relief_cut": {
        "radius": (1.0, 1000.0, "mm"),
        "diameter": (1.0, 200.0, "mm"),
        "depth": (0.1, 500.0, "mm"),
    },
    "zone": {
        "width": (0.5, 360.0, "deg"),
        "depth": (0.1, 500.0, "mm"),
        "blend": (0.0, 180.0, "deg"),
    },
    "slot": {"width": (0.5, 100.0, "mm"), "arc": (0.0, 170.0, "deg")},
    "insert": {
        "depth": (0.1, 500.0, "mm"),
        "width": (0.5, 200.0, "mm"),
        "corner_radius": (0.1, 50.0, "mm"),
        "edge_break": (0.0, 5.0, "mm"),
        "inside_radius": (0.0, 50.0, "mm"),
    },
    "register": {
        "depth": (0.1, 500.0, "mm"),
        "barrel": (0.0, 50.0, "mm"),
        "outer_wall": (0.0, 50.0, "mm"),
        "corner_radius": (0.5, 50.0, "mm"),
        "ledge": (0.2, 50.0, "mm"),
    },
    "block": {
        "bore": (10.0, 1000.0, "mm"),
        "barrel_wall": (0.5, 300.0, "mm"),
        "liner": (0.0, 50.0, "mm"),
        "jacket": (0.0, 200.0, "mm"),
        "outer_wall": (0.0, 200.0, "mm"),
        "valley_fillet": (0.0, 50.0, "mm"),
        "draft": (0.0, 10.0, "deg"),
        "bores": (1, 16, "bores"),
        "jacket_depth": (1.0, 500.0, "mm"),
        "crankcase_floor": (2.0, 500.0, "mm"),
        "floor_radius": (0.0, 20.0, "mm"),
        "underside_radius": (0.0, 20.0, "mm"),
    },
    "section": {
        "depth": (1.0, 500.0, "mm"),
        "thinnest_wall": (0.2, 50.0, "mm"),
        "drawn_over": (1.0, 500.0, "mm"),
    },
}
"""Least, most and unit of what a part states, whatever stands beside it."""


def _require_ranges(name: str, part: Any) -> None:
    for key, (low, high, unit) in RANGES[name].items():
        value = getattr(part, key)
        if value is not None:
            require_between(f"{name}.{key}", value, low, high, unit, error=OutOfRangeError)


def _require_clock(name: str, clock: float) -> None:
    require_between(f"{name}.clock", clock, 0.0, 12.0, "h", "Clock positions run from 0 to 12.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Tie:
    """A bridge of deck metal across the water jacket, with parallel sides."""

    clock: float  # centre of the tie; 0 and 12 are both the top [h]
    width: float  # between its sides [mm]
    depth: float  # from the deck down [mm]
    fillet: float = 3.0  # radius where the tie meets each wall [mm]
    bores: tuple[int, ...] | None = None  # bores that have it, counted from 1; None: all

    def __post_init__(self) -> None:
        _require_clock("tie", self.clock)
        _require_ranges("tie", self)


@dataclass(frozen=True, kw_only=True, slots=True)
class ReliefCut:
    """A round pocket from the deck about a bolt, as wide as bolt and tool need."""

    clock: float  # of the pocket's centre [h]
    radius: float  # from the bore axis to the pocket's centre [mm]
    diameter: float  # of the pocket [mm]
    depth: float  # from the deck down [mm]
    bores: tuple[int, ...] | None = None  # bores that have it, counted from 1; None: all

    def __post_init__(self) -> None:
        _require_clock("relief_cut", self.clock)
        _require_ranges("relief_cut", self)


@dataclass(frozen=True, kw_only=True, slots=True)
class DeeperZone:
    """A stretch of the insert that is deeper than the rest."""

    clock: float  # centre of the zone [h]
    width: float  # angle over which the full depth stands [deg]
    depth: float  # from the deck down [mm]
    blend: float = 0.0  # angle of the smooth run-out at each end; 0 is a step [deg]

    def __post_init__(self) -> None:
        _require_clock("zone", self.clock)
        _require_ranges("zone", self)
        require_between(
            "zone.width + 2 zone.blend", self.width + 2 * self.blend, 0.0, 360.0, "deg",
            "A zone can't be longer than the whole circle.",
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class WaterSlot:
    """An opening through the insert: round, or a kidney that follows the jacket."""

    clock: float  # of its centre [h]
    width: float  # radial width; the diameter of a round slot [mm]
    arc: float = 0.0  # angle between the end centres of a kidney; 0 is round [deg]
    radius: float | None = None  # from the bore axis to its centre line; None: mid-jacket [mm]
    bores: tuple[int, ...] | None = None  # bores that have it, counted from 1; None: all

    def __post_init__(self) -> None:
        _require_clock("slot", self.clock)
        _require_ranges("slot", self)


LEAST_CUT = 0.2
"""Least width that a register takes off a wall, where it takes any. [mm].

Less is no step that the section could draw; a shop cleans up with no less (common practice, no
source).
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Register:
    """The jacket machined for the insert, from the deck down; below it stays as cast.

    A ledge is the shoulder that the cut leaves, on which the insert stands: walls whose width isn't
    stated lose as much.
    """

    depth: float  # from the deck down [mm]
    barrel: float | None = None  # width taken off the barrel wall; None: the ledge, or none [mm]
    outer_wall: float | None = None  # the same off the outer wall [mm]
    corner_radius: float = 3.0  # of the pocket's corners, which the cutter leaves [mm]
    ledge: float | None = None  # radial width of the shoulder; None: none to stand on [mm]

    def __post_init__(self) -> None:
        _require_ranges("register", self)
        for key in ("barrel", "outer_wall"):
            width = getattr(self, key) or 0.0
            if 0 < width < max(LEAST_CUT, self.ledge or 0.0):
                least = max(LEAST_CUT, self.ledge or 0.0)
                why = (
                    f"leaves no ledge of {self.ledge:g} mm" if self.ledge else "is no step to draw"
                )
                raise SectionError(
                    f"register.{key} = {width:g} mm {why}. Take off at least {least:g} mm, or none "
                    "(0 mm).", f"register.{key}",
                )  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class Insert:
    """The machined piece that fills the jacket at the deck.

    Pieces stand in the pockets between the ties. A ring goes around each barrel, or around all
    those that it joins, over ties that are milled down to its depth; its zones are deeper between
    the ties only.
    """

    depth: float  # base depth, from the deck down [mm]
    width: float | None = None  # radial, outward from the plain barrel face; None: full jacket
    zones: tuple[DeeperZone, ...] = ()
    slots: tuple[WaterSlot, ...] = ()
    fills_relief_cuts: bool = True  # False: the insert is cut back clear of the pockets
    corner_radius: float | None = None  # of its outer corners; None: the fillet's and 0.5 mm [mm]
    edge_break: float = EDGE_BREAK  # radius of broken edges, in plan and underneath [mm]
    inside_radius: float | None = None  # where it reaches around an edge of the block; None: usual
    form: Form = "pieces"
    register: Register | None = None  # None: the jacket stays as cast

    def __post_init__(self) -> None:
        _require_ranges("insert", self)
        if self.form not in get_args(Form):
            raise SectionError(
                f'insert.form = "{self.form}" is no form of an insert. Choose "pieces" or "ring".',
                "insert.form",
            )
        for number, zone in enumerate(self.zones, 1):
            if zone.depth <= self.depth:
                raise SectionError(
                    f"zone {number} at {format_clock(zone.clock)} is {zone.depth:g} mm deep, no "
                    f"deeper than the insert's {self.depth:g} mm. Make it deeper, or leave it out.",
                    f"zone[{number}].depth",
                )
        if self.edge_break >= self.depth:
            raise SectionError(
                f"insert.edge_break = {self.edge_break:g} mm breaks away all of the insert's "
                f"{self.depth:g} mm of depth. Give less than {self.depth:g} mm, or 0 for a sharp "
                "edge.", "insert.edge_break",
            )  # fmt: skip

        self._check_register()

    def _check_register(self) -> None:
        register = self.register
        if register is None:
            return
        if register.ledge is not None and register.depth != self.depth:
            raise SectionError(
                f"an insert {self.depth:g} mm deep can't stand on a ledge {register.depth:g} mm "
                f"below the deck. Give both the same depth, or leave the ledge out.",
                "register.depth",
            )
        if self.width is not None and register.ledge is not None and register.ledge >= self.width:
            raise SectionError(
                f"register.ledge = {register.ledge:g} mm is no narrower than the insert, which is "
                f"{self.width:g} mm wide. Make the ledge narrower, or the insert wider.",
                "register.ledge",
            )

    @property
    def lowest(self) -> float:
        """Largest depth that the insert reaches, or that is machined for it. [mm]."""
        return max(self.deepest, self.register.depth if self.register else 0.0)

    @property
    def off_barrel(self) -> float:
        """Width that the register takes off the barrel wall. [mm]."""
        register = self.register
        if register is None:
            return 0.0
        return (register.ledge or 0.0) if register.barrel is None else register.barrel

    @property
    def off_outer_wall(self) -> float:
        """Width that the register takes off the outer wall. [mm]."""
        register = self.register
        if register is None:
            return 0.0
        return (register.ledge or 0.0) if register.outer_wall is None else register.outer_wall

    @property
    def deepest(self) -> float:
        """Largest depth anywhere on the insert. [mm]."""
        return max([self.depth, *(zone.depth for zone in self.zones)])


@dataclass(frozen=True, slots=True)
class WallLean:
    """How a wall grows with depth: by a slope of its own down to a depth, by the draft's below."""

    slope: float  # [mm/mm]
    down_to: float  # [mm]
    below: float  # [mm/mm]

    def by(self, depth: float) -> float:
        """From the deck to a depth. [mm].

        Examples
        --------
        >>> WallLean(0.02, 30.0, 0.01).by(40.0)
        0.7
        """
        above = min(depth, self.down_to)
        return self.slope * above + self.below * (depth - above)


@dataclass(frozen=True, kw_only=True, slots=True)
class Block:
    """The parent metal at the deck: barrels, outer wall, ties and what was cut from them.

    With ``bores`` > 1 the bores stand in line along x at ``pitch``; the axis of the bore that
    fires is the origin, and every feature stands at its clock position about its own bore.
    Without a jacket (``jacket`` = 0) the block is a plain barrel.
    """

    bore: float  # finished diameter [mm]
    barrel_wall: float  # parent metal outside the liner [mm]
    liner: float = 0.0  # wall of a sleeve of another material; 0: none [mm]
    wall_table: tuple[tuple[float, float], ...] = ()  # (clock [h], wall [mm]) where it varies
    bore_walls: tuple[tuple[tuple[float, float], ...], ...] = ()
    """The same bore by bore, where bores differ; a bore whose rows are empty has the plain wall."""
    bore_leans: tuple[tuple[float, float] | None, ...] = ()
    """Bore by bore how its wall grows with depth [mm/mm], and down to which depth [mm], where that
    isn't by the draft: a taper that was read. Below that depth it is by the draft again."""
    jacket: float = 0.0  # radial width of the water jacket outside the plain barrel wall [mm]
    outer_wall: float = 0.0  # outside the jacket [mm]
    ties: tuple[Tie, ...] = ()
    relief_cuts: tuple[ReliefCut, ...] = ()
    bores: int = 1
    pitch: float | None = None  # between bore axes; needed with more than one bore [mm]
    firing_bore: int = 1  # counted from 1 at the 9:00 end
    valley_fillet: float = 3.0  # where neighbouring barrels run together [mm]
    draft: float = 0.0  # of the jacket, whose walls and ties are stated at the deck [deg]
    jacket_depth: float | None = None  # deck to the jacket's floor; None: usual [mm]
    crankcase_floor: float | None = None  # deck to where the barrels end; None: usual [mm]
    floor_radius: float = FLOOR_RADIUS  # between a relief cut's floor and its wall [mm]
    underside_radius: float = UNDERSIDE_RADIUS  # between a tie's underside and the walls [mm]

    def __post_init__(self) -> None:
        _require_ranges("block", self)
        require_between("block.firing_bore", self.firing_bore, 1, self.bores, "(bore number)")
        self._check_wall_table()
        self._check_pitch()
        self._check_jacket()
        self._check_floors()

    def _check_wall_table(self) -> None:
        if self.bore_walls and (self.wall_table or len(self.bore_walls) != self.bores):
            raise SectionError(
                f"block.bore_walls has rows for {len(self.bore_walls)} of {self.bores} bores, "
                f"beside {len(self.wall_table)} rows of wall_table. Give them for each bore, and "
                "no wall_table.", "block.bore_walls",
            )  # fmt: skip
        for key, table in (
            ("wall_table", self.wall_table), *(("bore_walls", rows) for rows in self.bore_walls),
        ):  # fmt: skip
            for clock, wall in table:
                _require_clock(key, clock)
                require_between(f"{key}.wall", wall, *RANGES["block"]["barrel_wall"])
            clocks = [clock % 12 for clock, _ in table]
            if len(clocks) in (1, 2) or len(set(clocks)) < len(clocks):
                raise SectionError(
                    f"block.{key} has {len(set(clocks))} different clock positions in "
                    f"{len(clocks)} rows. Give at least three, each once.", f"block.{key}",
                )  # fmt: skip

    def _check_pitch(self) -> None:
        if self.pitch is not None and not (math.isfinite(self.pitch) and self.pitch > 0):
            raise SectionError(
                f"block.pitch = {self.pitch:g} mm is no distance between bore axes. Give it as a "
                "positive length, or leave it out where there is one bore.", "block.pitch",
            )  # fmt: skip
        if self.bores > 1:
            if self.pitch is None:
                raise SectionError(
                    f"block.bores = {self.bores} needs a pitch. Give the distance between the "
                    "bore axes.", "block.pitch",
                )  # fmt: skip
            least = self.bore + 2 * self.liner
            if self.pitch <= least:
                raise SectionError(
                    f"block.pitch = {self.pitch:g} mm is not more than the bore with its liners "
                    f"({least:g} mm): the bores would run into each other. "
                    f"Give a pitch above {least:g} mm.", "block.pitch",
                )  # fmt: skip

    def _check_jacket(self) -> None:
        if self.jacket > 0 and self.outer_wall <= 0:
            raise SectionError(
                f"block.jacket = {self.jacket:g} mm needs an outer wall around it. "
                "Give block.outer_wall.", "block.outer_wall",
            )  # fmt: skip
        if self.jacket == 0 and (self.ties or self.outer_wall > 0):
            raise SectionError(
                "block has no jacket, so no tie can cross it and no outer wall can stand outside "
                "it. Give block.jacket, or leave out the ties and the outer wall.", "block.jacket",
            )  # fmt: skip
        if self.jacket == 0 and self.draft > 0:
            raise SectionError(
                f"block.draft = {self.draft:g} deg is of the walls of a jacket, and the block "
                "has none. Give block.jacket, or leave the draft out.", "block.draft",
            )  # fmt: skip

    def _check_floors(self) -> None:
        floor, jacket = self.floor_depth, self.jacket_floor
        if floor <= jacket:
            key = "jacket_depth" if self.jacket_depth is not None else "crankcase_floor"
            raise SectionError(
                f"the jacket is {jacket:g} mm deep, but the crankcase begins {floor:g} mm below "
                f"the deck. Give block.jacket_depth below {floor:g} mm, or block.crankcase_floor "
                f"above {jacket:g} mm.", f"block.{key}",
            )  # fmt: skip
        for number, cut in enumerate(self.relief_cuts, 1):
            if cut.depth >= floor:
                raise SectionError(
                    f"relief cut {number} at {format_clock(cut.clock)} is {cut.depth:g} mm deep, "
                    f"which leaves no floor above the crankcase, {floor:g} mm below the deck. Give "
                    f"block.crankcase_floor above {cut.depth:g} mm, or a cut less deep.",
                    "block.crankcase_floor",
                )

    @property
    def _deepest(self) -> float:
        ties, cuts = (tie.depth for tie in self.ties), (cut.depth for cut in self.relief_cuts)
        return max([0.0, *ties, *cuts])

    @property
    def jacket_floor(self) -> float:
        """Depth of the jacket's floor, as stated or as usual; 0 without a jacket. [mm]."""
        if self.jacket == 0:
            return 0.0
        if self.jacket_depth is not None:
            return self.jacket_depth
        usual = max(JACKET_SHARE * self.bore, BELOW_FEATURES * self._deepest)
        if self.crankcase_floor is None:
            return usual
        return min(usual, self.crankcase_floor * JACKET_SHARE / (JACKET_SHARE + FLOOR_SHARE))

    @property
    def floor_depth(self) -> float:
        """Depth of the crankcase's floor, where the barrels end, as stated or as usual. [mm]."""
        if self.crankcase_floor is not None:
            return self.crankcase_floor
        jacket = self.jacket_floor or max(JACKET_SHARE * self.bore, BELOW_FEATURES * self._deepest)
        return jacket + FLOOR_SHARE * self.bore

    @property
    def liner_radius(self) -> float:
        """Outside of the liner, or of the bore where there is none. [mm]."""
        return self.bore / 2 + self.liner

    @property
    def barrel_radius(self) -> float:
        """Outside of the plain barrel wall. [mm]."""
        return self.liner_radius + self.barrel_wall

    @property
    def jacket_radius(self) -> float:
        """Outside of the water jacket beside a bore. [mm]."""
        return self.barrel_radius + self.jacket

    @property
    def outside_radius(self) -> float:
        """Outside of the block beside a bore. [mm]."""
        return self.jacket_radius + self.outer_wall

    def at_depth(self, depth: float) -> Block:
        """The block as its draft leaves it at a depth: walls and ties thicker, the jacket narrower.

        Parameters
        ----------
        depth : float
            Below the deck. [mm]

        Returns
        -------
        Block
            Without draft; the same where there is none.

        Raises
        ------
        SectionError
            If the walls meet above that depth.

        Examples
        --------
        >>> cast = Block(bore=86, barrel_wall=6, jacket=9, outer_wall=8, draft=1)
        >>> round(cast.at_depth(20).barrel_wall, 3), round(cast.at_depth(20).jacket, 3)
        (6.349, 8.302)
        """
        if not self.leans:
            return self
        thicker = depth * self.draft_slope
        if 2 * thicker > self.jacket:
            closed = self.jacket / 2 / self.draft_slope
            raise SectionError(
                f"block.draft = {self.draft:g} deg closes the jacket of {self.jacket:g} mm "
                f"{closed:.3g} mm below the deck. Give less, or a wider jacket.", "block.draft",
            )  # fmt: skip
        grown = [self.lean(bore).by(depth) for bore in range(1, self.bores + 1)]
        return replace(
            self.thickened(thicker),
            bore_walls=tuple(
                tuple((clock, wall + by) for clock, wall in rows)
                for rows, by in zip(self.bore_walls, grown, strict=bool(self.bore_walls))
            ),
            jacket=self.jacket - 2 * thicker,
            outer_wall=self.outer_wall + thicker,
            ties=tuple(replace(tie, width=tie.width + 2 * thicker) for tie in self.ties),
            draft=0.0,
            bore_leans=(),
        )

    @property
    def draft_slope(self) -> float:
        """How walls as cast grow with depth by the draft. [mm/mm]."""
        return math.tan(math.radians(self.draft))

    @property
    def leans(self) -> bool:
        """Whether any wall as cast changes with depth."""
        return self.draft > 0 or any(self.bore_leans)

    def lean(self, bore: int) -> WallLean:
        """How the wall of a bore, from 1, changes with depth."""
        own = self.bore_leans[bore - 1] if self.bore_leans else None
        return WallLean(*(own or (self.draft_slope, math.inf)), self.draft_slope)

    def thickened(self, by: float) -> Block:
        """The block with every barrel wall thicker by a length, outwards. [mm]."""

        def rows(table: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
            return tuple((clock, wall + by) for clock, wall in table)

        return replace(
            self, barrel_wall=self.barrel_wall + by, wall_table=rows(self.wall_table),
            bore_walls=tuple(map(rows, self.bore_walls)),
        )  # fmt: skip

    def wall_rows(self, bore: int) -> tuple[tuple[float, float], ...]:
        """Clock positions [h] and walls [mm] of a bore, from 1; empty where its wall is plain."""
        return self.bore_walls[bore - 1] if self.bore_walls else self.wall_table

    @property
    def varied_walls(self) -> tuple[tuple[float, float], ...]:
        """Clock positions [h] and walls [mm] of all bores whose wall is not plain."""
        return (*self.wall_table, *(row for rows in self.bore_walls for row in rows))

    @property
    def axes(self) -> tuple[float, ...]:
        """Place of every bore axis along x; the firing bore is at 0. [mm]."""
        pitch = self.pitch or 0.0
        return tuple(pitch * (i - (self.firing_bore - 1)) for i in range(self.bores))

    def nearest_bore(
        self, x: ArrayLike, y: ArrayLike
    ) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """The bore whose axis each place is nearest to, and the clock position about that axis.

        Parameters
        ----------
        x, y : array_like, shapes that broadcast to (...)
            Places in the section's axes. [mm]

        Returns
        -------
        bore : ndarray of int, shape (...)
            Counted from 1 at the 9:00 end; halfway between two axes, the lower number.
        hours : ndarray, shape (...)
            0 <= hours < 12. [h]

        Examples
        --------
        >>> bank = Block(bore=86, barrel_wall=5, bores=3, pitch=96, firing_bore=2)
        >>> bore, hours = bank.nearest_bore([0.0, 50.0, -96.0], [-40.0, 0.0, 45.0])
        >>> bore.tolist(), hours.tolist()
        ([2, 3, 1], [6.0, 9.0, 0.0])
        """
        x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        axes = np.array(self.axes)
        index = np.argmin(np.hypot(x[..., None] - axes, y[..., None]), axis=-1)
        return index + 1, clock_of(x - axes[index], y)

    @property
    def axes_beside(self) -> tuple[float, ...]:
        """Axes of the bores beside the one that fires, along x. [mm]."""
        at = self.firing_bore - 1
        return tuple(self.axes[max(at - 1, 0) : at] + self.axes[at + 1 : at + 2])

    def about_firing(self, x: ArrayLike) -> NDArray[np.bool_]:
        """Whether places are about the bore that fires, the walls to its neighbours included.

        Up to half-way to a neighbour's axis, and from there on through the rest of the metal
        between the two.

        Parameters
        ----------
        x : array_like, shape (...)
            Along the bank in the section's axes. [mm]

        Returns
        -------
        ndarray of bool, shape (...)

        Examples
        --------
        >>> Block(bore=88.0, barrel_wall=7.0, bores=3, pitch=96.0, firing_bore=2).about_firing(
        ...     [0.0, -51.0, 53.0])
        array([ True,  True, False])
        """
        along = np.asarray(x, dtype=float)
        near = np.ones(along.shape, dtype=bool)
        if self.pitch is not None:
            most = self.pitch - self.bore / 2
            near &= (along <= most) | (self.firing_bore == self.bores)
            near &= (along >= -most) | (self.firing_bore == 1)
        return near


def default_depth(block: Block, deepest_insert: float = 0.0) -> float:
    """Section depth H where none is given: 1.4 sqrt(R t), never less than the deepest insert.

    R is the mean radius and t the thickness of the barrel with its liner. A thin cylinder spreads
    a local load over about this depth.

    Parameters
    ----------
    block : Block
    deepest_insert : float
        Depth of the deepest insert that is to be compared on this block. [mm]

    Returns
    -------
    float
        Section depth. [mm]

    References
    ----------
    .. [1] Timoshenko & Woinowsky-Krieger, *Theory of Plates and Shells*, 2nd ed., 1959, ch. 15:
       edge bending length of a cylindrical shell.

    Examples
    --------
    >>> round(default_depth(Block(bore=87, liner=2.5, barrel_wall=6)), 2)
    28.2
    """
    wall = block.liner + block.barrel_wall
    return max(1.4 * math.sqrt((block.bore / 2 + wall / 2) * wall), deepest_insert)


@dataclass(frozen=True, kw_only=True, slots=True)
class DeckSection:
    """The top ``depth`` mm of a block, bare or with an insert.

    ``dataclasses.replace(section, insert=None)`` is the same block with an open deck.
    """

    block: Block
    depth: float  # section depth H [mm]
    insert: Insert | None = None
    thinnest_wall: float = field(default=THINNEST_WALL)  # thinner metal is refused [mm]
    drawn_over: float | None = (
        None  # walls with draft are drawn in the mean over this; None: H [mm]
    )

    def __post_init__(self) -> None:
        _require_ranges("section", self)
        if self.insert is not None:
            if self.block.jacket == 0:
                raise SectionError(
                    "the block has no jacket for an insert to fill. Give block.jacket, or leave "
                    "the insert out.", "insert",
                )  # fmt: skip
            if self.insert.deepest > self.depth:
                raise SectionError(
                    f"insert depth {self.insert.deepest:g} mm is more than the section depth "
                    f"{self.depth:g} mm. Make the insert at most {self.depth:g} mm deep, or give "
                    f"a section depth of at least {self.insert.deepest:g} mm.", "insert.depth",
                )  # fmt: skip
            register = self.insert.register
            if register is not None and register.depth > self.depth:
                raise SectionError(
                    f"register depth {register.depth:g} mm is more than the section depth "
                    f"{self.depth:g} mm. Make the register at most {self.depth:g} mm deep, or give "
                    f"a section depth of at least {register.depth:g} mm.", "register.depth",
                )  # fmt: skip

    @property
    def at_deck(self) -> DeckSection:
        """The same with the block as it stands at the deck, without draft."""
        return replace(self, block=replace(self.block, draft=0.0, bore_leans=()))

    @property
    def mean_block(self) -> Block:
        """The block without draft, its walls and ties as thick as in the mean over their depth."""
        block = self.block
        if not block.leans:
            return block
        ties = (
            block.at_depth(self.mean_at(tie)).ties[place] for place, tie in enumerate(block.ties)
        )
        return replace(block.at_depth(self.mean_at()), ties=tuple(ties))

    def mean_at(self, tie: Tie | None = None) -> float:
        """Depth at which walls, or a tie, are as thick as in the mean. [mm]."""
        over = self.drawn_over or self.depth
        return (over if tie is None else min(tie.depth, over)) / 2
