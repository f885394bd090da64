"""A whole search: what is in front, how it goes on, and what it says."""

import io
import json
import os
import signal
import sqlite3
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console
from search_stubs import (
    FEW,
    Here,
    failing_judge,
    searched,
    silent,
    unjudged_finely,
)

from cases.base.faults import CaseError
from cases.base.workers import apart
from cases.block.drawn import draw_all
from cases.gasket.areas import middle_of
from cases.read import case_of, read_case
from cases.report.rated import inputs_hash
from cases.report.terminal import _styled
from cases.search import seek
from cases.search.evaluate import _narrowest
from cases.search.figures import front_figure
from cases.search.found import objectives
from cases.search.loop import POPULATION
from cases.search.saying import Saying
from cases.search.seek import MOST_FINE, may_lead
from cases.search.store import opened
from cases.search.words import (
    closing_lines,
    first_sentence,
    front_table,
    member_names,
    sensitivity_table,
)
from cases.search.write import with_designs, write_search
from geometry.overlay import open_water

TESTS = Path(__file__).parents[2]


def points(of):
    return [dict(seen.point) for seen in of]


def test_the_front_is_of_what_the_fine_solid_has_judged(found):
    result, _ = found
    assert len(result.seen) == FEW
    assert result.front
    assert all(of.fine is not None for of in result.front)
    assert sum(of.fine is not None for of in result.seen) <= MOST_FINE
    values = [objectives(result.given, of.fine) for of in result.front]
    assert values == sorted(values)
    assert all(of.fine.limit >= 1 for of in result.front)
    # 25 um and clear of the ties carry most at any depth
    fits = [of.point["interference"] for of in result.front]
    assert np.median(np.abs(np.subtract(fits, 25))) < 8
    assert result.front[0].point["hold"] == "pressed clear of the ties"


def test_a_second_start_takes_all_from_the_store(case_file, found):
    result, store = found

    def never(*_):
        raise AssertionError

    again = searched(case_file, store, Here(), judging=never)
    assert points(again.seen) == points(result.seen)
    assert points(again.front) == points(result.front)
    assert again.reused == FEW + sum(of.fine is not None for of in result.seen)


def test_more_goes_on_where_it_ended(case_file, found, tmp_path):
    result, store = found
    copy = tmp_path / "search.sqlite"
    with sqlite3.connect(store) as old, sqlite3.connect(copy) as new:
        old.backup(new)
    more = searched(case_file, copy, Here(), more=16)
    assert len(more.seen) == FEW + 16
    assert points(more.seen[:FEW]) == points(result.seen)
    assert len(searched(case_file, copy, Here()).seen) == FEW + 16


def test_a_changed_bound_takes_what_still_counts(case_file, found, tmp_path):
    _, store = found
    copy = tmp_path / "search.sqlite"
    with sqlite3.connect(store) as old, sqlite3.connect(copy) as new:
        old.backup(new)
    narrow = tmp_path / "case.toml"
    narrow.write_text(case_file.read_text().replace('least = "4 mm"', 'least = "5 mm"'))
    result = searched(narrow, copy, Here())
    assert result.reused >= 2
    assert all(of.point["depth"] >= 5 for of in result.seen)


@pytest.mark.slow  # processes of their own
def test_one_and_two_workers_find_the_same_front(case_file, found, tmp_path):
    result, _ = found
    for count in (1, 2):
        with apart(count) as workers:
            there = searched(case_file, tmp_path / f"{count}.sqlite", workers)
        assert points(there.front) == points(result.front)
        assert points(there.seen) == points(result.seen)


def test_a_kill_loses_what_is_in_flight_and_no_more(case_file, found, tmp_path):
    result, _ = found
    store = tmp_path / "search.sqlite"
    paths = os.pathsep.join([str(TESTS.parent), str(TESTS)])
    run = subprocess.Popen(
        [sys.executable, str(TESTS / "search_stubs.py"), str(case_file), str(store)],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": paths},
    )  # fmt: skip
    for line in run.stdout:
        if line.startswith("coarse") and int(line.split()[1]) > 20:
            break
    run.send_signal(signal.SIGKILL) if hasattr(signal, "SIGKILL") else run.kill()
    run.communicate()
    with sqlite3.connect(store) as connection:
        (kept,) = connection.execute(
            "SELECT count(*) FROM result WHERE setting <> 'walls'"
        ).fetchone()
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert 21 <= kept < FEW + MOST_FINE
    after = searched(case_file, store, Here())
    assert after.reused == kept
    assert points(after.front) == points(result.front)


