"""The materials that a case names: of the library, or of its own."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.base.checking import Faults
from cases.base.faults import Location, closest
from cases.base.tables import meaning
from cases.materials.hot import LONGEST, hot_tables
from cases.materials.table import HOTTEST, MaterialTable

if TYPE_CHECKING:
    from fea.material import Fatigue, Material

ALUMINIUM_THRESHOLD = (3.5, 5.0, 7.5)
"""Range of stress intensity that a long crack in aluminium bears fully reversed: least, usual and
most (from memory). [MPa sqrt(m)]."""
STIFFEST_ALUMINIUM = 90e3  # Young's modulus; a metal that is stiffer is another [MPa]


def kind_of_metal(material: Material) -> str:
    """Aluminium or iron, told by how stiff it is."""
    return "aluminium" if material.youngs_modulus <= STIFFEST_ALUMINIUM else "iron"


@cache
def library_materials() -> dict[str, dict[str, Any]]:
    """The alloys that come with the project, by name, with the unit in each key."""
    text = Path(__file__).with_name("library.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def made_by(row: Mapping[str, Any]) -> tuple[str, ...]:
    """Processes that an alloy of the library has strengths of, the usual one first."""
    return (row["process"], *row.get("made", {}))


def library_row(name: str, process: str | None = None) -> dict[str, Any]:
    """What the library holds of an alloy made in a way; as it usually is if left out.

    Raises
    ------
    KeyError
        If there is no such alloy, or none made so.
    """
    row = library_materials()[name]
    if process in (None, row["process"]):
        return row
    return {**row, **row["made"][process], "process": process}


class Materials:
    """Finds the materials that a case names, each checked once.

    Parameters
    ----------
    own : mapping
        Tables of the case's own, by name.
    faults : Faults
    hours : float
        At temperature, that strengths when hot are counted after, ``SHORTEST`` to ``LONGEST``. [h]
    """

    def __init__(
        self, own: Mapping[str, MaterialTable], faults: Faults, hours: float = LONGEST
    ) -> None:
        self.own, self.faults, self.hours = own, faults, hours
        self._made: dict[str, Material | None] = {}

    def named(
        self, name: str | None, location: Location, part: str, process: str | None = None
    ) -> Material | None:
        """The material of a name; None, and a fault, where there is none or it can't be.

        Parameters
        ----------
        name : str, optional
        location : tuple
            Where the case names it.
        part : str
            What is made of it, for the message.
        process : str, optional
            How it is made; as the alloy usually is if left out.
        """
        own, library = self.own, library_materials()
        if name is None:
            self.faults.add(
                location,
                f"The material of {part} is missing. Known: {', '.join([*own, *library])}.",
                alone=True,
            )
        elif name in own and name in library:
            self.faults.add(
                ("material", name),
                "A material of this name comes with hoopclock. Give yours another name.",
            )
        elif name in own:
            if process is not None:
                self.faults.add(
                    (*location[:-1], "process"),
                    f'"{name}" is a material of the case\'s own, whose strengths are those of the '
                    "process as it is. Leave the process out.",
                )
            if name not in self._made:
                self._made[name] = self._own(name, own[name])
            return self._made[name]
        elif name in library:
            made = made_by(library[name])
            if process is not None and process not in made:
                self.faults.add(
                    (*location[:-1], "process"),
                    f'No strengths of {name} made so are known, "{process}". Known: '
                    f"{', '.join(made)}. Others can be described under a "
                    '[material."..."] heading.',
                )
                return None
            return _of_library(name, process, self.hours)
        else:
            known = closest(name, [*own, *library])
            guess = f' Did you mean "{known}"?' if known else ""
            self.faults.add(
                location,
                f"There is no such material.{guess} Known: {', '.join([*own, *library])}. "
                'Others can be described under a [material."..."] heading.',
                alone=True,
            )
        return None

    def _own(self, name: str, mine: MaterialTable) -> Material | None:
        from fea.material import Material

        before = len(self.faults.found)
        self.faults.within(("material", name), mine)
        for row, hot in enumerate(mine.hot):
            self.faults.within(("material", name, "hot", row), hot)
        if len(self.faults.found) == before:
            self._check_hot(name, mine)
        self._check_fatigue(name, mine)
        if len(self.faults.found) > before:
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
                density=mine.density,
                cast=bool(mine.cast),
            )
        except ValueError as error:
            self.faults.add(("material", name), str(error))
            return None

    def _check_hot(self, name: str, mine: MaterialTable) -> None:
        """Whether the strengths when hot rise in temperature, and are those given at 20 degC."""
        from fea.material import REFERENCE

        last = REFERENCE
        for row, hot in enumerate(mine.hot):
            location = ("material", name, "hot", row)
            if not last < hot.temperature <= HOTTEST:
                self.faults.add(
                    (*location, "temperature"),
                    f"{hot.temperature:g} degC is outside {last:g} to {HOTTEST:g} degC. Strengths "
                    f"at {REFERENCE:g} degC stand in the material itself; give the others in "
                    "rising order, each temperature once.",
                )
            last = max(last, hot.temperature)
            before = mine.hot[row - 1] if row else mine
            for key in ("yield_strength", "tensile_strength"):
                here, colder = getattr(hot, key), getattr(before, key)
                if here is not None and colder is not None and here > colder:
                    self.faults.add(
                        (*location, key),
                        f"{here:g} MPa is more than the {colder:g} MPa before it. Metal doesn't "
                        "get stronger as it gets hotter: correct one of the two, or give the lower "
                        "in both.",
                    )
                if (getattr(hot, key) is None) != (getattr(mine, key) is None):
                    self.faults.add(
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
            ("threshold", "fatigue_strength"),
        ):
            if getattr(mine, key) is not None and getattr(mine, other) is None:
                what = meaning(MaterialTable.model_fields[other])
                self.faults.add(
                    ("material", name), f"{key} is given without {other}. Add it: {what}."
                )


def _of_library(name: str, process: str | None, hours: float) -> Material:
    from fea.material import Fatigue, Material
    from fea.strength import basquin_exponent

    row = library_row(name, process)
    hot = hot_tables()[row["hot"]]
    proof, tensile = (
        tuple((at, row[key] * share) for at, share in hot.at_hours(kind, hours))
        if key in row
        else ()
        for key, kind in (("proof_mpa", "proof"), ("tensile_mpa", "tensile"))
    )
    fatigue = None
    if "fatigue_mpa" in row:
        strength, cycles = row["fatigue_mpa"], row["fatigue_cycles"]
        exponent = basquin_exponent(row["tensile_mpa"], strength, cycles)
        low, most_likely, high = row["threshold_mpa_sqrt_m"]
        fatigue = Fatigue(
            strength, cycles, exponent, row["fatigue_scatter"], (low, most_likely, high)
        )
    return Material(
        name,
        1000 * row["youngs_modulus_gpa"],
        row["poisson"],
        f"{row['source']}; {row['how_sure']}; hot: {hot.source}",
        expansion=1e-6 * row["expansion_1e6_per_k"],
        conductivity=1e-3 * row["conductivity_w_per_mk"],
        softening=tuple((at, share) for at, share in row.get("modulus_share", [])),
        yield_points=proof,
        tensile_points=tensile,
        strength_range=hot.spread(hours),
        kept_points=hot.kept_after(hours),
        fatigue=fatigue,
        density=1e-6 * row["density_kg_per_m3"],
        cast=row["cast"],
        process=row["process"],
        notes=hot.notes(hours),
        from_memory=_from_memory(row, len(proof) + len(tensile)),
        unsure=UNSURE if row["memory"] else 0.0,
    )


STRENGTHS = ("proof_mpa", "tensile_mpa", "fatigue_mpa")
UNSURE = 0.1
"""Share that a strength from memory may be off by, either way (common practice, no source)."""


def _from_memory(row: Mapping[str, Any], points: int) -> tuple[int, int]:
    """How many numbers of an alloy's strengths are from memory, and how many there are.

    Those at 20 degC, the threshold, and those when hot for the hours that count.
    """
    cold = [key for key in STRENGTHS if key in row]
    hot = points - len([key for key in cold if key != "fatigue_mpa"])  # less those at 20 degC
    remembered = len(row["memory"]) + (0 if hot_tables()[row["hot"]].opened else hot)
    threshold = int("threshold_mpa_sqrt_m" in row)
    return remembered + threshold, len(cold) + threshold + hot


def _by_temperature(mine: MaterialTable, key: str) -> tuple[tuple[float, float], ...]:
    """A strength of a material of the case, from 20 degC up."""
    from fea.material import REFERENCE

    cold = getattr(mine, key)
    if cold is None:
        return ()
    return ((REFERENCE, cold), *((hot.temperature, getattr(hot, key)) for hot in mine.hot))


def _own_fatigue(mine: MaterialTable) -> Fatigue | None:
    from fea.material import Fatigue
    from fea.strength import CAST_SCATTER, WROUGHT_SCATTER, basquin_exponent

    strength, cycles, tensile = mine.fatigue_strength, mine.fatigue_cycles, mine.tensile_strength
    if strength is None or cycles is None or tensile is None:
        return None
    exponent, scatter = mine.basquin_exponent, mine.fatigue_scatter
    if exponent is None:
        exponent = basquin_exponent(tensile, strength, cycles)
    if scatter is None:
        scatter = CAST_SCATTER if mine.cast else WROUGHT_SCATTER
    threshold = None
    if mine.threshold is not None:
        threshold = (mine.threshold,) * 3
    elif mine.youngs_modulus <= STIFFEST_ALUMINIUM:
        threshold = ALUMINIUM_THRESHOLD
    return Fatigue(strength, cycles, exponent, scatter, threshold)
