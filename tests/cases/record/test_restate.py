"""A rating that names a record: its limits restated, read back where people read them."""

import json
import math
import re
import shutil
from dataclasses import replace

import pytest
from bench import BARE, BLOCK, TIES
from click.testing import CliRunner
from pictured import fits_a_narrow_screen
from scipy.stats import binom

from cases import read_case, solve_case
from cases.base.faults import CaseError
from cases.base.subject import Work
from cases.base.templates import render
from cases.cli import main
from cases.gas.solve import gas_of
from cases.rating.limit import stands
from cases.rating.result import rating_of
from cases.record.chapter import record_chapter
from cases.record.engines import prediction_of
from cases.record.entry import entry
from cases.record.figures import engines_figure
from cases.record.given import with_store
from cases.record.lines import record_lines, span_words, success_lines
from cases.record.posterior import posterior_of
from cases.record.restate import restate
from cases.record.result import record_of
from cases.record.success import failing_share
from cases.report.rated import inputs_hash
from cases.report.results import results_dict
from cases.store.file import opened
from cases.verdict.read import verdict_of
from cases.verdict.terminal import rows_table
from cases.verdict.top import carries_cells

CASE = f"""\
{BLOCK}{TIES}{BARE}[rating]
draws = 300
[record]
store = "shop.sqlite"
"""
LIMIT = {"design": "bare", "low": "240 bar", "limit": "300 bar", "high": "375 bar"}


def add_job(store, number, *lines):
    with opened(store, make=True) as record:
        record.new(number, entry("block", {"block": f"B-{number}"}, who="R", date="2026-01-01"))
        for at, (kind, typed) in enumerate([("design", LIMIT), *lines], 1):
            record.add(number, [entry(kind, typed, who="R", date=f"2026-02-{at:02d}")])


def sound(peak, cycles="1e7"):
    return ("run", {"peak": peak, "cycles": cycles}), ("opened", {"found": "sound"})


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    add_job(folder / "shop.sqlite", "1", *sound("330 bar"))
    add_job(folder / "shop.sqlite", "2", *sound("315 bar", "3e6"))
    add_job(folder / "shop.sqlite", "3", ("run", {"peak": "300 bar", "cycles": "1e6"}))
    (folder / "case.toml").write_text(CASE)
    return folder


@pytest.fixture(scope="module")
def solved(folder):
    return solve_case(read_case(folder / "case.toml"), rate=True)


def again(solved, store):
    """What another record says of the same solved case."""
    work = Work(case=solved.case, found=solved.found, tell=lambda *_: None, designs=solved.designs)
    return restate(work, store)


def test_engines_that_outlive_their_limits_raise_it(solved):
    (design,) = solved.designs
    (told,) = record_of(solved).designs
    rating = rating_of(design)
    assert told.limit == rating.stands
    engines = record_of(solved).engines
    assert [engine.job for engine in engines] == ["1", "2"]
    spread = math.log(told.band[2] / told.band[0]) / (2 * 1.644854)
    after, before = posterior_of(engines, spread), posterior_of([], spread)
    times = after.capacity(0.1) / before.capacity(0.1)  # 9 of 10 draws carry the limit
    assert times > 1.02
    assert told.restated.factor == pytest.approx(told.limit.factor * times, rel=1e-5)
    assert told.restated.pressure_mpa == pytest.approx(
        stands(gas_of(solved), told.restated.factor).pressure_mpa
    )
    assert told.restated.error == pytest.approx(told.limit.error * times)
    assert told.shop_factor[1] == pytest.approx(after.factor(0.5), rel=1e-5)
    for unstated, restated, share in zip(
        told.band, told.restated_band, (0.05, 0.5, 0.95), strict=True
    ):
        assert restated == pytest.approx(
            unstated * after.capacity(share) / before.capacity(share), rel=1e-5
        )


def test_a_record_that_says_nothing_leaves_the_limit_as_it_is(solved, tmp_path):
    add_job(tmp_path / "other.sqlite", "9")
    found = again(solved, tmp_path / "other.sqlite")
    (told,) = found.designs
    assert told.restated == told.limit
    assert told.restated_band == told.band
    assert found.silent == {"9": "no run is on record"}
    assert "moves no limit" in record_chapter(found).finding


