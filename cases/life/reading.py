"""From the tables of a case file to the input of a life."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from cases.base.checking import Faults
from cases.base.faults import Location
from cases.case import Case
from cases.coolant.given import CoolantInput, coolant_given
from cases.gas.reading import gives_pressure
from cases.life.given import (
    CAST_IN,
    DEPOSIT,
    PRESSED_IN,
    SIDE_PARTS,
    SLIP,
    Heat,
    InsertCompound,
    InsertFit,
    LifeInput,
    PistonRing,
    SideFit,
)
from cases.life.table import (
    HOTTEST_COMPOUND,
    THINNEST_RING,
    CompoundTable,
    HeatTable,
    SideTable,
)

if TYPE_CHECKING:
    from fea.material import Material

SMALLEST_FIT = 0.0005  # no shop measures less, but for 0 [mm]
WEAKEST_COMPOUND = 0.1  # in shear; less is a slip of the unit (common practice, no source) [MPa]


def read_life_input(table: Any, case: Case, faults: Faults) -> LifeInput:
    """What a case states of fits, heat, liner and piston ring.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    reader = _Reader(table, coolant_given(case), faults)
    if table.heat is not None:
        _check_metals(case, faults)
    return LifeInput(
        fits={
            design.name: reader.fit_of(("design", place), design)
            for place, design in enumerate(table.design)
            if (design.fit or design.compound) and design.depth is not None
        },
        heat=reader.heat(),
        piston_ring=reader.piston_ring(),
        liner_joint=table.block.liner_joint,
        liner_interference=reader.liner_interference(),
        liner_friction=table.block.liner_friction,
    )


def _check_metals(case: Case, faults: Faults) -> None:
    """Whether each metal of a part has what heat needs."""
    parts: dict[str, dict[str, None]] = {}
    metals: dict[str, Material] = {}
    for design in case.designs:
        for part, material in case.part_materials(design).items():
            metals[material.name] = material
            parts.setdefault(material.name, {})[part] = None
    for name, material in metals.items():
        for key, example in (("expansion", "21.5 um/(m K)"), ("conductivity", "151 W/(m K)")):
            if not getattr(material, key):
                faults.add(
                    ("material", name),
                    f"{key} is missing, and what is made of it ({', '.join(parts[name])}) is "
                    f'heated. Add it, such as {key} = "{example}", or leave out [heat].',
                )


