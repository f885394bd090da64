"""What is typed becomes a line, or a refusal that says where and how to mend it."""

import json
import re
from hashlib import sha256

import pytest

from cases.base.faults import CaseError
from cases.record.entry import entries, entry
from cases.store.kinds import KINDS, cycles_of, interference_of, read_values

READING = {"bore": "2", "clock": "1:30", "depth": "5 mm", "wall": "5.6 mm"}
RUN = {"peak": "140 bar", "speed": "6000 rpm"}


def reading(**other):
    return entry("reading", READING | other, who="R", instrument="micrometer")


@pytest.mark.parametrize(
    ("typed", "place", "says"),
    [
        ({"wall": "0 mm"}, "wall = 0 mm", "outside 0.3 to 40 mm"),
        ({"wall": "60 mm"}, "wall = 60 mm", "60 mm is outside"),
        ({"wall": "5.6"}, "wall = 5.6", "The unit is missing"),
        ({"wall": "5.6 bar"}, "wall = 5.6 bar", "not a unit of a length"),
        ({"clock": "13:00"}, "clock = 13:00", "no clock position"),
        ({"bore": "0"}, "bore = 0", "outside 1 to 16"),
        ({"bore": "two"}, "bore = two", "no whole number"),
        ({"wal": "5 mm"}, "wal", "Did you mean wall"),
        ({"wall": " "}, "wall", "It is empty"),
        ({"method": "x" * 2001}, "method", "2000 are kept"),
    ],
)
def test_a_wrong_value_is_refused_by_field(typed, place, says):
    with pytest.raises(CaseError, match=says) as refused:
        reading(**typed)
    assert place in str(refused.value)


@pytest.mark.parametrize(
    ("stamp", "says"),
    [
        ({"who": " "}, "Say who"),
        ({"instrument": ""}, "name what with"),
        ({"date": "31.5.2026"}, "year-month-day"),
        ({"date": "2126-05-31"}, "still to come"),
    ],
)
def test_date_who_and_instrument_are_asked_for(stamp, says):
    with pytest.raises(CaseError, match=says):
        entry("reading", READING, **({"who": "R", "instrument": "micrometer"} | stamp))


def test_all_that_is_wrong_is_told_at_once():
    with pytest.raises(CaseError) as refused:
        entry("reading", {"wall": "5", "clock": "25:00"}, who="")
    assert [fault.path for fault in refused.value.faults] == [
        "wall", "clock", "bore", "depth", "--who", "--instrument",
    ]  # fmt: skip


def test_an_unknown_kind_is_guessed():
    with pytest.raises(CaseError, match="Did you mean leak test"):
        entry("leaktest", {}, who="R")


@pytest.mark.parametrize(
    ("kind", "typed", "field"),
    [
        (
            "cut",
            {"cutter": "6 mm", "least_depth": "6.04 mm", "most_depth": "6.01 mm"},
            "most_depth",
        ),
        ("main bores", {"stage": "after press", "least": "60.01 mm", "most": "60 mm"}, "most"),
    ],
)
def test_a_largest_that_is_less_than_the_least_is_refused(kind, typed, field):
    with pytest.raises(CaseError) as refused:
        entry(kind, typed, who="R", instrument="gauge")
    assert [fault.path for fault in refused.value.faults] == [field]


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_every_example_can_be_typed(kind):
    for name, field in kind.fields.items():
        if field.example:
            assert field.read(field.example) is not None, name


@pytest.mark.parametrize(
    ("typed", "cycles"),
    [
        ({"hours": "2 h"}, 2 * 60 * 6000 / 2),  # a four-stroke fires every other turn
        ({"pulls": "30", "pull": "12 s"}, 30 * 12 / 60 * 6000 / 2),
        ({"pulls": "30", "pull": "12 s", "hours": "50 h"}, 30 * 12 / 60 * 6000 / 2),
        ({"cycles": "2.5e6", "hours": "50 h"}, 2.5e6),
    ],
)
def test_a_run_tells_its_cycles(typed, cycles):
    line = entry("run", RUN | typed, who="R")
    assert cycles_of(line.said) == pytest.approx(cycles)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (RUN, "How long is not told"),
        (RUN | {"pulls": "30"}, "How long is not told"),
        ({"peak": "140 bar", "hours": "2 h"}, "How long is not told"),
        (RUN | {"hours": "2 h", "power": "400 hp"}, "either as peak"),
        ({"speed": "6000 rpm", "hours": "2 h"}, "either as peak"),
    ],
)
def test_a_run_that_says_too_little_or_too_much_is_refused(typed, says):
    with pytest.raises(CaseError, match=says):
        entry("run", typed, who="R")