def test_an_interrupt_leaves_a_front(case_file, tmp_path):
    def until_fine(setting, done, *_):
        if setting == "fine" and done == 4:
            raise KeyboardInterrupt

    store = tmp_path / "search.sqlite"
    result = searched(case_file, store, Here(), tell=until_fine)
    assert result.interrupted
    assert result.front
    assert all(of.fine is not None for of in result.front)
    assert any("Interrupted" in line for line in closing_lines(result))
    assert not searched(case_file, store, Here()).interrupted


def test_an_early_interrupt_says_so(case_file, tmp_path):
    def early(setting, done, *_):
        if done >= 5:
            raise KeyboardInterrupt

    result = searched(case_file, tmp_path / "search.sqlite", Here(), tell=early)
    assert not result.front
    assert first_sentence(result, []).startswith("Interrupted: no design has been judged by a fine")


def test_time_up_ends_the_rounds(case_file, tmp_path):
    result = searched(case_file, tmp_path / "search.sqlite", Here(), until=1e-9)
    assert len(result.seen) == POPULATION
    assert result.front


def test_designs_that_fail_are_told_and_tried_again(case_file, tmp_path):
    store = tmp_path / "search.sqlite"
    result = searched(case_file, store, Here(), judging=failing_judge)
    assert result.failed
    assert any("could not be judged" in line for line in closing_lines(result))
    assert all(of.point["depth"] <= 8 for of in result.seen)


def test_nothing_is_in_front_that_no_fine_solid_has_judged(case_file, tmp_path):
    store = tmp_path / "search.sqlite"
    result = searched(case_file, store, Here(), judging=unjudged_finely)
    assert not result.front
    assert first_sentence(result, []).startswith(f"No front: of {FEW} designs")


def test_the_picture_has_each_member_with_its_band(found):
    result, _ = found
    names = member_names(result, [])
    (axes,) = front_figure(result, names).axes
    bars = [of for of in axes.lines if of.get_label().startswith("5 to 95")]
    assert len(bars) == len(result.front)
    for bar, member in zip(bars, result.front, strict=True):
        assert bar.get_xdata()[0] == pytest.approx(member.fine.taken_mm3 / 1000)
        ends = [member.fine.low_bar / 120, member.fine.high_bar / 120]
        assert bar.get_ydata() == pytest.approx(ends)
    assert [of.get_text() for of in axes.texts] == [of.removeprefix("found ") for of in names]


def test_numbers_are_written_as_they_were_found(case_file, found, tmp_path):
    result, _ = found
    names = member_names(result, [])
    write_search(result, names, case_file.read_text(), tmp_path)
    data = json.loads((tmp_path / "search.json").read_text())
    assert [of["design"] for of in data["front"]] == names
    assert len(data["coarse"]) == FEW
    for told, member in zip(data["front"], result.front, strict=True):
        assert told["limit"] == pytest.approx(member.fine.limit, rel=1e-6)
        assert told["point"] == dict(member.point)
    assert data["sentence"] == first_sentence(result, names)


def test_what_may_lead_is_judged_until_none_is_left(found):
    result, _ = found
    if result.left:
        assert sum(of.fine is not None for of in result.seen) == MOST_FINE
    assert result.left == len(may_lead(result.given, result.seen))


def test_the_sentence_and_the_table_tell_what_was_found(found):
    result, _ = found
    names = member_names(result, ["bare", "Found 1"])
    assert names[0] == "found 2"
    sentence = first_sentence(result, names)
    bend = result.front[result.knee]
    assert sentence.startswith(f"Make {names[result.knee]} (")
    assert f"It carries {bend.fine.limit_bar:.0f} bar" in sentence
    table = front_table(result, names)
    for row, member in zip(table.rows, result.front, strict=True):
        headings = [of.replace("\n", " ") for of in table.headings]
        shown = dict(zip(headings, row, strict=True))
        assert shown["limit, bar"] == f"{member.fine.limit_bar:.0f}"
        assert shown["water taken, cm3"] == f"{member.fine.taken_mm3 / 1000:.1f}"
        assert shown["limit over the wanted load"] == f"{member.fine.limit:.2f}"
        assert f"depth {member.point['depth']:g} mm" in shown["what it is"]
        assert shown["over a uniform one"] == "uniform"
    console = Console(width=80, record=True, file=io.StringIO())
    console.print(_styled(table))
    assert "…" not in console.export_text()


