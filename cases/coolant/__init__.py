"""The water beside the barrels: its film by flow, and what boiling takes on top.

Without ``[coolant]`` the film of ``[heat]`` stands as the case states it, and nothing boils. With
it, heat leaves a wet wall by the curve that Chen's superposition gives for liquid below its boiling
point: forced convection by the pump's flow, and nucleate boiling from the boiling point on, at the
pressure of the system. Critical heat flux stands beside what the walls give (:mod:`cases.life`),
that of a pool, which flow and cold liquid only raise; beyond it nothing here holds.

All of the flow passes along the bank, by halves on its two sides, through the jacket down to its
floor. What an insert takes of that passage makes the rest faster; that is not counted, on the hot
side. Where the case states gaskets, what has left to the head no longer passes the next bore, and
the film is that of the bore that fires, design by design (:mod:`cases.gasket.flow`). Properties
are those of CoolProp, correlations those of ht. Forster and Zuber's boiling is a third to two
thirds of Rohsenow's (0.013, in a pool of water) at 5 to 20 K: on the hot side too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Solved, Subject, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.coolant.film import WetFilm
    from cases.coolant.given import CoolantInput


class Coolant(Subject):
    """What the coolant takes of a wall, where the case says what flows there."""

    key = "coolant"
    on_page = True

    def table(self) -> type[Table]:
        """``[coolant]``."""
        from cases.coolant.table import CoolantKeys

        return CoolantKeys

    def given(self, table: Any, case: Any, faults: Faults) -> CoolantInput | None:
        """Fluid, pressure and flow."""
        from cases.coolant.reading import read_coolant

        return read_coolant(table, case.block, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where the case has a coolant that takes heat."""
        return case.given["coolant"] is not None

    def solve(self, work: Work) -> WetFilm:
        """The film on every wet wall."""
        from cases.coolant.film import wet_film

        return wet_film(work.case.given["coolant"])

    def case_data(self, result: Solved) -> Mapping[str, Any]:
        """Flow, film and boiling."""
        from cases.coolant.data import coolant_dict

        return coolant_dict(result)

    def figures(self, result: Solved) -> Iterator[tuple[str, Figure]]:
        """Heat flux by wall temperature."""
        from cases.coolant.figures import coolant_figures
        from cases.coolant.given import coolant_of

        if coolant_of(result):
            yield from coolant_figures(result)

    def chapters(self, result: Solved) -> Sequence[Chapter]:
        """What the water takes."""
        from cases.coolant.chapter import coolant_chapters

        return coolant_chapters(result)

    def lines(self, result: Solved) -> Sequence[str]:
        """Film, boiling point and critical heat flux."""
        from cases.coolant.words import coolant_lines

        return coolant_lines(result)

    def assumed(self, result: Solved) -> Sequence[tuple[str, str]]:
        """Pressure and fluid, where the case leaves them out."""
        from cases.coolant.given import coolant_given

        given = coolant_given(result.case)
        return given.assumed if given else ()


SUBJECT = Coolant()
