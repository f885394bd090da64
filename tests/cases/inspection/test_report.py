"""The verdict on the casting, and every number of it that people see, read back."""

import html
import json
import re
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner
from inspected import HEAD, LINER, TWO, lines, wall
from pictured import fits_a_narrow_screen

from cases import read_case
from cases.base.templates import render
from cases.cli import main
from cases.inspection import SUBJECT
from cases.inspection.accept import least_walls, rulings, word_of
from cases.inspection.chapter import MOST_ROWS, inspection_chapters
from cases.inspection.data import inspection_dict
from cases.inspection.figures import walls_figure
from cases.inspection.words import bore_words, outlier_words, verdict_words, walls_words

CRACK = '[[inspection.crack]]\nbore = 2\nclock = "7:40"\ndepth = "3 mm"\n'


@pytest.fixture
def found(tmp_path):
    def of(readings, rules="", text=TWO, more=""):
        (tmp_path / "walls.csv").write_text(HEAD + readings)
        names = 'readings = "walls.csv"\n' if readings else ""
        rules = f"[acceptance]\n{rules}" if rules else ""
        path = tmp_path / "case.toml"
        path.write_text(f'{text}[inspection]\n{names}{more}{rules}[[design]]\nname = "bare"\n')
        return read_case(path).given["inspection"]

    return of


def the(seen, rule):
    (found,) = [of for of in rulings(seen) if of.rule == rule]
    return found


def test_the_least_wall_is_found_with_its_place(found):
    seen = found(lines(1) + lines(2, mean=6.6))
    one, two = least_walls(seen)
    assert (one.bore, one.depth) == (1, 15)
    assert (one.clock + 6) % 12 == pytest.approx(6.0, abs=0.5)  # opposite to 6:00
    assert two.wall == pytest.approx(wall(two.clock, 6.6), abs=0.02)
    assert two.drawn == 7.0


@pytest.mark.parametrize(
    ("least", "word", "why"),
    [
        ("6.0 mm", "accept", "bore 2 at"),
        ("6.31 mm", "accept with", "within its error, measure again there"),
        ("6.5 mm", "reject", "bore 2 at"),
    ],
)
def test_the_rule_on_walls(found, least, word, why):
    """The thinnest is 6.6 - 0.3 = 6.3 mm (derived)."""
    ruling = the(found(lines(1) + lines(2, mean=6.6), f'least_wall = "{least}"\n'), "least wall")
    assert ruling.word == word
    assert why in ruling.why
    assert "6.30 +- " in ruling.found
    assert "by the drawing 7.00 mm" in ruling.found


def test_the_rule_is_for_bores_as_they_are_to_be_made(found):
    seen = found(lines(1) + lines(2), 'least_wall = "6.5 mm"\n', more='bore_to_make = "81 mm"\n')
    ruling = the(seen, "least wall")
    assert ruling.word == "reject"
    assert "6.20 +- " in ruling.found
    lined = found(lines(1) + lines(2), 'least_wall = "6.5 mm"\n', LINER,
                  'liner = "out"\nbore_to_make = "81 mm"\n')  # fmt: skip
    assert the(lined, "least wall").word == "accept"


@pytest.mark.parametrize(
    ("most", "word"), [("0.2 mm", "reject"), ("0.3 mm", "accept with"), ("0.5 mm", "accept")]
)
def test_the_rule_on_the_shift(found, most, word):
    seen = found(lines(1, size=0.1) + lines(2, size=0.3), f'largest_shift = "{most}"\n')
    ruling = the(seen, "largest shift")
    assert ruling.word == word
    assert "bore 2, thickest towards 6:0" in ruling.why or "5:5" in ruling.why
    assert ruling.found.startswith("0.30 mm (")


def test_the_rules_on_hardness_and_cracks(found):
    rules = "least_hardness = 80\n"
    assert the(found("", rules), "least hardness").word == "accept with"
    assert the(found("", rules, more="hardness = 79\n"), "least hardness").word == "reject"
    assert the(found("", rules, more="hardness = 80\n"), "least hardness").word == "accept"
    cracked = found("", rules, more=CRACK)
    assert the(cracked, "no crack").word == "reject"
    assert "bore 2 at 7:40, 3 mm deep" in the(cracked, "no crack").why
    repaired = found("", rules + 'crack = "repair"\n', more="hardness = 88\n" + CRACK)
    assert word_of(rulings(repaired)) == "accept with"
    assert "repair: bore 2 at 7:40" in verdict_words(repaired)
    assert found("", "", more=CRACK).rules is None
    assert rulings(found("", "")) == ()


