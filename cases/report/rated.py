"""What ``rate`` found, left beside ``results.json`` for runs and pages that come later.

It stands under a hash of what it was found from. A later ``solve`` into the same folder leaves it
and says whether it still is of the same case and version; drawing and page take it through
:func:`rated_findings`, and only where it is.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cases.base.data import fields_of
from cases.base.digest import digest_of
from cases.base.output import RATED
from cases.base.version import __version__
from cases.bores.given import as_stated
from cases.case import Case
from cases.solid.given import with_solid
from cases.stress.result import CaseResult

KEY = "rated"
"""Of an earlier rating, among the findings of a run that rates nothing."""
UNSOLVED = ("record", "making", "slots", "search")
"""Subjects whose input moves nothing that is solved."""


@dataclass(frozen=True, slots=True)
class RatedFindings:
    """What an earlier ``rate`` left.

    Attributes
    ----------
    results : mapping or None
        As its ``results.json``; None where it may not be used.
    words : str
        The limits of its designs, or why they don't count.
    """

    results: Mapping[str, Any] | None
    words: str


def _limit_words(limit: Mapping[str, Any] | None) -> str:
    if limit is None:
        return "no limit found"
    if limit["pressure_mpa"] is None:
        return f"{limit['factor']:.2f} times the gas load"
    return f"{10 * limit['pressure_mpa']:.0f} bar"


def inputs_hash(case: Case) -> str:
    """Hash of all that the findings of a case rest on, and of the version.

    Its file's name, its own name and its note are not in it, nor the units that it speaks, nor how
    finely a run solves its solid, which bore a rating came to where none is stated, nor the shop's
    record, which is set beside what was solved, nor how an insert is made.
    """
    held = fields_of(as_stated(with_solid(case, None)))
    for untold in ("name", "note", "source_path", "spoken"):
        del held[untold]
    held["given"] = {key: of for key, of in held["given"].items() if key not in UNSOLVED}
    return digest_of([__version__, held])


def rated_findings(folder: str | Path, case: Case) -> RatedFindings:
    """What ``rate`` found of a case, if it left that in a folder.

    Parameters
    ----------
    folder : str or Path
        That ``rate`` wrote into.
    case : Case
        As it is now.

    Returns
    -------
    RatedFindings
        Without results where there are none, or they are of another case or version, and why.
    """
    try:
        results = json.loads((Path(folder) / RATED).read_text(encoding="utf-8"))
        version, found = results["hoopclock"], results["inputs_hash"]
        limits = [
            f"{design['design']} {_limit_words(design['rating']['limit'])}"
            for design in results["designs"]
        ]
    except FileNotFoundError:
        return RatedFindings(None, "Nothing was rated into this folder: run hoopclock rate.")
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return RatedFindings(None, f"{RATED} can't be read: run hoopclock rate again.")
    if version != __version__:
        return RatedFindings(
            None,
            f"{RATED} is by version {version} of hoopclock and this is {__version__}, so it is not "
            "used: run hoopclock rate again.",
        )
    if found != inputs_hash(case):
        return RatedFindings(
            None,
            f"{RATED} is of another case, or of this one before it was changed, so it is not used: "
            "run hoopclock rate again.",
        )
    words = f"Rated before, the same case by the same version: {', '.join(limits)} ({RATED})."
    return RatedFindings(results, words)


def with_rated(result: CaseResult, folder: str | Path) -> CaseResult:
    """A result with what an earlier ``rate`` left in a folder; as it is where that is nothing."""
    if not (Path(folder) / RATED).exists():
        return result
    found = rated_findings(folder, result.case)
    return replace(result, found={**result.found, KEY: found})


def earlier(result: CaseResult) -> RatedFindings | None:
    """What an earlier ``rate`` left in the folder of a run that rates nothing."""
    return result.found.get(KEY)
