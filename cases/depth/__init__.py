"""The barrel from the side: how growth and stress change with depth, how deep an insert pays.

A shallow insert backs more for each mm than a deep one, so the deck section is solved again with
the insert at other depths, and each further millimetre's backing stands where it is added. Measured
on the bundled block at 7:34: peak over mean down to H 1.25 (bare) to 1.31 (``local``); with the
backing spread evenly instead, ``local`` grows 36 for 41 um and the depths that are enough move by
1 mm at most.

Where the run has solids, they decide how deep an insert pays (:mod:`cases.depth.by_solid`), and the
side view's figure stands beside as a second opinion.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.faults import Refusal, RunError
from cases.base.subject import Chapter, Solved, Subject, Usual, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.depth.given import DepthInput
    from cases.depth.result import DepthResult


class Depth(Subject):
    """A section along the bore, where the case asks for it beside a rating."""

    key = "depth"
    after = ("gas", "stress", "solid")

    def table(self) -> type[Table]:
        """``[depth]``."""
        from cases.depth.table import DepthKeys

        return DepthKeys

    def given(self, table: Any, case: Any, faults: Faults) -> DepthInput | None:
        """Where to look, and how far down."""
        from cases.depth.reading import read_depth

        return read_depth(table, case, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where a rating is, and the case has it."""
        return rate and case.given["depth"] is not None

    def ignored(self, case: Any, rate: bool) -> str:
        """It goes with a rating."""
        if rate or case.given["depth"] is None:
            return ""
        return "[depth] is looked at by hoopclock rate only."

    def stages(self, case: Any) -> Sequence[Usual]:
        """The side view; the solids of other depths."""
        from cases.solid.given import solid_given

        fine = solid_given(case).setting == "fine"
        return (("depth section", 4.0), *((("depth by solids", 30.0),) if fine else ()))

    def solve(self, work: Work) -> DepthResult | Refusal:
        """All designs at one clock position; why not, where it can't be solved."""
        from cases.depth.by_solid import depths_by_solid
        from cases.depth.solve import depth_section
        from cases.solid.given import solid_given

        work.tell("all designs", "depth section")
        try:
            found = depth_section(work.case, work.found["gas"], work.designs)
        except (RunError, ValueError) as error:
            return Refusal.of(error)
        if solid_given(work.case).setting == "fine":
            work.tell("all designs", "depth by solids")
            by_solid = depths_by_solid(
                work.case, work.found["gas"], work.designs, found.clock, found.least_gain,
                work.executor,
            )  # fmt: skip
            found = found.with_solids(by_solid)
        return found

    def case_data(self, result: Solved) -> Mapping[str, Any]:
        """Why there is none."""
        found = result.found.get("depth")
        return {"depth_refused": found.text} if isinstance(found, Refusal) else {}

    def data(self, result: Solved, design: Any) -> Mapping[str, Any]:
        """A design from the side."""
        from cases.depth.data import depth_dict
        from cases.depth.result import depth_of

        found = depth_of(result)
        return {"depth": depth_dict(found, design.name)} if found else {}

    def figures(self, result: Solved) -> Iterator[tuple[str, Figure]]:
        """The barrel from the side, curves by depth, what depth buys."""
        from cases.depth.figures import depth_figures
        from cases.depth.result import depth_of

        if found := depth_of(result):
            yield from depth_figures(found)

    def chapters(self, result: Solved) -> Sequence[Chapter]:
        """The barrel from the side."""
        from cases.depth.chapter import depth_chapters

        return depth_chapters(result)

    def lines(self, result: Solved) -> Sequence[str]:
        """What the depth section comes to."""
        from cases.depth.lines import depth_lines

        return depth_lines(result)

    def assumed(self, result: Solved) -> Sequence[tuple[str, str]]:
        """Where it is looked at, and what is enough."""
        from cases.depth.assumed import depth_assumed

        return depth_assumed(result)


SUBJECT = Depth()
