"""The verdict: which design to make, with what fit, and how sure that is, told first of all.

It is worked out of finished ratings (:func:`cases.verdict.read.verdict_of`) and solves nothing. A
row a design: limit and life are the least of cold and warm, by the solid where there is one, with
the state named; all else is of one state, as the design is made, warm and at gas, or of the metal
as it is cut. A design holds where the wanted share of the draws carry the wanted load, is marginal
where half do. Designs are set against each other draw by draw: each input is drawn by its name
(:mod:`cases.rating.band`), so that one draw is the same block with another insert. Where fewer than
``SURE`` of the draws say which carries more, numerical errors counted against it, there is no
difference; where they hold, the one that keeps more water is taken, or the cheaper to make.

What would change it: the inputs that spread the limit most, and what stood for an input that the
case leaves out. What knowing an input exactly is worth is drawn (``Band.known``); what an
assumption on strength is worth is that of :mod:`cases.rating.worth`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from cases.base.subject import Subject

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.stress.result import CaseResult


class VerdictSubject(Subject):
    """What the other subjects come to."""

    key = "verdict"

    def case_data(self, result: CaseResult) -> Mapping[str, Any]:
        """The verdict, where designs are rated."""
        from cases.verdict.data import verdict_dict
        from cases.verdict.read import verdict_of

        found = verdict_of(result)
        return {"verdict": verdict_dict(found)} if found else {}

    def figures(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """The block from above, with the places that govern."""
        from cases.verdict.figures import plan_figure
        from cases.verdict.read import verdict_of

        if found := verdict_of(result):
            yield "plan", plan_figure(result, found)


SUBJECT = VerdictSubject()