def test_what_was_not_measured_is_accepted_only_with_measuring(found):
    one = found(lines(1), 'least_wall = "6 mm"\nlargest_shift = "0.6 mm"\n')
    assert word_of(rulings(one)) == "accept with"
    assert "measure bore 2, of which too little was read" in the(one, "least wall").why
    none = found("", 'least_wall = "6 mm"\n')
    assert the(none, "least wall").found == "not measured"


def test_a_bore_with_too_few_readings_is_told_though_it_has_some(found):
    told = walls_words(found(lines(1) + "2;6:00;5;7;caliper\n"))
    many = lines(1).count("\n") + 1
    assert told.startswith(f"{many} wall readings, enough for the walls of 1 of 2 bores. Thinnest")
    assert told.endswith("Bore 2 as drawn: too few readings, or all on one side.")


def test_an_outlier_is_told_in_words(found):
    seen = found(lines(1) + "1;3:00;15;8.6;ball micrometer\n1;9:00;15;7;ball micrometer\n")
    (words,) = outlier_words(seen)
    assert re.match(r"line 10, bore 1 at 3:00, 15 mm deep: 8.6 mm, \+1\.\d\d mm off", words)


def page_of(seen):
    case = SimpleNamespace(given={"inspection": seen})
    (chapter,) = inspection_chapters(SimpleNamespace(case=case))
    text = render(chapter.template, **chapter.contents, picture=lambda name: name)
    return chapter, html.unescape(re.sub(r"\s+", " ", text))


def test_every_number_of_the_chapter_is_what_was_found(found):
    seen = found(
        lines(1) + lines(2, mean=6.6) + "1;4:45;5;4.1;caliper\n1;12:20;5;9;caliper\n",
        'least_wall = "6.3 mm"\n', more='bore_to_make = "80.5 mm"\n',
    )  # fmt: skip
    chapter, page = page_of(seen)
    assert chapter.finding == verdict_words(seen)
    for of in rulings(seen):
        assert f"<td>{of.asked}</td><td>{of.found}</td><td>{of.word}</td><td>{of.why}</td>" in page
    told = inspection_dict(seen)
    for bore in told["by_bore"]:
        mean = f"{bore['mean_mm']:.2f} &plusmn; {1.6449 * bore['mean_error_mm']:.2f}"
        shift = bore["shift"]
        assert html.unescape(mean) in page
        size = f"{shift['size_mm']:.2f} mm ({shift['low_mm']:.2f} to {shift['high_mm']:.2f} mm)"
        assert size in page
        assert f"thickest towards {shift['thickest']}" in page
        assert f'<td class="n">{bore["scatter_mm"]:.2f}</td>' in page
        least = bore["least"]
        assert f'<td class="n">{least["wall_mm"]:.2f}</td><td>{least["clock"]}, ' in page
        for of in bore["readings"]:
            row = (
                f'<td>{of["clock"]}</td><td class="n">{of["depth_mm"]:g}</td>'
                f'<td class="n">{of["drawn_mm"]:.2f}</td>'
                f'<td class="n">{of["wall_mm"]:.2f} ± {1.6449 * of["error_mm"]:.2f}</td>'
                f'<td class="n">{of["wall_mm"] - of["drawn_mm"]:+.2f}</td>'
            )
            assert row in page
    (cut,) = told["relief_cuts"]
    assert (cut["drawn_mm"], cut["found_mm"]) == (pytest.approx(4.5), pytest.approx(4.1))
    assert '<td>4:45</td><td class="n">4.50</td><td class="n">4.10 ± 0.16</td>' in page
    row = told["row_shift"]
    assert f"{row['size_mm']:.2f} mm ({row['low_mm']:.2f} to {row['high_mm']:.2f} mm)" in page
    assert "a tie stands there" in page
    assert bore_words(seen) in page
    assert "the barrel wall is 0.25 mm thinner all round" in bore_words(seen)
    assert "ball micrometer: 0.03 mm (a ball" in page


