"""``[record]`` of a case file."""

from __future__ import annotations

from pydantic import Field

from cases.base.tables import Table, key


class RecordTable(Table):
    """``[record]``."""

    store: str | None = key(
        "the shop's record, which restates the limits of a rating; from the case file's folder on",
        "record.sqlite",
        None,
        left_out="no limit is restated",
        allowed="a file that hoopclock record made",
        instead_of="rate --store",
    )
    job: str | None = key(
        "the job that this case is of: what was measured on it is set beside what is predicted",
        "118",
        None,
        left_out="none",
        allowed="any text",
    )


class RecordKeys(Table):
    """What the shop's own engines say."""

    record: RecordTable | None = Field(None, description="the shop's record of its engines")
