"""A first answer: whether the wanted load is carried, before any limit is known.

The coarse solid, fitted and warm, at the wanted load and its heat alone. Some draws carry that load
and some do not: to tell how many no limit need be sought, nor the heat of other loads. Strengths
and gas are drawn; fit and walls stand as stated. So the verdict may have some more or fewer: of the
bundled ``local``, asked for 118 kW, 92 of 100 carry it here and 91 there, of ``uniform`` 88 and 88.
Few crank angles are solved, from that of most pressure on: the largest share over these is within
0.5 % of that over all (``local``).

What was solved last stays at hand. Another interference goes on from it, its heat held: mesh,
factor and condensed joint serve again (the same block: 3 s of processor in place of 25, and the
same share of the draws within 0.1 %).
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cases.base.faults import RunError
from cases.base.memory import give_back, memory_at_hand, memory_for
from cases.bores.choose import worst_by_section
from cases.bores.given import every_bore, firing
from cases.case import Case
from cases.dials.dial import base_of, fit_key
from cases.dials.turn import only
from cases.gas.solve import gas_load
from cases.life.given import life_given
from cases.rating.depth_band import SolidDraws, band_of_solid, judging_of, read_fit
from cases.rating.solid import SolidLoads, place_words
from cases.rating.solid_fits import is_swept
from cases.rating.words import of_hundred
from cases.search.evaluate import solid_mesh
from cases.solid.gas import Instant, instants
from cases.solid.hot import depth_heat
from cases.solid.life import FittedSolidLife, solid_life
from cases.solid.solve import FITTED
from cases.verdict.result import FAILS, HOLDS, MARGINAL
from fea.solid.ordering import memory_needed

ANGLES, APART = 3, 2
"""Crank angles that are solved, and how far they are apart among those of a rating."""
EDGE = 0.05
"""Share of the draws that the verdict may have more or fewer to carry the wanted load."""


@dataclass(frozen=True, kw_only=True, slots=True)
class First:
    """Whether a design carries the wanted load, as far as that load alone tells."""

    status: str  # as a verdict's; MARGINAL where that may turn out on either side
    words: str
    more: str
    share: float | None  # of the draws that carry it; None where nothing is drawn
    used: float  # largest share of a strength, with all at its middle


def few(pressed: Sequence[Instant]) -> tuple[Instant, ...]:
    """What presses at a few crank angles, from that of most pressure on."""
    most = max(range(len(pressed)), key=lambda at: pressed[at].pressure)
    return tuple(pressed[most::APART][:ANGLES])


def first_answer(raw: Mapping[str, Any], path: Path, name: str) -> First:
    """Whether a design carries the wanted load, by its coarse solid at that load alone.

    Parameters
    ----------
    raw, path, name
        Of the case and its design.

    Raises
    ------
    CaseError, RunError
        If it can't be read or solved.
    """
    case = only(raw, path, name)
    if every_bore(case):
        case = firing(case, worst_by_section(case))
    loads = _AT_HAND.loads(case, f"{case.block.firing_bore} {_but_the_press(raw, name)}")
    used = max(loads.used(1.0), 0.0)
    place = loads.all_that_lead(1.0)
    if place is not None:
        used = max(used, place.share)
    share = None
    if loads.wishes.draws:
        solved = read_fit(loads, 1.0)
        draws = SolidDraws(loads.life.load, loads.wishes.reliability, judging_of(loads), solved)
        share = band_of_solid(draws, {})[0].carries
    where = f" ({place_words(loads, place, 1.0)})" if place else ""
    found = _told(share, used, loads.wishes.reliability, where, _hottest(loads))
    give_back()
    told = case.spoken.told
    return First(
        status=_status(share, used, loads.wishes.reliability), words=found[0], more=told(found[1]),
        share=share, used=used,
    )  # fmt: skip


def _status(share: float | None, used: float, asked: float) -> str:
    if share is None:
        return HOLDS if used <= 1 else FAILS
    if abs(share - asked) <= EDGE:
        return MARGINAL
    return HOLDS if share > asked else FAILS


LEADS = {HOLDS: "carried", MARGINAL: "near the edge, the verdict tells", FAILS: "not carried"}


def _told(
    share: float | None, used: float, asked: float, where: str, hottest: float | None
) -> tuple[str, str]:
    """Whether it is carried, by how many; how much is used, and where."""
    lead = LEADS[_status(share, used, asked)]
    words = f"First answer, at the wanted load: {lead}"
    if share is not None:
        carry = of_hundred(share, asked)
        words += f". Some {carry} of 100 draws carry it, {100 * asked:g} are asked"
    middle = f"With all at its middle {100 * used:.0f} % of a strength is used{where}."
    heat = "" if hottest is None else f" Hottest barrel {hottest:.0f} degC."
    return f"{words}.", f"{middle}{heat}"


def _hottest(loads: SolidLoads) -> float | None:
    """Of the barrel about the bore that fires, at the wanted load. [degC]."""
    life = loads.life
    if life.given.heat is None or life.heat is None:
        return None
    heat = depth_heat(
        life.case.block, life.given.heat, life.heating, life.heat, life.materials, bond=life.bond
    )
    return max((of for of in heat.barrel_degc if of is not None), default=None)


def _but_the_press(raw: Mapping[str, Any], name: str) -> str:
    """The content of a case with the interference of a design left out."""
    at, table = base_of(raw, name)
    fit = {key: of for key, of in table.get("fit", {}).items() if key != fit_key(table)}
    designs = [*raw["design"][:at], {**table, "fit": fit}, *raw["design"][at + 1 :]]
    return json.dumps([name, {**raw, "design": designs}], sort_keys=True)


class _AtHand:
    """The design that was solved last, at the interference that it was begun with."""

    def __init__(self) -> None:
        self._key = ""
        self._loads: SolidLoads | None = None

    def loads(self, case: Case, key: str) -> SolidLoads:
        """A design at the wanted load, gone on from the one at hand where they are alike."""
        fit = life_given(case).fits.get(case.designs[0].name)
        if self._loads is not None and key == self._key and fit and fit.interference is not None:
            try:
                return self._loads.with_interference(fit.interference, 1.0)
            except RunError:  # anew then
                pass
        self._key, self._loads = "", None
        give_back()
        made, need = _solved(case)
        life, free = made.life, memory_at_hand()
        alike = isinstance(life, FittedSolidLife) and is_swept(life) and not life.fit.compound
        if alike and (free is None or free > need):  # so that it is in the way of none
            self._key, self._loads = key, made
        return made


_AT_HAND = _AtHand()


def _solved(case: Case) -> tuple[SolidLoads, int]:
    """A design at the wanted load, and the memory that its solid takes. [bytes].

    Raises
    ------
    RunError
        If it can't be solved, or there is no room for it.
    """
    (design,) = case.designs
    gas = gas_load(case)
    mesh = solid_mesh(case, design, "coarse")
    with memory_for(need := int(FITTED * memory_needed(mesh))) as free:
        if free is not None and free < need:
            raise RunError(f'design "{design.name}": no room for a first answer.')
        loads = SolidLoads(solid_life(case, design, gas, few(instants(case, gas)), mesh))
    loads.begin()
    loads.count_yield()
    return loads, need
