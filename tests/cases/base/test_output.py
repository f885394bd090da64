"""The folder of a run: what is refused before the work, what is spared, what is cleared."""

import json
import os
from pathlib import Path

import pytest

from cases.base.faults import CaseError
from cases.base.output import output_folder

NESTED = 200_000


@pytest.fixture(autouse=True)
def _in_an_empty_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def refused(out, **given):
    """Message of a folder that is refused before anything is done in it."""
    before = sorted(Path.cwd().rglob("*"))
    with pytest.raises(CaseError) as error, output_folder(out, **given):
        pytest.fail("the work began")
    assert sorted(Path.cwd().rglob("*")) == before
    return str(error.value)


def run_into(out, *names, **given):
    with output_folder(out, **given) as folder:
        for name in names:
            (folder / name).write_text("new", encoding="utf-8")
        text = json.dumps({"files": names})
        (folder / "results.json").write_text(text, encoding="utf-8")


def link(path, target):
    try:
        Path(path).symlink_to(target)
    except OSError:
        pytest.skip("links can't be made here")


@pytest.mark.parametrize("out", ["out", "out/below"])
@pytest.mark.parametrize("target", ["nowhere", "out"], ids=["dangling", "looping"])
def test_a_link_that_leads_nowhere(target, out):
    link("out", target)
    assert "is a link that leads nowhere" in refused(out)


def test_a_link_to_a_folder_is_followed():
    Path("real").mkdir()
    link("out", "real")
    run_into("out", "a.png")
    assert Path("real/a.png").exists()


@pytest.mark.parametrize(
    "name", ["report.html", "results.json", "rated.json", "bare.vtu", "Hoop.PNG"]
)
def test_a_folder_that_bears_a_results_name(name):
    Path("out", name).mkdir(parents=True)
    assert f"A folder in it has a result's name, {name}" in refused("out")


def test_a_folder_that_bears_the_name_of_the_demos_case():
    Path("out/case.toml").mkdir(parents=True)
    assert "case.toml" in refused("out", leaves=("case.toml",))
    run_into("out", "a.png")
    assert Path("out/case.toml").is_dir()


@pytest.mark.parametrize("given", ["out/report.html", "link.toml"])
def test_a_case_file_under_a_results_name(given):
    Path("out").mkdir()
    Path("out/report.html").write_text("the case", encoding="utf-8")
    if given == "link.toml":
        link(given, "out/report.html")
    assert "The case file lies in it" in refused("out", case_file=given)
    assert Path("out/report.html").read_text(encoding="utf-8") == "the case"


def test_a_case_file_under_another_name_may_lie_there():
    Path("out").mkdir()
    Path("out/case.toml").write_text("the case", encoding="utf-8")
    run_into("out", "a.png", case_file="out/case.toml")
    assert Path("out/case.toml").read_text(encoding="utf-8") == "the case"


def test_a_name_that_is_no_text():
    message = refused("b\udce4nk")
    assert "not UTF-8" in message
    assert "b\\udce4nk" in message


def test_two_runs_into_one_folder():
    with output_folder("out") as folder:
        (folder / "a.png").write_text("first", encoding="utf-8")
        assert "Another run is writing into this folder" in refused("out/../out")
    assert Path("out/a.png").read_text(encoding="utf-8") == "first"
    run_into("out", "a.png")
    assert Path("out/a.png").read_text(encoding="utf-8") == "new"


def test_an_earlier_run_that_is_nested_too_deep_to_read():
    Path("out").mkdir()
    Path("out/results.json").write_text("[" * NESTED + "]" * NESTED, encoding="utf-8")
    run_into("out", "a.png")
    assert {path.name for path in Path("out").iterdir()} == {"a.png", "results.json"}


@pytest.mark.parametrize("name", ["\ud800.png", "a\0.png", "x" * 300 + ".png", "old.png/"])
def test_an_earlier_run_that_lists_no_names(name):
    Path("out").mkdir()
    Path("out/results.json").write_text(json.dumps({"files": [name]}), encoding="utf-8")
    run_into("out", "a.png")
    assert Path("out/a.png").exists()


def test_what_a_dead_run_left_is_cleared():
    Path("out/.hoopclock-dead").mkdir(parents=True)
    Path("out/.hoopclock-dead/a.png").write_text("half", encoding="utf-8")
    Path("out/.hoopclock.lock").write_text("", encoding="utf-8")
    run_into("out", "a.png")
    assert {path.name for path in Path("out").iterdir()} == {"a.png", "results.json"}


def half_a_run(out):
    with output_folder(out) as folder:
        (folder / "a.png").write_text("half", encoding="utf-8")
        raise RuntimeError


def test_a_failed_run_leaves_nothing():
    with pytest.raises(RuntimeError):
        half_a_run("a/b/c")
    assert os.listdir() == []
