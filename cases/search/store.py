"""What a search has found, kept as it is found: one SQLite file with a write-ahead log.

A result is kept when :meth:`Store.keep` returns; a kill loses what is in flight and no more. Its
key is a hash of all that it was found from and of the code that found it
(:mod:`cases.search.code`), so that what another search asks for again is taken as it is, whichever
bounds it has. What a changed program has found stays in the file and is not taken.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from cases.base.faults import CaseError, Fault, RunError
from cases.search.space import Point

APPLICATION = 0x484F4F53
"""``application_id`` of a search's store: the letters HOOS."""
VERSION = 1
WAITS = 30.0
"""How long one that writes waits for another. [s]."""
_TABLES = """
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE result (
  key TEXT PRIMARY KEY,
  point TEXT NOT NULL,
  setting TEXT NOT NULL,
  said TEXT NOT NULL,
  kept TEXT NOT NULL
);
CREATE TABLE search (key TEXT PRIMARY KEY, start TEXT NOT NULL, most INTEGER NOT NULL);
"""


@dataclass(frozen=True, slots=True)
class Kept:
    """One result."""

    key: str
    point: Point
    said: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Begun:
    """A search that was begun."""

    start: tuple[Point, ...]  # what it began with
    most: int  # points that it was to judge


class Store:
    """An open store; made by :func:`opened`."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    def result(self, key: str) -> Mapping[str, Any] | None:
        """What was found under a key."""
        with _told(self.path):
            row = self._connection.execute(
                "SELECT said FROM result WHERE key = ?", [key]
            ).fetchone()
        return None if row is None else json.loads(row[0])

    def results(self, setting: str) -> list[Kept]:
        """All that was found at a setting, in the order it was kept."""
        with _told(self.path):
            rows = self._connection.execute(
                "SELECT key, point, said FROM result WHERE setting = ? ORDER BY rowid", [setting]
            ).fetchall()
        return [Kept(key, json.loads(point), json.loads(said)) for key, point, said in rows]

    def keep(self, setting: str, found: Iterable[tuple[str, Point, Mapping[str, Any]]]) -> None:
        """Keep results, all or none: key, point and what was found; what is there stays.

        Raises
        ------
        RunError
            If they can't be kept.
        """
        now = datetime.now(UTC).isoformat(timespec="seconds")
        rows = [
            (key, json.dumps(dict(point)), setting, json.dumps(said, allow_nan=False), now)
            for key, point, said in found
        ]
        with _told(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            self._connection.executemany(
                "INSERT OR IGNORE INTO result VALUES (?, ?, ?, ?, ?)", rows
            )
            self._connection.execute("COMMIT")

    def begun(self, key: str) -> Begun | None:
        """How a search was begun; None where it wasn't."""
        with _told(self.path):
            row = self._connection.execute(
                "SELECT start, most FROM search WHERE key = ?", [key]
            ).fetchone()
        return None if row is None else Begun(tuple(json.loads(row[0])), int(row[1]))

    def begin(self, key: str, start: Sequence[Point], most: int) -> None:
        """Keep how a search begins, or how far it is to go now."""
        with _told(self.path):
            self._connection.execute(
                "INSERT INTO search VALUES (?, ?, ?)"
                " ON CONFLICT (key) DO UPDATE SET most = excluded.most",
                [key, json.dumps([dict(of) for of in start]), most],
            )


@contextmanager
def opened(path: Path, case: str, name: str) -> Iterator[Store]:
    """A store, made where there is none.

    Parameters
    ----------
    path : Path
    case : str
        Hash of the case without its designs.
    name : str
        Of the case.

    Raises
    ------
    CaseError
        If the file is no store, of another case, or of a newer version.
    RunError
        If it can't be opened.
    """
    with _told(path), closing(sqlite3.connect(path, timeout=WAITS)) as connection:
        connection.isolation_level = None
        (application,) = connection.execute("PRAGMA application_id").fetchone()
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if tables and application != APPLICATION:
            raise _refused(path, "It is no store of a search. Choose another folder with --out.")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        if not tables:
            _make(connection, case, name)
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        if version > VERSION:
            text = "A newer hoopclock made it. Use that one, or choose another folder with --out."
            raise _refused(path, text)
        about = dict(connection.execute("SELECT name, value FROM about"))
        if about["case"] != case:
            raise _refused(
                path,
                f'It is of another case, "{about["name"]}", or of this one before something but '
                "its designs and [search] was changed: what it has found doesn't count here. "
                "Choose another folder with --out; nothing of it is lost.",
            )
        yield Store(path, connection)


def _make(connection: sqlite3.Connection, case: str, name: str) -> None:
    connection.execute("BEGIN IMMEDIATE")
    for statement in _TABLES.split(";"):
        connection.execute(statement)
    connection.executemany("INSERT INTO about VALUES (?, ?)", [("case", case), ("name", name)])
    connection.execute(f"PRAGMA application_id = {APPLICATION}")
    connection.execute(f"PRAGMA user_version = {VERSION}")
    connection.execute("COMMIT")


def _refused(path: Path, text: str) -> CaseError:
    return CaseError("search", [Fault("--out", text, f'"{path}"')])


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """What SQLite raises, in words.

    Raises
    ------
    CaseError, RunError
    """
    try:
        yield
    except sqlite3.OperationalError as error:
        text = f"{path}: {error}. What was kept before is safe; check the disk, and start again."
        raise RunError(text) from None
    except sqlite3.DatabaseError:
        raise _refused(
            path, "It is no store of a search, or damaged. Choose another folder with --out."
        ) from None
