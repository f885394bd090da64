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

_SHORT = """
CREATE VIEW standing AS
  SELECT * FROM line
  WHERE kind <> 'struck' AND id NOT IN (SELECT corrects FROM line WHERE corrects IS NOT NULL);
CREATE VIEW told_of_job AS
  SELECT job.id AS job,
    (SELECT json_extract(said, '$.block[0]') FROM standing AS one
     WHERE one.job = job.id AND kind = 'block' ORDER BY date DESC, id DESC LIMIT 1) AS block,
    (SELECT json_extract(said, '$.design[0]') FROM standing AS one
     WHERE one.job = job.id AND kind = 'design' ORDER BY date DESC, id DESC LIMIT 1) AS design,
    (SELECT count(*) FROM standing AS one WHERE one.job = job.id AND kind = 'run') AS runs,
    (SELECT date || ' ' || json_extract(said, '$.found[1]')
       || coalesce(', bore ' || json_extract(said, '$.bore[0]'), '')
       || coalesce(' ' || json_extract(said, '$.clock[0]'), '')
       || coalesce(', depth ' || json_extract(said, '$.depth[0]'), '')
       || coalesce(', length ' || json_extract(said, '$.length[0]'), '') FROM standing AS one
     WHERE one.job = job.id AND kind = 'opened' ORDER BY date DESC, id DESC LIMIT 1) AS found
  FROM job;
CREATE TABLE short (
  job INTEGER PRIMARY KEY REFERENCES job (id),
  block TEXT,
  design TEXT,
  runs INTEGER NOT NULL,
  found TEXT
);
INSERT INTO short SELECT * FROM told_of_job;
CREATE TRIGGER line_told AFTER INSERT ON line
  WHEN NEW.kind IN ('block', 'design', 'run', 'opened', 'struck')
  BEGIN INSERT OR REPLACE INTO short SELECT * FROM told_of_job WHERE job = NEW.job; END;
"""
"""What a list tells of each job, so that none of its lines is read for it: made of them by the view
whenever one is added."""

STEPS: tuple[str, ...] = (_FIRST, _SHORT)


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
