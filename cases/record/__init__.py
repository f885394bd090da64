"""The shop's record: its blocks as they were found and made, and what became of them.

One SQLite file (:mod:`cases.store.file`); ``hoopclock record`` and, from Python::

    from cases.record.entry import entry
    from cases.store.file import opened

    with opened(path, make=True) as record:
        record.new("118", entry("block", {"block": "B-0417"}, who="R"))
        record.add("118", [entry("run", {"peak": "140 bar", "cycles": "2e6"}, who="R")])

A line says one thing, of one of the kinds of :mod:`cases.store.kinds`: its values as typed and in
inside units, with date, who and, of what is measured, the instrument. The tables have guards
against change and removal: a correction is a line that names another, and stands in its place.

What the engines say of strength: :mod:`cases.record.engines` makes one number of a job, or an
interval, :mod:`cases.record.posterior` the shop's factor of all of them, and a rating that names a
record (``[record]``, or ``rate --store``) tells its limits restated beside the unstated ones.
10,000 engines take 3 s of processor time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.base.faults import CaseError, Refusal, RunError
from cases.base.subject import Chapter, Subject, TextTable, Usual, Work

if TYPE_CHECKING:
    import click
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.record.given import RecordInput
    from cases.record.result import RecordFinding
    from cases.stress.result import CaseResult


class Record(Subject):
    """What the shop's own engines say."""

    key = "record"
    after = ("gas", "stress", "life", "solid", "rating")

    def table(self) -> type[Table]:
        """``[record]``."""
        from cases.record.table import RecordKeys

        return RecordKeys

    def given(self, table: Any, case: Any, faults: Faults) -> RecordInput | None:
        """The record, and a job of it."""
        if table.record is None:
            return None
        from cases.record.given import read_record

        try:
            return read_record(table.record, Path(case.source_path).parent)
        except CaseError as error:
            for fault in error.faults:
                key = "job" if fault.path == "job" else "store"
                faults.add(("record", key), fault.text)
        except RunError as error:
            faults.add(("record", "store"), str(error))
        return None

    def asked(self, case: Any, rate: bool) -> bool:
        """Where a rating names a record, or the case is of a job of it."""
        from cases.record.given import record_given

        given = record_given(case)
        return given.store is not None and (rate or given.job is not None)

    def stages(self, case: Any) -> Sequence[Usual]:
        """One."""
        return (("record", 1.0),)

    def solve(self, work: Work) -> RecordFinding | Refusal:
        """The limits restated; why not, where the record can't be read any more."""
        from cases.record.given import record_given
        from cases.record.restate import restate

        given = record_given(work.case)
        assert given.store is not None
        work.tell("all designs", "record")
        try:
            return restate(work, given.store)
        except (CaseError, RunError) as error:
            return Refusal.of(error)

    def case_data(self, result: CaseResult) -> Mapping[str, Any]:
        """The shop's engines."""
        from cases.record.data import record_dict
        from cases.record.result import record_of

        found = record_of(result)
        return record_dict(found) if found else {}

    def data(self, result: CaseResult, design: Any) -> Mapping[str, Any]:
        """What is predicted of a design, and its limit restated."""
        from cases.record.data import design_dict

        return design_dict(result, design)

    def figures(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """The engines beside the shop's factor."""
        from cases.record.result import record_of

        found = record_of(result)
        if found and found.engines and found.designs:
            from cases.record.figures import engines_figure

            yield "record", engines_figure(found)
        if found and found.built and found.built.clock_hours:
            from cases.record.figures import built_figure

            yield "built", built_figure(found.built)

    def chapters(self, result: CaseResult) -> Sequence[Chapter]:
        """What the shop's own engines say."""
        from cases.record.chapter import built_chapter, record_chapter
        from cases.record.result import record_of

        if not (found := record_of(result)):
            return ()
        built = (built_chapter(found.built),) if found.built else ()
        return built if built and not found.designs else (record_chapter(found), *built)

    def first_lines(self, result: CaseResult) -> Sequence[str]:
        """Why the record could not be read."""
        found = result.found.get("record")
        return (
            (f"The record says nothing here: {found.text}",) if isinstance(found, Refusal) else ()
        )

    def lines(self, result: CaseResult) -> Sequence[str | TextTable]:
        """The limits restated."""
        from cases.record.lines import record_lines
        from cases.record.result import record_of

        found = record_of(result)
        return record_lines(found) if found else ()

    def commands(self) -> Sequence[click.Command]:
        """``hoopclock record``."""
        from cases.record.commands import record

        return (record,)


SUBJECT = Record()
