"""The case file, and the blocks, inserts and materials it stands for.

Nothing else reads TOML. Every fault that can be found without drawing the section is reported
at once, as a :class:`cases.errors.CaseError`.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from pydantic import BaseModel, ValidationError

from cases.depth import DepthInput, check_depth
from cases.errors import CaseError, Fault
from cases.fit import SIDES, Heat, InsertFit, PistonRing, Rating, SideFit
from cases.gas import (
    HOTTEST_GAS,
    INTAKE_RANGE,
    Capacity,
    Crank,
    Engine,
    EngineError,
    WallLoad,
    run_engine,
    run_engine_for,
)
from cases.growth import IIW_ALUMINIUM, CrackInput, GrowthLaw
from cases.schema import (
    CaseTable,
    CrackTable,
    DesignTable,
    EngineTable,
    FitTable,
    HeatTable,
    Location,
    MaterialTable,
    SideTable,
    closest,
    key_path,
    schema_fault,
    table_at,
    written,
)
from geometry import (
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    ReliefCut,
    SectionError,
    Tie,
    WaterSlot,
    default_depth,
)
from geometry.checks import require_between

if TYPE_CHECKING:
    from fea.material import Fatigue, Material

LARGEST_FILE = 1_000_000  # a case file is typed by hand; more is the wrong file [bytes]
MOST_PARTS = 50  # of a dotted key; no key here has more than four
LARGEST_FIT = 2.0  # on the diameter; more is a slip of the pen [mm]
MOST_OF_WALL = 0.25  # share of a wall that its tolerance may be
HOTTEST = 3000.0  # gas, averaged over a cycle, is far below [degC]
HOTTEST_FLUX = 20.0  # [W/mm2]
STRONGEST_FILM = 1.0  # boiling water stays below [W/(mm2 K)]
STIFFEST_ALUMINIUM = 90e3  # Young's modulus; a metal that is stiffer is another [MPa]
PARENT_PARTS = ("barrel", "tie", "outer wall")  # of the block's own metal
_STRENGTH_RANGES = (  # key, least, most, unit over that inside, unit
    ("yield_strength", 1.0, 5000.0, 1.0, "MPa"),
    ("tensile_strength", 1.0, 5000.0, 1.0, "MPa"),
)
_MATERIAL_RANGES = (
    ("youngs_modulus", 1.0, 1000.0, 1e-3, "GPa"),
    ("expansion", 0.1, 100.0, 1e6, "um/(m K)"),
    ("conductivity", 0.1, 2000.0, 1e3, "W/(m K)"),
    *_STRENGTH_RANGES,
    ("fatigue_strength", 1.0, 5000.0, 1.0, "MPa"),
)

_DOTTED = re.compile(
    rf"""(?<![\w.-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){{{MOST_PARTS}}}"""
)

_Made = TypeVar("_Made")


@dataclass(frozen=True, kw_only=True, slots=True)
class Design:
    """One insert proposal; ``bare`` is the block with none."""

    name: str
    insert: Insert | None = None
    insert_material: Material | None = None
    fit: InsertFit | None = None  # None: one piece with the block


@dataclass(frozen=True, kw_only=True, slots=True)
class Case:
    """A block, its load, and the designs that are compared on it."""

    name: str
    note: str
    source_path: Path
    block: Block
    designs: tuple[Design, ...]  # in the order of the file, ``bare`` first where there is one
    section_depth: float  # H, one for all designs [mm]
    thinnest_wall: float  # thinner metal is refused [mm]
    materials: Mapping[str, Material]  # of the block, by part; the insert's is in its design
    peak_pressure: float  # of the gas, with the case's factor, on the wall [MPa]
    pressurised_depth: float  # from the deck down; the gas reaches it, 0 to H [mm]; of an engine
    # that over which its peak pressure would load the section as its worst crank angle does
    mesh: Literal["coarse", "normal", "fine"]  # to start from
    tolerance: float  # numerical error of a hot spot, as a share of its stress
    heat: Heat | None = None
    liner_interference: float | None = None  # on the diameter, at 20 degC; None: not known [mm]
    piston_ring: PistonRing | None = None
    rating: Rating = field(default_factory=Rating)
    depth: DepthInput | None = None  # where the barrel is looked at from the side
    crack: CrackInput | None = None
    pressure_factor: float = 1.0  # in ``peak_pressure`` already
    wall_load: WallLoad | None = None  # where an engine is described
    wanted_power: float | None = None  # that its boost was found for [kW]
    assumed: tuple[str, ...] = ()  # usual values of an engine that the file leaves out, in words

    @property
    def line_load(self) -> float:
        """Gas load on the bore wall, q = integral of p(z) dz over 0..H. [N/mm]."""
        return self.peak_pressure * self.pressurised_depth

    @property
    def fitted(self) -> bool:
        """Whether any design's insert is a piece of its own."""
        return any(design.fit for design in self.designs)

    def under_gas_alone(self) -> Case:
        """The case at 20 degC, insert and block one piece: no load steps."""
        designs = tuple(replace(design, fit=None) for design in self.designs)
        return replace(self, designs=designs, heat=None, piston_ring=None, liner_interference=None)

    def section(self, design: Design) -> DeckSection:
        """The block with this design's insert.

        Raises
        ------
        SectionError
            If the insert can't stand in this block.
        """
        return DeckSection(
            block=self.block,
            depth=self.section_depth,
            insert=design.insert,
            thinnest_wall=self.thinnest_wall,
        )

    def part_materials(self, design: Design) -> dict[str, Material]:
        """Material of every part that a section of this design can have.

        The liner's has the misfit that its interference gives it.
        """
        materials = dict(self.materials)
        if self.liner_interference is not None:
            misfit = self.liner_interference / (2 * self.block.liner_radius)
            materials["liner"] = replace(materials["liner"], misfit=misfit)
        if design.insert_material is not None:
            materials["insert"] = design.insert_material
        return materials


def read_case(path: str | Path) -> Case:
    """Read a case file.

    Parameters
    ----------
    path : str or Path
        A TOML file in UTF-8, at most ``LARGEST_FILE`` bytes.

    Returns
    -------
    Case

    Raises
    ------
    CaseError
        If the file can't be read, or anything in it is wrong.
    """
    path = Path(path)
    raw = _load_toml(path)
    try:
        table = CaseTable.model_validate(raw)
    except ValidationError as error:
        faults = [schema_fault(raw, item) for item in error.errors()]
        raise CaseError(str(path), faults) from None
    return _Builder(path, raw, table).build()


def _load_toml(path: Path) -> dict[str, Any]:
    def refuse(text: str, place: str = "") -> CaseError:
        return CaseError(str(path), [Fault(place, text)])

    try:
        if not path.exists():
            raise refuse("There is no such file. Check the folder and the spelling.")
        if not path.is_file():
            raise refuse("This is not a file. Give the path of a case file, such as case.toml.")
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise refuse(f"It can't be read: {error.strerror}. Check its path and rights.") from None
    if len(content) > LARGEST_FILE:
        raise refuse(
            f"It has more than {LARGEST_FILE // 1000} kB. A case file is a few kB of typed text; "
            "is this the right file?"
        )
    if not content.strip():
        raise refuse("It is empty. hoopclock demo leaves a case file to start from.")
    if b"\0" in content:
        raise refuse("It is not plain text. Save the case file as UTF-8 text.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise refuse(
            "A character is not UTF-8. Save the case file as UTF-8 text.", f"line {line}"
        ) from None
    if dotted := _DOTTED.search(text):  # the parser's time grows with the square of them
        line = text[: dotted.start()].count("\n") + 1
        raise refuse(
            f"More than {MOST_PARTS} names are joined by points. No key has more than four; give "
            "each table a heading of its own, such as [block].",
            f"line {line}",
        )
    try:
        raw = tomllib.loads(text)
        endless = list(_endless(raw))
    except RecursionError:
        raise refuse("Its brackets are nested too deep.") from None
    except ValueError as error:
        where = re.search(r" \(at line (\d+), column (\d+)\)$", str(error))
        place, shown = "", ""
        if where:
            place = f"line {where[1]}, column {where[2]}"
            shown = f": {text.splitlines()[int(where[1]) - 1].strip():.60}"
        what = str(error)[: where.start()] if where else str(error)
        quotes = (
            " Text, clock positions and numbers with a unit stand in quotes: "
            'bore = "87 mm", clock = "1:40".'
        )
        raise refuse(
            f"{what}.{'' if what.startswith('Cannot') else quotes}", place + shown
        ) from None
    if endless:
        too_large = "The number is too large. A whole number has at most 18 digits."
        raise CaseError(str(path), [Fault(key_path(place), too_large) for place in endless])
    return raw


def _endless(value: Any, place: Location = ()) -> Iterator[Location]:
    """Places of whole numbers that 64 bits don't hold; TOML promises no more."""
    if isinstance(value, dict | list):
        for key, item in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _endless(item, (*place, key))
    elif isinstance(value, int) and abs(value) >= 2**63:
        yield place


@cache
def library_materials() -> dict[str, dict[str, Any]]:
    """The alloys that come with the project, by name, with the unit in each key."""
    text = Path(__file__).with_name("materials.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _library_material(name: str, row: Mapping[str, Any]) -> Material:
    from cases.fatigue import basquin_exponent
    from fea.material import REFERENCE, Fatigue, Material

    proof, tensile = (
        ((REFERENCE, row[key]), *((at["temperature_degc"], at[key]) for at in row.get("hot", [])))
        if key in row
        else ()
        for key in ("proof_mpa", "tensile_mpa")
    )
    fatigue = None
    if "fatigue_mpa" in row:
        strength, cycles = row["fatigue_mpa"], row["fatigue_cycles"]
        exponent = basquin_exponent(row["tensile_mpa"], strength, cycles)
        fatigue = Fatigue(strength, cycles, exponent, row["fatigue_scatter"])
    return Material(
        name,
        1000 * row["youngs_modulus_gpa"],
        row["poisson"],
        f"{row['source']}; {row['how_sure']}",
        expansion=1e-6 * row["expansion_1e6_per_k"],
        conductivity=1e-3 * row["conductivity_w_per_mk"],
        softening=tuple((at, share) for at, share in row.get("modulus_share", [])),
        yield_points=proof,
        tensile_points=tensile,
        fatigue=fatigue,
        cast=row["cast"],
    )


def _by_temperature(mine: MaterialTable, key: str) -> tuple[tuple[float, float], ...]:
    """A strength of a material of the case, from 20 degC up."""
    from fea.material import REFERENCE

    cold = getattr(mine, key)
    if cold is None:
        return ()
    return ((REFERENCE, cold), *((hot.temperature, getattr(hot, key)) for hot in mine.hot))


def _own_fatigue(mine: MaterialTable) -> Fatigue | None:
    from cases.fatigue import CAST_SCATTER, WROUGHT_SCATTER, basquin_exponent
    from fea.material import Fatigue

    strength, cycles, tensile = mine.fatigue_strength, mine.fatigue_cycles, mine.tensile_strength
    if strength is None or cycles is None or tensile is None:
        return None
    exponent, scatter = mine.basquin_exponent, mine.fatigue_scatter
    if exponent is None:
        exponent = basquin_exponent(tensile, strength, cycles)
    if scatter is None:
        scatter = CAST_SCATTER if mine.cast else WROUGHT_SCATTER
    return Fatigue(strength, cycles, exponent, scatter)


def _given(table: BaseModel, *without: str) -> dict[str, Any]:
    """What the file states, so that what it leaves out takes the default of the geometry."""
    values = table.model_dump(exclude_unset=True, exclude=set(without))
    if values.get("bores") and isinstance(values["bores"], list):
        values["bores"] = tuple(values["bores"])
    return values


def _assumed(table: EngineTable) -> tuple[str, ...]:
    """The usual values that stand for what an engine's table leaves out, in words."""
    usual = {
        "combustion_efficiency": f"combustion efficiency {100 * table.combustion_efficiency:g} %",
        "burn_duration": f"burn over {table.burn_duration:g} degrees",
        "burn_centre": f"half burned {table.burn_centre:g} degrees after the top",
        "wall_temperature": f"walls at {table.wall_temperature:g} degC",
        "mechanical_efficiency": f"mechanical efficiency {100 * table.mechanical_efficiency:g} %",
        "volumetric_efficiency": f"volumetric efficiency {100 * table.volumetric_efficiency:g} %",
        "crown_below_deck": f"crown {table.crown_below_deck:g} mm below the deck",
        "intake_closing": f"intake closed {table.intake_closing:g} degrees after the bottom",
    }
    return tuple(words for key, words in usual.items() if key not in table.model_fields_set)


def _growth_law(table: CrackTable) -> GrowthLaw:
    """The law of growth that a case states, or the one that stands for it."""
    law = IIW_ALUMINIUM
    if table.paris_c is not None and table.paris_m is not None:
        law = GrowthLaw(rate=table.paris_c, exponent=table.paris_m, source="the case's own")
    if table.threshold is not None:
        law = replace(law, threshold=table.threshold, threshold_fall=0.0, least_threshold=0.0)
    return replace(law, walker_gamma=table.walker_gamma, toughness=table.toughness)


class _Builder:
    """Makes a :class:`Case` of a checked table, and gathers every fault on the way."""

    def __init__(self, path: Path, raw: dict[str, Any], table: CaseTable) -> None:
        self.path = path
        self.raw = raw
        self.table = table
        self.faults: list[Fault] = []
        self.own: dict[str, Material | None] = {}  # materials of the file that a part is made of

    def build(self) -> Case:
        table = self.table
        materials = self._block_materials()
        ties = self._features("tie", table.tie, Tie)
        cuts = self._features("relief_cut", table.relief_cut, ReliefCut)
        block = self._try(
            ("block",),
            lambda: Block(
                **_given(
                    table.block, "material", "liner_material", "liner_interference", "wall_table"
                ),
                wall_table=tuple(table.block.wall_table),
                ties=ties,
                relief_cuts=cuts,
            ),
        )
        designs = [self._design(place, design) for place, design in enumerate(table.design)]
        self._check_names()
        self._check_pressure()
        if block is None:
            raise CaseError(str(self.path), self.faults)

        depth = table.section.depth
        if depth is None:
            inserts = (design.insert for design in designs)
            depth = default_depth(block, max([i.deepest for i in inserts if i], default=0.0))
        peak, reach = table.gas.peak_pressure or 0.0, table.gas.pressurised_depth
        factor = table.gas.pressure_factor
        peak *= factor
        load = self._wall_load(table.engine, depth) if table.engine else None
        if load is not None:
            peak, reach = load.peak, load.line_load / load.peak
        case = Case(
            name=table.job,
            note=table.note,
            source_path=self.path,
            block=block,
            designs=tuple(sorted(designs, key=lambda design: design.name != "bare")),
            section_depth=depth,
            thinnest_wall=table.section.thinnest_wall,
            materials=materials,
            peak_pressure=peak,
            pressurised_depth=depth if reach is None else reach,
            mesh=table.section.mesh,
            tolerance=table.section.tolerance,
            heat=self._heat(load),
            piston_ring=self._piston_ring(),
            rating=self._rating(),
            liner_interference=self._liner_interference(),
            depth=self._depth(block, depth, designs),
            crack=self._crack(table.crack, materials) if table.crack else None,
            pressure_factor=factor,
            wall_load=load,
            wanted_power=table.engine.power if table.engine else None,
            assumed=_assumed(table.engine) if table.engine else (),
        )
        for place, design in enumerate(designs):
            self._try(("design", place), lambda design=design: case.section(design))  # type: ignore[misc]
        if load is None:
            self._try(("gas",), lambda: self._check_reach(case))
        if self.faults:
            raise CaseError(str(self.path), self.faults)
        return case

    def _try(self, location: Location, make: Callable[[], _Made]) -> _Made | None:
        try:
            return make()
        except SectionError as error:
            self._add(self._place(location, error.feature), str(error))
            return None

    def _place(self, location: Location, feature: str) -> Location:
        """Where in the file a feature of the geometry was stated."""
        root, _, key = feature.partition(".")
        if root == "wall_table":
            return ("block", "wall_table")
        if root == "section":
            location = ("section",)
        table = table_at(location)
        return (*location, key) if table and key in table.model_fields else location

    def _add(self, location: Location, text: str) -> None:
        fault = Fault(key_path(location), text, written(self.raw, location))
        if fault not in self.faults:
            self.faults.append(fault)

    def _features(
        self, key: str, tables: Sequence[BaseModel], make: Callable[..., _Made], *within: str | int
    ) -> tuple[_Made, ...]:
        made = []
        for place, table in enumerate(tables):
            location = (*within, key, place)
            self._check_bores(location, getattr(table, "bores", None))
            made.append(self._try(location, lambda table=table: make(**_given(table))))  # type: ignore[misc]
        return tuple(item for item in made if item is not None)

    def _check_bores(self, location: Location, bores: list[int] | None) -> None:
        count = self.table.block.bores
        if bores is None:
            return
        if not bores or len(set(bores)) < len(bores) or not all(1 <= b <= count for b in bores):
            self._add(
                (*location, "bores"),
                f"{bores} is no list of bores of this block. Give each bore once, from 1 to "
                f"{count}, or leave the key out for all of them.",
            )

    def _design(self, place: int, table: DesignTable) -> Design:
        location = ("design", place)
        if table.depth is None:
            given = sorted(_given(table, "name"))
            if table.name != "bare" or given:
                also = f" ({', '.join(given)} given)" if given else ""
                self._add(
                    location,
                    f'Design "{table.name}" has no depth{also}. Give the depth of its insert, such '
                    'as depth = "10 mm", or name it "bare" and give nothing else.',
                )
            return Design(name=table.name)
        if table.name == "bare":
            self._add(
                (*location, "name"),
                '"bare" is the block without an insert. Give this design another name, or leave '
                "out its depth.",
            )
        zones = self._features("zone", table.zone, DeeperZone, *location)
        slots = self._features("slot", table.slot, WaterSlot, *location)
        insert = self._try(
            location,
            lambda: Insert(
                **_given(table, "name", "material", "fit", "zone", "slot"),
                zones=zones,
                slots=slots,
            ),
        )
        material = self._material(table.material, (*location, "material"), "the insert")
        fit = self._fit((*location, "fit"), table.fit) if table.fit else None
        return Design(name=table.name, insert=insert, insert_material=material, fit=fit)

    def _fit(self, location: Location, table: FitTable) -> InsertFit:
        common = self._side(location, table)
        sides, pressed, missing = {}, [], []
        for key, part in SIDES.items():
            own = getattr(table, key)
            stated = self._side((*location, key), own) if own else None
            friction = own.friction if own and own.friction is not None else table.friction
            side = stated or common
            if side is None:
                missing.append(key)
                side = SideFit()
            sides[part] = replace(side, friction=friction or 0.0)
            if stated is None and side.interference > 0:
                pressed.append(part)
        if missing:
            self._add(
                location,
                f"Nothing is said of the side{'s' if len(missing) > 1 else ''} "
                f"{', '.join(missing)}. Give interference, clearance or bonded = true here, or "
                f"under [design.fit.{missing[0]}].",
            )
        for key, value, high in (
            ("tolerance", 1000 * table.tolerance, 500.0),
            ("most_out_of_round", 1000 * table.most_out_of_round, 1000.0),
        ):
            self._try((*location, key), partial(require_between, key, value, 0.0, high, "um"))
        self._try(
            (*location, "least_hold"),
            partial(require_between, "least_hold", table.least_hold, 0.0, 1e6, "N"),
        )
        return InsertFit(
            sides=sides,
            pressed=tuple(pressed),
            tolerance=table.tolerance,
            least_hold=table.least_hold,
            most_out_of_round=table.most_out_of_round,
        )

    def _side(self, location: Location, table: SideTable) -> SideFit | None:
        """What is stated for a side; None where nothing is but, perhaps, its friction."""
        stated = [
            key
            for key in ("interference", "clearance", "bonded")
            if getattr(table, key) not in (None, False)
        ]
        if len(stated) > 1:
            self._add(location, f"Both {' and '.join(stated)} are given. Give one of them.")
        if table.bonded:
            return SideFit(bonded=True)
        for key, sign in (("interference", 1), ("clearance", -1)):
            value = getattr(table, key)
            if value is not None:
                self._try(
                    (*location, key),
                    partial(
                        require_between, key, 1000 * value, 0.0, 1000 * LARGEST_FIT, "um",
                        "A fit is stated on the diameter; for the other sign give "
                        f"{'clearance' if sign > 0 else 'interference'}.",
                    ),
                )  # fmt: skip
                return SideFit(interference=sign * value)
        return None

    def _heat(self, load: WallLoad | None) -> Heat | None:
        table = self.table.heat
        if table is None:
            return None
        films = {name: self._film(table, name) for name in ("gas", "coolant", "head", "outside")}
        gas: tuple[float, float] | float | None = films.pop("gas")
        if table.gas_heat_flux is not None:
            if gas is not None or table.gas_film is not None:
                self._add(("heat",), "Give gas_film and gas_temperature, or gas_heat_flux alone.")
            gas = table.gas_heat_flux
            if not 0 < gas <= HOTTEST_FLUX:
                self._add(
                    ("heat", "gas_heat_flux"),
                    f"{1000 * gas:g} kW/m2 is outside 0 to {1000 * HOTTEST_FLUX:g} kW/m2.",
                )
        elif table.gas_film is None and table.gas_temperature is None:
            if load is not None:
                gas = load.film
            elif self.table.engine is None:
                self._add(
                    ("heat",),
                    "No heat comes in. Give gas_film and gas_temperature, or gas_heat_flux, or "
                    "describe the [engine].",
                )
        if not any(film and film[0] > 0 for film in films.values()):
            self._add(
                ("heat",),
                "There is no way out for the heat. Give coolant_film and coolant_temperature, or "
                "a film to the head or to the outside, more than 0.",
            )
        for key in ("joint_conductance", "liner_conductance"):
            self._check_film(key, getattr(table, key))
        fitted = any(design.fit for design in self.table.design)
        if fitted and table.joint_conductance is None:
            self._add(
                ("heat",),
                "The insert is fitted, so heat crosses a joint. Give joint_conductance, such as "
                'joint_conductance = "8000 W/(m2 K)".',
            )
        if table.liner_conductance is not None and self.table.block.liner == 0:
            self._add(("heat", "liner_conductance"), "There is no liner. Leave this out.")
        return Heat(
            gas=0.0 if gas is None else gas,
            joint_conductance=table.joint_conductance,
            liner_conductance=table.liner_conductance,
            **films,
        )

    def _film(self, table: HeatTable, name: str) -> tuple[float, float] | None:
        film, temperature = getattr(table, f"{name}_film"), getattr(table, f"{name}_temperature")
        if film is None and temperature is None:
            return None
        for key, value, example in (
            (f"{name}_film", film, "2000 W/(m2 K)"),
            (f"{name}_temperature", temperature, "90 degC"),
        ):
            if value is None:
                self._add(("heat",), f'It lacks {key}. Give both, such as {key} = "{example}".')
        self._check_film(f"{name}_film", film)
        if temperature is not None and temperature > HOTTEST:
            self._add(
                ("heat", f"{name}_temperature"),
                f"{temperature:g} degC is above {HOTTEST:g} degC.",
            )
        return None if film is None or temperature is None else (film, temperature)

    def _check_film(self, key: str, film: float | None) -> None:
        if film is not None and not 0 <= film <= STRONGEST_FILM:
            self._add(
                ("heat", key),
                f"{1e6 * film:g} W/(m2 K) is outside 0 to {1e6 * STRONGEST_FILM:g} W/(m2 K).",
            )

    def _piston_ring(self) -> PistonRing | None:
        table = self.table.piston_ring
        if table is None:
            return None
        for key, value, low, high, unit in (
            ("radial_width", table.radial_width, 0.5, self.table.block.bore / 8, "mm"),
            ("axial_height", table.axial_height, 0.3, 10.0, "mm"),
            ("youngs_modulus", table.youngs_modulus / 1000, 50.0, 300.0, "GPa"),
            ("tangential_force", table.tangential_force, 0.5, 200.0, "N"),
        ):
            self._try(
                ("piston_ring", key),
                partial(require_between, f"piston_ring.{key}", value, low, high, unit),
            )
        return PistonRing(**table.model_dump())

    def _liner_interference(self) -> float | None:
        table = self.table.block
        if table.liner_interference is not None:
            where = ("block", "liner_interference")
            if table.liner == 0:
                self._add(where, "There is no liner. Leave this out.")
                return None
            self._try(
                where,
                partial(
                    require_between, "block.liner_interference", 1000 * table.liner_interference,
                    0.0, 1000 * LARGEST_FIT, "um", "A fit is stated on the diameter.",
                ),
            )  # fmt: skip
        return table.liner_interference

    def _rating(self) -> Rating:
        table = self.table.rating
        thinnest = min(self.table.block.barrel_wall, self.table.block.outer_wall or math.inf)
        self._try(
            ("rating", "wall_tolerance"),
            partial(
                require_between, "rating.wall_tolerance", table.wall_tolerance, 0.0,
                MOST_OF_WALL * thinnest, "mm", "It is to either side of the wall as drawn.",
            ),
        )  # fmt: skip
        return Rating(**table.model_dump())

    def _depth(self, block: Block, section: float, designs: Sequence[Design]) -> DepthInput | None:
        table = self.table.depth
        if table is None:
            return None
        given = DepthInput(**table.model_dump())
        self._try(
            ("depth",),
            lambda: check_depth(given, block, section, [design.insert for design in designs]),
        )
        return given

    def _crack(self, table: CrackTable, materials: Mapping[str, Material]) -> CrackInput:
        engine = self.table.engine
        speed = engine.speed if engine and table.speed is None else table.speed
        if speed is None:
            self._add(
                ("crack",),
                "The speed is missing, so cycles can't be told in hours. Give speed, such as "
                'speed = "6000 rpm", or describe the [engine].',
            )
        if (table.paris_c is None) != (table.paris_m is None):
            self._add(
                ("crack",),
                "paris_c and paris_m go together. Give both, or neither for an upper bound for "
                "aluminium.",
            )
        material = materials.get(table.part)
        if table.paris_c is None and material and material.youngs_modulus > STIFFEST_ALUMINIUM:
            self._add(
                ("crack",),
                f"The constants that stand in for missing ones are those of aluminium, but the "
                f"{table.part} is of {material.name}. Give paris_c and paris_m of it.",
            )
        if table.part == "liner" and self.table.block.liner == 0:
            self._add(("crack", "part"), "There is no liner. Choose another part.")
        if table.longest is not None and table.longest <= table.flaw:
            self._add(
                ("crack", "longest"),
                f"{table.longest:g} mm is not longer than the flaw, {table.flaw:g} mm.",
            )
        for key, value, low, high, unit in (
            ("flaw", table.flaw, 0.05, 50.0, "mm"),
            ("speed", table.speed, 300.0, 25000.0, "rpm"),
            ("paris_c", table.paris_c, 1e-15, 1.0, "mm/cycle"),
            ("threshold", table.threshold, 0.0, 50.0, "MPa sqrt(m)"),
            ("toughness", table.toughness, 1.0, 500.0, "MPa sqrt(m)"),
        ):
            if value is not None:
                self._try(
                    ("crack", key), partial(require_between, f"crack.{key}", value, low, high, unit)
                )
        return CrackInput(
            part=table.part,
            clock=table.clock,
            flaw=table.flaw,
            longest=table.longest,
            gas_in_crack=table.gas_in_crack,
            law=_growth_law(table),
            speed=speed or 0.0,
        )

    def _check_names(self) -> None:
        seen: dict[str, str] = {}
        for place, design in enumerate(self.table.design):
            name = design.name.casefold()
            if name in seen:
                self._add(
                    ("design", place, "name"),
                    f'Another design is named "{seen[name]}". Give each design a name of its own, '
                    "different in more than capitals.",
                )
            seen[name] = design.name

    def _check_pressure(self) -> None:
        """Whether the peak pressure is known, in one way."""
        gas, engine = self.table.gas, self.table.engine
        if engine is None:
            if gas.peak_pressure is None:
                self._add(
                    ("gas",),
                    "The peak pressure is missing. Give peak_pressure, such as peak_pressure = "
                    '"150 bar", or describe the engine under a heading [engine].',
                )
            else:
                check = partial(
                    require_between, "gas.peak_pressure", gas.peak_pressure, 0.01, 100.0, "MPa"
                )
                self._try(("gas",), check)
            return
        for key in ("peak_pressure", "pressurised_depth"):
            if getattr(gas, key) is not None:
                self._add(
                    ("gas", key),
                    f"The [engine] says it too. Leave out {key}, or the whole of [engine].",
                )

    def _wall_load(self, table: EngineTable, depth: float) -> WallLoad | None:
        """What the engine does to the bore wall; None where it has a fault."""
        before = len(self.faults)
        self._check_engine(table)
        if len(self.faults) > before:
            return None
        crank = Crank(
            bore=self.table.block.bore,
            stroke=table.stroke,
            rod=table.rod,
            compression_ratio=table.compression_ratio,
        )
        same = (
            "speed", "intake_temperature", "air_fuel_ratio", "fuel_heating_value",
            "combustion_efficiency", "burn_duration", "burn_centre", "wall_temperature",
            "mechanical_efficiency", "volumetric_efficiency", "intake_closing",
        )  # fmt: skip
        engine = Engine(
            crank=crank,
            cylinders=table.cylinders or self.table.block.bores,
            intake_pressure=table.intake_pressure or 0.0,
            capacity=Capacity(gamma_300=table.gamma_300, slope=table.gamma_slope),
            **{key: getattr(table, key) for key in same},
        )
        try:
            if table.power is None:
                cycle = run_engine(engine)
            else:
                cycle = run_engine_for(
                    engine, table.power, lambda cycle: cycle.power, "kW", "power"
                )
        except EngineError as error:
            self._add(("engine", error.key), str(error))
            return None
        load = WallLoad(
            cycle=cycle,
            top_ring=table.top_ring,
            crown_below_deck=table.crown_below_deck,
            section_depth=depth,
            factor=self.table.gas.pressure_factor,
            crankcase=table.crankcase_pressure,
        )
        if load.line_load <= 0:
            self._add(
                ("engine",),
                f"The gas peaks at {10 * cycle.peak:.2f} bar, which is not above the crankcase's "
                f"{10 * load.crankcase:g} bar, so nothing loads the wall. Give more "
                "intake_pressure, or less crankcase_pressure.",
            )
            return None
        return load

    def _check_engine(self, table: EngineTable) -> None:
        if (table.intake_pressure is None) == (table.power is None):
            self._add(
                ("engine",),
                ("Neither intake_pressure nor power is" if table.power is None else
                 "Both intake_pressure and power are")
                + " given. Give one of them: the power follows from the intake pressure, or the "
                "boost from the power.",
            )  # fmt: skip
        low, high = (10 * end for end in INTAKE_RANGE)
        for key, value, least, most, unit, cure in (
            ("stroke", table.stroke, 10.0, 1000.0, "mm", ""),
            ("rod", table.rod, 0.6 * table.stroke, 10 * table.stroke, "mm",
             "A rod is at least 1.2 times the crank radius long, half the stroke."),
            ("speed", table.speed, 300.0, 25000.0, "rpm", ""),
            ("intake_pressure", table.intake_pressure and 10 * table.intake_pressure, low, high,
             "bar", "It is absolute: boost and the pressure of the air together."),
            ("power", table.power, 0.1, 1e5, "kW", ""),
            ("intake_temperature", table.intake_temperature, -60.0, 300.0, "degC", ""),
            ("fuel_heating_value", table.fuel_heating_value / 1000, 5.0, 150.0, "MJ/kg", ""),
            ("top_ring", table.top_ring, 0.0, 100.0, "mm", ""),
            ("crown_below_deck", table.crown_below_deck, -20.0, 50.0, "mm", ""),
            ("burn_duration", table.burn_duration, 5.0, 180.0, "deg", ""),
            ("burn_centre", table.burn_centre, -30.0, 90.0, "deg", ""),
            ("wall_temperature", table.wall_temperature, 0.0, 600.0, "degC", ""),
            ("intake_closing", table.intake_closing, 0.0, 100.0, "deg", ""),
            ("crankcase_pressure", 10 * table.crankcase_pressure, 0.05, 6.0, "bar", ""),
        ):  # fmt: skip
            if value is not None:
                self._try(
                    ("engine", key),
                    partial(require_between, f"engine.{key}", value, least, most, unit, cure),
                )
        hot = Capacity(gamma_300=table.gamma_300, slope=table.gamma_slope).gamma(HOTTEST_GAS)
        if hot < 1.02:
            self._add(
                ("engine", "gamma_slope"),
                f"The ratio of the specific heats would be {hot:.3f} at {HOTTEST_GAS:g} K; it must "
                "stay above 1.02. Give a slope nearer to 0.",
            )

    def _check_reach(self, case: Case) -> None:
        require_between(
            "gas.pressurised_depth", case.pressurised_depth, 0.1, case.section_depth, "mm",
            "The gas load is counted down to the section depth; leave pressurised_depth out for "
            "the whole of it, or give a deeper section.",
        )  # fmt: skip

    def _block_materials(self) -> dict[str, Material]:
        table = self.table.block
        parent = self._material(table.material, ("block", "material"), "the block")
        materials: dict[str, Material | None] = dict.fromkeys(PARENT_PARTS, parent)
        if table.liner > 0:
            where = ("block", "liner_material")
            materials["liner"] = self._material(table.liner_material, where, "the liner")
        elif table.liner_material is not None:
            self._add(
                ("block", "liner_material"),
                'There is no liner. Give its wall, such as liner = "2.5 mm", or leave this out.',
            )
        return {part: material for part, material in materials.items() if material is not None}

    def _material(self, name: str | None, location: Location, part: str) -> Material | None:

        own, library = self.table.material, library_materials()
        if name is None:
            self._add(
                location,
                f"The material of {part} is missing. Known: {', '.join([*own, *library])}.",
            )
        elif name in own and name in library:
            self._add(
                ("material", name),
                "A material of this name comes with hoopclock. Give yours another name.",
            )
        elif name in own:
            if name not in self.own:
                self.own[name] = self._own_material(name, own[name])
            return self.own[name]
        elif name in library:
            return _library_material(name, library[name])
        else:
            known = closest(name, [*own, *library])
            guess = f' Did you mean "{known}"?' if known else ""
            self._add(
                location,
                f"There is no such material.{guess} Known: {', '.join([*own, *library])}. "
                'Others can be described under a [material."..."] heading.',
            )
        return None

    def _own_material(self, name: str, mine: MaterialTable) -> Material | None:
        from fea.material import Material

        before = len(self.faults)
        self._check_range(("material", name), mine, _MATERIAL_RANGES)
        for row, hot in enumerate(mine.hot):
            self._check_range(("material", name, "hot", row), hot, _STRENGTH_RANGES)
        self._check_hot(name, mine)
        self._check_fatigue(name, mine)
        if len(self.faults) > before:
            return None
        try:
            return Material(
                name,
                mine.youngs_modulus,
                mine.poisson,
                mine.source,
                expansion=mine.expansion or 0.0,
                conductivity=mine.conductivity or 0.0,
                yield_points=_by_temperature(mine, "yield_strength"),
                tensile_points=_by_temperature(mine, "tensile_strength"),
                fatigue=_own_fatigue(mine),
                cast=bool(mine.cast),
            )
        except ValueError as error:
            self._add(("material", name), str(error))
            return None

    def _check_range(
        self,
        location: Location,
        table: BaseModel,
        ranges: Sequence[tuple[str, float, float, float, str]],
    ) -> None:
        for key, low, high, scale, unit in ranges:
            value = getattr(table, key)
            if value is not None and not low <= scale * value <= high:
                self._add(
                    (*location, key),
                    f"{scale * value:g} {unit} is outside {low:g} to {high:g} {unit}.",
                )

    def _check_hot(self, name: str, mine: MaterialTable) -> None:
        """Whether the strengths when hot rise in temperature, and are those given at 20 degC."""
        from fea.material import REFERENCE

        last = REFERENCE
        for row, hot in enumerate(mine.hot):
            location = ("material", name, "hot", row)
            if not last < hot.temperature <= HOTTEST:
                self._add(
                    (*location, "temperature"),
                    f"{hot.temperature:g} degC is outside {last:g} to {HOTTEST:g} degC. Strengths "
                    f"at {REFERENCE:g} degC stand in the material itself; give the others in "
                    "rising order, each temperature once.",
                )
            last = max(last, hot.temperature)
            for key in ("yield_strength", "tensile_strength"):
                if (getattr(hot, key) is None) != (getattr(mine, key) is None):
                    self._add(
                        location,
                        f"{key} is known here alone or not at all. Give it at {REFERENCE:g} degC "
                        "and in every row of hot, or nowhere.",
                    )

    def _check_fatigue(self, name: str, mine: MaterialTable) -> None:
        """Whether all is there that a strength needs to be rated by."""
        for key, other in (
            ("tensile_strength", "cast"),
            ("fatigue_strength", "tensile_strength"),
            ("fatigue_strength", "fatigue_cycles"),
            ("fatigue_cycles", "fatigue_strength"),
            ("fatigue_scatter", "fatigue_strength"),
            ("basquin_exponent", "fatigue_strength"),
        ):
            if getattr(mine, key) is not None and getattr(mine, other) is None:
                meaning = MaterialTable.model_fields[other].description
                self._add(("material", name), f"{key} is given without {other}. Add it: {meaning}.")
