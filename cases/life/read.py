"""What the steps of a life did, and what follows from them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from cases.life.base import Life, StressCycle, same_spot
from cases.life.flags import Flag, heat_flags, hottest_bond, section_seen
from cases.life.heat import gas_film
from cases.life.joint import about_firing, joint_state
from cases.life.life import FittedLife, bore_of
from cases.life.liner import liner_states
from cases.life.result import JointState, Service, SolvedStep, SpotRange
from cases.life.ring import ring_follow
from cases.life.steps import GAS_CYCLES, HONED, PRESSED, WARM, LoadStep
from cases.life.temperature import refuse_molten
from fea.hotspots import HotSpot, along_spot, hot_spots

NAMED = 4
"""Loose pieces that are told by their place, at most."""
NO_SHARE = 0.005
"""Share of a side that is none beside what was told of it."""
IDLE = "idle: the insert touches the block in no step; the block bears all as if it were bare."


def read_life(life: Life) -> Service:
    """What the steps of a life did, and what follows from them.

    Parameters
    ----------
    life : Life
        All steps solved.

    Raises
    ------
    RunError
        If metal would have melted.
    """
    if life.heat:
        refuse_molten(life.design.name, life.heat, life.materials)
    fitted = life if isinstance(life, FittedLife) and life.fit.sides else None
    steps = _solved_steps(life)
    notes = _notes(life, steps) if isinstance(life, FittedLife) else []
    if fitted is None and life.design.name in life.given.fits:
        notes.append(IDLE)
    return Service(
        mesh=life.mesh,
        pairs=fitted.cold.pairs.of("insert") if fitted else None,
        heat=life.heat,
        steps=steps,
        ranges=_cycles(life, {step.name: step for step in steps}),
        pieces=fitted.pieces if fitted else (),
        notes=tuple(notes),
        flags=_flags(life),
        unknowns=fitted.stands.unknowns if fitted and fitted.stands else (),
    )


def _flags(life: Life) -> tuple[Flag, ...]:
    """What no one may miss of its heat."""
    given = life.given.heat
    if given is None or life.heat is None:
        return ()
    film = gas_film(given, life.heating)
    seen = section_seen(life.case.block, life.heat, life.materials)
    if isinstance(life, FittedLife) and life.fit.compound:
        pairs, warm = life.cold.pairs.of("insert"), life.solution(WARM).temperature
        assert warm is not None
        bond = hottest_bond(
            life.case.block, life.fit.compound,
            warm[np.stack([pairs.own, pairs.other])].mean(axis=0), life.mesh.points[pairs.own],
        )  # fmt: skip
        seen = replace(seen, bond=bond)
    return heat_flags(given, film, seen)


def _solved_steps(life: Life) -> tuple[SolvedStep, ...]:
    """What each step did; the hone changes the bore and nothing else."""
    ring, diameter = life.given.piston_ring, life.case.block.bore
    behind = life.load.line_load / life.case.section_depth  # less than at the deck: the safe side
    known = life.stands if isinstance(life, FittedLife) else None
    steps: list[SolvedStep] = []
    for name in life.steps:
        solution = life.solution(name)
        bore = known.bores[name] if known else bore_of(life, name)
        if name == HONED and steps:
            steps.append(replace(steps[-1], name=name, bore=bore))
            continue
        stresses = life.stress_of(name)
        steps.append(
            SolvedStep(
                name=name,
                solution=solution,
                stresses=stresses,
                hot_spots=known.hot_spots[name] if known else hot_spots(solution, stresses),
                bore=bore,
                joint=_joint_of(life, name),
                liners=liner_states(life, life.solved[name])
                if isinstance(life, FittedLife)
                else (),
                over_yield=life.share_of_yield(name, stresses),
                ring=ring_follow(bore, ring, diameter, behind if name.gas else None)
                if ring and name.in_use
                else None,
            )
        )
    return tuple(steps)


def _joint_of(life: Life, step: LoadStep) -> JointState | None:
    """The joint in a step; None where the insert is one with the block, or absent."""
    if not isinstance(life, FittedLife) or not life.fit.sides:
        return None
    return life.stands.joints[step] if life.stands else joint_state(life, life.solved[step])


def _cycles(life: Life, steps: Mapping[LoadStep, SolvedStep]) -> tuple[SpotRange, ...]:
    """The cycle of gas at each rated hot spot, those at gas first, then those without only.

    Gas in a warm engine; in a cold one where there is no heat. As it goes on: with the compound
    broken that the first gas breaks. What lies as near to a spot that is listed as two peaks of one
    step may not is the same one.
    """
    loaded, idle = next((steps[gas], steps[without]) for gas, without in GAS_CYCLES if gas in steps)
    cycle = life.cycle_at(loaded.name.engine, 1.0)
    found: list[SpotRange] = []
    for step in (loaded, idle):
        listed = tuple(found)
        found += [
            SpotRange(
                spot=spot,
                hot_in=step.name,
                idle_mpa=along_spot(cycle.idle, spot),
                gas_mpa=along_spot(cycle.gas, spot),
                beside_mpa=_beside(cycle, spot),
            )
            for spot in step.hot_spots
            if not spot.sharp and not any(same_spot(spot, cycle.spot) for cycle in listed)
        ]
    return tuple(found)


def _beside(cycle: StressCycle, spot: HotSpot) -> float | None:
    """The least stress of a spot while a bore beside fires [MPa]; None without one."""
    adds = [along_spot(layers, spot) for layers in cycle.beside]
    return along_spot(cycle.idle, spot) + min(adds) if adds else None


def _notes(life: FittedLife, steps: Sequence[SolvedStep]) -> list[str]:
    """What a reader must be told of joints that open, in words."""
    notes = []
    if life.stands and life.stands.stopped:
        notes.append(life.stands.stopped)
    if (note := _eaten(life)) is not None:
        notes.append(note)
    notes += [note for step in steps if (note := _gas_could_lift(life, step))]
    if all(step.joint and not step.joint.touches for step in steps):
        return [*notes, IDLE]
    notes += _compound_notes(life, steps)
    return [*notes, *(note for step in steps if (note := _loose(step)))]


def _compound_notes(life: FittedLife, steps: Sequence[SolvedStep]) -> list[str]:
    """What becomes of the compound in the joint, step by step, in words."""
    compound, pairs = life.fit.compound, life.cold.pairs.of("insert")
    ours = life.cold.pairs.part == "insert"
    if compound is None:
        return []
    here = about_firing(life.case.block, life.mesh.points[pairs.own])
    notes = []
    told = dict.fromkeys(life.touched, 0.0)
    for step in steps:
        if step.joint is None or step.name == HONED:
            continue
        contact = step.joint.contact
        filled = contact.intact | contact.broken
        tension, shear = (of[ours] for of in life.cold.strengths(step.solution.temperature))
        weak = filled & (tension == 0) & (shear == 0)
        for side in step.joint.sides:
            of = pairs.faces(here & (pairs.against == side.against))
            empty, none = (
                float(pairs.area[of & those].sum() / pairs.area[of].sum())
                for those in (~filled, weak)
            )
            where = f"of the {side.against} side"
            if step.name == PRESSED and not side.bonded and empty > NO_SHARE:
                notes.append(
                    f"{step.name}: over {100 * empty:.0f} % {where} the gap is larger than the "
                    f"{1000 * compound.largest_gap:g} um that the compound fills; it holds nothing "
                    "there."
                )
            if none > NO_SHARE:
                notes.append(
                    f"{step.name}: over {100 * none:.0f} % {where} the compound is hotter than it "
                    "has strength; the joint there is as if there were none, for good."
                )
            if side.broken_share > max(told[side.against], none) + NO_SHARE:
                notes.append(
                    f"{step.name}: the compound is used up over {100 * side.broken_share:.0f} % "
                    f"{where}."
                )
            told[side.against] = side.broken_share
    return notes


def _eaten(life: FittedLife) -> str | None:
    """That roughness eats all of an interference, in words; None where it doesn't."""
    fit = life.fit
    stated = fit.interference
    if not stated or stated < 0 or fit.roughness is None or fit.flattened < stated:
        return None
    insert, block = (1000 * one for one in fit.roughness)
    return (
        f"roughness of Rz {insert:g} um on the insert and {block:g} um on the block eats "
        f"{1000 * fit.flattened:.1f} um on the diameter, all of the interference of "
        f"{1000 * stated:g} um: nothing presses. Give more interference, or finer faces."
    )


