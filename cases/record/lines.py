"""What the record says, in words."""

from __future__ import annotations

from collections.abc import Sequence

from cases.base.subject import TextTable
from cases.rating.result import Stands
from cases.record.built import Built
from cases.record.result import RecordFinding, Restated, Success
from cases.record.success import CONFIDENCE

MOST_MOVED = 8
"""Jobs that the terminal tells; the page tells all."""


def engines_words(found: RecordFinding) -> str:
    """How many engines say something."""
    told, silent = len(found.engines), len(found.silent)
    words = f"{told} of {found.jobs} jobs on record say something of strength"
    if told:
        cracked = found.cracked
        words += f", {cracked} cracked and {told - cracked} sound when last opened"
    return f"{words}." if not silent else f"{words}; {silent} say nothing of it."


def finding_words(found: RecordFinding) -> str:
    """What it comes to."""
    if not found.engines or not found.designs:
        return f"The shop's record moves no limit: {engines_words(found)}"
    told = max(found.designs, key=lambda of: of.limit.factor if of.limit else 0.0)
    low, middle, high = told.shop_factor
    return (
        f"By the shop's own engines {told.design} carries {middle:.2f} times what is predicted of "
        f"it (5 to 95 %: {low:.2f} to {high:.2f})."
    )


def success_words(design: str, told: Success) -> str:
    """The honest sentence where none has cracked, or some have beside those that live."""
    runs = f"{told.cycles:.2g} cycles" if told.pulls is None else f"{told.pulls:.0f} pulls"
    one = told.engines == 1
    ran = (
        f"{told.engines} engine{'' if one else 's'} ran {runs}, or more, at no less of "
        f"{'its' if one else 'their'} predicted limit than this load asks of {design}, without a "
        "crack"
    )
    most = (
        f"with {100 * CONFIDENCE:.0f} % confidence at most {100 * told.share:.0f} in a hundred "
        "fail in as many"
    )
    if told.by_life is None:
        return f"{ran}, and {told.failed} cracked, each at its own load: {most} (binomial)."
    return (
        f"{ran}: {most} (success-run theorem), {100 * told.by_life:.0f} with longer runs counted "
        f"by a Weibull slope of {told.slope:.1f}."
    )


def no_success_words(design: str) -> str:
    """Where none has cracked, and none ran as hard."""
    return (
        f"No engine on record ran at as much of its predicted limit as this load asks of {design}: "
        "that none cracked says nothing of it yet."
    )


def success_lines(found: RecordFinding) -> list[str]:
    """What those say that live, by design; nothing where none ran so hard and one has cracked."""
    if not found.engines:
        return []
    return [
        success_words(told.design, told.success) if told.success else no_success_words(told.design)
        for told in found.designs
        if told.success or not found.cracked
    ]


def distortion_words(found: RecordFinding) -> str:
    """The shop's factor on distortion; empty where no job says anything of it."""
    if not found.ratios:
        return ""
    low, middle, high = found.distortion
    jobs = ", ".join(f"{job} {ratio:.2f}" for job, ratio in found.ratios.items())
    return (
        f"The shop's presses distort the bore {middle:.2f} times as much as predicted (5 to 95 %: "
        f"{low:.2f} to {high:.2f}); by job: {jobs}."
    )


def built_words(built: Built) -> str:
    """A job as built, in a sentence."""
    words = f"Job {built.job} as built, {built.design}: "
    if built.ratio is None:
        return f"{words}bore {built.bore} was not measured before and after the press."
    mean = built.orders[0]
    predicted = mean.predicted_um if mean.solid_um is None else mean.solid_um
    by = "" if mean.solid_um is None else " by the solid"
    return (
        f"{words}bore {built.bore} grew in the mean by {mean.measured_um:.1f} um at the press, "
        f"{predicted:.1f} um were predicted{by}; by clock {built.ratio:.2f} times what was "
        "predicted."
    )


def bar_words(limit: Stands | None) -> str:
    """A limit as a peak; as a factor where that can't be told."""
    if limit is None:
        return "none found"
    if limit.pressure_mpa is None:
        return f"{limit.factor:.2f} x"
    return f"{10 * limit.pressure_mpa:.0f}"


def span_words(band: Sequence[float], band_mpa: Sequence[float] | None) -> str:
    """What 5 and 95 % stay below, as peaks; as factors where those can't be told."""
    if band_mpa is None:
        return f"{band[0]:.2f}-{band[-1]:.2f} x"
    return f"{10 * band_mpa[0]:.0f}-{10 * band_mpa[-1]:.0f}"


def unbanded_words(found: RecordFinding) -> str:
    """Designs that can't be restated; empty where all are."""
    if not found.unbanded:
        return ""
    return (
        f"Not restated: {', '.join(found.unbanded)}, of which no band is at hand: nothing was "
        "drawn, or part of it is zero."
    )


def record_lines(found: RecordFinding) -> list[str | TextTable]:
    """For the terminal."""
    rows = tuple(
        (
            told.design,
            bar_words(told.limit),
            span_words(told.band, told.band_mpa),
            bar_words(told.restated),
            span_words(told.restated_band, told.restated_band_mpa),
        )
        for told in found.designs
    )
    table = TextTable(
        title="Limits restated by the shop's own engines",
        headings=(
            "Design", "Limit\nbar", "5-95 %\nbar", "Restated\nbar", "5-95 %\nbar",
        ),
        rows=rows,
    )  # fmt: skip
    built = [built_words(found.built)] if found.built else []
    if built and not found.designs:
        return [*built, *filter(None, [distortion_words(found)])]
    lines: list[str | TextTable] = [finding_words(found), *([table] if rows else [])]
    if found.engines and found.designs:
        lines.append(moved_words(found, max(found.designs, key=lambda of: len(of.shifts))))
    lines += success_lines(found)
    lines += [*built, *filter(None, [distortion_words(found)])]
    lines += filter(None, [unbanded_words(found)])
    return [*lines, f"Record: {engines_words(found)}"]


def moved_words(found: RecordFinding, told: Restated) -> str:
    """The jobs that moved the factor most."""
    moved = sorted(zip(found.engines, told.shifts, strict=True), key=lambda of: -abs(of[1]))[
        :MOST_MOVED
    ]
    jobs = ", ".join(
        f"{engine.job} ({engine.words}) {100 * shift:+.1f} %" for engine, shift in moved
    )
    return f"Moved by job {jobs}: the factor with it over without it."
