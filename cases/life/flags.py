"""Heat that no engine stands for long, whichever figure of a rating it changes.

Each flag names the input that is at fault and what would mend it. Limits are marked with their
source; none hangs on the strength of a metal, which falls with temperature by its own table.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.coolant.film import USUAL_FILMS, WetFilm, wet_film
from cases.coolant.given import SYSTEM_PRESSURE, WATER_BOILS
from cases.life.given import Heat, InsertCompound
from cases.materials.reading import kind_of_metal
from fea.heat import HeatField, WallPeak
from fea.material import Material
from geometry.clock import format_clock
from geometry.section import Block

Array = NDArray[np.float64]

HOTTEST_BORE = {"aluminium": 180.0, "iron": 220.0}
"""That a bore of this metal runs at for long (common practice, no source). [degC]."""
OIL = 200.0
"""Of a bore wall, above which the oil on it burns off or cokes (common practice, no source).
[degC]."""
DRY = ("gas", "head", "outside")
"""Paths of heat that no coolant takes."""
USUAL_GAS = (1e-4, 3e-3)
"""Films of the gas, means over a cycle and the wall (common practice, no source). [W/(mm2 K)]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """One thing that heat does and nobody may miss."""

    kind: str  # bore, oil, metal, boiling, crisis, film, compound
    words: str  # a sentence: what, where, which input, what would mend it


@dataclass(frozen=True, slots=True, kw_only=True)
class HotSurface:
    """A wall where it is hottest, or where most heat leaves it."""

    temperature_degc: float
    place: str  # in words
    flux: float = 0.0  # out of the metal [W/mm2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bond:
    """A joint that a compound fills, where it is hottest."""

    hottest: HotSurface
    known_to_degc: float  # last temperature that the case states a strength at


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatSeen:
    """What a solved temperature comes to, of a section or a solid."""

    bore: HotSurface
    bore_metal: Material
    wet: tuple[HotSurface, ...]  # walls under the coolant
    parts: Mapping[str, tuple[HotSurface, Material]]  # hottest place of each
    bond: Bond | None = None  # None where no compound holds the insert


def heat_flags(given: Heat, film: tuple[float, float] | None, seen: HeatSeen) -> tuple[Flag, ...]:
    """What no one may miss of a heated design, worst kinds first.

    Parameters
    ----------
    given : Heat
    film : (float, float) or None
        Of the gas, mean coefficient [W/(mm2 K)] and temperature [degC]; None of a heat flux.
    seen : HeatSeen
    """
    water = wet_film(given.water) if given.water else None
    return tuple(
        flag
        for find in (_crisis, _dry, _metal, _compound, _bore, _films)
        for flag in find(given, water, film, seen)
    )


_Gas = tuple[float, float] | None


def _crisis(_given: Heat, water: WetFilm | None, _film: _Gas, seen: HeatSeen) -> Iterator[Flag]:
    """Steam over a wall."""
    if water is None or not seen.wet:
        return
    worst = max(seen.wet, key=lambda wall: wall.flux)
    if worst.flux > water.critical_flux:
        yield Flag(
            kind="crisis",
            words=f"the coolant may boil dry at {worst.place}: {worst.flux:.2f} MW/m2 leave the "
            f"wall there, and steam may cover it from {water.critical_flux:.2f} on (Zuber, of a "
            "pool). No temperature or limit holds then. More flow and pressure under [coolant], a "
            "slot that lets water by, or less load would mend it.",
        )


def _dry(given: Heat, water: WetFilm | None, _film: _Gas, seen: HeatSeen) -> Iterator[Flag]:
    """A stated film, beside which nothing is known of boiling."""
    if water is not None or given.coolant is None or not seen.wet:
        return
    hottest = max(seen.wet, key=lambda wall: wall.temperature_degc)
    if hottest.temperature_degc > WATER_BOILS:
        yield Flag(
            kind="boiling",
            words=f"the wall is at {hottest.temperature_degc:.0f} degC at {hottest.place}, where "
            f"water boils ({WATER_BOILS:.0f} degC at {10 * SYSTEM_PRESSURE:g} bar above the "
            "atmosphere), and the case states a film alone: metal is shown too hot. State flow or "
            "pressure under [coolant], and boiling is counted.",
        )


def _metal(_given: Heat, _water: WetFilm | None, _film: _Gas, seen: HeatSeen) -> Iterator[Flag]:
    """Metal hotter than its strength is known for."""
    for part, (place, material) in seen.parts.items():
        points = material.yield_points
        if len(points) > 1 and place.temperature_degc > points[-1][0]:
            yield Flag(
                kind="metal",
                words=f"the {part} is at {place.temperature_degc:.0f} degC at {place.place}, "
                f"above the last row of its table of strength: {material.name} is known up to "
                f"{points[-1][0]:g} degC; what it bears beyond is no more than a guess. Check "
                "[heat]; a head_film that takes heat off the deck, water nearer by, or less load "
                "would mend it.",
            )


