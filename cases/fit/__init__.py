"""Which fit to make of an insert: its limit against interference, the window, the nearest ISO fit.

Where a design is rated by its solid, other fits are solved by the solid too
(:mod:`cases.rating.solid_fits`), and the section has no say in its window. Else it is told by the
section, and that is said first. The section is solved at 12 interferences: the stated one, one that
hardly presses, heavier ones until the limit falls below half of the best or the block yields, then
where the curve is most in doubt, at the ends of the window and in its middle; the solid at five or
so, as the curve ends where a limit is 5 % below the best. With a compound in the joint clearances
are looked at as well, to the widest gap that it fills, whichever of the two is stated. Heat is
held. The joint is condensed once and each contact begun from the next fit's; each limit from the
next fit's limit. What lies between is read as linear; by what a curve would tell instead, the ends
of a window may be off.

The window is the stretch about the best limit in which no piece is loose in any step, no step
yields (the whole stress, of press, heat and gas; metal that yields gives up interference and
roundness; one that yields with hardly any press forbids none), the press leaves the bore round
enough for the hone, the limit is above the bare block's and within 5 % of the best. Its middle is
the nominal. Without a rating no limit is sought: the window is that of hold and yield only, and
says so. It is of fits as they come out, each with its own limit; what a design stands that is made
to a nominal within the stated tolerance is told beside it, as it is of the stated one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Subject, Usual, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.fit.result import FitSweep
    from cases.stress.result import CaseResult


class FitAdvice(Subject):
    """Other fits of each fitted design, and which of them to make."""

    key = "fit"
    after = ("gas", "stress", "life", "rating")
    by_design = True
    long = True
    in_verdict = True

    def asked(self, case: Any, rate: bool) -> bool:
        """Where any design is fitted."""
        return bool(case.given["life"].fitted)

    def stages(self, case: Any) -> Sequence[Usual]:
        """One; with solids it runs beside the rating."""
        from cases.life.given import life_given
        from cases.solid.given import solid_given

        given, own = solid_given(case), life_given(case).heat_follows_gas
        fine, coarse = (150.0, 80.0) if own else (40.0, 14.0)
        by_solid = fine if given.setting == "fine" else coarse
        usual = by_solid if given.lived and given.swept else 17.0
        return (("other fits", usual),)

    def solve(self, work: Work) -> FitSweep | None:
        """One design at other interferences; None where it is not fitted."""
        from cases.fit.sweep import sweep, told_by_solid
        from cases.life.life import FittedLife

        assert work.stage is not None
        life, rating = work.live["life"], work.found.get("rating")
        if not isinstance(life, FittedLife) or not life.fit.sides:
            return None
        if rating and rating.solid and rating.solid.fits:
            return told_by_solid(life, rating.solid)
        with work.stage("other fits"):
            known = rating and (rating.nominal or rating.limit)
            return sweep(
                life, work.found["stress"], work.case, rated=rating is not None,
                limit=known.factor if known else None,
            )  # fmt: skip

    def data(self, result: CaseResult, design: Any) -> Mapping[str, Any]:
        """The window, and what was solved for it."""
        from cases.fit.advice import advice_of
        from cases.fit.data import advice_dict
        from cases.fit.result import sweep_of

        sweep, advice = sweep_of(design), advice_of(result, design)
        if sweep is None or advice is None:
            return {}
        return {"fit_advice": advice_dict(sweep, advice)}

    def figures(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """Limit against interference."""
        from cases.fit.figures import fits_figure
        from cases.fit.result import sweep_of

        if any((sweep := sweep_of(design)) and sweep.rated for design in result.designs):
            yield "fits", fits_figure(result)

    def chapters(self, result: CaseResult) -> Sequence[Chapter]:
        """Which fit to make."""
        from cases.fit.chapter import fit_chapters

        return fit_chapters(result)

    def first_lines(self, result: CaseResult) -> Sequence[str]:
        """Which stated fit is no good, and what to make."""
        from cases.fit.lines import first_lines

        return first_lines(result)

    def lines(self, result: CaseResult) -> Sequence[str]:
        """The window of each design whose stated fit lies in it."""
        from cases.fit.lines import fit_lines

        return fit_lines(result)


SUBJECT = FitAdvice()
