"""How the block is fitted and heated where the case does not say it."""

from __future__ import annotations

from collections.abc import Iterator

from cases.gas.solve import gas_of
from cases.life.given import Heat, InsertFit, life_given
from cases.life.liner import liner_unknown, stand_in_words
from cases.life.result import Service, is_lived, service_of
from cases.life.steps import HONED
from cases.stress.result import CaseResult

SMOOTH = (
    "none, so that nothing is taken off the press (two faces of Rz 4 um would take 6.4 um of the "
    "interference)"
)


def life_assumed(result: CaseResult) -> list[tuple[str, str]]:
    """Key and stand-in of what the case leaves out of fits, liner and heat, where it counted."""
    case, given = result.case, life_given(result.case)
    found = []
    for design in result.designs:
        fit = given.fits.get(design.name)
        if design.section.insert is None:
            continue
        if fit is None:
            found.append((f'design "{design.name}", fit', "one piece with the block"))
        elif is_lived(design):
            stands = _of_fit(fit, service_of(design))
            found += [(f'design "{design.name}", fit.{key}', words) for key, words in stands]
            if fit.pressed and fit.roughness is None:
                found.append((f'design "{design.name}", roughness', SMOOTH))
    looked_at = any("life" in design.found for design in result.designs)
    if liner_unknown(case) and looked_at:
        words = stand_in_words(case)
        if not given.liner_opens:
            words = f"none in the load steps; a rating counts {words}"
        found.append(("block.liner_interference", words))
    if given.heat is not None:
        stands = _of_heat(given.heat, result)
        found += [(f"heat.{key}", words) for key, words in stands]
    return found


def _of_fit(fit: InsertFit, service: Service) -> Iterator[tuple[str, str]]:
    """Of one design: what its steps and the advice on its fit went by."""
    joints = [step.joint for step in service.steps if step.joint and step.name != HONED]
    smooth = [
        side.against
        for side in (joints[0].sides if joints else ())
        if not side.bonded and fit.sides[side.against].friction_left_out
    ]
    if smooth:
        yield "friction", f"0 against {', '.join(smooth)}"
    if "tolerance" in fit.left_out and fit.common:
        yield "tolerance", "0 um"
    held = any(not joint.bonded and joint.open_share < 1 for joint in joints)
    if "vibration" in fit.left_out and held:
        yield "vibration", f"{fit.vibration:g} g (common practice, no source)"
    if "most_out_of_round" in fit.left_out and fit.common:
        most = 1000 * fit.most_out_of_round
        yield "most_out_of_round", f"{most:g} um (common practice, no source)"


def _of_heat(heat: Heat, result: CaseResult) -> Iterator[tuple[str, str]]:
    """What brings and takes heat."""
    load = gas_of(result).wall_load
    if heat.gas is None and load is not None and load.cycle is not None:
        film, temperature = load.film
        yield "gas_film", f"the engine's, {1e6 * film:.0f} W/(m2 K) at {temperature:.0f} degC"
    ways = {"coolant": heat.coolant, "head": heat.head, "outside": heat.outside}
    for key, way in ways.items():
        if way is None and not (key == "coolant" and heat.wets):
            where = "air outside" if key == "outside" else key
            yield f"{key}_film", f"no heat to the {where}"
    if heat.liner_conductance is None and result.case.block.liner:
        yield "liner_conductance", "heat crosses from liner to barrel as in one piece"
