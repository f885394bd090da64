"""What the verdict on a case is made of; units are those of its words, which name them."""

from __future__ import annotations

from dataclasses import dataclass, field

from cases.base.spoken import METRIC, Spoken

HOLDS, MARGINAL, FAILS, UNKNOWN = STATUSES = ("holds", "marginal", "does not hold", "not known")
"""At least the wanted share of the draws carry the wanted load; at least half; fewer; not found."""
WATER, COST = "water", "cost"
"""Why one of several that are alike is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FitToMake:
    """Interferences that may be made; negative is clearance."""

    low_um: float
    nominal_um: float
    high_um: float
    measured: str  # "per side" of pieces, "on the diameter" of a ring
    iso: str | None = None  # nearest ISO 286 fit of a ring
    stated_um: float = 0.0  # of the case, measured alike
    inside: bool = True  # whether that, its tolerance apart, lies between low and high
    matched: bool = False  # whether each piece has to be cut to its pocket
    limit_bar: float | None = None  # of the nominal, where the row's is of a stated fit outside


@dataclass(frozen=True, slots=True, kw_only=True)
class GoverningPlace:
    """A place that uses much of a strength."""

    part: str
    clock: str
    depth_mm: float | None  # below the deck; None of a section, which is a mean over it
    x_mm: float
    y_mm: float
    share: float  # of the strength that is used most there

    @property
    def words(self) -> str:
        """Part, clock and depth."""
        down = "" if self.depth_mm is None else f", {self.depth_mm:.1f} mm down"
        return f"{self.part} {self.clock}{down}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Distortion:
    """How round the bore stays, from the honed circle on."""

    out_of_round_um: float  # the most at any depth that is looked at
    depth_mm: float | None  # at which; None of a section
    state: str
    ring_follows: bool | None = None  # by itself; None where the case states no ring
    ring_follows_with_gas: bool | None = None  # with the gas of that step behind it
    pressed_um: float | None = None  # that the press leaves for the hone; None without a press
    hone_takes_um: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DropIn:
    """Whether an insert goes in by its weight, warm block and cold insert."""

    drops_in: bool
    block_degc: float
    insert_degc: float
    least_um: float  # clearance of the side that opens least, of the tightest fit that is made
    asked_um: float  # least clearance by which it counts as dropping in


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One design.

    Limits are of the peak of the mean cycle, as a sensor reads it; lives are at the wanted load.
    None where a number is not known, or there is none.
    """

    design: str
    status: str  # of ``STATUSES``
    share: float | None  # of the draws that carry the wanted load
    by: str  # "solid" or "section": what the limit stands on
    limit_factor: float | None  # over the wanted load
    limit_bar: float | None
    limit_low_bar: float | None = None  # 5 and 95 % of the draws stay below these
    limit_high_bar: float | None = None
    restated_bar: float | None = None  # the limit by the shop's own engines, on record
    at_most: bool = False  # a steep stress that counts has no bound
    beyond: float | None = None  # times the wanted load up to which no limit is met
    boost_bar: float | None = None  # gauge
    boost_low_bar: float | None = None
    boost_high_bar: float | None = None
    power_kw: float | None = None
    power_low_kw: float | None = None
    power_high_kw: float | None = None
    state: str = ""  # of the engine at the limit
    criterion: str = ""
    places: tuple[GoverningPlace, ...] = ()  # the governing one first
    life_cycles: float | None = None  # infinite where there is no harm
    life_hours: float | None = None
    life_pulls: float | None = None
    life_state: str = ""
    wanted_cycles: float | None = None  # in that state
    held: str = ""  # how the insert is held; empty of the bare block
    fit: FitToMake | None = None
    unfit: str = ""  # why no interference will do
    drop_in: DropIn | None = None  # None without a fit, or where expansions are not known
    distortion: Distortion | None = None
    hottest_barrel_degc: float | None = None
    hottest_insert_degc: float | None = None
    hottest_by: str = ""  # "solid" or "section"
    open_water_mm2: float = 0.0  # at the deck, of the whole block
    gasket: str = ""  # that leaves least of what it opens over the bare deck; empty without any
    through_gasket_mm2: float | None = None  # that deck, that gasket and head open together
    through_bare_mm2: float | None = None  # the same over the bare block
    wetted_barrel_mm2: float | None = None  # of the barrel that fires
    displaced_mm3: float | None = None  # water that the insert takes the place of, whole block
    pieces: int = 0
    mass_g: float | None = None
    machined: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()  # kinds of heat flags by which no limit holds for sure
    error: float = 0.0  # numerical, of the limit, as a share of it
    each: tuple[float, ...] = field(default=(), repr=False)  # factor that each draw carries


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreading:
    """An input that spreads the limit."""

    input: str
    share: float  # of the spread
    worth_percent: float | None  # that the limit rises by, were it known to be at its middle


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """What stood for an input that the case leaves out."""

    input: str
    stand_in: str
    worth_percent: float | None = None  # that the limit moves by without it; None: not known


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """What to measure on this block."""

    what: str
    where: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Which design, and beside which others."""

    design: str
    status: str
    alike: tuple[str, ...] = ()  # that draws don't tell from it
    alike_by: str = ""  # of ``WATER``, ``COST``: why it is taken of those; empty where none holds
    also: tuple[str, ...] = ()  # other designs that hold


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Which design to make."""

    choice: Choice
    rows: tuple[Row, ...]  # in the order of the case
    reliability: float  # share of the draws that are to carry the wanted load
    draws: int
    wanted_bar: float
    wanted_kw: float | None
    spreading: tuple[Spreading, ...]  # of that design, most first
    assumed: tuple[Assumption, ...]
    measure_first: tuple[Measurement, ...]
    flags: tuple[str, ...]  # what heat does that no one may miss
    worse_bores: tuple[str, ...] = ()  # that a bore which is not the rated one is worse
    spoken: Spoken = METRIC  # the units of the case

    @property
    def told_first(self) -> tuple[str, ...]:
        """What stands right below the sentence."""
        return (*self.worse_bores, *self.flags)

    def both(self, words: str) -> str:
        """Words in the units of the case, fits and pressures in metric ones too."""
        return self.spoken.both(words, self._names)

    def told(self, words: str) -> str:
        """Words in the units of the case."""
        return self.spoken.told(words, self._names)

    @property
    def _names(self) -> tuple[str, ...]:
        return tuple(row.design for row in self.rows)

    @property
    def row(self) -> Row:
        """Of the design that is chosen."""
        return next(row for row in self.rows if row.design == self.choice.design)
