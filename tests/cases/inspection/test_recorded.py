"""Readings that the record keeps of a job, taken for the block as it was found."""

import pytest
from inspected import HEAD, LINER, TWO, lines

from cases import read_case
from cases.base.faults import CaseError
from cases.record.entry import entries, entry
from cases.store.file import opened

JOB = '[record]\nstore = "shop.sqlite"\njob = "118"\n[inspection]\nrecorded = true\n'
DESIGN = '[[design]]\nname = "bare"\n'


@pytest.fixture
def kept(tmp_path):
    """Keeps readings of a job; gives the case that takes them."""

    def of(readings, text=TWO, inspection=JOB, **other):
        (tmp_path / "walls.csv").write_text(HEAD + readings)
        with opened(tmp_path / "shop.sqlite", make=True) as record:
            record.new("118", entry("block", {"block": "B"}, who="R"))
            if readings:
                stamp = {"who": "R", "instrument": "ball micrometer"}
                record.add("118", entries("reading", tmp_path / "walls.csv", other, **stamp))
        path = tmp_path / "case.toml"
        path.write_text(text + inspection + DESIGN)
        return read_case(path)

    return of


def test_they_give_the_walls_that_the_same_file_gives(kept, tmp_path):
    readings = lines(1) + lines(2, mean=6.6, size=0.5, towards=3.0)
    case = kept(readings)
    path = tmp_path / "filed.toml"
    path.write_text(f'{TWO}[inspection]\nreadings = "walls.csv"\n{DESIGN}')
    assert case.block == read_case(path).block
    assert case.block.wall_rows(2)
    found = case.given["inspection"]
    assert {(of.who, of.method) for of in found.readings.rows} == {("R", "ball micrometer")}


def test_a_corrected_one_does_not_count(kept, tmp_path):
    case = kept(lines(1))
    with opened(tmp_path / "shop.sqlite") as record:
        wrong = record.job("118").standing("reading")[0]
        typed = {name: of.typed for name, of in wrong.said.items()} | {"wall": "9 mm"}
        stamp = {"who": "R", "instrument": "ball micrometer"}
        record.add("118", [entry("reading", typed, **stamp, corrects=wrong.number)])
    again = read_case(tmp_path / "case.toml")
    walls = [of.wall for of in again.given["inspection"].readings.rows]
    assert 9.0 in walls
    assert len(walls) == len(case.given["inspection"].readings.rows)


@pytest.mark.parametrize(
    ("readings", "text", "inspection", "says"),
    [
        (lines(3), TWO, JOB, "line 2 (bore): 3 is no bore of this block: 1 to 2"),
        ("1;1:00;90;7;caliper\n", TWO, JOB, "line 2 (depth): 90 mm is below the wall"),
        ("1;1:00;5;39;caliper\n", TWO, JOB, "line 2 (wall): 39 mm is outside 0.5 to 28 mm"),
        (lines(1), LINER, JOB, "line 2 (liner): Nothing says whether it stood in the bore"),
        ("", TWO, JOB, "No wall was read on it"),
        (lines(1), TWO, "[inspection]\nrecorded = true\n", "Give store and job under [record]"),
        (lines(1), TWO, JOB + 'readings = "walls.csv"\n', "in a file or in the record, not in"),
        (lines(1), TWO, JOB.replace("118", "119"), "There is no such job"),
    ],
)  # fmt: skip
def test_what_does_not_fit_the_block_is_refused_by_line(kept, readings, text, inspection, says):
    with pytest.raises(CaseError) as refused:
        kept(readings, text, inspection)
    assert says in " ".join(str(refused.value).split())


def test_a_liner_that_stood_in_the_bore_is_said_once_for_all(kept):
    case = kept(lines(1, mean=9.0), LINER, JOB + 'liner = "in"\n')
    assert {of.liner for of in case.given["inspection"].readings.rows} == {"in"}
    assert case.given["inspection"].fits[0].mean == pytest.approx(7.0, abs=0.1)


def test_a_place_read_twice_on_two_days_must_agree(kept, tmp_path):
    kept(lines(1))
    with opened(tmp_path / "shop.sqlite") as record:
        first = record.job("118").standing("reading")[0]
        typed = {name: of.typed for name, of in first.said.items()} | {"wall": "8 mm"}
        (number,) = record.add("118", [entry("reading", typed, who="T", instrument="caliper")])
    with pytest.raises(CaseError, match=rf"line {number} \(wall\): .*is 8 mm, and .*, and strike"):
        read_case(tmp_path / "case.toml")
