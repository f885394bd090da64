"""A file of readings is read whole, or refused with line and column and how to mend it."""

import datetime
import zipfile

import pytest
from bench import BARE, BLOCK, LINED

from cases.base.faults import CaseError
from cases.inspection.cells import LARGEST, MOST_FAULTS, ReadingsError
from cases.inspection.readings import Expected, Reading, read_readings

FOUR = Expected(bores=4, wall=6.0, deepest=70.0)
LINED_FOUR = Expected(bores=4, wall=6.0, deepest=70.0, liner=2.5)
HEAD = "bore;clock;depth [mm];wall [mm];method;error [mm];who\n"


@pytest.fixture
def read(tmp_path):
    """Reads a text, or bytes, as a file of readings."""

    def of(content, expected=FOUR, name="walls.csv"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_readings(path, expected)

    return of


@pytest.fixture
def book(tmp_path):
    """Writes a worksheet of rows; gives its path."""
    from openpyxl import Workbook

    def of(*sheets, name="walls.xlsx"):
        workbook = Workbook()
        workbook.remove(workbook.active)
        for rows in sheets:
            sheet = workbook.create_sheet()
            for row in rows:
                sheet.append(row)
        workbook.save(tmp_path / name)
        return tmp_path / name

    return of


def refused(read, text, expected=FOUR):
    with pytest.raises(ReadingsError) as error:
        read(text, expected)
    return error.value.faults


def test_a_semicolon_file_with_decimal_commas_is_read_as_spreadsheets_write_it(read):
    text = (
        "\ufeff" + HEAD + "1;12:00;5,0;6,12;caliper;;M. K.\r\n\r\n"
        "2;01:30:00;25;5,8;Ball  Micrometer;0,04;\r\n3;6:00;5;;;;\r\n"
    )
    found = read(text)
    assert found.rows == (
        Reading(
            bore=1, clock=0.0, depth=5.0, wall=6.12, error=0.10, method="caliper", who="M. K.",
            line=2,
        ),
        Reading(
            bore=2, clock=1.5, depth=25.0, wall=5.8, error=0.04, method="ball micrometer", line=4
        ),
    )  # fmt: skip
    assert (found.empty, found.unstated) == (1, 0)


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("bore,clock,depth [in],wall [in]", "1,3:00,0.2,0.236"),
        ("Wall (thou)\tDepth (thou)\tClock\tBore", "236\t200\t3:00\t1"),
        ("bore;clock;depth [cm];wall [um]", "1;3:00;0,508;5994,4"),
    ],
)
def test_units_stand_in_the_headings_in_any_order(read, head, row):
    (found,) = read(f"{head}\n{row}\n").rows
    assert (found.depth, found.wall) == (pytest.approx(5.08), pytest.approx(5.9944))
    assert found.method == "not stated"
    assert found.error == 0.15


def test_each_method_has_its_error_unless_a_reading_has_its_own(read):
    rows = "".join(
        f"1;{hour}:00;5;6;{method};{error};\n"
        for hour, method, error in (
            (1, "caliper", ""),
            (2, "ball micrometer", ""),
            (3, "ultrasound", ""),
            (4, "caliper", "0,02"),
        )
    )
    errors = [of.error for of in read(HEAD + rows).rows]
    # 1 % of velocity on 6 mm is 0.06 mm; with 0.05 mm beside it sqrt(0.0061) (derived)
    assert errors == [0.10, 0.03, pytest.approx(0.0061**0.5), 0.02]


def test_a_worksheet_is_read_as_the_same_text_is(read, book):
    rows = [
        ["bore", "clock", "depth [mm]", "wall [mm]", "method"],
        [1, datetime.time(1, 30), 5, 6.12, "caliper"],
        [2.0, "12:30", 25.0, 5.8, None],
        [3, "6:00", 5, None, None],
    ]
    by_text = read(
        "bore;clock;depth [mm];wall [mm];method\n1;1:30;5;6,12;caliper\n"
        "2;12:30;25;5,8;\n3;6:00;5;;\n"
    )
    assert read_readings(book(rows), FOUR) == by_text


def test_a_lined_block_says_which_wall_is_meant(read):
    head = "bore;clock;depth [mm];wall [mm];liner\n"
    found = read(head + "1;1:00;5;8,5;In\n1;2:00;5;6;out\n", LINED_FOUR)
    assert [of.liner for of in found.rows] == ["in", "out"]
    (fault,) = refused(read, "bore;clock;depth [mm];wall [mm]\n1;1:00;5;8,5\n", LINED_FOUR)
    assert "nothing says whether it stood in the bore" in fault
    (fault,) = refused(read, head + "1;1:00;5;8,5;\n", LINED_FOUR)
    assert fault.startswith('line 2, column 5 (liner): "" is neither in nor out')
    (fault,) = refused(read, head + "1;1:00;5;6;in\n")
    assert "the block has no liner" in fault


