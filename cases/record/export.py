"""The record as one file, for other programs: JSON or CSV, by the ending of its name."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable
from io import StringIO
from pathlib import Path

from cases.base.command import no_place, require_place
from cases.store.file import Job
from cases.store.kinds import KINDS
from cases.store.schema import STEPS

HEADINGS = (
    "job", "line", "kind", "date", "who", "instrument", "kept", "corrects", "corrected_by",
    "field", "typed", "value", "unit",
)  # fmt: skip
_FORMULA = ("=", "+", "-", "@", "\t")
"""What a spreadsheet takes for the beginning of a formula."""


def write_export(jobs: Iterable[Job], path: Path) -> None:
    """Write jobs with all of their lines, corrected ones too; the file is whole or isn't there.

    Raises
    ------
    CaseError
        If the name ends on neither ``.csv`` nor ``.json``, or the file can't be written.
    """
    writers = {".csv": csv_text, ".json": json_text}
    if path.suffix.lower() not in writers:
        raise no_place(path, "FILE", "Its name must end on .csv or .json.")
    require_place(path, "FILE", "record.json")
    fresh = path.with_name(f".{path.name}.part")
    try:
        fresh.write_text(writers[path.suffix.lower()](jobs), encoding="utf-8", newline="")
        fresh.replace(path)
    except OSError as error:
        fresh.unlink(missing_ok=True)
        raise no_place(path, "FILE", f"It can't be written: {error.strerror}.") from None


def json_text(jobs: Iterable[Job]) -> str:
    """``{"version": 1, "jobs": [{"job": ..., "lines": [...]}]}``, values typed and inside."""
    told = [
        {
            "job": job.number,
            "lines": [
                {
                    "line": line.number,
                    "kind": line.kind,
                    "date": line.date,
                    "who": line.who,
                    "instrument": line.instrument,
                    "kept": line.kept,
                    "corrects": line.corrects,
                    "corrected_by": line.corrected_by,
                    "said": {
                        name: {
                            "typed": said.typed,
                            "value": said.inside,
                            "unit": _unit(line.kind, name),
                        }
                        for name, said in line.said.items()
                    },
                }
                for line in job.lines
            ],
        }
        for job in jobs
    ]
    return json.dumps({"version": len(STEPS), "jobs": told}, indent=1, ensure_ascii=False) + "\n"


def csv_text(jobs: Iterable[Job]) -> str:
    """A row a value. Text that a spreadsheet would take for a formula has an apostrophe before."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(HEADINGS)
    for job in jobs:
        for line in job.lines:
            stamp = (
                job.number, line.number, line.kind, line.date, line.who, line.instrument,
                line.kept, line.corrects, line.corrected_by,
            )  # fmt: skip
            for name, said in line.said.items():
                row = (*stamp, name, said.typed, said.inside, _unit(line.kind, name))
                writer.writerow([_safe(cell) for cell in row])
    return out.getvalue()


def _safe(cell: object) -> object:
    if isinstance(cell, str) and cell.startswith(_FORMULA):
        return f"'{cell}"
    return cell


def _unit(kind: str, name: str) -> str:
    field = KINDS[kind].fields.get(name) if kind in KINDS else None
    return field.unit if field else ""
