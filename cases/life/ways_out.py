"""Whether all heat finds a way out, told from the outlines before anything is meshed.

The rules are those of :mod:`fea.heat`: bodies are what hangs together by shared edges once the
insert and the liner are cut loose, joints lead heat where depths overlap, and films lie on walls
and faces that no metal stands against. Floors of relief cuts are not looked at: the wall of the
cut is as wet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from cases.base.checking import Faults
from cases.base.subject import Drawn
from cases.base.undersides import UNDERSIDES
from cases.case import Case
from cases.life.given import Heat, InsertFit, life_given
from fea.heat.surfaces import GAS_EDGES
from geometry.faces import Layers, Outline
from geometry.section_mesh import common_depth

FLUSH = 1e-9  # metal closer than this in depth touches [mm]
_ALONG = np.linspace(0.02, 0.98, 9)

Places = NDArray[np.complex128]
"""x + iy, shape (k,). [mm]."""


def check_ways_out(case: Case, drawn: Sequence[Drawn], faults: Faults) -> None:
    """A fault for each set of parts whose heat can't leave.

    Parameters
    ----------
    case : Case
        With heat.
    drawn : sequence of Drawn
    faults : Faults
    """
    given = life_given(case)
    assert given.heat is not None
    shut: dict[tuple[str, ...], list[str]] = {}
    for drawing in drawn:
        fit = given.fits.get(drawing.name)
        parts = shut_in(drawing.outline, case.section_depth, given.heat, fit)
        if parts:
            shut.setdefault(parts, []).append(drawing.name)
    for parts, names in shut.items():
        some = f" This is so in design {', '.join(names)}." if len(names) < len(drawn) else ""
        faults.add(("heat",), f"{_words(case, given.heat, parts)}{some}")


def _words(case: Case, heat: Heat, parts: Sequence[str]) -> str:
    """What is wrong, and how to mend it."""
    text = f"There is no way out for the heat of the {', '.join(parts)}."
    if "liner" in parts and "barrel" not in parts:
        return f"{text} It has to cross to the barrel: give liner_conductance above 0."
    if heat.wets and case.block.jacket == 0:
        text += " The block has no water jacket, so the coolant does not touch it."
    if "insert" in parts:
        text += " Across a clearance, or a joint_conductance of 0, no heat passes."
    return (
        f"{text} Give a film above 0 that touches it: of the coolant, the head or the outside "
        "(coolant_film, head_film, outside_film), or tie it to metal that has one."
    )


def shut_in(outline: Outline, depth: float, heat: Heat, fit: InsertFit | None) -> tuple[str, ...]:
    """Parts of bodies whose heat can't leave, sorted.

    Parameters
    ----------
    outline : Outline
    depth : float
        Section depth H. [mm]
    heat : Heat
    fit : InsertFit or None
        None where the insert is one with the block. A side with clearance passes no heat.
    """
    loose = {"insert"} if fit else set()
    if heat.liner_conductance is not None:
        loose.add("liner")
    layers = [outline.regions[face.region] for face in outline.faces]
    bodies = [_bodies(of, loose) for of in layers]
    number = {
        (face, name): place
        for place, (face, name) in enumerate(
            (face, name) for face, of in enumerate(bodies) for name in of
        )
    }
    wet = np.zeros(len(number), dtype=bool)
    joined: list[tuple[int, int]] = []
    for face, of in enumerate(bodies):
        z = np.concatenate([c.points(_ALONG) for c in outline.loops(outline.faces[face])[0]])
        for name, metal in of.items():
            wet[number[face, name]] |= _has_wet_face(metal, layers[face], depth, heat, z)
    for edge, z, sides in _borders(outline):
        for here, there in (sides, sides[::-1]):
            if here is None:
                continue
            beside = {} if there is None else bodies[there]
            for name, metal in bodies[here].items():
                own = number[here, name]
                if _film_on(edge, heat):
                    wet[own] |= _is_free(metal, () if there is None else layers[there], z)
                joined += [
                    (own, number[there, other])
                    for other, across in beside.items()
                    if there is not None
                    and (other == name or _crosses(metal, across, heat, fit, z))
                ]
    ones, others = np.array(joined, dtype=int).reshape(-1, 2).T
    links = sparse.coo_array((np.ones(len(ones)), (ones, others)), (len(number), len(number)))
    _, group = connected_components(links, directed=False)
    shut = ~np.isin(group, group[wet])
    return tuple(
        sorted(
            {
                layer.part
                for face, of in enumerate(bodies)
                for name, metal in of.items()
                if shut[number[face, name]]
                for layer in metal
            }
        )
    )


def _bodies(layers: Layers, loose: set[str]) -> dict[str, Layers]:
    """Layers of a face by the body that they belong to: a loose part, or the block."""
    found: dict[str, Layers] = {}
    for layer in layers:
        name = layer.part if layer.part in loose else "block"
        found[name] = (*found.get(name, ()), layer)
    return found


def _borders(
    outline: Outline,
) -> Iterator[tuple[str, Places, tuple[int | None, int | None]]]:
    """Name of each piece of the outline, places along it, and the faces to both sides."""
    side = {
        half: place
        for place, face in enumerate(outline.faces)
        for loop in face.loops
        for half in loop
    }
    for place, (piece, name) in enumerate(zip(outline.pieces, outline.names, strict=True)):
        yield name, piece.points(_ALONG), (side.get((place, True)), side.get((place, False)))


def _film_on(edge: str, heat: Heat) -> bool:
    """Whether heat can leave through the walls of an edge."""
    if edge in GAS_EDGES:
        return False
    return _carries(heat.outside) if edge == "outside" else heat.wets


def _carries(film: tuple[float, float] | None) -> bool:
    return film is not None and film[0] > 0


def _is_free(metal: Layers, beside: Layers, z: Places) -> bool:
    """Whether a wall stands free of metal somewhere."""
    for layer in metal:
        free = layer.thickness(z.real, z.imag)
        for other in beside:
            free = free - common_depth(layer, other, z.real, z.imag)
        if (free > FLUSH).any():
            return True
    return False


def _has_wet_face(metal: Layers, stack: Layers, depth: float, heat: Heat, z: Places) -> bool:
    """Whether a film touches metal from above or below, at places along its edge."""
    if _carries(heat.head) and any(layer.top == 0 for layer in metal):
        return True
    if not heat.wets:
        return False
    for layer in metal:
        bottom = layer.top + layer.thickness(z.real, z.imag)
        for under in UNDERSIDES:
            clear = np.all([np.abs(other.top - bottom) > FLUSH for other in stack], axis=0)
            ends_here = under.at_depth | (bottom < depth - FLUSH)
            if under.part == layer.part and (clear & ends_here).any():
                return True
    return False


def _crosses(one: Layers, other: Layers, heat: Heat, fit: InsertFit | None, z: Places) -> bool:
    """Whether heat crosses a joint of two bodies as they stand when cold."""
    for layer, beside in product(one, other):
        parts = {layer.part, beside.part}
        if "insert" in parts and fit:
            conductance = heat.joint_conductance
            (against,) = parts - {"insert"}
            side = fit.sides.get(against)
            if side and side.interference < 0 and not side.bonded:
                continue
        else:
            conductance = heat.liner_conductance
        if conductance and (common_depth(layer, beside, z.real, z.imag) > 0).any():
            return True
    return False