ROW = "1;3:00;5;6;caliper;;\n"
WRONG = {
    "no heading": (ROW, "line 1: it has no heading"),
    "unknown column": (HEAD.replace("clock", "clok") + ROW, "line 1, column 2: there is no column "
                       '"clok". Did you mean clock?'),
    "missing column": ("bore;clock;wall [mm]\n1;3:00;6\n", "line 1: no column depth; found: bore"),
    "a column twice": ("bore;bore;clock;depth [mm];wall [mm]\n1;1;3:00;5;6\n", "column 2: bore is "
                       "there twice, in column 1 too"),
    "a column without heading": (HEAD.replace("who", "") + ROW[:-1] + "x\n", "column 7: a filled"),
    "units mixed": (HEAD.replace("depth [mm]", "depth [in]") + ROW, "Units are mixed: depth "
                    "[in] in line 1, column 3, wall [mm] in line 1, column 4, error [mm] in "),
    "no unit": (HEAD.replace("wall [mm]", "wall") + ROW, "column 4: its unit is missing. Write it "
                "like wall [mm]"),
    "another unit": (HEAD.replace("wall [mm]", "wall [bar]") + ROW, '"bar" is no unit'),
    "a unit of a word": (HEAD.replace("bore", "bore [mm]") + ROW, "bore has no unit"),
    "a unit in a cell": (HEAD + ROW.replace(";6;", ";6 mm;"), 'line 2, column 4 (wall): "6 mm" has '
                         "a unit of its own"),
    "bore 5 of 4": (HEAD + "5" + ROW[1:], 'line 2, column 1 (bore): "5" is no bore of this block: '
                    "give 1 to 4"),
    "bore 0": (HEAD + "0" + ROW[1:], '(bore): "0" is no bore'),
    "bore 1.5": (HEAD + "1,5" + ROW[1:], '(bore): "1,5" is no bore'),
    "clock 13:00": (HEAD + ROW.replace("3:00", "13:00"), 'line 2, column 2 (clock): "13:00" is '
                    "no clock position"),
    "a wall of 0": (HEAD + ROW.replace(";6;", ";0;"), "line 2, column 4 (wall): 0 mm is outside "
                    "0.5 to 24 mm"),
    "a wall of 60": (HEAD + ROW.replace(";6;", ";60;"), "(wall): 60 mm is outside 0.5 to 24 mm"),
    "inches under mm": (HEAD + ROW.replace(";6;", ";0,236;"), "in inches it would be within"),
    "a wall that is nan": (HEAD + ROW.replace(";6;", ";nan;"), '(wall): "nan" is not a number'),
    "a wall without end": (HEAD + ROW.replace(";6;", ";1e999;"), "(wall): 1e999 mm is outside"),
    "both signs": (HEAD + ROW.replace(";6;", ";1.006,5;"), '(wall): "1.006,5" is not a number'),
    "below the jacket": (HEAD + ROW.replace(";5;", ";71;"), "column 3 (depth): 71 mm is outside "
                         "0 to 70 mm"),
    "above the deck": (HEAD + ROW.replace(";5;", ";-1;"), "(depth): -1 mm is outside"),
    "no depth": (HEAD + ROW.replace(";5;", ";;"), "(depth): it is empty"),
    "no such method": (HEAD + ROW.replace("caliper", "calliper"), 'column 5 (method): "calliper" '
                       "is no method. Did you mean caliper?"),
    "an error of 0": (HEAD + ROW.replace("caliper;", "caliper;0"), "column 6 (error): 0 mm is "
                      "outside 0.001 to 5 mm"),
    "a formula": (HEAD + ROW.replace(";6;", ";=A1*2;"), 'column 4 (wall): "=A1*2" is a formula'),
    "too many cells": (HEAD + ROW[:-1] + ";x\n", "line 2, column 8: it has 8 cells under 7"),
    "too few cells": (HEAD + "1;3:00;5;6\n", "line 2, column 5: it has 4 cells under 7"),
    "decimal commas among commas": ("bore,clock,depth [mm],wall [mm]\n1,3:00,5,6,1\n", "part the "
                                    "columns by semicolons"),
    "one place twice": (HEAD + ROW + ROW.replace(";6;", ";6,5;"), "line 3, column 4 (wall): bore "
                        "1 at 3:00, 5 mm deep, is 6.5 mm here and 6 mm in line 2"),
    "open quotation marks": (HEAD + '1;3:00;5;6;"caliper;;\n', "line 2: unexpected end "
                             "of data. Check its quotation marks"),
    "nothing": ("", "It is empty"),
    "no reading": (HEAD + "1;3:00;5;;;;\n", "It has no reading: 1 rows"),
    "latin letters": (HEAD.encode() + b"1;3:00;5;6;caliper;;M\xfcller\n", "line 2, byte 22: it is "
                      "not text in UTF-8"),
    "two bytes a letter": ((HEAD + ROW).encode("utf-16"), "line 1, byte 1: it is not text"),
    "a picture": (b"\x00\x01\x02", "line 1: it holds a zero byte"),
    "an old spreadsheet": (b"\xd0\xcf\x11\xe0 and more", "a spreadsheet of an old kind"),
    "a broken worksheet": (b"PK\x03\x04 and no more", "can't be unpacked"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "words"), WRONG.values(), ids=WRONG)
