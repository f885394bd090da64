"""The command end to end on a small block: what it writes, shows and leaves alone."""

import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from bench import LINED
from click.testing import CliRunner

import cases.run
import cases.stress.solve
from cases import RunError, __version__, read_case, solve_case
from cases.base.threads import SETTINGS
from cases.cli import main
from cases.report.results import results_dict

SMALL = f"""\
{LINED}[[design]]
name = "closed deck"
material = "6061-T6"
depth = "10 mm"
[[design.slot]]
clock = "4:00"
width = "4 mm"
arc = "20 deg"
[[design]]
name = "bare"
"""


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def solved(tmp_path_factory):
    """Folder, output and time of one run of the small case."""
    folder = tmp_path_factory.mktemp("small")
    path = folder / "small.toml"
    path.write_text(SMALL)
    done = run("solve", "--section", path, "--out", folder / "out")
    assert done.exit_code == 0, done.output
    return folder / "out", done


@pytest.fixture
def results(solved):
    return json.loads((solved[0] / "results.json").read_text())


def test_results_keep_their_keys(results):
    assert results["hoopclock"] == __version__
    assert results["job"] == "bench block (invented)"
    assert results["section_depth_mm"] > 10
    assert [design["design"] for design in results["designs"]] == ["bare", "closed deck"]
    for design in results["designs"]:
        assert {
            "part", "clock", "clock_hours", "radius_mm", "x_mm", "y_mm", "hoop_mpa",
            "principal_mpa", "von_mises_mpa", "error_mpa", "sharp",
        } <= set(design["hot_spots"][0])  # fmt: skip
        bore = design["bore"]
        assert len(bore["clock_hours"]) == len(bore["growth_um"]) == 360
        assert list(bore["orders_um"]) == [str(order) for order in range(2, 13)]
        assert bore["mean_growth_um"] > 0
        assert bore["out_of_round_um"] > 0
        assert {"open_area_mm2", "insert_area_mm2"} <= set(design["coolant"])
        assert {"nodes", "elements", "unknowns"} == set(design["mesh"])
        assert design["checks"]["reaction_ratio"] < 1e-6
        assert design["checks"]["cut_force_ratio"] == pytest.approx(1, abs=0.01)
        assert set(design["seconds"]) == {"draw", "mesh", "solve", "recover", "total"}


def test_spots_are_worst_first_and_of_known_parts(results):
    for design in results["designs"]:
        rated = [spot["principal_mpa"] for spot in design["hot_spots"] if not spot["sharp"]]
        assert rated[0] >= 0.99 * max(rated)  # twins of the worst stand in clock order
        parts = {spot["part"] for spot in design["hot_spots"]}
        assert parts <= {"barrel", "liner", "tie", "outer wall", "insert"}


def test_insert_takes_water_and_holds_the_barrel(results):
    bare, closed = results["designs"]
    assert bare["coolant"]["insert_area_mm2"] == 0
    assert closed["coolant"]["insert_area_mm2"] > 0
    assert closed["coolant"]["open_area_mm2"] < bare["coolant"]["open_area_mm2"]
    assert closed["bore"]["mean_growth_um"] < bare["bore"]["mean_growth_um"]


def test_files_are_listed_and_there(solved, results):
    out, _ = solved
    there = {path.name for path in out.iterdir()}
    assert there == {*results["files"], "results.json"}
    assert "report.html" in there
    assert {"bare.vtu", "closed-deck.vtu"} <= there
    assert all((out / name).stat().st_size > 200 for name in there)


def test_table_tells_spot_clock_change_and_water(solved, results):
    _, done = solved
    for design in results["designs"]:
        rows = [line.strip() for line in done.stdout.splitlines()]
        row = next(line for line in rows if line.startswith(design["design"]))
        spot = next(
            spot
            for spot in design["hot_spots"]
            if spot["part"] in ("barrel", "tie", "outer wall") and not spot["sharp"]
        )
        assert f"{spot['part']} {spot['clock']}" in row
        assert f" {spot['principal_mpa']:.0f} " in row
        assert f"{design['coolant']['open_area_mm2']:.0f}" in row
    assert re.search(r"closed deck.* -\d+ %", done.stdout)


