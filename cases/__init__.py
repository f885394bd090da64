"""The trade: case files, the command ``hoopclock``, comparison and reports.

Nothing heavy is imported until it is used, so that the command answers at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from cases.base.faults import CaseError, RunError
from cases.base.version import __version__

if TYPE_CHECKING:
    from cases.case import Case, Design
    from cases.read import read_case
    from cases.report.results import results_dict, write_outputs
    from cases.run import solve_case
    from cases.solid.given import with_solid
    from cases.solid.solve import solve_solid
    from cases.stress.result import CaseResult, DesignResult

__all__ = [
    "Case",
    "CaseError",
    "CaseResult",
    "Design",
    "DesignResult",
    "RunError",
    "__version__",
    "read_case",
    "results_dict",
    "solve_case",
    "solve_solid",
    "with_solid",
    "write_outputs",
]

_HOME = {
    "Case": "cases.case",
    "Design": "cases.case",
    "read_case": "cases.read",
    "CaseResult": "cases.stress.result",
    "DesignResult": "cases.stress.result",
    "solve_case": "cases.run",
    "solve_solid": "cases.solid.solve",
    "with_solid": "cases.solid.given",
    "results_dict": "cases.report.results",
    "write_outputs": "cases.report.results",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'cases' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)
