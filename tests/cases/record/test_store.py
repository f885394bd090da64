"""What was said to be kept is kept, and what can't be kept is told."""

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path
from threading import Timer
from types import SimpleNamespace

import psutil
import pytest

import cases.store.file
import cases.store.schema
from cases.base.faults import CaseError, RunError
from cases.record.entry import entry
from cases.store.file import opened


def wall(text, **stamp):
    typed = {"bore": "1", "clock": "1:30", "depth": "5 mm", "wall": text}
    return entry("reading", typed, who="R", instrument="ball micrometer", **stamp)


def test_a_line_keeps_what_was_typed_and_what_it_is_in_mm(begun):
    with opened(begun) as record:
        assert record.add("118", [wall("7/32 in"), wall("5.5 mm")]) == [2, 3]
    with opened(begun) as record:
        first, second = record.job("118").standing("reading")
    assert first.said["wall"].typed == "7/32 in"
    assert first.said["wall"].inside == pytest.approx(7 / 32 * 25.4)
    assert first.said["clock"].inside == 1.5
    assert (second.number, second.who, second.instrument) == (3, "R", "ball micrometer")


def test_a_correction_stands_in_place_of_a_line_that_stays(begun):
    with opened(begun) as record:
        record.add("118", [wall("55 thou")])
        record.add("118", [wall("5.5 mm", corrects=2)])
        job = record.job("118")
    assert [line.number for line in job.lines] == [1, 2, 3]
    assert job.lines[1].corrected_by == 3
    assert [line.said["wall"].typed for line in job.standing("reading")] == ["5.5 mm"]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        pytest.param(wall("5 mm", corrects=9), "no such line", id="none"),
        pytest.param(wall("5 mm", corrects=1), "only a block or struck", id="another kind"),
        pytest.param(wall("5 mm", corrects=2), "by line 3 already", id="corrected already"),
    ],
)
def test_what_cannot_be_corrected_is_told_and_nothing_of_it_kept(begun, line, says):
    with opened(begun) as record:
        record.add("118", [wall("5 mm")])
        record.add("118", [wall("6 mm", corrects=2)])
        with pytest.raises(CaseError, match=says):
            record.add("118", [wall("7 mm"), line])
        assert record.counts() == (1, 3)


def test_a_struck_line_does_not_stand(begun):
    with opened(begun) as record:
        record.add("118", [wall("5 mm")])
        record.add("118", [entry("struck", {"why": "other job"}, who="R", corrects=2)])
        assert [line.kind for line in record.job("118").standing()] == ["block"]


def test_a_job_is_begun_once_and_an_unknown_one_guessed(begun):
    with opened(begun) as record:
        with pytest.raises(CaseError, match="There is a job of that number"):
            record.new("118", entry("block", {"block": "other"}, who="R"))
        with pytest.raises(CaseError, match="Did you mean 118"):
            record.add("181", [wall("5 mm")])
        assert record.counts() == (1, 1)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE line SET who = 'other'",
        "DELETE FROM line",
        "UPDATE job SET number = '119'",
        "DELETE FROM job",
        "INSERT OR REPLACE INTO job VALUES (1, '119', '')",
        "INSERT OR REPLACE INTO job (number, kept) VALUES ('118', '')",
        "INSERT OR REPLACE INTO line VALUES (1, 1, 'note', NULL, '', '', '', '', '{}')",
    ],
)
def test_the_file_itself_refuses_changes(begun, statement):
    with closing(sqlite3.connect(begun)) as bare:
        before = list(bare.iterdump())
        with pytest.raises(sqlite3.IntegrityError, match="nothing in a record"):
            bare.execute(statement)
        assert list(bare.iterdump()) == before


def test_a_store_that_is_not_there_is_not_made_by_reading(path):
    with pytest.raises(CaseError, match="no record yet"), opened(path):
        pass
    assert not path.exists()


@pytest.mark.parametrize("content", [b"", b"words, no database, in more than a hundred bytes" * 9])
def test_what_is_no_record_is_refused_and_left_alone(path, content):
    path.write_bytes(content)
    with pytest.raises(CaseError, match="no record"), opened(path):
        pass
    assert path.read_bytes() == content


def test_a_database_of_another_program_is_refused_even_to_make(path):
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE shopping (item)")
    content = path.read_bytes()
    with pytest.raises(CaseError, match="no record, but something else"), opened(path, make=True):
        pass
    assert path.read_bytes() == content


