"""The shop's record: its blocks as they were found and made, and what became of them.

One SQLite file (:mod:`cases.record.store`); ``hoopclock record`` and, from Python::

    from cases.record.entry import entry
    from cases.record.store import opened

    with opened(path, make=True) as record:
        record.new("118", entry("block", {"block": "B-0417"}, who="R"))
        record.add("118", [entry("run", {"peak": "140 bar", "cycles": "2e6"}, who="R")])

A line says one thing, of one of the kinds of :mod:`cases.record.kinds`: its values as typed and in
inside units, with date, who and, of what is measured, the instrument. The tables have guards
against change and removal: a correction is a line that names another, and stands in its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cases.base.subject import Subject

if TYPE_CHECKING:
    import click


class Record(Subject):
    """What the shop's own engines say."""

    key = "record"

    def commands(self) -> Sequence[click.Command]:
        """``hoopclock record``."""
        from cases.record.commands import record

        return (record,)


SUBJECT = Record()
