"""The wording of range errors, and the error of a section that can't be built."""

from __future__ import annotations

import math


class SectionError(ValueError):
    """A section that can't be built; the message names feature, place, numbers and cure.

    Attributes
    ----------
    feature : str
        What is at fault, as a path such as ``relief_cut[1].radius``; may be empty.
    """

    def __init__(self, message: str, feature: str = "") -> None:
        super().__init__(message)
        self.feature = feature


class OutOfRangeError(SectionError):
    """One number that is wrong whatever else a section states."""


def require_between(
    name: str,
    value: float,
    low: float,
    high: float,
    unit: str,
    cure: str = "",
    error: type[SectionError] = SectionError,
) -> None:
    """Refuse a value outside ``low <= value <= high`` or not finite.

    Raises
    ------
    SectionError
        Naming the value, the range and, where given, the cure.

    Examples
    --------
    >>> require_between("Tie.fillet", 6.0, 0.0, 4.0, "mm", "Widen the tie.")
    Traceback (most recent call last):
    ...
    geometry.refusals.SectionError: Tie.fillet = 6 mm is outside 0 to 4 mm. Widen the tie.
    >>> require_between("vibration", 5000.0, 0.0, 1000.0, "")
    Traceback (most recent call last):
    ...
    geometry.refusals.SectionError: vibration = 5000 is outside 0 to 1000.
    """
    if not (math.isfinite(value) and low <= value <= high):
        of = f" {unit}" if unit else ""
        text = f"{name} = {value:g}{of} is outside {low:g} to {high:g}{of}. {cure}"
        raise error(text.strip(), name)
