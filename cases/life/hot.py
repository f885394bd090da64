"""What heat does to the designs of a case that no one may miss, in words."""

from __future__ import annotations

from cases.life.result import is_lived, service_of
from cases.stress.result import CaseResult


def hot_lines(result: CaseResult) -> list[str]:
    """What heat does that no one may miss: each kind once, of the design that shows it first."""
    told: dict[str, tuple[str, list[str]]] = {}
    for design in result.designs:
        for flag in service_of(design).flags if is_lived(design) else ():
            told.setdefault(flag.kind, (flag.words, []))[1].append(design.name)
    return [f"Heat, {', '.join(names)}: {words}" for words, names in told.values()]
