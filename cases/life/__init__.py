"""The life of a fitted and heated block, load step by load step, from the press to the gas.

A ``Life`` keeps its solved steps, so that it can be asked again: ``at_gas(factor)`` with more gas,
fit and heat held, ``with_interference`` with another fit. In one piece it is solved on the mesh
that the refinement of the section under gas left, and ``error_mpa`` of the steps is the gap of
recovery alone. A fitted one has meshes of its own (:mod:`cases.life.refine`), two or three, and the
errors that their changes tell; another fit is solved on the last of them. Heat and contact are
solved by turns until the temperature moves by less than 3 K, six turns at most; a note says where
it does not settle. A warm step takes the modulus at local temperature; stress is compared with
the yield strength there.

The fit advice asks it so: the least goes on from the step that is loosest as stated to any that
holds less there; the most is where the whole stress of press, heat and gas, tail left out, reaches
the yield strength in the first step. The rating may leave fit and heat out of yield, as they don't
move the load of collapse; a fit may not, as metal that gives way gives up interference and
roundness. A step that would yield without press as well is told apart and left out of the most.
What needs no solve: the press scales with its interference (unless a side or a liner has one of its
own); steps that stay twice above the hold, or, with more press, below 95 % of yield, when the
change of the press is but added to them. Measured on 230 other fits of three blocks, stated from 2
to 120 um: such a hold comes out 1.5 times too high at most, such a share 1 % too low to 14 % too
high with more press, but up to 17 % too low with less. The most that is advised for the test block,
stated as 1, 5, 40 and 150 um: 59.1, 59.0, 58.5 and 58.8 um before the tolerance (the press alone in
proportion: 73.7). Costs 0.3 s a fitted design of the demo, of 2.6 s of its load steps.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Drawn, Subject, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.life.given import LifeInput
    from cases.life.result import Service
    from cases.stress.result import CaseResult


class Life(Subject):
    """The load steps of each design that has fit or heat, and what ratings need of any design."""

    key = "life"
    after = ("gas", "stress")
    by_design = True
    long = True

    def table(self) -> type[Table]:
        """``[heat]`` and ``[piston_ring]``."""
        from cases.life.table import LifeKeys

        return LifeKeys

    def adds(self) -> Mapping[str, type[Table]]:
        """The liner's interference, and the fit of a design."""
        from cases.life.table import FitKeys, LinerKeys

        return {"block": LinerKeys, "design": FitKeys}

    def check(self, table: Any, case: Any, faults: Faults) -> LifeInput:
        """Fits, heat, liner and piston ring."""
        from cases.life.reading import check_life

        return check_life(table, case, faults)

    def look(self, case: Any, drawn: Sequence[Drawn], faults: Faults) -> None:
        """Whether all heat finds a way out."""
        from cases.life.given import life_given
        from cases.life.ways_out import check_ways_out

        if life_given(case).heat:
            check_ways_out(case, drawn, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where there are load steps, or a rating that sets their stress against strength."""
        return bool(rate or case.given["life"].has_steps)

    def stages(self, case: Any) -> int:
        """One."""
        return 1

    def solve(self, work: Work) -> Service | None:
        """One design; its life stays at hand for the rating."""
        from cases.life.given import life_given
        from cases.life.life import OnePieceLife
        from cases.life.read import read_life
        from cases.life.refine import refined_life

        assert work.stage is not None
        design, solved, load = work.drawn.design, work.found["stress"], work.found["gas"]
        fit = life_given(work.case).fits.get(design.name)
        with work.stage("service"):
            life = (
                refined_life(work.case, design, solved, load, fit)
                if fit
                else OnePieceLife(work.case, design, solved.mesh, load)
            )
            work.live["life"] = life
            return read_life(life) if life_given(work.case).has_steps else None

    def data(self, result: CaseResult, design: Any) -> Mapping[str, Any]:
        """Load steps, cycles, advice."""
        from cases.life.data import life_dict
        from cases.life.result import is_lived, service_of

        return life_dict(service_of(design)) if is_lived(design) else {}

    def figures(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """Temperature, contact, and the bore step by step."""
        from cases.life.figures import service_figures
        from cases.life.result import is_lived

        if any(is_lived(design) for design in result.designs):
            yield from service_figures(result.designs)

    def chapters(self, result: CaseResult) -> Sequence[Chapter]:
        """The load steps."""
        from cases.life.chapter import life_chapters

        return life_chapters(result)

    def lines(self, result: CaseResult) -> Sequence[str]:
        """What the load steps come to."""
        from cases.life.lines import life_lines

        return life_lines(result)

    def limits(self, result: CaseResult) -> Sequence[str]:
        """What of fit and heat is counted."""
        from cases.life.chapter import life_limits

        return life_limits(result)


SUBJECT = Life()