def test_a_long_file_is_listed_up_to_a_length(found):
    many = "".join(lines(1, depth=15 + at / 10) for at in range(25))
    _, page = page_of(found(many))
    assert f"the first {MOST_ROWS} of 200; results.json has all" in page


def test_the_map_has_a_panel_a_bore_and_a_dot_a_reading(found):
    seen = found(lines(1) + lines(2, mean=6.6) + "1;4:45;5;4.1;caliper\n")
    figure = walls_figure(seen)
    assert fits_a_narrow_screen(figure)
    panels = [axes for axes in figure.axes if axes.get_title().startswith("bore")]
    assert [axes.get_title() for axes in panels] == ["bore 1", "bore 2"]
    for axes, fit in zip(panels, seen.fits, strict=True):
        dots = {dot for line in axes.lines for dot in zip(*line.get_data(), strict=True)}
        assert dots >= {(of.clock, of.depth) for of in fit.readings}
        (mesh,) = axes.collections
        assert mesh.get_cmap().name == "cividis"
        drawn = np.ma.compressed(mesh.get_array())
        assert drawn.min() > 5.9
    assert figure.axes[-1].get_xlabel() == "barrel wall [mm]"
    (legend,) = figure.legends
    marks = {
        text.get_text(): mark.get_marker()
        for text, mark in zip(legend.get_texts(), legend.get_lines(), strict=True)
    }
    assert marks == {"reading": "o", "at a relief cut": "s"}


def test_a_run_tells_the_verdict_first_and_the_walls(tmp_path):
    (tmp_path / "walls.csv").write_text(HEAD + lines(1) + lines(2, mean=6.6))
    rules = '[acceptance]\nleast_wall = "6.5 mm"\n'
    (tmp_path / "two.toml").write_text(
        f'{TWO}[inspection]\nreadings = "walls.csv"\n{rules}[[design]]\nname = "bare"\n'
    )
    seen = read_case(tmp_path / "two.toml").given["inspection"]
    done = CliRunner().invoke(
        main, ["solve", str(tmp_path / "two.toml"), "--out", str(tmp_path / "out"), "--section"]
    )
    assert done.exit_code == 0, done.output
    said = " ".join(done.output.split())
    assert verdict_words(seen).startswith("The casting: reject: least wall 6.50 mm, found 6.30")
    assert verdict_words(seen) in said
    assert walls_words(seen) in said
    results = json.loads((tmp_path / "out" / "results.json").read_text())
    assert results["inspection"] == inspection_dict(seen)
    assert results["inspection"]["verdict"] == "reject"
    assert (tmp_path / "out" / "walls-read.png").exists()
    page = html.unescape((tmp_path / "out" / "report.html").read_text())
    assert verdict_words(seen) in " ".join(page.split())
    assert "what was not read may be thinner" in page


def test_readings_without_a_method_are_told_as_assumed(found):
    text = lines(1).replace("ball micrometer", "")
    case = SimpleNamespace(given={"inspection": found(text)})
    ((key, words),) = SUBJECT.assumed(SimpleNamespace(case=case))
    assert key == "inspection.readings"
    assert words.startswith("8 of 8 readings name no method, off by 0.15 mm each")


def test_a_case_in_inches_is_answered_in_inches(tmp_path):
    from cases.report.in_units import page_in

    inches = re.sub(r'"([\d.]+) mm"', lambda of: f'"{float(of[1]) / 25.4:.6f} in"', TWO)
    (tmp_path / "walls.csv").write_text(HEAD + lines(1) + lines(2, mean=6.6))
    path = tmp_path / "case.toml"
    path.write_text(
        f'{inches}[inspection]\nreadings = "walls.csv"\n[acceptance]\nleast_wall = "0.25 in"\n'
        'largest_shift = "0.02 in"\n[[design]]\nname = "bare"\n'
    )
    case = read_case(path)
    (chapter,) = inspection_chapters(SimpleNamespace(case=case))
    page = page_in(render(chapter.template, **chapter.contents, picture=lambda name: name), case)
    assert not re.search(r"\d mm(?![\w/2])|\[mm\]", page)
    shift = case.given["inspection"].fit_of(1).shift
    told = [float(of) for of in re.findall(r"([\d.]+) in \(([\d.]+) to ([\d.]+) in\)", page)[0]]
    assert told == pytest.approx(
        [of / 25.4 for of in (shift.size, shift.low, shift.high)], abs=3e-4
    )
