"""The tables of the store, and the steps that bring an older one up to date.

A step is only ever added at the end: the version of a store is the number of steps that made it.
"""

from __future__ import annotations

import sqlite3

APPLICATION = 0x484F4F50
"""``application_id`` of a record: the letters HOOP."""

_FIRST = """
CREATE TABLE job (
  id INTEGER PRIMARY KEY,
  number TEXT NOT NULL UNIQUE,
  kept TEXT NOT NULL
);
CREATE TABLE line (
  id INTEGER PRIMARY KEY,
  job INTEGER NOT NULL REFERENCES job (id),
  kind TEXT NOT NULL,
  corrects INTEGER UNIQUE REFERENCES line (id),
  date TEXT NOT NULL,
  who TEXT NOT NULL,
  instrument TEXT NOT NULL,
  kept TEXT NOT NULL,
  said TEXT NOT NULL
);
CREATE INDEX line_of_job ON line (job, date);
CREATE INDEX line_of_kind ON line (kind, job);
CREATE TRIGGER job_stays BEFORE UPDATE ON job
  BEGIN SELECT RAISE(ABORT, 'nothing in a record is overwritten'); END;
CREATE TRIGGER job_kept BEFORE DELETE ON job
  BEGIN SELECT RAISE(ABORT, 'nothing in a record is removed'); END;
CREATE TRIGGER job_once BEFORE INSERT ON job
  WHEN EXISTS (SELECT 1 FROM job WHERE id = NEW.id OR number = NEW.number)
  BEGIN SELECT RAISE(ABORT, 'nothing in a record is overwritten'); END;
CREATE TRIGGER line_stays BEFORE UPDATE ON line
  BEGIN SELECT RAISE(ABORT, 'nothing in a record is overwritten'); END;
CREATE TRIGGER line_kept BEFORE DELETE ON line
  BEGIN SELECT RAISE(ABORT, 'nothing in a record is removed'); END;
CREATE TRIGGER line_once BEFORE INSERT ON line
  WHEN EXISTS (SELECT 1 FROM line WHERE id = NEW.id OR corrects = NEW.corrects)
  BEGIN SELECT RAISE(ABORT, 'nothing in a record is overwritten'); END;
"""

STEPS: tuple[str, ...] = (_FIRST,)


def bring_up(connection: sqlite3.Connection) -> None:
    """Take the steps that a store lacks, all of them or none.

    Parameters
    ----------
    connection : sqlite3.Connection
        Within a transaction that writes.
    """
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if version >= len(STEPS):  # another program has done it meanwhile
        return
    for step in STEPS[version:]:
        for statement in _statements(step):
            connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {APPLICATION}")
    connection.execute(f"PRAGMA user_version = {len(STEPS)}")


def _statements(step: str) -> list[str]:
    """A script's statements: ``executescript`` would end the transaction first."""
    statements, begun = list[str](), ""
    for line in step.splitlines(keepends=True):
        begun += line
        if sqlite3.complete_statement(begun):
            statements.append(begun)
            begun = ""
    return statements
