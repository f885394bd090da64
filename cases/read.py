"""From a case file to a case. Reading only reads: no engine is run, nothing is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import replace
from functools import reduce
from operator import getitem
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from cases.base.checking import Faults
from cases.base.faults import CaseError, order_in
from cases.base.spoken import refused_in, spoken_in
from cases.base.subject import Subject
from cases.base.tables import schema_fault
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
        at once, those of drawing too where anything else is wrong.
    """
    path = Path(path)
    raw = load_toml(path)
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
    table = _table(raw, gathered)
    unknown = len(gathered.found)
    case = read_block(table, path, gathered)
    if case is not None:
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


def _table(raw: dict[str, Any], gathered: Faults) -> Any:
    """The content of a file by its schema; keys that it doesn't know are faults, and left out.

    Raises
    ------
    CaseError
        Where anything else is wrong against the schema.
    """
    try:
        return gathered.whole.model_validate(raw)
    except ValidationError as error:
        items = sorted(error.errors(), key=lambda item: order_in(raw, item["loc"]))
    faults = [schema_fault(gathered.whole, raw, item) for item in items]
    if any(item["type"] != "extra_forbidden" for item in items):
        raise CaseError(gathered.source, faults)
    known: Any = deepcopy(raw)
    for item, fault in zip(items, faults, strict=True):
        gathered.add(item["loc"], fault.text)
        *inside, key = item["loc"]
        del reduce(getitem, inside, known)[key]
    return gathered.whole.model_validate(known)
