"""From what was typed to lines that can be kept: values read, files hashed, rows of a file."""

from __future__ import annotations

import csv
import datetime
import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from hashlib import sha256
from io import StringIO
from pathlib import Path

from cases.base.faults import CaseError, Fault, closest
from cases.base.version import __version__
from cases.record.kinds import FILES, Kind, Said, fields_text, file_named, kind_of, read_values
from cases.record.store import NewLine

LARGEST = {
    "case": 1_000_000,
    "design": 200_000_000,
    "distortion": 200_000_000,
    "photo": 500_000_000,
    "rows": 10_000_000,
}
"""Of a file that a line names, by its kind, and of one with rows. [bytes]."""


def entry(
    kind: str,
    typed: Mapping[str, str],
    *,
    who: str,
    date: str | None = None,
    instrument: str = "",
    corrects: int | None = None,
) -> NewLine:
    """A line to be kept, of values as they are typed.

    Parameters
    ----------
    kind : str
        Of :data:`cases.record.kinds.KINDS`.
    typed : mapping
        Text by field, numbers with their unit.
    who : str
        Who measured, fitted, ran or saw it.
    date : str, optional
        When, YYYY-MM-DD; today where it is left out.
    instrument : str
        What it was measured with.
    corrects : int, optional
        Number of the line that it stands in place of.

    Raises
    ------
    CaseError
        With all that is wrong.

    Examples
    --------
    >>> line = entry("deck", {"flatness": "2 thou"}, who="R", instrument="straight edge")
    >>> line.said["flatness"]
    Said(typed='2 thou', inside=0.0508)
    """
    known = _known(kind)
    faults = _stamp_faults(known, who, date, instrument)
    said, wrong = read_values(known, typed)
    if faults or wrong:
        raise CaseError(f"record, {known.name}", [*wrong, *faults])
    return NewLine(
        kind=known.name,
        date=date or _today().isoformat(),
        who=who.strip(),
        instrument=instrument.strip(),
        corrects=corrects,
        said=_with_file(known, said),
    )


def entries(
    kind: str,
    path: Path,
    typed: Mapping[str, str],
    *,
    who: str,
    date: str | None = None,
    instrument: str = "",
    corrects: int | None = None,
) -> list[NewLine]:
    """Lines to be kept, a row of a file, CSV or ``.xlsx``, each.

    The first row names the fields, with a unit in brackets or without where the cells carry
    theirs: ``bore;clock;depth [mm];wall [mm]``. Commas or semicolons part the cells; where
    semicolons do, a comma in a number is its decimal point.

    Parameters
    ----------
    path : Path
    typed : mapping
        What is the same in all rows.

    Raises
    ------
    CaseError
        With line and field of all that is wrong; then no row counts.
    """
    known = _known(kind)
    if known.name in (*FILES, "struck"):
        raise CaseError(str(path), [Fault("--rows", f"A {known.name} is added one by one.")])
    if corrects is not None:
        raise CaseError(str(path), [Fault("--corrects", "Lines are corrected one by one.")])
    faults = _stamp_faults(known, who, date, instrument)
    lines: list[NewLine] = []
    for place, cells in _rows(path, known):
        if both := cells.keys() & typed.keys():
            name = min(both)
            raise CaseError(str(path), [Fault(name, "It stands in the file and beside it.")])
        said, wrong = read_values(known, {**typed, **cells})
        faults += [Fault(f"line {place}, {of.path}", of.text, of.value) for of in wrong]
        lines.append(
            NewLine(
                kind=known.name,
                date=date or _today().isoformat(),
                who=who.strip(),
                instrument=instrument.strip(),
                said=said,
            )
        )
    if not lines:
        faults.append(Fault("", "There is no row below the names of its fields."))
    if faults:
        raise CaseError(str(path), faults)
    return lines


def typed_values(values: Sequence[str]) -> dict[str, str]:
    """Text by field, of ``name=value``.

    Raises
    ------
    CaseError

    Examples
    --------
    >>> typed_values(["wall=5.6 mm", "Bore = 2"])
    {'wall': '5.6 mm', 'bore': '2'}
    """
    typed: dict[str, str] = {}
    for value in values:
        name, equals, text = value.partition("=")
        name = name.strip().lower().replace("-", "_")
        if not equals:
            text = 'Write a value with the name of its field: "wall=5.6 mm".'
            raise CaseError("record", [Fault(value, text)])
        if name in typed:
            raise CaseError("record", [Fault(name, "It is given twice.", text)])
        typed[name] = text.strip()
    return typed