def test_an_engine_that_cracked_early_lowers_it(solved, tmp_path):
    add_job(
        tmp_path / "other.sqlite", "9", ("run", {"peak": "240 bar", "cycles": "1e7"}),
        ("opened", {"found": "crack", "bore": "1"}),
    )  # fmt: skip
    found = again(solved, tmp_path / "other.sqlite")
    (told,) = found.designs
    assert told.restated.pressure_mpa < 0.97 * told.limit.pressure_mpa
    assert told.success is None
    assert success_lines(found) == []


def test_engines_that_live_beside_one_that_cracked(solved, folder):
    """Two live, one cracked: at most the binomial bound of one of three."""
    path = folder / "mixed.sqlite"
    shutil.copy(record_of(solved).store, path)
    add_job(
        path, "9", ("run", {"peak": "240 bar", "cycles": "1e7"}),
        ("opened", {"found": "crack", "bore": "1"}),
    )  # fmt: skip
    found = again(solved, path)
    (told,) = found.designs
    assert (told.success.engines, told.success.failed, told.success.by_life) == (2, 1, None)
    share = told.success.share
    assert binom.cdf(1, 3, share) == pytest.approx(0.1)  # a general library
    (line,) = success_lines(found)
    assert "and 1 cracked, each at its own load" in line
    assert f"at most {100 * share:.0f} in a hundred fail in as many (binomial)." in line


def test_the_honest_sentence_where_none_has_cracked(solved):
    (told,) = record_of(solved).designs
    # both ran at 1.05 times their own predicted limit or more; the asked load is less of this one's
    assert told.success.engines == 2
    assert told.success.cycles == 3e6
    assert told.success.share == pytest.approx(1 - 0.1**0.5)  # success-run theorem, n = 2
    slope = told.success.slope
    assert told.success.by_life == pytest.approx(failing_share(1 + (1e7 / 3e6) ** slope))
    (line,) = success_lines(record_of(solved))
    assert line.startswith("2 engines ran 3e+06 cycles, or more,")
    assert "with 90 % confidence at most 68 in a hundred fail" in line


def span(three):
    return f"{10 * three[0]:.0f}-{10 * three[2]:.0f}"


def test_the_interval_of_a_restated_limit_is_that_of_its_load(solved):
    (told,) = record_of(solved).designs
    gas = gas_of(solved)
    for factors, pressures in (
        (told.band, told.band_mpa), (told.restated_band, told.restated_band_mpa)
    ):  # fmt: skip
        known = [stands(gas, factor).pressure_mpa for factor in factors]
        assert pressures == pytest.approx(known)
    assert told.restated_band_mpa[0] < told.restated.pressure_mpa < told.restated_band_mpa[2]
    assert span_words((0.5, 1.0, 2.0), None) == "0.50-2.00 x"


def test_a_design_that_has_no_band_is_named(solved):
    (design,) = solved.designs
    rating = replace(rating_of(design), band=None, solid=None)
    bare = replace(design, found={**design.found, "rating": rating})
    found = record_of(solved)
    work = Work(case=solved.case, found=solved.found, tell=lambda *_: None, designs=[bare])
    lines = record_lines(restate(work, found.store))
    assert any("Not restated: bare" in str(line) for line in lines)


def test_the_terminal_tells_limits_beside_restated_ones_and_who_moved_them(solved):
    found = record_of(solved)
    (told,) = found.designs
    first, table, moved, *_, last = record_lines(found)
    assert f"bare carries {told.shop_factor[1]:.2f} times" in first
    assert table.rows == (
        (
            "bare", f"{10 * told.limit.pressure_mpa:.0f}", span(told.band_mpa),
            f"{10 * told.restated.pressure_mpa:.0f}", span(told.restated_band_mpa),
        ),
    )  # fmt: skip
    shifts = dict(zip(("1", "2"), told.shifts, strict=True))
    for job, shift in shifts.items():
        assert f"{job} (sound) {100 * shift:+.1f} %" in moved
    assert "2 of 3 jobs on record say something of strength" in last


def test_the_verdict_has_the_restated_limit_beside_the_limit(solved, tmp_path):
    (told,) = record_of(solved).designs
    bars = [f"{10 * of.pressure_mpa:.0f}" for of in (told.limit, told.restated)]
    assert bars[0] != bars[1]
    verdict = verdict_of(solved)
    table = rows_table(verdict)
    place = table.headings.index("By shop\nbar")
    assert list(table.rows[0][place - 1 : place + 1]) == bars
    assert table.headings[table.words[-1]] == "Governs"
    cells = carries_cells(verdict.row, 0.9)
    assert cells["limit by the shop's engines"] == f"{bars[1]} bar"
    silent = replace(record_of(solved), engines=())
    quiet = verdict_of(replace(solved, found={**solved.found, "record": silent}))
    assert "By shop\nbar" not in rows_table(quiet).headings
    assert carries_cells(quiet.row, 0.9)["limit by the shop's engines"] == ""


