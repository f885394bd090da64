"""What would let an insert in that does not drop in."""

from __future__ import annotations

import math
from collections.abc import Mapping

from cases.making.contraction import strain, temperature_of
from cases.making.given import BATHS, Bath, MakingInput
from cases.making.passage import BARREL, Passage, Way, expansion
from fea.material import Material

UM = 1000.0


def cures(
    passages: tuple[Passage, ...],
    ways: tuple[Way, ...],
    interference: Mapping[str, float],
    given: MakingInput,
    materials: tuple[Material, Material],
) -> tuple[str, ...]:
    """What would do, in words, each by itself; none where every piece drops in.

    Parameters
    ----------
    passages : tuple of Passage
    ways : tuple of Way
        Of the same pieces.
    interference : mapping
        The largest of each side, on the diameter. [mm]
    given : MakingInput
    materials : (Material, Material)
        Of block and insert.
    """
    short = given.least_clearance - min(one.least for one in passages)
    if short <= 0:
        return ()
    worst = min(zip(passages, ways, strict=True), key=lambda pair: pair[0].least)
    tight = min(worst[0].sides, key=lambda side: side.least)
    found = list(_warmer(worst[1], interference, given, materials))
    left = UM * (interference[tight.part] - 2 * short)
    if worst[0].closed:
        other = "the outer wall" if tight.part == BARREL else "the barrel"
        found.append(
            f"fit it on {other} alone, with at least {-left:.0f} um of clearance on the diameter "
            f"against the {tight.part}"
            if left < 0
            else f"an interference against the {tight.part} of at most {left:.0f} um on the "
            "diameter, tolerance and all"
        )
        found.append('split it into pieces: form = "pieces"')
    elif left > 0:
        found.append(f"an interference of at most {left:.0f} um on the diameter, tolerance and all")
    found.append("press it in cold")
    return tuple(found)


def _warmer(
    way: Way,
    interference: Mapping[str, float],
    given: MakingInput,
    materials: tuple[Material, Material],
) -> list[str]:
    """A warmer block with the insert as it is cooled, or with a colder bath."""
    block, insert = (expansion(of) for of in materials)
    most = float(strain(given.hottest_block, block) - strain(min(BATHS.values()), insert))
    needed = way.needed(interference, given.least_clearance, most)
    if needed == math.inf:
        return []
    found = []
    colder: list[Bath] = [bath for bath in BATHS if BATHS[bath] <= BATHS[given.cooled_in]]  # type: ignore[misc]
    for bath in colder:
        at = temperature_of(needed + float(strain(BATHS[bath], insert)), block)
        if at <= given.hottest_block:
            warm = math.ceil(max(at, given.block_temperature))
            cooled = "as it is" if bath == "none" else f"in {bath}"
            found.append(f"the block at {warm} degC with the insert {cooled}")
    return found
