"""From what was typed to lines that can be kept: values read, files hashed, rows of a file."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from hashlib import sha256
from pathlib import Path

from cases.base.faults import CaseError, Fault, closest
from cases.base.version import __version__
from cases.inspection.cells import MOST_FAULTS, ReadingsError, read_cells
from cases.inspection.readings import PASSED_OVER, method_named, reading_kept, unlike_places
from cases.store.file import NewLine
from cases.store.kinds import (
    FILES,
    Kind,
    Said,
    fields_text,
    file_named,
    inside_of,
    kind_of,
    read_values,
)

LARGEST = {
    "case": 1_000_000,
    "design": 200_000_000,
    "distortion": 200_000_000,
    "photo": 500_000_000,
}
"""Of a file that a line names, by its kind. [bytes]."""
STAMPS = ("who", "date", "instrument")
"""Of a line; columns of a file with rows too, where they differ from row to row."""


def entry(
    kind: str,
    typed: Mapping[str, str],
    *,
    who: str,
    date: str | None = None,
    instrument: str = "",
    corrects: int | None = None,
    bores: int | None = None,
) -> NewLine:
    """A line to be kept, of values as they are typed.

    Parameters
    ----------
    kind : str
        Of :data:`cases.store.kinds.KINDS`.
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
    bores : int, optional
        How many the block of the job has.

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
    wrong += _unfit(known, said, bores)
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
    bores: int | None = None,
) -> list[NewLine]:
    """Lines to be kept, a row of a file, CSV or ``.xlsx``, each.

    The first row names the fields, with a unit in brackets or without where the cells carry
    theirs: ``bore;clock;depth [mm];wall [mm]``. Commas, semicolons or tabs part the cells; where
    commas don't, a comma in a number is its decimal point. Columns ``who``, ``date`` and
    ``instrument`` stand before what is given for all. Of readings the sheet that ``hoopclock
    sheet`` writes is read as it was filled in.

    Parameters
    ----------
    path : Path
    typed : mapping
        What is the same in all rows.
    bores : int, optional
        How many the block of the job has.

    Raises
    ------
    CaseError
        With line and column of all that is wrong; then no row counts.
    """
    known = _known(kind)
    if known.name in (*FILES, "struck"):
        raise CaseError(str(path), [Fault("--rows", f"A {known.name} is added one by one.")])
    if corrects is not None:
        raise CaseError(str(path), [Fault("--corrects", "Lines are corrected one by one.")])
    faults: list[Fault] = []
    lines: list[NewLine] = []
    places: list[Callable[[str], str]] = []
    for place, cells in _rows(path, known):
        by, day = cells.pop("who", who), cells.pop("date", date)
        tool = cells.pop("instrument", instrument)
        if both := cells.keys() & typed.keys():
            name = min(both)
            raise CaseError(str(path), [Fault(name, "It stands in the file and beside it.")])
        said, wrong = read_values(known, {**typed, **cells})
        wrong += [*_unfit(known, said, bores), *_stamp_faults(known, by, day, tool)]
        faults += [
            Fault(place(of.path.removeprefix("--")), of.text, of.value)
            for of in wrong
            if of not in faults
        ]
        if len(faults) >= MOST_FAULTS:
            break
        lines.append(
            NewLine(
                kind=known.name,
                date=day or _today().isoformat(),
                who=by.strip(),
                instrument=tool.strip(),
                said=said,
            )
        )
        places.append(place)
    if not faults and known.name == "reading":
        faults += _unlike(lines, places)
    if not faults and not lines:
        faults.append(Fault("", "There is no row below the names of its fields."))
    if faults:
        raise CaseError(str(path), faults[:MOST_FAULTS])
    return lines


def _unfit(kind: Kind, said: Mapping[str, Said], bores: int | None) -> list[Fault]:
    """A bore that the block doesn't have, and a method of reading walls that isn't known."""
    faults = []
    if bores is not None and "bore" in said and int(said["bore"].inside) > bores:
        text = f"The block of this job has {bores} bore{'' if bores == 1 else 's'}."
        faults.append(Fault("bore", text, said["bore"].typed))
    if kind.name == "reading" and "method" in said:
        try:
            method_named(str(said["method"].inside))
        except ValueError as error:
            faults.append(Fault("method", str(error)))
    return faults