class _Reader:
    """Makes the input of a life of the tables of a case file."""

    def __init__(self, table: Any, water: CoolantInput | None, faults: Faults) -> None:
        self.table, self.water, self.faults = table, water, faults

    def fit(self, whose: Location, design: Any) -> InsertFit:
        location, table = (*whose, "fit"), design.fit
        common = self._side(location, table)
        sides, missing = {}, []
        pressed: list[str] = []
        slack: list[str] = []
        for key, part in SIDE_PARTS.items():
            own = getattr(table, key)
            stated = self._side((*location, key), own) if own else None
            friction = own.friction if own and own.friction is not None else table.friction
            side = stated or common
            if side is None:
                missing.append(key)
                side = SideFit()
            sides[part] = replace(
                side, friction=friction or 0.0, friction_left_out=friction is None
            )
            if stated is None and not side.bonded:
                (pressed if side.interference > 0 else slack).append(part)
        if missing:
            self.faults.add(
                location,
                f"Nothing is said of the side{'s' if len(missing) > 1 else ''} "
                f"{', '.join(missing)}. Give interference, clearance or bonded = true here, or "
                f"under [design.fit.{missing[0]}].",
            )
        return InsertFit(
            sides=sides,
            pressed=tuple(pressed),
            tolerance=table.tolerance,
            per_side=table.interference_per_side is not None,
            roughness=self._roughness(whose, design),
            press_creep=table.press_creep,
            vibration=table.vibration,
            least_hold=table.least_hold,
            most_out_of_round=table.most_out_of_round,
            filled=tuple(slack) if design.compound else (),
            left_out=table.left_out,
        )

    def fit_of(self, location: Location, design: Any) -> InsertFit:
        """The fit of a design, and the compound in its joint."""
        where = (*location, "compound")
        if design.fit is None:
            self.faults.add(
                where,
                "The insert is one with the block, as nothing is said of its fit. Add [design.fit] "
                "before it, or leave the compound out.",
            )
            return InsertFit(sides={}, pressed=())
        fit = self.fit(location, design)
        if design.compound is None:
            return fit
        compound = self._compound(where, design.compound)
        held = {part: side for part, side in fit.sides.items() if not side.bonded}
        if not held:
            self.faults.add(
                where,
                "Every side is bonded and can't open, so a compound holds nothing. Leave it out, "
                "or bonded.",
            )
        for part, side in held.items():
            gap = -side.interference / 2
            if gap > compound.largest_gap:
                self.faults.add(
                    (*where, "largest_gap"),
                    f"The clearance against the {part} leaves a gap of {1000 * gap:g} um, and the "
                    f"compound fills {1000 * compound.largest_gap:g} um: nothing of that side "
                    f"would hold. Give no more than {2000 * compound.largest_gap:g} um of "
                    "clearance, or a compound that fills more.",
                )
        return replace(fit, compound=compound)

    def _compound(self, location: Location, table: CompoundTable) -> InsertCompound:
        self.faults.within(location, table)
        if 0 < table.shear_strength < WEAKEST_COMPOUND:
            self.faults.add(
                (*location, "shear_strength"),
                f"{table.shear_strength:.2g} MPa is less than any compound holds, "
                f"{WEAKEST_COMPOUND:g} MPa. Check the unit, or leave the compound out.",
            )
        last = 20.0
        for row, hot in enumerate(table.hot):
            where = (*location, "hot", row)
            self.faults.within(where, hot)
            if not last < hot.temperature <= HOTTEST_COMPOUND:
                self.faults.add(
                    (*where, "temperature"),
                    f"{hot.temperature:g} degC is outside {last:g} to {HOTTEST_COMPOUND:g} degC. "
                    "Strengths at 20 degC stand in the compound itself; give the others in rising "
                    "order, each temperature once.",
                )
            last = max(last, hot.temperature)
        if self.table.heat is not None and not table.hot:
            self.faults.add(
                location,
                "The engine is warm and nothing is said of the compound's strength there. Add its "
                "strengths when hot, [[design.compound.hot]].",
            )
        shear, tension = (
            (
                (20.0, getattr(table, key)),
                *((hot.temperature, getattr(hot, key)) for hot in table.hot),
            )
            for key in ("shear_strength", "tensile_strength")
        )
        return InsertCompound(
            tension=tension,
            shear=shear,
            largest_gap=table.largest_gap,
            friction=table.friction,
        )

    def _roughness(self, location: Location, design: Any) -> tuple[float, float] | None:
        """Rz of the faces of insert and block; None where it is not stated."""
        self.faults.within(location, design, "roughness", "block_roughness")
        if design.roughness is None:
            if design.block_roughness is not None:
                self.faults.add(
                    (*location, "block_roughness"),
                    "roughness, that of the insert's faces, is missing. Add it, such as "
                    'roughness = "4 um".',
                )
            return None
        block = design.block_roughness
        return design.roughness, design.roughness if block is None else block

    def _side(self, location: Location, table: SideTable) -> SideFit | None:
        """What is stated for a side; None where nothing is but, perhaps, its friction."""
        self.faults.within(location, table)
        stated = [
            key
            for key in ("interference", "interference_per_side", "clearance", "bonded")
            if getattr(table, key) not in (None, False)
        ]
        if len(stated) > 1:
            self.faults.add(location, f"Both {' and '.join(stated)} are given. Give one of them.")
        if table.bonded:
            return SideFit(bonded=True)
        for key, times in (("interference", 1), ("interference_per_side", 2), ("clearance", -1)):
            value = getattr(table, key)
            if value is not None:
                self._check_smallest((*location, key), value)
                return SideFit(interference=times * value)
        return None

    def _check_smallest(self, location: Location, value: float) -> None:
        if 0 < value < SMALLEST_FIT:
            self.faults.add(
                location,
                f"{1000 * value:g} um is less than can be measured, {1000 * SMALLEST_FIT:g} um. "
                "Check the unit, or give 0.",
            )

    def heat(self) -> Heat | None:
        table = self.table.heat
        if table is None:
            return None
        self.faults.within(("heat",), table)
        flows = self.table.coolant is not None and self.table.coolant.flow is not None
        stated = ("gas", "head", "outside") if flows else ("gas", "coolant", "head", "outside")
        films = {name: self._film(table, name) for name in stated}
        gas: tuple[float, float] | float | None = films.pop("gas")
        if table.gas_heat_flux is not None:
            if gas is not None or table.gas_film is not None:
                self.faults.add(
                    ("heat",), "Give gas_film and gas_temperature, or gas_heat_flux alone."
                )
            gas = table.gas_heat_flux
        elif (
            table.gas_film is None
            and table.gas_temperature is None
            and not gives_pressure(self.table)
        ):
            self.faults.add(
                ("heat",),
                "No heat comes in. Give gas_film and gas_temperature, or gas_heat_flux, or "
                "describe the [engine] with its intake_pressure, boost or power.",
            )
        if not flows and not any(film and film[0] > 0 for film in films.values()):
            self.faults.add(
                ("heat",),
                "There is no way out for the heat. Give coolant_film and coolant_temperature, or "
                "a film to the head or to the outside, more than 0.",
            )
        fitted = any(design.fit for design in self.table.design)
        if fitted and table.joint_conductance is None:
            self.faults.add(
                ("heat",),
                "The insert is fitted, so heat crosses a joint. Give joint_conductance, such as "
                'joint_conductance = "8000 W/(m2 K)".',
            )
        if table.liner_conductance is not None and self.table.block.liner == 0:
            self.faults.add(("heat", "liner_conductance"), "There is no liner. Leave this out.")
        opens = self.table.block.liner > 0 and self.table.block.liner_joint != CAST_IN
        if opens and table.liner_conductance is None:
            self.faults.add(
                ("heat",),
                "The liner is a piece of its own, so heat crosses a joint. Give liner_conductance, "
                'such as liner_conductance = "20000 W/(m2 K)".',
            )
        return Heat(
            gas=gas,
            deposit=self._deposit(table),
            water=self.water,
            joint_conductance=table.joint_conductance,
            liner_conductance=table.liner_conductance,
            **films,
        )

    def _deposit(self, table: HeatTable) -> float:
        """Resistance of what the burn leaves on the bore. [mm2 K/W]."""
        if table.deposit is None:
            if table.deposit_conductivity is not None:
                self.faults.add(
                    ("heat", "deposit_conductivity"), "There is no deposit. Give its thickness too."
                )
            return 0.0
        if table.gas_heat_flux is not None:
            self.faults.add(
                ("heat", "deposit"),
                "A stated heat flux enters whatever lies on the bore. Leave this out.",
            )
        conductivity = table.deposit_conductivity
        return float(table.deposit / (DEPOSIT if conductivity is None else conductivity))

    def _film(self, table: HeatTable, name: str) -> tuple[float, float] | None:
        film, temperature = getattr(table, f"{name}_film"), getattr(table, f"{name}_temperature")
        if film is None and temperature is None:
            return None
        for key, value, example in (
            (f"{name}_film", film, "2000 W/(m2 K)"),
            (f"{name}_temperature", temperature, "90 degC"),
        ):
            if value is None:
                self.faults.add(
                    ("heat",), f'It lacks {key}. Give both, such as {key} = "{example}".'
                )
        return None if film is None or temperature is None else (film, temperature)

    def piston_ring(self) -> PistonRing | None:
        table = self.table.piston_ring
        if table is None:
            return None
        most = self.table.block.bore / 8
        where = ("piston_ring", "radial_width")
        self.faults.between(where, table.radial_width, THINNEST_RING, most, "mm")
        self.faults.within(("piston_ring",), table)
        return PistonRing(**table.model_dump())

    def liner_interference(self) -> float | None:
        """On the diameter, less than 0 where it is clearance; None where neither is stated."""
        table = self.table.block
        kind = table.liner_joint
        stated = {
            name: value
            for name in ("liner_joint", "liner_interference", "liner_clearance", "liner_friction")
            if name in table.model_fields_set and (value := getattr(table, name)) is not None
        }
        if table.liner == 0:
            for name in stated:
                self.faults.add(("block", name), "There is no liner. Leave this out.")
            return None
        for name, kinds, sign in (
            ("liner_interference", (CAST_IN, PRESSED_IN), 1),
            ("liner_clearance", (SLIP,), -1),
        ):
            if name not in stated:
                continue
            where = ("block", name)
            if kind not in kinds:
                told = " or ".join(f'"{one}"' for one in kinds)
                self.faults.add(
                    where,
                    f'It does not go with liner_joint = "{kind}". Leave it out, or say '
                    f"liner_joint = {told}.",
                )
            self.faults.within(("block",), table, name)
            self._check_smallest(where, stated[name])
            return float(sign * stated[name])
        return None
