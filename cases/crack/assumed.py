"""How a crack is followed where the case does not say it."""

from __future__ import annotations

from cases.base.subject import Solved
from cases.crack.result import crack_of
from geometry.clock import format_clock


def crack_assumed(result: Solved) -> list[tuple[str, str]]:
    """Key and stand-in of what the case leaves out, where a crack was followed and it counted."""
    found = crack_of(result)
    if found is None:
        return []
    given, law, grown = found.given, found.given.law, [one.crack_growth for one in found.series]
    grows = any(growth.cycles[-1] > 0 for growth in grown)
    opens = any(growth.end != "shut" or growth.cycles[-1] > 0 for growth in grown)
    timed = any(not growth.stops for growth in grown)
    own = "paris_c" not in given.left_out
    if own:
        threshold = "none beside constants of the case's own"
    else:
        threshold = f"{law.threshold:.3g} MPa sqrt(m), less where the least stress is high"
    walls = dict.fromkeys(f"{one.path.length:.2f}" for one in found.series)
    stands = (
        ("part", True, found.place.part),
        ("clock", True, f"{format_clock(found.place.clock_hours)}, {found.place.chosen}"),
        ("longest", True, f"the whole wall, {' or '.join(walls)} mm"),
        ("paris_c", grows, f"{law.rate:.3g} mm/cycle, {law.source}"),
        ("paris_m", grows, f"{law.exponent:g}, from the same"),
        ("threshold", opens, threshold),
        ("walker_gamma", grows, "1: the mean stress does not speed growth"),
        ("toughness", grows, "not known: the rest of the wall never breaks at once"),
        ("speed", timed, f"{given.speed:g} rpm, the engine's"),
    )
    return [
        (f"crack.{key}", words) for key, counts, words in stands if counts and key in given.left_out
    ]
