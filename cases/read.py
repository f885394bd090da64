"""From a case file to a case. Reading only reads: no engine is run, nothing is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from cases.base.checking import Faults
from cases.base.faults import CaseError, order_in
from cases.base.spoken import refused_in, spoken_in
from cases.base.subject import Subject
from cases.base.tables import schema_fault
from cases.base.toml import load_toml
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
        If the file can't be read, or anything in it is wrong; all faults that can be told without
        drawing the section are told at once.
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
    whole = case_table(tuple(subjects))
    try:
        table = whole.model_validate(raw)
    except ValidationError as error:
        items = sorted(error.errors(), key=lambda item: order_in(raw, item["loc"]))
        faults = [schema_fault(whole, raw, item) for item in items]
        raise CaseError(str(path), faults) from None
    gathered = Faults(str(path), raw, whole)
    case = read_block(table, path, gathered)
    if case is not None:
        for subject in subjects:
            case = case.told(subject.key, subject.given(table, case, gathered))
    gathered.end()
    assert case is not None
    return case
