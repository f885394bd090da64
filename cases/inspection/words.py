"""What was found on the block, in sentences."""

from __future__ import annotations

from cases.inspection.accept import least_walls, rulings, word_of
from cases.inspection.given import Inspection
from cases.inspection.walls import Shift
from geometry.clock import format_clock


def shift_words(shift: Shift) -> str:
    """A shift with its interval."""
    size = f"{shift.size:.2f} mm ({shift.low:.2f} to {shift.high:.2f} mm)"
    if shift.clock_off is None:
        return f"{size}, its way not told apart from none"
    return f"{size}, thickest towards {format_clock(shift.clock)} +- {60 * shift.clock_off:.0f} min"


def verdict_words(found: Inspection) -> str:
    """The verdict on the casting in one sentence; empty where the case has no rules."""
    ruled = rulings(found)
    if not ruled:
        return ""
    word = word_of(ruled)
    told = [of for of in ruled if of.word == word]
    if word == "accept":
        return "The casting: accept."
    why = "; ".join(f"{of.rule} {of.asked}, found {of.found} ({of.why})" for of in told)
    return f"The casting: {word}: {why}."


def walls_words(found: Inspection) -> str:
    """How many readings, and the thinnest wall; empty without readings."""
    if found.readings is None:
        return ""
    count = len(found.readings.rows)
    bores = found.drawn.bores
    words = (
        f"{count} wall reading{'s' if count > 1 else ''}, enough for the walls of "
        f"{bores - len(found.few)} of {bores} bore{'s' if bores > 1 else ''}."
    )
    thin = least_walls(found)
    if thin:
        worst = min(thin, key=lambda of: of.wall)
        words += (
            f" Thinnest as cast: {worst.wall:.2f} mm on bore {worst.bore} at "
            f"{format_clock(worst.clock)}, {worst.depth:g} mm deep, by the drawing "
            f"{worst.drawn - found.off_wall:.2f} mm."
        )
    if found.few:
        few = ", ".join(map(str, found.few))
        words += (
            f" Bore{'s' if len(found.few) > 1 else ''} {few} as drawn: too few readings, or all "
            "on one side."
        )
    return words


def bore_words(found: Inspection) -> str:
    """What boring leaves; empty where the bores are as drawn."""
    if found.bore == found.drawn.bore:
        return ""
    words = f"Bores of {found.bore:g} mm, drawn {found.drawn.bore:g} mm"
    if found.bore_as_found and found.bore_to_make:
        words += f", found {found.bore_as_found:g} mm"
    if found.drawn.liner:
        return f"{words}: {found.liner_left:.3g} mm of the liner are left of {found.drawn.liner:g}."
    taken = (found.bore - found.drawn.bore) / 2
    return f"{words}: the barrel wall is {taken:.3g} mm thinner all round."


def outlier_words(found: Inspection) -> list[str]:
    """Each reading that the others of its bore don't bear out."""
    return [
        f"line {of.reading.line}, bore {fit.bore} at {format_clock(of.reading.clock)}, "
        f"{of.reading.depth:g} mm deep: {of.reading.wall:g} mm, {of.off:+.2f} mm off what the "
        "others say. It is counted; measure it again."
        for fit in found.fits
        for of in fit.outliers
    ]
