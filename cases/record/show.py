"""What the record says in the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cases.base.faults import printable
from cases.store.file import Job, Line, Listed
from cases.store.kinds import FILES, interference_of

HEADINGS = ("job", "block", "design", "runs", "found last")
MANY = 12
"""Lines of a kind, of one day and person, beyond which they are told together."""
_HIDDEN = ("text", "predicted")  # of a case and a design; exported, not shown
_LONGEST = 200  # of a line [characters]


def job_rows(jobs: Iterable[Listed]) -> Iterator[tuple[str, str, str, str, str]]:
    """Number, block, design, runs and what was found last, of each job."""
    for number, block, design, runs, found in jobs:
        told = f"{runs} run{'' if runs == 1 else 's'}" if runs else ""
        yield number, printable(block, 40), printable(design, 40), told, printable(found, _LONGEST)


def table_lines(rows: Sequence[Sequence[str]], headings: Sequence[str]) -> Iterator[str]:
    """Rows of text in columns."""
    widths = [max(map(len, column)) for column in zip(headings, *rows, strict=True)]
    return ("  ".join(map(str.ljust, row, widths)).rstrip() for row in (headings, *rows))


def job_lines(job: Job, every: bool = False) -> Iterator[str]:
    """A job, line by line; many of a kind on one day are told together unless all are wanted."""
    yield f"Job {job.number}"
    waiting: list[Line] = []
    for line in job.lines:
        if waiting and not _alike(waiting[-1], line):
            yield from _told(waiting, every)
            waiting = []
        waiting.append(line)
    yield from _told(waiting, every)


def _alike(one: Line, other: Line) -> bool:
    return (one.kind, one.date, one.who) == (other.kind, other.date, other.who)


def _told(lines: Sequence[Line], every: bool) -> Iterator[str]:
    standing = [line for line in lines if line.corrected_by is None]
    if every or len(lines) <= MANY:
        yield from map(line_words, lines)
        return
    first, last = lines[0], lines[-1]
    corrected = len(lines) - len(standing)
    yield (
        f"{first.number:>7}-{last.number}  {first.date}  {first.kind}: {len(standing)} of them"
        f"{f', {corrected} corrected' if corrected else ''} ({first.who}); --all tells each"
    )


def line_words(line: Line) -> str:
    """A line in words."""
    values = ", ".join(
        f"{name} {value.typed}" if value.typed else f"{name} {str(value.inside)[:12]}"
        for name, value in line.said.items()
        if name not in _HIDDEN and (value.typed or name in ("sha256", "hoopclock"))
    )
    if line.kind == "piece":
        values += f", interference {1000 * interference_of(line.said):+.1f} um"
    by = ", ".join(filter(None, (line.who, line.instrument)))
    words = f"{line.number:>7}  {line.date}  {line.kind}: {values} ({by})"
    if line.corrects is not None:
        words += f"; in place of line {line.corrects}"
    if line.corrected_by is not None:
        words += f"; CORRECTED by line {line.corrected_by}"
    return printable(words, _LONGEST if line.kind in FILES else 3000)