def test_the_page_tells_the_same(solved):
    found = record_of(solved)
    (told,) = found.designs
    chapter = record_chapter(found)
    page = render(chapter.template, picture=lambda name: name, **chapter.contents)
    cells = [re.sub(r"<[^>]*>", "", cell) for cell in re.findall(r"<td[^>]*>.*?</td>", page)]
    assert cells[:5] == [
        "bare", f"{10 * told.limit.pressure_mpa:.0f}", span(told.band_mpa),
        f"{10 * told.restated.pressure_mpa:.0f}", span(told.restated_band_mpa),
    ]  # fmt: skip
    assert cells[5:9] == [
        ", ".join(f"{value:.2f}" for value in three)
        for three in (told.band, told.restated_band, told.shop_factor, told.prior_factor)
    ]
    assert cells[9:14] == ["1", "bare", "sound", f"{330 / 300:.2f}", "&ndash;"]
    assert cells[14] == f"{100 * told.shifts[0]:+.2f}"
    assert "3: it was never opened" in page


def test_the_picture_has_each_engine_and_each_factor(solved):
    figure = engines_figure(record_of(solved))
    assert fits_a_narrow_screen(figure)
    (axes,) = figure.axes
    assert [label.get_text() for label in axes.get_yticklabels()] == [
        "bare, predicted", "bare, shop", "job 2", "job 1",
    ]  # fmt: skip
    triangles = [line.get_xdata()[0] for line in axes.lines if line.get_marker() == ">"]
    assert triangles[1] == pytest.approx(1.1)


def test_results_hold_the_restated_limit_and_what_the_record_keeps(solved, folder):
    found = results_dict(solved)
    (design,) = found["designs"]
    (told,) = record_of(solved).designs
    assert design["restated"]["limit"]["pressure_mpa"] == pytest.approx(told.restated.pressure_mpa)
    assert design["restated"]["unstated_limit"] == {
        key: value for key, value in design["rating"]["limit"].items()
        if key in design["restated"]["unstated_limit"]
    }  # fmt: skip
    assert found["record"]["silent"] == {"3": "it was never opened"}
    (folder / "rated.json").write_text(json.dumps(found))
    line = entry("design", {"design": "bare", "results": str(folder / "rated.json")}, who="R")
    kept = prediction_of(line)
    band = rating_of(solved.designs[0]).told_band
    assert kept.factor == pytest.approx(band.factor, rel=1e-6)
    assert kept.pressure_mpa == pytest.approx(band.pressure_mpa, rel=1e-6)
    assert kept.cycles == 1e7
    fatigue = solved.case.materials["barrel"].fatigue
    assert kept.slope == pytest.approx(-fatigue.exponent, rel=1e-6)


def test_the_record_is_not_in_the_hash_of_what_was_solved(solved):
    bare = solved.case.told("record", None)
    assert inputs_hash(solved.case) == inputs_hash(bare)


def test_a_record_that_is_not_there_is_refused_before_anything_is_solved(folder, tmp_path):
    text = CASE.replace("shop.sqlite", "shp.sqlite")
    (tmp_path / "case.toml").write_text(text)
    with pytest.raises(CaseError, match="There is no record yet") as refused:
        read_case(tmp_path / "case.toml")
    assert refused.value.faults[0].path == "record.store"
    (folder / "job.toml").write_text(f'{CASE}job = "11"\n')
    with pytest.raises(CaseError, match="There is no such job") as refused:
        read_case(folder / "job.toml")
    assert refused.value.faults[0].path == "record.job"
    done = CliRunner().invoke(
        main, ["rate", str(folder / "case.toml"), "--store", str(tmp_path / "none.sqlite")]
    )
    assert done.exit_code == 2
    assert "There is no record yet" in done.output


def test_a_store_given_beside_the_case_counts(folder, tmp_path):
    add_job(tmp_path / "other.sqlite", "9")
    case = read_case(folder / "case.toml")
    assert with_store(case, None) is case
    assert with_store(case, tmp_path / "other.sqlite").given["record"].store == (
        tmp_path / "other.sqlite"
    )
