"""Whether a record is what it should be: the file, its lines, the pictures that they name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path

from cases.store.file import Job, Line, Store
from cases.store.kinds import FILES, KINDS, file_named, read_values


def wrong_in(store: Store) -> list[str]:
    """All that is wrong, in words."""
    return [*store.troubles(), *wrong_lines(store.jobs())]


def wrong_lines(jobs: Iterable[Job]) -> Iterator[str]:
    """Lines whose values are not what was typed, and pictures that are not those that were kept."""
    for job in jobs:
        for line in job.lines:
            yield from (f"job {job.number}, line {line.number}: {text}" for text in _wrong(line))


def _wrong(line: Line) -> Iterator[str]:
    kind = KINDS.get(line.kind)
    if kind is None:
        yield f"{line.kind} is no kind that this program knows"
        return
    typed = {name: said.typed for name, said in line.said.items() if name in kind.fields}
    said, faults = read_values(kind, typed)
    yield from (f"{fault.path}: {fault.text}" for fault in faults)
    for name, value in said.items():
        if name != FILES.get(kind.name) and line.said[name].inside != value.inside:
            yield f"{name} is kept as {line.said[name].inside}, and {value.typed} is {value.inside}"
    path = file_named(kind, line.said)
    if line.kind == "photo" and path and line.corrected_by is None:
        yield from _wrong_picture(path, str(line.said["sha256"].inside))


def _wrong_picture(path: Path, kept: str) -> Iterator[str]:
    try:
        found = sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        yield f"{path} can't be read: {error.strerror}"
        return
    if found != kept:
        yield f"{path} is not the picture that was kept: its hash is another"