def test_what_is_wrong_is_refused_with_its_place(read, text, words):
    faults = refused(read, text)
    assert words in faults[0]


def test_all_that_is_wrong_is_told_at_once(read):
    text = HEAD + "5;13:00;5;6;caliper;;\n" + "1;3:00;5;60;;;\n"
    assert len(refused(read, text)) == 3
    many = HEAD + ROW.replace(";6;", ";60;") * 50_000
    assert len(refused(read, many)) == MOST_FAULTS


def test_a_place_may_be_read_again_within_the_errors(read):
    assert len(read(HEAD + ROW + ROW.replace(";6;", ";6,4;")).rows) == 2
    assert len(refused(read, HEAD + ROW + ROW.replace(";6;", ";6,5;"))) == 1


def test_a_large_file_is_refused_unread(tmp_path, monkeypatch):
    path = tmp_path / "walls.csv"
    with path.open("wb") as file:
        file.truncate(100_000_000)  # none of it on the disk
    monkeypatch.setattr("pathlib.Path.read_bytes", lambda _: pytest.fail("it was read"))
    with pytest.raises(ReadingsError, match=f"100 MB large; at most {LARGEST // 10**6} MB"):
        read_readings(path, FOUR)


def test_a_worksheet_with_formulas_or_macros_or_two_sheets_is_refused(book, read):
    head = ["bore", "clock", "depth [mm]", "wall [mm]"]
    path = book([head, [1, "3:00", 5, "=5+1"]])
    with pytest.raises(ReadingsError, match="cell D2: a formula stands there"):
        read_readings(path, FOUR)
    with pytest.raises(ReadingsError, match=r"cell D2 \(wall\): 60 mm is outside"):
        read_readings(book([head, [1, "3:00", 5, 60]]), FOUR)
    with pytest.raises(ReadingsError, match="2 of its worksheets are filled"):
        read_readings(book([head], [head]), FOUR)
    path = book([head, [1, "3:00", 5, 6]])
    assert len(read_readings(path, FOUR).rows) == 1
    with zipfile.ZipFile(path, "a") as packed:
        packed.writestr("xl/vbaProject.bin", b"")
    with pytest.raises(ReadingsError, match="It holds macros"):
        read_readings(path, FOUR)


def test_a_worksheet_that_swells_is_refused(book, monkeypatch):
    monkeypatch.setattr("cases.inspection.cells.LARGEST_UNPACKED", 1000)
    with pytest.raises(ReadingsError, match="MB large unpacked"):
        read_readings(book([["bore"]]), FOUR)


@pytest.fixture
def case_with(case_of, tmp_path):
    """Reads a case with a file of readings beside it."""
    from cases import read_case

    def of(text, readings, more=""):
        (tmp_path / "walls.csv").write_text(readings)
        path = tmp_path / "case.toml"
        path.write_text(f'{text}[inspection]\nreadings = "walls.csv"\n{more}{BARE}')
        return read_case(path)

    return of


def test_a_case_names_its_readings(case_with):
    case = case_with(BLOCK, HEAD + ROW)
    assert case.given["inspection"].readings.rows[0].wall == 6.0
    with pytest.raises(CaseError) as error:
        case_with(BLOCK, HEAD + ROW.replace(";6;", ";60;") + "2" + ROW[1:])
    assert [fault.path for fault in error.value.faults] == ["inspection.readings"] * 2
    assert "line 2, column 4 (wall): 60 mm" in str(error.value)
    assert "line 3, column 1 (bore)" in str(error.value)


def test_a_case_says_whether_the_liner_is_in(case_with):
    case = case_with(LINED, HEAD + ROW, 'liner = "out"\n')
    assert case.given["inspection"].readings.rows[0].liner == "out"
    with pytest.raises(CaseError, match="The block has no liner"):
        case_with(BLOCK, HEAD + ROW, 'liner = "out"\n')


def test_readings_and_a_wall_table_exclude_each_other(case_with):
    table = 'wall_table = [["12:00", "8 mm"], ["4:00", "8 mm"], ["8:00", "8 mm"]]\n[gas]\n'
    with pytest.raises(CaseError, match="both say its walls"):
        case_with(BLOCK.replace("[gas]\n", table), HEAD + ROW)
