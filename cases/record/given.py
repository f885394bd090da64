"""Which record a case is rated with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from cases.case import Case
from cases.record.store import opened
from cases.record.table import RecordTable


@dataclass(frozen=True, kw_only=True)
class RecordInput:
    """A record, and the job in it that the case is of."""

    store: Path
    job: str | None = None


def record_given(case: Case) -> RecordInput | None:
    """The record that a case is rated with, if any."""
    return case.given.get("record")


def read_record(table: RecordTable, folder: Path) -> RecordInput:
    """The record that a case names, once it has been opened.

    Raises
    ------
    CaseError, RunError
        As :func:`cases.record.store.opened`; if it has no such job.
    """
    given = RecordInput(store=folder / table.store, job=table.job)
    with opened(given.store) as record:
        if given.job is not None:
            record.job(given.job)
    return given


def with_store(case: Case, store: Path | None) -> Case:
    """A case rated with another record than it names; as it is where none is given.

    Raises
    ------
    CaseError, RunError
        As :func:`cases.record.store.opened`.
    """
    if store is None:
        return case
    with opened(store):
        pass
    given = record_given(case) or RecordInput(store=store)
    return case.told("record", replace(given, store=store))
