"""By what a liner is held, and what its joint does in a solved step."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.life.given import CAST_IN, PRESSED_IN, SLIP, life_given
from cases.life.result import LinerState
from fea.contact import Contact, Fit, Fitted, Pairs
from fea.material import REFERENCE

if TYPE_CHECKING:
    from cases.case import Case
    from cases.life.life import FittedLife

Array = NDArray[np.float64]

RANGES = {PRESSED_IN: (0.02, 0.08), SLIP: (-0.04, 0.0)}
"""Usual interference on the diameter, by kind of liner (common practice, no source). [mm]."""
CREPT = (80.0, 160.0)
"""Temperature above which a casting gives up what it has shrunk onto its liner: where it runs for
years, and where it is aged (common practice, no source). [degC]."""
GAS_IN_GAP = 3.1e-5
"""Conductivity of the air in a gap at 100 degC (from memory). [W/(mm K)]."""

STILL = 1e-6
"""Change of a share, as its logarithm, that is none."""
NEARLY = 0.3
"""Of what is asked of a pair, the share left from which it is taken as it is asked."""
SLOWEST_AND_FASTEST = 0.02, 1.0
"""Of what a turn asks for, the share that is gone."""


def liner_range(case: Case) -> tuple[float, float]:
    """Interference on the diameter that a liner has at least and at most where none is stated.

    Of one that is cast in: what the metal around it shrinks more than it from ``CREPT`` to 20 degC,
    (alpha - alpha_liner) (T - 20) d. Of the others: what is usual.

    Returns
    -------
    (float, float)
        [mm]
    """
    kind = life_given(case).liner_joint
    if kind != CAST_IN:
        return RANGES[kind]
    more = max(0.0, case.materials["barrel"].expansion - case.materials["liner"].expansion)
    low, high = (more * (at - REFERENCE) * 2 * case.block.liner_radius for at in CREPT)
    return low, high


def at_interference(case: Case, interference: float) -> Case:
    """The case with its liner held by an interference on the diameter [mm]."""
    return case.told("life", replace(life_given(case), liner_interference=interference))


def liner_unknown(case: Case) -> bool:
    """Whether there is a liner, and nothing said of its interference."""
    return bool(case.block.liner) and life_given(case).liner_interference is None


def counted_interference(case: Case) -> float:
    """Interference on the diameter that a liner is rated by, and a loose one solved by. [mm].

    Where it is not stated, the middle of the usual range.
    """
    stated = life_given(case).liner_interference
    return float(np.mean(liner_range(case))) if stated is None else stated


def liner_presses(case: Case) -> bool:
    """Whether the liner of a solved section or solid presses the barrel out."""
    given = life_given(case)
    if given.liner_opens:
        return counted_interference(case) > 0
    return bool(given.liner_interference)


def stand_in_words(case: Case) -> str:
    """What stands for an interference that is not stated, in words."""
    kind, (low, high) = life_given(case).liner_joint, (1000 * end for end in liner_range(case))
    counted = 1000 * counted_interference(case)
    if kind == CAST_IN:
        why = "what the metal cast around it shrinks more than it from {:g} to {:g} degC".format(
            *CREPT
        )
    else:
        why = f"usual for a liner of the kind {kind}"
    return (
        f"{counted:.0f} um, the middle of {low:.0f} to {high:.0f} um on the diameter: {why} "
        "(common practice, no source)"
    )


def liner_fits(case: Case, touched: Collection[str]) -> dict[tuple[str, str], Fit]:
    """The fit of a liner that is a piece of its own, as contact takes it, by what it touches."""
    if not touched:
        return {}
    fit = Fit(overlap=counted_interference(case) / 2, friction=life_given(case).liner_friction)
    return {("liner", part): fit for part in touched}


def share_conducting(closed: NDArray[np.bool_], gap: Array, conductance: float) -> Array:
    """Share of a conductance that each pair of the liner's joint has: what opens is full of gas.

    Parameters
    ----------
    closed : ndarray of bool, shape (k,)
        Whether it touches.
    gap : ndarray, shape (k,)
        Else. [mm]
    conductance : float
        Where it touches. [W/(mm2 K)]

    Returns
    -------
    ndarray, shape (k,)
    """
    across = conductance * np.where(closed, 0.0, np.maximum(gap, 0.0))
    return np.where(across > GAS_IN_GAP, GAS_IN_GAP / np.maximum(across, GAS_IN_GAP), 1.0)


class Turns:
    """Shares of conductance from turn to turn of heat and contact.

    A liner that heat presses on is cooled by it and comes off again: taken as they are found, the
    shares of its pairs go to and fro. They are sought by the secant rule in logarithms, pair by
    pair: the relaxation of Irons and Tuck (*Int. J. Numer. Methods Eng.* 1 (1969) 275-277, from
    memory).

    A pair of another part conducts where it touches, and nowhere else. One that comes off where it
    conducts and touches where it doesn't barely touches, and conducts a part: each time that it
    turns round it goes half as far as before.

    Parameters
    ----------
    of_liner : ndarray of bool, shape (k,)
    share : ndarray, shape (k,)
        To begin with.

    Attributes
    ----------
    share, whole : ndarray, shape (k,)
        To go on with; had all been gone that the last turn asked for of the liner.
    eased : bool
        Whether less than that is gone at some pair.
    """

    def __init__(self, of_liner: NDArray[np.bool_], share: Array) -> None:
        self.of_liner, self.share, self.whole = of_liner, share, share
        self._by = np.ones(np.count_nonzero(of_liner))
        self._missed: Array | None = None
        self._far = np.ones(np.count_nonzero(~of_liner))
        self._asked: Array | None = None
        self.eased = False

    def go_on(self, found: Array) -> None:
        """Take the next shares, ``found`` being what the last ones led to."""
        liner = self.of_liner
        before = np.log(self.share[liner])
        missed = np.log(found[liner]) - before
        if self._missed is not None:
            change = missed - self._missed
            moved = np.abs(change) > STILL
            secant = -self._by * self._missed / np.where(moved, change, 1.0)
            self._by = np.where(moved, np.clip(secant, *SLOWEST_AND_FASTEST), self._by)
        self._missed, self.eased = missed, bool((self._by < 1).any())
        asked = (found - self.share)[~liner]
        if self._asked is not None:
            self._far = np.where(asked * self._asked < 0, self._far / 2, self._far)
        self._asked, self.share = asked, self.share.copy()
        there = self.share[~liner] + self._far * asked
        nearly = np.abs(there - found[~liner]) < NEARLY
        self.share[~liner] = np.where(nearly, found[~liner], there)
        self.whole = self.share.copy()
        self.whole[liner] = np.minimum(found[liner], 1.0)
        self.share[liner] = np.exp(np.minimum(before + self._by * missed, 0.0))


def liner_states(life: FittedLife, fitted: Fitted) -> tuple[LinerState, ...]:
    """The joint of each liner in a solved step, by bore; none where liners are one with the block.

    Parameters
    ----------
    life : FittedLife
    fitted : Fitted
        One of its steps.
    """
    if not life.given.liner_opens:
        return ()
    pairs, contact = joint_of(life, fitted, "liner")
    bores, _ = life.case.block.nearest_bore(*life.mesh.points[pairs.own].T)
    slips = contact.closed & ~contact.sticks
    found = []
    for bore in np.unique(bores):
        of = bores == bore
        area = pairs.area[of].sum()
        found.append(
            LinerState(
                bore=int(bore),
                open_share=float(pairs.area[of & ~contact.closed].sum() / area),
                slip_share=float(pairs.area[of & slips].sum() / area),
                mean_pressure_mpa=float(contact.force[of].sum() / area),
                largest_pressure_mpa=float(contact.pressure[of].max()),
                largest_gap_um=float(1000 * contact.gap[of].max()),
            )
        )
    return tuple(found)


def joint_of(life: FittedLife, fitted: Fitted, part: str) -> tuple[Pairs, Contact]:
    """Pairs of the joint of one part, and what they do in a solved step."""
    pairs = life.cold.pairs
    return pairs.of(part), fitted.contact.at(pairs.part == part)