def test_sensitivities_are_the_slopes_of_what_was_judged(found):
    result, _ = found
    rows = {row[0]: row[2:] for row in sensitivity_table(result).rows}
    assert float(rows["depth"][1]) == pytest.approx(3.0 * 5, rel=0.01)  # cm3 from 4 to 9 mm
    assert float(rows["hold"][0]) == pytest.approx(-0.1, abs=0.03)
    assert rows["interference"][1] == "+0"


def test_what_is_demanded_and_not_kept_is_counted(case_file, tmp_path):
    strict = tmp_path / "case.toml"
    strict.write_text(
        case_file.read_text().replace("[search]\n", '[search]\nmost_out_of_round = "5 um"\n')
    )
    result = searched(strict, tmp_path / "search.sqlite", Here())
    assert not result.front
    assert f"out of round rules out {FEW}" in first_sentence(result, [])


@pytest.fixture
def soon(monkeypatch):
    """Demands contradict after a few designs, as each is drawn."""
    monkeypatch.setattr(seek, "ALL_REFUSED", 6)


@pytest.mark.usefixtures("soon")
def test_demands_that_no_design_keeps_are_told_before_any_mesh(case_file, tmp_path):
    strict = tmp_path / "case.toml"
    strict.write_text(
        case_file.read_text().replace("[search]\n", '[search]\nleast_open_water = "90 %"\n')
    )
    with pytest.raises(CaseError, match=r"open water\n +It rules out \d+ of the first \d+ designs"):
        searched(strict, tmp_path / "search.sqlite", Here())


def test_demands_that_no_solid_keeps_end_the_search(case_file, tmp_path, monkeypatch):
    strict = tmp_path / "case.toml"
    strict.write_text(
        case_file.read_text().replace("[search]\n", '[search]\nmost_out_of_round = "5 um"\n')
    )
    store = tmp_path / "search.sqlite"
    monkeypatch.setattr(seek, "ALL_REFUSED", 10)  # a generation has more
    result = searched(strict, store, Here())
    assert result.ended
    assert len(result.seen) == POPULATION
    sentence = first_sentence(result, [])
    assert f"out of round rules out {POPULATION}" in sentence
    loads = sum(of.coarse.limit < 1 for of in result.seen)
    assert f"the wanted load rules out {loads}" in sentence
    assert "--more" in sentence
    on = searched(strict, store, Here(), more=16)
    assert not on.ended
    assert len(on.seen) == FEW + 16


def slotted(case_file, tmp_path, share):
    """The case with a slot through one of two passages, and a demand on each."""
    slot = '[[design.slot]]\nclock = "3:40"\nwidth = "4 mm"\narc = "14 deg"\n'
    demand = f'[search]\nleast_passage_water = "{share}"\n'
    text = case_file.read_text().replace("[search]\n", demand)
    path = tmp_path / "case.toml"
    path.write_text(text.replace("[design.fit]\n", f"{slot}[design.fit]\n"))
    return path


@pytest.mark.usefixtures("soon")
def test_a_passage_that_is_closed_is_refused_by_its_place(case_file, tmp_path):
    strict = slotted(case_file, tmp_path, "1 %")
    with pytest.raises(CaseError, match=r"0\.0 % of the passage at 9:\d\d is left open"):
        searched(strict, tmp_path / "search.sqlite", Here())


def test_the_share_of_a_passage_is_that_of_its_slot(case_file, tmp_path):
    case = read_case(slotted(case_file, tmp_path, "1 %"))
    bare, uniform = draw_all(case, silent)
    passages = open_water(bare.section)
    (slot,) = open_water(uniform.section)
    assert len(passages) == 2
    (passage,) = [of for of in passages if of.holds(np.array([middle_of(slot.loops[0])]))[0]]
    assert _narrowest(uniform, (passage,)) == (passage, pytest.approx(slot.area / passage.area))
    assert 0.02 < slot.area / passage.area < 0.2


