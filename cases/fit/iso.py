"""Hole-basis fits of ISO 286 for a ring: tolerance grades, deviations, the fit nearest to a window.

ISO 286-1:2010, tables 1, 4 and 5, from memory. Grades are 10 and 16 times i = 0.45 D^(1/3) +
0.001 D [um], D [mm] the geometric mean of a step, rounded.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

STEPS = (18, 30, 50, 80, 120, 180, 250, 315)
"""Diameters that the steps end at, the first step beginning at 18. [mm]."""
GRADES = {6: (13, 16, 19, 22, 25, 29, 32), 7: (21, 25, 30, 35, 40, 46, 52)}
"""Tolerance of each grade, IT6 and IT7, step by step. [um]."""
DEVIATIONS = {
    "h": (0, 0, 0, 0, 0, 0, 0),
    "k": (2, 2, 2, 3, 3, 4, 4),
    "m": (8, 9, 11, 13, 15, 17, 20),
    "n": (15, 17, 20, 23, 27, 31, 34),
    "p": (22, 26, 32, 37, 43, 50, 56),
}  # fmt: skip
"""Lower deviation of a shaft of grade 6, step by step (h: the upper is 0). [um]."""
FINER = (24, 30, 40, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315)
"""Diameters that the finer steps of heavier fits end at, the first beginning at 18. [mm]."""
HEAVY = {
    "r": (28, 28, 34, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98),
    "s": (35, 35, 43, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170),
    "u": (41, 48, 60, 70, 87, 102, 124, 144, 170, 190, 210, 236, 258, 284, 315, 350),
}  # fmt: skip
"""Lower deviation of a shaft of the heavier fits, finer step by finer step. [um]."""
HOLE, SHAFT = 7, 6
"""Grades of hole and shaft."""


@dataclass(frozen=True, slots=True)
class IsoFit:
    """A hole-basis fit at a diameter."""

    name: str  # such as "H7/p6"
    least_um: float  # interference of the largest hole on the smallest shaft; < 0 is clearance
    most_um: float  # of the smallest hole on the largest shaft

    @property
    def middle_um(self) -> float:
        """In the middle of both tolerances."""
        return (self.least_um + self.most_um) / 2


def iso_fits(diameter: float) -> tuple[IsoFit, ...]:
    """The usual fits H7/h6 to H7/u6 at a diameter [mm], the loosest first; none beyond the tables.

    Examples
    --------
    >>> [(one.name, one.least_um, one.most_um) for one in iso_fits(100.0)][4]
    ('H7/p6', 2, 59)
    """
    if not STEPS[0] < diameter <= STEPS[-1]:
        return ()
    step, finer = bisect_left(STEPS[1:], diameter), bisect_left(FINER, diameter)
    hole, shaft = GRADES[HOLE][step], GRADES[SHAFT][step]
    lower = {letter: row[step] for letter, row in DEVIATIONS.items()}
    lower["h"] = -shaft
    lower |= {letter: row[finer] for letter, row in HEAVY.items()}
    return tuple(
        IsoFit(f"H{HOLE}/{letter}{SHAFT}", low - hole, low + shaft) for letter, low in lower.items()
    )


def nearest_fit(diameter: float, nominal_um: float) -> IsoFit | None:
    """The usual fit whose middle is nearest to an interference on the diameter.

    Parameters
    ----------
    diameter : float
        [mm]
    nominal_um : float

    Examples
    --------
    >>> nearest_fit(116.0, 72.0).name
    'H7/s6'
    """
    return min(iso_fits(diameter), key=lambda one: abs(one.middle_um - nominal_um), default=None)
