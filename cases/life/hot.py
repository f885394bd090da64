"""What heat does to the designs of a case that no one may miss, in words."""

from __future__ import annotations

from cases.life.result import flags_of
from cases.stress.result import CaseResult


def hot_lines(result: CaseResult) -> list[str]:
    """What heat does that no one may miss: each kind once, of the design that shows it first."""
    told: dict[str, tuple[str, list[str]]] = {}
    for design in result.designs:
        for flag in flags_of(design):
            told.setdefault(flag.kind, (flag.words, []))[1].append(design.name)
    return [f"Heat, {', '.join(names)}: {words}" for words, names in told.values()]