def test_a_newer_store_is_refused_and_left_alone(begun):
    with closing(sqlite3.connect(begun)) as bare:
        bare.execute(f"PRAGMA user_version = {len(cases.store.schema.STEPS) + 1}")
    content = begun.read_bytes()
    with pytest.raises(CaseError, match="A newer hoopclock made it"), opened(begun, make=True):
        pass
    assert begun.read_bytes() == content


def test_an_older_store_is_brought_up_with_all_its_lines(begun, monkeypatch):
    with opened(begun) as record:
        record.add("118", [wall("5 mm")])
        before = record.job("118")
    newer = (*cases.store.schema.STEPS, "ALTER TABLE line ADD COLUMN place TEXT;")
    for module in (cases.store.schema, cases.store.file):
        monkeypatch.setattr(module, "STEPS", newer)
    with opened(begun) as record:
        assert record.job("118") == before
        assert record.troubles() == []
    with closing(sqlite3.connect(begun)) as bare:
        assert bare.execute("PRAGMA user_version").fetchone() == (len(newer),)
        assert bare.execute("SELECT place FROM line").fetchall() == [(None,), (None,)]


def test_a_store_of_the_first_version_is_brought_up_and_lists_its_jobs(path, monkeypatch):
    opened_once = entry("opened", {"found": "sound"}, who="R", date="2026-02-01")
    cracked = {"found": "crack", "bore": "2", "clock": "1:30", "length": "6 mm"}
    with monkeypatch.context() as older:
        for module in (cases.store.schema, cases.store.file):
            older.setattr(module, "STEPS", cases.store.schema.STEPS[:1])
        with opened(path, make=True) as record:
            for number in ("118", "119"):
                record.new(number, entry("block", {"block": f"B-{number}"}, who="R"))
            run = entry("run", {"peak": "140 bar", "cycles": "1e6"}, who="R")
            lines = [opened_once, run, run, entry("opened", cracked, who="R", date="2026-01-01")]
            first, last = record.add("118", lines)[0], entry("design", {"design": "ring"}, who="R")
            record.add("119", [last])
    with opened(path) as record:
        assert record.troubles() == []
        assert record.listed() == [
            ("118", "B-118", "", 2, "2026-02-01 sound"), ("119", "B-119", "ring", 0, ""),
        ]  # fmt: skip
        record.add("118", [entry("struck", {"why": "other job"}, who="R", corrects=first)])
        assert record.listed()[0].found == "2026-01-01 crack, bore 2 1:30, length 6 mm"
        assert record.listed(1) == [("119", "B-119", "ring", 0, "")]
    with closing(sqlite3.connect(path)) as bare, bare:
        bare.execute("UPDATE short SET runs = 3 WHERE job = 1")
    with opened(path) as record:
        assert record.troubles() == ["the list tells of job 118 what its lines don't"]


def test_a_store_that_a_newer_program_brought_up_meanwhile_stays_so(begun):
    with closing(sqlite3.connect(begun, isolation_level=None)) as bare:
        bare.execute("PRAGMA user_version = 99")
        cases.store.schema.bring_up(bare)
        assert bare.execute("PRAGMA user_version").fetchone() == (99,)


def test_a_step_that_fails_leaves_an_older_store_as_it_was(begun, monkeypatch):
    content = begun.read_bytes()
    newer = (*cases.store.schema.STEPS, "CREATE TABLE more (a);\nALTER TABLE none ADD COLUMN b;")
    for module in (cases.store.schema, cases.store.file):
        monkeypatch.setattr(module, "STEPS", newer)
    with pytest.raises(RunError, match="no such table"), opened(begun):
        pass
    assert begun.read_bytes() == content


def test_a_full_disk_is_told_and_nothing_half_kept(begun):
    with opened(begun) as record:
        (pages,) = record._connection.execute("PRAGMA page_count").fetchone()
        record._connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(RunError, match="The disk is full"):
            record.add("118", [wall("5 mm")] * 500)
        assert record.counts() == (1, 1)
        assert record.troubles() == []


