"""Which record a case is rated with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from cases.case import Case
from cases.record.table import RecordTable
from cases.store.file import opened


@dataclass(frozen=True, kw_only=True)
class RecordInput:
    """A record, and the job in it that the case is of."""

    store: Path | None = None
    job: str | None = None


def record_given(case: Case) -> RecordInput:
    """The record that a case is rated with, if any."""
    return case.given.get("record") or RecordInput()


def read_record(table: RecordTable, folder: Path) -> RecordInput:
    """The record that a case names, once it has been opened.

    Raises
    ------
    CaseError, RunError
        As :func:`cases.store.file.opened`; if it has no such job.
    """
    store = None if table.store is None else folder / table.store
    return _opened(RecordInput(store=store, job=table.job))


def with_store(case: Case, store: Path | None) -> Case:
    """A case rated with another record than it names; as it is where none is given.

    Raises
    ------
    CaseError, RunError
        As :func:`read_record`.
    """
    if store is None:
        return case
    return case.told("record", _opened(replace(record_given(case), store=store)))


def _opened(given: RecordInput) -> RecordInput:
    if given.store is not None:
        with opened(given.store) as record:
            if given.job is not None:
                record.job(given.job)
    return given
