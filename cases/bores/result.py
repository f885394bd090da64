"""What each bore stands when it fires."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from cases.base.subject import Solved

By = Literal["solid", "section", "rank"]
"""What a bore's limit is by: a coarse solid, the section alone, or the section's stresses beside
those of a bore that was judged."""


@dataclass(frozen=True, kw_only=True, slots=True)
class RankedSpot:
    """The worst place about a bore that fires, by the section in one piece."""

    bore: int
    share: float  # of the strength of its part, one cycle fully reversed: to rank by only
    part: str
    clock: str
    principal_mpa: float


@dataclass(frozen=True, kw_only=True, slots=True)
class ByBore:
    """What one design stands when a bore fires."""

    bore: int
    by: By
    factor: float | None  # limit on the gas load, nominal; None where none was found
    pressure_mpa: float | None  # peak of the mean cycle at that limit
    governing: str  # place and criterion; by rank the section's worst place
    spot: RankedSpot


@dataclass(frozen=True, kw_only=True, slots=True)
class BoresFound:
    """Every bore fired in turn: the section ranked them, the worst two were judged."""

    rated: int  # the bore that the block is rated by
    runner_up: int
    design: str  # that they were told apart by: the one that carries most
    alike: bool  # whether the two are within what a coarse solid can tell
    by_design: Mapping[str, tuple[ByBore, ...]] = field(default_factory=dict)

    def worse_elsewhere(self) -> tuple[tuple[str, ByBore, ByBore], ...]:
        """Designs that carry clearly less when another bore fires, with that bore and the rated."""
        found = []
        for name, bores in self.by_design.items():
            own = next(of for of in bores if of.bore == self.rated)
            other = next(of for of in bores if of.bore == self.runner_up)
            if other.factor is not None and (
                own.factor is None or other.factor < own.factor * (1 - TELLS)
            ):
                found.append((name, other, own))
        return tuple(found)


TELLS = 0.07
"""Difference of two limits that a coarse solid tells: a bank of two stood 2 % more by it than by a
fine one, and 7 % with a ring."""


def ranked_of(design: Any) -> Sequence[RankedSpot]:
    """How bores rank by a design, where one of them is stated; none of other designs."""
    return design.found.get("bores", ())  # type: ignore[no-any-return]


def bores_of(result: Solved) -> BoresFound | None:
    """What each bore stands; None where one bore was stated, or nothing was rated."""
    return result.found.get("bores")
