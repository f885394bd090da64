"""The verb ``rate`` from end to end: rating, depth section and crack in one run."""

import json

import pytest
from bench import BARE, BLOCK, HEAT, TIES
from click.testing import CliRunner

from cases.cli import main

CUT = '[[relief_cut]]\nclock = "2:15"\nradius = "54.5 mm"\ndiameter = "18 mm"\ndepth = "16 mm"\n'
CRACK = 'flaw = "0.5 mm"\ngas_in_crack = false\nspeed = "6000 rpm"\n'
ALL = '[rating]\ndraws = 0\n[depth]\nfloor = "90 mm"\n[crack]\n' + CRACK


def run(tmp_path, *texts):
    path = tmp_path / "case.toml"
    path.write_text("".join(texts), encoding="utf-8")
    out = tmp_path / "out"
    done = CliRunner().invoke(main, ["rate", "--section", str(path), "--out", str(out)])
    return done, out


@pytest.fixture(scope="module")
def rated(tmp_path_factory):
    return run(tmp_path_factory.mktemp("rate"), BLOCK, HEAT, TIES, CUT, BARE, ALL)


def test_everything_is_in_the_results(rated):
    done, out = rated
    assert done.exit_code == 0, done.output
    results = json.loads((out / "results.json").read_text(encoding="utf-8"))
    for design in results["designs"]:
        assert design["rating"]["limit"]["factor"] > 0
        assert design["rating"]["band"] is None
        assert design["depth"]["growth_um"]
        assert design["crack"]["k1_mpa_sqrt_m"]
        assert design["pressure"]
    files = set(results["files"])
    assert {"ladder.svg", "haigh.png", "depth.svg", "crack-growth.png"} <= files


def test_everything_is_on_the_page(rated):
    _, out = rated
    page = (out / "report.html").read_text(encoding="utf-8")
    chapters = ("What each design stands", "The barrel from the side", "What a crack does")
    places = [page.index(f". {chapter}</h2>") for chapter in chapters]
    assert places == sorted(places)
    numbers = [page[place - 1] for place in places]
    assert numbers == ["7", "8", "9"]
    assert "at the spot that governs design bare at its limit" in page  # as is the stress there
    assert "stand -0 MPa" not in page


def test_the_terminal_tells_limit_and_cautions(rated):
    done, _ = rated
    assert "What each design stands, an estimate" in done.output
    assert "fatigue" in done.output or "strength" in done.output
    assert "estimate" in done.output
    assert "The barrel from the side at" in done.output
    assert "A crack of 0.5 mm in the barrel" in done.output
    assert "safe" not in done.output.replace("Safety", "").replace("safety", "")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            '[crack]\nclock = "2:00"\npart = "tie"\n' + CRACK,
            "no tie at",
        ),
        (
            '[crack]\nclock = "3:00"\nlongest = "60 mm"\n' + CRACK,
            "longest",
        ),
        ('[depth]\nfloor = "5 mm"\n', "floor"),
        ('[depth]\nleast_gain = "1 %"\n', "floor"),
    ],
)
def test_what_can_t_be_is_refused_with_nothing_left(tmp_path, text, words):
    done, out = run(tmp_path, BLOCK, TIES, BARE, "[rating]\ndraws = 0\n", text)
    assert done.exit_code == 2, done.output
    assert words in done.output
    assert not out.exists()
