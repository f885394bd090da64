"""What people see of a case that is typed in inches, psi, degF and hp, against the same in metric.

1 in is 25.4 mm, exact; 1 psi 6894.757 Pa, 1 hp 745.69987 W and 1 lbf 4.4482216 N (NIST SP 811,
2008, appendix B.8); 0 degC is 32 degF and a kelvin 1.8 of its degrees. Metric tables are held
against the objects that they came from elsewhere.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from matplotlib.text import Text
from readback import CLOCK, Page, plain

from cases.base.figures import new_figure
from cases.base.spoken import Spoken, spoken_in
from cases.base.subject import TextTable
from cases.report import page as report
from cases.report.in_units import draw_in, page_in, table_in
from cases.report.page import write_report
from cases.report.results import results_dict
from cases.report.terminal import print_result
from cases.stress import SUBJECT
from cases.subjects import SUBJECTS

INCH = Spoken(
    length="in", small="thou", pressure="psi", temperature="degF", power="hp", force="lbf"
)
SIZES = {
    "in": ("mm", 25.4), "thou": ("um", 25.4), "psi": ("bar", 0.06894757), "ksi": ("MPa", 6.894757),
    "degF": ("degC", 5 / 9), "hp": ("kW", 0.74569987), "in2": ("mm2", 645.16),
    "in\u00b2": ("mm\u00b2", 645.16), "in3": ("cm3", 16.387064), "lbf": ("N", 4.4482216),
    "lbf per in": ("N per mm", 4.4482216 / 25.4), "ksi per in": ("MPa per mm", 6.894757 / 25.4),
    "lbf ft": ("N m", 1.3558179), "ksi \u221ain": ("MPa \u221am", 6.894757 * math.sqrt(0.0254)),
}  # fmt: skip
"""Unit that is told: the metric one that it stands for, and how much of that it is."""
FINEST = {
    "thou": 0.01,
    "in": 1e-4,
    "psi": 0.1,
    "in2": 1e-3,
    "in\u00b2": 1e-3,
    "lbf": 0.1,
    "lbf per in": 1.0,
    "lbf ft": 1.0,
}
NUMBER = re.compile(r"(?<![\w.:])[-+]?\d+(?:\.\d+)?(?:e[+-]?\d+)?")
UNITS = "|".join(
    sorted(map(re.escape, [*SIZES, "mm", "um", "bar", "MPa", "degC", "kW"]), key=len)[::-1]
)
UNIT = re.compile(rf"\s*({UNITS})(?![\w/\u00b2]| \u221a| per (?:mm|in))")


def same(told, unit, written, times=1.0):
    """Whether a number in a unit is one that was written in the metric unit it stands for."""
    size = times * SIZES[unit][1]
    zero = 32.0 if unit == "degF" else 0.0
    step = 10.0 ** -len(written.partition(".")[2])
    fine = 10.0 ** -len(told.partition(".")[2])
    slack = 0.5 * step + 0.5 * size * max(fine, FINEST.get(unit, 0.0))
    return abs((float(told) - zero) * size - float(written)) <= slack


@pytest.fixture(scope="module")
def both(told_result, tmp_path_factory):
    """Page and results of the same, in metric units and in inches."""
    told = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(report, "_data_address", lambda path: path.name)
        for spoken in (Spoken(), INCH):
            result = replace(told_result, case=replace(told_result.case, spoken=spoken))
            path = write_report(result, tmp_path_factory.mktemp("page"))
            told.append((result, Page(path.read_text(encoding="utf-8")), results_dict(result)))
    return told


def test_every_number_of_a_table_is_told_in_the_units_of_the_file(both):
    (_, metric, _), (_, inch, _) = both
    seen = set()
    for one, other in zip(metric.tables, inch.tables, strict=True):
        for row, told in zip(one.rows, other.rows, strict=True):
            for place, (cell, shown) in enumerate(zip(row, told, strict=True)):
                heading = other.headings[place][0] if other.headings else ""
                found = re.search(r"\[([^\]]+)\]", heading)
                told_there = re.sub(r"\[[^\]]*\]", "", CLOCK.sub("", shown))
                seen |= checked(CLOCK.sub("", cell), told_there, found[1] if found else "")
    assert seen >= {
        "in",
        "thou",
        "psi",
        "ksi",
        "degF",
        "hp",
        "lbf",
        "in\u00b2",
        "lbf per in",
        "ksi \u221ain",
    }


def checked(cell, shown, heading):
    """Units of a cell whose numbers are those of the metric one."""
    if heading == "ksi at degF" and not cell.startswith("Source: "):
        hot = [re.findall(r"([\d.]+) at ([\d.]+)", of) for of in (cell, shown)]
        for (of, at), (told, told_at) in zip(*hot, strict=True):
            assert same(told, "ksi", of), (cell, shown)
            assert same(told_at, "degF", at), (cell, shown)
        return {heading} if hot[0] else set()
    written, told = list(NUMBER.finditer(cell)), list(NUMBER.finditer(shown))
    assert len(written) == len(told), (cell, shown)
    seen = set()
    units = [UNIT.match(shown, match.end()) for match in told]
    for place, (one, other) in enumerate(zip(written, told, strict=True)):
        own = next((unit[1] for unit in units[place:] if unit), "")
        unit = own if own in SIZES else heading
        if unit not in SIZES or one[0] == other[0]:
            continue
        thousand = unit == "lbf" and cell[one.end() :].startswith(" kN")
        assert same(other[0], unit, one[0], 1e-3 if thousand else 1.0), (cell, shown, unit)
        seen.add(unit)
    return seen


def test_no_metric_unit_is_left_but_in_brackets_and_where_there_is_no_other(both):
    _, (_, inch, _) = both
    text = plain(" ".join(line for lines in inch.prose.values() for line in lines))
    text = re.sub(r"\[[^\]]*\]", "", text)
    assert re.findall(r"\d (?:um|mm|bar|degC|kW|MPa|cm2|mm2|N per mm)\b(?!/)", text) == []
    assert re.search(r"\d thou\b", text)
    assert re.search(r"\d psi\b", text)


def test_limit_and_fit_stand_in_both_and_are_those_of_the_results(both):
    _, (_, inch, results) = both
    table = next(one for one in inch.tables if "wanted." in one.title)
    names = [name for name, _ in table.headings]
    for cells, row in zip(table.rows, results["verdict"]["rows"], strict=True):
        limit = cells[names.index("limit")]
        psi, bar = map(float, re.match(r"([\d.]+) psi \[([\d.]+) bar\]", limit).groups())
        assert bar == pytest.approx(row["limit_bar"], abs=0.5)
        assert psi * 0.06894757 == pytest.approx(row["limit_bar"], abs=0.9)
        if row["fit"]:
            fit = cells[names.index("fit to make")]
            thou = [float(one) for one in re.findall(r"[\d.]+(?= to| thou)", fit)][:2]
            for told, key in zip(thou, ("low_um", "high_um"), strict=True):
                assert told * 25.4 == pytest.approx(row["fit"][key], abs=0.2)
            assert f"[{row['fit']['low_um']:.1f} to {row['fit']['high_um']:.1f} um]" in fit


def test_results_speak_in_their_texts_and_keep_the_units_of_their_keys(both):
    (_, _, metric), (_, _, inch) = both
    assert " psi [" in inch["verdict"]["sentence"]
    assert not re.search(r"\d bar\b", re.sub(r"\[[^\]]*\]", "", inch["verdict"]["paragraph"]))
    assert " bar" in metric["verdict"]["sentence"]
    assert " psi" not in metric["verdict"]["sentence"]
    assert numbers_in(metric) == numbers_in(inch)


def numbers_in(found):
    if isinstance(found, dict):
        return {key: numbers_in(value) for key, value in found.items()}
    if isinstance(found, list):
        return [numbers_in(value) for value in found]
    return found if not isinstance(found, str) else None


def test_the_terminal_tells_the_same(both, monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", "400")
    _, (result, _, results) = both
    print_result(result)
    said = capsys.readouterr().out
    assert results["verdict"]["sentence"] in plain(said)
    metric = r"\d (?:um|mm|bar|degC|kW|MPa|N per mm)\b"
    assert re.findall(metric, re.sub(r"\[[^\]]*\]", "", said)) == []
    lines = said.splitlines()
    start = next(place for place, line in enumerate(lines) if "carry it" in line)
    row = results["verdict"]["rows"][0]
    cells = next(line for line in lines[start:] if line.startswith(row["design"]))
    told = [float(one) for one in re.findall(r"(?<=\s)\d+(?=\s)", cells)]
    assert any(math.isclose(one * 0.06894757, row["limit_bar"], abs_tol=0.9) for one in told)


def test_a_heading_of_the_terminal_gives_its_column_its_unit(told_result):
    inch = replace(told_result.case, spoken=INCH)
    table = TextTable(
        title="At 100 bar", headings=("Design", "Limit\nbar", "Fit to make\num", "Life"),
        rows=(("a", "> 1.5 x", "5-10 side", "3 h"), ("b", "100", "none will do", "3 bar")),
    )  # fmt: skip
    told = table_in(table, inch)
    assert told.title == "At 1450 psi"
    assert told.headings == ("Design", "Limit\npsi", "Fit to make\nthou", "Life")
    assert told.rows[0] == ("a", "> 1.5 x", "0.20-0.39 side", "3 h")
    assert told.rows[1] == ("b", "1450", "none will do", "44 psi")


def test_what_was_typed_is_told_as_it_was_typed():
    """3.425 in is 86.995 mm, which is told as 87 mm; 1400 psi is 96.5 bar."""
    spoken = spoken_in({"bore": "3.425 in", "wall": "0.25 in", "peak": "1400 psi"})
    assert spoken.told("bore 87 mm, wall 6.35 mm at 97 bar") == (
        "bore 3.425 in, wall 0.25 in at 1400 psi"
    )
    assert spoken.told("bore 88 mm at 98 bar") == "bore 3.46 in at 1421 psi"


def test_what_a_user_wrote_is_left_as_it_is(told_result, tmp_path, monkeypatch):
    monkeypatch.setattr(report, "_data_address", lambda path: path.name)
    case = replace(told_result.case, spoken=INCH, name="Bore of 80 mm & more", note="At 5 bar.")
    page = write_report(replace(told_result, case=case), tmp_path).read_text(encoding="utf-8")
    assert "<h1>Bore of 80 mm &amp; more</h1>" in page
    assert "At 5 bar." in page


def test_axes_of_a_picture_show_the_units_of_the_file(told_result):
    figure = new_figure(4, 3)
    axes = figure.add_subplot()
    axes.plot([0, 100], [20, 150])
    axes.set_xlim(0, 100)
    axes.set_xlabel("growth [um]")
    axes.set_ylabel("wall [degC]")
    axes.text(50, 50, "12.7 um")
    draw_in(figure, replace(told_result.case, spoken=INCH))
    assert axes.get_xlabel() == "growth [thou]"
    assert axes.get_ylabel() == "wall [degF]"
    assert axes.texts[0].get_text() == "0.50 thou"
    figure.draw_without_rendering()
    for at, label in zip(axes.get_xticks(), axes.get_xticklabels(), strict=True):
        assert float(label.get_text()) * 25.4 == pytest.approx(at)
    for at, label in zip(axes.get_yticks(), axes.get_yticklabels(), strict=True):
        assert (float(label.get_text()) - 32) * 5 / 9 == pytest.approx(at)
    assert len(axes.get_xticks()) > 2


def test_rings_of_a_polar_picture_are_told_in_its_units(told_result):
    figure = dict(SUBJECT.figures(told_result))["growth"]
    draw_in(figure, replace(told_result.case, spoken=INCH))
    (axes,) = figure.axes
    (words,) = [text.get_text() for text in axes.texts if "growth outward" in text.get_text()]
    assert words.startswith("growth outward [thou]")
    figure.draw_without_rendering()
    rings = [
        (at, label.get_text())
        for at, label in zip(axes.get_yticks(), axes.get_yticklabels(), strict=True)
    ]
    assert len(rings) > 2
    for at, label in rings:
        assert float(label) * 25.4 == pytest.approx(at)


def test_no_picture_of_an_inch_case_speaks_metric(told_result):
    metric = re.compile(r"\b(?:mm2?|um|MPa|bar|degC|kW)\b")
    case, left = replace(told_result.case, spoken=INCH), []
    for subject in SUBJECTS:
        for hook in ("maps", "figures"):
            for name, figure in getattr(subject, hook)(replace(told_result, case=case)):
                draw_in(figure, case)
                said = [text.get_text() for text in figure.findobj(Text)]
                left += [(name, words) for words in said if metric.search(words)]
    assert [one for one in left if "next mm" not in one[1]] == []


def test_a_cell_over_several_columns_leaves_the_next_under_its_own_heading(told_result):
    inch = replace(told_result.case, spoken=INCH)
    page = (
        "<table><thead><tr><th>a [mm]</th><th>b</th><th>c [bar]</th></tr></thead><tbody><tr>"
        '<td colspan="2">25.4</td><td>10</td></tr></tbody></table>'
    )
    told = page_in(page, inch)
    assert "<th>a [in]</th><th>b</th><th>c [psi]</th>" in told
    assert '<td colspan="2">1.000</td><td>145</td>' in told
