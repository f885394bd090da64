"""From a case file to a case. Reading only reads: no engine is run, nothing is drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from copy import deepcopy
from dataclasses import replace
from functools import reduce
from operator import getitem
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from cases.base.checking import Faults
from cases.base.faults import CaseError, Location, order_in
from cases.base.spoken import refused_in, spoken_in
from cases.base.subject import Subject
from cases.base.tables import Table, schema_fault, table_at
from cases.base.toml import load_toml
from cases.block.drawn import draw_all
from cases.block.reading import read_block
from cases.case import Case
from cases.subjects import SUBJECTS, case_table


def read_case(path: str | Path, subjects: Sequence[Subject] = SUBJECTS) -> Case:
    """Read a case file.

    Parameters
    ----------
    path : str or Path
        A TOML file in UTF-8, at most ``cases.base.toml.LARGEST_FILE`` bytes.
    subjects : sequence of Subject
        In order.

    Returns
    -------
    Case

    Raises
    ------
    CaseError
        If the file can't be read, or anything in it is wrong; all faults that can be told are told
        at once, those of drawing too where anything else is wrong; beside those against the
        schema only what is wrong by itself, such as a number out of its range.
    """
    path = Path(path)
    return case_of(load_toml(path), path, subjects)


def case_of(raw: Mapping[str, Any], path: Path, subjects: Sequence[Subject] = SUBJECTS) -> Case:
    """A case of the content of a file.

    Parameters
    ----------
    raw : mapping
    path : Path
        Of the file; other files that it names are beside it.
    subjects : sequence of Subject
        In order.

    Raises
    ------
    CaseError
        As :func:`read_case`.
    """
    raw = dict(raw)
    spoken = spoken_in(raw)
    with refused_in(spoken):
        return replace(_read(raw, path, subjects), spoken=spoken)


def _read(raw: dict[str, Any], path: Path, subjects: Sequence[Subject]) -> Case:
    """A case of what its file states.

    Raises
    ------
    CaseError
        With all that is wrong in it.
    """
    gathered = Faults(str(path), raw, case_table(tuple(subjects)))
    table = _table(raw, path, gathered, subjects)
    unknown = len(gathered.found)
    case = read_block(table, path, gathered)
    if case is None:
        gathered.take_alone(_with_stand_ins(raw, path, gathered.locations, subjects))
    else:
        sound = len(gathered.found) == unknown
        for subject in subjects:
            case = case.told(subject.key, subject.given(table, case, gathered))
            case = subject.changed(case, gathered)
        if sound and gathered.found:
            try:
                draw_all(case, lambda name, stage: None)
            except CaseError as error:
                gathered.take(error)
    gathered.end()
    assert case is not None
    return case


def _table(raw: dict[str, Any], path: Path, gathered: Faults, subjects: Sequence[Subject]) -> Any:
    """The content of a file by its schema; keys that it doesn't know are faults, and left out.

    Raises
    ------
    CaseError
        Where anything else is wrong against the schema, with what of the rest is wrong alone.
    """
    try:
        return gathered.whole.model_validate(raw)
    except ValidationError as error:
        items = sorted(error.errors(), key=lambda item: order_in(raw, item["loc"]))
    faults = [schema_fault(gathered.whole, raw, item) for item in items]
    for item, fault in zip(items, faults, strict=True):
        gathered.add(item["loc"], fault.text)
    if any(item["type"] != "extra_forbidden" for item in items):
        gathered.take_alone(_with_stand_ins(raw, path, [item["loc"] for item in items], subjects))
        gathered.end()
    known: Any = deepcopy(raw)
    for item in items:
        *inside, key = item["loc"]
        del reduce(getitem, inside, known)[key]
    return gathered.whole.model_validate(known)


def _with_stand_ins(
    raw: dict[str, Any], path: Path, wrong: Sequence[Location], subjects: Sequence[Subject]
) -> Faults:
    """What is found of a file with examples in place of what its schema refuses.

    Only what is wrong alone may be told of it; nothing where no example will do. Where no block can
    be even so, what it is refused for has an example too.
    """
    whole = case_table(tuple(subjects))
    stood_in: Any = deepcopy(raw)
    found = Faults(str(path), raw, whole)
    with suppress(CaseError, ValidationError, LookupError, TypeError):
        _stand_in(stood_in, whole, wrong)
        table = whole.model_validate(stood_in)
        case = read_block(table, path, found)
        if case is None:
            _stand_in(stood_in, whole, found.locations)
            table = whole.model_validate(stood_in)
            case = read_block(table, path, found)
        if case is not None:
            for subject in subjects:
                case = case.told(subject.key, subject.given(table, case, found))
    return found


def _stand_in(raw: Any, whole: type[Table], wrong: Sequence[Location]) -> None:
    """Put examples in place of what is wrong; what has no key there goes.

    Raises
    ------
    LookupError, TypeError
        Where a place is not there.
    """
    for location in wrong:
        *inside, key = _key_of(location)
        parent = table_at(whole, tuple(inside))
        field = parent.model_fields.get(str(key)) if parent else None
        place = reduce(getitem, inside, raw)
        if field is None:
            place.pop(key, None)
        elif field.examples:
            place[key] = deepcopy(field.examples[0])


def _key_of(location: Location) -> Location:
    """The key that a place belongs to: a row of a list has none of its own."""
    while isinstance(location[-1], int):
        location = location[:-1]
    return location
