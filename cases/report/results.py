"""What a run leaves behind: ``results.json``, and everything else through its own writer."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import Any

from cases.base.data import plain
from cases.base.output import RATED
from cases.base.subject import Subject
from cases.base.version import __version__
from cases.rating.result import is_rated
from cases.report.page import all_cautions, write_report
from cases.report.pictures import write_pictures
from cases.report.rated import earlier, inputs_hash
from cases.stress.result import CaseResult
from cases.subjects import SUBJECTS

_VALUE = r'(?:[-+.\deE]+|null|true|false|"(?:[^"\\]|\\.)*")'
_PAIR = rf'"\w+": (?:{_VALUE}|\[\]|\{{\}})'
_BETWEEN = re.compile(r",\n\s+")
_FLAT = re.compile(rf"\{{\n\s+({_PAIR}(?:,\n\s+{_PAIR})*)\n\s+\}}")
_VALUES = re.compile(rf"\[\s+({_VALUE}(?:,\s+{_VALUE})*)\s+\]")


def results_dict(result: CaseResult, subjects: Sequence[Subject] = SUBJECTS) -> dict[str, Any]:
    """The content of ``results.json``: plain numbers, text and lists, the unit in each key.

    Numbers are rounded to seven digits.

    Raises
    ------
    ValueError
        If two subjects have the same key.
    """
    before = earlier(result)
    results = _merged(
        {"hoopclock": __version__, "inputs_hash": inputs_hash(result.case)},
        {"rated": {"agrees": before.results is not None, "words": before.words}} if before else {},
        *(subject.case_data(result) for subject in subjects),
    )
    designs = [
        _merged({"design": design.name}, *(one.data(result, design) for one in subjects))
        for design in result.designs
    ]
    told = {"designs": designs, "cautions": all_cautions(result, subjects)}
    return plain(_merged(results, told))  # type: ignore[no-any-return]


def _merged(*parts: Mapping[str, Any]) -> dict[str, Any]:
    """Mappings as one, no key twice."""
    merged: dict[str, Any] = {}
    for part in parts:
        if both := merged.keys() & part.keys():
            raise ValueError(f"results.json would have {', '.join(sorted(both))} twice.")
        merged |= part
    return merged


def write_outputs(
    result: CaseResult,
    folder: str | Path,
    executor: Executor | None = None,
    subjects: Sequence[Subject] = SUBJECTS,
) -> None:
    """Write pictures, ``report.html``, a ``.vtu`` per design and ``results.json``.

    Of designs that are rated it is left as ``rated.json`` too, but for their load steps; a run that
    rates nothing doesn't write over that (:mod:`cases.report.rated`).

    Parameters
    ----------
    result : CaseResult
    folder : str or Path
        Must exist and be empty.
    executor : concurrent.futures.Executor, optional
        Helps to draw and to write.
    subjects : sequence of Subject
        In order.

    Raises
    ------
    OSError
        If a file can't be written.
    """
    folder = Path(folder)
    writing = executor and executor.submit(_write_fields, subjects, result, folder)
    write_pictures(result, folder, executor, subjects)
    write_report(result, folder, subjects)
    if writing:
        writing.result()
    else:
        _write_fields(subjects, result, folder)
    files = sorted(path.name for path in folder.iterdir())
    found = results_dict(result, subjects)
    _write_json(folder / "results.json", {**found, "files": files})
    if any(is_rated(design) for design in result.designs):
        _write_json(folder / RATED, found | {"designs": list(map(_but_steps, found["designs"]))})


def _write_fields(subjects: Sequence[Subject], result: CaseResult, folder: Path) -> None:
    """What each subject leaves beside pictures and page: mostly meshes, which take long to pack."""
    for subject in subjects:
        subject.write(result, folder)


def _but_steps(design: Mapping[str, Any]) -> dict[str, Any]:
    """What was found of a design but for its load steps one by one, which are most of it."""
    return {key: value for key, value in design.items() if key != "steps"}


def _write_json(path: Path, found: Mapping[str, Any]) -> None:
    """Indented; a list of numbers or words, and what holds nothing else than such, on one line."""
    text = json.dumps(found, indent=1, allow_nan=False)
    text = _VALUES.sub(lambda of: f"[{_BETWEEN.sub(',', of[1])}]", text)
    text = _FLAT.sub(lambda of: f"{{{_BETWEEN.sub(', ', of[1])}}}", text)
    path.write_text(text + "\n", encoding="utf-8")
