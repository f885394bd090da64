"""Which other interferences are solved of a design, so that they tell the window of its fit."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence

import numpy as np

from cases.base.faults import RunError
from cases.life.given import LIGHT, InsertFit
from cases.life.steps import PRESSED
from cases.rating.result import FitPoint, Window
from cases.rating.window import NEAR_BEST, window_of

HEAVIER = 1.5
"""Times the press of a fit that the next heavier one has."""
HEAVIEST, PAST_YIELD = 8.0, 1.05
"""No fit presses more than this many times the stated one or, if that is more, a light press, nor
this much beyond where the press alone yields."""
HARDLY = 0.1
"""Share of the press of the stated fit that hardly presses."""
FILLED = 0.95
"""Share of the largest gap that a compound fills at the widest clearance that is looked at."""


class OtherFits(ABC):
    """A design at other interferences.

    Parameters
    ----------
    fit : InsertFit
        As stated.
    first : FitPoint
        The design with that fit.
    limited : bool
        Whether limits are sought.
    of_use : float
        Share of the best limit below which a fit is of no use.
    beyond : float
        Interferences are looked at up to this many times the stated one with its tolerance, at
        least.
    nearest_um : float
        Nearer to a fit that is solved than this, another is the same.

    Attributes
    ----------
    points : dict of float to FitPoint
        By interference [mm].
    unsolved : list of str
        Those that could not be solved, in words.
    """

    def __init__(
        self,
        fit: InsertFit,
        first: FitPoint,
        *,
        limited: bool,
        of_use: float,
        beyond: float,
        nearest_um: float,
    ) -> None:
        assert fit.interference is not None
        self.fit, self.stated, self.nearest_um = fit, fit.interference, nearest_um
        self.limited, self.of_use, self.beyond = limited, of_use, beyond
        self.tried = 1
        self.unsolved: list[str] = []
        self.points = {self.stated: first}

    @abstractmethod
    def point(self, interference: float, near: float) -> FitPoint:
        """Another fit [mm], begun from one that is solved.

        Raises
        ------
        RunError
            If contact is not found.
        """

    def out(self) -> None:
        """Solve a fit that hardly presses, and heavier ones to where a limit falls or metal yields.

        By steps, to where the press alone yields, in proportion, at most. Clearances too, where
        compound fills them.
        """
        flattened, pressing = self.fit.flattened, self._pressing
        least = self.beyond * (self.stated + self.fit.tolerance)
        heaviest = max(LIGHT, HEAVIEST * pressing)
        self._lightest(self._hardly)
        most = flattened + max(min(PAST_YIELD * self._at_yield(), heaviest), least)
        if self.fit.compound:
            self.add(0.0)
            self.add(self._least)
        at = flattened + (pressing or HARDLY * LIGHT)
        while at < most:
            at = min(flattened + HEAVIER * (at - flattened), most)
            self.add(at)
            if at > least and self._past_use(at):
                break

    def in_tolerance(self) -> None:
        """Solve the ends of the stated tolerance, as far as the lighter presses or is filled."""
        self.add(max(self.stated - self.fit.tolerance, self._least))
        self.add(self.stated + self.fit.tolerance)

    def ends(self) -> None:
        """Solve the fits at the ends of the window, as it is told so far."""
        if window := self.window():
            self.add(window.low_um / 1000)
            self.add(window.high_um / 1000)

    def middle(self) -> None:
        """Solve the fit in the middle of the window, which is to be made."""
        if window := self.window():
            self.add(window.nominal_um / 1000)

    def in_order(self) -> tuple[FitPoint, ...]:
        """All points, interference rising."""
        return tuple(self.points[one] for one in sorted(self.points))

    def window(self) -> Window | None:
        """As far as it is told without the bare block."""
        return window_of(self.in_order(), 1000 * self.fit.most_out_of_round, None)

    def add(self, interference: float) -> bool:
        """Solve another interference [mm], and whether it is; one that can't be solved is told."""
        near = min(self.points, key=lambda one: abs(one - interference))
        if 1000 * abs(near - interference) < self.nearest_um:
            return True
        self.tried += 1
        try:
            self.points[interference] = self.point(interference, near)
        except RunError as error:
            self.unsolved.append(f"{1000 * interference:.1f} um could not be solved. {error}")
            return False
        return True

    @property
    def _pressing(self) -> float:
        """Press of the stated fit, on the diameter. [mm]."""
        return max(self.stated - self.fit.flattened, 0.0)

    @property
    def _hardly(self) -> float:
        """A fit that hardly presses, on the diameter. [mm]."""
        return self.fit.flattened + HARDLY * (self._pressing or LIGHT)

    @property
    def _least(self) -> float:
        """The least that is looked at, on the diameter: it hardly presses, or is filled. [mm]."""
        compound = self.fit.compound
        return -2 * FILLED * compound.largest_gap if compound else self._hardly

    def _at_yield(self) -> float:
        """Press at which metal yields by it alone, in proportion to the heaviest that is solved.

        0 where none presses. [mm].
        """
        most = max(self.points)
        share, pressing = self.points[most].over_yield[PRESSED], most - self.fit.flattened
        return pressing / share if pressing > 0 and share > 0 else 0.0

    def _lightest(self, interference: float) -> None:
        """Solve a light fit [mm]; where it can't be, one halfway to the stated, and so on."""
        while not self.add(interference):
            interference = (interference + self.stated) / 2

    def fill(self, count: int) -> None:
        """Solve more fits, where they are most in doubt, until so many were tried."""
        while self.tried < count and (gap := _most_in_doubt(self.in_order(), self.nearest_um)):
            self.add(gap)

    def _past_use(self, interference: float) -> bool:
        """Whether a fit that is solved has a low limit, or, where none is sought, yields."""
        point = self.points.get(interference)
        if point is None:
            return False
        if not self.limited:
            return max(point.over_yield.values()) > 1
        best = max(one.least_limit or 0.0 for one in self.points.values())
        return (point.least_limit or 0.0) < self.of_use * best


def _most_in_doubt(points: Sequence[FitPoint], nearest_um: float) -> float | None:
    """Interference [mm] amid the gap that is widest, or over which a limit changes most.

    Gaps between limits that are low count by their width alone. None where all are narrow.
    """
    at = np.array([point.interference_um for point in points])
    wide = np.diff(at)
    if not len(wide) or wide.max() < 2 * nearest_um:
        return None
    doubt = wide / (at[-1] - at[0])
    limits = np.array([point.least_limit or 0.0 for point in points])
    if best := limits.max():
        useful = np.maximum(limits[1:], limits[:-1]) > NEAR_BEST * best
        doubt += np.where(useful, np.abs(np.diff(limits)) / best, -0.5 * doubt)
    middle = int(np.argmax(np.where(wide < 2 * nearest_um, -1, doubt)))
    return float(at[middle] + at[middle + 1]) / 2000