def test_a_piece_tells_its_real_interference():
    typed = {
        "bore": "1", "piece": "2", "side": "barrel", "pocket": "104.000 mm",
        "insert": "104.022 mm",
    }  # fmt: skip
    line = entry("piece", typed, who="R", instrument="micrometer")
    assert interference_of(line.said) == 0.022
    with pytest.raises(CaseError, match=r"differs from the pocket by \+36.000 mm"):
        entry("piece", typed | {"insert": "140 mm"}, who="R", instrument="micrometer")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"found": "crack"}, "needs the bore"),
        ({"found": "sound", "moment": "known"}, "for what failed"),
        ({"found": "craked"}, "Did you mean crack"),
    ],
)
def test_what_was_found_is_whole(typed, says):
    with pytest.raises(CaseError, match=says):
        entry("opened", typed, who="R")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"limit": "150 bar"}, "go together"),
        ({"limit": "150 bar", "low": "160 bar", "high": "180 bar"}, "must rise"),
    ],
)
def test_a_limit_comes_with_its_band(typed, says):
    with pytest.raises(CaseError, match=says):
        entry("design", {"design": "local"} | typed, who="R")


def test_a_picture_is_kept_by_name_and_hash(tmp_path):
    (tmp_path / "deck.jpg").write_bytes(b"picture")
    line = entry("photo", {"file": str(tmp_path / "deck.jpg")}, who="R")
    assert line.said["sha256"].inside == sha256(b"picture").hexdigest()
    with pytest.raises(CaseError, match="can't be read"):
        entry("photo", {"file": str(tmp_path / "other.jpg")}, who="R")


def test_a_case_is_kept_whole(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text('job = "bench"\n', encoding="utf-8")
    line = entry("case", {"file": str(path)}, who="R")
    assert line.said["text"].inside == 'job = "bench"\n'
    assert line.said["sha256"].inside == sha256(path.read_bytes()).hexdigest()
    path.write_text("job = ")
    with pytest.raises(CaseError, match="Invalid value"):
        entry("case", {"file": str(path)}, who="R")


def test_a_prediction_is_taken_from_the_results_of_a_rating(tmp_path):
    path = tmp_path / "rated.json"
    predicted = {"factor": [0.9, 1.1, 1.3]}
    designs = [{"design": "bare"}, {"design": "local", "predicted": predicted}]
    path.write_text(
        json.dumps({"hoopclock": "1", "inputs_hash": "ab", "designs": designs}), encoding="utf-8"
    )
    line = entry("design", {"design": "local", "results": str(path)}, who="R")
    assert json.loads(line.said["predicted"].inside) == {
        "factor": [0.9, 1.1, 1.3], "hoopclock": "1", "inputs_hash": "ab",
    }  # fmt: skip
    with pytest.raises(CaseError, match="holds no limit"):
        entry("design", {"design": "bare", "results": str(path)}, who="R")
    with pytest.raises(CaseError, match="Did you mean local"):
        entry("design", {"design": "locl", "results": str(path)}, who="R")


def rows(tmp_path, text, **typed):
    path = tmp_path / "walls.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return entries("reading", path, typed, who="R", instrument="ultrasound", bores=4)


@pytest.mark.parametrize(
    "text",
    [
        "bore,clock,depth [mm],wall [mm]\n1,1:30,5,5.62\n1,7:00,5,6.1\n",
        "Bore;Clock;Depth [mm];Wall (mm)\n1;1:30;5;5,62\n\n1;7:00;5;6,1\n",
        "bore;clock;depth;wall\n1;1:30;5 mm;5,62 mm\n1;7:00;5 mm;6,1 mm\n",
        "\ufeffbore,clock,depth [mm],wall\r\n1,1:30,5,5.62 mm\r\n1,7:00,5,6100 um\r\n",
    ],
)
def test_rows_are_read_as_spreadsheets_write_them(tmp_path, text):
    lines = rows(tmp_path, text)
    assert [line.said["wall"].inside for line in lines] == [5.62, 6.1]
    assert [line.said["clock"].inside for line in lines] == [1.5, 7.0]
    assert [line.said["depth"].inside for line in lines] == [5.0, 5.0]


def test_the_sheet_that_was_filled_in_is_read_with_who_read_what(tmp_path):
    first, last = rows(
        tmp_path,
        "bore;clock;depth [mm];wall [mm];method;error [mm];who;place;expected [mm];needed [mm]\n"
        "1;1:30;5;5,62;Ball micrometer;;;root of a relief cut;6,00;\n"
        "1;3:00;5;;caliper;;;;6,00;\n"
        "1;6:00;5;5,8;caliper;0,2;T;;6,00;\n",
    )
    assert (first.who, last.who) == ("R", "T")
    assert first.said["method"].typed == "Ball micrometer"
    assert last.said["error"].inside == 0.2
    assert set(first.said) == {"bore", "clock", "depth", "wall", "method"}


def test_what_is_the_same_in_all_rows_is_given_beside_them(tmp_path):
    lines = rows(tmp_path, "clock,wall [mm]\n1:30,5.6\n", bore="3", depth="5 mm")
    assert lines[0].said == read_values(KINDS["reading"], READING | {"bore": "3"})[0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1,1:30,5,5.62\n", 'line 1, column 1 "1" heads a column, and no field'),
        ("bore,clock,depth [mm],wal [mm]\n1,1:30,5,5\n", "line 1, column 4 .*Did you mean wall"),
        ("bore,clock,depth [mm],wall [bar]\n1,1:30,5,5\n", '"bar" is no unit of wall'),
        ("bore,clock,depth [mm],wall\n1,1:30,5,5.6\n", r"line 2, column 4 \(wall\) = 5.6"),
        (
            "bore,clock,depth [mm],wall [mm]\n1,1:30,5,5\n1,13:00,5,5\n",
            r"line 3, column 2 \(clock\) = 13:00",
        ),
        ("bore,clock,depth [mm],wall [mm]\n1,1:30,5,=A1\n", r"line 2, column 4 \(wall\) = =A1"),
        (
            "bore,clock,depth [mm],wall [mm]\n1,1:30,5\n",
            "line 2, column 4 It has 3 cells, line 1 has 4",
        ),
        ("bore,bore,depth [mm],wall [mm]\n1,1,5,5\n", "line 1, column 2 bore heads two columns"),
        ("bore,clock,wall [mm]\n1,1:30,5\n", r"line 2 \(depth\) It is missing"),
        (
            "bore,clock,depth [mm],wall [mm]\n1,1:30,5,5\n1,1:30,5,6\n",
            r"line 3, column 4 \(wall\) = 6 mm .*5 mm at line 2, column 4 \(wall\) too",
        ),
        (
            "bore,clock,depth [mm],wall [mm],method\n1,1:30,5,5,ultra sound\n",
            r"line 2, column 5 \(method\) .*Did you mean ultrasound",
        ),
        ("bore,clock,depth [mm],wall [mm]\n5,1:30,5,5\n", r"column 1 \(bore\) = 5 .*has 4 bores"),
        (
            "bore,clock,depth [mm],wall [mm],date\n1,1:30,5,5,1.2.26\n",
            r"column 5 \(date\) = 1.2.26",
        ),
        ("bore,clock,depth [mm],wall [mm]\n", "There is no row"),
        ("", "There is no row"),
        (b"PK\x03\x04 a sheet", "can't be unpacked. Save it as CSV"),
        (b"bore,clock\n1,\xff\n", "line 2, byte 3: it is not text in UTF-8"),
    ],
)
def test_a_file_with_anything_wrong_gives_no_row(tmp_path, text, says):
    with pytest.raises(CaseError) as refused:
        rows(tmp_path, text)
    assert re.search(says, " ".join(str(refused.value).split()))


