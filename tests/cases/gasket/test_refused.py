"""A gasket that is wrong ends each verb with exit status 2, its place told, nothing written."""

from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner
from gaskets import EARLY, GASKETS, write_case

from cases.cli import main

DRAWN = '[[gasket]]\nname = "drawn"\ndrawing = "gasket.dxf"\nlayer = "WATER"\n'


def drawing(units=4, closed=True):
    """One opening between wall and outer wall, and what is asked of its drawing left out."""
    document = ezdxf.new()
    document.header["$INSUNITS"] = units
    corners = [(-3, 53), (3, 53), (3, 59), (-3, 59)]
    layer = {"layer": "WATER"}
    document.modelspace().add_lwpolyline(corners, close=closed, dxfattribs=layer)
    document.saveas("gasket.dxf")


BAD = {
    "a row in a bore": (
        {"early": EARLY + "; 1; 3:00; 45; round; 6; ;\n"}, {}, "line 11: it lies in a bore",
    ),
    "an overlap": (
        {"early": EARLY + "; 1; 1:32; 56; round; 6; ;\n"}, {}, "line 11: it overlaps line 2",
    ),
    "no table": (
        {"gaskets": GASKETS.replace("late.csv", "latest.csv")}, {}, "gasket[2].table",
    ),
    "no units": ({"gaskets": DRAWN}, {"units": 0}, 'unit = "mm"'),
    "an open line": ({"gaskets": DRAWN}, {"closed": False}, "on layer WATER: It does not close"),
    "no such layer": (
        {"gaskets": DRAWN.replace("WATER", "WATR")}, {}, "Did you mean WATER?",
    ),
}  # fmt: skip


@pytest.mark.parametrize("verb", ["solve", "rate", "make"])
@pytest.mark.parametrize(("files", "drawn", "told"), BAD.values(), ids=BAD)
def test_it_is_refused(tmp_path, monkeypatch, verb, files, drawn, told):
    monkeypatch.chdir(tmp_path)
    drawing(**drawn)
    write_case(Path.cwd(), **files)
    before = sorted(Path.cwd().rglob("*"))
    more = ["--design", "slotted"] if verb == "make" else []
    done = CliRunner().invoke(main, [verb, "case.toml", *more])
    assert done.exit_code == 2, done.output
    assert done.stdout == ""
    assert done.stderr.count("Error: ") == 1
    assert told in " ".join(done.stderr.split())
    assert sorted(Path.cwd().rglob("*")) == before