def _today() -> datetime.date:
    return datetime.datetime.now().date()


def _known(name: str) -> Kind:
    kind = kind_of(name)
    if isinstance(kind, Fault):
        raise CaseError("record", [kind])
    return kind


def _stamp_faults(kind: Kind, who: str, date: str | None, instrument: str) -> list[Fault]:
    faults = []
    if not who.strip():
        faults.append(Fault("--who", "Say who measured, did or saw it."))
    if kind.measured and not instrument.strip():
        text = f"A {kind.name} is measured: name what with, such as --instrument micrometer."
        faults.append(Fault("--instrument", text))
    if date is not None:
        try:
            day = datetime.date.fromisoformat(date)
        except ValueError:
            faults.append(Fault("--date", "Write it as year-month-day: 2026-05-31.", date))
        else:
            if not datetime.date(1950, 1, 1) <= day <= _today() + datetime.timedelta(days=1):
                faults.append(Fault("--date", "It is before 1950, or still to come.", date))
    return faults


def _with_file(kind: Kind, said: dict[str, Said]) -> dict[str, Said]:
    """Values of a line with the hash of the file that it names, and what is kept of it.

    Raises
    ------
    CaseError
        If the file can't be read, or isn't what it should be.
    """
    path = file_named(kind, said)
    if path is None:
        return said
    content = _content(path, LARGEST[kind.name])
    field = FILES[kind.name]
    kept = {
        field: Said(said[field].typed, str(path.absolute())),
        "sha256": Said("", sha256(content).hexdigest()),
    }
    if kind.name == "case":
        from cases.base.toml import load_toml

        load_toml(path)
        kept["text"] = Said("", content.decode("utf-8-sig"))
        kept["hoopclock"] = Said("", __version__)
    elif kind.name == "design":
        found = predicted_in(path, content, str(said["design"].inside))
        kept["predicted"] = Said("", json.dumps(found))
    elif kind.name == "distortion":
        kept["ratio"] = Said("", built_ratio(path, content))
    return {**said, **kept}


def _content(path: Path, most: int) -> bytes:
    try:
        with path.open("rb") as file:
            content = file.read(most + 1)
    except OSError as error:
        fault = Fault("file", f"It can't be read: {error.strerror}. Check the path.", f'"{path}"')
        raise CaseError("record", [fault]) from None
    if len(content) > most:
        text = f"It has more than {most / 1e6:g} MB. Is it the right file?"
        raise CaseError("record", [Fault("file", text, f'"{path}"')])
    return content


def predicted_in(path: Path, content: bytes, design: str) -> dict[str, object]:
    """What a rating predicted of a design.

    Parameters
    ----------
    path : Path
        For messages.
    content : bytes
        Of a ``results.json`` or ``rated.json``.
    design : str

    Returns
    -------
    dict
        As ``designs[].predicted`` has it, with the hash of the inputs.

    Raises
    ------
    CaseError
        If there is none in it.
    """

    def refuse(text: str, value: str = "") -> CaseError:
        return CaseError(str(path), [Fault("design", text, value)])

    try:
        found = json.loads(content)
        designs = {of["design"]: of for of in found["designs"]}
        inputs = {"inputs_hash": found["inputs_hash"], "hoopclock": found["hoopclock"]}
    except (ValueError, KeyError, TypeError, RecursionError):
        raise refuse("It is no results.json of a run.") from None
    if design not in designs:
        near = closest(design, designs)
        guess = f" Did you mean {near}?" if near else ""
        raise refuse(f"It has no such design.{guess} It has: {', '.join(designs)}.", design)
    predicted = designs[design].get("predicted")
    if not predicted:
        raise refuse(
            "It holds no limit of it with its band. Run hoopclock rate, with draws, and take its "
            "rated.json.",
            design,
        )
    return {**predicted, **inputs}


def built_ratio(path: Path, content: bytes) -> float:
    """Measured distortion over predicted, of a job that was solved as built.

    Raises
    ------
    CaseError
        If there is none in the file, or it isn't above 0.
    """
    try:
        ratio = json.loads(content)["built"]["ratio"]
    except (ValueError, KeyError, TypeError, RecursionError):
        ratio = None
    if not isinstance(ratio, float) or ratio <= 0:
        text = (
            "It holds no ratio above 0 of measured and predicted distortion. Name the job under "
            "[record] in its case, measure the bore before and after the press, and run hoopclock "
            "solve."
        )
        raise CaseError(str(path), [Fault("results", text)])
    return ratio


