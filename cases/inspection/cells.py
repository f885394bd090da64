"""Rows of cells out of a file of columns or a worksheet; what is neither is refused.

Nothing of a spreadsheet is run: one with macros is refused, and so is a cell with a formula, whose
value may be of another day than what it was reckoned from.
"""

from __future__ import annotations

import csv
import datetime
import io
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

LARGEST = 10_000_000
"""Of a file; 100,000 readings take half of it. [bytes]."""
LARGEST_UNPACKED = 100_000_000  # of a worksheet [bytes]
MOST_FAULTS = 20  # gathered of one file
MOST_COLUMNS = 100
_ZIP = b"PK\x03\x04"
_OLE = b"\xd0\xcf\x11\xe0"
AS_TEXT = "Save it as CSV (UTF-8), or as a worksheet .xlsx."


class ReadingsError(ValueError):
    """A file of readings can't be used.

    Attributes
    ----------
    faults : tuple of str
        Each with its line and column.
    """

    def __init__(self, *faults: str) -> None:
        self.faults = faults
        super().__init__(" ".join(faults))

    def __reduce__(self) -> tuple[type[ReadingsError], tuple[str, ...]]:
        """So that it comes whole out of another process."""
        return ReadingsError, self.faults


@dataclass(frozen=True, slots=True)
class Cells:
    """The rows of a file that hold anything.

    Attributes
    ----------
    rows : tuple of (int, tuple of str)
        Line, from 1, and its cells without blanks around them.
    worksheet : bool
        Whether they are of a worksheet, whose columns have letters.
    comma : bool
        Whether commas part the cells, so that none can be a decimal comma.
    """

    rows: tuple[tuple[int, tuple[str, ...]], ...]
    worksheet: bool = False
    comma: bool = False

    def place(self, line: int, column: int) -> str:
        """How messages call a cell; ``column`` counts from 0."""
        if self.worksheet:
            from openpyxl.utils import get_column_letter

            return f"cell {get_column_letter(column + 1)}{line}"
        return f"line {line}, column {column + 1}"


def content_of(path: Path, largest: int, instead: str) -> bytes:
    """What is in a file that a case names.

    Parameters
    ----------
    path : Path
    largest : int
        That is read. [bytes]
    instead : str
        What to give in place of a larger file.

    Raises
    ------
    ReadingsError
        If there is no such file, it is larger, or it can't be read.
    """
    try:
        if path.stat().st_size > largest:
            raise ReadingsError(
                f"It is {path.stat().st_size / 1e6:.4g} MB large; at most {largest // 10**6} MB "
                f"are read. {instead}"
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise ReadingsError(
            f"There is no file {path.name} beside the case file. Give its path from there."
        ) from None
    except OSError as error:
        raise ReadingsError(f"It can't be read: {error.strerror}.") from None


def read_cells(path: Path) -> Cells:
    """The cells of a CSV file (comma, semicolon or tab) or of a worksheet ``.xlsx``.

    Raises
    ------
    ReadingsError
        If there is no such file, it is larger than ``LARGEST``, no text, or a spreadsheet with
        macros, formulas or several filled worksheets.
    """
    content = content_of(path, LARGEST, "Give the readings alone.")
    if content.startswith(_ZIP):
        return _of_worksheet(content)
    return _of_text(content)


def _of_text(content: bytes) -> Cells:
    if content.startswith(_OLE):
        raise ReadingsError(f"It is a spreadsheet of an old kind. {AS_TEXT}")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        line, byte = before.count(b"\n") + 1, error.start - before.rfind(b"\n")
        raise ReadingsError(
            f"line {line}, byte {byte}: it is not text in UTF-8. {AS_TEXT}"
        ) from None
    if (at := text.find("\0")) >= 0:
        line = text.count("\n", 0, at) + 1
        raise ReadingsError(f"line {line}: it holds a zero byte, so it is not text. {AS_TEXT}")
    head = next((line for line in text.splitlines() if line.strip()), "")
    split = next((sign for sign in ";\t" if sign in head), ",")
    rows, line = [], 0
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=split, strict=True)
    try:
        for cells in reader:
            start, line = line + 1, reader.line_num
            if any(map(str.strip, cells)):
                rows.append((start, tuple(map(str.strip, cells))))
    except csv.Error as error:
        raise ReadingsError(
            f"line {reader.line_num}: {error}. Check its quotation marks."
        ) from None
    return Cells(tuple(rows), comma=split == ",")


def _of_worksheet(content: bytes) -> Cells:
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            size = sum(of.file_size for of in packed.infolist())
            names = [of.filename for of in packed.infolist()]
    except zipfile.BadZipFile:
        raise ReadingsError(f"It is packed, and can't be unpacked. {AS_TEXT}") from None
    if size > LARGEST_UNPACKED:
        raise ReadingsError(
            f"It is {size / 1e6:.4g} MB large unpacked; at most {LARGEST_UNPACKED // 10**6} MB are "
            "read. Give the readings alone."
        )
    if any("vbaproject" in name.lower() for name in names):
        raise ReadingsError("It holds macros, which are not let in. Save it as .xlsx without.")
    try:
        book = load_workbook(io.BytesIO(content), read_only=True)
        sheets = [rows for sheet in book.worksheets if (rows := list(_filled(sheet)))]
    except ReadingsError:
        raise
    except Exception:  # the library raises what it meets: KeyError, ValueError, ParseError
        raise ReadingsError(f"It is no worksheet that can be read. {AS_TEXT}") from None
    if len(sheets) > 1:
        raise ReadingsError(
            f"{len(sheets)} of its worksheets are filled. Keep the one with the readings."
        )
    return Cells(_even(sheets[0]) if sheets else (), worksheet=True)


def _even(rows: Sequence[tuple[int, tuple[str, ...]]]) -> tuple[tuple[int, tuple[str, ...]], ...]:
    """Rows without the empty cells behind them, none shorter than the headings."""

    def filled(row: Sequence[str]) -> int:
        return max(at for at, text in enumerate(row, 1) if text)

    width = filled(rows[0][1])
    return tuple((line, row[: max(width, filled(row))]) for line, row in rows)


def _filled(sheet: object) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Rows of a worksheet that hold anything, as text."""
    formulas: list[str] = []
    for row in sheet.iter_rows(max_col=MOST_COLUMNS):  # type: ignore[attr-defined]
        held = [cell for cell in row if cell.value is not None]
        formulas += [cell.coordinate for cell in held if cell.data_type == "f"]
        if held and not formulas:
            row_ = tuple(_as_text(cell.value) for cell in row)
            if any(row_):
                yield held[0].row, row_
    if formulas:
        more = f" and {len(formulas) - 5} more" if len(formulas) > 5 else ""
        raise ReadingsError(
            f"cell {', '.join(formulas[:5])}{more}: a formula stands there. Give its value: copy "
            "the cells and paste them as values."
        )


def _as_text(value: object) -> str:
    """A value of a worksheet as it would be typed; 1:30 is a time of day there."""
    if isinstance(value, datetime.time | datetime.datetime):
        return f"{value.hour}:{value.minute:02d}"
    if isinstance(value, float):
        return f"{value:.12g}"
    return "" if value is None else str(value).strip()
