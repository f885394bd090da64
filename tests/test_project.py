"""The house rules that a machine can check: the two commands of the set-up, layers."""

import ast
import re
import shutil
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()
START = re.findall(r"^```sh start\n(.*?)^```$", README, re.M | re.S)
LAYERS = ["geometry", "fea", "cases"]
EXTRAS = ["cluster", "page"]
"""What two verbs say how to get, where it is missing."""


def test_two_commands_do_all_the_set_up():
    assert len(START) == 2
    assert [command.count("\n") for command in START] == [1, 1]
    assert START[0].endswith("/hoopclock demo\n")
    assert START[1].endswith("/pytest\n")


STAND_IN = """#!/bin/sh
name=${0##*/}
echo "$name $*" >> "$CALLED"
[ "$name" != "$FAILS" ] || exit 1
case "$name" in
    sudo) exec "$@" ;;
    python3) cp -R "$INSTALLED" .venv ;;
esac
"""


@pytest.fixture
def run_ci(tmp_path):
    """`.ci/run` where all that it calls only notes its name; gives its status and the notes."""
    here, tools, installed = (tmp_path / name for name in ("here", "tools", "installed"))
    (here / ".ci").mkdir(parents=True)
    shutil.copy(ROOT / ".ci" / "run", here / ".ci")
    tools.mkdir()
    for name in ("awk", "bash", "cp", "dirname", "env", "rm", "sh"):
        (tools / name).symlink_to(shutil.which(name))

    def note(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(STAND_IN)
        path.chmod(0o755)

    for name in ("apt-get", "chromium", "python3"):
        note(tools / name)
    for name in ("pip", "hoopclock", "pytest", "ruff", "mypy", "lint-imports"):
        note(installed / "bin" / name)
    called = tmp_path / "called"

    def run(readme=README, fails="", sudo=False):
        (here / "README.md").write_text(readme)
        called.write_text("")
        if sudo:
            note(tools / "sudo")
        environment = {"PATH": str(tools), "CALLED": str(called), "FAILS": fails}
        done = subprocess.run(
            ["bash", here / ".ci" / "run"], env=environment | {"INSTALLED": str(installed)},
            capture_output=True, text=True, timeout=60,
        )  # fmt: skip
        return done, called.read_text().splitlines()

    return run


needs_linux = pytest.mark.skipif(sys.platform != "linux", reason=".ci/run is for Debian")


@needs_linux
@pytest.mark.parametrize("sudo", [False, True])
def test_ci_takes_the_readmes_two_commands(run_ci, sudo):
    done, called = run_ci(sudo=sudo)
    assert done.returncode == 0, done.stderr
    assert called[0].startswith("sudo ") == sudo
    assert called[sudo] == "apt-get update"
    assert called[sudo + 1].startswith("apt-get install -y --no-install-recommends python3-venv ")
    assert called[sudo + 2 : sudo + 7] == [
        "python3 -m venv .venv", "pip install .", "hoopclock demo",
        "pip install -e .[test]", "pytest ",
    ]  # fmt: skip
    assert [line.split()[0] for line in called[sudo + 7 :]] == [
        "ruff",
        "ruff",
        "mypy",
        "lint-imports",
    ]


@needs_linux
@pytest.mark.parametrize("fails", ["apt-get", "python3", "pip", "hoopclock", "pytest", "mypy"])
def test_ci_stops_at_the_first_that_fails(run_ci, fails):
    done, called = run_ci(fails=fails)
    assert done.returncode != 0
    assert [line.split()[0] for line in called].index(fails) == len(called) - 1


@needs_linux
@pytest.mark.parametrize(
    ("readme", "lines"),
    [
        ("", 0),
        (README + "\n```sh start\ntrue\n```\n", 3),
        (README.replace(" && python3", "\npython3"), 3),
    ],
)
def test_ci_refuses_other_than_two_commands(run_ci, readme, lines):
    done, called = run_ci(readme)
    assert done.returncode == 1
    assert f"{lines} lines in blocks" in done.stderr
    assert called == []


def imported(path):
    """First names of the modules that a file imports."""
    names = []
    for node in ast.walk(ast.parse(path.read_text())):
        names += [a.name for a in node.names] if isinstance(node, ast.Import) else []
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
    return {name.split(".")[0] for name in names}


@pytest.mark.parametrize("layer", LAYERS)
def test_nothing_imports_upwards(layer):
    above = LAYERS[LAYERS.index(layer) + 1 :]
    for path in (ROOT / layer).rglob("*.py"):
        assert not imported(path) & set(above), path


def test_all_that_is_imported_is_installed_with_it():
    """Without the test extra: what is missing then, no test would miss."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    extras = [of for extra in EXTRAS for of in project["optional-dependencies"][extra]]
    wanted = [*project["dependencies"], *extras]
    named = {re.match(r"[\w.-]+", of)[0].lower() for of in wanted}
    owner = packages_distributions()
    for layer in LAYERS:
        for path in (ROOT / layer).rglob("*.py"):
            for name in imported(path) - sys.stdlib_module_names - set(LAYERS):
                assert named & {of.lower() for of in owner[name]}, (path, name)


def test_only_its_own_file_imports_the_mesher():
    importers = [
        path.relative_to(ROOT).as_posix()
        for layer in LAYERS
        for path in (ROOT / layer).rglob("*.py")
        if re.search(r"^\s*(import|from) gmsh\b", path.read_text(), re.M)
    ]
    assert importers == ["geometry/mesh.py"]


def test_every_public_function_says_what_it_is():
    """Docstrings of public functions and classes of the three packages."""
    missing = []
    for layer in LAYERS:
        for path in (ROOT / layer).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                public = isinstance(node, ast.FunctionDef | ast.ClassDef) and node.name[0] != "_"
                if public and not ast.get_docstring(node) and node.col_offset == 0:
                    missing.append(f"{path.name}:{node.name}")
    assert missing == []
