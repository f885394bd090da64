"""``hoopclock record`` from a job's first line to its copy."""

import csv
import json
import os
import subprocess
import sys

import pytest
from click.testing import CliRunner

from cases.cli import main
from cases.store.file import opened

STAMP = ("--who", "R", "--date", "2026-05-31")


@pytest.fixture
def run(path):
    def call(*arguments, fails=0):
        done = CliRunner().invoke(
            main, ["record", *map(str, arguments), "--store", str(path)], catch_exceptions=False
        )
        assert done.exit_code == fails, done.output
        return done.output

    return call


@pytest.fixture
def life(run):
    """A job from its block to a crack."""
    run("new", "118", "block=B-0417", "casting=C 12", *STAMP)
    run("add", "118", "design", "design=local", "low=120 bar", "limit=150 bar", "high=185 bar",
        *STAMP)  # fmt: skip
    run(
        "add", "118", "leak test", "pressure=3 bar", "result=tight", "--instrument", "gauge", *STAMP
    )
    run("add", "118", "run", "power=400 hp", "speed=7000 rpm", "hours=12 h", *STAMP)
    run("add", "118", "opened", "found=crack", "bore=2", "clock=7:40", "length=6 mm", *STAMP)
    return run


def test_a_life_is_listed_and_shown(life):
    listed = life("list").splitlines()
    assert " ".join(listed[1].split()) == (
        "118 B-0417 local 1 run 2026-05-31 crack, bore 2 7:40, length 6 mm"
    )
    assert listed[-1] == "1 job, 5 lines."
    shown = life("show", "118")
    assert "4  2026-05-31  run: power 400 hp, speed 7000 rpm, hours 12 h (R)" in shown


def test_a_list_tells_what_stands_and_what_was_found_last(life):
    life("add", "118", "opened", "found=sound", "--who", "R", "--date", "2026-04-01")  # earlier
    life("add", "118", "run", "power=400 hp", "speed=7000 rpm", "hours=1 h", *STAMP)
    life("add", "118", "run", "power=400 hp", "speed=7000 rpm", "hours=2 h", *STAMP)
    life("add", "118", "struck", "why=was of another job", "--corrects", 8, *STAMP)
    life("add", "118", "block", "block=B-0471", "--corrects", 1, *STAMP)
    life("new", "119", "block=B-0500", *STAMP)
    life("add", "119", "struck", "why=was no block", "--corrects", 11, *STAMP)
    _, first, second, _ = life("list", "--all").splitlines()
    assert " ".join(first.split()) == (
        "118 B-0471 local 2 runs 2026-05-31 crack, bore 2 7:40, length 6 mm"
    )
    assert second == "119"
    assert life("list").splitlines()[1:3] == [first, second]


def test_a_correction_is_shown_beside_what_it_corrects(life):
    said = life("add", "118", "run", "power=380 hp", "speed=7000 rpm", "hours=12 h", "--corrects",
                4, *STAMP)  # fmt: skip
    assert said == "Kept as line 6 of job 118.\n"
    shown = life("show", "118")
    assert "hours 12 h (R); CORRECTED by line 6" in shown
    assert "power 380 hp, speed 7000 rpm, hours 12 h (R); in place of line 4" in shown


def test_many_readings_are_told_together(life, tmp_path):
    walls = "".join(f"1,{hour}:00,5,5.6\n" for hour in range(1, 13)) * 2
    (tmp_path / "walls.csv").write_text(f"bore,clock,depth [mm],wall [mm]\n{walls}")
    said = life("add", "118", "reading", "--rows", tmp_path / "walls.csv", "--instrument",
                "micrometer", *STAMP)  # fmt: skip
    assert said == "Kept as lines 6 to 29 of job 118.\n"
    assert "6-29  2026-05-31  reading: 24 of them (R)" in life("show", "118")
    assert life("show", "118", "--all").count("wall 5.6 mm") == 24


def test_the_newest_jobs_are_listed_and_all_where_wanted(run):
    for number in range(1, 43):
        run("new", number, f"block=B-{number}", *STAMP)
    listed = run("list")
    assert "B-3" in listed.split()
    assert "B-2" not in listed.split()
    assert listed.splitlines()[-1] == "42 jobs, 42 lines; the newest 40 are shown, --all shows all."
    assert len(run("list", "--all").splitlines()) == 44


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("add", "118", "run", "power"), "Write a value with the name of its field"),
        (("add", "118", "run", "power=1 kW", "power=2 kW"), "It is given twice"),
        (("add", "118", "reading", "wall=60 mm"), "60 mm is outside 0.3 to 40 mm"),
        (("add", "811", "note", "text=more", "--who", "R"), "Did you mean 118"),
        (("show", "811"), "no such job"),
        (("new", " 12", "block=B", "--who", "R"), "no spaces around it"),
        (("export", "record.txt"), "end on .csv or .json"),
    ],
)
def test_what_is_wrong_ends_with_2_and_keeps_nothing(life, path, arguments, says):
    before = path.read_bytes()
    assert says in life(*arguments, fails=2)
    assert path.read_bytes() == before


def test_an_export_holds_every_value_as_typed_and_inside(life, tmp_path):
    life("export", tmp_path / "all.json")
    life("export", tmp_path / "all.csv")
    (job,) = json.loads((tmp_path / "all.json").read_text())["jobs"]
    run = job["lines"][3]["said"]
    assert run["power"]["typed"] == "400 hp"
    assert run["power"]["value"] == pytest.approx(298.28, abs=0.005)  # 550 ft lbf/s a horsepower
    assert run["power"]["unit"] == "kW"
    with (tmp_path / "all.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    told = {(row["line"], row["field"]): (row["typed"], row["value"]) for row in rows}
    assert told == {
        (str(line["line"]), name): (said["typed"], str(said["value"]))
        for line in job["lines"]
        for name, said in line["said"].items()
    }


def test_an_export_is_no_formula(run, tmp_path):
    run("new", "118", "block==1+1", *STAMP)
    run("export", tmp_path / "all.csv")
    assert "'=1+1" in (tmp_path / "all.csv").read_text()


def test_a_check_finds_a_changed_picture_and_a_changed_value(life, path, tmp_path):
    picture = tmp_path / "deck.jpg"
    picture.write_bytes(b"picture")
    life("add", "118", "photo", f"file={picture}", *STAMP)
    assert life("check") == "All is well: 1 job, 6 lines.\n"
    picture.write_bytes(b"another")
    assert "line 6: " in life("check", fails=1)
    picture.write_bytes(b"picture")
    with opened(path) as record:
        record._connection.execute("DROP TRIGGER line_stays")
        record._connection.execute("UPDATE line SET said = replace(said, '400 hp', '300 hp')")
    said = life("check", fails=1)
    assert "line 4: power is kept as 298.279948633, and 300 hp is 223.709961475" in said
    assert "the guard line_stays is gone" in said


def test_the_store_lies_in_the_users_folder_for_data(tmp_path):
    home = os.environ | {
        "HOME": str(tmp_path), "XDG_DATA_HOME": str(tmp_path), "LOCALAPPDATA": str(tmp_path),
        "USERPROFILE": str(tmp_path),
    }  # fmt: skip
    call = [sys.executable, "-c", "from cases.cli import main; main()", "record"]
    subprocess.run([*call, "new", "118", "block=B", "--who", "R"], env=home, check=True)
    (kept,) = tmp_path.rglob("record.sqlite")
    assert kept.parent.name == "hoopclock"
    done = subprocess.run([*call, "list"], env=home, check=True, capture_output=True, text=True)
    assert "1 job, 1 lines." in done.stdout
