"""What a run says of a block that is machined for its inserts, where people read it."""

import json
import re

import pytest
from bench import LINED
from click.testing import CliRunner
from unpictured import without_pictures

from cases.block.walls import machined_notes
from cases.cli import main
from geometry import Block, DeckSection, DeeperZone, Insert, Tie

INSERT = 'material = "6061-T6"\ndepth = "{}"\n'
CASE = f"""\
{LINED}tolerance = "20 %"
[[design]]
name = "bare"

[[design]]
name = "ring"
form = "ring"
{INSERT.format("5 mm")}
[[design]]
name = "ledge"
{INSERT.format("4 mm")}
[design.register]
depth = "4 mm"
ledge = "1.5 mm"

[[design]]
name = "deeper"
{INSERT.format("6 mm")}
[design.register]
depth = "4 mm"
barrel = "1 mm"
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    folder = tmp_path_factory.mktemp("machined")
    (folder / "case.toml").write_text(CASE)
    out = folder / "out"
    with pytest.MonkeyPatch.context() as patch:
        without_pictures(patch)
        run = CliRunner().invoke(
            main, ["solve", "--section", str(folder / "case.toml"), "--out", str(out)]
        )
    assert run.exit_code == 0, run.output
    results = json.loads((out / "results.json").read_text())
    designs = {one["design"]: one for one in results["designs"]}
    page = re.sub(r"<(td)[^>]*>", r"<\1>", (out / "report.html").read_text())
    return designs, re.sub(r"\s+", " ", run.output), page


def by_clock(told, design, clock):
    """Barrel and outer wall of a design at a clock position. [mm]."""
    rows = {row["clock"]: row for row in told[0][design]["walls_left"]["by_clock"]}
    assert len(rows) == 24
    return rows[clock]["barrel_mm"], rows[clock]["outer_wall_mm"]


def test_results_have_both_walls_by_clock(told):
    """7 and 8 mm as cast; a ledge of 1.5 mm on each, or 1 mm off the barrel. The tie of 12:00 is
    what walls have there, but where a ring has it milled down."""
    assert by_clock(told, "bare", "4:00") == pytest.approx((7, 8), abs=1e-3)
    assert by_clock(told, "ledge", "4:00") == pytest.approx((5.5, 6.5), abs=1e-3)
    assert by_clock(told, "deeper", "4:00") == pytest.approx((6, 8), abs=1e-3)
    assert by_clock(told, "ledge", "12:00") == (None, None)
    assert by_clock(told, "ring", "12:00") == pytest.approx((7, 8), abs=1e-3)


def test_the_least_of_each_wall_is_told_with_its_place(told):
    """The relief cut reaches from 47 to 65 mm, the liner to 42 and the block to 67 mm."""
    left = told[0]["ledge"]["walls_left"]
    assert left["barrel"] == {"least_mm": pytest.approx(5, abs=1e-3), "clock": "2:15", "bore": 1}
    assert left["outer_wall"]["least_mm"] == pytest.approx(2, abs=1e-3)
    assert "ledge: barrel 5.00 mm at 2:15, outer wall 2.00 mm at 2:15." in told[1]
    assert "<b>ledge</b></td><td>5.00</td><td>2:15</td>" in told[2]


def test_notes_say_what_ties_keep_and_what_is_not_taken_to_touch(told):
    designs, terminal, page = told
    assert designs["bare"]["machined_notes"] == designs["ledge"]["machined_notes"] == []
    for name, words in (
        ("ring", "ties that are left below the ring keep 7 mm or more"),
        ("deeper", "the insert reaches 6 mm down, below its register of 4 mm"),
    ):
        (note,) = designs[name]["machined_notes"]
        assert note.startswith(words)
        assert f"{name}, {words}" in terminal
        assert f"<b>{name}</b>, {words}" in page


def test_the_page_tells_form_and_register(told):
    assert "<td>ring</td><td>5 mm</td>" in told[2]
    assert "pieces; register 4 mm deep, 1.5 mm off the barrel wall, 1.5 mm off the outer" in told[2]
    assert "a ledge of 1.5 mm" in told[2]


def test_a_ring_as_deep_as_a_tie_says_that_the_tie_is_gone():
    ties = (Tie(clock=0, width=8, depth=12), Tie(clock=6, width=8, depth=20))
    block = Block(bore=80, barrel_wall=7, jacket=10, outer_wall=8, ties=ties)
    zone = DeeperZone(clock=3, width=20, depth=15)
    held = Insert(depth=12, form="ring", zones=(zone,))
    notes = machined_notes(DeckSection(block=block, depth=24, insert=held))
    assert re.match(
        r"ties milled away, as the ring is no shallower: 12:00; the ring alone", notes[0]
    )
    assert notes[1:] == [
        "ties that are left below the ring keep 8 mm or more",
        "deeper zones of the ring end at these ties",
    ]
