"""The store: one SQLite file, to which lines are only ever added.

A line is kept when :meth:`Store.add` returns: the rollback journal is synced before the file, the
file before the journal is taken away, and the folder after it (``synchronous`` EXTRA, which is FULL
and that last one, without which a power cut could take back what was said to be kept). Who writes
holds the whole file; another waits.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from cases.base.faults import CaseError, Fault, RunError, closest
from cases.store.kinds import Said
from cases.store.place import require_own_disk
from cases.store.schema import APPLICATION, STEPS, bring_up

WAITS = 30.0
"""How long a writer waits for another. [s]."""
GUARDS = ("stays", "kept", "once")
"""Endings of the names of the triggers of a table, against change, removal and replacement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewLine:
    """A line to be kept."""

    kind: str
    date: str  # of what it tells, YYYY-MM-DD
    who: str
    said: Mapping[str, Said]
    instrument: str = ""
    corrects: int | None = None  # number of the line that it stands in place of


@dataclass(frozen=True, slots=True, kw_only=True)
class Line(NewLine):
    """A line that is kept."""

    number: int
    kept: str  # when, UTC
    corrected_by: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A job with its lines, by date and then in the order they were kept."""

    number: str
    lines: tuple[Line, ...] = field(repr=False)

    def standing(self, kind: str | None = None) -> list[Line]:
        """Lines, of a kind, that are neither corrected nor struck."""
        return [
            line
            for line in self.lines
            if line.corrected_by is None and line.kind != "struck" and kind in (None, line.kind)
        ]


class Listed(NamedTuple):
    """A job in short, of its standing lines."""

    number: str
    block: str  # as typed; empty where no line says it
    design: str  # made last
    runs: int
    found: str  # last, and when; empty where it was never opened


class Store:
    """An open record; made by :func:`opened`."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """A transaction; what it says is kept when it ends, or nothing of it."""
        connection = self._connection
        with _told(self.path):
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    with suppress(sqlite3.Error):  # the file rolls back when next opened
                        connection.execute("ROLLBACK")
                raise

    def new(self, number: str, line: NewLine) -> int:
        """Begin a job.

        Parameters
        ----------
        number : str
            The shop's own.
        line : NewLine
            Of the block.

        Returns
        -------
        int
            Number of the line.

        Raises
        ------
        CaseError
            If there is a job of that number.
        RunError
            If it can't be kept.
        """
        with self._writing() as connection:
            if connection.execute("SELECT 1 FROM job WHERE number = ?", [number]).fetchone():
                text = f"There is a job of that number. Add to it: hoopclock record add {number}"
                raise CaseError("record", [Fault("job", text, f'"{number}"')])
            row = connection.execute(
                "INSERT INTO job (number, kept) VALUES (?, ?)", [number, _now()]
            )
            assert row.lastrowid is not None
            return _insert(connection, row.lastrowid, line)

    def add(self, number: str, lines: Sequence[NewLine]) -> list[int]:
        """Add lines to a job, all of them or none.

        Returns
        -------
        list of int
            Their numbers; they are kept.

        Raises
        ------
        CaseError
            If there is no such job, or no such line to correct.
        RunError
            If they can't be kept.
        """
        with self._writing() as connection:
            job = self._job(number)
            for line in lines:
                if line.corrects is not None:
                    _require_correctable(connection, job, line)
            return [_insert(connection, job, line) for line in lines]

    def _job(self, number: str) -> int:
        """Its place in the store.

        Raises
        ------
        CaseError
            If there is none of that number.
        """
        row = self._connection.execute("SELECT id FROM job WHERE number = ?", [number]).fetchone()
        if row is None:
            known = [of for (of,) in self._connection.execute("SELECT number FROM job")]
            near = closest(number, known)
            guess = f" Did you mean {near}?" if near else ""
            text = f"There is no such job.{guess} They are told by: hoopclock record list"
            raise CaseError("record", [Fault("job", text, f'"{number}"')])
        return int(row[0])

    def bores(self, number: str) -> int | None:
        """How many bores its block has, where a line says it.

        Raises
        ------
        CaseError
            If there is no such job.
        """
        with _told(self.path):
            row = self._connection.execute(
                "SELECT json_extract(said, '$.bores[1]') FROM standing"
                " WHERE job = ? AND kind = 'block' ORDER BY date DESC, id DESC",
                [self._job(number)],
            ).fetchone()
        return row[0] if row else None

    def job(self, number: str) -> Job:
        """A job with all of its lines.

        Raises
        ------
        CaseError
            If there is none of that number.
        """
        with _told(self.path):
            return next(self._jobs("job = ?", [self._job(number)]))

    def jobs(self, kinds: Sequence[str] = (), newest: int | None = None) -> Iterator[Job]:
        """Jobs with their lines, in the order they were begun.

        Parameters
        ----------
        kinds : sequence of str
            Of lines wanted; all if none is named.
        newest : int, optional
            How many, those begun last.
        """
        wheres, values = [], list[str | int]()
        if kinds:
            wheres.append(f"kind IN ({', '.join('?' * len(kinds))})")
            values += kinds
        if newest is not None:
            wheres.append("job IN (SELECT id FROM job ORDER BY id DESC LIMIT ?)")
            values.append(newest)
        with _told(self.path):
            yield from self._jobs(" AND ".join(wheres) or "1", values)

    def _jobs(self, where: str, values: Sequence[str | int]) -> Iterator[Job]:
        rows = self._connection.execute(
            "SELECT job.number, line.id, kind, line.corrects, date, who, instrument, line.kept,"
            " said, (SELECT later.id FROM line AS later WHERE later.corrects = line.id)"
            f" FROM line JOIN job ON job.id = line.job WHERE {where}"
            " ORDER BY line.job, date, line.id",
            values,
        )
        number, lines = None, list[Line]()
        for of, *cells in rows:
            if of != number and number is not None:
                yield Job(number=number, lines=tuple(lines))
                lines = []
            number = of
            lines.append(_line(cells))
        if number is not None:
            yield Job(number=number, lines=tuple(lines))

    def listed(self, newest: int | None = None) -> list[Listed]:
        """Jobs in short, in the order they were begun; none of their lines is read.

        Parameters
        ----------
        newest : int, optional
            How many, those begun last.
        """
        with _told(self.path):
            rows = self._connection.execute(
                "SELECT number, ifnull(block, ''), ifnull(design, ''), runs, ifnull(found, '')"
                " FROM job JOIN short ON short.job = job.id ORDER BY job.id DESC LIMIT ?",
                [-1 if newest is None else newest],
            ).fetchall()
        return [Listed(*row) for row in reversed(rows)]

    def counts(self) -> tuple[int, int]:
        """Jobs and lines."""
        with _told(self.path):
            row = self._connection.execute(
                "SELECT (SELECT count(*) FROM job), (SELECT count(*) FROM line)"
            ).fetchone()
            return int(row[0]), int(row[1])

    def troubles(self) -> list[str]:
        """What is wrong with the file itself, in words."""
        connection = self._connection
        try:
            with _told(self.path):
                said = [text for (text,) in connection.execute("PRAGMA integrity_check")]
                astray = connection.execute("PRAGMA foreign_key_check").fetchall()
                rows = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
                guards = {name for (name,) in rows}
                untold = connection.execute(
                    "SELECT number FROM job WHERE id IN (SELECT job FROM"
                    " (SELECT * FROM told_of_job EXCEPT SELECT * FROM short))"
                ).fetchall()
        except RunError as error:
            return [str(error)]
        meant = (f"{table}_{guard}" for table in ("job", "line") for guard in GUARDS)
        return [
            *(text for text in said if text != "ok"),
            *(f"line {row} of table {table} refers to nothing" for table, row, *_ in astray),
            *(f"the list tells of job {number} what its lines don't" for (number,) in untold),
            *(
                f"the guard {name} is gone: lines could be changed"
                for name in meant
                if name not in guards
            ),
        ]

    def backup(self, path: Path) -> None:
        """Copy the store into one file, whole, while others use it.

        Raises
        ------
        CaseError
            If there is a file of that name, or it can't be written.
        """
        if path.exists() or path.is_symlink():
            text = "There is a file of that name. A copy writes over none: choose another."
            raise CaseError("record", [Fault("FILE", text, f'"{path}"')])
        fresh = path.with_name(f".{path.name}.part")
        try:
            with suppress(FileNotFoundError):  # of a copy that was killed
                fresh.unlink()
            with _told(path), closing(sqlite3.connect(fresh)) as copy:
                self._connection.backup(copy)
            fresh.rename(path)
        except OSError as error:
            text = f"It can't be written: {error.strerror}."
            raise CaseError("record", [Fault("FILE", text, f'"{path}"')]) from None
        finally:
            with suppress(OSError):
                fresh.unlink()


def _insert(connection: sqlite3.Connection, job: int, line: NewLine) -> int:
    said = {name: [value.typed, value.inside] for name, value in line.said.items()}
    row = connection.execute(
        "INSERT INTO line (job, kind, corrects, date, who, instrument, kept, said)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        [
            job, line.kind, line.corrects, line.date, line.who, line.instrument, _now(),
            json.dumps(said, ensure_ascii=False, allow_nan=False),
        ],
    )  # fmt: skip
    assert row.lastrowid is not None
    return row.lastrowid


def _line(cells: Sequence[object]) -> Line:
    number, kind, corrects, date, who, instrument, kept, said, corrected_by = cells
    return Line(
        number=number,  # type: ignore[arg-type]
        kind=str(kind),
        corrects=corrects,  # type: ignore[arg-type]
        date=str(date),
        who=str(who),
        instrument=str(instrument),
        kept=str(kept),
        said=_said(str(said)),
        corrected_by=corrected_by,  # type: ignore[arg-type]
    )


def _said(text: str) -> dict[str, Said]:
    return {name: Said(*value) for name, value in json.loads(text).items()}


def _require_correctable(connection: sqlite3.Connection, job: int, line: NewLine) -> None:
    """Refuse a correction of what is not there, of another kind, or corrected already.

    Raises
    ------
    CaseError
    """
    row = connection.execute(
        "SELECT kind, (SELECT later.id FROM line AS later WHERE later.corrects = line.id)"
        " FROM line WHERE id = ? AND job = ?",
        [line.corrects, job],
    ).fetchone()
    text = ""
    if row is None:
        text = "The job has no such line."
    elif row[1] is not None:
        text = f"It is corrected by line {row[1]} already. Correct that one."
    elif line.kind not in (row[0], "struck"):
        text = f"It is a {row[0]}, and only a {row[0]} or struck can stand in its place."
    if text:
        raise CaseError("record", [Fault("--corrects", text, str(line.corrects))])


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


@contextmanager
def opened(path: Path, *, make: bool = False) -> Iterator[Store]:
    """A record, open for the block under ``with``.

    Parameters
    ----------
    path : Path
    make : bool
        Whether to make it, and its folder, where there is none.

    Raises
    ------
    CaseError
        If there is none, it is no record, a newer program made it, it lies on a network share, or
        it may not be written to.
    RunError
        If it is damaged, the disk is full, or another program holds it too long.
    """
    if not path.exists() and not make:
        text = "There is no record yet. Begin one with its first job: hoopclock record new"
        raise _refused(path, text)
    if path.is_dir():
        raise _refused(path, "This is a folder. Name a file in it, such as record.sqlite.")
    if make:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise _refused(path, f"Its folder can't be made: {error.strerror}.") from None
    require_own_disk(path)
    with _told(path), closing(_connected(path, make)) as connection:
        if _version(path, connection, make) < len(STEPS):
            connection.execute("BEGIN IMMEDIATE")
            bring_up(connection)
            connection.execute("COMMIT")
        yield Store(path, connection)


def _connected(path: Path, make: bool) -> sqlite3.Connection:
    """To write where that is allowed: what a killed program left is rolled back by a reader too."""
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={'rwc' if make else 'rw'}",
        uri=True,
        timeout=WAITS,
        isolation_level=None,
    )
    for pragma in ("synchronous = EXTRA", "fullfsync = ON", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")
    return connection


def _version(path: Path, connection: sqlite3.Connection, make: bool) -> int:
    """Of a record; 0 of one that has just been made.

    Raises
    ------
    CaseError
        If it is something else, or of a newer program.
    """
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if application != APPLICATION and (application or version or tables or not make):
        raise _refused(path, "It is no record, but something else. Choose another.")
    if version > len(STEPS):
        raise _refused(
            path,
            f"A newer hoopclock made it (its tables are of version {version}, this program knows "
            f"{len(STEPS)}). Nothing was changed. Bring hoopclock up to date on this machine.",
        )
    return int(version)


def require_number(number: str) -> None:
    """Refuse a number that no job can have.

    Raises
    ------
    CaseError
    """
    if (
        not number.strip()
        or number != number.strip()
        or len(number) > 60
        or not number.isprintable()
    ):
        text = "A job's number is printable text of 60 characters at most, no spaces around it."
        raise CaseError("record", [Fault("job", text, f'"{number[:60]}"')])


def _refused(path: Path, text: str) -> CaseError:
    return CaseError("record", [Fault("--store", text, f'"{path}"')])


NOT_KEPT = "What was to be kept is not; all that was kept before is as it was."


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Say in words what the store can't do.

    Raises
    ------
    CaseError, RunError
        In place of any error of SQLite.
    """
    try:
        yield
    except sqlite3.Error as error:
        name = getattr(error, "sqlite_errorname", "")
        if name.startswith("SQLITE_READONLY"):
            text = f"It is read-only, as its folder may be. {NOT_KEPT} Check the rights of both."
            raise _refused(path, text) from None
        if name.startswith("SQLITE_NOTADB"):
            raise _refused(path, "It is no record: not even a database. Choose another.") from None
        if name.startswith("SQLITE_CANTOPEN"):
            raise _refused(
                path, "It can't be opened. Check the rights of it and its folder."
            ) from None
        what = {
            "SQLITE_BUSY": f"Another program has held it for {WAITS:g} s. {NOT_KEPT} Try again.",
            "SQLITE_FULL": f"The disk is full. {NOT_KEPT} Make room, and try again.",
            "SQLITE_IOERR": f"The disk can't be written or read. {NOT_KEPT} Check it for room and "
            "damage.",
            "SQLITE_CORRUPT": "The file is damaged. Take the last copy that record backup made, "
            "and keep this one for what can be saved of it.",
        }
        text = next(
            (text for start, text in what.items() if name.startswith(start)), f"{error}. {NOT_KEPT}"
        )
        raise RunError(f"{path}: {text}") from None