def _compound(_given: Heat, _water: WetFilm | None, _film: _Gas, seen: HeatSeen) -> Iterator[Flag]:
    """A compound hotter than its strength is known for."""
    if seen.bond is None:
        return
    place, most = seen.bond.hottest, seen.bond.known_to_degc
    if place.temperature_degc > most:
        yield Flag(
            kind="compound",
            words=f"the compound is at {place.temperature_degc:.0f} degC at {place.place}, and its "
            f"strength is stated up to {most:g} degC under [design.compound]: where it is hotter "
            "it is counted as none, for good. A compound for that heat with its rows under "
            "[[design.compound.hot]], a pressed fit, or water nearer by would mend it.",
        )


def hottest_bond(
    block: Block, compound: InsertCompound | None, temperature: Array, places: Array
) -> Bond | None:
    """The hottest place of a joint under a compound; None without either.

    Parameters
    ----------
    block : Block
    compound : InsertCompound or None
    temperature : ndarray, shape (k,)
        Of its pairs, the mean of both sides. [degC]
    places : ndarray, shape (k, 2) or (k, 3)
        [mm]
    """
    if compound is None or not len(temperature):
        return None
    at = int(np.argmax(temperature))
    x, y, *z = places[at].tolist()
    depth = f", {-z[0]:.0f} mm down" if z else ""
    return Bond(
        hottest=HotSurface(
            temperature_degc=float(temperature[at]), place=f"{place_words(block, x, y)}{depth}"
        ),
        known_to_degc=min(points[-1][0] for points in (compound.tension, compound.shear)),
    )


def _bore(_given: Heat, _water: WetFilm | None, _film: _Gas, seen: HeatSeen) -> Iterator[Flag]:
    """A bore, or the oil on it, that is too hot."""
    bore, metal = seen.bore, kind_of_metal(seen.bore_metal)
    most = HOTTEST_BORE[metal]
    if bore.temperature_degc > most:
        yield Flag(
            kind="bore",
            words=f"the bore is at {bore.temperature_degc:.0f} degC at {bore.place}; a bore of "
            f"{metal} runs at no more than {most:g} degC for long (common practice, no source). "
            "Check gas_film and gas_temperature, or the engine that gives them; a head_film, water "
            "nearer by, or less load would mend it.",
        )
    elif bore.temperature_degc > OIL:
        yield Flag(
            kind="oil",
            words=f"the bore is at {bore.temperature_degc:.0f} degC at {bore.place}, and oil on it "
            f"lasts up to some {OIL:g} degC (common practice, no source). Less load, or water "
            "nearer by, would mend it.",
        )


def _films(given: Heat, _water: WetFilm | None, film: _Gas, _seen: HeatSeen) -> Iterator[Flag]:
    """Stated films out of what engines have."""
    checked: list[tuple[str, float, tuple[float, float]]] = []
    if film is not None:
        checked.append(("the gas", film[0], USUAL_GAS))
    if given.coolant is not None and given.water is None:
        checked.append(("the coolant", given.coolant[0], USUAL_FILMS))
    for what, value, (low, high) in checked:
        if not low <= value <= high:
            yield Flag(
                kind="film",
                words=f"the film of {what}, {1e6 * value:.4g} W/(m2 K), is out of what engines "
                f"commonly have, {1e6 * low:.0f} to {1e6 * high:.0f} W/(m2 K) (common practice, no "
                "source). Check the number and its unit under [heat].",
            )


def section_seen(block: Block, heat: HeatField, materials: Mapping[str, Material]) -> HeatSeen:
    """What the heat of a section comes to.

    Parameters
    ----------
    block : Block
    heat : HeatField
    materials : mapping of str to Material
        By part.
    """
    mesh = heat.mesh
    bore = np.unique(mesh.edges["bore"])
    node = int(bore[np.argmax(heat.temperature[bore])])
    hottest = [heat.hottest(part) for part in mesh.parts]
    return HeatSeen(
        bore=HotSurface(
            temperature_degc=float(heat.temperature[node]),
            place=place_words(block, *mesh.points[node].tolist()),
        ),
        bore_metal=materials["liner" if block.liner else "barrel"],
        wet=tuple(
            HotSurface(
                temperature_degc=wall.temperature_degc,
                place=f"the {path}, {place_words(block, wall.x_mm, wall.y_mm)}",
                flux=wall.flux,
            )
            for path, wall in heat.walls.items()
            if path not in DRY
        ),
        parts={
            of.part: (
                HotSurface(
                    temperature_degc=of.temperature_degc,
                    place=place_words(block, of.x_mm, of.y_mm),
                ),
                materials[of.part],
            )
            for of in hottest
        },
    )


def most_wet(heat: HeatField) -> WallPeak | None:
    """The wet wall that most heat leaves; None where no coolant takes any."""
    wet = [wall for path, wall in heat.walls.items() if path not in DRY]
    return max(wet, key=lambda wall: wall.flux, default=None)


def place_words(block: Block, x: float, y: float) -> str:
    """A place by its clock position and bore."""
    bore, hours = block.nearest_bore(x, y)
    of = "" if int(bore) == block.firing_bore else f" of bore {int(bore)}"
    return f"{format_clock(float(hours))}{of}"
