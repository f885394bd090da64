"""The block in depth: worst spots, their depth and growth, from a solid of the bore that fires.

Each design is meshed in prisms (:mod:`geometry.solid`) and solved (:mod:`fea.solid`) under the gas
of every crank angle that counts; each surface point is judged at the angle that is worst for it.
``with_solid`` says how finely: coarse beside the section, fine beside a rating.

Held along the bore at the crankcase floor, all else free across it. Bundled block, coarse, bare and
``uniform``: the floor held every way moves the worst stress by 0.4 and 3 %, and the growth at 12:00
from 52 to 40 and from 34 to 29 um; a floor 30 mm deeper by 0.7 % and none, 52 to 48 and 34 to 32
um; the planes half-way into the neighbours held across by 0.6 and 3 %, 52 to 44 and 34 to 31 um.
Piston thrust and gas are answered by shear, even over the floor; what moment is left tilts the
block on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.base.faults import Refusal, RunError
from cases.base.subject import Chapter, Subject, TextTable, Usual, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.solid.given import SolidInput
    from cases.solid.result import DesignSolid
    from cases.stress.result import CaseResult


class Solid(Subject):
    """The solid of each design, where a run asks for it."""

    key = "solid"
    after = ("gas", "stress", "life")
    by_design = True
    long = True
    on_page = True

    def table(self) -> type[Table]:
        """``[solid]``."""
        from cases.solid.table import SolidKeys

        return SolidKeys

    def given(self, table: Any, case: Any, faults: Faults) -> SolidInput:
        """The one state that is asked for, if it is only one."""
        from cases.solid.reading import read_solid

        return read_solid(table, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where the run says how finely."""
        from cases.solid.given import solid_given

        return solid_given(case).setting is not None

    def ignored(self, case: Any, rate: bool) -> str:
        """What goes with a rating, where the case asks for one state alone."""
        from cases.solid.given import solid_given

        if not (rate and solid_given(case).alone):
            return ""
        return (
            "[solid] asks for one piece, cold, alone: nothing is rated. Leave it out for a rating."
        )

    def stages(self, case: Any) -> Sequence[Usual]:
        """Mesh, solve and recover of the solid; its life where that is rated."""
        from cases.solid.given import solid_given

        given = solid_given(case)
        mesh, solve, stress, life = (
            (0.4, 19.0, 2.7, 54.0) if given.setting == "fine" else (0.3, 8.0, 1.5, 19.0)
        )
        meshed, lived = ("solid mesh", mesh), ("solid life", life)
        if given.lived and not given.evidence:
            return meshed, lived
        one_piece = meshed, ("solid", solve), ("solid stress", stress)
        return (*one_piece, lived) if given.lived else one_piece

    def solve(self, work: Work) -> DesignSolid | Refusal:
        """One design; why not, where it can't be meshed or solved."""
        from cases.solid.given import solid_given
        from cases.solid.solve import design_solid

        assert work.stage is not None
        life = work.live.get("life") if solid_given(work.case).lived else None
        try:
            found, work.live["solid"] = design_solid(
                work.case, work.drawn.design, work.found["gas"], work.found["stress"], work.stage,
                life,
            )  # fmt: skip
        except RunError as error:
            return Refusal.of(error)
        return found

    def data(self, result: CaseResult, design: Any) -> Mapping[str, Any]:
        """Spots, growth and ratio to the section."""
        from cases.solid.data import solid_dict
        from cases.solid.result import refused_of, solid_of

        if refusal := refused_of(design):
            return {"solid_refused": refusal.text}
        found = solid_of(design)
        return {"solid": solid_dict(found)} if found else {}

    def figures(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """Stress and growth against depth."""
        from cases.solid.figures import solid_figures

        yield from solid_figures(result)

    def write(self, result: CaseResult, folder: Path) -> None:
        """A ``.vtu`` file of each solid."""
        from cases.base.output import file_keys
        from cases.solid.vtu import write_solid_vtu
        from cases.solid.words import solids

        keys = file_keys(result)
        for design, found in solids(result):
            write_solid_vtu(found.shown, folder / f"{keys[design.name]}-solid.vtu")

    def chapters(self, result: CaseResult) -> Sequence[Chapter]:
        """The block in depth."""
        from cases.solid.chapter import solid_chapters

        return solid_chapters(result)

    def first_lines(self, result: CaseResult) -> Sequence[str]:
        """Why a design has no solid; where nothing is rated, the order of the designs."""
        from cases.solid.words import first_lines, untold_lines

        rated = any("rating" in design.found for design in result.designs)
        return untold_lines(result) if rated else first_lines(result)

    def lines(self, result: CaseResult) -> Sequence[str | TextTable]:
        """The worst spot of each design in depth, beside the section."""
        from cases.solid.lines import solid_lines

        return solid_lines(result)

    def limits(self, result: CaseResult) -> Sequence[str]:
        """What the section is worth here, and how the draft is taken."""
        from cases.solid.words import draft_words, solids, worth_words

        if not solids(result):
            return ()
        return tuple(one for one in (worth_words(result), draft_words(result)) if one)


SUBJECT = Solid()
