"""What the pairs of a joint do under a load."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from fea.model import Solution

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


class ContactError(RuntimeError):
    """The pairs that touch were not found within the iterations allowed.

    Attributes
    ----------
    part, against : str
        Part on its own, and part of the rest on the side of its joint where most is in doubt.
    place : ndarray, shape (2,)
        Of the pair there that is most in doubt. [mm]
    """

    def __init__(self, message: str, part: str, against: str, place: Array) -> None:
        super().__init__(message)
        self.part, self.against, self.place = part, against, place


@dataclass(frozen=True, eq=False, slots=True)
class Contact:
    """What the pairs of a joint do under a load.

    Attributes
    ----------
    closed, sticks : ndarray of bool, shape (k,)
        Whether a pair touches, metal or cured compound, and does not slide.
    force : ndarray, shape (k,)
        That presses the pair together; less than 0 only where it is bonded or its compound is
        intact. [N]
    pressure : ndarray, shape (k,)
        The same over the area of the pair. [MPa]
    friction : ndarray, shape (k,)
        On the part, along the tangent (the normal turned a quarter counter-clockwise). [N]
    gap : ndarray, shape (k,)
        Opening; 0 where it touches. [mm]
    slip : ndarray, shape (k,)
        Of the part along the tangent, since it was fitted. [mm]
    intact, broken : ndarray of bool, shape (k,)
        Whether compound has filled a pair, with strength left, or used up for good. What has just
        been pressed in is cured at the end of that step.
    filler : ndarray, shape (k,)
        Thickness of that compound, which keeps what was open apart; 0 where the pair touched. [mm]
    """

    closed: Flags
    sticks: Flags
    force: Array
    pressure: Array
    friction: Array
    gap: Array
    slip: Array
    intact: Flags
    broken: Flags
    filler: Array

    def at(self, some: Flags) -> Contact:
        """That of some of the pairs, shape (k,)."""
        return Contact(*(getattr(self, of.name)[some] for of in fields(self)))


@dataclass(frozen=True, eq=False, slots=True)
class Fitted:
    """A fitted section under one load step."""

    solution: Solution
    contact: Contact
    iterations: int  # linear systems factored
    jumps: Array  # of the pairs along the normal, then along the tangent, shape (2 k,) [mm]
    load: Array  # in the unknowns of the jumps [N]
    softer: Array  # load that stands for softer metal on the joint by itself, shape (2 k,) [N]

    def broken_as(self, other: Contact) -> Fitted:
        """The same, with the compound broken that is broken in another step as well."""
        contact = self.contact
        breaks = contact.intact & other.broken
        if not breaks.any():
            return self
        contact = replace(
            contact,
            intact=contact.intact & ~breaks,
            broken=contact.broken | breaks,
            filler=np.where(breaks, other.filler, contact.filler),
        )
        return replace(self, contact=contact)
