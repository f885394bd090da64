"""Every bore fires in turn, and the block is rated by the worst, where no bore is stated.

Bores of a block differ: by their walls as they were read, by cuts and ties that not all have, by
what stands beside them. ``hoopclock rate`` ranks all of them by sections in one piece, judges the
worst and the runner-up as a rating does it, without draws and with a coarse solid, and rates the
block with the one at which the best design carries less (:mod:`cases.bores.choose`). Of a bank of
two, bare and with a ring, all of it took 1.85 times the processor time of one bore's rating.
``firing_bore``, where it is stated, rates that bore alone; sections in one piece of the first
design then tell before all else whether another is worse. A run that rates nothing fires bore 1.

What bores beside do to a place while they fire is in its cycle, whether a bore is stated or not
(:mod:`cases.rating.next_bore`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.data import fields_of, plain
from cases.base.subject import Chapter, Solved, Subject

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.subject import Work
    from cases.bores.given import BoresInput
    from cases.bores.result import RankedSpot


class Bores(Subject):
    """Which bore the block is rated by; solved before the run (:mod:`cases.bores.choose`)."""

    key = "bores"
    after = ("rating",)
    by_design = True

    def given(self, table: Any, case: Any, faults: Faults) -> BoresInput:
        """Whether the case leaves it to the rating."""
        from cases.bores.given import BoresInput

        return BoresInput(every=case.block.bores > 1 and table.block.firing_bore is None)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where a bore of several is stated, and it is rated alone."""
        from cases.bores.given import every_bore

        return rate and case.block.bores > 1 and not every_bore(case)

    def solve(self, work: Work) -> Sequence[RankedSpot]:
        """How much the metal about each bore uses, of the first design; not at all of others."""
        from cases.base.faults import RunError
        from cases.bores.rank import ranked
        from cases.gas.solve import gas_load

        design = work.drawn.design
        if design.name != work.case.designs[0].name:
            return ()
        try:
            return tuple(ranked(work.case, design, gas_load(work.case).line_load))
        except RunError:
            return ()

    def ignored(self, case: Any, rate: bool) -> str:
        """That another bore may be worse."""
        from cases.bores.given import every_bore

        if rate or not every_bore(case):
            return ""
        return "Bore 1 fires: no firing_bore is stated. hoopclock rate finds the worst bore."

    def data(self, result: Solved, design: Any) -> Mapping[str, Any]:
        """What a design stands at each bore; where one is stated, how they rank."""
        from cases.bores.result import bores_of, ranked_of

        found = bores_of(result)
        if found is None:
            ranked = plain([fields_of(of) for of in ranked_of(design)])
            return {"ranked_bores": ranked} if ranked else {}
        bores = [
            {**fields_of(of), "spot": fields_of(of.spot)} for of in found.by_design[design.name]
        ]
        return {"by_bore": plain(bores)}

    def case_data(self, result: Solved) -> Mapping[str, Any]:
        """The bore that the block is rated by."""
        from cases.bores.result import bores_of

        found = bores_of(result)
        if found is None:
            return {}
        return {
            "rated_bore": found.rated, "runner_up_bore": found.runner_up,
            "told_apart_by": found.design, "bores_alike": found.alike,
        }  # fmt: skip

    def figures(self, result: Solved) -> Iterator[tuple[str, Figure]]:
        """Limits by bore."""
        from cases.bores.figures import bores_figure
        from cases.bores.result import bores_of

        if found := bores_of(result):
            yield "bores", bores_figure(found)

    def chapters(self, result: Any) -> Sequence[Chapter]:
        """The bores side by side."""
        from cases.bores.result import bores_of
        from cases.bores.words import MORE_SHIFT, chosen_words, limit_at, shift_costs

        found = bores_of(result)
        if found is None:
            return ()
        return (
            Chapter(
                key="bores", title="Every bore in turn", template="bores/chapter.html.j2",
                finding=chosen_words(found),
                contents={
                    "bores": found, "limit_at": limit_at, "costs": shift_costs(result),
                    "more_shift": MORE_SHIFT,
                },
            ),
        )  # fmt: skip

    def first_lines(self, result: Any) -> Sequence[str]:
        """Which bore it is, and designs or bores that are worse."""
        from cases.bores.words import bore_lines

        return bore_lines(result)


SUBJECT = Bores()