def _gas_could_lift(life: FittedLife, step: SolvedStep) -> str:
    """That gas presses harder than the liner's joint, in words; empty where it doesn't.

    A joint opens to gas at its mouth where the gas passes what presses it together (derived). Both
    are means over the section's depth.
    """
    gas, fires = life.load.line_load / life.case.section_depth, life.case.block.firing_bore
    pressed = [liner.mean_pressure_mpa for liner in step.liners if liner.bore == fires]
    if not step.name.gas or not pressed or pressed[0] >= gas:
        return ""
    return (
        f"{step.name}: the joint of the liner is pressed by {pressed[0]:.1f} MPa, less than the "
        f"{gas:.1f} MPa of the gas (means over the depth). None is counted in it, as the fire ring "
        "seals on the liner; gas that got past it would stand on both faces of the liner, and the "
        "barrel would bear all of it. Give more interference, or see that the ring lies on the "
        "liner."
    )


def _loose(step: SolvedStep) -> str:
    """Which pieces of the insert are loose in a step, in words; empty where none is."""
    joint = step.joint
    if step.name == HONED or joint is None:
        return ""
    if not joint.touches:
        return f"{step.name}: the insert touches the block nowhere; it is loose."
    loose = [piece for piece in joint.pieces if piece.hold_n < piece.asked_hold_n]
    if joint.bonded or not loose:
        return ""
    where = ", ".join(f"{piece.clock} of bore {piece.bore}" for piece in loose[:NAMED])
    more = f" and {len(loose) - NAMED} more" if len(loose) > NAMED else ""
    asked = max(piece.asked_hold_n for piece in loose)
    return (
        f"{step.name}: {len(loose)} of {len(joint.pieces)} pieces hold less than they must, "
        f"{asked:.3g} N at most, against being pushed out ({where}{more})."
    )
