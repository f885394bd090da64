"""What was rated stands until it is rated again, and counts only for the same case and version."""

import json
import re

import pytest
from bench import BARE, BLOCK, TIES
from click.testing import CliRunner

from cases.base.digest import digest_of
from cases.cli import main
from cases.report import rated
from cases.report.rated import inputs_hash, rated_findings
from cases.solid.given import with_solid

RATING = "[rating]\ndraws = 0\n"
CASE = (BLOCK, TIES, BARE, RATING)


@pytest.fixture(autouse=True)
def _quick(unpictured):
    pass


def run(verb, tmp_path, *texts):
    path = tmp_path / "case.toml"
    path.write_text("".join(texts), encoding="utf-8")
    out = tmp_path / "out"
    done = CliRunner().invoke(main, [verb, "--section", str(path), "--out", str(out)])
    assert done.exit_code == 0, done.output
    results = json.loads((out / "results.json").read_text(encoding="utf-8"))
    return out, results, " ".join(done.output.split())


def test_solve_leaves_a_rating_standing(tmp_path, case_of):
    out, at_rate, _ = run("rate", tmp_path, *CASE)
    assert "rated" not in at_rate
    limit = at_rate["designs"][0]["rating"]["limit"]["pressure_mpa"]
    words = f"Rated before, the same case by the same version: bare {10 * limit:.0f} bar"
    _, results, told = run("solve", tmp_path, "# a remark\n", *CASE)
    assert results["inputs_hash"] == at_rate["inputs_hash"]
    assert results["rated"]["agrees"]
    assert results["rated"]["words"].startswith(words)
    assert "rating" not in results["designs"][0]
    assert words in told
    assert words in (out / "report.html").read_text(encoding="utf-8")
    found = rated_findings(out, case_of(*CASE))
    assert found.results["designs"][0]["rating"] == at_rate["designs"][0]["rating"]
    _, results, told = run("solve", tmp_path, *CASE, '[[relief_cut]]\nclock = "2:15"\n'
        'radius = "54.5 mm"\ndiameter = "18 mm"\ndepth = "16 mm"\n')  # fmt: skip
    assert not results["rated"]["agrees"]
    assert "of another case, or of this one before it was changed" in told
    assert rated_findings(out, case_of(*CASE)).results == found.results


def test_a_rating_takes_the_place_of_one_before(tmp_path, case_of):
    run("rate", tmp_path, *CASE)
    other = (*CASE, 'reliability = "90 %"\n')
    out, results, _ = run("rate", tmp_path, *other)
    assert "rated" not in results
    assert rated_findings(out, case_of(*CASE)).results is None
    assert rated_findings(out, case_of(*other)).results["inputs_hash"] == results["inputs_hash"]


def test_nothing_is_said_where_nothing_was_rated(tmp_path, case_of):
    out, results, told = run("solve", tmp_path, *CASE)
    assert "rated" not in results
    assert "Rated" not in told
    assert "run hoopclock rate" in rated_findings(out, case_of(*CASE)).words


def kept(folder, case, **changes):
    limit = {"factor": 1.2, "pressure_mpa": None}
    held = {
        "hoopclock": rated.__version__, "inputs_hash": inputs_hash(case),
        "designs": [{"design": "bare", "rating": {"limit": limit}}], **changes,
    }  # fmt: skip
    (folder / "rated.json").write_text(json.dumps(held), encoding="utf-8")
    return rated_findings(folder, case)


def test_why_a_rating_does_not_count(tmp_path, case_of):
    case = case_of(*CASE)
    assert "bare 1.20 times the gas load" in kept(tmp_path, case).words
    unlimited = [{"design": "bare", "rating": {"limit": None}}]
    assert "bare no limit found" in kept(tmp_path, case, designs=unlimited).words
    for words, changes in (
        ("by version 0.0.1", {"hoopclock": "0.0.1"}),
        ("of another case", {"inputs_hash": "0" * 16}),
        ("can't be read", {"designs": 3}),
        ("can't be read", {"designs": [{"design": "bare"}]}),
    ):
        found = kept(tmp_path, case, **changes)
        assert found.results is None
        assert words in found.words
    (tmp_path / "rated.json").write_text("{", encoding="utf-8")
    assert "can't be read" in rated_findings(tmp_path, case).words


@pytest.mark.parametrize(
    ("old", "new", "alike"),
    [
        ('bore = "80 mm"', 'bore = "8 cm"', True),
        ("bench block (invented)", "another name", True),
        ('wall = "8 mm"', 'wall = "8.001 mm"', False),
        ("120 bar", "121 bar", False),
        ("draws = 0", "draws = 100", False),
        ("A356-T6", "319-T6", False),
    ],
)
def test_what_the_hash_sees(case_of, old, new, alike):
    text = "".join(CASE)
    assert old in text
    same = inputs_hash(case_of(text)) == inputs_hash(case_of(text.replace(old, new, 1)))
    assert same == alike


def test_a_file_in_inches_of_the_same_block_has_the_same_hash(case_of):
    """1 in is 25.4 mm, exact."""
    text = "".join(CASE)
    inches = re.sub(r'"([\d.]+) mm"', lambda found: f'"{float(found[1]) / 25.4:.13g} in"', text)
    assert case_of(inches).spoken.length == "in"
    assert inputs_hash(case_of(inches)) == inputs_hash(case_of(text))


def test_the_hash_is_of_the_version_and_not_of_how_finely_it_is_solved(case_of, monkeypatch):
    case = case_of(*CASE)
    before = inputs_hash(case)
    assert inputs_hash(with_solid(case, "fine")) == before
    monkeypatch.setattr(rated, "__version__", "9.9.9")
    assert inputs_hash(case) != before


def test_what_has_no_digest_is_refused():
    with pytest.raises(TypeError, match="object has no digest"):
        digest_of([object()])
