"""Stress of the deck section under gas, cold and in one piece: hot spots, growth, maps, water."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Column, Subject, Usual, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.stress.result import CaseResult, DesignResult


class Stress(Subject):
    """The section of each design, refined until its hot spots are settled."""

    key = "stress"
    after = ("gas",)
    by_design = True
    on_page = True

    def asked(self, case: Any, rate: bool) -> bool:
        """Always."""
        return True

    def stages(self, case: Any) -> Sequence[Usual]:
        """Mesh, solve, recover."""
        return ("mesh", 0.6), ("solve", 0.6), ("recover", 0.3)

    def solve(self, work: Work) -> DesignResult:
        """One design."""
        from cases.stress.solve import solve_section

        drawn, stage = work.drawn, work.stage
        assert stage is not None
        load = work.found["gas"].line_load
        return solve_section(work.case, drawn.design, drawn.outline, load, stage)

    def data(self, result: CaseResult, design: Any) -> Mapping[str, Any]:
        """Hot spots, bore, water, mesh and self-checks."""
        from cases.stress.data import design_dict

        return design_dict(design)

    def maps(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """Stress over the section."""
        from cases.stress.maps import stress_maps

        return stress_maps(result)

    def figures(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """Around the clock, growth, and the designs side by side."""
        from cases.stress.figures import bore_growth_figure, clock_figure, designs_figure

        yield "clock", clock_figure(result.designs)
        yield "growth", bore_growth_figure(result.designs)
        yield "designs", designs_figure(result.designs)

    def write(self, result: CaseResult, folder: Path) -> None:
        """A ``.vtu`` file of each design."""
        from cases.base.output import file_keys
        from cases.stress.vtu import write_vtu

        keys = file_keys(result)
        for design in result.designs:
            write_vtu(design, folder / f"{keys[design.name]}.vtu")

    def chapters(self, result: CaseResult) -> Sequence[Chapter]:
        """Why the wall cracks there, what a design changes and costs; all numbers, self-checks."""
        from cases.stress.chapters import stress_chapters

        return stress_chapters(result)

    def columns(self, result: CaseResult, design: Any) -> Sequence[Column]:
        """The worst spot, the bore and the water."""
        from cases.stress.columns import stress_columns

        return stress_columns(result, design)

    def lines(self, result: CaseResult) -> Sequence[str]:
        """What the columns mean, and which spots can't be rated."""
        from cases.stress.lines import stress_lines

        return stress_lines(result)

    def limits(self, result: CaseResult) -> Sequence[str]:
        """What a section can't see."""
        from cases.stress.chapters import section_limits

        return section_limits(result)


SUBJECT = Stress()