_HEADING = re.compile(r"\s*([^\[\]()]*?)\s*(?:[\[(]\s*([^\])]*?)\s*[\])])?\s*")


def _rows(path: Path, kind: Kind) -> Iterator[tuple[int, dict[str, str]]]:
    """Line of the file, and text by field, of each row that is not empty.

    Raises
    ------
    CaseError
        If it is no such file.
    """

    def refuse(text: str, place: str = "") -> CaseError:
        return CaseError(str(path), [Fault(place, text)])

    content = _content(path, LARGEST["rows"])
    if content[:4] == b"PK\x03\x04":
        yield from _worksheet_rows(path, kind, refuse)
        return
    if b"\0" in content:
        raise refuse("It is no text. Save the sheet as CSV.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise refuse("A character is not UTF-8. Save it as UTF-8 text.", f"line {line}") from None
    first = text.partition("\n")[0]
    parted = ";" if ";" in first else ","
    reader = csv.reader(StringIO(text), delimiter=parted)
    try:
        headings = next(reader, [])
        columns = _columns(headings, kind, refuse)
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            place = f"line {reader.line_num}"
            if len(cells) != len(columns):
                raise refuse(f"It has {len(cells)} cells, line 1 has {len(columns)}.", place)
            yield reader.line_num, _cells(cells, columns, parted)
    except csv.Error as error:
        raise refuse(f"It is no CSV: {error}.", f"line {reader.line_num}") from None


def _worksheet_rows(
    path: Path, kind: Kind, refuse: Callable[..., CaseError]
) -> Iterator[tuple[int, dict[str, str]]]:
    """The same of a worksheet ``.xlsx``; one with formulas or macros is refused."""
    from cases.inspection.cells import ReadingsError, read_cells

    try:
        rows = read_cells(path).rows
    except ReadingsError as error:
        raise CaseError(str(path), [Fault("", text) for text in error.faults]) from None
    columns = _columns(rows[0][1] if rows else (), kind, refuse)
    for line, cells in rows[1:]:
        if len(cells) != len(columns):
            text = f"It has {len(cells)} cells, line {rows[0][0]} has {len(columns)}."
            raise refuse(text, f"line {line}")
        yield line, _cells(cells, columns, ";")


def _columns(
    headings: Sequence[str], kind: Kind, refuse: Callable[..., CaseError]
) -> list[tuple[str, str]]:
    columns = [_column(heading, kind, refuse) for heading in headings]
    names = [name for name, _ in columns]
    if twice := next((name for name in names if names.count(name) > 1), ""):
        raise refuse(f"{twice} heads two columns.", "line 1")
    return columns


def _column(heading: str, kind: Kind, refuse: Callable[..., CaseError]) -> tuple[str, str]:
    """Field and unit that a heading names."""
    found = _HEADING.fullmatch(heading)
    name = found[1].lower().replace(" ", "_") if found else heading
    unit = (found[2] or "") if found else ""
    field = kind.fields.get(name)
    text = ""
    if field is None:
        near = closest(name, kind.fields)
        guess = f" Did you mean {near}?" if near else ""
        text = (
            f'"{heading:.60}" heads a column, and no field of a {kind.name} has that name.{guess} '
            f"The first line names the fields: {fields_text(kind)}."
        )
    elif unit and (field.quantity is None or unit not in field.quantity.units):
        units = field.quantity.units if field.quantity else ()
        text = f'"{unit}" is no unit of {name}. Allowed: {", ".join(units) or "none"}.'
    if text:
        raise refuse(text, "line 1")
    return name, unit


def _cells(cells: Sequence[str], columns: Sequence[tuple[str, str]], parted: str) -> dict[str, str]:
    row = {}
    for cell, (name, unit) in zip(cells, columns, strict=True):
        text = cell.strip()
        if parted == ";" and re.fullmatch(r"[+-]?\d+,\d+\s*\D*", text):
            text = text.replace(",", ".")
        if text:
            bare = unit and re.fullmatch(r"[-+.\d/ eE]+", text)
            row[name] = f"{text} {unit}" if bare else text
    return row