@pytest.mark.usefixtures("unpictured")
def test_second_run_replaces_own_files_and_spares_others(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    one = SMALL[: SMALL.index("[[design]]")] + '[[design]]\nname = "bare"\n'
    Path("small.toml").write_text(one.replace('"bare"', '"old"').replace("[[design]]", (
        '[[design]]\ndepth = "10 mm"\nmaterial = "6061-T6"'
    )))  # fmt: skip
    assert run("solve", "--section", "small.toml").exit_code == 0
    assert Path("small/old.vtu").exists()
    Path("small/letter.txt").write_text("mine")
    Path("small/photo.png").write_text("mine")
    Path("small.toml").write_text(one)
    assert run("solve", "--section", "small.toml").exit_code == 0
    names = {path.name for path in Path("small").iterdir()}
    assert {"bare.vtu", "letter.txt", "photo.png"} <= names
    assert "old.vtu" not in names
    assert {path.name for path in Path.cwd().iterdir()} == {"small", "small.toml"}


def test_numbers_are_the_same_twice(tmp_path, results):
    path = tmp_path / "small.toml"
    path.write_text(SMALL)
    again = results_dict(solve_case(read_case(path)))
    for key in ("hot_spots", "bore", "coolant", "mesh", "checks"):
        assert [d[key] for d in again["designs"]] == [d[key] for d in results["designs"]]


def test_progress_tells_every_step(tmp_path):
    path = tmp_path / "small.toml"
    path.write_text(SMALL)
    told = []
    solve_case(read_case(path), lambda name, stage: told.append((name, stage)))
    stages = [(n, s) for n in ("bare", "closed deck") for s in ("mesh", "solve", "recover", "done")]
    assert told == [("bare", "draw"), ("closed deck", "draw"), *stages]


def fail(message, kind=RuntimeError):
    def failing(*_, **__):
        raise kind(message)

    return failing


@pytest.mark.parametrize(
    ("stage", "name"), [("mesh", "load_mesher"), ("solve", "SectionModel"), ("recover", "recover")]
)
def test_failed_stage_is_one_line_and_status_1(tmp_path, monkeypatch, stage, name):
    monkeypatch.chdir(tmp_path)
    Path("small.toml").write_text(SMALL)
    failing = fail("it broke")
    monkeypatch.setattr(cases.stress.solve, name, (lambda: failing) if stage == "mesh" else failing)
    done = run("solve", "--section", "small.toml")
    assert done.exit_code == 1
    assert done.stderr.strip() == (f'Error: the run failed: design "bare", stage {stage}: it broke')
    assert [path.name for path in tmp_path.iterdir()] == ["small.toml"]


def test_failure_in_the_report_leaves_nothing(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("small.toml").write_text(SMALL)
    monkeypatch.setattr("cases.report.results.write_pictures", lambda *_: ())
    monkeypatch.setattr("cases.report.results.write_report", fail("No space left", OSError))
    done = run("solve", "--section", "small.toml", "--out", "a/b/c")
    assert done.exit_code == 1
    assert "No space left" in done.stderr
    assert "Traceback" not in done.output
    assert [path.name for path in tmp_path.iterdir()] == ["small.toml"]


def test_missing_shared_library_names_the_cure(tmp_path, monkeypatch):
    """A bare Debian lacks libGLU; the import of gmsh then raises OSError."""
    path = tmp_path / "small.toml"
    path.write_text(SMALL)

    class Blocked:
        def find_spec(self, name, *_):
            if name == "gmsh":
                raise OSError("libGLU.so.1: cannot open shared object file")

    monkeypatch.delitem(sys.modules, "geometry.mesh", raising=False)
    monkeypatch.delitem(sys.modules, "gmsh", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Blocked(), *sys.meta_path])
    with pytest.raises(RunError, match=r"libGLU.so.1.*apt-get install .*libglu1-mesa"):
        solve_case(read_case(path))


RING = """\
job = "ring (invented)"
[block]
bore = "90 mm"
liner = "10 mm"
liner_material = "grey iron class 30"
barrel_wall = "25 mm"
material = "A356-T6"
[gas]
peak_pressure = "90 bar"
[[design]]
name = "bare"
"""


@pytest.mark.usefixtures("unpictured")
@pytest.mark.parametrize("liner", [True, False], ids=["two metals", "one metal"])
def test_a_ring_is_checked_against_lame(tmp_path, monkeypatch, liner):
    """Timoshenko & Goodier, 3rd ed., thick cylinder; Timoshenko, Strength of Materials II."""
    text = RING if liner else RING.replace('liner = "10 mm"\n', "").replace("liner_m", "#")
    (tmp_path / "ring.toml").write_text(text)
    monkeypatch.chdir(tmp_path)
    assert run("solve", "--section", "ring.toml").exit_code == 0
    results = json.loads(Path("ring/results.json").read_text())
    assert results["designs"][0]["checks"]["lame_ratio"] == pytest.approx(1, abs=1e-4)
    assert "Lam&eacute;'s ring" in Path("ring/report.html").read_text()


def test_version():
    assert run("--version").output.strip() == f"hoopclock, version {__version__}"


def test_one_version():
    with (Path(cases.run.__file__).parents[1] / "pyproject.toml").open("rb") as file:
        assert tomllib.load(file)["project"].get("version", __version__) == __version__


def test_reading_a_case_loads_no_solver():
    """So that wrong input is answered at once."""
    heavy = ("scipy", "skfem", "gmsh", "matplotlib")
    code = f"import cases.case, sys; print(*[name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


@pytest.mark.parametrize("asked", [{}, {"OMP_NUM_THREADS": "3"}])
def test_one_thread_unless_more_are_asked_for(monkeypatch, asked):
    for name in SETTINGS:
        monkeypatch.setenv(name, "")
        monkeypatch.delenv(name)
    for name, value in asked.items():
        monkeypatch.setenv(name, value)
    run("solve", "--section", "there-is-none.toml")
    used = {name: os.environ[name] for name in SETTINGS if name in os.environ}
    assert used == (asked or dict.fromkeys(SETTINGS, "1"))
