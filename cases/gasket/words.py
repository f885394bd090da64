"""What is told of gaskets in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cases.base.subject import Solved
from cases.gasket.result import GasketWater, Hole, water_of
from geometry.clock import format_clock


def kept_words(found: GasketWater) -> str:
    """What a design leaves open of a gasket."""
    share = 100 * found.open / found.bare if found.bare else 100.0
    words = f"{found.open:.0f} of {found.bare:.0f} mm2 open ({share:.0f} %)"
    count = len(found.blocked)
    if count:
        words += f", {count} of {len(found.holes)} holes blocked"
    return words


def flow_words(found: GasketWater) -> str:
    """What flows through a design; empty where it is not known."""
    if found.flow is None or found.lost is None or found.bare_lost is None:
        return ""
    return (
        f"{60e-6 * found.flow:.1f} L/min at {10 * found.lost:.3f} bar lost "
        f"(bare {60e-6 * (found.bare_flow or 0.0):.1f} L/min, {10 * found.bare_lost:.3f} bar)"
    )


def place_of(hole: Hole, bores: int) -> str:
    """Number and place of a hole."""
    many = f" of bore {hole.bore}" if bores > 1 else ""
    return f"{hole.number} at {format_clock(hole.clock)}{many}"


def over_words(
    found: GasketWater, bores: int, area: Callable[[float], str], most: int = 1000
) -> str:
    """What an insert leaves of a gasket, and which of its holes it shuts.

    Parameters
    ----------
    found : GasketWater
    bores : int
        Of the block.
    area : callable
        How an area in mm2 is written.
    most : int
        Holes that are named.
    """
    shut = "; ".join(place_of(of, bores) for of in found.blocked[:most])
    shut += f"; {len(found.blocked) - most} more" if len(found.blocked) > most else ""
    count = len(found.holes)
    holes = f"{len(found.blocked) or 'none'} of its {count} holes blocked" + (shut and f": {shut}")
    return f"Gasket {found.gasket}: {area(found.open)} of {area(found.bare)} open; {holes}."


def finding_words(result: Solved) -> str:
    """Of each design under the gasket that it leaves least of."""
    told = []
    for design in result.designs:
        found = water_of(design)
        if found is None or design.section.insert is None:
            continue
        worst = found.worst
        told.append(f"{design.name} keeps {kept_words(worst)}, under {worst.gasket}")
    if not told:
        found = water_of(result.designs[0])
        assert found is not None
        worst = found.worst
        return f"Deck, gasket and head open {worst.open:.0f} mm2 together, under {worst.gasket}."
    return f"Deck, gasket and head together: {'; '.join(told)}."


def first_lines(result: Solved) -> list[str]:
    """A vent that an insert blocks, and a gasket that may lie the wrong way round."""
    told: dict[str, None] = {}
    bores = result.case.block.bores
    for design in result.designs:
        found = water_of(design)
        for one in found.gaskets if found else ():
            for note in one.notes:
                if "check that it lies" in note:
                    told[f"Gasket {one.gasket}: {note}."] = None
            if one.vents_lost:
                places = "; ".join(place_of(of, bores) for of in one.vents_lost)
                told[
                    f"{design.name} blocks {vents_words(one.vents_lost)} of gasket {one.gasket} "
                    f"({places}): air that can't leave a high point insulates the wall. Open it."
                ] = None
    return list(told)


def vents_words(vents: Sequence[Hole]) -> str:
    """How many vents."""
    return "a vent" if len(vents) == 1 else f"{len(vents)} vents"


def gasket_lines(result: Solved) -> list[str]:
    """What each design leaves open of each gasket."""
    lines = []
    for design in result.designs:
        found = water_of(design)
        if found is None or design.section.insert is None:
            continue
        told = "; ".join(
            ", ".join(filter(None, (f"{one.gasket} {kept_words(one)}", flow_words(one))))
            for one in found.gaskets
        )
        lines.append(f"Through the gasket, {design.name}: {told}.")
    return lines


def gasket_limits(result: Solved) -> list[str]:
    """What of the water isn't counted."""
    if water_of(result.designs[0]) is None:
        return []
    flows = any(one.flow for of in result.designs for one in water_of(of).gaskets)  # type: ignore[union-attr]
    moving = [
        "Water runs along the bank from one end and leaves to the head beside each bore; passages "
        "are orifices with sharp edges (Idelchik), the head one room over all of them, the jacket "
        "a smooth passage as deep as without an insert. Steam, pockets of air and the way to the "
        "bank are not counted."
    ]
    return [
        *(moving if flows else ()),
        "Openings of deck, gasket and head are those of drawings or tables, laid on the block: "
        "cores shift, and gaskets are punched to some tenths of a millimetre. Lay the gasket on "
        "the deck before cutting.",
    ]
