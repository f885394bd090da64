"""How a wall is measured: what each method is off by, and where it reaches."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Method:
    """A way to measure a wall."""

    name: str  # as it stands in a file of readings
    off: float  # standard error whatever the wall [mm]
    share: float  # and, beside it, as a share of the wall
    reach: float  # how deep below the deck it reads [mm]
    source: str

    def error(self, wall: float) -> float:
        """Standard error of a reading. [mm].

        Parameters
        ----------
        wall : float
            As read. [mm]

        Examples
        --------
        >>> round(ULTRASOUND.error(6.0), 3)
        0.078
        """
        return math.hypot(self.off, self.share * wall)


CALIPER = Method(
    name="caliper", off=0.10, share=0.0, reach=40.0,
    source="jaws on a curved wall with its skin as cast: common practice, no source",
)  # fmt: skip
BALL_MICROMETER = Method(
    name="ball micrometer", off=0.03, share=0.0, reach=25.0,
    source="a ball on a skin as cast: common practice, no source",
)  # fmt: skip
ULTRASOUND = Method(
    name="ultrasound", off=0.05, share=0.01, reach=math.inf,
    source="velocity 1 % unsure, as public tables of aluminium differ (6320 to 6400 m/s); the "
    "rest common practice, no source",
)  # fmt: skip
UNSTATED = Method(
    name="not stated", off=0.15, share=0.0, reach=math.inf,
    source="more than any named method: common practice, no source",
)  # fmt: skip
METHODS = {of.name: of for of in (CALIPER, BALL_MICROMETER, ULTRASOUND, UNSTATED)}
