"""Every design of a case drawn, so that what can't be built is refused before any meshing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from time import perf_counter

from cases.base.faults import CaseError, Fault
from cases.base.subject import Progress
from cases.case import Case, Design
from geometry.outline import Outline, draw_section
from geometry.refusals import SectionError
from geometry.section import DeckSection


@dataclass(frozen=True, eq=False, slots=True)
class Drawing:
    """A design and its outline."""

    design: Design
    section: DeckSection
    outline: Outline
    seconds: float  # that drawing took

    @property
    def name(self) -> str:
        """Of the design."""
        return self.design.name


def draw_all(case: Case, tell: Progress) -> list[Drawing]:
    """The outline of each design.

    Raises
    ------
    CaseError
        With all that can't be built.
    """
    drawn = []
    refused: dict[str, SectionError] = {}
    for design in case.designs:
        tell(design.name, "draw")
        start = perf_counter()
        try:
            section = case.section(design)
            drawn.append(Drawing(design, section, draw_section(section), perf_counter() - start))
        except SectionError as error:
            refused[design.name] = error
    if refused:
        raise CaseError(str(case.source_path), _drawing_faults(case, refused))
    return drawn


def _drawing_faults(case: Case, refused: Mapping[str, SectionError]) -> list[Fault]:
    """Faults of the insert under its design; those of the block once for all designs."""
    found: dict[tuple[str, str], list[str]] = {}
    for name, error in refused.items():
        path = error.feature
        if re.match("insert|zone|slot|register", path):
            path = f'design "{name}".{path.removeprefix("insert").lstrip(".")}'.rstrip(".")
        found.setdefault((path, str(error)), []).append(name)
    faults = []
    for (path, text), names in found.items():
        some = not path.startswith("design") and len(names) < len(case.designs)
        where = f" This is so in design {', '.join(names)}." if some else ""
        faults.append(Fault(path, text + where))
    return faults
