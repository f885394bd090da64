"""The house rules that a machine can check: what the README shows works, layers are kept."""

import ast
import re
from pathlib import Path

import pytest

from cases import read_case
from fea import bore_growth, hot_spots, recover
from geometry.outline import draw_section

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()
LAYERS = ["geometry", "fea", "cases"]


def block(language: str, containing: str) -> str:
    found = re.findall(rf"^```{language}\n(.*?)^```$", README, re.M | re.S)
    return next(text for text in found if containing in text)


def test_the_readmes_case_can_be_drawn(tmp_path):
    path = tmp_path / "first.toml"
    path.write_text(block("toml", "First look"))
    case = read_case(path)
    assert [design.name for design in case.designs] == ["bare", "local"]
    for design in case.designs:
        draw_section(case.section(design))


def test_the_readmes_engine_can_be_read(tmp_path):
    path = tmp_path / "engine.toml"
    first = block("toml", "First look").replace('[gas]\npeak_pressure = "150 bar"\n', "")
    path.write_text(first + block("toml", "[engine]"))
    load = read_case(path).wall_load
    assert 100 < load.cycle.power < 600
    assert load.factor == 1.2


def test_the_readmes_ring_prints_what_it_says(capsys):
    names = {}
    exec(compile(block("python", "ring = DeckSection"), "README.md", "exec"), names)
    growth, hoop = map(float, capsys.readouterr().out.split())
    assert growth == pytest.approx(18.66, abs=0.005)
    assert hoop == pytest.approx(22.8, abs=0.05)
    assert growth == bore_growth(names["solution"]).mean_growth_um
    assert hoop == hot_spots(names["solution"], recover(names["solution"]))[0].hoop_mpa


@pytest.mark.parametrize("layer", LAYERS)
def test_nothing_imports_upwards(layer):
    above = LAYERS[LAYERS.index(layer) + 1 :]
    for path in (ROOT / layer).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not {name.split(".")[0] for name in names} & set(above), path


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
