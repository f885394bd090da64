"""The water through a head gasket: what deck, gasket and head leave open together.

A case may state several gaskets, such as the two kinds that a block has met over the years. Each is
a table of openings or a layer of a drawing; the deck's openings, an insert's slots among them, come
from the section. All areas are exact: faces between lines and arcs (:mod:`geometry.overlay`).
What no hole of the gasket meets, and what of its holes an insert shuts, is told hole by hole.

A drawing lies on the block by its bore circles; a bank's circles alone can't tell a gasket that is
turned by half a turn or turned over, so what it would open those ways is compared with what it
opens as it lies. Where the coolant flows, passages are orifices in series and side by side
(:mod:`cases.gasket.flow`), and each design's life has its film by them. The corners of an insert
fill those of its pocket here: about 1 mm2 each.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Drawn, Subject, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.gasket.given import GasketInput
    from cases.gasket.result import DesignWater


class GasketSubject(Subject):
    """What gaskets open over each design, where the case states any."""

    key = "gasket"
    by_design = True

    def table(self) -> type[Table]:
        """``[[gasket]]``."""
        from cases.gasket.table import GasketKeys

        return GasketKeys

    def given(self, table: Any, case: Any, faults: Faults) -> GasketInput:
        """Openings of each gasket and its head."""
        from cases.gasket.reading import read_gaskets

        return read_gaskets(table, case, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where the case has a gasket."""
        from cases.gasket.given import gasket_given

        return bool(gasket_given(case).gaskets)

    def look(self, case: Any, drawn: Sequence[Drawn], faults: Faults) -> None:
        """Whether the coolant flows fast enough everywhere for its film to be known."""
        from cases.gasket.flow import no_flow

        for drawing in drawn:
            for words in no_flow(case, drawing.design):  # type: ignore[attr-defined]
                faults.add(("coolant",), words)

    def solve(self, work: Work) -> DesignWater:
        """One design under all gaskets."""
        from cases.gasket.solve import design_water

        return design_water(work.case, work.drawn.design)

    def data(self, result: Any, design: Any) -> Mapping[str, Any]:
        """Areas and flow by gasket, bore and hole."""
        from cases.gasket.data import water_dict
        from cases.gasket.result import water_of

        found = water_of(design)
        return {"gaskets": water_dict(found)} if found else {}

    def figures(self, result: Any) -> Iterator[tuple[str, Figure]]:
        """A picture for each gasket."""
        from cases.gasket.figures import gasket_figures

        return gasket_figures(result)

    def chapters(self, result: Any) -> Sequence[Chapter]:
        """What the gaskets leave open."""
        from cases.gasket.chapter import gasket_chapters

        return gasket_chapters(result)

    def first_lines(self, result: Any) -> Sequence[str]:
        """A vent that an insert blocks, and a gasket that may lie the wrong way round."""
        from cases.gasket.words import first_lines

        return first_lines(result)

    def lines(self, result: Any) -> Sequence[str]:
        """What each design leaves open of each gasket."""
        from cases.gasket.words import gasket_lines

        return gasket_lines(result)

    def limits(self, result: Any) -> Sequence[str]:
        """What of the water isn't counted."""
        from cases.gasket.words import gasket_limits

        return gasket_limits(result)

    def assumed(self, result: Any) -> Sequence[tuple[str, str]]:
        """Usual values of a gasket."""
        from cases.gasket.given import gasket_given

        return gasket_given(result.case).assumed


SUBJECT = GasketSubject()