@pytest.fixture
def read_only():
    """A store with a job in a folder that others may look into, and none but root write to."""
    folder = Path(tempfile.mkdtemp())
    with opened(folder / "record.sqlite", make=True) as record:
        record.new("118", entry("block", {"block": "B-0417"}, who="R"))
    (folder / "record.sqlite").chmod(0o444)
    folder.chmod(0o555)
    yield folder / "record.sqlite"
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="rights by chmod are POSIX")
def test_a_read_only_store_is_read_and_not_written(read_only):
    listen, say = os.pipe()
    if not (child := os.fork()):  # a user of its own: root may write to anything
        if not os.geteuid():
            os.setgid(65534)
            os.setuid(65534)
        try:
            with opened(read_only) as record:
                os.write(say, f"{record.counts()} ".encode())
                record.add("118", [entry("note", {"text": "more"}, who="R")])
        except BaseException as error:
            os.write(say, f"{type(error).__name__} {error}".encode())
        os._exit(0)
    os.waitpid(child, 0)
    told = os.read(listen, 10_000).decode()
    assert told.startswith("(1, 1) CaseError record: 1 fault.")
    assert "It is read-only" in told


def test_who_holds_it_too_long_is_told(begun, monkeypatch):
    monkeypatch.setattr(cases.store.file, "WAITS", 0.05)
    with closing(sqlite3.connect(begun, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(RunError, match="Another program has held it"), opened(begun):
            pass


def test_a_writer_waits_for_another(begun):
    """From the beginning: who has read already can't wait, lest both do so for ever."""
    other = sqlite3.connect(begun, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    with closing(other), opened(begun) as record:
        Timer(0.2, other.execute, ["COMMIT"]).start()
        assert record.add("118", [wall("5 mm")]) == [2]


def test_two_writers_at_once_lose_nothing(begun):
    script = (
        "import sys; from pathlib import Path\n"
        "from cases.record.entry import entry\n"
        "from cases.store.file import opened\n"
        "for turn in range(20):\n"
        "    with opened(Path(sys.argv[1]), make=True) as record:\n"
        "        line = entry('note', {'text': f'{sys.argv[2]} {turn}'}, who='R')\n"
        "        print(*record.add('118', [line]))\n"
    )
    both = [
        subprocess.Popen([sys.executable, "-c", script, begun, name], stdout=subprocess.PIPE)
        for name in ("one", "other")
    ]
    told = [int(number) for one in both for number in one.communicate()[0].split()]
    with opened(begun) as record:
        notes = record.job("118").standing("note")
    assert sorted(told) == [line.number for line in notes] == list(range(2, 42))
    assert len({line.said["text"].typed for line in notes}) == 40


@pytest.mark.parametrize(
    ("kind", "options"), [("nfs4", "rw"), ("cifs", "rw"), ("NTFS", "rw,remote")]
)
def test_a_network_share_is_refused_by_name(path, monkeypatch, kind, options):
    share = SimpleNamespace(mountpoint=str(path.parent), fstype=kind, opts=options)
    root = SimpleNamespace(mountpoint="/", fstype="ext4", opts="rw")
    monkeypatch.setattr(psutil, "disk_partitions", lambda **_: [root, share])
    with (
        pytest.raises(CaseError, match=f"{path.parent} is on the network"),
        opened(path, make=True),
    ):
        pass
    assert not path.exists()


def test_a_backup_is_a_whole_record_and_writes_over_nothing(begun, tmp_path):
    copy = tmp_path / "copy.sqlite"
    with opened(begun) as record:
        record.add("118", [wall("5 mm")])
        record.backup(copy)
        with pytest.raises(CaseError, match="There is a file of that name"):
            record.backup(copy)
        record.add("118", [wall("6 mm")])
    with opened(copy) as record:
        assert record.counts() == (1, 2)
        assert record.troubles() == []
    assert {path.name for path in tmp_path.iterdir()} == {"copy.sqlite", "record.sqlite"}


def test_a_backup_while_another_writes_is_whole(begun, tmp_path):
    with closing(sqlite3.connect(begun, isolation_level=None)) as other, opened(begun) as record:
        other.execute("BEGIN IMMEDIATE")
        other.execute("INSERT INTO job (number, kept) VALUES ('119', '')")
        record.backup(tmp_path / "copy.sqlite")
        other.execute("COMMIT")
    with opened(tmp_path / "copy.sqlite") as record:
        assert record.counts() == (1, 1)


def test_damage_is_told(begun):
    with opened(begun) as record:
        record.add("118", [wall("5 mm")] * 500)
    content = bytearray(begun.read_bytes())
    content[-2 * 4096 :] = bytes(range(256)) * 32
    begun.write_bytes(content)
    with opened(begun) as record:
        assert record.troubles()
    begun.write_bytes(content[:4096] + bytes(range(256)) * 16 + content[2 * 4096 :])
    with opened(begun) as record, pytest.raises(RunError, match="damaged"):
        record.job("118")