def _unlike(lines: Sequence[NewLine], places: Sequence[Callable[[str], str]]) -> list[Fault]:
    """Readings of one place that are further apart than their errors."""
    readings = [reading_kept(inside_of(line.said), at) for at, line in enumerate(lines)]
    return [
        Fault(
            places[again.line]("wall"),
            f"{again.place}, is {first.wall:g} mm at {places[first.line]('wall')} too: more apart "
            "than their errors. Measure it again, and keep one.",
            lines[again.line].said["wall"].typed,
        )
        for first, again in unlike_places(readings)
    ]


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


def _rows(path: Path, kind: Kind) -> Iterator[tuple[Callable[[str], str], dict[str, str]]]:
    """Where each field stands, and text by field, of each row that is not empty.

    Raises
    ------
    CaseError
        If it is no such file.
    """
    try:
        found = read_cells(path)
    except ReadingsError as error:
        raise CaseError(str(path), [Fault("", text) for text in error.faults]) from None
    head, headings = found.rows[0] if found.rows else (1, ())
    columns = _columns(headings, kind, lambda at: found.place(head, at), str(path))
    names = [name for name, _ in columns]
    for line, cells in found.rows[1:]:
        if len(cells) != len(columns):
            text = f"It has {len(cells)} cells, line {head} has {len(columns)}."
            at = found.place(line, min(len(cells), len(columns)))
            raise CaseError(str(path), [Fault(at, text)])

        def place(name: str, line: int = line) -> str:
            at = found.place(line, names.index(name)) if name in names else f"line {line}"
            return f"{at} ({name})"

        row = _cells(cells, columns, decimal_comma=not found.comma)
        if kind.name == "reading" and "wall" in names and "wall" not in row:
            continue  # a place of the sheet that was not measured
        yield place, row


def _columns(
    headings: Sequence[str], kind: Kind, place: Callable[[int], str], path: str
) -> list[tuple[str, str]]:
    columns = list[tuple[str, str]]()
    for at, heading in enumerate(headings):
        name, unit, wrong = _column(heading, kind)
        if not wrong and name in [of for of, _ in columns]:
            wrong = f"{name} heads two columns."
        if wrong:
            raise CaseError(path, [Fault(place(at), wrong)])
        columns.append((name, unit))
    return columns


def _column(heading: str, kind: Kind) -> tuple[str, str, str]:
    """Field and unit that a heading names, and what is wrong with it."""
    found = _HEADING.fullmatch(heading)
    name = found[1].lower().replace(" ", "_") if found else heading
    unit = (found[2] or "") if found else ""
    if name in STAMPS or (kind.name == "reading" and name in PASSED_OVER):
        return name, "", ""
    field = kind.fields.get(name)
    wrong = ""
    if field is None:
        near = closest(name, kind.fields)
        wrong = (
            f'"{heading:.60}" heads a column, and no field of a {kind.name} has that name.'
            f"{f' Did you mean {near}?' if near else ''} The first line names the fields: "
            f"{fields_text(kind)}."
        )
    elif unit and (field.quantity is None or unit not in field.quantity.units):
        units = field.quantity.units if field.quantity else ()
        wrong = f'"{unit}" is no unit of {name}. Allowed: {", ".join(units) or "none"}.'
    return name, unit, wrong


def _cells(
    cells: Sequence[str], columns: Sequence[tuple[str, str]], *, decimal_comma: bool
) -> dict[str, str]:
    row = {}
    for text, (name, unit) in zip(cells, columns, strict=True):
        if not text or name in PASSED_OVER:
            continue
        if decimal_comma and re.fullmatch(r"[+-]?\d+,\d+\s*\D*", text):
            text = text.replace(",", ".")
        bare = unit and re.fullmatch(r"[-+.\d/ eE]+", text)
        row[name] = f"{text} {unit}" if bare else text
    return row