def test_a_file_that_is_too_large_is_refused(tmp_path):
    with pytest.raises(CaseError, match="at most 10 MB"):
        rows(tmp_path, b"bore,clock\n" + b"1,1:30\n" * 1_500_000)


WORKSHEET = {
    "formula": ([1, "3:00", 5, "=5+1"], "cell D2: a formula stands there"),
    "far": ([1, "3:00", 5, 60.0], "cell D2 (wall) = 60 mm"),
    "long": ([1, "3:00", 5, 5.6, "R"], "cell E2 It has 5 cells, line 1 has 4"),
}


def worksheet(path, *rows):
    from openpyxl import Workbook

    book = Workbook()
    for row in (["bore", "clock", "depth [mm]", "wall [mm]"], *rows):
        book.active.append(row)
    book.save(path)
    return path


def test_a_worksheet_is_read_row_by_row(tmp_path):
    path = worksheet(tmp_path / "walls.xlsx", [1, "3:00", 5, 5.62], [2, "9:30", 12.5, "6,1"])
    lines = entries("reading", path, {}, who="R", instrument="ultrasound")
    assert [{name: of.inside for name, of in line.said.items()} for line in lines] == [
        {"bore": 1, "clock": 3.0, "depth": 5.0, "wall": 5.62},
        {"bore": 2, "clock": 9.5, "depth": 12.5, "wall": 6.1},
    ]


@pytest.mark.parametrize(("row", "says"), WORKSHEET.values(), ids=WORKSHEET)
def test_a_worksheet_that_is_wrong_is_refused_with_its_place(tmp_path, row, says):
    path = worksheet(tmp_path / "walls.xlsx", row)
    with pytest.raises(CaseError) as refused:
        entries("reading", path, {}, who="R", instrument="ultrasound")
    assert says in " ".join(str(refused.value).split())