def test_a_store_of_another_case_is_refused_and_stays(case_file, found, tmp_path):
    _, store = found
    other = tmp_path / "case.toml"
    other.write_text(case_file.read_text().replace('bore = "80 mm"', 'bore = "82 mm"'))
    before = store.read_bytes()
    with pytest.raises(CaseError, match='It is of another case, "bench block'):
        searched(other, store, Here())
    assert store.read_bytes() == before


def test_a_file_that_is_no_store_is_refused(tmp_path):
    text, tables = tmp_path / "text", tmp_path / "tables"
    text.write_text("no store, and longer than the head of one" * 9)
    with sqlite3.connect(tables) as connection:
        connection.execute("CREATE TABLE record (line TEXT)")
    for path in (text, tables):
        with pytest.raises(CaseError, match="It is no store of a search"), opened(path, "a", "b"):
            pass


def test_members_are_read_and_are_what_was_judged(case_file, found, tmp_path):
    result, _ = found
    names = member_names(result, [])
    designs = [{**of.table, "name": name} for name, of in zip(names, result.front, strict=True)]
    text = with_designs(case_file.read_text(), designs)
    assert text.startswith(case_file.read_text())
    assert "# as it is now" in text
    copy = tmp_path / "copy.toml"
    copy.write_text(text)
    case = read_case(copy)
    assert [of.name for of in case.designs[2:]] == names
    for design, member in zip(case.designs[2:], result.front, strict=True):
        assert design.insert.depth == pytest.approx(member.point["depth"])


def test_designs_in_one_line_each_stay_so():
    text = 'design = [{ name = "bare" }]  # all of them\n'
    assert with_designs(text, [{"name": "found 1", "depth": "5 mm"}]) == (
        'design = [{ name = "bare" }, {name = "found 1",depth = "5 mm"}]  # all of them\n'
    )


def test_a_name_and_other_designs_are_no_other_case(case_file):
    raw = read_toml(case_file)
    held = {key: of for key, of in raw.items() if key != "search"}
    one = {**held, "job": "another name", "design": [{"name": "bare"}]}
    two = {**held, "design": [{"name": "bare"}]}
    assert inputs_hash(case_of(one, case_file)) == inputs_hash(case_of(two, case_file))


def read_toml(path):
    import tomllib

    return tomllib.loads(path.read_text())


def test_results_are_kept_as_json(found):
    _, store = found
    with sqlite3.connect(store) as connection:
        rows = connection.execute("SELECT point, said FROM result").fetchall()
    assert all(isinstance(json.loads(of), dict) for row in rows for of in row)


def test_what_is_at_work_is_told_as_soon_as_it_changes(capsys):
    saying = Saying()
    saying("coarse", 3, 9, "best limit 1.10")
    saying("coarse", 4, 9, "best limit 1.10")  # too soon after
    saying("walls", 0, 1, "")
    saying("fine", 0, 4, "")
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == "coarse solids: 3 of 9 designs, best limit 1.10"
    assert "by its section" in lines[1]
    assert lines[2:] == ["fine solids: 0 of 4 designs"]


def test_designs_that_differ_by_their_fit_alone_tell_of_nothing_else(found):
    result, _ = found
    seen = result.seen[:3]
    many = [replace(of, point={**of.point, "interference": um})
            for of in seen for um in (12.0, 18.0, 24.0, 30.0)]  # fmt: skip
    assert sensitivity_table(replace(result, seen=tuple(many))) is None


def test_a_design_that_is_judged_alone_is_said_to_be(found):
    result, _ = found
    first = result.front[0]
    rest = tuple(replace(of, fine=None) for of in result.seen if of is not first)
    alone = replace(result, seen=(first, *rest), front=(first,), knee=0)
    assert "no other has been judged by a fine solid yet" in first_sentence(alone, ["found 1"])
    assert "is better in anything wanted" in first_sentence(
        replace(alone, seen=result.seen), ["found 1"]
    )
