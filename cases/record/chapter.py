"""The chapter on what the shop's own engines say."""

from __future__ import annotations

import math

from cases.base.subject import Chapter
from cases.record.built import Built
from cases.record.lines import (
    bar_words,
    built_words,
    distortion_words,
    engines_words,
    finding_words,
    span_words,
    success_lines,
    unbanded_words,
)
from cases.record.result import RecordFinding


def record_chapter(found: RecordFinding) -> Chapter:
    """What a record said of a case."""
    told = max(found.designs, key=lambda of: len(of.shifts), default=None)
    shifts = told.shifts if told else (math.nan,) * len(found.engines)
    engines = [
        {
            "job": engine.job,
            "design": engine.design,
            "found": engine.words,
            "sound": math.exp(engine.low),
            "cracked": math.exp(engine.high) if engine.cracked else None,
            "shift": shift,
        }
        for engine, shift in zip(found.engines, shifts, strict=True)
    ]
    return Chapter(
        key="record",
        title="What the shop's own engines say",
        template="record/chapter.html.j2",
        finding=finding_words(found),
        contents={
            "record": found,
            "engines_words": engines_words(found),
            "engines": sorted(engines, key=lambda of: -abs(of["shift"])),
            "bar": bar_words,
            "span": span_words,
            "unbanded": unbanded_words(found),
            "success": success_lines(found),
            "distortion": distortion_words(found),
        },
    )


def built_chapter(built: Built) -> Chapter:
    """A job as built against what was predicted of it."""
    return Chapter(
        key="built",
        title="As built against predicted",
        template="record/built.html.j2",
        finding=built_words(built),
        contents={
            "built": built,
            "sides": built.sides,
            "by_clock": list(
                zip(
                    built.clock_hours,
                    built.measured_um,
                    built.predicted_um,
                    built.solid_um or [None] * len(built.clock_hours),
                    strict=True,
                )
            ),
        },
    )
